"""Whether the rod passes and the hem clears the floor, judged from the order that a plan document carries.

Trade values are restated here, for nothing is taken from the code that makes the pieces; where a rule changes
there, it is changed here as well. A circle is taken a hair too small: nothing sound is called too tight.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import Any, Final

from nesting.check.document import PlanDocument, TableReader
from nesting.check.violation import Breach, Violation
from nesting.units import grid, to_ticks

#: Just below pi.
_CIRCLE: Final = Fraction(333, 106)
#: Where the top edge stands above the top of the rod, or the hook: inches and centimeters.
_ABOVE: Final = {"back-tab": ("0.75", "2"), "grommet": ("1", "2.5"), "rod-pocket": ("1", "2.5")}
#: Headings whose top edge is restated here; of others how high their hem hangs is not judged.
_RESTATED: Final = frozenset((*_ABOVE, "tab-top", "clip-ring", "pinch-pleat", "pencil-pleat"))
_ABOVE_HOOK: Final = ("0.5", "1")
_TAPE: Final = ("3", "7.5")
_GAP: Final = ("2", "5")
_CLIP: Final = ("1.75", "4.5")
_ROD: Final = ("1.375", "3.5")
_CLEARANCE: Final = ("0.5", "1.5")
#: Headings whose panel hangs in front of the rod and goes over a quarter of it.
_BEFORE_ROD: Final = ("back-tab", "rod-pocket")


@dataclass(frozen=True, slots=True)
class _Hung:
    """A window of the order; its lengths in ticks, those that the order leaves out None."""

    at: Mapping[str, Any]
    inch: bool

    def say(self, *keys: str) -> int | None:
        """What was ordered, in ticks."""
        value: Any = self.at
        for key in keys:
            value = value.get(key) if isinstance(value, Mapping) else None
        return value if isinstance(value, int) and not isinstance(value, bool) else None

    def usual(self, both: tuple[str, str]) -> int:
        """The trade's value in the measure of the job."""
        return to_ticks(float(both[0]), "in") if self.inch else to_ticks(float(both[1]), "cm")

    def either(self, both: tuple[str, str], *keys: str) -> int:
        """What was ordered, or else the trade's value."""
        said = self.say(*keys)
        return self.usual(both) if said is None else said

    @property
    def heading(self) -> str:
        """The heading."""
        return str(self.at.get("heading"))

    @property
    def rings(self) -> bool:
        """Whether it hangs from rings."""
        if self.heading in ("pinch-pleat", "pencil-pleat"):
            way = self.at.get("hangs_from")
            return way == "rings" if way else self.say("rod_diameter") is not None
        return self.heading == "clip-ring" or (
            self.heading not in _RESTATED and self.at.get("hangs_from") == "rings"
        )


