"""The rules of a layout on several strips as a CP-SAT model.

Each item has a yes or no for every way it may lie on every strip, and an optional interval for each. The
flat model forgets where on its strip an item lies and keeps what its strip must hold at least; so it
bounds the whole one, and is quickly solved.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from nesting.packing.models import sat
from nesting.packing.on_hand.stock_core import (
    Berth,
    Item,
    Stock,
    Way,
)
from nesting.packing.problem import Flaw, Match
from nesting.repeat import Repeat

#: Of how many equal parts of a strip the sums of widths are also taken; see `_add_sums`.
FRACTIONS: Final = (1, 2, 3)


@dataclass(frozen=True, slots=True)
class OutsideModel:
    """What lies outside the model and binds what is inside.

    Attributes
    ----------
    phases_y, phases_x, arrows, lots, bundles
        Settled by items that stay as they are.
    picks
        The option of each choice.
    boxes
        Those of the items that stay which lie on strips of the model, by strip.
    """

    phases_y: Mapping[tuple[str, int], int] = field(default_factory=dict)
    phases_x: Mapping[tuple[str, int], int] = field(default_factory=dict)
    arrows: Mapping[str, bool] = field(default_factory=dict)
    lots: Mapping[str, str | None] = field(default_factory=dict)
    bundles: Mapping[str, bool] = field(default_factory=dict)
    picks: tuple[int, ...] = ()
    boxes: Mapping[int, tuple[Flaw, ...]] = field(default_factory=dict)


@dataclass(slots=True)
class CopyInModel:
    """One item in the model."""

    number: int
    item: Item
    x: sat.IntVar
    y: sat.IntVar
    ways: dict[Way, sat.IntVar]
    on: dict[int, sat.IntVar]
    present: sat.IntVar
    aligned: list[tuple[Berth, sat.IntVar | int, sat.IntVar]] = field(default_factory=list)


class StockRules:
    """The rules of a layout on several strips.

    Parameters
    ----------
    stock
        What is to be laid, and on what.
    longest
        The open strip is made no longer, in steps.
    flat
        Forget where on its strip an item lies.
    items, strips
        Only these are in the model; default: all. What lies on other strips stays there.
    kept
        What those outside settle for those inside.
    """

    def __init__(
        self,
        stock: Stock,
        longest: int,
        *,
        flat: bool = False,
        items: Sequence[int] | None = None,
        strips: Sequence[int] | None = None,
        kept: OutsideModel | None = None,
    ) -> None:
        self.stock = stock
        self._longest = longest
        self._flat = flat
        self._numbers = range(len(stock.items)) if items is None else sorted(items)
        self._kept = kept or OutsideModel()
        self._berths = [
            replace(berth, flaws=(*berth.flaws, *self._kept.boxes.get(berth.number, ())))
            for berth in stock.berths
            if strips is None or berth.number in strips
        ]
        self.model = sat.CpModel()
        self._true = self.model.new_constant(1)
        self._false = self.model.new_constant(0)
        self._copies: list[CopyInModel] = []
        self._phases_y: dict[tuple[str, int], sat.IntVar] = {}
        self._phases_x: dict[tuple[str, int], sat.IntVar] = {}
        self._bundles: dict[str, sat.IntVar] = {}
        self._lots: dict[str, dict[str | None, sat.IntVar]] = {}
        self._ends: dict[int, sat.IntVar] = {}
        self._started: dict[int, sat.IntVar] = {}
        self._build()

    def _build(self) -> None:
        """Every rule of the layout, in the order of the pattern."""
        self._add_copies()
        self._add_ends()
        self._add_sums()
        if not self._flat:
            self._add_bounds_of_strips()
            self._add_phases()
            self._add_no_overlap()
        self._add_directions()
        self._add_choices()
        self._add_bundles()
        self._add_lots()
        self._add_order_of_copies()
        self._add_order_of_twins()

    def _limit(self, berth: Berth) -> int:
        return self._longest if berth.length is None else berth.length

    def _add_copies(self) -> None:
        """Each item lies one way on one strip, or not at all where it is optional."""
        here = {berth.number: berth for berth in self._berths}
        for number in self._numbers:
            item = self.stock.items[number]
            ways = [way for way in item.ways if way[0] in here and way[2] <= self._limit(here[way[0]])]
            certain = item.required and len(ways) == 1
            found = {
                way: self._true if certain else self.model.new_bool_var(f"{number}{way}") for way in ways
            }
            by_strip = defaultdict[int, list[sat.IntVar]](list)
            for way, lies in found.items():
                by_strip[way[0]].append(lies)
            on = {strip: self._any(by_strip[strip]) for strip in {w[0] for w in ways}}
            present = self._true
            if item.required:
                self.model.add_exactly_one(list(on.values()))
            else:
                present = self._any(list(on.values()))
            wide = max((here[way[0]].width - way[1] - item.clear[1] for way in ways), default=0)
            far = max((self._limit(here[way[0]]) - way[2] for way in ways), default=0)
            x = self.model.new_int_var(min(item.clear[0], wide) if ways else 0, max(0, wide), f"x{number}")
            y = self.model.new_int_var(0, max(0, far), f"y{number}")
            self._copies.append(CopyInModel(number, item, x, y, found, on, present))

    def _by_strip(self) -> dict[int, list[tuple[CopyInModel, Way, sat.IntVar]]]:
        """Every way in which a copy may lie on each strip."""
        found = defaultdict[int, list[tuple[CopyInModel, Way, sat.IntVar]]](list)
        for copy in self._copies:
            for way, lies in copy.ways.items():
                found[way[0]].append((copy, way, lies))
        return found

    def _any(self, literals: Sequence[sat.IntVar]) -> sat.IntVar:
        """A literal that is the sum of others, of which at most one may be true."""
        if len(literals) <= 1:
            return literals[0] if literals else self._false
        one = self.model.new_bool_var("")
        self.model.add(sum(literals) == one)
        return one

    def _add_ends(self) -> None:
        """How far each strip is cut into, and whether it is started at all."""
        for berth in self._berths:
            end = self.model.new_int_var(0, self._limit(berth), f"end{berth.number}")
            self._ends[berth.number] = end
            for box in self._kept.boxes.get(berth.number, ()):
                self.model.add(end >= box.y + box.length)
            if berth.length is not None:
                started = self.model.new_bool_var(f"started{berth.number}")
                self._started[berth.number] = started
                self.model.add(end <= berth.length * started)
        for copy in self._copies:
            for way, lies in copy.ways.items():
                reach: sat.Expression = way[2] if self._flat else copy.y + way[2]
                self.model.add(self._ends[way[0]] >= reach).only_enforce_if(lies)

    def _add_sums(self) -> None:
        """What a strip must hold at least, wherever on it the items lie.

        Areas; and, for k parts of its width, items wider than those parts: of j/(k + 1) < w/W only so many
        lie side by side, so that their lengths, weighed by the dual feasible function u(k), add up to no
        more than k strips. The same along.

        References
        ----------
        Fekete, Schepers, "A general framework for bounds for higher-dimensional orthogonal packing
        problems", doi:10.1007/s001860400376.
        """
        lying = self._by_strip()
        for berth in self._berths:
            end = self._ends[berth.number]
            ways = [(way, lies) for _, way, lies in lying[berth.number]]
            area = sum(way[1] * way[2] * lies for way, lies in ways)
            self.model.add(area <= berth.width * end)
            if berth.length is not None:
                spoiled = sum(flaw.width * flaw.length for flaw in berth.flaws)
                self.model.add(area <= berth.width * berth.length - spoiled)
            for parts in FRACTIONS:
                across = [(_share(way[1], berth.width, parts) * way[2], lies) for way, lies in ways]
                if any(weight for weight, _ in across):
                    unit = parts * (parts + 1)
                    self.model.add(sum(weight * lies for weight, lies in across) <= unit * end)
                if berth.length is not None:
                    along = [(_share(way[2], berth.length, parts) * way[1], lies) for way, lies in ways]
                    if any(weight for weight, _ in along):
                        unit = parts * (parts + 1)
                        self.model.add(sum(weight * lies for weight, lies in along) <= unit * berth.width)

    def _add_bounds_of_strips(self) -> None:
        """Inside the strip, clear of its edges where asked."""
        here = {berth.number: berth for berth in self._berths}
        for copy in self._copies:
            for way, lies in copy.ways.items():
                berth = here[way[0]]
                self.model.add(copy.x + way[1] <= berth.width - copy.item.clear[1]).only_enforce_if(lies)
                self.model.add(copy.y + way[2] <= self._limit(berth)).only_enforce_if(lies)

    def _add_phases(self) -> None:
        """Matched copies keep the phases of their groups, each strip's own repeat and start considered."""
        here = {berth.number: berth for berth in self._berths}
        for copy in self._copies:
            if copy.item.match is None:
                continue
            for strip, lies in copy.on.items():
                berth = here[strip]
                if berth.repeat is not None:
                    self._align(copy, copy.item.match, berth, berth.repeat, lies)

    def _align(self, copy: CopyInModel, match: Match, berth: Berth, repeat: Repeat, lies: sat.IntVar) -> None:
        model, drift = self.model, 0
        columns: sat.IntVar | int = 0
        if repeat.width is not None and (match.seam is not None or repeat.step):
            drift = (berth.width + abs(match.x)) // repeat.width + 2
            columns = model.new_int_var(-drift, drift, f"n{copy.number}")
            phase_x = self._phase_x(copy, match, repeat.width)
            model.add(copy.x == match.x + phase_x + columns * repeat.width).only_enforce_if(lies)
        reach = (self._limit(berth) + abs(match.y) + (berth.start or 0)) // repeat.length + 3 + drift
        rows = model.new_int_var(-reach, reach, f"k{copy.number}")
        key = berth.phase_key(match.level, self.stock.shared_phase)
        phase: sat.Expression = -(berth.start or 0) if key is None else self._phase_y(key)
        risen = match.y + phase + columns * repeat.step + rows * repeat.length
        model.add(copy.y == risen).only_enforce_if(lies)
        copy.aligned.append((berth, columns, rows))

    def _phase_x(self, copy: CopyInModel, match: Match, period: int) -> sat.Expression:
        key = (match.seam, period) if match.seam is not None else (f" {copy.number}", period)
        if key in self._kept.phases_x:
            return self._kept.phases_x[key]
        if key not in self._phases_x:
            self._phases_x[key] = self.model.new_int_var(0, period - 1, f"phase {key}")
        return self._phases_x[key]

    def _phase_y(self, key: tuple[str, int]) -> sat.Expression:
        if key in self._kept.phases_y:
            return self._kept.phases_y[key]
        if key not in self._phases_y:
            self._phases_y[key] = self.model.new_int_var(0, key[1] - 1, f"phase {key}")
        return self._phases_y[key]

    def _add_no_overlap(self) -> None:
        """No two share fabric, none touches a flaw; projected sums on both axes as well."""
        model, lying = self.model, self._by_strip()
        for berth in self._berths:
            here = lying[berth.number]
            cols = [
                model.new_optional_fixed_size_interval_var(c.x, way[1], lies, "") for c, way, lies in here
            ]
            rows = [
                model.new_optional_fixed_size_interval_var(c.y, way[2], lies, "") for c, way, lies in here
            ]
            flaw_cols = [model.new_fixed_size_interval_var(f.x, f.width, "") for f in berth.flaws]
            flaw_rows = [model.new_fixed_size_interval_var(f.y, f.length, "") for f in berth.flaws]
            model.add_no_overlap_2d(cols + flaw_cols, rows + flaw_rows)
            widths = [way[1] for _, way, _ in here] + [flaw.width for flaw in berth.flaws]
            model.add_cumulative(rows + flaw_rows, widths, berth.width)
            model.add_cumulative(cols, [way[2] for _, way, _ in here], self._ends[berth.number])

    def _add_directions(self) -> None:
        """All of an arrow group that is laid upright, or all turned."""
        groups: dict[str, sat.IntVar] = {}
        for copy in self._copies:
            arrow = copy.item.arrow
            if arrow is None:
                continue
            if arrow not in groups:
                groups[arrow] = self.model.new_bool_var(f"turn {arrow}")
                if arrow in self._kept.arrows:
                    self.model.add(groups[arrow] == self._kept.arrows[arrow])
            for way, lies in copy.ways.items():
                turned = groups[arrow] if way[3] else groups[arrow].negated()
                self.model.add_implication(lies, turned)

    def _add_choices(self) -> None:
        """Of each choice one option, and of that what is not optional."""
        picks = []
        for choice, count in enumerate(self.stock.choices):
            options = [self.model.new_bool_var(f"choice {choice} option {option}") for option in range(count)]
            self.model.add_exactly_one(options)
            picks.append(options)
            if self._kept.picks:
                self.model.add(options[self._kept.picks[choice]] == 1)
        for copy in self._copies:
            if copy.item.options is None:
                continue
            laid = sum(picks[copy.item.options[0]][option] for option in copy.item.options[1])
            if copy.item.value is None:
                self.model.add(copy.present == laid)
            else:
                self.model.add(copy.present <= laid)

    def _add_bundles(self) -> None:
        """All of a bundle or none of it."""
        for copy in self._copies:
            name = copy.item.bundle
            if name is None:
                continue
            if name not in self._bundles:
                self._bundles[name] = self.model.new_bool_var(f"bundle {name}")
                if name in self._kept.bundles:
                    self.model.add(self._bundles[name] == self._kept.bundles[name])
            self.model.add(copy.present == self._bundles[name])

    def _add_lots(self) -> None:
        """All of a lot group that is laid lies on strips of one lot."""
        lots = list(dict.fromkeys(berth.lot for berth in self.stock.berths))
        if len(lots) == 1:
            return
        for copy in self._copies:
            group = copy.item.lot
            if group is None:
                continue
            if group not in self._lots:
                self._lots[group] = {lot: self.model.new_bool_var(f"{group} of {lot}") for lot in lots}
                self.model.add_exactly_one(list(self._lots[group].values()))
                if group in self._kept.lots:
                    self.model.add(self._lots[group][self._kept.lots[group]] == 1)
            for strip, lies in copy.on.items():
                self.model.add_implication(lies, self._lots[group][self.stock.berths[strip].lot])

    def _offset(self, copy: CopyInModel) -> sat.Expression:
        """Where the copy lies with all strips one behind the other."""
        at, ahead = 0, {}
        for berth in self._berths:
            ahead[berth.number] = at
            at += 1 if self._flat else self._limit(berth)
        sums = sum(ahead[strip] * lies for strip, lies in copy.on.items())
        return sums if self._flat else sums + copy.y

    def _add_order_of_copies(self) -> None:
        """Items of one kind come in order of their numbers; those left out are the last."""
        before: dict[int, CopyInModel] = {}
        for copy in self._copies:
            first = before.get(copy.item.kind)
            before[copy.item.kind] = copy
            if first is None:
                continue
            order = self.model.add(self._offset(first) <= self._offset(copy))
            if not copy.item.required:
                order.only_enforce_if(copy.present)
                self.model.add_implication(copy.present, first.present)

    def _add_order_of_twins(self) -> None:
        """Lot groups with equal members are interchangeable: earlier ones take earlier lots."""
        for one, two in self._twins():
            bundles = self._bundles.get(one[1] or ""), self._bundles.get(two[1] or "")
            if bundles[0] is not None and bundles[1] is not None:
                self.model.add_implication(bundles[1], bundles[0])
            if one[0] in self._lots and two[0] in self._lots:
                ranks = [
                    sum(at * lies for at, lies in enumerate(self._lots[group].values()))
                    for group in (one[0], two[0])
                ]
                order = self.model.add(ranks[0] <= ranks[1])
                if bundles[1] is not None:
                    order.only_enforce_if(bundles[1])

    def _twins(self) -> Iterator[tuple[tuple[str, str | None], tuple[str, str | None]]]:
        """Pairs of lot groups with equal members, each whole in the model and in one bundle or required."""
        if self._kept.lots or self._kept.bundles or len(self._numbers) < len(self.stock.items):
            return
        members: dict[str, list[Item]] = defaultdict(list)
        shared: dict[str, set[str]] = defaultdict(set)
        for copy in self._copies:
            shared[copy.item.bundle or ""].add(copy.item.lot or "")
            if copy.item.lot is not None:
                members[copy.item.lot].append(copy.item)
        last: dict[object, tuple[str, str | None]] = {}
        for group, items in members.items():
            bundles = {item.bundle for item in items}
            (bundle,) = bundles if len(bundles) == 1 else (None,)
            if len(bundles) > 1 or (bundle is not None and len(shared[bundle]) > 1):
                continue
            rules = [
                (i.ways, i.match, i.arrow, i.value, i.spare, i.clear, bundle is None, i.options)
                for i in items
            ]
            signature = tuple(sorted(map(repr, rules)))
            if signature in last:
                yield last[signature], (group, bundle)
            last[signature] = (group, bundle)


def _share(size: int, whole: int, parts: int) -> int:
    """``parts * (parts + 1)`` times the dual feasible function u(parts) of size / whole."""
    at = (parts + 1) * size
    return (parts + 1) * (at // whole) if at % whole else parts * (at // whole)
