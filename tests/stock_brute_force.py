"""The best layout on several strips by trying everything, as a yardstick for tiny problems.

Every copy is tried on every strip, or left out where it is optional; what keeps lots and bundles is judged
strip by strip with `tests.brute_force`. Exact where strips do not depend on one another: no arrow groups,
and matched parts only on strips whose start is known.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from nesting.packing.problem import Part, Problem, Strip
from tests.brute_force import optimal_length

Stages = dict[str, int]


def best_stages(problem: Problem) -> Stages | None:
    """What the best layout reaches in each stage; None where required parts cannot all be laid."""
    return min(every_stages(problem), key=_rank, default=None)


def every_stages(problem: Problem) -> Iterator[Stages]:
    """What layouts reach in each stage, of those that deal the copies out alike the one least cut into."""
    copies = [part for part in problem.parts for _ in range(part.copies)]
    for homes in itertools.product(*(_homes(part, problem) for part in copies)):
        laid = [(part, home) for part, home in zip(copies, homes, strict=True) if home is not None]
        if not _keeps_lots(problem, laid) or not _keeps_bundles(problem, laid):
            continue
        stages = _stages(problem, laid)
        if stages is not None:
            yield stages


def _homes(part: Part, problem: Problem) -> list[int | None]:
    homes: list[int | None] = list(range(len(problem.strips)))
    return homes if part.value is None else [*homes, None]


def _keeps_lots(problem: Problem, laid: list[tuple[Part, int]]) -> bool:
    lots: dict[str, set[str | None]] = {}
    for part, home in laid:
        if part.lot is not None:
            lots.setdefault(part.lot, set()).add(problem.strips[home].lot)
    return all(len(found) == 1 for found in lots.values())


def _keeps_bundles(problem: Problem, laid: list[tuple[Part, int]]) -> bool:
    for bundle in {part.bundle for part in problem.parts} - {None}:
        there = sum(part.bundle == bundle for part, _ in laid)
        if there not in (0, sum(part.copies for part in problem.parts if part.bundle == bundle)):
            return False
    return True


def _stages(problem: Problem, laid: list[tuple[Part, int]]) -> Stages | None:
    """Spare parts may lie only where something else starts the strip, and never lengthen the open one."""
    needed, spared = [0] * len(problem.strips), [0] * len(problem.strips)
    for at, strip in enumerate(problem.strips):
        here = [part for part, home in laid if home == at]
        least = _needed(strip, tuple(_bare(part) for part in here if not part.spare))
        whole = _needed(strip, tuple(_bare(part) for part in here))
        if least is None or whole is None or (strip.length is None and whole > least):
            return None
        needed[at], spared[at] = least, whole
    fixed = [at for at, strip in enumerate(problem.strips) if strip.length is not None]
    found = {"to buy": sum(spared[at] for at, strip in enumerate(problem.strips) if strip.length is None)}
    found["value"] = sum(part.value or 0 for part, _ in laid if not part.spare)
    found["fabric started"] = sum(problem.strips[at].length for at in fixed if spared[at])
    found["extras"] = sum(part.value or 0 for part, _ in laid if part.spare)
    found["cut into"] = sum(spared[at] for at in fixed)
    return found


def _bare(part: Part) -> Part:
    return replace(part, name="", copies=1, lot=None, value=None, bundle=None, spare=False)


@cache
def _needed(strip: Strip, parts: tuple[Part, ...]) -> int | None:
    """How far a strip is cut into for these parts; None where they do not fit."""
    if not parts:
        return 0
    return optimal_length(Problem((replace(strip, lot=None),), tuple(sorted(parts, key=repr))))


def _rank(stages: Stages) -> tuple[int, ...]:
    return tuple(-worth if name in ("value", "extras") else worth for name, worth in stages.items())


def best_of_all(problem: Problem) -> Stages | None:
    """The same with arrow groups and choices: every direction of every group, every option of every choice.

    A part that may not turn is left out of a group that lies turned, and must be: where it is ordered
    without condition, that direction has no layout. What is left out binds nobody.
    """
    return min(every_outcome(problem), key=_rank, default=None)


def every_outcome(problem: Problem) -> Iterator[Stages]:
    """The same of all layouts, of those that deal the copies out alike the one least cut into."""
    groups = sorted({part.arrow for part in problem.parts if part.arrow is not None})
    for turns in itertools.product((False, True), repeat=len(groups)):
        turned = {group for group, turns_it in zip(groups, turns, strict=True) if turns_it}
        for picks in itertools.product(*(range(len(choice.options)) for choice in problem.choices)):
            settled = _settled(problem, turned, picks)
            if settled is not None:
                yield from every_stages(settled)


def _settled(problem: Problem, turned: set[str], picks: tuple[int, ...]) -> Problem | None:
    """One direction for each arrow group and one option for each choice; None where a part cannot lie so."""
    offered = {part for choice in problem.choices for option in choice.options for part in option}
    taken = {
        part for choice, pick in zip(problem.choices, picks, strict=True) for part in choice.options[pick]
    }
    parts = []
    for number, part in enumerate(problem.parts):
        laid = number in taken or number not in offered
        stands = part.arrow is None or part.arrow not in turned or part.turnable
        if laid and stands:
            size = part.size(part.arrow in turned) if part.arrow is not None else (part.width, part.length)
            turnable = part.turnable and part.arrow is None
            parts.append(replace(part, width=size[0], length=size[1], turnable=turnable, arrow=None))
        elif laid and part.value is None:
            return None
    return Problem(problem.strips, tuple(parts))
