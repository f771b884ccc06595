"""Plan documents of small windows, with operations and pieces to change by hand. All data is invented."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from nesting import Effort, plan_job
from nesting.check.document import read_plan_document
from nesting.check.sewing_drapes import check_sewing
from nesting.files import plan_document, read_job_text

Table = dict[str, Any]
Change = Callable[[Table], None]
#: An inch in ticks.
INCH = 2032

PLAIN = 'units = "in"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = 54\nprice = 10\n'
PILE = PLAIN.replace("[fabric.face]\n", '[fabric.face]\nnap = "one-way"\n')
WASHED = PLAIN.replace("[fabric.face]\n", "[fabric.face]\nshrinkage = { length = 4, width = 2 }\n")
PRINT = PLAIN.replace("[fabric.face]\n", "[fabric.face]\nrepeat = { length = 24, width = 27, drop = 0.5 }\n")
LINED = "[fabric.lining]\n[[fabric.lining.bolt]]\nwidth = 54\nprice = 5\n"
WINDOW = '[[window]]\nname = "East"\nrod = 60\nrod_diameter = 1\n'
BACK_TAB = 'heading = "back-tab"\nfinished_length = 84\n'
TAB_TOP = 'heading = "tab-top"\nfinished_length = 84\n'
PINCH = 'heading = "pinch-pleat"\nfinished_length = 84\nring_drop = 2\n'


@cache
def _planned(text: str) -> str:
    return json.dumps(plan_document(plan_job(read_job_text(text), effort=Effort(work=0.1, workers=1))))


@dataclass(frozen=True)
class Ordered:
    """A job that is planned when its plan is asked for: tests are listed without planning anything."""

    text: str

    def planned(self) -> Table:
        """Its plan's document, to be changed at will."""
        made: Table = json.loads(_planned(self.text))
        return made


def ordered(*parts: str) -> Ordered:
    """The job of these parts of a file."""
    return Ordered("".join(parts))


def document(*parts: str) -> Table:
    """The plan of a job, to be changed at will."""
    return ordered(*parts).planned()


def found(made: Table | Ordered) -> list[str]:
    """What the sewing check alone says of a document."""
    made = _document(made)
    return [str(one) for one in check_sewing(read_plan_document(made), made)]


def changed(made: Table | Ordered, change: Change) -> Table:
    """A document with one change."""
    made = copy.deepcopy(_document(made))
    change(made)
    return made


def _document(made: Table | Ordered) -> Table:
    return made.planned() if isinstance(made, Ordered) else made


def operations(made: Table, do: str, on: str = "") -> Iterator[Table]:
    """The operations of a kind, on a work."""
    for sewing in made["sewing"]:
        for step in sewing["steps"]:
            for one in step["operations"]:
                if one["do"] == do and on in ("", one.get("on"), one.get("into")):
                    yield one


def without(made: Table, gone: Callable[[Table], bool]) -> None:
    """Take operations away."""
    for sewing in made["sewing"]:
        for step in sewing["steps"]:
            step["operations"] = [one for one in step["operations"] if not gone(one)]


def resized(made: Table, id: str, width: float = 0, length: float = 0) -> None:
    """Cut a piece so much wider and longer, in inches; its sums and places say so too."""
    for piece in made["pieces"]:
        if piece["id"] == id:
            for way, more in (("width", width), ("length", length)):
                piece[way] += more
                term = {"label": "more", "sign": "+", "amount": str(int(more * INCH)), "times": 1}
                if more:
                    piece["steps"][way]["terms"].append(term)
    for layout in made["layouts"]:
        for one in layout["placements"]:
            if one["piece"] == id:
                wide, long = (width, length) if one["turn"] == 0 else (length, width)
                one["width"] += wide
                one["length"] += long


def dropped(made: Table, gone: Callable[[str], bool]) -> None:
    """Leave out pieces, wherever the document tells of them."""
    made["pieces"] = [piece for piece in made["pieces"] if not gone(piece["id"])]
    for layout in made["layouts"]:
        layout["placements"] = [one for one in layout["placements"] if not gone(one["piece"])]
