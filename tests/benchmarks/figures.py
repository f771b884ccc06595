"""Rows and the CSV file; sums over them are in `sums`."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.benchmarks.instances import Instance
from tests.benchmarks.peers import PeerRun
from tests.benchmarks.running import NOT_YET, Effort, Run

_ROW = "{:<24} {:>7} {:>6} {:>9} {:>9} {:>9} {:>7} {:>7} {:>7} {:>6}  {}"


def gap(length: int | None, other: int | None) -> float | None:
    """By how many percent of ``other`` the length is longer; None where either is not known."""
    return None if length is None or not other else 100 * (length - other) / other


def heading() -> str:
    """Above the rows."""
    names = (
        "instance",
        "windows",
        "parts",
        "length",
        "bound",
        "best",
        "gap %",
        "best %",
        "sec",
        "MB",
        "bound by",
    )
    return _ROW.format(*names)


def row(run: Run) -> str:
    """One instance, below it what is wrong with it, and what its peers made of it."""
    lines = [_ours(run)]
    if run.fault:
        lines.append(f"    FAULT: {run.fault}")
    lines += [f"    {_theirs(run, peer)}" for peer in run.peers]
    return "\n".join(lines)


def _ours(run: Run) -> str:
    instance = run.instance
    if run.status == NOT_YET:
        found_by = NOT_YET
    else:
        found_by = f"= {run.bound_method}" if run.length == run.bound else run.bound_method
    return _ROW.format(
        f"{instance.set}/{instance.name}",
        whole(instance.windows),
        instance.problem.copies,
        whole(run.length),
        run.bound,
        whole(instance.best_known),
        percent(gap(run.length, run.bound)),
        percent(gap(run.length, instance.best_known)),
        f"{run.seconds:.1f}",
        f"{run.memory:.0f}",
        found_by,
    )


def _theirs(run: Run, peer: PeerRun) -> str:
    parts = [f"{peer.peer}: {whole(peer.length)}"]
    more = gap(peer.length, run.length)
    if more is not None:
        parts.append(f"{more:+.2f} %")
    if peer.packed not in (None, peer.length):
        parts.append(f"as packed {peer.packed}")
    if peer.seconds:
        parts.append(f"{peer.seconds:.1f} sec")
    if peer.note:
        parts.append(peer.note)
    if peer.fault:
        parts.append(f"FAULT: {peer.fault}")
    return ", ".join(parts)


def whole(value: int | None) -> str:
    """A whole number, or a dash."""
    return "-" if value is None else str(value)


def percent(value: float | None) -> str:
    """To hundredths, or a dash."""
    return "-" if value is None else f"{value:.2f}"


def write_csv(path: Path, runs: Iterable[Run], effort: Effort) -> None:
    """All figures of all runs, one line each; a block of columns for each peer."""
    runs = list(runs)
    peers = list(dict.fromkeys(peer.peer for run in runs for peer in run.peers))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(
            (
                *("set", "instance", "windows", "parts", "kinds", "strip_width", "repeat", "drop", "step"),
                *("length", "bound", "status", "stop", "optimum", "best_known", "published_bound"),
                *(
                    "found_by",
                    "bound_by",
                    "reproved",
                    "afterwards",
                    "seconds",
                    "memory_mb",
                    "time_limit",
                    "workers",
                    "seed",
                    "fault",
                ),
                *(f"{peer}_{name}" for peer in peers for name in _PEER),
            )
        )
        for run in runs:
            known, theirs = run.instance, {peer.peer: peer for peer in run.peers}
            writer.writerow(
                (
                    *_described(known),
                    *(run.length, run.bound, run.status, run.stop),
                    *(known.optimum, known.best_known, known.lower_bound, run.method, run.bound_method),
                    *(int(run.reproved), int(run.afterwards)),
                    *(f"{run.seconds:.3f}", f"{run.memory:.1f}"),
                    *(effort.time_limit, effort.workers, effort.seed, run.fault),
                    *(value for peer in peers for value in _peer_values(theirs[peer])),
                )
            )


_PEER = ("length", "packed", "proved", "seconds", "memory_mb", "note")


def _described(known: Instance) -> Iterator[object]:
    strip, problem = known.problem.strips[-1], known.problem
    yield from (known.set, known.name, known.windows, problem.copies, len(problem.parts), strip.width)
    yield from (None, None) if strip.repeat is None else (strip.repeat.length, strip.repeat.drop)
    yield known.step


def _peer_values(peer: PeerRun) -> Iterator[object]:
    yield from (peer.length, peer.packed, peer.proved, f"{peer.seconds:.3f}", f"{peer.memory:.1f}")
    yield peer.fault or peer.note
