"""Which seam plan each window is cut by, and what the others would have taken."""

from __future__ import annotations

from collections.abc import Iterator

from nesting.packet.model import Block, Paragraph, Table
from nesting.plan.plan import Plan, SeamReport
from nesting.plan.seam_words import seam_row


def seam_plans(plan: Plan, window: str) -> Iterator[Block]:
    """A table for each layer of a window whose widths could be cut in several ways."""
    for report in plan.seams:
        if report.window == window:
            yield _table(plan, report)
            yield Paragraph(_note(report), kind="note")


def _table(plan: Plan, report: SeamReport) -> Table:
    layer = "" if report.layer == "panel" else f", {report.layer}"
    rows = tuple(seam_row(offer, report, plan.job.units) for offer in report.offers)
    return Table(
        f"{report.window}{layer}: seam plans on {plan.job.fabric(report.fabric).title}",
        ("", "plan", "first panel, from the left", "pieces", "layout", "buy", "allowed"),
        rows,
        "cllrrrl",
        (0.6, 3.1, 2.1, 0.9, 1.5, 1.1, 1.3),
    )


def _note(report: SeamReport) -> str:
    barred = any(offer.allowed_by for offer in report.offers)
    text = (
        "Each plan is laid with all other windows cut as they are. Of plans that take the same the first is "
        "cut; where a layout may still be shorter, the least that is proven stands beside it."
    )
    return f"{text} The last column says what the order would have to allow." if barred else text
