"""Lower bounds, each with the reason it may be believed.

Every bound is in core steps and never above the length of any layout of the core. A new one is a module and
the line here that imports it; when it has its turn is said in `nesting.packing.schedule`. Nothing here loads
the solver until a bound asks it.
"""

from nesting.packing.bounds.bars import BarRelaxation as BarRelaxation
from nesting.packing.bounds.bars import BarsAlong as BarsAlong
from nesting.packing.bounds.contiguous import RowsInOnePiece as RowsInOnePiece
from nesting.packing.bounds.dual import PairsOfScales as PairsOfScales
from nesting.packing.bounds.gaps import WaitsForTheRepeat as WaitsForTheRepeat
from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.bounds.places import BarsInPlace as BarsInPlace
from nesting.packing.bounds.simple import Area as Area
from nesting.packing.bounds.simple import TallestPart as TallestPart
from nesting.packing.bounds.simple import WideParts as WideParts
from nesting.packing.bounds.subset import RowsOfSubsets as RowsOfSubsets

BOUNDS: dict[str, type[LowerBound]] = {
    each.name: each for each in list(vars().values()) if LowerBound in getattr(each, "__mro__", ())[1:]
}
"""Every bound by its name."""

COUNTING = frozenset(name for name, bound in BOUNDS.items() if bound.instant)
"""Those that are worked out in no time."""

__all__ = ["BOUNDS", "COUNTING", "LowerBound"]
