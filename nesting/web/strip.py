"""The alternatives of a job side by side: what each takes and how it differs, most valuable first.

Each is planned by a short question of its own (`nesting.web.clerk.Clerk.weighed`), so that nothing that is
typed waits for more than one of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, cast

from starlette.requests import Request

from nesting.cutting.fullness import times
from nesting.units import format_quantity
from nesting.web.caps import MOST_SIDE_BY_SIDE
from nesting.web.clerk import BusyError, Clerk
from nesting.web.draft import Draft
from nesting.web.wire import Message

#: Alternatives whose name would be wrong where the number of widths is not below, or not that of the job.
_FEWER: Final = "less"
_SAME: Final = "fuller"
#: Those that change how full it is: of two the one that is no fuller and takes no less is left out.
_FULLNESS: Final = (_FEWER, _SAME, "step-less", "step-more")
#: Alternatives that are called by how their panels are turned.
_TURNS: Final = ("sideways", "upright")


@dataclass(frozen=True, slots=True)
class Card:
    """One way to make the job, as it is read.

    Attributes
    ----------
    key
        By which it is taken; empty for the job as it stands.
    title, rows
        What it is, and its figures with their names.
    said
        How it compares, in a sentence.
    """

    key: str
    title: str
    rows: tuple[tuple[str, str], ...]
    said: str = ""


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The job as it stands, then its alternatives.

    Attributes
    ----------
    cards, lead
        Each of them, and what is most worth knowing.
    proven
        Whether no layout of any of them is shorter.
    more
        Whether more of them may come.
    """

    cards: tuple[Card, ...] = ()
    lead: tuple[str, ...] = ()
    proven: bool = True
    more: bool = False

    @property
    def said(self) -> str:
        """For those who hear the page: once all are there, how many, and the first of what leads."""
        count = len(self.cards) - 1
        if self.more or count < 1:
            return ""
        ways = "1 other way" if count == 1 else f"{count} other ways"
        return " ".join((f"{ways} to make it.", *self.lead[:1]))


async def next_weighed(request: Request, draft: Draft, sums: Mapping[str, Any]) -> SideBySide:
    """The strip with one more alternative than is known already."""
    known, planner = dict[str, Message](), cast(Clerk, request.app.state.planner)
    ways = {"": "", **{way["key"]: way["title"] for way in sums["ways"]}}
    asked, more = len(ways) == 1, False
    for key in ways:
        found = planner.weighed_before(draft.table, key)
        if found is None and asked:
            more = more or len(ways) > 1
            continue
        if found is None:
            try:
                found, asked = await planner.weighed(draft.table, key), True
            except BusyError:
                return replace(strip_of(known, ways), more=True)
        if "ended" in found:
            # Something more urgent came; it is asked again.
            more = True
            continue
        known[key] = found
        if not key and found["figures"] is None:
            # Nothing to compare with.
            return SideBySide()
    return replace(strip_of(known, ways), more=more)


async def all_weighed(request: Request, draft: Draft, sums: Mapping[str, Any]) -> SideBySide:
    """The whole strip at once, for a page without script."""
    strip = await next_weighed(request, draft, sums)
    for _ in sums["ways"]:
        if not strip.more:
            break
        strip = await next_weighed(request, draft, sums)
    return strip


async def taken(request: Request, draft: Draft, key: str) -> tuple[Draft, tuple[str, ...]]:
    """The draft as an alternative of it, and what is said of that; as it was where it has none such."""
    try:
        table, title = await cast(Clerk, request.app.state.clerk).taken(draft.table, key)
    except BusyError:
        return draft, ("Many sums wait already. Take it again in a moment.",)
    if table is None:
        return draft, ()
    return replace(draft, table=table), (f"Chosen: {title}.",)


def strip_of(known: Mapping[str, Message], titles: Mapping[str, str]) -> SideBySide:
    """What is known of a job (key "") and its alternatives, side by side.

    Alternatives that take and give the same as another, or that are in nothing better than the job as it
    stands, are left out, and so is a fullness that another gives for less; bolts are all shown. Cheapest
    first, for sheers those of the fewest seams.
    """
    base = known.get("", {}).get("figures")
    if base is None:
        return SideBySide()
    shown = sorted(_worth_showing(base, known), key=lambda one: _rank(base, one[1]))
    shown = shown[: MOST_SIDE_BY_SIDE - 1]
    cards = [_card(key, titles.get(key, ""), base, one) for key, one in shown]
    title = "Turned sideways" if base["sideways"] else base["title"]
    return SideBySide(
        (Card("", title, _rows(base, base)), *cards),
        tuple(_lead(base, cards, dict(shown))),
        all(one["proven"] for one in (base, *dict(shown).values())),
    )


def _card(key: str, title: str, base: Message, one: Message) -> Card:
    title = _title(key, title, base, one)
    return Card(key, title, _rows(base, one), f"{title}: {_said(base, one, title)}.")


