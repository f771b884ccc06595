"""The cutting sequence of a bolt: what to check first, how to pull the fabric, and every cut in words."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nesting.order.job import Job
from nesting.packing.cut_order import Cut
from nesting.plan.blocks import Block
from nesting.plan.direction import direction_words, square_words
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout
from nesting.plan.pulls import Pull, Run, lying, pulls, pulls_of, runs, table_length
from nesting.plan.selvages import left_mark, selvage_words
from nesting.units import Unit, format_length

_Span = tuple[int, int]

Kind = Literal["check", "pull", "cut"]
#: Of parallel cuts at equal distances, so many are named one by one.
_MOST_LISTED = 4


@dataclass(frozen=True, slots=True)
class Made:
    """A cut with the pulls and the lanes it is made in: one run for each time that the fabric must be moved.

    ``again``: its pull went by already, so what was cut off is laid on the table anew for it.
    """

    cut: Cut
    along: tuple[Run, ...]
    across: tuple[Run, ...]
    again: bool = False


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cut of a step, or several that differ only in their place, in words.

    Attributes
    ----------
    text
        What to do, as it stands in the text of the step.
    at
        The place alone: ``104 1/2 in``.
    cuts
        The lines themselves.
    """

    text: str
    at: str
    cuts: tuple[Cut, ...]

    @property
    def across(self) -> bool:
        """Whether it runs across the fabric."""
        return self.cuts[0].way == "across"


@dataclass(frozen=True, slots=True)
class Action:
    """One step of the sequence.

    Attributes
    ----------
    kind, number
        Each kind counts from 1, cuts through all lengths of a fabric.
    name
        Of a cut as it stands on the marker, in the cut list and on the label: ``B3``.
    text
        What to do.
    brief
        Of a cut, its lines alone: ``along at 47 1/8; across at 104 1/2``.
    at
        Running distance from the squared end, measured at the selvage: where a pull begins, and where what a
        cut frees ends. None for a check.
    cuts
        The cuts to make, in order.
    frees
        The piece, or equal ones edge to edge, that come free.
    lines
        The cuts in words, those alike together.
    """

    kind: Kind
    number: int
    text: str
    at: int | None = None
    cuts: tuple[Made, ...] = ()
    frees: Block | None = None
    name: str = ""
    brief: str = ""
    lines: tuple[CutLine, ...] = ()


@dataclass(frozen=True, slots=True)
class CuttingSequence:
    """Everything that is done at the table for one bolt.

    Attributes
    ----------
    actions
        Checks first, then cuts with the pulls between them.
    pulls
        How the bolt moves along the table.
    lanes
        How it moves across a table that is narrower than the fabric: stretches counted from the left edge of
        the usable width; one where the table is wide enough.
    """

    actions: tuple[Action, ...]
    pulls: tuple[Pull, ...]
    lanes: tuple[Pull, ...]


def sequence(job: Job, layout: FabricLayout, numbers: Numbering | None = None) -> CuttingSequence:
    """The cutting sequence of one layout of a job, on the job's table or one of the usual length.

    ``numbers`` are those of the whole plan; without them the layout is taken to be all there is.
    """
    numbers = numbers or numbering((layout,))
    along, across = pulls(layout, table_length(job)), lanes(job, layout)
    actions = [
        Action("check", number, text) for number, text in enumerate(_checks(layout, numbers, job.units), 1)
    ]
    reached, table = 1, _Stretches(along, across)
    for step in numbers.steps(layout):
        made = list[Made]()
        for cut in step.cuts:
            made.append(_made(cut, table, reached))
            furthest = made[-1].along[-1].pull
            if cut.way == "across" and furthest > reached:
                actions += (
                    _pull(pull, along[pull.number - 2], job.units) for pull in along[reached:furthest]
                )
            reached = max(reached, furthest)
        lines = tuple(_lines(made, layout, across, job.units))
        text = _cut_words(lines, step.frees)
        brief = _brief(made, layout, job.units)
        if step.frees.first.done:
            text, brief, lines = f"Cut already: {step.frees.first.piece.name}.", "already", ()
        actions.append(
            Action("cut", step.number, text, step.frees.end, tuple(made), step.frees, step.name, brief, lines)
        )
    return CuttingSequence(tuple(actions), along, across)


def price_words(layout: FabricLayout, unit: Unit) -> str:
    """What cutting across first costs in length, beside the shortest layout found that is cut freely."""
    price, free = layout.longer_than_free, layout.free_length
    if price is None or free is None:
        return ""
    if price == 0:
        return "no longer than cut freely"
    return f"{format_length(price, unit)} longer than cut freely ({format_length(free, unit)})"


def lanes(job: Job, layout: FabricLayout) -> tuple[Pull, ...]:
    """How a fabric wider than the table is drawn across it; as `pulls_of`, from selvage to selvage."""
    edge = max(0, layout.full_width - layout.usable) // 2
    wide = layout.usable if job.table is None or job.table.width is None else job.table.width - edge
    if wide + edge >= layout.full_width:
        return (Pull(1, 0, layout.usable),)
    return pulls_of(
        [(laid.x, laid.x + laid.width) for laid in layout.placements], layout.usable, max(1, wide)
    )


