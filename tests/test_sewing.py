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
from seamstress import (
    Cut,
    Panel,
    Steps,
    length,
    sewn_facing,
    sewn_length,
    sewn_lining,
    sewn_loops,
    sewn_tabs,
    sewn_width,
)

from nesting.headings import HEADINGS
from nesting.order.job import Band, Fabric, FacingOrder, Hem, Shrinkage, Tieback, Window
from nesting.packet import Packet, packet_html, packet_pdf
from nesting.packet.cut_list import cut_list
from nesting.packet.facts import window_facts
from nesting.packet.measuring import measuring
from nesting.packet.questions import questions
from nesting.packet.sewing import sewing
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.repeat import Repeat
from nesting.units import format_length
from tests.seeds import nightly, some

LAYERS = ("unlined", "tucked", "tube", "interlined")
#: Each heading at least once in the quick run, with changing layers.
EACH = some(itertools.product(HEADINGS, LAYERS), len(HEADINGS) + 2)
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
    parts = (measuring(facts), cut_list(plan), sewing(facts), questions(plan, facts))
    return Packet("Order", plan.job.units, MADE, (), tuple(replace(one) for one in parts), ())


class Printed:
    """What a maker has on paper."""

    def __init__(self, plan: Plan) -> None:
        self.packet = pages(plan)
        self.html = packet_html(self.packet, paper="letter")
        tree = parsed(self.html)
        lists = [one for one in every(tree, "ol") if "Lay out the pieces of" in words(one)]
        self.windows = [Steps([words(item) for item in every(one, "li")]) for one in lists]
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
        read = texts(packet_pdf(self.packet, paper="letter"))
        inner = (re.sub(r"^Order | 2026-03-01 page \d+ of \d+ $", "", page) for page in read)
        return re.sub(r"\s+", " ", " ".join(inner))


@cache
def printed(heading: Any, layers: str, kind: str = "plain", working: str = "0") -> Printed:
    window = order(layers, heading=heading, working=inch(working))
    return Printed(planned(window, fabrics=(face(kind), LINING, BUMP)))


def sewn(
    paper: Printed, heading: str, *, washed: bool = False, keys: tuple[str, ...] = ("left", "right")
) -> dict[str, Panel]:
    """The panels of a window, a pair unless said otherwise, made up from the printed text alone."""
    steps, made = paper.steps, dict[str, Panel]()
    for key in keys:
        widths = paper.of(rf", {key} panel(,|$)")
        assert widths
        lying, hung = sewn_length(steps, heading, widths)
        made[key] = Panel(sewn_width(steps, key, widths, washed=washed), lying, hung)
        lining = paper.of(rf", {key} lining(,|$)")
        if lining:
            sewn_lining(steps, heading, made[key], lining, lining)
        bump = paper.of(rf", {key} interlining(,|$)")
        for one in bump:
            assert one.long == lying
        facing, tabs = paper.of(rf", {key} facing(,|$)"), paper.of(r"tab$")
        deep = sewn_facing(steps, made[key].flat, facing) if facing else Fraction(0)
        for tab in tabs:
            if tab.name.endswith("hidden tab"):
                sewn_loops(steps, tab, deep)
            else:
                sewn_tabs(steps, tab)
    return made


def ordered_flat(heading: str, rod: int = 84) -> Fraction:
    """Half the rod, made full, with return and half the overlap: what a panel is at least."""
    sums = by_hand(heading)
    return Fraction(rod, 2) * Fraction(sums.fullness) + Fraction(sums.ends)


@pytest.mark.parametrize("kind", ["plain", nightly("pile"), nightly("print")])
@pytest.mark.parametrize(("heading", "layers"), EACH)
def test_the_steps_give_what_was_ordered(heading: str, layers: str, kind: str) -> None:
    paper = printed(heading, layers, kind, "1/2" if kind != "plain" else "0")
    for panel in sewn(paper, heading).values():
        assert panel.hung == Fraction(191, 2)
        assert 0 <= panel.flat - ordered_flat(heading) <= Fraction(1, 16)
    finished = "across" if by_hand(heading).ends == "0" else "drawn in"
    (wide,) = paper.steps.read(f"; {finished}, #")
    # Drawn in, half the rod and 5 1/2; else as it lies.
    assert wide == (Fraction(95, 2) if finished == "drawn in" else panel.flat)


