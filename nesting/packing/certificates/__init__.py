"""What re-proves a bound: a record each, by its rule, that adds itself up from the problem alone.

`nesting.check.proof` replays the same rules by code of its own.
"""

from nesting.packing.certificates.band_weights import BandWeights
from nesting.packing.certificates.column_weights import ColumnWeights
from nesting.packing.certificates.placed_row_weights import PlacedRowWeights
from nesting.packing.certificates.row_weights import RowWeights
from nesting.packing.certificates.scale_products import ScaleProducts
from nesting.packing.certificates.weighing import Weighing

CERTIFICATES: dict[str, type[Weighing]] = {
    each.rule: each for each in (RowWeights, PlacedRowWeights, ColumnWeights, ScaleProducts, BandWeights)
}
"""Every kind of certificate by its rule."""

__all__ = [
    "CERTIFICATES",
    "BandWeights",
    "ColumnWeights",
    "PlacedRowWeights",
    "RowWeights",
    "ScaleProducts",
    "Weighing",
]
