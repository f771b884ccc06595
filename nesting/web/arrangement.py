"""In which order and under which headings the keys of a job file stand on the page, and what they are called.

A key that is new to the job file needs nothing here: it comes under "More" with its own description.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from nesting.files.window_settle import is_used
from nesting.headings import HEADINGS, OWN_SIZES, USUAL
from nesting.headings.hanging import hanging_of
from nesting.units import Unit


@dataclass(frozen=True, slots=True)
class Group:
    """Keys that belong together; in sight where they have no title, else folded away under a question."""

    title: str
    keys: tuple[str, ...]


#: What is measured comes first; the rest is folded away, by what a maker would ask.
GROUPS: Final[dict[str, tuple[Group, ...]]] = {
    "job": (
        Group("", ("title", "units", "currency")),
        Group("How is it cut, what more is bought?", ("squaring", "cutting", "table", "safety", "windows")),
    ),
    "fabric": (
        Group("", ("repeat",)),
        Group("What is it called, which way is it smooth?", ("name", "nap", "arrow", "hidden_nap")),
        Group(
            "The print must match",
            ("level", "start", "measured_repeat", "motif", "tolerance", "cutting_gap", "hem_edge"),
        ),
        Group("It will be washed, or is sheer or heavy", ("shrinkage", "weight")),
        Group("I want some more, or all from one lot", ("safety", "one_lot")),
    ),
    "bolt": (
        Group("", ("width", "price")),
        Group("How much of its width is usable, and how is it sold?", ("usable", "match", "sold_by")),
        Group("I have some already", ("top_up", "lot", "on_hand")),
    ),
    "window": (
        Group("", ("heading",)),
        Group("", ("rod", "finished_length", "rod_height", "eye_height")),
        Group(
            "What does it hang from, and how high above the floor?",
            ("rod_diameter", "rod_depth", "hangs_from", "ring_drop", "clearance"),
        ),
        Group(
            "How full, and how many panels?",
            ("fullness", "draw", "covers", "panels", "overlap", "flat_width", "fullness_on"),
        ),
        Group("My rod sticks out from the wall", ("returns",)),
        Group(
            "I want a lining",
            ("lining", "lining_hem", "lining_cover", "lining_gap", "lining_style", "interlining"),
        ),
        Group(
            "Where may the seams be?",
            ("pair", "widths", "least_part_width", "part_at", "part_width", "part_pieces", "railroad"),
        ),
        Group(
            "I want other hems, seams or extra length",
            ("bottom_hem", "side_hem", "leading_hem", "outer_hem", "seam", "working", "squaring"),
        ),
        Group(
            "I want other sizes at the top",
            (
                "tab", "facing", "pleat", "ring", "heading_depth", "pocket", "take_up", "tape", "hook_row",
                *OWN_SIZES,
            ),
        ),
        Group("I want bands or tie-backs", ("band", "tieback")),
        Group(
            "What is it called, in which room, of which fabric, how many?",
            ("name", "room", "count", "fabric", "priority"),
        ),
    ),
    "extra": (
        Group("", ("name", "fabric", "width", "length", "count", "optional")),
        Group("Where does it belong?", ("window", "room", "matched", "turnable", "priority")),
    ),
}  # fmt: skip

_LABELS: Final[dict[str, str]] = {
    ".tieback": "Tie-backs",
    ".band": "Bands",
    ".on_hand": "Lengths on hand",
    ".flaws": "Flaws to cut around",
    "fabric.repeat": "Pattern",
    "fabric.shrinkage": "Shrinkage in the wash",
    "repeat.drop_from": "Where the step of the drop is",
    "repeat.drop": "Pattern match",
    "job.title": "Title",
    "job.units": "Measured in",
    "job.currency": "Currency",
    "job.squaring": "Cut off to square the end",
    "fabric.name": "What it is called",
    "fabric.nap": "Nap",
    "fabric.arrow": "Which way feels smooth when it hangs?",
    "fabric.level": "The pattern is level at",
    "fabric.start": "Pattern at the squared end",
    "fabric.hidden_nap": "Nap of hidden pieces",
    "fabric.hem_edge": "Selvage that is the hem",
    "repeat.length": "Repeat along the bolt",
    "repeat.width": "Repeat across",
    "bolt.width": "Width of the fabric",
    "bolt.usable": "Usable width",
    "bolt.match": "Match, seam line to seam line",
    "bolt.price": "Price per {sold}",
    "bolt.sold_by": "Sold in steps of",
    "bolt.top_up": "Buy more if these are not enough",
    "window.name": "Name",
    "window.count": "How many alike",
    "window.rod": "Rod, end to end",
    "window.finished_length": "Finished length",
    "window.rod_diameter": "Rod, thickest part",
    "window.rod_depth": "Flat rod, from front to back",
    "window.hangs_from": "Hangs from",
    "window.rod_height": "or floor to top of rod",
    "window.ring_drop": "Rings: top of rod to bottom of eye or clip",
    "window.eye_height": "or floor to the hook's hole",
    "ring.inner": "Inner diameter",
    "ring.size": "Outer diameter",
    "tab.length": "Length of the whole loop",
    "tab.spacing": "From center to center",
    "tab.gap": "Gap below the rod",
    "window.clearance": "Hem above the floor",
    "window.fullness": "Fullness",
    "window.fullness_on": "Fullness applies to",
    "window.draw": "Panels",
    "window.covers": "Rod that each fixed panel covers",
    "window.panels": "Number of panels",
    "window.returns": "Return, each side",
    "window.overlap": "Overlap in the middle",
    "window.flat_width": "Flat width of a panel",
    "window.pair": "Pattern of the pair",
    "window.widths": "Part-widths",
    "window.least_part_width": "Narrowest strip that may show",
    "window.railroad": "Fabric turned sideways",
    "window.seam": "Seam allowance",
    "window.working": "Working allowance, each panel width",
    "window.leading_hem": "Leading edge alone",
    "window.outer_hem": "Outer edge alone",
    "window.hook_row": "Row of hooks",
    "window.lining_cover": "Face covers the lining, from the top",
    "window.lining_gap": "Lining stays above the lower edge by",
    "window.lining_style": "How the lining is made up",
    "window.take_up": "Taken up by the rod",
    "hem.turn": "depth of a turn",
    "hem.turns": "turns",
    "extra.length": "Length to cut",
    "extra.width": "Width to cut",
    "extra.count": "How many",
    "extra.optional": "Only from what is left over",
    "on_hand.usable": "Usable width",
    "flaws.at": "Begins, from the squared end",
    "flaws.from_left": "Begins, from the left edge",
    "shrinkage.length": "Length lost, percent",
    "shrinkage.width": "Width lost, percent",
}

WORDS: Final[dict[str, str]] = {
    "column": "from column to column, inside the width too",
    "selvage": "only from selvage to selvage",
    **{name: style.title for name, style in HEADINGS.items()},
    "in": "inches",
    "cm": "centimeters",
    "mm": "millimeters",
    "pair": "a pair, parting in the middle",
    "left": "one panel, draws left",
    "right": "one panel, draws right",
    "fixed": "fixed at the sides",
    "rod": "the rod itself",
    "rings": "rings on the rod",
    "track": "a track",
    "one-way": "one way",
    "two-way": "two ways",
    "none": "none",
    "hem": "the finished hem",
    "top": "the top edge",
    "floor": "the floor",
    "true": "yes",
    "false": "no",
}

#: What stands in a choice that is left open.
OPEN: Final[dict[str, str]] = {
    "job.units": "inches",
    "fabric.nap": "none",
    "fabric.arrow": "up",
    "fabric.level": "usual: the finished hem",
    "fabric.hidden_nap": "usual: kept",
    "fabric.hem_edge": "usual: the right one",
    "fabric.weight": "not given",
    "window.heading": "usual: back tab",
    "window.draw": "usual: a pair",
    "window.hangs_from": "usual: rings if the rod's thickness is given, else a track",
    "window.fullness_on": "usual: the rod",
    "window.pair": "usual: alike",
    "window.widths": "usual: exact",
    "window.railroad": "usual: where it can be and saves",
    "window.hook_row": "usual: top",
    "window.lining_style": "usual: tucked under the side hems",
    "window.lining": "unlined",
    "window.interlining": "none",
    "repeat.drop_from": "usual: from column to column",
    "shrinkage.washed": "usual: after cutting",
    "facing.lower_edge": "usual: overcast",
    "extra.turnable": "usual: as the nap allows",
    "extra.window": "none",
    "band.edge": "usual: leading",
}

#: Dimensions that the drawing of a window shows while they are typed.
DIMENSIONS: Final = (
    "rod", "rod_diameter", "finished_length", "rod_height", "ring_drop", "eye_height", "clearance", "returns",
    "overlap", "bottom_hem", "side_hem", "heading_depth", "flat_width", "fullness", "covers", "lining_cover",
)  # fmt: skip

#: Choices after which other fields come and go.
SHAPING: Final = (
    "window.heading",
    "job.units",
    "window.draw",
    "window.hangs_from",
    "window.lining",
    "repeat.drop",
    "fabric.nap",
)


def label_of(table: str, key: str, unit: Unit) -> str:
    """What a field is called."""
    said = _LABELS.get(f"{table}.{key}", "")
    if not said:
        return key.replace("_", " ").capitalize()
    return said.replace("{sold}", "yard" if unit == "in" else "meter")


def hangs_of(heading: str, said: object, rod: object) -> str:
    """What a window hangs from, as far as its fields say; the heading's own where they cannot be."""
    style = HEADINGS.get(heading, HEADINGS[USUAL])
    ordered = next((way for way in style.hangs_from if way == said), None)
    return hanging_of(style, ordered, rod)


def of_use(key: str, heading: object, draw: object, hangs: object = None) -> bool:
    """Whether a window of that heading and draw, which says what it hangs from, has a use for a key."""
    if key == "covers":
        return draw == "fixed"
    if not isinstance(heading, str) or heading not in HEADINGS:
        return True
    style = HEADINGS[heading]
    ways = (hangs,) if hangs in style.hangs_from else style.hangs_from
    if key == "hangs_from":
        return len(style.hangs_from) > 1
    if key == "eye_height":
        return "track" in ways
    if key == "rod_height":
        return ways != ("track",)
    return any(is_used(key, style.name, way) for way in ways)