class _Stretches:
    """Pulls and lanes, with the runs that were asked of them: most cuts share theirs with others."""

    def __init__(self, along: Sequence[Pull], across: Sequence[Pull]) -> None:
        self.pulls, self._lanes = along, across
        self._along, self._across = dict[_Span, tuple[Run, ...]](), dict[_Span, tuple[Run, ...]]()

    def along(self, start: int, end: int) -> tuple[Run, ...]:
        """A cut along the fabric in its pulls."""
        if (start, end) not in self._along:
            self._along[start, end] = runs(start, end, self.pulls)
        return self._along[start, end]

    def across(self, start: int, end: int) -> tuple[Run, ...]:
        """A cut across the fabric in its lanes."""
        if (start, end) not in self._across:
            self._across[start, end] = runs(start, end, self._lanes)
        return self._across[start, end]


def _made(cut: Cut, table: _Stretches, here: int) -> Made:
    """When and where a cut is made; one across in the pull that lies there, if it can be had."""
    if cut.way == "lengthwise":
        found = table.along(cut.start, cut.end)
        return Made(cut, found, table.across(cut.at, cut.at), found[0].pull < here)
    there = [pull.number for pull in lying(cut.at, table.pulls)]
    number = min(there, key=lambda number: (number < here, number))
    return Made(cut, (Run(number, cut.at, cut.at),), table.across(cut.start, cut.end), number < here)


def _checks(layout: FabricLayout, numbers: Numbering, unit: Unit) -> Iterator[str]:
    """What is looked at before the first cut, for fabric once cut is not taken back."""
    lot = layout.lot
    if layout.all_done:
        yield "All of this length is cut already: nothing on it is left to do."
        return

    def say(ticks: int) -> str:
        return format_length(ticks, unit)

    yield direction_words(layout, unit)
    yield from _of_print(layout, say)
    yield (
        f"Read the dye lot: it should be {lot}."
        if lot
        else "Read the dye lot on every length of this fabric: all one lot, or do not cut."
    )
    if layout.hem_edge is not None:
        far = "far" if layout.hem_edge == "left" else "near"
        yield (
            f"The {layout.hem_edge} selvage, the {far} edge, is the hem: see that it is clean, straight and "
            "not drawn tight along its whole length, and do not trim it. Distances across are read from the "
            "left edge of the fabric itself."
        )
    for flaw in layout.flaws:
        yield (
            f"Chalk round the flaw from {say(flaw.y)} to {say(flaw.y + flaw.length)}, "
            f"{say(flaw.x)} to {say(flaw.x + flaw.width)} from the left: nothing is cut from it."
        )
    yield (
        "Hold the whole length against the light for flaws, and note each with its distance from the end: "
        "where one lies in a piece, enter the flaw and plan again."
    )
    yield square_words(layout, numbers, unit)
    if layout.fabric.repeat is not None:
        repeat = layout.fabric.repeat
        yield (
            f"Measure the repeat over as many repeats as lie on the table: planned {say(repeat.length)} along"
            + (f" and {say(repeat.width)} across" if repeat.width is not None else "")
            + ". If yours differs, enter it and plan again."
        )
    yield (
        f"Measure the usable width at both ends and in the middle: planned {say(layout.fit_to_cut)}, and "
        f"{'at least ' if layout.bolt.printed else ''}{say(layout.full_width)} from selvage to selvage. "
        "If it is less anywhere, enter that width and plan again."
    )
    if selvages := selvage_words(layout, unit):
        yield selvages
    yield f"Measure the whole length: the layout takes {say(layout.length or 0)} from the squared end."


def _of_print(layout: FabricLayout, say: Callable[[int], str]) -> Iterator[str]:
    """What a print as wide as its bolt was taken for, to be measured before anything else is done."""
    bolt = layout.on_table or layout.bolt
    if not bolt.printed or bolt.match is None or layout.fabric.repeat is None:
        return
    washed = "" if layout.on_table is None else f" once washed ({say(layout.bolt.match or 0)} before)"
    edge = layout.print_edge
    selvage = "at least a seam allowance" + (f", {say(edge)}," if edge else "")
    zero = (
        f" Chalk a line {say(edge)} outside the left motif: all distances across start there." if edge else ""
    )
    yield (
        "Measure the print first: from a motif at the left selvage across to the same motif at the right "
        f"selvage, planned {say(bolt.match)}{washed}; each selvage {selvage} wide. If so, the seams fall "
        "in the selvage: clip it once sewn, so that it cannot draw the seam up. If not, cut nothing: "
        f"enter what you measured and plan again.{zero}"
    )


