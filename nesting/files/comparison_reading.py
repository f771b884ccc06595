"""Reads a comparison of bolts back, so that its table and chart can be printed without solving."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from nesting.errors import NestingError
from nesting.files.buy_reading import read_buy
from nesting.files.plan_form import BuyForm, DocumentForm
from nesting.files.plan_reading import bytes_of, form_message
from nesting.order.job import Bolt, Fabric, Job
from nesting.packing.result import Bound, Status, Stop
from nesting.plan.comparison import Comparison, Option
from nesting.plan.plan import FabricLayout
from nesting.units import Unit, to_ticks


class OptionForm(DocumentForm):
    """One bolt tried for one fabric."""

    fabric: str
    bolt_width: float
    offered: bool = True
    widths_per_panel: dict[str, int] = Field(default_factory=dict)
    seams: int = 0
    railroad: str = ""
    reason: str = ""
    length: float | None = None
    lower_bound: float | None = None
    bound_method: str = ""
    status: Status | None = None
    buy: BuyForm | None = None


class ComparisonForm(DocumentForm):
    """A whole comparison."""

    schema_name: Literal["nesting-comparison/2"] = Field(alias="schema")
    title: str
    units: Unit
    options: tuple[OptionForm, ...]


def read_comparison(path: Path, job: Job) -> Comparison:
    """The comparison of a file that `nesting compare` wrote, for that job.

    Parameters
    ----------
    path
        A document of the form ``nesting-comparison/2``.
    job
        The job that was compared: its fabrics and units are taken from here.

    Returns
    -------
    Comparison
        What each bolt needs and costs. Where its pieces lie is not in the file, so the layouts are empty.

    Raises
    ------
    NestingError
        The file cannot be read, is no comparison, or is one of another job.
    """
    data = bytes_of(path)
    try:
        form = ComparisonForm.model_validate_json(data)
    except ValidationError as error:
        raise NestingError(form_message(error, path, "nesting-comparison/2", "compare")) from None
    if (form.title, form.units) != (job.title, job.units):
        raise NestingError(f'{path}: compares "{form.title}": expected a comparison of "{job.title}"')
    try:
        return Comparison(job, tuple(_option(option, job) for option in form.options))
    except NestingError as error:
        raise NestingError(f"{path}: {error}") from None


def _option(form: OptionForm, job: Job) -> Option:
    fabric = job.fabric(form.fabric)
    bolt = _bolt(form, fabric, job.units)
    layout = None
    if form.length is not None and form.buy is not None:
        length = to_ticks(form.length, job.units)
        layout = FabricLayout(
            fabric=fabric,
            bolt=bolt,
            usable=bolt.usable,
            placements=(),
            length=length,
            bound=Bound(to_ticks(form.lower_bound or 0, job.units), form.bound_method),
            status=form.status or Status.FEASIBLE,
            stop=Stop.PROVED if form.status is Status.OPTIMAL else Stop.TIME_LIMIT,
            seconds=0.0,
            buy=read_buy(form.buy, length, job.units),
        )
    return Option(
        layout=layout,
        bolt=bolt,
        fabric=fabric,
        widths_per_panel=tuple(form.widths_per_panel.items()),
        seams=form.seams,
        railroad=form.railroad,
        reason=form.reason,
        offered=form.offered,
    )


def _bolt(form: OptionForm, fabric: Fabric, unit: Unit) -> Bolt:
    """The bolt on offer, or one of that width where it was only asked for."""
    width = to_ticks(form.bolt_width, unit)
    known = next((bolt for bolt in fabric.bolts if bolt.width == width), None)
    price = form.buy.price if form.buy else None
    return known or Bolt(width, width, price=None if price is None else Decimal(repr(price)))
