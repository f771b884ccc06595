"""Whether every printed sum of a plan document adds up, and begins with what was ordered.

A sum is a list of terms and a line of text. The terms are added here and must give the size they are the sum
of; every number in the line must be one of theirs, and those that say what was ordered must say what was.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, Final

from nesting.check.document import TableReader
from nesting.check.sewing_ordered import HemOrdered, WindowOrdered, fraction_or_none, percent_kept
from nesting.check.violation import Breach, Violation
from nesting.errors import NestingError
from nesting.units import (
    Unit,
    format_decimal,
    format_exact,
    format_length,
    round_down,
    round_nearest,
    round_up,
)

#: What rounds a sum and adds nothing to it.
_ROUNDING: Final = ("up to", "down to", "nearest", "nearest down", "at least", "at most")
#: Signs from which on a sum counts things.
_COUNTING: Final = ("per", "number")
_SIGNS: Final = (*_ROUNDING, *_COUNTING, "+", "-", "x", "/")
#: A number as it is printed: ``95 1/2``, ``6.52``, ``8``.
_PRINTED: Final = re.compile(r"\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?")


Exact = Fraction | int
"""A number; whole ones as such, with which it is much quicker."""


@dataclass(frozen=True, slots=True)
class SumTerm:
    """One term of a sum as the document lists it."""

    label: str
    sign: str
    amount: Exact
    times: int

    def add_to(self, total: Exact) -> Exact:
        """The sum with this term."""
        if self.sign in ("+", "number"):
            return total + self.amount * self.times
        if self.sign == "-":
            return total - self.amount * self.times
        if self.sign == "x":
            return total * self.amount
        if self.sign in ("/", "per"):
            return Fraction(total) / self.amount if self.amount else total
        step = max(1, int(self.amount))
        if self.sign == "up to":
            return round_up(total, step)
        if self.sign == "down to":
            return round_down(total, step)
        if self.sign in ("at least", "at most"):
            return max(total, self.amount) if self.sign == "at least" else min(total, self.amount)
        half_up, exact = self.sign == "nearest", Fraction(total)
        return round_nearest(exact, step) if half_up else -round_nearest(-exact, step)


@dataclass(frozen=True, slots=True)
class PrintedSum:
    """A sum: what it is of, and its terms."""

    target: str
    terms: tuple[SumTerm, ...]
    place: str

    @property
    def total(self) -> Exact:
        """What it comes to."""
        total: Exact = 0
        for term in self.terms:
            total = term.add_to(total)
        return total

    @property
    def counted(self) -> bool:
        """Whether it is a number of things."""
        return any(term.sign in _COUNTING for term in self.terms)


def sum_of(table: TableReader) -> PrintedSum:
    """A sum of a document.

    Raises
    ------
    NestingError
        It has not the form of one.
    """
    terms = list[SumTerm]()
    for term in table.tables("terms"):
        if term.whole("times") != 1 and term.text("sign") not in ("+", "-", "number"):
            raise NestingError(f"{term.place}.times = {term.whole('times')}: expected 1")
        amount = fraction_or_none(term, "amount")
        terms.append(
            SumTerm(
                term.text("label"), term.one_of("sign", _SIGNS), amount or Fraction(0), term.whole("times")
            )
        )
    return PrintedSum(table.text("target"), tuple(terms), table.place)


def check_sums(top: TableReader, unit: Unit, windows: Mapping[str, WindowOrdered]) -> Iterator[Violation]:
    """What is wrong with the sums of pieces, panels and headings."""
    for entry in top.tables("pieces"):
        sums, lines = entry.table_or_none("steps"), _lines(entry)
        window = windows.get(entry.text_or_none("window", None) or "")
        if sums is None:
            yield Violation(Breach.SUM, f'"{entry.text("id")}": no sums', "those of its size", at=entry.place)
            continue
        both = [sum_of(sums.like(sums.value(way))) for way in ("length", "width")]
        for way, one in zip(("length", "width"), both, strict=True):
            yield from _comes_to(one, f'"{entry.text("id")}", {way}', entry.size(way), entry.place)
            if window is not None:
                yield from _check_terms(one, window, entry)
        yield from check_lines(both, lines, unit, entry.place)
    for entry in top.tables("panels", ()):
        window, found = windows.get(entry.text("window")), [sum_of(one) for one in entry.tables("steps", ())]
        sizes = {"finished length": "length", "cut width of the panel": "cut_width"}
        for one in found:
            if one.target in sizes:
                asked = entry.length_of(sizes[one.target])
                yield from _comes_to(
                    one, f"{one.target} of the {entry.text('key')} panel", asked, entry.place
                )
            if window is not None:
                yield from _check_terms(one, window, None)
        for target in sizes.keys() - {one.target for one in found}:
            yield Violation(Breach.SUM, f"no sum of the {target}", "each size", at=entry.place)
        yield from check_lines(found, _lines(entry), unit, entry.place)
    for entry in top.tables("headings", ()):
        found = [sum_of(one) for one in entry.tables("steps", ())]
        window = windows.get(entry.text("window"))
        for one in found if window is not None else ():
            yield from _check_terms(one, window, None)  # type: ignore[arg-type]
        yield from check_lines(found, _lines(entry), unit, entry.place)


def _lines(entry: TableReader) -> list[str]:
    listed = entry.value("arithmetic", ())
    return [str(line) for line in listed] if isinstance(listed, list | tuple) else []


def _comes_to(one: PrintedSum, what: str, size: int, place: str) -> Iterator[Violation]:
    off = abs(round_up(one.total, 1) - size)
    if off:
        made = f"{what}: its sum {float(one.total):.10g}"
        yield Violation(Breach.SUM, made, f"{size}", off, place)


def check_lines(sums: list[PrintedSum], lines: list[str], unit: Unit, place: str) -> Iterator[Violation]:
    """Each line tells its sum: its target, every term with its number in order, and what it comes to."""
    if len(sums) != len(lines):
        yield Violation(
            Breach.SUM, f"{len(lines)} lines", f"{len(sums)} sums", abs(len(sums) - len(lines)), place
        )
        return
    for one, line in zip(sums, lines, strict=True):
        wrong = _line_wrong(one.target, one.terms, line, unit)
        if wrong:
            yield Violation(Breach.SUM, f'"{line}"', wrong, at=place)


@lru_cache(maxsize=8192)
def _line_wrong(target: str, terms: tuple[SumTerm, ...], line: str, unit: Unit) -> str:
    """What of a line is not its sum; empty where nothing is."""
    if not line.startswith(f"{target}: "):
        return f"the sum of {target}"
    rest, counted = line[len(target) + 2 :], False
    numbers, at = set[str](), 0
    before: Exact = 0
    for term in terms:
        after = term.add_to(before)
        counted = counted or term.sign in _COUNTING
        numbers |= {
            *_amounts(before, unit),
            *_amounts(after, unit),
            str(term.times),
            *_amounts(term.amount, unit),
        }
        if term.sign not in _ROUNDING:
            # A number without a label stands in the sum by itself, behind what it is added to.
            label = term.label or f" {'-' if term.amount < 0 else '+'}"
            said = rest.find(label, at)
            if said < 0:
                return f"its term {term.label or term.amount}"
            at = said + len(label)
            shown = _PRINTED.search(rest, at)
            if shown is None or shown[0] not in _amounts(term.amount, unit):
                return f"{term.label} {float(term.amount):.10g}"
        before = after
    end = f"= {_shown(before, unit, counted)}" if counted else f"= {_shown(before, unit, False)} {unit}"
    if not rest.endswith(end):
        return end
    for label in sorted({term.label for term in terms}, key=len, reverse=True):
        rest = rest.replace(label, " ") if label else rest
    strange = [number for number in _PRINTED.findall(rest) if number not in numbers]
    return f"no {strange[0]}" if strange else ""


def _shown(amount: Exact, unit: Unit, counted: bool) -> str:
    if counted:
        return f"{amount}" if amount.denominator == 1 else f"{float(amount):.4g}"
    return format_exact(amount, unit, name=False)


@lru_cache(maxsize=16384)
def _amounts(amount: Exact, unit: Unit) -> frozenset[str]:
    """A length or a number in every way that a line may print it, without its sign."""
    size: Exact = amount if amount >= 0 else -amount
    return frozenset({
        format_exact(size, unit, name=False),
        format_decimal(size, unit),
        format_length(size, unit, name=False),
        f"{size}",
        f"{float(size):.4g}",
        f"{float(size):.3g}",
    })  # fmt: skip


def _check_terms(one: PrintedSum, window: WindowOrdered, entry: TableReader | None) -> Iterator[Violation]:
    """Terms that say what was ordered say what was."""
    role = None if entry is None else entry.text_or_none("role", None)
    for term in one.terms:
        asked = _ASKED.get(term.label)
        if asked is None or (role in ("lining", "interlining", "band") and term.label == "finished length"):
            continue
        accepted = asked(window)
        if accepted and (term.amount, term.times) not in accepted and (term.amount, 0) not in accepted:
            made = f"{one.target}: {term.label} {float(term.amount):.10g} x {term.times}"
            yield Violation(Breach.SUM, made, "what was ordered", at=one.place)


_Accepted = set[tuple[Fraction, int]]


def _hem_terms(*keys: str) -> Callable[[WindowOrdered], _Accepted]:
    """A hem's turn and how often it is turned; both side hems together where they are alike."""

    def accepted(window: WindowOrdered) -> _Accepted:
        hems = [hem for key in keys for hem in (window.hem(key), window.usual_hem(key))]
        return {(Fraction(hem.turn), hem.turns * times) for hem in hems for times in _times(keys, hem)}

    return accepted


