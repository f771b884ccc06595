"""One number for one piece, read back from everything that is printed, written or shown; worked by hand."""

from __future__ import annotations

import copy
import csv
import io
import json
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import plans
import pytest
from orders import a_bolt, a_fabric, a_job, a_window, cut_job, inch
from pages import SAMPLES, built, each_cut, planned, sample
from rich.console import Console

from nesting.check import Breach, check_plan_document
from nesting.commands.tables import plan_table
from nesting.drawing.marker import marker_figure
from nesting.drawing.page import page_figures
from nesting.drawing.pieces import tag
from nesting.drawing.true_scale import true_scale
from nesting.files import cut_list_csv, plan_document, read_job_text
from nesting.packet import labels_csv
from nesting.packet.model import Table
from nesting.packet.notebook import plan_html
from nesting.plan.numbering import numbering, runs_of, seam_words
from nesting.plan.plan import Laid, Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import format_length
from nesting.web.plan_view import card_id, plan_view
from tests.seeds import nightly, some

Key = tuple[str, int]
"""Piece id and copy."""

PAIR = """
title = "Two-fabric pair"
[fabric.face]
name = "Moss velvet"
nap = "one-way"
[[fabric.face.bolt]]
width = 54
usable = 53
[fabric.lining]
name = "Ivory lining"
[[fabric.lining.bolt]]
width = 54
[[window]]
name = "Study"
count = 2
rod = 84
rod_diameter = "1 3/8"
finished_length = 90
heading = "rod-pocket"
fullness = 1.5
fabric = "face"
lining = "lining"
[[extra]]
name = "Cushion front"
fabric = "lining"
width = 18
length = 18
count = 4
optional = true
"""
TURNED = """
[fabric.face]
[[fabric.face.bolt]]
width = 118
usable = 117
[[window]]
name = "Loft"
rod = 84
rod_diameter = 1
finished_length = 92
heading = "rod-pocket"
railroad = "yes"
fabric = "face"
"""


def made_of(text: str) -> Plan:
    return make_plan(read_job_text(text), effort=Effort(work=0.3, workers=1))


NAMES = (*sorted(path.stem for path in SAMPLES.glob("*.toml")), "pair", "turned")


def named(name: str) -> Plan:
    return {"pair": lambda: made_of(PAIR), "turned": lambda: made_of(TURNED)}.get(
        name, lambda: sample(name)
    )()


def laid(plan: Plan) -> dict[Key, Laid]:
    return {(each.piece.id, each.copy): each for layout in plan.layouts for each in layout.placements}


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def from_json(plan: Plan) -> Iterator[tuple[Key, str]]:
    for layout in plan_document(plan)["layouts"]:
        yield from (((p["piece"], p["copy"]), p["number"]) for p in layout["placements"])
        for action in layout.get("sequence", ()):
            for freed in action.get("frees", ()):
                yield (freed["piece"], freed["copy"]), action["cut"]
                assert action["cut"] == f"{layout['letter']}{action['number']}"


def from_csv(plan: Plan) -> Iterator[tuple[Key, str]]:
    yield from (((row["piece"], int(row["copy"])), row["number"]) for row in rows(cut_list_csv(plan)))


def from_labels(plan: Plan) -> Iterator[tuple[Key, str]]:
    """Pieces with a label of their own by their copy, of others all the numbers that their label has."""
    by_piece, shared = defaultdict[str, list[str]](list), set[str]()
    for row in rows(labels_csv(plan)):
        by_piece[row["piece"]] += each_cut(row["number"])
        if row["copy"]:
            yield (row["piece"], int(row["copy"])), row["number"]
        else:
            shared.add(row["piece"])
    numbers = numbering(plan.layouts)
    for key, each in laid(plan).items():
        if each.piece.id in shared:
            assert numbers.of(each) in by_piece[each.piece.id]
            yield key, numbers.of(each)


def from_page(plan: Plan) -> Iterator[tuple[Key, str]]:
    view, numbers = plan_view(plan, {}), numbering(plan.layouts)
    for layout, shown in zip((x for x in plan.layouts if x.length is not None), view["layouts"], strict=True):
        cards = {card["id"]: card["cut"] for card in shown["cards"]}
        for each in layout.placements:
            key, card = (each.piece.id, each.copy), card_id(shown["name"], numbers.of(each))
            yield key, cards[card]
            # Equal pieces share a card, and each of them leads to it.
            links = re.findall(rf'href="#{re.escape(card)}"[^>]*aria-label="([^:"]+):', shown["svg"])
            assert len(links) in (
                0,
                sum(numbers.of(other) == numbers.of(each) for other in layout.placements),
            )
            for link in links:
                yield key, link


