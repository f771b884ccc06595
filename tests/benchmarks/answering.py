"""How soon the engine answers: ``python -m tests.benchmarks.answering [INSTANCE ...]``.

The engine calls an observer about ten times a second, and ends when the observer returns False or somebody
presses Ctrl-C. Measured, each run in a process of its own:

progress
    The intervals between two calls, from the start to the first call and from the last call to the return.
    Beside the share of intervals within `SOON` stands the share of moments that have a call within it: of an
    interval of 10 s most moments have none, though it is one among a hundred.
interruption
    From a moment drawn at random to the return of `pack`, once where the observer returns False at its first
    call after that moment, once where the process is sent SIGINT then.
stage
    Of each interval: what of the engine was met most often by a thread that looks every `LOOK` seconds.
work
    Beside the clock stands the processor time of the process in the interval, where that is less: about what
    the interval would take were nobody else at work on the machine.

Beside the families there are ``choices/1`` to ``choices/60``, the rooms with halves offered for some parts,
and ``across/rooms/1``, ``across/prints/1`` and so on, packed to be cut across first.
"""

from __future__ import annotations

import argparse
import itertools
import math
import os
import signal
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from random import Random
from types import FrameType

import nesting.packing
from nesting.packing import Bound, Choice, Incumbent, Observer, Problem, Result, pack, pack_across
from tests.benchmarks.families import SIZES, generated, make
from tests.benchmarks.instances import Instance, carried, wanted
from tests.benchmarks.processes import ProcessError, apart, peak_memory

#: Seconds in which an answer is promised.
SOON = 0.5
#: Seconds between two looks at what is at work.
LOOK = 0.05
#: So many of the innermost functions name a stage.
DEPTH = 3
#: Covers plain and printed fabric, few and many parts, large problems, lengths on hand, and choices.
DEFAULT = (
    *("rooms/1", "rooms/10", "rooms/12", "rooms/22"),
    *("prints/5", "prints/10", "prints/11", "prints/24"),
    *("hotel/1", "hotel/3", "hotel/8", "hotel/24"),
    *("remnants/2", "remnants/9", "remnants/12"),
    *("choices/8", "choices/12", "across/rooms/12", "across/prints/10"),
)
ACROSS = "across"
_ENGINE = str(Path(nesting.packing.__file__).parent)
_ROW = "{:<16} {:>6} {:>6} {:>8} {:>8} {:>7} {:>7}   {:>5} {:>8} {:>7}   {:>5} {:>8} {:>7} {:>4} {:>6}"


@dataclass(frozen=True, slots=True)
class Wait:
    """Seconds without an answer, the stage that was at work, and the processor time that it took."""

    seconds: float
    stage: str
    work: float = math.inf


@dataclass(frozen=True, slots=True)
class Answers:
    """What was measured of one instance.

    Attributes
    ----------
    progress
        Each interval of one run.
    asked, pressed
        Each interruption by the observer and by SIGINT; those that came too late are left out.
    lost
        Of ``pressed``, those at which `pack` handed on the interrupt instead of a result.
    memory
        The most the process held in the run of ``progress``, in MB.
    """

    name: str
    parts: int
    progress: tuple[Wait, ...] = ()
    asked: tuple[Wait, ...] = ()
    pressed: tuple[Wait, ...] = ()
    lost: int = 0
    memory: float = 0.0
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Asking:
    """How each instance is run.

    Attributes
    ----------
    moments, presses
        How often an end is asked for by the observer, and by SIGINT.
    across
        Cut across first.
    """

    time_limit: float = 10.0
    workers: int = 1
    seed: int = 0
    moments: int = 6
    presses: int = 2
    across: bool = False


