"""The check sews every plan: what is planned passes, and ways to cut or sew wrongly are found by it alone.

Each is put into a document that agrees with itself as far as it can; only `check_sewing` looks at it.
"""

from __future__ import annotations

from fractions import Fraction

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
    WASHED,
    WINDOW,
    Change,
    Table,
    changed,
    document,
    dropped,
    found,
    operations,
    ordered,
    resized,
    without,
)

from nesting.check import check_plan_document, unjudged
from nesting.commands.proofs import proof_lines
from nesting.files import plan_document, read_job_text
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.sewing import Trim


def ticks(size: str) -> str:
    return str(Fraction(size) * INCH)


def bottom_on_a_raw_edge(made: Table) -> None:
    """Turned once, what the other turn would take cut off."""
    for one in operations(made, "chalk"):
        if one["edge"] == "bottom":
            one |= {"do": "trim", "off": ticks("4")}
            del one["inward"]
    for one in operations(made, "fold"):
        if one["edge"] == "bottom" and one["on"] in ("left", "right"):
            one["turns"] = [ticks("4")]


def side_on_a_raw_edge(made: Table) -> None:
    for one in operations(made, "chalk"):
        if one["edge"] == "left":
            one |= {"do": "trim", "off": ticks("1")}
            del one["inward"]
    for one in operations(made, "fold"):
        if one["edge"] == "left" and one["on"] in ("left", "right"):
            one["turns"] = [ticks("1")]


def shorter_tabs(made: Table) -> None:
    resized(made, "east/tabs", length=-1)


def one_tab_less(made: Table) -> None:
    """On each panel, the others spread evenly, and none cut for it."""
    for one in operations(made, "insert"):
        last = Fraction(one["at"][-1])
        count = len(one["at"]) - 1
        one["at"] = [str(last * number / (count - 1)) for number in range(count)]
        width = 2 * INCH
        spots = next(h for h in made["headings"] if h["side"] == one["on"])
        spots["spots"] = [
            {"kind": "tab", "number": n, "start": float(Fraction(at) / INCH),
             "end": float((Fraction(at) + width) / INCH)}
            for n, at in enumerate(one["at"], 1)
        ]  # fmt: skip
    tabs = next(piece for piece in made["pieces"] if piece["role"] == "tab")
    tabs["copies"] -= 2
    for layout in made["layouts"]:
        layout["placements"] = [
            one for one in layout["placements"]
            if one["piece"] != tabs["id"] or one["copy"] <= tabs["copies"]
        ]  # fmt: skip


def a_thick_rod(made: Table) -> None:
    """Both ordered and cut: loops of 3 in over a rod of 1 1/2."""
    short = Fraction(made["order"]["windows"][0]["tab"]["length"], INCH) - 3
    made["order"]["windows"][0]["tab"]["length"] = 3 * INCH
    made["order"]["windows"][0]["rod_diameter"] = 3 * INCH // 2
    resized(made, "east/tabs", length=-float(short))


def from_the_rod(made: Table) -> None:
    """The height that was measured is that of the rod, and was taken for that of the eyes."""
    window = made["order"]["windows"][0]
    window |= {"hangs_from": "rings", "rod_height": window.pop("eye_height"), "ring_drop": 2 * INCH}


def seam_on_the_fold(made: Table) -> None:
    """The outer width shows nothing: its seam lies on the fold of the side hem."""
    outer = min((p for p in made["pieces"] if "/left/" in p["id"]), key=lambda p: p["width"])
    less = outer["width"] - 2.5
    for side in ("left", "right"):
        resized(made, f"east/{side}/2", width=-less)
        resized(made, f"east/{side}/1", width=less)


def untrimmed(made: Table) -> None:
    without(made, lambda one: one["do"] == "trim" and one["edge"] == "top")


def loops_under_the_facing(made: Table) -> None:
    for one in operations(made, "attach"):
        one["on"] = one["on"].removesuffix(" facing")


def loop_at_the_edge(made: Table) -> None:
    for one in operations(made, "attach"):
        one["at"][0] = "0"
    for heading in made["headings"]:
        heading["spots"][0] |= {"start": 0.0, "end": 2.0}


def no_take_up(made: Table) -> None:
    """The rod takes up 5/16 of which nothing was cut."""
    for side in ("left", "right"):
        resized(made, f"east/{side}/1", length=-5 / 16)


