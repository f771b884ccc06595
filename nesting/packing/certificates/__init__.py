"""What re-proves a bound: a record each, by its rule, that adds itself up from the problem alone.

`nesting.check.proof` replays the same rules by code of its own.
"""

from nesting.packing.certificates.band_sums import BandSums
from nesting.packing.certificates.band_weights import BandWeights
from nesting.packing.certificates.case_log import CaseLog
from nesting.packing.certificates.column_weights import ColumnWeights
from nesting.packing.certificates.directions import Directions
from nesting.packing.certificates.options import LightestOptions, MetBefore, Options
from nesting.packing.certificates.placed_row_weights import PlacedRowWeights
from nesting.packing.certificates.row_weights import RowWeights
from nesting.packing.certificates.scale_products import ScaleProducts
from nesting.packing.certificates.weighing import Weighing
from nesting.packing.result import Certificate

WEIGHINGS: dict[str, type[Weighing]] = {
    each.rule: each
    for each in (RowWeights, PlacedRowWeights, ColumnWeights, ScaleProducts, BandWeights, BandSums)
}
"""Every kind of certificate by weights, by its rule."""
CERTIFICATES: dict[str, type[Certificate]] = {
    **WEIGHINGS,
    **{each.rule: each for each in (CaseLog, Directions, LightestOptions, MetBefore, Options)},
}
"""Every kind of certificate by its rule."""

__all__ = [
    "CERTIFICATES",
    "WEIGHINGS",
    "BandSums",
    "BandWeights",
    "CaseLog",
    "ColumnWeights",
    "Directions",
    "LightestOptions",
    "MetBefore",
    "Options",
    "PlacedRowWeights",
    "RowWeights",
    "ScaleProducts",
    "Weighing",
]
