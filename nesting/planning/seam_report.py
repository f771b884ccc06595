"""What each seam plan of a window would take, beside the one that was chosen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from nesting.cutting.seam_choices import SeamChoice
from nesting.packing import Bound, Result, Stop
from nesting.pieces.piece import Advice
from nesting.plan.plan import SeamOffer, SeamReport
from nesting.plan.seam_words import needs_words
from nesting.planning.effort import Spending
from nesting.planning.laying import Lay, buy_for
from nesting.planning.ways import Case, Solved, settled_by
from nesting.units import format_quantity

#: Seconds, or units of work, for all plans of one fabric that were not chosen.
SECONDS: Final = 2.5
#: Layouts made for prices, times the square of the pieces in one: a job of a thousand windows would spend
#: many times its search on them. As many plans as this allows are priced, from the first window on, whatever
#: the clock says: 600 of them in a job of 300 pieces, 6 in one of 3,000.
EFFORT: Final = 60_000_000
#: The share of the whole search that is kept for them, where the chosen one takes one share.
SHARE: Final = 0.1


def priced(solved: Solved, spending: Spending) -> tuple[Solved, tuple[SeamReport, ...]]:
    """Every open seam plan with what it takes, one window at a time; and the best, should it be another.

    A plan that turns out shorter than the one chosen is taken instead, and so is one that is as short and
    stands before it in the maker's order.

    Parameters
    ----------
    solved
        A fabric with its seam plans settled.
    spending
        Asked for `SHARE`.
    """
    case = solved.open_case
    if case is None or not case.choices:
        return solved, ()
    prices = _SeamPrices(case, solved, spending)
    # Each exchange is shorter, or earlier in the order, so this ends; more than a few are never seen.
    for _ in range(len(case.choices) + 1):
        better = prices.better()
        if better is None:
            break
        prices.take(better)
    return prices.solved, tuple(prices.report(number) for number in range(len(case.choices)))


def barred_offers(reports: Iterable[SeamReport], currency: str) -> Iterator[Advice]:
    """Seam plans that the maker's rules bar, where less would be bought; of each window the cheapest."""
    for report in reports:
        chosen = report.chosen
        barred = [offer for offer in report.offers if offer.allowed_by and offer.buy is not None]
        best = min(barred, key=lambda offer: offer.length or 0, default=None)
        if best is None or best.buy is None or chosen.buy is None or best.buy.total >= chosen.buy.total:
            continue
        layer = "" if report.layer == "panel" else f" of the {report.layer}"
        less, now = (format_quantity(buy.total, buy.unit) for buy in (best.buy, chosen.buy))
        money = None
        if best.buy.cost is not None and chosen.buy.cost is not None:
            money = chosen.buy.cost - best.buy.cost
            less, now = f"{less}, {currency}{best.buy.cost:.2f},", f"{now}, {currency}{chosen.buy.cost:.2f}"
        text = (
            f"{best.told}{layer} would take {less} instead of {now}, {needs_words(best.allowed_by)} "
            f"({best.allowed_by})"
        )
        key, _, value = best.allowed_by.partition(" = ")
        yield Advice("offer", text, report.window, report.fabric, money, (key, value.strip('"')))


_UNPRICED: Final = Result(None, Bound(0, "not looked for"), Stop.TIME_LIMIT, 0.0)
Chosen = tuple[int, ...]
"""The option of each choice."""


class _SeamPrices:
    """What selections near the chosen one take, each packed once."""

    def __init__(self, case: Case, solved: Solved, spending: Spending) -> None:
        self.solved = solved
        self._case, self._spending = case, spending
        others = sum(len(choice.every) - 1 for choice in case.choices)
        self._most, self._weight = SECONDS / others, SHARE / others
        self._known: dict[Chosen, tuple[Lay, Result]] = {}
        self._left = max(1, EFFORT // max(1, len(solved.case.cutting.pieces)) ** 2)

    def better(self) -> Chosen | None:
        """A selection that is shorter, or as short and earlier; None where there is none."""
        length = self.solved.result.length
        for other in self._neighbors():
            found = self._packed(other)
            if found[1].length is None or length is None:
                continue
            if (found[1].length, other) < (length, self.solved.chosen):
                return other
        return None

    def take(self, chosen: Chosen) -> None:
        """Cut by this selection from now on."""
        self.solved = settled_by(self.solved, chosen, *self._packed(chosen))

    def report(self, number: int) -> SeamReport:
        """The plans of one window."""
        choice = self._case.choices[number]
        offers = tuple(self._offer(choice, number, option) for option in range(len(choice.every)))
        return SeamReport(choice.window, choice.layer, self._case.order.fabric.key, offers)

    def _offer(self, choice: SeamChoice, number: int, option: int) -> SeamOffer:
        each, chosen = choice.every[option], option == self.solved.chosen[number]
        lay, result = self.solved.case.lay, self.solved.result
        if not chosen:
            lay, result = self._packed(_with(self.solved.chosen, number, option))
        return SeamOffer(
            told=each.told(self._case.order.job.units),
            cuts=each.cuts,
            pieces=sum(piece.copies for piece in each.pieces),
            length=result.length,
            bound=result.bound.length,
            buy=None if result.length is None else buy_for(lay, result.length),
            chosen=chosen,
            allowed_by=each.allowed_by,
        )

    def _neighbors(self) -> Sequence[Chosen]:
        """The selections allowed that differ in one window, earlier options first."""
        chosen = self.solved.chosen
        return [
            _with(chosen, number, option)
            for number, choice in enumerate(self._case.choices)
            for option in range(len(choice.options))
            if option != chosen[number]
        ]

    def _packed(self, chosen: Chosen) -> tuple[Lay, Result]:
        """The best layout of a selection that a short search finds; none once enough were made."""
        if chosen not in self._known:
            if not self._left:
                return self.solved.case.lay, _UNPRICED
            self._left -= 1
            lay = self._case.lay_by(chosen)
            result = self._spending.pack(lay, self._weight, most=self._most, quiet=True)
            self._known[chosen] = (lay, result)
        return self._known[chosen]


def _with(chosen: Chosen, number: int, option: int) -> Chosen:
    return (*chosen[:number], option, *chosen[number + 1 :])
