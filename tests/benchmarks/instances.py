"""Where instances come from.

A folder holds one folder for each set, and that one file for each instance, in the JSON form of
`nesting.packing.instances`. What is known of it stands beside: ``name``, and the lengths ``optimal_height``,
``best_known`` and ``lower_bound``, null where nothing is.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from nesting.packing import Problem
from nesting.units import Unit
from tests.zero_waste import ZERO_WASTE, zero_waste


@dataclass(frozen=True, slots=True)
class Instance:
    """A problem and what is known of it; None where nothing is.

    Attributes
    ----------
    optimum, best_known, lower_bound
        Published lengths.
    windows, step, thumb, unit
        Of jobs of ours: how many windows, the selling step, the length by the usual rule of thumb, and in
        what people measure.
    """

    set: str
    name: str
    problem: Problem
    optimum: int | None = None
    best_known: int | None = None
    lower_bound: int | None = None
    windows: int | None = None
    step: int | None = None
    thumb: int | None = None
    unit: Unit | None = None

    @property
    def on_hand(self) -> bool:
        """Whether there are lengths on hand to lay it on."""
        return any(strip.length is not None for strip in self.problem.strips)


def read_instance(path: Path) -> Instance:
    """The instance of one JSON file; its set is the folder it lies in."""
    form = json.loads(path.read_text(encoding="utf-8"))
    return Instance(
        set=path.parent.name,
        name=form["name"],
        problem=Problem.read(path),
        optimum=form.get("optimal_height"),
        best_known=form.get("best_known"),
        lower_bound=form.get("lower_bound"),
    )


def in_folder(folder: Path) -> Iterator[tuple[str, Callable[[], Instance]]]:
    """``(set/name, how to read it)`` of every instance of a folder of sets, in a natural order."""
    for path in sorted(folder.glob("*/*.json"), key=_by_number):
        yield f"{path.parent.name}/{path.stem}", lambda path=path: read_instance(path)


def _by_number(path: Path) -> tuple[str, int, str]:
    """BKW_N2 before BKW_N10: names of one set that are longer come later."""
    return path.parent.name, len(path.stem), path.stem


def carried() -> Iterator[tuple[str, Callable[[], Instance]]]:
    """The instances that the tests carry with them."""
    for name in ZERO_WASTE:
        yield f"zero_waste/{name}", lambda name=name: _zero_waste(name)


def _zero_waste(name: str) -> Instance:
    problem, optimum = zero_waste(name)
    return Instance("zero_waste", name, problem, optimum, optimum, optimum)


def wanted(
    known: Iterable[tuple[str, Callable[[], Instance]]], patterns: Sequence[str]
) -> Iterator[Callable[[], Instance]]:
    """Those whose set, name or ``set/name`` fits a pattern (``c``, ``C1P1``, ``c/C1*``); all without one."""
    for place, read in known:
        names = (place, *place.split("/"))
        if not patterns or any(fnmatchcase(name, pattern) for name in names for pattern in patterns):
            yield read
