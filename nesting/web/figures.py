"""What a job, and each of its alternatives, takes: fabric, cuts, seams, fullness, cost of a checked plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from nesting.errors import NestingError
from nesting.web.caps import WEIGHING_SECONDS, over_limits
from nesting.web.wire import Message


def weighed(
    table: Mapping[str, Any], key: str, plan: Any = None, hurried: Callable[[], bool] = lambda: False
) -> Message:
    """What an alternative of a job takes.

    Parameters
    ----------
    table
        The job as it is typed.
    key
        Of the alternative; empty: the job itself.
    plan
        A plan of the job itself, where one is there already.
    hurried
        Whether something more urgent waits, for which the search is given up.

    Returns
    -------
    dict
        ``figures`` as `figures_of` gives them; None where it cannot be planned in `caps.WEIGHING_SECONDS`.
        ``ended``: it was given up, and may be asked again.
    """
    from nesting.files import checked_document, read_job_table
    from nesting.planning.effort import Effort
    from nesting.planning.planner import plan as planned
    from nesting.web.alternatives import taken

    if over_limits(table):
        return {"figures": None}
    given_up = GivenUp(hurried)
    way = None if not key else taken(table, key)
    if key and way is None:
        return {"figures": None}
    try:
        if key or plan is None:
            job = read_job_table(dict(table) if way is None else way.table)
            effort = Effort(
                seconds=WEIGHING_SECONDS, workers=1, listener=given_up.listener, layouts_only=True
            )
            plan = planned(job, effort=effort)
            checked_document(plan)
        return {"figures": None, "ended": True} if given_up.over else {"figures": figures_of(plan)}
    except (NestingError, ArithmeticError, MemoryError, RecursionError, ValueError):
        return {"figures": None}


@dataclass(slots=True)
class GivenUp:
    """Whether a search was given up, because something more urgent is ``hurried``."""

    hurried: Callable[[], bool]
    over: bool = False

    def listener(self, *_: object) -> bool:
        """Whether a search may go on; once it may not, it never may."""
        self.over = self.over or self.hurried()
        return not self.over


def figures_of(plan: Any) -> Message | None:
    """The figures of a plan by which it stands beside others; None where it leaves something out.

    Returns
    -------
    dict or None
        ``bought`` (fabric and amount, as text), ``total`` (of all fabrics, in ticks), ``unit`` it is sold in,
        ``currency``, ``cost`` (Decimal, None without prices), ``cuts``, ``widths`` and ``seams`` of all
        panels, ``full`` (the least and the most fullness of the windows), ``sheer`` and ``sideways``
        (whether a panel is), ``proven`` (whether no layout is shorter), ``title`` (how part-widths are
        rounded).
    """
    from nesting.units import format_quantity
    from nesting.web.alternatives import as_typed

    layouts = [layout for layout in plan.layouts if layout.length is not None]
    if plan.short or not layouts or any(layout.buy is None for layout in layouts):
        return None
    full = list(_fullness(plan))
    return {
        "bought": [
            (layout.fabric.title, format_quantity(layout.buy.total, layout.buy.unit)) for layout in layouts
        ],
        "total": sum(layout.buy.total for layout in layouts),
        "unit": layouts[0].buy.unit,
        "currency": plan.job.currency,
        "cost": plan.cost,
        "cuts": sum(len(layout.placements) for layout in layouts),
        "widths": sum(len(panel.cuts) * panel.count for panel in plan.panels),
        "seams": sum(len(panel.seams) * panel.count for panel in plan.panels),
        "full": (min(full), max(full)) if full else None,
        "sheer": any(plan.job.fabric(window.fabric).weight == "sheer" for window in plan.job.windows),
        "sideways": _sideways(plan),
        "proven": all(layout.length == layout.bound.length for layout in layouts),
        "title": as_typed(plan.job),
    }


def _fullness(plan: Any) -> Iterator[Fraction]:
    """The fullness that each panel comes to."""
    from nesting.cutting.cut import WindowsOnTable
    from nesting.cutting.fullness import fullness_of

    flat = {(panel.window, panel.key): panel.flat for panel in plan.panels}
    bolts = {fabric.key: fabric.bolts[0] for fabric in plan.job.fabrics} | {
        layout.fabric.key: layout.bolt for layout in plan.layouts
    }
    rooms = {layout.fabric.key for layout in plan.layouts if layout.railroaded}
    sideways = {(window.fabric, window.room) for window in plan.job.windows if window.fabric in rooms}
    bench = WindowsOnTable.of(plan.job, bolts, sideways)
    for number, window in enumerate(plan.job.windows):
        made = bench.make(number)
        for hanging, panel, _ in made.panels:
            yield fullness_of(made.making, hanging, flat.get((window.name, panel.key), panel.flat))


def _sideways(plan: Any) -> bool:
    """Whether the face of a panel is cut turned sideways."""
    faces = {window.fabric for window in plan.job.windows}
    return any(layout.railroaded for layout in plan.layouts if layout.fabric.key in faces)
