"""The sums of one window in the order in which a student works them out, each from what stands above it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from nesting.cutting.measures import joined_width
from nesting.packet.facts import WindowFacts
from nesting.packet.letters import LETTERS, Letters, figures
from nesting.pieces.piece import Steps, Term
from nesting.units import Unit, format_length, grid

#: What a sum gives, where its own words say too little.
TOLD: Final = {
    "flat width": "flat width of a panel",
    "finished": "dressed width of a panel",
    "widths": "widths in a panel",
    "finished tab": "length of a tab",
    "loop ends below the top edge": "tab ends below top",
    "gaps": "gaps between centers",
    "take-up": "take-up by all pleats",
    "for spaces": "left for spaces",
}
#: The kinds of pieces beside the panels, whose sizes are told in one line.
COMPANIONS: Final = ("facing", "tab")


@dataclass(frozen=True, slots=True)
class Working:
    """One line of a student's sums.

    Attributes
    ----------
    letter, what
        The letter of the result, or empty, and what it is.
    formula, figures, result
        ``E + H − G``, ``90 + 3/4 − 1/2``, ``90 1/4 in``.
    steps
        The sum; of a size, width and length.
    """

    letter: str
    what: str
    formula: str
    figures: str
    result: str
    steps: tuple[Steps, ...]


@dataclass(frozen=True, slots=True)
class Worked:
    """All sums of a window, and what stands behind the letters that they use and do not give."""

    lines: tuple[Working, ...]
    given: dict[str, Term]


def worked(facts: WindowFacts) -> Worked:
    """The sums of the left panel: its length, its widths, its top, its facing and its tabs."""
    return _Student(facts.unit).work(facts)


class _Student:
    """Works sums out line by line, and remembers what is known already."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit
        self._letters = Letters()
        self._known: list[Steps] = []
        self._counts: dict[int, str] = {}
        self._terms: dict[str, Term] = {}
        self._results: set[str] = set()

    def work(self, facts: WindowFacts) -> Worked:
        """All lines, the pieces beside the panel last."""
        lines = [self._line(steps) for steps in _sums(facts)]
        lines += self._part(facts)
        lines = _in_place(lines)
        for role in COMPANIONS:
            piece = next((piece for piece in facts.pieces if piece.role == role), None)
            if piece is not None:
                lines.append(self._size(role, (piece.width_steps, piece.length_steps)))
        given = {one: term for one, term in self._terms.items() if one not in self._results}
        return Worked(tuple(lines), given)

    def _line(self, whole: Steps) -> Working:
        steps = self._shortened(whole)
        self._known.append(whole)
        formula, sum_ = self._told(steps)
        letter = self._letters.result(steps)
        self._results.add(letter)
        if steps.counted and letter == LETTERS["tabs"]:
            self._counts[steps.total] = letter
        what = TOLD.get(steps.target, steps.target)
        return Working(letter, what, formula, sum_, self._result(steps), (steps,))

    def _size(self, role: str, sizes: tuple[Steps, Steps]) -> Working:
        both = [self._shortened(replace(steps, target="")) for steps in sizes]
        told = [self._told(steps) for steps in both]
        formula, sum_ = (" by ".join(pair[at] for pair in told) for at in (0, 1))
        wide, long = (self._result(steps) for steps in both)
        result = f"{wide.removesuffix(f' {self._unit}')} by {long}"
        return Working("", f"{role}, cut size", formula, sum_, result, tuple(both))

    def _part(self, facts: WindowFacts) -> Iterator[Working]:
        """The part-width: each width before it gives what lies between its seams."""
        panel = facts.panels[0]
        sums = {steps.target: steps for steps in panel.steps}
        need, between, widths = (sums[t] for t in ("cut width of the panel", "width between seams", "widths"))
        mine = [piece for piece in facts.pieces if piece.role == "panel" and piece.side == panel.side]
        parts = [
            piece.width_steps for piece in mine if piece.width_steps.terms[: len(need.terms)] == need.terms
        ]
        for steps in parts[:1]:
            whole, each = (format_length(one.exact, self._unit, name=False) for one in (need, between))
            sum_ = f"{whole} − ({widths.total} − 1) × {each}"
            yield Working("", PART, "K − (Z − 1) × Y", sum_, self._result(steps), (steps,))

    def _told(self, steps: Steps) -> tuple[str, str]:
        """The sum in letters and in figures."""
        shown = _bare(steps, self._unit)
        often = self._counts if any(term.label == "tab" and term.sign == "-" for term in steps.terms) else {}
        formula = self._letters.formula(shown, self._unit, often)
        for term in steps.terms:
            if term.label in LETTERS:
                self._terms.setdefault(self._letters.of(term), term)
        return formula, figures(shown, self._unit)

    def _shortened(self, steps: Steps) -> Steps:
        """The longest beginning that was worked out already put in as one amount."""
        fit = [one for one in self._known if len(one.terms) > 1 and _begins(steps, one)]
        if not fit:
            return steps
        longest = max(fit, key=lambda one: len(one.terms))
        rest = steps.terms[len(longest.terms) :]
        return Steps(steps.target, (Term(longest.target, "+", longest.exact), *rest)) if rest else steps

    def _result(self, steps: Steps) -> str:
        """On the tape; what the tape does not show is told as being near."""
        if steps.counted:
            return str(steps.total)
        said = format_length(steps.exact, self._unit)
        on_tape = steps.exact.denominator == 1 and not steps.exact.numerator % grid(self._unit)
        return said if on_tape else f"≈ {said}"


PART: Final = "cut width, part-width"


def _begins(steps: Steps, one: Steps) -> bool:
    return steps.terms[: len(one.terms)] == one.terms


def _bare(steps: Steps, unit: Unit) -> Steps:
    """The sum without a last rounding to the tape that changes nothing."""
    last, before = steps.terms[-1], replace(steps, terms=steps.terms[:-1])
    idle = last.sign in ("up to", "down to") and last.amount == grid(unit) and before.exact == steps.exact
    return before if idle else steps


def _in_place(lines: list[Working]) -> list[Working]:
    """The part-width behind the number of widths it follows from."""
    parts = [line for line in lines if line.what == PART]
    others = [line for line in lines if line.what != PART]
    at = next(number for number, line in enumerate(others) if line.what == TOLD["widths"]) + 1
    return [*others[:at], *parts, *others[at:]]


def _sums(facts: WindowFacts) -> Iterator[Steps]:
    """The sums of the panel, each letter worked out before it is used."""
    making, panel = facts.making, facts.panels[0]
    by_target = {steps.target: steps for steps in panel.steps}
    yield making.finished
    yield by_target["flat width"]
    if "finished" in by_target:
        yield by_target["finished"]
    yield replace(joined_width(making, facts.hangings[0], panel.flat), target="cut width of the panel")
    yield by_target["width between seams"]
    yield by_target["widths"]
    length = next(piece.length_steps for piece in facts.pieces_of("panel"))
    used = {term.label for term in length.terms}
    top = [steps for steps in facts.headings[0].steps if len(steps.terms) > 1]
    fit = next((steps.total for steps in top if steps.target == "spaces that fit"), None)
    # As many spaces as fit: that was worked out one line above.
    top = [steps for steps in top if steps.target != "spaces" or steps.total != fit]
    yield from (steps for steps in top if steps.target in used)
    yield length
    yield from (steps for steps in top if steps.target not in used)