def _times(keys: tuple[str, ...], hem: HemOrdered) -> tuple[int, ...]:
    return (1, 2) if len(keys) > 1 else (1,)


def _length(key: str, usual: str = "", times: int = 0) -> Callable[[WindowOrdered], _Accepted]:
    def accepted(window: WindowOrdered) -> _Accepted:
        said = window.said(key)
        if said is None and not usual:
            return set()
        return {(Fraction(window.usual(usual) if said is None else said), times)}

    return accepted


def _kept(window: WindowOrdered) -> _Accepted:
    ways: tuple[Any, ...] = ("width", "length")
    return {
        (percent_kept(fabric, way, "after"), 0) for fabric in window.fabrics.values() for way in ways
    }  # fmt: skip


def _fullness(window: WindowOrdered) -> _Accepted:
    return set() if window.fullness is None else {(window.fullness, 0)}


def _panels(window: WindowOrdered) -> _Accepted:
    return {(Fraction(sum(1 for _ in window.panels(False))), 0)}


#: What terms must say that tell what was ordered: amount, and how often (0: however often).
_ASKED: Final[Mapping[str, Callable[[WindowOrdered], _Accepted]]] = {
    "finished length": _length("finished_length"),
    "rod to be covered": _length("rod", times=1),
    "panels": _panels,
    "fullness": _fullness,
    "flat width": _length("flat_width"),
    "bottom hem": _hem_terms("bottom_hem"),
    "side hem": _hem_terms("leading_hem", "outer_hem"),
    "lining hem": _hem_terms("lining_hem"),
    "top seam": _length("seam", "seam", 1),
    "end turned in": _length("seam", "seam", 2),
    "top of the rod above the floor": _length("rod_height", times=1),
    "hook's hole above the floor": _length("eye_height", times=1),
    "working allowance, trimmed at the top": lambda window: {(Fraction(window.said("working") or 0), 1)},
    "left after washing": _kept,
    "return": _length("returns"),
}
