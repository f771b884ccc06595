"""What may change in a problem without changing its least length, and what may only lengthen it."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from nesting.packing import Flaw, Part, Problem, Repeat, Status, pack
from tests.assertions import assert_valid
from tests.instances import tiny_problem
from tests.seeds import examples, some

few = examples(20, 3, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def problems(draw: st.DrawFn, *, repeat: bool | None = None, flaws: int | None = None) -> Problem:
    """A small problem of any kind that has a layout."""
    rng = random.Random(draw(st.integers(0, 10**6)))
    while True:
        problem = tiny_problem(
            rng,
            rng.random() < 0.5 if repeat is None else repeat,
            parts=rng.randint(2, 5),
            width=rng.randint(4, 8),
            turns=rng.random() < 0.5,
            arrows=rng.random() < 0.5,
            flaws=rng.choice((0, 1, 2)) if flaws is None else flaws,
            start=rng.random() < 0.4,
        )
        if least(problem) is not None:
            return problem


def least(problem: Problem) -> int | None:
    """The least length, proven; None where there is no layout."""
    result = pack(problem, workers=1, work_limit=30)
    assert_valid(problem, result)
    assert result.status in (Status.OPTIMAL, Status.INFEASIBLE), "too small to stay open"
    return result.length


def length_of(problem: Problem) -> int:
    length = least(problem)
    assert length is not None
    return length


@few
@given(problems(), st.randoms(use_true_random=False))
def test_the_order_of_the_parts_is_nothing(problem: Problem, rng: random.Random) -> None:
    parts = list(problem.parts)
    rng.shuffle(parts)
    assert least(replace(problem, parts=tuple(parts))) == least(problem)


def _times(problem: Problem, across: int, along: int) -> Problem:
    (strip,) = problem.strips
    repeat = strip.repeat
    if repeat is not None:
        width = None if repeat.width is None else repeat.width * across
        repeat = Repeat(repeat.length * along, width, repeat.drop)
    flaws = (Flaw(f.x * across, f.y * along, f.width * across, f.length * along) for f in strip.flaws)
    wider = replace(
        strip,
        width=strip.width * across,
        repeat=repeat,
        flaws=tuple(flaws),
        start=None if strip.start is None else strip.start * along,
    )
    parts = tuple(
        replace(
            part,
            width=part.width * across,
            length=part.length * along,
            match=part.match and replace(part.match, x=part.match.x * across, y=part.match.y * along),
        )
        for part in problem.parts
    )
    return Problem((wider,), parts)


@few
@given(problems(), st.sampled_from((2, 127, 2032)))
def test_scaling_scales_it(problem: Problem, factor: int) -> None:
    assert least(_times(problem, factor, factor)) == factor * length_of(problem)


@few
@given(problems(), st.sampled_from((3, 127)), st.sampled_from((2, 80)))
def test_each_axis_may_be_scaled_for_itself_where_nothing_turns(
    problem: Problem, across: int, along: int
) -> None:
    upright = replace(problem, parts=tuple(replace(part, turnable=False) for part in problem.parts))
    assert least(_times(upright, across, along)) == along * length_of(upright)


@few
@given(problems(), st.integers(1, 4), st.integers(1, 5))
def test_one_part_more_never_shortens_it(problem: Problem, width: int, length: int) -> None:
    more = replace(problem, parts=(*problem.parts, Part("one more", width, length)))
    assert length_of(more) >= length_of(problem)


@few
@given(problems(), st.integers(1, 3))
def test_a_wider_strip_never_lengthens_it(problem: Problem, wider: int) -> None:
    (strip,) = problem.strips
    # Flaws that reached beyond the edge would come to lie on the fabric.
    flaws = tuple(replace(f, width=min(f.width, strip.width - f.x)) for f in strip.flaws if f.x < strip.width)
    narrow = replace(problem, strips=(replace(strip, flaws=flaws),))
    wide = replace(problem, strips=(replace(strip, width=strip.width + wider, flaws=flaws),))
    assert length_of(wide) <= length_of(narrow)


@few
@given(problems())
def test_copies_may_be_listed_one_by_one(problem: Problem) -> None:
    apart = tuple(replace(part, copies=1) for part in problem.parts for _ in range(part.copies))
    assert least(replace(problem, parts=apart)) == least(problem)


@few
@given(problems(repeat=False, flaws=2))
def test_plain_fabric_may_be_seen_in_the_mirror(problem: Problem) -> None:
    (strip,) = problem.strips
    flaws = tuple(replace(flaw, x=strip.width - flaw.x - flaw.width) for flaw in strip.flaws)
    assert least(replace(problem, strips=(replace(strip, flaws=flaws),))) == least(problem)


@few
@given(problems(repeat=False, flaws=0), st.integers(1, 9))
def test_a_part_as_wide_as_the_strip_adds_its_length(problem: Problem, length: int) -> None:
    whole = Part("whole width", problem.strips[0].width, length)
    assert least(replace(problem, parts=(whole, *problem.parts))) == length_of(problem) + length


@few
@given(problems(repeat=True), st.integers(-3, 3))
def test_a_whole_repeat_further_the_pattern_is_the_same(problem: Problem, repeats: int) -> None:
    (strip,) = problem.strips
    assert strip.repeat is not None
    way = repeats * strip.repeat.length
    parts = tuple(
        replace(part, match=part.match and replace(part.match, y=part.match.y + way))
        for part in problem.parts
    )
    start = None if strip.start is None else strip.start - way
    moved = Problem((replace(strip, start=start),), parts)
    assert least(moved) == least(problem)


@few
@given(problems(repeat=True, flaws=0), st.integers(1, 7))
def test_a_start_of_ones_own_choice_is_never_worse(problem: Problem, start: int) -> None:
    (strip,) = problem.strips
    free, known = (replace(problem, strips=(replace(strip, start=s),)) for s in (None, start))
    assert length_of(free) <= length_of(known)


@pytest.mark.parametrize("seed", some(range(6), 2))
def test_seeds_and_budgets_agree_on_what_is_proven(seed: int) -> None:
    problem = tiny_problem(random.Random(seed), True, parts=5, width=7)
    results = [pack(problem, workers=1, work_limit=20, seed=s) for s in (0, 1, 2)]
    assert len({(r.length, r.bound.length) for r in results}) == 1
    assert results[0].status is not Status.FEASIBLE
