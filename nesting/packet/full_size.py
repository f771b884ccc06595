"""The marker at true scale as files: SVG and PDF in real millimeters."""

from __future__ import annotations

import io
from typing import Final

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from nesting.drawing.svg import svg
from nesting.drawing.true_scale import true_scale, true_scale_pages
from nesting.packet.pdf_drawing import place, register_fonts
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan

_HEAD: Final = '<?xml version="1.0" encoding="UTF-8"?>\n'


def full_size_svg(plan: Plan, layout: FabricLayout) -> bytes:
    """The whole bolt as one SVG whose width and height are real millimeters."""
    drawing = true_scale(layout, plan.job.units, numbering(plan.layouts), title=plan.job.title)
    size = (f"{drawing.width:.4f}mm", f"{drawing.height:.4f}mm")
    alt = f"Marker of {layout.fabric.title} at true scale"
    return (_HEAD + svg(drawing, alt=alt, prefix="full", size=size) + "\n").encode()


def full_size_pdf(plan: Plan, layout: FabricLayout) -> bytes:
    """The bolt as PDF pages at true scale, each at most 5 m of fabric; print at 100 %, never fitted."""
    register_fonts()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=1)
    canvas.setTitle(f"{plan.job.title}: {layout.fabric.title} at true scale")
    canvas.setCreator("nesting")
    numbers = numbering(plan.layouts)
    for drawing in true_scale_pages(layout, plan.job.units, numbers, title=plan.job.title):
        canvas.setPageSize((drawing.width * mm, drawing.height * mm))
        place(canvas, drawing, 0, 0, mm)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()
