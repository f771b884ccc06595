"""The log of a search of rows that found none: each case closed by others, by weights, or as met before."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from nesting.packing.problem import Problem
from nesting.packing.result import Certificate


@dataclass(frozen=True, slots=True)
class LoggedRule:
    """Row weights by group; ``placed``: they hold for parts at places across that the pattern allows."""

    weights: tuple[int, ...]
    most: int
    placed: bool = False


@dataclass(frozen=True, slots=True)
class LoggedPrices:
    """A rule by its number, with prices of waiting by group, of the first row and of the last."""

    rule: int
    before: tuple[int, ...]
    after: tuple[int, ...]
    first: int = 0
    last: int = 0

    def told(self) -> dict[str, Any]:
        """As a document holds it; prices that are all nothing are left out."""
        found: dict[str, Any] = {"rule": self.rule}
        if any(self.before) or any(self.after):
            found |= {"before": list(self.before), "after": list(self.after)}
        if self.first or self.last:
            found |= {"first": self.first, "last": self.last}
        return found


@dataclass(frozen=True, slots=True)
class LoggedCase:
    """Phases of level groups, and the log by which they leave no rows.

    ``log`` None: each phase of one more group is a case of its own. Its words are those of
    `nesting.packing.kernels.row_cases.RowLog`.
    """

    phases: Mapping[str, int]
    rules: tuple[LoggedPrices, ...] = ()
    log: tuple[int, ...] | None = None

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        if self.log is None:
            return {"phases": dict(self.phases)}
        return {
            "phases": dict(self.phases),
            "rules": [rule.told() for rule in self.rules],
            "log": list(self.log),
        }


@dataclass(frozen=True, slots=True)
class CaseLog(Certificate):
    """Some parts have no rows within a length, whatever the phases of the pattern.

    Attributes
    ----------
    refuted
        The length, in the problem's units, of a layout without its lone rows.
    width
        Of the strip, in steps.
    columns
        It speaks of columns, the axes exchanged.
    lone
        Parts that have their rows to themselves, which come on top.
    kinds
        The parts it speaks of, equal ones together.
    groups
        Kinds that count as one, by their numbers.
    stands
        ``(kind, near, far)``: ranges of places across; none: anywhere.
    dropped
        Ranges left out, one after another, each for another one.
    ways
        ``(group, ranges of each of its kinds)`` of each way to stand.
    rules
        What the cases rest on.
    cases
        As `packed_cases` gives them.
    anew
        Whether the search that wrote it comes to the same again.

    References
    ----------
    Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319. Demeulemeester, Herroelen, Management
    Science 38 (1992) 1803-1818.
    """

    rule: ClassVar[str] = "rows in one piece"

    refuted: int
    width: int
    columns: bool
    lone: tuple[int, ...]
    kinds: tuple[tuple[int, ...], ...]
    groups: tuple[tuple[int, ...], ...]
    stands: tuple[tuple[int, int, int], ...]
    dropped: tuple[tuple[int, int], ...]
    ways: tuple[tuple[int, tuple[tuple[int, ...], ...]], ...]
    rules: tuple[LoggedRule, ...]
    cases: str
    anew: Callable[[Problem], int] | None = field(default=None, compare=False, repr=False)

    def proven(self, problem: Problem) -> int:
        """The length no layout can undercut, by the search gone through again; 0 where it says nothing."""
        if not problem.plain_purchase or problem.choices or self.anew is None:
            return 0
        return self.anew(problem)

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        rules = [
            {"weights": list(rule.weights), "most": rule.most, "placed": rule.placed} for rule in self.rules
        ]
        return {
            "rule": self.rule,
            "axis": "columns" if self.columns else "rows",
            "refuted": self.refuted,
            "width": self.width,
            "lone": list(self.lone),
            "kinds": [list(kind) for kind in self.kinds],
            "groups": [list(group) for group in self.groups],
            "stands": [list(one) for one in self.stands],
            "dropped": [list(pair) for pair in self.dropped],
            "ways": [[group, [list(each) for each in ranges]] for group, ranges in self.ways],
            "rules": rules,
            "cases": self.cases,
        }


def packed_cases(cases: Sequence[LoggedCase]) -> str:
    """JSON, compressed, in letters: there may be millions of words."""
    text = json.dumps([case.told() for case in cases], separators=(",", ":"))
    return base64.b85encode(zlib.compress(text.encode(), 9)).decode("ascii")
