"""A piece to cut, with the arithmetic that led to its size."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from nesting.order.job import Edge, Nap
from nesting.packing.problem import Match
from nesting.units import Unit, format_decimal, format_exact, round_down, round_nearest, round_up

Role = Literal["panel", "facing", "tab", "lining", "interlining", "band", "tieback", "extra"]
#: Roles of which every piece is reckoned as a whole width, and cut and labeled by itself.
LAYERS: Final[tuple[Role, ...]] = ("panel", "lining", "interlining")
#: How a note begins that says what becomes of a piece which was cut before a panel hung.
AS_IT_HANGS: Final = "as it hangs: "
Side = Literal["left", "right", "single"]
Sign = Literal[
    "+", "-", "x", "/", "up to", "down to", "per", "number", "nearest", "nearest down", "at least", "at most"
]
#: Signs that leave a sum as it is where they ask for nothing: rounding, and least and most.
ROUNDING: Final[tuple[Sign, ...]] = ("up to", "down to", "nearest", "nearest down", "at least", "at most")


@dataclass(frozen=True, slots=True)
class Term:
    """One step of a sum.

    Attributes
    ----------
    label
        What it is, in a maker's words: ``bottom hem``.
    sign
        What is done with it; ``up to`` rounds the sum up to a multiple of ``amount``, ``down to`` down,
        ``nearest`` to the nearest, ties up (``nearest down``: ties down). ``per`` divides a length by a
        length, and from there on, or from a ``number``, the sum is one of things that are counted.
    amount
        Ticks for ``+``, ``-``, ``per`` and what rounds a length; a plain number for all else.
    times
        How often it is added or taken away (a hem turned twice: 2).
    """

    label: str
    sign: Sign
    amount: Fraction
    times: int = 1


class _AddedUp:
    """What a sum came to, once that was asked for: it is read many times. No part of its value."""

    __slots__ = ("_known",)
    _known: Fraction | int


@dataclass(frozen=True, slots=True)
class Steps(_AddedUp):
    """A length worked out step by step: the sum a maker can follow and check.

    Start one with ``Steps("cut length")`` and add terms; ``total`` is the result in ticks and
    ``line(unit)`` the sum as text: ``cut length: finished 95 1/2 + top seam 1/2 + hem 4 x 2 = 104 in``. What
    a tape cannot show stands in it as a decimal, so that every line adds up as it is printed.

    A sum of things that are counted says by which rule: ``gaps: finished panel 39 1/8 ÷ usual spacing 6 =
    6.52, to the nearest whole = 7``; its ``total`` is then their number.
    """

    target: str
    terms: tuple[Term, ...] = ()

    def _with(self, label: str, sign: Sign, amount: int | Fraction, times: int = 1) -> Steps:
        exact = amount if isinstance(amount, Fraction) else Fraction(amount)
        return Steps(self.target, (*self.terms, Term(label, sign, exact, times)))

    def add(self, label: str, ticks: int | Fraction, times: int = 1) -> Steps:
        """Add a length, ``times`` over."""
        return self._with(label, "+", ticks, times)

    def take(self, label: str, ticks: int | Fraction, times: int = 1) -> Steps:
        """Take a length away, ``times`` over."""
        return self._with(label, "-", ticks, times)

    def times(self, label: str, factor: int | Fraction) -> Steps:
        """Multiply all so far by a plain number."""
        return self._with(label, "x", factor)

    def over(self, label: str, divisor: int | Fraction) -> Steps:
        """Divide all so far by a plain number."""
        return self._with(label, "/", divisor)

    def up_to(self, step: int, label: str = "rounded up to the tape") -> Steps:
        """Round all so far up to a multiple of ``step`` ticks."""
        return self._with(label, "up to", step)

    def down_to(self, step: int, label: str = "rounded down to the tape") -> Steps:
        """Round all so far down to a multiple of ``step`` ticks."""
        return self._with(label, "down to", step)

    def per(self, label: str, ticks: int | Fraction) -> Steps:
        """Divide the length so far by a length: how often it fits, a plain number."""
        return self._with(label, "per", ticks)

    def number(self, label: str, count: int) -> Steps:
        """Add so many to a number; without a ``label`` it stands in the sum by itself."""
        return self._with(label, "number", count)

    def nearest(self, step: int = 1, label: str = "to the nearest whole", *, half: str = "up") -> Steps:
        """Round a number to the nearest multiple of ``step``; a tie goes ``half`` up, or down."""
        return self._with(label, "nearest" if half == "up" else "nearest down", step)

    def at_least(self, count: int, label: str) -> Steps:
        """No number below ``count``, as the ``label`` says: ``at least 5``."""
        return self._with(label, "at least", count)

    def at_most(self, count: int, label: str) -> Steps:
        """No number above ``count``, as the ``label`` says."""
        return self._with(label, "at most", count)

    @property
    def counted(self) -> bool:
        """Whether it is the number of things, not a length."""
        return any(term.sign in ("per", "number") for term in self.terms)

    @property
    def exact(self) -> Fraction:
        """The result, in ticks; of a count their number."""
        return Fraction(self._end)

    @property
    def _end(self) -> Fraction | int:
        try:
            return self._known
        except AttributeError:
            known: Fraction | int = 0
            for term in self.terms:
                known = _after(known, term)
            object.__setattr__(self, "_known", known)
            return known

    def _reached(self) -> Iterator[Fraction | int]:
        """The sum after each of its terms."""
        total: Fraction | int = 0
        for term in self.terms:
            total = _after(total, term)
            yield total

    @property
    def total(self) -> int:
        """The result as a whole number of ticks, rounded up."""
        reached = self._end
        return reached if isinstance(reached, int) else round_up(reached, 1)

    def line(self, unit: Unit) -> str:
        """The sum as one line of text, lengths as read off a tape."""
        text, rounded, before, after, counted = "", "", Fraction(0), Fraction(0), False
        for term, reached in zip(self.terms, self._reached(), strict=True):
            after = Fraction(reached)
            counted = counted or term.sign in ("per", "number")
            if term.sign not in ROUNDING:
                text, rounded = _joined(f"{text}{rounded}", term, unit, counted), ""
            elif after != before:
                was = _amount(before, unit, counted) if counted else format_decimal(before, unit)
                text = f"{text}{rounded}, {term.label}" if rounded else f"{text} = {was}, {term.label}"
                # What a rounding comes to stands before what follows, and at the end as the result.
                rounded = f" {_amount(after, unit, counted)}"
            before = after
        result = _amount(after, unit, counted)
        return f"{self.target}: {text} = {result}" if counted else f"{self.target}: {text} = {result} {unit}"


def _after(total: Fraction | int, term: Term) -> Fraction | int:
    """A sum after one more term; whole numbers as such, with which it is much quicker."""
    amount: Fraction | int = term.amount
    if amount.denominator == 1:
        amount = amount.numerator
    sign = term.sign
    if sign in ("+", "number"):
        return total + amount * term.times
    if sign == "-":
        return total - amount * term.times
    if sign == "x":
        return total * amount
    if sign in ("/", "per"):
        return Fraction(total) / amount
    return _rounded(total, sign, int(amount))


def _rounded(total: Fraction | int, sign: Sign, step: int) -> int | Fraction:
    if sign == "up to":
        return round_up(total, step)
    if sign == "down to":
        return round_down(total, step)
    if sign == "nearest":
        return round_nearest(Fraction(total), step)
    if sign == "nearest down":
        return -round_nearest(-Fraction(total), step)
    return max(total, step) if sign == "at least" else min(total, step)


def _joined(text: str, term: Term, unit: Unit, counted: bool) -> str:
    """The sum so far and one more term."""
    if term.sign in ("x", "/", "per"):
        amount = _amount(term.amount, unit) if term.sign == "per" else _plain(term.amount)
        text = f"({text})" if " + " in text or " - " in text else text
        return f"{text} {'x' if term.sign == 'x' else '÷'} {term.label} {amount}"
    less = term.sign == "-" or (term.sign == "number" and term.amount < 0)
    amount = _amount(abs(term.amount) if term.sign == "number" else term.amount, unit, counted)
    over = f" x {term.times}" if term.times != 1 else ""
    lead = f" {'-' if less else '+'} " if text else ("-" if less else "")
    return f"{text}{lead}{f'{term.label} ' if term.label else ''}{amount}{over}"


def _plain(number: Fraction) -> str:
    return f"{number}" if number.denominator == 1 else f"{float(number):.4g}"


def _amount(amount: Fraction, unit: Unit, counted: bool = False) -> str:
    """A length that the tape cannot show as a decimal, so that the sum adds up; a number as it is."""
    return _plain(amount) if counted else format_exact(amount, unit, name=False)


@dataclass(frozen=True, slots=True)
class Piece:
    """A rectangle to cut, upright: TOP along +y when it is not turned. Sizes are cut sizes in ticks.

    Attributes
    ----------
    id
        Unique and stable: ``east-window/left/1``.
    name
        For people: ``East window, left panel, width 1``.
    role
        What it becomes.
    fabric
        Key of the fabric it is cut from.
    copies
        How many exactly equal ones are cut.
    turnable
        May turn a quarter; with ``arrow_group`` only together with its group.
    match
        Its place in the printed pattern, or None.
    sideways
        Cut sideways with the panels of its room: it lies turned a quarter.
    top
        Where its TOP lies if it is turned.
    first
        It belongs to the panel that is to hang first, and is cut before all others.
    hem_edge
        Of its fabric, the edge that is its own: the bottom of a panel that is cut sideways, else a side.
    arrow_group
        Pieces of one group all lie alike.
    nap
        The nap it is bound by ("none" where it was released).
    side
        Which panel it belongs to, seen from the room.
    finished_width, finished_length
        What it becomes, where that makes sense (a whole panel's size for its widths).
    width_steps, length_steps
        The arithmetic of its cut size; their totals are ``width`` and ``length``.
    hem_line
        Height of the finished bottom edge above the lower cut edge, for panels and linings.
    joined_to
        Ids of the pieces it is sewn to side by side.
    joined_at
        For each of those, at which of its edges, its right side up and TOP away.
    notes
        Short remarks for label and cut list.
    """

    id: str
    name: str
    role: Role
    fabric: str
    width: int
    length: int
    copies: int = 1
    turnable: bool = False
    match: Match | None = None
    arrow_group: str | None = None
    nap: Nap = "none"
    optional: bool = False
    window: str | None = None
    room: str | None = None
    side: Side | None = None
    hidden: bool = False
    finished_width: int | None = None
    finished_length: int | None = None
    hem_line: int | None = None
    width_steps: Steps = Steps("cut width")
    length_steps: Steps = Steps("cut length")
    joined_to: tuple[str, ...] = ()
    joined_at: tuple[Literal["left", "right"], ...] = ()
    notes: tuple[str, ...] = ()
    sideways: bool = False
    top: Edge = "left"
    hem_edge: Edge | None = None
    first: bool = False

    def arithmetic(self, unit: Unit) -> tuple[str, ...]:
        """The sums of its cut size, one line each."""
        return (self.length_steps.line(unit), self.width_steps.line(unit))


@dataclass(frozen=True, slots=True)
class Sundry:
    """Something to buy that is not cut from fabric: buckram, tape, rings, thread."""

    name: str
    count: int | None = None
    length: int | None = None
    window: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class HeadingSpot:
    """A mark on the heading of a panel, such as a tab or a pleat, from its left edge seen from the room.

    ``kind`` is what one is called (``tab``); ``space`` lies between two and is no mark. ``start`` and ``end``
    in ticks of the flat heading; ``start == end`` for a ring's center.
    """

    kind: str
    start: int
    end: int
    number: int


@dataclass(frozen=True, slots=True)
class HeadingPlan:
    """Where everything sits along one panel's heading, and the sums that led there."""

    window: str
    side: Side
    width: int
    spots: tuple[HeadingSpot, ...]
    steps: tuple[Steps, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """How one panel is made up.

    Attributes
    ----------
    window, key, side
        Which panel; windows with ``count`` above 1 have it once per window.
    count
        How many are made alike.
    flat, finished, length
        Hemmed width lying flat, width once dressed on the rod, finished length.
    cuts
        Cut widths of its face from left to right.
    seams
        Where they are joined, from the left finished edge.
    steps
        Finished length, flat width and cut width as sums.
    cut_width
        What its widths must give once joined.
    seam_allowance
        On each side of a join, of cut widths: as it is before a wash of the pieces.
    left_hem, right_hem
        What its side hems take.
    overlap
        Its share of the overlap.
    """

    window: str
    key: str
    side: Side
    count: int
    flat: int
    finished: int
    length: int
    cuts: tuple[int, ...]
    seams: tuple[int, ...]
    steps: tuple[Steps, ...]
    cut_width: int | None = None
    seam_allowance: int | None = None
    left_hem: int | None = None
    right_hem: int | None = None
    overlap: int | None = None


#: A key of the job file with its value, as it ends a remark: `` (safety = "usual")``.
_KEY: Final = re.compile(r" \(([a-z_.]+ = [^()]*)\)$")
#: A flag of the command line that ends a text, with its value.
_FLAG: Final = re.compile(r" \(--[a-z].*\)$")


@dataclass(frozen=True, slots=True)
class Advice:
    """A remark of the planner to the maker.

    A ``question`` is one of the plan's, a ``warning`` wants a decision, an ``offer`` saves or improves.

    Attributes
    ----------
    kind, text
        What it is, in words.
    window, fabric
        What it is about: a window's name, a fabric's key.
    money
        By how much the two answers differ in money, where that was worked out.
    change
        What is typed to take it: a key of the window it is about, else of the fabric, and the text. No part
        of what is written in a plan.
    """

    kind: Literal["question", "warning", "offer", "note"]
    text: str
    window: str | None = None
    fabric: str | None = None
    money: Decimal | None = None
    change: tuple[str, str] | None = field(default=None, compare=False)

    @property
    def plain(self) -> str:
        """The text for page and paper, without the key or the flag that ends it in brackets."""
        return _FLAG.sub("", _KEY.sub("", self.text))

    @property
    def for_file(self) -> str:
        """The text for whoever writes the job file: what stands there to take it up comes last, by itself."""
        return _KEY.sub(r"; in the job file: \1", self.text)