def _pull(pull: Pull, before: Pull, unit: Unit) -> Action:
    back = before.end - pull.start
    again = f"; the last {format_length(back, unit)} of the pull before lie on it once more" if back else ""
    text = (
        f"Pull the fabric forward until the {format_length(pull.start, unit)} mark is at the head of the "
        f"table{again}. It now holds the fabric up to {format_length(pull.end, unit)}."
    )
    return Action("pull", pull.number, text, pull.start)


def _lines(
    made: Sequence[Made], layout: FabricLayout, across: Sequence[Pull], unit: Unit
) -> Iterator[CutLine]:
    """All cuts of a step in words, those alike in one."""
    again = False
    for one, places in _alike(made):
        anew = "lay the cut-off length back on the table, then " if one.again and not again else ""
        again = again or one.again
        cuts = tuple(replace(one.cut, at=at) for at in sorted(places))
        text = anew + _words(one, places, layout, across, unit)
        yield CutLine(text, _places(sorted(places), unit), cuts)


def freed_words(block: Block) -> str:
    """What a step frees: ``Bay, left panel, 2 of 4``."""
    first = block.first
    if block.count > 1:
        return f"{first.piece.name}, {block.count} pieces: {block.arranged}"
    return first.piece.name + (f", {first.copy} of {first.piece.copies}" if first.piece.copies > 1 else "")


def _cut_words(lines: Sequence[CutLine], block: Block) -> str:
    """All cuts of a step in one sentence, and what they free."""
    name = freed_words(block)
    if not lines:
        return f"Nothing more to cut: the cuts before freed {name}."
    text = "; ".join(line.text for line in lines)
    return f"{text[0].upper()}{text[1:]}. This frees {name}."


def _brief(made: Sequence[Made], layout: FabricLayout, unit: Unit) -> str:
    """The lines of a step, those alike together, without how the fabric is moved for them."""
    said = list[str]()
    for one, places in _alike(made):
        cut = one.cut
        at = _places(sorted(places), unit).removesuffix(f" {unit}")
        ends = f"{format_length(cut.start, unit, name=False)} to {format_length(cut.end, unit, name=False)}"
        whole = cut.way == "across" and (cut.start, cut.end) == (0, layout.usable)
        way = "along" if cut.way == "lengthwise" else "across"
        stops = ", stop at the corner" if cut.stops else ""
        said.append(f"{way} at {at}{'' if whole else f' from {ends}'}{stops}")
    return "; ".join(said) or "nothing more: the cuts before have freed it"


def _alike(made: Sequence[Made]) -> Iterator[tuple[Made, list[int]]]:
    """Cuts that differ only in their place, together."""
    groups = dict[object, tuple[Made, list[int]]]()
    for one in made:
        cut = one.cut
        lane = one.across[0].pull
        key = (cut.way, cut.start, cut.end, cut.stops, lane)
        groups.setdefault(key, (one, []))[1].append(cut.at)
    yield from groups.values()


def _words(one: Made, places: list[int], layout: FabricLayout, across: Sequence[Pull], unit: Unit) -> str:
    cut = one.cut

    def say(ticks: int) -> str:
        return format_length(ticks, unit, name=False)

    at, ends = _places(sorted(places), unit), f"from {say(cut.start)} to {say(cut.end)} {unit}"
    if cut.way == "lengthwise":
        words = f"at {at} from the {left_mark(layout)} cut lengthwise {ends}"
    else:
        whole = (cut.start, cut.end) == (0, layout.usable)
        ends = "from selvage to selvage" if whole else f"{ends} from the left"
        words = f"at {at} from the squared end cut across {ends}"
    if cut.stops:
        words += ", stopping at the corner"
    return words + _in_runs(one, across, unit)


def _places(places: list[int], unit: Unit) -> str:
    """``47, 52 in``; many at equal distances are told by the first, the last and the step."""
    said = [format_length(place, unit, name=False) for place in places]
    steps = {after - before for before, after in itertools.pairwise(places)}
    if len(places) > _MOST_LISTED and len(steps) == 1:
        step = format_length(steps.pop(), unit, name=False)
        return f"{said[0]}, {said[1]} and so on every {step} to {said[-1]} {unit}"
    return f"{', '.join(said)} {unit}"


def _in_runs(one: Made, across: Sequence[Pull], unit: Unit) -> str:
    """How a cut longer than the table is made, and when the fabric is drawn across it."""
    lengthwise = one.cut.way == "lengthwise"
    made = one.along if lengthwise else one.across
    words, lane = "", one.across[0].pull
    if len(made) > 1:
        folds = ", ".join(f"to {format_length(run.end, unit, name=False)}" for run in made)
        where = "on at each fold" if lengthwise else "across the table between them"
        words = f", in {len(made)} runs ({folds}), pulling the fabric {where}"
    if lane > 1 and (lengthwise or len(made) == 1):
        start = format_length(across[lane - 1].start, unit)
        words += f", the fabric pulled {start} across the table"
    return words
