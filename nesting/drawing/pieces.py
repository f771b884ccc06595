"""One piece on the marker: outline, tint, hem line, label, arrow, and where it runs off the row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle

from nesting.drawing.frame import Frame
from nesting.drawing.lettering import PITCH, SMALLEST, text_width, write
from nesting.drawing.palette import CHALK, INK, LOOKS, RUST
from nesting.drawing.piece_labels import PieceLabel, fit_group, fit_label
from nesting.drawing.pointer import STEPS, draw_pointer
from nesting.drawing.steps import Box, Tag, draw_tag, fit_tag
from nesting.plan.blocks import Block
from nesting.plan.plan import Laid
from nesting.units import Unit

#: Points at a row's end kept for the mark of a piece that goes on.
MARK = 10.0
_CONTINUES = "continues"
_HEM = "finished hem line"


def tag(laid: Laid) -> str:
    """What the parts of its drawing are called: ``<piece id>:<copy>``."""
    return f"{laid.piece.id}:{laid.copy}"


def shows(laid: Laid, frame: Frame) -> bool:
    """Whether any of it lies in the frame."""
    return laid.y < frame.end and laid.y + laid.length > frame.start


def label_box(laid: Laid, frame: Frame) -> tuple[float, float, float, float]:
    """Left, top, width and height of the room for its label, in ticks of the page.

    The part in the frame, without the strips for "continues" marks and, where it is narrow
    beside the piece, without the hem.
    """
    left, right = float(max(laid.y, frame.start)), float(min(laid.y + laid.length, frame.end))
    mark = min(frame.ticks(MARK), (right - left) / 4)
    cut_left, cut_right = laid.y < frame.start, laid.y + laid.length > frame.end
    top, bottom = float(laid.x), float(laid.x + laid.width)
    hem = laid.piece.hem_line or 0
    right_step, down_step = STEPS[laid.arrow]
    if _hem_apart(laid, frame):
        left = max(left, laid.y + hem) if right_step > 0 else left
        right = min(right, laid.y + laid.length - hem) if right_step < 0 else right
        top += hem if down_step > 0 else 0
        bottom -= hem if down_step < 0 else 0
    left, right = left + (mark if cut_left else 0), right - (mark if cut_right else 0)
    return left, top, max(0.0, right - left), bottom - top


def _hem_apart(laid: Laid, frame: Frame) -> bool:
    """Whether the hem is narrow beside what the frame shows, so that the label can keep clear of it."""
    hem, shown = laid.piece.hem_line or 0, laid.width
    if laid.arrow in ("up", "down"):
        start, end = max(laid.y, frame.start), min(laid.y + laid.length, frame.end)
        shown = end - start
        hem = hem - (start - laid.y) if laid.arrow == "up" else hem - (laid.y + laid.length - end)
    return hem * 4 <= shown


@dataclass(frozen=True, slots=True)
class Lettering:
    """What is written in the part of a piece that a frame shows, and where.

    Attributes
    ----------
    label
        Name, sizes and arrow; with its number in the badge where there is no tag.
    room
        The box the label is centered in, in points from the corner of `label_box`.
    tag
        The number in a corner; None where it stands in the label, or nowhere.
    """

    label: PieceLabel
    room: Box
    tag: Tag | None

    @property
    def numbered(self) -> bool:
        """Whether the number can be read."""
        return self.tag is not None or (self.label.numbered and bool(self.label.badge))


def lettering_of(laid: Laid, frame: Frame, unit: Unit, number: str) -> Lettering:
    """The number of a piece and as much else as its part in the frame has room for.

    A whole name has the number in a tag beside it. Where there is no room for both, the number comes first,
    and the legend tells what it is.
    """
    _, _, width, height = label_box(laid, frame)
    # A hair of tolerance: the same box measured from other edges differs in the last digits.
    room = (frame.points(width) + 1e-6, frame.points(height) + 1e-6)
    label = fit_label(laid, unit, room, None)
    if label.named:
        label, box, tag_of_number = fit_tag(laid, unit, room, label, number)
        if tag_of_number is not None and label.named:
            return Lettering(label, box, tag_of_number)
    return Lettering(fit_label(laid, unit, room, number), (0.0, 0.0, *room), None)


def draw_piece(
    ax: Axes,
    laid: Laid,
    frame: Frame,
    unit: Unit,
    number: str,
    line: int | None = None,
) -> None:
    """The piece at its place; what lies outside the frame is cut off and marked.

    ``number`` is what it is called, ``line`` the start line of a matched cut along the bolt, from the squared
    end.
    """
    _draw_shape(ax, laid, frame)
    _draw_hem(ax, laid, frame)
    if line is not None:
        _draw_start(ax, laid, frame, line)
    _draw_cut_ends(ax, laid, frame)
    written = lettering_of(laid, frame, unit, number)
    _draw_label(ax, laid, frame, written.label, written.room)
    if written.tag is not None:
        draw_tag(ax, written.tag, label_box(laid, frame)[:2], frame.ticks(1), tag(laid))


def group_label(group: Block, frame: Frame, number: str) -> PieceLabel | None:
    """The one number of equal pieces edge to edge where a frame shows them; None where it has no room."""
    _, _, width, height = label_box(_as_one(group), frame)
    return fit_group(group, (frame.points(width) + 1e-6, frame.points(height) + 1e-6), number)


def draw_group(ax: Axes, group: Block, pieces: Iterable[Laid], frame: Frame, number: str) -> None:
    """Equal pieces edge to edge, each outlined, with one number for all of them."""
    for laid in pieces:
        if shows(laid, frame):
            _draw_shape(ax, laid, frame)
    whole, label = _as_one(group), group_label(group, frame, number)
    _draw_cut_ends(ax, whole, frame)
    if label is not None:
        _, _, width, height = label_box(whole, frame)
        _draw_label(ax, whole, frame, label, (0.0, 0.0, frame.points(width), frame.points(height)))


def _as_one(group: Block) -> Laid:
    """The room that all of them take, as if it were one piece without a hem."""
    first = group.first
    return replace(
        first,
        piece=replace(first.piece, hem_line=None),
        width=group.across * first.width,
        length=group.along * first.length,
    )


def _draw_shape(ax: Axes, laid: Laid, frame: Frame) -> None:
    """Tint and outline."""
    look = LOOKS[laid.piece.role]
    # A little more than the row, so that an outline along its end keeps its full stroke.
    start, span = frame.start - frame.ticks(0.5), frame.end - frame.start + frame.ticks(1)
    sheet = Rectangle((start, laid.x - laid.width), span, 3 * laid.width, transform=ax.transData)
    place = ((laid.y, laid.x), laid.length, laid.width)
    fill = Rectangle(
        *place,
        facecolor=look.tint,
        edgecolor=look.thread,
        hatch=look.hatch,
        linewidth=0,
        zorder=2,
        gid=f"piece:{tag(laid)}",
    )
    edge = Rectangle(
        *place, facecolor="none", edgecolor=INK, linewidth=0.9, zorder=4, gid=f"edge:{tag(laid)}"
    )
    for patch in (fill, edge):
        ax.add_artist(patch)
        patch.set_clip_path(sheet)


def hem_ends(laid: Laid) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The two ends of the finished hem line on the page, or None for a piece without one."""
    hem = laid.piece.hem_line
    if not hem:
        return None
    top, bottom = laid.x, laid.x + laid.width
    left, right = laid.y, laid.y + laid.length
    if laid.arrow in ("up", "down"):
        at = left + hem if laid.arrow == "up" else right - hem
        return (at, top), (at, bottom)
    at = bottom - hem if laid.arrow == "left" else top + hem
    return (left, at), (right, at)


