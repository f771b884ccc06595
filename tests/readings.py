"""How people might read a written length: every way that anyone could mean it, found without `nesting.units`.

A reader is generous: points, commas, blanks and apostrophes may part thousands or begin decimals, a blank may
have been left out of a mixed number, a last number behind feet may be inches or a part of a foot. Only what
the program states as its rule is taken for granted: in inches, feet, yards and meters a point is the decimal
point, and a comma before one or two digits begins decimals.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

#: In tenths of a millimeter: 1 in = 25.4 mm (international yard, 1 July 1959).
SIZES = {"in": 254, "ft": 12 * 254, "yd": 36 * 254, "mm": 10, "cm": 100, "m": 10_000}
SPELLED = {
    "inches": "in", "in": "in", '"': "in", "''": "in", "ft": "ft", "'": "ft", "yd": "yd", "yards": "yd",
    "mm": "mm", "cm": "cm", "m": "m",
}  # fmt: skip
VULGAR = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "⅝": Fraction(5, 8)}
_PARTING = (",", ".", "'", " ")
#: A number that was read, what stood for its decimal or thousands, and where it ended.
Read = tuple[Fraction, str, int]


def readings(text: str, unit: str) -> set[Fraction]:
    """Every length, in tenths of a millimeter, that somebody could read in a text without a minus sign.

    "and" between two terms, and more than one blank, say nothing.
    """
    return set(_terms(" ".join(text.replace(" and ", " ").split()), 0, unit, None))


def _terms(text: str, at: int, unit: str, before: str | None) -> Iterator[Fraction]:
    """The sums of all terms from there on; ``before`` is the unit of the term before."""
    for number, parted, end in _numbers(text, at):
        for name, behind in _units(text, end):
            if name is None and before is not None:
                meant = ("in", "ft") if before == "ft" and number < 1 else ("in",) if before == "ft" else ()
            elif name is None and behind < len(text):
                continue
            else:
                meant = (name or unit,)
            for one in meant:
                if parted == "thousands with a point" and one not in ("cm", "mm"):
                    continue
                if behind == len(text):
                    yield number * SIZES[one]
                    continue
                for rest in _terms(text, behind, unit, one):
                    yield number * SIZES[one] + rest


def _units(text: str, at: int) -> Iterator[tuple[str | None, int]]:
    """The unit that follows, with a point of its own or without, and whatever joins the next term to it."""
    while text[at : at + 1] == " ":
        at += 1
    if at == len(text):
        yield None, at
        return
    for spelled, name in SPELLED.items():
        if text.startswith(spelled, at):
            end = at + len(spelled)
            for stop in {end, end + 1} if text[end : end + 1] == "." else {end}:
                for join in {stop, stop + 1} if text[stop : stop + 1] == "," else {stop}:
                    following = join
                    while text[following : following + 1] == " ":
                        following += 1
                    yield name, following


def _numbers(text: str, at: int) -> Iterator[Read]:
    """Every number that may begin there."""
    for whole, parted, end in _wholes(text, at):
        yield whole, parted, end
        yield from _decimals(text, whole, parted, end)
        for gap in (0, 1):
            behind = end + gap
            if gap and text[end : end + 1] not in (" ", "-"):
                continue
            for part, stop in _parts(text, behind):
                if gap or text[behind : behind + 1] in VULGAR:
                    yield whole + part, parted, stop
    for part, stop in _parts(text, at):
        yield part, "", stop
    if text[at : at + 1] in (".", ","):
        yield from _decimals(text, Fraction(0), "", at)


def _wholes(text: str, at: int) -> Iterator[Read]:
    """Whole numbers from there: all digits, some of them before a fraction, or thousands parted by a sign."""
    end = at
    while text[end : end + 1].isdigit():
        end += 1
    if end == at:
        return
    yield Fraction(int(text[at:end])), "", end
    number, sign, stop = text[at:end], text[end : end + 1], end
    while len(text[at:end]) <= 3 and text[at] != "0" and sign in _PARTING and sign:
        group = text[stop + 1 : stop + 4]
        if text[stop : stop + 1] != sign or len(group) < 3 or not group.isdigit():
            break
        if text[stop + 4 : stop + 5].isdigit():
            break
        number, stop = number + group, stop + 4
        kind = "thousands with a point" if sign == "." else "thousands"
        yield Fraction(int(number)), kind, stop


def _decimals(text: str, whole: Fraction, parted: str, at: int) -> Iterator[Read]:
    if text[at : at + 1] not in (".", ","):
        return
    end = at + 1
    while text[end : end + 1].isdigit():
        end += 1
    digits = text[at + 1 : end]
    if digits:
        yield whole + Fraction(int(digits), 10 ** len(digits)), parted, end


def _parts(text: str, at: int) -> Iterator[tuple[Fraction, int]]:
    """Fractions from there, with a blank left out between whole number and fraction or not."""
    if text[at : at + 1] in VULGAR:
        yield VULGAR[text[at]], at + 1
        end = at + 1
        while text[end : end + 1].isdigit():
            end += 1
        if end > at + 1:  # ½7: seven and a half written the wrong way round, or one twenty-seventh
            yield Fraction(1, int("2" + text[at + 1 : end])), end
            yield int(text[at + 1 : end]) + VULGAR[text[at]], end
        return
    slash = at
    while text[slash : slash + 1].isdigit():
        slash += 1
    over = slash
    while text[over : over + 1] == " ":
        over += 1
    if slash == at or text[over : over + 1] != "/":
        return
    low = over + 1
    while text[low : low + 1] == " ":
        low += 1
    end = low
    while text[end : end + 1].isdigit():
        end += 1
    if end == low or int(text[low:end]) == 0:
        return
    top, bottom = text[at:slash], int(text[low:end])
    yield Fraction(int(top), bottom), end
    for split in range(1, len(top)):
        if int(top[:split]) and top[split] != "0" and int(top[split:]) < bottom <= int(top):
            yield int(top[:split]) + Fraction(int(top[split:]), bottom), end
