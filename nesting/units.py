"""Lengths: ticks inside, tape fractions and decimals outside.

One tick is 1/80 mm, so 1 mm = 80, 1/16 in = 127, 1 in = 2032 and 1 yd = 73 152 ticks: inch
fractions and millimeters are both exact. Decimal numbers enter and leave the program here only.
The international yard is 0.9144 m exactly (1 July 1959), which makes the inch 25.4 mm.
"""

from __future__ import annotations

import itertools
import math
import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

from nesting.errors import LengthError

Unit = Literal["in", "cm", "mm"]

TICKS_PER_MM: Final = 80
SIXTEENTH: Final = 127
INCH: Final = 2032
YARD: Final = 36 * INCH
METER: Final = 1000 * TICKS_PER_MM

#: The longest length the program reads: 10 km of fabric, far beyond any order.
LONGEST: Final = 10_000 * METER

_TICKS: Final[dict[str, int]] = {
    "in": INCH,
    "ft": 12 * INCH,
    "yd": YARD,
    "mm": TICKS_PER_MM,
    "cm": 10 * TICKS_PER_MM,
    "m": METER,
}
_IMPERIAL: Final = ("in", "ft", "yd")
_SPELLINGS: Final[dict[str, str]] = {
    "in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in", "''": "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft", "′": "ft", "’": "ft",
    "yd": "yd", "yds": "yd", "yard": "yd", "yards": "yd",
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
}  # fmt: skip
_VULGAR: Final[dict[str, Fraction]] = {
    "½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4),
    "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
    "⅓": Fraction(1, 3), "⅔": Fraction(2, 3), "⅙": Fraction(1, 6), "⅚": Fraction(5, 6),
    "⅕": Fraction(1, 5), "⅖": Fraction(2, 5), "⅗": Fraction(3, 5), "⅘": Fraction(4, 5),
}  # fmt: skip
_SIGNS: Final = "".join(_VULGAR)
_NUMBER: Final = (
    r"(?:(?P<whole>\d+)(?:(?:\s+|-)(?P<num>\d+)\s*/\s*(?P<den>\d+)|(?:\s*|-)(?P<beside>[" + _SIGNS + r"]))"
    r"|(?P<n>\d+)\s*/\s*(?P<d>\d+)|(?P<alone>[" + _SIGNS + r"])"
    r"|(?P<before>\d*)(?P<point>[.,])(?P<behind>\d+)|(?P<plain>\d+))"
)
_TERM: Final = re.compile(
    _NUMBER
    + rf"(?![\d{_SIGNS}]|\s*/|[.,]\d)\s*"
    + r"(?:(?P<unit>[a-z]+|''|[\"'″′”’])(?:\.(?!\d))?)?"
    + rf"\s*(?:(?:and\b|,\s)\s*(?=[\d{_SIGNS}]))?"
)
#: A comma may stand for the decimal point or part the thousands; with three digits nobody can tell.
_UNCLEAR_COMMA: Final = re.compile(r",\d{3}(?!\d)")
_TURNED_ROUND: Final = re.compile(rf"[{_SIGNS}]\s*\d")
#: Where a point parts thousands as well: millimeters and centimeters run into thousands, meters never.
_POINT_MAY_PART: Final = ("cm", "mm")
_THOUSAND: Final = 3
_DECIMALS: Final[dict[str, int]] = {"in": 3, "cm": 4, "mm": 2}
_MOST_DIGITS: Final = 40
#: The parts of a yard that shops cut: halves to sixteenths, and thirds.
_YARD_PARTS: Final = (2, 3, 4, 8, 16)
_EXAMPLES: Final = 'such as "84 1/2", "7 ft 6 in", "2.5 yd" or "213 cm"'


def parse_length(value: str | int | float | Decimal | Fraction, unit: Unit) -> Fraction:
    """The exact length in ticks of what a person wrote.

    Parameters
    ----------
    value
        A bare number, or text such as ``84 1/2``, ``95½"``, ``7' 6"``, ``1 3/4 yd``, ``2.13 m``. After
        feet, a last number without a unit is inches: ``7' 6``.
    unit
        The unit of a number that names none.

    Returns
    -------
    Fraction
        Ticks; not yet rounded, and negative or zero where that was written.

    Raises
    ------
    LengthError
        The text is no length, mixes measuring systems, repeats a unit, is beyond 10 km, or two people could
        read it in two ways: ``1,250``, ``1.250 cm``, ``1'250``, ``11/8``, ``7' 1/2``, ``7 ft,6 in``. Where a
        number is exact by itself (an int, a float, a Fraction) its point is the decimal point; a Decimal is
        what a person wrote in a job file and is read like text.
    """
    if isinstance(value, bool):
        raise LengthError(f"{value!r} is no length: write a number or a text {_EXAMPLES}")
    ticks = _parse_text(value, unit) if isinstance(value, str) else _number(value, unit) * _TICKS[unit]
    if abs(round_nearest(ticks)) > LONGEST:
        raise LengthError(f"{value} is longer than 10 km: check the number and its unit")
    return ticks


