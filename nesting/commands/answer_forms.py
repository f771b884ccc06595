"""In which form an answer comes on standard output: a class for each form, for all commands alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, Protocol

from rich.console import RenderableType

from nesting.commands import output, summary, tables
from nesting.files import as_json
from nesting.pieces.piece import Piece
from nesting.plan.comparison import Comparison
from nesting.plan.plan import Plan
from nesting.units import Unit


class FormOfAnswer(Protocol):
    """One form of the answers; ``name`` is the word after ``--format``."""

    name: str

    def plan(self, plan: Plan, document: Callable[[], Mapping[str, Any]]) -> RenderableType:
        """Of `nesting plan`; ``document`` makes the plan's, where it is wanted."""
        ...

    def comparison(self, comparison: Comparison) -> RenderableType:
        """Of `nesting compare`."""
        ...

    def pieces(self, pieces: Sequence[Piece], units: Unit) -> RenderableType:
        """Of `nesting pieces`."""
        ...

    def jobs(self, rows: Sequence[summary.JobRow]) -> RenderableType:
        """Of `nesting batch`."""
        ...


class TableForm:
    """For a person to read."""

    name = "table"

    def plan(self, plan: Plan, document: Callable[[], Mapping[str, Any]]) -> RenderableType:
        """What to buy and the cut list, fabric by fabric."""
        return tables.plan_table(plan)

    def comparison(self, comparison: Comparison) -> RenderableType:
        """One row for each bolt."""
        return tables.comparison_table(comparison)

    def pieces(self, pieces: Sequence[Piece], units: Unit) -> RenderableType:
        """Every piece with its sums."""
        return tables.pieces_table(pieces, units)

    def jobs(self, rows: Sequence[summary.JobRow]) -> RenderableType:
        """One row for each job and fabric."""
        return summary.batch_table(rows)


class JsonForm:
    """For programs: the documents, whole."""

    name = "json"

    def plan(self, plan: Plan, document: Callable[[], Mapping[str, Any]]) -> RenderableType:
        """The plan document."""
        return as_json(document())

    def comparison(self, comparison: Comparison) -> RenderableType:
        """The comparison document."""
        return as_json(output.comparison_document(comparison))

    def pieces(self, pieces: Sequence[Piece], units: Unit) -> RenderableType:
        """The pieces as a plan document has them."""
        from nesting.files import piece_documents

        return as_json(piece_documents(pieces, units))

    def jobs(self, rows: Sequence[summary.JobRow]) -> RenderableType:
        """The summary of all jobs."""
        return as_json(summary.batch_document(rows))


class CsvForm:
    """For spreadsheets."""

    name = "csv"

    def plan(self, plan: Plan, document: Callable[[], Mapping[str, Any]]) -> RenderableType:
        """The cut list."""
        from nesting.files import cut_list_csv

        return cut_list_csv(plan)

    def comparison(self, comparison: Comparison) -> RenderableType:
        """One row for each bolt."""
        return output.comparison_csv(comparison)

    def pieces(self, pieces: Sequence[Piece], units: Unit) -> RenderableType:
        """One row for each piece."""
        from nesting.files import pieces_csv

        return pieces_csv(pieces, units)

    def jobs(self, rows: Sequence[summary.JobRow]) -> RenderableType:
        """One row for each job and fabric."""
        return summary.batch_csv(rows)


#: The first is the usual one.
_ALL: Final[tuple[FormOfAnswer, ...]] = (TableForm(), JsonForm(), CsvForm())
FORMS: Final[Mapping[str, FormOfAnswer]] = MappingProxyType({form.name: form for form in _ALL})
USUAL_FORM: Final = _ALL[0].name
