"""Lower bounds, each with the reason it may be believed.

Every bound is in core steps and never above the length of any layout of the core. A new one is a module and
a line here; what it does when is said in `nesting.packing.schedule`. Nothing here loads the solver until a
bound asks it.
"""

from nesting.packing.bounds.bars import BarRelaxation, BarsAlong
from nesting.packing.bounds.contiguous import RowsInOnePiece
from nesting.packing.bounds.dual import PairsOfScales
from nesting.packing.bounds.gaps import WaitsForTheRepeat
from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.bounds.places import BarsInPlace
from nesting.packing.bounds.simple import Area, TallestPart, WideParts
from nesting.packing.bounds.subset import RowsOfSubsets

BOUNDS: dict[str, type[LowerBound]] = {
    bound.name: bound
    for bound in (
        TallestPart,
        Area,
        WideParts,
        BarRelaxation,
        BarsInPlace,
        WaitsForTheRepeat,
        PairsOfScales,
        RowsInOnePiece,
        RowsOfSubsets,
        BarsAlong,
    )
}
"""Every bound by its name."""

COUNTING = frozenset(name for name, bound in BOUNDS.items() if bound.instant)
"""Those that are worked out in no time."""

__all__ = ["BOUNDS", "COUNTING", "LowerBound"]
