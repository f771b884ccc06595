"""Settles a checked order into a `Job`: lengths in ticks, defaults of job, fabric and bolt filled in."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, TypeVar

from nesting.files.checks import default_fabric, seam_of
from nesting.files.entries import simple_drop
from nesting.files.match_settle import settled_match
from nesting.files.order import BoltEntry, ExtraEntry, FabricEntry, LengthEntry
from nesting.files.window_order import JobEntry, TableEntry
from nesting.files.window_settle import settle_window, size
from nesting.headings import USUAL
from nesting.order.defaults import Defaults, defaults_for
from nesting.order.job import (
    Bolt,
    CuttingTable,
    Extra,
    Fabric,
    FabricFlaw,
    Job,
    LengthOnHand,
    Motif,
    Remark,
    Shrinkage,
    Tolerance,
)
from nesting.order.remeasure import measured_fabric
from nesting.repeat import Repeat
from nesting.units import Unit, format_length, grid, round_down, round_nearest

T = TypeVar("T")


def said(value: T | None) -> T:
    """A value that `checks` made sure of."""
    if value is None:
        raise ValueError("an entry was not checked before it was settled")
    return value


def settle_job(order: JobEntry, unit: Unit, untitled: str = "Drapes") -> Job:
    """The job of an order without faults.

    Parameters
    ----------
    order
        Passed by `nesting.files.checks.check_job`.
    unit
        The unit people measure it in.
    untitled
        What a job without a title is called.
    """
    remarks = list[Remark]()
    title, fabric = order.title or untitled, default_fabric(order)
    fabrics = tuple(
        _fabric(key, entry, seam_of(order, key, unit), unit, remarks) for key, entry in order.fabric.items()
    )
    windows = tuple(
        settle_window(entry, number, title, fabric, remarks) for number, entry in enumerate(order.window, 1)
    )
    _remark_on_defaults(order, fabric, remarks)
    squarings = [window.squaring for window in order.window if window.squaring is not None]
    return Job(
        title=title,
        units=unit,
        fabrics=fabrics,
        windows=windows,
        extras=tuple(_extra(entry, number, fabric) for number, entry in enumerate(order.extra, 1)),
        squaring=size(order.squaring if order.squaring is not None else max(squarings, default=None)),
        currency=order.currency or "",
        remarks=tuple(remarks),
        safety=order.safety,
        cutting=order.cutting or "free",  # type: ignore[arg-type]
        table=_table(order.table),
    )


def _table(entry: TableEntry | None) -> CuttingTable | None:
    """What it surely holds: rounded down to the tick."""
    if entry is None:
        return None
    return CuttingTable(
        round_down(said(entry.length), 1), None if entry.width is None else round_down(entry.width, 1)
    )


def _remark_on_defaults(order: JobEntry, fabric: str, remarks: list[Remark]) -> None:
    """A fabric left out is told where another could be meant: one that hangs behind no window's own."""
    behind = {key for window in order.window for key in (window.lining, window.interlining)}
    others = order.fabric.keys() - behind - {fabric}
    for number, window in enumerate(order.window, 1):
        name = window.name or f"Window {number}"
        if window.heading is None:
            remarks.append(Remark(f'window "{name}": no heading was given: {USUAL} is taken'))
        if window.fabric is None and (others or fabric in behind):
            remarks.append(Remark(f'window "{name}": no fabric was given: "{fabric}" is taken'))


def _fabric(key: str, entry: FabricEntry, seam: Fraction, unit: Unit, remarks: list[Remark]) -> Fabric:
    repeat, rounding = _repeat(key, entry, remarks)
    shrinkage = entry.shrinkage
    given: dict[str, Any] = {
        name: getattr(entry, name)
        for name in ("name", "nap", "arrow", "level", "hidden_nap", "weight", "one_lot", "hem_edge")
        if getattr(entry, name) is not None
    }
    if entry.motif is not None:
        given["level"] = entry.motif.at or "hem"
    if repeat is not None and entry.repeat is not None and entry.repeat.width is None:
        text = (
            f'fabric "{key}": no repeat width was given: measure it, '
            "and the match from seam line to seam line, on the fabric"
        )
        remarks.append(Remark(text, key))
    made = Fabric(
        key=key,
        bolts=tuple(_bolt(key, entry, number, seam, unit, remarks) for number in range(len(entry.bolt))),
        repeat=repeat,
        repeat_rounding=rounding,
        shrinkage=None
        if shrinkage is None
        else Shrinkage(
            shrinkage.length or Fraction(0),
            shrinkage.width or Fraction(0),
            shrinkage.washed or "after",  # type: ignore[arg-type]
        ),
        start=size(entry.start),
        safety=entry.safety,
        motif=_motif(entry),
        sideways_print=bool(entry.repeat and entry.repeat.sideways),
        drop_from=None if entry.repeat is None else entry.repeat.drop_from,  # type: ignore[arg-type]
        tolerance=_tolerance(entry),
        cutting_gap="auto" if isinstance(entry.cutting_gap, str) else size(entry.cutting_gap),
        **given,
    )
    measured = entry.measured_repeat
    if measured is None or measured.length is None:
        return made
    return measured_fabric(made, measured.length / (measured.over or 1))


