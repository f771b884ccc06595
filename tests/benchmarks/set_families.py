"""The instances of the set as the generator makes them, before anything is known of them.

rooms, prints, hotel, remnants
    Of `families`; of `hotel` those with few enough parts that their layouts are kept.
choices
    The whole problems of those `prints` that leave seam plans or facings open, with their choices and with
    the margins of their selvages; cut upright.
across
    The first 24 of `rooms`, laid so that they can be cut across first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from nesting.files import read_job_text
from nesting.packing import Choice, Match, Part, Problem
from nesting.planning.ways import cases_of
from tests.benchmarks.families import SIZES, job_text, make
from tests.benchmarks.set_entries import Entry

#: Layouts of more copies than this are not kept, so these hotels are not in the set.
MOST_COPIES = 3_000
HOTELS = (1, 2, 3, 4, 5, 6, 9, 10, 11, 12, 13, 17, 18, 19, 20, 21)
#: The `prints` with choices.
OPEN = (
    7, 8, 9, 10, 12, 13, 16, 18, 20, 21, 23, 24, 25, 29, 30, 31, 32, 34, 35, 36, 37, 38, 39, 40, 42, 43, 44,
    45, 46, 48, 51, 53, 57, 59,
)  # fmt: skip
ACROSS = tuple(range(1, 25))

ABOUT = {
    "rooms": "Plain fabric, 1 to 12 windows: fixed orientation, arrow groups may turn where pile allows.",
    "prints": "Printed fabric, 1 to 12 windows: each part has its place in the pattern.",
    "hotel": "Plain fabric, few kinds of window, many copies.",
    "remnants": "Lengths on hand, some with flaws, and an open strip for the rest: several objectives.",
    "choices": "Whole jobs on printed fabric: of each choice one option is laid; margins at the selvages.",
    "across": "Plain fabric, cut across first: bands, columns in a band, rows in a column.",
}


def _named(family: str, number: int, across: bool = False) -> Entry:
    made = make(family, number)
    problem = plainly_named(made.problem)
    assert made.windows is not None
    assert made.step is not None
    assert made.unit is not None
    return Entry(
        "across" if across else family,
        str(number),
        problem,
        made.windows,
        made.step,
        str(made.unit),
        made.thumb,
        across,
    )


def _open(number: int) -> Entry:
    job = read_job_text(job_text("prints", number))
    fabric, bolts = job.fabric("face"), {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    (case,) = cases_of(job, fabric, bolts)
    alone = _named("prints", number)
    return replace(alone, family="choices", problem=plainly_named(case.lay.problem))


#: How the instances of each family are made, by number.
FAMILIES: Mapping[str, tuple[tuple[int, ...], Callable[[int], Entry]]] = {
    "rooms": (tuple(range(1, SIZES["rooms"] + 1)), lambda number: _named("rooms", number)),
    "prints": (tuple(range(1, SIZES["prints"] + 1)), lambda number: _named("prints", number)),
    "hotel": (HOTELS, lambda number: _named("hotel", number)),
    "remnants": (tuple(range(1, SIZES["remnants"] + 1)), lambda number: _named("remnants", number)),
    "choices": (OPEN, _open),
    "across": (ACROSS, lambda number: _named("rooms", number, across=True)),
}


def generated(family: str, number: int) -> Entry:
    """An instance of the set anew."""
    return FAMILIES[family][1](number)


def plainly_named(problem: Problem) -> Problem:
    """The same with numbers for names: parts from 1 on, groups of each kind in the order they come."""
    groups = dict[tuple[str, str], str]()

    def number(kind: str, name: str | None) -> str | None:
        if name is None:
            return None
        count = sum(1 for known, _ in groups if known == kind)
        return groups.setdefault((kind, name), str(count + 1))

    def match(said: Match | None) -> Match | None:
        if said is None:
            return None
        return replace(said, level=number("level", said.level) or "", seam=number("seam", said.seam))

    def part(said: Part, at: int) -> Part:
        return replace(
            said,
            name=str(at),
            match=match(said.match),
            arrow=number("arrow", said.arrow),
            lot=number("lot", said.lot),
            bundle=number("bundle", said.bundle),
        )

    return Problem(
        tuple(replace(strip, lot=number("lot", strip.lot)) for strip in problem.strips),
        tuple(part(said, at) for at, said in enumerate(problem.parts, 1)),
        tuple(Choice(str(at), choice.options) for at, choice in enumerate(problem.choices, 1)),
    )
