"""Windows drawn from a seed, with everything that changes how a drape is sewn. All data is invented."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any, Literal

from nesting.headings import HEADINGS
from nesting.order.job import (
    Band,
    Bolt,
    Fabric,
    FacingOrder,
    Hem,
    Job,
    PleatOrder,
    RingOrder,
    Shrinkage,
    TabOrder,
    Tieback,
    Window,
)
from nesting.repeat import Repeat
from nesting.units import Unit, grid, inches, unit_ticks


class Draw:
    """Lengths on the tape of one unit, and chances out of six."""

    def __init__(self, seed: int) -> None:
        self.dice = Random(seed)
        self.unit: Unit = self.dice.choice(("in", "cm", "mm"))

    def length(self, least: str, most: str) -> int:
        """Between so many inches, in steps of the tape."""
        step = grid(self.unit)
        low, high = (inches(Fraction(each)) // step for each in (least, most))
        return self.dice.randint(low, high) * step

    def often(self, times: int) -> bool:
        return self.dice.randrange(6) < times

    def maybe(self, times: int, **said: Any) -> dict[str, Any]:
        return said if self.often(times) else {}


def drawn_job(seed: int) -> Job:
    """One window of any heading, lined and trimmed as it comes."""
    draw = Draw(seed)
    printed = draw.often(2)
    fabrics = [_fabric(draw, "face", printed=printed)]
    fabrics += [_fabric(draw, key, printed=False) for key in ("lining", "bump", "trim")]
    window = _window(draw, printed=printed)
    used = {window.fabric, window.lining, window.interlining, window.tab.fabric, window.facing.fabric}
    used |= {band.fabric for band in window.bands} | {each.fabric for each in window.tiebacks}
    kept = tuple(fabric for fabric in fabrics if fabric.key in used)
    return Job("Order", draw.unit, kept, (window,))


def _fabric(draw: Draw, key: str, *, printed: bool) -> Fabric:
    usable = draw.length("40", "60")
    columns = draw.dice.choice((1, 2, 3))
    across = (usable - draw.length("0", "1")) // columns
    repeat = Repeat(2 * draw.length("3", "13"), across, draw.dice.choice((Fraction(0), Fraction(1, 2))))
    loss = Shrinkage(
        length=Fraction(draw.dice.randint(0, 60), 10),
        width=Fraction(draw.dice.randint(0, 40), 10),
        washed=draw.dice.choice(("before", "after")),
    )
    bolt = Bolt(usable + draw.length("1", "3"), usable, sold_by=unit_ticks("yd") // 8)
    if printed:
        bolt = replace(bolt, match=across * columns)
    return Fabric(
        key,
        (bolt,),
        nap=draw.dice.choice(("none", "one-way")),
        repeat=repeat if printed else None,
        shrinkage=loss if draw.often(2) else None,
        weight=draw.dice.choice(("sheer", "medium", "heavy")),
    )


def _hem(draw: Draw, least: str, most: str) -> Hem:
    if draw.often(1):
        return Hem(0, 0)
    return Hem(draw.length(least, most), draw.dice.choice((1, 2, 2, 2, 3)))


def _sides(draw: Draw, printed: bool) -> dict[str, Any]:
    hems = [_hem(draw, "1/2", "2") if draw.often(3) else None for _ in range(2)]
    if not printed and draw.often(1):
        hems = [None if hem is not None and not hem.allowance else hem for hem in hems]
        hems[draw.dice.randrange(2)] = Hem(0, 0, selvage=True)
    return {"leading_hem": hems[0], "outer_hem": hems[1]}


def _tabs(draw: Draw) -> TabOrder:
    return TabOrder(
        width=draw.length("1", "3"),
        spacing=draw.length("4", "9") if draw.often(1) else None,
        length=draw.length("6", "14") if draw.often(1) else None,
        count=draw.dice.randint(3, 9) if draw.often(1) else None,
        fabric=draw.dice.choice((None, "trim")),
    )


def _pleats(draw: Draw) -> PleatOrder:
    return PleatOrder(
        count=draw.dice.randint(2, 9) if draw.often(2) else None,
        space=draw.length("2", "6") if draw.often(2) else None,
        lead=draw.length("0", "4") if draw.often(2) else None,
        buckram=draw.length("2", "6") if draw.often(2) else None,
    )


def _rings(draw: Draw) -> RingOrder:
    return RingOrder(
        size=draw.length("5/2", "7/2") if draw.often(2) else None,
        inner=draw.length("3/2", "5/2") if draw.often(4) else None,
        spacing=draw.length("4", "9") if draw.often(1) else None,
        count=draw.dice.randint(2, 13) if draw.often(1) else None,
    )


def _window(draw: Draw, *, printed: bool) -> Window:
    dice = draw.dice
    heading = dice.choice(sorted(HEADINGS))
    style = HEADINGS[heading]
    kind: Literal["pair", "left", "right"] = dice.choice(("pair", "pair", "left", "right"))
    said: dict[str, Any] = {
        "rod": draw.length("30", "100"),
        "finished_length": draw.length("30", "110"),
        "hangs_from": dice.choice(style.hangs_from),
        "draw": kind,
        **draw.maybe(3, rod_diameter=draw.length("1/2", "2" if draw.often(4) else "4")),
        **draw.maybe(2, fullness=dice.choice((Fraction(5, 4), Fraction(2), Fraction(5, 2)))),
        **draw.maybe(1, count=dice.choice((2, 3))),
        **draw.maybe(2, bottom_hem=_hem(draw, "1", "6")),
        **_sides(draw, printed),
        **draw.maybe(1, working=draw.length("1/2", "1")),
        **draw.maybe(1, seam=draw.length("0", "1")),
        **draw.maybe(2, widths=dice.choice(("half", "whole"))),
        **draw.maybe(1, returns=draw.length("0", "6")),
        **draw.maybe(1, hook_row=dice.choice(("top", "middle", "bottom"))),
        **draw.maybe(1, pocket=draw.length("4", "6")),
        **draw.maybe(1, take_up=draw.length("0", "1")),
        **draw.maybe(1, heading_depth=draw.length("0", "6")),
        **draw.maybe(1, tape=draw.length("1", "5")),
        **draw.maybe(1, flat_width=draw.length("20", "120")),
        **draw.maybe(2, tab=_tabs(draw)),
        **draw.maybe(1, pleat=_pleats(draw)),
        **draw.maybe(
            3,
            facing=FacingOrder(
                depth=draw.length("2", "9") if draw.often(1) else None,
                fabric=dice.choice((None, "trim")),
                lower_edge=dice.choice(("overcast", "turned")),
            ),
        ),
        **draw.maybe(2, ring=_rings(draw)),
    }
    if draw.often(3):
        said |= {"lining": "lining", "lining_style": dice.choice(("tucked", "tucked", "tube"))}
        said |= draw.maybe(2, interlining="bump")
        said |= draw.maybe(1, lining_hem=_hem(draw, "1", "3"))
        said |= draw.maybe(1, lining_cover=draw.length("1", "8"))
        said |= draw.maybe(1, lining_gap=draw.length("0", "2"))
    edges = [edge for edge in ("leading", "hem") if draw.often(1)]
    said["bands"] = tuple(Band(edge, draw.length("2", "5"), dice.choice(("trim", "face"))) for edge in edges)  # type: ignore[arg-type]
    ties = range(dice.choice((0, 0, 0, 1, 2)))
    said["tiebacks"] = tuple(
        Tieback(draw.length("16", "30"), draw.length("2", "4"), dice.choice((1, 2)), "trim") for _ in ties
    )
    return Window("East window", "Hall", heading=heading, fabric="face", **said)
