"""General packers and the usual rule of thumb on the same instances, each in a process of its own.

rectpack
    The best of all its settings, order x packing algorithm, on one strip of the given width and open length,
    without turning; each layout is judged by what it takes on the true fabric. Where the limit of time ends
    before the settings do, the best so far.
packingsolver
    Its rectangle solver, open in one direction, anytime, until its limit of time. Python 3.12 or later.
plain-cpsat
    CP-SAT with a start for each copy, one no_overlap_2d, one cumulative, the length minimized; no more.
rule-of-thumb
    Whole widths times the cut length up to the repeat, companions in rows (`thumb`). Jobs only:
    published instances know no widths.

None of them knows a repeat; what they are given on prints, and what is made of their layouts, says
`rounding`. They are optional (``pip install -e .[bench]``) and imported where they are used.
"""

from __future__ import annotations

import importlib.metadata
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from importlib.util import find_spec

from nesting.check import check_layout
from nesting.packing import Placement, Problem
from tests.benchmarks.instances import Instance
from tests.benchmarks.processes import ProcessError, apart, peak_memory
from tests.benchmarks.rounding import Box, Spot, as_laid, on_the_pattern, roundings

#: Not a packer: it lays nothing.
RULE = "rule-of-thumb"

#: More copies than this are not put into a plain model: it would only fill the memory.
MOST_MODELED = 2000

#: Seconds beyond its limit after which a peer is given up.
GRACE = 20


@dataclass(frozen=True, slots=True)
class PeerRun:
    """What came of one instance with one peer.

    Attributes
    ----------
    length
        Of its layout on the true fabric, checked; None where there is none, ``note`` says why.
    packed
        Of its layout of rounded boxes, as it gave it.
    proved
        The peer itself calls that layout of boxes the shortest.
    fault
        A layout that breaks a rule.
    """

    peer: str
    length: int | None = None
    packed: int | None = None
    proved: bool = False
    seconds: float = 0.0
    memory: float = 0.0
    note: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Packed:
    """A peer's own layout of the boxes; None in time."""

    spots: tuple[Spot, ...] | None
    proved: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """What a packer is given; ``judge`` tells the length that a layout takes on the true fabric."""

    boxes: tuple[Box, ...]
    width: int
    time_limit: float
    workers: int
    seed: int
    judge: Callable[[Sequence[Spot]], int]


def absent(peer: str) -> str:
    """Why a peer cannot run here; empty where it can."""
    if peer not in ("rectpack", "packingsolver") or find_spec(peer) is not None:
        return ""
    return f"{peer} is not installed" + (
        " (it needs Python 3.12 or later)" if peer == "packingsolver" else ""
    )


def version_of(peer: str) -> str:
    """Name and version, for the head of a table."""
    package = {"plain-cpsat": "ortools"}.get(peer, peer)
    if peer == RULE or absent(peer):
        return peer
    return f"{peer} {importlib.metadata.version(package)}"


def run_peer(peer: str, instance: Instance, time_limit: float, workers: int, seed: int) -> PeerRun:
    """One peer on one instance, apart from this process; the rule of thumb has no need of one."""
    if peer == RULE:
        note = "" if instance.thumb is not None else "no rule for it"
        return PeerRun(peer, instance.thumb, instance.thumb, note=note)
    if instance.on_hand:
        return PeerRun(peer, note="lengths on hand and flaws are beyond it")
    if missing := absent(peer):
        return PeerRun(peer, note=missing)
    started = time.monotonic()
    try:
        found: PeerRun = apart(
            packed_by, peer, instance, time_limit, workers, seed, patience=time_limit + GRACE
        )
    except ProcessError as failed:
        last = str(failed).strip().splitlines()[-1]
        return PeerRun(peer, seconds=time.monotonic() - started, note=last)
    return found


def packed_by(peer: str, instance: Instance, time_limit: float, workers: int, seed: int) -> PeerRun:
    """Pack with a peer in this process, lay it on the pattern and check it."""
    problem, ways = instance.problem, roundings(instance.problem)
    runs = [_one_way(peer, problem, boxes, time_limit / len(ways), workers, seed) for boxes in ways]
    best = min(runs, key=lambda run: (run.length is None, run.length))
    faults = "; ".join(run.fault for run in runs if run.fault)
    return replace(best, seconds=sum(run.seconds for run in runs), memory=peak_memory(), fault=faults)


def _one_way(
    peer: str, problem: Problem, boxes: tuple[Box, ...], time_limit: float, workers: int, seed: int
) -> PeerRun:
    """The boxes packed, the layout laid on the pattern, both checked."""
    width = problem.strips[0].width
    if any(box.width > width for box in boxes):
        return PeerRun(peer, note="a part does not fit")

    def laid(spots: Sequence[Spot]) -> tuple[int, tuple[Placement, ...]]:
        placements = on_the_pattern(problem, boxes, spots)
        return max(at.y + problem.parts[at.part].size(at.turned)[1] for at in placements), placements

    task = Task(boxes, width, time_limit, workers, seed, lambda spots: laid(spots)[0])
    started = time.monotonic()
    found = PACKERS[peer](task)
    run = PeerRun(peer, seconds=time.monotonic() - started, note=found.note)
    if found.spots is None:
        return run
    packed = max(spot.y + boxes[spot.box].length for spot in found.spots)
    length, placements = laid(found.spots)
    fault = _broken(*as_laid(boxes, width, found.spots), packed) or _broken(problem, placements, length)
    return replace(run, length=None if fault else length, packed=packed, proved=found.proved, fault=fault)