class Sampler:
    """A thread that looks at what the thread that made it is doing; a context manager."""

    def __init__(self) -> None:
        self._watched = threading.get_ident()
        self._seen: list[tuple[float, str, float]] = []
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)

    def __enter__(self) -> Sampler:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _look(self) -> None:
        while not self._over.wait(LOOK):
            frame = sys._current_frames().get(self._watched)
            self._seen.append((time.monotonic(), stage_of(frame), time.process_time()))

    def between(self, start: float, end: float) -> str:
        """The stage met most often; of an interval too short for a look, that of the next one."""
        met = [stage for at, stage, _ in self._seen if start <= at <= end]
        met = met or [stage for at, stage, _ in self._seen if at > end][:1]
        return Counter(met).most_common(1)[0][0] if met else "not seen"

    def wait(self, moment: float, end: float, spent: float) -> Wait:
        """From a moment to an end by which so much was spent; work counts from the look before it."""
        time.sleep(2 * LOOK)  # so that the end of the interval has been looked at
        before = [work for at, _, work in self._seen if at <= moment]
        return Wait(end - moment, self.between(moment, end), spent - (before[-1] if before else 0.0))


def stage_of(frame: FrameType | None) -> str:
    """``module:function`` of the innermost frames within the engine, the caller first."""
    stages: list[str] = []
    while frame is not None and len(stages) < DEPTH:
        code = frame.f_code
        if code.co_filename.startswith(_ENGINE):
            stages.append(f"{Path(code.co_filename).stem}:{code.co_name}")
        frame = frame.f_back
    return " > ".join(reversed(stages)) or "outside"


def progress_of(problem: Problem, asking: Asking) -> tuple[list[Wait], float]:
    """Each interval of one run, and the most memory held, in MB."""
    times = list[tuple[float, float]]()

    def tick(now: Incumbent | None = None) -> None:
        times.append((time.monotonic(), time.process_time()))

    with Sampler() as sampler:
        tick()
        _run(problem, asking, tick)
        tick()
        time.sleep(2 * LOOK)  # so that the last interval has been looked at
    waits = [
        Wait(end - start, sampler.between(start, end), spent - before)
        for (start, before), (end, spent) in itertools.pairwise(times)
    ]
    return waits, peak_memory()


def asked(problem: Problem, asking: Asking, after: float) -> Wait | None:
    """From a moment to the return, the observer asking for an end from then on; None if it came too late."""
    with Sampler() as sampler:
        moment = time.monotonic() + after
        _run(problem, asking, lambda now: time.monotonic() < moment)
        wait = sampler.wait(moment, time.monotonic(), time.process_time())
    return wait if wait.seconds >= 0 else None


def pressed(problem: Problem, asking: Asking, after: float) -> tuple[Wait, bool] | None:
    """The same by SIGINT, and whether there was a result."""
    kept = False
    with Sampler() as sampler:
        moment = time.monotonic() + after
        # A moment near the start may come before the run has begun.
        with suppress(KeyboardInterrupt), _signal_at(moment) as over:
            _run(problem, asking, lambda now: None)
            over.set()
            kept = True
        end, spent = time.monotonic(), time.process_time()
        wait = sampler.wait(moment, end, spent)
    return (wait, kept) if wait.seconds >= 0 else None


def _run(problem: Problem, asking: Asking, observer: Observer) -> Result:
    engine = partial(pack_across, free=Bound(0, "nothing is shorter")) if asking.across else pack
    return engine(
        problem,
        time_limit=asking.time_limit,
        workers=asking.workers,
        seed=asking.seed,
        on_progress=observer,
    )


@contextmanager
def _signal_at(moment: float) -> Iterator[threading.Event]:
    """SIGINT to this process at the moment, as an interrupt; none once the event is set."""
    ready, over, before = threading.Event(), threading.Event(), signal.getsignal(signal.SIGINT)

    def interrupt(number: int, frame: FrameType | None) -> None:
        if not over.is_set():
            raise KeyboardInterrupt

    def press() -> None:
        ready.wait()
        if not over.wait(max(0.0, moment - time.monotonic())):
            os.kill(os.getpid(), signal.SIGINT)

    signal.signal(signal.SIGINT, interrupt)
    thread = threading.Thread(target=press, daemon=True)
    thread.start()
    try:
        ready.set()
        yield over
    finally:
        over.set()
        thread.join()
        signal.signal(signal.SIGINT, before)


