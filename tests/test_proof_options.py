"""Proofs over all options of choices: replayed from the problem alone, and never above the least of all."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from nesting.check import check_bound
from nesting.check.proof import proven_length
from nesting.check.proof_options import proven_over_ways
from nesting.packing import Bound, Choice, Match, Part, Problem, Repeat, Strip, pack
from nesting.packing.certificates import CERTIFICATES, LightestOptions
from nesting.packing.certificates.options import asked_of, likeness, with_option
from nesting.packing.certificates.weighing import PartWeight
from nesting.packing.choices.option_proof import proof_over_options, proof_over_ways
from nesting.packing.turn import Budget
from tests.fuzz import options
from tests.seeds import seeds
from tests.test_choosing import least_of_all

#: On a strip of 10: in any case 6 x 5, and either 5 x 4 or two of 4 x 3. Beside the 6 there is room for the
#: narrow ones only, so the least is 9 with the first option and 6 with the second.
EITHER = Problem(
    (Strip(10),),
    (Part("always", 6, 5), Part("wide", 5, 4), Part("narrow", 4, 3, copies=2)),
    (Choice("seams", ((1,), (2,))),),
)
#: No two of these lie side by side.
WIDE = {"rule": "row weights", "weights": [{"part": 0, "upright": 1}, {"part": 1, "upright": 1}]}
#: Area: 30 and 24 take 6 rows of 10.
AREA = {"rule": "row weights", "weights": [{"part": 0, "upright": 6}, {"part": 1, "upright": 4}]}


def weighed(*weights: int) -> dict[str, Any]:
    lines = [{"part": part, "upright": weight} for part, weight in enumerate(weights)]
    return {"rule": "lightest options", "weights": lines}


def cases(*each: dict[str, Any] | None, choice: int = 0) -> dict[str, Any]:
    return {"rule": "options", "choice": choice, "cases": list(each)}


def test_by_hand() -> None:
    assert least_of_all(EITHER) == 6
    # By area the lighter option has 20: 50 on a width of 10.
    assert proven_length(EITHER, weighed(6, 5, 4)) == 5
    # The heaviest row is 6 and 4, or 5 and 4: weights 3, 2, 2 make 5 of the one and 4 of the other, and
    # 3 x 5 + min(2 x 4, 2 x 6) = 23.
    assert proven_length(EITHER, weighed(3, 2, 2)) == 5
    assert proven_length(EITHER, cases(WIDE, AREA)) == 6


def test_of_equal_parts_a_row_has_no_more_than_one_selection_lays() -> None:
    # Either option lays one of 4 wide, and one of 5 wide is there: 9 of 12 at most, so 9 weigh 9 of any row.
    parts = (Part("always", 5, 6), Part("one", 4, 6), Part("other", 4, 7))
    problem = Problem((Strip(12),), parts, (Choice("seams", ((1,), (2,))),))
    assert proven_length(problem, weighed(5, 4, 4)) == 6 == least_of_all(problem)
    # Were both laid a row could hold 4 and 4, but no more: 5 + 4 is still the heaviest.
    both = replace(problem, strips=(Strip(13),))
    assert proven_length(both, weighed(5, 4, 4)) == 6
    # Weights that tell them apart are counted each for itself, and prove less.
    assert proven_length(both, weighed(1, 5, 4)) == -(-(6 + 28) // 9)


def test_a_case_that_is_missing_or_said_to_be_impossible_proves_nothing() -> None:
    for said in (
        cases(WIDE),
        cases(WIDE, AREA, AREA),
        cases(WIDE, None),
        cases(WIDE, {"rule": "met before"}),
        cases(WIDE, AREA, choice=1),
        cases(WIDE, AREA, choice=-1),
        cases(cases(WIDE, AREA), AREA),
        {"rule": "row weights", "weights": WIDE["weights"]},
        weighed(-6, 5, 4),
        weighed(6, 5, 4, 3),
        weighed(2**60, 5, 4),
    ):
        assert proven_length(EITHER, said) == 0, said
    # An exchange proves what it can: the wide one is not among the parts of the other.
    assert proven_length(EITHER, cases(AREA, WIDE)) <= 6


def test_an_option_that_fits_nowhere_needs_no_proof() -> None:
    parts = (*EITHER.parts, Part("too wide", 11, 1))
    problem = Problem(EITHER.strips, parts, (Choice("seams", ((1,), (3,))),))
    without = replace(EITHER, choices=(Choice("seams", ((1,),)),))
    said = {"rule": "row weights", "weights": [{"part": 0, "upright": 1}, {"part": 1, "upright": 1}]}
    assert proven_length(problem, cases(said, None)) == 9
    assert proven_length(problem, cases(None, said)) == 0
    # Weights count the option that can be laid only.
    assert proven_length(problem, weighed(1, 1)) == proven_length(without, weighed(1, 1)) == 9


def test_an_option_that_was_dropped_is_missed() -> None:
    """What is true of fewer options is no proof of all of them."""
    less = replace(EITHER, choices=(Choice("seams", ((1,),)),))
    bound = proof_over_options(less, 9, Budget(0, 5.0))
    assert bound is not None
    said = dict(bound.certificate or {})
    assert proven_length(less, said) == 9
    assert proven_length(EITHER, said) <= 6
    assert check_bound(EITHER, Bound(9, "forged", said))


TWINS = Problem(
    (Strip(10, repeat=Repeat(6, 5)),),
    tuple(
        Part(f"{window} {number}", 4 + number, 7, match=Match("room", f"{window} {number}", y=number))
        for window in ("east", "west")
        for number in (0, 1)
    ),
    (Choice("east", ((0,), (1,))), Choice("west", ((2,), (3,)))),
)


def test_equal_windows_with_their_plans_exchanged_are_met_before() -> None:
    mixed = [with_option(with_option(TWINS, 0, at), 0, 1 - at) for at in (0, 1)]
    assert likeness(mixed[0]) == likeness(mixed[1])
    alike = with_option(with_option(TWINS, 0, 0), 0, 0)
    assert likeness(alike) != likeness(mixed[0])
    row = {"rule": "row weights", "weights": [{"part": 0, "upright": 1}, {"part": 1, "upright": 1}]}
    met = {"rule": "met before"}
    # 4 and 4, or 4 and 5, lie side by side in one repeat; 5 and 5 too: 7 is the least by length alone.
    said = cases(cases(row, row), cases(met, row))
    assert proven_length(TWINS, said) == 7
    assert proven_length(TWINS, cases(cases(met, row), cases(row, row))) == 0
    assert proven_length(TWINS, cases(cases(row, row), cases(row, met))) == 0
    # At another height in the pattern it is another case.
    other = replace(TWINS.parts[3], match=Match("room", "west 1", y=2))
    assert proven_length(replace(TWINS, parts=(*TWINS.parts[:3], other)), said) == 0


def test_choices_that_are_none_prove_nothing() -> None:
    for choices in (
        (Choice("seams", ()),),
        (Choice("seams", ((1,), (2, 2))),),
        (Choice("seams", ((1,), (7,))),),
        (Choice("seams", ((1,), (-1,))),),
        (Choice("seams", ((1,), (2,))), Choice("again", ((2,), ()))),
    ):
        broken = replace(EITHER, choices=choices)
        assert proven_length(broken, weighed(6, 5, 4)) == 0
    optional = replace(EITHER, parts=(replace(EITHER.parts[0], value=1), *EITHER.parts[1:]))
    assert proven_length(optional, weighed(6, 5, 4)) == 0
    assert proven_length(replace(EITHER, strips=(Strip(10, 90),)), weighed(6, 5, 4)) == 0
    assert LightestOptions((PartWeight(0, 1),)).proven(optional) == 0


def test_of_several_ways_to_cut_each_has_a_proof() -> None:
    other = Problem((Strip(10),), (Part("a", 6, 4), Part("b", 6, 4)))
    ways = (EITHER, other)
    said = proof_over_ways(ways, 6, Budget(0, 5.0))
    assert said is not None
    assert proven_over_ways(ways, said, proven_length) == 6
    assert proven_over_ways(ways[::-1], said, proven_length) < 6
    assert proven_over_ways(ways[:1], said, proven_length) == 0
    assert proven_over_ways((*ways, other), said, proven_length) == 0
    assert proven_over_ways(ways, said | {"cases": [said["cases"][0], None]}, proven_length) == 0
    assert proof_over_ways(ways, 7, Budget(0, 5.0)) is None
    # One that is too wide has none.
    wide = Problem((Strip(10),), (Part("a", 11, 4),))
    more = proof_over_ways((*ways, wide), 6, Budget(0, 5.0))
    assert more is not None
    assert proven_over_ways((*ways, wide), more, proven_length) == 6
    # Nor has one with a choice of which no option fits; where one does fit, silence proves nothing.
    parts = (Part("a", 6, 4), Part("b", 11, 4), Part("c", 12, 4))
    none = Problem((Strip(10),), parts, (Choice("seams", ((1,), (2,))),))
    more = proof_over_ways((*ways, none), 6, Budget(0, 5.0))
    assert more is not None
    assert proven_over_ways((*ways, none), more, proven_length) == 6
    fits = replace(none, strips=(Strip(11),))
    assert proven_over_ways((*ways, fits), more, proven_length) == 0


def test_packing_carries_the_proof() -> None:
    result = pack(EITHER, workers=1, work_limit=2)
    assert result.length == result.bound.length == 6
    assert result.bound.checked(EITHER)
    assert "not re-checked" not in result.bound.method
    assert not replace(result.bound, length=7).checked(EITHER)


@pytest.mark.parametrize("seed", seeds(6, 40))
def test_true_ones_replay_and_forged_ones_prove_nothing_false(seed: int) -> None:
    assert options.trial(seed)[2] == []


@pytest.mark.parametrize("seed", seeds(10, 100))
def test_the_engine_adds_them_up_to_the_same(seed: int) -> None:
    problem = options.problem_of(random.Random(seed))
    optimum = least_of_all(problem)
    bound = None if optimum is None else proof_over_options(problem, optimum, Budget(0, 5.0))
    if bound is None:
        assert optimum is None or optimum == 0 or asked_of(problem) is not None
        return
    said = bound.certificate
    assert bound.checked(problem)
    assert type(said) in CERTIFICATES.values()
    assert proven_length(problem, json.loads(json.dumps(dict(said or {})))) == optimum


def test_most_of_what_is_asked_is_proved() -> None:
    """Or the property above would speak of nothing."""
    proofs = [options.trial(seed)[0] for seed in range(1, 13)]
    assert 2 * sum(proofs) >= len(proofs)


def test_an_option_whose_seam_has_no_place_across_is_not_proven_but_breaks_nothing() -> None:
    """Its search of rows once had no way to stand to go through."""
    hall, room = Match("hall", "panel 2", 2, 2), Match("room", "panel 2", 1, 0)
    parts = (
        Part("a", 6, 3, match=hall, clear=(1, 2)),
        Part("b", 3, 1, match=room, clear=(1, 2)),
        Part("c", 3, 1, clear=(1, 2)),
    )
    choices = (Choice("seams", ((1,), (2,))),)
    problem = Problem((Strip(9, repeat=Repeat(3, 6, Fraction(2, 3))),), parts, choices)
    assert pack(replace(problem, parts=parts[:2], choices=())).infeasible
    assert proof_over_options(problem, 4, Budget(0, 5.0)) is None
