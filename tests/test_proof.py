"""Certificates are re-proved from the problem alone, and spoiled ones prove less."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from nesting.check.proof import proven_length
from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip, pack
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, tiny_problem
from tests.seeds import seeds

ROWS = "row weights"
WAYS = ("upright", "turned", "upright_along", "turned_along")


def tiny(seed: int) -> Problem:
    return tiny_problem(
        random.Random(seed),
        repeat=seed % 2 == 1,
        parts=2 + seed % 3,
        turns=seed % 3 == 0,
        arrows=seed % 4 == 0,
        flaws=seed % 5 == 0,
        start=seed % 7 == 0,
        margins=seed % 3 == 1,
    )


@pytest.mark.parametrize("seed", seeds(12, 60))
def test_what_the_engine_certifies_is_proved_and_never_above_the_optimum(seed: int) -> None:
    problem = tiny(seed) if seed % 4 else guillotine_cutting(random.Random(seed), 30, 40, 10)
    result = pack(problem, workers=1, work_limit=0.2)
    if result.bound.certificate is None:
        assert result.infeasible or result.bound.method.endswith("not re-checked")
        return
    proved = proven_length(problem, result.bound.certificate)
    assert proved >= result.bound.length
    assert result.length is None or proved <= result.length


def test_most_of_what_the_engine_says_is_certified() -> None:
    """Or the property above would speak of nothing."""
    problems = [tiny(seed) for seed in range(1, 40) if seed % 4]
    bounds = [pack(problem, workers=1, work_limit=0.2).bound for problem in problems]
    rules = [bound.certificate["rule"] for bound in bounds if bound.certificate is not None]
    assert 2 * len(rules) >= len(problems)
    assert set(rules) >= {ROWS, "placed row weights"}


@pytest.mark.parametrize("seed", seeds(12, 60))
def test_any_weights_at_all_prove_no_more_than_the_optimum(seed: int) -> None:
    problem, rng = tiny(seed), random.Random(seed)
    optimum = optimal_length(problem)
    if optimum is None:
        return
    for rule in (ROWS, "placed row weights", "column weights", "scale products"):
        certificate: dict[str, Any] = {
            "rule": rule,
            "weights": [
                {"part": i} | {way: rng.randint(0, 9) for way in WAYS} for i in range(len(problem.parts))
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


class TestProducts:
    """Three of 1 x 9 and three of 2 x 5 on a strip of 6; no more than four lie side by side.

    In 13 two of 5 lie one behind another, and none behind one of 9: weights 1 and 2, at most 2 in a column.
    """

    PROBLEM = Problem((Strip(6),), (Part("a", 1, 9, copies=3), Part("b", 2, 5, copies=3)))

    def proved(
        self, *, problem: Problem = PROBLEM, along: tuple[int, int] = (2, 1), refuted: int = 13
    ) -> int:
        entries = [{"part": i, "upright": 1, "upright_along": weight} for i, weight in enumerate(along)]
        return proven_length(problem, {"rule": "scale products", "weights": entries, "refuted": refuted})

    def test_by_hand(self) -> None:
        # 3 x 1 x 2 + 3 x 1 x 1 = 9, and there is room for 4 x 2.
        assert self.proved() == 14 == optimal_length(self.PROBLEM)

    def test_spoiled_it_proves_nothing(self) -> None:
        # In 14 one of 5 lies behind one of 9: 3 in a column, and 9 is not above 12.
        assert self.proved(refuted=14) == 0
        # 3 x 1 + 3 x 1 = 6 is not above 4 x 2; nor 3 x 1 x 3 + 3 = 12 above 4 x 3.
        assert self.proved(along=(1, 1)) == 0
        assert self.proved(along=(3, 1)) == 0
        assert self.proved(along=(0, 0)) == 0
        assert self.proved(along=(2, -1)) == 0
        assert self.proved(refuted=0) == 0

    def test_other_parts_or_another_strip_are_seen(self) -> None:
        a, b = self.PROBLEM.parts
        # On a strip of 7 five lie side by side, with two copies of a there are only 7 of 8, and a part of
        # 1 x 9 that may turn fits no strip of 6 that way.
        assert self.proved(problem=Problem((Strip(7),), (a, b))) == 0
        assert self.proved(problem=Problem((Strip(6),), (replace(a, copies=2), b))) == 0
        assert self.proved(problem=Problem((Strip(6),), (replace(a, turnable=True), b))) == 14
        # Turned, b weighs nothing, for nothing is said of it.
        assert self.proved(problem=Problem((Strip(6),), (a, replace(b, turnable=True)))) == 0

    def test_lone_parts_come_on_top(self) -> None:
        problem = Problem((Strip(6),), (*self.PROBLEM.parts, Part("c", 6, 2)))
        entries = [{"part": i, "upright": 1, "upright_along": 2 - i} for i in range(2)]
        said = {"rule": "scale products", "weights": entries, "lone": [2], "refuted": 13}
        assert proven_length(problem, said) == 16

    def test_where_a_knapsack_is_too_large_nothing_is_proved(self) -> None:
        # Lengths of 5 000 001 units and more are not gone through; a heaviest set of 0 must not count.
        long = 10_000_001
        problem = Problem((Strip(6),), (Part("a", 1, long, copies=3), Part("b", 2, long - 1, copies=3)))
        assert self.proved(problem=problem, along=(1, 1), refuted=long) == 0


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
