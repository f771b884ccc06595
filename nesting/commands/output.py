"""What a command leaves in a folder: all of it made first, then written as one set."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from json.encoder import encode_basestring
from math import isfinite
from pathlib import Path
from typing import Any, Final, Literal

from nesting.commands.streams import answer, say
from nesting.errors import CheckError, OutputError
from nesting.files import Written, finish, write_set
from nesting.names import slugs
from nesting.plan.comparison import Comparison
from nesting.plan.plan import FabricLayout, Plan
from nesting.units import to_decimal

Paper = Literal["a4", "letter"]
#: With more pieces a plan comes without its pages: the pages of so many take about a minute.
MOST_DRAWN: Final = 1_000
#: Names of files that show a plan, as `plan`, `draw` and `packet` give them.
_LIKE_OURS: Final = re.compile(
    r"plan(-\d+)?\.json|cut-list(-\d+)?\.csv|marker(-[\w-]+)?\.(png|svg|pdf)"
    r"|packet(-\d+)?\.(html|pdf)|labels(-\d+)?\.(csv|pdf)"
)


def as_json(document: object) -> str:
    """Readable JSON, as `json.dumps` indents it by one; the same document gives the same text."""
    return _as_json(document, "\n") + "\n"


def _as_json(value: object, line: str) -> str:
    """A value that begins somewhere on a line; ``line`` is a line break with the indent of what holds it.

    Where it indents, `json.dumps` does without its machine code: this is several times as quick.
    """
    inner = line + " "
    if isinstance(value, str):
        return encode_basestring(value)
    if isinstance(value, dict) and value:
        entries = [f"{encode_basestring(key)}: {_as_json(each, inner)}" for key, each in value.items()]
        return f"{{{inner}{f',{inner}'.join(entries)}{line}}}"
    if isinstance(value, list | tuple) and value:
        return f"[{inner}{f',{inner}'.join([_as_json(each, inner) for each in value])}{line}]"
    if type(value) is int or (type(value) is float and isfinite(value)):
        return repr(value)
    return json.dumps(value)


def checked_document(plan: Plan) -> dict[str, Any]:
    """The plan as a document that keeps every rule.

    Raises
    ------
    CheckError
        It breaks one: a fault of this program.
    """
    from nesting.check import check_plan_document
    from nesting.files import plan_document

    document = plan_document(plan)
    violations = check_plan_document(document)
    if violations:
        raise CheckError("the plan failed its check:\n" + "\n".join(f"  - {v}" for v in violations[:20]))
    return document


def cut_list(plan: Plan) -> str:
    """The cuts of a plan in order, one a row."""
    from nesting.files import cut_list_csv

    return cut_list_csv(plan)


def drawings(plan: Plan, paper: Paper) -> dict[str, bytes]:
    """A marker for each fabric as PNG and SVG, and all of them on PDF pages, by file name."""
    from nesting.drawing.page import marker_pdf, marker_png, marker_svg

    files: dict[str, bytes] = {}
    laid = [layout for layout in plan.layouts if layout.length is not None]
    for name, layout in zip(slugs(_called(layout) for layout in laid), laid, strict=True):
        files[f"marker-{name}.png"] = marker_png(plan, layout)
        files[f"marker-{name}.svg"] = marker_svg(plan, layout)
    return files | {"marker.pdf": marker_pdf(plan, laid, paper=paper)}


def _called(layout: FabricLayout) -> str:
    """The fabric, and the length on hand it is cut from."""
    return f"{layout.fabric.key} {layout.on_hand}" if layout.on_hand else layout.fabric.key


def plan_files(plan: Plan, paper: Paper, document: object = None) -> dict[str, bytes]:
    """Everything `nesting plan` leaves; of a plan that `too_large` speaks of only what no page is set for.

    ``document`` is the plan's, where it is made already.
    """
    from nesting.files import plan_document
    from nesting.packet import labels_csv

    files = {
        "plan.json": as_json(plan_document(plan) if document is None else document).encode(),
        "cut-list.csv": cut_list(plan).encode(),
    }
    if too_large(plan):
        return files | {"labels.csv": labels_csv(plan).encode()}
    return {**files, **drawings(plan, paper), **packet_files(plan, paper)}


def too_large(plan: Plan) -> str:
    """Why no pages come with a plan, and how to have them all the same; empty where they do."""
    pieces = sum(len(layout.placements) for layout in plan.layouts)
    if pieces <= MOST_DRAWN:
        return ""
    return (
        f"{pieces} pieces are laid: markers, packet and labels come by themselves with at most {MOST_DRAWN}, "
        "for thousands of pages take many minutes. plan.json, cut-list.csv and labels.csv hold every piece; "
        "`nesting draw` and `nesting packet` make the pages from plan.json"
    )


def packet_files(
    plan: Plan,
    paper: Paper,
    *,
    comparison: Comparison | None = None,
    practice: Fraction | None = None,
    seconds: float = 3.0,
) -> dict[str, bytes]:
    """The packet as HTML and PDF, and its labels, by file name.

    Parameters
    ----------
    plan, paper
        What is printed, and on what.
    comparison
        The same job on other bolts, for the buying list.
    practice, seconds
        Scale of a practice sample to add, and how long to search for its layout.
    """
    from nesting.packet import labels_csv, labels_pdf, packet, packet_html, packet_pdf
    from nesting.packet.practice import practice as sample_of
    from nesting.packet.practice import practice_sections

    sample = None if practice is None else sample_of(plan, practice, seconds=seconds)
    pages = () if sample is None else practice_sections(sample, paper)
    made = packet(plan, made=date.today(), paper=paper, comparison=comparison, practice=pages)
    return {
        "packet.html": packet_html(made, paper=paper).encode(),
        "packet.pdf": packet_pdf(made, paper=paper),
        "labels.pdf": labels_pdf(made.labels, title=made.title, made=made.made, paper=paper),
        "labels.csv": labels_csv(plan).encode(),
    }


def full_size_files(plan: Plan) -> dict[str, bytes]:
    """Each marker at true scale, as SVG and PDF, by file name."""
    from nesting.packet import full_size_pdf, full_size_svg

    files: dict[str, bytes] = {}
    laid = [layout for layout in plan.layouts if layout.length is not None]
    for name, layout in zip(slugs(_called(layout) for layout in laid), laid, strict=True):
        files[f"marker-{name}-full-size.svg"] = full_size_svg(plan, layout)
        files[f"marker-{name}-full-size.pdf"] = full_size_pdf(plan, layout)
    return files


def comparison_files(comparison: Comparison) -> dict[str, bytes]:
    """Everything `nesting compare` leaves."""
    from nesting.drawing.charts import comparison_figure
    from nesting.drawing.page import figure_png

    return {
        "comparison.json": as_json(comparison_document(comparison)).encode(),
        "comparison.csv": comparison_csv(comparison).encode(),
        "comparison.png": figure_png(comparison_figure(comparison)),
    }


def comparison_document(comparison: Comparison) -> dict[str, Any]:
    """A comparison as a table that JSON can hold: ``nesting-comparison/2``."""
    from nesting.files import buy_document

    job = comparison.job
    options = []
    for option in comparison.options:
        layout = option.layout
        entry: dict[str, Any] = {
            "fabric": option.fabric.key,
            "bolt_width": to_decimal(option.bolt.width, job.units),
            "offered": option.offered,
            "widths_per_panel": dict(option.widths_per_panel),
            "seams": option.seams,
            "railroad": option.railroad,
            "reason": option.reason,
        }
        if layout is not None and layout.length is not None and layout.buy is not None:
            entry |= {
                "length": to_decimal(layout.length, job.units),
                "lower_bound": to_decimal(layout.bound.length, job.units),
                "bound_method": layout.bound.method,
                "status": str(layout.status),
                "quantity": round(float(layout.buy.quantity), 9),
                "unit": layout.buy.unit,
                "cost": None if layout.buy.cost is None else float(layout.buy.cost),
                "waste": round(float(layout.waste), 6),
                "buy": buy_document(layout.buy, job.units),
            }
        options.append(entry)
    return {"schema": "nesting-comparison/2", "title": job.title, "units": job.units, "options": options}


_COLUMNS = (
    "fabric", "bolt_width", "offered", "seams", "length", "lower_bound", "status",
    "quantity", "unit", "cost", "waste", "railroad", "reason",
)  # fmt: skip


def comparison_csv(comparison: Comparison) -> str:
    """A comparison with one row per bolt."""
    from nesting.files import rows_csv

    options = comparison_document(comparison)["options"]
    rows = [["" if option.get(key) is None else option[key] for key in _COLUMNS] for option in options]
    return rows_csv(_COLUMNS, rows)


def require_folder(folder: Path) -> None:
    """Refuse a place that is no folder and cannot become one; finish what a killed command left in it.

    Raises
    ------
    OutputError
        It is a file, or lies under one, or what was left cannot be finished.
    """
    for place in (folder, *folder.parents):
        if place.is_dir():
            finish(folder)
            return
        if place.exists() or place.is_symlink():
            raise OutputError(f"{place} is a file: name a folder after -o")


def write_all(folder: Path, files: Mapping[str, bytes], name: str, plan: str = "") -> Written:
    """Make the files the set of this name in the folder; see `nesting.files.write_set`.

    Raises
    ------
    OutputError
        The folder is a file or cannot be written to, or holds another plan.
    """
    require_folder(folder)
    return write_set(folder, files, name=name, plan=plan)


def tell(folder: Path, written: Written) -> None:
    """The names of the new files as the answer, and what else there is to know."""
    for path in written.paths:
        answer(f"{path}\n")
    for line in beside(folder, written):
        say(line)


def beside(folder: Path, written: Written) -> list[str]:
    """What a person should know of a folder beside the names of the new files."""
    lines = [f"removed, of an earlier plan: {path}" for path in written.removed]
    for one in written.kept:
        if one.instead is None:
            told = "is of an earlier plan, but was changed since: it is kept"
        else:
            told = f"is not ours, or was changed since: it is kept; what belongs here is {one.instead.name}"
        lines.append(f"warning: {one.path} {told}")
    known = written.ours | {one.path.name for one in written.kept}
    lines += [
        f"warning: {path} is not of this plan: it is kept"
        for path in sorted(folder.iterdir())
        if _LIKE_OURS.fullmatch(path.name) and path.name not in known
    ]
    return lines
