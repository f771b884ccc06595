"""How much the page takes on. A larger job belongs on the command line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from nesting.errors import Fault

#: Bytes of a posted form or file: some twenty times the largest job the page takes.
MOST_BYTES: Final = 512 * 1024
#: Bytes of a file that is opened, which may be a plan with its pictures; of a plan once it is unpacked; and
#: pieces of one.
MOST_OPENED: Final = 4 * 1024**2
MOST_PLAN: Final = 8 * 1024**2
MOST_PLANNED: Final = 2_000
#: Rules told that such a plan breaks, and letters of one.
MOST_BROKEN: Final = 8
MOST_TOLD_LETTERS: Final = 600
#: Entries of a posted form, letters of one, and letters of its name.
MOST_FIELDS: Final = 12_000
MOST_LETTERS: Final = 400
MOST_IN_NAME: Final = 400

#: Rows of each kind in a job.
MOST_ROWS: Final[Mapping[str, int]] = {
    "window": 40, "extra": 60, "fabric": 10, "bolt": 10, "on_hand": 12, "flaws": 12, "band": 6, "tieback": 6,
}  # fmt: skip
OTHER_ROWS: Final = 24
#: Entries of a job file, rows of all its lists, and how deep its tables stand in one another.
MOST_KEYS: Final = 4_000
MOST_ALL_ROWS: Final = 600
MOST_DEPTH: Final = 12
#: Faults and notes shown at a time; the rest come when these are put right.
MOST_FAULTS: Final = 60
#: Lines of arithmetic shown; a job of the page's size has some hundreds.
MOST_SUMS: Final = 1_500
#: Copies of a window, an extra or anything else.
MOST_COUNT: Final = 500

#: Seconds: for the head of a request, for its body, for a reader of an answer.
HEAD_SECONDS: Final = 10.0
BODY_SECONDS: Final = 15.0
READER_SECONDS: Final = 30.0
#: Seconds for the sums of a job, after which they are given up.
SUMS_SECONDS: Final = 2.0
#: Seconds for a first layout while a job is typed, drawing and waiting for one's turn included.
FIRST_SECONDS: Final = 20.0
#: Other ways to make a job that are tried and that are shown, pieces of a job beyond which none is, and the
#: seconds of search for each: no longer than the pause after which typing is answered.
MOST_ALTERNATIVES: Final = 12
MOST_SIDE_BY_SIDE: Final = 7
MOST_WEIGHED: Final = 80
WEIGHING_SECONDS: Final = 0.35
#: Seconds to read an uploaded file, and to hand a calculating process what it is asked.
READING_SECONDS: Final = 5.0
SENDING_SECONDS: Final = 15.0
#: Letters of a job file up to which the page itself writes changes into it; longer ones are written apart.
SMALL: Final = 24 * 1024
#: Seconds to work out what each answer to a question would cost, after which no amounts are shown.
ASKING_SECONDS: Final = 60.0
#: Seconds to make a handout of a lesson, a slow machine's start of a process included.
LESSON_SECONDS: Final = 60.0
#: Connections at a time; more are turned away at once.
MOST_CONNECTIONS: Final = 600

#: Seconds of search that can be asked for, and units of work.
MOST_SECONDS: Final = 600
MOST_WORK: Final = 2_000
#: Seconds at most to look for small changes that would save fabric, once a plan is there.
WHAT_IF_SECONDS: Final = 20.0
#: Solves that may wait, and finished ones that are remembered.
MOST_WAITING: Final = 12
#: Plans whose printing may stand still for others that wait, each a process in memory; then one is printed.
MOST_STANDING: Final = 4
MOST_KEPT: Final = 16
#: Bytes of answers that are remembered since they depend on a form alone.
MOST_ANSWERS: Final = 24 * 1024**2
#: Points of the course of a search that are kept; of more, every second one goes.
MOST_POINTS: Final = 400
#: Copies that have a card of their own on the page of a plan, a job of the page's size has some hundreds;
#: windows of a print that are drawn as they hang.
MOST_CARDS: Final = 1_200
MOST_HUNG: Final = 24
#: Further widths in one comparison.
MOST_WIDTHS: Final = 12
#: Flaws that can be entered at a time at the table, and repeats that are measured as one length.
MOST_FLAWS: Final = 4
MOST_REPEATS: Final = 50
#: Jobs that are kept on disk, and removed ones that can be brought back.
MOST_JOBS: Final = 50
MOST_REMOVED: Final = 20
#: Bytes of one of their files, and of all: no more jobs than that has room for, but for the latest ones.
#: Seconds to wait for another server, which writes one file. Letters of a title or a fabric on their list.
MOST_IN_FILE: Final = 2 * MOST_BYTES
MOST_ON_SHELF: Final = 48 * 1024**2
LEAST_JOBS: Final = 20
SHELF_SECONDS: Final = 3.0
MOST_LISTED_LETTERS: Final = 120
#: Wrong codes of a phone after which the one on offer is withdrawn.
MOST_GUESSES: Final = 30
#: Where others wait, a search nobody has looked at for so many seconds stops with the best it has; a page
#: that was left has this many to come back.
PATIENCE: Final = 20.0
GRACE: Final = 4.0
#: Bytes of memory of a solve, and of the process that does the sums.
SOLVE_MEMORY: Final = 6 * 1024**3
SUMS_MEMORY: Final = 2 * 1024**3
#: Seconds beyond the search that a solve may take to cut, check, draw and print.
SOLVE_SLACK: Final = 180
#: Lower priority than the page: it answers while a solve has all cores. The sums come between the two.
NICE: Final = 15
NICE_SUMS: Final = 5
#: A small job to work out before anybody waits: it brings in all that sums and a plan need.
WARM: Final[Mapping[str, Any]] = {
    "fabric": {"face": {"bolt": [{"width": 54}]}},
    "window": [{"name": "Window", "rod": 40, "finished_length": 60}],
}


def over_limits(table: Mapping[str, Any]) -> tuple[Fault, ...]:
    """What of a job is more than the page takes on."""
    return tuple(_over(table, ()))


def _over(table: Mapping[str, Any], at: tuple[str | int, ...]) -> Iterator[Fault]:
    for key, value in table.items():
        place = (*at, key)
        if isinstance(value, list):
            yield from _too_many(key, len(value), place)
            for number, row in enumerate(value):
                if isinstance(row, Mapping):
                    yield from _over(row, (*place, number))
        elif isinstance(value, Mapping):
            if key == "fabric" and not at:
                yield from _too_many(key, len(value), place)
            yield from _over(value, place)
        elif key == "count" and isinstance(value, int) and value > MOST_COUNT:
            yield _fault(place, str(value), f"at most {MOST_COUNT} on this page")


def _too_many(key: str, count: int, place: tuple[str | int, ...]) -> Iterator[Fault]:
    most = MOST_ROWS.get(key, OTHER_ROWS)
    if count > most:
        yield _fault(place, str(count), f"at most {most} on this page")


def _fault(place: tuple[str | int, ...], value: str, expected: str) -> Fault:
    shown = ": ".join(str(step + 1) if isinstance(step, int) else step for step in place)
    remedy = f"{expected}; for more, save the job and use the command line: nesting plan JOB.toml"
    return Fault(shown, value, remedy, place)
