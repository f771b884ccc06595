"""Searches for short layouts; each can be taken up again and offers what it finds.

A new one is a module and the line here that imports it; when it has its turn is said in
`nesting.packing.schedule`.
"""

from nesting.packing.searches.beam import BeamSearch as BeamSearch
from nesting.packing.searches.first_layouts import FirstLayouts as FirstLayouts
from nesting.packing.searches.fitting import FitSearch as FitSearch
from nesting.packing.searches.levels_first import LevelsFirst as LevelsFirst
from nesting.packing.searches.neighborhoods import WindowSearch as WindowSearch
from nesting.packing.searches.orders import OrderSearch as OrderSearch
from nesting.packing.searches.rows_first import RowsFirst as RowsFirst
from nesting.packing.searches.search import Search
from nesting.packing.searches.tight import TightSearch as TightSearch
from nesting.packing.searches.whole_model import ModelAtTheBound as ModelAtTheBound
from nesting.packing.searches.whole_model import WholeModel as WholeModel

SEARCHES: dict[str, type[Search]] = {
    each.name: each for each in list(vars().values()) if Search in getattr(each, "__mro__", ())[1:]
}
"""Every search by its name."""

__all__ = ["SEARCHES", "Search"]
