"""What became of each job of a batch, as a table, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from nesting.commands import tables
from nesting.commands.streams import BAD_USAGE, IMPOSSIBLE, INTERRUPTED, NOTHING_FOUND, OWN_FAULT
from nesting.files import rows_csv
from nesting.plan.plan import Buy, FabricLayout, Plan
from nesting.units import Unit, format_length, to_decimal

#: From the worst to the best: a batch ends with the worst of its jobs.
WORST_FIRST = (OWN_FAULT, BAD_USAGE, NOTHING_FOUND, IMPOSSIBLE, 0)
#: In a word, why a job has no plan.
WORDS = {
    OWN_FAULT: "failed",
    BAD_USAGE: "refused",
    NOTHING_FOUND: "nothing found",
    IMPOSSIBLE: "impossible",
    INTERRUPTED: "not finished",
}


@dataclass(frozen=True, slots=True)
class FabricLine:
    """What one fabric of a job takes; lengths in ticks."""

    fabric: str
    buy: Buy | None
    length: int | None
    bound: int
    status: str


def fabric_lines(plan: Plan) -> tuple[FabricLine, ...]:
    """A line for each fabric of a plan."""
    return tuple(
        FabricLine(_called(layout), layout.buy, layout.length, layout.bound.length, str(layout.status))
        for layout in plan.layouts
    )


def _called(layout: FabricLayout) -> str:
    """The fabric, and the length on hand it is cut from."""
    return f"{layout.fabric.title}, {layout.on_hand}" if layout.on_hand else layout.fabric.title


@dataclass(frozen=True, slots=True)
class JobRow:
    """One job of a batch.

    Attributes
    ----------
    name
        That of its folder.
    file
        The job file as it was named.
    code
        The exit code that `nesting plan` would end with.
    said
        Why there is no plan, or what is left out of it; empty where all is planned.
    """

    name: str
    file: Path
    code: int = 0
    said: str = ""
    title: str = ""
    units: Unit = "in"
    currency: str = ""
    seconds: float = 0.0
    attempts: int = 0
    lines: tuple[FabricLine, ...] = ()


def worst(rows: Iterable[JobRow]) -> int:
    """The exit code of a batch."""
    return min((row.code for row in rows if row.code in WORST_FIRST), key=WORST_FIRST.index, default=0)


def batch_table(rows: Sequence[JobRow]) -> RenderableType:
    """A row for each fabric of each job, reasons for what has no plan below."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("job")
    table.add_column("fabric")
    for heading in ("buy", "cost", "layout", "proven least"):
        table.add_column(heading, justify="right")
    table.add_column("status")
    table.add_column("seconds", justify="right")
    for row in rows:
        for cells in _cells(row):
            table.add_row(*cells)
    reasons = [Padding(Text(f"{row.name}: {row.said}"), (0, 0, 0, 1)) for row in rows if row.said]
    return Group(table, *reasons)


def _cells(row: JobRow) -> Iterator[tuple[str, ...]]:
    seconds = f"{row.seconds:.1f}" if row.attempts else ""
    if not row.lines:
        yield (row.name, "", "", "", "", "", WORDS.get(row.code, "nothing to cut"), seconds)
    for number, line in enumerate(row.lines):
        yield (
            "" if number else row.name,
            line.fabric,
            "" if line.buy is None else tables.bought(line.buy),
            "" if line.buy is None else tables.money(line.buy.cost, row.currency),
            "" if line.length is None else format_length(line.length, row.units),
            format_length(line.bound, row.units),
            line.status,
            "" if number else seconds,
        )


def batch_document(rows: Sequence[JobRow]) -> dict[str, Any]:
    """A batch as a table that JSON can hold: ``nesting-batch/1``."""
    return {"schema": "nesting-batch/1", "jobs": [_entry(row) for row in rows]}


def _entry(row: JobRow) -> dict[str, Any]:
    return {
        "job": row.name,
        "file": str(row.file),
        "title": row.title,
        "units": row.units,
        "exit_code": row.code,
        "status": WORDS.get(row.code, "planned"),
        "reason": row.said,
        "seconds": row.seconds,
        "attempts": row.attempts,
        "fabrics": [_fabric(line, row.units) for line in row.lines],
    }


def _fabric(line: FabricLine, units: Unit) -> dict[str, Any]:
    buy = line.buy
    return {
        "fabric": line.fabric,
        "quantity": None if buy is None else round(float(buy.quantity), 9),
        "unit": None if buy is None else buy.unit,
        "cost": None if buy is None or buy.cost is None else float(buy.cost),
        "length": None if line.length is None else to_decimal(line.length, units),
        "lower_bound": to_decimal(line.bound, units),
        "status": line.status,
    }


_OF_JOB = ("job", "file", "units", "exit_code")
_OF_FABRIC = ("fabric", "quantity", "unit", "cost", "length", "lower_bound")


def batch_csv(rows: Sequence[JobRow]) -> str:
    """A batch with one row per fabric of a job, and one for a job without a plan."""
    listed = []
    for entry in batch_document(rows)["jobs"]:
        for fabric in entry["fabrics"] or [{}]:
            cells = [*(entry[key] for key in _OF_JOB), *(fabric.get(key) for key in _OF_FABRIC)]
            cells += [fabric.get("status", entry["status"]), entry["seconds"], entry["reason"]]
            listed.append(["" if cell is None else cell for cell in cells])
    return rows_csv((*_OF_JOB, *_OF_FABRIC, "status", "seconds", "reason"), listed)
