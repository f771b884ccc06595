"""What can go wrong, in the user's words."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

#: Faults of a job that are told at a time.
_MOST_TOLD: Final = 50


class NestingError(Exception):
    """The base of every error this package raises on purpose.

    Attributes
    ----------
    asked
        What is asked of the job that is refused: the answer may be the remedy.
    """

    asked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what was ordered, with its remedy.

    Attributes
    ----------
    place
        Where it stands, as a person would look for it: ``window "East": finished_length``.
    value
        What stands there, as text; empty where a key is missing.
    expected
        What would be accepted, with an example.
    at
        The same place as the steps that lead to it: ``("window", 0, "finished_length")``. Empty where no
        single entry is to blame.
    """

    place: str
    value: str
    expected: str
    at: tuple[str | int, ...] = field(default=(), compare=False, repr=False)

    def __str__(self) -> str:
        found = f" = {self.value}" if self.value else ""
        return f"{self.place}{found}: expected {self.expected}"


class JobError(NestingError):
    """A job file that cannot be planned as it stands; carries every fault found.

    Parameters
    ----------
    faults
        All faults, in the order of the file.
    source
        The file they stand in, where there is one.
    """

    def __init__(self, faults: tuple[Fault, ...] | list[Fault], source: Path | None = None) -> None:
        self.faults = tuple(faults)
        self.source = source
        super().__init__(str(self))

    def __str__(self) -> str:
        head = f"{self.source}: " if self.source else ""
        count = len(self.faults)
        noun = "1 thing needs" if count == 1 else f"{count} things need"
        lines = [f"  - {fault}" for fault in self.faults[:_MOST_TOLD]]
        if count > _MOST_TOLD:
            lines.append(f"  and {count - _MOST_TOLD} more, which come when these are put right")
        return "\n".join([f"{head}{noun} putting right", *lines])


class LengthError(NestingError, ValueError):
    """A text that is no length; the message says what would be."""


class ProblemError(NestingError, ValueError):
    """A packing problem that contradicts itself."""


class DoesNotFitError(NestingError):
    """Proven impossible: a piece that no bolt on offer can hold."""


class NothingFoundError(NestingError):
    """No layout was found in the time given."""


class CheckError(NestingError):
    """A layout failed the independent check: a fault of this program, never of the user."""


class OutputError(NestingError):
    """A result that could not be written where it was asked for."""