def from_marker(plan: Plan) -> Iterator[tuple[Key, str]]:
    for layout in plan.layouts:
        if layout.length is None:
            continue
        for figure in (marker_figure(plan, layout), *page_figures(plan, layout)):
            written = {
                text.get_gid(): text.get_text() for ax in figure.axes for text in ax.texts if text.get_gid()
            }
            for each in layout.placements:
                for kind in ("step", "badge"):
                    said = written.get(f"{kind}:{tag(each)}", "").partition("drop")[0].strip()
                    if said:
                        yield (each.piece.id, each.copy), said


def written_once(plan: Plan) -> dict[str, tuple[str, int]]:
    """By number: the name and how many pieces bear it, as the plan has it."""
    numbers, found = numbering(plan.layouts), dict[str, tuple[str, int]]()
    for each in laid(plan).values():
        number = numbers.of(each)
        found[number] = (each.piece.name, found.get(number, ("", 0))[1] + 1)
    return found


def lists_of(plan: Plan) -> Iterator[tuple[str, str, int]]:
    """Number, name and count of every line of the packet's cut lists, and of the terminal's."""
    for section in built(plan).sections:
        for block in section.blocks:
            if isinstance(block, Table) and ": cuts in order, " in block.caption:
                for row in block.rows:
                    yield row[0], row[11].split(";")[0], int(row[9])


@pytest.mark.parametrize("name", some(NAMES, 4))
def test_every_output_calls_each_piece_by_one_number(name: str) -> None:
    """JSON, sequence, CSV, labels, page, links, picture and pages of the marker."""
    plan = named(name)
    called = defaultdict[Key, set[str]](set)
    for read in (from_json, from_csv, from_labels, from_page, from_marker):
        got = dict[Key, set[str]]()
        for key, number in read(plan):
            called[key].add(number)
            got.setdefault(key, set()).add(number)
        assert got.keys() == laid(plan).keys(), read.__name__
    assert all(len(numbers) == 1 for numbers in called.values())
    once = written_once(plan)
    assert {(number, *once[number]) for number in once} == set(lists_of(plan))
    several = len({layout.fabric.key for layout in plan.layouts if layout.placements}) > 1
    assert all(re.fullmatch(r"[A-Z]\d+" if several else r"\d+", number) for number in once)


@pytest.mark.parametrize("name", [nightly("dining-room"), nightly("remnants"), "pair", "turned"])
def test_steps_labels_terminal_and_notebook_have_the_same_numbers(name: str) -> None:
    plan = named(name)
    once, made = written_once(plan), built(plan)
    labels = {(number, one.name) for one in made.labels for number in each_cut(one.number)}
    assert labels == {(number, who) for number, (who, _) in once.items()}
    assert sum(one.pieces for one in made.labels) == sum(count for _, count in once.values())
    steps = {
        row[0].removeprefix("cut "): row[3]
        for section in made.sections
        for block in section.blocks
        if isinstance(block, Table) and "cutting sequence" in block.caption
        for row in block.rows
        if row[0].startswith("cut ")
    }
    assert steps.keys() == once.keys()
    # The last part of a width that cuts all around have freed needs no cut of its own.
    assert all(
        any(f"{freed} {once[number][0]}" in text for freed in ("frees", "freed"))
        for number, text in steps.items()
    )
    console = Console(width=200, file=io.StringIO(), record=True)
    console.print(plan_table(plan))
    lines = [line.split() for line in console.export_text().splitlines()]
    assert once.keys() <= {line[0] for line in lines if line}
    html = plan_html(plan)
    assert all(f"<td>{number}</td><td>{who}" in html for number, (who, _) in once.items())
    numbers = numbering(plan.layouts)
    for layout in plan.layouts:
        drawn = {w.text for w in true_scale(layout, plan.job.units, numbers).marks if hasattr(w, "text")}
        large = {numbers.of(each) for each in layout.placements if each.piece.role == "panel"}
        assert large <= {text.split(" · ")[0] for text in drawn}


