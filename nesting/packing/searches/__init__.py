"""Searches for short layouts; each can be taken up again and offers what it finds.

A new one is a module and a line here; what it does when is said in `nesting.packing.schedule`.
"""

from nesting.packing.searches.beam import BeamSearch
from nesting.packing.searches.first_layouts import FirstLayouts
from nesting.packing.searches.fitting import FitSearch
from nesting.packing.searches.levels_first import LevelsFirst
from nesting.packing.searches.neighborhoods import WindowSearch
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.searches.rows_first import RowsFirst
from nesting.packing.searches.search import Search
from nesting.packing.searches.tight import TightSearch
from nesting.packing.searches.whole_model import ModelAtTheBound, WholeModel

SEARCHES: dict[str, type[Search]] = {
    search.name: search
    for search in (
        FirstLayouts,
        LevelsFirst,
        OrderSearch,
        BeamSearch,
        FitSearch,
        TightSearch,
        RowsFirst,
        WindowSearch,
        ModelAtTheBound,
        WholeModel,
    )
}
"""Every search by its name."""

__all__ = ["SEARCHES", "Search"]
