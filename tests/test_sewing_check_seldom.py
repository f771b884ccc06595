"""Drapes that are seldom ordered: what is planned passes, and changes of each that sewing alone must find.

Metric jobs, fabric on its side, a level above the floor, selvages below, flat rods and panels that hung.
`tests/mutants.py` runs all of them.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from spoiled_drapes import (
    BACK_TAB,
    INCH,
    LINED,
    PINCH,
    PLAIN,
    PRINT,
    TAB_TOP,
    WINDOW,
    Change,
    Table,
    changed,
    found,
    operations,
    ordered,
    resized,
    without,
)

FACE = "[fabric.face]\n"
JOINED = WINDOW.replace("rod = 60", "rod = 84")
THREE = WINDOW.replace("rod = 60", "rod = 150")
METRIC = 'units = "cm"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = 140\nprice = 10\n'
METRIC_LINED = "[fabric.lining]\n[[fabric.lining.bolt]]\nwidth = 140\n"
WEST = '[[window]]\nname = "West"\nrod = 150\nfinished_length = 210\n'
WIDE = PLAIN.replace("width = 54", "width = 118")
FLOOR = PRINT.replace(FACE, f'{FACE}level = "floor"\n')
SIDEWAYS = WIDE.replace(FACE, f"{FACE}repeat = {{ length = 24, width = 27, sideways = true }}\n")
LINING = 'lining = "lining"\n'
SOUND = {
    "metric tabs": ordered(METRIC, METRIC_LINED, WEST, 'heading = "tab-top"\n', LINING),
    "metric loops": ordered(METRIC, WEST, 'heading = "back-tab"\n'),
    "metric pleats": ordered(METRIC, WEST, 'heading = "pinch-pleat"\nring_drop = 5\n'),
    "metric rings": ordered(METRIC, WEST, 'heading = "grommet"\n'),
    "metric pocket": ordered(METRIC, WEST, 'heading = "rod-pocket"\n'),
    "metric tape": ordered(METRIC, WEST, 'heading = "pencil-pleat"\n'),
    "metric clips": ordered(
        METRIC, WEST.replace("finished_length = 210", "rod_height = 220"), 'heading = "clip-ring"\n'
    ),
    "level from the floor": ordered(FLOOR, JOINED, 'heading = "tab-top"\nrod_height = 90\n'),
    "level above the floor": ordered(FLOOR, JOINED, PINCH),
    "sideways": ordered(SIDEWAYS, JOINED, TAB_TOP, 'railroad = "yes"\n'),
    "selvage below": ordered(WIDE, WINDOW, TAB_TOP, 'railroad = "yes"\nbottom_hem = "selvage"\n'),
    "flat rod": ordered(
        PLAIN,
        WINDOW,
        'rod_depth = "1/4"\nheading = "grommet"\nfinished_length = 84\n'
        'ring = { size = 2, inner = "1 1/2" }\n',
    ),
    "three widths": ordered(PRINT, THREE, TAB_TOP, 'widths = "half"\n'),
    "measured take-up": ordered(
        PLAIN, WINDOW, 'heading = "rod-pocket"\nfinished_length = 84\ntake_up = "1/2"\n'
    ),
    "few pleats": ordered(PLAIN, WINDOW, PINCH, "fullness = 1.5\n"),
    "so many pleats": ordered(PLAIN, JOINED, PINCH, "pleat = { count = 6, lead = 3 }\n"),
    "hidden": ordered(
        PLAIN.replace(FACE, f'{FACE}nap = "one-way"\narrow = "down"\nhidden_nap = "free"\n'), WINDOW, BACK_TAB
    ),
    "margin": ordered(
        PLAIN.replace(FACE, f"{FACE}safety = 10\n").replace("price = 10", "price = 10\nsold_by = 18"),
        WINDOW,
        TAB_TOP,
        "take_up = 0\n",
    ),
    "sides turned once": ordered(
        PLAIN, LINED, WINDOW, TAB_TOP, LINING, "side_hem = { turn = 2, turns = 1 }\n"
    ),
    "washed lining": ordered(
        PLAIN,
        LINED.replace("[fabric.lining]\n", "[fabric.lining]\nshrinkage = { length = 4, width = 2 }\n"),
        JOINED,
        PINCH,
        LINING,
    ),
    "two rooms": ordered(
        PRINT, JOINED, TAB_TOP, 'room = "Hall"\n', JOINED.replace("East", "West"), PINCH, 'room = "Hall"\n'
    ),
    "a middle row": ordered(
        PLAIN,
        WINDOW,
        'heading = "pencil-pleat"\nhangs_from = "track"\neye_height = 90\nhook_row = "middle"\ntape = 4\n',
    ),
    "no price": ordered(PLAIN.replace("price = 10\n", ""), WINDOW, TAB_TOP, "tab = { gap = 3 }\n"),
    "a hem band": ordered(
        PLAIN,
        LINED,
        WINDOW,
        TAB_TOP,
        'draw = "left"\n[[window.band]]\nedge = "hem"\nwidth = 4\nfabric = "lining"\n',
    ),
    "a single band": ordered(
        PLAIN, LINED, WINDOW, TAB_TOP, 'draw = "left"\n[[window.band]]\nwidth = 4\nfabric = "lining"\n'
    ),
    "match": ordered(
        PRINT.replace("width = 54\n", "width = 54\nmatch = 53\n").replace(
            "drop = 0.5", 'drop = 0.5, drop_from = "selvage"'
        ),
        JOINED,
        TAB_TOP,
    ),
    "tube": ordered(PLAIN, LINED, JOINED, TAB_TOP, LINING, 'lining_style = "tube"\n'),
    "interlined selvage": ordered(
        PLAIN, LINED, JOINED, PINCH, LINING, 'interlining = "lining"\nside_hem = "selvage"\n'
    ),
    "corner": ordered(
        PLAIN, WINDOW, TAB_TOP, "side_hem = { leading = { turn = 2 }, outer = { turn = 1, turns = 1 } }\n"
    ),
    "heights of two rods": ordered(
        FLOOR,
        JOINED,
        'heading = "tab-top"\nclearance = 6\nrod_height = 90\nroom = "Hall"\n',
        JOINED.replace("East", "West"),
        'heading = "tab-top"\nrod_height = 92\nroom = "Hall"\n',
    ),
    "parts lead": ordered(PRINT, JOINED, TAB_TOP, 'part_at = "leading"\n'),
    "two alike of a print": ordered(PRINT, JOINED, TAB_TOP, "count = 2\n"),
    "two alike whose parts lead": ordered(PRINT, JOINED, TAB_TOP, 'part_at = "leading"\ncount = 2\n'),
    # (44 - 2 x 2) / 6 + 1 loops, 7.67; (40 1/4 - 2 x 1/2) / 6 + 1 clips, 7.54, 8 of a pair.
    "8 loops": ordered(PLAIN, WINDOW, BACK_TAB, "flat_width = 44\n"),
    "8 clips": ordered(PLAIN, WINDOW, 'heading = "clip-ring"\nrod_height = 90\nflat_width = "40 1/4"\n'),
    "one selvage": ordered(PLAIN, WINDOW, TAB_TOP, 'side_hem = "selvage"\n'),
    "tabs with a nap": ordered(
        PLAIN.replace(FACE, f'{FACE}nap = "one-way"\nhidden_nap = "free"\n'), WINDOW, TAB_TOP
    ),
}


def upside_down(*ids: str) -> Change:
    """Pieces laid with their top the other way, as if their nap allowed it."""

    def change(made: Table) -> None:
        for piece in made["pieces"]:
            piece |= {"nap": "two-way", "arrow_group": None}
        for layout in made["layouts"]:
            for one in layout["placements"]:
                if one["piece"] in ids:
                    one["arrow"] = {"up": "down", "down": "up", "left": "right", "right": "left"}[
                        one["arrow"]
                    ]

    return change


SOUND["a facing turned round"] = changed(SOUND["hidden"], upside_down("east/left/facing"))


def ordered(**said: Any) -> Change:
    def change(made: Table) -> None:
        made["order"]["windows"][0] |= said

    return change


def told(**said: Any) -> Change:
    """The fabric of the face ordered otherwise."""

    def change(made: Table) -> None:
        made["order"]["fabrics"][0] |= said

    return change


def op(do: str, on: str, field: str, value: Any, edge: str = "") -> Change:
    """Set a field of the operations of a kind on a work, at an edge."""

    def change(made: Table) -> None:
        for one in operations(made, do, on):
            if edge in ("", one.get("edge")):
                one[field] = value

    return change


def moved(do: str, on: str, field: str, *more: int, edge: str = "") -> Change:
    """Add ticks to the numbers of a field, one after the other, as far as told."""

    def change(made: Table) -> None:
        for one in operations(made, do, on):
            if edge in ("", one.get("edge")):
                now = one[field]
                if isinstance(now, str):
                    one[field] = str(Fraction(now) + more[0])
                else:
                    told = (*more, *[0] * len(now))
                    one[field] = [str(Fraction(old) + add) for old, add in zip(now, told, strict=False)]

    return change


def deeper(on: str, *more: int, edge: str) -> Change:
    """Turn an edge deeper, on a line that is chalked for it."""
    return both(
        moved("fold", on, "turns", *more, edge=edge), moved("chalk", on, "inward", sum(more), edge=edge)
    )


def no(**said: str) -> Change:
    """Leave out operations that say so."""
    return lambda made: without(made, lambda one: all(one.get(key) == word for key, word in said.items()))


def both(*changes: Change) -> Change:
    def change(made: Table) -> None:
        for one in changes:
            one(made)

    return change


def shallow_hem(made: Table) -> None:
    """The first turn of the bottom hem 1 in less, cut shorter by as much."""
    inch = made["panels"][0]["window"] == "East"
    less = INCH if inch else CM
    for side in ("left", "right"):
        resized(made, f"{made['panels'][0]['window'].lower()}/{side}/1", length=-1)
    for one in operations(made, "fold"):
        if one["edge"] == "bottom" and one["on"] in ("left", "right"):
            one["turns"][0] = str(int(one["turns"][0]) - less)
    for one in operations(made, "chalk"):
        if one["edge"] == "bottom":
            one["inward"] = str(int(one["inward"]) - less)


def pleat(number: int, first: int, last: int) -> Change:
    """Move the lines of one pleat of the left panel."""

    def change(made: Table) -> None:
        for one in operations(made, "pleat", "left"):
            start, end = one["lines"][number]
            one["lines"][number] = [str(Fraction(start) + first), str(Fraction(end) + last)]

    return change


def placed(piece: str, **said: Any) -> Change:
    def change(made: Table) -> None:
        for layout in made["layouts"]:
            for laid in layout["placements"]:
                if laid["piece"] == piece:
                    laid |= {
                        key: laid[key] + value if isinstance(value, float) else value
                        for key, value in said.items()
                    }

    return change


def says(listed: str, number: int, **more: Any) -> Change:
    """What the document states of a panel, heading or piece: numbers are added, other things put."""

    def change(made: Table) -> None:
        entry = made[listed][number]
        for key, value in more.items():
            entry[key] = entry[key] + value if isinstance(value, float) else value

    return change


def untucked(made: Table) -> None:
    """Nothing lies over the upper end of the hems: the lining ends short of them."""
    for one in operations(made, "lay", "left"):
        one["tucked"] = []


def joined_over(work: str) -> Change:
    """Join a work from right to left."""

    def change(made: Table) -> None:
        for one in operations(made, "join", work):
            one["parts"].reverse()

    return change


def placed_all(begin: str, **said: float) -> Change:
    def change(made: Table) -> None:
        for layout in made["layouts"]:
            for laid in layout["placements"]:
                if laid["piece"].startswith(begin):
                    for key, value in said.items():
                        laid[key] += value

    return change


def priced(**said: float) -> Change:
    def change(made: Table) -> None:
        for layout in made["layouts"]:
            layout["buy"] |= said

    return change


#: A fold of a tube 1 in further in, for which its lining is too wide.
goes_round = moved("line round", "left", "left", INCH)
CM = 800
ROWS: list[tuple[str, Change, str]] = [
    ("metric tabs", shallow_hem, "bottom edge: fold"),
    ("metric tabs", moved("insert", "left", "at", 0, CM), "tab 2 at"),
    ("metric tabs", moved("lay", "left", "up", CM), "lining above the hem edge"),
    ("metric tabs", moved("fold", "left lining", "turns", CM, CM, edge="bottom"), "lining hem fold"),
    ("metric tabs", ordered(rod_diameter=2 * CM), "tab, length"),
    ("metric tabs", op("lay", "left", "tucked", ["right"]), "lining, left side"),
    ("metric loops", moved("attach", "left facing", "at", 0, CM), "center of loop 2 at"),
    ("metric loops", moved("attach", "left facing", "at", CM), "center of loop 1 at"),
    ("metric loops", ordered(rod_diameter=5 * CM), "long as it hangs"),
    ("metric pleats", moved("fold", "left", "turns", CM, CM, edge="top"), "come on its line"),
    ("metric pleats", pleat(1, 0, -2 * CM), "wide once drawn in"),
    ("metric pleats", pleat(3, -2 * CM, 2 * CM), "wide once drawn in"),
    ("metric pleats", pleat(7, 0, CM), "wide once drawn in"),
    ("metric pleats", ordered(returns=0), "cut width: return"),
    ("metric pleats", ordered(overlap=8 * CM), "wide lying flat"),
    ("metric rings", op("set", "left", "size", "4080"), "hole"),
    ("metric rings", moved("set", "left", "down", CM), "hole below"),
    ("metric rings", moved("set", "left", "at", CM), "ring 1 at"),
    ("metric rings", moved("fold", "left", "turns", CM, CM, edge="top"), "come on its line"),
    ("metric rings", ordered(ring={"size": 12 * CM}), "top, turn 1,"),
    ("metric pocket", moved("stitch", "left", "below", CM, CM), "last row"),
    ("metric pocket", moved("fold", "left", "turns", CM, edge="top"), "come on its line"),
    ("metric pocket", ordered(rod_diameter=6 * CM), "long as it hangs"),
    ("metric tape", moved("draw", "left", "tape", CM), "tape"),
    ("metric tape", moved("set", "left", "down", CM), "hook below the top edge"),
    ("metric tape", ordered(tape=10 * CM), "tape"),
    ("metric clips", moved("set", "left", "at", CM), "clip 1 at"),
    ("metric clips", ordered(clearance=4 * CM), "above the floor"),
    ("metric clips", ordered(rod_diameter=6 * CM), "above the floor"),
    ("level from the floor", ordered(clearance=INCH), "above the floor"),
    ("level from the floor", placed("east/left/2", y=1.0), "print of east/left/2"),
    ("level above the floor", placed("east/left/1", y=1.0), "print of east/left/2"),
    ("sideways", upside_down("east/left/1"), "its print"),
    ("sideways", placed("east/right/1", x=3.0), "its print"),
    ("selvage below", placed("east/left/1", x=3.0), "bottom edge: raw"),
    ("selvage below", ordered(bottom_hem={"turn": 2 * INCH}), "bottom edge: raw"),
    ("flat rod", ordered(rod_depth=5 * INCH // 4), "no room"),
    ("three widths", placed("east/left/3", y=12.0), "print of east/left/3"),
    ("three widths", placed("east/right/1", y=12.0), "print of east/right/1"),
    ("three widths", joined_over("left"), "what its label says"),
    ("measured take-up", ordered(take_up=INCH), "long as it hangs"),
    ("measured take-up", ordered(take_up=None), "long as it hangs"),
    ("few pleats", pleat(0, 0, -INCH), "wide once drawn in"),
    ("few pleats", ordered(pleat={"count": 7}), "3 pleats"),
    ("so many pleats", ordered(pleat={"count": 6, "lead": 2 * INCH}), "flat at the right edge"),
    ("so many pleats", ordered(pleat={"count": 7, "lead": 3 * INCH}), "6 pleats"),
    ("so many pleats", pleat(2, -INCH, -INCH), "space"),
    ("hidden", upside_down("east/left/1"), "nap of east/left/1"),
    ("hidden", both(upside_down("east/left/facing"), told(hidden_nap="keep")), "east/left/facing"),
    ("tabs with a nap", upside_down("east/tabs"), "east/tabs"),
    ("margin", told(safety={"length": 5 * INCH}), "allowance safety margin"),
    ("margin", told(safety={"percent": "5"}), "allowance safety margin"),
    ("margin", told(safety=None), "allowance safety margin"),
    ("sides turned once", both(no(do="overcast", on="left"), untucked), "lining, left side"),
    ("washed lining", no(do="wash"), "reaches beyond"),
    ("washed lining", says("pieces", 6, hem_line=1.0), "lining, hem_line"),
    ("two rooms", placed("west/left/1", y=3.0), "print of west/left/2"),
    ("two rooms", placed_all("west/", y=3.0), "its print"),
    ("heights of two rods", placed_all("west/", y=3.0), "its print"),
    ("two alike of a print", placed("east/2/left/2", y=3.0), '"East" 2, left panel: print of'),
    ("two alike of a print", placed_all("east/2/", y=3.0), '"East" 2, left panel: its print'),
    ("parts lead", placed("east/right/1", y=12.0), "print of east/right/1"),
    ("a middle row", ordered(hook_row="top"), "hook below"),
    ("a middle row", ordered(hook_row="bottom"), "hook below"),
    ("a middle row", ordered(eye_height=92 * INCH), "finished length: hook's hole above the floor"),
    ("no price", ordered(tab={"gap": 2 * INCH}), "tab, length"),
    ("no price", priced(cost=20.0), "no price"),
    ("no price", priced(price=20.0), "price 20"),
    ("a hem band", moved("lay", "single", "up", INCH), "no band"),
    ("a hem band", op("lay", "single", "face", "back"), "no band"),
    ("a single band", ordered(bands=[{"edge": "leading", "width": 5 * INCH, "fabric": "lining"}]), "no band"),
    ("a single band", ordered(draw="right"), "no band"),
    ("match", placed("east/left/2", y=12.0), "print of east/left/2"),
    ("tube", moved("line round", "left", "left", INCH), "come on its line"),
    ("tube", moved("line round", "left", "up", INCH), "lining above the hem edge"),
    ("interlined selvage", op("lay", "left", "face", "front"), "interlining in front"),
    ("interlined selvage", op("fold", "left lining", "held", "pinned", "left"), "side pinned"),
    ("interlined selvage", moved("lay", "left", "inside", INCH), "reaches beyond"),
    ("interlined selvage", moved("lay", "left", "up", -INCH), "lining above the hem edge"),
    ("metric tabs", op("fold", "left facing", "held", "pinned", "left"), "end pinned"),
    ("corner", ordered(outer_hem={"turn": INCH, "turns": 2}), "left edge: fold"),
    ("corner", op("fold", "left", "turns", ["2032"], "right"), "come on its line"),
    ("corner", no(do="overcast", on="left", edge="left"), "left edge is raw"),
    ("corner", says("panels", 0, left_hem=1.0), "left_hem"),
    ("corner", says("panels", 0, overlap=1.0), "overlap"),
    ("corner", says("panels", 0, seam_allowance=1.0), "seam allowance"),
    ("corner", says("panels", 0, length=1.0), "length"),
    ("level from the floor", says("panels", 0, length=3.0), "length"),
    ("level from the floor", says("panels", 0, length=-3.0), "length"),
    ("match", says("panels", 0, cuts=[54.0, 20.0]), "cuts"),
    ("match", says("panels", 0, seams=[]), "seams"),
    ("match", says("headings", 0, width=1.0), "heading, width"),
    ("match", says("headings", 0, spots=[]), "marks"),
    ("match", says("headings", 0, window="West"), "heading of"),
    ("one selvage", deeper("left", INCH, INCH, edge="left"), "is not on it"),
    ("metric pleats", deeper("left", CM, CM, edge="top"), "long as it hangs"),
    ("metric rings", deeper("left", CM, CM, edge="top"), "long as it hangs"),
    ("metric pocket", deeper("left", CM, 0, edge="top"), "long as it hangs"),
    ("metric tape", deeper("left", CM, edge="top"), "long as it hangs"),
    ("corner", deeper("left", INCH, edge="right"), "deeper than the next"),
    ("tube", both(moved("chalk", "left", "inward", INCH, edge="left"), goes_round), "go round"),
]  # fmt: skip


@pytest.mark.parametrize("name", SOUND)
def test_what_is_planned_passes(name: str) -> None:
    assert found(SOUND[name]) == []


@pytest.mark.parametrize("number", range(len(ROWS)))
def test_a_change_is_found(number: int) -> None:
    name, change, words = ROWS[number]
    wrong = found(changed(SOUND[name], change))
    assert any(word in one for one in wrong for word in words.split("|")), (name, words, wrong[:6])
