"""The checker passes sound layouts and rejects each way of spoiling one."""

from __future__ import annotations

import random
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from assertions import assert_valid
from brute_force import optimal_layout
from hypothesis import given
from hypothesis import strategies as st
from instances import Layout, shelf_layout, tiny_problem

from nesting.check import Breach, Violation, check_layout, check_plan_document, geometry
from nesting.check import layout as check
from nesting.errors import NestingError, ProblemError
from nesting.packing.problem import Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import Bound, Placement, Result, Stop
from tests.seeds import examples, seeds


def kinds(broken: tuple[Violation, ...]) -> set[Breach]:
    return {one.kind for one in broken}


def only(broken: tuple[Violation, ...]) -> Violation:
    assert len(broken) == 1, "\n".join(map(str, broken))
    return broken[0]


def moved(placements: tuple[Placement, ...], at: int, x: int = 0, y: int = 0) -> tuple[Placement, ...]:
    place = placements[at]
    return (*placements[:at], replace(place, x=place.x + x, y=place.y + y), *placements[at + 1 :])


PLAIN = Problem((Strip(10),), (Part("panel", 4, 8, copies=2), Part("tab", 2, 3)))
# Two panels side by side and a tab beside the second: all edges touch.
PLAIN_LAID = (Placement(0, 1, 0, 0), Placement(0, 2, 4, 0), Placement(1, 1, 8, 0))


def test_touching_edges_are_no_overlap() -> None:
    assert check_layout(PLAIN, PLAIN_LAID, length=8, bound=8) == ()
    stacked = (Placement(0, 1, 0, 0), Placement(0, 2, 0, 8), Placement(1, 1, 2, 16))
    assert check_layout(PLAIN, stacked, length=19) == ()


def test_nothing_laid_needs_nothing() -> None:
    broken = check_layout(PLAIN, (), length=0)
    assert [one.kind for one in broken] == [Breach.MISSING_COPY] * 3
    assert Breach.LENGTH in kinds(check_layout(PLAIN, (), length=1))


@pytest.mark.parametrize(("x", "y"), [(-1, 0), (1, 0)])
def test_overlap_by_one_tick_across(x: int, y: int) -> None:
    broken = only(check_layout(PLAIN, moved(PLAIN_LAID, 1, x, y)))
    assert (broken.kind, broken.amount) == (Breach.OVERLAP, 1)


def test_overlap_by_one_tick_along() -> None:
    sound = (Placement(0, 1, 0, 0), Placement(0, 2, 0, 8), Placement(1, 1, 4, 0))
    assert check_layout(PLAIN, sound) == ()
    broken = only(check_layout(PLAIN, moved(sound, 1, y=-1)))
    assert (broken.kind, broken.amount, broken.what) == (Breach.OVERLAP, 1, '"panel" copy 1')


def test_identical_twins_in_one_place() -> None:
    broken = only(check_layout(PLAIN, (PLAIN_LAID[0], replace(PLAIN_LAID[1], x=0), PLAIN_LAID[2])))
    assert (broken.kind, broken.amount) == (Breach.OVERLAP, 4)


def test_the_last_in_the_list_overlaps_too() -> None:
    broken = check_layout(PLAIN, moved(PLAIN_LAID, 2, x=-2))
    assert [(one.kind, one.other) for one in broken] == [(Breach.OVERLAP, '"tab" copy 1')]


def test_one_inside_another() -> None:
    broken = only(check_layout(PLAIN, moved(PLAIN_LAID, 2, x=-7, y=2)))
    assert (broken.kind, broken.amount) == (Breach.OVERLAP, 3)


@pytest.mark.parametrize(
    ("at", "x", "y"), [(0, -1, 0), (0, 0, -1), (2, 1, 0)], ids=["left edge", "squared end", "right edge"]
)
def test_off_the_edge_by_one_tick(at: int, x: int, y: int) -> None:
    broken = only(check_layout(PLAIN, moved(PLAIN_LAID, at, x, y)))
    assert (broken.kind, broken.amount) == (Breach.OUTSIDE, 1)


def test_beyond_a_length_on_hand() -> None:
    on_hand = replace(PLAIN, strips=(Strip(10, 8),))
    assert check_layout(on_hand, PLAIN_LAID, length=8) == ()
    broken = only(check_layout(on_hand, moved(PLAIN_LAID, 1, y=1)))
    assert (broken.kind, broken.amount) == (Breach.OUTSIDE, 1)


