from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.pieces.piece import Piece, Steps
from nesting.units import SIXTEENTH, Unit, centimeters, inches, parse_length


def test_a_back_tab_panel_is_finished_plus_seam_plus_hem() -> None:
    # F1, common practice, no source: floor hem 4 turned twice, top seam 1/2: cut = finished + 8 1/2.
    steps = (
        Steps("cut length")
        .add("finished", inches("191/2"))
        .add("top seam", inches("1/2"))
        .add("hem", inches(4), 2)
    )
    assert steps.total == inches(104)
    assert steps.line("in") == "cut length: finished 95 1/2 + top seam 1/2 + hem 4 x 2 = 104 in"


def test_the_flat_width_shows_factor_and_division() -> None:
    # F1, common practice, no source: flat = 1.5 x coverage; side hems 1 turned twice: cut = flat + 4.
    steps = (
        Steps("cut width")
        .add("rod", inches(84))
        .times("fullness", Fraction(3, 2))
        .over("panels", 2)
        .add("side hems", inches(1), 4)
    )
    assert steps.total == inches(67)
    assert steps.line("in") == "cut width: rod 84 x fullness 1.5 ÷ panels 2 + side hems 1 x 4 = 67 in"


def test_a_sum_is_bracketed_before_it_is_multiplied() -> None:
    steps = Steps("flat").add("rod", inches(10)).add("overlap", inches(4)).times("fullness", 2)
    assert steps.exact == inches(28)
    assert steps.line("in") == "flat: (rod 10 + overlap 4) x fullness 2 = 28 in"


def test_rounding_up_is_shown_only_where_it_changes_something() -> None:
    exact = Steps("width").add("rod", inches(10)).up_to(SIXTEENTH)
    assert exact.line("in") == "width: rod 10 = 10 in"
    # 10 / 3 = 3.333 in is 53.33 sixteenths, so 54 of them: 3 3/8.
    third = Steps("width").add("rod", inches(10)).over("tabs", 3).up_to(SIXTEENTH)
    assert third.total == inches("27/8")
    assert third.line("in") == "width: rod 10 ÷ tabs 3 = 3.333, rounded up to the tape = 3 3/8 in"
    more = third.add("hem", inches(1))
    assert (
        more.line("in") == "width: rod 10 ÷ tabs 3 = 3.333, rounded up to the tape 3 3/8 + hem 1 = 4 3/8 in"
    )


def test_taking_away_reads_as_a_minus() -> None:
    steps = Steps("lining width").add("face cut", inches(67)).take("side hems", inches(3), 2)
    assert steps.total == inches(61)
    assert steps.line("in") == "lining width: face cut 67 - side hems 3 x 2 = 61 in"
    assert Steps("gap").take("lead", inches(2)).line("in") == "gap: -lead 2 = -2 in"


def test_what_the_tape_cannot_show_stands_as_a_decimal() -> None:
    steps = Steps("length").add("rod", centimeters(213)).add("hem", inches(4))
    assert steps.line("in") == "length: rod 83.858 + hem 4 = 87.858 in"
    assert steps.line("cm") == "length: rod 213 + hem 10.16 = 223.16 cm"


@given(
    terms=st.lists(
        st.tuples(st.sampled_from(["+", "-"]), st.integers(1, 4000), st.integers(1, 4)),
        min_size=1,
        max_size=8,
    ),
    unit=st.sampled_from(["in", "cm", "mm"]),
)
def test_every_line_adds_up_as_it_is_printed(terms: list[tuple[str, int, int]], unit: Unit) -> None:
    step = {"in": SIXTEENTH, "cm": 80, "mm": 80}[unit]
    steps = Steps("cut")
    for sign, size, times in terms:
        steps = (steps.add if sign == "+" else steps.take)("part", size * step, times)
    text, _, result = steps.line(unit).removeprefix("cut: ").rpartition(" = ")
    printed = Fraction(0)
    for entry in text.replace(" - ", " + -").split(" + "):
        sign = -1 if entry.startswith("-") else 1
        amount, _, times = entry.removeprefix("-").removeprefix("part ").partition(" x ")
        printed += sign * parse_length(amount, unit) * int(times or 1)
    assert printed == parse_length(result, unit) == steps.exact == steps.total


@given(amount=st.fractions(0, 5000), divisor=st.integers(1, 9), step=st.integers(1, 300))
def test_rounding_up_never_loses_fabric(amount: Fraction, divisor: int, step: int) -> None:
    steps = Steps("cut").add("rod", amount).over("panels", divisor)
    rounded = steps.up_to(step)
    assert steps.exact <= steps.total < steps.exact + 1
    assert rounded.total % step == 0
    assert steps.exact <= rounded.total < steps.exact + step


def test_a_piece_tells_both_sums() -> None:
    piece = Piece(
        id="cushion/1",
        name="Cushion",
        role="extra",
        fabric="face",
        width=inches(18),
        length=inches(20),
        width_steps=Steps("cut width").add("as ordered", inches(18)),
        length_steps=Steps("cut length").add("as ordered", inches(20)),
    )
    assert piece.arithmetic("in") == (
        "cut length: as ordered 20 = 20 in",
        "cut width: as ordered 18 = 18 in",
    )


@pytest.mark.parametrize(("given_", "cut"), [("100", "116"), ("96", "112")])
def test_a_sum_starts_from_nothing(given_: str, cut: str) -> None:
    # E21, common practice: 100 + 16 = 116.
    assert Steps("cut").add("drop", inches(given_)).add("allowance", inches(16)).total == inches(cut)
