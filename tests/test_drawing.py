"""Drawings: every piece at its place, every arrow the right way, every text legible. Data is invented."""

from __future__ import annotations

import hashlib
import itertools
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache

import numpy as np
import plans
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text

from nesting.drawing.charts import comparison_figure, progress_figure
from nesting.drawing.cloth import repeat_lines
from nesting.drawing.frame import Frame, scale_of
from nesting.drawing.heading_strip import heading_figure
from nesting.drawing.legend import entries
from nesting.drawing.lettering import SMALLEST, in_two, plain, shortened, text_width, wrapped
from nesting.drawing.marker import draw_marker, marker_figure
from nesting.drawing.page import marker_pdf, marker_png, marker_svg, page_figures
from nesting.drawing.palette import INK, LOOKS
from nesting.drawing.pieces import hem_ends, tag
from nesting.drawing.rows import fold, number_pieces
from nesting.drawing.stroke import strokes
from nesting.piece import HeadingPlan, Spot
from nesting.plan import ClothLayout, Laid, Plan
from nesting.units import INCH, YARD, centimetres, inches

FIXTURES = ("back_tab", "half_drop", "sheer", "at_hand", "long_bolt")
#: Directions of TOP on the page (right, up): the cloth is turned so that its length runs to the right.
ON_PAGE = {"up": (1, 0), "down": (-1, 0), "left": (0, 1), "right": (0, -1)}


@cache
def plan(name: str) -> Plan:
    return getattr(plans, name)()


@cache
def figures(name: str) -> tuple[Figure, ...]:
    """The picture of the whole bolt and the pages along it."""
    one = plan(name)
    return (marker_figure(one, one.layouts[0]), *page_figures(one, one.layouts[0]))


def with_gid(figure: Figure, start: str) -> list[tuple[Axes, object]]:
    return [
        (ax, artist)
        for ax in figure.axes
        for artist in ax.get_children()
        if (artist.get_gid() or "").startswith(start)
    ]


def texts(figure: Figure) -> list[tuple[Text, np.ndarray]]:
    """Every written text with left, bottom, right and top, in points of the sheet."""
    if not isinstance(figure.canvas, FigureCanvasAgg):
        FigureCanvasAgg(figure)
    with strokes():
        renderer = figure.canvas.get_renderer()
        return [
            (text, text.get_window_extent(renderer).extents * 72 / figure.dpi)
            for text in figure.findobj(Text)
            if text.get_text() and text.get_visible()
        ]