def check_hanging(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with how the windows hang; a document need not carry its order."""
    order = document.get("order")
    windows = order.get("windows") if isinstance(order, Mapping) else None
    if not isinstance(windows, list | tuple):
        return
    top = TableReader(document, "", plan.units)
    pieces, panels = _by_window(top.tables("pieces")), _by_window(top.tables("panels", ()))
    for at, window in enumerate(windows):
        if isinstance(window, Mapping):
            hung, name = _Hung(window, plan.units == "in"), repr(window.get("name"))
            yield from _check_passes(hung, pieces.get(name, ()), f"order.windows[{at}]")
            yield from _check_taken(hung, pieces.get(name, ()), grid(plan.units))
            yield from _check_hem(hung, panels.get(name, ()), grid(plan.units))


def unjudged(document: Mapping[str, Any]) -> Iterator[str]:
    """A line for all that was not checked: drapes without sewing, headings of which nothing is restated."""
    order = document.get("order")
    windows = order.get("windows") if isinstance(order, Mapping) else None
    if "sewing" not in document or order is None:
        missing = "what was ordered" if order is None else "how they are sewn"
        yield f"not checked whether its pieces sew up as ordered, for the plan does not say {missing}"
    for window in windows if isinstance(windows, list | tuple) else ():
        heading = window.get("heading") if isinstance(window, Mapping) else None
        if isinstance(heading, str) and heading not in _RESTATED:
            yield (
                f"{window.get('name')}: not checked whether its hem clears the floor, for this check has no "
                f"figures of its own for a {heading} heading"
            )


def _by_window(entries: Iterable[TableReader]) -> dict[str, list[TableReader]]:
    """Entries by the window they name, as Python writes it: whatever a document holds there."""
    found = defaultdict[str, list[TableReader]](list)
    for entry in entries:
        found[repr(entry.value("window", None))].append(entry)
    return found


def _check_passes(hung: _Hung, pieces: Sequence[TableReader], place: str) -> Iterator[Violation]:
    """Tabs, pocket or rings are wide enough for the rod, where its thickness was ordered."""
    rod = hung.say("rod_diameter")
    if rod is None:
        return
    depth = hung.say("rod_depth")
    half = _CIRCLE * rod / 2 if depth is None else Fraction(rod + depth)
    # A flat rod reaches from corner to corner of a ring.
    across = rod if depth is None else isqrt(rod**2 + depth**2)
    found: list[tuple[str, int, Fraction]] = []
    loops = _finished(pieces)
    if hung.heading == "back-tab":
        found = [("tab", loop, half) for loop in loops]
    elif hung.heading == "tab-top":
        found = [("loop", loop, half + rod) for loop in loops]
    elif hung.heading == "rod-pocket":
        found = [("pocket", pocket, half) for pocket in _pockets(pieces)]
    elif hung.heading == "grommet" or hung.rings:
        inner = hung.say("ring", "inner")
        size = hung.say("ring", "size") if inner is None else inner
        found = [] if size is None else [("ring", size, Fraction(across + 1))]
    for what, size, least in found:
        if size < least:
            short = -((size - least) // 1)
            yield Violation(
                Breach.HANGING, f'"{hung.at.get("name")}": {what} {size}', f"rod {rod}", short, place
            )


def _check_taken(hung: _Hung, pieces: Sequence[TableReader], step: int) -> Iterator[Violation]:
    """The face is cut longer by what the rod takes up: as ordered, or by geometry up to a step of the tape.

    A panel before a round rod comes half the rod lower on a quarter of the way round; before a flat one it
    hangs straight.
    """
    if hung.heading not in _RESTATED:
        return
    least = most = Fraction(hung.say("take_up") or 0)
    if hung.heading not in _BEFORE_ROD:
        least = most = Fraction(0)
    elif hung.say("take_up") is None and hung.say("rod_depth") is None:
        rod = hung.either(_ROD, "rod_diameter")
        least = _CIRCLE * rod / 4 - Fraction(rod, 2)
        most = least + step
    for entry in pieces:
        if entry.value("role", None) == "panel":
            taken = sum(_terms(entry, "take-up over the rod"))
            off = max(least - taken, taken - most)
            if off > 1:
                what = f'"{hung.at.get("name")}": {taken} more for the rod'
                yield Violation(Breach.HANGING, what, f"{round(least)}", -(-off // 1), entry.place)


def _finished(pieces: Sequence[TableReader]) -> Iterator[int]:
    """The finished lengths of the tabs of a window."""
    for entry in pieces:
        if entry.value("role", None) == "tab":
            length = entry.length_or_none("finished_length", None)
            if length is not None:
                yield length


def _pockets(pieces: Sequence[TableReader]) -> Iterator[int]:
    """The pockets in the sums of a window's panels, in ticks as the sums have them."""
    for entry in pieces:
        if entry.value("role", None) == "panel":
            yield from _terms(entry, "pocket")


def _terms(entry: TableReader, label: str) -> Iterator[int]:
    """The terms of that label in the sum of a piece's length, in ticks as the sums have them."""
    sums = entry.value("steps", None)
    terms = sums.get("length", {}).get("terms", ()) if isinstance(sums, Mapping) else ()
    for term in terms:
        if isinstance(term, Mapping) and term.get("label") == label:
            yield int(Fraction(str(term.get("amount"))))


def _check_hem(hung: _Hung, panels: Sequence[TableReader], step: int) -> Iterator[Violation]:
    """The hem hangs as far above the floor as ordered, to a step of the tape and a tick of rounding."""
    if hung.say("finished_length") is not None:
        return
    edge = _top_edge(hung)
    if edge is None:
        return
    asked = hung.either(_CLEARANCE, "clearance")
    for entry in panels:
        clear = edge - entry.size("length")
        off = max(asked - clear, clear - asked - step)
        if off > 1:
            hem = f'"{hung.at.get("name")}": hem {int(clear)} above the floor'
            yield Violation(Breach.HANGING, hem, f"{asked}", -(-off // 1), entry.place)


def _top_edge(hung: _Hung) -> Fraction | None:
    """How high above the floor the top edge of a window's panels hangs."""
    rod, drop, name = hung.say("rod_height"), hung.say("ring_drop"), hung.heading
    if name not in _RESTATED:
        return None
    thick = hung.either(_ROD, "rod_diameter")
    if name in ("pinch-pleat", "pencil-pleat"):
        above, eye = hung.usual(_ABOVE_HOOK), hung.say("eye_height")
        if hung.rings:
            eye = None if rod is None or drop is None else rod - drop
        if name == "pencil-pleat":
            lower = max(above, hung.either(_TAPE, "tape") - above)
            rows = {"middle": (above + lower) // 2, "bottom": lower}
            above = rows.get(str(hung.at.get("hook_row")), above)
        return None if eye is None else Fraction(eye + above)
    if rod is None:
        return None
    if name == "clip-ring":
        return Fraction(rod - (thick + hung.usual(_CLIP) if drop is None else drop))
    if name == "tab-top":
        loop, gap = hung.say("tab", "length"), Fraction(hung.either(_GAP, "tab", "gap"))
        if loop is not None:
            depth = hung.say("rod_depth")
            half = _CIRCLE * thick / 2 if depth is None else Fraction(thick + depth)
            gap = (loop - half - thick) / 2
        return rod - thick - gap
    above = hung.usual(_ABOVE[name])
    deep = hung.say("heading_depth")
    return Fraction(rod + (deep if name == "rod-pocket" and deep is not None else above))
