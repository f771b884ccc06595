"""The printed steps, followed with a pencil: cut sizes and steps must give what was ordered."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from heading_sums import by_hand
from orders import a_bolt, a_fabric, a_job, a_window, cm, inch
from pages import MADE, built, every, parsed, planned, tables, texts, words
from seamstress import Cut, L, Piece, Steps, length, sew

from nesting.headings import HEADINGS
from nesting.order.job import Band, Fabric, FacingOrder, Hem, Shrinkage, Tieback, Window
from nesting.packet import Packet, appendix_pdf, packet_html, packet_pdf
from nesting.packet.counted import counted
from nesting.packet.facts import window_facts
from nesting.packet.measuring import measuring
from nesting.packet.model import Paragraph, Section, Table
from nesting.packet.questions import questions
from nesting.packet.sewing import handling, making_steps
from nesting.packet.window_sheet import window_sheets
from nesting.plan.numbering import numbering
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.repeat import Repeat
from nesting.sewing import Chalk, Fold, Operation, SewingStep
from nesting.units import format_length
from tests.seeds import nightly, some

LAYERS = ("unlined", "tucked", "tube", "interlined")
#: Each heading at least once in the quick run, with changing layers.
EACH = some(itertools.product(HEADINGS, LAYERS), len(HEADINGS) + 2, 8)
LINING = a_fabric(a_bolt(inch(54), inch(53)), key="lining")
BUMP = a_fabric(a_bolt(inch(54), inch(53)), key="bump")


def face(kind: str = "plain", **more: Any) -> Fabric:
    if kind == "print":
        bolt = a_bolt(inch(54), inch(53), match=inch(52))
        return a_fabric(bolt, repeat=Repeat(inch(25), inch(26)), nap="one-way", **more)
    return a_fabric(a_bolt(inch(54), inch(53)), nap="one-way" if kind == "pile" else "none", **more)


def order(layers: str, **said: Any) -> Window:
    with_layers: dict[str, Any] = {
        "unlined": {}, "tucked": {"lining": "lining"}, "tube": {"lining": "lining", "lining_style": "tube"},
        "interlined": {"lining": "lining", "interlining": "bump"},
    }[layers]  # fmt: skip
    return a_window(**{"take_up": None, **with_layers, **said})


def pages(plan: Plan) -> Packet:
    """The parts of a packet that speak of sewing, without its drawings."""
    facts = window_facts(plan)
    told = [block for each in facts for block in (handling(each), making_steps(each))]
    parts = (
        measuring(facts),
        counted(plan, numbering(plan.layouts)),
        Section("sewing", "Sewing order", tuple(told)),
        questions(plan, facts),
    )
    return Packet("Order", plan.job.units, MADE, (), tuple(replace(one) for one in parts), ())


class Printed:
    """What a maker has on paper."""

    def __init__(self, plan: Plan) -> None:
        self.packet = pages(plan)
        self.html = packet_html(self.packet, paper="letter")
        tree = parsed(self.html)
        lists = [one for one in every(tree, "ol") if "Lay out the pieces of" in words(one)]
        self.windows = [
            Steps([" ".join(words(part) for part in every(item, "p")) for item in every(one, "li")])
            for one in lists
        ]
        self.steps = self.windows[0]
        rows = next(t for caption, t in tables(tree).items() if caption.startswith("Every piece of"))
        self.cuts = [
            Cut(name, *(length(re.sub(" [a-z]+$", "", side)) for side in size.split(" × ")), int(count), size)
            for name, size, count in zip(
                *(rows.column(head) for head in ("piece", "cut size", "needed")), strict=True
            )
        ]

    def of(self, words_: str) -> list[Cut]:
        """The pieces whose name is like that."""
        return [one for one in self.cuts if re.search(words_, one.name)]

    @property
    def pdf(self) -> str:
        """The printed pages as one text, without their heads and feet."""
        read = texts(appendix_pdf(self.packet, paper="letter"))
        inner = (re.sub(r"^Order: appendix | 2026-03-01 · page \d+ of \d+ $", "", page) for page in read)
        return re.sub(r"\s+", " ", " ".join(inner))


@cache
def printed(heading: Any, layers: str, kind: str = "plain", working: str = "0") -> Printed:
    window = order(layers, heading=heading, working=inch(working))
    return Printed(planned(window, fabrics=(face(kind), LINING, BUMP)))


def sewn(paper: Printed, *, keys: tuple[str, ...] = ("left", "right"), windows: int = 1) -> dict[str, Piece]:
    """The panels of a window, a pair unless said otherwise, made up from the printed text alone."""
    parts = dict[str, list[Cut]]()
    for key in keys:
        parts[key] = paper.of(rf", {key} panel(,|$)")
        assert parts[key]
        for layer in ("lining", "interlining", "facing", "hem band"):
            cuts = paper.of(rf", {key} {layer}(,|$)")
            if cuts:
                parts[f"{key} {layer}"] = cuts
    for what, name in (
        (r"tab$", "tabs"),
        ("tie-back", "tie-backs"),
        ("leading-edge band", "leading-edge band"),
    ):
        if found := paper.of(what):
            parts[name] = found[:1]
    each = {name: [replace(cut, count=cut.count // windows) for cut in cuts] for name, cuts in parts.items()}
    table = sew(paper.steps, each, keys)
    return {key: table.works[key] for key in keys}


def ordered_flat(heading: str, rod: int = 84) -> Fraction:
    """Half the rod, made full, with return and half the overlap: what a panel is at least."""
    sums = by_hand(heading)
    return Fraction(rod, 2) * Fraction(sums.fullness) + Fraction(sums.ends)


@pytest.mark.parametrize("kind", ["plain", nightly("pile"), nightly("print")])
@pytest.mark.parametrize(("heading", "layers"), EACH)
def test_the_steps_give_what_was_ordered(heading: str, layers: str, kind: str) -> None:
    paper = printed(heading, layers, kind, "1/2" if kind != "plain" else "0")
    for panel in sewn(paper).values():
        assert panel.hung == Fraction(191, 2)
        # A panel before its rod of 1 3/8 takes up 0.39, on the tape 7/16.
        over = Fraction(7, 16) if heading in ("back-tab", "rod-pocket") else 0
        assert panel.long == panel.hung + over
        assert 0 <= panel.wide - ordered_flat(heading) <= Fraction(1, 16)
        # Drawn in, half the rod and 5 1/2; else as it lies.
        assert panel.drawn == (Fraction(95, 2) if by_hand(heading).ends != "0" else None)
        assert (panel.gap is not None) == (layers != "unlined")
        if panel.gap is not None:
            # The lining covers the top of the hem, and what finishes the panel's top covers its own.
            assert panel.gap < panel.turned["lower edge"]
            assert panel.cover is not None
            assert panel.cover < Fraction(length(by_hand(heading).cover))


@pytest.mark.parametrize(("heading", "layers"), EACH)
def test_paper_and_page_say_the_same(heading: str, layers: str) -> None:
    paper = printed(heading, layers)
    text = re.sub(r"[^\w.,:;/()-]+", " ", paper.pdf)
    for step in paper.steps.said:
        told, _, measure = re.sub(r"[^\w.,:;/()-]+", " ", step).partition(" Measure: ")
        assert told.strip() in text
        assert measure in text
    for cut in paper.cuts:
        assert re.sub(r"[^\w.,:;/()-]+", " ", cut.said) in text


@pytest.mark.parametrize("heading", HEADINGS)
def test_pile_is_steamed_and_sewn_with_its_nap(heading: str) -> None:
    paper = printed(heading, "unlined", "pile", "1/2")
    assert not re.search(r"\b[Pp]ress", paper.steps.text)
    assert "with the nap, from the lower edge to the top" in paper.steps.text
    down = order("unlined", heading=heading)
    said = Printed(planned(down, fabrics=(face("pile", arrow="down"),))).steps.text
    assert "with the nap, from the top to the lower edge" in said
    assert "from the lower edge to the top" not in said


def test_facings_and_tabs_of_lining_are_pressed_though_the_face_is_pile() -> None:
    window = order("unlined", facing=FacingOrder(fabric="lining"))
    steps = Printed(planned(window, fabrics=(face("pile"), LINING))).steps
    assert re.search(r"both side edges 1/2 in to the back; press it\..* 63 in across", steps.step("Facing"))
    assert re.search("last fold on the hem line; finger-crease it and steam it", steps.step("Bottom hem"))


@pytest.mark.parametrize(("heading", "layers"), [("back-tab", "tucked"), ("grommet", "unlined")])
def test_working_allowance_is_cut_off(heading: str, layers: str) -> None:
    # 95 1/2 + 1/2 of working, sewn as it was printed before, came out 96.
    paper = printed(heading, layers, "pile", "1/2")
    assert "cut 1/2 in off the upper edge" in paper.steps.text.lower()
    assert {panel.hung for panel in sewn(paper).values()} == {Fraction(191, 2)}


@pytest.mark.parametrize("heading", ["back-tab", "rod-pocket", "pinch-pleat"])
def test_pieces_cut_for_shrinkage_are_washed_first(heading: str) -> None:
    # 4 % along: 104 7/16 / 0.96 = 108.79, up to the sixteenth 108 13/16 (back tab).
    shrinks = Shrinkage(length=Fraction(4), width=Fraction(2), washed="after")
    paper = Printed(planned(order("unlined", heading=heading), fabrics=(face(shrinkage=shrinks),)))
    assert paper.steps.said[1].startswith("Wash first.")
    if heading == "back-tab":
        # The facing: 4 1/2 / 0.96 = 4.6875.
        assert {one.long for one in paper.of("left panel")} == {Fraction(1741, 16)}
        assert {one.long for one in paper.of("left facing")} == {Fraction(75, 16)}
        assert re.search(r"about .* by 104 7/16 in", paper.steps.said[1])
        assert re.search(r"about .* by 4 1/2 in", paper.steps.said[1])
    for panel in sewn(paper).values():
        assert panel.hung == Fraction(191, 2)
        assert 0 <= panel.wide - ordered_flat(heading) <= Fraction(1, 8)
    # 2 % across: 53 x 0.98 = 51.94, to the nearest sixteenth 51 15/16; chalk and paper are gone by then.
    assert "about 51 15/16 in by" in paper.steps.text
    step = paper.steps.said[1]
    assert re.search(r"wash and dry.*pin the labels on again.*take the labels off.* laundry pen", step)


def test_fabric_washed_before_cutting_is_said_to_be() -> None:
    shrinks = Shrinkage(length=Fraction(4), washed="before")
    plan = planned(order("unlined"), fabrics=(face(shrinkage=shrinks),))
    assert "Wash first" not in Printed(plan).steps.text
    page = packet_html(built(plan), paper="letter")
    assert "wash and dry the whole length before it is squared" in page


def test_a_facing_wider_than_its_fabric_is_joined() -> None:
    # 63 and 2 x 1/2 turned in need 64 of 53; pile is not cut along the fabric, and joins keep off the tabs.
    paper = printed("back-tab", "unlined", "pile", "1/2")
    assert "join them" in paper.steps.step("Facing")
    parts = [one.wide for one in paper.of("left facing")]
    assert len(parts) > 1
    assert sum(parts) - 2 * Fraction(1, 2) * (len(parts) - 1) == 64
    sewn(paper)
    narrow = Printed(planned(order("unlined", rod=inch(60)), fabrics=(face(),)))
    assert "join them" not in narrow.steps.step("Facing")
    sewn(narrow)


def test_a_turned_lower_edge_of_the_facing_is_in_its_sum() -> None:
    window = order("tucked", facing=FacingOrder(lower_edge="turned"))
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    assert "both side edges and the lower edge 1/2 in to the back" in paper.steps.step("Facing"), (
        paper.steps.step("Facing")
    )
    assert {panel.deep for panel in sewn(paper).values()} == {4}


@pytest.mark.parametrize("layers", LAYERS)
def test_corners_and_hem_wait_until_the_drape_has_hung(layers: str) -> None:
    steps = printed("clip-ring", layers).steps
    last = steps.step("Level the hem")
    assert "Close the corners" in last
    assert steps.before("do not sew it yet", "Level the hem edge")
    for step in steps.said[: steps.said.index(last)]:
        assert not re.search(r"miter|[Cc]lose the corners", step)
    if layers in ("tucked", "interlined"):
        # Open until the lining lies under them.
        assert "leave it open for now" in steps.step("Side hems")
        assert "ew side hem and lining in one" in steps.step("Lining")
        assert steps.before("^Side hems", "^Lining")
    if layers == "interlined":
        assert steps.before("^Interlining", "^Bottom hem")
    if layers == "tube":
        assert "Side hems" not in steps.text


def test_a_shallow_hem_is_covered_by_the_lining() -> None:
    # A hem of 1: its upper edge lies 1 above the hem edge, so the lining ends 1/2 above it.
    window = order("tucked", bottom_hem=Hem(inch(1), 2))
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    assert "its lower edge 1/2 in above the hem edge" in paper.steps.text
    sewn(paper)


@pytest.mark.parametrize(
    ("heading", "row", "at"),
    # Pleats: the top edge covers the eyes by 1/2. Tape 3: rows 1/2, 1 1/2 and 2 1/2 below the top edge.
    [("pinch-pleat", "top", "1/2"), ("pencil-pleat", "top", "1/2"), ("pencil-pleat", "middle", "1 1/2"),
     ("pencil-pleat", "bottom", "2 1/2")],
)  # fmt: skip
def test_hooks_have_their_height(heading: str, row: Any, at: str) -> None:
    window = order("unlined", heading=heading, hook_row=row)
    said = Printed(planned(window, fabrics=(face(),))).steps.text
    assert re.search(rf"hook.* {re.escape(at)} in below the top edge", said)


def test_rings_have_their_height() -> None:
    # The top edge stands 1 above the rod, on which the hole hangs.
    said = printed("grommet", "unlined").steps.text
    assert "the upper edge of its hole 1 in below the top edge" in said


def test_marks_are_measured_from_the_edge_that_the_table_means() -> None:
    for heading in ("tab-top", "pinch-pleat", "grommet", "clip-ring"):
        assert "measured from the left edge each time" in printed(heading, "unlined").steps.step("Marks")
    plan = planned(order("unlined"), fabrics=(face(),))
    for head in plan.headings:
        marks = [(spot.start, spot.end) for spot in head.spots]
        turned = [(head.width - end, head.width - start) for start, end in reversed(marks)]
        assert all(
            abs(a - b) <= 1
            for one, two in zip(marks, turned, strict=True)
            for a, b in zip(one, two, strict=True)
        )


def test_folding_checks_marks_only_where_they_are_alike_from_both_ends() -> None:
    # 13 pleats of 7 between 3 and 2 (How to Make Draperies, 1960): alike, whatever the return.
    even = a_window(
        heading="pinch-pleat", rod=inch(98), returns=inch(3), overlap=inch(2), flat_width=inch(144)
    )
    text = Printed(planned(even, fabrics=(a_fabric(a_bolt(inch(150))),))).steps.text
    assert "check by folding" in text.replace("not check", "")
    # Pleats that keep clear of a seam differ between the widths.
    uneven = printed("pinch-pleat", "unlined").steps.text
    plan = planned(order("unlined", heading="pinch-pleat"), fabrics=(face(),))
    marks = [spot for spot in plan.headings[0].spots if spot.kind == "pleat"]
    sums = {one.start + other.end for one, other in zip(marks, reversed(marks), strict=True)}
    assert max(sums) - min(sums) > inch("1/8")
    assert "Do not check by folding" in uneven
    last = marks[-1].end
    assert f"measure the last one once more, {format_length(last, 'in')} from the left edge" in uneven


@pytest.mark.parametrize("layers", ["unlined", "tucked"])
@pytest.mark.parametrize("heading", ["rod-pocket", "clip-ring"])
def test_bands_start_at_the_hem_line(heading: str, layers: str) -> None:
    bands = (Band("leading", inch(3), "face"), Band("hem", inch(5), "face"))
    ties = (Tieback(inch(30), inch(3), 2, "face"),)
    window = order(layers, heading=heading, bands=bands, tiebacks=ties, count=2)
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    steps, panel = paper.steps, sewn(paper, windows=2)["left"]
    leading = steps.step("Leading-edge band")
    (band, *_) = paper.of("leading-edge band")
    # All its edges turned in 1/2: from the hem line to the top line, 3 wide.
    turned = [length(one) for one in re.findall(L + " to the back", leading)]
    assert turned
    assert set(turned) == {Fraction(1, 2)}
    assert (band.wide - 1, band.long - 1) == (3, panel.long)
    assert "its lower edge on the hem line" in leading
    assert "its upper edge comes on the top line" in leading
    assert "edge on the side fold" in leading
    assert "leave it open at the hem until the hem has been leveled" in leading
    assert steps.before("^Leading-edge band", "^Bottom hem")
    hem_step = steps.step("Hem band")
    (hem_band, *_) = paper.of("left hem band")
    parts = hem_band.count // 2
    assert parts * hem_band.wide - (parts - 1) - 1 == panel.wide
    assert hem_band.long - 1 == 5
    assert "oin them" in hem_step
    assert f"{format_length(inch(panel.wide), 'in')} across" in hem_step
    assert "its lower edge level with the hem edge, its sides level with the side edges" in hem_step
    assert steps.before("^Level the hem", "^Hem band")
    # Two for each of two windows; the steps are those of one window.
    (tie,) = paper.of("tie-back")
    assert tie.count == 4
    assert "old each of the 2 strips" in steps.step("Tie-backs")
    assert "each 30 in long, 3 in wide" in steps.step("Tie-backs")
    assert (tie.wide - 1, (tie.long - 1) / 2) == (30, 3)


@pytest.mark.parametrize(
    ("part_at", "said"),
    [
        (None, "The wider one is at the leading edge, the part-width at the outer edge"),
        ("leading", "The part-width is at the leading edge, the wider one at the outer edge"),
    ],
)
def test_questions_say_where_the_plan_put_the_part_width(part_at: Any, said: str) -> None:
    plan = planned(order("unlined", part_at=part_at), fabrics=(face(),))
    facts = window_facts(plan)
    (answer,) = [b.text for b in questions(plan, facts).blocks if "Where does the seam go" in b.lead]
    assert said in answer
    assert ".  " not in answer
    assert re.search(r"[.] Two part-widths", answer)
    for panel, hanging in zip(plan.panels, facts[0].hangings, strict=True):
        lead = panel.cuts[0] if hanging.leading == "left" else panel.cuts[-1]
        assert (lead == min(panel.cuts)) == (part_at == "leading")


@pytest.mark.parametrize("heading", HEADINGS)
def test_metric_steps_give_what_was_ordered(heading: Any) -> None:
    fabrics = tuple(a_fabric(a_bolt(cm(140), cm(137), sold_by=cm(10)), key=key) for key in ("face", "lining"))
    window = a_window(
        heading=heading, lining="lining", rod=cm(220), rod_diameter=cm("7/2"), finished_length=cm(242),
        take_up=None,
    )  # fmt: skip
    job = replace(a_job(window, fabrics=fabrics), units="cm")
    paper = Printed(make_plan(job, effort=Effort(work=0.2, workers=1)))
    # Return 9 and half an overlap of 10 for pleats.
    sums = by_hand(heading)
    flat = Fraction(110) * Fraction(sums.fullness) + (0 if sums.ends == "0" else 14)
    for panel in sewn(paper).values():
        assert panel.hung == 242
        assert 0 <= panel.wide - flat <= Fraction(1, 10)


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        ("back-tab", {"widths": "whole"}),
        ("clip-ring", {"widths": "half"}),
        ("grommet", {"railroad": "yes"}),
        ("pinch-pleat", {"flat_width": inch(120)}),
        ("pencil-pleat", {"heading_depth": inch(2)}),
        ("rod-pocket", {"take_up": 0, "heading_depth": inch(2), "pocket": inch(3)}),
        ("pinch-pleat", {"bottom_hem": Hem(inch(3), 1)}),
        ("tab-top", {"facing": FacingOrder(depth=inch(3)), "seam": inch("5/8")}),
        ("back-tab", {"facing": FacingOrder(depth=inch(6))}),
        ("pinch-pleat", {"lining_cover": inch(3)}),
        ("grommet", {"leading_hem": Hem(inch(1), 2), "outer_hem": Hem(inch("3/2"), 2)}),
    ],
)
def test_orders_of_their_own_come_out_as_ordered(heading: str, said: dict[str, Any]) -> None:
    wide = a_fabric(a_bolt(inch(118), inch(117)))
    fabrics = (wide if "railroad" in said else face(), LINING)
    paper = Printed(planned(order("tucked", heading=heading, **said), fabrics=fabrics))
    flat = Fraction(120) if "flat_width" in said else ordered_flat(heading)
    for panel in sewn(paper).values():
        assert panel.hung == Fraction(191, 2)
        # Half and whole widths make a panel fuller, never less.
        assert panel.wide >= flat
        assert "widths" in said or panel.wide - flat <= Fraction(1, 16)


@pytest.mark.parametrize(("draw", "key"), [("left", "single"), ("fixed", "single")])
def test_a_panel_alone_comes_out_as_ordered(draw: Any, key: str) -> None:
    window = order(
        "tucked", heading="clip-ring", draw=draw, panels=1, covers=inch(84) if draw == "fixed" else None
    )
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    (panel,) = sewn(paper, keys=(key,)).values()
    # 84 covered, 1.5 times: 126.
    assert (panel.wide, panel.hung) == (126, Fraction(191, 2))


def test_a_lining_that_nothing_covers_is_turned_under() -> None:
    # It begins 6 below the edge, a cuff of 4 does not reach it: 95 1/2 - 6 - 1 is left.
    window = order("tucked", heading="pinch-pleat", lining_cover=inch(6))
    steps = Printed(planned(window, fabrics=(face(), LINING))).steps
    lining = steps.step("Lining")
    assert "old the upper edge 1/2 in to the back" in lining
    assert "88 1/2 in from hem edge to top edge" in lining
    assert "its upper edge comes 6 in below the top line" in lining
    assert "Slip-stitch its turned upper edge by hand" in lining


def railroaded(layers: str, **said: Any) -> Printed:
    """A panel turned, so that its lower edge is the edge of the fabric: it needs no hem."""
    wide = a_fabric(a_bolt(inch(118), inch(117)))
    window = order(layers, railroad="yes", bottom_hem=Hem(0, 0, selvage=True), **said)
    return Printed(planned(window, fabrics=(wide, LINING, BUMP)))


def test_a_selvage_left_as_hem_is_not_folded() -> None:
    paper = railroaded("tucked", heading="clip-ring")
    steps = paper.steps
    assert "hem line" not in steps.step("Lines")
    assert "eave the lower edge, which is the selvage, as it is" in steps.step("Bottom hem")
    assert "95 1/2 in from lower edge to top edge" in steps.step("Top")
    (cut,) = {one.long for one in paper.of("left panel")}
    assert cut == Fraction(191, 2) + 4
    assert {panel.long for panel in sewn(paper).values()} == {Fraction(191, 2)}


@pytest.mark.parametrize("layers", LAYERS)
def test_where_the_selvage_is_the_hem_nothing_waits_for_it(layers: str) -> None:
    # No hem is leveled, so no step may leave open what only that step would close.
    paper = railroaded(layers, heading="grommet", bands=(Band("leading", inch(3), "face"),))
    for words_ in (
        "corners",
        "eave it open at",
        "leave the rest",
        "has been leveled",
        "has hung",
        "ew the hem",
    ):
        assert words_ not in paper.steps.text
    assert "titch both its long edges and slip-stitch its ends." in paper.steps.text
    assert "must hang level" in paper.steps.step("Level the hem")
    assert "Hem before or after hanging?" not in paper.html
    assert "How do I space grommets by folding?" in paper.html


def test_pleats_on_rings_have_their_rings_on_the_rod_first() -> None:
    on_rings = printed_window(hangs_from="rings", rod_height=inch(96), ring_drop=inch(2))
    assert (
        "Slide a ring for each hook on the rod before it goes on its brackets. Enter" in on_rings.steps.text
    )
    on_track = printed_window(hangs_from="track", eye_height=inch(94))
    assert "Slide a ring" not in on_track.steps.text


def printed_window(**said: Any) -> Printed:
    window = order("unlined", heading="pinch-pleat", finished_length=None, **said)
    return Printed(planned(window, fabrics=(face(),)))


def test_everything_is_measured_with_one_tape() -> None:
    sentence = "Measure everything with the same tape."
    assert sentence in (Path(__file__).parent.parent / "README.md").read_text()
    made = built(planned(order("unlined"), fabrics=(face(),)))
    page = parsed(packet_html(made, paper="letter"))
    told = {one.get("id") for one in every(page, "section") if sentence in words(one)}
    assert told == {"table-1", "measuring"}
    for pdf in (packet_pdf, appendix_pdf):
        assert " ".join(" ".join(texts(pdf(made, paper="letter"))).split()).count(sentence) == 1


def test_paper_tells_what_the_plan_sews_and_not_what_was_ordered() -> None:
    # Side hems of 1 1/2 twice in the plan's sewing, where 1 twice was ordered: 2 narrower, told everywhere.
    plan = planned(order("unlined", heading="rod-pocket", rod=inch(60)), fabrics=(face(),))
    (sewing,) = plan.sewing
    steps = [
        SewingStep(step.key, tuple(_wider(one) for one in step.operations if not _side_line(one)))
        for step in sewing.steps
    ]
    other = replace(plan, sewing=(replace(sewing, steps=tuple(steps)),))
    flat = plan.panels[0].flat
    was, now = (format_length(size, "in") for size in (flat, flat - 2 * inch(1)))
    for made, wide, depth in ((plan, was, "1 in"), (other, now, "1 1/2 in")):
        (facts,) = window_facts(made)
        sheet = next(window_sheets(made, (facts,), numbering(made.layouts), "letter"))
        table = next(b for b in sheet.blocks if isinstance(b, Table) and b.caption == "Finished sizes")
        assert {row[1] for row in table.rows} == {wide}
        hems = next(b.text for b in sheet.blocks if isinstance(b, Paragraph) and b.lead == "Hems:")
        assert f"both sides {depth} turned twice" in hems
        told = next(item for item in making_steps(facts).items if item.text.startswith("Side hems."))
        assert f"{depth} to the back, then {depth} again" in told.text
        assert told.measure == f"{wide} across, lying flat"
        assert told.drawing is not None
        assert f"{wide.removesuffix(' in')} across" in told.drawing.texts


def _wider(operation: Operation) -> Operation:
    if isinstance(operation, Fold) and operation.edge in ("left", "right"):
        return replace(operation, turns=tuple(turn + inch("1/2") for turn in operation.turns))
    return operation


def _side_line(operation: Operation) -> bool:
    return isinstance(operation, Chalk) and operation.edge in ("left", "right")