@pytest.mark.parametrize(("heading", "layers"), EACH)
def test_paper_and_page_say_the_same(heading: str, layers: str) -> None:
    paper = printed(heading, layers)
    text = paper.pdf
    for number, step in enumerate(paper.steps.said, 1):
        assert f"{number}. {step}" in text
    for cut in paper.cuts:
        assert cut.said in text


@pytest.mark.parametrize("heading", HEADINGS)
def test_pile_is_steamed_and_sewn_with_its_nap(heading: str) -> None:
    paper = printed(heading, "tucked", "pile", "1/2")
    assert not re.search(r"\b[Pp]ress", paper.steps.text)
    assert "with the nap, from hem to top" in paper.steps.text
    down = order("unlined", heading=heading)
    said = Printed(planned(down, fabrics=(face("pile", arrow="down"),))).steps.text
    assert "with the nap, from top to hem" in said
    assert "from hem to top" not in said


def test_facings_and_tabs_of_lining_are_pressed_though_the_face_is_pile() -> None:
    window = order("unlined", facing=FacingOrder(fabric="lining"))
    steps = Printed(planned(window, fabrics=(face("pile"), LINING))).steps
    assert "so that it is 63 in wide like its panel, and press;" in steps.text
    assert "last fold on the hem line; steam and baste" in steps.text


@pytest.mark.parametrize(("heading", "layers"), [("back-tab", "tucked"), ("grommet", "unlined")])
def test_working_allowance_is_cut_off(heading: str, layers: str) -> None:
    # 95 1/2 + 1/2 of working, sewn as it was printed before, came out 96.
    paper = printed(heading, layers, "pile", "1/2")
    assert "Cut off what is above the cut line: about 1/2 in" in paper.steps.text
    assert {panel.hung for panel in sewn(paper, heading).values()} == {Fraction(191, 2)}


@pytest.mark.parametrize("heading", ["back-tab", "rod-pocket", "pinch-pleat"])
def test_pieces_cut_for_shrinkage_are_washed_first(heading: str) -> None:
    # 4 % along: 104 7/16 / 0.96 = 108.79, up to the sixteenth 108 13/16 (back tab).
    shrinks = Shrinkage(length=Fraction(4), width=Fraction(2), washed="after")
    paper = Printed(planned(order("unlined", heading=heading), fabrics=(face(shrinkage=shrinks),)))
    assert paper.steps.before("Wash first", "Join the widths")
    if heading == "back-tab":
        assert "panel width 108 13/16 in to 104 7/16 in long" in paper.steps.text
        assert re.search(r"facing 4 11/16 in to 4 1/2 in long", paper.steps.text)
    top, hung = sewn_length(paper.steps, heading, paper.of(r", left panel(,|$)"))
    assert hung == Fraction(191, 2)
    # A panel before its rod of 1 3/8 takes up 0.39, on the tape 7/16.
    assert top - hung == (Fraction(7, 16) if heading in ("back-tab", "rod-pocket") else 0)
    for key in ("left", "right"):
        flat = sewn_width(paper.steps, key, paper.of(rf", {key} panel(,|$)"), washed=True)
        assert 0 <= flat - ordered_flat(heading) <= Fraction(1, 8)
    # 2 % across: 53 x 0.98 = 51.94, to the nearest sixteenth 51 15/16; chalk and paper are gone by then.
    assert "53 in to 51 15/16 in" in paper.steps.text
    step = next(one for one in paper.steps.said if one.startswith("Wash first"))
    assert re.search(r"take the labels off.* laundry pen .*wash and dry.*pin the labels on again", step)


def test_fabric_washed_before_cutting_is_said_to_be() -> None:
    shrinks = Shrinkage(length=Fraction(4), washed="before")
    paper = Printed(planned(order("unlined"), fabrics=(face(shrinkage=shrinks),)))
    assert "Wash first" not in paper.steps.text
    assert "wash and dry the whole length before it is squared" in paper.html


