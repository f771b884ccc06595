"""What a command leaves in a folder: all of it made first, then written as one set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from nesting.commands.streams import answer, say
from nesting.errors import OutputError
from nesting.files import Written, as_json, finish, write_set
from nesting.outputs import Ready, files_for, is_like_ours
from nesting.pieces.piece import Piece
from nesting.plan.comparison import Comparison
from nesting.plan.paper import Paper
from nesting.plan.plan import Plan
from nesting.units import Unit, to_decimal

#: With more pieces a plan comes without its pages: the pages of so many take about a minute.
MOST_DRAWN: Final = 1_000


def checked_document(plan: Plan) -> dict[str, Any]:
    """The plan as a document that keeps every rule; see `nesting.files.checked_document`."""
    from nesting.files import checked_document as checked

    return checked(plan)


def unsewn(plan: Plan) -> str:
    """Why drapes are not sewn by the check where no document is wanted; empty where they are."""
    pieces = _laid(plan)
    if not plan.sewing or pieces <= MOST_DRAWN:
        return ""
    return (
        f"{pieces} pieces are laid, and every layout is checked; that they sew up to the drapes ordered is "
        "checked with -o FOLDER"
    )


def drawings(plan: Plan, paper: Paper | None) -> dict[str, bytes]:
    """A marker for each fabric as PNG and SVG, and all of them on PDF pages, by file name."""
    return files_for("draw", Ready(plan, paper))


def plan_files(
    plan: Plan, paper: Paper | None, document: Mapping[str, Any] | None = None
) -> dict[str, bytes]:
    """Everything `nesting plan` leaves; of a plan that `too_large` speaks of only what no page is set for.

    ``document`` is the plan's, where it is made already.
    """
    return files_for("plan", Ready(plan, paper, document), pages=not too_large(plan))


def too_large(plan: Plan) -> str:
    """Why no pages come with a plan, and how to have them all the same; empty where they do."""
    pieces = _laid(plan)
    if pieces <= MOST_DRAWN:
        return ""
    return (
        f"{pieces} pieces are laid: markers, packet and labels come by themselves with at most {MOST_DRAWN}, "
        "for thousands of pages take many minutes. plan.json and cut-list.csv hold every piece; "
        "`nesting draw` and `nesting packet` make the pages from plan.json"
    )


def _laid(plan: Plan) -> int:
    return sum(len(layout.placements) for layout in plan.layouts)


def packet_files(
    plan: Plan,
    paper: Paper | None,
    *,
    comparison: Comparison | None = None,
    practice: Fraction | None = None,
    seconds: float = 3.0,
) -> dict[str, bytes]:
    """The packet as HTML and PDF, its appendix, and its labels, by file name.

    Parameters
    ----------
    plan, paper
        What is printed, and on what.
    comparison
        The same job on other bolts, for the buying list.
    practice, seconds
        Scale of a practice sample to add, and how long to search for its layout.
    """
    from nesting.packet.practice import practice as sample_of
    from nesting.packet.practice import practice_sections

    ready = Ready(plan, paper, comparison=comparison)
    if practice is not None:
        sample = sample_of(plan, practice, seconds=seconds)
        ready = replace(ready, practice=practice_sections(sample, ready.paper))
    return files_for("packet", ready)


def full_size_files(plan: Plan, paper: Paper | None) -> dict[str, bytes]:
    """Each marker at true scale, as SVG and PDF, by file name."""
    return files_for("full-size", Ready(plan, paper))


def piece_files(pieces: Sequence[Piece], units: Unit) -> dict[str, bytes]:
    """Everything `nesting pieces` leaves."""
    from nesting.files import piece_documents, pieces_csv

    return {
        "pieces.csv": pieces_csv(pieces, units).encode(),
        "pieces.json": as_json(piece_documents(pieces, units)).encode(),
    }


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
        if is_like_ours(path.name) and path.name not in known
    ]
    return lines
