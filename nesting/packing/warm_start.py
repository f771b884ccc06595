"""A layout that is known already, made ready to be bettered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from nesting.errors import ProblemError
from nesting.packing.problem import Problem
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.result import Placement
from nesting.repeat import whole

#: No layout of sizes that are accepted is so long that its numbers leave 64 bits.
_FARTHEST = 2**60


def require_start(problem: Problem, start: Iterable[Placement]) -> tuple[Placement, ...]:
    """The layout in whole numbers of Python; refused where it does not lay each copy of each part once.

    Parts must lie within one open strip, a way that they may, and beside one another; what a pattern, flaws
    and arrow groups ask for is for `begun`.

    Raises
    ------
    ProblemError
        Names the part and the copy.
    """
    if not problem.plain_purchase or problem.choices:
        raise ProblemError("start: only one open strip, with every part laid and no choices, has a start")
    places = tuple(_whole(place) for place in start) if isinstance(start, Iterable) else (_whole(start),)
    laid = Counter((placement.part, placement.copy) for placement in places)
    wanted = {(part, copy) for part, each in enumerate(problem.parts) for copy in range(1, each.copies + 1)}
    for part, copy in sorted(laid.keys() - wanted):
        raise ProblemError(f"start: part {part} copy {copy}: there is none; parts are counted from 0")
    for part, copy in sorted(wanted):
        if laid[part, copy] != 1:
            raise ProblemError(
                f'start: part "{problem.parts[part].name}" copy {copy} is laid {laid[part, copy]} times: '
                "expected each copy once"
            )
    for fault in _out_of_place(problem, places):
        raise _refused(fault)
    return places


def _whole(place: object) -> Placement:
    """A place in whole numbers of Python, such as those of numpy."""
    if not isinstance(place, Placement):
        raise ProblemError(f"start: {place!r:.60}: expected placements, such as those of another result")
    numbers = (whole(f"start: {key}", getattr(place, key)) for key in ("part", "copy", "x", "y", "strip"))
    part, copy, x, y, strip = numbers
    if strip != 0 or place.turned not in (False, True):
        raise ProblemError(f"start: {place}: expected strip 0, and turned True or False")
    return Placement(part, copy, x, y, bool(place.turned))


def _refused(fault: str) -> ProblemError:
    return ProblemError(f"start: {fault}: give a layout that keeps every rule, or none")


def _out_of_place(problem: Problem, places: Sequence[Placement]) -> Iterator[str]:
    """What lies beyond the strip, a way that it may not, or over another part."""
    boxes = list[tuple[int, int, int, int]]()
    for place in places:
        part = problem.parts[place.part]
        width, length = part.size(place.turned)
        if place.turned and not part.turnable:
            yield f"{_named(problem, place)} lies a way that it may not"
        last = problem.strips[0].width - part.clear[1] - width
        if not part.clear[0] <= place.x <= last or not 0 <= place.y <= _FARTHEST:
            yield f"{_named(problem, place)} lies beyond the strip"
        boxes.append((place.y, place.x, width, length))
    open_boxes = list[tuple[int, int, int, int]]()
    for y, x, width, length in sorted(boxes):
        open_boxes = [box for box in open_boxes if box[1] + box[3] > y]
        if any(_overlap((x, y, width, length), box) for box in open_boxes):
            yield f"what lies at ({x}, {y}) overlaps another part"
        open_boxes.append((x, y, width, length))


def _named(problem: Problem, place: Placement) -> str:
    return f'part "{problem.parts[place.part].name}" copy {place.copy}'


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
    raise _refused(faults[0])


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
        for fault in _faults(core, spot):
            return (), f"{_named(problem, p)} {fault}"
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
    """Which groups are out of phase; sizes are whole steps, so no step down makes parts overlap."""
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
