"""The packing engine: whole numbers only, nothing of windows or units."""

from nesting.packing.leftover import Leftover, fill_leftover
from nesting.packing.pack import pack
from nesting.packing.problem import Choice, Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.reduce import misfits
from nesting.packing.result import Bound, Incumbent, Observer, Placement, Result, Status, Stop, status_of

__all__ = [
    "Bound",
    "Choice",
    "Flaw",
    "Incumbent",
    "Leftover",
    "Match",
    "Observer",
    "Part",
    "Placement",
    "Problem",
    "Repeat",
    "Result",
    "Status",
    "Stop",
    "Strip",
    "fill_leftover",
    "misfits",
    "pack",
    "status_of",
]
