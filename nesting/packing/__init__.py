"""The packing engine: whole numbers only, nothing of windows or units.

What packs brings in the solver, so it is loaded when first used; the data classes come at once.
"""

from typing import TYPE_CHECKING, Any

from nesting.packing.problem import Choice, Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import (
    CONTRADICTED,
    Bound,
    Incumbent,
    Observer,
    Placement,
    Result,
    Stage,
    Status,
    Stop,
    Viewer,
    status_of,
)

if TYPE_CHECKING:
    from nesting.packing.across.leftover import fill_bands
    from nesting.packing.across.pack import pack_across
    from nesting.packing.choosing import pack
    from nesting.packing.leftover import Leftover, fill_leftover
    from nesting.packing.reduce import misfits
    from nesting.packing.stock import fill_best
    from nesting.packing.tidy import tidy

__all__ = [
    "CONTRADICTED",
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
    "Stage",
    "Status",
    "Stop",
    "Strip",
    "Viewer",
    "fill_bands",
    "fill_best",
    "fill_leftover",
    "misfits",
    "pack",
    "pack_across",
    "status_of",
    "tidy",
]

_LATER = {
    "Leftover": "nesting.packing.leftover",
    "fill_bands": "nesting.packing.across.leftover",
    "fill_best": "nesting.packing.stock",
    "fill_leftover": "nesting.packing.leftover",
    "misfits": "nesting.packing.reduce",
    "pack": "nesting.packing.choosing",
    "pack_across": "nesting.packing.across.pack",
    "tidy": "nesting.packing.tidy",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_LATER[name]), name)
    globals()[name] = value
    return value
