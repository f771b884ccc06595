"""Other fullnesses that a maker is offered: one width less, and what the same widths would bear.

Every number is tried before it is offered: the window is made up once more as ordered with it, so what is
typed back into the job gives what was promised. Offers are rounded down to hundredths (a flat width to the
tape), and never reach beyond what the heading and the weight of the fabric bear.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from typing import Final, Literal

from nesting.cutting.fullness import HUNDREDTH, USUAL, WORTH_TELLING, fullness_of, times
from nesting.cutting.made_window import NO_PLANS, MadeWindow, Plans, WindowsOnTable, is_plain, plain_window
from nesting.cutting.measures import Hanging, needed_width
from nesting.cutting.panels import Joined
from nesting.cutting.table import FabricsOnTable
from nesting.errors import NestingError
from nesting.headings import FinishedPanel, Heading, Making
from nesting.order.job import Bolt, Fabric, Job, Window
from nesting.pieces.once import once
from nesting.pieces.piece import Advice
from nesting.pieces.seams import Width, total_width
from nesting.pieces.washing import wider
from nesting.units import format_exact, round_down

Panels = tuple[tuple[Hanging, FinishedPanel, Joined], ...]
"""The panels of one window with the widths of their faces."""

#: The part of what was asked that one width less must keep.
BEARABLE: Final = Fraction(4, 5)


@dataclass(frozen=True, slots=True)
class Offer:
    """Another fullness for a window, made up but not laid.

    Attributes
    ----------
    kind
        One width ``less``, or the same widths ``fuller``.
    change
        The window as it would be ordered.
    fabric
        Key of its fabric.
    head, tail
        What changes, in words; the amounts come between them.
    typed
        The key that changes, and what is typed there.
    """

    kind: Literal["less", "fuller"]
    change: Window
    fabric: str
    head: str
    tail: str
    typed: tuple[str, str]

    @property
    def advice(self) -> Advice:
        """As long as it is not laid."""
        said = self.told("")
        if self.kind == "fuller":
            said += " if nothing else is cut beside them"
        return Advice("offer", said, self.change.name, self.fabric, change=self.typed)

    def told(self, amounts: str) -> str:
        """In words, with what it takes and what is planned takes."""
        if self.kind == "fuller":
            return f"{self.head} give {self.tail}"
        return f"{self.head}: {amounts}, {self.tail}" if amounts else f"{self.head}: {self.tail}"


def fullness_offers(
    job: Job,
    bolts: Mapping[str, Bolt],
    railroaded: Collection[tuple[str, str]] = (),
    plans: Plans = NO_PLANS,
) -> Iterator[Offer]:
    """What each window may be offered of another fullness, made up once as it would be ordered.

    Parameters are those of `cut`.
    """
    bench = WindowsOnTable.of(job, bolts, railroaded)
    for number, window in enumerate(job.windows):
        if is_plain(plans, window):
            yield from _plain_offers(bench.alone, window, bench.slugs[number])
        else:
            yield from _offers(bench.alone, partial(bench.make, number, plans))


@once
def _plain_offers(table: FabricsOnTable, window: Window, slug: str) -> tuple[Offer, ...]:
    return tuple(_offers(table, lambda other: plain_window(table, other or window, slug)))


def _offers(table: FabricsOnTable, make: Callable[[Window | None], MadeWindow]) -> Iterator[Offer]:
    """What a window may be offered; ``make`` makes up the one that was ordered, or another in its place."""
    made = make(None)

    def remake(changed: Window) -> Panels:
        try:
            return make(changed).panels
        except NestingError:
            return ()

    yield from Offered(
        made.making, made.style, table.fabrics[made.window.fabric], made.panels, remake
    ).offers()


@dataclass(frozen=True, slots=True)
class Offered:
    """A window of a job at the cutting table, to be made up again with another fullness."""

    making: Making
    style: Heading
    fabric: Fabric
    panels: Panels
    remake: Callable[[Window], Panels]
    """The panels of the window as it would be ordered; none where it cannot be made up."""

    @property
    def window(self) -> Window:
        """As it was ordered."""
        return self.making.window

    def offers(self) -> Iterator[Offer]:
        """One width less, and the fullness that the same widths would bear."""
        if any(widths.run for _, _, widths in self.panels):
            return
        yield from self._one_less()
        yield from self._fuller()

    def _one_less(self) -> Iterator[Offer]:
        """The fullest panels that take fewer widths, where they keep most of what was asked."""
        now = _count(self.panels)
        if now == len(self.panels):
            return
        flat, step = self.window.flat_width, self.making.grid
        if flat is not None:
            steps = range(math.ceil(flat * BEARABLE / step), math.ceil(Fraction(flat, step)))
            tries: Sequence[Window] = _Flat(self.window, steps, step)
        else:
            asked = self.making.fullness
            least = math.ceil(max(Fraction(1), asked * BEARABLE) / HUNDREDTH)
            tries = _Full(self.window, range(least, math.ceil(asked / HUNDREDTH)))
        widths = self.panels[0][2]
        one_less = total_width(
            (Width(widths.fabric.full, "full"),) * (len(widths.widths) - 1), widths.fabric.seam
        )
        found = self._last(tries, self._near(tries, one_less), lambda panels: _count(panels) < now)
        if found is None:
            return
        window, panels = found
        was, less = self._told(self.window, self.panels), self._told(window, panels)
        head = f"{_widths(panels)} instead of {_widths(self.panels)}{_each(panels)}"
        yield Offer("less", window, self.fabric.key, head, f"{less} instead of {was}", self._typed(window))

    def _fuller(self) -> Iterator[Offer]:
        """The fullest that the same widths would give, as far as no other piece is cut beside them."""
        window, asked = self.window, self.making.fullness
        moves = self.panels[0][0].leading is not None
        if window.flat_width is not None or window.widths != "exact" or not moves:
            return
        first, most = math.floor((asked + WORTH_TELLING) / HUNDREDTH), self._fullest()
        tries = _Full(window, range(max(first, 100), math.floor(most / HUNDREDTH) + 1))
        now = _shape(self.panels)
        found = self._last(tries, self._near(tries, _room(self.panels)), lambda panels: _shape(panels) == now)
        if found is None or found[0].fullness is None or found[0].fullness - asked < WORTH_TELLING:
            return
        tail = f"fullness {times(found[0].fullness)} instead of {times(asked)} at no extra cost"
        yield Offer("fuller", found[0], self.fabric.key, "the same widths", tail, self._typed(found[0]))

    def _fullest(self) -> Fraction:
        """What the heading bears, and what is usual for the weight of the fabric."""
        usual = USUAL[self.fabric.weight][1] if self.fabric.weight else self.style.fullest
        return min(self.style.fullest, usual)

    def _last(
        self, tries: Sequence[Window], near: int, suits: Callable[[Panels], bool]
    ) -> tuple[Window, Panels] | None:
        """The last of the windows, each fuller than the one before, that suits; every one named was tried.

        It is looked for at ``near`` first and beside it, then by halves. Widths grow with fullness, but for
        slivers that are widened: then a smaller one than the last may be named, never one that does not suit.
        """
        found: tuple[Window, Panels] | None = None
        low, high, beside = 0, len(tries), 2
        while low < high:
            middle = near if beside and low <= near < high else (low + high) // 2
            beside = max(0, beside - 1)
            panels = self.remake(tries[middle])
            if panels and suits(panels):
                found, low, near = (tries[middle], panels), middle + 1, middle + 1
            else:
                high, near = middle, middle - 1
        return found

    def _near(self, tries: Sequence[Window], room: int) -> int:
        """About the last of the windows whose first panel needs no more than ``room``: needs grow evenly."""
        if not tries:
            return 0
        last, (least, most) = len(tries) - 1, (self._need(tries[at]) for at in (0, -1))
        about = math.floor((room - least) * last / (most - least)) if most > least else 0
        return min(max(0, about), last)

    def _need(self, window: Window) -> Fraction:
        """The cut width of its first panel, not yet rounded."""
        fullness = window.fullness or self.making.fullness
        making = replace(self.making, window=window, fullness=fullness)
        return wider(needed_width(making, self.panels[0][0]), self.fabric).exact

    def _typed(self, window: Window) -> tuple[str, str]:
        """What is typed to have the window as it is offered."""
        if window.flat_width is not None:
            return "flat_width", format_exact(window.flat_width, self.making.unit)
        return "fullness", times(window.fullness or self.making.fullness)

    def _told(self, window: Window, panels: Panels) -> str:
        """The fullness, or the flat width, in words; as it is to be typed where it is offered."""
        if window.flat_width is not None:
            return f"{self.making.say(window.flat_width)} wide lying flat"
        if window is not self.window and window.fullness is not None:
            return f"fullness {times(window.fullness)}"
        hanging, panel, _ = panels[0]
        return times(fullness_of(self.making, hanging, panel.flat))


class _Full(Sequence[Window]):
    """The window at so many hundredths of fullness, ascending."""

    def __init__(self, window: Window, hundredths: range) -> None:
        self._window, self._hundredths = window, hundredths

    def __len__(self) -> int:
        return len(self._hundredths)

    def __getitem__(self, at: int) -> Window:  # type: ignore[override]
        return replace(self._window, fullness=self._hundredths[at] * HUNDREDTH)


class _Flat(Sequence[Window]):
    """The window with panels so many steps of the tape wide, ascending."""

    def __init__(self, window: Window, steps: range, step: int) -> None:
        self._window, self._steps, self._step = window, steps, step

    def __len__(self) -> int:
        return len(self._steps)

    def __getitem__(self, at: int) -> Window:  # type: ignore[override]
        return replace(self._window, flat_width=self._steps[at] * self._step)


def _count(panels: Panels) -> int:
    return sum(len(widths.widths) for _, _, widths in panels)


def _widths(panels: Panels) -> str:
    counts = {len(widths.widths) for _, _, widths in panels}
    number = counts.pop() if len(counts) == 1 else _count(panels)
    return "1 width" if number == 1 else f"{number} widths"


def _each(panels: Panels) -> str:
    """Whether the number of widths is that of each panel."""
    if len(panels) == 1:
        return ""
    return " in each panel" if len({len(widths.widths) for _, _, widths in panels}) == 1 else " in all"


def _room(panels: Panels) -> int:
    """About the most that the first panel may need for the shape to stay."""
    widths, counts, rows, _ = panels[0][2], *_shape(panels)
    narrowest = max(min(width.cut for width in joined.widths) for _, _, joined in panels)
    limit = widths.fabric.alone if set(counts) == {1} else widths.fabric.full
    beside = -(-len(panels) // rows)
    return widths.need.total + max(0, round_down(limit, 1) // beside - narrowest)


def _shape(panels: Panels) -> tuple[tuple[int, ...], int, int]:
    """Widths of each panel, and the rows that the narrowest ones of all panels take beside each other."""
    fabric = panels[0][2].fabric
    counts = tuple(len(widths.widths) for _, _, widths in panels)
    sizes = [min(width.cut for width in widths.widths) for _, _, widths in panels]
    limit = fabric.alone if set(counts) == {1} else fabric.full
    beside = max(1, round_down(limit, 1) // max(sizes))
    return counts, -(-len(sizes) // beside), max(0, max(sizes) - limit)
