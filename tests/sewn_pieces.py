"""Pieces of so many inches, and what operations make of them on the sewing table."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from nesting.sewing import Bench, Operation, Sewing, SewingStep, Work, cut_piece, sewn
from nesting.units import inches


def ticks(size: str | int | Fraction) -> Fraction:
    """So many inches."""
    return Fraction(size) * inches(1)


def piece(name: str, width: str | int, length: str | int, count: int = 1, **more: Any) -> Work:
    return cut_piece(name, "face", ticks(width), ticks(length), count=count, **more)


def one_step(*operations: Operation) -> Sewing:
    """A sewing order of a single step."""
    return Sewing("east", (SewingStep("all", operations),))


def bench(works: tuple[Work, ...], *operations: Operation, **lost: Any) -> Bench:
    """The table once these operations are done."""
    return sewn(Bench({work.name: work for work in works}, **lost), one_step(*operations))


def left(works: tuple[Work, ...], *operations: Operation) -> Work:
    """What the left panel has become."""
    return bench(works, *operations).work("left")
