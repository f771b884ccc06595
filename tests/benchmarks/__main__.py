"""``python -m tests.benchmarks [SET ...]``: a row for each instance, then a line for each set.

Sets: the families ``rooms``, ``prints``, ``hotel`` and ``remnants``, ``zero_waste``, and the folders of
``--folder``.
"""

from __future__ import annotations

import argparse
import datetime
import importlib.metadata
import os
import platform
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks.families import generated
from tests.benchmarks.figures import heading, row, write_csv
from tests.benchmarks.instances import carried, in_folder, wanted
from tests.benchmarks.peers import PEERS, unavailable, version_of
from tests.benchmarks.running import Effort, Run, run
from tests.benchmarks.sums import against, longer, summary, without

#: Names the folder of instances where the command line does not.
FOLDER = "NESTING_BENCHMARKS"


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("sets", nargs="*", metavar="SET", help="a set, an instance or a pattern: c, 'c/C1*'")
    parser.add_argument("--folder", type=Path, default=os.environ.get(FOLDER), help=f"default: ${FOLDER}")
    parser.add_argument("--time-limit", type=float, default=10.0, metavar="S", help="seconds for each")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="threads of the solver")
    parser.add_argument("--seed", type=int, default=0, metavar="N")
    parser.add_argument(
        "--whole",
        action="store_true",
        help="rooms and prints as whole jobs, beside their plain plan packed alone: the figure of record",
    )
    parser.add_argument("--later", type=float, metavar="S", help="with --whole: plan once more, so long")
    parser.add_argument("--against", type=_peers, default=(), metavar="PEER,...", help=", ".join(PEERS))
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write all figures there")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw gaps and times there, as PNG")
    return parser


def _peers(named: str) -> tuple[str, ...]:
    peers = tuple(dict.fromkeys(name.strip() for name in named.split(",") if name.strip()))
    for peer in peers:
        if peer not in PEERS:
            raise argparse.ArgumentTypeError(f"{peer} is none of {', '.join(PEERS)}")
    return peers


def _about(peers: Sequence[str]) -> str:
    """Date, machine and versions, without which figures say little."""
    versions = [f"{name} {importlib.metadata.version(name)}" for name in ("nesting", "ortools")]
    machine = f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"
    today = datetime.datetime.now(tz=datetime.UTC).date()
    return f"{today}; {machine}; {', '.join([*versions, *map(version_of, peers)])}"


def main(arguments: Sequence[str] | None = None) -> int:
    """0 when every outcome is sound, 1 when one is not, 2 when nothing was named."""
    asked = _arguments().parse_args(arguments)
    if asked.whole:
        return _whole(asked)
    known = [*carried(), *generated(), *(in_folder(Path(asked.folder)) if asked.folder else ())]
    chosen = list(wanted(known, asked.sets))
    if not chosen:
        print(f"no instance is named by {asked.sets}: give --folder or set {FOLDER}", file=sys.stderr)
        return 2
    effort, runs = Effort(asked.time_limit, asked.workers, asked.seed), list[Run]()
    for line in unavailable(asked.against):
        print(line, file=sys.stderr)
    print(_about(asked.against), heading(), sep="\n", flush=True)
    try:
        for read in chosen:
            runs.append(run(read(), effort, asked.against))
            print(row(runs[-1]), flush=True)
    except KeyboardInterrupt:
        print("ended early", file=sys.stderr)
    if runs:
        tables = [summary(runs), against(runs), longer(runs), without(runs)]
        print(*(f"\n{table}" for table in tables if table), sep="\n")
        if asked.csv:
            write_csv(asked.csv, runs, effort)
        if asked.plot:
            # A picture is the only thing here that needs matplotlib.
            from tests.benchmarks.plot import write_plot

            write_plot(asked.plot, runs)
    return 1 if any(run.fault or any(peer.fault for peer in run.peers) for run in runs) else 0


def _whole(asked: argparse.Namespace) -> int:
    """As `main`, of whole jobs."""
    # Only here: whole jobs need all of the program.
    from tests.benchmarks import whole

    effort, runs = Effort(asked.time_limit, asked.workers, asked.seed), list[whole.Whole]()
    jobs = whole.named(asked.sets)
    if not jobs:
        print(
            f"no whole job is named by {asked.sets}: rooms, prints, or one such as prints/7", file=sys.stderr
        )
        return 2
    print(_about(()), whole.heading(), sep="\n", flush=True)
    try:
        for family, number in jobs:
            runs.append(whole.run_whole(family, number, effort, asked.later))
            print(whole.row(runs[-1]), flush=True)
    except KeyboardInterrupt:
        print("ended early", file=sys.stderr)
    if runs:
        print(f"\n{whole.summary(runs)}")
    return 1 if any(run.fault for run in runs) else 0


if __name__ == "__main__":
    sys.exit(main())
