"""Short ways to order one window, in inches unless said, with only what a test is about filled in."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from nesting.cutting.cut import Cutting, cut
from nesting.order.job import Bolt, Extra, Fabric, Hem, Job, Window
from nesting.pieces.piece import Piece
from nesting.repeat import Repeat
from nesting.units import Unit, centimeters, inches

NO_HEM = Hem(0, 0)


def inch(text: str | int) -> int:
    """Ticks of ``95 1/2``."""
    return inches(sum((Fraction(part) for part in str(text).split()), Fraction(0)))


def cm(text: str | int) -> int:
    return centimeters(Fraction(text))


def a_bolt(width: int, usable: int | None = None, match: int | None = None, **more: Any) -> Bolt:
    """All of it usable unless said otherwise."""
    return Bolt(width=width, usable=width if usable is None else usable, match=match, **more)


def a_fabric(bolt: Bolt, key: str = "face", repeat: Repeat | None = None, **more: Any) -> Fabric:
    return Fabric(key=key, bolts=(bolt,), repeat=repeat, **more)


def a_window(**said: Any) -> Window:
    base: dict[str, Any] = {
        "name": "East window",
        "room": "Garden room",
        "rod": inch(84),
        "heading": "back-tab",
        "fabric": "face",
        "finished_length": inch("95 1/2"),
        "rod_diameter": inch("1 3/8"),
        # Sums are told without what a rod takes up; ``take_up=None`` asks for what the heading would add.
        "take_up": 0,
    }
    return Window(**{**base, **said})


def bare_window(**said: Any) -> Window:
    """No hems, no seams, no least part: only what a textbook sum speaks of; clip rings need no more."""
    base: dict[str, Any] = {
        "heading": "clip-ring",
        "heading_depth": 0,
        "bottom_hem": NO_HEM,
        "leading_hem": NO_HEM,
        "outer_hem": NO_HEM,
        "seam": 0,
        "least_part_width": 0,
        "returns": 0,
        "overlap": 0,
    }
    return a_window(**{**base, **said})


def a_job(
    *windows: Window, fabrics: tuple[Fabric, ...], units: Unit = "in", extras: tuple[Extra, ...] = ()
) -> Job:
    return Job(title="Order", units=units, fabrics=fabrics, windows=windows, extras=extras)


def first_bolts(job: Job) -> Mapping[str, Bolt]:
    return {fabric.key: fabric.bolts[0] for fabric in job.fabrics}


def cut_job(job: Job, **more: Any) -> Cutting:
    """The job cut from the first bolt of each fabric."""
    return cut(job, first_bolts(job), **more)


def by_role(cutting: Cutting, role: str) -> tuple[Piece, ...]:
    return tuple(piece for piece in cutting.pieces if piece.role == role)


def by_id(cutting: Cutting, name: str) -> Piece:
    return next(piece for piece in cutting.pieces if piece.id == name)


def panels(cutting: Cutting) -> tuple[Piece, ...]:
    return by_role(cutting, "panel")
