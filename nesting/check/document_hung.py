"""What a plan document promises once a first panel hangs: lengths, hems of what was cut, one pattern.

Judged from its figures and its order alone; trade values are restated here. Every width of a window reaches
as far above its hem line, whether it was cut before or after; a hem that was let down still can be turned;
a length cut off of another goes on in its pattern. What is to hang first is cut first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, Final

from nesting.check.document import PlanDocument, TableReader
from nesting.check.document_cutting import parts_of
from nesting.check.violation import Breach, Violation
from nesting.units import Unit, grid, to_ticks

#: A bottom hem and a lining's: turns of so much where nothing is ordered, and what is turned under first.
_HEMS: Final = {"panel": ("4", "10"), "lining": ("2", "5")}
_SHEER: Final = ("5", "12.5")
_UNDER: Final = ("0.5", "1.5")
_KEYS: Final = {"panel": "bottom_hem", "lining": "lining_hem"}
#: What rounding to the tick, washed and not, comes to at most.
_ROUNDED: Final = 4


def check_hung(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with a plan that a hung panel corrected; a document need not tell of any."""
    top = TableReader(document, "", plan.units)
    order = top.table_or_none("order")
    if order is None:
        return
    if order.value("hang_first", None) is not None:
        yield from _check_first(plan, top)
    fabrics = {fabric.text("key"): fabric for fabric in order.tables("fabrics", ())}
    for fabric in fabrics.values():
        yield from _check_goes_on(fabric)
    hung = {one.text("window"): one.whole("length") for one in order.tables("hung", ())}
    windows = {window.text("name"): window for window in order.tables("windows", ())}
    for name, length in hung.items():
        window = windows.get(name)
        if window is None or window.value("finished_length", None) != length:
            yield Violation(Breach.HANGING, f'"{name}" hung', f"{length} long by its order", at=order.place)
            continue
        for panel in top.tables("panels", ()):
            off = abs(panel.size("length") - length) if panel.text("window") == name else 0
            if off > 1:
                yield Violation(
                    Breach.HANGING, f'"{name}": a panel', f"{length} as it hung", off, panel.place
                )
        yield from _check_layers(top, plan.units, window, fabrics, length)


def _check_first(plan: PlanDocument, top: TableReader) -> Iterator[Violation]:
    """The widths that are to hang first lie before every straight cut that frees none of them."""
    first = {
        entry.text("id")
        for entry in top.tables("pieces")
        if entry.flag("first", False) and entry.text_or_none("role", None) == "panel"
    }
    for layout in plan.layouts:
        boxes = [(one.x, one.y, one.x + one.width, one.y + one.length) for one in layout.entries]
        mine = {
            box[1]
            for one, box in zip(layout.entries, boxes, strict=True)
            if one.piece.id in first and one.copy == 1
        }
        if not mine or layout.on_hand is not None:
            continue
        holds = [any(box[1] in mine for box in band) for band in parts_of(boxes, across=True)]
        late = holds[holds.index(False) :] if False in holds else []
        if any(late):
            yield Violation(
                Breach.SEQUENCE, "what is to hang first", "cuts before it", sum(late), layout.place
            )


def _check_layers(
    top: TableReader, unit: Unit, window: TableReader, fabrics: Mapping[str, TableReader], length: int
) -> Iterator[Violation]:
    """Widths of one layer reach equally far above their hem lines, and have a hem to turn."""
    layers = defaultdict[tuple[str, str], list[TableReader]](list)
    for entry in top.tables("pieces"):
        role = entry.text_or_none("role", None)
        if role in _KEYS and entry.text_or_none("window", None) == window.text("name"):
            layers[str(role), entry.text("fabric")].append(entry)
    for (role, key), pieces in layers.items():
        fabric = fabrics.get(key)
        gap = None if fabric is None else fabric.value("cutting_gap", None)
        reach = [
            (piece.size("length") - (piece.length_or_none("hem_line", None) or 0), piece) for piece in pieces
        ]
        most = max(above for above, _ in reach)
        for above, piece in reach:
            if gap is None and most - above >= grid(unit) + _ROUNDED:
                yield Violation(
                    Breach.HEM,
                    f'"{piece.text("id")}": above its hem {above}',
                    f"{most}",
                    most - above,
                    piece.place,
                )
            if role == "panel" and above * _kept(fabric) < length - _ROUNDED:
                short = int(length - above * _kept(fabric))
                yield Violation(
                    Breach.HEM, f'"{piece.text("id")}": above its hem {above}', f"{length} to hang", short,
                    piece.place,
                )  # fmt: skip
            yield from _check_hem(piece, role, unit, window, fabric)


