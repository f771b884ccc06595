from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting import units
from nesting.errors import LengthError
from nesting.units import format_decimal, format_length, grid, parse_length, to_decimal, to_ticks
from tests.readings import readings
from tests.seeds import examples

UNITS = st.sampled_from(["in", "cm", "mm"])


def test_the_yard_is_914_4_millimeters() -> None:
    # International yard, 1 July 1959: 1 yd = 0.9144 m exactly.
    assert Fraction(units.YARD, units.METER) == Fraction(9144, 10000)
    assert Fraction(units.INCH, units.TICKS_PER_MM) == Fraction(254, 10)
    assert Fraction(units.SIXTEENTH) * 16 == units.INCH


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("84", "84"),
        ("84 1/2", "169/2"),
        ("84-1/2", "169/2"),
        ("84 1/2 in", "169/2"),
        ("84 1/2in.", "169/2"),
        ("95½", "191/2"),
        ('95½"', "191/2"),
        ("½", "1/2"),
        ("3/8", "3/8"),
        (".5", "1/2"),
        ("2,5", "5/2"),
        ("7 ft 6 in", "90"),
        ("7ft6in", "90"),
        ("7 ft, 6 in", "90"),
        ("7 feet and 6 inches", "90"),
        ("7' 6\"", "90"),
        ("7'6", "90"),
        ("7' 6 1/2", "181/2"),
        ("7’ 6”", "90"),
        ("5''", "5"),
        ("1 yd 2 ft 3 in", "63"),
        ("2.5 yd", "90"),
        ("1 3/4 yards", "63"),
        ("  84 IN ", "84"),
        ("84\u00a01/2", "169/2"),
        ("-3", "-3"),
        ("0", "0"),
    ],
)
def test_what_people_write_in_inches_is_read_exactly(text: str, inches: str) -> None:
    assert parse_length(text, "in") == Fraction(inches) * units.INCH


@pytest.mark.parametrize(
    ("text", "millimeters"),
    [
        ("213 cm", 2130),
        ("2.13 m", 2130),
        ("2,13 m", 2130),
        ("2 m 13 cm", 2130),
        ("2130mm", 2130),
        ("21", 210),
    ],
)
def test_metric_text_is_read_exactly(text: str, millimeters: int) -> None:
    assert parse_length(text, "cm") == millimeters * units.TICKS_PER_MM


@pytest.mark.parametrize("number", [25.25, Decimal("25.25"), Fraction(101, 4), "25.25", "25 1/4"])
def test_all_ways_to_say_a_quarter_agree(number: float | str) -> None:
    assert parse_length(number, "in") == Fraction(101, 4) * units.INCH


def test_a_float_means_the_decimal_it_prints_as() -> None:
    assert parse_length(0.1, "cm") == Fraction(1, 10) * 800


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        ("   ", "empty"),
        ("wide", "no length"),
        ("1/0", "divides by nothing"),
        ("3 1/0", "divides by nothing"),
        ("84 1/", "no length"),
        ("84 - 1/2", "no length"),
        ("1.2.3", "no length"),
        ("12.5.1", "no length"),
        ("5.", "no length"),
        ("--5", "no length"),
        ("3 5/2", "unclear"),
        ("1,250 mm", "comma"),
        ("7 6", "without its unit"),
        ("84 1/2 1/4", "without its unit"),
        ("2 m 13", "without its unit"),
        ("7 ft 6 in 3", "without its unit"),
        ("7 ft 20 cm", "mixes"),
        ("6 in 7 ft", "out of order"),
        ("6 in 6 in", "out of order"),
        ("7 ft and", "no length|not known"),
        ("84 ells", '"ells" is not known'),
        ("1e3", '"e" is not known'),
        ("0x10", '"x" is not known'),
        ("nan", "no length"),
        ("inf", "no length"),
        ("9" * 70, "characters"),
        ("11 000 m", "without its unit"),
        ("11000 m", "10 km"),
        ("84\0", "no length"),
    ],
)
def test_nonsense_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(LengthError, match=reason):
        parse_length(text, "in")