def unwashed(made: Table) -> None:
    without(made, lambda one: one["do"] == "wash")


def left_to_right(made: Table) -> None:
    """What is labeled for the left is joined to the right panel, and the other way round."""
    for one in operations(made, "join"):
        one["into"] = one["into"].replace("left", "x").replace("right", "left").replace("x", "right")


def wrong_way_round(made: Table) -> None:
    for one in operations(made, "join"):
        one["parts"].reverse()


def nap_upside_down(made: Table) -> None:
    """One panel laid head to tail; nap and groups of all pieces rewritten so that they allow it."""
    for piece in made["pieces"]:
        piece |= {"nap": "two-way", "arrow_group": None}
    for layout in made["layouts"]:
        for one in layout["placements"]:
            if one["piece"].startswith("east/right/1"):
                one["arrow"] = "down"


def lining_too_low(made: Table) -> None:
    """Shorter by what goes up under the facing, and no overlap left."""
    for side in ("left", "right"):
        resized(made, f"east/{side}/lining/1", length=-1)


WRONG: dict[str, tuple[Table, Change, str]] = {}


def case(name: str, made: Table, change: Change, words: str) -> None:
    WRONG[name] = (made, change, words)


JOINED = WINDOW.replace("rod = 60", "rod = 84")
case("bottom hem on a raw edge", ordered(PLAIN, WINDOW, TAB_TOP), bottom_on_a_raw_edge, "bottom edge is raw")
case("side hem on a raw edge", ordered(PLAIN, WINDOW, TAB_TOP), side_on_a_raw_edge, "left edge is raw")
case("tabs too short", ordered(PLAIN, WINDOW, TAB_TOP), shorter_tabs, "tab, length")
case("tab count", ordered(PLAIN, WINDOW, TAB_TOP), one_tab_less, "tabs")
case(
    "rod that cannot pass",
    ordered(PLAIN, WINDOW, TAB_TOP, "tab = { length = 8 }\n"), a_thick_rod, "leave no room",
)  # fmt: skip
case(
    "rod height for eye height",
    ordered(PLAIN, '[[window]]\nname = "East"\nrod = 60\neye_height = 90\nheading = "pinch-pleat"\n'),
    from_the_rod, "above the floor",
)  # fmt: skip
case("seam on the hem fold", ordered(PLAIN, JOINED, TAB_TOP), seam_on_the_fold, "clear of its hem")
case(
    "working allowance untrimmed",
    ordered(PILE, WINDOW, TAB_TOP, 'working = "1/2"\n'), untrimmed, "long as it hangs",
)  # fmt: skip
case("loops covered", ordered(PLAIN, WINDOW, BACK_TAB), loops_under_the_facing, "under what is sewn on next")
case("loop at the edge", ordered(PLAIN, WINDOW, BACK_TAB), loop_at_the_edge, "center of loop 1")
case(
    "pocket take-up",
    ordered(PLAIN, WINDOW, 'heading = "rod-pocket"\nfinished_length = 84\n'), no_take_up, "as it hangs",
)  # fmt: skip
case("unwashed sizes", ordered(WASHED, WINDOW, TAB_TOP), unwashed, "wide")
case("left sewn to right", ordered(PLAIN, JOINED, TAB_TOP), left_to_right, "widths labeled")
case("widths the wrong way round", ordered(PLAIN, JOINED, PINCH), wrong_way_round, "clear of its hem|cuts")
case("nap upside down", ordered(PILE, WINDOW, TAB_TOP), nap_upside_down, "nap of east/right/1 down")
case(
    "lining without overlap",
    ordered(PLAIN, LINED, WINDOW, TAB_TOP, 'lining = "lining"\n'), lining_too_low, "raw top of its lining",
)  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_way_is_found_by_sewing_alone(name: str) -> None:
    made, change, words = WRONG[name]
    assert found(made) == []
    wrong = found(changed(made, change))
    assert any(word in one for one in wrong for word in words.split("|")), wrong


