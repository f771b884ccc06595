"""Cut across first: bands against every way there is to make them, and the price against cutting freely."""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from nesting.check import Breach, check_bound, check_layout, check_plan_document
from nesting.check.document_cutting import Box, edge_to_edge
from nesting.check.proof_bands import Stacked, heaviest_bands, proven_bands
from nesting.commands import main
from nesting.errors import JobError
from nesting.files import job_schema, plan_document, read_job_text, read_plan
from nesting.packing import Match, Part, Problem, Repeat, Result, Status, Strip, fill_bands, pack_across
from nesting.packing.guillotine.patterns import least_of, relax
from nesting.packing.race import Race, in_ticks
from nesting.packing.reduce import reduce
from nesting.packing.result import Bound, Stop
from nesting.packing.turn import Budget
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort, plan
from nesting.units import inches
from tests.assertions import assert_valid
from tests.seeds import seeds, some

NOTHING = Bound(0, "nothing is shorter than nothing")


def boxes_of(problem: Problem, result: Result) -> list[Box]:
    found = list[Box]()
    for at in result.placements:
        width, length = problem.parts[at.part].size(at.turned)
        found.append((at.x, at.y, at.x + width, at.y + length))
    return found


def packed(problem: Problem, work: float = 3.0, **more: Any) -> Result:
    """A checked layout, cut through from edge to edge by the checker's own test."""
    result = pack_across(problem, free=NOTHING, work_limit=work, workers=1, **more)
    assert result.length is not None
    assert not check_layout(problem, result.placements, result.length, result.bound.length)
    assert edge_to_edge(boxes_of(problem, result))
    return result


