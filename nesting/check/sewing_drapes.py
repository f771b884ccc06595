"""The drapes of a plan document, sewn here: from the rectangles and the operations to what was ordered.

`check_sewing` starts at the order. It lays the cut pieces of every window out as they lie on their fabric,
does the operations of the document one after the other, and compares what comes out with what was ordered;
the sizes that the document states are compared last of all, in `nesting.check.sewing_figures`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any, Literal

from nesting.check.document import PlanDocument, TableReader
from nesting.check.sewing_bench import SEWN, PieceCut, bench_of, first_name, pieces_cut
from nesting.check.sewing_buying import check_buying_ordered
from nesting.check.sewing_figures import check_figures
from nesting.check.sewing_joins import check_foot, check_labels
from nesting.check.sewing_layers import check_layers, check_tiebacks
from nesting.check.sewing_ordered import WindowOrdered, percent_kept, whole, windows_ordered
from nesting.check.sewing_panels import (
    check_pair,
    check_panel,
    clearance,
    drape,
    hanger_height,
    hung_panel,
    rules_of,
)
from nesting.check.sewing_prints import (
    SewnPanel,
    check_level,
    check_nap,
    check_naps,
    check_register,
    check_runs_on,
    prints_ordered,
)
from nesting.check.sewing_sums import check_sums
from nesting.check.violation import Breach, Violation
from nesting.errors import NestingError
from nesting.repeat import Repeat
from nesting.sewing import Bench, FaceTop, Join, LayOn, Operation, Sewing, SewingError, sew
from nesting.sewing.written import read_sewing
from nesting.units import Unit, grid


def check_sewing(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with the drapes of a document; nothing where it has no order or no sewing.

    Raises
    ------
    NestingError
        Its order or its sewing has not the form of one.
    """
    if "sewing" not in document or document.get("order") is None:
        return
    sewings = sewings_of(document)
    top = TableReader(document, "", plan.units)
    windows = list(windows_ordered(top, plan.units))
    order = top.table_or_none("order")
    fabrics = {} if order is None else {one.text("key"): one for one in order.tables("fabrics", ())}
    repeats, wrong = prints_ordered(plan, document, fabrics)
    yield from wrong
    if order is not None and order.text("units") != plan.units:
        yield Violation(Breach.SEWING, f"ordered in {order.text('units')}", f"planned in {plan.units}")
    pieces = pieces_cut(plan, document)
    yield from check_naps(windows, pieces)
    yield from check_buying_ordered(plan, document, repeats, pieces)
    yield from check_sums(top, plan.units, {window.name: window for window in windows})
    yield from _check_everything(windows, sewings, pieces)
    yield from _check_extras(top, plan.units, fabrics, pieces)
    hung = list[SewnPanel]()
    for window in windows:
        sewing = sewings.get(window.name)
        if sewing is None:
            continue
        mine = pieces.get(window.name, [])
        for number in range(1, 1 + (window.count if _one_by_one(window, mine) else 1)):
            panels = list[SewnPanel]()
            yield from _sewn_window(window, sewing, mine, number, repeats, panels)
            hung += panels
    yield from check_level(hung)
    yield from check_figures(top, windows, hung)


def sewings_of(document: Mapping[str, Any]) -> dict[str, Sewing]:
    """The sewing orders of a document by window; none where it has none.

    Raises
    ------
    NestingError
        They have not the form of sewing orders, or two are for one window.
    """
    listed = document.get("sewing", ())
    if not isinstance(listed, list | tuple):
        raise NestingError("sewing: expected a list with the sewing of each window")
    found = dict[str, Sewing]()
    for at, table in enumerate(listed):
        if not isinstance(table, Mapping):
            raise NestingError(f"sewing[{at}]: expected a window and its steps")
        sewing = read_sewing(table, f"sewing[{at}]")
        if found.setdefault(sewing.window, sewing) is not sewing:
            raise NestingError(f'sewing[{at}].window = "{sewing.window}": expected each window once')
    return found