def test_missing_and_extra_copies() -> None:
    assert only(check_layout(PLAIN, (PLAIN_LAID[0], PLAIN_LAID[2]))).kind is Breach.MISSING_COPY
    again = (*PLAIN_LAID, Placement(0, 2, 0, 8))
    assert only(check_layout(PLAIN, again)).kind is Breach.EXTRA_COPY
    third = (*PLAIN_LAID, Placement(0, 3, 0, 8))
    assert only(check_layout(PLAIN, third)).kind is Breach.EXTRA_COPY
    zeroth = (replace(PLAIN_LAID[0], copy=0), *PLAIN_LAID[1:])
    assert kinds(check_layout(PLAIN, zeroth)) == {Breach.MISSING_COPY, Breach.EXTRA_COPY}


@pytest.mark.parametrize("part", [-1, 2])
def test_unknown_part(part: int) -> None:
    assert only(check_layout(PLAIN, (*PLAIN_LAID, Placement(part, 1, 0, 20)))).kind is Breach.UNKNOWN_PART


def test_unknown_strip() -> None:
    broken = check_layout(PLAIN, (*PLAIN_LAID[:2], replace(PLAIN_LAID[2], strip=1)))
    assert kinds(broken) == {Breach.OUTSIDE, Breach.MISSING_COPY}


def test_forbidden_turn() -> None:
    turned = (*PLAIN_LAID[:2], Placement(1, 1, 0, 8, turned=True))
    turnable = replace(PLAIN, parts=(PLAIN.parts[0], replace(PLAIN.parts[1], turnable=True)))
    assert check_layout(turnable, turned, length=10) == ()
    assert only(check_layout(PLAIN, turned)).kind is Breach.FORBIDDEN_TURN


def test_an_arrow_group_turns_as_a_whole() -> None:
    parts = (Part("panel", 3, 4, copies=3, turnable=True, arrow="room"),)
    problem = Problem((Strip(12),), parts)
    all_turned = tuple(Placement(0, at + 1, 4 * at, 0, turned=True) for at in range(3))
    assert check_layout(problem, all_turned, length=3) == ()
    one_upright = (*all_turned[:2], replace(all_turned[2], turned=False))
    broken = only(check_layout(problem, one_upright))
    assert (broken.kind, broken.what) == (Breach.ARROW, '"panel" copy 3, upright')


def test_on_a_flaw_by_one_tick() -> None:
    problem = replace(PLAIN, strips=(Strip(10, flaws=(Flaw(8, 3, 2, 2), Flaw(9, 4, 5, 5))),))
    assert check_layout(problem, PLAIN_LAID) == ()
    broken = only(check_layout(problem, moved(PLAIN_LAID, 2, y=1)))
    assert (broken.kind, broken.amount, broken.other) == (Breach.FLAW, 1, "flaw 0")


def test_wrong_length_and_a_bound_above_it() -> None:
    for wrong in (7, 9):
        broken = only(check_layout(PLAIN, PLAIN_LAID, length=wrong))
        assert (broken.kind, broken.amount) == (Breach.LENGTH, 1)
    broken = only(check_layout(PLAIN, PLAIN_LAID, length=8, bound=9))
    assert (broken.kind, broken.amount) == (Breach.BOUND, 1)


def matched(drop: Fraction, start: int | None = None) -> tuple[Problem, tuple[Placement, ...]]:
    """Three equal widths side by side in columns 0, 1 and 2 of a pattern 12 long and 10 wide.

    Each begins a drop higher than the one on its left; all have p = 0, q = 2 and phase_x = 1.
    """
    strip = Strip(31, repeat=Repeat(12, 10, drop), start=start)
    part = Part("width", 9, 20, copies=3, match=Match("room", "panel", x=0, y=2))
    rises = [int(n * drop * 12) % 12 for n in range(3)]
    at = 12 + 2 - (start or 0)
    laid = tuple(Placement(0, n + 1, 10 * n + 1, at + rise) for n, rise in enumerate(rises))
    return Problem((strip,), (part,)), laid


DROPS = [Fraction(0), Fraction(1, 2), Fraction(1, 3), Fraction(2, 3)]


