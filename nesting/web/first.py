"""A first true layout of a job while it is still being typed, ``python -m nesting.web.first``.

The process stays, so that nothing is brought in while somebody waits. It plans in a part of a second and
tells what is to be bought, with the marker; asked again about the same job it searches longer, and keeps the
best it has. Asked about an alternative of a job it tells what that would take (`nesting.web.figures`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from nesting.errors import NestingError
from nesting.web.caps import NICE_SUMS, SUMS_MEMORY, WARM, over_limits
from nesting.web.figures import GivenUp, weighed
from nesting.web.form_faults import without_syntax
from nesting.web.wire import Message, Outlet, keep_low

#: Seconds of search at the first, second and third time a job is asked about.
SEARCHES: Final = (0.4, 1.5, 4.0)


class _Best:
    """The best plan of the job that was asked about last."""

    def __init__(self) -> None:
        self._table: Mapping[str, Any] | None = None
        self._plan: Any = None

    def plan_of(self, table: Mapping[str, Any]) -> Any:
        """The best plan of a job, where it is the one that was asked about last; else None."""
        return self._plan if self._table == table else None

    def planned(self, table: Mapping[str, Any], turn: int, given_up: GivenUp) -> tuple[Any, str]:
        """The best plan so far of a job, and how much less it takes than the one before.

        One that was given up is no plan to go by, and not kept.

        Raises
        ------
        NestingError
            It cannot be planned.
        """
        from nesting.files import checked_document, read_job_table
        from nesting.planning.effort import Effort
        from nesting.planning.planner import plan

        job = read_job_table(dict(table))
        effort = Effort(
            seconds=SEARCHES[min(turn, len(SEARCHES) - 1)],
            workers=1,
            seed=turn,
            listener=given_up.listener,
            layouts_only=True,
        )
        made = plan(job, effort=effort)
        if given_up.over:
            return None, ""
        checked_document(made)
        before = self._plan if self._table == table else None
        better = before is None or _length(made) < _length(before)
        if better:
            self._table, self._plan = table, made
        return (made, _less(before, made)) if better else (before, "")


def _length(plan: Any) -> int:
    return sum(layout.length or 0 for layout in plan.layouts)


def _less(before: Any, now: Any) -> str:
    """By how much less is bought now, in a maker's words; empty where it is not."""
    from nesting.units import format_quantity

    if before is None:
        return ""
    were = {layout.fabric.key: layout.buy for layout in before.layouts if layout.buy is not None}
    said = []
    for layout in now.layouts:
        was = were.get(layout.fabric.key)
        if layout.buy is not None and was is not None and layout.buy.total < was.total:
            said.append(f"{format_quantity(was.total - layout.buy.total, layout.buy.unit)} less than before")
    return ", ".join(said)


def first_of(
    best: _Best, table: Mapping[str, Any], turn: int, hurried: Callable[[], bool] = lambda: False
) -> Message:
    """What is to be bought of each fabric, with its marker.

    ``hurried``: whether something more urgent waits, for which the search is given up.

    Returns
    -------
    dict
        ``lines`` (fabric, what to buy, cost, rule of thumb, how good it is), ``markers`` (fabric, SVG),
        ``cost``, ``gap`` (how good all of it is), ``less`` (than at the last asking), ``proven`` (no search
        would find less), ``stuck`` (why there is none). ``ended``: it was given up, and may be asked again.
    """
    if over_limits(table):
        return _none("")
    try:
        plan, less = best.planned(table, turn, GivenUp(hurried))
    except NestingError as error:
        return _none(without_syntax(str(error)))
    except (ArithmeticError, MemoryError, RecursionError, ValueError):
        return _none("")
    return {**_none(""), "ended": True} if plan is None else _told(plan, less)


def _none(stuck: str) -> Message:
    return {"lines": [], "markers": [], "cost": "", "gap": "", "less": "", "proven": True, "stuck": stuck}


def _told(plan: Any, less: str) -> Message:
    from nesting.web.plan_view import first_view

    return {**first_view(plan), "less": less, "stuck": ""}


def main() -> None:
    """Answer one question after the other until the page is gone."""
    keep_low(NICE_SUMS, SUMS_MEMORY, None)
    wire, best = Outlet(), _Best()
    while (asked := wire.receive()) is not None:
        if "hurry" in asked:
            # It was meant for a question that is answered by now.
            continue
        table = asked["table"] or WARM
        if "way" in asked:
            wire.send(weighed(table, asked["way"], best.plan_of(table), wire.waiting))
        else:
            wire.send(first_of(best, table, asked["turn"], wire.waiting))


if __name__ == "__main__":
    main()