def with_choices(instance: Instance, number: str, most: int = 6) -> Instance:
    """The same, with two halves offered for each of the widest parts that are laid upright."""
    problem = instance.problem
    parts, choices = list(problem.parts), list[Choice]()
    upright = [at for at, part in enumerate(parts) if not part.turnable and part.match is None]
    for at in sorted(upright, key=lambda at: (-parts[at].width, at))[:most]:
        part = parts[at]
        half = replace(part, name=f"{part.name}, half", width=-(-part.width // 2), copies=2 * part.copies)
        choices.append(Choice(part.name, ((at,), (len(parts),))))
        parts.append(half)
    return Instance("choices", number, replace(problem, parts=tuple(parts), choices=tuple(choices)))


def to_be_cut_across(family: str, number: int) -> Instance:
    """The instance of a family, in a set of its own."""
    return replace(make(family, number), set=ACROSS, name=f"{family}/{number}")


def known() -> Iterator[tuple[str, Callable[[], Instance]]]:
    """``(set/name, how to make it)``: the families, what the tests carry, and rooms with choices."""
    yield from generated()
    yield from carried()
    for number in range(1, SIZES["rooms"] + 1):
        yield f"choices/{number}", lambda number=number: with_choices(make("rooms", number), str(number))
    for family in ("rooms", "prints"):
        for number in range(1, SIZES[family] + 1):
            yield f"{ACROSS}/{family}/{number}", partial(to_be_cut_across, family, number)


def within(waits: Sequence[Wait]) -> float:
    """The share of the waits that are no longer than `SOON`, in percent."""
    return 100 * sum(wait.seconds <= SOON for wait in waits) / len(waits) if waits else math.nan


def moments_within(waits: Sequence[Wait]) -> float:
    """The share of all moments of the intervals from which the end is no further than `SOON`, in percent."""
    whole = sum(wait.seconds for wait in waits)
    return 100 * sum(min(wait.seconds, SOON) for wait in waits) / whole if whole else math.nan


def percentile(waits: Sequence[Wait], percent: float = 99.0) -> float:
    """The least number of seconds that so many percent of the waits do not exceed."""
    if not waits:
        return math.nan
    ordered = sorted(wait.seconds for wait in waits)
    return ordered[max(0, math.ceil(percent / 100 * len(ordered)) - 1)]


def longest(waits: Sequence[Wait]) -> float:
    """Seconds of the longest."""
    return max((wait.seconds for wait in waits), default=math.nan)


def undisturbed(waits: Sequence[Wait]) -> list[Wait]:
    """The waits as they would be on a machine where nobody else is at work."""
    return [replace(wait, seconds=min(wait.seconds, wait.work)) for wait in waits]


def stages(named: Sequence[tuple[str, Wait]], listed: int = 15) -> list[str]:
    """A line for each stage at which a wait was longer than `SOON`: how often, and the worst."""
    late: dict[str, list[tuple[float, str, float]]] = {}
    for name, wait in named:
        if wait.seconds > SOON:
            late.setdefault(wait.stage, []).append((wait.seconds, name, wait.work))
    lines = []
    for stage, met in sorted(late.items(), key=lambda each: -max(each[1])[0]):
        seconds, name, work = max(met)
        lines.append(f"    {len(met):3} times, worst {seconds:5.2f} s, work {work:5.2f} s, {name}: {stage}")
    return [*lines[:listed], *([f"    and {len(lines) - listed} more"] if len(lines) > listed else [])]


def heading() -> str:
    """Above the rows."""
    progress = ("calls", "soon %", "moments", "99 %", "worst")
    ended = ("ends", "soon %", "worst")
    return _ROW.format("instance", "parts", *progress, *ended, "^C", *ended[1:], "lost", "MB")


def row(answers: Answers) -> str:
    """One instance."""
    if answers.fault:
        return f"{answers.name:<16} {answers.parts:>6}  FAULT: {answers.fault}"
    progress = answers.progress
    return _ROW.format(
        answers.name,
        answers.parts,
        len(progress),
        f"{within(progress):.1f}",
        f"{moments_within(progress):.1f}",
        f"{percentile(progress):.2f}",
        f"{longest(progress):.2f}",
        len(answers.asked),
        f"{within(answers.asked):.1f}",
        f"{longest(answers.asked):.2f}",
        len(answers.pressed),
        f"{within(answers.pressed):.1f}",
        f"{longest(answers.pressed):.2f}",
        answers.lost,
        f"{answers.memory:.0f}",
    )


def summary(all_answers: Sequence[Answers]) -> str:
    """Over all instances: shares, 99th percentiles, and the longest waits with their stages."""
    lines = []
    for what in ("progress", "asked", "pressed"):
        named = [(answers.name, wait) for answers in all_answers for wait in getattr(answers, what)]
        waits = [wait for _, wait in named]
        lines.append(f"{what}: {len(waits)}")
        for speed, found in (("by the clock", waits), ("undisturbed", undisturbed(waits))):
            share = f"{moments_within(found):.2f} % of moments, " if what == "progress" else ""
            lines.append(
                f"  {speed}: within {SOON} s {share}{within(found):.2f} % of waits; "
                f"99 % within {percentile(found):.2f} s; worst {longest(found):.2f} s"
            )
        lines += stages(named)
    most = max((answers.memory for answers in all_answers), default=0.0)
    return "\n".join([*lines, f"lost: {sum(each.lost for each in all_answers)}; most memory {most:.0f} MB"])


def answers_of(instance: Instance, asking: Asking) -> Answers:
    """Each run in a process of its own, as a command is; a crash is a fault."""
    asking = replace(asking, across=instance.set == ACROSS)
    name, problem = f"{instance.set}/{instance.name}", instance.problem
    patience = 60 + 3 * asking.time_limit
    dice = Random(f"{name}/{asking.seed}")
    try:
        waits, memory = apart(progress_of, problem, asking, patience=patience)
        whole = sum(wait.seconds for wait in waits)
        ends = [
            apart(asked, problem, asking, dice.uniform(0, whole), patience=patience)
            for _ in range(asking.moments)
        ]
        keys = [
            apart(pressed, problem, asking, dice.uniform(0, whole), patience=patience)
            for _ in range(asking.presses)
        ]
    except ProcessError as failed:
        return Answers(name, problem.copies, fault=str(failed))
    met = [wait for wait in keys if wait is not None]
    return Answers(
        name,
        problem.copies,
        tuple(waits),
        tuple(wait for wait in ends if wait is not None),
        tuple(wait for wait, _ in met),
        sum(not kept for _, kept in met),
        memory,
    )


def _load() -> str:
    return "load average " + ", ".join(f"{load:.2f}" for load in os.getloadavg())


def _arguments() -> argparse.ArgumentParser:
    usual = Asking()
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.answering", description=__doc__)
    parser.add_argument("instances", nargs="*", metavar="INSTANCE", help=f"default: {', '.join(DEFAULT)}")
    parser.add_argument("--time-limit", type=float, default=usual.time_limit, metavar="S")
    parser.add_argument("--workers", type=int, default=usual.workers, metavar="N")
    parser.add_argument("--seed", type=int, default=usual.seed, metavar="N")
    parser.add_argument("--moments", type=int, default=usual.moments, metavar="N", help="ends asked for")
    parser.add_argument("--presses", type=int, default=usual.presses, metavar="N", help="times of Ctrl-C")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """0, or 1 after a fault, 2 when nothing was named."""
    said = _arguments().parse_args(arguments)
    chosen = list(wanted(known(), said.instances or DEFAULT))
    if not chosen:
        print(f"no instance is named by {said.instances}", file=sys.stderr)
        return 2
    asking = Asking(said.time_limit, said.workers, said.seed, said.moments, said.presses)
    print(f"{os.cpu_count()} cores, {_load()}", heading(), sep="\n", flush=True)
    rows = list[Answers]()
    try:
        for read in chosen:
            rows.append(answers_of(read(), asking))
            print(row(rows[-1]), flush=True)
    except KeyboardInterrupt:
        print("ended early", file=sys.stderr)
    print(summary(rows), _load(), sep="\n")
    return int(any(answers.fault for answers in rows))


if __name__ == "__main__":
    sys.exit(main())