@pytest.mark.parametrize(
    ("text", "unit", "reason"),
    [
        ("½7", "in", "behind its whole number"),  # 1/27, or 7 1/2 the wrong way round
        ("5½5", "in", "nothing behind the fraction"),
        ("5 ½ 5", "in", "nothing behind the fraction"),
        ("1'250", "in", "250 in behind ft is unclear: write fewer than 12"),  # a foot and 250 in, or 1250
        ("1’250", "mm", "behind ft is unclear"),
        ("1'005", "in", "005 in behind ft"),  # a foot and 5 in, or 1005
        ("10' 100", "in", "100 in behind ft"),
        ("7 ft 12 in", "in", "12 in behind ft"),
        ("2 m 130 cm", "cm", "130 cm behind m is unclear: write fewer than 100"),
        ("7 ft,6 in", "in", 'write "7 ft 6 in" or "7 ft 0.6 in"'),
        ("7 ft.6 in", "in", "no length|unclear"),
        ("7'.5", "in", "inches or a part of a foot|unclear"),
        ("7' 1/2", "in", "inches or a part of a foot"),
        ("7 ft ½", "in", "inches or a part of a foot"),
        ("11/8", "in", '"11/8" may be 1 1/8 or 1 3/8'),
        ("121/2", "in", '"121/2" may be 12 1/2 or 60 1/2'),
        ("1 100/200", "in", "unclear"),  # 1 1/2, or 1100 / 200
        ("1,250", "in", "the comma may mean"),
        (",250", "in", "the comma may mean"),
        ("1,250 m", "cm", "the comma may mean"),
        ("1.250", "cm", "the point may mean a decimal or thousands: write 1250 or 1.25$"),
        ("1.250 mm", "in", "the point may mean"),
        ("95.125", "cm", "write 95125 or 95.1250"),
        ("12.500 cm", "in", "write 12500 or 12.5$"),
        ("2 m 1.250 cm", "cm", "the point may mean"),
        ("1 250 mm", "mm", "without its unit"),
    ],
)
def test_what_two_people_could_read_two_ways_is_refused(text: str, unit: units.Unit, reason: str) -> None:
    with pytest.raises(LengthError, match=reason):
        parse_length(text, unit)


@pytest.mark.parametrize(
    ("text", "unit", "millimeters"),
    [
        ("95.125", "in", "96647/40"),  # 95.125 x 25.4 = 2416.175
        ("2.135 m", "cm", "2135"),
        ("1.250 yd", "cm", "1143"),
        ("0.125 cm", "cm", "5/4"),
        (".125", "cm", "5/4"),
        ("95.1250", "cm", "3805/4"),
        ("95,12", "cm", "4756/5"),
        ("95.12", "cm", "4756/5"),
        ("1,2345 m", "cm", "2469/2"),
        ("7' 0 1/2", "in", "21463/10"),  # 84.5 x 25.4 = 2146.3
        ("7 ft 11 15/16", "in", "194945/80"),  # 95.9375 x 25.4 = 2436.8125
        ("5/2", "in", "127/2"),
        ("13/16", "in", "1651/80"),
        ("7 ½", "in", "381/2"),
    ],
)
def test_what_has_one_reading_stays(text: str, unit: units.Unit, millimeters: str) -> None:
    assert parse_length(text, unit) == Fraction(millimeters) * units.TICKS_PER_MM


def test_a_point_in_a_job_file_is_read_like_a_text_and_one_from_a_machine_is_exact() -> None:
    with pytest.raises(LengthError, match=r"write 1250 or 1\.25$"):
        parse_length(Decimal("1.250"), "mm")
    assert parse_length(Decimal("1.250"), "in") == Fraction(5, 4) * units.INCH
    assert parse_length(Decimal("1.25"), "mm") == parse_length(1.25, "mm") == Fraction(5, 4) * 80
    assert parse_length(64.135, "cm") == Fraction("64.135") * 800


_FRAGMENTS = (
    "1", "2", "5", "7", "8", "12", "100", "250", "005", "½", "⅝", "/", " ", ",", ".", "'", '"', "''",
    "ft", "in", "cm", "mm", "m", "yd", " and ",
)  # fmt: skip


@examples(3000)
@given(parts=st.lists(st.sampled_from(_FRAGMENTS), min_size=1, max_size=8), unit=UNITS)
def test_every_text_that_is_read_has_one_reading(parts: list[str], unit: units.Unit) -> None:
    text = "".join(parts)
    try:
        ticks = parse_length(text, unit)
    except LengthError:
        return
    assert readings(text, unit) == {ticks * 254 / units.INCH}


@pytest.mark.parametrize("text", ["84 1/2", "½7", "5½5", "1'250", "11/8", "7' 1/2", "1.250 cm", "1'005"])
def test_the_reader_of_all_readings_sees_the_second_one(text: str) -> None:
    assert (len(readings(text, "in")) > 1) == (text != "84 1/2")


@given(ticks=st.integers(-(10**7), 10**7), unit=UNITS)
def test_a_decimal_that_is_printed_can_be_typed(ticks: int, unit: units.Unit) -> None:
    # Half of the last digit is the most that is lost.
    lost = abs(parse_length(format_decimal(ticks, unit), unit) - ticks)
    assert lost <= Fraction(units.unit_ticks(unit), {"in": 2000, "cm": 20000, "mm": 200}[unit])


