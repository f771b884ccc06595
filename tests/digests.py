"""Layouts told by a digest, to the tick: the same job, seed and work give the same on every Python.

``python -m tests.digests`` works them out with the engine as it stands and writes ``tests/digests.json``: to
be run, and its outcome handed in, by whoever changes what the engine finds. A change that only makes the
engine faster or clearer leaves the file as it is.
"""

from __future__ import annotations

import hashlib
import json
import os
from importlib.metadata import version
from pathlib import Path

PROBLEMS = ("rooms/7", "rooms/13", "rooms/39", "rooms/48", "rooms/55", "prints/3", "prints/13", "prints/29")
FILE = Path(__file__).with_suffix(".json")
#: Units of work; some seconds on compiled kernels.
WORK, SEED = 2.0, 3


def digest(name: str, seed: int = SEED) -> str:
    """Of the length and the bound of a layout in ticks, and of every place, one thread at work."""
    from nesting.packing import pack
    from tests.benchmarks.families import make

    family, _, number = name.partition("/")
    result = pack(make(family, int(number)).problem, work_limit=WORK, seed=seed, workers=1)
    places = sorted((p.part, p.copy, p.strip, p.x, p.y, p.turned) for p in result.placements)
    told = json.dumps([result.length, result.bound.length, places])
    return hashlib.sha256(told.encode()).hexdigest()


def solver() -> str:
    """The version of the solver: another one may find other layouts of the same length."""
    return version("ortools")


def main() -> None:
    """Write the digests of the engine as it stands."""
    made = {"ortools": solver(), "layouts": {name: digest(name) for name in PROBLEMS}}
    FILE.write_text(json.dumps(made, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    # Before anything of the engine is imported: plain functions would take minutes.
    os.environ.setdefault("NESTING_COMPILED", "1")
    main()
