"""The markers of a plan as PDF pages along each bolt."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from nesting.drawing.page import marker_pages
from nesting.drawing.trace import trace
from nesting.packet.pdf_drawing import place, register_fonts
from nesting.plan.paper import Paper, paper_for
from nesting.plan.plan import FabricLayout, Plan


def marker_pdf(
    plan: Plan, layouts: Sequence[FabricLayout] | None = None, *, paper: Paper | None = None
) -> bytes:
    """A PDF with the markers page by page along each bolt; the same plan gives the same bytes.

    Parameters
    ----------
    plan
        The plan.
    layouts
        Which of the plan's layouts; default: all.
    paper
        Default: Letter for jobs in inches, A4 for metric ones.
    """
    register_fonts()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=1)
    canvas.setTitle(plan.job.title)
    canvas.setCreator("nesting")
    canvas.setProducer("nesting")
    for figure in marker_pages(
        plan, plan.layouts if layouts is None else layouts, paper or paper_for(plan.job.units)
    ):
        drawing = trace(figure)
        canvas.setPageSize((drawing.width, drawing.height))
        place(canvas, drawing, 0, 0)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()