def sewn(plan: Plan) -> Iterator[tuple[list[Laid], str]]:
    """Every layer as a student makes it who reads nothing but the labels: pieces from left to right."""
    by_cut = dict[str, tuple[str, dict[str, str]]]()
    for label in built(plan).labels:
        seams = {
            edge: cut
            for line in label.lines
            for cut, edge in re.findall(r"seam to width \d+ \(cut (\w+)\) at its (left|right) edge", line)
        }
        if label.name.rpartition(", ")[2].startswith(("width", "left", "right")):
            by_cut[label.number.removeprefix("cut ")] = (label.piece, seams)
    numbers = numbering(plan.layouts)
    pieces = {numbers.of(each): each for each in laid(plan).values()}
    for cut, (_, seams) in by_cut.items():
        if "left" in seams or not seams:
            continue
        row = [cut]
        while "right" in by_cut[row[-1]][1]:
            after = by_cut[row[-1]][1]["right"]
            # What is sewn to the right edge of this one has this one at its left edge.
            assert by_cut[after][1]["left"] == row[-1]
            row.append(after)
        yield [pieces[each] for each in row], cut


def test_a_student_with_the_labels_alone_sews_left_to_left() -> None:
    # 42 covered x 1.5 = 63 + 4 x 1 = 67 = 53 + 15 - 1; the whole width at the leading edge, which is the
    # right one of the left panel. So left panels are 15 + 53 from left to right and right panels 53 + 15.
    # The lining is 67 - 2 x 2 = 63 = 53 + 11 - 1 and shows its right side to the window: a left lining lies
    # right side up with its leading edge, and the 53, at the left.
    plan = made_of(PAIR)
    found = defaultdict[tuple[str, str | None], list[tuple[list[int], set[str], set[int]]]](list)
    for row, _ in sewn(plan):
        role, side = row[0].piece.role, row[0].piece.side
        wide = [each.piece.width // inch(1) for each in row]
        bases = {each.piece.id.rpartition("/")[0] for each in row}
        found[role, side].append((wide, bases, {each.copy for each in row}))
    expected = {
        ("panel", "left"): [15, 53], ("panel", "right"): [53, 15],
        ("lining", "left"): [53, 11], ("lining", "right"): [11, 53],
    }  # fmt: skip
    assert found.keys() == expected.keys()
    for key, layers in found.items():
        # Two windows, so two of each; never a left width on a right panel, nor one window's on the other.
        assert len(layers) == 2
        for wide, bases, copies in layers:
            assert (wide, len(bases), len(copies)) == (expected[key], 1, 1)


def test_numbers_run_on_through_the_lengths_of_one_fabric() -> None:
    plan = sample("remnants")
    assert len([layout for layout in plan.layouts if layout.placements]) > 1
    numbers, count = numbering(plan.layouts), 0
    for layout in plan.layouts:
        steps = numbers.steps(layout)
        assert [step.number for step in steps] == list(range(count + 1, count + 1 + len(steps)))
        assert [step.name for step in steps] == [str(step.number) for step in steps]
        count += len(steps)


def test_numbers_are_listed_in_runs() -> None:
    assert runs_of(["B3", "B5", "B6", "B7", "B9", "B10"]) == "B3, B5 to B7, B9, B10"


def test_a_turned_piece_keeps_its_width_and_length_everywhere() -> None:
    # 84 / 2 x 2 = 84 + 4 = 88 wide; 92 + the top and 8 of hem long: it lies turned on 117.
    plan = made_of(TURNED)
    (layout,) = plan.layouts
    assert all(each.turn == 90 for each in layout.placements if each.piece.role == "panel")
    for each in layout.placements:
        size = tuple(format_length(t, "in", name=False) for t in (each.piece.width, each.piece.length))
        key = {"piece": each.piece.id, "copy": str(each.copy)}
        for table in (cut_list_csv(plan), labels_csv(plan)):
            (row,) = [row for row in rows(table) if row.items() >= key.items()]
            assert (row["width"], row["length"]) == size
        number = numbering(plan.layouts).of(each)
        cut_rows = [
            row
            for section in built(plan).sections
            for block in section.blocks
            if isinstance(block, Table) and ": cuts in order, " in block.caption
            for row in block.rows
            if row[0] == number
        ]
        assert [(row[7], row[8]) for row in cut_rows] == [size]
        assert "turned, its width along the bolt" in cut_rows[0][11]
        (card,) = [card for card in plan_view(plan, {})["layouts"][0]["cards"] if card["cut"] == number]
        assert card["size"] == f"{size[0]} × {size[1]} in"
    assert not [piece for piece in plan.pieces if "selvage to selvage" in " ".join(piece.notes)]


@pytest.mark.parametrize(
    ("usable", "match", "said"),
    [
        # A bolt used from edge to edge; one with half an inch of selvage left off at each side; a print
        # whose full width is cut 27 + 2 x 1/2 = 28 of 54.
        (54, None, "full width, selvage to selvage"),
        (53, None, "full width, selvages left off"),
        (53, 27, "full width: the match with a seam allowance at each side"),
        # 54 is the print alone: a full width is cut 54 + 2 x 1/2 = 55, a seam allowance in either selvage.
        (54, 54, "full width: the print with a seam allowance in each selvage"),
    ],
)
def test_selvage_to_selvage_is_said_only_of_what_is(usable: int, match: int | None, said: str) -> None:
    repeat = None if match is None else plans.Repeat(inch(25), inch(27))
    bolt = a_bolt(inch(54), inch(usable), None if match is None else inch(match), printed=match == 54)
    cutting = cut_job(a_job(a_window(), fabrics=(a_fabric(bolt, repeat=repeat),)))
    full = [piece.notes for piece in cutting.pieces if any("full width" in note for note in piece.notes)]
    assert full
    assert all(said in notes for notes in full)


def test_pieces_without_a_plan_say_widths_and_no_numbers() -> None:
    cutting = cut_job(a_job(a_window(), fabrics=(a_fabric(a_bolt(inch(54), inch(53))),)))
    words = {words for piece in cutting.pieces if piece.role == "panel" for words in seam_words(piece)}
    assert words == {
        "seam to width 1 at its left edge", "seam to width 1 at its right edge",
        "seam to width 2 at its left edge", "seam to width 2 at its right edge",
    }  # fmt: skip


class TestWhatMustFail:
    """The checker finds a piece that is called by two numbers, each fault by itself."""

    @pytest.fixture
    def good(self) -> dict[str, Any]:
        made: dict[str, Any] = json.loads(json.dumps(plan_document(made_of(PAIR))))
        return made

    def test_the_good_one_passes(self, good: dict[str, Any]) -> None:
        assert check_plan_document(good) == ()

    @pytest.mark.parametrize(
        "spoil",
        [
            lambda layouts: layouts[0]["placements"][0].update(number="A99"),
            lambda layouts: layouts[0]["placements"][0].update(number=layouts[1]["placements"][0]["number"]),
            lambda layouts: layouts[1].update(letter="A"),
            lambda layouts: next(a for a in layouts[0]["sequence"] if a["kind"] == "cut").update(cut="B1"),
        ],
    )
    def test_a_wrong_number_or_letter(self, good: dict[str, Any], spoil: Any) -> None:
        spoiled = copy.deepcopy(good)
        spoil(spoiled["layouts"])
        assert {broken.kind for broken in check_plan_document(spoiled)} == {Breach.SEQUENCE}

    def test_a_width_sewn_on_at_the_wrong_edge(self, good: dict[str, Any]) -> None:
        piece = next(p for p in good["pieces"] if p["role"] == "panel" and p["joined_at"] == ["left"])
        piece["joined_at"] = ["right"]
        # Told by the labels, and by sewing the widths together as they say.
        assert {broken.kind for broken in check_plan_document(good)} == {Breach.PANEL, Breach.SEWING}


def test_a_plan_of_before_still_passes() -> None:
    """Documents without numbers, whose cuts were counted anew on each length."""
    document = json.loads(json.dumps(plan_document(sample("remnants"))))
    for layout in document["layouts"]:
        del layout["letter"]
        cuts = [action for action in layout["sequence"] if action["kind"] == "cut"]
        for at, action in enumerate(cuts, 1):
            del action["cut"]
            action["number"] = at
        for placed in layout["placements"]:
            del placed["number"]
    assert check_plan_document(document) == ()


def test_one_fabric_alone_has_no_letter() -> None:
    plan = planned(a_window(), fabrics=(a_fabric(a_bolt(inch(54), inch(53))),))
    (layout,) = plan.layouts
    numbers = numbering(plan.layouts)
    assert (numbers.letter(layout), numbers.fabric(layout)) == ("", layout.fabric.title)
    other = replace(layout, fabric=replace(layout.fabric, key="other"))
    assert numbering((layout, other)).letters == {"face": "A", "other": "B"}