@pytest.mark.parametrize(
    "number",
    [
        True,
        float("nan"),
        float("inf"),
        -float("inf"),
        Decimal("NaN"),
        Decimal("Infinity"),
        Decimal("1e900000000"),
    ],
)
def test_numbers_that_are_no_length_are_refused(number: float | Decimal) -> None:
    with pytest.raises(LengthError):
        parse_length(number, "in")


@given(steps=st.integers(-200_000, 200_000), unit=UNITS)
def test_format_then_parse_gives_the_same_length_on_the_tape(steps: int, unit: units.Unit) -> None:
    ticks = steps * grid(unit)
    assert parse_length(format_length(ticks, unit), unit) == ticks
    assert parse_length(format_length(ticks, unit, name=False), unit) == ticks


@given(ticks=st.integers(-units.LONGEST, units.LONGEST), unit=UNITS)
def test_decimals_for_machines_are_exact_to_the_tick(ticks: int, unit: units.Unit) -> None:
    assert to_ticks(to_decimal(ticks, unit), unit) == ticks


@given(ticks=st.integers(-(10**7), 10**7), unit=UNITS)
def test_the_tape_is_read_to_the_nearest_step(ticks: int, unit: units.Unit) -> None:
    read = parse_length(format_length(ticks, unit), unit)
    assert abs(read - ticks) * 2 <= grid(unit)


@given(text=st.text(alphabet="0123456789 /.,-'\"½infcmydt\t", max_size=20))
def test_any_text_is_a_length_within_10_km_or_refused_as_one(text: str) -> None:
    try:
        ticks = parse_length(text, "in")
    except LengthError:
        return
    assert abs(ticks) <= units.LONGEST
    assert any(sign.isdigit() or sign == "½" for sign in text)


@given(value=st.fractions(-1000, 1000, max_denominator=97), step=st.integers(1, 500))
def test_rounding_keeps_to_its_side(value: Fraction, step: int) -> None:
    up, down = units.round_up(value, step), units.round_down(value, step)
    near = units.round_nearest(value, step)
    assert up % step == down % step == near % step == 0
    assert down <= value <= up < down + 2 * step
    assert abs(near - value) * 2 <= step
    assert near in (up, down)


def test_ties_go_up() -> None:
    assert units.round_nearest(Fraction(1, 2)) == 1
    assert units.round_nearest(Fraction(-1, 2)) == 0


@pytest.mark.parametrize(
    ("ticks", "unit", "text"),
    [
        (units.inches("191/2"), "in", "95 1/2 in"),
        (units.inches("1/16"), "in", "1/16 in"),
        (-units.inches("3/4"), "in", "-3/4 in"),
        (0, "in", "0 in"),
        (units.centimeters("213.4"), "cm", "213.4 cm"),
        (units.centimeters(213), "cm", "213 cm"),
        (units.centimeters("213.4"), "mm", "2134 mm"),
        (-units.centimeters("0.1"), "cm", "-0.1 cm"),
    ],
)
def test_lengths_read_as_off_a_tape(ticks: int, unit: units.Unit, text: str) -> None:
    assert format_length(ticks, unit) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        # HMD (How to Make Draperies, booklet no. 102, 1960): 336 in = 9 1/3 yd, 384 in = 10 2/3 yd, 5 1/2 yd.
        (336, "9 1/3 yd"),
        (384, "10 2/3 yd"),
        (198, "5 1/2 yd"),
        (360, "10 yd"),
        (9, "1/4 yd"),
        (100, "2.778 yd"),
    ],
)
def test_yards_are_said_as_a_shop_says_them(inches: int, text: str) -> None:
    assert units.format_quantity(units.inches(inches), "yd") == text


def test_meters_keep_their_millimeters() -> None:
    assert units.format_quantity(units.centimeters(840), "m") == "8.4 m"
    assert units.format_quantity(units.centimeters("123456.7"), "m") == "1234.567 m"
    assert units.format_quantity(units.centimeters(1000), "m") == "10 m"


def test_only_whole_ticks_come_from_code() -> None:
    with pytest.raises(LengthError, match="whole number of ticks"):
        units.inches(Fraction(1, 1000))


def test_fabric_is_sold_in_the_unit_of_the_country() -> None:
    assert [units.selling_unit(unit) for unit in ("in", "cm", "mm")] == ["yd", "m", "m"]
    assert units.unit_ticks("yd") == 36 * units.unit_ticks("in")