def no_right_panel(made: Table) -> None:
    """All of it gone but the order: pieces, places, figures, steps."""
    dropped(made, lambda id: id.startswith("east/right"))
    made["panels"] = [one for one in made["panels"] if one["key"] != "right"]
    made["headings"] = [one for one in made["headings"] if one["side"] != "right"]
    names = ("on", "into", "facing", "layer", "loops")
    without(made, lambda one: any(str(one.get(name, "")).startswith("right") for name in names))


def no_pieces(made: Table) -> None:
    dropped(made, lambda id: True)
    made |= {"panels": [], "headings": [], "sewing": [], "sundries": []}


def no_lining(made: Table) -> None:
    dropped(made, lambda id: "/lining" in id)
    without(made, lambda one: any("lining" in str(value) for value in one.values()))


def no_match(made: Table) -> None:
    """Nothing says that there is a print; one width lies elsewhere in it."""
    for piece in made["pieces"]:
        piece["match"] = None
    for layout in made["layouts"]:
        layout |= {"repeat": None, "start": None}
        if layout["fabric"] == "face":
            layout["placements"][0]["y"] += 5


def half_a_repeat(made: Table) -> None:
    """One width half a repeat higher, and what the document says of the print rewritten so that it fits."""
    for layout in made["layouts"]:
        for one in layout["placements"]:
            if one["piece"] == "east/left/2":
                one["y"] += 12
    for piece in made["pieces"]:
        if piece["id"] == "east/left/2":
            piece["match"] = None


def ten_yards_more(made: Table) -> None:
    for layout in made["layouts"]:
        buy = layout["buy"]
        buy["quantity"] += 10
        buy["total"] += 360
        buy["cost"] = round(buy["quantity"] * buy["price"], 2)
    made["cost"] = sum(layout["buy"]["cost"] for layout in made["layouts"])


