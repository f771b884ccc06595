"""A certificate for each way the arrow groups may lie."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from nesting.packing.problem import Part, Problem
from nesting.packing.reduce import reduce
from nesting.packing.result import Certificate


@dataclass(frozen=True, slots=True)
class Directions(Certificate):
    """Whichever way each arrow group lies, no layout is shorter.

    Attributes
    ----------
    arrows
        The groups.
    cases
        Of each way, in the order of `decided_cases`; None where some part cannot lie so.
    """

    rule: ClassVar[str] = "directions"

    arrows: tuple[str, ...]
    cases: tuple[Certificate | None, ...]

    def proven(self, problem: Problem) -> int:
        """The least of what the cases prove."""
        found = []
        for decided, said in zip(decided_cases(problem, self.arrows), self.cases, strict=True):
            if reduce(decided) is not None:
                found.append(0 if said is None else said.proven(decided))
        return min(found, default=0)

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        cases = [None if said is None else dict(said) for said in self.cases]
        return {"rule": self.rule, "arrows": list(self.arrows), "cases": cases}


def decided_cases(problem: Problem, arrows: Sequence[str]) -> Iterator[Problem]:
    """The problem with these arrow groups all upright or all turned, the last changing soonest."""
    for turns in itertools.product((False, True), repeat=len(arrows)):
        turned = dict(zip(arrows, turns, strict=True))
        yield replace(problem, parts=tuple(_decided(part, turned) for part in problem.parts))


def _decided(part: Part, turned: Mapping[str, bool]) -> Part:
    """A part that lies one way, if it is of such a group."""
    if part.arrow is None or part.arrow not in turned:
        return part
    if turned[part.arrow] and part.turnable:
        return replace(part, width=part.length, length=part.width, turnable=False, arrow=None)
    # One that may not be turned stays as it is: a case the more, which may prove less.
    return replace(part, turnable=False, arrow=None)