@pytest.mark.parametrize("drop", DROPS, ids=str)
@pytest.mark.parametrize("start", [None, 0, 5])
@pytest.mark.parametrize("by", [-1, 1])
def test_off_the_repeat_along_by_one_tick(drop: Fraction, start: int | None, by: int) -> None:
    problem, laid = matched(drop, start)
    assert check_layout(problem, laid) == ()
    broken = only(check_layout(problem, moved(laid, 2, y=by)))
    assert (broken.kind, broken.amount, broken.what) == (Breach.PHASE_ALONG, 1, '"width" copy 3')


@pytest.mark.parametrize("drop", DROPS, ids=str)
@pytest.mark.parametrize("by", [-1, 1])
def test_off_the_repeat_across_by_one_tick(drop: Fraction, by: int) -> None:
    problem, laid = matched(drop)
    assert check_layout(problem, laid) == ()
    broken = only(check_layout(problem, moved(laid, 1, x=by)))
    assert (broken.kind, broken.amount, broken.what) == (Breach.PHASE_ACROSS, 1, '"width" copy 2')
    free = replace(problem, parts=(replace(problem.parts[0], match=Match("room", None, 0, 2)),))
    assert check_layout(free, moved(laid, 1, x=by)) == ()


def test_a_third_drop_taken_for_two_thirds() -> None:
    problem, laid = matched(Fraction(1, 3))
    other = replace(problem, strips=(Strip(31, repeat=Repeat(12, 10, Fraction(2, 3))),))
    assert check_layout(problem, laid) == ()
    broken = check_layout(other, laid)
    assert kinds(broken) == {Breach.PHASE_ALONG}
    assert {one.amount for one in broken} == {4}


def test_a_known_start_holds_for_the_whole_group() -> None:
    problem, laid = matched(Fraction(1, 2), start=5)
    assert check_layout(problem, laid) == ()
    shifted = tuple(replace(place, y=place.y + 3) for place in laid)
    assert check_layout(replace(problem, strips=(replace(problem.strips[0], start=None),)), shifted) == ()
    broken = check_layout(problem, shifted)
    assert [(one.kind, one.amount) for one in broken] == [(Breach.PHASE_ALONG, 3)] * 3


def test_the_smaller_way_round_is_reported() -> None:
    problem, laid = matched(Fraction(0))
    assert only(check_layout(problem, moved(laid, 2, y=11))).amount == 1


def test_level_groups_are_apart_but_strips_are_not() -> None:
    strip = Strip(10, repeat=Repeat(12))
    parts = (Part("a", 5, 5, match=Match("room")), Part("b", 5, 5, match=Match("hall")))
    laid = (Placement(0, 1, 0, 0), Placement(1, 1, 5, 3))
    assert check_layout(Problem((strip,), parts), laid) == ()
    one_level = (parts[0], replace(parts[1], match=Match("room")))
    assert only(check_layout(Problem((strip,), one_level), laid)).amount == 3
    two_strips = Problem((strip, Strip(10, 30, strip.repeat)), one_level)
    assert only(check_layout(two_strips, (laid[0], replace(laid[1], strip=1)))).amount == 3


def test_length_is_that_of_the_open_strip() -> None:
    problem = Problem((Strip(10, 30), Strip(10)), (Part("a", 5, 5, copies=2),))
    laid = (Placement(0, 1, 0, 20), Placement(0, 2, 0, 0, strip=1))
    assert check_layout(problem, laid, length=5) == ()
    assert check_layout(problem, (laid[0], Placement(0, 2, 5, 0)), length=0) == ()
    assert Breach.LENGTH in kinds(check_layout(problem, laid, length=25))


def test_places_must_be_whole_numbers() -> None:
    with pytest.raises(ProblemError, match="whole numbers"):
        check_layout(PLAIN, (replace(PLAIN_LAID[0], x=0.0), *PLAIN_LAID[1:]))  # type: ignore[arg-type]


def test_the_two_verdicts_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    spoiled = moved(PLAIN_LAID, 2, x=-1)
    assert kinds(check_layout(PLAIN, spoiled)) == {Breach.OVERLAP}
    monkeypatch.setattr(check, "overlaps_by_sweep", lambda rectangles, pieces: {})
    assert kinds(check_layout(PLAIN, PLAIN_LAID)) == set()
    assert kinds(check_layout(PLAIN, spoiled)) == {Breach.DISAGREE}
    monkeypatch.setattr(check, "far_out", lambda strip, rectangle: 0)
    assert kinds(check_layout(PLAIN, moved(PLAIN_LAID, 0, x=-1))) == {Breach.DISAGREE}


