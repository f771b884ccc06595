"""The best layouts and bounds known: ``python -m tests.benchmarks.best_known WHAT [INSTANCE ...]``.

make
    Writes the files of families anew from the generator; what is known of an instance that is still the
    same stays.
verify
    Replays every layout and every certificate from the files alone.
improve
    Searches on. A layout replaces the one known only where it is better and keeps all rules, a bound only
    where it is higher or comes with the certificate that was missing. Each run is written down, and one of
    the same work and seed is not made twice: it may be ended and begun again at any time.
certify
    Looks for a bound that replays where none does.
table
    What is known, a line for each family: how many are closed, how many of these by a bound that replays,
    the mean gap to the highest bound and to the highest that replays (of how many, where some have none).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path

from nesting.errors import ProblemError
from nesting.locking import locked
from tests.benchmarks.set_entries import Entry, Family
from tests.benchmarks.set_families import ABOUT, FAMILIES, generated
from tests.benchmarks.set_files import FOLDER, load, path_of, stored, write
from tests.benchmarks.set_judging import faults
from tests.benchmarks.set_search import better_of, searched, sure_claims

_ROW = "| {} | {} | {} | {} | {} | {} | {} | {} |"
#: Seconds that one process waits for another that is writing.
PATIENCE = 60.0


def make(family: str, folder: Path) -> None:
    """The file of a family anew; what is known stays where the problem did."""
    before = {entry.name: entry for entry in load(family, folder).entries} if _there(family, folder) else {}
    entries = list[Entry]()
    for number in FAMILIES[family][0]:
        entry = generated(family, number)
        known = before.get(entry.name)
        if known is not None and known.problem == entry.problem:
            entry = replace(entry, known=known.known, bounds=known.bounds, runs=known.runs)
        entries.append(entry)
    write(Family(family, ABOUT[family], tuple(entries)), folder)
    print(f"{path_of(family, folder).name}: {len(entries)} instances", flush=True)


def _there(family: str, folder: Path) -> bool:
    return path_of(family, folder).exists()


def chosen(patterns: Sequence[str], folder: Path) -> Iterator[Entry]:
    """Entries of families (``prints``), or by number (``prints/7``); all without a pattern."""
    for family in stored(folder):
        if not patterns or any(pattern.partition("/")[0] == family for pattern in patterns):
            for entry in load(family, folder).entries:
                place = f"{family}/{entry.name}"
                if not patterns or any(p == family or fnmatchcase(place, p) for p in patterns):
                    yield entry


def verify(patterns: Sequence[str], folder: Path) -> int:
    """How many of these do not hold; each is told."""
    layouts = certificates = broken = 0
    began = time.process_time()
    for entry in chosen(patterns, folder):
        layouts += entry.known is not None
        certificates += sum(claim.certificate is not None for claim in entry.bounds)
        for fault in faults(entry):
            broken += 1
            print(f"{entry.family}/{entry.name}: {fault}", flush=True)
    took = time.process_time() - began
    print(f"{layouts} layouts, {certificates} certificates, {broken} faults, {took:.0f} s of processor time")
    return broken


def improve(
    patterns: Sequence[str], folder: Path, work: float, seed: int, until: float, closed: bool
) -> None:
    """One run on each of these that is open, while there is time; the file is written after each."""
    for entry in chosen(patterns, folder):
        if time.monotonic() >= until:
            print("the time is over: begin again to go on", flush=True)
            return
        # Read anew, for others may be at work on the same file.
        now = next(each for each in load(entry.family, folder).entries if each.name == entry.name)
        if any((run.work, run.seed) == (work, seed) for run in now.runs) or (now.closed and not closed):
            continue
        kept(searched(now, work, seed), folder)


def certify(patterns: Sequence[str], folder: Path) -> None:
    """A bound that replays for each that has none; runs as short as these are not written down."""
    for entry in chosen(patterns, folder):
        if not entry.replayed and (claims := sure_claims(entry)):
            kept(replace(entry, known=None, bounds=tuple(claims), runs=()), folder)


def kept(found: Entry, folder: Path) -> None:
    """Put what was found into the file, where it is better and holds."""
    place = f"{found.family}/{found.name}"
    # Of several at work one writes at a time, into what the others have written since.
    with locked(Path(tempfile.gettempdir()) / f"nesting-set-{found.family}.lock", PATIENCE):
        family = load(found.family, folder)
        now = next(each for each in family.entries if each.name == found.name)
        made = better_of(now, found)
        if wrong := faults(made):
            raise ProblemError(f"{place}: not kept: {'; '.join(wrong[:3])}")
        entries = tuple(made if each.name == found.name else each for each in family.entries)
        write(replace(family, entries=entries), folder)
    print(f"{place}: {_told(now)} -> {_told(made)}", flush=True)


def _told(entry: Entry) -> str:
    length = "-" if entry.known is None else str(entry.known.length)
    return f"{length} / {entry.bound}"


def table(patterns: Sequence[str], folder: Path) -> str:
    """Of each family, and of rooms and prints by windows: closed, re-proved, mean gaps in percent."""
    names = (
        "instances",
        "laid",
        "closed",
        "by a certificate",
        "mean gap %",
        "by certificates %",
        "work spent",
    )
    lines = [_ROW.format("family", *names), _ROW.format(*["---"] * 8).replace(" ", "")]
    entries = list(chosen(patterns, folder))
    for family in dict.fromkeys(entry.family for entry in entries):
        mine = [entry for entry in entries if entry.family == family]
        if family in ("rooms", "prints"):
            for low, high in ((1, 3), (4, 6), (7, 12)):
                some = [entry for entry in mine if low <= entry.windows <= high]
                lines += [_line(f"{family}, {low}-{high} windows", some)] if some else []
        lines.append(_line(family, mine))
    return "\n".join(lines)


def _line(name: str, entries: Sequence[Entry]) -> str:
    laid = [entry for entry in entries if entry.known is not None]
    return _ROW.format(
        name,
        len(entries),
        len(laid),
        sum(entry.closed for entry in entries),
        sum(entry.closed_by_certificate for entry in entries),
        _mean([_gap(entry, entry.bound) for entry in laid]),
        _mean([_gap(entry, entry.replayed) for entry in laid]),
        f"{sum(run.work for entry in entries for run in entry.runs):.0f}",
    )


def _gap(entry: Entry, bound: int) -> float | None:
    """In percent of the bound; None where there is none, or where several objectives count."""
    if entry.known is None or entry.known.goals or not bound:
        return None
    return 100 * (entry.known.length - bound) / bound


def _mean(gaps: Sequence[float | None]) -> str:
    """Of those that have one; how many these are, where some have none."""
    known = [gap for gap in gaps if gap is not None]
    if not known:
        return "-"
    some = "" if len(known) == len(gaps) else f" ({len(known)})"
    return f"{sum(known) / len(known):.2f}{some}"


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.best_known",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("what", choices=("make", "verify", "improve", "certify", "table"))
    parser.add_argument("instances", nargs="*", help="families or instances: prints, 'rooms/1?'; all without")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="of the files")
    parser.add_argument("--work-limit", type=float, default=10.0, help="units of work of each run")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=10.0, help="begin no run after so long")
    parser.add_argument("--closed", action="store_true", help="search what is closed too")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """0 when all is well, 1 when something does not hold, 2 when nothing was named or a file is no file."""
    asked = _arguments().parse_intermixed_args(arguments)
    try:
        if asked.what == "make":
            for family in asked.instances or FAMILIES:
                if family not in FAMILIES:
                    raise ProblemError(f"{family}: expected one of {', '.join(FAMILIES)}")
                make(family, asked.folder)
            return 0
        if not list(chosen(asked.instances, asked.folder)):
            raise ProblemError(f"{asked.instances}: names no instance: expected {', '.join(stored())}")
        if asked.what == "verify":
            return 1 if verify(asked.instances, asked.folder) else 0
        if asked.what == "improve":
            until = time.monotonic() + 60 * asked.minutes
            improve(asked.instances, asked.folder, asked.work_limit, asked.seed, until, asked.closed)
        elif asked.what == "certify":
            certify(asked.instances, asked.folder)
        else:
            print(table(asked.instances, asked.folder))
    except ProblemError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
