"""What a search may be asked for: seed, workers and target, as whole numbers of Python."""

from __future__ import annotations

import math
from numbers import Real

from nesting.errors import ProblemError
from nesting.packing.problem import Problem
from nesting.repeat import whole

#: More threads than this no solver of ours is given.
MOST_WORKERS = 256


def require_limits(seed: int, workers: int | None) -> tuple[int, int | None]:
    """Seed and workers as whole numbers of Python; refused where no solver takes them.

    Raises
    ------
    ProblemError
        Names the value and what is accepted.
    """
    seed = whole("seed", seed)
    if not 0 <= seed < 2**31 - 1:
        raise ProblemError(f"seed = {seed}: expected a whole number from 0 to {2**31 - 2}")
    workers = None if workers is None else whole("workers", workers)
    if workers is not None and not 1 <= workers <= MOST_WORKERS:
        raise ProblemError(f"workers = {workers}: expected 1 to {MOST_WORKERS}, or None for all cores")
    return seed, workers


def require_time(time_limit: float, work_limit: float | None) -> None:
    """Refuse limits that are no numbers; with none or less, only first layouts are made.

    Raises
    ------
    ProblemError
        Names the value and what is accepted.
    """
    for name, limit, other in (("time_limit", time_limit, ""), ("work_limit", work_limit, ", or None")):
        if name == "work_limit" and limit is None:
            continue
        if isinstance(limit, bool) or not isinstance(limit, Real) or math.isnan(limit):
            raise ProblemError(f"{name} = {limit!r}: expected a number, such as 10{other}")


def require_target(problem: Problem, target: int | float | None) -> tuple[int | None, float]:
    """The target as a length and as a gap; refused where it is neither, or where several objectives share it.

    A fraction between 0 and 1 is a gap: the part by which the layout may be longer than the bound.

    Raises
    ------
    ProblemError
        Names the value and what is accepted.
    """
    if target is None:
        return None, 0.0
    if isinstance(target, float) and 0 < target < 1 and problem.plain_purchase:
        return None, target
    if not problem.plain_purchase:
        raise ProblemError(f"target = {target}: only one open strip, with every part laid, has a target")
    if isinstance(target, float) or whole("target", target) < 0:
        raise ProblemError(
            f"target = {target}: expected a length, a whole number of 0 or more, or a gap between 0 and 1, "
            "such as 0.02, or None"
        )
    return whole("target", target), 0.0