def _one_by_one(window: WindowOrdered, pieces: list[PieceCut]) -> bool:
    """Whether windows made alike are each to be sewn: their pieces show a print, or are their own."""
    return any(piece.number is not None for piece in pieces) or (
        window.fabric.table_or_none("repeat") is not None
    )


def _check_everything(
    windows: list[WindowOrdered], sewings: Mapping[str, Sewing], pieces: Mapping[str, list[PieceCut]]
) -> Iterator[Violation]:
    """Every window that was ordered is sewn, and no other; every piece belongs to one."""
    names = [window.name for window in windows]
    for name, count in Counter(names).items():
        if count > 1:
            yield Violation(Breach.SEWING, f'"{name}" ordered {count} times', "one order of each name")
    for name in names:
        if name not in sewings:
            yield Violation(Breach.SEWING, f'"{name}": no sewing', "every window that was ordered")
    for name in sewings.keys() - set(names):
        yield Violation(Breach.SEWING, f'sewing of "{name}"', "no such window ordered")
    for name in pieces.keys() - set(names):
        for piece in pieces[name]:
            if piece.role in SEWN:
                yield Violation(
                    Breach.SEWING, f'"{piece.id}" for "{name}"', "no such window ordered", at=piece.place
                )
    for listed in pieces.values():
        for piece in listed:
            if piece.role not in SEWN and piece.role != "extra":
                what = f'"{piece.id}": a piece that is a {piece.role or "nothing"}'
                yield Violation(Breach.SEWING, what, "what is sewn", at=piece.place)


def _check_extras(
    top: TableReader, unit: Unit, fabrics: Mapping[str, TableReader], pieces: Mapping[str, list[PieceCut]]
) -> Iterator[Violation]:
    """Every extra that was ordered is cut, of its size and fabric and as often as was asked; no other is."""
    cut = [piece for listed in pieces.values() for piece in listed if piece.role == "extra"]
    order = top.table_or_none("order")
    for extra in () if order is None else order.tables("extras", ()):
        fabric, count = fabrics.get(extra.text("fabric")), whole(extra, "count", 1)
        ways: tuple[Literal["width", "length"], ...] = ("width", "length")
        size = [whole(extra, way, 1) for way in ways]
        kept = [percent_kept(fabric, way, "after") if fabric is not None else 1 for way in ways]
        fits = [
            piece
            for piece in cut
            if piece.fabric == extra.text("fabric")
            and piece.copies == count
            and piece.optional == bool(extra.value("optional", False))
            and all(
                0 <= made * part - asked <= grid(unit)
                for made, part, asked in zip(piece.size, kept, size, strict=True)
            )
        ]
        if not fits:
            what = f'"{extra.text("name")}"'
            yield Violation(Breach.SEWING, what, f"{count} of {size[0]} x {size[1]} ordered", at=extra.place)
        else:
            cut.remove(fits[0])
    for piece in cut:
        yield Violation(Breach.SEWING, f'"{piece.id}"', "no such extra ordered", at=piece.place)