def no_squaring(made: Table) -> None:
    """Neither cut off nor bought; the quantity is what is then needed."""
    for layout in made["layouts"]:
        layout["squaring"] = 0.0
        buy = layout["buy"]
        buy["allowances"] = []
        steps = -(-layout["length"] // buy["step"])
        buy |= {"quantity": steps * buy["step"] / 36, "total": steps * buy["step"]}
        buy["cost"] = round(buy["quantity"] * buy["price"], 2)
    made["cost"] = sum(layout["buy"]["cost"] for layout in made["layouts"])


def cheaper(made: Table) -> None:
    for layout in made["layouts"]:
        buy = layout["buy"]
        buy["price"] = 9.0
        buy["cost"] = round(buy["quantity"] * 9, 2)
    made["cost"] = sum(layout["buy"]["cost"] for layout in made["layouts"])


def term(target: str, label: str, amount: str) -> Change:
    """A term of a sum, in the first panel's cut length."""

    def change(made: Table) -> None:
        for one in made["pieces"][0]["steps"][target]["terms"]:
            if one["label"] == label:
                one["amount"] = amount

    return change


def two_terms(made: Table) -> None:
    """The finished length and the hem both changed, so that the sum is the same."""
    for one in made["pieces"][0]["steps"]["length"]["terms"]:
        if one["label"] == "finished length":
            one["amount"] = str(int(one["amount"]) + 2 * INCH)
        if one["label"] == "bottom hem":
            one["amount"] = str(int(one["amount"]) - INCH)
    made["pieces"][0]["arithmetic"][0] = (
        "cut length: finished length 86 + top seam 1/2 + bottom hem 3 x 2 = 92 1/2 in"
    )


def another_line(made: Table) -> None:
    made["pieces"][0]["arithmetic"][0] = made["pieces"][0]["arithmetic"][0].replace("84", "85")


def a_tab_elsewhere(made: Table) -> None:
    made["headings"][0]["spots"][2]["start"] += 0.25
    made["headings"][0]["spots"][2]["end"] += 0.25


def ordered_anew(**said: object) -> Change:
    def change(made: Table) -> None:
        made["order"]["windows"][0] |= said

    return change


def more_hooks(made: Table) -> None:
    next(one for one in made["sundries"] if one["name"] == "hooks")["count"] += 1


#: What is written otherwise than ordered, in documents that were consistent enough before.
REWRITTEN = {
    "a panel dropped": (ordered(PLAIN, WINDOW, TAB_TOP), no_right_panel, "right panel missing"),
    "all pieces dropped": (ordered(PLAIN, WINDOW, TAB_TOP), no_pieces, "no sewing"),
    "a lining dropped": (
        ordered(PLAIN, LINED, WINDOW, TAB_TOP, 'lining = "lining"\n'), no_lining, "pieces of lining",
    ),
    "match dropped": (ordered(PRINT, JOINED, TAB_TOP), no_match, "no print"),
    "half a repeat": (ordered(PRINT, JOINED, TAB_TOP), half_a_repeat, "print of east/left"),
    "10 yd too many": (ordered(PLAIN, WINDOW, TAB_TOP), ten_yards_more, "what is needed"),
    "squaring gone": (ordered(PLAIN, WINDOW, TAB_TOP), no_squaring, "squaring 0"),
    "another price": (ordered(PLAIN, WINDOW, TAB_TOP), cheaper, "price 9.00"),
    "a term": (ordered(PLAIN, WINDOW, TAB_TOP), term("length", "bottom hem", "4064"), "its sum"),
    "two terms": (ordered(PLAIN, WINDOW, TAB_TOP), two_terms, "what was ordered"),
    "a line": (ordered(PLAIN, WINDOW, TAB_TOP), another_line, "finished length"),
    "a tab's place": (ordered(PLAIN, WINDOW, TAB_TOP), a_tab_elsewhere, "tab 3 at"),
    "rod": (ordered(PLAIN, WINDOW, TAB_TOP), ordered_anew(rod=62 * INCH), "wide lying flat"),
    "fullness": (ordered(PLAIN, WINDOW, TAB_TOP), ordered_anew(fullness="2"), "wide lying flat"),
    "length": (ordered(PLAIN, WINDOW, TAB_TOP), ordered_anew(finished_length=85 * INCH), "as it hangs"),
    "hem": (
        ordered(PLAIN, WINDOW, TAB_TOP), ordered_anew(bottom_hem={"turn": 3 * INCH}), "bottom edge: fold",
    ),
    "panels": (ordered(PLAIN, WINDOW, TAB_TOP), ordered_anew(panels=4), "panel missing"),
    "a band": (
        ordered(PLAIN, LINED, WINDOW, TAB_TOP),
        ordered_anew(bands=[{"edge": "hem", "width": 4 * INCH, "fabric": "face"}]), "pieces of band",
    ),
    "a tie-back": (
        ordered(PLAIN, WINDOW, TAB_TOP),
        ordered_anew(tiebacks=[{"length": 20 * INCH, "width": 3 * INCH, "count": 2, "fabric": "face"}]),
        "tie-backs",
    ),
    "pleats": (ordered(PLAIN, WINDOW, PINCH), ordered_anew(pleat={"count": 5}), "pleats"),
    "returns": (ordered(PLAIN, WINDOW, PINCH), ordered_anew(returns=5 * INCH), "wide"),
    "overlap": (ordered(PLAIN, WINDOW, PINCH), ordered_anew(overlap=0), "wide"),
    "heading": (ordered(PLAIN, WINDOW, PINCH), ordered_anew(heading="pencil-pleat"), "top:"),
    "notions": (ordered(PLAIN, WINDOW, PINCH), more_hooks, "hooks to buy"),
}  # fmt: skip


@pytest.mark.parametrize("name", REWRITTEN)
def test_what_was_rewritten_is_found_by_sewing_alone(name: str) -> None:
    made, change, words = REWRITTEN[name]
    assert found(made) == []
    wrong = found(changed(made, change))
    assert any(words in one for one in wrong), wrong


def test_an_extra_that_is_not_cut_is_missed() -> None:
    extra = '[[extra]]\nname = "Cushion"\nfabric = "face"\nwidth = 18\nlength = 18\ncount = 4\n'
    made = document(PLAIN, extra)
    assert found(made) == []
    assert any("Cushion" in one for one in found(changed(made, lambda it: dropped(it, lambda id: True))))


def test_without_its_sewing_a_plan_is_not_refused_but_told() -> None:
    made = document(PLAIN, WINDOW, TAB_TOP)
    assert not list(unjudged(made))
    for key, words in (("sewing", "how they are sewn"), ("order", "what was ordered")):
        less = {name: value for name, value in made.items() if name != key}
        assert check_plan_document(less) == ()
        assert any(words in line for line in unjudged(less))


def test_several_windows_alike_are_each_sewn() -> None:
    """Of a print every one has pieces of its own; one of the second window hung too low is found."""
    made = document(PRINT, JOINED, TAB_TOP, "count = 2\n")
    assert found(made) == []

    def lower(made: Table) -> None:
        for layout in made["layouts"]:
            for one in layout["placements"]:
                if one["piece"] == "east/2/left/2":
                    one["y"] += 3

    assert any('"East" 2, left panel: print of' in one for one in found(changed(made, lower)))


ON_A_TRACK = 'hangs_from = "track"\neye_height = 90\n'
GROMMETS = 'ring = { size = 2, inner = "1 1/2" }\n'
#: Documents that must pass, with every heading and layer in some way; tests/mutants.py runs them too.
SOUND = [
    ordered(PLAIN, WINDOW, BACK_TAB),
    ordered(PLAIN, JOINED, TAB_TOP),
    ordered(PILE, WINDOW, TAB_TOP, 'working = "1/2"\n'),
    ordered(WASHED, JOINED, 'heading = "rod-pocket"\nfinished_length = 84\n'),
    ordered(PRINT, JOINED, PINCH),
    ordered(PLAIN, LINED, WINDOW, PINCH, 'lining = "lining"\ninterlining = "lining"\n'),
    ordered(PLAIN, LINED, JOINED, TAB_TOP, 'lining = "lining"\nlining_style = "tube"\n'),
    ordered(PLAIN, WINDOW, 'heading = "grommet"\nfinished_length = 84\n', GROMMETS),
    ordered(PLAIN, JOINED, 'heading = "clip-ring"\nrod_height = 90\n'),
    ordered(PLAIN, WINDOW, 'heading = "pencil-pleat"\ndraw = "left"\n', ON_A_TRACK),
    ordered(PLAIN, WINDOW, 'heading = "rod-pocket"\nrod_height = 90\nrod_depth = "1/2"\n'),
    ordered(
        PLAIN, LINED, WINDOW, TAB_TOP,
        '[[window.band]]\nedge = "leading"\nwidth = 3\nfabric = "lining"\n'
        '[[window.tieback]]\nlength = 24\nwidth = 3\ncount = 2\nfabric = "lining"\n',
    ),
    ordered(PLAIN, WINDOW, TAB_TOP, '[[window.band]]\nedge = "hem"\nwidth = 4\nfabric = "face"\n'),
    ordered(PLAIN, '[[extra]]\nname = "Cushion"\nfabric = "face"\nwidth = 18\nlength = 18\ncount = 4\n'),
]  # fmt: skip


@pytest.mark.parametrize("number", range(len(SOUND)))
def test_what_is_planned_passes(number: int) -> None:
    assert found(SOUND[number]) == []


def test_a_bound_set_to_the_length_is_not_called_the_best_possible() -> None:
    """No rule is broken by it, for nobody can tell: so it is told that nothing here has shown it."""
    made = document(PRINT, JOINED, PINCH)

    def bounded(made: Table) -> None:
        for layout in made["layouts"]:
            layout |= {"lower_bound": layout["length"], "status": "optimal", "stop": "proved"}
            layout |= {"bound_certificate": None, "gap": 0.0}

    claimed = changed(made, bounded)
    assert check_plan_document(claimed) == ()
    lines = list(proof_lines(claimed))
    assert lines
    assert not any("is the best possible" in line for line in lines)


SHORT = """
units = "in"
[fabric.face]
shrinkage = { length = 6, width = 2, washed = "after" }
[[fabric.face.bolt]]
width = 36
usable = 35
[[fabric.face.bolt.on_hand]]
length = 200
[[window]]
name = "West"
heading = "rod-pocket"
rod = 90
finished_length = 60
rod_diameter = 1
draw = "right"
side_hem = "selvage"
"""


def test_selvages_of_what_is_not_cut_yet_are_those_it_is_listed_with() -> None:
    # The sides are the selvages of widths that the length on hand does not hold, and nothing is cut off them.
    plan = make_plan(read_job_text(SHORT), effort=Effort(work=0.05, workers=1))
    assert plan.short
    assert not any(
        isinstance(one, Trim) and one.edge in ("left", "right")
        for step in plan.sewing[0].steps
        for one in step.operations
    )
    assert check_plan_document(plan_document(plan)) == ()