def partitions(items: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to part the items in groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for groups in partitions(rest):
        yield [[first], *groups]
        for at in range(len(groups)):
            yield [*groups[:at], [first, *groups[at]], *groups[at + 1 :]]


def shortest(parts: Sequence[Part], width: int, repeat: int = 1) -> int:
    """The least length by trying all: bands in every order, columns, rows, and every phase of the pattern."""
    count = len(parts)

    def column_end(column: Sequence[int], start: int, phase: int) -> int:
        ends = []
        for order in itertools.permutations(column):
            at = start
            for index in order:
                match = parts[index].match
                if match is not None:
                    at += (phase + match.y - at) % repeat
                at += parts[index].length
            ends.append(at)
        return min(ends)

    def whole(phase: int) -> int:
        @cache
        def band_end(band: tuple[int, ...], start: int) -> int | None:
            ends = [
                max(column_end(column, start, phase) for column in columns)
                for columns in partitions(band)
                if sum(max(parts[index].width for index in column) for column in columns) <= width
            ]
            return min(ends, default=None)

        best = {0: 0}
        for laid in range(1, 2**count):
            ends = list[int]()
            members = [index for index in range(count) if laid >> index & 1]
            for size in range(1, len(members) + 1):
                for band in itertools.combinations(members, size):
                    before = laid & ~sum(1 << index for index in band)
                    # A band that begins earlier never ends later, so the earliest end of the rest will do.
                    end = band_end(band, best[before]) if before in best else None
                    if end is not None:
                        ends.append(end)
            best[laid] = min(ends)
        return best[2**count - 1]

    return min(whole(phase) for phase in range(repeat))


@pytest.mark.parametrize("seed", some(range(14), 5))
def test_plain_fabric_against_every_layout_in_bands(seed: int) -> None:
    chance = random.Random(seed)
    width = chance.randint(5, 11)
    sizes = [(chance.randint(1, width), chance.randint(1, 9)) for _ in range(chance.randint(2, 5))]
    parts = tuple(Part(f"p{at}", *size) for at, size in enumerate(sizes))
    result = packed(Problem((Strip(width),), parts))
    assert result.length == result.bound.length == shortest(parts, width)


@pytest.mark.parametrize("seed", some(range(10), 2))
def test_a_straight_match_against_every_layout_in_bands(seed: int) -> None:
    chance = random.Random(100 + seed)
    width, repeat = chance.randint(5, 9), chance.randint(2, 5)
    parts = tuple(
        Part(
            f"p{at}", chance.randint(1, width), chance.randint(1, 8),
            match=Match("room", None, 0, chance.randrange(repeat)) if chance.random() < 0.6 else None,
        )
        for at in range(chance.randint(2, 4))
    )  # fmt: skip
    result = packed(Problem((Strip(width, repeat=Repeat(repeat)),), parts))
    assert result.length == result.bound.length == shortest(parts, width, repeat)


def test_turns_are_used_where_they_are_allowed() -> None:
    # 4 x 1 twice and 1 x 4 twice on a strip of 4: upright 1 + 1 + 4 = 6; all four lying across, 1 each: 4.
    parts = (Part("across", 4, 1, 2), Part("along", 1, 4, 2, turnable=True))
    assert packed(Problem((Strip(4),), parts)).length == 4


def test_the_band_relaxation_worked_out_by_hand() -> None:
    # Strip 10: A 6 x 4 twice, B 4 x 2 four times. The band A, B over B (4 long) twice holds all: 8. Weights 2
    # for A and 1 for B: T = 2 * 2 + 4 = 8. F(h): 2 at 2 and 3 (two B side by side), 4 at 4 (A with two B, or
    # four B), so F(h) / h is at most 1, which is below T / 7: nothing is shorter than 8.
    heaviest = [0, 0, 2, 2, 4, 4, 6, 6, 8]
    assert heaviest_bands([Stacked(0, 6, 4, 2, 2), Stacked(1, 4, 2, 1, 4)], 10, 8) == heaviest
    assert least_of(heaviest, 8) == proven_bands([Stacked(0, 6, 4, 2, 2), Stacked(1, 4, 2, 1, 4)], 10, 8) == 8
    # With one B more T is 9, and F(h) / h = 1 stays below 9 / 8: all up to 8 is ruled out.
    assert least_of(heaviest, 9) == 9


@pytest.mark.parametrize("seed", some(range(20), 5))
def test_the_band_relaxation_is_never_above_the_best_and_is_proved_anew(seed: int) -> None:
    chance = random.Random(seed)
    width = chance.randint(5, 11)
    sizes = [(chance.randint(1, width), chance.randint(1, 9)) for _ in range(chance.randint(2, 5))]
    problem = Problem((Strip(width),), tuple(Part(f"p{at}", *size) for at, size in enumerate(sizes)))
    best, core = shortest(problem.parts, width), reduce(problem)
    assert core is not None
    if not core.kinds:
        return
    bound, program = relax(core, best // core.step_y - core.lone_length, lambda: False)
    said = in_ticks(core, bound)
    assert said.length <= best
    assert check_bound(problem, said, across=True) == ()
    # Of layouts cut in any way they say nothing.
    assert [broken.kind for broken in check_bound(problem, said)] == [Breach.BOUND] * (said.length > 0)
    above = replace(said, length=said.length + core.step_y)
    assert [broken.kind for broken in check_bound(problem, above, across=True)] == [Breach.BOUND]
    layout = program.layout(Race(Budget(0.0, 9.0)), 1.0)
    assert layout is not None
    boxes = [(s.x, s.y, s.x + core.size(s)[0], s.y + core.size(s)[1]) for s in layout]
    assert edge_to_edge(boxes)


def test_weights_of_bands_prove_nothing_of_a_layout_that_is_cut_freely(mats: Plan) -> None:
    document = json.loads(json.dumps(plan_document(mats)))
    layout = document["layouts"][0]
    weights = [{"part": 0, "upright": 1}, {"part": 1, "upright": 1}]
    layout["bound_certificate"] = {"rule": "band weights", "weights": weights, "lone": [], "longest": 121_920}
    layout["cutting"]["way"] = "free"
    assert Breach.BOUND in {broken.kind for broken in check_plan_document(document)}


def random_problem(seed: int) -> Problem:
    """Prints with drops and joined widths, plain pieces beside them."""
    chance = random.Random(seed)
    drop = chance.choice([Fraction(0), Fraction(1, 2), Fraction(1, 3)])
    repeat = Repeat(chance.choice([6, 12]), chance.choice([9, 18]), drop)
    parts = list[Part]()
    for number in range(chance.randint(1, 4)):
        seam = f"panel {number}"
        for at, width in enumerate((chance.randint(10, 18), chance.randint(3, 9))):
            match = Match("room", seam, at * 17, chance.randint(0, 5))
            parts.append(Part(f"{seam}/{at}", width, chance.randint(14, 30), match=match))
    for number in range(chance.randint(1, 5)):
        size = chance.randint(2, 15), chance.randint(2, 9)
        parts.append(Part(f"small {number}", *size, chance.randint(1, 6), turnable=chance.random() < 0.3))
    return Problem((Strip(20, repeat=repeat),), tuple(parts))


@pytest.mark.parametrize("seed", seeds(2, 12))
def test_every_layout_is_cut_through_from_edge_to_edge(seed: int) -> None:
    problem = random_problem(seed)
    margins = (1, 2) if seed % 2 else (0, 0)
    inside = [at for at, part in enumerate(problem.parts) if part.match is None]
    kept = (replace(part, clear=margins) if part.match is None else part for part in problem.parts)
    problem = replace(problem, parts=tuple(kept))
    result = pack_across(problem, free=NOTHING, work_limit=0.4, workers=1, seed=seed)
    if result.length is None:
        assert result.infeasible or result.stop is Stop.TIME_LIMIT
        return
    assert not check_layout(problem, result.placements, result.length, result.bound.length)
    boxes = boxes_of(problem, result)
    assert edge_to_edge(boxes)
    for at, (left, _, right, _) in zip(result.placements, boxes, strict=True):
        assert at.part not in inside or margins[0] <= left <= right <= 20 - margins[1]
    extra = Part("extra", 3, 4, 9, clear=margins)
    more = fill_bands(problem, result, (extra,))
    laid = replace(extra, copies=max(1, len(more.placements)))
    whole = replace(problem, parts=(*problem.parts, laid))
    if more.placements:
        placements = (*result.placements, *more.placements)
        assert not check_layout(whole, placements, result.length)
        with_extras = [
            *boxes, *((p.x, p.y, p.x + 3, p.y + 4) for p in more.placements)
        ]  # fmt: skip
        assert edge_to_edge(with_extras)
    assert len(more.placements) == 9 or more.over[0][0] == 0


@pytest.mark.nightly
def test_the_same_seed_and_work_give_the_same_layout() -> None:
    problem = random_problem(3)
    one, two = (packed(problem, work=0.6, seed=5) for _ in range(2))
    assert one.placements == two.placements


def test_a_hotel_is_laid_at_once_in_equal_bands() -> None:
    # 9000 pieces: panels 26 x 100 and facings 26 x 5 on a strip of 55, two of each side by side:
    # 1500 bands of 100 and 1500 of 5, with tabs 3 x 5 left beside the facings: 157 500.
    parts = (Part("panel", 26, 100, 3000), Part("facing", 26, 5, 3000), Part("tab", 3, 5, 3000))
    result = packed(Problem((Strip(55),), parts), work=0.0)
    assert result.length == 157_500


JOB = """
title = "Four mats"
currency = "$"
cutting = "across-first"
[fabric.face]
[[fabric.face.bolt]]
width = 50
usable = 50
price = 16
[[extra]]
name = "Upright mat"
width = 20
length = 30
count = 2
turnable = false
[[extra]]
name = "Lying mat"
width = 30
length = 20
count = 2
turnable = false
"""


@pytest.fixture(scope="module")
def mats() -> Plan:
    return plan(read_job_text(JOB), effort=Effort(work=4.0, workers=1))


def test_the_price_of_cutting_across_first(mats: Plan) -> None:
    """Four mats round a hole of 10 x 10 fill 50 x 50, which no cut from edge to edge parts: free 50.

    In bands two mats side by side, 20 x 30 and 30 x 20, take 30, twice 60; stacked by kinds side by side they
    take 2 x 30 = 60 as well; kinds in bands of their own take 30 + 20 + 20 = 70. So 60, which is 10 more.
    """
    (layout,) = mats.layouts
    assert layout.length == layout.bound.length == inches(60)
    assert layout.free_length == inches(50)
    assert layout.longer_than_free == inches(10)
    document = json.loads(json.dumps(plan_document(mats)))
    figures = document["layouts"][0]["cutting"]
    assert (figures["way"], figures["free_length"], figures["longer_than_free"]) == ("across-first", 50, 10)
    assert check_plan_document(document) == ()


def test_a_plan_is_read_back_with_its_price(mats: Plan, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan_document(mats)), encoding="utf-8")
    assert read_plan(path).layouts[0].longer_than_free == inches(10)


@pytest.mark.parametrize(("price", "free"), [(9.0, 50.0), (-10.0, 70.0)])
def test_a_wrong_price_is_found(mats: Plan, price: float, free: float) -> None:
    document = json.loads(json.dumps(plan_document(mats)))
    document["layouts"][0]["cutting"] |= {"longer_than_free": price, "free_length": free}
    assert {broken.kind for broken in check_plan_document(document)} == {Breach.CUTTING}


def test_the_command_says_the_price(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mats.toml"
    path.write_text(JOB, encoding="utf-8")
    words = ["nesting", "plan", str(path), "--work-limit", "4", "--workers", "1"]
    monkeypatch.setattr("sys.argv", words)
    with pytest.raises(SystemExit) as ended:
        main()
    assert not ended.value.code
    assert "10 in longer than cut freely (50 in)" in capsys.readouterr().out


def test_a_free_job_has_no_price() -> None:
    free = plan(read_job_text(JOB.replace("across-first", "free")), effort=Effort(work=2.0, workers=1))
    assert (free.layouts[0].length, free.layouts[0].longer_than_free) == (inches(50), None)


def test_optional_extras_keep_the_way_to_cut() -> None:
    # Beside a panel 30 x 100 on 50 fit three cushions 20 x 30 in one column. A fourth has no room: as a band
    # of its own it would reach 30 beyond the end.
    job = """
cutting = "across-first"
[fabric.face]
nap = "one-way"
[[fabric.face.bolt]]
width = 50
usable = 50
[[extra]]
name = "Runner"
width = 30
length = 100
[[extra]]
name = "Cushion"
width = 20
length = 30
count = 4
optional = true
"""
    made = plan(read_job_text(job), effort=Effort(work=1.0, workers=1))
    (layout,) = made.layouts
    assert layout.length == inches(100)
    assert len(layout.placements) == 4
    assert [(out.copies, out.shortfall) for out in made.left_out] == [(1, inches(30))]
    assert check_plan_document(json.loads(json.dumps(plan_document(made)))) == ()


def test_lengths_on_hand_are_not_cut_across_first() -> None:
    with pytest.raises(JobError) as caught:
        read_job_text(JOB.replace("price = 16", "on_hand = [{ length = 90 }]"))
    assert 'cutting = "across-first": expected "free" where fabric is on hand: fabric "face"' in str(
        caught.value
    )


def test_another_way_to_cut_is_refused_and_the_schema_names_both() -> None:
    with pytest.raises(JobError) as caught:
        read_job_text(JOB.replace("across-first", "accross"))
    assert 'cutting = "accross"' in str(caught.value).replace("'", '"')
    assert "across-first" in str(caught.value)
    assert '"across-first"' in json.dumps(job_schema())


def test_a_false_bound_is_dropped_and_the_search_goes_on(caplog: pytest.LogCaptureFixture) -> None:
    problem = Problem((Strip(10),), (Part("a", 6, 5, copies=2), Part("b", 4, 5, copies=2), Part("c", 3, 2)))
    true = pack_across(problem, free=Bound(0, "none"), workers=1, work_limit=4)
    assert "above a layout" not in caplog.text
    result = pack_across(problem, free=Bound(999, "a false bound"), workers=1, work_limit=4)
    assert "(a false bound, not re-checked) above a layout" in caplog.text
    assert_valid(problem, result)
    assert (result.length, result.bound, result.status) == (true.length, true.bound, Status.OPTIMAL)
