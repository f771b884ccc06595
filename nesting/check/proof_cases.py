"""Replays the log of a search of rows: that parts cannot share the rows of a strip of some length.

What is shown is that there are no rows for the parts: places along, at most ``longest`` in all, so that in no
row the parts are wider than the strip together, no two ways to stand that are apart share one, and (by a rule
that is ``strict``) no row weighs more than it may. Rows may be pushed toward the squared end part by part, by
as much as the pattern lets each be moved, until none can be moved; the parts are looked at in the order in
which they begin. Let a part keep its width free from the row in which it could first have begun, were it not
for the pattern, to the one in which it begins. Each is *begun* at that row then: at 0, or where another part
ends, and never where it could have been begun with the row before. So all ways to begin parts in the first
row, and in each row where one ends, are all ways there are. Within a row the order does not matter.

The log says what became of each row once all that is to begin there had begun; which parts may begin, and in
which order, is worked out here. A row is given up where

* a part left would end too late (`TOO_LATE`);
* by a rule of weights too much goes unused (`SPENT` and the number of the rule). In no row the parts weigh
  more than ``most``, so what the parts weigh, times their lengths, leaves ``spare`` of ``most`` times the
  length. Lanes of weight one, as many as ``most``, run along the strip; on each, parts follow one another.
  What waits between two is priced: after the end of one, before the beginning of the next, never more than
  the wait between them. So what is unused up to here and the prices of all that is left cannot be more;
* what follows was gone into before, as the case of that number: the same parts left, the same still lying, as
  early and a whole number of repeats from here, and then no more was barred.

Nothing rests on a hash, a float, or the program that wrote the log.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (rows without places across). Demeulemeester,
Herroelen, Management Science 38 (1992) 1803-1818 (left-shift and cutset rules). Ford, Fulkerson, "Flows in
Networks" (1962) (prices as the dual of transportation).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

#: Words of a log; below nothing they name a case.
GOES_ON, TOO_LATE, SPENT = 0, 1, 2
#: Only so many ways are barred from a row because they could have begun with the one before.
BARRED = 62


@dataclass(frozen=True, slots=True)
class RowTask:
    """Parts that are to share rows.

    Attributes
    ----------
    width, longest
        Of the strip.
    period
        Of the pattern; 1 without one.
    copies, wide, long
        Of each group of parts that may be exchanged.
    group
        Of each way to stand.
    starts
        Where each way may begin modulo the period; none: anywhere.
    apart
        For each way a bit for each way with which it shares no row.
    """

    width: int
    longest: int
    period: int
    copies: tuple[int, ...]
    wide: tuple[int, ...]
    long: tuple[int, ...]
    group: tuple[int, ...]
    starts: tuple[tuple[int, ...], ...]
    apart: tuple[int, ...]

    def wait(self, way: int, time: int) -> int:
        """How long a way waits from a row on for the pattern."""
        return min(((start - time) % self.period for start in self.starts[way]), default=0)

    def begins(self, group: int) -> set[int]:
        """Where the ways of a group may begin modulo the period."""
        mine = (starts for of, starts in zip(self.group, self.starts, strict=True) if of == group)
        return {start for starts in mine for start in starts}


@dataclass(frozen=True, slots=True)
class PricedRule:
    """Weights by group, of which no row has more than ``most``, and prices of waiting by group.

    ``strict``: rows are made to keep it; other rules every row keeps that is no wider than the strip.
    """

    weights: tuple[int, ...]
    most: int
    strict: bool
    before: tuple[int, ...]
    after: tuple[int, ...]
    first: int
    last: int

    def spare(self, task: RowTask) -> int:
        """What may go unused in all."""
        taken = zip(self.weights, task.copies, task.long, strict=True)
        return self.most * task.longest - sum(weight * copies * long for weight, copies, long in taken)

    def refutes(self, task: RowTask) -> bool:
        """Whether all waiting costs more than may go unused."""
        priced = zip(self.weights, task.copies, self.before, self.after, strict=True)
        due = sum(weight * copies * (before + after) for weight, copies, before, after in priced)
        return self.spare(task) < due + self.most * (self.first + self.last)

    def holds(self, task: RowTask) -> bool:
        """Whether no two prices add up to more than the wait between them."""
        count, period = len(task.copies), task.period
        begins = [task.begins(group) for group in range(count)]
        if self.first + self.last > task.longest:
            return False
        for group in range(count):
            mine = begins[group]
            wait = min(mine, default=0)
            rest = min(((task.longest - start - task.long[group]) % period for start in mine), default=0)
            if self.first + self.before[group] > wait or self.after[group] + self.last > rest:
                return False
            ends = {(start + task.long[group]) % period for start in mine}
            for other in range(count):
                waits = ((start - end) % period for end in ends for start in begins[other])
                if self.after[group] + self.before[other] > min(waits, default=0):
                    return False
        return True


@dataclass(slots=True)
class _OpenRow:
    """A row in which parts begin: ``(end, way)`` of all that lie in it, of which ``ran`` began before."""

    time: int
    lying: list[tuple[int, int]]
    barred: int
    ran: int = 0
    gap: int = 0
    blocked: int = 0
    taken: int = 0
    choice: int = 0
    given_up: bool = False


@dataclass(frozen=True, slots=True)
class _ClosedCase:
    """What was gone into without rows being found."""

    time: int
    left: tuple[int, ...]
    lying: tuple[tuple[int, int], ...]
    barred: int

    def covers(self, other: _ClosedCase, period: int) -> bool:
        """Whether rows for the other would be rows for this one."""
        same = self.left == other.left and self.lying == other.lying
        apart = other.time - self.time
        return same and apart >= 0 and apart % period == 0 and not self.barred & ~other.barred


@dataclass(slots=True)
class _Replay:
    """One log on its way."""

    task: RowTask
    rules: Sequence[PricedRule]
    log: Sequence[int]
    at: int = 0
    left: list[int] = field(default_factory=list)
    rows: list[_OpenRow] = field(default_factory=list)
    cases: dict[int, _ClosedCase] = field(default_factory=dict)
    strict: PricedRule | None = None
    spare: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.left = list(self.task.copies)
        self.spare = [rule.spare(self.task) for rule in self.rules]
        self.strict = next((rule for rule in self.rules if rule.strict), None)

    def refutes(self) -> bool:
        task = self.task
        named, number = {-word for word in self.log if word < 0}, 0
        period = task.period if any(task.starts) else 1
        self.rows.append(self._row(0, [], 0))
        while True:
            row = self.rows[-1]
            way = self._next(row)
            if way is not None:
                self._begin(row, way)
                if not any(self.left):
                    return False
            elif row.lying and not row.given_up:
                row.given_up = True
                if not self._follow(row, period):
                    return False
            elif len(row.lying) > row.ran:
                self._take_back(row)
            elif len(self.rows) == 1:
                return self.at == len(self.log)
            else:
                number += 1
                if number in named:
                    self.cases[number] = self._case(row)
                self.rows.pop()

    def _row(self, time: int, lying: list[tuple[int, int]], barred: int) -> _OpenRow:
        """A row with what of those before still lies in it."""
        task, strict = self.task, self.strict
        row = _OpenRow(time, lying, barred, len(lying), task.width)
        for _, way in lying:
            row.gap -= task.wide[task.group[way]]
            row.blocked |= task.apart[way]
            row.taken += strict.weights[task.group[way]] if strict else 0
        return row

    def _free(self, row: _OpenRow, way: int) -> bool:
        """Whether a way may be begun in the row, for all that lies there."""
        group, strict = self.task.group[way], self.strict
        if not self.left[group] or self.task.wide[group] > row.gap or row.blocked >> way & 1:
            return False
        return strict is None or row.taken + strict.weights[group] <= strict.most

    def _next(self, row: _OpenRow) -> int | None:
        task = self.task
        for way in range(row.choice, len(task.group)):
            if not row.barred >> way & 1 and self._free(row, way):
                end = row.time + task.wait(way, row.time) + task.long[task.group[way]]
                if end <= task.longest:
                    return way
        row.choice = len(task.group)
        return None

    def _begin(self, row: _OpenRow, way: int) -> None:
        group = self.task.group[way]
        end = row.time + self.task.wait(way, row.time) + self.task.long[group]
        self.left[group] -= 1
        row.choice, row.given_up = way, False
        row.lying.append((end, way))
        row.gap -= self.task.wide[group]
        row.blocked |= self.task.apart[way]
        row.taken += self.strict.weights[group] if self.strict else 0

    def _take_back(self, row: _OpenRow) -> None:
        _, way = row.lying.pop()
        group = self.task.group[way]
        self.left[group] += 1
        row.choice, row.given_up = way + 1, False
        row.gap += self.task.wide[group]
        row.taken -= self.strict.weights[group] if self.strict else 0
        if row.blocked:
            row.blocked = 0
            for _, other in row.lying:
                row.blocked |= self.task.apart[other]

    def _follow(self, row: _OpenRow, period: int) -> bool:
        """Do as the log says of a row; False where it is wrong."""
        if self.at >= len(self.log):
            return False
        word, task = self.log[self.at], self.task
        self.at += 1
        end = min(end for end, _ in row.lying)
        if word == TOO_LATE:
            ends = (end + long for long, left in zip(task.long, self.left, strict=True) if left)
            return max(ends, default=0) > task.longest
        if word >= SPENT:
            return word - SPENT < len(self.rules) and self._spent(word - SPENT, row, end)
        barred = sum(1 << way for way in range(min(BARRED, len(task.group))) if self._free(row, way))
        upper = self._row(end, [lies for lies in row.lying if lies[0] > end], barred)
        if word == GOES_ON:
            self.rows.append(upper)
            return True
        return -word in self.cases and self.cases[-word].covers(self._case(upper), period)

    def _case(self, row: _OpenRow) -> _ClosedCase:
        lying = sorted((end - row.time, way) for end, way in row.lying[: row.ran])
        return _ClosedCase(row.time, tuple(self.left), tuple(lying), row.barred)

    def _spent(self, number: int, row: _OpenRow, end: int) -> bool:
        """Whether by a rule more is unused up to an end, and due after it, than may be."""
        task, groups = self.task, range(len(self.left))
        rule, spare = self.rules[number], self.spare[number]
        weights, left = rule.weights, self.left
        lying = [(ends - end, task.group[way]) for ends, way in row.lying if ends > end]
        begun = sum(weights[g] * (task.copies[g] - left[g]) * task.long[g] for g in groups)
        unused = rule.most * end - begun + sum(weights[g] * rest for rest, g in lying)
        if unused > spare:
            return True
        soonest = [min(task.wait(w, end) for w, of in enumerate(task.group) if of == g) for g in groups]
        begins = [soonest[g] - rule.before[g] for g in groups if left[g] and weights[g]]
        free = rule.most - sum(weights[g] for _, g in lying)
        due = sum(left[g] * weights[g] * (rule.before[g] + rule.after[g]) for g in groups)
        due += sum(weights[g] * rule.after[g] for _, g in lying) + rule.most * rule.last
        due += free * min([task.longest - end - rule.last, *begins])
        return unused + due > spare


def refuted(task: RowTask, rules: Sequence[PricedRule], log: Sequence[int]) -> bool:
    """Whether there are no rows for the parts, by one of the rules at once or by the log."""
    if sum(rule.strict for rule in rules) > 1 or not all(rule.holds(task) for rule in rules):
        return False
    return any(rule.refutes(task) for rule in rules) or _Replay(task, rules, log).refutes()