def _motif(entry: FabricEntry) -> Motif | None:
    if entry.motif is None:
        return None
    return Motif(said(size(entry.motif.height)), entry.motif.at or "hem")  # type: ignore[arg-type]


def _tolerance(entry: FabricEntry) -> Tolerance | None:
    if entry.tolerance is None:
        return None
    given = entry.tolerance
    return Tolerance(size(given.repeat) or 0, size(given.bow) or 0, size(given.skew) or 0)


def _repeat(key: str, entry: FabricEntry, remarks: list[Remark]) -> tuple[Repeat | None, Fraction]:
    """The repeat in ticks, and what rounding it to a multiple of the drop's parts added."""
    if entry.repeat is None:
        return None, Fraction(0)
    written = entry.repeat.drop or Fraction(0)
    drop, width = said(simple_drop(written)), entry.repeat.width
    if drop != written:
        remarks.append(Remark(f'fabric "{key}": drop {float(written):g} is taken as {drop}', key))
    if drop and width is None:
        width = entry.bolt[0].match
    exact = said(entry.repeat.length)
    length = max(drop.denominator, round_nearest(exact, drop.denominator))
    return Repeat(length, size(width), drop), length - exact


def _bolt(
    key: str, fabric: FabricEntry, number: int, seam: Fraction, unit: Unit, remarks: list[Remark]
) -> Bolt:
    entry = fabric.bolt[number]
    usual, width = defaults_for(unit), said(entry.width)
    settled = settled_match(fabric, entry, seam, unit)
    name = f"{fabric.name or key}, bolt {format_length(width, unit)}"
    remarks += (Remark(f"{name}: {doubt}", key, number + 1) for doubt in settled.doubts)
    return Bolt(
        width=round_nearest(width),
        usable=_usable(entry, usual, unit),
        match=size(settled.match),
        match_said=entry.match is not None or settled.match is None,
        usable_said=entry.usable is not None,
        printed=settled.printed,
        price=entry.price,
        sold_by=max(1, round_nearest(entry.sold_by)) if entry.sold_by is not None else usual.sold_by,
        on_hand=tuple(_on_hand(item, number, unit) for number, item in enumerate(entry.on_hand, 1)),
        top_up=bool(entry.top_up),
        lot=entry.lot,
    )


def _usable(entry: BoltEntry, usual: Defaults, unit: Unit) -> int:
    exact = entry.usable if entry.usable is not None else said(entry.width) - 2 * usual.selvage
    return max(1, round_down(exact, grid(unit)))


def _on_hand(entry: LengthEntry, number: int, unit: Unit) -> LengthOnHand:
    return LengthOnHand(
        length=max(1, round_down(said(entry.length), 1)),
        name=entry.name or f"length {number}",
        usable=None if entry.usable is None else max(1, round_down(entry.usable, grid(unit))),
        lot=entry.lot,
        start=size(entry.start),
        repeat=size(entry.repeat),
        flaws=tuple(
            FabricFlaw(
                at=said(size(flaw.at)),
                length=max(1, said(size(flaw.length))),
                from_left=size(flaw.from_left) or 0,
                width=size(flaw.width),
            )
            for flaw in entry.flaws
        ),
    )


def _extra(entry: ExtraEntry, number: int, fabric: str) -> Extra:
    return Extra(
        name=entry.name or f"Extra {number}",
        fabric=entry.fabric or fabric,
        width=said(size(entry.width)),
        length=said(size(entry.length)),
        count=entry.count or 1,
        window=entry.window,
        room=entry.room,
        matched=bool(entry.matched),
        turnable=entry.turnable,
        optional=bool(entry.optional),
        priority=entry.priority or 1,
    )
