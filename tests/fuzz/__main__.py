"""Run one kind of fuzz from the command line; exit 1 where something does not agree."""

from __future__ import annotations

import argparse
import os
import sys


def main() -> int:
    """What was tried, and what did not agree, with its seeds."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("kind", choices=("rows", "certificates"))
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    from tests.fuzz import certificates, rows

    tried, wrong = {"rows": rows, "certificates": certificates}[asked.kind].run(asked.cases, asked.seed)
    print(f"{asked.cases} cases from seed {asked.seed}: {tried} decided, {len(wrong)} wrong {wrong[:20]}")
    return 1 if wrong else 0


if __name__ == "__main__":
    # Before anything of the engine is imported: plain functions would take many times as long.
    os.environ.setdefault("NESTING_COMPILED", "1")
    sys.exit(main())
