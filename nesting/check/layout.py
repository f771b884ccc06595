"""An independent check of a layout, with nothing taken from the code that makes layouts.

Every rule is worked out here afresh from the data alone. Where parts lie is judged twice, in whole
numbers and by a geometry library, and the two verdicts must agree. `check_layout` judges the result
of a packing; `check_plan_document` judges a written plan, buying and arrows included.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from operator import attrgetter
from typing import Any, NamedTuple

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, read_plan_document
from nesting.check.document_cutting import check_cutting
from nesting.check.document_hanging import check_hanging
from nesting.check.document_hems import check_hems
from nesting.check.document_hung import check_hung
from nesting.check.document_numbers import check_numbers
from nesting.check.document_panels import check_panels
from nesting.check.document_prints import check_sideways
from nesting.check.document_rules import (
    check_arrows,
    check_buying,
    check_every_copy,
    check_sizes,
    check_status,
)
from nesting.check.document_stock import check_stock
from nesting.check.document_turning import check_turning
from nesting.check.document_widths import check_widths
from nesting.check.geometry import (
    Rectangle,
    far_out,
    outside_by_geometry,
    overlaps_by_geometry,
    overlaps_by_sweep,
)
from nesting.check.sewing_drapes import check_sewing
from nesting.check.verdict import check_bound, check_proofs
from nesting.check.violation import Breach, Violation, count_copies, odd_ones_out
from nesting.errors import ProblemError
from nesting.packing.problem import Match, Problem, Strip
from nesting.packing.result import Placement

__all__ = ["Breach", "Violation", "check_bound", "check_layout", "check_plan_document"]


class _LaidPart(NamedTuple):
    """A copy as it lies, size as laid; ``level`` and ``seam`` name its groups where it is matched."""

    part: str
    copy: int
    strip: Strip
    place: str
    x: int
    y: int
    width: int
    length: int
    match: Match | None = None
    level: Hashable = None
    seam: Hashable = None

    @property
    def name(self) -> str:
        return f'"{self.part}" copy {self.copy}'

    @property
    def at(self) -> str:
        return f"{self.place}, x {self.x}, y {self.y}"

    @property
    def rectangle(self) -> Rectangle:
        return (self.x, self.y, self.x + self.width, self.y + self.length)


def check_layout(
    problem: Problem, placements: Sequence[Placement], length: int | None = None, bound: int | None = None
) -> tuple[Violation, ...]:
    """Every rule that a layout breaks; empty where it keeps them all.

    The rules: every copy of every part lies exactly once, inside its strip, clear of every other copy
    and of every flaw; only turnable parts are turned, arrow groups as a whole; matched parts keep the
    phase of their level group (minus the strip's start, where it is known) and of their seam group;
    optional parts lie or are left out, bundles as a whole; a lot group lies on strips of one lot; the
    stated length is where the last part ends; the bound is not above it. Of each choice the parts of
    exactly one option are laid.

    Parameters
    ----------
    problem
        One or more strips; with several, lengths are those of the open strip.
    placements
        The layout to judge.
    length, bound
        As stated, or None where nothing is stated.

    Raises
    ------
    ProblemError
        A place is no whole number.
    """
    _refuse_what_is_not_judged(problem, placements)
    parts, strips = problem.parts, problem.strips
    part_numbers, strip_numbers = range(len(parts)), range(len(strips))
    known = [p for p in placements if p.part in part_numbers and p.strip in strip_numbers]
    laid = [_as_laid(problem, placement) for placement in known]
    return (
        *_check_copies(problem, placements, known),
        *_check_turns(problem, known),
        *(broken for at, strip in enumerate(strips) for broken in _check_places(strip, _on(at, known, laid))),
        *_check_phases_along(laid, shared=any(strip.start is not None for strip in strips)),
        *_check_phases_across(laid),
        *_check_lots(problem, known),
        *_check_bundles(problem, known),
        *_check_edges(problem, known, laid),
        *_check_length(_length_needed(strips, known, laid), length, bound, ""),
    )


def _refuse_what_is_not_judged(problem: Problem, placements: Iterable[Placement]) -> None:
    figures = attrgetter("part", "copy", "x", "y", "strip")
    if set(map(type, chain.from_iterable(map(figures, placements)))) <= {int}:
        return
    for placement in placements:
        if any(type(figure) is not int for figure in figures(placement)):
            raise ProblemError(f"{placement}: expected whole numbers")


def _name(problem: Problem, placement: Placement) -> str:
    return f'"{problem.parts[placement.part].name}" copy {placement.copy}'


def _as_laid(problem: Problem, placement: Placement) -> _LaidPart:
    part, strip = problem.parts[placement.part], problem.strips[placement.strip]
    width, length = (part.length, part.width) if placement.turned else (part.width, part.length)
    return _LaidPart(
        part.name,
        placement.copy,
        strip,
        f"strip {placement.strip}",
        placement.x,
        placement.y,
        width,
        length,
        part.match,
        part.match and part.match.level,
        part.match and part.match.seam,
    )


def _on(strip: int, known: Sequence[Placement], laid: Sequence[_LaidPart]) -> list[_LaidPart]:
    return [piece for placement, piece in zip(known, laid, strict=True) if placement.strip == strip]


def _check_copies(
    problem: Problem, placements: Sequence[Placement], known: Sequence[Placement]
) -> Iterator[Violation]:
    parts, strips = problem.parts, problem.strips
    for placement in placements if len(known) < len(placements) else ():
        if placement.part not in range(len(parts)):
            yield Violation(Breach.UNKNOWN_PART, f"part {placement.part} of {len(parts)}")
        elif placement.strip not in range(len(strips)):
            yield Violation(Breach.OUTSIDE, _name(problem, placement), f"strip {placement.strip}")
    laid = defaultdict[int, Counter[int]](Counter)
    for (part_number, copy), count in Counter(map(attrgetter("part", "copy"), known)).items():
        laid[part_number][copy] = count
    not_chosen = set[int]()
    for choice in problem.choices:
        offered = set[int]().union(*choice.options)
        taken = offered & laid.keys()
        if not any(_is_laid(problem, taken, option) for option in choice.options):
            names = ", ".join(f'"{parts[at].name}"' for at in sorted(taken)) or "nothing"
            yield Violation(Breach.CHOICE, f'choice "{choice.name}": {names} laid', "exactly one option")
        not_chosen |= offered - taken
    for at, part in enumerate(parts):
        broken = () if at in not_chosen else count_copies(part.name, part.copies, laid[at])
        yield from (one for one in broken if part.value is None or one.kind is not Breach.MISSING_COPY)


def _is_laid(problem: Problem, taken: set[int], option: Sequence[int]) -> bool:
    """Whether these parts are an option, but for optional ones of it that are left out."""
    missing = set(option) - taken
    return taken <= set(option) and all(problem.parts[at].value is not None for at in missing)


def _check_lots(problem: Problem, known: Sequence[Placement]) -> Iterator[Violation]:
    """All of a lot group that is laid lies on strips of one lot."""
    groups = defaultdict[str, list[tuple[str, str]]](list)
    bound = any(part.lot is not None for part in problem.parts)
    for placement in known if bound else ():
        group, lot = problem.parts[placement.part].lot, problem.strips[placement.strip].lot
        if group is not None:
            groups[group].append((_name(problem, placement), f"lot {lot}"))
    for group, members in groups.items():
        yield from odd_ones_out(f'lot group "{group}"', members, Breach.LOT)


def _check_bundles(problem: Problem, known: Sequence[Placement]) -> Iterator[Violation]:
    """All of a bundle is laid, or none of it."""
    asked, laid = Counter[str](), Counter[str]()
    if not any(part.bundle for part in problem.parts):
        return
    for part in problem.parts:
        asked[part.bundle or ""] += part.copies
    for at, _ in {(placement.part, placement.copy) for placement in known}:
        laid[problem.parts[at].bundle or ""] += 1
    for bundle in sorted(laid.keys() - {""}):
        if laid[bundle] < asked[bundle]:
            missing = asked[bundle] - laid[bundle]
            yield Violation(Breach.BUNDLE, f'bundle "{bundle}"', "laid in part", missing)


def _check_edges(
    problem: Problem, known: Sequence[Placement], laid: Sequence[_LaidPart]
) -> Iterator[Violation]:
    """Each part keeps as clear of the strip's edges as it must."""
    if not any(any(part.clear) for part in problem.parts):
        return
    for placement, piece in zip(known, laid, strict=True):
        left, right = problem.parts[placement.part].clear
        over = max(left - piece.x, piece.x + piece.width - (piece.strip.width - right))
        if over > 0 and (left or right):
            yield Violation(Breach.OUTSIDE, piece.name, "edge to keep clear of", over, piece.at)


def _check_turns(problem: Problem, known: Sequence[Placement]) -> Iterator[Violation]:
    groups = defaultdict[str, list[Placement]](list)
    for placement in known:
        part = problem.parts[placement.part]
        if placement.turned and (part.match is not None or not part.turnable):
            yield Violation(Breach.FORBIDDEN_TURN, _name(problem, placement))
        if part.arrow is not None:
            groups[part.arrow].append(placement)
    for group, members in groups.items():
        named = [(_name(problem, member), "turned" if member.turned else "upright") for member in members]
        yield from odd_ones_out(f'arrow group "{group}"', named)


def _check_places(strip: Strip, laid: Sequence[_LaidPart]) -> Iterator[Violation]:
    """Inside, no overlap, clear of flaws: in whole numbers and by geometry."""
    if not laid:
        return
    rectangles = [piece.rectangle for piece in laid]
    rectangles += [(flaw.x, flaw.y, flaw.x + flaw.width, flaw.y + flaw.length) for flaw in strip.flaws]
    overlaps = overlaps_by_sweep(rectangles, len(laid))
    outside = [at for at, rectangle in enumerate(rectangles[: len(laid)]) if far_out(strip, rectangle)]
    for at in outside:
        yield Violation(Breach.OUTSIDE, laid[at].name, amount=far_out(strip, rectangles[at]), at=laid[at].at)
    for (one, two), depth in sorted(overlaps.items()):
        on_flaw = two >= len(laid)
        other = f"flaw {two - len(laid)}" if on_flaw else laid[two].name
        yield Violation(
            Breach.FLAW if on_flaw else Breach.OVERLAP, laid[one].name, other, depth, laid[one].at
        )
    for at in sorted(set(outside) ^ outside_by_geometry(strip, rectangles[: len(laid)])):
        yield Violation(Breach.DISAGREE, laid[at].name, "edge of the strip", at=laid[at].at)
    for one, two in sorted(overlaps.keys() ^ overlaps_by_geometry(rectangles, len(laid), overlaps.keys())):
        yield Violation(Breach.DISAGREE, laid[one].name, f"rectangle {two}", at=laid[one].at)


def _check_phases_along(laid: Iterable[_LaidPart], *, shared: bool) -> Iterator[Violation]:
    """One height in the pattern for each level group, stepped from column to column by the drop.

    ``shared``: some start is known, so on strips without one all level groups have the same; see
    `nesting.packing.problem.Strip`.
    """
    groups = defaultdict[tuple[Hashable, int, int | None], list[tuple[_LaidPart, int]]](list)
    for piece in laid:
        repeat, match = piece.strip.repeat, piece.match
        if repeat is not None and match is not None:
            column = 0 if repeat.width is None else (piece.x - match.x) // repeat.width
            risen = piece.y - match.y - column * repeat.drop * repeat.length
            level = "" if shared and piece.strip.start is None else piece.level
            key = (level, repeat.length, piece.strip.start)
            groups[key].append((piece, int(risen % repeat.length)))
    for (_, period, start), members in groups.items():
        yield from _check_phase(
            Breach.PHASE_ALONG, members, period, None if start is None else -start % period
        )


def _check_phases_across(laid: Iterable[_LaidPart]) -> Iterator[Violation]:
    """One sideways place in the pattern for the widths of each seam group."""
    groups = defaultdict[tuple[Hashable, int], list[tuple[_LaidPart, int]]](list)
    for piece in laid:
        repeat, match = piece.strip.repeat, piece.match
        if repeat is not None and repeat.width is not None and match is not None and match.seam is not None:
            groups[piece.seam, repeat.width].append((piece, (piece.x - match.x) % repeat.width))
    for (_, period), members in groups.items():
        yield from _check_phase(Breach.PHASE_ACROSS, members, period, None)


def _check_phase(
    kind: Breach, members: Sequence[tuple[_LaidPart, int]], period: int, expected: int | None
) -> Iterator[Violation]:
    usual = Counter(phase for _, phase in members).most_common(1)[0][0] if expected is None else expected
    model = next((piece.name for piece, phase in members if phase == usual), "start of the pattern")
    for piece, phase in members:
        off = (phase - usual) % period
        if off:
            yield Violation(kind, piece.name, model, min(off, period - off), piece.at)


def _length_needed(strips: Sequence[Strip], known: Sequence[Placement], laid: Sequence[_LaidPart]) -> int:
    counted = {at for at, strip in enumerate(strips) if strip.length is None or len(strips) == 1}
    ends = (
        piece.y + piece.length for place, piece in zip(known, laid, strict=True) if place.strip in counted
    )
    return max(ends, default=0)


def _check_length(needed: int, length: int | None, bound: int | None, at: str) -> Iterator[Violation]:
    if length is not None and length != needed:
        yield Violation(Breach.LENGTH, f"stated {length}", f"needed {needed}", abs(length - needed), at)
    if bound is not None and bound > needed:
        yield Violation(Breach.BOUND, f"bound {bound}", f"length {needed}", bound - needed, at)


def check_plan_document(document: Mapping[str, Any]) -> tuple[Violation, ...]:
    """Every rule that a written plan breaks, judged from the document alone; empty where it keeps them all.

    Beyond the rules of `check_layout`: sizes as laid are those of the piece; every copy of a piece is
    laid on its fabric, unless it is optional or listed in ``left_out``; arrows agree with turns, with
    their group and with a one-way nap; the status follows from length and bound; what is bought
    covers length and allowances in whole selling steps, and costs quantity times price; what it says of
    cutting and of lengths on hand holds (see `document_cutting`, `document_numbers`, `document_stock`); the
    widths of a panel make it up, those of a pair in the mirror (see `document_panels`); panels lie turned
    where that was ordered (see `document_turning`); a hem on the selvage lies on the fabric's own edge (see
    `document_hems`); where a first panel hung, all widths have its length (see `document_hung`).
    Where it carries its sewing every window is sewn, and must come out as ordered (see `sewing_drapes`); what
    is bought, and every sum, begins at the order then, too.

    Parameters
    ----------
    document
        A plan as parsed from JSON, schema ``nesting-plan/2``; lengths go to the nearest tick. Read if
        given: ``arrow_group`` and ``sets`` of a piece; ``start``, ``flaws``, ``lot``, ``on_hand_length`` and
        ``start_reserve`` of a layout; ``allowances``, ``step`` and ``price`` of what is bought;
        ``objectives``.

    Raises
    ------
    NestingError
        The document has not the form of a plan; the message names the place.
    """
    plan = read_plan_document(document)
    laid = [piece for layout in plan.layouts for piece in _entries_as_laid(layout)]
    return (
        *check_every_copy(plan),
        *(broken for layout in plan.layouts for broken in check_sizes(layout)),
        *check_arrows(plan),
        *check_sideways(plan),
        *check_turning(plan, document),
        *check_hems(plan, document),
        *(broken for layout in plan.layouts for broken in _check_layout_entry(layout)),
        *_check_heights(plan),
        *_check_phases_across(laid),
        *check_proofs(plan, document),
        *check_widths(plan, document),
        *check_cutting(plan, document),
        *check_numbers(plan, document),
        *check_panels(plan, document),
        *check_hanging(plan, document),
        *check_stock(plan, document),
        *check_hung(plan, document),
        *check_sewing(plan, document),
    )


def _entries_as_laid(layout: LayoutEntry) -> list[_LaidPart]:
    return [_entry_as_laid(layout, entry) for entry in layout.entries]


def _entry_as_laid(layout: LayoutEntry, entry: LaidEntry) -> _LaidPart:
    match = None if entry.turn else entry.piece.match
    return _LaidPart(
        entry.piece.id,
        entry.copy,
        layout.strip,
        layout.place,
        entry.x,
        entry.y,
        entry.width,
        entry.length,
        match,
        match and match.level,
        # The widths of one panel may lie on two lengths of the fabric; the pattern still meets.
        match and match.seam and (layout.fabric, match.seam),
    )


def _check_heights(plan: PlanDocument) -> Iterator[Violation]:
    """The phases along of each layout: where its length starts in the pattern is its own."""
    known = {layout.fabric for layout in plan.layouts if layout.strip.start is not None}
    for layout in plan.layouts:
        yield from _check_phases_along(_entries_as_laid(layout), shared=layout.fabric in known)


def _check_layout_entry(layout: LayoutEntry) -> Iterator[Violation]:
    laid = _entries_as_laid(layout)
    yield from _check_places(layout.strip, laid)
    for piece in laid:
        if piece.match is not None and layout.strip.repeat is None:
            yield Violation(Breach.PHASE_ALONG, piece.name, "a print that is not stated", at=piece.at)
    if layout.length is not None or laid:
        needed = max((piece.rectangle[3] for piece in laid), default=0)
        yield from _check_length(needed, layout.length or 0, layout.lower_bound, layout.place)
    yield from check_status(layout)
    yield from check_buying(layout)
