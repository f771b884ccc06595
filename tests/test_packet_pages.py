"""Nothing on a printed page runs out of it or into something else; drawings keep their scale."""

from __future__ import annotations

import io
import itertools
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest
from orders import a_bolt, a_fabric, a_window, inch
from pages import (
    MADE,
    SVG,
    THREE,
    all_texts,
    appendix_of,
    built,
    collisions,
    every,
    hard,
    leaves,
    packet_of,
    page_of,
    parsed,
    pdf_of,
    planned,
    sample,
    texts,
    words,
    written,
)
from pypdf import PdfReader
from sheets import assert_apart
from sheets import texts as figure_texts

from nesting.drawing.heading_strip import MOST_ON_A_STRIP, heading_figure, stretches
from nesting.drawing.lettering import READABLE
from nesting.drawing.panel import PanelLook, mirrored, panel_figure
from nesting.drawing.svg import svg
from nesting.drawing.trace import Drawing, Outline, Words, trace
from nesting.drawing.true_scale import MARGIN, true_scale, true_scale_pages
from nesting.drawing.window import WindowLook, sketch_height, window_figure
from nesting.packet import full_size_pdf, full_size_svg, labels_pdf, packet_html, packet_pdf
from nesting.packet.cautions import CAUTIONS
from nesting.packet.model import (
    Beside,
    Cautions,
    MakingStep,
    MakingSteps,
    Paragraph,
    Picture,
    Section,
)
from nesting.packet.room import page_room
from nesting.pieces.piece import HeadingPlan, HeadingSpot
from nesting.plan.cut_rows import cuts_of
from nesting.plan.plan import Plan
from nesting.units import TICKS_PER_MM, format_length, inches
from tests.seeds import nightly

HARD = ("names", "tabs", "long")
#: No printer reaches the last 4 mm of a sheet (common practice, no source).
EDGE = 11.0


@pytest.mark.parametrize("paper", ["a4", nightly("letter")])
@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_nothing_runs_off_a_page_or_into_its_neighbor(name: str, paper: str) -> None:
    pages = itertools.chain(written(pdf_of(name, paper)), written(appendix_of(name, paper)))
    for number, ((width, height), found) in enumerate(pages, 1):
        assert found
        for one in found:
            assert one.left >= EDGE, (number, one)
            assert one.right <= width - EDGE, (number, one)
            assert one.low >= EDGE, (number, one)
            assert one.high <= height - EDGE, (number, one)
        assert collisions(found) == [], number


