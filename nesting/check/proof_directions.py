"""Re-proves a length case by case: whichever way each arrow group lies, a certificate of its own."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from nesting.check.proof_premises import ways_of, within_premises
from nesting.packing.problem import Part, Problem

#: More arrow groups are not gone through.
MOST_GROUPS = 6


def proven_by_directions(
    problem: Problem, certificate: Mapping[str, Any], proven: Callable[[Problem, Mapping[str, Any]], int]
) -> int:
    """The least that any case proves; 0 where one of them proves nothing.

    Parts of an arrow group are all upright or all turned, so each layout is one of some case.

    Parameters
    ----------
    problem, certificate
        ``arrows`` names groups, ``cases`` has a certificate for each way they may lie, the last group
        changing soonest; null where some part cannot lie so.
    proven
        What a certificate of one case proves.
    """
    arrows = [str(arrow) for arrow in certificate["arrows"]]
    cases = list(certificate["cases"])
    if not within_premises(problem) or len(set(arrows)) < len(arrows) or not 0 < len(arrows) <= MOST_GROUPS:
        return 0
    if len(cases) != 2 ** len(arrows):
        return 0
    found = []
    for decided, said in zip(_cases(problem, arrows), cases, strict=True):
        if not all(ways_of(decided)):
            continue
        if said is None or said.get("rule") == "directions":
            return 0
        found.append(proven(decided, said))
    return min(found, default=0)


def _cases(problem: Problem, arrows: Sequence[str]) -> Iterator[Problem]:
    for turns in itertools.product((False, True), repeat=len(arrows)):
        turned = dict(zip(arrows, turns, strict=True))
        yield replace(problem, parts=tuple(_decided(part, turned) for part in problem.parts))


def _decided(part: Part, turned: Mapping[str, bool]) -> Part:
    if part.arrow is None or part.arrow not in turned:
        return part
    if turned[part.arrow] and part.turnable:
        return replace(part, width=part.length, length=part.width, turnable=False, arrow=None)
    # One that may not be turned stays as it is: a case the more, which may prove less.
    return replace(part, turnable=False, arrow=None)
