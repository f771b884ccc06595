"""One solve in a process of its own, ``python -m nesting.web.solving``: low priority, limits, news.

It is told the job and how long to search, sends what it finds, and at last the plan with all that is printed.
It ends when the page is gone.
"""

from __future__ import annotations

import logging
import os
import pickle
import signal
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final, TypeVar

from nesting.errors import CheckError, DoesNotFitError, JobError, NestingError, NothingFoundError
from nesting.order.job import Job
from nesting.packing import Incumbent
from nesting.plan.plan import FabricLayout, Plan
from nesting.units import Unit, format_length, format_quantity, to_decimal
from nesting.web.caps import MOST_SECONDS, NICE, SOLVE_MEMORY, SOLVE_SLACK, WHAT_IF_SECONDS
from nesting.web.wire import Message, Outlet, end_with_page, keep_low

_LOG = logging.getLogger(__name__)

#: Seconds between two pieces of news without an improvement, and between two drawings of the marker.
_NEWS: Final = 0.5
_DRAWING: Final = 1.0


Found = TypeVar("Found")
#: Makes the layouts of a fabric that are to be looked at.
Make = Callable[[], tuple[FabricLayout, ...]]


class _Solving:
    """What is asked, and the news that goes out while it is worked on."""

    def __init__(self, wire: Outlet, asked: Message) -> None:
        self._wire = wire
        self.asked = asked
        self._enough = threading.Event()
        self._told = (0.0, None, -1)
        self._latest: dict[str, Make] = {}
        self._shown: dict[str, FabricLayout] = {}
        self._fresh = threading.Condition()
        self._over = False
        self._may_print = threading.Event()
        self._stood = False

    def listen(self) -> None:
        """Wait for a word of the page: enough, or (when it is gone) nothing at all."""
        while (word := self._wire.receive()) is not None:
            if word.get("wish") == "enough":
                self._enough.set()
            elif word.get("wish") == "print":
                self._may_print.set()
        os._exit(3)

    def wait_to_print(self) -> None:
        """Until nobody waits for a first layout: what comes after a plan can wait."""
        self._may_print.wait()

    def undisturbed(self, look: Callable[[], Found]) -> Found:
        """What is found by a search that goes by the clock, once it has not stood still meanwhile."""
        while True:
            self._stood = False
            found = look()
            if not self._stood:
                return found

    def stood(self, *_: object) -> None:
        """It stood still for others, and goes on."""
        self._stood = True

    @property
    def wanted(self) -> bool:
        """Whether more than the plan itself is wished for: not once it was good enough."""
        return not self._enough.is_set()

    def heard(self, unit: Unit) -> Callable[[str, Incumbent], bool]:
        """The listener of a search."""

        def told(fabric: str, now: Incumbent) -> bool:
            clock, state = time.monotonic(), (fabric, now.length, now.bound)
            if state[1:] != self._told[1:] or clock - self._told[0] > _NEWS:
                self._told = (clock, now.length, now.bound)  # type: ignore[assignment]
                self._wire.send({"kind": "news", "fabric": fabric, **_figures(now, unit)})
            return not self._enough.is_set()

        return told

    def show(self, fabric: str, make: Make) -> None:
        """A better layout; it is drawn beside the search, and of several of a fabric only the last one."""
        with self._fresh:
            self._latest[fabric] = make
            self._fresh.notify()

    def draw(self, job: Job) -> None:
        """Draw what is shown until all is over."""
        from nesting.web.plan_view import so_far_view

        while True:
            with self._fresh:
                self._fresh.wait_for(lambda: bool(self._latest) or self._over)
                if self._over:
                    return
                fabric = next(iter(self._latest))
                make = self._latest.pop(fabric)
            started = time.monotonic()
            try:
                layouts = tuple(layout for layout in make() if layout.placements)
                if not layouts or self._longer(fabric, layouts):
                    continue
                told = {"views": so_far_view(job, layouts), "less": self._less(job, fabric, layouts)}
            except (NestingError, LookupError, ValueError) as error:
                # Not every layout on the way is one that could be kept; the next may be.
                _LOG.info("not drawn: %s", error)
                continue
            if not self._over:
                self._wire.send({"kind": "marker", "fabric": fabric, **told})
            time.sleep(max(_DRAWING, 2 * (time.monotonic() - started)))

    def _longer(self, fabric: str, layouts: tuple[FabricLayout, ...]) -> bool:
        """Whether a bolt is laid no shorter than it was shown; it may have been cut in another way then."""
        before, now = self._shown.get(fabric), layouts[0]
        if before is None or now.on_hand is not None or before.on_hand is not None:
            return False
        same = len(now.placements) == len(before.placements)
        return same and (now.length or 0) >= (before.length or 0)

    def _less(self, job: Job, fabric: str, layouts: tuple[FabricLayout, ...]) -> str:
        """How much less is bought than of the layout shown before; empty for the first, and on hand."""
        before, now = self._shown.get(fabric), layouts[0]
        self._shown[fabric] = now
        if before is None or before.buy is None or now.buy is None:
            return ""
        saved, shorter = before.buy.total - now.buy.total, (before.length or 0) - (now.length or 0)
        if saved > 0:
            return f"{format_quantity(saved, now.buy.unit)} less than before"
        return (
            f"{format_length(shorter, job.units)} shorter than before, as much to buy" if shorter > 0 else ""
        )

    def finish(self) -> None:
        """Nothing more is drawn on the way."""
        with self._fresh:
            self._over = True
            self._fresh.notify()


