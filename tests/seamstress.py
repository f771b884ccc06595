"""Sews a window from the printed text alone: sizes of the pieces, then the steps one after the other.

Lengths are fractions of the unit of the job. Nothing here knows what was ordered or how the planner reckons.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from heading_sums import by_hand

#: A length as it is printed.
L = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?) (?:in|cm)"
TIMES = {"once": 1, "twice": 2, "3 times": 3}


def length(text: str) -> Fraction:
    """A number of ``95 1/2`` or ``242.5``."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


@dataclass(frozen=True)
class Cut:
    """A row of the piece list: what it is, across and along, how many, its size as printed."""

    name: str
    wide: Fraction
    long: Fraction
    count: int
    said: str


@dataclass
class Steps:
    """The numbered steps of one window."""

    said: list[str]

    @property
    def text(self) -> str:
        return " ".join(self.said)

    def read(self, pattern: str) -> tuple[Fraction, ...]:
        """The lengths in the first text like ``pattern``, where ``#`` stands for one."""
        found = re.search(pattern.replace("#", L), self.text)
        assert found is not None, (pattern, self.text)
        return tuple(length(group) for group in found.groups())

    def maybe(self, pattern: str) -> tuple[Fraction, ...] | None:
        return self.read(pattern) if re.search(pattern.replace("#", L), self.text) else None

    def turned(self, pattern: str) -> Fraction:
        """``# times``: what a hem takes that is turned so often."""
        found = re.search(pattern.replace("#", L) + r" (once|twice|3 times)", self.text)
        assert found is not None, (pattern, self.text)
        return length(found[1]) * TIMES[found[2]]

    def before(self, first: str, then: str) -> bool:
        """Whether one step comes before another."""
        return self._at(first) < self._at(then)

    def _at(self, words: str) -> int:
        found = [number for number, step in enumerate(self.said) if re.search(words, step)]
        assert found, (words, self.said)
        return found[0]


@dataclass(frozen=True)
class Panel:
    """A panel as the printed steps make it."""

    flat: Fraction
    lying: Fraction
    hung: Fraction


def sewn_length(steps: Steps, heading: str, cuts: list[Cut]) -> tuple[Fraction, Fraction]:
    """Top edge to hem edge lying flat and hung, from the cut length of the widths."""
    (cut,) = {one.long for one in cuts}
    shrinks = steps.maybe("panel width # to # long")
    if shrinks is not None:
        assert shrinks[0] == cut
        cut = shrinks[1]
    hem, top = steps.read("the hem line # up; the top line # above the hem line")
    (above,) = steps.read("the cut line # above the top line")
    spare = (steps.maybe("Cut off what is above the cut line: about #,") or (Fraction(0),))[0]
    assert cut - spare == hem + top + above
    assert steps.turned("Bottom hem: turn up #") == hem
    assert by_hand(heading).take(steps)[0] == above
    (measured,) = steps.read("Measure each panel lying flat, from top edge to hem edge .* middle: #;")
    assert measured == top
    rod = steps.maybe("On the rod it is #: the rod takes up #")
    hung = top if rod is None else top - rod[1]
    if rod is not None:
        assert rod[0] == hung
    assert steps.read("Level the hem edge at # from the top edge") == (hung,)
    return top, hung


def joined(cuts: list[Cut], seam: Fraction) -> Fraction:
    return sum((one.wide for one in cuts), Fraction(0)) - 2 * seam * (len(cuts) - 1)


def sewn_width(steps: Steps, key: str, cuts: list[Cut], *, washed: bool = False) -> Fraction:
    """Hemmed width of one panel lying flat, from the cut widths of its pieces."""
    words = rf"(?i){key} panel: (\d+) widths make {L} across"
    found = re.search(words, steps.text)
    folds = (
        rf"{key} panel[^:.;]*: the left one {L} from the left edge, the right one {L} from it; {L} is left"
    )
    fold = re.search(folds, steps.text, re.IGNORECASE)
    assert fold is not None
    left, flat, right = (length(fold[group]) for group in (1, 2, 3))
    across = left + flat + right
    if len(cuts) == 1:
        made = cuts[0].wide
    else:
        assert found is not None
        assert int(found[1]) == len(cuts)
        (seam,) = steps.read("lower cut edges level, .*?# from the edge")
        made = joined(cuts, seam)
        assert length(found[2]) == across
    if not washed:
        assert made == across
    else:
        assert 0 < made - across < 5
    hem = steps.maybe("Side hems: #")
    if hem is not None:
        assert left == right == steps.turned("Side hems: # turned")
    return flat


