"""Drawings as files, title blocks, charts and heading strips. Data is invented."""

from __future__ import annotations

import hashlib
import json
import re
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import plans
import pytest
from matplotlib.colors import to_rgb
from matplotlib.text import Text
from orders import a_bolt, a_fabric, a_job, bare_window
from rich.console import Console
from sheets import (
    artist,
    assert_apart,
    figures,
    plan,
    rows_of,
    texts,
    with_gid,
)

from nesting.commands.tables import comparison_table
from nesting.drawing.charts import comparison_figure, progress_figure
from nesting.drawing.frame import selvage
from nesting.drawing.heading_strip import heading_figure
from nesting.drawing.legend import entries
from nesting.drawing.lettering import in_two, plain, shortened, text_width, wrapped
from nesting.drawing.marker import marker_figure, numbers_on
from nesting.drawing.page import marker_png, marker_svg
from nesting.drawing.palette import INK, LOOKS
from nesting.drawing.pieces import tag
from nesting.files import plan_document, read_plan
from nesting.order.job import Bolt, Fabric, Shrinkage
from nesting.packet import marker_pdf
from nesting.pieces.piece import HeadingPlan, HeadingSpot
from nesting.plan.comparison import Comparison
from nesting.plan.numbering import numbering
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.repeat import Repeat
from nesting.units import INCH, inches


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
    assert cell("back_tab", "proven least") == "235 in | proven: no layout is shorter"
    assert cell("back_tab", "nap") == "one-way | stroke toward TOP = smooth"
    # 2160 against a bound of 2100: 60 over, 2.857 %.
    told = "2100 in | at most 60 in (2.9 %) longer than the shortest | possible"
    assert cell("long_bolt", "proven least") == told
    assert cell("half_drop", "repeat").startswith("25 in long, 54 in wide | half drop")
    # No price: length only. 852 + 5 = 857 cm, up to 8.6 m.
    assert cell("sheer", "buy") == "8.6 m | with squaring 5 cm"
    assert cell("sheer", "repeat") == "none: plain fabric"
    assert cell("on_hand", "buy") == "nothing: fabric on hand"
    # 2 x 47 x 104 + 20 x 5 x 3.75 + 2 x 44 x 4.5 + 18 x 18 = 10871 of 53 x 235 = 12455: 12.7 % unused.
    assert cell("back_tab", "length of the layout") == "235 in | 12.7 % of it unused"


def width_cell(fabric: Fabric, tmp_path: Path) -> tuple[str, str]:
    """Bolt width in the title block and the note below it, alike before and after the plan was saved."""
    window = bare_window(
        rod=inches(80), draw="left", fullness=Fraction(1), finished_length=inches(60), seam=inches("1/2")
    )
    made = make_plan(a_job(window, fabrics=(fabric,)), effort=Effort(work=1.0, workers=1))
    (tmp_path / "plan.json").write_text(json.dumps(plan_document(made)), encoding="utf-8")
    told = set()
    for one in (made, read_plan(tmp_path / "plan.json")):
        figure = marker_figure(one, one.layouts[0])
        cell = " | ".join(text.get_text() for _, text in with_gid(figure, "cell:bolt width:"))
        told.add((cell, " ".join(text.get_text() for _, text in with_gid(figure, "note:"))))
    (both,) = told
    return both


def test_the_title_block_tells_the_width_after_washing(tmp_path: Path) -> None:
    # 50 and 48, less 4 %: 48, and 46.08 down to 46 1/16; the selvages are 1 15/16 in all, 31/32 each.
    shrinkage = Shrinkage(width=Fraction(4), washed="before")
    bolt = a_bolt(inches(50), inches(48), sold_by=inches(1))
    cell, note = width_cell(a_fabric(bolt, shrinkage=shrinkage), tmp_path)
    assert cell == (
        "50 in as bought | 48 in once washed, usable 46 1/16 in | selvage 15/16 in at each edge left off"
    )
    assert "across-distances from the inner edge of the left selvage" in note


@pytest.mark.parametrize(("width", "start"), [("56", ""), ("57", "1/2 in inside ")])
def test_the_title_block_tells_of_seams_in_the_selvage(width: str, start: str, tmp_path: Path) -> None:
    # Full widths of 55 + 2 x 1/2 = 56; 55 are fit to cut.
    fabric = a_fabric(
        a_bolt(inches(width), inches(55), inches(55), sold_by=inches(1)), repeat=Repeat(inches(25))
    )
    cell, note = width_cell(fabric, tmp_path)
    assert cell == (f"{width} in, usable 55 in | full widths cut 56 in: seams reach into the selvage")
    assert f"across-distances from {start}the left edge of the fabric" in note


def test_a_washed_fabric_is_drawn_as_wide_as_it_lies() -> None:
    made = plan("back_tab")
    layout = made.layouts[0]
    shrunk = replace(layout, on_table=replace(layout.bolt, width=inches(53)))
    assert (selvage(layout), selvage(shrunk)) == (inches("1/2"), 0)


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
    listed = [e.size for e in entries(layout, "cm", ("bay/loop",), numbers_on(layout, numbering((layout,))))]
    assert listed == ["9 × 14 cm, turned"]


