"""Settles one window of a checked order; what the heading decides stays None."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final

from nesting.files.order import TomlTable
from nesting.files.window_order import HemEntry, SideHemEntry, WindowEntry
from nesting.headings import HEADINGS, OWN_SIZES, USUAL
from nesting.headings.hanging import hanging_of
from nesting.order.job import (
    Band,
    FacingOrder,
    HangsFrom,
    Hem,
    PleatOrder,
    Remark,
    RingOrder,
    TabOrder,
    Tieback,
    Window,
)
from nesting.units import round_nearest

_WORDS: Final = (
    "fullness", "fullness_on", "draw", "panels", "lining", "interlining", "pair", "widths", "railroad",
    "hook_row", "lining_style", "hangs_from", "part_at", "part_width", "part_pieces", "priority",
)  # fmt: skip
_SIZES: Final = (
    "rod", "rod_diameter", "rod_depth", "finished_length", "rod_height", "ring_drop", "eye_height",
    "clearance", "flat_width", "covers", "returns",
    "overlap", "least_part_width", "seam", "working", "heading_depth", "pocket", "take_up", "tape",
    "lining_cover", "lining_gap",
)  # fmt: skip

#: Keys that only some headings look at, but for those that depend on what it hangs from.
OWN_KEYS: Final = tuple(
    dict.fromkeys(key for style in HEADINGS.values() for key in style.own_keys if key != "ring")
    | dict.fromkeys(OWN_SIZES)
)


def is_used(key: str, heading: str, hangs: HangsFrom) -> bool:
    """Whether a window of that heading, hung from that, has a use for a key."""
    style = HEADINGS[heading]
    own = (*style.own_keys, *(size.key for size in style.own_sizes))
    if key in ("ring", "ring_drop"):
        return hangs == "rings" or key in own
    return key not in OWN_KEYS or key in own


def _on(hangs: HangsFrom) -> str:
    return " on a track" if hangs == "track" else ""


def size(exact: Fraction | None) -> int | None:
    """A length to the nearest tick, or None."""
    return None if exact is None else round_nearest(exact)


def settle_window(entry: WindowEntry, number: int, room: str, fabric: str, remarks: list[Remark]) -> Window:
    """The window of an entry without faults.

    Parameters
    ----------
    entry
        Passed by `nesting.files.checks.check_job`.
    number
        From 1, names a window without a name.
    room, fabric
        What holds where the window names none.
    remarks
        Told of what is not used, or looks like a slip.
    """
    name, fabric = entry.name or f"Window {number}", entry.fabric or fabric
    side = entry.side_hem or SideHemEntry()
    window = Window(
        name=name,
        room=entry.room or room,
        heading=entry.heading or USUAL,
        fabric=fabric,
        count=entry.count or 1,
        bottom_hem=_hem(entry.bottom_hem),
        leading_hem=_hem(entry.leading_hem or side.leading or side),
        outer_hem=_hem(entry.outer_hem or side.outer or side),
        lining_hem=_hem(entry.lining_hem),
        tab=TabOrder(**_sub(entry.tab)),
        facing=FacingOrder(**_sub(entry.facing)),
        pleat=PleatOrder(**_sub(entry.pleat)),
        ring=RingOrder(**_sub(entry.ring)),
        bands=tuple(Band(**{"edge": "leading", "fabric": fabric} | _sub(band)) for band in entry.band),
        tiebacks=_tiebacks(entry, fabric),
        own=_own(entry),
        **_given(entry),
    )
    _remark(entry, window, remarks)
    return window


def _given(entry: WindowEntry) -> dict[str, Any]:
    """What was said of the window itself, lengths in ticks."""
    values = {key: getattr(entry, key) for key in _WORDS} | {key: size(getattr(entry, key)) for key in _SIZES}
    return {key: value for key, value in values.items() if value is not None}


def _own(entry: WindowEntry) -> tuple[tuple[str, int], ...]:
    """What was said under the keys that headings declare themselves."""
    said = ((key, size(getattr(entry, key))) for key in OWN_SIZES)
    return tuple((key, ticks) for key, ticks in said if ticks is not None)


def _sub(table: TomlTable | None) -> dict[str, Any]:
    """What was said in a table of the window, lengths in ticks."""
    values = {} if table is None else {key: getattr(table, key) for key in type(table).model_fields}
    return {
        key: round_nearest(value) if isinstance(value, Fraction) else value
        for key, value in values.items()
        if value is not None
    }


def _hem(entry: HemEntry | None) -> Hem | None:
    if entry is None or entry.turn is None:
        return None
    if entry.turns == 0:
        return Hem(0, 0, selvage=True)
    return Hem(round_nearest(entry.turn), 2 if entry.turns is None else entry.turns)


def _tiebacks(entry: WindowEntry, fabric: str) -> tuple[Tieback, ...]:
    panels = entry.panels or (1 if entry.draw in ("left", "right") else 2)
    usual: dict[str, Any] = {"count": panels, "fabric": fabric}
    return tuple(Tieback(**usual | _sub(tieback)) for tieback in entry.tieback)


def _remark(entry: WindowEntry, window: Window, remarks: list[Remark]) -> None:
    place = f'window "{window.name}"'
    hangs = hanging_of(HEADINGS[window.heading], window.hangs_from, window.rod_diameter)
    for key in (*OWN_KEYS, "ring", "ring_drop"):
        if getattr(entry, key) is not None and not is_used(key, window.heading, hangs):
            remarks.append(Remark(f"{place}: {key} is not used by a {window.heading} heading{_on(hangs)}"))
    if window.lining is None:
        for key in ("lining_hem", "lining_cover", "lining_gap", "lining_style"):
            if getattr(entry, key) is not None:
                remarks.append(Remark(f"{place}: {key} is not used without a lining"))
