"""One cut list: terminal, CSV, packet, labels and page have the same rows, in the order of the sequence."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from pages import SAMPLES, built, each_cut, sample
from rich.console import Group
from rich.padding import Padding
from rich.table import Table as RichTable

from nesting.commands.tables import plan_table
from nesting.files import cut_list_csv, plan_document
from nesting.packet import labels_csv
from nesting.packet.model import Table
from nesting.plan.cut_rows import cuts_of
from nesting.plan.plan import Plan
from nesting.units import format_length
from nesting.web.plan_view import plan_view
from tests.seeds import some

NAMES = sorted(path.stem for path in SAMPLES.glob("*.toml"))
Line = tuple[str, str, str, str]
"""Of one cut: its number, its name, how wide and how long a piece of it is."""


def once(lines: Iterator[Line]) -> list[Line]:
    """Each cut once, where an output has a row for each of its pieces."""
    return list(dict.fromkeys(lines))


def tables_of(shown: object) -> Iterator[RichTable]:
    if isinstance(shown, RichTable):
        yield shown
    elif isinstance(shown, Padding):
        yield from tables_of(shown.renderable)
    elif isinstance(shown, Group):
        for inner in shown.renderables:
            yield from tables_of(inner)


def from_terminal(plan: Plan) -> Iterator[Line]:
    for table in tables_of(plan_table(plan)):
        if table.columns and table.columns[0].header == "cut":
            cells = {str(column.header): [str(cell) for cell in column.cells] for column in table.columns}
            said = (cells[head] for head in ("cut", "piece", "wide", "long"))
            for number, piece, wide, long in zip(*said, strict=True):
                name = re.sub(r"(, turned)?( \(\d+ of \d+\)|, \d+ of \d+: [^,]*)?$", "", piece)
                yield number, name, wide, long


def from_csv(plan: Plan) -> Iterator[Line]:
    for row in csv.DictReader(io.StringIO(cut_list_csv(plan))):
        yield row["number"], row["name"], row["width"], row["length"]


def from_packet(plan: Plan) -> Iterator[Line]:
    for section in built(plan).sections:
        for block in section.blocks:
            if isinstance(block, Table) and ": cuts in order, " in block.caption:
                at = {head: number for number, head in enumerate(block.head)}
                for row in block.rows:
                    yield row[at["cut"]], row[at["piece"]].split(";")[0], row[at["wide"]], row[at["long"]]


def from_labels(plan: Plan) -> Iterator[Line]:
    for row in csv.DictReader(io.StringIO(labels_csv(plan))):
        for number in each_cut(row["number"]):
            yield number, row["name"], row["width"], row["length"]


def from_printed_labels(plan: Plan) -> Iterator[Line]:
    for label in built(plan).labels:
        wide, _, long = label.size.partition(" × ")
        for number in each_cut(label.number):
            yield number, label.name, wide, re.sub(r" (in|cm|mm)$", "", long)


def from_page(plan: Plan) -> Iterator[Line]:
    unit = plan.job.units
    sizes = {
        piece.name: [format_length(size, unit, name=False) for size in (piece.width, piece.length)]
        for piece in plan.pieces
    }
    for layout in plan_view(plan, {})["layouts"]:
        for card in layout["cards"]:
            wide, long = sizes[card["name"]]
            assert wide in card["size"]
            assert long in card["size"]
            yield card["cut"], card["name"], wide, long


OUTPUTS: tuple[Callable[[Plan], Iterator[Line]], ...] = (
    from_terminal, from_csv, from_packet, from_labels, from_printed_labels, from_page,
)  # fmt: skip


SHARED = (from_labels, from_printed_labels)


def sequence_of(plan: Plan) -> list[str]:
    """The numbers of the cuts as the written plan's cutting sequence makes them."""
    layouts = plan_document(plan)["layouts"]
    actions = (action for layout in layouts for action in layout.get("sequence", ()))
    return [action["cut"] for action in actions if action.get("frees")]


@pytest.mark.parametrize("name", some(NAMES, 3))
def test_every_output_has_the_same_cuts_in_the_same_order(name: str) -> None:
    plan = sample(name)
    expected = once(from_terminal(plan))
    assert expected
    assert [number for number, *_ in expected] == sequence_of(plan)
    for read in OUTPUTS:
        found = once(read(plan))
        if read in SHARED:
            # Identical small pieces share a label, which stands where the first of them is cut.
            found.sort(key=expected.index)
        assert found == expected, read.__name__


@pytest.mark.parametrize("name", some(NAMES, 3))
def test_every_piece_stands_in_the_list_once(name: str) -> None:
    plan = sample(name)
    listed = [(laid.piece.id, laid.copy) for _, _, laid in cuts_of(plan).pieces()]
    laid = [(laid.piece.id, laid.copy) for layout in plan.layouts for laid in layout.placements]
    assert sorted(listed) == sorted(laid)
    for length, row, piece in cuts_of(plan).pieces():
        assert row in length.rows
        assert (piece.piece, piece.arrow, piece.letter) == (row.first.piece, row.top, row.letter)
        assert row.start <= piece.y < piece.y + piece.length <= row.end


def test_a_bolt_with_nothing_on_it_has_no_cuts() -> None:
    plan = sample("reading-nook")
    empty = replace(plan.layouts[0], length=None, placements=())
    assert cuts_of(replace(plan, layouts=(empty,))).of(empty) == ()
