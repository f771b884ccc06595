"""One instance packed by ours and by its peers, in turn, each in a process of its own."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.check import check_bound, check_layout
from nesting.errors import ProblemError
from nesting.packing import Result, Status, pack
from nesting.packing.certifying import STAGE
from tests.benchmarks.instances import Instance
from tests.benchmarks.peers import RULE, PeerRun, run_peer
from tests.benchmarks.processes import ProcessError, apart, peak_memory

#: A run is given up after this many times its limit of time, and a minute.
PATIENCE = 3

#: The status of an instance with lengths on hand, where this version refuses them.
NOT_YET = "not packed yet"


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
    peers
        What the others made of it.
    reproved
        The bound has a certificate that replays.
    afterwards
        It was written down after the search, which had left none.
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
    peers: tuple[PeerRun, ...] = ()
    reproved: bool = False
    afterwards: bool = False


def run(instance: Instance, effort: Effort, peers: Sequence[str] = ()) -> Run:
    """Pack it apart, wait for it, and judge what comes back; then the peers, one after the other."""
    started = time.monotonic()
    try:
        ours: Run = apart(packed, instance, effort, patience=PATIENCE * effort.time_limit + 60)
    except ProcessError as failed:
        ours = Run(instance, seconds=time.monotonic() - started, fault=str(failed))
    others = tuple(run_peer(peer, instance, effort.time_limit, effort.workers, effort.seed) for peer in peers)
    return replace(ours, peers=others, fault="; ".join(filter(None, (ours.fault, *refuted(ours, others)))))


def refuted(ours: Run, others: Sequence[PeerRun]) -> list[str]:
    """Bounds that a checked layout of a peer undercuts; the trade rule lays nothing and refutes nothing."""
    return [
        f"bound {ours.bound} is above the layout {other.length} of {other.peer}"
        for other in others
        if other.peer != RULE and other.length is not None and other.length < ours.bound
    ]


def packed(instance: Instance, effort: Effort) -> Run:
    """Pack and check in this process."""
    started = time.monotonic()
    try:
        result = pack(
            instance.problem, time_limit=effort.time_limit, workers=effort.workers, seed=effort.seed
        )
    except ProblemError:
        if not instance.on_hand:
            raise
        return Run(instance, status=NOT_YET)
    seconds, memory = time.monotonic() - started, peak_memory()
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
        reproved=result.bound.certificate is not None,
        afterwards=any(stage.name == STAGE and stage.bounds for stage in result.statistics),
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
    faults += [str(violation) for violation in check_bound(instance.problem, result.bound)]
    if result.status is Status.INFEASIBLE:
        faults.append("called infeasible")
    return faults
