"""Contradictions in a job: what each entry allows by itself, but not together with the others."""

from __future__ import annotations

import itertools
from fractions import Fraction

from nesting.files.entries import did_you_mean
from nesting.files.faults import Faults, Loc, tables
from nesting.files.hanging_checks import check_hanging
from nesting.files.match_settle import settled_match, typed_print, worked_out_match
from nesting.files.order import BoltEntry, FabricEntry, LengthEntry
from nesting.files.selvage_checks import check_selvage_hems
from nesting.files.window_order import JobEntry, WindowEntry
from nesting.names import slug
from nesting.order.defaults import defaults_for
from nesting.order.remeasure import far_from, near
from nesting.units import Unit, format_exact, format_length

_PANELS = {"pair": (2,), "left": (1,), "right": (1,), "fixed": (1, 2)}


def check_job(order: JobEntry, faults: Faults, unit: Unit) -> None:
    """Add every missing key, unknown reference and contradiction of the job to ``faults``."""
    _check_needed(order, faults)
    if not order.fabric and not faults.knows(("fabric",)):
        faults.add(("fabric",), "at least one fabric: [fabric.face] with [[fabric.face.bolt]] and its width")
    known = faults.knows(("window",)) or faults.knows(("windows",))
    if not order.window and not order.extra and not known:
        faults.add(("window",), "at least one [[window]] or [[extra]] to cut")
    for key, fabric in order.fabric.items():
        _check_fabric(order, key, fabric, faults, unit)
    for number, window in enumerate(order.window):
        _check_window(window, ("window", number), faults)
        check_hanging(window, ("window", number), faults, unit)
    _check_way(order, faults)
    _check_extras(order, faults)
    _check_references(order, faults)
    check_selvage_hems(order, faults, default_fabric(order))
    for kind in ("window", "extra"):
        _check_names(order, kind, faults)


def _check_way(order: JobEntry, faults: Faults) -> None:
    """Lengths on hand are laid around flaws and lots, which bands across know nothing of."""
    on_hand = [key for key, fabric in order.fabric.items() for bolt in fabric.bolt if bolt.on_hand]
    if order.cutting == "across-first" and on_hand:
        fabric = f'fabric "{on_hand[0]}"'
        faults.add(("cutting",), f'"free" where fabric is on hand: {fabric} has lengths with on_hand')


def default_fabric(order: JobEntry) -> str:
    """The fabric of whatever names none: ``face``, or else the first."""
    return "face" if "face" in order.fabric else next(iter(order.fabric), "")


def seam_of(order: JobEntry, key: str, unit: Unit) -> Fraction:
    """The widest seam allowance that any window of this fabric asks for."""
    usual, fallback = Fraction(defaults_for(unit).seam), default_fabric(order)
    said = [
        usual if window.seam is None else window.seam
        for window in order.window
        if (window.fabric or fallback) == key
    ]
    return max(said, default=usual)


def _check_needed(order: JobEntry, faults: Faults) -> None:
    for loc, table in tables(order):
        for key, expected in type(table).needed.items():
            if getattr(table, key) is None and not faults.knows((*loc, key)):
                faults.add((*loc, key), expected)


def _check_fabric(order: JobEntry, key: str, fabric: FabricEntry, faults: Faults, unit: Unit) -> None:
    loc: Loc = ("fabric", key)
    if not any(sign.isalnum() for sign in key):
        faults.add(loc, "a fabric with a name, such as [fabric.face]")
    if not fabric.bolt and not faults.knows((*loc, "bolt")):
        faults.add((*loc, "bolt"), f"at least one bolt: [[fabric.{key}.bolt]] with width = 54")
    if fabric.start is not None and fabric.repeat is None and not faults.knows((*loc, "repeat")):
        faults.add(
            (*loc, "start"), "a repeat to go with it, or no start: plain fabric has no pattern to start"
        )
    _check_print(fabric, loc, faults, unit)
    repeat = fabric.repeat
    if repeat and repeat.drop and repeat.width is None and not faults.knows((*loc, "repeat", "width")):
        matches = {bolt.match for bolt in fabric.bolt}
        if len(matches) != 1 or None in matches:
            faults.add((*loc, "repeat", "width"), "the repeat width, such as 27: a drop steps across")
    seam = seam_of(order, key, unit)
    for number, bolt in enumerate(fabric.bolt):
        _check_bolt(fabric, bolt, (*loc, "bolt", number), seam, faults, unit)
        _check_wide_seams(order, key, bolt, faults, unit)


