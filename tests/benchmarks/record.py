"""Every figure that is told, and the command that makes it: ``python -m tests.benchmarks.record``.

Without a name the list: each figure, where it is told, its command, and whether it was measured on this
version. ``NAME ...`` runs the commands of these figures, ``all`` runs them all one after another, ``--short``
a form of each that takes a minute or less and shows that it runs, not what it gives; ``--dry`` only tells
what would run. Published sets need ``--folder``, peers the extra ``bench``; what is missing is told and left
out.

``NOW`` figures are of this version; ``OLD`` ones of an earlier engine or page, as their page says, and are to
be measured again before they are quoted.
"""

from __future__ import annotations

import argparse
import os
import shlex
import subprocess
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).parents[2]
BENCHMARKS, RESULTS, README = "docs/benchmarks.md", "docs/results.md", "README.md"


class Of(StrEnum):
    """Which version a figure was measured on."""

    NOW = "this version"
    OLD = "an earlier version"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure or a table of figures.

    Attributes
    ----------
    name
        What it is asked for by.
    page
        Where it is told, word for word by its command.
    command, short
        What makes it, and what shows in a minute that it would.
    of
        Which version it is of.
    needs
        ``folder``, or a package that must be installed.
    """

    name: str
    page: str
    command: str
    short: str
    of: Of = Of.NOW
    needs: tuple[str, ...] = ()


_B = "python -m tests.benchmarks"
_SECOND = "--time-limit 1 --workers 2"
_HARDEST = "prints/9 prints/10 prints/12 prints/31 prints/36 prints/57 prints/59"
_PEERS = "--against rectpack,packingsolver,rule-of-thumb"
_SMALL = (
    "'phased_planted/C0?_020*' 'phased_planted/C0?_040*' 'phased_planted/C10_040*' "
    "'phased_planted/C[1-3]P?_rep*' 'phased_planted/BKW_N[134]_*' 'phased_planted/[NT]1?_rep*'"
)
_LARGE = (
    "'phased_planted/C0?_060*' 'phased_planted/C0?_080*' 'phased_planted/C0?_100*' "
    "'phased_planted/C[4-6]P?_rep*' 'phased_planted/BKW_N[67]_*' 'phased_planted/BKW_N9_*' "
    "'phased_planted/BKW_N1[01]_*'"
)
_FIRST = "'prints/?' 'prints/1[0-2]' 'rooms/?' 'rooms/1[0-2]'"
_ROOMS = "rooms/8 rooms/12 rooms/22 rooms/36 rooms/48 rooms/55 prints/54"
_PRINTS = "prints/17 prints/33 prints/41 prints/44 prints/51 prints/60"
_ASKED = "--time-limit 6 --workers 2 --moments 3 --presses 2"
_ONCE = "--time-limit 2 --moments 1 --presses 1"
_AH = "'ah/AH0*' ah/AH101 ah/AH105 ah/AH109 ah/AH113 ah/AH117"


def _told_in(page: str, of: Of, rows: Iterable[tuple[str, ...]]) -> Iterator[Figure]:
    """Figures of one page and version: ``(name, command, short form, what it needs ...)``."""
    for name, command, short, *needs in rows:
        yield Figure(name, page, command, short, of, tuple(needs))


FIGURES: tuple[Figure, ...] = (
    *_told_in(README, Of.NOW, [
        ("samples", "python -m pytest tests/test_readme.py -m 'nightly or not nightly'",
         "python -m pytest tests/test_readme.py"),
    ]),
    *_told_in(RESULTS, Of.NOW, [
        ("known", f"{_B}.best_known table", f"{_B}.best_known table"),
        ("verified", f"{_B}.best_known verify", f"{_B}.best_known verify 'prints/1?' remnants/1"),
        ("profile", f"{_B}.profiles run {_FIRST} --budgets 0.3 --peers rectpack --csv profile.csv",
         f"{_B}.profiles run prints/1 --budgets 0.1 --peers rectpack --csv short.csv", "rectpack"),
        ("over-time", f"{_B}.profiles watch {_FIRST} --work-limit 0.5 --csv over-time.csv",
         f"{_B}.profiles watch prints/1 --work-limit 0.1 --csv short-time.csv"),
    ]),
    *_told_in(BENCHMARKS, Of.NOW, [
        ("large", f"{_B}.large_jobs", f"{_B}.large_jobs nook import"),
        ("first-answers", f"{_B}.first_answers --times 10", f"{_B}.first_answers --times 1 --windows 1"),
        ("fuzz-selections", "python -m tests.fuzz selections --cases 2000",
         "python -m tests.fuzz selections --cases 20"),
        ("fuzz-bands", "python -m tests.fuzz bands --cases 1700", "python -m tests.fuzz bands --cases 20"),
        ("fuzz-options", "python -m tests.fuzz options --cases 359",
         "python -m tests.fuzz options --cases 20"),
        ("fuzz-proofs", "python -m tests.fuzz proofs --cases 600", "python -m tests.fuzz proofs --cases 10"),
    ]),
    *_told_in(BENCHMARKS, Of.OLD, [
        ("whole", f"{_B} prints rooms --whole --time-limit 10 --workers 2",
         f"{_B} prints/1 rooms/1 --whole {_SECOND}"),
        ("whole-hardest", f"{_B} {_HARDEST} --whole --time-limit 10 --workers 2",
         f"{_B} prints/9 --whole {_SECOND}"),
        ("whole-later", f"{_B} prints --whole --later 40 --time-limit 10 --workers 2",
         f"{_B} prints/1 --whole --later 2 {_SECOND}"),
        ("rooms", f"{_B} rooms --time-limit 10 --workers 2", f"{_B} rooms/1 {_SECOND}"),
        ("prints", f"{_B} prints --time-limit 10 --workers 2", f"{_B} prints/1 {_SECOND}"),
        ("peers", f"{_B} rooms prints --time-limit 10 --workers 2 {_PEERS}",
         f"{_B} rooms/1 prints/1 {_SECOND} {_PEERS}", "rectpack", "packingsolver"),
        ("plain-cpsat", f"{_B} rooms prints --time-limit 10 --workers 1 --against plain-cpsat",
         f"{_B} rooms/1 prints/1 {_SECOND} --against plain-cpsat"),
        ("hotel", f"{_B} hotel --time-limit 60 --workers 2 --plot hotel.png", f"{_B} hotel/1 {_SECOND}"),
        ("flags", f"{_B}.flags --time-limit 6 --workers 2",
         f"{_B}.flags rooms/7 --time-limit 1 --workers 2"),
        ("answering", f"{_B}.answering --time-limit 6 --moments 4 --presses 2",
         f"{_B}.answering rooms/1 {_ONCE}"),
        ("answering-rooms", f"{_B}.answering {_ROOMS} {_ASKED}", f"{_B}.answering rooms/8 {_ONCE}"),
        ("answering-prints", f"{_B}.answering {_PRINTS} {_ASKED}", f"{_B}.answering prints/17 {_ONCE}"),
        ("packet-1", f"{_B}.packet_time 1", f"{_B}.packet_time 1"),
        ("packet-20", f"{_B}.packet_time 20", f"{_B}.packet_time 2"),
        ("packet-60", f"{_B}.packet_time 60", f"{_B}.packet_time 2"),
        ("page", "python -m tests.load", "python -m tests.load --seconds 5 --count 20 --starts 1"),
        ("fuzz-rows", "python -m tests.fuzz rows --cases 20000", "python -m tests.fuzz rows --cases 20"),
        ("fuzz-certificates", "python -m tests.fuzz certificates --cases 2000",
         "python -m tests.fuzz certificates --cases 20"),
        ("fuzz-short", "python -m tests.fuzz short --cases 200", "python -m tests.fuzz short --cases 2"),
        ("fuzz-jobs", "python -m tests.fuzz jobs --cases 200 --beside 4",
         "python -m tests.fuzz jobs --cases 2"),
        ("kills", "python -m tests.kills --count 60", "python -m tests.kills --count 1"),
    ]),
    # Published sets are no part of this tree; the form of their files is that of `instances`.
    *_told_in(BENCHMARKS, Of.OLD, [
        ("c-0", f"{_B} 'c/C*' --time-limit 60 --workers 2 --seed 0", f"{_B} c/C1P1 {_SECOND}", "folder"),
        ("c-1", f"{_B} 'c/C*' --time-limit 60 --workers 2 --seed 1", f"{_B} c/C1P1 {_SECOND}", "folder"),
        ("c-2", f"{_B} 'c/C*' --time-limit 60 --workers 2 --seed 2", f"{_B} c/C1P1 {_SECOND}", "folder"),
        ("bkw", f"{_B} bkw --time-limit 60 --workers 2", f"{_B} bkw/BKW_N1 {_SECOND}", "folder"),
        ("gcut", f"{_B} gcut --time-limit 60 --workers 2", f"{_B} gcut/gcut01 {_SECOND}", "folder"),
        ("planted-small", f"{_B} {_SMALL} --time-limit 30 --workers 2",
         f"{_B} 'phased_planted/C1P1_rep*' {_SECOND}", "folder"),
        ("planted-large", f"{_B} {_LARGE} --time-limit 30 --workers 1",
         f"{_B} 'phased_planted/C4P1_rep*' {_SECOND}", "folder"),
        ("ah", f"{_B} {_AH} --time-limit 20 --workers 1", f"{_B} ah/AH001 {_SECOND}", "folder"),
        ("small-classics", f"{_B} beng cgcut ngcut gcut/gcut04 --time-limit 60 --workers 1",
         f"{_B} ngcut/ngcut01 {_SECOND}", "folder"),
    ]),
)  # fmt: skip

BY_NAME = {figure.name: figure for figure in FIGURES}


def missing(figure: Figure, folder: str | None) -> list[str]:
    """What a figure needs and is not there."""
    return [need for need in figure.needs if (not folder if need == "folder" else find_spec(need) is None)]


def command_of(figure: Figure, short: bool, folder: str | None) -> list[str]:
    """The command as a list of words, run by this Python."""
    words = shlex.split(figure.short if short else figure.command)
    words[0] = sys.executable
    if "folder" in figure.needs and folder:
        words += ["--folder", folder]
    return words


def listed() -> str:
    """A line for each figure."""
    row = "{:<20} {:<20} {:<20} {}"
    lines = [row.format("figure", "told in", "measured on", "command")]
    lines += [row.format(each.name, each.page, each.of, each.command) for each in FIGURES]
    return "\n".join(lines)


def run(figures: Sequence[Figure], short: bool, folder: str | None, dry: bool) -> int:
    """How many of the commands failed; what lacks something is told and left out."""
    failed = list[str]()
    for figure in figures:
        if lacks := missing(figure, folder):
            print(f"== {figure.name}: left out, for it needs {' and '.join(lacks)}", flush=True)
            continue
        words = command_of(figure, short, folder)
        print(f"== {figure.name}, told in {figure.page}: {shlex.join(['python', *words[1:]])}", flush=True)
        if not dry and subprocess.run(words, cwd=ROOT, check=False).returncode:
            failed.append(figure.name)
    if failed:
        print(f"failed: {', '.join(failed)}", file=sys.stderr)
    return len(failed)


def main(arguments: Sequence[str] | None = None) -> int:
    """0 when all ran, 1 when one failed, 2 when one is not of the list."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.record",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("names", nargs="*", metavar="NAME", help="figures of the list, or: all")
    parser.add_argument("--short", action="store_true", help="a form of each of a minute or less")
    parser.add_argument("--folder", default=os.environ.get("NESTING_BENCHMARKS"), help="of published sets")
    parser.add_argument("--dry", action="store_true", help="tell, run nothing")
    asked = parser.parse_intermixed_args(arguments)
    if not asked.names:
        print(listed())
        return 0
    names = list(BY_NAME) if asked.names == ["all"] else asked.names
    for name in names:
        if name not in BY_NAME:
            print(
                f"{name}: no figure of this name: expected all, or of {', '.join(BY_NAME)}", file=sys.stderr
            )
            return 2
    return 1 if run([BY_NAME[name] for name in names], asked.short, asked.folder, asked.dry) else 0


if __name__ == "__main__":
    sys.exit(main())
