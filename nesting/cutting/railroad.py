"""How pieces may lie on their fabric: nap, and whether panels may be cut turned sideways."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from nesting.cutting.layers import needed_interlining_length, needed_lining_length
from nesting.cutting.measures import needed_length, settle
from nesting.order.job import Bolt, Fabric, Job, Nap, Window
from nesting.pieces.washing import longer, washed
from nesting.units import format_length, grid, round_down, round_up

#: What else helps panels that cannot be turned.
_ANOTHER: Final = "or a bolt or fabric on which they can be turned"


@dataclass(frozen=True, slots=True)
class Lie:
    """How a piece may lie: see the attributes of the same names of `nesting.pieces.piece.Piece`."""

    turnable: bool
    arrow_group: str | None
    nap: Nap


def lie(fabric: Fabric, group: str, *, hidden: bool, alone: bool, group_turns: bool) -> Lie:
    """How a piece may lie on a fabric.

    Parameters
    ----------
    fabric
        Its nap decides.
    group
        The arrow group of the fabric in the room.
    hidden
        Facings and hidden tabs, which ``hidden_nap = "free"`` releases.
    alone
        Hidden pieces and extras turn one by one where there is no nap.
    group_turns
        Whether the group as a whole may be cut sideways.
    """
    if hidden and fabric.hidden_nap == "free":
        return Lie(True, None, "none")
    if fabric.nap == "one-way":
        return Lie(False, group, "one-way")
    if fabric.nap == "none" and alone:
        return Lie(True, None, "none")
    return Lie(group_turns, group, fabric.nap)


def can_railroad(job: Job, fabric_key: str, room: str, bolt: Bolt) -> tuple[bool, str]:
    """Whether the panels of a fabric in a room may be cut turned sideways, and if not, why.

    Parameters
    ----------
    job, fabric_key, room
        The panels in question.
    bolt
        As it is bought; washing before cutting is taken off here.

    Returns
    -------
    tuple of bool and str
        The reason is empty where it is allowed.
    """
    if not any(fabric_key in (w.fabric, w.lining, w.interlining) for w in job.windows_in(room)):
        return False, "no panel of this room is cut from it"
    reason = hindrance(job, fabric_key, room, bolt)
    return not reason, reason


def must_railroad(job: Job, fabric_key: str, room: str) -> bool:
    """Whether a window of the room wants its panels cut turned sideways, or its hem on the selvage."""
    return any(
        window.fabric == fabric_key and (window.railroad == "yes" or on_selvage(window))
        for window in job.windows_in(room)
    )


def cannot_turn(job: Job, fabric_key: str, room: str, reason: str) -> str:
    """Why panels that were ordered turned cannot be, with the lines of the order that ask for it."""
    lines = [f'fabric "{fabric_key}" in "{room}" cannot be railroaded: {reason}']
    for window in job.windows_in(room):
        said = f'  - window "{window.name}":'
        if window.fabric == fabric_key and on_selvage(window):
            hem = "{ turn = 4, turns = 2 }" if job.units == "in" else "{ turn = 10, turns = 2 }"
            lines.append(f'{said} bottom_hem = "selvage": expected a hem such as {hem}, {_ANOTHER}')
        elif window.fabric == fabric_key and window.railroad == "yes":
            lines.append(f'{said} railroad = "yes": expected "auto" or "no", {_ANOTHER}')
    return "\n".join(lines)


def on_selvage(window: Window) -> bool:
    """Whether the fabric's own edge is the bottom hem."""
    return window.bottom_hem is not None and window.bottom_hem.selvage


def forced_sideways(job: Job) -> frozenset[tuple[str, str]]:
    """Fabric and room of all panels that are ordered to be cut turned sideways."""
    panels = dict.fromkeys((window.fabric, window.room) for window in job.windows)
    return frozenset((fabric, room) for fabric, room in panels if must_railroad(job, fabric, room))


def hindrance(job: Job, fabric_key: str, room: str, bolt: Bolt) -> str:
    """What keeps the pieces of a fabric in a room from lying sideways; empty where nothing does."""
    fabric, table = washed(job.fabric(fabric_key), bolt)
    if fabric.nap == "one-way":
        return f"{fabric.title} has a one-way nap: every piece lies the same way up"
    if fabric.repeat is not None and not fabric.sideways_print:
        return f"{fabric.title} is a matched print: its pieces are never turned unless its pattern allows it"
    if fabric.repeat is not None and fabric.repeat.width is None:
        return f"{fabric.title} has no repeat width, by which panels cut sideways would hang level"
    usable = round_down(table.usable, grid(job.units))
    selvage = max(0, table.width - usable) // 2
    for each in job.windows_in(room):
        if fabric.repeat is not None and each.fabric == fabric_key and on_selvage(each):
            return (
                f'window "{each.name}" asks for its hem on the selvage, and {fabric.title} is a matched print'
            )
        if fabric.repeat is not None and each.fabric == fabric_key and each.pair == "continuous":
            return f'window "{each.name}" says pair = "continuous", which a print cut sideways cannot keep'
    ordered = must_railroad(job, fabric_key, room)
    for window, length, hemless in _drops(job, fabric_key, room):
        if window.railroad == "no":
            return f'window "{window.name}" says railroad = "no"'
        if not hemless and not ordered and _sides_on_selvage(window, fabric_key):
            return f'window "{window.name}" has a side that is the selvage: turned, it would be cut across'
        room_for = usable + selvage if hemless else usable
        if length > room_for:
            and_selvage = " and one selvage" if hemless and selvage else ""
            return (
                f'window "{window.name}": the cut length {format_length(length, job.units)} is more than '
                f"the usable width{and_selvage} {format_length(room_for, job.units)}"
            )
    return ""


def _sides_on_selvage(window: Window, fabric_key: str) -> bool:
    hems = (window.leading_hem, window.outer_hem)
    return window.fabric == fabric_key and any(hem is not None and hem.selvage for hem in hems)


def _drops(job: Job, fabric_key: str, room: str) -> Iterator[tuple[Window, int, bool]]:
    """``(window, cut length, hem on the selvage)`` of each layer of that fabric in the room."""
    fabric, step = job.fabric(fabric_key), grid(job.units)
    for window in job.windows_in(room):
        making = settle(job, window)
        face = needed_length(making)
        lengths = (
            (
                window.fabric,
                face.add("working", window.working) if window.working else face,
                on_selvage(window),
            ),
            (window.lining, needed_lining_length(making), False),
            (window.interlining, needed_interlining_length(making), False),
        )
        for key, steps, hemless in lengths:
            if key == fabric_key:
                yield window, round_up(longer(steps, fabric).exact, step), hemless
