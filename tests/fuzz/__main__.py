"""Run one kind of fuzz from the command line; exit 1 where something does not agree."""

from __future__ import annotations

import argparse
import os
import sys
from importlib import import_module

#: Each a module here, with a function `run`.
KINDS = (
    "rows",
    "certificates",
    "proofs",
    "options",
    "bands",
    "stages",
    "selections",
    "jobs",
    "short",
    "tampered",
)


def main() -> int:
    """What was tried, and what did not agree, with its seeds."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--beside", type=int, default=0, help="jobs: so many other processes are busy")
    parser.add_argument("--at-once", type=int, default=1, help="jobs: so many at a time")
    asked = parser.parse_args()
    more = {"beside": asked.beside, "at_once": asked.at_once} if asked.kind == "jobs" else {}
    tried, wrong = import_module(f"tests.fuzz.{asked.kind}").run(asked.cases, asked.seed, **more)
    print(f"{asked.cases} cases from seed {asked.seed}: {tried} decided, {len(wrong)} wrong {wrong[:20]}")
    return 1 if wrong else 0


if __name__ == "__main__":
    # Before anything of the engine is imported: plain functions would take many times as long.
    os.environ.setdefault("NESTING_COMPILED", "1")
    sys.exit(main())
