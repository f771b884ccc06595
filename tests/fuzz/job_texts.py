"""Job files drawn from a seed: everything a maker may order, in odd sizes, and now and then more than fits.

A file that would be refused as bad input is drawn again, so that nearly all that come out can be planned;
that no piece fits on any bolt, or lengths on hand do not suffice, is left in.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

from nesting.errors import JobError
from nesting.files import read_job_text
from nesting.headings import HEADINGS

#: Draws of one job before it is given up.
MOST_DRAWS = 60
#: Millimeters of the units, exact.
_MM = {"in": Fraction(127, 5), "cm": Fraction(10), "mm": Fraction(1)}
_ROOMS = ("Hall", "Study")
_FRACTIONS = ("1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")


class Draft:
    """One job file while it is drawn."""

    def __init__(self, dice: Random) -> None:
        self.dice = dice
        self.unit = dice.choice(("in", "in", "cm", "cm", "mm"))
        self.lines = list[str]()

    def length(self, low: int, high: int) -> str:
        """A length between so many millimeters, as it would be typed in the unit of the job."""
        mm = self.dice.randint(low, high)
        whole = Fraction(mm) / _MM[self.unit]
        if self.unit == "in":
            return (
                f'"{int(whole) or 1} {self.dice.choice(_FRACTIONS)}"'
                if self.often(3)
                else str(int(whole) or 1)
            )
        return f"{float(round(whole, 1)):g}" if self.often(2) else str(round(whole) or 1)

    def often(self, times: int) -> bool:
        """True so many times out of six."""
        return self.dice.randrange(6) < times

    def add(self, *lines: str) -> None:
        """Lines of the file."""
        self.lines += lines

    def maybe(self, times: int, line: str) -> None:
        """A line, so many times out of six."""
        if self.often(times):
            self.lines.append(line)


def job_text(seed: int) -> str:
    """The job of that seed: the first draw that is not refused.

    Raises
    ------
    JobError
        All draws were refused.
    """
    return drawn(seed)[0]


def drawn(seed: int) -> tuple[str, int]:
    """The job of a seed, and how many draws before it were refused."""
    for number in range(MOST_DRAWS):
        text = _draw(Random(f"{seed}/{number}"), seed)
        try:
            read_job_text(text)
        except JobError:
            if number == MOST_DRAWS - 1:
                raise
            continue
        return text, number
    raise AssertionError


def _draw(dice: Random, seed: int) -> str:
    draft = Draft(dice)
    draft.add(f'title = "Job {seed}"', f'units = "{draft.unit}"')
    draft.maybe(1, 'cutting = "across-first"')
    draft.maybe(1, dice.choice(('safety = "usual"', 'safety = "10 %"', 'safety = "none"')))
    draft.maybe(1, f"squaring = {draft.length(0, 80)}")
    draft.maybe(1, f"table = {{ length = {draft.length(1500, 3000)} }}")
    lined = draft.often(2)
    _fabric(draft, "face", printed=draft.often(3))
    if lined:
        _fabric(draft, "lining", printed=False)
    for number in range(dice.choice((1, 1, 2, 2, 3, 4))):
        _window(draft, number, lined=lined)
    for number in range(dice.choice((0, 0, 1, 2))):
        _extra(draft, number, lined=lined)
    return "\n".join(draft.lines) + "\n"


def _fabric(draft: Draft, key: str, *, printed: bool) -> None:
    dice = draft.dice
    draft.add("", f"[fabric.{key}]", f'nap = "{dice.choice(("one-way", "two-way", "none", "none"))}"')
    draft.maybe(1, f'arrow = "{dice.choice(("up", "down"))}"')
    draft.maybe(1, 'hidden_nap = "free"')
    draft.maybe(1, f'shrinkage = {{ length = {dice.randint(0, 6)}, width = {dice.randint(0, 3)}, '
                   f'washed = "{dice.choice(("before", "after"))}" }}')  # fmt: skip
    draft.maybe(1, f'weight = "{dice.choice(("sheer", "medium", "heavy"))}"')
    draft.maybe(1, f'one_lot = "{dice.choice(("window", "room"))}"')
    width = dice.choice((910, 1220, 1370, 1400, 1400, 1500, 1800, 2800, 3000))
    columns = dice.choice((1, 1, 2, 3, 4)) if printed else 0
    usable = width - dice.choice((20, 25, 30))
    if printed:
        _pattern(draft, usable // columns)
    for number in range(dice.choice((1, 1, 1, 2))):
        draft.add(f"[[fabric.{key}.bolt]]", f"width = {_exact(draft, width + 50 * number)}")
        draft.maybe(4, f"usable = {_exact(draft, usable + 50 * number)}")
        draft.maybe(2, f"price = {dice.randint(5, 90)}")
        draft.maybe(2, f"sold_by = {draft.length(50, 600)}")
        if number == 0 and draft.often(1):
            draft.maybe(4, "top_up = true")
            for length in range(dice.randint(1, 3)):
                _length(draft, key, length, width)


def _exact(draft: Draft, mm: int) -> str:
    """A width that is woven: whole inches or millimeters."""
    return str(round(mm / 25.4)) if draft.unit == "in" else f"{float(mm / _MM[draft.unit]):g}"


def _pattern(draft: Draft, column: int) -> None:
    dice = draft.dice
    across = f", width = {_exact(draft, column)}" if draft.often(4) else ""
    drop = dice.choice(("0", "0.5", "0.5", '"1/3"', "0.25", '"2/3"'))
    more = dice.choice(("", "", ', drop_from = "selvage"', ", sideways = true"))
    draft.add(f"repeat = {{ length = {draft.length(60, 900)}{across}, drop = {drop}{more} }}")
    draft.maybe(3, f'level = "{dice.choice(("hem", "top", "floor"))}"')
    draft.maybe(1, f"start = {draft.length(0, 300)}")
    draft.maybe(1, f"motif = {{ height = {draft.length(0, 300)} }}")
    draft.maybe(1, f"tolerance = {{ repeat = {_exact(draft, 2)}, bow = {draft.length(0, 9)} }}")
    draft.maybe(1, dice.choice(('cutting_gap = "auto"', f"cutting_gap = {draft.length(3, 30)}")))


def _length(draft: Draft, key: str, number: int, width: int) -> None:
    """A length on hand, spoiled now and then."""
    dice = draft.dice
    long = dice.randint(800, 9000)
    draft.add(f"[[fabric.{key}.bolt.on_hand]]", f"length = {draft.length(long, long + 60)}")
    draft.maybe(2, f'lot = "{dice.choice("AB")}"')
    draft.maybe(1, f"usable = {_exact(draft, width - 60)}")
    draft.maybe(1, f"start = {draft.length(0, 60)}")
    if draft.often(2):
        flaw = f"at = {draft.length(50, long - 200)}, length = {draft.length(20, 120)}"
        part = f", from_left = {draft.length(0, 400)}, width = {draft.length(30, 200)}"
        draft.add(f"flaws = [{{ {flaw}{part if draft.often(4) else ''} }}]")


def _window(draft: Draft, number: int, *, lined: bool) -> None:
    dice = draft.dice
    heading = dice.choice(sorted(HEADINGS))
    draft.add("", "[[window]]", f'name = "Window {number + 1}"', f'room = "{dice.choice(_ROOMS)}"')
    draft.add('fabric = "face"', f'heading = "{heading}"')
    draft.add(f"rod = {draft.length(400, 4500 if draft.often(1) else 2400)}")
    draft.add(f"finished_length = {draft.length(500, 2900)}")
    draft.maybe(4, f"rod_diameter = {draft.length(10, 40)}")
    draft.maybe(2, f"fullness = {dice.choice((1, 1.25, 1.5, 1.8, 2, 2.5, 3))}")
    draft.maybe(1, f"count = {dice.choice((2, 2, 3, 12))}")
    draw = dice.choice(("pair", "pair", "left", "right"))
    draft.maybe(3, f'draw = "{draw}"')
    if draw == "pair":
        draft.maybe(1, 'pair = "continuous"')
    draft.maybe(2, f'widths = "{dice.choice(("exact", "half", "whole"))}"')
    draft.maybe(2, f'part_at = "{dice.choice(("outer", "leading", "sides", "free"))}"')
    draft.maybe(1, "part_pieces = 2")
    draft.maybe(1, 'part_width = "least"')
    draft.maybe(2, f"least_part_width = {draft.length(0, 300)}")
    draft.maybe(2, f'railroad = "{dice.choice(("auto", "yes", "no"))}"')
    draft.maybe(2, f"bottom_hem = {{ turn = {draft.length(20, 150)}, turns = {dice.randint(1, 2)} }}")
    draft.maybe(1, f"side_hem = {{ turn = {draft.length(10, 50)} }}")
    draft.maybe(1, 'side_hem = "selvage"' if "side_hem" not in draft.lines[-1] else "")
    draft.maybe(1, f"returns = {draft.length(0, 150)}")
    draft.maybe(1, f"working = {draft.length(5, 60)}")
    draft.maybe(1, f"priority = {dice.randint(1, 3)}")
    if lined:
        draft.maybe(5, 'lining = "lining"')
        draft.maybe(1, 'interlining = "lining"')
    if draft.often(1):
        fabric = dice.choice(("face", "lining")) if lined else "face"
        draft.add("[[window.band]]", f'edge = "{dice.choice(("leading", "hem"))}"')
        draft.add(f"width = {draft.length(40, 150)}", f'fabric = "{fabric}"')
    if draft.often(1):
        draft.add("[[window.tieback]]", f"length = {draft.length(400, 900)}")
        draft.add(f"width = {draft.length(50, 120)}", 'fabric = "face"')


def _extra(draft: Draft, number: int, *, lined: bool) -> None:
    dice = draft.dice
    draft.add("", "[[extra]]", f'name = "Extra {number + 1}"')
    draft.add(f'fabric = "{dice.choice(("face", "lining")) if lined else "face"}"')
    most = 3200 if draft.often(1) else 900
    draft.add(f"width = {draft.length(60, most)}", f"length = {draft.length(60, most)}")
    draft.add(f"count = {dice.choice((1, 2, 4, 9, 30))}")
    draft.maybe(1, "matched = true")
    draft.maybe(2, dice.choice(("turnable = true", "turnable = false")))
    draft.maybe(2, "optional = true")
    draft.maybe(1, f"priority = {dice.randint(1, 3)}")
