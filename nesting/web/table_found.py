"""What a maker enters at the table when something went wrong, from the fields of its form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from nesting.errors import Fault, JobError, LengthError
from nesting.planning.at_table import CutSoFar, Finding, Spoiled
from nesting.units import Unit, parse_length, round_down, round_nearest, round_up
from nesting.web.caps import MOST_FLAWS, MOST_REPEATS
from nesting.web.posted import Entries, whole_number


@dataclass(frozen=True, slots=True)
class Typed:
    """The fields of the form as they were typed, and the cuts that are ticked."""

    fields: Mapping[str, str]
    cut: frozenset[str]
    again: frozenset[str]

    def __getitem__(self, name: str) -> str:
        return self.fields.get(name, "")


def typed(entries: Entries) -> Typed:
    """What was posted."""
    fields = {name: text for name, text in entries if name not in ("cut", "again")}
    cut = frozenset(text for name, text in entries if name == "cut")
    again = frozenset(text for name, text in entries if name == "again")
    return Typed(fields, cut, again)


def standing_of(said: Typed, told: Mapping[str, Any]) -> CutSoFar:
    """The same as lengths.

    Parameters
    ----------
    said
        As typed.
    told
        As `nesting.web.table_steps.table_view` made it.

    Raises
    ------
    JobError
        A field is no length, or nothing at all was entered; every fault is told.
    """
    reading = _FieldLengths(said, told["unit"])
    lengths = told["lengths"]
    number = whole_number(said["length"])
    length = lengths[number if number < len(lengths) else 0]
    finding = Finding(
        length["fabric"],
        length["on_hand"],
        flaws=reading.flaws(),
        repeat=reading.repeat(),
        usable=None if (found := reading.length("usable", "usable width")) is None else found,
        lost=reading.length("lost", "lost up to") or 0,
        left=reading.length("left", "left on the bolt"),
    )
    if reading.faults:
        raise JobError(reading.faults)
    empty = finding == Finding(length["fabric"], length["on_hand"])
    if empty and not said.again:
        raise JobError([Fault("what went wrong", "", "a flaw, a measure, or a piece that is cut again")])
    return CutSoFar(said.cut | said.again, said.again, () if empty else (finding,))


class _FieldLengths:
    """Lengths of the form, and every fault in them."""

    def __init__(self, said: Typed, unit: Unit) -> None:
        self._said, self._unit = said, unit
        self.faults = list[Fault]()

    def length(self, name: str, what: str, *, up: bool = False) -> int | None:
        """Usable lengths down, flaws ``up`` to the tick; None where nothing was typed."""
        text = self._said[name].strip()
        if not text:
            return None
        try:
            exact = parse_length(text, self._unit)
        except LengthError as error:
            self.faults.append(Fault(what, f'"{text}"', str(error), (name,)))
            return None
        return round_up(exact, 1) if up else round_down(exact, 1)

    def flaws(self) -> tuple[Spoiled, ...]:
        """Those with a place; without a size across they reach from edge to edge."""
        found = list[Spoiled]()
        for number in range(MOST_FLAWS):
            at = self.length(f"flaw-{number}-at", f"flaw {number + 1}, from the squared end")
            long = self.length(f"flaw-{number}-long", f"flaw {number + 1}, how long", up=True)
            left = self.length(f"flaw-{number}-left", f"flaw {number + 1}, from the left")
            wide = self.length(f"flaw-{number}-wide", f"flaw {number + 1}, how wide", up=True)
            if at is not None and long is not None:
                found.append(Spoiled(at, long, left or 0, wide))
            elif not (at is None and long is None and left is None and wide is None):
                known = any(fault.at[0].startswith(f"flaw-{number}") for fault in self.faults if fault.at)  # type: ignore[union-attr]
                if not known:
                    wanted = "how far it is from the squared end, and how long it is"
                    self.faults.append(Fault(f"flaw {number + 1}", "", wanted))
        return tuple(found)

    def repeat(self) -> int | None:
        """One repeat, of so many as were measured."""
        text = self._said["repeats"].strip() or "1"
        count = whole_number(text)
        if not 0 < count <= MOST_REPEATS:
            wanted = f"how many repeats were measured, 1 to {MOST_REPEATS}"
            self.faults.append(Fault("repeats", f'"{text}"', wanted, ("repeats",)))
            return None
        over = self.length("repeat", "repeat")
        return None if over is None else round_nearest(Fraction(over, count))