def _sewn_window(
    window: WindowOrdered,
    sewing: Sewing,
    pieces: list[PieceCut],
    number: int,
    repeats: Mapping[str, Repeat | None],
    hung: list[SewnPanel],
) -> Iterator[Violation]:
    """One window sewn and judged; its panels are added to ``hung``."""
    name = f'"{window.name}"' + (f" {number}" if window.count > 1 else "")
    bench, wrong = bench_of(window, pieces, number, repeats)
    yield from wrong
    by_name = {first_name(piece): piece for piece in pieces if piece.number in (None, number)}
    labels = {key: piece.panel for key, piece in by_name.items()}
    begun = {key: work.strips[0].at for key, work in bench.works.items() if work.strips}
    try:
        for moment in sew(bench, sewing):
            yield from _check_moment(name, moment.operation, moment.before)
            if isinstance(moment.operation, Join):
                yield from check_labels(name, moment.operation, by_name)
            bench = moment.after
    except SewingError as fault:
        yield Violation(Breach.SEWING, f"{name}: {fault}", "a step that can be sewn")
        return
    rules, rest = rules_of(window), dict(bench.works)
    for ordered in window.panels(rules is not None and rules.drawn):
        work = rest.pop(ordered.key, None)
        if work is None or work.fabric != window.at.text("fabric"):
            yield Violation(
                Breach.SEWING, f"{name}: {ordered.key} panel missing", "every panel that was ordered"
            )
            continue
        panel = SewnPanel(window, ordered, number, work, Fraction(0), by_name)
        panel = replace(panel, hem=_level(panel), match=_match(panel))
        hung.append(panel)
        if work.count != 1:
            yield drape(panel, f"{work.count} made", "one")
        for strip in work.strips:
            if labels.get(strip.piece) != ordered.key or by_name[strip.piece].role != "panel":
                yield drape(panel, f"{strip.piece} sewn into it", f"widths labeled {ordered.key}")
        for line in work.lines:
            yield drape(panel, f"a line {float(line.inward):.10g} inside its {line.edge} edge", "folded on")
        yield from check_panel(panel, rules)
        yield from check_layers(panel, rules)
        yield from check_nap(panel)
        yield from check_register(panel)
        yield from check_foot(panel, begun)
    yield from check_tiebacks(window, list(rest.values()), name)
    yield from _check_pairs(window, hung)


def _check_moment(name: str, operation: Operation, before: Bench) -> Iterator[Violation]:
    """What only shows while it is sewn: loops that a layer comes to lie over, so that no rod gets at them."""
    on = operation.on if isinstance(operation, FaceTop | LayOn) else ""
    over = isinstance(operation, FaceTop) or (isinstance(operation, LayOn) and operation.face == "back")
    if over and on in before.works:
        covered = [one for one in before.works[on].carriers if one.kind == "loop"]
        if covered:
            what = f"{name}: {len(covered)} loops of {on} under what is sewn on next"
            yield Violation(Breach.SEWING, what, "loops on the outermost layer", len(covered))


def _match(panel: SewnPanel) -> int | None:
    """The match of the fabric of a panel none of whose widths is a full one; None where one is."""
    widths = [piece.size[0] for strip in panel.work.strips if (piece := panel.pieces.get(strip.piece))]
    kept = percent_kept(panel.window.fabric, "width", "before")
    for bolt in panel.window.fabric.tables("bolts", ()):
        match = bolt.value("match", None)
        if type(match) is int and max(widths, default=0) < int(match * kept) + 2 * panel.window.seam - 2:
            return int(match * kept)
    return None


def _level(panel: SewnPanel) -> Fraction:
    """The finished hem edge of a panel above the level line of its room."""
    level = panel.window.fabric.value("level", "hem")
    motif = panel.window.fabric.table_or_none("motif")
    foot = Fraction(0)
    if motif is not None:
        height = motif.whole("height", 0)
        foot = Fraction(height if motif.value("at", "hem") == "hem" else -height)
    if level == "top":
        return -panel.work.length - foot
    if level == "floor":
        hung, above = hung_panel(panel), hanger_height(panel.window, rules_of(panel.window))
        if hung is not None and above is not None:
            return above + hung.top - hung.length - foot
        return Fraction(clearance(panel.window)) - foot
    return -foot


def _check_pairs(window: WindowOrdered, hung: list[SewnPanel]) -> Iterator[Violation]:
    """Panels that hang opposite each other are mirrored, or the print runs on from one to the other."""
    by_key = {panel.ordered.key: panel for panel in hung}
    if any(panel.runs_on for panel in hung) and {"left", "right"} <= by_key.keys():
        yield from check_runs_on(by_key["left"], by_key["right"])
        return
    for key, panel in by_key.items():
        side, _, number = key.partition("-")
        other = by_key.get(f"right-{number}" if number else "right")
        if side == "left" and other is not None:
            yield from check_pair(panel, other)
