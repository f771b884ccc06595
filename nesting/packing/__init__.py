"""The packing engine: whole numbers only, nothing of windows or units."""

from nesting.packing.pack import pack
from nesting.packing.problem import Choice, Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import Bound, Incumbent, Observer, Placement, Result, Status, Stop

__all__ = [
    "Bound",
    "Choice",
    "Flaw",
    "Incumbent",
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
    "pack",
]
