"""The label of a piece, fitted to its box by measuring: text, number, letter and arrow."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from nesting.drawing.lettering import PITCH, SMALLEST, in_two, shortened, text_width
from nesting.drawing.pointer import BARE, NO_POINTER, WORDED, Direction, Pointer
from nesting.drawing.wording import concise, drop_words, generous, place_only
from nesting.plan.blocks import Block
from nesting.plan.plan import Laid
from nesting.units import Unit

#: Points kept free inside the outline of a piece, and between text and arrow.
PAD: Final = 2.5
TIGHT: Final = 1.2
CLOSE: Final = 0.25
#: So much of a number may lie over the outlines of a piece that is hardly as wide as it, in points.
OVERHANG: Final = 2.0
#: Height of figures and capitals as a multiple of their size, a hair above and below included.
_CAPITALS: Final = 0.82
GAP: Final = 3.0
_LARGE: Final = (9.0, 8.0, 7.0)
_ALL: Final = (*_LARGE, SMALLEST)
# For pieces with so much room that the label fills no more than this part of either side.
_POSTER: Final = (16.0, 13.5, 11.0)
_AIRY: Final = 0.62
#: Size of the letter of a drop beside its label, in parts of that; a number is twice as large.
_DROP: Final = 1.2
# A name with fewer letters than this left says nothing: the number alone reads better.
_LEAST_NAME: Final = 9


@dataclass(frozen=True, slots=True)
class PieceLabel:
    """What is written in a piece and how; lengths in points.

    Attributes
    ----------
    lines
        From top to bottom; the first ``bold`` of them are the name.
    size
        Of the lines.
    badge, badge_size
        The piece's number, where it has no tag, and the letter of a drop match, large before the lines.
    quarter
        Text reads upwards along the page.
    pointer
        The arrow.
    beside
        The arrow stands right of the text instead of below.
    named
        The whole name stands in the piece, so it needs no place in the legend.
    numbered
        It shows its number, or the whole name.
    leading
        Height of the badge as a multiple of its size: less for figures and capitals alone.
    """

    lines: tuple[str, ...]
    size: float
    badge: str
    badge_size: float
    quarter: bool
    pointer: Pointer
    beside: bool = False
    bold: int = 1
    named: bool = False
    numbered: bool = True
    leading: float = PITCH

    @property
    def text_size(self) -> tuple[float, float]:
        """Width and height of badge and lines on the page."""
        across, down = self.local_size
        return (down, across) if self.quarter else (across, down)

    @property
    def badge_room(self) -> float:
        """Room of the badge along the reading direction, with its gap."""
        if not self.badge:
            return 0.0
        return text_width(self.badge, self.badge_size, bold=True) + (GAP if self.lines else 0.0)

    @property
    def local_size(self) -> tuple[float, float]:
        """Width and height of badge and lines as read."""
        widths = (text_width(line, self.size, bold=n < self.bold) for n, line in enumerate(self.lines))
        down = max(len(self.lines) * self.size * PITCH, self.badge_size * self.leading if self.badge else 0.0)
        return max(widths, default=0.0) + self.badge_room, down

    def extent(self, direction: Direction) -> tuple[float, float]:
        """Width and height of text and arrow together on the page."""
        (tw, th), (aw, ah) = self.text_size, self.pointer.extent(direction)
        if self.pointer is NO_POINTER:
            return tw, th
        if not self.lines and not self.badge:
            return aw, ah
        return (tw + GAP + aw, max(th, ah)) if self.beside else (max(tw, aw), th + GAP / 2 + ah)


def fit_label(laid: Laid, unit: Unit, room: tuple[float, float], key: str | None) -> PieceLabel:
    """The fullest label that fits.

    Parameters
    ----------
    laid, unit
        The piece, and the unit of its text.
    room
        Width and height of the piece on the page, in points.
    key
        Its number, or None where that stands in a tag.

    Returns
    -------
    Label
        At the least an arrow; never larger than ``room`` unless the room is below 4 points.
    """
    inside = (room[0] - 2 * PAD, room[1] - 2 * PAD)
    airy = (inside[0] * _AIRY, inside[1] * _AIRY)
    close = (room[0] - 2 * TIGHT, room[1] - 2 * TIGHT)
    for drafts, within in (
        (_poster(laid, unit, key), airy),
        (_full(laid, unit, key, inside), inside),
        (_partial(laid, unit, key, inside), inside),
        (_number_only(laid, key), close),
    ):
        for draft, pointers in drafts:
            label = _with_pointer(draft, pointers, laid.arrow, within)
            if label is not None:
                return label
    return PieceLabel((), SMALLEST, "", SMALLEST, False, _squeezed(laid.arrow, close), numbered=False)


def fit_group(
    group: Block, room: tuple[float, float], number: str, sizes: Sequence[float] = (11.0, 9.0, 7.5, SMALLEST)
) -> PieceLabel | None:
    """The one number of equal pieces edge to edge, with how many they are where there is room; None without.

    The arrow gives way first, for the list of cuts tells where TOP lies. ``room`` is width and height of all
    of them together on the page, in points.
    """
    within = (room[0] - 2 * CLOSE, room[1] - 2 * CLOSE)
    drafts = [
        PieceLabel((), size, said, size, quarter, NO_POINTER, leading=_CAPITALS)
        for said in (*((f"{number} × {group.count}",) if group.count > 1 else ()), number)
        for size, quarter in itertools.product(sizes, (False, True))
    ]
    for draft in drafts:
        label = _with_pointer(draft, (*WORDED[3:], *BARE), group.first.arrow, within)
        if label is not None:
            return label
    for draft in drafts:
        across, down = (0.0, OVERHANG) if draft.quarter else (OVERHANG, 0.0)
        label = _with_pointer(draft, (NO_POINTER,), group.first.arrow, (within[0] + across, within[1] + down))
        if label is not None:
            return label
    return None


#: Far below what can be drawn, far above what sums of widths lose.
_SLACK: Final = 1e-6

Draft = tuple[PieceLabel, Sequence[Pointer]]


def _with_pointer(
    draft: PieceLabel, pointers: Sequence[Pointer], direction: Direction, within: tuple[float, float]
) -> PieceLabel | None:
    """The draft with the first of the arrows that fits with it, or None."""
    width, height = draft.text_size
    if width > within[0] or height > within[1]:
        return None
    for pointer, beside in itertools.product(pointers, (False, True)):
        label = replace(draft, pointer=pointer, beside=beside)
        width, height = label.extent(direction)
        if width <= within[0] and height <= within[1]:
            return label
    return None


def _badge(laid: Laid, key: str | None) -> str:
    return " ".join(text for text in (key or "", drop_words(laid)) if text)


def _poster(laid: Laid, unit: Unit, key: str | None) -> Iterator[Draft]:
    """Large text that reads from across the table."""
    lines, badge = generous(laid, unit)[0], _badge(laid, key)
    for size in _POSTER:
        yield (
            PieceLabel(lines, size, badge, size * (2 if key else _DROP), False, WORDED[0], named=True),
            WORDED[:1],
        )


def _full(laid: Laid, unit: Unit, key: str | None, inside: tuple[float, float]) -> Iterator[Draft]:
    badge, halves = _badge(laid, key), in_two(laid.piece.name)
    roomy = itertools.product(generous(laid, unit), _LARGE)
    wordings = concise(laid, unit)
    close = ((lines, size) for size in _ALL for lines in wordings)
    low, high = sorted(side + _SLACK for side in inside)
    widths: dict[tuple[str, ...], float] = {}
    for lines, size in itertools.chain(roomy, close):
        bold = 2 if lines[:2] == halves else 1
        if lines not in widths:
            widths[lines] = max(text_width(line, 1.0, bold=n < bold) for n, line in enumerate(lines))
        # Widths grow with the size: what fits neither upright nor turned need not be tried.
        short, long = sorted((widths[lines] * size, len(lines) * size * PITCH))
        if short > low or long > high:
            continue
        pointers = [pointer for pointer in WORDED if pointer.length <= 6.5 * size]
        for quarter in (False, True):
            yield (
                PieceLabel(
                    lines,
                    size,
                    badge,
                    size * (2 if key else _DROP),
                    quarter,
                    WORDED[0],
                    bold=bold,
                    named=True,
                ),
                pointers,
            )


def _partial(laid: Laid, unit: Unit, key: str | None, inside: tuple[float, float]) -> Iterator[Draft]:
    """Number with a shortened name, or with size and place only."""
    if key is None:
        return
    badge, facts = _badge(laid, key), place_only(laid, unit)
    for size, quarter in itertools.product((8.0, 7.0, SMALLEST), (False, True)):
        along = inside[1] if quarter else inside[0]
        room = along - text_width(badge, 1.6 * size, bold=True) - GAP
        if max(text_width(fact, size) for fact in facts) > room:
            continue
        name = shortened(laid.piece.name, size, room, bold=True)
        wordings = ((name, *facts), facts) if len(name) >= _LEAST_NAME else (facts,)
        for lines in wordings:
            bold = 0 if lines is facts else 1
            yield PieceLabel(lines, size, badge, 1.6 * size, quarter, WORDED[0], bold=bold), WORDED


def _number_only(laid: Laid, key: str | None) -> Iterator[Draft]:
    """Number and letter with the largest arrow that leaves them legible."""
    badge = _badge(laid, key)
    if not badge:
        return
    for size in (10.0, 9.0, 8.0, 7.0, SMALLEST):
        draft = PieceLabel((), size, badge, size, False, WORDED[0], numbered=key is not None)
        yield draft, (*WORDED[3:], *BARE)


def _squeezed(direction: Direction, room: tuple[float, float]) -> Pointer:
    """The largest arrow for that room, however small."""
    for pointer in (*WORDED[1:], *BARE):
        width, height = pointer.extent(direction)
        if width <= room[0] and height <= room[1]:
            return pointer
    return Pointer(max(1.5, min(BARE[-1].length, *room)))