_DIGEST = """
import hashlib, sys
import plans
from nesting.drawing.page import marker_png, marker_svg
from nesting.packet import marker_pdf
one = plans.half_drop()
made = (marker_svg(one, one.layouts[0]), marker_pdf(one), marker_png(one, one.layouts[0], dpi=60))
print(*(hashlib.sha256(part).hexdigest() for part in made), "matplotlib.pyplot" in sys.modules)
"""


@pytest.mark.nightly
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


def luminance(color: str) -> float:
    """Relative luminance as WCAG 2 defines it (from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_roles_differ_without_color_and_text_stands_out() -> None:
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
    assert words["bought:1"] == "5 7/8 yd · $258.50 · least fabric"
    assert words["reason:2:0"] == "a panel of 47 in is wider than the 35 in usable"
    assert_apart(texts(figure))


def with_second_bolt(bolt: Bolt) -> Comparison:
    """The comparison of plans.py, its second purchase (5 7/8 yd) made from another bolt."""
    made = plans.comparison()
    first, second, third = made.options
    layout = replace(second.layout, bolt=bolt, buy=replace(second.layout.buy, price=bolt.price))
    return replace(made, options=(first, replace(second, bolt=bolt, layout=layout), third))


def bought_words(comparison: Comparison) -> list[str]:
    figure = comparison_figure(comparison)
    return [t.get_text() for t, _ in texts(figure) if (t.get_gid() or "").startswith("bought:")]


def test_the_least_fabric_goes_by_area_in_chart_and_table() -> None:
    # 54 x 6 5/8 yd = 357.75; 64 x 5 7/8 = 376: the shorter purchase is more fabric. 5 7/8 x 43 = 252.63.
    comparison = with_second_bolt(Bolt(inches(64), inches(63), price=Decimal(43)))
    assert bought_words(comparison) == [
        "6 5/8 yd · $255.06 · least fabric · proven shortest layout",
        "5 7/8 yd · $252.63 · least cost",
    ]
    (ax,) = comparison_figure(comparison).axes
    assert [bool(artist(ax, f"bar:{row}").get_hatch()) for row in (0, 1)] == [True, False]
    console = Console(width=200)
    with console.capture() as capture:
        console.print(comparison_table(comparison))
    told = [line.split(": ", 1)[1] for line in capture.get().splitlines() if " in: " in line]
    assert [words.split(";")[0] for words in told[:2]] == ["least fabric", "least cost"]


def test_equals_share_the_honor_and_one_bolt_alone_has_none() -> None:
    comparison = plans.comparison()
    first = comparison.options[0]
    twice = replace(comparison, options=(first, first))
    assert twice.honors(first) == ("least fabric", "least cost")
    assert replace(comparison, options=(first,)).honors(first) == ()
    assert comparison.honors(comparison.options[2]) == ()


@pytest.mark.parametrize(("offered", "cheapest"), [(True, ()), (False, ("least cost",))])
def test_the_least_cost_is_known_only_where_all_on_offer_are_priced(
    offered: bool, cheapest: tuple[str, ...]
) -> None:
    # 50 x 5 7/8 yd = 293.75 is less fabric than 54 x 6 5/8 yd.
    comparison = with_second_bolt(Bolt(inches(50), inches(49)))
    first, second, third = comparison.options
    comparison = replace(comparison, options=(first, replace(second, offered=offered), third))
    assert comparison.honors(comparison.options[0]) == cheapest
    assert comparison.honors(comparison.options[1]) == ("least fabric",)


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
    centers = [text.get_text() for _, text in with_gid(figure, "center:")]
    # Ten centers from 2 to 41: 39 / 9 = 4.333 apart, read to the sixteenth.
    assert centers == [
        "2", "6 5/16", "10 11/16", "15", "19 5/16", "23 11/16", "28", "32 5/16", "36 11/16", "41",
    ]  # fmt: skip
    assert_apart(texts(figure))


def test_numbers_too_wide_for_their_marks_stand_upright() -> None:
    spots = tuple(HeadingSpot("pleat", inches(4 + 9 * n), inches(8 + 9 * n), n + 1) for n in range(17))
    figure = heading_figure(HeadingPlan("Bay", "single", inches(156), spots), "in", width=400)
    found = {text.get_text(): text.get_rotation() for _, text in with_gid(figure, "number:")}
    assert list(found) == [str(n + 1) for n in range(17)]
    assert {found[str(n)] for n in range(1, 10)} == {0}
    assert {found[str(n)] for n in range(10, 18)} == {90}
    assert_apart(texts(figure))


def test_crowded_headings_stand_their_distances_upright() -> None:
    spots = tuple(HeadingSpot("grommet", inches(2 + 4 * n), inches(2 + 4 * n), n + 1) for n in range(35))
    figure = heading_figure(HeadingPlan("Bay", "single", inches(140), spots), "in")
    found = texts(figure)
    assert {t.get_rotation() for t, _ in found if (t.get_gid() or "").startswith("center:")} == {90}
    assert_apart(found)
