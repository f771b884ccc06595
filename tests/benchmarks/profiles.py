"""Beside a peer, and over time: ``python -m tests.benchmarks.profiles run|watch|draw``.

run
    Each instance of the set with a budget of work of the engine, and with peers; a CSV line for each, with
    seconds of processor time, which tell what a busy machine does not spoil.
watch
    Each instance once; a CSV line for each better layout or bound, with the processor time it took.
draw
    Pictures of what these two have written: how many instances come within so many percent of the best
    length known, and the mean gap to the best length known over time.

The engine is given whole problems, peers what `tests.benchmarks.rounding` makes of them. A peer is not
limited: it tries all its settings.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from nesting.packing import Incumbent, pack
from tests.benchmarks.best_known import chosen
from tests.benchmarks.instances import Instance
from tests.benchmarks.peers import RULE, absent, packed_by
from tests.benchmarks.set_entries import Entry
from tests.benchmarks.set_files import FOLDER

#: A peer is stopped after so many seconds by the clock.
LONG = 600.0
RUNS = ("family", "name", "windows", "who", "length", "known", "bound", "seconds")
WATCHED = ("family", "name", "seconds", "length", "lower", "known")


@dataclass(frozen=True, slots=True)
class Line:
    """One run; ``known`` and ``bound`` are what the set has, ``length`` is None where there is no layout."""

    family: str
    name: str
    windows: int
    who: str
    length: int | None
    known: int
    bound: int
    seconds: float


def runs_of(entry: Entry, budgets: Sequence[float], peers: Sequence[str]) -> Iterator[Line]:
    """Ours with each budget, and each peer, in this process, one after the other."""
    assert entry.known is not None

    def line(who: str, length: int | None, began: float) -> Line:
        assert entry.known is not None
        took = time.process_time() - began
        return Line(
            entry.family, entry.name, entry.windows, who, length, entry.known.length, entry.bound, took
        )

    for budget in budgets:
        began = time.process_time()
        yield line(f"ours, {budget:g}", pack(entry.problem, work_limit=budget, workers=1).length, began)
    for peer in peers:
        began = time.process_time()
        if peer == RULE:
            yield line(peer, entry.thumb, began)
        elif not absent(peer):
            alone = Instance(entry.family, entry.name, entry.problem)
            yield line(peer, packed_by(peer, alone, LONG, 1, 0).length, began)


def watched(entry: Entry, work: float) -> Iterator[tuple[float, int | None, int]]:
    """``(seconds of processor time, length, bound)`` whenever either got better."""
    found = list[tuple[float, int | None, int]]()
    began = time.process_time()

    def seen(now: Incumbent) -> None:
        state = (now.length, now.bound)
        if not found or found[-1][1:] != state:
            found.append((time.process_time() - began, *state))

    pack(entry.problem, work_limit=work, workers=1, on_progress=seen)
    yield from found


def within(lines: Sequence[Line], who: str) -> list[float]:
    """By how many percent each length is above the best one known, in order; none: infinitely many."""
    found = (line for line in lines if line.who == who)
    return sorted(
        float("inf") if line.length is None else 100 * (line.length - line.known) / line.known
        for line in found
    )


def mean_gaps(
    steps: Mapping[str, Sequence[tuple[float, int | None, int]]], at: Sequence[float]
) -> list[float | None]:
    """The mean gap of all instances at each moment, each to the best length known; None until all have one.

    ``steps`` are ``(seconds, length, known)`` of each instance, in order.
    """
    means: list[float | None] = []
    for moment in at:
        gaps = list[float]()
        for course in steps.values():
            lengths = [length for seconds, length, _ in course if seconds <= moment and length is not None]
            if lengths:
                gaps.append(100 * (min(lengths) - course[0][2]) / course[0][2])
        means.append(sum(gaps) / len(gaps) if gaps and len(gaps) == len(steps) else None)
    return means


def draw(runs: Path | None, watch: Path | None, into: Path, told: str) -> list[Path]:
    """The pictures of what was written; ``told`` says how busy the machine was."""
    # Only here: what measures needs no picture.
    from tests.benchmarks.plot import write_over_time, write_profile

    made = list[Path]()
    # What was measured is held against what is known by now.
    known = {(one.family, one.name): one.known.length for one in chosen((), FOLDER) if one.known is not None}
    if runs is not None:
        lines = [replace(line, known=known[line.family, line.name]) for line in read_runs(runs)]
        made.append(into / "profile.png")
        groups = {
            family: {who: within([one for one in lines if one.family == family], who)
                     for who in dict.fromkeys(line.who for line in lines)}
            for family in dict.fromkeys(line.family for line in lines)
        }  # fmt: skip
        write_profile(made[-1], groups, told)
    if watch is not None:
        made.append(into / "over-time.png")
        courses = {
            family: {
                name: [(seconds, length, known[family, name]) for seconds, length, _ in course]
                for name, course in by.items()
            }
            for family, by in read_watched(watch).items()
        }
        write_over_time(made[-1], courses, told)
    return made


def read_runs(path: Path) -> list[Line]:
    """What `run` wrote."""
    with path.open(encoding="utf-8", newline="") as file:
        return [
            Line(
                row["family"], row["name"], int(row["windows"]), row["who"],
                int(row["length"]) if row["length"] else None,
                int(row["known"]), int(row["bound"]), float(row["seconds"]),
            )
            for row in csv.DictReader(file)
        ]  # fmt: skip


def read_watched(path: Path) -> dict[str, dict[str, list[tuple[float, int | None, int]]]]:
    """What `watch` wrote, by family and instance: ``(seconds, length, known)``."""
    found: dict[str, dict[str, list[tuple[float, int | None, int]]]] = defaultdict(lambda: defaultdict(list))
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            length = int(row["length"]) if row["length"] else None
            found[row["family"]][row["name"]].append((float(row["seconds"]), length, int(row["known"])))
    return found


def _written(path: Path, names: Sequence[str], keys: int) -> tuple[set[tuple[str, ...]], bool]:
    """What a file holds already, by its first columns, so that a run can be taken up again."""
    if not path.exists():
        return set(), False
    with path.open(encoding="utf-8", newline="") as file:
        return {tuple(row[name] for name in names[:keys]) for row in csv.DictReader(file)}, True


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure or draw; 2 where nothing was named."""
    asked = _arguments().parse_intermixed_args(arguments)
    if asked.what == "draw":
        for path in draw(asked.runs, asked.watched, asked.into, asked.told):
            print(path)
        return 0
    entries = [
        one for one in chosen(asked.instances, FOLDER) if one.known is not None and not one.known.goals
    ]
    entries = [one for one in entries if not one.problem.choices and not one.across]
    if not entries:
        print(f"{asked.instances}: names no instance of one open strip with a layout", file=sys.stderr)
        return 2
    names = RUNS if asked.what == "run" else WATCHED
    before, there = _written(asked.csv, names, 2)
    with asked.csv.open("a", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        if not there:
            writer.writerow(names)
        for entry in entries:
            if (entry.family, entry.name) in before:
                continue
            assert entry.known is not None
            if asked.what == "run":
                for line in runs_of(entry, asked.budgets, (*asked.peers, RULE)):
                    values = (
                        line.family,
                        line.name,
                        line.windows,
                        line.who,
                        line.length,
                        line.known,
                        line.bound,
                    )
                    writer.writerow((*values, f"{line.seconds:.2f}"))
            else:
                for seconds, length, bound in watched(entry, asked.work_limit):
                    writer.writerow(
                        (entry.family, entry.name, f"{seconds:.3f}", length, bound, entry.known.length)
                    )
            file.flush()
            print(f"{entry.family}/{entry.name}", flush=True)
    return 0


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.profiles",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("what", choices=("run", "watch", "draw"))
    parser.add_argument("instances", nargs="*", help="families or instances of the set: prints, 'rooms/1?'")
    parser.add_argument("--budgets", type=_numbers, default=(1.0,), metavar="W,...", help="units of work")
    parser.add_argument("--work-limit", type=float, default=2.0, help="watch: units of work")
    parser.add_argument("--peers", type=lambda said: tuple(said.split(",")), default=(), metavar="PEER,...")
    parser.add_argument(
        "--csv", type=Path, default=Path("runs.csv"), help="added to; what is in it is not run"
    )
    parser.add_argument("--runs", type=Path, help="draw: what run wrote")
    parser.add_argument("--watched", type=Path, help="draw: what watch wrote")
    parser.add_argument("--into", type=Path, default=Path(), help="draw: the folder of the pictures")
    parser.add_argument("--told", default="", help="draw: how busy the machine was")
    return parser


def _numbers(said: str) -> tuple[float, ...]:
    return tuple(float(each) for each in said.split(","))


if __name__ == "__main__":
    sys.exit(main())
