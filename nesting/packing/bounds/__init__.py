"""Lower bounds, each with the reason it may be believed.

Every bound is in core steps and never above the length of any layout of the core.
"""

from nesting.packing.bounds.bars import WORK_PER_PRICE, columns, rows
from nesting.packing.bounds.contiguous import Contiguous, Turn
from nesting.packing.bounds.dual import PairBound
from nesting.packing.bounds.gaps import GapBound, families
from nesting.packing.bounds.places import WORK_PER_CELL, placed_rows
from nesting.packing.bounds.row_search import Stood
from nesting.packing.bounds.simple import area, tallest, wide_stack
from nesting.packing.bounds.subset import subset, subsets

__all__ = [
    "WORK_PER_CELL",
    "WORK_PER_PRICE",
    "Contiguous",
    "GapBound",
    "PairBound",
    "Stood",
    "Turn",
    "area",
    "columns",
    "families",
    "placed_rows",
    "rows",
    "subset",
    "subsets",
    "tallest",
    "wide_stack",
]