def sewn_lining(steps: Steps, heading: str, panel: Panel, lengths: list[Cut], widths: list[Cut]) -> None:
    """The lining covers what it must: its sides, the top of the hem, and its own raw top is covered."""
    (cut,) = {one.long for one in lengths}
    hem = steps.turned("turn its hem up #")
    (made,) = steps.read("from its raw top to its lower edge it is then # long")
    assert cut - hem == made
    gap, top, over = steps.read(
        "# above the hem line, its raw top # below the top line, where .* over it by #"
    )
    assert top + made + gap == panel.lying
    assert over > 0
    assert by_hand(heading).take(steps)[1] - top == over
    (deep,) = steps.read("It is # deep. Do not sew it yet")
    assert gap < deep
    seams = steps.maybe("Lining: join its widths with seams of #") or (Fraction(0),)
    assert (len(widths) > 1) == (seams != (Fraction(0),))
    made_wide = joined(widths, seams[0])
    if "Lay lining and face right sides together" not in steps.text:
        (said,) = steps.read("Lay the lining, # wide")
        assert made_wide == said == panel.flat
        return
    seam, wrap, said = steps.read(
        "Sew both sides # from the edge.* comes round to the back # at each side, and the panel is # wide"
    )
    left, _, right = steps.read(
        "the left one # from the left edge, the right one # from it; # is left beyond"
    )
    assert left == right == wrap + seam
    # Sewn at both sides, both layers together go round twice the finished width.
    assert panel.flat + left + right + made_wide - 4 * seam == 2 * panel.flat
    assert said == panel.flat


def sewn_facing(steps: Steps, flat: Fraction, parts: list[Cut]) -> Fraction:
    """Depth of a facing; it is as wide as its panel."""
    turned, said = steps.read("turn in both ends #, so that it is # wide like its panel")
    assert said == flat
    joins = steps.maybe("join its parts .* with seams of #")
    assert (sum(one.count for one in parts) > 1) == (joins is not None)
    every = [one for one in parts for _ in range(one.count)]
    # Equal parts are cut up to the tape: the ends take what is over.
    over = joined(every, joins[0] if joins else Fraction(0)) - 2 * turned - flat
    assert 0 <= over <= Fraction(len(every), 16)
    (line,) = steps.read("Chalk a line # below its upper edge: this is the top line")
    under = (steps.maybe("turn its lower edge under #") or (Fraction(0),))[0]
    (deep,) = steps.read("From there it reaches # down")
    (cut,) = {one.long for one in parts}
    assert cut - line - under == deep
    return deep


def sewn_loops(steps: Steps, tab: Cut, deep: Fraction) -> None:
    """Loops lie on the facing before it is sewn on, and end inside it."""
    seam, wide = steps.read("fold each strip lengthwise right sides together, sew # from the edge.*?: # wide")
    assert tab.wide - 2 * seam == 2 * wide
    turned, loop = steps.read("Turn under both ends of each tab #: it is a loop # long")
    assert tab.long - 2 * turned == loop
    start, end = steps.read("the upper end of each # below the top line, the lower end # below it")
    assert end - start == loop
    assert end + Fraction(1, 2) <= deep
    assert steps.before("Sew the loops flat on the right side of the facing", "Lay the facing on the panel")


def sewn_tabs(steps: Steps, tab: Cut) -> None:
    """Loops over the rod, from seam to seam."""
    loop, seam = steps.read("Each is a loop # long between the seams at its ends, # from the raw ends")
    assert tab.long - 2 * seam == loop
    assert steps.before("Lay each tab, folded in half", "Lay the facing on the panel")