def _check_hem(
    piece: TableReader, role: str, unit: Unit, window: TableReader, fabric: TableReader | None
) -> Iterator[Violation]:
    """What is below the hem line can be turned: full turns, after a first one of 1/2 in at least."""
    said = window.table_or_none(_KEYS[role])
    usual = _HEMS[role]
    if role == "panel" and fabric is not None and fabric.value("weight", None) == "sheer":
        usual = _SHEER
    turn, turns = _ticks(usual, unit), 2
    if said is not None:
        if said.flag("selvage", False):
            return
        turn, turns = said.whole("turn"), said.whole("turns") if said.value("turns", None) is not None else 2
    least = turn * turns if turns < 2 else min(turn * turns, turn * (turns - 1) + _ticks(_UNDER, unit))
    hem = piece.length_or_none("hem_line", None) or 0
    if hem < least - _ROUNDED:
        yield Violation(
            Breach.HEM,
            f'"{piece.text("id")}": {hem} for its hem',
            f"at least {least}",
            least - hem,
            piece.place,
        )


def _ticks(both: tuple[str, str], unit: Unit) -> int:
    return to_ticks(float(both[0]), "in") if unit == "in" else to_ticks(float(both[1]), "cm")


def _kept(fabric: TableReader | None) -> Fraction:
    """What washing after cutting leaves of a length."""
    washing = None if fabric is None else fabric.table_or_none("shrinkage")
    if washing is None or washing.value("washed", "after") != "after":
        return Fraction(1)
    return 1 - Fraction(str(washing.value("length", 0))) / 100


def _check_goes_on(fabric: TableReader) -> Iterator[Violation]:
    """A length that follows on another begins in the pattern where that one ends."""
    repeat = fabric.table_or_none("repeat")
    for bolt in fabric.tables("bolts", ()):
        lengths = {one.text("name"): one for one in bolt.tables("on_hand", ()) if one.value("name", None)}
        for one in lengths.values():
            name = one.text_or_none("follows", None)
            if name is None:
                continue
            before = lengths.get(name)
            if before is None:
                yield Violation(
                    Breach.LENGTH, f'"{one.text("name")}" follows "{name}"', "the lengths", at=one.place
                )
                continue
            starts = (one.value("start", None), before.value("start", None))
            if repeat is None or None in starts:
                continue
            period = one.whole("repeat") if one.value("repeat", None) else repeat.whole("length")
            off = (before.whole("start") + before.whole("length") - one.whole("start")) % period
            if min(off, period - off) > _allowed(fabric, before.whole("length") // period):
                where, apart = f'the end of "{name}"', min(off, period - off)
                yield Violation(Breach.PHASE_ALONG, f'"{one.text("name")}"', where, apart, one.place)


def _allowed(fabric: TableReader, repeats: int) -> int:
    """What lengths of a fabric washed before cutting may be out: each repeat is rounded once washed.

    Up to half a tick, of a drop by thirds to a multiple of three and so up to one and a half.
    """
    washing, repeat = fabric.table_or_none("shrinkage"), fabric.table_or_none("repeat")
    if washing is None or washing.value("washed", "after") != "before" or repeat is None:
        return 0
    return _ROUNDED + (repeats + 1) * Fraction(str(repeat.value("drop", 0))).denominator
