"""The families are the same everywhere and what they say they are; peers' layouts on prints are valid."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from fractions import Fraction

import pytest

from nesting.check import check_layout
from nesting.files import read_job_text
from nesting.headings import HEADINGS
from nesting.order.job import Job
from nesting.packing import Match, Part, Problem, Repeat, Strip
from nesting.units import centimeters, inches
from tests.benchmarks.families import DRAWN, SIZES, job_text, make
from tests.benchmarks.rounding import Box, Spot, as_laid, on_the_pattern, roundings

#: Of all job files of a family. A change here means that figures of before and after cannot be compared; of
#: 2026-11-30 are the words alone (names, and what a rod takes up as it did then): every part has its size.
DIGESTS = {
    "rooms": "186f9536a5729a1f",
    "prints": "a933da582af23202",
    "hotel": "6581af4ec91f78b8",
    "remnants": "a77065d6a100c607",
}


def jobs_of(family: str) -> list[Job]:
    return [read_job_text(job_text(family, number)) for number in range(1, SIZES[family] + 1)]


class TestFamilies:
    @pytest.mark.parametrize("family", SIZES)
    def test_are_the_same_on_every_machine(self, family: str) -> None:
        texts = "".join(job_text(family, number) for number in range(1, SIZES[family] + 1))
        assert hashlib.sha256(texts.encode()).hexdigest()[:16] == DIGESTS[family]
        assert make(family, 7) == make(family, 7)

    @pytest.mark.parametrize("family", SIZES)
    def test_can_all_be_cut_and_laid(self, family: str) -> None:
        """Each part fits; no length by the trade rule is below the area, or it would be no layout."""
        for number in range(1, SIZES[family] + 1):
            instance = make(family, number)
            strip, parts = instance.problem.strips[-1], instance.problem.parts
            assert strip.length is None
            assert all(part.width <= strip.width or part.turnable for part in parts), instance.name
            if instance.thumb is not None:
                area = sum(part.width * part.length * part.copies for part in parts)
                assert instance.thumb * strip.width >= area, instance.name

    @pytest.mark.parametrize("family", ["rooms", "prints"])
    def test_of_houses_have_1_to_12_windows_all_headings_and_all_widths(self, family: str) -> None:
        jobs = jobs_of(family)
        assert [len(job.windows) for job in jobs] == [*range(1, 13)] * 5
        assert {window.heading for job in jobs for window in job.windows} == set(DRAWN) <= set(HEADINGS)
        widths = {
            unit: [j.fabrics[0].bolts[0].width for j in jobs if j.units == unit] for unit in ("in", "cm")
        }
        assert (min(widths["in"]), max(widths["in"])) == (inches(36), inches(118))
        assert (min(widths["cm"]), max(widths["cm"])) == (centimeters(122), centimeters(300))

    def test_prints_have_whole_columns_and_three_kinds_of_drop(self) -> None:
        fabrics = [job.fabrics[0] for job in jobs_of("prints")]
        repeats = [fabric.repeat for fabric in fabrics if fabric.repeat is not None]
        assert len(repeats) == len(fabrics)
        assert {str(repeat.drop) for repeat in repeats} == {"0", "1/2", "1/3"}
        assert min(repeat.length for repeat in repeats) >= inches(5)
        assert max(repeat.length for repeat in repeats) <= inches(36)
        for fabric, repeat in zip(fabrics, repeats, strict=True):
            assert fabric.bolts[0].match is not None
            assert repeat.width is not None
            assert fabric.bolts[0].match % repeat.width == 0

    def test_hotels_are_few_kinds_of_window_and_many_parts(self) -> None:
        hotels = [make("hotel", number) for number in range(1, SIZES["hotel"] + 1)]
        assert {hotel.windows for hotel in hotels} == {10, 20, 50, 100, 200, 500, 1000, 2000}
        assert max(len(hotel.problem.parts) for hotel in hotels) < 30
        assert 90_000 < max(hotel.problem.copies for hotel in hotels) <= 100_000

    def test_remnants_are_lengths_with_flaws_and_the_bolt(self) -> None:
        problems = [make("remnants", number).problem for number in range(1, SIZES["remnants"] + 1)]
        assert all(3 <= len(problem.strips) <= 6 for problem in problems)
        assert all(strip.length is not None for problem in problems for strip in problem.strips[:-1])
        flaws = [(flaw, strip) for problem in problems for strip in problem.strips for flaw in strip.flaws]
        assert len(flaws) > 10
        assert all(flaw.y + flaw.length <= (strip.length or 0) for flaw, strip in flaws)
        assert all(flaw.x + flaw.width <= strip.width for flaw, strip in flaws)


def in_rows(boxes: Sequence[Box], width: int) -> list[Spot]:
    """A layout that any packer might give: boxes side by side, row upon row."""
    spots, x, y, high = list[Spot](), 0, 0, 0
    for number, box in enumerate(boxes):
        for _ in range(box.copies):
            if x + box.width > width:
                x, y, high = 0, y + high, 0
            spots.append(Spot(number, x, y))
            x, high = x + box.width, max(high, box.length)
    return spots


class TestRounding:
    def test_takes_whole_repeats(self) -> None:
        parts = (Part("cut", 10, 11, 2, match=Match("room")), Part("facing", 4, 3))
        problem = Problem((Strip(10, repeat=Repeat(10)),), parts)
        assert roundings(problem) == (
            (Box(10, 20, 2), Box(4, 3, 1)),
            (Box(10, 20, 2), Box(4, 10, 1)),
        )

    def test_leaves_plain_parts_as_they_are(self) -> None:
        parts = (Part("panel", 10, 11, 2), Part("sill", 12, 3, turnable=True))
        assert roundings(Problem((Strip(10),), parts)) == ((Box(10, 11, 2), Box(3, 12, 1, turned=True)),)

    def test_a_plain_part_below_a_cut_costs_the_rest_of_a_repeat(self) -> None:
        """Cuts from 0 to 7 and from 10 to 17; facings of 3 between and above them."""
        parts = (Part("cut", 10, 7, 2, match=Match("room")), Part("facing", 10, 3, 2))
        problem = Problem((Strip(10, repeat=Repeat(10)),), parts)
        boxes = roundings(problem)[0]
        spots = [Spot(0, 0, 0), Spot(1, 0, 10), Spot(0, 0, 13), Spot(1, 0, 23)]
        placements = on_the_pattern(problem, boxes, spots)
        assert [(at.part, at.copy, at.y) for at in placements] == [
            (0, 1, 0),
            (1, 1, 7),
            (0, 2, 10),
            (1, 2, 17),
        ]

    def test_a_cut_of_the_next_column_rises_by_the_drop(self) -> None:
        """One column to the left the pattern stands 5 lower, so 7 + 8 = 15 and not 10: the packer said 20."""
        match = [Match("room", "panel", x=x) for x in (0, 5)]
        parts = (Part("A", 7, 7, match=match[0]), Part("B", 7, 7, match=match[1]))
        problem = Problem((Strip(7, repeat=Repeat(10, 5, Fraction(1, 2))),), parts)
        placements = on_the_pattern(problem, roundings(problem)[0], [Spot(0, 0, 0), Spot(1, 0, 10)])
        assert [at.y for at in placements] == [0, 15]
        assert check_layout(problem, placements, 22, 0) == ()

    @pytest.mark.parametrize("number", range(1, SIZES["prints"] + 1))
    def test_any_layout_of_boxes_becomes_a_valid_one(self, number: int) -> None:
        """So there is a layout of every print of the family."""
        problem = make("prints", number).problem
        for boxes in roundings(problem):
            spots = in_rows(boxes, problem.strips[0].width)
            height = max(spot.y + boxes[spot.box].length for spot in spots)
            assert check_layout(*as_laid(boxes, problem.strips[0].width, spots), height, 0) == ()
            placements = on_the_pattern(problem, boxes, spots)
            length = max(at.y + problem.parts[at.part].size(at.turned)[1] for at in placements)
            assert check_layout(problem, placements, length, 0) == ()
