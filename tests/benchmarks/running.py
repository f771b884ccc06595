"""One instance packed in a process of its own, so that its memory is its own and a crash costs no more."""

from __future__ import annotations

import multiprocessing
import resource
import sys
import time
import traceback
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from nesting.check import check_layout
from nesting.packing import Result, Status, pack
from tests.benchmarks.instances import Instance

#: A run is given up after this many times its limit of time, and a minute.
PATIENCE = 3


@dataclass(frozen=True, slots=True)
class Effort:
    """What each instance may cost; see `nesting.packing.pack`."""

    time_limit: float = 10.0
    workers: int = 1
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Run:
    """What came of one instance.

    Attributes
    ----------
    fault
        What is wrong with the outcome: a broken rule, a bound that cannot be, a crash; empty where all is
        well.
    seconds
        From the call to its return, by the clock.
    memory
        The most the process held, in MB.
    """

    instance: Instance
    length: int | None = None
    bound: int = 0
    method: str = ""
    bound_method: str = ""
    status: str = "crashed"
    stop: str = ""
    seconds: float = 0.0
    memory: float = 0.0
    fault: str = ""


def run(instance: Instance, effort: Effort) -> Run:
    """Pack it apart, wait for it, and judge what comes back."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_apart, args=(there, instance, effort))
    started = time.monotonic()
    process.start()
    there.close()
    try:
        if here.poll(PATIENCE * effort.time_limit + 60):
            outcome = here.recv()
            return outcome if isinstance(outcome, Run) else Run(instance, fault=str(outcome))
        fault = "no end in sight"
    except EOFError:
        process.join()
        fault = f"the process ended by itself, code {process.exitcode}"
    finally:
        process.kill()
        process.join()
    return Run(instance, seconds=time.monotonic() - started, fault=fault)


def _apart(answer: Connection, instance: Instance, effort: Effort) -> None:
    try:
        answer.send(packed(instance, effort))
    except BaseException:  # whatever it was, it belongs into the row of this instance
        answer.send(traceback.format_exc(limit=-3))


def packed(instance: Instance, effort: Effort) -> Run:
    """Pack and check in this process."""
    started = time.monotonic()
    result = pack(instance.problem, time_limit=effort.time_limit, workers=effort.workers, seed=effort.seed)
    seconds, memory = time.monotonic() - started, _peak()
    found = [now.method for now in result.incumbents if now.length == result.length]
    return Run(
        instance,
        result.length,
        result.bound.length,
        found[0] if found else "",
        result.bound.method,
        str(result.status),
        str(result.stop),
        seconds,
        memory,
        "; ".join(_faults(instance, result)),
    )


def _faults(instance: Instance, result: Result) -> list[str]:
    """Broken rules, and figures that contradict what is known."""
    faults = []
    if result.length is not None:
        broken = check_layout(instance.problem, result.placements, result.length, result.bound.length)
        faults += [str(violation) for violation in broken[:3]]
        if instance.lower_bound is not None and result.length < instance.lower_bound:
            faults.append(f"length {result.length} is below the published bound {instance.lower_bound}")
    if instance.best_known is not None and result.bound.length > instance.best_known:
        faults.append(f"bound {result.bound.length} is above the published layout {instance.best_known}")
    if result.status is Status.INFEASIBLE:
        faults.append("called infeasible")
    return faults


def _peak() -> float:
    """The most memory this process held, in MB."""
    status = Path("/proc/self/status")
    if status.exists():
        # What getrusage says there starts at the size of the parent process.
        kept = dict(line.split(":", 1) for line in status.read_text(encoding="ascii").splitlines())
        return int(kept["VmHWM"].split()[0]) / 1024
    unit = 1024**2 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
