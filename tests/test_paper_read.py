"""What a student reads on paper: pages that end well, no commands, no word that can be taken for another."""

from __future__ import annotations

import itertools
import re

import pytest
from orders import a_bolt, a_fabric, a_window, inch
from pages import MADE, THREE, all_texts, built, every, packet_of, parsed, planned, sample, texts, words

from nesting.order.job import FacingOrder
from nesting.packet import packet_html, packet_pdf
from nesting.packet.model import (
    MakingStep,
    MakingSteps,
    Packet,
    Paragraph,
    Section,
    SectionHeading,
    Table,
)
from nesting.packet.table_sheet import HANG
from nesting.pieces.piece import Advice

COMMAND = re.compile(
    r"\bnesting (?:plan|compare|packet|draw|check|batch|serve|prove|live|lesson)\b|(?<!\S)--[a-z]"
    r"|\.json\b|\.toml\b"
)


def table_of(rows: int, *, under: bool = False, foot: bool = False, lines: int = 1) -> Table:
    return Table(
        "Rows",
        ("row", "what"),
        tuple((f"row-{n}", " ".join(["one line of words, as wide as it goes"] * lines)) for n in range(rows)),
        "ll",
        (1, 5),
        (("all", ""),) if foot else (),
        tuple(f"Cut {n}." for n in range(rows)) if under else (),
    )


def printed(*sections: Section) -> list[str]:
    packet = Packet("Pages", "in", MADE, (), sections, ())
    return list(texts(packet_pdf(packet, paper="letter")))


def rows_on(page: str) -> int:
    return len(re.findall(r"\brow-\d+", page))


@pytest.mark.parametrize("under", [False, True])
@pytest.mark.parametrize("foot", [False, True])
def test_no_page_is_turned_for_a_single_row(under: bool, foot: bool) -> None:
    def pages_of(rows: int) -> list[int]:
        sheet = Section("s", "Sheet", (table_of(rows, under=under, foot=foot),), "table")
        return [rows_on(page) for page in printed(sheet)]

    most = pages_of(100)[0]
    for rows in (most + 1, most + 2):
        pages = pages_of(rows)
        assert sum(pages) == rows
        assert len(pages) == 2
        assert pages[-1] >= 3


def test_rows_too_high_to_stay_together_are_parted_and_none_is_lost() -> None:
    pages = printed(Section("s", "Sheet", (table_of(5, lines=60),), "table"))
    assert len(pages) > 1
    assert sum(map(rows_on, pages)) == 5


def lines_of(count: int) -> tuple[Paragraph, ...]:
    return tuple(Paragraph("A line.") for _ in range(count))


def lines_on_a_page() -> int:
    return printed(Section("s", "Sheet", lines_of(100), "table"))[0].count("A line.")


def test_a_short_table_keeps_its_heading_and_its_caption() -> None:
    most = lines_on_a_page()
    for lines in range(most - 8, most):
        blocks = (*lines_of(lines), SectionHeading("Heading"), table_of(3))
        (page,) = [page for page in printed(Section("s", "Sheet", blocks, "table")) if "Rows" in page]
        assert "Heading" in page
        assert rows_on(page) == 3


def test_no_page_is_empty() -> None:
    """A sheet that ends at the very foot of its page is followed by the next sheet, not by an empty page."""
    most = lines_on_a_page()
    for lines, long in itertools.product(range(most - 6, most - 1), (30, 40)):
        steps = MakingSteps((MakingStep("word " * long + "end."),) * 2)
        pages = printed(
            Section("a", "First", (*lines_of(lines), steps), "table"),
            Section("b", "Second", lines_of(1), "table"),
        )
        assert all("A line." in page or "end." in page for page in pages), (lines, long)


@pytest.mark.nightly
@pytest.mark.parametrize("name", [*THREE, "three-window-house"])
def test_no_command_and_no_name_of_a_file_stands_on_paper(name: str) -> None:
    text = " ".join(all_texts(name))
    assert not COMMAND.findall(text)


def test_widths_that_were_not_compared_are_told_without_a_command() -> None:
    buying = next(section for section in packet_of("reading-nook").sections if section.key == "buying")
    notes = [block.text for block in buying.blocks if isinstance(block, Paragraph) and block.kind == "note"]
    assert any("were not compared" in note for note in notes)


@pytest.mark.parametrize("name", THREE)
def test_inches_are_not_written_as_a_word_of_their_own(name: str) -> None:
    """``cuts in order, in`` is read as half a sentence."""
    tree = parsed(packet_html(packet_of(name), paper="a4"))
    said = [words(one) for tag in ("caption", "p", "h2", "h3", "strong") for one in every(tree, tag)]
    assert said
    assert not [one for one in said if re.search(r", in(?:$|[.:]|,? from)", one)]
    unit = {"in": "inches", "cm": "cm"}[sample(name).job.units]
    assert any(one.endswith(f"cuts in order, {unit}") for one in said)


def test_only_a_sheet_with_panels_asks_to_hold_one_to_the_rod() -> None:
    told = {
        section.title: next(
            block.text
            for block in section.blocks
            if isinstance(block, Paragraph) and block.lead == "How to cut:"
        )
        for section in packet_of("reading-nook").sections
        if section.part == "table"
    }
    assert [HANG in text for text in told.values()] == [True, False]


def test_a_metric_job_unrolls_a_meter() -> None:
    assert "unroll the first meter" in " ".join(" ".join(all_texts("loft-metric")).split())
    assert "unroll the first yard" in " ".join(" ".join(all_texts("reading-nook")).split())


@pytest.mark.parametrize(("facing", "what"), [("lining", "hidden tabs"), (None, "facing and hidden tabs")])
def test_what_is_cut_from_lining_already_is_not_offered_from_it(facing: str | None, what: str) -> None:
    order = FacingOrder(depth=inch(4), fabric=facing)
    fabrics = (
        a_fabric(a_bolt(inch(54), inch(53)), nap="one-way"),
        a_fabric(a_bolt(inch(54), inch(53)), key="lining"),
    )
    lining = {} if facing else {"lining": "lining"}
    window = a_window(heading="back-tab", facing=order, **lining)
    said = [one.text for one in planned(window, fabrics=fabrics).advice]
    offers = [one.split(" may be cut from lining")[0] for one in said if "may be cut from lining" in one]
    assert offers == [what]


@pytest.mark.parametrize("flag", ["--hems-only", '--also "Bay (left)"', "--lining-gap 1/2 in"])
def test_a_flag_of_the_command_line_is_left_out_on_page_and_paper(flag: str) -> None:
    assert Advice("warning", f"hang one of its panels too ({flag})").plain == "hang one of its panels too"
    assert Advice("note", "two widths (one is wider)").plain == "two widths (one is wider)"


def test_the_sheet_of_a_single_fabric_is_titled_without_a_letter() -> None:
    titles = [section.title for section in packet_of("three-window-house").sections]
    assert titles[0] == "Table sheet: Slate linen weave"
    assert packet_of("reading-nook").sections[0].title == "Table sheet A: Rust velvet"


def test_cords_of_a_tape_are_kept_from_children() -> None:
    """A loose loop of cord can strangle a child: EN 13120 and 16 CFR 1260 speak of it."""
    window = a_window(heading="pencil-pleat")
    made = built(planned(window, fabrics=(a_fabric(a_bolt(inch(54), inch(53))),)))
    steps = [
        step.text
        for section in made.sections
        for block in section.blocks
        if isinstance(block, MakingSteps)
        for step in block.items
    ]
    (drawn,) = [text for text in steps if "knot the cords" in text.lower()]
    assert "where no child can reach a loop" in drawn