def test_a_facing_wider_than_its_fabric_is_joined() -> None:
    # 63 and 2 x 1/2 turned in need 64 of 53; pile is not cut along the fabric, and joins keep off the tabs.
    paper = printed("back-tab", "unlined", "pile", "1/2")
    assert "join its parts" in paper.steps.text
    parts = [one.wide for one in paper.of("left facing")]
    assert len(parts) > 1
    assert sum(parts) - 2 * Fraction(1, 2) * (len(parts) - 1) == 64
    sewn(paper, "back-tab")
    narrow = Printed(planned(order("unlined", rod=inch(60)), fabrics=(face(),)))
    assert "join its parts" not in narrow.steps.text
    sewn(narrow, "back-tab")


def test_a_turned_lower_edge_of_the_facing_is_in_its_sum() -> None:
    window = order("tucked", facing=FacingOrder(lower_edge="turned"))
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    assert "turn its lower edge under 1/2 in" in paper.steps.text
    sewn(paper, "back-tab")


@pytest.mark.parametrize("layers", LAYERS)
def test_corners_and_hem_wait_until_the_drape_has_hung(layers: str) -> None:
    steps = printed("clip-ring", layers).steps
    last = next(step for step in steps.said if "Level the hem edge" in step)
    assert "close the corners" in last
    assert steps.before("Do not sew it yet", "Level the hem edge")
    for step in steps.said[: steps.said.index(last)]:
        assert not re.search(r"miter|close the corners", step)
    if layers in ("tucked", "interlined"):
        # Open until the lining lies under them.
        assert "leave them open: the lining goes under them" in steps.text
        assert steps.before("leave them open", "Sew hems and lining in one")
    if layers == "interlined":
        assert steps.before("Interlining:", "Bottom hem:")
    if layers == "tube":
        assert "Side hems" not in steps.text


def test_a_shallow_hem_is_covered_by_the_lining() -> None:
    # A hem of 1: its upper edge lies 1 above the hem edge, so the lining ends 1/2 above it.
    window = order("tucked", bottom_hem=Hem(inch(1), 2))
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    assert "its lower edge 1/2 in above the hem line" in paper.steps.text
    sewn(paper, "back-tab")


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
        assert (
            "measured from the left edge, as seen from the front," in printed(heading, "unlined").steps.text
        )
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
    assert "To check by folding" in text
    # Pleats that keep clear of a seam differ between the widths.
    uneven = printed("pinch-pleat", "unlined").steps.text
    plan = planned(order("unlined", heading="pinch-pleat"), fabrics=(face(),))
    marks = [spot for spot in plan.headings[0].spots if spot.kind == "pleat"]
    sums = {one.start + other.end for one, other in zip(marks, reversed(marks), strict=True)}
    assert max(sums) - min(sums) > inch("1/8")
    assert "Do not check by folding" in uneven
    last = marks[-1].end
    at, width = format_length(last, "in"), format_length(plan.headings[0].width, "in")
    assert f"on the left panel it is {at} from the left edge of {width}" in uneven


