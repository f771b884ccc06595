"""What a plan document promises of hems that are the selvage: they lie on the fabric's own edge, uncut.

The order says which windows have such a hem, and which edge of their fabric it is. A cut edge is no selvage:
a panel has its bottom there only turned a quarter, its top pointing away, and its lower edge at the very edge
of the fabric as it lies on the table. It has a side there only upright, that side of its outermost width at
that edge; every other side has a hem.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, TableReader
from nesting.check.violation import Breach, Violation


@dataclass(frozen=True, slots=True)
class _OwnEdge:
    """Which edge is the hem, and what washing before cutting leaves of a width."""

    edge: str
    kept: Fraction


def check_hems(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """Every panel ordered with its hem on the selvage has it there, and no other piece is said to."""
    top = TableReader(document, "", plan.units)
    order = top.table_or_none("order")
    windows = {
        window.text("name")
        for window in (() if order is None else order.tables("windows", ()))
        if _is_selvage(window, "bottom_hem")
    }
    fabrics = (
        {}
        if order is None
        else {fabric.text("key"): _fabric(fabric) for fabric in order.tables("fabrics", ())}
    )
    ordered, sides = set[str](), set[str]()
    sided = {
        window.text("name")
        for window in (() if order is None else order.tables("windows", ()))
        if any(_is_selvage(window, key) for key in ("leading_hem", "outer_hem"))
    }
    for entry in top.tables("pieces"):
        panel = entry.text_or_none("role", None) == "panel"
        if panel and entry.text_or_none("window", None) in windows:
            ordered.add(entry.text("id"))
            if entry.length_or_none("hem_line", None):
                yield Violation(Breach.HEM, f'"{entry.text("id")}"', "a hem turned as well", at=entry.place)
        elif panel and entry.text_or_none("window", None) in sided:
            sides.add(entry.text("id"))
    for made in top.tables("panels", ()):
        if made.text("window") in sided - windows:
            yield from _check_hemless(top, made)
    for layout in plan.layouts:
        for laid in layout.entries:
            hemmed = laid.piece.hem_edge is not None
            if laid.piece.id in sides:
                if hemmed:
                    yield from _check_side(layout, laid, fabrics.get(layout.fabric))
            elif hemmed != (laid.piece.id in ordered):
                what = "said to be on the selvage" if hemmed else "not on the selvage"
                yield Violation(Breach.HEM, f"{laid.name}, {what}", "its order", at=layout.place)
            if laid.piece.id in ordered:
                yield from _check_edge(layout, laid, fabrics.get(layout.fabric))


def _is_selvage(window: TableReader, key: str) -> bool:
    hem = window.table_or_none(key)
    return hem is not None and hem.flag("selvage", False)


def _check_hemless(top: TableReader, panel: TableReader) -> Iterator[Violation]:
    """A side without a hem is that of the outermost width there, which keeps that edge of the fabric."""
    window, key = panel.text("window"), panel.text("key")
    sets = defaultdict[str, list[TableReader]](list)
    for entry in top.tables("pieces"):
        base = entry.text("id").rpartition("/")[0]
        role, of = entry.text_or_none("role", None), entry.text_or_none("window", None)
        if (role, of, base.rpartition("/")[2]) == ("panel", window, key):
            sets[base].append(entry)
    cuts = list(panel.value("cuts"))
    for edge, cut in (("left", cuts[0]), ("right", cuts[-1])):
        if panel.length_or_none(f"{edge}_hem", None) != 0:
            continue
        for base, widths in sets.items():
            own = [each for each in widths if each.text_or_none("hem_edge", None) == edge]
            ends = [
                each for each in own if len(each.value("joined_to", ())) <= 1 and each.value("width") == cut
            ]
            if len(own) != 1 or ends != own:
                yield Violation(
                    Breach.HEM, f'"{base}": its {edge} side', "a cut edge without a hem", at=panel.place
                )


def _check_side(layout: LayoutEntry, laid: LaidEntry, fabric: _OwnEdge | None) -> Iterator[Violation]:
    """A width keeps the edge of the fabric that it is said to keep: upright, and at that very edge."""
    whole = int(layout.bolt_width * (Fraction(1) if fabric is None else fabric.kept))
    off = laid.x if laid.piece.hem_edge == "left" else whole - (laid.x + laid.width)
    if laid.turn or laid.arrow != "up" or off or layout.strip.width != whole:
        at = f"{layout.place}, x {laid.x}, y {laid.y}"
        other = f"the {laid.piece.hem_edge} edge of the fabric"
        yield Violation(Breach.HEM, f"{laid.name}, arrow {laid.arrow}", other, abs(off), at)


def _fabric(fabric: TableReader) -> _OwnEdge:
    washing = fabric.table_or_none("shrinkage")
    lost = Fraction(0)
    if washing is not None and washing.value("washed", "after") == "before":
        lost = Fraction(str(washing.value("width", 0)))
    return _OwnEdge(str(fabric.value("hem_edge", "right")), 1 - lost / 100)


def _check_edge(layout: LayoutEntry, laid: LaidEntry, fabric: _OwnEdge | None) -> Iterator[Violation]:
    """The lower edge of a panel lies on the edge of the fabric that is its hem."""
    edge = "right" if fabric is None else fabric.edge
    kept = Fraction(1) if fabric is None else fabric.kept
    at = f"{layout.place}, x {laid.x}, y {laid.y}"
    away = "left" if edge == "right" else "right"
    if laid.turn != 90 or laid.arrow != away:
        yield Violation(Breach.HEM, f"{laid.name}, top {laid.arrow}", f"the {edge} selvage", at=at)
        return
    # The layout's width begins at the left edge of the fabric and reaches to its right one.
    whole = int(layout.bolt_width * kept)
    off = laid.x if edge == "left" else whole - (laid.x + laid.width)
    if layout.strip.width != whole:
        yield Violation(Breach.HEM, f"width {layout.strip.width}", f"{whole}, edge to edge", at=layout.place)
    elif off:
        yield Violation(Breach.HEM, laid.name, f"the {edge} edge of the fabric", abs(off), at)
