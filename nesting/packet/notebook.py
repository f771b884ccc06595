"""A plan as a notebook shows it: what to buy, the marker, and the cut list."""

from __future__ import annotations

from html import escape
from zlib import crc32

from nesting.drawing.marker import marker_figure
from nesting.drawing.svg import svg
from nesting.drawing.trace import trace
from nesting.packet.buying import bought
from nesting.packet.facts import bolt_words
from nesting.packet.table_sheet import what
from nesting.plan.cut_rows import CutLength, cuts_of
from nesting.plan.numbering import Numbering
from nesting.plan.plan import Plan
from nesting.units import format_length


def plan_html(plan: Plan) -> str:
    """An HTML fragment with a marker and a cut list for each bolt; nothing in it is fetched or run."""
    parts = [f"<h3>{escape(plan.job.title or 'Drapes')}</h3>"]
    cuts = cuts_of(plan)
    for number, length in enumerate(cuts.lengths, 1):
        parts += _bolt(plan, length, cuts.numbers, number)
    return f'<div class="nesting-plan">{"".join(parts)}</div>'


def _bolt(plan: Plan, cuts: CutLength, numbers: Numbering, number: int) -> list[str]:
    unit, layout = plan.job.units, cuts.layout
    buy = "on hand" if layout.buy is None else f"buy {bought(layout)}"
    length = format_length(layout.length or 0, unit)
    least = format_length(layout.bound.length, unit)
    # The drawing's ids hold the fabric's place in the plan and its own, for several plans share a notebook.
    prefix = f"nesting-{crc32(repr((plan.job.title, layout)).encode()):x}-{number}"
    drawing = svg(trace(marker_figure(plan, layout)), alt=f"Marker of {layout.fabric.title}", prefix=prefix)
    drawing = drawing.replace("<svg ", '<svg style="max-width:100%;height:auto" ', 1)
    heads = ("cut", "piece", "pieces", f"wide, {unit}", f"long, {unit}", f"from, {unit}", f"to, {unit}")
    rows = [
        (
            cut.name,
            what(cut, unit),
            str(cut.count),
            *(format_length(at, unit, name=False) for at in (cut.wide, cut.long, cut.start, cut.end)),
        )
        for cut in cuts.rows
    ]
    head = "".join(f"<th>{escape(text)}</th>" for text in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(text)}</td>" for text in row) + "</tr>" for row in rows)
    return [
        f"<h4>{escape(bolt_words(layout, numbers, unit))}</h4>",
        f"<p>{escape(f'{buy}; layout {length}, proven least {least} ({layout.status})')}</p>",
        drawing,
        f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>",
    ]