@pytest.mark.parametrize("layers", ["unlined", "tucked"])
@pytest.mark.parametrize("heading", ["rod-pocket", "clip-ring"])
def test_bands_start_at_the_hem_line(heading: str, layers: str) -> None:
    bands = (Band("leading", inch(3), "face"), Band("hem", inch(5), "face"))
    ties = (Tieback(inch(30), inch(3), 2, "face"),)
    window = order(layers, heading=heading, bands=bands, tiebacks=ties, count=2)
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    steps, panel = paper.steps, sewn(paper, heading)["left"]
    turned, wide, long_ = steps.read("Leading-edge band: turn in all its edges #: it is # wide and # long")
    (band, *_) = paper.of("leading-edge band")
    assert (band.wide - 2 * turned, band.long - 2 * turned) == (wide, long_)
    assert long_ == panel.lying
    assert "its lower end on the hem line, its upper end on the top line" in steps.text
    assert steps.before("Leading-edge band", "Bottom hem")
    joins, turned, wide, deep = steps.read(
        "Hem band, when the hem is sewn: join its parts in line with seams of #; turn in all its edges #, so "
        "that it is # wide and # deep"
    )
    (hem_band, *_) = paper.of("left hem band")
    parts = hem_band.count // 2
    assert parts * hem_band.wide - 2 * joins * (parts - 1) - 2 * turned == wide == panel.flat
    assert hem_band.long - 2 * turned == deep == 5
    count, long_, wide = re.findall(r"Tie-backs: (\d+), each 30 in long and 3 in wide", steps.text)[0], 30, 3
    (tie,) = paper.of("tie-back")
    assert int(count) == tie.count == 4
    (seam,) = steps.read("and one end # from the edge, turn")
    assert (tie.wide - 2 * seam, (tie.long - 2 * seam) / 2) == (long_, wide)


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
    for panel in sewn(paper, heading).values():
        assert panel.hung == 242
        assert 0 <= panel.flat - flat <= Fraction(1, 10)


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
    for panel in sewn(paper, heading).values():
        assert panel.hung == Fraction(191, 2)
        # Half and whole widths make a panel fuller, never less.
        assert panel.flat >= flat
        assert "widths" in said or panel.flat - flat <= Fraction(1, 16)


@pytest.mark.parametrize(("draw", "key"), [("left", "single"), ("fixed", "single")])
def test_a_panel_alone_comes_out_as_ordered(draw: Any, key: str) -> None:
    window = order(
        "tucked", heading="clip-ring", draw=draw, panels=1, covers=inch(84) if draw == "fixed" else None
    )
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    (panel,) = sewn(paper, "clip-ring", keys=(key,)).values()
    # 84 covered, 1.5 times: 126.
    assert (panel.flat, panel.hung) == (126, Fraction(191, 2))


def test_a_lining_that_nothing_covers_is_turned_under() -> None:
    # It begins 6 below the edge, a cuff of 4 does not reach it: 95 1/2 - 6 - 1 is left.
    window = order("tucked", heading="pinch-pleat", lining_cover=inch(6))
    steps = Printed(planned(window, fabrics=(face(), LINING))).steps
    assert (
        "from its top, turned under 1/2 in and pressed, to its lower edge it is then 88 1/2 in long"
        in steps.text
    )
    assert "its turned top 6 in below the top line, sewn to the face by hand" in steps.text


def test_a_selvage_left_as_hem_is_not_folded() -> None:
    none = Hem(0, 0)
    window = order("tucked", heading="clip-ring", bottom_hem=none, leading_hem=none, rod=inch(60))
    paper = Printed(planned(window, fabrics=(face(), LINING)))
    assert "the lower edge is the hem line; the top line 95 1/2 in above the hem line" in paper.steps.text
    assert "Left panel: the left one 2 in from the left edge, none at the right edge" in paper.steps.text
    assert "turn the lining under 1/2 in and slip-stitch" in paper.steps.text
    (cut,) = {one.long for one in paper.of("left panel")}
    assert cut == Fraction(191, 2) + 4
    assert "measured up from the lower edge, the selvage, at both sides" in paper.steps.text


@pytest.mark.parametrize("layers", LAYERS)
def test_where_the_selvage_is_the_hem_nothing_waits_for_it(layers: str) -> None:
    # No hem is leveled, so no step may leave open what only that step would close.
    window = order(
        layers,
        heading="grommet",
        bottom_hem=Hem(0, 0),
        bands=(Band("leading", inch(3), "face"),),
        rod=inch(60),
    )
    paper = Printed(planned(window, fabrics=(face(), LINING, BUMP)))
    for words_ in (
        "corners",
        "leave the lowest",
        "leave the rest",
        "has been leveled",
        "only when the drape has hung",
        "has hung",
    ):
        assert words_ not in paper.steps.text
    assert "Stitch both long edges and the lower end." in paper.steps.text
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
    assert told == {"cautions", "measuring"}
    printed_pages = " ".join(" ".join(texts(packet_pdf(made, paper="letter"))).split())
    assert printed_pages.count(sentence) == 2
