"""What the usual rule of thumb comes to, as data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RuleOfThumb:
    """The usual rule of thumb beside ours: widths x cut length up to the repeat, companions extra."""

    length: int
    lines: tuple[str, ...]
