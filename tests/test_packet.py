"""The packet read back from its pages: the planner's own numbers, counts that agree, valid HTML."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import plans
import pytest
from heading_sums import by_hand
from orders import a_bolt, a_fabric, a_job, a_window, inch
from pages import (
    MADE,
    SVG,
    THREE,
    all_texts,
    appendix_of,
    built,
    every,
    hard,
    packet_of,
    page_of,
    parsed,
    pdf_of,
    planned,
    sample,
    tables,
    texts,
    words,
)
from pypdf import PdfReader

from nesting.check import check_plan_document
from nesting.errors import JobError
from nesting.files import plan_document, read_plan, write_text
from nesting.headings import HEADINGS
from nesting.order.job import TabOrder
from nesting.packet import appendix_pdf, labels_csv, labels_pdf, packet_html, packet_pdf
from nesting.packet.facts import run_in_both
from nesting.packet.model import BLANK, Paragraph, Picture, Table
from nesting.packet.practice import practice, practice_sections
from nesting.packet.what_is_left import offcuts
from nesting.plan.blocks import blocks
from nesting.plan.comparison import Comparison
from nesting.plan.cut_rows import cuts_of, straight_cuts
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.pulls import pulls
from nesting.units import format_length, format_quantity, inches, unit_ticks, unit_words


@pytest.fixture(params=THREE)
def plan(request: pytest.FixtureRequest) -> Plan:
    return sample(request.param)


@pytest.fixture
def name(request: pytest.FixtureRequest, plan: Plan) -> str:
    return next(name for name in THREE if sample(name) is plan)


def tape(plan: Plan, ticks: int) -> str:
    return format_length(ticks, plan.job.units, name=False)


def fabric(plan: Plan, layout: FabricLayout) -> str:
    """A fabric as it is headed: with its letter, where the plan has several."""
    keys = list(dict.fromkeys(each.fabric.key for each in plan.layouts))
    return (
        f"{'ABC'[keys.index(layout.fabric.key)]}: {layout.fabric.title}"
        if len(keys) > 1
        else layout.fabric.title
    )


def cut_rows(plan: Plan, html: str) -> list[tuple[str, ...]]:
    """Piece, count, width, length, start and end of every row of every cut list."""
    found = []
    for layout in plan.layouts:
        table = tables(parsed(html))[f"{fabric(plan, layout)}: cuts in order, {unit_words(plan.job.units)}"]
        columns = [table.column(name) for name in ("piece", "pcs", "wide", "long", "from", "to")]
        found += list(zip(*columns, strict=True))
        assert table.foot == [["all", *[""] * 8, str(len(layout.placements)), "", ""]]
    return found


def test_the_cut_list_of_the_page_is_the_plan(plan: Plan, name: str) -> None:
    rows = cut_rows(plan, page_of(name))
    # From straight cut to straight cut, equal small pieces together: nothing lost, nothing twice.
    expected: Counter[tuple[str, ...]] = Counter()
    for layout in plan.layouts:
        for cut in cuts_of(plan).of(layout):
            first, group = cut.first, cut.group
            # Sizes as the piece hangs, turned or not, as on marker and label.
            numbers = (first.piece.width, first.piece.length, first.y, group.end)
            expected[first.piece.name, str(group.count), *(tape(plan, ticks) for ticks in numbers)] += 1
    assert Counter((row[0].split(";")[0], *row[1:]) for row in rows) == expected
    for layout in plan.layouts:
        made = cuts_of(plan).of(layout)
        assert sum(cut.group.count for cut in made) == len(layout.placements)
        spots = {(laid.x, laid.y) for laid in layout.placements}
        assert {(c.first.x, c.first.y) for c in made} <= spots
        alone = {(b.first.x, b.first.y, b.end) for b in blocks(layout.placements) if b.count == 1}
        assert alone <= {(c.first.x, c.first.y, c.group.end) for c in made}


def test_each_piece_is_counted_with_its_size(plan: Plan, name: str) -> None:
    (table,) = (
        t for caption, t in tables(parsed(page_of(name))).items() if caption.startswith("Every piece of")
    )
    unit = plan.job.units
    expected = [
        [
            piece.name,
            plan.job.fabric(piece.fabric).title,
            f"{format_length(piece.width, unit, name=False)} × {format_length(piece.length, unit)}",
            str(piece.copies),
            str(sum(one.piece.id == piece.id for layout in plan.layouts for one in layout.placements)),
        ]
        for piece in plan.pieces
    ]
    assert table.body == expected
    total = str(sum(piece.copies for piece in plan.pieces))
    assert table.foot == [["all pieces", "", "", total, total]]


def test_the_pdf_says_the_same(plan: Plan, name: str) -> None:
    text = " ".join(texts(pdf_of(name)))
    for layout in plan.layouts:
        for cut in cuts_of(plan).of(layout):
            first, group = cut.first, cut.group
            numbers = (first.y, group.end, first.x, first.piece.width, first.piece.length)
            row = f"{cut.name} ☐ ☐ ☐ {' '.join(tape(plan, ticks) for ticks in numbers)} {group.count} "
            assert row in text, (first.piece.id, row)
            assert first.piece.name.split(",")[0] in text
    text = " ".join(texts(appendix_of(name)))
    for piece in plan.pieces:
        for line in piece.arithmetic(plan.job.units):
            result = line.rpartition(" = ")[2]
            assert result in text, line


def test_every_sum_is_the_planners(plan: Plan, name: str) -> None:
    shown = tables(parsed(page_of(name)))
    lines = [row for caption, table in shown.items() if caption.endswith(": sums") for row in table.body]
    rows = {(row[0].partition(":")[0], row[2], row[3]) for row in lines}
    steps = [s for piece in plan.pieces for s in (piece.length_steps, piece.width_steps)]
    steps += [s for head in plan.headings for s in head.steps] + [s for p in plan.panels for s in p.steps]
    assert steps
    for one in steps:
        target, _, rest = one.line(plan.job.units).partition(": ")
        numbers, _, result = rest.rpartition(" = ")
        assert (target, numbers, result) in rows
    assert len(rows) == len({step.line(plan.job.units) for step in steps if step.terms})


def test_what_is_bought_adds_up(plan: Plan, name: str) -> None:
    shown = tables(parsed(page_of(name)))
    body = shown["Fabric to buy"].body
    costs = [row[5] for row in body]
    total = sum(Fraction(re.sub(r"[^\d.]", "", cost)) for cost in costs)
    assert (
        Fraction(re.sub(r"[^\d.]", "", shown["Fabric to buy"].foot[0][5]))
        == total
        == Fraction(plan.cost or 0)
    )
    lengths = shown["How each length was worked out"]
    needed = next(row for row in lengths.body if row[0] == "= needed")
    for number, (layout, row) in enumerate(zip(plan.layouts, body, strict=True), 1):
        assert layout.buy is not None
        assert row[3].startswith(f"{format_quantity(layout.buy.total, layout.buy.unit)} (")
        assert lengths.head[number] == fabric(plan, layout)
        assert needed[number].startswith(format_length(layout.buy.needed, plan.job.units))
        assert lengths.body[0][number].startswith(format_length(layout.length or 0, plan.job.units))
        assert layout.buy.needed <= layout.buy.total


def test_lengths_in_the_other_measure_are_never_short() -> None:
    # 1 yd = 0.9144 m exactly (international yard, 1959): 5 1/8 yd = 4.6863 m, up to 4.69; 8.4 m = 9.186 yd,
    # up to the eighth 9 1/4.
    assert run_in_both(unit_ticks("yd") * 41 // 8, "in") == "5 1/8 yd (4.69 m)"
    assert run_in_both(unit_ticks("m") * 84 // 10, "cm") == "8.40 m (9 1/4 yd)"
    assert run_in_both(unit_ticks("yd"), "in") == "1 yd (0.92 m)"


def test_labels_name_every_piece_and_identical_small_ones_share_one(plan: Plan, name: str) -> None:
    tree = parsed(page_of(name))
    (sheet,) = [one for one in every(tree, "ul") if one.get("class") == "labels"]
    made = built(plan)
    # Panels, linings and what is sewn to one of them have a label each; of tabs, tie-backs and extras one
    # serves all that are alike and of one lot.
    own = [piece for piece in plan.pieces if piece.role not in ("tab", "tieback", "extra")]
    lots = {(laid.piece.id, laid.letter) for layout in plan.layouts for laid in layout.placements}
    count = sum(piece.copies for piece in own) + len(
        [one for one in lots if one[0] not in {piece.id for piece in own}]
    )
    assert len(every(sheet, "li")) == len(made.labels) == count
    assert sum(one.pieces for one in made.labels) == sum(piece.copies for piece in plan.pieces)
    for paper in ("a4", "letter"):
        text = " ".join(texts(labels_pdf(made.labels, title=made.title, made=MADE, paper=paper)))
        assert len(re.findall(r"(?<!\()\bcuts? [A-Z]?\d+\b", text)) == count
        assert text.count("TOP") == count
    rows = list(csv.DictReader(io.StringIO(labels_csv(plan))))
    assert len(rows) == count
    pieces = Counter[str]()
    for row in rows:
        pieces[row["piece"]] += int(row["pieces"])
    assert pieces == {piece.id: piece.copies for piece in plan.pieces}
    sizes = {piece.id: (tape(plan, piece.width), tape(plan, piece.length)) for piece in plan.pieces}
    assert all((row["width"], row["length"]) == sizes[row["piece"]] for row in rows)


def test_e37_spaces_of_4_on_the_strip() -> None:
    # How to Make Draperies (1960): 53 finished, 144 flat, 13 pleats of 7, first 3 from the outer edge, last 2
    # from the center edge. Derived: 12 spaces of 4.
    window = a_window(
        heading="pinch-pleat", rod=inch(98), returns=inch(3), overlap=inch(2), flat_width=inch(144)
    )
    made = planned(window, fabrics=(a_fabric(a_bolt(inch(150))),))
    shown = tables(parsed(packet_html(built(made), paper="letter")))
    left = next(t for caption, t in shown.items() if "left panel: where each pleat goes" in caption)
    assert left.column("clear to the next") == ["4"] * 12 + [""]
    starts = [3 + 11 * n for n in range(13)]
    assert left.column("from") == [str(at) for at in starts]
    assert left.column("to") == [str(at + 7) for at in starts]
    assert 144 - int(left.column("to")[-1]) == 2
    drawing = next(
        block.drawing
        for section in built(made).sections
        for block in section.blocks
        if isinstance(block, Picture) and "heading of the left panel" in block.alt
    )
    assert [t for t in drawing.texts if "/" in t or t in ("6 1/2",)][:13] == [
        f"{at + 3} 1/2" for at in starts
    ]


def test_e43_gaps_of_5_on_the_strip() -> None:
    # Common practice: panel 43, tabs 3 wide, 6 of them: five gaps of 5 exactly.
    window = a_window(heading="tab-top", flat_width=inch(43), tab=TabOrder(width=inch(3), count=6))
    made = planned(window, fabrics=(a_fabric(a_bolt(inch(54))),))
    shown = tables(parsed(packet_html(built(made), paper="letter")))
    table = next(t for caption, t in shown.items() if "where each tab goes" in caption)
    assert table.column("clear to the next") == ["5"] * 5 + [""]
    assert table.column("from") == ["0", "8", "16", "24", "32", "40"]
    assert table.column("to")[-1] == "43"


def test_the_page_is_valid_and_told_to_those_who_cannot_see_it(name: str) -> None:
    tree = parsed(page_of(name))
    assert [h.text for h in every(tree, "h1")] == [words(every(tree, "title")[0])]
    assert len(every(tree, "h2")) >= 8
    drawings = list(tree.iter(f"{SVG}svg"))
    shown = [one for one in drawings if one.get("aria-hidden") != "true"]
    assert len(shown) >= 6
    assert all(one.get("role") == "img" and len(one.get("aria-label") or "") > 20 for one in shown)
    assert all(words(one.find(f"{SVG}title")) == one.get("aria-label") for one in shown)
    ids = [one.get("id") for one in tree.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    named = set(re.findall(r"(?:url\(|href=\")#([^)\"]+)", page_of(name)))
    assert named
    assert named <= set(ids)
    for table in every(tree, "table"):
        assert every(table, "caption")
        assert all(cell.get("scope") == "col" for cell in every(table, "th"))


def test_the_page_asks_for_nothing(name: str) -> None:
    html = page_of(name)
    assert set(re.findall(r"https?://[^\"'\s<]+", html)) == {"http://www.w3.org/2000/svg"}
    loads = r"<(script|link|img|iframe|object|embed)\b|@import|\bsrc=|\bhref=\"(?!#)|\bhref=[^\"]|url\((?!#)"
    assert not re.search(loads, html)


def test_markup_in_a_title_is_text() -> None:
    title = 'Hall <b>& "tall"</b> </style><script>alert(1)</script> {{ 7 * 7 }} \\'
    made = sample("reading-nook")
    job = replace(made.job, title=title)
    spoiled = replace(made, job=job)
    html = packet_html(built(spoiled), paper="a4")
    tree = parsed(html)
    assert words(every(tree, "h1")[0]) == title
    assert not every(tree, "script")
    assert not every(tree, "b")
    assert len(every(tree, "style")) == 1
    (first, *_) = texts(packet_pdf(built(spoiled), paper="a4"))
    assert title.replace("\\", "").strip() in first


def test_every_page_has_title_date_and_number_and_each_bolt_room_for_its_lot(plan: Plan, name: str) -> None:
    for pages in (texts(pdf_of(name)), texts(appendix_of(name))):
        for number, text in enumerate(pages, 1):
            assert plan.job.title in text
            assert "2026-03-01" in text
            assert f"page {number} of {len(pages)}" in text
    sheets = [one for one in packet_of(name).sections if one.part == "table"]
    for section in sheets:
        bought = next(block for block in section.blocks if isinstance(block, Table))
        # A box for the lot, and one for the width as measured.
        assert all(row.count(BLANK) == 2 for row in bought.rows)


def test_the_same_plan_gives_the_same_bytes_and_a_file_brings_it_back(
    plan: Plan, name: str, tmp_path: Path
) -> None:
    path = tmp_path / "plan.json"
    write_text(path, json.dumps(plan_document(plan)))
    again = read_plan(path)
    assert packet_html(built(again), paper="a4") == page_of(name)
    assert packet_pdf(built(again), paper="a4") == pdf_of(name)
    assert labels_csv(again) == labels_csv(plan)


def test_a_plan_without_its_order_still_makes_a_packet() -> None:
    made = hard("long")
    html = packet_html(built(made), paper="letter")
    assert "Measuring sheet" not in html
    assert len(cut_rows(made, html)) < len(made.layouts[0].placements)
    assert len(PdfReader(io.BytesIO(packet_pdf(built(made), paper="letter"))).pages) > 5
    # Without a window to hand a sheet of, the cautions have one of their own.
    assert "claims no compliance" in html


@pytest.mark.parametrize("heading", HEADINGS)
def test_every_heading_is_sewn_with_its_own_sizes(heading: Any) -> None:
    made = planned(a_window(heading=heading), fabrics=(a_fabric(a_bolt(inch(54), inch(53)), weight="heavy"),))
    sections = {section.key: section for section in built(made).sections}
    text = " ".join(str(block) for block in sections["window-1"].blocks)
    assert "turn the lower edge 4 in to the back, then 4 in again" in text
    # Side hems of heavy fabric: 1 1/2 twice (common practice, no source).
    assert "turn both side edges 1 1/2 in to the back, then 1 1/2 in again" in text
    for words_ in by_hand(heading).printed:
        assert words_ in text
    panels = [b for b in sections["panels"].blocks if isinstance(b, Picture)]
    assert len(panels) == 2
    assert sections["questions"].blocks


def test_cautions_name_who_decides() -> None:
    text = " ".join(texts(pdf_of("reading-nook")))
    for source in (
        "16 CFR 1260", "ANSI/WCMA A100.1", "EN 13120", "US Fire Administration", "NFPA 701", "BS 5867-2",
        "NISTIR 89-4138", "16 CFR 423", "ISO 3758", "Local codes", "three points of contact",
    ):  # fmt: skip
        assert source in text, source
    assert "claims no compliance" in text


def test_straight_cuts_and_folds_spare_the_pieces(plan: Plan) -> None:
    for layout in plan.layouts:
        cut = straight_cuts(layout)
        assert cut == tuple(sorted(set(cut)))
        assert cut[-1] == layout.length
        for at in cut:
            assert not [one for one in layout.placements if one.y < at < one.y + one.length]
        table = inches(72)
        made = pulls(layout, table)
        for pull in made[:-1]:
            within = [at for at in cut if pull.start < at <= pull.start + table]
            assert not within or pull.end == within[-1]
        for one in layout.placements:
            whole = [p for p in made if p.start <= one.y and one.y + one.length <= p.end]
            assert whole or one.length > table
        for offcut in (spare.offcut for spare in offcuts(layout, plan.job.units)):
            for one in layout.placements:
                beside = one.x + one.width <= offcut.x or offcut.x + offcut.width <= one.x
                apart = one.y >= offcut.start + offcut.length or one.y + one.length <= offcut.start
                assert beside or apart


def test_what_is_left_on_the_bolt() -> None:
    plan = sample("reading-nook")
    layout = plan.layouts[0]
    assert layout.buy is not None
    last = cuts_of(plan).of(layout)[-1]
    # Bought less squaring less the layout.
    assert last.left == layout.buy.total - inches(2) - (layout.length or 0)
    assert all(cut.left is None or cut.left >= 0 for cut in cuts_of(plan).of(layout))


def test_a_practice_sample_is_scaled_and_keeps_workable_hems() -> None:
    plan = sample("reading-nook")
    small = practice(plan, Fraction(1, 3), seconds=1)
    assert check_plan_document(plan_document(small.plan)) == ()
    (panel,) = small.plan.panels
    # 95 1/2 / 3 = 31 5/6, to the sixteenth 31 13/16; rod 57 1/2 / 2 / 3 = 9 7/12, to the sixteenth 9 9/16,
    # 1.5 full 14 11/32, up to the sixteenth 14 3/8.
    assert format_length(panel.length, "in") == "31 13/16 in"
    assert format_length(panel.flat, "in") == "14 3/8 in"
    window = small.plan.job.windows[0]
    assert window.bottom_hem is not None
    assert window.leading_hem is not None
    # A third of 4 is 1 1/3, to the sixteenth 1 5/16, above the least of 1; a third of 1 is below 1/2.
    assert (window.bottom_hem.turn, window.leading_hem.turn) == (inch("1 5/16"), inch("1/2"))
    assert all((layout.fabric.repeat, layout.fabric.nap) == (None, "none") for layout in small.plan.layouts)
    pages = practice_sections(small, "a4")
    assert pages[0].title == "Practice sample, 1/3"
    made = built(plan, practice=pages)
    text = " ".join(texts(appendix_pdf(made, paper="a4")))
    assert "Practice sample, 1/3" in text
    assert "Practice: Window sheet: Sample of Nook window" in text
    assert "31 13/16" in text
    assert packet_pdf(made, paper="a4") == pdf_of("reading-nook")


def test_real_tabs_on_a_small_sample_get_the_whole_bolt() -> None:
    # A sixth of 54 is 9, less than a tab of 5 doubled and its seams: 11.
    window = a_window(heading="tab-top", rod=inch(120), tab=TabOrder(width=inch(5)))
    made = planned(window, fabrics=(a_fabric(a_bolt(inch(54), inch(53))),))
    small = practice(made, Fraction(1, 6), seconds=0.2)
    (layout,) = small.plan.layouts
    assert (layout.bolt.width, layout.bolt.usable) == (inch(54), inch(53))
    assert max(piece.width for piece in small.plan.pieces) >= inch(11)


def test_a_sample_has_a_lining_as_far_from_its_edges_for_its_size() -> None:
    fabrics = (a_fabric(a_bolt(inch(54), inch(53))), a_fabric(a_bolt(inch(54), inch(53)), key="lining"))
    window = a_window(
        heading="pinch-pleat", finished_length=inch(90), lining="lining", lining_cover=inch(35),
        lining_gap=inch(3), heading_depth=inch(4),
    )  # fmt: skip
    made = planned(window, fabrics=fabrics)
    small = practice(made, Fraction(1, 3), seconds=0.2)
    assert check_plan_document(plan_document(small.plan)) == ()
    # Of 35, 4 are the heading, which keeps its size; a third of the other 31 is 10 1/3, so 10 5/16.
    assert small.plan.job.windows[0].lining_cover == inch("14 5/16")
    assert small.plan.job.windows[0].lining_gap == inch(1)
    (lining,) = {piece.length for piece in small.plan.pieces if piece.role == "lining"}
    # 30 less 14 5/16 and 1, turned under by 1/2 at the top, and a hem of twice 11/16, a third of 2.
    assert lining == inch("16 9/16")


def test_a_sample_that_would_leave_no_lining_is_refused() -> None:
    fabrics = (a_fabric(a_bolt(inch(54), inch(53))), a_fabric(a_bolt(inch(54), inch(53)), key="lining"))
    window = a_window(
        heading="pinch-pleat", finished_length=inch(90), lining="lining", heading_depth=inch("9 3/4")
    )
    # 90 / 9 is 10; of it 9 3/4 are the heading, and a hem of 1/2 and a gap of 1/2 leave nothing.
    with pytest.raises(JobError, match="--practice"):
        practice(planned(window, fabrics=fabrics), Fraction(1, 9), seconds=0.2)


@pytest.mark.parametrize("scale", ["1/20", "0", "-1/3", "1", "3"])
def test_a_sample_of_no_use_is_refused(scale: str) -> None:
    with pytest.raises(JobError, match="--practice"):
        practice(sample("reading-nook"), Fraction(scale), seconds=0.2)


def test_a_comparison_stands_in_the_buying_list() -> None:
    comparison = plans.comparison()
    made = built(sample("reading-nook"), comparison=Comparison(comparison.job, comparison.options))
    table = tables(parsed(packet_html(made, paper="a4")))["The same job on each bolt width"]
    assert table.column("bolt width") == ["54 in", "60 in", "36 in"]
    assert table.body[2][4] == comparison.options[2].reason
    # 235 + 2 squaring = 6.58 yd, up to the eighth 6 5/8.
    assert table.column("buy")[0] == "6 5/8 yd"


def test_a_notebook_shows_marker_and_lists() -> None:
    plan = sample("reading-nook")
    html = plan._repr_html_()
    tree = parsed(f"<!DOCTYPE html><title>x</title>{html}")
    assert len(list(tree.iter(f"{SVG}svg"))) == len(plan.layouts)
    rows = [words(row) for row in every(tree, "tr")]
    first = cuts_of(plan).of(plan.layouts[0])[0].first
    assert any(first.piece.name in row and tape(plan, first.piece.length) in row for row in rows)
    assert "<script" not in html
    heavy = {"matplotlib", "jinja2", "reportlab"}
    script = f"import sys, nesting.plan.plan; print(*sorted({heavy!r} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.split() == []


def test_an_unknown_job_has_no_pages_it_cannot_fill() -> None:
    job = a_job(fabrics=(a_fabric(a_bolt(inch(54))),))
    made = built(Plan(job, (), ()))
    assert "measuring" not in {section.key for section in made.sections}
    assert packet_pdf(made, paper="a4").startswith(b"%PDF")
    assert every(parsed(packet_html(made, paper="a4")), "h1")


@pytest.mark.parametrize("name", ["reading-nook", "dining-room", "loft-metric"])
def test_no_file_syntax_and_no_british_spelling_stand_on_paper(name: str) -> None:
    text = " ".join(all_texts(name))
    assert not re.findall(r"\b[a-z_]{4,} = [\"0-9{\[]\S*", text)
    british = r"\b(?:cent|met)res?\b|towards|colour|inwards|upwards"
    assert not re.findall(f"(?i){british}|fit to cut|trade rule|what the planner|shortest decides", text)
    assert "Notes on this plan" in text
    assert ".." not in re.sub(r"\.{3,}", "", text)


def test_a_sign_of_the_marker_is_told_where_it_stands(plan: Plan) -> None:
    """``A2 × 16`` is a sign of the sheet that has this cut, and of no other."""
    told = [
        block.text
        for section in built(plan).sections
        for block in section.blocks
        if isinstance(block, Paragraph) and block.lead == "Marker:"
    ]
    for length, text in zip(cuts_of(plan).lengths, told, strict=True):
        equal = [f"{row.name} × {row.group.count}: one cut" for row in length.rows if row.group.count > 1]
        assert ("one cut" in text) is bool(equal)
        assert not equal or equal[0] in text


def test_a_lining_is_no_piece_seen_from_the_room() -> None:
    # Its right side faces the window: its label tells its edges as it lies right side up.
    for label in built(sample("dining-room")).labels:
        told = " ".join(label.lines)
        assert ("seen from the room" in told) is ("panel, width" in label.name)
        assert ("its right side to the window" in told) is ("lining" in label.name)


def test_a_grommet_has_a_center_and_no_beginning() -> None:
    made = planned(a_window(heading="grommet", flat_width=inch(60)), fabrics=(a_fabric(a_bolt(inch(150))),))
    shown = tables(parsed(packet_html(built(made), paper="letter")))
    table = next(t for caption, t in shown.items() if "where each grommet goes" in caption)
    assert table.head == ["no.", "center", "center to center"]
    # Centers 2 in from both edges (common practice), evenly between them.
    assert (table.column("center")[0], table.column("center")[-1]) == ("2", "58")
