"""The engine as others call it: the page's code runs, and what is asked for wrongly is told by name."""

from __future__ import annotations

import inspect
import random
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import nesting.packing
from nesting.errors import ProblemError
from nesting.packing import Choice, Match, Part, Placement, Problem, Repeat, Status, Stop, Strip, pack
from tests.assertions import assert_valid
from tests.instances import guillotine_cutting, shelf_layout, tiny_problem

PAGE = Path(__file__).parents[1] / "docs" / "library.md"
BLOCKS = re.findall(r"```python\n(.*?)```", PAGE.read_text("utf-8"), re.DOTALL)


def test_the_code_of_the_page_runs(capsys: pytest.CaptureFixture[str]) -> None:
    assert len(BLOCKS) == 6
    names: dict[str, object] = {}
    for block in BLOCKS:
        exec(compile(block, str(PAGE), "exec"), names)
    told = capsys.readouterr().out
    assert 'part "door": width = 12.5: expected a whole number; where sizes have decimals' in told
    assert "infeasible ('door',)" in told
    # By area (216 + 120 + 42) / 20 = 18.9, so 19 at the least.
    assert re.search(r"^\d+ proven: (19|[2-9]\d) by ", told, re.MULTILINE)


def test_help_shows_every_parameter() -> None:
    told = inspect.getdoc(nesting.packing.pack) or ""
    for name in inspect.signature(nesting.packing.pack).parameters:
        assert re.search(rf"^{name}$", told, re.MULTILINE), name


def test_whole_numbers_of_numpy_are_taken() -> None:
    part = Part("a", np.int64(3), np.int32(4), np.int16(2))
    assert (type(part.width), type(part.length), type(part.copies)) == (int, int, int)
    assert type(Strip(np.int64(7)).width) is int


class TestStart:
    PROBLEM = guillotine_cutting(random.Random(3), 40, 60, 14)

    def test_the_result_is_no_longer_and_valid(self) -> None:
        first = pack(self.PROBLEM, work_limit=0.02, workers=1)
        again = pack(self.PROBLEM, work_limit=0.001, workers=1, start=first.placements)
        assert first.length is not None
        assert again.length is not None
        assert again.length <= first.length
        assert_valid(self.PROBLEM, again)

    @pytest.mark.parametrize("seed", range(30))
    def test_every_layout_of_the_engine_is_a_start(self, seed: int) -> None:
        rng = random.Random(seed)
        problem = tiny_problem(
            rng, seed % 2 == 0, parts=5, turns=seed % 3 == 0, arrows=seed % 5 == 0, flaws=seed % 4 == 1,
            margins=seed % 3 == 1, start=seed % 7 == 0,
        )  # fmt: skip
        first = pack(problem, work_limit=0.1, workers=1)
        if first.length is not None:
            again = pack(problem, work_limit=1e-6, workers=1, start=first.placements)
            assert again.length == first.length
            assert_valid(problem, again)

    @pytest.mark.parametrize("seed", range(4))
    def test_a_layout_made_elsewhere_is_one_too(self, seed: int) -> None:
        known = shelf_layout(random.Random(seed), 5, width=30)
        result = pack(known.problem, work_limit=1e-6, workers=1, start=known.placements)
        assert result.length is not None
        assert result.length <= known.length
        assert_valid(known.problem, result)

    PAIR = Problem((Strip(10),), (Part("a", 5, 7), Part("b", 4, 6)))

    @pytest.mark.parametrize(
        ("places", "said"),
        [
            ([(0, 1, 0, 0)], 'part "b" copy 1 is laid 0 times'),
            ([(0, 1, 0, 0), (0, 1, 0, 9), (1, 1, 5, 0)], 'part "a" copy 1 is laid 2 times'),
            ([(0, 1, 0, 0), (1, 2, 5, 0)], "part 1 copy 2: there is none"),
            ([(0, 1, 0, 0), (1, 1, 4, 0)], "overlaps another part"),
            ([(0, 1, 0, 0), (1, 1, 7, 0)], 'part "b" copy 1 lies beyond the strip'),
        ],
    )
    def test_what_is_no_layout_is_refused(self, places: list[tuple[int, int, int, int]], said: str) -> None:
        with pytest.raises(ProblemError) as caught:
            pack(self.PAIR, work_limit=0.1, start=[Placement(*each) for each in places])
        assert said in str(caught.value)

    #: Nothing fits beside the first part, so it is set apart from the search.
    LONE = Problem((Strip(20),), (Part("wide", 20, 6, 2), Part("a", 7, 5), Part("b", 9, 4)))

    @pytest.mark.parametrize(
        ("places", "said"),
        [
            ([(0, 1, 0, 0), (0, 2, 0, 3), (1, 1, 0, 9), (2, 1, 8, 9)], "overlaps another part"),
            ([(0, 1, 0, 0), (0, 2, 0, 6), (1, 1, 0, 11), (2, 1, 8, 12)], "overlaps another part"),
            ([(0, 1, 0, -4), (0, 2, 0, 6), (1, 1, 0, 12), (2, 1, 8, 12)], "lies beyond the strip"),
            ([(0, 1, 5, 0), (0, 2, 0, 6), (1, 1, 0, 12), (2, 1, 8, 12)], "lies beyond the strip"),
            ([(0, 1, 0, 0, True), (0, 2, 0, 6), (1, 1, 0, 12), (2, 1, 8, 12)], "a way that it may not"),
            ([(0, 1, 0, 0, False, 1), (0, 2, 0, 6), (1, 1, 0, 12), (2, 1, 8, 12)], "expected strip 0"),
            ([(0, 1, 0, 0), (0, 2, 0, 6), (1, 1, 0, 12.5), (2, 1, 8, 12)], "y = 12.5: expected a whole"),
            ([(0, 1, 0, 0), (0, 2, 0, 6), (1, 1, 0, 2**70), (2, 1, 8, 12)], "lies beyond the strip"),
        ],
    )
    def test_parts_that_are_set_apart_and_odd_numbers_are_looked_at_too(
        self, places: list[tuple[int, int, int, int]], said: str
    ) -> None:
        with pytest.raises(ProblemError) as caught:
            pack(self.LONE, work_limit=0.01, workers=1, start=[Placement(*each) for each in places])
        assert said in str(caught.value)

    @pytest.mark.parametrize("start", [[(0, 1, 0, 0)], "x", 3])
    def test_what_are_no_placements_is_refused(self, start: object) -> None:
        with pytest.raises(ProblemError, match="expected placements"):
            pack(self.PAIR, work_limit=0.01, workers=1, start=start)  # type: ignore[arg-type]

    def test_numbers_of_numpy_and_a_generator_are_taken(self) -> None:
        first = pack(self.PROBLEM, work_limit=0.02, workers=1)
        start = (
            Placement(np.int64(p.part), np.int64(p.copy), np.int64(p.x), np.int64(p.y), p.turned)
            for p in first.placements
        )
        again = pack(self.PROBLEM, work_limit=1e-6, workers=1, start=start)  # type: ignore[arg-type]
        assert again.length == first.length
        assert type(again.length) is int
        assert {type(number) for p in again.placements for number in (p.part, p.copy, p.x, p.y)} == {int}

    def test_turned_or_out_of_phase_it_is_refused(self) -> None:
        turned = [Placement(0, 1, 0, 0, True), Placement(1, 1, 0, 5)]
        with pytest.raises(ProblemError, match='part "a" copy 1 lies a way that it may not'):
            pack(self.PAIR, work_limit=0.1, start=turned)
        print_ = Problem((Strip(9, repeat=Repeat(10)),), (Part("panel", 4, 7, 2, match=Match("room")),))
        with pytest.raises(ProblemError, match='level group "room" is out of phase'):
            pack(print_, work_limit=0.1, start=[Placement(0, 1, 0, 0), Placement(0, 2, 4, 3)])

    def test_only_of_one_open_strip_without_choices(self) -> None:
        for problem in (
            replace(self.PAIR, choices=(Choice("one", ((0,), (1,))),)),
            replace(self.PAIR, strips=(Strip(10, 50),)),
        ):
            with pytest.raises(ProblemError, match="start: only one open strip"):
                pack(problem, work_limit=0.1, start=[])