def _draw_hem(ax: Axes, laid: Laid, frame: Frame) -> None:
    ends = hem_ends(laid)
    if ends is None:
        return
    (x0, y0), (x1, y1) = ends
    x0, x1 = max(x0, frame.start), min(x1, frame.end)
    if x0 > x1:
        return
    line = Line2D((x0, x1), (y0, y1), color=CHALK, linewidth=0.8, linestyle=(0, (4, 2)), zorder=3)
    line.set_gid(f"hem:{tag(laid)}")
    ax.add_artist(line)
    if not _hem_apart(laid, frame):
        return
    depth, along = frame.points(laid.piece.hem_line or 0), frame.points(abs(x1 - x0) + abs(y1 - y0))
    away = frame.ticks(SMALLEST * PITCH / 2 + 1.5)
    if depth < SMALLEST * PITCH + 2 or along < text_width(_HEM, SMALLEST) + 6:
        return
    right, down = STEPS[laid.arrow]
    x, y = (x0 + x1) / 2 - right * away, (y0 + y1) / 2 - down * away
    if right and not frame.start + away <= x <= frame.end - away:
        return
    if LOOKS[laid.piece.role].hatch:
        half, thick = frame.ticks(text_width(_HEM, SMALLEST) / 2 + 1), frame.ticks(SMALLEST / 2)
        across, high = (thick, half) if right else (half, thick)
        _clear(ax, laid, (x - across, y - high), (2 * across, 2 * high))
    write(ax, x, y, _HEM, SMALLEST, color=CHALK, rotation=90 if right else 0, gid=f"hemword:{tag(laid)}")


def _draw_start(ax: Axes, laid: Laid, frame: Frame, line: int) -> None:
    """The start line of a cut, with a notch at either edge: the line of the pattern that belongs there.

    Where it runs along the finished hem the notches alone say so.
    """
    if not frame.start <= line <= frame.end:
        return
    near, far = laid.x, laid.x + laid.width
    if line - laid.y != laid.piece.hem_line:
        stroke = Line2D((line, line), (near, far), color=RUST, linewidth=0.9, zorder=3.2)
        stroke.set_gid(f"start-line:{tag(laid)}")
        ax.add_artist(stroke)
    deep, half = min(frame.ticks(5), laid.width / 6), frame.ticks(2.5)
    for edge, sign in ((near, 1), (far, -1)):
        points = ((line - half, edge), (line + half, edge), (line, edge + sign * deep))
        notch = Polygon(points, closed=True, facecolor=RUST, edgecolor="none", zorder=4.5)
        notch.set_gid(f"start-notch:{tag(laid)}:{'near' if sign > 0 else 'far'}")
        ax.add_artist(notch)


