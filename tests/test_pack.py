"""From a problem to a proven layout: known lengths, brute force, refusals, and how a search ends."""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from nesting.errors import ProblemError
from nesting.packing import (
    Bound,
    Choice,
    Flaw,
    Incumbent,
    Match,
    Part,
    Problem,
    Repeat,
    Result,
    Status,
    Stop,
    Strip,
    pack,
)
from nesting.packing.bounds import simple
from nesting.packing.reduce import Core, reduce
from nesting.packing.trust import Trust
from tests.assertions import assert_valid
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, shelf_layout, tiny_problem
from tests.seeds import some
from tests.zero_waste import ZERO_WASTE, zero_waste

HALF = Fraction(1, 2)
THIRD = Fraction(1, 3)


def packed(problem: Problem, work: float = 10, seed: int = 0) -> Result:
    """Packed with one worker and a budget that knows no clock, and checked."""
    result = pack(problem, workers=1, work_limit=work, seed=seed)
    assert_valid(problem, result)
    return result


def assert_proven(problem: Problem, length: int, work: float = 10) -> None:
    result = packed(problem, work)
    assert (result.length, result.bound.length) == (length, length)
    assert result.status is Status.OPTIMAL
    assert result.stop is Stop.PROVED


def full_widths(cut: int, repeat: int, columns: dict[int, int], drop: Fraction) -> Problem:
    """Full widths of fabric 54 wide, the repeat as wide; ``columns``: how many start in which column."""
    parts = tuple(
        Part(f"column {column}", 54, cut, copies, match=Match("room", None, 54 * column, 0))
        for column, copies in columns.items()
    )
    return Problem((Strip(54, repeat=Repeat(repeat, 54, drop)),), parts)


