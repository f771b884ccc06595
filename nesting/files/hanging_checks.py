"""Contradictions in how a window hangs: from what, how high, and whether the rod passes what it must pass."""

from __future__ import annotations

from nesting.cutting.measures import RING_DROP, settle
from nesting.files.faults import Faults, Loc
from nesting.files.window_order import WindowEntry
from nesting.files.window_settle import settle_window
from nesting.headings import HEADINGS, USUAL, Heading
from nesting.headings.hanging import hanging_of, refusals
from nesting.order.job import Bolt, Fabric, Job, Window
from nesting.units import METER, Unit

_EYE = "the floor to the hole of the track that the hook enters, such as 95 1/4"
_TALL = 'finished_length, such as "95 1/2"'


def check_hanging(entry: WindowEntry, loc: Loc, faults: Faults, unit: Unit) -> None:
    """Add what is missing or contradictory of a window's heights, rings and rod to ``faults``."""
    _check_one_height(entry, loc, faults)
    height = entry.eye_height if entry.rod_height is None else entry.rod_height
    if height is not None and entry.clearance is not None and entry.clearance >= height:
        key = "eye_height" if entry.rod_height is None else "rod_height"
        faults.add((*loc, "clearance"), f"less than {key}: nothing would hang")
    _check_flat_rod(entry, loc, faults)
    ring = entry.ring
    if ring is not None and ring.inner is not None and ring.size is not None and ring.inner >= ring.size:
        faults.add((*loc, "ring", "inner"), "less than ring.size, the outer diameter of the same ring")
    if faults.knows((*loc, "heading")):
        return
    style = HEADINGS[entry.heading or USUAL]
    if entry.hangs_from is not None and entry.hangs_from not in style.hangs_from:
        words = " or ".join(f'"{way}"' for way in style.hangs_from)
        faults.add((*loc, "hangs_from"), f"{words}: that is what a {style.name} heading hangs from")
        return
    if not any(faults.knows((*loc, key)) for key in ("hangs_from", "rod_diameter")):
        _check_heights(entry, style, loc, faults)
    if not faults.within(loc):
        window = settle_window(entry, 1, "room", "face", [])
        for refusal in refusals(style, settle(_job(window, unit), window)):
            faults.add((*loc, *refusal.key), refusal.expected)


def _check_one_height(entry: WindowEntry, loc: Loc, faults: Faults) -> None:
    if entry.finished_length is not None:
        for key in ("rod_height", "eye_height"):
            if getattr(entry, key) is not None:
                faults.add((*loc, key), f"either finished_length or {key}, not both")
    elif entry.rod_height is not None and entry.eye_height is not None:
        faults.add((*loc, "eye_height"), "either rod_height or eye_height, not both")


def _check_flat_rod(entry: WindowEntry, loc: Loc, faults: Faults) -> None:
    """A flat rod is told by its height, and is no deeper than high."""
    if entry.rod_depth is None or faults.knows((*loc, "rod_diameter")):
        return
    if entry.rod_diameter is None:
        faults.add((*loc, "rod_diameter"), "the height of the flat rod, such as 1, beside its rod_depth")
    elif entry.rod_depth > entry.rod_diameter:
        faults.add((*loc, "rod_depth"), "no more than rod_diameter, the height of the flat rod")


def _check_heights(entry: WindowEntry, style: Heading, loc: Loc, faults: Faults) -> None:
    """The height given is that of what the window hangs from."""
    if any(faults.knows((*loc, key)) for key in ("finished_length", "rod_height", "eye_height")):
        return
    hangs = hanging_of(style, entry.hangs_from, entry.rod_diameter)  # type: ignore[arg-type]
    if hangs == "track" and entry.rod_height is not None:
        rings = 'or rod_diameter and ring_drop where it hangs from rings (hangs_from = "rings")'
        faults.add((*loc, "rod_height"), f"eye_height instead, {_EYE}; {rings}")
    elif hangs != "track" and entry.eye_height is not None:
        drop = " and ring_drop" if hangs == "rings" else ""
        track = '; or hangs_from = "track"' if "track" in style.hangs_from else ""
        faults.add((*loc, "eye_height"), f"rod_height{drop} instead: the floor to the top of the rod{track}")
    elif (entry.finished_length, entry.rod_height, entry.eye_height) == (None, None, None):
        other = f"eye_height, {_EYE}" if hangs == "track" else "rod_height, such as 96"
        faults.add((*loc, "finished_length"), f"{_TALL}, or {other}")
    elif hangs == "rings" and entry.rod_height is not None and entry.ring_drop is None and style.pleated:
        faults.add((*loc, "ring_drop"), RING_DROP)


def _job(window: Window, unit: Unit) -> Job:
    return Job("job", unit, (Fabric(window.fabric, (Bolt(METER, METER),)),), (window,))
