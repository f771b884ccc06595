"""Families of our own: jobs as makers order them, drawn from a seed, cut by the program itself.

Every instance is a whole job file, read and cut as `nesting plan` would; packed is the problem of its face
fabric, laid upright on its bolt. The same family and number give the same job on every machine, because each
is drawn from a seed of its own. All sizes are invented.

rooms
    60 jobs of plain fabric. Numbers 1 to 12 have as many windows as their number, 13 to 24 again, and so on.
prints
    The same on fabric with a pattern: straight match, half drop, drop by thirds. Full widths of the fabric
    are whole repeat widths, as fabric is printed.
hotel
    24 jobs of few kinds of window, 10 to 2,000 windows in all, ordered by ``count``: up to 92,000 parts.
remnants
    12 jobs on lengths on hand, with flaws, and the bolt for the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from random import Random

from nesting.cutting.cut import cut, rule_of_thumb
from nesting.files import read_job_text
from nesting.order.job import Bolt, LengthOnHand
from nesting.packing import Flaw, Problem, Strip
from nesting.planning.laying import lay_of, require_fit
from tests.benchmarks.instances import Instance

#: How many instances each family has.
SIZES = {"rooms": 60, "prints": 60, "hotel": 24, "remnants": 12}

MOST_WINDOWS = 12
HOTEL_WINDOWS = (10, 20, 50, 100, 200, 500, 1000, 2000)
#: Hotels from this size on have wide windows, full drapes and tabs, so that the parts are many.
LARGE = 1000
#: Headings of the families: part of a set of problems that is measured again and again, so none joins it.
DRAWN = (
    "back-tab", "clip-ring", "grommet", "pencil-pleat", "pinch-pleat", "rod-pocket", "tab-top",
)  # fmt: skip
TABBED = ("back-tab", "tab-top")

# Widths in which fabric is woven, and sizes that windows come in: common practice, no source.
_WIDTHS = {
    "in": (36, 45, 48, 54, 54, 54, 56, 60, 72, 84, 110, 118),
    "cm": (122, 137, 140, 140, 140, 150, 160, 180, 240, 280, 300),
}
_PRINTED = {
    "in": (36, 45, 48, 54, 54, 54, 56, 60, 84, 110, 118),
    "cm": (122, 137, 140, 140, 150, 160, 280, 300),
}
_SELVAGE = {"in": Fraction(1, 2), "cm": Fraction(3, 2)}
_REPEATS = {
    "in": ("5", "6 1/4", "8", "9", "10 5/8", "12 1/2", "13 1/2", "16", "18", "21 1/4", "25 1/4", "27", "32",
           "36"),
    "cm": ("13", "16", "20.5", "23", "27", "32", "34.5", "45.7", "53", "64", "69", "76", "91"),
}  # fmt: skip
_RODS = {"in": (28, 120), "cm": (70, 305)}
_DIAMETERS = {"in": ("3/4", "1", "1 3/8", "2"), "cm": ("1.9", "2.5", "3.5", "5")}
_LENGTHS = {
    "in": ("45", "54", "63", "72", "84", "84 1/2", "90 1/4", "95 1/2", "96", "102 3/4", "108"),
    "cm": ("115", "137", "160", "183", "214", "228.5", "240", "243", "260", "274"),
}
_ROOMS = ("Garden room", "Bedroom", "Study", "Landing")
#: The least repeat width of a pattern.
_NARROWEST = {"in": 10, "cm": 26}
#: Of fabric with one column a panel that ends in a sliver cannot be cut: there is no second place to take its
#: neighbor from. So part-widths are halves there.
_IN_HALVES = 'widths = "half"'
_SPOT = "length = 2, width = 3"


def generated() -> Iterator[tuple[str, Callable[[], Instance]]]:
    """``(family/number, how to make it)`` of every instance of every family."""
    for family, size in SIZES.items():
        for number in range(1, size + 1):
            yield f"{family}/{number}", partial(make, family, number)


def make(family: str, number: int) -> Instance:
    """The instance of that number, with what the usual rule of thumb takes for it."""
    job = read_job_text(job_text(family, number))
    fabric, bolts = job.fabric("face"), {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    cutting = cut(job, bolts)
    lay = lay_of(job, fabric, bolts["face"], cutting.pieces)
    require_fit(lay)
    return Instance(
        set=family,
        name=str(number),
        problem=_with_lengths_on_hand(_bare(lay.problem), bolts["face"]),
        windows=sum(window.count for window in job.windows),
        step=bolts["face"].sold_by,
        thumb=rule_of_thumb(job, cutting, "face", bolts["face"]).length if family != "remnants" else None,
        unit=job.units,
    )


def job_text(family: str, number: int) -> str:
    """The job file of an instance: what `nesting plan` would be given."""
    dice = Random(f"{family}/{number}")
    unit = dice.choice(("in", "cm"))
    head = [f'title = "{family.capitalize()} {number}"', f'units = "{unit}"', ""]
    if family == "hotel":
        return _text([*head, *_plain_fabric(dice, unit, number), *_hotel_windows(dice, unit, number)])
    count = 1 + (number - 1) % MOST_WINDOWS
    windows = _windows(dice, unit, count)
    if family == "prints":
        columns, fabric = _printed_fabric(dice, unit, number)
        if columns == 1:
            windows = [f"{line}\n{_IN_HALVES}" if line == "[[window]]" else line for line in windows]
        return _text([*head, *fabric, *windows])
    if family == "remnants":
        return _text([*head, *_plain_fabric(dice, unit, number), *_on_hand(dice, unit), *windows])
    return _text([*head, *_plain_fabric(dice, unit, number), *windows, *_cushions(dice, unit)])


def _text(lines: Sequence[str]) -> str:
    return "\n".join(lines) + "\n"


def _in_turn(widths: Sequence[int], number: int) -> int:
    """Every width comes up in every dozen of jobs, and each time with another count of windows."""
    return widths[(5 * number + number // MOST_WINDOWS) % len(widths)]


def _plain_fabric(dice: Random, unit: str, number: int) -> list[str]:
    """Pile more often than not, for that is what is dear."""
    nap = dice.choice(("one-way", "one-way", "one-way", "two-way", "none"))
    width = _in_turn(_WIDTHS[unit], number)
    usable = width - 2 * _SELVAGE[unit]
    return [
        "[fabric.face]",
        f'nap = "{nap}"',
        "[[fabric.face.bolt]]",
        f"width = {width}",
        f"usable = {_said(usable)}",
    ]


def _printed_fabric(dice: Random, unit: str, number: int) -> tuple[int, list[str]]:
    """A pattern that is printed in whole columns from selvage to selvage, and how many."""
    width, drop = _in_turn(_PRINTED[unit], number), dice.choice(("0", "0", '"1/2"', '"1/2"', '"1/3"'))
    selvage = _SELVAGE[unit]
    columns = dice.choice([k for k in (1, 2, 2, 3, 4, 6, 8) if k == 1 or width / k >= _NARROWEST[unit]])
    grid = 16 if unit == "in" else 10
    column = Fraction(int((width - 2 * selvage) / columns * grid), grid)
    length = dice.choice(_REPEATS[unit])
    repeat = f'repeat = {{ length = "{length}", width = {_said(column)}, drop = {drop} }}'
    return columns, [
        *("[fabric.face]", f'nap = "{dice.choice(("one-way", "one-way", "two-way"))}"', repeat),
        f'level = "{dice.choice(("hem", "hem", "top"))}"',
        *("[[fabric.face.bolt]]", f"width = {width}"),
        f"usable = {_said(width - selvage)}",
        f"match = {_said(column * columns)}",
    ]


def _windows(dice: Random, unit: str, count: int) -> list[str]:
    """Windows of a house: alike within a room more often than not."""
    rooms = _ROOMS[: 1 + min(3, count // 3)]
    usual = {room: (dice.choice(DRAWN), dice.choice(_LENGTHS[unit])) for room in rooms}
    lines = []
    for number in range(1, count + 1):
        room = rooms[(number - 1) % len(rooms)]
        heading, length = usual[room]
        if dice.randrange(4) == 0:
            heading = dice.choice(DRAWN)
        if dice.randrange(5) == 0:
            length = dice.choice(_LENGTHS[unit])
        lines += _window(dice, unit, f"Window {number}", room, heading, length)
    return lines


def _window(
    dice: Random, unit: str, name: str, room: str, heading: str, length: str, count: int = 1
) -> list[str]:
    low, high = _RODS[unit]
    if count >= LARGE // 2:
        low = 2 * high // 3
    rod = Fraction(dice.randrange(2 * low, 2 * high + 1), 2)
    draw = dice.choice(("left", "right")) if rod < low * 2 and dice.randrange(2) else "pair"
    lines = [
        *("[[window]]", f'name = "{name}"', f'room = "{room}"', f"rod = {_said(rod)}"),
        *(f'finished_length = "{length}"', f'heading = "{heading}"', f'draw = "{draw}"'),
        *(f'rod_diameter = "{dice.choice(_DIAMETERS[unit])}"', 'fabric = "face"', f"count = {count}"),
    ]
    # What the rod took up when the first figures were measured: the instances stay the same.
    taken = {"back-tab": "0", "rod-pocket": "0.5" if unit == "in" else "1"}
    if heading in taken:
        lines.append(f"take_up = {taken[heading]}")
    if count >= LARGE // 2:
        lines.append("fullness = 2")
    if dice.randrange(6) == 0:
        size = (24, 4) if unit == "in" else (60, 10)
        lines += [
            "[[window.tieback]]",
            f"length = {size[0]}",
            f"width = {size[1]}",
            "count = 2",
            'fabric = "face"',
        ]
    return lines


def _cushions(dice: Random, unit: str) -> list[str]:
    if dice.randrange(3):
        return []
    side = dice.choice((14, 16, 18)) if unit == "in" else dice.choice((35, 40, 45))
    sizes = (f"width = {side}", f"length = {side}", f"count = {dice.choice((2, 4))}")
    return ["[[extra]]", 'name = "Cushion front"', 'fabric = "face"', *sizes]


def _hotel_windows(dice: Random, unit: str, number: int) -> list[str]:
    """One to three kinds of window; the first is the commonest."""
    total, kinds = HOTEL_WINDOWS[(number - 1) % len(HOTEL_WINDOWS)], 1 + (number - 1) // len(HOTEL_WINDOWS)
    lines, left = list[str](), total
    for kind in range(1, kinds + 1):
        count = left if kind == kinds else (2 * left) // 3
        left -= count
        heading = dice.choice(("back-tab", "tab-top", "pinch-pleat", "grommet") if total < LARGE else TABBED)
        length = dice.choice(_LENGTHS[unit])
        lines += _window(dice, unit, f"Room {chr(64 + kind)}", "Guest rooms", heading, length, count)
    return lines


def _on_hand(dice: Random, unit: str) -> list[str]:
    """Two to five lengths left over from other work, some of them spoiled; the bolt is there for the rest."""
    lines = ["top_up = true"]
    low, high = (40, 260) if unit == "in" else (100, 660)
    for number in range(1, dice.randrange(2, 6) + 1):
        length = dice.randrange(low, high)
        lines += ["[[fabric.face.bolt.on_hand]]", f'name = "Length {number}"', f"length = {length}"]
        flaws = [
            f"{{ at = {dice.randrange(length - 8)}, from_left = {dice.randrange(20)}, {_SPOT} }}"
            for _ in range(dice.choice((0, 0, 1, 2)))
        ]
        if flaws:
            lines.append(f"flaws = [{', '.join(flaws)}]")
    return lines


def _bare(problem: Problem) -> Problem:
    """The problem without the margins of the selvages, which no peer knows; whole jobs keep them."""
    return replace(problem, parts=tuple(replace(part, clear=(0, 0)) for part in problem.parts))


def _with_lengths_on_hand(problem: Problem, bolt: Bolt) -> Problem:
    """The same parts on the lengths on hand, and on the bolt for what they do not hold."""
    (strip,) = problem.strips
    edge = (bolt.width - strip.width) // 2
    lengths = tuple(_length_on_hand(strip, on_hand, edge) for on_hand in bolt.on_hand)
    return replace(problem, strips=(*lengths, strip))


def _length_on_hand(strip: Strip, on_hand: LengthOnHand, edge: int) -> Strip:
    flaws = []
    for flaw in on_hand.flaws:
        left = max(0, flaw.from_left - edge)
        right = min(strip.width, flaw.from_left - edge + flaw.width if flaw.width else strip.width)
        if left < right:
            flaws.append(Flaw(left, flaw.at, right - left, flaw.length))
    return replace(strip, length=on_hand.length, flaws=tuple(flaws), lot=on_hand.lot)


def _said(length: Fraction | int) -> str:
    """A number that a job file takes exactly."""
    return (
        f"{float(length):g}"
        if Fraction(length).denominator in (1, 2, 4, 5, 10, 20)
        else f'"{_mixed(length)}"'
    )


def _mixed(length: Fraction | int) -> str:
    whole, part = divmod(Fraction(length), 1)
    return f"{whole} {part}" if whole else str(part)