@pytest.mark.parametrize("paper", ["a4", nightly("letter")])
@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_labels_stay_on_their_grid(name: str, paper: str) -> None:
    made = packet_of(name, paper)
    pdf = labels_pdf(made.labels, title=made.title, made=MADE, paper=paper)
    for (width, height), found in written(pdf):
        for one in found:
            assert one.left >= EDGE
            assert one.right <= width - EDGE
            assert one.low >= EDGE
            assert one.high <= height - EDGE
        assert collisions(found) == []
    assert len(PdfReader(io.BytesIO(pdf)).pages) == max(1, -(-len(made.labels) // 18))


@pytest.mark.parametrize("name", THREE)
def test_no_drawing_covers_the_number_of_its_page(name: str) -> None:
    # What a page draws last lies on top: the paper of a drawing comes before day and number.
    for number, (_, found) in enumerate(written(pdf_of(name)), 1):
        assert found[-1].text.startswith(f"{MADE.isoformat()}   ·   page {number} of ")


def sizes_of(pdf: bytes) -> set[float]:
    """The sizes of all type on its pages, turned or not, as printed."""
    found = set[float]()

    def visit(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip():
            found.add(round(size * math.hypot(tm[0], tm[1]) * math.hypot(cm[0], cm[1]), 3))

    for page in leaves(pdf):
        page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_no_type_is_smaller_than_9_points(name: str) -> None:
    made = packet_of(name)
    labels = labels_pdf(made.labels, title=made.title, made=MADE, paper="a4")
    for pdf in (pdf_of(name), appendix_of(name), labels):
        assert min(sizes_of(pdf)) >= 9
    assert max(sizes_of(pdf_of(name))) >= 14


def three_lined() -> Plan:
    """Three lined windows of two rooms: pleats, pleats, a rod pocket."""
    fabrics = (
        a_fabric(a_bolt(inch(54), inch(53)), nap="two-way"),
        a_fabric(a_bolt(inch(54), inch(53)), key="lining", name="Ivory sateen"),
    )
    ordered: dict[str, Any] = {"lining": "lining", "finished_length": inch("95 1/2")}
    windows = (
        a_window(name="Street window", room="Front room", heading="pinch-pleat", rod=inch(84), **ordered),
        a_window(name="Side window", room="Front room", heading="pinch-pleat", rod=inch(47), **ordered),
        a_window(name="Garden door", room="Kitchen", heading="rod-pocket", rod=inch("71 3/4"), **ordered),
    )
    return planned(*windows, fabrics=fabrics)


@pytest.mark.parametrize("paper", ["a4", nightly("letter")])
@pytest.mark.parametrize(("name", "most"), [("reading-nook", 6), ("workshop", 6), ("three lined", 14)])
def test_a_packet_is_short_with_a_drawing_at_every_step(name: str, most: int, paper: Any) -> None:
    made = built(three_lined() if name == "three lined" else sample(name), paper)
    pdf = packet_pdf(made, paper=paper)
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= most
    text = " ".join(texts(pdf))
    windows = [one for one in made.sections if one.part == "window"]
    assert len(windows) == (3 if name == "three lined" else 1)
    # Cautions, labels and drawings are among those pages.
    assert text.count("claims no compliance") == len(windows)
    assert text.count("TOP") >= len(made.labels)
    for block in (block for each in windows for block in each.blocks if isinstance(block, MakingSteps)):
        # But for the first, which lays the pieces out.
        assert len(block.items) > 5
        assert all(step.drawing is not None for step in block.items[1:])
    assert min(sizes_of(pdf)) >= 9


@pytest.mark.parametrize("name", [*THREE, nightly("three-window-house"), *map(nightly, HARD)])
def test_every_window_has_its_sheet_with_its_cautions(name: str) -> None:
    made = packet_of(name)
    plan = sample(name) if name not in HARD else hard(name)
    titles = [f"Window sheet: {window.name}" for window in plan.job.windows] or ["Cautions"]
    sheets = [one for one in made.sections if one.part == "window"]
    assert [one.title for one in sheets] == titles
    tree = parsed(page_of(name))
    for section in sheets:
        (place,) = [one for one in every(tree, "section") if one.get("id") == section.key]
        (framed,) = [one for one in every(place, "div") if one.get("class") == "cautions"]
        for lead, text in CAUTIONS.items:
            assert f"{lead} {text}" in words(framed)
    printed = " ".join(texts(pdf_of(name)))
    for _, text in CAUTIONS.items:
        assert printed.count(text) == len(sheets)


def test_a_window_sheet_without_its_cautions_is_refused() -> None:
    (sheet,) = [one for one in packet_of("reading-nook").sections if one.part == "window"]
    bare = tuple(block for block in sheet.blocks if not isinstance(block, Cautions))
    assert len(bare) == len(sheet.blocks) - 1
    with pytest.raises(ValueError, match="cautions"):
        replace(sheet, blocks=bare)


def test_sheets_come_first_and_the_appendix_is_a_fold_and_a_file_of_its_own() -> None:
    made = packet_of("reading-nook")
    assert [one.part for one in made.sheets] == ["table", "table", "window", "labels"]
    assert made.sections[: len(made.sheets)] == made.sheets
    first, *_ = texts(pdf_of("reading-nook"))
    assert "Table sheet A: Rust velvet" in first
    titles = {one.title for one in made.appendix}
    assert {"Arithmetic", "Questions and answers", "Buying list", "Cutting, step by step"} <= titles
    sheets, appendix = (" ".join(texts(pdf)) for pdf in (pdf_of("reading-nook"), appendix_of("reading-nook")))
    for title in titles:
        assert title in appendix
        assert title not in sheets
    tree = parsed(page_of("reading-nook"))
    (fold,) = every(tree, "details")
    assert [one.get("id") for one in every(fold, "section")] == [one.key for one in made.appendix]
    assert fold.get("open") is None


def test_the_outline_leads_to_each_sheet() -> None:
    reader = PdfReader(io.BytesIO(pdf_of("reading-nook")))
    pages = texts(pdf_of("reading-nook"))
    for mark, section in zip(reader.outline, packet_of("reading-nook").sheets, strict=True):
        at = reader.get_destination_page_number(mark)
        assert at is not None
        assert section.title in pages[at] or (section.part == "labels" and "Cut them apart" in pages[at])


def test_where_marks_go_stands_on_the_window_sheet() -> None:
    plan = sample("reading-nook")
    (sheet,) = [text for text in texts(pdf_of("reading-nook")) if "Window sheet: Nook window" in text]
    spots = [spot for spot in plan.headings[0].spots if spot.kind != "space"]
    for spot in spots:
        ends = (format_length(at, "in", name=False) for at in (spot.start, spot.end))
        assert f"{spot.number}: {' to '.join(ends)}" in sheet
        assert format_length((spot.start + spot.end) // 2, "in", name=False) in sheet


@pytest.mark.parametrize("name", [*THREE, "workshop", nightly("three-window-house"), nightly("long")])
def test_every_cut_has_its_number_on_the_strips_of_its_table_sheet(name: str) -> None:
    plan, made = (hard(name) if name in HARD else sample(name)), packet_of(name)
    for section, key in zip(
        [one for one in made.sections if one.part == "table"],
        dict.fromkeys(layout.fabric.key for layout in plan.layouts if layout.length is not None),
        strict=True,
    ):
        drawn = {
            word.partition(" × ")[0].partition("drop")[0].strip()
            for block in section.blocks
            if isinstance(block, Picture)
            for word in block.drawing.texts
        }
        cuts = {
            row.name
            for length in cuts_of(plan).lengths
            if length.layout.fabric.key == key
            for row in length.rows
        }
        assert cuts <= drawn


def test_two_hundred_tabs_are_all_told() -> None:
    html = page_of("tabs")
    made = hard("tabs")
    spots = made.headings[0].spots
    assert len(spots) == 200
    assert len(stretches(made.headings[0])) == 5
    table = re.search(r"where each tab goes.*?</table>", html, re.S)
    assert table is not None
    assert len(re.findall("<tr>", table[0])) == 201


def test_long_names_are_whole_in_the_lists() -> None:
    made = hard("names")
    text = "".join(all_texts("names")).replace(" ", "")
    for piece in made.pieces:
        assert piece.name.replace(" ", "") in text
    assert made.job.windows[0].name in page_of("names")


@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_no_word_of_a_drawing_is_too_small_to_read(name: str) -> None:
    for section in packet_of(name).sections:
        for block in section.blocks:
            picture = block.picture if isinstance(block, Beside) else block
            if not isinstance(picture, Picture):
                continue
            sizes = [mark.size for mark in picture.drawing.marks if isinstance(mark, Words)]
            # Drawings are set as they are, so they are no wider than the page has room for.
            assert picture.drawing.width <= page_room("a4") + 0.01
            assert min(sizes, default=READABLE) >= READABLE - 0.01


def test_a_strip_of_many_marks_goes_on_in_a_further_one() -> None:
    spots = tuple(HeadingSpot("tab", n * 1000, n * 1000 + 400, n + 1) for n in range(95))
    head = HeadingPlan("Long", "left", 95_000, spots)
    parts = stretches(head)
    assert parts[0][0] == 0
    assert parts[-1][1] == head.width
    assert all(b == c for (_, b), (c, _) in itertools.pairwise(parts))
    told = []
    for part in parts:
        drawing = trace(heading_figure(head, "mm", width=500, stretch=part))
        numbers = [t for t in drawing.texts if t.isdigit()]
        within = [s for s in spots if part[0] <= (s.start + s.end) // 2 <= part[1]]
        assert 0 < len(within) <= MOST_ON_A_STRIP
        told += within
        assert len(numbers) >= len(within)
    assert told == list(spots)
    assert stretches(HeadingPlan("None", "left", 500, ())) == ((0, 500),)


@pytest.mark.parametrize(
    "look",
    [
        WindowLook(),
        WindowLook("below", "above", 2, None, True, True),
        WindowLook("at", "on", 1, "left"),
        WindowLook("above", "on", 1, "right", True),
        WindowLook(returns=True, overlap=True, hangs="rings"),
        WindowLook("at", panels=1, leading="left", hangs="rings"),
        WindowLook(hangs="track"),
        WindowLook(spare=False, wide=False),
        WindowLook("below", spare=False, wide=False),
        WindowLook("at", spare=False, wide=False, hangs="rings"),
        WindowLook(returns=True, overlap=True, spare=False, wide=False, hangs="track"),
    ],
)
def test_the_sketch_of_a_window_has_every_letter_apart(look: WindowLook) -> None:
    found = figure_texts(window_figure(look))
    letters = {text.get_text() for text, _ in found if len(text.get_text()) == 1}
    expected = set("ABCEFGHJ") | (set("D") if look.panels > 1 else set())
    rings = set("R") if look.hangs == "rings" else set()
    expected -= (set("H") if look.top == "at" else set()) | (set("B") if look.hangs == "track" else set())
    if not look.spare:
        expected -= {"J"} | (set() if look.returns else {"C"}) | (set() if look.overlap else {"D"})
    assert letters == expected | rings
    assert_apart(found)
    wide, high = look.width, sketch_height(look)
    assert all(box[0] >= 0 and box[2] <= wide and box[1] >= 0 and box[3] <= high for _, box in found)


PANEL = PanelLook(
    width=inches(43), length=inches(95), left=inches(1), right=inches(2), bottom=inches(4), top=inches(4),
    top_name="facing", seams=(inches(30),), spots=(HeadingSpot("tab", inches(2), inches(4), 1),),
    lining=(inches(1), inches(41), inches(4), inches(94)), leading="right", nap=1,
)  # fmt: skip


def test_a_panel_is_drawn_to_scale() -> None:
    figure = panel_figure(PANEL, "in")
    (ax,) = figure.axes
    (bottom,) = [one for one in ax.patches if one.get_gid() == "hem:bottom"]
    # The bottom hem is 4 of 95 deep and as wide as the panel: 43.
    assert bottom.get_height() / bottom.get_width() == pytest.approx(4 / 43)
    (lining,) = [one for one in ax.patches if one.get_gid() == "lining"]
    assert lining.get_height() / lining.get_width() == pytest.approx(90 / 40)
    assert_apart(figure_texts(figure))


def test_the_back_is_the_front_turned_round() -> None:
    back = mirrored(PANEL)
    assert (back.left, back.right) == (PANEL.right, PANEL.left)
    assert back.seams == (inches(13),)
    assert (back.spots[0].start, back.spots[0].end) == (inches(39), inches(41))
    assert back.lining == (inches(2), inches(42), inches(4), inches(94))
    assert back.leading == "left"
    assert mirrored(back) == PANEL


@pytest.mark.parametrize("size", [(20, 110), (150, 84), (300, 96), (8, 20)])
def test_panels_of_any_shape_keep_their_words_apart(size: tuple[int, int]) -> None:
    wide, long = (inches(side) for side in size)
    look = PanelLook(
        wide,
        long,
        inches(1),
        inches(1),
        inches(2),
        inches(2),
        "top hem",
        tuple(range(wide // 6, wide, wide // 6)),
    )
    figure = panel_figure(look, "in")
    found = figure_texts(figure)
    width, height = figure.get_size_inches() * 72
    assert all(
        box[0] >= -1 and box[2] <= width + 1 and box[1] >= -1 and box[3] <= height + 1 for _, box in found
    )
    assert_apart([(text, box) for text, box in found if text.get_text().startswith(("s", "hem", "TOP"))])


def test_a_traced_drawing_is_the_figure() -> None:
    figure = window_figure(WindowLook())
    expected = sorted(text.get_text() for text, _ in figure_texts(figure))
    drawing = trace(figure)
    assert sorted(drawing.texts) == expected
    assert (drawing.width, drawing.height) == (500, 268)
    places = {mark.text: (mark.x, mark.y) for mark in drawing.marks if isinstance(mark, Words)}
    # The floor's word stands below the floor line, near the right edge; y counts downwards.
    assert places["floor"][1] > 250
    assert places["seen from above"][1] < 20
    assert "<pattern" not in page_of("loft-metric")
    tree = ET.fromstring(svg(drawing, alt="A <sketch> & more", prefix="one"))
    assert tree.get("aria-label") == "A <sketch> & more"
    assert sorted(text.text or "" for text in tree.iter(f"{SVG}text")) == expected


def test_full_size_is_real_millimeters() -> None:
    plan = sample("reading-nook")
    layout = plan.layouts[0]
    tree = ET.fromstring(full_size_svg(plan, layout))
    width, height = (float((tree.get(side) or "").removesuffix("mm")) for side in ("width", "height"))
    assert [float(part) for part in (tree.get("viewBox") or "").split()] == pytest.approx(
        [0, 0, width, height]
    )
    fabric = ((layout.length or 0) + layout.squaring) / TICKS_PER_MM
    assert width == pytest.approx(fabric + 2 * MARGIN, abs=0.01)
    drawing = true_scale(layout, "in")
    boxes = [_box(mark) for mark in drawing.marks if isinstance(mark, Outline) and len(mark.verbs) == 5]
    for laid in layout.placements:
        left = MARGIN + (laid.y + layout.squaring) / TICKS_PER_MM
        here = [
            b
            for b in boxes
            if b[0] == pytest.approx(left) and b[2] == pytest.approx(laid.length / TICKS_PER_MM)
        ]
        assert any(b[3] == pytest.approx(laid.width / TICKS_PER_MM) for b in here), laid.piece.id
    # The square that is measured before use.
    assert boxes[-1][2:] == pytest.approx((100, 100))


def _box(mark: Outline) -> tuple[float, float, float, float]:
    """Left, top, width and height of a rectangle."""
    xs, ys = [p[0] for _, p in mark.verbs if p], [p[1] for _, p in mark.verbs if p]
    return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


def test_full_size_pages_are_no_longer_than_readers_allow() -> None:
    plan = hard("long")
    layout = plan.layouts[0]
    pages = PdfReader(io.BytesIO(full_size_pdf(plan, layout))).pages
    drawings = true_scale_pages(layout, "in")
    assert len(pages) == len(drawings) > 10
    shown = 0.0
    for page, drawing in zip(pages, drawings, strict=True):
        # 72 points to the inch; readers end at 200 in.
        assert float(page.mediabox.width) <= 200 * 72
        assert float(page.mediabox.width) == pytest.approx(drawing.width * 72 / 25.4, abs=0.01)
        shown += drawing.width - 2 * MARGIN
    assert shown == pytest.approx(((layout.length or 0) + layout.squaring) / TICKS_PER_MM)


def test_a_step_has_its_drawing_at_its_side_and_its_measure_under_it() -> None:
    # As large as a drawing of a step is: 45 x 30 mm, words of 9 points.
    frame = Outline((("M", (1, 1)), ("L", (126, 1)), ("L", (126, 84)), ("L", (1, 84)), ("Z", ())), "#000000")
    drawing = Drawing(127.6, 85.0, (frame, Words(20, 40, "hem line", 9)))
    long = "Turn the hem up twice, the last fold on the hem line, and baste it. " * 4
    steps = tuple(
        MakingStep(f"{long}Step {number} ends.", drawing, f"Step {number}, drawn.", f"{number} in across")
        for number in range(1, 13)
    )
    made = packet_of("reading-nook")
    made = replace(
        made, sections=(Section("sewing", "Sewing", (MakingSteps((*steps, MakingStep("Last."))),), "table"),)
    )
    pdf = packet_pdf(made, paper="a4")
    text = " ".join(texts(pdf))
    for (width, _), found in written(pdf):
        assert collisions(found) == []
        assert all(one.right <= width - EDGE for one in found)
    tree = parsed(packet_html(made, paper="a4"))
    (listed,) = [one for one in every(tree, "ol") if one.get("class") == "making"]
    assert len(every(listed, "li")) == len(steps) + 1
    assert len(list(listed.iter(f"{SVG}svg"))) == len(steps)
    for number in range(1, 13):
        assert f"Step {number} ends." in text
        assert f"☐ Measure: {number} in across" in text
        assert f"Measure: {number} in across" in words(listed)


def test_headings_inside_a_section_stand_on_the_page() -> None:
    tree = parsed(page_of("reading-nook"))
    assert "Nook window" in [words(one) for one in every(tree, "h3")]


@pytest.mark.parametrize("name", [*THREE, nightly("three-window-house")])
def test_no_label_of_a_sample_loses_a_word(name: str) -> None:
    made = packet_of(name)
    text = " ".join(texts(labels_pdf(made.labels, title=made.title, made=MADE, paper="letter")))
    for label in made.labels:
        for said in (label.number, label.size, label.name, *label.lines, label.top):
            assert said in text


def test_no_line_ends_between_a_number_and_its_fraction() -> None:
    made = packet_of("reading-nook")
    words_ = "1: 6 9/16 to 8 9/16 · " * 60
    made = replace(made, sections=(Section("one", "One", (Paragraph(words_),), "table"),))
    (page,) = leaves(packet_pdf(made, paper="letter"))
    lines = [line.strip() for line in page.extract_text().splitlines()]
    assert sum("9/16" in line for line in lines) > 5
    assert not [line for line in lines if line.startswith("9/16")]


def test_what_is_to_be_known_of_a_print_stands_on_its_table_sheet() -> None:
    plan = sample("dining-room")
    (sheet,) = [text for text in texts(pdf_of("dining-room")) if "Table sheet A: Quince branch print" in text]
    listed = " ".join(texts(pdf_of("dining-room"))[:2])
    assert "Start line: one line of the pattern" in sheet
    assert "start line" in sheet.partition("Checks")[0]
    for cut in cuts_of(plan).of(plan.layouts[0]):
        if cut.line is not None:
            assert f"start line at {format_length(cut.line, 'in')}" in listed
        if cut.letter:
            assert f"drop {cut.letter}" in listed