class TestTarget:
    def test_a_gap_ends_the_search(self) -> None:
        problem = guillotine_cutting(random.Random(8), 60, 90, 24)
        result = pack(problem, work_limit=20, workers=1, target=0.5)
        assert result.length is not None
        assert result.stop in (Stop.TARGET, Stop.PROVED)
        assert result.length <= 1.5 * result.bound.length
        assert len(result.incumbents) < len(pack(problem, work_limit=1, workers=1).incumbents)

    @pytest.mark.parametrize("target", [0.0, 2.5])
    def test_both_that_it_may_be_is_told(self, target: float) -> None:
        with pytest.raises(ProblemError, match=r"expected a length.* or a gap between 0 and 1"):
            pack(TestStart.PAIR, target=target)

    @pytest.mark.parametrize("target", [1.5, -0.1, float("nan"), True])
    def test_what_is_neither_length_nor_gap_is_refused(self, target: float) -> None:
        with pytest.raises(ProblemError, match="target = "):
            pack(TestStart.PAIR, target=target)


def test_the_log_has_every_step_and_every_stage() -> None:
    lines = list[str]()
    result = pack(TestStart.PROBLEM, work_limit=0.3, workers=1, log=lines.append)
    assert len(lines) == len(result.incumbents) + 1 + len(result.statistics)
    assert lines[-1 - len(result.statistics)].endswith(f"{result.status}, {result.stop}")


class TestInfeasible:
    """By hand: what has no place is named."""

    @pytest.mark.parametrize(
        ("problem", "names"),
        [
            (Problem((Strip(9),), (Part("a", 12, 9), Part("b", 3, 3), Part("c", 10, 2))), ("a", "c")),
            # One part must lie upright, the other turned, and both lie alike.
            (
                Problem(
                    (Strip(9),),
                    (
                        Part("a", 4, 12, turnable=True, arrow="g"),
                        Part("b", 12, 4, turnable=True, arrow="g"),
                        Part("c", 1, 1),
                    ),
                ),
                ("a", "b"),
            ),
            # Both are as wide as the strip, but begin at other places of the pattern.
            (
                Problem(
                    (Strip(8, repeat=Repeat(5, 8)),),
                    (
                        Part("a", 8, 5, match=Match("room", "panel", 0)),
                        Part("b", 8, 5, match=Match("room", "panel", 3)),
                        Part("c", 2, 2),
                    ),
                ),
                ("a", "b"),
            ),
        ],
    )
    def test_parts_without_a_place(self, problem: Problem, names: tuple[str, ...]) -> None:
        result = pack(problem, work_limit=0.1)
        assert result.status is Status.INFEASIBLE
        assert result.unplaced == names
        assert all(name in result.bound.method for name in names)
