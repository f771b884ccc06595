"""Rows, sums and the CSV file."""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

from tests.benchmarks.running import Effort, Run

_ROW = "{:<24} {:>6} {:>9} {:>9} {:>9} {:>7} {:>7} {:>7} {:>6}  {}"
_SUM = "{:<24} {:>6} {:>8} {:>10} {:>10} {:>9} {:>8} {:>7} {:>7}"


def gap(length: int | None, other: int | None) -> float | None:
    """By how many percent of ``other`` the length is longer; None where either is not known."""
    return None if length is None or not other else 100 * (length - other) / other


def heading() -> str:
    """Above the rows."""
    names = ("instance", "parts", "length", "bound", "best", "gap %", "best %", "sec", "MB", "bound by")
    return _ROW.format(*names)


def row(run: Run) -> str:
    """One instance, and below it what is wrong with it."""
    instance = run.instance
    line = _ROW.format(
        f"{instance.set}/{instance.name}",
        instance.problem.copies,
        _whole(run.length),
        run.bound,
        _whole(instance.best_known),
        _percent(gap(run.length, run.bound)),
        _percent(gap(run.length, instance.best_known)),
        f"{run.seconds:.1f}",
        f"{run.memory:.0f}",
        f"= {run.bound_method}" if run.length == run.bound else run.bound_method,
    )
    return f"{line}\n    FAULT: {run.fault}" if run.fault else line


def summary(runs: Sequence[Run]) -> str:
    """A line for each set and one for all: how many proven, mean gaps, seconds, the most memory."""
    names = ("set", "runs", "proven", "gap %", "best %", "known met", "sec", "MB", "faults")
    by_set: dict[str, list[Run]] = defaultdict(list)
    for run in runs:
        by_set[run.instance.set].append(run)
    lines = [_SUM.format(*names), *(_sum(name, members) for name, members in by_set.items())]
    if len(by_set) > 1:
        lines.append(_sum("all", runs))
    return "\n".join(lines)


def _sum(name: str, runs: Sequence[Run]) -> str:
    to_best = [gap(run.length, run.instance.best_known) for run in runs]
    return _SUM.format(
        name,
        len(runs),
        sum(run.status == "optimal" for run in runs),
        _percent(_mean(gap(run.length, run.bound) for run in runs)),
        _percent(_mean(to_best)),
        sum(part is not None and part <= 0 for part in to_best),
        f"{sum(run.seconds for run in runs) / len(runs):.1f}",
        f"{max(run.memory for run in runs):.0f}",
        sum(bool(run.fault) for run in runs),
    )


def _mean(parts: Iterable[float | None]) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) / len(known) if known else None


def _whole(value: int | None) -> str:
    return "-" if value is None else str(value)


def _percent(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"


def write_csv(path: Path, runs: Iterable[Run], effort: Effort) -> None:
    """All figures of all runs, one line each."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(
            (
                *("set", "instance", "parts", "kinds", "strip_width", "length", "bound", "status", "stop"),
                *("optimum", "best_known", "published_bound", "found_by", "bound_by", "seconds", "memory_mb"),
                *("time_limit", "workers", "seed", "fault"),
            )
        )
        for run in runs:
            known, problem = run.instance, run.instance.problem
            writer.writerow(
                (
                    *(known.set, known.name, problem.copies, len(problem.parts), problem.strips[0].width),
                    *(run.length, run.bound, run.status, run.stop),
                    *(known.optimum, known.best_known, known.lower_bound, run.method, run.bound_method),
                    *(f"{run.seconds:.3f}", f"{run.memory:.1f}"),
                    *(effort.time_limit, effort.workers, effort.seed, run.fault),
                )
            )
