"""What a piece's label says, in the order in which it is given up as room gets scarce."""

from __future__ import annotations

from nesting.drawing.lettering import in_two
from nesting.plan.plan import Laid
from nesting.units import Unit, format_length

SEPARATOR = "  ·  "


def size_words(laid: Laid, unit: Unit) -> str:
    """The cut size, width by length as the piece hangs: ``53 × 104 in``."""
    width = format_length(laid.piece.width, unit, name=False)
    return f"{width} × {format_length(laid.piece.length, unit)}"


def run_words(laid: Laid, unit: Unit) -> str:
    """Where it starts and ends along the bolt: ``from 104 to 208 in``."""
    return f"from {format_length(laid.y, unit, name=False)} to {format_length(laid.y + laid.length, unit)}"


def across_words(laid: Laid, unit: Unit) -> str:
    """Where it lies across the bolt; empty for a piece along the left selvage."""
    if laid.x == 0:
        return ""
    start = format_length(laid.x, unit, name=False)
    return f"{start} to {format_length(laid.x + laid.width, unit)} from left"


def drop_words(laid: Laid) -> str:
    """How far the drop steps the pattern on this cut: ``drop A``; empty where there is none."""
    return f"drop {laid.letter}" if laid.letter else ""


def side_words(laid: Laid) -> str:
    """``left panel`` or ``right panel``; empty where its name says so or it belongs to neither."""
    side = laid.piece.side
    if side not in ("left", "right"):
        return ""
    words = f"{side} panel"
    return "" if words in laid.piece.name.lower() else words


def finish_words(laid: Laid, unit: Unit) -> str:
    """The finished length of a panel or lining: ``finishes 95 1/2 in long``; empty for others."""
    piece = laid.piece
    if piece.finished_length is None or piece.role not in ("panel", "lining", "interlining"):
        return ""
    return f"finishes {format_length(piece.finished_length, unit)} long"


def generous(laid: Laid, unit: Unit) -> tuple[tuple[str, ...], ...]:
    """Wordings with everything there is to say, one fact a line."""
    facts = (
        size_words(laid, unit),
        run_words(laid, unit),
        across_words(laid, unit),
        side_words(laid),
        finish_words(laid, unit),
    )
    rest = tuple(fact for fact in facts if fact)
    return ((laid.piece.name, *rest), (*in_two(laid.piece.name), *rest))


def concise(laid: Laid, unit: Unit) -> tuple[tuple[str, ...], ...]:
    """Wordings with name, size, side and place in fewer and longer lines."""
    name = laid.piece.name
    size, side = size_words(laid, unit), side_words(laid)
    what = SEPARATOR.join(fact for fact in (size, side) if fact)
    where = tuple(fact for fact in (run_words(laid, unit), across_words(laid, unit)) if fact)
    joined = SEPARATOR.join(where)
    return (
        (name, what, *where),
        (*in_two(name), what, *where),
        (name, what, joined),
        (name, SEPARATOR.join((what, joined))),
        (SEPARATOR.join((name, what, joined)),),
    )


def place_only(laid: Laid, unit: Unit) -> tuple[str, ...]:
    """Size and place without the name, for a piece that has a number in the legend."""
    facts = (size_words(laid, unit), run_words(laid, unit), across_words(laid, unit))
    return tuple(fact for fact in facts if fact)
