"""One set of letters for measuring sheet, sums and lessons: each quantity has the same everywhere.

Capitals A to J and R are measured at the window and stand on its drawing; other capitals are worked out;
small letters are what is decided, and counts.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from nesting.pieces.piece import ROUNDING, Steps, Term

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
    "cut length": "L", "cut width": "S", "length lying flat": "F2", "usable width": "U", "full width": "U",
    "width between seams": "Y", "widths": "Z", "match": "M", "as ordered": "O", "finished tab": "T",
    "take-up": "X", "for spaces": "J2",
    # Decided.
    "fullness": "f", "bottom hem": "h", "lining hem": "h2", "side hem": "e", "left side hem": "e1",
    "right side hem": "e2", "left hem": "e1", "right hem": "e2", "top seam": "t", "top hem": "t",
    "buckram cuff": "t", "header": "t", "turned under the tape": "t", "heading": "t", "pocket": "p",
    "edge turned under": "u", "take-up over the rod": "v", "gap below the rod": "g",
    "ring and clip below the rod": "g", "seam": "s", "seam of a join": "s", "end turned in": "s",
    "seam of a join before washing": "s2",
    "edge turned in": "s", "half the rod's circumference": "r", "half the rod": "r2", "ease": "a",
    "a quarter of the rod's circumference": "r4", "depth of the rod": "B2",
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

    def formula(self, steps: Steps) -> str:
        """The sum in letters."""
        text, counted = "", False
        for number, term in enumerate(steps.terms):
            counted = counted or term.sign in ("per", "number")
            if term.sign in ROUNDING:
                text += _rounding(term, counted, Steps("", steps.terms[:number]))
                continue
            if term.sign in ("x", "/", "per"):
                text = f"({text})" if " + " in text or " − " in text else text
                text = f"{text} {'×' if term.sign == 'x' else '÷'} {self.of(term)}"
                continue
            less = term.sign == "-" or term.amount < 0
            what = self.of(term) if term.label else str(abs(term.amount))
            over = f"{term.times} × " if term.times != 1 else ""
            lead = f" {'−' if less else '+'} " if text else ("−" if less else "")
            text = f"{text}{lead}{over}{what}"
        return text


def _rounding(term: Term, counted: bool, before: Steps) -> str:
    """How a sum is rounded; a least or most is told where it decides."""
    if not counted:
        return ", rounded up" if term.sign == "up to" else ", rounded down"
    if term.sign in ("at least", "at most"):
        beyond = before.exact < term.amount if term.sign == "at least" else before.exact > term.amount
        return f", {term.label}" if beyond else ""
    return f", {term.label}"
