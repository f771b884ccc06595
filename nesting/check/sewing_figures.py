"""Sizes and marks that a plan document states, against the drapes as they were sewn: the last comparison.

What the document prints of panels, headings, pieces and notions must be what came out; nothing here is read
before that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil
from typing import Final

from nesting.check.document import TableReader
from nesting.check.sewing_bench import label_of
from nesting.check.sewing_notions import check_notions
from nesting.check.sewing_ordered import HemOrdered, SideEdge, WindowOrdered, percent_kept, whole
from nesting.check.sewing_panels import rules_of
from nesting.check.sewing_prints import SewnPanel
from nesting.check.violation import Breach, Violation
from nesting.sewing import LaidOn, Work
from nesting.units import round_nearest

#: Of a mark or a size that is stated to the tick, as it was sewn of fabric that may have been washed.
_ROUNDED: Final = 3
#: What a mark of a heading is called that a carrier stands on.
_MARKS: Final[Mapping[str, str]] = {"tab": "tab", "loop": "tab", "ring": "grommet", "clip": "ring"}


def check_figures(
    top: TableReader, windows: Sequence[WindowOrdered], hung: Sequence[SewnPanel]
) -> Iterator[Violation]:
    """What the document states otherwise than it was sewn."""
    first = {(one.window.name, one.ordered.key): one for one in hung if one.number == 1}
    headings = list(top.tables("headings", ()))
    panels = list(top.tables("panels", ()))
    asked = list(first.values())
    if len(panels) != len(asked) or len(headings) != len(asked):
        what = f"{len(panels)} panels and {len(headings)} headings listed"
        yield Violation(Breach.SEWING, what, f"{len(asked)} sewn", abs(len(panels) - len(asked)))
        return
    for table, heading, panel in zip(panels, headings, asked, strict=True):
        if (table.text("window"), table.text("key")) != (panel.window.name, panel.ordered.key):
            yield _off(panel, "panels listed", table.text("key"), panel.ordered.key, table.place)
            continue
        yield from _check_panel_table(panel, table)
        yield from _check_heading_table(panel, heading)
    yield from _check_pieces(top, first)
    yield from _check_lines(top)
    yield from check_notions(top, windows, asked)


def _off(panel: SewnPanel, what: str, said: object, sewn: object, place: str, amount: int = 0) -> Violation:
    return Violation(Breach.SEWING, f"{panel.name}: {what} {said}", f"{sewn} sewn", amount, place)


def _differs(
    panel: SewnPanel, what: str, said: int | None, sewn: Fraction | int, place: str, slack: int = _ROUNDED
) -> Iterator[Violation]:
    if said is None or abs(Fraction(said) - sewn) > slack:
        off = 0 if said is None else abs(round_nearest(Fraction(said) - sewn))
        yield _off(panel, what, said, f"{float(sewn):.10g}", place, off)


def _side_of(key: str) -> str:
    side, _, _ = key.partition("-")
    return side


def _check_panel_table(panel: SewnPanel, table: TableReader) -> Iterator[Violation]:
    """What the table of a panel states of its sizes, seams and hems."""
    window, ordered, work, place = panel.window, panel.ordered, panel.work, table.place
    step = window.step
    if table.text("side") != _side_of(ordered.key):
        yield _off(panel, "side", table.text("side"), _side_of(ordered.key), place)
    if table.whole("count", 1) != window.count:
        yield _off(panel, "count", table.whole("count", 1), window.count, place)
    yield from _differs(panel, "flat", table.length_of("flat"), work.width, place)
    yield from _differs(panel, "finished", table.length_of("finished"), ordered.dressed, place)
    said = window.said("finished_length")
    if said is not None:
        yield from _differs(panel, "length", table.length_of("length"), said, place)
    elif not -step - _ROUNDED <= table.length_of("length") - work.length <= _ROUNDED:
        taken = Fraction(window.said("take_up") or window.rod.thick) + step
        if not 0 <= work.length - table.length_of("length") <= taken:
            yield from _differs(panel, "length", table.length_of("length"), work.length, place)
    kept = percent_kept(window.fabric, "width", "after")
    seams = [each.length_of("at") for each in _numbers(table, "seams", "at")]
    if len(seams) != len(work.seams):
        yield _off(panel, "seams", len(seams), len(work.seams), place)
    for number, (at, seam) in enumerate(zip(seams, work.seams, strict=False), 1):
        slack = _ROUNDED if kept == 1 else step
        yield from _differs(panel, f"seam {number}", at, seam.at, place, slack)
    cuts = [each.length_of("cut") for each in _numbers(table, "cuts", "cut")]
    pieces = [panel.pieces.get(strip.piece) for strip in work.strips]
    if cuts != [None if piece is None else piece.size[0] for piece in pieces]:
        yield _off(panel, "cuts", cuts, "other widths", place)
    allowances = {window.seam, ceil(window.seam / kept)}
    if table.length_or_none("seam_allowance", None) not in allowances:
        yield _off(panel, "seam allowance", table.value("seam_allowance", None), window.seam, place)
    yield from _differs(panel, "overlap", table.length_or_none("overlap", None), ordered.overlap, place)
    edges: tuple[SideEdge, ...] = ("left", "right")
    for edge in edges:
        hem, made = _hem(panel, edge), work.edge(edge)
        asked = 0 if made.finish == "selvage" else hem.allowance
        yield from _differs(panel, f"{edge}_hem", table.length_or_none(f"{edge}_hem", None), asked, place)


def _hem(panel: SewnPanel, edge: SideEdge) -> HemOrdered:
    said = panel.window.side_hem(panel.ordered, edge)
    return panel.window.usual_hem("outer_hem") if said.selvage else said


def _numbers(table: TableReader, key: str, name: str) -> Iterator[TableReader]:
    """A list of lengths as tables of one key each, so that each is read as a length."""
    listed = table.value(key)
    wrapped = [{name: each} for each in listed] if isinstance(listed, list | tuple) else listed
    yield from table.like({key: wrapped}).tables(key)


def _check_heading_table(panel: SewnPanel, table: TableReader) -> Iterator[Violation]:
    """Marks along the heading are where they were sewn, numbered on, with the spaces between pleats."""
    work, place = panel.work, table.place
    if table.text("window") != panel.window.name or table.text("side") != _side_of(panel.ordered.key):
        yield _off(panel, "heading of", table.text("side"), _side_of(panel.ordered.key), place)
    yield from _differs(panel, "heading, width", table.length_of("width"), work.width, place)
    spots = [
        (one.text("kind"), one.whole("number", 0), one.length_of("start"), one.length_of("end"))
        for one in table.tables("spots")
    ]
    sewn = _marks(work)
    if sewn is None or rules_of(panel.window) is None:
        return
    if [spot[:2] for spot in spots] != [mark[:2] for mark in sewn]:
        yield _off(panel, "marks", len(spots), len(sewn), place)
        return
    for spot, mark in zip(spots, sewn, strict=True):
        off = max(abs(spot[2] - mark[2]), abs(spot[3] - mark[3]))
        if off > _ROUNDED:
            yield _off(panel, f"{spot[0]} {spot[1]} at", spot[2], f"{float(mark[2]):.10g}", place, int(off))


def _marks(work: Work) -> list[tuple[str, int, Fraction, Fraction]] | None:
    """The marks of a sewn heading; None where it has none that a document names."""
    found = list[tuple[str, int, Fraction, Fraction]]()
    if work.pleats:
        for number, pleat in enumerate(work.pleats, 1):
            if number > 1:
                found.append(("space", number - 1, work.pleats[number - 2].end, pleat.start))
            found.append(("pleat", number, pleat.start, pleat.end))
        return found
    kinds = {one.kind for one in work.carriers}
    if len(kinds) != 1 or not kinds <= _MARKS.keys():
        return [] if kinds <= {"hook", "pocket"} else None
    kind = _MARKS[kinds.pop()]
    return [(kind, number, one.start, one.end) for number, one in enumerate(work.carriers, 1)]


def _check_pieces(top: TableReader, first: Mapping[tuple[str, str], SewnPanel]) -> Iterator[Violation]:
    """Finished sizes, hem lines and sides that pieces of panels state."""
    sewn = {strip.piece: one for one in first.values() for strip in one.work.strips}
    layers = {
        strip.piece: (one, layer)
        for one in first.values()
        for layer in one.work.layers
        for strip in layer.work.strips
    }
    rooms = {one.window.name: one.window.word("room", "") for one in first.values()}
    for entry in top.tables("pieces"):
        room = rooms.get(entry.text_or_none("window", None) or "")
        if room is not None and entry.text_or_none("room", None) != room:
            what = f'"{entry.text("id")}" in "{entry.value("room", None)}"'
            yield Violation(Breach.SEWING, what, f'"{room}" ordered', at=entry.place)
        panel, place = sewn.get(entry.text("id")), entry.place
        labeled = label_of(entry.text("id"))
        if room is not None and labeled and entry.text_or_none("side", None) != _side_of(labeled):
            what = f'"{entry.text("id")}" at the {entry.value("side", None)}'
            yield Violation(Breach.SEWING, what, _side_of(labeled), at=place)
        if entry.text_or_none("role", None) != "extra" and entry.flag("optional"):
            yield Violation(
                Breach.SEWING, f'"{entry.text("id")}" optional', "needed for its window", at=place
            )
        if panel is None or entry.text_or_none("role", None) != "panel":
            yield from _check_layer_piece(entry, layers.get(entry.text("id")))
            continue
        yield from _check_height(panel, entry)
        yield from _differs(
            panel, "finished_width", entry.length_or_none("finished_width", None), panel.work.width, place
        )
        hem = panel.window.hem("bottom_hem").allowance / percent_kept(panel.window.fabric, "length", "after")
        # Where a panel hung, what was cut before has hem lines of its own: see `document_hung`.
        if not panel.window.hung:
            yield from _differs(panel, "hem_line", entry.length_or_none("hem_line", None), hem, place)
        if entry.text_or_none("side", None) != _side_of(panel.ordered.key):
            yield _off(panel, "side", entry.value("side", None), _side_of(panel.ordered.key), place)


def _check_layer_piece(entry: TableReader, found: tuple[SewnPanel, LaidOn] | None) -> Iterator[Violation]:
    """Finished sizes that a piece of a lining, facing or interlining states."""
    if found is None or entry.text_or_none("role", None) == "band":
        return
    panel, layer = found
    step = panel.window.step
    # Of a tube the width is that of both its layers.
    tube = "seam" in (layer.work.edge("left").finish, layer.work.edge("right").finish)
    wide = panel.work.width if tube else layer.work.width
    for key, size in (("finished_width", wide), ("finished_length", layer.work.length)):
        said = entry.length_or_none(key, None)
        if said is not None:
            # Where a side is a selvage a lining is turned under, and an interlining kept clear of it.
            bare = sum(panel.work.edge(side).finish != "fold" for side in ("left", "right"))
            slack = step + 2 * bare * panel.window.seam
            yield from _differs(panel, f"{entry.text('id')}: {key}", said, size, entry.place, slack)
    if entry.text_or_none("role", None) == "lining" and not panel.window.hung:
        fabric = panel.window.fabrics[entry.text("fabric")]
        hem = panel.window.hem("lining_hem").allowance / percent_kept(fabric, "length", "after")
        yield from _differs(
            panel, "lining, hem_line", entry.length_or_none("hem_line", None), hem, entry.place
        )


def _check_lines(top: TableReader) -> Iterator[Violation]:
    """The line of a print, and the letter, that a cut is said to have are those of where it lies."""
    matches = {entry.text("id"): entry.table_or_none("match") for entry in top.tables("pieces")}
    for layout in top.tables("layouts"):
        repeat = layout.table_or_none("repeat")
        if repeat is None:
            continue
        length, across = repeat.size("length"), repeat.length_or_none("width", None)
        step = round_nearest(repeat.number("drop") * length) % length
        columns = {number * step % length for number in range(-40, 41)}
        for laid in layout.tables("placements"):
            match, line = matches.get(laid.text("piece")), laid.length_or_none("start_line", None)
            if match is None or laid.whole("turn") or line is None:
                continue
            above = (line - laid.length_of("y") + match.length_of("y")) % length
            if min(min((above - one) % length, (one - above) % length) for one in columns) > _ROUNDED:
                yield Violation(Breach.PHASE_ALONG, f"line at {line}", "its pattern", at=laid.place)
            if across is not None and step:
                column = (laid.length_of("x") - match.length_of("x")) // across
                if laid.value("letter", "") not in ("", _letter(column, Fraction(step, length))):
                    asked = _letter(column, Fraction(step, length))
                    what = f"letter {laid.value('letter', '')}"
                    yield Violation(Breach.PHASE_ACROSS, what, asked, at=laid.place)


def _letter(column: int, drop: Fraction) -> str:
    """The letter of a column: A where it is not stepped, then on by the parts of the drop."""
    part = drop.limit_denominator(26)
    return chr(ord("A") + column * part.numerator % part.denominator)


def _check_height(panel: SewnPanel, entry: TableReader) -> Iterator[Violation]:
    """Where in the pattern a width is said to begin: so far below the hem, the foot of a motif or the top."""
    match, fabric = entry.table_or_none("match"), panel.window.fabric
    level, motif = fabric.value("level", "hem"), fabric.table_or_none("motif")
    if match is None or panel.window.hung or level == "floor":
        return
    hem, foot = panel.window.hem("bottom_hem").allowance, 0
    if motif is not None:
        height = whole(motif, "height", 0)
        foot = height if motif.value("at", "hem") == "hem" else -height
    up = hem + foot + (panel.work.length if level == "top" else 0)
    asked = -up / percent_kept(fabric, "length", "after")
    slack = _ROUNDED if level == "hem" else panel.window.step
    yield from _differs(panel, "match.y", match.length_of("y"), asked, entry.place, slack)