def test_sizes_near_the_largest_are_exact() -> None:
    far = 2**30
    problem = Problem((Strip(far),), (Part("half", far // 2, far, copies=2),))
    laid = (Placement(0, 1, 0, far), Placement(0, 2, far // 2, far))
    assert check_layout(problem, laid, length=2 * far) == ()
    broken = only(check_layout(problem, moved(laid, 1, x=-1)))
    assert (broken.kind, broken.amount) == (Breach.OVERLAP, 1)


def test_a_violation_reads_as_a_sentence() -> None:
    broken = only(check_layout(PLAIN, moved(PLAIN_LAID, 1, -1)))
    assert str(broken) == 'overlap: "panel" copy 1 against "panel" copy 2 by 1 (strip 0, x 0, y 0)'


class Counted(list[tuple[int, int, int, int]]):
    """Rectangles that count how often one of them is looked at."""

    looked_at = 0

    def __getitem__(self, at: Any) -> Any:
        self.looked_at += 1
        return super().__getitem__(at)


def brick_wall(rows: int) -> tuple[Problem, tuple[Placement, ...]]:
    """50 bricks a row, every second row offset by half a brick."""
    problem = Problem((Strip(1010),), (Part("brick", 20, 7, copies=50 * rows),))
    laid = tuple(
        Placement(0, 50 * row + at + 1, 20 * at + 10 * (row % 2), 7 * row)
        for row in range(rows)
        for at in range(50)
    )
    return problem, laid


def test_thousands_of_parts() -> None:
    problem, laid = brick_wall(100)
    shuffled = list(laid)
    random.Random(1).shuffle(shuffled)
    assert check_layout(problem, shuffled, length=700, bound=700) == ()
    broken = only(check_layout(problem, moved(laid, len(laid) - 1, x=-1)))
    assert (broken.kind, broken.amount) == (Breach.OVERLAP, 1)


def test_the_sweep_looks_at_neighbors_only() -> None:
    """Looks per copy laid: as few for 5,000 copies as for 500; every pair would make 5,000 of them."""
    looks = []
    for rows in (10, 100):
        _, laid = brick_wall(rows)
        rectangles = Counted((p.x, p.y, p.x + 20, p.y + 7) for p in laid)
        assert check.overlaps_by_sweep(rectangles, len(laid)) == {}
        looks.append(rectangles.looked_at / len(laid))
    assert looks[1] < 8
    assert looks[1] < 1.2 * looks[0]


def test_a_heap_of_parts_in_one_place_ends_early() -> None:
    problem = Problem((Strip(5),), (Part("a", 5, 5, copies=400),))
    broken = check_layout(problem, tuple(Placement(0, copy + 1, 0, 0) for copy in range(400)))
    assert kinds(broken) == {Breach.OVERLAP}
    assert len(broken) >= geometry.ENOUGH_OVERLAPS


@given(st.integers(0, 10**6), st.integers(1, 6), st.booleans())
@examples(60)
def test_sound_layouts_pass_and_one_corruption_fails(seed: int, shelves: int, repeat: bool) -> None:
    rng = random.Random(seed)
    layout = shelf_layout(rng, shelves, repeat=repeat)
    assert check_layout(layout.problem, layout.placements, layout.length, layout.length) == ()
    for name, corrupt in CORRUPTIONS.items():
        spoiled = corrupt(rng, layout)
        if spoiled is not None:
            assert check_layout(layout.problem, *spoiled) != (), name


Spoiled = tuple[tuple[Placement, ...], int, int] | None


def _drop(rng: random.Random, layout: Layout) -> Spoiled:
    if not layout.placements:
        return None
    at = rng.randrange(len(layout.placements))
    return (layout.placements[:at] + layout.placements[at + 1 :], layout.length, 0)


def _twice(rng: random.Random, layout: Layout) -> Spoiled:
    if not layout.placements:
        return None
    again = rng.choice(layout.placements)
    return ((*layout.placements, replace(again, y=layout.length + 100)), layout.length + 200, 0)


def _onto_another(rng: random.Random, layout: Layout) -> Spoiled:
    if len(layout.placements) < 2:
        return None
    one, two = rng.sample(range(len(layout.placements)), 2)
    target = layout.placements[two]
    x, y = target.x - layout.placements[one].x, target.y - layout.placements[one].y
    return (moved(layout.placements, one, x, y), layout.length, 0)


def _off_the_repeat(rng: random.Random, layout: Layout) -> Spoiled:
    parts = layout.problem.parts
    levels = [part.match.level for part in parts if part.match is not None]
    known = layout.problem.strips[0].start is not None
    matched = [
        at
        for at, part in enumerate(parts)
        if part.match is not None and (known or levels.count(part.match.level) > 1)
    ]
    if not matched:
        return None
    at = rng.choice(matched)
    far = layout.length + layout.problem.strips[0].repeat.length
    period = layout.problem.strips[0].repeat.length
    up = far // period * period + rng.randint(1, period - 1)
    spoiled = moved(layout.placements, at, y=up)
    return (spoiled, max(p.y + parts[p.part].size(p.turned)[1] for p in spoiled), 0)


def _off_the_fabric(rng: random.Random, layout: Layout) -> Spoiled:
    if not layout.placements:
        return None
    at = rng.randrange(len(layout.placements))
    return (moved(layout.placements, at, x=-layout.placements[at].x - 1), layout.length, 0)


def _turn(rng: random.Random, layout: Layout) -> Spoiled:
    fixed = [at for at, place in enumerate(layout.placements) if not layout.problem.parts[at].turnable]
    if not fixed:
        return None
    at = rng.choice(fixed)
    turned = replace(layout.placements[at], turned=True)
    return ((*layout.placements[:at], turned, *layout.placements[at + 1 :]), layout.length, 0)


CORRUPTIONS: dict[str, Callable[[random.Random, Layout], Spoiled]] = {
    "copy dropped": _drop,
    "copy laid twice": _twice,
    "onto another": _onto_another,
    "off the repeat": _off_the_repeat,
    "off the fabric": _off_the_fabric,
    "turned": _turn,
    "length": lambda rng, layout: (layout.placements, layout.length + rng.choice((-1, 1)), 0),
    "bound": lambda rng, layout: (layout.placements, layout.length, layout.length + 1),
}


def test_the_random_layouts_hold_every_kind_of_part() -> None:
    """Otherwise the property above would prove less than it says."""
    layouts = [shelf_layout(random.Random(seed), 6) for seed in range(20)]
    parts = [part for layout in layouts for part in layout.problem.parts]
    assert any(part.match and part.match.seam for part in parts)
    assert any(part.arrow for part in parts)
    assert any(place.turned for layout in layouts for place in layout.placements)
    assert any(layout.problem.strips[0].flaws for layout in layouts)
    assert any(layout.problem.strips[0].start is not None for layout in layouts)
    assert all(corrupt(random.Random(0), layouts[0]) is not None for corrupt in CORRUPTIONS.values())


@pytest.mark.parametrize("seed", seeds(5, 20))
def test_what_brute_force_finds_is_valid(seed: int) -> None:
    problem = tiny_problem(random.Random(seed), repeat=True, parts=3, turns=True, arrows=True, flaws=1)
    length, placements = optimal_layout(problem)
    assert_valid(problem, Result(length, Bound(length, "brute force"), Stop.PROVED, 0.0, placements))


def test_assert_valid_fails_where_it_should() -> None:
    sound = Result(8, Bound(8, "area"), Stop.PROVED, 0.0, PLAIN_LAID)
    assert_valid(PLAIN, sound)
    for spoiled in (
        replace(sound, length=9),
        replace(sound, bound=Bound(9, "area")),
        replace(sound, placements=PLAIN_LAID[:2]),
        replace(sound, length=None),
        replace(sound, infeasible=True),
    ):
        with pytest.raises(AssertionError):
            assert_valid(PLAIN, spoiled)


def plan_document() -> dict[str, Any]:
    """Two matched widths with a half drop, two tabs (one turned), and a lining on a second fabric.

    Repeat 12 x 20, drop 1/2: the widths lie in columns 0 and 1, so the second begins 6 higher.
    """
    match = {"level": "room", "seam": "left", "x": 0.0, "y": 0.0}
    panel = {
        "id": "left", "name": "Left", "role": "panel", "window": "East", "fabric": "face", "width": 20.0,
        "length": 30.0, "copies": 2, "turnable": False, "match": match, "nap": "none", "optional": False,
        "arithmetic": [], "arrow_group": "room",
    }  # fmt: skip
    tab = {
        **panel, "id": "tab", "role": "tab", "width": 3.0, "length": 5.0, "turnable": True, "match": None,
        "arrow_group": None,
    }  # fmt: skip
    lining = {**panel, "id": "lining", "fabric": "lining", "width": 20.0625, "copies": 2, "match": None,
              "nap": "one-way"}  # fmt: skip
    cushion = {**tab, "id": "cushion", "width": 40.0, "length": 40.0, "copies": 1, "optional": True}

    def at(piece: str, copy: int, x: float, y: float, width: float, length: float) -> dict[str, Any]:
        return {
            "piece": piece, "copy": copy, "x": x, "y": y, "width": width, "length": length, "turn": 0,
            "arrow": "up",
        }  # fmt: skip

    face = {
        "fabric": "face", "bolt_width": 48.0, "usable_width": 47.0, "on_hand": None, "length": 36.0,
        "repeat": {"length": 12.0, "width": 20.0, "drop": 0.5}, "lower_bound": 36.0, "squaring": 2.0,
        "bound_method": "area", "status": "optimal", "stop": "proved", "seconds": 0.1,
        "bound_certificate": None,
        # 36 + 2 = 38 in; the next eighth of a yard is 40.5 in = 1.125 yd; x 38.50 = 43.3125
        "buy": {
            "quantity": 1.125, "unit": "yd", "cost": 43.31, "price": 38.5, "step": 4.5,
            "allowances": [{"name": "squaring", "length": 2.0}],
        },
        "placements": [
            at("left", 1, 0.0, 0.0, 20.0, 30.0),
            at("left", 2, 20.0, 6.0, 20.0, 30.0),
            at("tab", 1, 40.0, 0.0, 3.0, 5.0),
            {**at("tab", 2, 40.0, 5.0, 5.0, 3.0), "turn": 90, "arrow": "left"},
        ],
    }  # fmt: skip
    plain = {
        **face, "fabric": "lining", "repeat": None, "length": 30.0, "lower_bound": 29.5, "status": "feasible",
        "buy": {"quantity": 1.0, "unit": "yd", "cost": None},
        "placements": [
            at("lining", 1, 0.0, 0.0, 20.0625, 30.0), at("lining", 2, 20.0625, 0.0, 20.0625, 30.0),
        ],
    }  # fmt: skip
    return {
        "schema": "nesting-plan/2", "title": "", "units": "in", "pieces": [panel, tab, lining, cushion],
        "layouts": [face, plain],
    }  # fmt: skip


TICK = 0.0004921  # 1/2032 in, to seven decimals

# name: (what it breaks, path to the value, the value it gets)
SPOILED: dict[str, tuple[set[Breach], tuple[str | int, ...], Any]] = {
    "overlap of a tick": ({Breach.OVERLAP}, ("layouts", 1, "placements", 1, "x"), 20.0625 - TICK),
    "off the left edge by a tick": ({Breach.OUTSIDE}, ("layouts", 1, "placements", 0, "x"), -TICK),
    "usable width above the bolt": ({Breach.OUTSIDE}, ("layouts", 0, "usable_width"), 48.5),
    "off the right edge": ({Breach.OUTSIDE}, ("layouts", 1, "usable_width"), 40.125 - TICK),
    "beyond the length on hand": ({Breach.OUTSIDE}, ("layouts", 1, "on_hand_length"), 29.0),
    "missing copy": ({Breach.MISSING_COPY}, ("pieces", 1, "copies"), 3),
    "extra copy": ({Breach.EXTRA_COPY}, ("pieces", 1, "copies"), 1),
    "laid twice": ({Breach.EXTRA_COPY, Breach.MISSING_COPY}, ("layouts", 0, "placements", 3, "copy"), 1),
    "left out, yet laid": ({Breach.EXTRA_COPY}, ("left_out",), [{"piece": "tab", "copies": 1}]),
    "left out, not known": ({Breach.UNKNOWN_PART}, ("left_out",), [{"piece": "cap", "copies": 1}]),
    "on the wrong fabric": (
        {Breach.UNKNOWN_PART, Breach.MISSING_COPY},
        ("layouts", 0, "placements", 2, "piece"),
        "lining",
    ),
    "wrong size": ({Breach.WRONG_SIZE}, ("layouts", 0, "placements", 2, "width"), 3.0 - TICK),
    "size not swapped": ({Breach.WRONG_SIZE, Breach.ARROW}, ("layouts", 0, "placements", 3, "turn"), 0),
    "not turnable": ({Breach.FORBIDDEN_TURN}, ("pieces", 1, "turnable"), False),
    "turned against a one-way nap": (
        {Breach.FORBIDDEN_TURN, Breach.ARROW},
        ("pieces", 1, "nap"),
        "one-way",
    ),
    "arrow against the turn": ({Breach.ARROW}, ("layouts", 0, "placements", 3, "arrow"), "up"),
    "matched piece upside down": ({Breach.ARROW}, ("layouts", 0, "placements", 1, "arrow"), "down"),
    "one-way nap reversed": ({Breach.ARROW}, ("layouts", 1, "placements", 1, "arrow"), "down"),
    "off the repeat along": (
        {Breach.PHASE_ALONG, Breach.LENGTH},
        ("layouts", 0, "placements", 1, "y"),
        6 + TICK,
    ),
    "another drop": ({Breach.PHASE_ALONG}, ("layouts", 0, "repeat", "drop"), 0.0),
    "another start": ({Breach.PHASE_ALONG}, ("layouts", 0, "start"), 1.0),
    "on a flaw": (
        {Breach.FLAW},
        ("layouts", 0, "flaws"),
        [{"x": 0, "y": 30 - TICK, "width": 1, "length": 2}],
    ),
    "length": ({Breach.LENGTH, Breach.STATUS}, ("layouts", 0, "length"), 36.0 + TICK),
    "bound above length": ({Breach.BOUND}, ("layouts", 1, "lower_bound"), 30.0 + TICK),
    "optimal without proof": ({Breach.STATUS}, ("layouts", 1, "status"), "optimal"),
    "optimal not said": ({Breach.STATUS}, ("layouts", 0, "status"), "feasible"),
    "no layout, yet laid": ({Breach.LENGTH, Breach.STATUS}, ("layouts", 1, "length"), None),
    "too little bought": ({Breach.BUY, Breach.COST}, ("layouts", 0, "buy", "quantity"), 1.0),
    "not a selling step": ({Breach.BUY, Breach.COST}, ("layouts", 0, "buy", "quantity"), 1.2),
    "allowance forgotten": (
        {Breach.BUY},
        ("layouts", 0, "buy", "allowances"),
        [{"name": "unknown start of the print", "length": 12.0}],
    ),
    "nothing bought": ({Breach.BUY}, ("layouts", 1, "buy"), None),
    "a cent too much": ({Breach.COST}, ("layouts", 0, "buy", "cost"), 43.32),
}


def spoil(path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    document = deepcopy(plan_document())
    table: Any = document
    for key in path[:-1]:
        table = table[key]
    table[path[-1]] = value
    return document


def test_a_sound_document_passes() -> None:
    assert check_plan_document(plan_document()) == ()


@pytest.mark.parametrize("name", SPOILED)
def test_a_spoiled_document_fails(name: str) -> None:
    expected, path, value = SPOILED[name]
    broken = check_plan_document(spoil(path, value))
    assert kinds(broken) == expected, "\n".join(map(str, broken))


def test_a_document_off_the_repeat_across_by_one_tick() -> None:
    document = plan_document()
    document["layouts"][0]["placements"][1]["x"] += TICK
    for tab in document["layouts"][0]["placements"][2:]:
        tab["x"] += 1
    broken = only(check_plan_document(document))
    assert (broken.kind, broken.amount) == (Breach.PHASE_ACROSS, 1)


def test_matched_tops_point_up_even_where_all_agree() -> None:
    document = plan_document()
    for placement in document["layouts"][0]["placements"][:2]:
        placement["arrow"] = "down"
    broken = check_plan_document(document)
    assert [one.kind for one in broken] == [Breach.ARROW] * 2


def test_an_arrow_group_lies_one_way_in_a_document() -> None:
    document = plan_document()
    lining = document["pieces"][2] | {"nap": "two-way", "arrow_group": None}
    document["pieces"][2] = lining
    document["layouts"][1]["placements"][1]["arrow"] = "down"
    assert check_plan_document(document) == ()
    lining["arrow_group"] = "room"
    assert only(check_plan_document(document)).kind is Breach.ARROW


@pytest.mark.parametrize(("x", "off"), [(20.0, 0), (1.0, 2032)])
def test_a_panel_on_two_lengths_meets_at_its_seam(x: float, off: int) -> None:
    """The start of each length is its own, so nothing is said along; across, the panel is one."""
    document = plan_document()
    face = document["layouts"][0]
    second = face["placements"].pop(1) | {"x": x, "y": 0.0}
    face["placements"][0]["y"] = 6.0
    rest = deepcopy(face) | {
        "placements": [second], "on_hand": "remnant", "buy": None, "length": 30.0, "lower_bound": 30.0,
    }  # fmt: skip
    document["layouts"].append(rest)
    broken = check_plan_document(document)
    assert [(one.kind, one.amount) for one in broken] == ([(Breach.PHASE_ACROSS, off)] if off else [])


def test_what_is_left_out_need_not_be_laid() -> None:
    document = spoil(("pieces", 1, "copies"), 3)
    document["left_out"] = [{"piece": "tab", "copies": 1, "shortfall": 5.0}]
    assert check_plan_document(document) == ()


def test_a_fabric_without_a_layout_lays_nothing() -> None:
    document = plan_document()
    document["layouts"][1] |= {"length": None, "status": "no_layout", "placements": [], "buy": None}
    assert check_plan_document(document) == ()
    document["layouts"][1]["status"] = "feasible"
    assert kinds(check_plan_document(document)) == {Breach.STATUS}


def test_a_third_drop_survives_its_decimals() -> None:
    document = spoil(("layouts", 0, "repeat", "drop"), 0.333333)
    document["layouts"][0]["placements"][1]["y"] = 4.0
    document["layouts"][0] |= {"length": 34.0, "lower_bound": 34.0}
    assert check_plan_document(document) == ()


@pytest.mark.parametrize("units", ["cm", "mm"])
def test_metric_documents_go_to_the_nearest_tick(units: str) -> None:
    document = plan_document() | {"units": units}
    for layout in document["layouts"]:
        layout["buy"] = {"quantity": 1.0, "unit": "m", "cost": None}
    assert check_plan_document(document) == ()


FAULTS: dict[str, tuple[tuple[str | int, ...], Any, str]] = {
    "schema": (("schema",), "other/1", r'schema = .*expected "nesting-plan/2"'),
    "units": (("units",), "ell", r"units = 'ell'"),
    "text for a number": (("pieces", 1, "width"), "3", r"pieces\[1\]\.width = '3': expected a number of in"),
    "no size": (("pieces", 1, "width"), 0, r"pieces\[1\]\.width = 0: expected a length above 0"),
    "not finite": (("layouts", 0, "length"), float("nan"), r"layouts\[0\]\.length"),
    "flag": (("pieces", 0, "turnable"), 1, r"pieces\[0\]\.turnable = 1: expected true or false"),
    "turn": (("layouts", 0, "placements", 0, "turn"), 45, r"placements\[0\]\.turn = 45: expected 0 or 90"),
    "list": (("pieces",), {}, r"pieces = \{\}: expected a list"),
    "table": (("layouts", 0), 3, r"layouts\[0\] = 3: expected a table"),
    "same id twice": (("pieces", 1, "id"), "left", r"pieces\[1\]\.id = 'left'"),
    "drop without width": (("layouts", 0, "repeat", "width"), None, r"layouts\[0\]: drop 1/2"),
    "start of plain fabric": (("layouts", 1, "start"), 1.0, r"layouts\[1\]: strip start"),
    "quantity": (("layouts", 0, "buy", "quantity"), True, r"buy\.quantity = True: expected a number"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_faults_of_form_name_their_place(name: str) -> None:
    path, value, message = FAULTS[name]
    with pytest.raises(NestingError, match=message):
        check_plan_document(spoil(path, value))


@pytest.mark.parametrize("key", ["schema", "units", "pieces", "layouts"])
def test_a_missing_key_is_named(key: str) -> None:
    document = plan_document()
    del document[key]
    with pytest.raises(NestingError, match=f"{key} is missing"):
        check_plan_document(document)


def test_a_document_that_is_no_table() -> None:
    with pytest.raises(NestingError, match="expected a table"):
        check_plan_document([])  # type: ignore[arg-type]
