"""Linings, interlinings and bands fit a panel as it lies flat; letters are the measuring sheet's."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from orders import a_bolt, a_fabric, a_job, a_window, by_role, cut_job, inch
from pages import built, parsed, planned, tables

from nesting.cutting.layers import hemmed_lining, lining_gap, lining_overlap, lining_top
from nesting.cutting.measures import lying_length, settle
from nesting.headings.making import Making
from nesting.order.job import Band, Hem
from nesting.packet import packet_html

FABRICS = (
    a_fabric(a_bolt(inch(54), inch(53))),
    a_fabric(a_bolt(inch(54), inch(53)), key="lining"),
    a_fabric(a_bolt(inch(54), inch(53)), key="bump"),
)


def made(**said: Any) -> Making:
    window = a_window(lining="lining", **said)
    return settle(a_job(window, fabrics=FABRICS), window)


def test_layers_of_a_rod_pocket_are_cut_for_the_panel_lying_flat() -> None:
    # Flat the panel is 95 1/2 + 1/2 take-up = 96 from top to hem edge. The lining's raw top lies
    # 3 5/8 - 1/2 = 3 1/8 below the top, its hem edge 1 above the face's: 96 - 3 1/8 - 1 = 91 7/8,
    # and 4 of hem.
    window = a_window(
        heading="rod-pocket", lining="lining", interlining="bump", bands=(Band("leading", inch(3), "face"),),
        take_up=inch("1/2"),
    )  # fmt: skip
    cutting = cut_job(a_job(window, fabrics=FABRICS))
    assert by_role(cutting, "lining")[0].length == inch("95 7/8")
    assert by_role(cutting, "interlining")[0].length == inch(96)
    # Ends turned in 1/2 each.
    assert by_role(cutting, "band")[0].length == inch(97)
    assert by_role(cutting, "lining")[0].finished_length == inch("91 7/8")
    assert lying_length(settle(a_job(window, fabrics=FABRICS), window)).total == inch(96)


def test_on_a_flat_rod_nothing_is_taken_up() -> None:
    flat = made(heading="rod-pocket", rod_diameter=inch(1), rod_depth=inch("1/4"), take_up=None)
    assert lying_length(flat).total == inch("95 1/2")


@pytest.mark.parametrize(
    ("turn", "gap"),
    # Half of a shallow hem to the sixteenth, never more than 1: the lining covers the hem's upper edge.
    [("4", "1"), ("2", "1"), ("1", "1/2"), ("3/4", "3/8"), ("5/8", "5/16")],
)
def test_a_lining_covers_the_top_of_the_hem(turn: str, gap: str) -> None:
    making = made(bottom_hem=Hem(inch(turn), 2))
    assert lining_gap(making) == inch(gap)
    assert lining_gap(making) < making.bottom_hem.finished


def test_a_lining_goes_up_under_the_heading() -> None:
    # Cuff 4, covered 4: the raw top lies 3 1/2 below the edge, so the cuff comes down over it by 1/2.
    # Default of the trade: FL 90, cover 4: 89 1/2 cut, 4 of it hem: 85 1/2, which is 90 - 3 1/2 - 1.
    making = made(heading="pinch-pleat", finished_length=inch(90))
    assert (lining_top(making).total, lining_overlap(making).total) == (inch("3 1/2"), inch("1/2"))
    assert hemmed_lining(making).total == inch("85 1/2")
    # Ordered lower than the cuff reaches, nothing covers it: its turned fold lies 6 below, 90 - 6 - 1.
    low = made(heading="pinch-pleat", finished_length=inch(90), lining_cover=inch(6))
    assert (lining_top(low).total, hemmed_lining(low).total) == (inch(6), inch(83))


def test_letters_of_sums_are_those_of_the_measuring_sheet() -> None:
    window = a_window(heading="pinch-pleat", rod=inch(90), returns=inch("3 1/2"), overlap=inch(4))
    page = tables(parsed(packet_html(built(planned(window, fabrics=FABRICS[:1])), paper="letter")))
    sheet = page["East window: dimensions"]
    said = dict(zip(sheet.column(""), sheet.column("the job says"), strict=True))
    sums = {row[0]: row for row in page["East window: sums"].body}
    row = next(row for what, row in sums.items() if what.startswith("cut width of the panel"))
    assert row[1] == "A ÷ N × f + C + D/2 + 4 × e, rounded up"
    # 90 / 2 x 2.5 + 3 1/2 + 4 / 2 + 4 = 122.
    assert row[2:] == [
        "rod to be covered 90 ÷ panels 2 x fullness 2.5 + return 3 1/2 + half the overlap 2 + side hem 1 x 4",
        "122 in",
    ]
    value = {letter: Fraction(said[letter].split()[0]) for letter in ("A", "D")}
    value["C"] = Fraction(7, 2)
    assert said["C"] == "3 1/2 in"
    assert value["A"] / 2 * Fraction(5, 2) + value["C"] + value["D"] / 2 + 4 == 122


def test_a_fixed_panel_has_a_letter_of_its_own() -> None:
    window = a_window(heading="clip-ring", draw="fixed", covers=inch(18), panels=2)
    page = tables(parsed(packet_html(built(planned(window, fabrics=FABRICS[:1])), paper="letter")))
    row = next(r for r in page["East window: sums"].body if r[0].startswith("cut width of the panel"))
    assert row[1].startswith("V × f")