def _draw_cut_ends(ax: Axes, laid: Laid, frame: Frame) -> None:
    """Chevrons and a word where the piece goes on in the row before or after."""
    for side, at, sign, cut in (
        ("left", frame.start, -1, laid.y < frame.start),
        ("right", frame.end, 1, laid.y + laid.length > frame.end),
    ):
        if not cut or not shows(laid, frame):
            continue
        shown = min(laid.y + laid.length, frame.end) - max(laid.y, frame.start)
        mark = min(frame.ticks(MARK), shown / 4)
        middle, half = laid.x + laid.width / 2, min(frame.ticks(4), laid.width / 6)
        tip, base = at - sign * 0.15 * mark, at - sign * 0.7 * mark
        word = text_width(_CONTINUES, SMALLEST)
        fits = frame.points(laid.width) >= word + 14 and frame.points(mark) >= SMALLEST * PITCH
        centers: tuple[float, ...] = (middle,)
        if fits:
            away = frame.ticks(word / 2 + 5)
            centers = (middle - away, middle + away)
            write(
                ax,
                at - sign * 0.5 * mark,
                middle,
                _CONTINUES,
                SMALLEST,
                color=CHALK,
                rotation=90,
                gid=f"continues:{tag(laid)}:{side}",
            )
        for number, center in enumerate(centers):
            points = ((tip, center), (base, center - half), (base, center + half))
            chevron = Polygon(points, closed=True, facecolor=CHALK, edgecolor="none", zorder=6)
            chevron.set_gid(f"goes-on:{tag(laid)}:{side}:{number}")
            ax.add_artist(chevron)


def _draw_label(
    ax: Axes, laid: Laid, frame: Frame, label: PieceLabel, room: tuple[float, float, float, float]
) -> None:
    """The label in the middle of that room, in points from the corner of its box."""
    left, top, _, _ = label_box(laid, frame)
    whole = label.extent(laid.arrow)
    text, arrow = label.text_size, label.pointer.extent(laid.arrow)
    u, v = room[0] + (room[2] - whole[0]) / 2, room[1] + (room[3] - whole[1]) / 2
    if label.beside:
        text_at = (u, v + (whole[1] - text[1]) / 2)
        arrow_at = (u + whole[0] - arrow[0], v + (whole[1] - arrow[1]) / 2)
    else:
        text_at = (u + (whole[0] - text[0]) / 2, v)
        arrow_at = (u + (whole[0] - arrow[0]) / 2, v + whole[1] - arrow[1])
    ticks = frame.ticks(1)
    origin = (left, top)
    _clear(ax, laid, (left + u * ticks, top + v * ticks), (whole[0] * ticks, whole[1] * ticks))
    if label.lines or label.badge:
        _write_label(ax, laid, label, (origin[0] + text_at[0] * ticks, origin[1] + text_at[1] * ticks), ticks)
    corner = (origin[0] + arrow_at[0] * ticks, origin[1] + arrow_at[1] * ticks)
    draw_pointer(ax, label.pointer, laid.arrow, corner, ticks, f"arrow:{tag(laid)}")


def _clear(ax: Axes, laid: Laid, corner: tuple[float, float], size: tuple[float, float]) -> None:
    """Plain tint behind the label, so that no hatch or repeat line runs through the letters."""
    tint = LOOKS[laid.piece.role].tint
    ax.add_artist(
        Rectangle(corner, *size, facecolor=tint, edgecolor="none", zorder=5, gid=f"clear:{tag(laid)}")
    )


def _write_label(ax: Axes, laid: Laid, label: PieceLabel, corner: tuple[float, float], ticks: float) -> None:
    across, down = label.local_size
    rotation = 90 if label.quarter else 0

    def place(u: float, v: float) -> tuple[float, float]:
        """A point of the text as read, on the page."""
        page = (v, across - u) if label.quarter else (u, v)
        return corner[0] + page[0] * ticks, corner[1] + page[1] * ticks

    if label.badge:
        room = text_width(label.badge, label.badge_size, bold=True)
        write(
            ax,
            *place(room / 2, down / 2),
            label.badge,
            label.badge_size,
            bold=True,
            color=CHALK,
            rotation=rotation,
            gid=f"badge:{tag(laid)}",
        )
    middle = (label.badge_room + across) / 2
    first = (down - len(label.lines) * label.size * PITCH) / 2
    for number, line in enumerate(label.lines):
        v = first + (number + 0.5) * label.size * PITCH
        write(
            ax,
            *place(middle, v),
            line,
            label.size,
            bold=number < label.bold,
            rotation=rotation,
            gid=f"label:{tag(laid)}:{number}",
        )
