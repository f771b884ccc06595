"""What the rod must pass through, and an order that contradicts itself. Lengths in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Passage:
    """An opening of an ordered size that the rod must pass through.

    Attributes
    ----------
    key
        Where its size stands in the order of a window: ``("tab", "length")``.
    words
        What it is, with ``{}`` for the size and the verb behind it: ``tabs {} long are``.
    size
        As ordered.
    least, limit
        The least that lets the rod through, and what that is: ``half the circumference``. Where it is the
        thickness itself, ``beyond`` says that the opening must be wider than that.
    usual
        With the usual ease, on the tape; None where the size says too little to judge it.
    thickest
        The thickest rod it lets through; None where the size says too little.
    """

    key: tuple[str, ...]
    words: str
    size: int
    least: Fraction
    limit: str
    usual: int | None = None
    thickest: Fraction | None = None
    beyond: bool = False

    @property
    def blocked(self) -> bool:
        """Whether the rod does not pass."""
        return self.size <= self.least if self.beyond else self.size < self.least

    @property
    def tight(self) -> bool:
        """Whether the rod passes with less than the usual ease."""
        return not self.blocked and self.usual is not None and self.size < self.usual


@dataclass(frozen=True, slots=True)
class Refusal:
    """An entry of a window that cannot be made: where it stands, its size, and what would be accepted."""

    key: tuple[str, ...]
    size: int | None
    expected: str
