"""Whole commands on large jobs: ``python -m tests.benchmarks.large_jobs [JOB ...]``.

pieces
    100,000 equal pieces.
windows
    1,000 windows, of 60 widths and 40 lengths.
lengths
    Three windows, and 1,000 lengths of 99 m on hand.
nook
    The reading nook of the samples, with the usual limit of time.
batch, help, import
    All samples with their files, ``nesting --help`` and ``import nesting``.

A line for each: seconds by the clock, of processor time with all that was started, and with ``-o`` besides.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
_FABRIC = 'units = "cm"\n[fabric.face]\nname = "Linen"\n[[fabric.face.bolt]]\nwidth = 140\nusable = 137\n'
_ROW = "{:<10} {:>10} {:>12} {:>14} {:>16}"


def job_of(name: str) -> str:
    """The job file of one of the three that are made."""
    if name == "pieces":
        return f'{_FABRIC}[[extra]]\nname = "Napkin"\nwidth = 25\nlength = 30\ncount = 100000\n'
    many = name == "windows"
    windows = "".join(
        f'[[window]]\nname = "Window {at + 1}"\nroom = "Room {at // 40 + 1}"\nheading = "rod-pocket"\n'
        f"rod = {90 + at % 60}\nfinished_length = {180 + at % 40}\nfullness = 2\n"
        for at in range(1000 if many else 3)
    )
    on_hand = "".join(
        f'[[fabric.face.bolt.on_hand]]\nname = "Length {at + 1}"\nlength = 9900\n' for at in range(1000)
    )
    return _FABRIC + ("" if many else on_hand) + windows


def took(words: Sequence[str]) -> tuple[float, float]:
    """Seconds by the clock and of processor time of one command.

    Raises
    ------
    subprocess.CalledProcessError
        It failed.
    """
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    subprocess.run([sys.executable, *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    seconds, after = time.monotonic() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    return seconds, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def commands_of(name: str, folder: Path) -> list[list[str]]:
    """What is run: the command, and the same with all files where there are any."""
    if name == "import":
        return [["-c", "import nesting"]]
    if name == "help":
        return [["cli.py", "--help"]]
    if name == "batch":
        samples = sorted(str(path) for path in (ROOT / "samples").glob("*.toml"))
        return [["cli.py", "batch", *samples, "--time-limit", "3", "-o", str(folder / "batch")]]
    if name == "nook":
        plan = ["cli.py", "plan", "samples/reading-nook.toml"]
    else:
        job = folder / f"{name}.toml"
        job.write_text(job_of(name), encoding="utf-8")
        plan = ["cli.py", "plan", str(job), "--time-limit", "2"]
    return [plan, [*plan, "-o", str(folder / name)]]


NAMES = ("pieces", "windows", "lengths", "nook", "batch", "help", "import")


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("names", nargs="*", choices=(*NAMES, []), metavar="JOB", help=", ".join(NAMES))
    asked = parser.parse_args(arguments)
    print(f"{os.cpu_count()} cores, load before {os.getloadavg()[0]:.1f}")
    print(_ROW.format("job", "seconds", "processor", "-o: seconds", "-o: processor"))
    with tempfile.TemporaryDirectory() as folder:
        for name in asked.names or NAMES:
            found = [f"{each:.2f}" for words in commands_of(name, Path(folder)) for each in took(words)]
            print(_ROW.format(name, *[*found, "-", "-"][:4]), flush=True)


if __name__ == "__main__":
    main()