def _broken(problem: Problem, placements: Sequence[Placement], length: int) -> str:
    return "; ".join(str(violation) for violation in check_layout(problem, placements, length, 0)[:3])


def _rectpack(task: Task) -> Packed:
    import rectpack

    orders = [
        getattr(rectpack, f"SORT_{name}") for name in ("AREA", "PERI", "DIFF", "SSIDE", "LSIDE", "RATIO")
    ]
    skylines = ("SkylineBl", "SkylineBlWm", "SkylineMwf", "SkylineMwfWm", "SkylineMwfl", "SkylineMwflWm")
    algorithms = (*skylines, "MaxRectsBl", "MaxRectsBssf", "MaxRectsBaf", "MaxRectsBlsf")
    settings = [(getattr(rectpack, name), order) for name in algorithms for order in orders]
    most = sum(box.length * box.copies for box in task.boxes)
    until, best, tried = time.monotonic() + task.time_limit, None, 0
    for algorithm, order in settings:
        if tried and time.monotonic() >= until:
            break
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline,
            bin_algo=rectpack.PackingBin.BFF,
            pack_algo=algorithm,
            sort_algo=order,
            rotation=False,
        )
        packer.add_bin(task.width, most)
        for number, box in enumerate(task.boxes):
            for _ in range(box.copies):
                packer.add_rect(box.width, box.length, number)
        packer.pack()
        tried += 1
        spots = tuple(Spot(rid, x, y) for _, x, y, _, _, rid in packer.rect_list())
        if len(spots) == sum(box.copies for box in task.boxes):
            best = min(best or spots, spots, key=task.judge)
    return Packed(best, note="" if tried == len(settings) else f"{tried} of {len(settings)} settings")


def _packingsolver(task: Task) -> Packed:
    import packingsolver.rectangle as solver

    builder = solver.InstanceBuilder()
    builder.set_objective(solver.Objective.OpenDimensionY)
    builder.add_bin_type(task.width, sum(box.length * box.copies for box in task.boxes))
    for box in task.boxes:
        builder.add_item_type(box.width, box.length, oriented=True, copies=box.copies)
    parameters = solver.OptimizeParameters()
    parameters.time_limit = task.time_limit
    parameters.verbosity_level = 0
    output = solver.optimize(builder.build(), parameters)
    if not output.solution.full():
        return Packed(None, note="no layout in the time")
    spots = tuple(Spot(item.item_type_id, item.x, item.y) for item in output.solution.bin(0).items)
    return Packed(spots, proved=output.is_proven_optimal())


def _plain_cpsat(task: Task) -> Packed:
    from ortools.sat.python import cp_model

    copies = [number for number, box in enumerate(task.boxes) for _ in range(box.copies)]
    if len(copies) > MOST_MODELED:
        return Packed(None, note=f"more than {MOST_MODELED} copies are not modeled")
    model = cp_model.CpModel()
    most = sum(box.length * box.copies for box in task.boxes)
    length = model.new_int_var(0, most, "length")
    starts, across, along, widths = [], [], [], []
    for at, number in enumerate(copies):
        box = task.boxes[number]
        x = model.new_int_var(0, task.width - box.width, f"x{at}")
        y = model.new_int_var(0, most - box.length, f"y{at}")
        across.append(model.new_fixed_size_interval_var(x, box.width, f"across{at}"))
        along.append(model.new_fixed_size_interval_var(y, box.length, f"along{at}"))
        widths.append(box.width)
        starts.append((x, y))
        model.add(y + box.length <= length)
    model.add_no_overlap_2d(across, along)
    model.add_cumulative(along, widths, task.width)
    model.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = task.time_limit
    solver.parameters.num_workers = task.workers
    solver.parameters.random_seed = task.seed
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Packed(None, note="no layout in the time")
    found = zip(copies, starts, strict=True)
    spots = tuple(Spot(number, solver.value(x), solver.value(y)) for number, (x, y) in found)
    return Packed(spots, proved=status == cp_model.OPTIMAL)


PACKERS: dict[str, Callable[[Task], Packed]] = {
    "rectpack": _rectpack,
    "packingsolver": _packingsolver,
    "plain-cpsat": _plain_cpsat,
}
PEERS = (*PACKERS, RULE)


def unavailable(peers: Sequence[str]) -> Iterator[str]:
    """A line for each peer that cannot run here."""
    for peer in peers:
        if missing := absent(peer):
            yield f"{missing}: left out"
