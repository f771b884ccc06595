"""The rules of a layout in bands as a CP-SAT model: those of any layout, and the three stages of cuts.

Every column is named after the first of its pieces in the order of the model, every band after the first of
its columns so named. Any layout in bands can be named so, hence nothing is lost.
"""

from __future__ import annotations

from nesting.packing.models import sat
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.reduce import Core, Layout


class BandModel(LayoutModel):
    """A layout whose pieces lie in bands across, columns within them, and rows within a column.

    Parameters
    ----------
    core, longest, least
        As for `LayoutModel`.
    """

    def __init__(self, core: Core, longest: int, least: int) -> None:
        super().__init__(core, longest, least)

    def _build(self) -> None:
        super()._build()
        self._name_columns()
        self._name_bands()
        self._add_bands_apart()
        self._add_columns_apart()
        self._add_rows_apart()
        self._add_band_widths()
        self._add_column_lengths()

    def _name_columns(self) -> None:
        """``in_column[i][j]``: piece i lies in the column named after j, which comes no later than i."""
        model, count = self.model, len(self._copies)
        self._in_column = [[model.new_bool_var(f"c{i},{j}") for j in range(i + 1)] for i in range(count)]
        for i, named in enumerate(self._in_column):
            model.add_exactly_one(named)
            for j in range(i):
                model.add_implication(named[j], self._in_column[j][j])
        width = self._core.width
        self._lefts = [model.new_int_var(0, width, f"left{j}") for j in range(count)]
        self._rights = [model.new_int_var(0, width, f"right{j}") for j in range(count)]
        for i, copy in enumerate(self._copies):
            for j in range(i + 1):
                inside = self._in_column[i][j]
                model.add(copy.x >= self._lefts[j]).only_enforce_if(inside)
                model.add(copy.x + copy.across <= self._rights[j]).only_enforce_if(inside)

    def _name_bands(self) -> None:
        """``in_band[j][k]``: column j lies in the band named after column k, which comes no later than j."""
        model, count = self.model, len(self._copies)
        self._in_band = [[model.new_bool_var(f"b{j},{k}") for k in range(j + 1)] for j in range(count)]
        self._starts = [model.new_int_var(0, self._longest, f"start{k}") for k in range(count)]
        self._ends = [model.new_int_var(0, self._longest, f"end{k}") for k in range(count)]
        for j, named in enumerate(self._in_band):
            model.add(sum(named) == self._in_column[j][j])
            for k in range(j):
                model.add_implication(named[k], self._in_band[k][k])
        for i, copy in enumerate(self._copies):
            for j in range(i + 1):
                for k in range(j + 1):
                    there = [self._in_column[i][j], self._in_band[j][k]]
                    model.add(copy.y >= self._starts[k]).only_enforce_if(there)
                    model.add(copy.y + copy.along <= self._ends[k]).only_enforce_if(there)

    def _add_bands_apart(self) -> None:
        """Bands follow on each other along the strip."""
        model, bands = self.model, list[sat.IntervalVar]()
        for k, (start, end) in enumerate(zip(self._starts, self._ends, strict=True)):
            size = model.new_int_var(0, self._longest, f"size{k}")
            bands.append(model.new_optional_interval_var(start, size, end, self._in_band[k][k], f"band{k}"))
        model.add_no_overlap(bands)
        for end in self._ends:
            model.add(end <= self._length)

    def _add_columns_apart(self) -> None:
        """Columns of one band lie side by side."""
        model, across, along = self.model, list[sat.IntervalVar](), list[sat.IntervalVar]()
        for j, named in enumerate(self._in_band):
            there = self._in_column[j][j]
            size = model.new_int_var(0, self._core.width, f"wide{j}")
            across.append(
                model.new_optional_interval_var(self._lefts[j], size, self._rights[j], there, f"col{j}")
            )
            number = self._number_of(named)
            along.append(model.new_optional_fixed_size_interval_var(number, 1, there, f"of band{j}"))
        model.add_no_overlap_2d(across, along)

    def _number_of(self, named: list[sat.IntVar]) -> sat.IntVar:
        """The number of the one that is true; 0 where none is."""
        number = self.model.new_int_var(0, max(1, len(named) - 1), "")
        self.model.add(number == sum(at * var for at, var in enumerate(named)))
        return number

    def _add_rows_apart(self) -> None:
        """Pieces of one column lie one above the other."""
        model = self.model
        columns = [
            model.new_fixed_size_interval_var(self._number_of(named), 1, "") for named in self._in_column
        ]
        model.add_no_overlap_2d(columns, self._rows)

    def _add_band_widths(self) -> None:
        """The columns of a band, each at least as wide as its first piece, fit side by side."""
        for k in range(len(self._copies)):
            columns = range(k, len(self._copies))
            wide = [self._core.kinds[self._copies[j].kind].least_width for j in columns]
            inside = [self._in_band[j][k] for j in columns]
            self.model.add(
                sum(w * b for w, b in zip(wide, inside, strict=True)) <= self._core.width * inside[0]
            )

    def _add_column_lengths(self) -> None:
        """The layout is as long as the pieces of the columns that bands are named after, taken together.

        Each band is at least as long as its column; bands follow on each other.
        """
        count = len(self._copies)
        least = [self._core.kinds[copy.kind].least_length for copy in self._copies]
        for j in range(count):
            held = sum(least[i] * self._in_column[i][j] for i in range(j, count))
            for k in range(j + 1):
                self.model.add(self._ends[k] - self._starts[k] >= held).only_enforce_if(self._in_band[j][k])

    def hint_bands(self, layout: Layout) -> None:
        """Start from a layout of the same core."""
        self.hint(layout)