def _number(value: int | float | Decimal | Fraction, unit: Unit) -> Fraction:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise LengthError(f"{value} is no length: write a number or a text {_EXAMPLES}")
        return Fraction(repr(value))
    if isinstance(value, Decimal) and not (value.is_finite() and abs(value.adjusted()) < _MOST_DIGITS):
        raise LengthError(f"{value} is no length: write a number or a text {_EXAMPLES}")
    if isinstance(value, Decimal) and value.as_tuple().exponent == -_THOUSAND:
        whole, _, behind = str(abs(value)).partition(".")
        _check_point(str(value), whole, behind, unit)
    return Fraction(value)


def _parse_text(text: str, unit: Unit) -> Fraction:
    plain = text.strip().lower()
    if len(plain) > 60:
        raise LengthError(f"a length of {len(text)} characters cannot be read: write one {_EXAMPLES}")
    _check_signs(text, plain)
    total, seen = Fraction(0), list[str]()
    negative = plain.startswith("-")
    at = 1 if negative else 0
    while at < len(plain):
        term = _TERM.match(plain, at)
        if term is None:
            raise LengthError(f'"{text}" is no length: write one {_EXAMPLES}')
        spelled = term["unit"]
        name = _SPELLINGS.get(spelled) if spelled else None
        if spelled and name is None:
            raise LengthError(f'"{text}": the unit "{spelled}" is not known: use in, ft, yd, mm, cm or m')
        if name is None and seen == ["ft"] and term.end() == len(plain):
            _check_inches_behind_feet(text, term)
            name = "in"
        number = _term(term, text, name or unit)
        if seen and seen[-1] and name:
            _check_smaller_part(text, term, number, seen[-1], name)
        total += number * _TICKS[name or unit]
        seen.append(name or "")
        at = term.end()
    _check_units(text, seen)
    return -total if negative else total


def _check_signs(text: str, plain: str) -> None:
    """Refuse what has no reading, or two, whatever stands around it."""
    if _TURNED_ROUND.search(plain):
        raise LengthError(
            f'"{text}": a fraction stands behind its whole number, and nothing behind the fraction: '
            'write "7 1/2"'
        )
    if _UNCLEAR_COMMA.search(plain):
        raise LengthError(f'"{text}": the comma may mean a decimal or thousands: write 1250 or 1.25')


def _term(term: re.Match[str], text: str, unit: str) -> Fraction:
    """The number of one term, where it has one reading."""
    if term["point"]:
        if term["point"] == ".":
            _check_point(text, term["before"], term["behind"], unit)
        return Fraction(Decimal(f"{term['before']}.{term['behind']}"))
    if term["plain"]:
        return Fraction(int(term["plain"]))
    if term["alone"]:
        return _VULGAR[term["alone"]]
    if term["beside"]:
        return int(term["whole"]) + _VULGAR[term["beside"]]
    num, den = (term["num"], term["den"]) if term["whole"] else (term["n"], term["d"])
    if int(den) == 0:
        raise LengthError(f'"{text}" divides by nothing: write one {_EXAMPLES}')
    if term["whole"] and (int(num) >= int(den) or len(num) >= _THOUSAND):
        raise LengthError(f'"{text}": a whole number with {num}/{den} behind it is unclear: write it in full')
    split = None if term["whole"] else space_left_out(num, den)
    if split:
        exact = Fraction(int(num), int(den))
        in_full = f"{exact // 1} {exact % 1}" if exact.denominator > 1 else str(exact)
        raise LengthError(f'"{text}" may be {split} or {in_full}: write the one that is meant')
    return int(term["whole"] or 0) + Fraction(int(num), int(den))


