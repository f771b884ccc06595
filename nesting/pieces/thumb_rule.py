"""What the plain trade rule comes to, as data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RuleOfThumb:
    """The plain trade rule beside ours: widths x cut length up to the repeat, companions extra."""

    length: int
    lines: tuple[str, ...]
