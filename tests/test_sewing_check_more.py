"""More drapes that the check must pass, and more changes of each that it must find by sewing alone.

`tests/mutants.py` runs all of them; each row tells which words of the check it wants.
"""

from __future__ import annotations

from typing import Any

import pytest
from spoiled_drapes import (
    BACK_TAB,
    INCH,
    LINED,
    PILE,
    PINCH,
    PLAIN,
    PRINT,
    TAB_TOP,
    WINDOW,
    Change,
    Table,
    changed,
    dropped,
    found,
    operations,
    ordered,
    without,
)

JOINED = WINDOW.replace("rod = 60", "rod = 84")
FACE = "[fabric.face]\n"
BEFORE = PLAIN.replace(
    FACE, f'{FACE}shrinkage = {{ length = 3, width = 1, washed = "before" }}\nsafety = "10 %"\n'
)
PRINTED = PRINT.replace(FACE, f'{FACE}tolerance = {{ repeat = "1/16", bow = "1/2", skew = "1/4" }}\n')
TOP_LEVEL = PRINT.replace(FACE, f'{FACE}level = "top"\n')
MOTIF = PRINT.replace(FACE, f'{FACE}motif = {{ height = 9, at = "hem" }}\nstart = 5\n')
FLAWED = "flaws = [{ at = 100, from_left = 50, length = 2, width = 2 }]\n"
ON_HAND = f'{PLAIN}top_up = true\n[[fabric.face.bolt.on_hand]]\nlength = 240\nlot = "A"\n{FLAWED}'
SELVAGE = 'side_hem = "selvage"\n'
GROMMET = 'heading = "grommet"\nfinished_length = 84\nring = { size = 2, inner = "1 1/2" }\n'
CLIP = 'heading = "clip-ring"\nfinished_length = 84\n'
LINING = 'lining = "lining"\n'
FLAT = (
    'heading = "pinch-pleat"\nfinished_length = 84\nring_drop = 2\nfullness = 1\nreturns = 0\noverlap = 0\n'
)
BANDS = '[[window.band]]\nedge = "leading"\nwidth = 3\nfabric = "lining"\n'
HEMS_APART = "leading_hem = { turn = 2 }\nouter_hem = { turn = 1 }\n"
EXTRA = '[[extra]]\nname = "Cushion"\nfabric = "face"\nwidth = 18\nlength = 20\ncount = 4\n'
FOUR = "panels = 2\n"
TIES = '[[window.tieback]]\nlength = 24\nwidth = 3\ncount = 2\nfabric = "face"\n'

SOUND = {
    "washed before": ordered(BEFORE, WINDOW, BACK_TAB),
    "print of a tolerance": ordered(PRINTED, JOINED, PINCH),
    "level at the top": ordered(TOP_LEVEL, JOINED, TAB_TOP),
    "motif": ordered(MOTIF, JOINED, TAB_TOP),
    "on hand": ordered(ON_HAND, WINDOW, TAB_TOP),
    "runs on": ordered(PRINT, JOINED, PINCH, 'pair = "continuous"\n'),
    "selvage": ordered(PLAIN, LINED, JOINED, TAB_TOP, SELVAGE, LINING),
    "two panels": ordered(PLAIN, WINDOW, TAB_TOP, FOUR),
    "fixed": ordered(PLAIN, WINDOW, TAB_TOP, 'draw = "fixed"\ncovers = 20\npanels = 1\n'),
    "to the right": ordered(PLAIN, WINDOW, PINCH, 'draw = "right"\n'),
    "tabs so far apart": ordered(PLAIN, WINDOW, TAB_TOP, "tab = { spacing = 8, width = 3 }\n"),
    "so many loops": ordered(PLAIN, WINDOW, BACK_TAB, "tab = { count = 5 }\nfacing = { depth = 6 }\n"),
    "grommets": ordered(PLAIN, JOINED, GROMMET),
    "clips": ordered(PLAIN, WINDOW, CLIP, "heading_depth = 3\nring_drop = 3\n"),
    "nothing to pleat": ordered(PLAIN, WINDOW, FLAT),
    "a low lining": ordered(PLAIN, LINED, WINDOW, PINCH, LINING, "lining_cover = 2\nlining_gap = 2\n"),
    "interlined": ordered(PLAIN, LINED, WINDOW, PINCH, LINING, 'interlining = "lining"\n'),
    "bands and ties": ordered(PLAIN, LINED, WINDOW, TAB_TOP, BANDS, TIES),
    "two alike": ordered(PLAIN, WINDOW, TAB_TOP, "count = 2\n"),
    "once turned": ordered(PLAIN, WINDOW, TAB_TOP, "bottom_hem = { turn = 3, turns = 1 }\n"),
    "from the floor": ordered(PLAIN, WINDOW, 'heading = "rod-pocket"\nrod_height = 90\nclearance = -4\n'),
    "flat width": ordered(PLAIN, WINDOW, TAB_TOP, "flat_width = 50\n"),
    "on all of it": ordered(PLAIN, WINDOW, PINCH, 'fullness_on = "all"\n'),
    "half widths": ordered(PLAIN, JOINED, TAB_TOP, 'widths = "half"\n'),
    "heavy": ordered(PLAIN.replace(FACE, f'{FACE}weight = "heavy"\n'), WINDOW, TAB_TOP),
    "sheer": ordered(PLAIN.replace(FACE, f'{FACE}weight = "sheer"\n'), JOINED, TAB_TOP),
    "pencil": ordered(PLAIN, WINDOW, 'heading = "pencil-pleat"\nhangs_from = "track"\neye_height = 90\n'),
    "clips from the floor": ordered(PLAIN, JOINED, 'heading = "clip-ring"\nrod_height = 90\n'),
    "pleats": ordered(PLAIN, WINDOW, PINCH),
    "to the left": ordered(PLAIN, WINDOW, TAB_TOP, 'draw = "left"\n', HEMS_APART),
    "extras": ordered(PLAIN, WINDOW, TAB_TOP, EXTRA),
    "working": ordered(MOTIF, WINDOW, TAB_TOP, "working = 1\n"),
    "wide lining": ordered(PLAIN, LINED, JOINED, TAB_TOP, LINING),
    "pile": ordered(PILE, LINED, WINDOW, BACK_TAB, 'facing = { fabric = "lining" }\n'),
}