def _check_wide_seams(order: JobEntry, key: str, bolt: BoltEntry, faults: Faults, unit: Unit) -> None:
    """Where a print is as wide as its bolt, its selvages must hold the seams of all panels cut from it."""
    most, loc = Fraction(defaults_for(unit).label_seam), ("fabric", key)
    found = None if bolt.match else worked_out_match(order.fabric[key], bolt, most, unit)
    if found is None or not found.printed or faults.within(loc):
        return
    fallback, wide = default_fabric(order), format_exact(bolt.width or 0, unit)
    for number, window in enumerate(order.window):
        if window.seam is not None and window.seam > most and (window.fabric or fallback) == key:
            faults.add(
                ("window", number, "seam"),
                f"at most {format_length(most, unit)}: the print fills its bolt, {wide} wide, and seams lie "
                "in the selvages beyond it; or say the usable width as measured",
            )


def _check_print(fabric: FabricEntry, loc: Loc, faults: Faults, unit: Unit) -> None:
    """What is said of a pattern must have one, and agree with it."""
    for key in ("measured_repeat", "motif", "tolerance", "cutting_gap"):
        if getattr(fabric, key) is not None and fabric.repeat is None and not faults.knows((*loc, "repeat")):
            faults.add((*loc, key), f"a repeat to go with it, or no {key}: this fabric is plain")
    measured, label = fabric.measured_repeat, fabric.repeat.length if fabric.repeat else None
    if measured is not None and measured.length is not None and label is not None:
        one = measured.length / (measured.over or 1)
        if far_from(label, one):
            faults.add((*loc, "measured_repeat"), near(format_length(label, unit)))
    motif = fabric.motif
    if motif is not None and fabric.level not in (None, motif.at or "hem"):
        faults.add((*loc, "level"), f'"{motif.at or "hem"}", from where the motif is measured, or no level')
    if fabric.cutting_gap == "auto" and fabric.tolerance is None:
        faults.add((*loc, "cutting_gap"), "a length, or a tolerance to work it out from")


def _check_bolt(
    fabric: FabricEntry, bolt: BoltEntry, loc: Loc, seam: Fraction, faults: Faults, unit: Unit
) -> None:
    width = bolt.width
    if width is None:
        return
    full = f"the width of the bolt, {format_length(width, unit)}"
    if bolt.usable is not None and bolt.usable > width:
        faults.add((*loc, "usable"), f"at most {full}")
    if bolt.usable is None and width <= 2 * defaults_for(unit).selvage:
        faults.add((*loc, "width"), "a bolt wider than its two selvages, such as 54; or say usable")
    spare = width - 2 * seam
    if bolt.match is not None and bolt.match > spare and not typed_print(fabric, bolt, seam, unit):
        faults.add((*loc, "match"), _too_wide(spare, seam, width, unit))
    across = None if fabric.repeat is None else fabric.repeat.width
    unfit = across is not None and worked_out_match(fabric, bolt, seam, unit) is None
    if bolt.match is None and unfit and not faults.knows((*loc, "match")):
        faults.add(
            (*loc, "match"),
            f"the width from seam line to seam line, at most {format_length(spare, unit)}: "
            "no whole repeat width lies between the seams of this bolt",
        )
    for number, length in enumerate(bolt.on_hand):
        widest = _widest(fabric, bolt, width, seam, unit)
        _check_on_hand(length, widest, (*loc, "on_hand", number), faults, unit)
        for key in ("start", "repeat"):
            if getattr(length, key) is not None and fabric.repeat is None:
                expected = f"a repeat of the fabric to go with it, or no {key}: this fabric is plain"
                faults.add((*loc, "on_hand", number, key), expected)
    _check_twice(
        [(item.name, (*loc, "on_hand", number, "name")) for number, item in enumerate(bolt.on_hand)], faults
    )