def _title(key: str, title: str, base: Message, one: Message) -> str:
    """What it is, with the turn of its panels where that changes without being asked for."""
    if one["sideways"] == base["sideways"] or key in _TURNS:
        return title
    return f"{title}, {'turned sideways' if one['sideways'] else 'upright'}"


def _worth_showing(base: Message, known: Mapping[str, Message]) -> Iterator[tuple[str, Message]]:
    seen = [_looks(base)]
    there = {key: one for key, answer in known.items() if key and (one := answer["figures"]) is not None}
    fullness = [there[key] for key in _FULLNESS if key in there and _true_to_name(key, base, there[key])]
    for key, one in there.items():
        if _looks(one) in seen or not _true_to_name(key, base, one):
            continue
        if key in _FULLNESS and any(_better(one, other) and not _better(other, one) for other in fullness):
            continue
        if key.startswith("bolt-") or _better(base, one):
            seen.append(_looks(one))
            yield key, one


def _looks(one: Message) -> tuple[object, ...]:
    return (one["bought"], one["cost"], one["cuts"], one["seams"], _full(one))


def _true_to_name(key: str, base: Message, one: Message) -> bool:
    if key == _FEWER:
        return bool(one["widths"] < base["widths"])
    return key != _SAME or bool(one["widths"] == base["widths"])


def _better(base: Message, one: Message) -> bool:
    """Whether it is so in anything: money, fabric, seams, fullness."""
    fuller = bool(one["full"] and base["full"] and one["full"][0] > base["full"][0])
    return fuller or one["seams"] < base["seams"] or _spent(base, one) < _spent(base, base)


def _spent(base: Message, one: Message) -> Decimal:
    """Money where there are prices, else fabric."""
    priced = base["cost"] is not None and one["cost"] is not None
    return cast(Decimal, one["cost"]) if priced else Decimal(one["total"])


def _rank(base: Message, one: Message) -> tuple[Decimal | Fraction | int, ...]:
    spent, full = _spent(base, one), one["full"][0] if one["full"] else Fraction(0)
    return (one["seams"], spent, -full) if base["sheer"] else (spent, one["seams"], -full)


def _rows(base: Message, one: Message) -> tuple[tuple[str, str], ...]:
    bought = one["bought"]
    rows = [("To buy", bought[0][1])] if len(bought) == 1 else list(bought)
    rows += [("Cuts", str(one["cuts"])), ("Seams", str(one["seams"] or "none"))]
    if one["full"]:
        rows.append(("Fullness", _full(one)))
    if one["cost"] is not None:
        rows.append(("Cost", _money(one)))
    return tuple(rows) if one is base else (*rows, _difference(base, one))


def _full(one: Message) -> str:
    """The fullness of all windows, in hundredths."""
    said = dict.fromkeys(times(full) for full in one["full"] or ())
    return " to ".join(said)


def _money(one: Message) -> str:
    return f"{one['currency']}{one['cost']:.2f}"


def _difference(base: Message, one: Message) -> tuple[str, str]:
    """How much less or more it takes than the job as it stands, in money where there are prices."""
    if base["cost"] is not None and one["cost"] is not None:
        off = one["cost"] - base["cost"]
        amount = f"{one['currency']}{abs(off):.2f}"
    else:
        off = one["total"] - base["total"]
        amount = format_quantity(abs(off), one["unit"])
    return ("Difference", "none") if not off else ("Adds" if off > 0 else "Saves", amount)


def _said(base: Message, one: Message, title: str) -> str:
    """How it compares: "$204.00 instead of $280.00, fullness 1.26"."""
    if base["cost"] is not None and one["cost"] is not None:
        now, was = _money(one), _money(base)
    else:
        now, was = (format_quantity(each["total"], each["unit"]) for each in (one, base))
    parts = [f"{now} instead of {was}" if now != was else f"{now}, as now"]
    if one["seams"] != base["seams"] and base["sheer"]:
        parts.append(f"{_counted(one['seams'])} instead of {base['seams'] or 'none'}")
    if _full(one) != _full(base) and title.partition(",")[0] != f"Fullness {_full(one)}":
        parts.append(f"fullness {_full(one)}")
    return ", ".join(parts)


def _counted(seams: int) -> str:
    return "no seams" if not seams else "1 seam" if seams == 1 else f"{seams} seams"


def _lead(base: Message, cards: Iterable[Card], figures: Mapping[str, Message]) -> Iterator[str]:
    """What is most worth knowing: the largest saving; of sheers first what has the fewest seams."""
    left = list(cards)
    if base["sheer"]:
        fewest = next((card for card in left if figures[card.key]["seams"] < base["seams"]), None)
        if fewest is not None:
            yield fewest.said
            left.remove(fewest)
        elif not base["seams"]:
            yield "As it stands it has no seams."
    cheapest = min(left, key=lambda card: _spent(base, figures[card.key]), default=None)
    if cheapest is not None and _spent(base, figures[cheapest.key]) < _spent(base, base):
        yield cheapest.said