def part_of(name: str, key: str, part: float) -> Change:
    """Buy a part of a notion."""

    def change(made: Table) -> None:
        for entry in made["sundries"]:
            if entry["name"] == name:
                entry[key] = type(entry[key])(entry[key] * part)

    return change


def cut_off_below(made: Table) -> None:
    """Cut the working allowance off at the lower edge, where a motif is measured from."""
    for one in operations(made, "trim", "left"):
        one["edge"] = "bottom"


def joined_backward(work: str) -> Change:
    """Join a work from right to left."""

    def change(made: Table) -> None:
        for one in operations(made, "join", work):
            one["parts"].reverse()

    return change


def put(*path: Any) -> Change:
    """Set the entry at a path to its last item."""

    def change(made: Table) -> None:
        place: Any = made
        for key in path[:-2]:
            place = place[key]
        place[path[-2]] = path[-1]

    return change


def op(do: str, on: str, field: str, value: Any, edge: str = "") -> Change:
    """Set a field of the operations of a kind on a work, at an edge."""

    def change(made: Table) -> None:
        for one in operations(made, do, on):
            if edge in ("", one.get("edge")):
                one[field] = value

    return change


def no(do: str, edge: str = "", on: str = "") -> Change:
    """Leave out operations of a kind, at an edge."""

    def change(made: Table) -> None:
        without(
            made, lambda one: one["do"] == do and edge in ("", one.get("edge")) and on in ("", one.get("on"))
        )

    return change


def allowance(name: str) -> Change:
    """Leave out an allowance of what is bought."""

    def change(made: Table) -> None:
        for layout in made["layouts"]:
            if layout["buy"]:
                kept = [one for one in layout["buy"]["allowances"] if not one["name"].startswith(name)]
                layout["buy"]["allowances"] = kept

    return change


def bought(**said: Any) -> Change:
    def change(made: Table) -> None:
        for layout in made["layouts"]:
            layout["buy"] |= said

    return change


def moved_rings(made: Table) -> None:
    """One ring an inch along, its mark with it."""
    for one in operations(made, "set", "left"):
        one["at"][1] = str(int(one["at"][1].split("/")[0]) + INCH)
    for spot in made["headings"][0]["spots"][1:2]:
        spot["start"] += 1
        spot["end"] += 1


def up(number: int, ticks: int) -> Change:
    """Lay the layers of the left panel so much higher."""

    def change(made: Table) -> None:
        for one in list(operations(made, "lay", "left"))[number : number + 1]:
            one["up"] = str(int(one["up"]) + ticks)

    return change


