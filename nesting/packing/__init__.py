"""The packing engine: whole numbers only, nothing of windows or units.

What packs brings in the solver, so it is loaded when first used; the data classes come at once.
"""

from typing import TYPE_CHECKING, Any

from nesting.packing.problem import Choice, Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import (
    CONTRADICTED,
    Aim,
    Bound,
    Incumbent,
    Observer,
    Placement,
    Result,
    Status,
    Stop,
    Viewer,
    status_of,
)

if TYPE_CHECKING:
    from nesting.packing.choices.choosing import pack
    from nesting.packing.guillotine.filling import fill_bands
    from nesting.packing.guillotine.pack_across import pack_across
    from nesting.packing.on_hand.stock import fill_best
    from nesting.packing.reduce import misfits
    from nesting.packing.searches.leftover import Leftover, fill_leftover

__all__ = [
    "CONTRADICTED",
    "Aim",
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
    "Viewer",
    "fill_bands",
    "fill_best",
    "fill_leftover",
    "misfits",
    "pack",
    "pack_across",
    "status_of",
]

_LATER = {
    "Leftover": "nesting.packing.searches.leftover",
    "fill_bands": "nesting.packing.guillotine.filling",
    "fill_best": "nesting.packing.on_hand.stock",
    "fill_leftover": "nesting.packing.searches.leftover",
    "misfits": "nesting.packing.reduce",
    "pack": "nesting.packing.choices.choosing",
    "pack_across": "nesting.packing.guillotine.pack_across",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_LATER[name]), name)
    globals()[name] = value
    return value