def space_left_out(top: str, bottom: str) -> str | None:
    """The mixed number that ``top/bottom`` may be with its space left out: ``11/8`` may be ``1 1/8``.

    Parameters
    ----------
    top, bottom
        The digits of a fraction without a whole number before it.

    Returns
    -------
    str or None
        None where the fraction is below 1 or no such number is near: ``5/2`` has one reading.
    """
    if int(top) < int(bottom):
        return None
    for at in range(1, len(top)):
        whole, rest = int(top[:at]), top[at:]
        if whole and rest[0] != "0" and int(rest) < int(bottom):
            return f"{whole} {rest}/{bottom}"
    return None


def _check_point(text: str, whole: str, behind: str, unit: str) -> None:
    """Refuse 1.250 cm: one thousand two hundred and fifty to one reader, one and a quarter to another."""
    if unit not in _POINT_MAY_PART or len(behind) != _THOUSAND or not int(whole or 0):
        return
    decimal = f"{whole}.{behind.rstrip('0')}" if behind.endswith("0") else f"{whole}.{behind}0"
    raise LengthError(
        f'"{text}": the point may mean a decimal or thousands: write {whole}{behind} or {decimal.rstrip(".")}'
    )


def _check_inches_behind_feet(text: str, term: re.Match[str]) -> None:
    """Refuse ``7' 1/2``, which may be half an inch or half a foot."""
    if not (term["whole"] or term["before"] or term["plain"]):
        raise LengthError(
            f'"{text}" may mean inches or a part of a foot: write "7 ft 0 1/2 in" or "7 1/2 ft"'
        )


def _check_smaller_part(text: str, term: re.Match[str], number: Fraction, larger: str, smaller: str) -> None:
    """Refuse ``10' 100``, ``1'005``, which may be thousands, and ``7 ft,6 in``, which may be a decimal."""
    if term[0][:1] in (".", ","):
        raise LengthError(
            f'"{text}": the sign "{term[0][:1]}" is unclear: write "7 ft 6 in" or "7 ft 0.6 in"'
        )
    if (larger in _IMPERIAL) != (smaller in _IMPERIAL):
        return
    fit = Fraction(_TICKS[larger], _TICKS[smaller])
    digits = term["whole"] or term["before"] or term["plain"] or ""
    if fit > 1 and (fit <= number or len(digits) > len(str(fit - 1))):
        raise LengthError(
            f'"{text}": {digits} {smaller} behind {larger} is unclear: '
            f"write fewer than {fit}, or the whole length in one unit"
        )


def _check_units(text: str, seen: list[str]) -> None:
    if not seen:
        raise LengthError(f"an empty text is no length: write one {_EXAMPLES}")
    if len(seen) == 1:
        return
    if "" in seen:
        raise LengthError(f'"{text}" leaves a number without its unit: write "7 ft 6 in" in full')
    if any(name in _IMPERIAL for name in seen) and not all(name in _IMPERIAL for name in seen):
        raise LengthError(f'"{text}" mixes inches and metric: give the length in one of them')
    sizes = [_TICKS[name] for name in seen]
    if any(a <= b for a, b in itertools.pairwise(sizes)):
        raise LengthError(
            f'"{text}" names its units out of order or twice: write the larger first, each once'
        )


def to_ticks(value: str | int | float | Decimal | Fraction, unit: Unit) -> int:
    """The length to the nearest tick (ties up); see `parse_length` for what is read."""
    if type(value) is float and abs(value) < LONGEST:
        ticks = value * _TICKS[unit]
        nearest = math.floor(ticks + 0.5)
        # Up to 10 km a float is out by far less than a quarter of a tick, so only near a tie it may err.
        if abs(nearest) <= LONGEST and abs(ticks - nearest) < 0.25:
            return nearest
    return round_nearest(parse_length(value, unit))


def round_nearest(value: Fraction, step: int = 1) -> int:
    """The multiple of ``step`` nearest to ``value``, ties up."""
    return (2 * value.numerator + step * value.denominator) // (2 * step * value.denominator) * step