def placed(piece: str, **said: Any) -> Change:
    def change(made: Table) -> None:
        for layout in made["layouts"]:
            for laid in layout["placements"]:
                if laid["piece"].startswith(piece):
                    laid |= said

    return change


def ordered(**said: Any) -> Change:
    def change(made: Table) -> None:
        made["order"]["windows"][0] |= said

    return change


def fewer_hooks(made: Table) -> None:
    for one in operations(made, "set", "left"):
        del one["at"][2]


def hook_in_a_pleat(made: Table) -> None:
    """The outermost one, where the first pleat is."""
    for one in operations(made, "set", "left"):
        one["at"][0] = one["at"][1]


def pleat_wider(made: Table) -> None:
    """One pleat takes 2 in more, from both spaces beside it."""
    for one in operations(made, "pleat", "left"):
        first, last = one["lines"][1]
        one["lines"][1] = [str(int(first) - INCH), str(int(last) + INCH)]


def right_reversed(made: Table) -> None:
    for one in operations(made, "join", "right"):
        one["parts"].reverse()


def an_allowance(made: Table) -> None:
    for layout in made["layouts"]:
        layout["buy"]["allowances"].append({"name": "gift", "length": 1.0})


def piece_says(id: str, key: str, value: float) -> Change:
    def change(made: Table) -> None:
        next(piece for piece in made["pieces"] if piece["id"] == id)[key] = value

    return change


def pleats_moved(made: Table) -> None:
    """All of them 1 in to the right, the marks with them."""
    for one in operations(made, "pleat", "left"):
        one["lines"] = [[str(int(first) + INCH), str(int(last) + INCH)] for first, last in one["lines"]]


def loops_lower(made: Table) -> None:
    """Loops that end beyond the facing by what they begin lower."""
    for one in operations(made, "attach"):
        one["upper"], one["lower"] = (str(int(one[key]) + INCH) for key in ("upper", "lower"))


def stitched_again(made: Table) -> None:
    for sewing in made["sewing"]:
        for step in sewing["steps"]:
            step["operations"] += [one for one in step["operations"] if one["do"] == "stitch"]


def smaller_cushion(made: Table) -> None:
    made["order"]["extras"][0]["width"] += INCH


