"""Certificates prove themselves from the problem alone, and agree with the check and its own code."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from nesting.check.proof import proven_length
from nesting.packing import Bound, Choice, Part, Problem, Strip, pack, pack_across
from nesting.packing.certificates import (
    WEIGHINGS,
    ColumnWeights,
    RowWeights,
    ScaleProducts,
    Weighing,
    weighing,
)
from nesting.packing.certificates.weighing import HEAVIEST, PartWeight, Refuting, WeighedBar, heaviest
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, tiny_problem
from tests.test_bounds import panel_in_columns

#: Rules whose rows and columns are weighed in a table.
FLAT = (RowWeights, ColumnWeights, ScaleProducts)


def made(seed: int) -> Problem:
    """A tiny problem of any kind."""
    rng = random.Random(seed)
    turns, flaws, margins = seed % 3 == 0, seed % 5 == 0, seed % 3 == 1
    return tiny_problem(rng, seed % 2 == 1, parts=2 + seed % 3, turns=turns, flaws=flaws, margins=margins)


@pytest.mark.parametrize("seed", range(40))
def test_what_the_engine_certifies_proves_itself(seed: int) -> None:
    problem = made(seed) if seed % 4 else guillotine_cutting(random.Random(seed), 30, 40, 10)
    bound = pack(problem, workers=1, work_limit=0.2).bound
    said = bound.certificate
    assert bound.checked(problem) is (said is not None)
    if said is not None:
        assert proven_length(problem, said) >= bound.length
    if isinstance(said, Weighing):
        assert said.proven(problem) == proven_length(problem, said)


def forged(rng: random.Random, problem: Problem) -> Iterator[Weighing]:
    """One of each rule, with any weights."""
    numbers = range(len(problem.parts))
    weights = []
    for part in numbers:
        upright, turned, upright_along, turned_along = (rng.randint(0, 9) for _ in range(4))
        copies = rng.choice((None, 1))
        weights.append(PartWeight(part, upright, turned, upright_along, turned_along, copies))
    lone = tuple(part for part in numbers if rng.random() < 0.1)
    for rule, kind in WEIGHINGS.items():
        more = {"refuted": rng.randint(0, 40)} if issubclass(kind, Refuting) else {}
        if rule not in ("band weights", "band sums"):
            yield kind(tuple(weights), lone, **more)


@pytest.mark.parametrize("seed", range(40))
def test_any_weights_at_all_prove_no_more_than_the_optimum(seed: int) -> None:
    problem, rng = made(seed), random.Random(seed)
    optimum = optimal_length(problem)
    for said in forged(rng, problem):
        if optimum is not None:
            assert said.proven(problem) <= optimum, said.rule
            assert not Bound(optimum + 1, "forged", said).checked(problem)


def test_rules_that_are_rare_prove_themselves() -> None:
    panel = panel_in_columns()
    bound = pack(panel, workers=1, work_limit=2).bound
    assert (bound.certificate or {})["rule"] == "placed row weights"
    assert bound.checked(panel)
    # 3 x 4 columns of length 9 at most hold one slice of 5 each, and 11 are there: 10 is the least.
    columns = Problem((Strip(11),), (Part("a", 4, 5, 3), Part("b", 1, 1)))
    said = ColumnWeights((PartWeight(0, 1),), refuted=9)
    assert Bound(10, "columns", said).checked(columns)
    assert not Bound(11, "columns", said).checked(columns)


def test_bands_prove_themselves_of_layouts_cut_across() -> None:
    parts = tuple(Part(str(i), 5 + i, 9 - i, 3) for i in range(4))
    problem = Problem((Strip(23),), parts)
    result = pack_across(problem, free=Bound(0, "nothing"), workers=1, work_limit=1)
    found = result.bound.certificate
    assert found is not None
    assert result.bound.checked(problem)
    assert not replace(result.bound, length=result.bound.length + 1).checked(problem) or (
        proven_length(problem, found, across=True) > result.bound.length
    )


def test_what_counts_for_every_layout_is_proved_of_those_cut_across_too() -> None:
    # The long one lies beside the other, in one band as long as it.
    problem = Problem((Strip(10),), (Part("long", 6, 9), Part("short", 3, 5)))
    result = pack_across(problem, free=Bound(0, "nothing"), workers=1, work_limit=1)
    assert result.length == result.bound.length == 9
    assert result.bound.checked(problem)
    assert proven_length(problem, result.bound.certificate or {}, across=True) == 9


def test_nothing_is_proved_beyond_the_premises() -> None:
    parts = Part("a", 10, 3), Part("b", 5, 3, copies=2)
    said = RowWeights((PartWeight(0, 1),))
    whole = Problem((Strip(16),), parts)
    assert said.proven(whole) == 3
    assert said.proven(replace(whole, choices=(Choice("seams", ((0,), (1,))),))) == 0
    assert said.proven(replace(whole, strips=(Strip(16, 100),))) == 0
    assert said.proven(replace(whole, parts=(replace(parts[0], value=1), parts[1]))) == 0
    # The first has its rows to itself on a strip of 14, so that its length comes on top; not on one of 16.
    alone = RowWeights((PartWeight(1, 1),), (0,))
    assert alone.proven(replace(whole, strips=(Strip(14),))) == 6
    assert alone.proven(whole) == 0


def test_one_read_from_a_document_is_left_to_the_check() -> None:
    problem = Problem((Strip(12),), (Part("a", 10, 3),))
    said = {"rule": "row weights", "weights": [{"part": 0, "upright": 1}]}
    assert not Bound(3, "rows", said).checked(problem)


def test_it_reads_as_the_mapping_of_a_document() -> None:
    said = RowWeights((PartWeight(2, upright=5, copies=1),), (0,))
    assert dict(said) == {
        "rule": "row weights",
        "weights": [{"part": 2, "upright": 5, "copies": 1}],
        "lone": [0],
    }


def test_what_64_bits_do_not_hold_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def bars(copies: int) -> list[WeighedBar]:
        return [WeighedBar(0, 0, width=1, length=1, weight=HEAVIEST, along=0, copies=copies)]

    # Without a limit the sum in a table of 64 bits is below nothing, and any length is refuted by it.
    assert heaviest(bars(2**23), "width", "weight", 2**23) is None
    assert heaviest(bars(2**21), "width", "weight", 5) == 5 * HEAVIEST
    assert heaviest(bars(1), "width", "weight", 2**30) is None
    assert heaviest(bars(1), "width", "weight", -1) is None
    problem = Problem((Strip(4),), (Part("a", 2, 5, copies=3),))
    weights = (PartWeight(0, upright=4, upright_along=3),)
    made = [kind(weights, **({"refuted": 9} if issubclass(kind, Refuting) else {})) for kind in FLAT]
    assert [said.proven(problem) for said in made] == [10, 10, 10]
    monkeypatch.setattr(weighing, "MOST_WEIGHT", 4)
    assert [said.proven(problem) for said in made] == [0, 0, 0]
