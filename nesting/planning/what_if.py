"""What if: the small changes that would save fabric, worked out by the engine and not by rule.

Each window is tried shorter and less full, and each fabric on a bolt wide enough to need no seams. The least
change is found by bisection: a piece cut smaller lies wherever the larger one lay, so what one change saves
a larger one saves too. Where a rule breaks that (a sliver that is cut wider, a level at the top edge) there
may be a smaller change than the one named, but it saves what it says: every line has a checked layout.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final, Generic, Literal, TypeVar

from nesting.cutting.cut import cut
from nesting.cutting.measures import settle
from nesting.errors import NestingError
from nesting.headings import Making
from nesting.headings.making import measure
from nesting.order.bolts import bolt_of_width
from nesting.order.job import Bolt, Job, Window
from nesting.packing import Status
from nesting.plan.plan import FabricLayout, Plan, WhatIf
from nesting.planning.effort import Effort
from nesting.planning.trial import Trials, Tried, attempt
from nesting.units import format_exact, format_length, format_quantity, grid, round_down, round_up

T = TypeVar("T")

#: Lengths and flat widths are tried in these steps.
STEP: Final = measure("1/8", "1/2")
#: No panel is made shorter than by this part, nor less full.
SHORTEST: Final = Fraction(1, 8)
LEAST_FULL: Final = Fraction(4, 5)
FULLNESS_STEP: Final = Fraction(1, 100)
MOST_LINES: Final = 5
#: Trials that a question takes: both ends, and halving a hundred candidates.
TRIALS_EACH: Final = 8


def what_if(plan: Plan, *, effort: Effort | None = None) -> tuple[WhatIf, ...]:
    """At most five changes that would save fabric, money or seams, the largest saving first.

    Parameters
    ----------
    plan
        With its order; fabrics laid on lengths on hand are passed over.
    effort
        How much to spend on all trials together; under a budget of ``work`` with one worker the same plan
        gives the same advice.

    Returns
    -------
    tuple of WhatIf
        For each window how much shorter or less full it would have to be to save a selling step, a repeat or
        a width of its fabric, and for each fabric which bolt needs no seams.
    """
    questions = list(_questions(plan))
    trials = Trials(effort or Effort(), max(1, sum(question.trials for question in questions)))
    found = list[WhatIf]()
    for question in questions:
        if trials.over:
            break
        found += question.ask(trials)
    return tuple(sorted(_best(found), key=_rank)[:MOST_LINES])


def _rank(one: WhatIf) -> tuple[Decimal | int, ...]:
    return (-(one.money or Decimal(0)), -one.length, one.kind != "wider bolt")


def _best(found: Sequence[WhatIf]) -> Iterator[WhatIf]:
    """One line for each change, the one that tells most: a repeat or a width rather than its fabric alone."""
    kept = dict[tuple[str, str | None, str, str], WhatIf]()
    for one in found:
        kept[(one.kind, one.window, one.fabric, one.now)] = one
    return iter(kept.values())


@dataclass(frozen=True, slots=True)
class _Change:
    """Something to try, and how many trials it may take."""

    trials: int
    ask: Callable[[Trials], list[WhatIf]]


def _questions(plan: Plan) -> Iterator[_Change]:
    """The largest fabrics first: there is most to save."""
    job = plan.job
    layouts = sorted(
        (one for one in plan.layouts if one.buy is not None and one.length and not one.bolt.on_hand),
        key=lambda one: -one.usable * (one.length or 0),
    )
    bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics} | {
        layout.fabric.key: layout.bolt for layout in plan.layouts
    }
    for layout in layouts:
        if _seams(plan, layout.fabric.key):
            yield _Change(2, _Seamless(plan, layout, bolts).ask)
    for layout in layouts:
        for window in job.windows:
            if layout.fabric.key in (window.fabric, window.lining, window.interlining):
                targets = 1 if layout.fabric.repeat is None else 2
                yield _Change(targets * TRIALS_EACH, _Shorter(plan, layout, bolts, window).ask)
                if window.fabric == layout.fabric.key:
                    yield _Change(TRIALS_EACH + 1, _LessFull(plan, layout, bolts, window).ask)


def _seams(plan: Plan, key: str) -> bool:
    return any(piece.role == "panel" and piece.fabric == key and piece.joined_to for piece in plan.pieces)


@dataclass(frozen=True, slots=True)
class _Least(Generic[T]):
    """The smallest change that is enough, its layout, and whether every smaller one is ruled out."""

    change: T
    layout: FabricLayout
    proven: bool


def _least(changes: Sequence[T], refuted: bool, enough: Callable[[T], Tried]) -> _Least[T] | None:
    """Bisection over changes from small to large; None where none is enough, or the budget ran out.

    ``refuted``: proven that no change at all is not enough.
    """
    if not changes:
        return None
    low, high = -1, len(changes) - 1
    layout = enough(changes[high]).layout
    if layout is None:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        outcome = enough(changes[middle])
        if outcome.skipped:
            return None
        if outcome.layout is None:
            low, refuted = middle, outcome.refuted
        else:
            high, layout = middle, outcome.layout
    return _Least(changes[high], layout, refuted)


@dataclass(frozen=True, slots=True)
class _Lever:
    """A window and a fabric of a plan, with the bolts all fabrics are cut from."""

    plan: Plan
    layout: FabricLayout
    bolts: Mapping[str, Bolt]
    window: Window

    @property
    def key(self) -> str:
        """The fabric."""
        return self.layout.fabric.key

    def attempt(self, trials: Trials, window: Window, total: int, length: int) -> Tried:
        """The fabric with the window changed."""
        return attempt(trials, self.job_with(window), self.key, self.bolts, total=total, length=length)

    def job_with(self, window: Window) -> Job:
        """The job with the window changed."""
        job = self.plan.job
        return replace(job, windows=tuple(window if old is self.window else old for old in job.windows))

    def making(self) -> Making:
        """The window with every default filled in."""
        return settle(self.plan.job, self.window)

    def bought(self) -> tuple[int, int, int]:
        """Purchase, selling step and layout."""
        buy = self.layout.buy
        assert buy is not None
        assert self.layout.length is not None
        return buy.total, buy.step, self.layout.length

    def line(
        self,
        kind: Literal["shorter", "less full"],
        least: _Least[T],
        was: str,
        now: str,
        saves: str,
        how: str,
    ) -> WhatIf:
        """What the change saves, in figures and words."""
        length, money, fabric = _saved(self.plan, self.layout, least.layout)
        also = f"{saves}: " if saves else ""
        doubt = "a smaller change may be enough"
        if self.layout.status is not Status.OPTIMAL:
            doubt = f"this plan is not proven shortest; {doubt}"
        sure = "" if least.proven else f" ({doubt})"
        text = f"{self.window.name} {how} saves {also}{fabric}{sure}"
        return WhatIf(
            kind, self.window.name, self.key, was, now, saves or fabric, length, money, least.proven, text
        )


class _Shorter(_Lever):
    """How much shorter a window would have to be."""

    def ask(self, trials: Trials) -> list[WhatIf]:
        """To save a selling step, and on prints a whole repeat."""
        total, step, length = self.bought()
        repeat = self.layout.fabric.repeat
        found = [self._line(trials, total - step, length, "")]
        if repeat is not None:
            found.append(self._line(trials, total - step, length - repeat.length, "one repeat"))
        return [one for one in found if one is not None]

    def _line(self, trials: Trials, total: int, length: int, saves: str) -> WhatIf | None:
        unit, finished = self.plan.job.units, self.making().finished.total
        step = STEP.of(unit)
        # Onto the tape, so that the length that is named is the one that was tried.
        first = step + (finished - step) % grid(unit)
        changes = range(first, int(finished * SHORTEST) + 1, step)
        least = _least(
            changes,
            self.layout.status is Status.OPTIMAL,
            lambda off: self.attempt(
                trials, replace(self.window, finished_length=finished - off), total, length
            ),
        )
        if least is None:
            return None
        was, now = format_exact(finished, unit), format_length(finished - least.change, unit)
        how = f"{format_exact(least.change, unit)} shorter, finished {now}, "
        return self.line("shorter", least, was, now, saves, how.rstrip())


class _LessFull(_Lever):
    """How much less full a window would have to be."""

    def ask(self, trials: Trials) -> list[WhatIf]:
        """To save a selling step, and a width in each panel."""
        total, step, length = self.bought()
        windows = list(self._windows())
        optimal = self.layout.status is Status.OPTIMAL
        found = list[WhatIf]()
        least = _least(windows, optimal, lambda window: self.attempt(trials, window, total - step, length))
        if least is not None:
            found.append(self._line(least, ""))
        fewer = next((window for window in windows if self._widths(window) < self._widths(self.window)), None)
        if fewer is not None:
            layout = self.attempt(trials, fewer, total - step, length).layout
            if layout is not None:
                # The widths are counted, so the next fuller window needs them all: nothing to prove.
                found.append(self._line(_Least(fewer, layout, True), "one width"))
        return found

    def _windows(self) -> Iterator[Window]:
        """The window less and less full, or its panels narrower and narrower."""
        unit, window = self.plan.job.units, self.window
        if window.flat_width is not None:
            step = STEP.of(unit)
            first = round_down(window.flat_width - step, grid(unit))
            for flat in range(first, int(window.flat_width * LEAST_FULL) - 1, -step):
                yield replace(window, flat_width=flat)
            return
        asked = self.making().fullness
        # In whole hundredths, so that the fullness that is named is the one that was tried.
        most = math.ceil(asked / FULLNESS_STEP) - 1
        least = math.ceil(max(Fraction(1), asked * LEAST_FULL) / FULLNESS_STEP)
        for number in range(most, least - 1, -1):
            yield replace(window, fullness=number * FULLNESS_STEP)

    def _widths(self, window: Window) -> int:
        """Widths of fabric in all its panels; none where they cannot be cut."""
        try:
            cutting = cut(self.job_with(window), self.bolts)
        except NestingError:
            return 10**9
        return sum(len(panel.cuts) for panel in cutting.panels if panel.window == window.name)

    def _line(self, least: _Least[Window], saves: str) -> WhatIf:
        unit, window = self.plan.job.units, least.change
        if window.flat_width is not None and self.window.flat_width is not None:
            was, now = (format_length(w.flat_width or 0, unit) for w in (self.window, window))
            how = f"{now} wide lying flat instead of {was}"
        else:
            was, now = (f"{float(f):.4g}" for f in (self.making().fullness, window.fullness or 0))
            how = f"with a fullness of {now} instead of {was}"
        return self.line("less full", least, was, now, saves, how)


@dataclass(frozen=True, slots=True)
class _Seamless:
    """Which bolt would need no seams in the panels of a fabric."""

    plan: Plan
    layout: FabricLayout
    bolts: Mapping[str, Bolt]

    def ask(self, trials: Trials) -> list[WhatIf]:
        """The cheapest bolt on offer that needs none, else the narrowest that would do."""
        fabric = self.plan.job.fabric(self.layout.fabric.key)
        offered = [self._line(trials, bolt, "on offer") for bolt in fabric.bolts]
        found = [one for one in offered if one is not None]
        if not found:
            made = self._line(trials, self._narrowest(), "not on offer here")
            found = [] if made is None else [made]
        return sorted(found, key=_rank)[:1]

    def _seamless(self, bolt: Bolt) -> tuple[Job, str] | None:
        """The job as it needs no seams on this bolt, upright or sideways, and how; None where it does."""
        key, job = self.layout.fabric.key, self.plan.job
        bolts = {**self.bolts, key: bolt}
        turned = tuple(replace(w, railroad="yes") if w.fabric == key else w for w in job.windows)
        for way, how in ((job, ""), (replace(job, windows=turned), ", cut sideways")):
            try:
                cutting = cut(way, bolts)
            except NestingError:
                continue
            if not any(p.joined_to for p in cutting.pieces if p.role == "panel" and p.fabric == key):
                return way, how
        return None

    def _narrowest(self) -> Bolt:
        """The narrowest bolt, in whole inches or centimeters, that needs none; else the widest tried."""
        job, unit = self.plan.job, self.plan.job.units
        fabric = job.fabric(self.layout.fabric.key)
        step = grid(unit) * (16 if unit == "in" else 10)
        first = round_up(self.layout.bolt.width + 1, step)
        low, high = 0, 7 * first // step
        while low < high:
            middle = (low + high) // 2
            if self._seamless(bolt_of_width(job, fabric, first + middle * step)) is None:
                low = middle + 1
            else:
                high = middle
        return bolt_of_width(job, fabric, first + low * step)

    def _line(self, trials: Trials, bolt: Bolt, where: str) -> WhatIf | None:
        """What the fabric takes on a bolt that needs no seams; None where it needs some."""
        key, unit, way = self.layout.fabric.key, self.plan.job.units, self._seamless(bolt)
        if way is None:
            return None
        job, how = way
        longest = 4 * (self.layout.length or 0)
        tried = attempt(trials, job, key, {**self.bolts, key: bolt}, total=None, length=longest).layout
        if tried is None or tried.buy is None or _joined(tried):
            return None
        length, money, _ = _saved(self.plan, self.layout, tried)
        was, now = format_length(self.layout.bolt.width, unit), format_length(bolt.width, unit)
        quantity = format_quantity(tried.buy.total, tried.buy.unit)
        title = self.layout.fabric.title
        text = f"{title} from a bolt {now} wide ({where}) needs no seams in its panels{how}: {quantity}"
        if length:
            text += f", {format_quantity(abs(length), tried.buy.unit)} {'less' if length > 0 else 'more'}"
        if money:
            text += f", for {self.plan.job.currency}{abs(money):.2f} {'less' if money > 0 else 'more'}"
        return WhatIf("wider bolt", None, key, was, now, "the seams", length, money, False, text)


def _joined(layout: FabricLayout) -> bool:
    return any(laid.piece.joined_to for laid in layout.placements if laid.piece.role == "panel")


def _saved(plan: Plan, before: FabricLayout, after: FabricLayout) -> tuple[int, Decimal | None, str]:
    """Fabric and money that one layout takes less than another, and both in words."""
    old, new = before.buy, after.buy
    assert old is not None
    assert new is not None
    length = old.total - new.total
    money = None if old.cost is None or new.cost is None else old.cost - new.cost
    words = f"{format_quantity(abs(length), old.unit)} of {before.fabric.title}"
    if money is not None:
        words += f", {plan.job.currency}{abs(money):.2f}"
    return length, money, words
