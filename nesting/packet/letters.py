"""One set of letters for measuring sheet, sums and lessons: each quantity has the same everywhere.

Capitals A to J and R are measured at the window and stand on its drawing; other capitals are worked out;
small letters are what is decided, and counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from nesting.pieces.piece import ROUNDING, Steps, Term
from nesting.units import Unit, format_decimal, format_exact, format_length, grid

#: By the words of a sum. Words that are not listed get a letter of their own.
LETTERS: Final = {
    # Measured at the window.
    "rod to be covered": "A", "rod": "B", "return": "C", "half the overlap": "D/2",
    "top of the rod above the floor": "E", "hook's hole above the floor": "E",
    "finished length": "F", "clearance above the floor": "G", "puddle": "G",
    "top edge above the rod": "H", "top edge above the eyes": "H",
    "top hook row below the top edge": "H", "middle hook row below the top edge": "H",
    "bottom hook row below the top edge": "H",
    "top of the rod to the bottom of the eye or clip": "R",
    # Worked out.
    "panels": "N", "rod covered by the panel": "V", "flat width": "W", "finished panel": "W",
    "hemmed flat": "W", "finished": "P", "face cut width": "K", "cut width of the panel": "K",
    "cut length": "L", "length lying flat": "F2", "usable width": "U", "full width": "U",
    "width between seams": "Y", "widths": "Z", "match": "M", "as ordered": "O", "finished tab": "T",
    "take-up": "X", "for spaces": "S",
    # Decided.
    "fullness": "f", "bottom hem": "h", "lining hem": "h2", "side hem": "e", "left side hem": "e1",
    "right side hem": "e2", "left hem": "e1", "right hem": "e2", "top seam": "t", "top hem": "t",
    "buckram cuff": "t", "header": "t", "turned under the tape": "t", "heading": "H", "pocket": "p",
    "edge turned under": "u", "take-up over the rod": "v", "gap below the rod": "g",
    "ring and clip below the rod": "g", "seam": "s", "seam of a join": "s", "end turned in": "s",
    "seam of a join before washing": "s2",
    "edge turned in": "s", "half the rod's circumference": "r", "half the rod": "B/2", "ease": "a",
    "a quarter of the rod's circumference": "r/2", "depth of the rod": "B2",
    "tab": "b", "finished facing": "q", "finished band": "q", "finished width": "q",
    "lower edge turned": "l", "facing below the loops": "l", "outer center from the edge": "o",
    "outer ring from the edge": "o", "flat at the left edge": "x", "flat at the right edge": "y",
    "covered at the top": "c", "tucked under at the top": "i", "turned under at the top": "i",
    "short of the hem edge": "k", "working allowance, trimmed at the top": "w", "left after washing": "z",
    "spacing": "j", "clear gap to aim at": "j", "space to aim at": "j", "hooks apart": "j",
    "tab and gap to aim at": "d", "least pleat": "d",
    # Counted.
    "equal parts": "n", "gaps": "n", "front and back": "n", "spaces": "n", "spaces that fit": "n",
    "tabs": "m", "rings": "m", "grommets": "m", "pleats": "m",
}  # fmt: skip

#: No letters of counts.
NONE: Final[Mapping[int, str]] = MappingProxyType({})


class Letters:
    """Gives each quantity its letter; one that was never listed, or has another amount, gets its own."""

    def __init__(self) -> None:
        self._given: dict[tuple[str, Fraction], str] = {}
        self._amounts: dict[str, Fraction] = {}

    def of(self, term: Term) -> str:
        """The letter of a quantity."""
        known = (term.label, term.amount)
        if known not in self._given:
            letter, number = LETTERS.get(term.label, "Q"), 1
            found = letter
            while self._amounts.get(found, term.amount) != term.amount:
                number += 1
                found = f"{letter}{number}"
            self._amounts[found] = term.amount
            self._given[known] = found
        return self._given[known]

    @property
    def meanings(self) -> dict[str, tuple[str, ...]]:
        """What each letter given so far stands for."""
        found = dict[str, list[str]]()
        for (label, _), letter in self._given.items():
            found.setdefault(letter, []).append(label)
        return {letter: tuple(labels) for letter, labels in found.items()}

    @property
    def key(self) -> str:
        """The same as a line of text."""
        return "; ".join(f"{letter} = {' or '.join(labels)}" for letter, labels in self.meanings.items())

    def result(self, steps: Steps) -> str:
        """The letter of what a sum comes to; empty where it has none."""
        return self.of(Term(steps.target, "+", steps.exact)) if steps.target in LETTERS else ""

    def formula(self, steps: Steps, unit: Unit | None = None, often: Mapping[int, str] = NONE) -> str:
        """The sum in letters.

        Parameters
        ----------
        steps
            The sum.
        unit
            With it a rounding says to what: ``up to the next 1/4 in``.
        often
            Letters of counts by which a term may be taken: ``m × b`` instead of ``9 × b``.
        """
        return _set(steps, self.of, lambda before: "", unit, often)


def figures(steps: Steps, unit: Unit) -> str:
    """The same sum in bare numbers, lengths as read off a tape: ``66 ÷ 2 × 1.5 + 4 × 1``."""

    def amount(term: Term) -> str:
        plain = term.sign in ("x", "/", "number")
        return number(term.amount) if plain else format_exact(abs(term.amount), unit, name=False)

    def reached(before: Steps) -> str:
        exact = before.exact
        return f" = {number(exact) if before.counted else format_decimal(exact, unit)}"

    return _set(steps, amount, reached, unit)


def number(amount: Fraction) -> str:
    """A plain number, to two places where it is not whole."""
    return str(amount) if amount.denominator == 1 else f"{float(amount):.2f}".rstrip("0").rstrip(".")


def _set(
    steps: Steps,
    name: Callable[[Term], str],
    reached: Callable[[Steps], str],
    unit: Unit | None = None,
    often: Mapping[int, str] = NONE,
) -> str:
    """A sum set out, each amount under its ``name``; before a rounding stands what is ``reached``."""
    text, counted, told = "", False, False
    for place, term in enumerate(steps.terms):
        counted = counted or term.sign in ("per", "number")
        if term.sign in ROUNDING:
            before = Steps("", steps.terms[:place])
            if words := _rounding(term, counted, before, unit):
                text, told = f"{text}{'' if told else reached(before)}{words}", True
            continue
        if term.sign in ("x", "/", "per"):
            text = f"({text})" if " + " in text or " − " in text else text
            text, told = f"{text} {'×' if term.sign == 'x' else '÷'} {name(term)}", False
            continue
        less = term.sign == "-" or term.amount < 0
        what = name(term) if term.label else str(abs(term.amount))
        over = f"{often.get(term.times, term.times)} × " if term.times != 1 else ""
        lead = f"{',' if told else ''} {'−' if less else '+'} " if text else ("−" if less else "")
        text, told = f"{text}{lead}{over}{what}", False
    return text


def _rounding(term: Term, counted: bool, before: Steps, unit: Unit | None) -> str:
    """How a sum is rounded; a least or most is told where it decides."""
    if not counted:
        if unit is not None and term.amount != grid(unit):
            return f", {term.sign} the next {format_length(term.amount, unit)}"
        return ", rounded up" if term.sign == "up to" else ", rounded down"
    if term.sign in ("at least", "at most"):
        beyond = before.exact < term.amount if term.sign == "at least" else before.exact > term.amount
        return f", {term.label}" if beyond else ""
    return f", {term.label}"
