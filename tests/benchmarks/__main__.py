"""``python -m tests.benchmarks [SET ...]``: a row for each instance, then a line for each set."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks.figures import heading, row, summary, write_csv
from tests.benchmarks.instances import carried, in_folder, wanted
from tests.benchmarks.running import Effort, Run, run

#: Names the folder of instances where the command line does not.
FOLDER = "NESTING_BENCHMARKS"


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("sets", nargs="*", metavar="SET", help="a set, an instance or a pattern: c, 'c/C1*'")
    parser.add_argument("--folder", type=Path, default=os.environ.get(FOLDER), help=f"default: ${FOLDER}")
    parser.add_argument("--time-limit", type=float, default=10.0, metavar="S", help="seconds for each")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="threads of the solver")
    parser.add_argument("--seed", type=int, default=0, metavar="N")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write all figures there")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """0 when every outcome is sound, 1 when one is not, 2 when nothing was named."""
    asked = _arguments().parse_args(arguments)
    known = [*carried(), *(in_folder(Path(asked.folder)) if asked.folder else ())]
    chosen = list(wanted(known, asked.sets))
    if not chosen:
        print(f"no instance is named by {asked.sets}: give --folder or set {FOLDER}", file=sys.stderr)
        return 2
    effort, runs = Effort(asked.time_limit, asked.workers, asked.seed), list[Run]()
    print(heading(), flush=True)
    try:
        for read in chosen:
            runs.append(run(read(), effort))
            print(row(runs[-1]), flush=True)
    except KeyboardInterrupt:
        print("ended early", file=sys.stderr)
    if runs:
        print("", summary(runs), sep="\n")
        if asked.csv:
            write_csv(asked.csv, runs, effort)
    return 1 if any(run.fault for run in runs) else 0


if __name__ == "__main__":
    sys.exit(main())