def _widest(fabric: FabricEntry, bolt: BoltEntry, width: Fraction, seam: Fraction, unit: Unit) -> Fraction:
    """How wide a length of the fabric may measure: as stated, or a print and the seams in its selvages."""
    settled = settled_match(fabric, bolt, seam, unit)
    return width if settled.match is None or not settled.printed else settled.match + 2 * seam


def _too_wide(spare: Fraction, seam: Fraction, width: Fraction, unit: Unit) -> str:
    """Why a match is refused, and the one case in which it may be as wide as the bolt."""
    near = format_length(defaults_for(unit).label_under, unit)
    return (
        f"at most {format_length(spare, unit)}: a full width is cut match + 2 seams of "
        f"{format_length(seam, unit)}, and this bolt is {format_length(width, unit)} wide; a print that "
        f"fills its bolt needs whole repeats across within {near} of that, and no usable width"
    )


def _check_on_hand(length: LengthEntry, width: Fraction, loc: Loc, faults: Faults, unit: Unit) -> None:
    if length.usable is not None and length.usable > width:
        faults.add((*loc, "usable"), f"at most the width of the bolt, {format_length(width, unit)}")
    spans = list[tuple[Fraction, Fraction, Fraction, Fraction, Loc]]()
    for number, flaw in enumerate(length.flaws):
        place: Loc = (*loc, "flaws", number)
        left = flaw.from_left or Fraction(0)
        right = width if flaw.width is None else left + flaw.width
        if left >= width or right > width:
            faults.add((*place, "from_left"), f"a flaw within the width of {format_length(width, unit)}")
        if flaw.at is None or flaw.length is None:
            continue
        end = flaw.at + flaw.length
        if length.length is not None and end > length.length:
            faults.add((*place, "at"), f"a flaw within the {format_length(length.length, unit)} on hand")
        spans.append((flaw.at, end, left, right, place))
    usable = width if length.usable is None else min(width, length.usable)
    _check_some_fabric(length, usable, spans, loc, faults)
    for one, two in itertools.combinations(spans, 2):
        if max(one[0], two[0]) < min(one[1], two[1]) and max(one[2], two[2]) < min(one[3], two[3]):
            faults.add(two[4], "flaws that do not overlap: write the two as one")


def _check_some_fabric(
    length: LengthEntry,
    width: Fraction,
    spans: list[tuple[Fraction, Fraction, Fraction, Fraction, Loc]],
    loc: Loc,
    faults: Faults,
) -> None:
    """A length that is flaws all over is no fabric; flaws that overlap are told of elsewhere."""
    spoiled = sum((end - at) * (min(right, width) - left) for at, end, left, right, _ in spans)
    if length.length is not None and spans and spoiled >= length.length * width:
        lot = f' of lot "{length.lot}"' if length.lot else ""
        faults.add(
            (*loc, "flaws"),
            f"some fabric{lot} between the flaws, or leave the length out: all of it is spoiled",
        )


