"""Nothing on a printed page runs out of it or into something else; drawings keep their scale."""

from __future__ import annotations

import io
import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from pages import (
    MADE,
    SVG,
    THREE,
    collisions,
    every,
    hard,
    packet_of,
    page_of,
    parsed,
    pdf_of,
    sample,
    texts,
    words,
    written,
)
from pypdf import PdfReader
from sheets import assert_apart
from sheets import texts as figure_texts

from nesting.drawing.heading_strip import MOST_ON_A_STRIP, heading_figure, stretches
from nesting.drawing.lettering import SMALLEST
from nesting.drawing.panel import PanelLook, mirrored, panel_figure
from nesting.drawing.svg import svg
from nesting.drawing.trace import Drawing, Outline, Words, trace
from nesting.drawing.true_scale import MARGIN, true_scale, true_scale_pages
from nesting.drawing.window import WindowLook, window_figure
from nesting.packet import full_size_pdf, full_size_svg, labels_pdf, packet_html, packet_pdf
from nesting.packet.markers import MOST_PAGES
from nesting.packet.model import MakingStep, MakingSteps, Section, Sheet
from nesting.pieces.piece import HeadingPlan, HeadingSpot
from nesting.units import TICKS_PER_MM, inches
from tests.seeds import nightly

HARD = ("names", "tabs", "long")
#: No printer reaches the last 4 mm of a sheet (common practice, no source).
EDGE = 11.0


@pytest.mark.parametrize("paper", ["a4", nightly("letter")])
@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_nothing_runs_off_a_page_or_into_its_neighbor(name: str, paper: str) -> None:
    for number, ((width, height), found) in enumerate(written(pdf_of(name, paper)), 1):
        assert found
        for one in found:
            assert one.left >= EDGE, (number, one)
            assert one.right <= width - EDGE, (number, one)
            assert one.low >= EDGE, (number, one)
            assert one.high <= height - EDGE, (number, one)
        assert collisions(found) == [], number


@pytest.mark.parametrize("paper", ["a4", "letter"])
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
    assert len(PdfReader(io.BytesIO(pdf)).pages) == max(1, -(-len(made.labels) // 24))


@pytest.mark.parametrize("name", THREE)
def test_no_drawing_covers_the_foot_of_its_page(name: str) -> None:
    # What a page draws last lies on top: the paper of a marker page comes before day and number.
    for number, (_, found) in enumerate(written(pdf_of(name)), 1):
        assert found[-2].text == MADE.isoformat()
        assert found[-1].text.startswith(f"page {number} of ")


def test_two_hundred_tabs_are_all_told() -> None:
    html = page_of("tabs")
    made = hard("tabs")
    spots = made.headings[0].spots
    assert len(spots) == 200
    assert len(stretches(made.headings[0])) == 5
    table = re.search(r"where each tab goes.*?</table>", html, re.S)
    assert table is not None
    assert len(re.findall("<tr>", table[0])) == 201


def test_a_long_bolt_takes_few_pages_and_its_pieces_can_be_told() -> None:
    text = texts(pdf_of("long"))
    markers = [page for page in text if "marker page" in page]
    # Each of the 261 cuts carries a number of its own, of three digits. In letters one can read that has no
    # room on a tab of 5 x 4 in where 60 yd stand in three rows on a page; two rows take 20 pages.
    assert len(markers) <= 2 * MOST_PAGES
    together = " ".join(markers)
    for number in range(1, 21):
        assert f"Hall window {number:02}" in together


def test_long_names_are_whole_in_the_lists() -> None:
    made = hard("names")
    text = "".join(texts(pdf_of("names"))).replace(" ", "")
    for piece in made.pieces:
        assert piece.name.replace(" ", "") in text
    assert made.job.windows[0].name in page_of("names")


@pytest.mark.parametrize("name", [*THREE, *map(nightly, HARD)])
def test_no_word_of_a_drawing_is_too_small_to_read(name: str) -> None:
    for section in packet_of(name).sections:
        for block in section.blocks:
            drawing = getattr(block, "drawing", None)
            if drawing is None:
                continue
            sizes = [mark.size for mark in drawing.marks if isinstance(mark, Words)]
            # On A4 a picture wider than the text is made smaller; a sheet is not.
            scale = 1.0 if isinstance(block, Sheet) else min(1.0, 515.28 / drawing.width)
            assert min(sizes) * scale >= SMALLEST


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
    ],
)
def test_the_sketch_of_a_window_has_every_letter_apart(look: WindowLook) -> None:
    found = figure_texts(window_figure(look))
    letters = {text.get_text() for text, _ in found if len(text.get_text()) == 1}
    expected = set("ABCEFGHJ") | (set("D") if look.panels > 1 else set())
    rings = set("R") if look.hangs == "rings" else set()
    expected -= (set("H") if look.top == "at" else set()) | (set("B") if look.hangs == "track" else set())
    assert letters == expected | rings
    assert_apart(found)
    assert all(box[0] >= 0 and box[2] <= 500 and box[1] >= 0 and box[3] <= 330 for _, box in found)


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
    assert (drawing.width, drawing.height) == (500, 330)
    places = {mark.text: (mark.x, mark.y) for mark in drawing.marks if isinstance(mark, Words)}
    # The floor's word stands below the floor line, near the right edge; y counts downwards.
    assert places["floor"][1] > 300
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
        made, sections=(Section("sewing", "Sewing", (MakingSteps((*steps, MakingStep("Last."))),)),)
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