class TestKnownLengths:
    """Lengths worked out elsewhere; inches, scaled up where halves are needed."""

    @pytest.mark.parametrize(
        ("cut", "repeat", "columns", "drop", "length"),
        [
            # Derived by trying every order; in half inches.
            pytest.param(232, 50, {0: 4}, 0, 982, id="cut 116, repeat 25, straight: 491"),
            pytest.param(232, 50, {0: 2, 1: 2}, HALF, 1007, id="cut 116, repeat 25, half drop: 503.5"),
            pytest.param(216, 50, {0: 2, 1: 2}, HALF, 891, id="cut 108, repeat 25, half drop: 445.5"),
            # E34 (PRT: K. Stein, Prints: Conquering and Cutting, Part III, 1998; half-drop total derived).
            pytest.param(174, 24, {0: 4}, 0, 750, id="E34, straight: 375"),
            pytest.param(174, 24, {0: 2, 1: 2}, HALF, 714, id="E34, half drop: 357"),
            # E19 (HMD: How to Make Draperies, booklet no. 102, 1960): cut 84, repeat 24, 4 widths; the tight
            # total from a chosen start is 3 x 96 + 84.
            pytest.param(84, 24, {0: 4}, 0, 372, id="E19: 372"),
        ],
    )
    def test_full_widths_in_a_pattern(
        self, cut: int, repeat: int, columns: dict[int, int], drop: Fraction, length: int
    ) -> None:
        assert_proven(full_widths(cut, repeat, columns, Fraction(drop)), length)

    def test_lengths_hold_in_ticks_as_in_inches(self) -> None:
        inch = 2032
        parts = tuple(
            Part(name, 54 * inch, 116 * inch, 2, match=Match("room", None, place * inch, 0))
            for name, place in (("A", 0), ("B", 54))
        )
        strip = Strip(54 * inch, repeat=Repeat(25 * inch, 54 * inch, HALF))
        assert_proven(Problem((strip,), parts), 503 * inch + inch // 2)

    def test_narrow_strips_of_a_pair_share_a_width(self) -> None:
        # E15 (SCH: Math in the Work Place, homemaker problem). The source's: two panels of 108 + 3 = 111,
        # fabric of 54; two full widths and a strip of 5 each, and the strips share a width: 5 widths, not 6.
        # Ours: a length of 58, and with it 5 x 58 = 290 instead of 6 x 58 = 348.
        full, strip = Part("full width", 54, 58, 4), Part("strip", 5, 58, 2)
        assert_proven(Problem((Strip(54),), (full, strip)), 290)

    def test_a_part_width_waits_for_its_place_in_the_pattern(self) -> None:
        # Strip 60, pattern 27 wide: a full width 54 of place 0 may lie at 0 to 6, its neighbor of place 53
        # (54 less two half-inch seams) at phase + 53 - 27 n. With the phase x of the full width:
        # 26 + x (n = 1) up to 60 - 20 = 40, or x - 1 (n = 2). Both are wider than the strip together, so
        # they lie one above the other; one level, repeat 10: 32 is rounded up to 40.
        strip = Strip(60, repeat=Repeat(10, 27))
        full = Part("full", 54, 32, match=Match("room", "panel", 0, 0))
        rest = Part("rest", 20, 32, match=Match("room", "panel", 53, 0))
        assert_proven(Problem((strip,), (full, rest)), 72)

    def test_a_start_that_is_known_costs_the_first_part_its_wait(self) -> None:
        # The pattern stands 4 up at y = 0, so it begins again at 6, 16, ...: 6 + 32 -> next at 46, to 78.
        strip = Strip(54, repeat=Repeat(10), start=4)
        assert_proven(Problem((strip,), (Part("a", 54, 32, 2, match=Match("room")),)), 78)

    def test_thirds_step_the_other_way_round_too(self) -> None:
        # Repeat 9, a third of it is 3. Cuts of 10 from columns 0, 1, 2: from one to the next the phase rises
        # by 3, and 10 leaves 1: going up a column waits 2 (12 apart), going down one waits 5 (15 apart), so
        # 0, 1, 2 is best: 12 + 12 + 10. With a drop of two thirds a column rises by 6: 2, 1, 0 it is.
        for drop in (THIRD, 2 * THIRD):
            assert_proven(full_widths(10, 9, {0: 1, 1: 1, 2: 1}, drop), 34)

    def test_nothing_to_lay_needs_no_fabric(self) -> None:
        assert_proven(Problem((Strip(54),), ()), 0)

    @pytest.mark.quality
    @pytest.mark.parametrize("name", some(ZERO_WASTE, 2))
    def test_published_instances_are_closed(self, name: str) -> None:
        problem, optimum = zero_waste(name)
        assert_proven(problem, optimum, work=60)


@pytest.mark.parametrize("seed", some(range(20), 6))
def test_a_fabric_cut_edge_to_edge_is_laid_back_without_waste(seed: int) -> None:
    rng = random.Random(seed)
    width, length = rng.randint(10, 40), rng.randint(10, 60)
    problem = guillotine_cutting(rng, width, length, rng.randint(3, 12))
    assert_proven(problem, length, work=20)


class TestBruteForce:
    """No layout is shorter, and none as short is missed."""

    @pytest.mark.parametrize("seed", some(range(60), 12))
    @pytest.mark.parametrize("repeat", [False, True], ids=["plain", "repeat"])
    def test_tiny_problems(self, seed: int, repeat: bool) -> None:
        rng = random.Random(f"{seed} {repeat}")
        problem = tiny_problem(
            rng,
            repeat,
            parts=rng.randint(2, 5 if not repeat else 4),
            width=rng.randint(3, 7),
            turns=rng.random() < 0.5,
            arrows=rng.random() < 0.5,
            flaws=rng.choice((0, 0, 1, 2, 3)),
            start=rng.random() < 0.4,
            margins=seed >= 40,
        )
        shortest = optimal_length(problem)
        result = packed(problem, seed=seed)
        assert result.length == shortest
        assert result.status is (Status.INFEASIBLE if shortest is None else Status.OPTIMAL)

    def test_flaws_that_overlap(self) -> None:
        # Two fixed rectangles on one place must not be taken for proof that no shorter layout exists.
        flaws = (Flaw(0, 2, 3, 3), Flaw(2, 3, 3, 3), Flaw(1, 4, 1, 9))
        parts = (Part("a", 4, 3, 2), Part("b", 3, 2, 2), Part("c", 1, 4, 1))
        problem = Problem((Strip(6, flaws=flaws),), parts)
        assert packed(problem).length == optimal_length(problem)

    def test_four_arrow_groups_turn_each_for_itself(self) -> None:
        # More groups than are tried one by one; each is 2 x 5, and turned two of them fill a row of 10.
        parts = tuple(Part(g, 2, 5, turnable=True, arrow=g) for g in "abcd")
        assert_proven(Problem((Strip(10),), parts), 4)


class TestRefusals:
    """What this version cannot honor is refused, never left out in silence."""

    ONE = Part("a", 5, 5)

    @pytest.mark.parametrize(
        ("problem", "named"),
        [
            (Problem((Strip(9), Strip(9)), (ONE,)), "several open strips"),
        ],
        ids=["two open strips"],
    )
    def test_of_what_is_not_packed_yet(self, problem: Problem, named: str) -> None:
        with pytest.raises(ProblemError, match=named):
            pack(problem, work_limit=1, workers=1)

    def test_of_a_matched_part_that_may_turn(self) -> None:
        with pytest.raises(ProblemError, match='"a" is matched and turnable'):
            Part("a", 5, 5, turnable=True, match=Match("room"))

    def test_of_a_matched_part_on_plain_fabric(self) -> None:
        with pytest.raises(ProblemError, match='"a" is matched, but no strip has a repeat'):
            Problem((Strip(9),), (Part("a", 5, 5, match=Match("room")),))


class TestProvenImpossible:
    @pytest.mark.parametrize(
        "problem",
        [
            pytest.param(Problem((Strip(9),), (Part("a", 10, 4),)), id="wider than the strip"),
            pytest.param(Problem((Strip(9),), (Part("a", 10, 12, turnable=True),)), id="too wide each way"),
            pytest.param(
                Problem(
                    (Strip(9),),
                    (
                        Part("a", 8, 12, turnable=True, arrow="room"),
                        Part("b", 12, 8, turnable=True, arrow="room"),
                    ),
                ),
                id="a group that agrees on no direction",
            ),
            # Both fill the strip, so each has one phase: 0 and (0 - 3) mod 10.
            pytest.param(
                Problem(
                    (Strip(9, repeat=Repeat(4, 10)),),
                    (
                        Part("a", 9, 4, match=Match("room", "panel", 0, 0)),
                        Part("b", 9, 4, match=Match("room", "panel", 3, 0)),
                    ),
                ),
                id="a seam group without a common phase",
            ),
        ],
    )
    def test_is_said(self, problem: Problem) -> None:
        result = packed(problem)
        assert optimal_length(problem) is None
        assert result.status is Status.INFEASIBLE
        assert result.stop is Stop.PROVED
        assert (result.length, result.placements) == (None, ())


#: More than bounds and first layouts can settle, so that search and solver have their say.
HARDER = """
import random
from nesting.packing import pack
from tests.instances import shelf_layout
problem = shelf_layout(random.Random(5), 6, width=40).problem
laid = pack(problem, workers=1, work_limit=0.8, seed=7).placements
print([(p.part, p.copy, p.x, p.y, p.turned) for p in laid])
"""


class TestSameAgain:
    """The same problem, seed, one worker and a budget of work: the same layout."""

    @pytest.mark.nightly
    def test_in_one_process_and_in_fresh_ones(self) -> None:
        problem = shelf_layout(random.Random(5), 6, width=40).problem
        first = pack(problem, workers=1, work_limit=0.8, seed=7)
        assert pack(problem, workers=1, work_limit=0.8, seed=7).placements == first.placements
        printed = [
            subprocess.run(
                [sys.executable, "-c", HARDER],
                capture_output=True,
                text=True,
                check=True,
                cwd=Path(__file__).parents[1],
            ).stdout
            for _ in range(2)
        ]
        expected = f"{[(p.part, p.copy, p.x, p.y, p.turned) for p in first.placements]}\n"
        assert printed == [expected, expected]


class TestObserver:
    """Told of every change; may end the search, and what was found is kept."""

    PROBLEM = shelf_layout(random.Random(3), 8, width=50).problem

    def test_lengths_only_fall_and_bounds_only_rise(self) -> None:
        heard = list[Incumbent]()
        result = pack(self.PROBLEM, workers=1, work_limit=1, on_progress=heard.append)
        assert len(heard) > 2
        assert [i for i in heard if i.method] == list(result.incumbents)
        lengths = [i.length for i in heard if i.length is not None]
        assert lengths == sorted(lengths, reverse=True)
        assert [i.bound for i in heard] == sorted(i.bound for i in heard)
        assert [i.seconds for i in heard] == sorted(i.seconds for i in heard)
        assert (heard[-1].length, heard[-1].bound) == (result.length, result.bound.length)

    @pytest.mark.parametrize("how", ["returns False", "KeyboardInterrupt"])
    def test_may_end_the_search_at_the_first_layout(self, how: str) -> None:
        heard = list[Incumbent]()

        def observe(now: Incumbent) -> object:
            heard.append(now)
            if now.length is not None and how == "KeyboardInterrupt":
                raise KeyboardInterrupt
            return now.length is None

        result = pack(self.PROBLEM, workers=1, work_limit=50, on_progress=observe)
        assert_valid(self.PROBLEM, result)
        assert result.stop is Stop.INTERRUPTED
        assert result.length is not None
        assert result.length == heard[-1].length, "nothing went on after the end was asked for"

    def test_may_end_the_search_before_any_layout(self) -> None:
        result = pack(self.PROBLEM, workers=1, work_limit=50, on_progress=lambda _: False)
        assert result.stop is Stop.INTERRUPTED
        assert result.status is Status.NO_LAYOUT
        assert_valid(self.PROBLEM, result)


class TestAFalseBound:
    """A fault of the engine, made on purpose: it is dropped with its source, and the search goes on."""

    def test_neither_loses_the_layout_nor_ends_the_search(
        self, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        monkeypatch.setattr("nesting.packing.bounds.simple.area", lambda core: Bound(1000, "area"))
        result = packed(TestObserver.PROBLEM, 0.3)
        assert result.length is not None
        assert result.length < 50, "it went on: the first layout is 101 long"
        assert 0 < result.bound.length <= result.length
        assert "area" not in result.bound.method
        assert result.stop is not Stop.FAULT
        assert all(each.bound <= result.length for each in result.incumbents)
        assert caplog.text.count("bound 1000 (area") == 1

    def test_leaves_what_other_bounds_prove(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Three of 3 x 4 and 1 x 2 on 5: one above the other, 12, which the wide stack proves."""
        monkeypatch.setattr("nesting.packing.bounds.simple.area", lambda core: Bound(1000, "area"))
        result = packed(Problem((Strip(5),), (Part("a", 3, 4, copies=3), Part("b", 1, 2))), 1)
        assert (result.length, result.bound.length, result.stop) == (12, 12, Stop.PROVED)

    def test_that_was_believed_until_a_shorter_layout_came_is_dropped(
        self, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        """Below the first layout, above the best: what was raised while it stood is not believed either."""
        true = simple.area(reduce(TestObserver.PROBLEM)).length  # type: ignore[arg-type]
        monkeypatch.setattr("nesting.packing.bounds.simple.area", lambda core: Bound(2 * true + 1, "area"))
        result = packed(TestObserver.PROBLEM, 0.3)
        assert result.length is not None
        assert result.bound.length <= result.length <= 2 * true
        assert "(area" in caplog.text

    def test_on_one_case_of_several_is_seen_by_a_layout_of_that_case(
        self, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        """Two of 3 x 7 that lie alike on 9: that they are turned, 7 x 3 each, is said to take 50."""
        parts = (
            Part("a", 3, 7, copies=2, turnable=True, arrow="one"),
            Part("b", 2, 4),
            Part("c", 1, 3),
            Part("d", 4, 3),
        )
        problem = Problem((Strip(9),), parts)
        least = optimal_length(problem)
        tallest = simple.tallest

        def false(core: Core) -> Bound:
            turned = any(kind.ways[0][2] for kind in core.kinds)
            return Bound(50, "tallest part") if turned else tallest(core)

        monkeypatch.setattr("nesting.packing.bounds.simple.tallest", false)
        result = packed(problem, 1)
        assert (result.length, result.bound.length, result.stop) == (least, least, Stop.PROVED)
        assert "bound 50 (tallest part" in caplog.text

    @pytest.mark.parametrize("more", [(), (Part("b", 1, 2),)])
    def test_of_several_sources_does_not_go_on_for_ever(
        self, monkeypatch: pytest.MonkeyPatch, more: tuple[Part, ...]
    ) -> None:
        """All that is counted is false, and the solver is not heard either: it ends with nothing proven."""
        for name in ("area", "tallest", "wide_stack"):
            monkeypatch.setattr(
                f"nesting.packing.bounds.simple.{name}", lambda core, name=name: Bound(900, name)
            )
        monkeypatch.setattr("nesting.packing.trust.Trust.believes", _counted_only)
        result = packed(Problem((Strip(5),), (Part("a", 3, 4, copies=3), *more)), 1)
        assert (result.length, result.bound.length, result.stop) == (12, 0, Stop.TIME_LIMIT)


def _counted_only(trust: Trust, bound: Bound) -> bool:
    return bound.length >= 900 and bound.method not in trust.dropped


class TestItsEnd:
    """A budget of work is spent whatever the problem is."""

    def test_with_two_thousand_copies(self) -> None:
        parts = tuple(Part(str(i), 3 + 5 * i, 70 + 9 * i, 250) for i in range(8))
        result = packed(Problem((Strip(55),), parts), work=1)
        assert result.length is not None

    @pytest.mark.nightly
    def test_with_more_parts_than_calls_may_be_deep(self) -> None:
        # Next to no waste, so that niches would be filled part upon part.
        sizes = ((7, 3), (5, 4), (9, 5), (11, 4))
        parts = tuple(Part(f"{w} x {h}", w, h, 250) for w, h in sizes)
        assert packed(Problem((Strip(41),), parts), work=32).length is not None

    def test_with_hundreds_of_equal_copies_whose_bound_is_out_of_reach(self) -> None:
        # One kind has one order, and is too many for a model: nothing is left to try.
        part = Part("a", 10, 116, 450, match=Match("room", "panel"))
        result = packed(Problem((Strip(10, repeat=Repeat(25, 10)),), (part,)), work=20)
        # Each but the last takes 125.
        assert result.length == 449 * 125 + 116

    def test_with_sizes_near_the_largest(self) -> None:
        rng = random.Random(2)
        parts = tuple(
            Part(str(i), rng.randint(2**27, 2**29), rng.randint(2**27, 2**30), turnable=i % 2 == 0)
            for i in range(6)
        )
        assert packed(Problem((Strip(2**30 - 1),), parts), work=3).length is not None

    def test_with_nothing_to_spend_a_layout_is_found_all_the_same(self) -> None:
        result = packed(TestObserver.PROBLEM, work=0)
        assert result.length is not None
        assert result.stop is Stop.TIME_LIMIT


@pytest.mark.parametrize(
    ("length", "bound", "infeasible", "status"),
    [
        (None, 0, True, Status.INFEASIBLE),
        (None, 7, False, Status.NO_LAYOUT),
        (7, 6, False, Status.FEASIBLE),
        (7, 7, False, Status.OPTIMAL),
    ],
)
@pytest.mark.parametrize("stop", Stop)
def test_status_follows_from_length_and_bound(
    length: int | None, bound: int, infeasible: bool, status: Status, stop: Stop
) -> None:
    result = Result(length, Bound(bound, "said"), stop, 0.0, infeasible=infeasible)
    assert result.status is status


class TestTarget:
    #: 2 x 6 x 5 and 4 x 3 on a strip of 10: 10 is the least, one above the other 13.
    PROBLEM = Problem((Strip(10),), (Part("a", 6, 5, copies=2), Part("b", 4, 3)))

    def test_a_layout_as_short_as_asked_for_ends_the_search(self) -> None:
        problem = guillotine_cutting(random.Random(5), 200, 300, 30)
        result = pack(problem, workers=1, work_limit=20, target=600)
        assert_valid(problem, result)
        assert result.length is not None
        assert result.bound.length < result.length <= 600
        assert (result.status, result.stop) == (Status.FEASIBLE, Stop.TARGET)

    def test_a_proof_counts_for_more(self) -> None:
        assert pack(self.PROBLEM, workers=1, work_limit=5, target=0).stop is Stop.PROVED
        assert pack(self.PROBLEM, workers=1, work_limit=5, target=10).length == 10

    def test_with_choices(self) -> None:
        problem = Problem((Strip(10),), self.PROBLEM.parts, (Choice("seams", ((1,), ())),))
        assert pack(problem, workers=1, work_limit=5, target=99).length is not None

    @pytest.mark.parametrize(
        ("problem", "target", "named"),
        [
            (PROBLEM, -1, "target = -1"),
            (PROBLEM, 2.5, "target = 2.5: expected a length, a whole number of 0 or more, or a gap"),
            (Problem((Strip(9, 9),), (Part("a", 3, 3),)), 5, "only one open strip"),
        ],
    )
    def test_is_refused_where_it_is_none(self, problem: Problem, target: Any, named: str) -> None:
        with pytest.raises(ProblemError, match=named):
            pack(problem, workers=1, work_limit=1, target=target)


class TestWholeNumbers:
    """Sizes are whole: others are refused by name, those of numpy are taken and do not come out again."""

    @pytest.mark.parametrize(
        ("make", "named"),
        [
            (lambda: Part("Nook", 2.5, 3), 'part "Nook": width = 2.5: expected a whole number'),
            (lambda: Part("Nook", 2, "3"), "part \"Nook\": length = '3': expected a whole number"),
            (lambda: Part("Nook", 2, 3, copies=True), 'part "Nook": copies = True'),
            (lambda: Part("Nook", 2, 3, value=1.0), 'part "Nook": value = 1.0'),
            (lambda: Part("Nook", 2, 3, clear=(0, 0.5)), 'part "Nook": clear = 0.5'),
            (lambda: Strip(2.5), "strip: width = 2.5"),
            (lambda: Strip(2, 5.0), "strip: length = 5.0"),
            (lambda: Strip(2, None, Repeat(5), start=0.5), "strip: start = 0.5"),
            (lambda: Repeat(2.5), "repeat: length = 2.5"),
            (lambda: Match("room", y=2.5), 'match of level "room": y = 2.5'),
            (lambda: Flaw(0, 0, 1, 2.5), "flaw: length = 2.5"),
            (lambda: Choice("seams", ((0.0,),)), 'choice "seams": part = 0.0'),
            (lambda: pack(TestTarget.PROBLEM, seed=0.5), "seed = 0.5"),
            (lambda: pack(TestTarget.PROBLEM, workers=1.0), "workers = 1.0"),
            (lambda: pack(TestTarget.PROBLEM, time_limit="5"), "time_limit = '5'"),  # type: ignore[arg-type]
            (lambda: pack(TestTarget.PROBLEM, time_limit=None), "time_limit = None"),  # type: ignore[arg-type]
            (lambda: pack(TestTarget.PROBLEM, time_limit=float("nan")), "time_limit = nan"),
            (lambda: pack(TestTarget.PROBLEM, work_limit=float("nan")), "work_limit = nan"),
        ],
    )
    def test_others_are_refused(self, make: Callable[[], object], named: str) -> None:
        with pytest.raises(ProblemError, match=re.escape(named)):
            make()

    @pytest.mark.parametrize("fixed", [None, 40])
    def test_of_numpy_they_are_taken_and_do_not_leak(self, fixed: int | None) -> None:
        n = np.int64
        parts = (
            Part("a", n(6), n(5), n(2), match=Match("room", "seam", n(0), n(3))),
            Part("b", n(4), n(3), clear=(n(0), n(1)) if fixed else (0, 0), turnable=True),
        )
        strip = Strip(n(14), fixed and n(fixed), Repeat(n(8), n(7)), (Flaw(n(0), n(0), n(1), n(1)),))
        result = pack(Problem((strip,), parts), workers=n(1), seed=n(3), work_limit=2)
        assert_valid(Problem((strip,), parts), result)
        for number in numbers(asdict(result)):
            assert type(number) in (int, float, bool), repr(number)
        json.dumps(asdict(result))


def numbers(record: Any) -> Iterator[object]:
    """Every number in a record."""
    if isinstance(record, dict):
        record = list(record.values())
    if isinstance(record, list | tuple):
        for each in record:
            yield from numbers(each)
    elif record is not None and not isinstance(record, str):
        yield record