def _check_window(window: WindowEntry, loc: Loc, faults: Faults) -> None:
    if window.flat_width is not None and window.fullness is not None:
        faults.add((*loc, "flat_width"), "either fullness or flat_width, not both")
    if window.interlining is not None and window.lining is None and not faults.knows((*loc, "lining")):
        faults.add((*loc, "interlining"), "a lining as well: interlining lies between face and lining")
    if window.widths in ("half", "whole"):
        for key, accepted in (("part_width", ("least",)), ("part_pieces", (1,))):
            if getattr(window, key) not in (None, *accepted) and not faults.knows((*loc, key)):
                faults.add((*loc, key), f'widths = "exact": {window.widths} widths leave nothing to choose')
    side = window.side_hem
    if (
        side is not None
        and (side.turn, side.leading, side.outer) == (None, None, None)
        and not faults.knows((*loc, "side_hem"))
    ):
        faults.add((*loc, "side_hem"), "a hem such as { turn = 1, turns = 2 }")
    _check_draw(window, loc, faults)


def _check_draw(window: WindowEntry, loc: Loc, faults: Faults) -> None:
    draw = window.draw or "pair"
    if faults.knows((*loc, "draw")):
        return
    if window.panels is not None and window.panels not in _PANELS[draw]:
        accepted = " or ".join(str(number) for number in _PANELS[draw])
        faults.add((*loc, "panels"), f'{accepted} where draw is "{draw}"; or another draw')
    panels = window.panels or _PANELS[draw][-1]
    if window.pair == "continuous" and panels == 1:
        faults.add((*loc, "pair"), 'a pair: "continuous" carries the pattern from one panel to the other')
    if draw != "fixed":
        if window.covers is not None:
            faults.add((*loc, "covers"), 'draw = "fixed" to go with it, or no covers')
        return
    if window.covers is None and window.flat_width is None and not faults.knows((*loc, "covers")):
        faults.add((*loc, "covers"), "the rod length that each fixed panel covers, such as 18; or flat_width")
    if window.covers is not None and window.rod is not None and window.covers * panels > window.rod:
        faults.add((*loc, "covers"), f"at most the rod shared by {panels}: panels would lie over each other")


def _check_extras(order: JobEntry, faults: Faults) -> None:
    for number, extra in enumerate(order.extra):
        fabric = order.fabric.get(extra.fabric or default_fabric(order))
        if not extra.matched:
            continue
        if extra.turnable:
            faults.add(("extra", number, "turnable"), "false: what matches the pattern is never turned")
        key = extra.fabric or default_fabric(order)
        if fabric is not None and fabric.repeat is None and not faults.knows(("fabric", key, "repeat")):
            faults.add(("extra", number, "matched"), "false: its fabric has no repeat to match")


def _check_references(order: JobEntry, faults: Faults) -> None:
    for loc, table in tables(order):
        if loc[:1] not in (("window",), ("extra",)):
            continue
        for key in ("fabric", "lining", "interlining"):
            named = getattr(table, key, None)
            if isinstance(named, str) and named not in order.fabric and not faults.knows(("fabric", named)):
                hint = did_you_mean(named, order.fabric)
                faults.add((*loc, key), f"a fabric of this job; {hint or 'there is none'}")
    titles = [window.name or f"Window {number}" for number, window in enumerate(order.window, 1)]
    for number, extra in enumerate(order.extra):
        if extra.window is not None and extra.window not in titles:
            hint = did_you_mean(extra.window, titles)
            faults.add(("extra", number, "window"), f"a window of this job; {hint or 'there is none'}")


def _check_names(order: JobEntry, kind: str, faults: Faults) -> None:
    named: list[tuple[str | None, Loc]] = [
        (table.name or f"{kind.title()} {number + 1}", (kind, number, "name"))
        for number, table in enumerate(getattr(order, kind))
    ]
    for name, loc in named:
        if name is not None and not any(sign.isalnum() for sign in name):
            faults.add(loc, "a name with a letter or a digit in it")
    _check_twice(named, faults)


def _check_twice(named: list[tuple[str | None, Loc]], faults: Faults) -> None:
    seen = dict[str, str]()
    for name, loc in named:
        if name is None:
            continue
        if slug(name) in seen:
            faults.add(loc, f'a name of its own: "{seen[slug(name)]}" is taken')
        seen.setdefault(slug(name), name)