def _figures(now: Incumbent, unit: Unit) -> Message:
    gap = None
    if now.length is not None and now.bound:
        gap = 100 * (now.length - now.bound) / now.bound
    return {
        "length": None if now.length is None else format_length(now.length, unit),
        "least": format_length(now.bound, unit),
        "gap": None if gap is None else round(gap, 2),
        "seconds": now.seconds,
        "point": (
            now.seconds,
            None if now.length is None else to_decimal(now.length, unit),
            to_decimal(now.bound, unit),
        ),
    }


def main() -> None:
    """Do the one thing that is asked."""
    wire = Outlet()
    asked = wire.receive()
    if asked is None:
        return
    threads = asked.get("workers") or os.cpu_count() or 1
    keep_low(NICE, SOLVE_MEMORY, int((MOST_SECONDS + SOLVE_SLACK) * max(2, threads)))
    solve = _Solving(wire, asked)
    threading.Thread(target=solve.listen, daemon=True).start()
    end_with_page()
    if hasattr(signal, "SIGCONT"):
        signal.signal(signal.SIGCONT, solve.stood)
    try:
        made = {"plan": _plan, "compare": _compare, "recut": _recut, "opened": _opened}
        made[asked["kind"]](solve, wire)
    except (NestingError, MemoryError) as error:
        wire.send({"kind": "failed", "text": _words(error), "state": _state(error)})
    wire.send({"kind": "over"})
    os._exit(0)


def _words(error: BaseException) -> str:
    if isinstance(error, MemoryError):
        return "There is not enough memory for this job: take windows out, or plan it on the command line."
    if isinstance(error, JobError):
        return "; ".join(str(fault) for fault in error.faults)
    return str(error)


def _state(error: BaseException) -> str:
    kinds = ((DoesNotFitError, "impossible"), (NothingFoundError, "nothing"), (CheckError, "fault"))
    return next((state for kind, state in kinds if isinstance(error, kind)), "refused")


def _effort(solve: _Solving, job: Job) -> Any:
    from nesting.planning.effort import Effort

    asked = solve.asked
    return Effort(
        seconds=asked["seconds"],
        work=asked["work"],
        workers=asked["workers"],
        seed=asked["seed"],
        listener=solve.heard(job.units),
    )