def round_up(value: Fraction | int, step: int) -> int:
    """The least multiple of ``step`` not below ``value``."""
    return -(-value.numerator // (step * value.denominator)) * step


def round_down(value: Fraction | int, step: int) -> int:
    """The greatest multiple of ``step`` not above ``value``."""
    return value.numerator // (step * value.denominator) * step


def inches(value: int | str | Fraction | Decimal) -> int:
    """Ticks of a number of inches that is a whole number of ticks."""
    return _whole(Fraction(value) * INCH)


def centimeters(value: int | str | Fraction | Decimal) -> int:
    """Ticks of a number of centimeters that is a whole number of ticks."""
    return _whole(Fraction(value) * 10 * TICKS_PER_MM)


def _whole(value: Fraction) -> int:
    if value.denominator != 1:
        raise LengthError(f"{value} ticks is not a whole number of ticks")
    return value.numerator


def grid(unit: Unit) -> int:
    """The ticks of the smallest step people measure in: 1/16 in, or 1 mm."""
    return SIXTEENTH if unit == "in" else TICKS_PER_MM


def unit_words(unit: Unit) -> str:
    """The unit by itself, as it is read aloud: ``inches``, as "in" is a word of its own; ``cm``; ``mm``."""
    return "inches" if unit == "in" else unit


@lru_cache(maxsize=16384)
def format_length(ticks: int | Fraction, unit: Unit, *, name: bool = True) -> str:
    """The length as read off a tape: ``95 1/2 in``, ``213.4 cm``, ``2134 mm``.

    Rounded to the nearest 1/16 in or 1 mm (ties up).
    """
    steps = round_nearest(Fraction(ticks) / grid(unit))
    tail = f" {unit}" if name else ""
    if unit == "mm":
        return f"{steps}{tail}"
    sign, steps = ("-" if steps < 0 else ""), abs(steps)
    if unit == "cm":
        whole, tenth = divmod(steps, 10)
        return f"{sign}{whole}.{tenth}{tail}" if tenth else f"{sign}{whole}{tail}"
    whole, sixteenths = divmod(steps, 16)
    part = Fraction(sixteenths, 16)
    if not part:
        return f"{sign}{whole}{tail}"
    return f"{sign}{whole} {part}{tail}" if whole else f"{sign}{part}{tail}"


def format_decimal(ticks: int | Fraction, unit: Unit) -> str:
    """The length as a decimal number, with as many digits as a reader can follow: ``53.347``.

    Three digits at most in inches, two in millimeters, four in centimeters; there never exactly three, which
    `parse_length` would not take back: ``64.1350``.
    """
    text = f"{to_decimal(ticks, unit):.{_DECIMALS[unit]}f}".rstrip("0").rstrip(".")
    if unit in _POINT_MAY_PART and len(text.partition(".")[2]) == _THOUSAND:
        text += "0"
    return "0" if text == "-0" else text


def format_exact(ticks: int | Fraction, unit: Unit, *, name: bool = True) -> str:
    """The length as read off a tape where the tape shows it, else as a decimal: ``53.347 in``."""
    if ticks.denominator == 1 and not ticks.numerator % grid(unit):
        return format_length(ticks, unit, name=name)
    return f"{format_decimal(ticks, unit)} {unit}" if name else format_decimal(ticks, unit)


def to_decimal(ticks: int | Fraction, unit: Unit) -> float:
    """The length as a decimal number of ``unit``, exact to the nearest tick for machines."""
    return round(ticks.numerator / (ticks.denominator * _TICKS[unit]), 7)


def unit_ticks(unit: str) -> int:
    """The ticks of one ``unit``: in, ft, yd, mm, cm or m."""
    return _TICKS[unit]


def unit_named(text: str) -> str | None:
    """The unit of that name or sign: in, ft, yd, mm, cm or m; None where there is none."""
    return _SPELLINGS.get(text.strip().lower())


def selling_unit(unit: Unit) -> Literal["yd", "m"]:
    """The unit in which fabric is sold where people measure in ``unit``."""
    return "yd" if unit == "in" else "m"


#: From so many yards or meters on, a length to buy is told in them.
LONG_RUN: Final = 2


def format_run(ticks: int, unit: Unit) -> str:
    """A length to buy: as read off a tape; from two yards or meters on in those, rounded up."""
    sold = selling_unit(unit)
    if ticks < LONG_RUN * _TICKS[sold]:
        return format_length(ticks, unit)
    return format_quantity(round_up(ticks, _TICKS[sold] // (8 if sold == "yd" else 10)), sold)


def format_quantity(ticks: int | Fraction, unit: Literal["yd", "m"]) -> str:
    """The length as it is bought: ``9 1/8 yd`` or ``8.4 m``; odd parts of a yard as decimals."""
    amount = Fraction(ticks) / _TICKS[unit]
    if unit == "m":
        return f"{float(amount):.3f}".rstrip("0").rstrip(".") + " m"
    whole, part = divmod(amount, 1)
    if part == 0:
        return f"{whole} yd"
    if part.denominator not in _YARD_PARTS:
        return f"{float(amount):.3f} yd"
    return f"{whole} {part} yd" if whole else f"{part} yd"