def box_of(ax: Axes, laid: Laid) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the shown part of a piece, in points of the sheet."""
    (low, high) = (max(laid.y, ax.row[0]), min(laid.y + laid.length, ax.row[1]))
    corners = ax.transData.transform([(low, laid.x + laid.width), (high, laid.x)]) * 72 / ax.figure.dpi
    return (*corners[0], *corners[1])


def rows_of(figure: Figure) -> list[Axes]:
    """The Axes with cloth on them, each with its stretch as ``row``."""
    found = []
    for ax, spine in with_gid(figure, "ruler:"):
        start, end = (int(part) for part in spine.get_gid().split(":")[1:])
        ax.row = (start, end)
        ax.apply_aspect()
        found.append(ax)
    return found


def shown_in(ax: Axes, layout: ClothLayout) -> list[Laid]:
    return [one for one in layout.placements if one.y < ax.row[1] and one.y + one.length > ax.row[0]]


def artist(ax: Axes, gid: str) -> object:
    (only,) = [one for one in ax.get_children() if one.get_gid() == gid]
    return only


@pytest.mark.parametrize("name", FIXTURES)
def test_every_placement_is_drawn_at_its_exact_place(name: str) -> None:
    layout = plan(name).layouts[0]
    picture, *pages = figures(name)
    for sheets in ([picture], pages):
        rows = [ax for figure in sheets for ax in rows_of(figure)]
        for laid in layout.placements:
            showing = [ax for ax in rows if laid in shown_in(ax, layout)]
            assert showing, tag(laid)
            for ax in showing:
                patch = artist(ax, f"piece:{tag(laid)}")
                place = (patch.get_x(), patch.get_y(), patch.get_width(), patch.get_height())
                assert place == (laid.y, laid.x, laid.length, laid.width)


@pytest.mark.parametrize("name", FIXTURES)
def test_rows_are_to_scale_and_not_mirrored(name: str) -> None:
    for figure in figures(name):
        for ax in rows_of(figure):
            here, along, across = ax.transData.transform([(0, 0), (INCH, 0), (0, INCH)])
            # The bolt runs to the right; from the left selvage at the top it goes down the page.
            assert along[0] > here[0]
            assert across[1] < here[1]
            assert along[0] - here[0] == pytest.approx(here[1] - across[1])


def assert_arrow_points(ax: Axes, laid: Laid) -> None:
    """The arrow narrows to a single point in the direction of TOP, and lies within its piece."""
    arrow = artist(ax, f"arrow:{tag(laid)}")
    points = ax.transData.transform(arrow.get_xy()[:-1]) * 72 / ax.figure.dpi
    ahead = points @ np.array(ON_PAGE[laid.arrow])
    assert np.isclose(ahead, ahead.max()).sum() == 1
    assert np.isclose(ahead, ahead.min()).sum() == 2
    left, bottom, right, top = box_of(ax, laid)
    assert left <= points[:, 0].min()
    assert points[:, 0].max() <= right
    assert bottom <= points[:, 1].min()
    assert points[:, 1].max() <= top


@pytest.mark.parametrize("name", FIXTURES)
def test_every_placement_has_an_arrow_to_its_top(name: str) -> None:
    layout = plan(name).layouts[0]
    for figure in figures(name):
        for ax in rows_of(figure):
            for laid in shown_in(ax, layout):
                assert_arrow_points(ax, laid)


@pytest.mark.parametrize("direction", ["up", "down", "left", "right"])
@pytest.mark.parametrize("size", [48, 9, 4, 1])
def test_arrows_of_all_directions_and_sizes(direction: str, size: int) -> None:
    """Down to a piece of an inch, whose arrow is only scaled down."""
    base = plan("back_tab")
    piece = plans.small("one", "One", "extra", inches(size), inches(size))
    laid = replace(plans.laid(piece, 1, inches(2), inches(3)), arrow=direction)
    layout = replace(base.layouts[0], placements=(laid,), length=inches(70))
    figure = marker_figure(replace(base, layouts=(layout,)), layout)
    (ax,) = [ax for ax in rows_of(figure) if shown_in(ax, layout)]
    assert_arrow_points(ax, laid)
    words = [text for text, _ in texts(figure) if text.get_text() == "TOP"]
    if size > 4:
        assert len(words) == 1


@pytest.mark.parametrize("name", FIXTURES)
def test_no_text_leaves_the_sheet_overlaps_another_or_is_too_small(name: str) -> None:
    for figure in figures(name):
        found = texts(figure)
        width, height = figure.get_size_inches() * 72
        for text, (left, bottom, right, top) in found:
            assert text.get_fontsize() >= SMALLEST
            assert left >= 0, text
            assert bottom >= 0, text
            assert right <= width, text
            assert top <= height, text
        assert_apart(found)


def assert_apart(found: list[tuple[Text, np.ndarray]]) -> None:
    boxes = np.array([box for _, box in found])
    # A twentieth of a point is less than the thinnest stroke.
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    meet = ((high - low) > 0.05).all(axis=2)
    pairs = [(found[a][0].get_text(), found[b][0].get_text()) for a, b in np.argwhere(np.triu(meet, 1))]
    assert not pairs


def test_the_overlap_check_finds_an_overlap() -> None:
    figure = Figure()
    figure.text(0.5, 0.5, "one upon")
    figure.text(0.5, 0.5, "the other")
    with pytest.raises(AssertionError):
        assert_apart(texts(figure))


@pytest.mark.parametrize("name", FIXTURES)
def test_labels_stay_inside_their_pieces_and_clear_of_arrows(name: str) -> None:
    layout = plan(name).layouts[0]
    for figure in figures(name):
        extents = {(text.axes, text.get_gid()): box for text, box in texts(figure)}
        for ax in rows_of(figure):
            own = {gid: box for (where, gid), box in extents.items() if where is ax and gid}
            for laid in shown_in(ax, layout):
                left, bottom, right, top = box_of(ax, laid)
                arrow = ax.transData.transform(artist(ax, f"arrow:{tag(laid)}").get_xy()) * 72 / figure.dpi
                for gid, box in own.items():
                    if not re.match(rf"(label|badge|top):{re.escape(tag(laid))}(:\d+)?$", gid):
                        continue
                    assert box[0] >= left - 0.05, gid
                    assert box[1] >= bottom - 0.05, gid
                    assert box[2] <= right + 0.05, gid
                    assert box[3] <= top + 0.05, gid
                    apart = (
                        arrow[:, 0].min() >= box[2] - 0.05
                        or arrow[:, 0].max() <= box[0] + 0.05
                        or arrow[:, 1].min() >= box[3] - 0.05
                        or arrow[:, 1].max() <= box[1] + 0.05
                    )
                    assert apart, gid


@pytest.mark.parametrize("name", FIXTURES)
def test_every_piece_shows_its_name_or_a_number_of_the_legend(name: str) -> None:
    layout = plan(name).layouts[0]
    picture, *pages = figures(name)
    for sheets in ([picture], pages):
        written = [(text.get_gid() or "", text.get_text()) for one in sheets for text, _ in texts(one)]
        numbers = {text for gid, text in written if re.match(r"legend:.*:number:0$", gid)}
        for laid in layout.placements:
            own = " ".join(text for gid, text in written if gid.startswith(f"label:{tag(laid)}:"))
            badge = [text.split()[0] for gid, text in written if gid == f"badge:{tag(laid)}"]
            assert laid.piece.name in own or (badge and badge[0] in numbers), tag(laid)


@pytest.mark.parametrize("name", FIXTURES)
def test_legend_counts_are_the_counts_of_pieces(name: str) -> None:
    layout = plan(name).layouts[0]
    picture = figures(name)[0]
    counts = {}
    for text, _ in texts(picture):
        found = re.match(r"legend:(.*):count:0$", text.get_gid() or "")
        if found:
            counts[found[1]] = int(text.get_text())
    badges = {
        laid.piece.id
        for laid in layout.placements
        for _, text in with_gid(picture, f"badge:{tag(laid)}")
        if text.get_text().split()[0].isdigit()
    }
    assert counts.keys() == badges
    for piece_id, count in counts.items():
        assert count == sum(laid.piece.id == piece_id for laid in layout.placements)


def test_twenty_tabs_share_one_entry() -> None:
    layout = plan("back_tab").layouts[0]
    frames = fold(layout, layout.length, scale_of(12))
    (tabs,) = [e for e in entries(layout, "in", number_pieces(layout, "in", frames)) if "tab" in e.name]
    assert (tabs.count, tabs.size) == (20, "5 × 3 3/4 in")
    # 20 x 3 3/4 = 75, beside a panel of 47, each 5 wide.
    assert tabs.where == "between 0 and 75 in, 47 to 52 in from left"


def test_forty_legend_entries_flow_into_columns() -> None:
    found = [
        (text.get_text(), box[0], box[3])
        for text, box in texts(figures("long_bolt")[0])
        if re.match(r"legend:.*:number:0$", text.get_gid() or "")
    ]
    assert [int(number) for number, _, _ in found] == list(range(1, 41))
    assert len({round(left) for _, left, _ in found}) > 1


def test_a_long_name_is_shortened_in_the_piece_and_whole_in_the_legend() -> None:
    name = "Conservatory, cover for the wicker settee with the rounded back, inner face"
    base = plan("back_tab")
    piece = plans.small("settee", name, "extra", inches(7), inches(16))
    laid = plans.laid(piece, 1, 0, 0)
    layout = replace(base.layouts[0], placements=(laid,), length=inches(16))
    figure = marker_figure(replace(base, layouts=(layout,)), layout)
    written = [(text.get_gid() or "", text.get_text()) for text, _ in texts(figure)]
    inside = " ".join(text for gid, text in written if gid.startswith("label:settee:1:"))
    legend = " ".join(text for gid, text in written if gid.startswith("legend:settee:name:"))
    assert "…" in inside
    assert legend == name


def test_labels_say_size_place_and_finish() -> None:
    written = {text.get_gid(): text.get_text() for text, _ in texts(figures("at_hand")[0]) if text.get_gid()}
    lines = [written[f"label:nook/lining:1:{n}"] for n in range(5)]
    assert lines == [
        "Nook, lining", "29 × 54 in", "from 0 to 54 in", "14 to 43 in from left", "finishes 50 in long",
    ]  # fmt: skip
    # Along the left selvage there is nothing to measure across.
    assert not [text for gid, text in written.items() if gid.startswith("label:nook/band") and "left" in text]


def test_drop_match_cuts_carry_their_letters() -> None:
    layout = plan("half_drop").layouts[0]
    badges = {}
    for _, text in with_gid(figures("half_drop")[0], "badge:"):
        badges[text.get_gid()] = text.get_text()
    # Derived: one column of 54 to the right of width 1 a half drop puts width 2 half a repeat off.
    assert [badges[f"badge:{tag(laid)}"] for laid in layout.placements if laid.letter] == ["A", "B", "A", "B"]


def test_repeat_lines_step_by_the_drop() -> None:
    layout = plan("half_drop").layouts[0]
    lines = list(repeat_lines(layout, Frame(0, inches(60), scale_of(12))))
    upright = [((a[0], a[1]), b[1]) for a, b in lines if a[0] == b[0]]
    # Repeat 25 from the hem of the first cut at 0; the next column, from 54 across, 12 1/2 higher.
    first = [a[0] for a, low in upright if a[1] == 0 and low == inches(54)]
    second = [a[0] for a, low in upright if a[1] == inches(54)]
    assert first == [0, inches(25), inches(50)]
    assert second == [inches("25/2"), inches("75/2")]
    assert [a[1] for a, b in lines if a[1] == b[1]] == [inches(54)]


def test_repeat_lines_pass_through_the_level_line_of_every_matched_cut() -> None:
    layout = plan("half_drop").layouts[0]
    ends = {a for a, _ in repeat_lines(layout, Frame(0, layout.length, scale_of(12)))}
    assert layout.placements[0].y in {y for y, _ in ends}
    assert layout.placements[2].y in {y for y, _ in ends}


def test_flaws_and_squaring_are_drawn_where_they_are() -> None:
    (ax,) = rows_of(figures("at_hand")[0])
    small, large = artist(ax, "flaw:1"), artist(ax, "flaw:2")
    assert (small.get_x(), small.get_y()) == (inches(30), inches(10))
    assert (small.get_width(), small.get_height()) == (inches(2), inches(3))
    assert (large.get_y(), large.get_height()) == (inches(30), inches(14))
    first = rows_of(figures("back_tab")[0])[0]
    assert (artist(first, "squaring").get_x(), artist(first, "squaring").get_width()) == (
        -inches(2),
        inches(2),
    )
    assert "squaring 2 in, bought too" in artist(first, "row-end:-1").get_text()


@pytest.mark.parametrize(
    ("arrow", "ends"),
    [
        ("up", ((18, 1), (18, 31))),
        ("down", ((42, 1), (42, 31))),
        ("left", ((10, 23), (50, 23))),
        ("right", ((10, 9), (50, 9))),
    ],
)
def test_the_hem_line_is_at_the_end_away_from_top(arrow: str, ends: tuple) -> None:
    piece = plans.small("p", "P", "panel", inches(30), inches(40), hem_line=inches(8))
    laid = replace(plans.laid(piece, 1, inches(1), inches(10)), arrow=arrow)
    assert hem_ends(laid) == tuple((inches(x), inches(y)) for x, y in ends)


def test_a_piece_across_a_row_break_is_marked_in_both_rows() -> None:
    layout = plan("back_tab").layouts[0]
    figure = Figure(figsize=(11, 12))
    upper, lower = figure.add_axes((0, 0.5, 1, 0.48)), figure.add_axes((0, 0, 1, 0.48))
    with strokes():
        assert draw_marker(upper, layout, "in", start=-inches(2), end=inches(60), row=1, rows=2) is upper
        draw_marker(lower, layout, "in", start=inches(60), end=inches(130), row=2, rows=2)
    key = "east-window/left/1:1"
    assert artist(upper, f"continues:{key}:right").get_text() == "continues"
    assert artist(lower, f"continues:{key}:left").get_text() == "continues"
    rows_of(figure)
    for ax in (upper, lower):
        assert_arrow_points(ax, layout.placements[0])
    assert_apart(texts(figure))


@pytest.mark.parametrize("name", FIXTURES)
def test_the_ruler_covers_the_bolt_without_a_gap(name: str) -> None:
    layout, unit = plan(name).layouts[0], plan(name).job.units
    picture, *pages = figures(name)
    for sheets in ([picture], pages):
        rows = [ax.row for figure in sheets for ax in rows_of(figure)]
        assert rows[0][0] == 0
        assert rows[-1][1] == layout.length
        assert all(before[1] == after[0] for before, after in itertools.pairwise(rows))
        marks = {
            int(text.get_gid().split(":")[1]): text.get_text()
            for figure in sheets
            for _, text in with_gid(figure, "ruler-mark:")
        }
        step = sorted(marks)[1]
        assert sorted(marks) == list(range(0, layout.length + 1, step))
        one = inches(1) if unit == "in" else centimetres(1)
        assert all(int(text) * one == at for at, text in marks.items())


def test_sixty_yards_have_every_yard_mark_and_numbered_pages() -> None:
    pages = figures("long_bolt")[1:]
    yards = {
        int(text.get_gid().split(":")[1]) for page in pages for _, text in with_gid(page, "ruler-major:")
    }
    assert yards == {n * YARD for n in range(1, 61)}
    numbers = [text.get_text() for page in pages for _, text in with_gid(page, "page")]
    assert numbers == [f"page {n + 1} of {len(pages)}" for n in range(len(pages))]
    titles = [text.get_text() for page in pages for _, text in with_gid(page, "title:0")]
    assert titles == ["Long hall"] * len(pages)


def test_rows_break_between_pieces_where_they_can() -> None:
    layout = plan("long_bolt").layouts[0]
    ends = [frame.end for frame in fold(layout, inches(320), scale_of(12))]
    assert not [laid for laid in layout.placements for y in ends if laid.y < y < laid.y + laid.length]
    # A stretch shorter than a panel has to cut it, and still leaves no gap.
    frames = fold(layout, inches(50), scale_of(12))
    assert all(frame.end - frame.start <= inches(50) for frame in frames)
    assert all(a.end == b.start for a, b in itertools.pairwise(frames))
    assert (frames[0].start, frames[-1].end) == (-inches(2), layout.length)


def test_markup_is_shown_as_text() -> None:
    title = r"Garden $room_1$ <b>& \alpha^2"
    one = plans.back_tab(title)
    layout = one.layouts[0]
    panel = replace(layout.placements[0].piece, name="Bay $x_1$ & <i>panel")
    layout = replace(layout, placements=(replace(layout.placements[0], piece=panel), *layout.placements[1:]))
    figure = marker_figure(one, layout)
    written = [text for text, _ in texts(figure)]
    assert title in [text.get_text() for text in written]
    assert panel.name in [text.get_text() for text in written]
    assert not any(text.get_parse_math() or text.get_usetex() for text in written)
    for made in (marker_png(one, layout), marker_svg(one, layout), marker_pdf(one, [layout])):
        assert len(made) > 1000


def test_the_title_block_says_what_is_known_and_leaves_out_what_is_not() -> None:
    def cell(name: str, caption: str) -> str:
        figure = figures(name)[0]
        return " | ".join(text.get_text() for _, text in with_gid(figure, f"cell:{caption}:"))

    # 235 + 2 squaring = 237 = 6.58 yd, up to the eighth 6 5/8 (238 1/2); 6.625 x 38.50 = 255.0625.
    assert cell("back_tab", "buy") == "6 5/8 yd, $255.06 | with squaring 2 in"
    assert cell("back_tab", "proven least") == "235 in | optimal: no layout can be shorter"
    assert cell("back_tab", "nap") == "one-way | stroke towards TOP = smooth"
    # 2160 against a bound of 2100: 60 over, 2.857 %.
    assert cell("long_bolt", "proven least") == "2100 in | at most 60 in longer than need be, 2.9 %"
    assert cell("half_drop", "repeat").startswith("25 in long, 54 in wide | half drop")
    # No price: length only. 852 + 5 = 857 cm, up to 8.6 m.
    assert cell("sheer", "buy") == "8.6 m | with squaring 5 cm"
    assert cell("sheer", "repeat") == "none: plain cloth"
    assert cell("at_hand", "buy") == "nothing: cloth at hand"
    # 2 x 47 x 104 + 20 x 5 x 3.75 + 2 x 44 x 4.5 + 18 x 18 = 10871 of 53 x 235 = 12455: 12.7 % unused.
    assert cell("back_tab", "length of the layout") == "235 in | 12.7 % of it unused"


def test_a_layout_that_was_not_found_still_makes_a_sheet() -> None:
    base = plan("back_tab")
    empty = replace(base.layouts[0], placements=(), length=None, buy=None)
    figure = marker_figure(base, empty)
    assert "none found" in [text.get_text() for text, _ in texts(figure)]


def test_turned_pieces_keep_their_upright_size_and_turn_their_arrow() -> None:
    layout = plan("sheer").layouts[0]
    ax = rows_of(figures("sheer")[0])[0]
    first = layout.placements[0]
    assert artist(ax, f"label:{tag(first)}:1").get_text() == "420 × 281 cm"
    assert first.arrow == "left"
    listed = [e.size for e in entries(layout, "cm", {"bay/loop": 1})]
    assert listed == ["9 × 14 cm, turned"]


_DIGEST = """
import hashlib, sys
import plans
from nesting.drawing.page import marker_pdf, marker_png, marker_svg
one = plans.half_drop()
made = (marker_svg(one, one.layouts[0]), marker_pdf(one), marker_png(one, one.layouts[0], dpi=60))
print(*(hashlib.sha256(part).hexdigest() for part in made), "matplotlib.pyplot" in sys.modules)
"""


def test_the_same_plan_gives_the_same_bytes_without_pyplot(pytestconfig: pytest.Config) -> None:
    one = plans.half_drop()
    layout = one.layouts[0]
    here = [marker_svg(one, layout), marker_pdf(one), marker_png(one, layout, dpi=60)]
    again = [marker_svg(one, layout), marker_pdf(one), marker_png(one, layout, dpi=60)]
    assert here == again
    run = subprocess.run(
        [sys.executable, "-c", _DIGEST],
        capture_output=True, text=True, check=True, cwd=pytestconfig.rootpath / "tests",
    )  # fmt: skip
    *digests, pyplot = run.stdout.split()
    assert digests == [hashlib.sha256(part).hexdigest() for part in here]
    assert pyplot == "False"


def test_files_are_of_their_kind_and_size() -> None:
    one = plan("back_tab")
    assert marker_svg(one, one.layouts[0]).startswith(b"<?xml")
    assert marker_png(one, one.layouts[0], dpi=50).startswith(b"\x89PNG")
    for paper, size in (("letter", (792, 612)), ("a4", (841.89, 595.28))):
        made = marker_pdf(one, paper=paper)
        assert made.startswith(b"%PDF")
        (box,) = set(re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", made))
        assert tuple(float(side) for side in box) == pytest.approx(size, abs=0.01)
    # Jobs in inches are printed on Letter, metric ones on A4.
    assert b"0 0 792 612" in marker_pdf(one)
    assert b"0 0 841.89 595.28" in marker_pdf(plan("sheer"))


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2 defines it (from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_roles_differ_without_colour_and_text_stands_out() -> None:
    assert len({look.hatch for look in LOOKS.values()}) == len(LOOKS)
    for look in LOOKS.values():
        assert (luminance(look.tint) + 0.05) / (luminance(INK) + 0.05) >= 7


def test_text_is_measured_shortened_and_wrapped_by_its_width() -> None:
    name = "East window, facing behind the heading"
    assert text_width(name, 10) == pytest.approx(2 * text_width(name, 5))
    assert text_width(name, 10, bold=True) > text_width(name, 10)
    room = text_width("East window, facing", 7)
    short = shortened(name, 7, room)
    assert short.startswith("East")
    assert short.endswith("…")
    assert text_width(short, 7) <= room
    assert shortened(name, 7, 1.0) == ""
    lines = wrapped(name, 7, room)
    assert " ".join(lines) == name
    assert all(text_width(line, 7) <= room for line in lines)
    assert "".join(wrapped("x" * 90, 7, 40)) == "x" * 90
    assert in_two("a bb cc d") == ("a bb", "cc d")
    assert plain("two\nlines\tand \U0001f9f5") == "two lines and ?"


def test_the_comparison_has_a_bar_for_each_bolt() -> None:
    comparison = plans.comparison()
    figure = comparison_figure(comparison)
    (ax,) = figure.axes
    for row, option in enumerate(comparison.options[:2]):
        buy = option.layout.buy
        bar = artist(ax, f"bar:{row}")
        assert bar.get_width() == pytest.approx(float(buy.quantity))
        least = artist(ax, f"least:{row}").get_xdata()[0]
        # Bound and squaring of 2 in, in yards of 36.
        assert least == pytest.approx((option.layout.bound.length / INCH + 2) / 36)
    words = {text.get_gid(): text.get_text() for text, _ in texts(figure) if text.get_gid()}
    # 235 + 2 = 237 -> 6 5/8 yd x 38.50; 208 + 2 = 210 -> 5 7/8 yd x 44 = 258.50.
    assert words["bought:0"] == "6 5/8 yd · $255.06 · least cost · proven shortest layout"
    assert words["bought:1"] == "5 7/8 yd · $258.50 · least cloth"
    assert words["reason:2:0"] == "a panel of 47 in is wider than the 35 in fit to cut"
    assert_apart(texts(figure))


def test_progress_shows_length_and_bound_over_time() -> None:
    layout = plan("back_tab").layouts[0]
    (ax,) = progress_figure(layout, "in").axes
    length, bound = artist(ax, "length"), artist(ax, "bound")
    assert list(length.get_ydata()) == [250, 240, 235, 235]
    assert list(bound.get_ydata()) == [200, 208, 230, 235, 235]
    assert length.get_drawstyle() == bound.get_drawstyle() == "steps-post"
    empty = progress_figure(replace(layout, incumbents=()), "in")
    assert "no steps were recorded" in [text.get_text() for text in empty.findobj(Text)]


def test_the_heading_strip_puts_everything_at_its_distance() -> None:
    heading = plan("back_tab").headings[0]
    figure = heading_figure(heading, "in")
    (ax,) = figure.axes
    for spot in heading.spots:
        patch = artist(ax, f"spot:tab:{spot.number}")
        assert (patch.get_x(), patch.get_x() + patch.get_width()) == (spot.start, spot.end)
    centres = [text.get_text() for _, text in with_gid(figure, "centre:")]
    # Ten centres from 2 to 41: 39 / 9 = 4.333 apart, read to the sixteenth.
    assert centres == [
        "2", "6 5/16", "10 11/16", "15", "19 5/16", "23 11/16", "28", "32 5/16", "36 11/16", "41",
    ]  # fmt: skip
    assert_apart(texts(figure))


def test_crowded_headings_stand_their_distances_upright() -> None:
    spots = tuple(Spot("grommet", inches(2 + 4 * n), inches(2 + 4 * n), n + 1) for n in range(35))
    figure = heading_figure(HeadingPlan("Bay", "single", inches(140), spots), "in")
    found = texts(figure)
    assert {t.get_rotation() for t, _ in found if (t.get_gid() or "").startswith("centre:")} == {90}
    assert_apart(found)
