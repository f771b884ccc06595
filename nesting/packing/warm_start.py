"""A layout that is known already, made ready to be bettered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from nesting.errors import ProblemError
from nesting.packing.problem import Problem
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.result import Placement


def require_start(problem: Problem, start: Sequence[Placement]) -> None:
    """Refuse a layout that does not lay each copy of each part once, on one open strip.

    Raises
    ------
    ProblemError
        Names the part and the copy.
    """
    if not problem.plain_purchase or problem.choices:
        raise ProblemError("start: only one open strip, with every part laid and no choices, has a start")
    laid = Counter((placement.part, placement.copy) for placement in start)
    wanted = {(part, copy) for part, each in enumerate(problem.parts) for copy in range(1, each.copies + 1)}
    for part, copy in sorted(laid.keys() - wanted):
        raise ProblemError(f"start: part {part} copy {copy}: there is none; parts are counted from 0")
    for part, copy in sorted(wanted):
        if laid[part, copy] != 1:
            raise ProblemError(
                f'start: part "{problem.parts[part].name}" copy {copy} is laid {laid[part, copy]} times: '
                "expected each copy once"
            )


def begun(problem: Problem, cores: Sequence[Core], start: Sequence[Placement]) -> tuple[Core, Layout]:
    """A layout in steps of the first of these cases of the problem in which it lies.

    Raises
    ------
    ProblemError
        Names a part that does not keep the rules.
    """
    faults = list[str]()
    for core in cores:
        layout, fault = _in_steps(problem, core, start)
        if not fault:
            return core, layout
        faults.append(fault)
    raise ProblemError(f"start: {faults[0]}: give a layout that keeps every rule, or none")


def _in_steps(problem: Problem, core: Core, start: Sequence[Placement]) -> tuple[Layout, str]:
    """The layout without its lone rows, closed up; and what is wrong with it."""
    kinds = {member: number for number, kind in enumerate(core.kinds) for member in kind.members}
    lone = {member: kind for kind in core.lone for member in kind.members}
    alone = [(p.y // core.step_y, lone[p.part, p.copy].ways[0][1]) for p in start if (p.part, p.copy) in lone]
    spots = list[Spot]()
    for p in start:
        number = kinds.get((p.part, p.copy))
        if number is None:
            continue
        y = p.y // core.step_y
        below = sum(length for low, length in alone if low < y)
        spot = Spot(number, p.x // core.step_x - core.left, y - below, p.turned)
        name = f'part "{problem.parts[p.part].name}" copy {p.copy}'
        for fault in _faults(core, spot):
            return (), f"{name} {fault}"
        spots.append(spot)
    layout = tuple(spots)
    return layout, next(_together(core, layout), "")


def _faults(core: Core, spot: Spot) -> Iterator[str]:
    """What is wrong with one place by itself."""
    kind = core.kinds[spot.kind]
    width, length = core.size(spot)
    first, last = core.across(kind, width)
    if spot.turned not in {turned for _, _, turned in kind.ways} and kind.width != kind.length:
        yield "lies a way that it may not"
    if not first <= spot.x <= last or spot.y < 0:
        yield "lies beyond the strip"
    for flaw in core.flaws:
        if _overlap((spot.x, spot.y, width, length), (flaw.x, flaw.y, flaw.width, flaw.length)):
            yield "lies on a flaw"


def _overlap(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> bool:
    return (
        one[0] < other[0] + other[2]
        and other[0] < one[0] + one[2]
        and one[1] < other[1] + other[3]
        and other[1] < one[1] + one[3]
    )


def _together(core: Core, layout: Layout) -> Iterator[str]:
    """What is wrong with places beside one another: overlaps, and groups out of phase."""
    boxes = sorted((spot.y, spot.x, *core.size(spot)) for spot in layout)
    open_boxes = list[tuple[int, int, int, int]]()
    for y, x, width, length in boxes:
        open_boxes = [box for box in open_boxes if box[1] + box[3] > y]
        if any(_overlap((x, y, width, length), box) for box in open_boxes):
            yield f"what lies at ({x * core.step_x}, {y * core.step_y}) overlaps another part"
        open_boxes.append((x, y, width, length))
    if core.repeat is None:
        return
    known: dict[tuple[str, str], int] = {}
    for spot in layout:
        match = core.kinds[spot.kind].match
        if match is None:
            continue
        phase = core.repeat.phase_y(spot.x, spot.y, match.x, match.y)
        wanted = None if core.start is None else -core.start % core.repeat.length
        if known.setdefault(("level", match.level), phase if wanted is None else wanted) != phase:
            yield f'level group "{match.level}" is out of phase'
        column = core.repeat.columns(spot.x, match.x)[1]
        if match.seam is not None and known.setdefault(("seam", match.seam), column) != column:
            yield f'seam group "{match.seam}" is out of phase'
