"""What is at stake in each remark: offers of another fullness are planned, all stand in order of money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from nesting.cutting.cut import Cutting
from nesting.cutting.offers import Offer
from nesting.errors import NestingError
from nesting.order.job import Bolt, Job
from nesting.pieces.piece import Advice
from nesting.plan.plan import Buy, FabricLayout
from nesting.planning.effort import Effort, Spending
from nesting.planning.laying import layout_of
from nesting.planning.ways import best_of, cases_of
from nesting.units import format_quantity

#: The share of the whole search that is kept to plan offers, where a fabric takes one.
SHARE: Final = 0.15
#: No more seconds, or units of work, for one fabric of one offer; and no less.
MOST: Final = 1.0
LEAST: Final = 0.05
#: So many offers are planned, those of the largest panels first; the others are given without amounts.
MOST_PLANNED: Final = 8
#: For each of them the whole job is cut and laid once more: so many pieces in all are made for them.
EFFORT: Final = 6_000


@dataclass(frozen=True, slots=True)
class OfferPricing:
    """A plan as far as it stands, beside which offers are planned."""

    job: Job
    bolts: Mapping[str, Bolt]
    cutting: Cutting
    layouts: Sequence[FabricLayout]

    def planned(self, offers: Iterable[Offer], spending: Spending) -> list[Advice]:
        """The offers with what they save, each planned; those that save nothing are left out."""
        offers = list(offers)
        panels, most = self._areas(), min(MOST_PLANNED, EFFORT // max(1, len(self.cutting.pieces)))
        order = sorted(range(len(offers)), key=lambda at: -panels.get(offers[at].change.name, 0))
        largest = set(order[:most])
        trials = sum(len(self._fabrics(offers[at])) for at in largest)
        found = list[Advice]()
        for at, offer in enumerate(offers):
            if at not in largest or not all(self._buy(key) for key in self._fabrics(offer)):
                found.append(offer.advice)
            else:
                found += self._planned(offer, spending, SHARE / trials)
        return found

    def _planned(self, offer: Offer, spending: Spending, weight: float) -> list[Advice]:
        before, after = dict[str, Buy](), dict[str, Buy]()
        windows = tuple(offer.change if old.name == offer.change.name else old for old in self.job.windows)
        job = replace(self.job, windows=windows)
        for key in self._fabrics(offer):
            now, buy = self._buy(key), _taken(job, self.bolts, key, spending.lent(weight, LEAST, MOST))
            if now is None or buy is None:
                return []
            before[key], after[key] = now, buy
        more = [key for key in before if after[key].total > before[key].total]
        if offer.kind == "fuller":
            return [] if more else [replace(offer.advice, text=offer.told(""))]
        was, now_cost = _cost(before.values()), _cost(after.values())
        if was is not None and now_cost is not None:
            if now_cost >= was:
                return []
            sign = self.job.currency
            amounts = f"{sign}{now_cost:.2f} instead of {sign}{was:.2f}"
            return [replace(offer.advice, text=offer.told(amounts), money=was - now_cost)]
        if more or all(after[key].total == before[key].total for key in before):
            return []
        return [replace(offer.advice, text=offer.told(self._quantities(before, after)))]

    def _quantities(self, before: Mapping[str, Buy], after: Mapping[str, Buy]) -> str:
        """``7 yd of Linen instead of 9 1/2 yd``, for every fabric that is bought less of."""
        return ", ".join(
            f"{format_quantity(after[key].total, after[key].unit)} of {self.job.fabric(key).title} instead "
            f"of {format_quantity(buy.total, buy.unit)}"
            for key, buy in before.items()
            if after[key].total != buy.total
        )

    def _fabrics(self, offer: Offer) -> tuple[str, ...]:
        """The fabrics that the window is cut from."""
        name = offer.change.name
        return tuple(dict.fromkeys(piece.fabric for piece in self.cutting.pieces if piece.window == name))

    def _buy(self, key: str) -> Buy | None:
        """What is bought of a fabric; None where fabric on hand is cut."""
        if self.bolts[key].on_hand:
            return None
        return next((layout.buy for layout in self.layouts if layout.fabric.key == key), None)

    def _areas(self) -> Counter[str | None]:
        """What the panels of each window take."""
        areas = Counter[str | None]()
        for piece in self.cutting.pieces:
            if piece.role == "panel":
                areas[piece.window] += piece.width * piece.length * piece.copies
        return areas

    def in_order(self, advice: Iterable[Advice]) -> tuple[Advice, ...]:
        """Remarks in order of the money at stake: what an offer saves, all the fabric a warning is about."""
        return tuple(sorted(advice, key=self._stake, reverse=True))

    def _stake(self, one: Advice) -> tuple[bool, Decimal, int]:
        """A question first; then money, then fabric. A sort in reverse keeps equals as they stood."""
        money, length = one.money or Decimal(0), 0
        if one.kind == "warning" and one.money is None:
            fabrics = {window.fabric for window in self.job.windows if window.name == one.window}
            keys = {one.fabric} if one.fabric else fabrics
            about = [layout.buy for layout in self.layouts if not keys or layout.fabric.key in keys]
            bought = [buy for buy in about if buy is not None]
            money = sum((buy.cost or Decimal(0) for buy in bought), Decimal(0))
            length = 1 + sum(buy.total for buy in bought)
        return one.kind not in ("warning", "offer", "note"), money, length + (one.kind == "offer")


def _taken(job: Job, bolts: Mapping[str, Bolt], key: str, effort: Effort) -> Buy | None:
    """What a job takes of a fabric; None where it cannot be cut, or nothing was found."""
    try:
        cases = cases_of(job, job.fabric(key), bolts)
        if not cases:
            return None
        solved = best_of(cases, effort.begin(len(cases)))
        layout, _ = layout_of(solved.case.lay, solved.result, solved.bound, None)
    except NestingError:
        return None
    return layout.buy


def _cost(bought: Iterable[Buy]) -> Decimal | None:
    costs = [buy.cost for buy in bought]
    known = [cost for cost in costs if cost is not None]
    return sum(known, Decimal(0)) if len(known) == len(costs) else None