TURNED = {"depth": 6 * INCH, "lower_edge": "turned"}
WIDER = {"edge": "leading", "width": 4 * INCH, "fabric": "lining"}
LONGER = {"length": 26 * INCH, "width": 3 * INCH, "count": 2, "fabric": "face"}
ROWS: list[tuple[str, Change, str]] = [
    ("washed before", allowance("shrinks"), "allowance shrinks"),
    ("washed before", allowance("safety"), "allowance safety"),
    ("washed before", bought(unit="m"), "bought"),
    ("washed before", put("cost", 1.0), "cost of the plan"),
    ("washed before", put("order", "fabrics", 0, "bolts", 0, "sold_by", 18288), "selling step"),
    ("washed before", put("order", "fabrics", 0, "bolts", 0, "width", 50 * INCH), "bolt"),
    ("print of a tolerance", allowance("bow"), "allowance bow"),
    ("print of a tolerance", allowance("drift"), "allowance drift"),
    ("print of a tolerance", allowance("unknown"), "allowance unknown"),
    ("print of a tolerance", put("order", "fabrics", 0, "repeat", "width", 26 * INCH), "print"),
    ("print of a tolerance", put("order", "fabrics", 0, "repeat", "drop", "1/3"), "print"),
    ("print of a tolerance", placed("east/left/1", letter="C"), "letter C"),
    ("print of a tolerance", placed("east/left/1", start_line=3.3), "line at"),
    ("level at the top", put("pieces", 0, "match", "y", -3.0), "match.y"),
    ("motif", put("order", "fabrics", 0, "motif", "height", 12 * INCH), "match.y"),
    ("on hand", put("order", "fabrics", 0, "bolts", 0, "on_hand", 0, "lot", "B"), "lot"),
    ("on hand", put("order", "fabrics", 0, "bolts", 0, "on_hand", 0, "usable", 40 * INCH), "usable"),
    ("on hand", put("order", "fabrics", 0, "bolts", 0, "on_hand", 0, "name", "x"), "length on hand"),
    (
        "on hand",
        put("order", "fabrics", 0, "bolts", 0, "on_hand", 0, "flaws", [{"at": 20 * INCH, "length": INCH}]),
        "the flaw",
    ),
    ("runs on", ordered(overlap=0), "the end of|wide|flat"),
    ("selvage", ordered(leading_hem={"turn": INCH}, outer_hem={"turn": INCH}), "edge: raw|edge is raw"),
    ("selvage", op("fold", "left lining", "turns", ["3000"], "left"), "lining"),
    ("two panels", put("panels", 1, "side", "left"), "side"),
    ("two panels", put("panels", 1, "finished", 3.0), "finished"),
    ("two panels", put("panels", 0, "left_hem", 1.0), "left_hem"),
    ("two panels", put("panels", 0, "count", 2), "count"),
    ("two panels", put("panels", 0, "flat", 20.0), "flat"),
    ("two panels", put("headings", 0, "width", 20.0), "heading, width"),
    ("two panels", put("pieces", 0, "optional", True), "optional"),
    ("two panels", put("pieces", 0, "room", "Attic"), "Attic"),
    ("two panels", piece_says("east/left/facing", "side", "right"), "at the right"),  # type: ignore[arg-type]
    ("two panels", ordered(finished_length=None), "no length"),
    ("on hand", put("layouts", 0, "squaring", 1.0), "a length on hand|squaring"),
    ("two panels", put("pieces", 0, "side", "right"), "side"),
    ("two panels", put("pieces", 0, "finished_width", 20.0), "finished_width"),
    ("two panels", put("pieces", 0, "hem_line", 7.0), "hem_line"),
    ("fixed", ordered(covers=22 * INCH), "wide lying flat"),
    ("tabs so far apart", ordered(tab={"spacing": 5 * INCH, "width": 3 * INCH}), "tabs"),
    ("tabs so far apart", ordered(tab={"spacing": 8 * INCH, "width": 2 * INCH}), "tab, width|tabs"),
    ("so many loops", ordered(tab={"count": 6}, facing={"depth": 6 * INCH}), "loops"),
    ("so many loops", ordered(tab={"count": 5}, facing={"depth": 5 * INCH}), "facing, depth"),
    ("so many loops", ordered(tab={"count": 5, "length": 5 * INCH}), "loop, length"),
    ("so many loops", ordered(tab={"count": 5}, facing=TURNED), "lower edge"),
    ("grommets", moved_rings, "ring 2 at"),
    ("grommets", op("set", "left", "size", str(INCH)), "hole|no room"),
    ("grommets", op("set", "left", "down", "4000"), "hole below"),
    ("grommets", op("fold", "left", "over", "", "top"), "top:"),
    ("grommets", ordered(ring={"size": 2 * INCH, "inner": 3 * INCH // 2, "count": 6}), "rings"),
    ("grommets", ordered(rod_diameter=2 * INCH), "no room"),
    ("clips", op("fold", "left", "turns", ["2032", "2032"], "top"), "on its line"),
    ("clips", op("set", "left", "down", "500"), "clip below"),
    ("clips", ordered(ring={"count": 5}), "clips"),
    ("nothing to pleat", op("set", "left", "down", "3000"), "hook below"),
    ("nothing to pleat", no("sew", "top"), "top is basted"),
    ("nothing to pleat", moved_rings, "hook 2 at"),
    ("a low lining", up(0, 1000), "lining above"),
    ("a low lining", op("fold", "left lining", "turns", ["4064"], "bottom"), "lining hem"),
    ("a low lining", ordered(lining_cover=3 * INCH), "lining begins"),
    ("a low lining", op("lay", "left", "tucked", ["left"]), "under the side hem"),
    ("a low lining", op("lay", "left", "face", "front"), "lining in front"),
    ("interlined", up(0, 1000), "interlining|lining"),
    ("interlined", ordered(interlining="face"), "interlining of"),
    ("bands and ties", no("tube", on="east/tieback"), "tie-back"),
    ("bands and ties", ordered(tiebacks=[LONGER]), "tie-backs"),
    ("bands and ties", ordered(bands=[WIDER]), "no band"),
    ("bands and ties", ordered(bands=[]), "pieces of band"),
    ("bands and ties", up(0, 2000), "no band"),
    ("two alike", ordered(count=3), "windows alike|count"),
    ("once turned", no("overcast", "bottom", "left"), "bottom edge is raw"),
    ("once turned", no("sew", "bottom"), "hem basted"),
    ("once turned", op("fold", "left", "over", "buckram", "bottom"), "over buckram"),
    ("from the floor", ordered(clearance=0), "above the floor"),
    ("from the floor", ordered(heading_depth=2 * INCH), "heading"),
    ("from the floor", ordered(pocket=3 * INCH), "pocket"),
    ("from the floor", op("fold", "left", "turns", ["900", "6000"], "top"), "top|row"),
    ("flat width", ordered(flat_width=51 * INCH), "wide lying flat"),
    ("on all of it", ordered(fullness_on="rod"), "wide lying flat"),
    ("half widths", ordered(widths="exact"), "rounding may add"),
    ("heavy", put("order", "fabrics", 0, "weight", "medium"), "edge: fold"),
    ("sheer", put("order", "fabrics", 0, "weight", "medium"), "bottom edge"),
    ("pencil", op("set", "left", "down", "4000"), "hook below"),
    ("pencil", fewer_hooks, "hooks"),
    ("pencil", ordered(eye_height=91 * INCH), "above the floor"),
    ("pencil", ordered(hook_row="bottom"), "hook below|above the floor"),
    ("pencil", op("draw", "left", "by", "20000"), "once drawn in"),
    ("clips from the floor", ordered(rod_height=91 * INCH), "above the floor"),
    ("clips from the floor", ordered(ring_drop=4 * INCH), "above the floor"),
    ("pleats", fewer_hooks, "hooks"),
    ("pleats", hook_in_a_pleat, "hooks behind|hooks at the edges"),
    ("pleats", pleat_wider, "pleat|space|flat at"),
    ("pleats", ordered(pleat={"space": 6 * INCH}), "pleats"),
    ("pleats", ordered(pleat={"lead": 3 * INCH}), "flat at"),
    ("pleats", ordered(pleat={"buckram": 5 * INCH}), "top, turn"),
    ("half widths", right_reversed, "mirror of"),
    ("half widths", put("pieces", 0, "role", "cushion"), "what is sewn|no such piece"),
    ("half widths", no("face"), "pieces of facing|left on the table"),
    ("half widths", an_allowance, "allowance gift"),
    ("half widths", put("panels", []), "panels and"),
    ("extras", lambda made: dropped(made, lambda id: "cushion" in id), "Cushion"),
    ("extras", smaller_cushion, "Cushion"),
    ("extras", put("order", "extras", 0, "optional", True), "Cushion"),
    ("extras", put("headings", 0, "side", "right"), "heading of"),
    ("extras", put("headings", 0, "arithmetic", 0, "x"), "the sum of"),
    ("extras", put("panels", 0, "arithmetic", 0, "x"), "the sum of"),
    ("grommets", put("panels", 0, "seams", 0, 20.0), "seam 1"),
    ("a low lining", piece_says("east/left/lining/1", "finished_length", 70.0), "finished_length"),
    ("a low lining", piece_says("east/left/lining/1", "hem_line", 3.0), "hem_line"),
    ("pleats", pleats_moved, "flat at the left edge"),
    ("so many loops", loops_lower, "below the top edge|loop ends"),
    ("from the floor", stitched_again, "pockets"),
    ("nothing to pleat", fewer_hooks, "hooks"),
    ("bands and ties", no("fold", "left", "east/left/band"), "band"),
    ("to the left", ordered(draw="right"), "edge: fold"),
    ("pile", placed("east/tabs", arrow="down"), "nap of"),
    ("pile", ordered(facing={"fabric": "face"}), "facing of"),
    ("pile", put("order", "units", "cm"), "planned in"),
    ("pleats", part_of("buckram", "length", 0.5), "of buckram to buy"),
    ("pleats", part_of("rings with eyes", "count", 0.5), "rings with eyes to buy"),
    ("pencil", part_of("gliders", "count", 2), "gliders or"),
    ("pencil", part_of("pencil-pleat tape", "length", 0.9), "tape to buy"),
    ("grommets", part_of("stiffener", "length", 0.9), "stiffener to buy"),
    ("grommets", part_of("weights", "count", 0.5), "weights to buy"),
    ("grommets", part_of("thread", "length", 0.5), "thread to buy"),
    ("working", cut_off_below, "from the hem line"),
    ("wide lining", joined_backward("left lining"), "what its label says"),
    ("wide lining", joined_backward("right"), "what its label says"),
]  # fmt: skip


@pytest.mark.parametrize("name", SOUND)
def test_what_is_planned_passes(name: str) -> None:
    assert found(SOUND[name]) == []


@pytest.mark.parametrize("number", range(len(ROWS)))
def test_a_change_is_found(number: int) -> None:
    name, change, words = ROWS[number]
    wrong = found(changed(SOUND[name], change))
    assert any(word in one for one in wrong for word in words.split("|")), (name, words, wrong[:6])
