"""Drawings: every piece at its place, every arrow the right way, every text legible. Data is invented."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import plans
import pytest
from matplotlib.figure import Figure
from sheets import (
    FIXTURES,
    artist,
    assert_apart,
    assert_arrow_points,
    box_of,
    figures,
    plan,
    rows_of,
    shown_in,
    texts,
    with_gid,
)

from nesting.drawing.fabric_strip import repeat_lines
from nesting.drawing.frame import Frame, scale_of
from nesting.drawing.legend import entries
from nesting.drawing.lettering import SMALLEST
from nesting.drawing.marker import draw_marker, marker_figure, numbers_on
from nesting.drawing.page import page_figures
from nesting.drawing.pieces import hem_ends, tag
from nesting.drawing.rows import fold, to_explain
from nesting.drawing.stroke import strokes
from nesting.order.job import CuttingTable
from nesting.plan.numbering import numbering
from nesting.units import INCH, YARD, centimeters, inches


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
def test_every_piece_shows_its_one_number_and_its_name_or_a_line_of_the_legend(name: str) -> None:
    layout = plan(name).layouts[0]
    numbers = numbers_on(layout, numbering(plan(name).layouts))
    picture, *pages = figures(name)
    for sheets in ([picture], pages):
        written = [(text.get_gid() or "", text.get_text()) for one in sheets for text, _ in texts(one)]
        legend = {gid.split(":")[1] for gid, _ in written if gid.startswith("legend:")}
        for laid in layout.placements:
            own = " ".join(text for gid, text in written if gid.startswith(f"label:{tag(laid)}:"))
            assert laid.piece.name in own or laid.piece.id in legend, tag(laid)
            badges = [
                text.partition("drop")[0].strip() for gid, text in written if gid == f"badge:{tag(laid)}"
            ]
            tags = [text for gid, text in written if gid == f"step:{tag(laid)}"]
            assert {*filter(None, badges), *tags} == {numbers[tag(laid)]}, tag(laid)


@pytest.mark.parametrize("name", FIXTURES)
def test_numbers_in_tags_stand_in_their_pieces_clear_of_all_else(name: str) -> None:
    layout = plan(name).layouts[0]
    numbers = numbers_on(layout, numbering(plan(name).layouts))
    assert len(numbers) == len(layout.placements)
    for figure in figures(name):
        for ax in rows_of(figure):
            for laid in shown_in(ax, layout):
                mine = [one for _, one in with_gid(figure, f"step:{tag(laid)}") if one.axes is ax]
                mine = [one for one in mine if one.get_gid() == f"step:{tag(laid)}"]
                if not mine:
                    continue
                (written,) = mine
                assert written.get_text() == numbers[tag(laid)]
                left, bottom, right, top = box_of(ax, laid)
                patch = artist(ax, f"step-tag:{tag(laid)}")
                box = patch.get_window_extent().extents * 72 / figure.dpi
                assert left - 0.05 <= box[0] < box[2] <= right + 0.05
                assert bottom - 0.05 <= box[1] < box[3] <= top + 0.05
                arrow = ax.transData.transform(artist(ax, f"arrow:{tag(laid)}").get_xy()) * 72 / figure.dpi
                inside = (box[0] < arrow[:, 0].max()) & (arrow[:, 0].min() < box[2])
                inside &= (box[1] < arrow[:, 1].max()) & (arrow[:, 1].min() < box[3])
                assert not inside, laid.piece.id


def test_folds_are_marked_on_the_picture_and_the_pages_of_a_job_with_a_table() -> None:
    # Table 72: the panel 0 to 104 must be folded; at 72 the fold would meet a tab of 3 3/4, the twentieth,
    # 71 1/4 to 75, so it lies at 71 1/4. The next pull ends at the straight cut at 104. The second
    # panel is folded at 176; from there the rest, up to 235, is 59 and lies on the table.
    base = plan("back_tab")
    with_table = replace(base, job=replace(base.job, table=CuttingTable(inches(72))))
    for sheets in (
        [marker_figure(with_table, with_table.layouts[0])],
        list(page_figures(with_table, with_table.layouts[0])),
    ):
        marks = {one.get_gid() for figure in sheets for _, one in with_gid(figure, "fold:")}
        assert marks == {"fold:1", "fold:2", "fold:3"}
        words = {one.get_text() for figure in sheets for _, one in with_gid(figure, "fold-words:")}
        assert words == {"fold 1 at 71 1/4 in", "fold 2 at 104 in", "fold 3 at 176 in"}
        for figure in sheets:
            assert_apart(texts(figure))
    assert not with_gid(marker_figure(base, base.layouts[0]), "fold")


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
    # Every number without a tag is one that the legend explains, unless the whole name stands beside it.
    assert counts.keys() <= badges
    for piece_id, count in counts.items():
        assert count == sum(laid.piece.id == piece_id for laid in layout.placements)


def test_twenty_tabs_share_one_entry() -> None:
    layout = plan("back_tab").layouts[0]
    frames = fold(layout, layout.length, scale_of(12))
    numbers = numbers_on(layout, numbering((layout,)))
    explained = to_explain(layout, "in", frames, numbers)
    (tabs,) = [e for e in entries(layout, "in", explained, numbers) if "tab" in e.name]
    assert (tabs.count, tabs.size) == (20, "5 × 3 3/4 in")
    # 20 x 3 3/4 = 75, beside a panel of 47, each 5 wide.
    assert tabs.where == "between 0 and 75 in, 47 to 52 in from left"


def test_forty_legend_entries_flow_into_columns() -> None:
    found = [
        (text.get_text(), box[0], box[3])
        for text, box in texts(figures("long_bolt")[0])
        if re.match(r"legend:.*:number:0$", text.get_gid() or "")
    ]
    first = [int(re.match(r"\d+", number)[0]) for number, _, _ in found]
    assert len(first) == 40
    assert first == sorted(first)
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
    written = {text.get_gid(): text.get_text() for text, _ in texts(figures("on_hand")[0]) if text.get_gid()}
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
    assert [badges[f"badge:{tag(laid)}"] for laid in layout.placements if laid.letter] == [
        "drop A", "drop B", "drop A", "drop B",
    ]  # fmt: skip


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
    (ax,) = rows_of(figures("on_hand")[0])
    small, large = artist(ax, "flaw:1"), artist(ax, "flaw:2")
    assert (small.get_x(), small.get_y()) == (inches(30), inches(10))
    assert (small.get_width(), small.get_height()) == (inches(2), inches(3))
    assert (large.get_y(), large.get_height()) == (inches(30), inches(14))
    first = rows_of(figures("back_tab")[0])[0]
    assert (artist(first, "squaring").get_x(), artist(first, "squaring").get_width()) == (
        -inches(2),
        inches(2),
    )
    assert "2 in to square the end (included)" in artist(first, "row-end:-1").get_text()


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


def test_a_hem_too_deep_to_keep_clear_of_is_left_without_its_word() -> None:
    """A hem of 12 on a piece of 20 leaves no room beside it: the word would meet the label."""
    base = plan("back_tab")
    for hem, words in ((12, 0), (4, 1)):
        piece = plans.small("p", "Valance", "panel", inches(30), inches(20), hem_line=inches(hem))
        layout = replace(base.layouts[0], placements=(plans.laid(piece, 1, 0, 0),), length=inches(20))
        figure = marker_figure(base, layout)
        assert len(with_gid(figure, "hem:")) == 1
        assert len(with_gid(figure, "hemword:")) == words
        assert_apart(texts(figure))


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
        one = inches(1) if unit == "in" else centimeters(1)
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
