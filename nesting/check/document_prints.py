"""What a plan document promises of prints cut sideways: only where the pattern allows it, and hung level."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from nesting.check.document import LaidEntry, LayoutEntry, PieceEntry, PlanDocument
from nesting.check.violation import Breach, Violation
from nesting.packing.problem import Match, Part


def check_sideways(plan: PlanDocument) -> Iterator[Violation]:
    """Pieces said to lie sideways do, on a print that may; those of a level group hang at one height.

    Turned with its top to the left, a piece has its lower cut edge at its right edge on the fabric, and the
    level line at ``x + width + q``. That is the same for all of a group, but for whole repeat widths.
    """
    groups = defaultdict[tuple[str, str, int], list[tuple[LaidEntry, LayoutEntry, int]]](list)
    for layout in plan.layouts:
        repeat = layout.strip.repeat
        for entry in layout.entries:
            piece, at = entry.piece, f"{layout.place}, x {entry.x}, y {entry.y}"
            if piece.sideways and not entry.turn:
                yield Violation(Breach.ARROW, f"{entry.name}, upright", "sideways", at=at)
            if not entry.turn or (piece.match is None and (repeat is None or not piece.sideways)):
                continue
            if not (layout.sideways and piece.sideways and repeat is not None and repeat.width is not None):
                yield Violation(Breach.FORBIDDEN_TURN, entry.name, "a print that is never turned", at=at)
            elif piece.match is not None:
                height = (entry.x + entry.width + piece.match.y) % repeat.width
                groups[layout.fabric, piece.match.level, repeat.width].append((entry, layout, height))
    for (_, _, period), members in groups.items():
        usual = Counter(height for _, _, height in members).most_common(1)[0][0]
        model = next(entry.name for entry, _, height in members if height == usual)
        for entry, layout, height in members:
            off = (height - usual) % period
            if off:
                at = f"{layout.place}, x {entry.x}, y {entry.y}"
                yield Violation(Breach.PHASE_ACROSS, entry.name, model, min(off, period - off), at)


def part_of(piece: PieceEntry) -> Part:
    """A piece of the document as the part whose layout its bound speaks of."""
    if not piece.sideways:
        return Part(
            piece.id,
            piece.width,
            piece.length,
            piece.copies,
            piece.turnable and piece.hem_edge is None,
            piece.match,
            piece.arrow_group,
        )
    match = piece.match
    if match is not None:
        match = Match(piece.id, f"{match.level}/sideways", -(piece.length + match.y), 0)
    return Part(piece.id, piece.length, piece.width, piece.copies, match=match)