def _plan(solve: _Solving, wire: Outlet) -> None:
    from nesting.files import checked_document, plan_document, read_job_table
    from nesting.planning.planner import plan

    job = read_job_table(solve.asked["table"])
    effort = replace(_effort(solve, job), display=solve.show)
    drawing = threading.Thread(target=solve.draw, args=(job,), daemon=True)
    drawing.start()
    try:
        made = plan(job, effort=effort)
    finally:
        solve.finish()
    checked_document(made)
    # Two drawings at a time would share what matplotlib keeps for all.
    drawing.join(timeout=30)
    _given(solve, wire, made)
    made = _with_changes(solve, wire, made)
    for name, media, data in _files(made, plan_document(made)):
        wire.send({"kind": "file", "name": name, "media": media, "data": data})


def _recut(solve: _Solving, wire: Outlet) -> None:
    """What is left of a plan that is being cut, by `nesting.planning.at_table`."""
    from nesting.files import checked_document, plan_document
    from nesting.planning.at_table import replanned

    before, standing = pickle.loads(solve.asked["begun"])
    made = replanned(before, standing, effort=_effort(solve, before.job)).plan
    checked_document(made)
    _given(solve, wire, made)
    wire.send({"kind": "what_if", "found": None})
    for name, media, data in _files(made, plan_document(made)):
        wire.send({"kind": "file", "name": name, "media": media, "data": data})


def _given(solve: _Solving, wire: Outlet, made: Plan) -> None:
    """The plan for its page, and for the page at the table."""
    from nesting.web.plan_view import plan_view
    from nesting.web.table_steps import table_view

    # Of a plan that is being cut nothing is changed any more.
    table = {} if "begun" in solve.asked else solve.asked["table"]
    wire.send({"kind": "table", "table": table_view(made), "plan": pickle.dumps(made)})
    cut = sum(laid.done for layout in made.layouts for laid in layout.placements)
    wire.send({"kind": "plan", "view": plan_view(made, table) | {"cut": cut}})
    solve.wait_to_print()


def _opened(solve: _Solving, wire: Outlet) -> None:
    """A plan of a file, shown where it keeps every rule."""
    import json
    from pathlib import Path

    from nesting.files import read_plan
    from nesting.web.opened_plan import as_told, broken_rules
    from nesting.web.plan_view import what_if_view

    text = solve.asked["plan"]
    document = json.loads(text)
    if told := broken_rules(document):
        wire.send({"kind": "failed", "text": told, "state": "refused"})
        return
    made = as_told(read_plan(Path("plan.json"), text.encode()), document)
    _given(solve, wire, made)
    wire.send({"kind": "what_if", "found": what_if_view(made.what_if, made.job, solve.asked["table"])})
    for name, media, data in _files(made, document):
        wire.send({"kind": "file", "name": name, "media": media, "data": data})


def _with_changes(solve: _Solving, wire: Outlet, made: Plan) -> Plan:
    """The plan with the small changes that would save fabric, for which as much again may be spent."""
    from nesting.planning.what_if import what_if
    from nesting.web.plan_view import what_if_view

    if not solve.wanted:
        wire.send({"kind": "what_if", "found": None})
        return made
    asked = _effort(solve, made.job)
    effort = replace(asked, seconds=min(asked.seconds, WHAT_IF_SECONDS))
    found = solve.undisturbed(lambda: what_if(made, effort=effort))
    wire.send({"kind": "what_if", "found": what_if_view(found, made.job, solve.asked["table"])})
    return replace(made, what_if=found)


def _files(plan: Plan, document: Mapping[str, Any]) -> Iterator[tuple[str, str, bytes]]:
    """Name, media type and bytes of what can be taken away, the quickest first."""
    from nesting.outputs import Ready, of_page

    ready = Ready(plan, written=document)
    for output in of_page():
        yield from ((name, output.media, data) for name, data in output.files(ready))


def _compare(solve: _Solving, wire: Outlet) -> None:
    from nesting.files import read_job_table
    from nesting.planning.planner import compare
    from nesting.web.plan_view import comparison_view

    job = read_job_table(solve.asked["table"])
    made = compare(job, widths=solve.asked["widths"], effort=_effort(solve, job))
    wire.send({"kind": "compare", "view": comparison_view(made)})


if __name__ == "__main__":
    main()
