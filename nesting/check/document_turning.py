"""What a plan document promises of panels cut sideways: turned where that was ordered, and nowhere else.

The order says of each window whether its panels are cut turned; the layouts say how they lie. Nothing of what
decides it is used here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from nesting.check.document import LAYERS, LaidEntry, PlanDocument, TableReader
from nesting.check.violation import Breach, Violation


def check_turning(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """Panels ordered turned lie turned, those ordered upright stand; ``railroaded`` says what is so."""
    top = TableReader(document, "", plan.units)
    roles = {
        entry.text("id"): (entry.text_or_none("role", None), entry.text_or_none("window", None))
        for entry in top.tables("pieces")
    }
    yield from _check_ordered(plan, top, roles)
    yield from _check_said(plan, top, roles)
    yield from _check_joined(plan)


def _check_ordered(
    plan: PlanDocument, top: TableReader, roles: Mapping[str, tuple[str | None, str | None]]
) -> Iterator[Violation]:
    """How the panels of each window lie, against what its order says."""
    panels = defaultdict[str, list[tuple[LaidEntry, str]]](list)
    for layout in plan.layouts:
        for entry in layout.entries:
            role, window = roles[entry.piece.id]
            if role == "panel" and window:
                panels[window].append((entry, f"{layout.place}, x {entry.x}, y {entry.y}"))
    order = top.table_or_none("order")
    for ordered in () if order is None else order.tables("windows", ()):
        said = ordered.text_or_none("railroad", None)
        turn = {"yes": 90, "no": 0}.get(said or "")
        for entry, at in panels[ordered.text("name")] if turn is not None else ():
            if entry.turn != turn:
                yield Violation(Breach.TURN, entry.name, f'railroad "{said}"', at=at)


def _check_said(
    plan: PlanDocument, top: TableReader, roles: Mapping[str, tuple[str | None, str | None]]
) -> Iterator[Violation]:
    """A fabric is said to be railroaded exactly where a layer of a panel lies turned on it."""
    turned = defaultdict[str, set[bool]](set)
    for layout in plan.layouts:
        for entry in layout.entries:
            if roles[entry.piece.id][0] in LAYERS:
                turned[layout.fabric].add(entry.turn == 90)
    for layout, table in zip(plan.layouts, top.tables("layouts"), strict=True):
        said, lies = table.value("railroaded", None), turned[layout.fabric]
        if isinstance(said, bool) and lies and said is not (True in lies):
            yield Violation(Breach.TURN, f"railroaded {said}", "how its panels lie", at=layout.place)


def _check_joined(plan: PlanDocument) -> Iterator[Violation]:
    """Joined widths stand, on which bounds rely: turned, their panel would be one run."""
    for layout in plan.layouts:
        for entry in layout.entries:
            if entry.piece.joined and entry.turn:
                at = f"{layout.place}, x {entry.x}, y {entry.y}"
                yield Violation(Breach.TURN, entry.name, "the widths that it is joined to", at=at)
