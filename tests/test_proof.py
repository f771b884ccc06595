"""Certificates are re-proved from the problem alone, and spoiled ones prove less."""

from __future__ import annotations

import random
from typing import Any

import pytest

from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip, pack
from nesting.proof import proven_length
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, tiny_problem

ROWS = "row weights"


def tiny(seed: int) -> Problem:
    return tiny_problem(
        random.Random(seed),
        repeat=seed % 2 == 1,
        parts=2 + seed % 3,
        turns=seed % 3 == 0,
        arrows=seed % 4 == 0,
        flaws=seed % 5 == 0,
        start=seed % 7 == 0,
    )


@pytest.mark.parametrize("seed", range(60))
def test_what_the_engine_certifies_is_proved_and_never_above_the_optimum(seed: int) -> None:
    problem = tiny(seed) if seed % 4 else guillotine_cutting(random.Random(seed), 30, 40, 10)
    result = pack(problem, workers=1, work_limit=0.2)
    if result.bound.certificate is not None:
        proved = proven_length(problem, result.bound.certificate)
        assert proved >= result.bound.length
        assert result.length is None or proved <= result.length


@pytest.mark.parametrize("seed", range(40))
def test_any_weights_at_all_prove_no_more_than_the_optimum(seed: int) -> None:
    problem, rng = tiny(seed), random.Random(seed)
    optimum = optimal_length(problem)
    if optimum is None:
        return
    for rule in (ROWS, "placed row weights", "column weights"):
        certificate: dict[str, Any] = {
            "rule": rule,
            "weights": [
                {"part": i, "upright": rng.randint(0, 9), "turned": rng.randint(0, 9)}
                for i in range(len(problem.parts))
            ],
            "lone": rng.sample(range(len(problem.parts)), rng.choice((0, 0, 1))),
            "refuted": rng.randint(1, 30),
        }
        assert proven_length(problem, certificate) <= optimum


PLAIN = Problem((Strip(10),), (Part("a", 6, 5, copies=2), Part("b", 4, 3), Part("c", 10, 2)))


def test_area_by_hand() -> None:
    # 2 x 6 x 5 + 4 x 3 = 72 on a width of 10: 8 rows; c has its 2 rows to itself.
    weights = [{"part": 0, "upright": 6}, {"part": 1, "upright": 4}]
    assert proven_length(PLAIN, {"rule": ROWS, "weights": weights, "lone": [2]}) == 10
    # Weight 1 on the wide part alone: at most one in a row, so 2 x 5 rows and the 2 of c.
    assert proven_length(PLAIN, {"rule": ROWS, "weights": [{"part": 0, "upright": 1}], "lone": [2]}) == 12


def test_lone_must_be_alone() -> None:
    weights = [{"part": 0, "upright": 1}]
    # b fits beside a, so neither has its rows to itself.
    assert proven_length(PLAIN, {"rule": ROWS, "weights": weights, "lone": [2, 0]}) == 0
    assert proven_length(PLAIN, {"rule": ROWS, "weights": weights, "lone": [2, 2]}) == 0
    flawed = Problem((Strip(10, flaws=(Flaw(0, 0, 1, 1),)),), PLAIN.parts)
    assert proven_length(flawed, {"rule": ROWS, "weights": weights, "lone": [2]}) == 0
    printed = (*PLAIN.parts[:2], Part("c", 10, 2, match=Match("room")))
    matched = Problem((Strip(10, repeat=Repeat(4)),), printed)
    assert proven_length(matched, {"rule": ROWS, "weights": weights, "lone": [2]}) == 0


def test_columns_by_hand() -> None:
    # In columns of 7 one slice of a (5) fits, with weight 1: 2 x 6 columns, but the strip has 10.
    parts = (Part("a", 6, 5, copies=2),)
    certificate = {"rule": "column weights", "weights": [{"part": 0, "upright": 1}], "refuted": 7}
    assert proven_length(Problem((Strip(10),), parts), certificate) > 7
    # On a strip of 12 the two lie side by side, and nothing is refuted.
    assert proven_length(Problem((Strip(12),), parts), certificate) == 0


def test_a_length_moves_to_whole_steps() -> None:
    # All lengths are multiples of 5, so a length of 6 or more is one of 10.
    problem = Problem((Strip(10),), (Part("a", 6, 5), Part("b", 5, 5, copies=1), Part("c", 1, 5)))
    weights = [{"part": i, "upright": part.width} for i, part in enumerate(problem.parts)]
    assert proven_length(problem, {"rule": ROWS, "weights": weights}) == 10


def test_without_a_rule_nothing_is_proved() -> None:
    assert proven_length(PLAIN, {"rule": "because", "weights": []}) == 0
    assert proven_length(PLAIN, {"rule": ROWS, "weights": []}) == 0
    wide = Problem((Strip(5),), (Part("a", 6, 5),))
    assert proven_length(wide, {"rule": ROWS, "weights": [{"part": 0, "upright": 1}]}) == 0
