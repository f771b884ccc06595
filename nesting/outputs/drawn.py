"""The markers: on pages, as pictures, and at true scale."""

from __future__ import annotations

from typing import Final

from nesting.outputs.output_kind import Output, OutputEach, Ready, places
from nesting.plan.plan import FabricLayout

_OFFERED: Final = places("plan", "draw")


def _pdf(ready: Ready) -> bytes:
    from nesting.packet import marker_pdf

    return marker_pdf(ready.plan, list(ready.layouts), paper=ready.paper)


def _png(ready: Ready, layout: FabricLayout) -> bytes:
    return ready.pictures(layout)[0]


def _svg(ready: Ready, layout: FabricLayout) -> bytes:
    return ready.pictures(layout)[1]


def _full_size_svg(ready: Ready, layout: FabricLayout) -> bytes:
    from nesting.packet import full_size_svg

    return full_size_svg(ready.plan, layout)


def _full_size_pdf(ready: Ready, layout: FabricLayout) -> bytes:
    from nesting.packet import full_size_pdf

    return full_size_pdf(ready.plan, layout)


MARKER_PDF: Final = Output(
    "marker.pdf", "Marker, PDF", "application/pdf", places("plan", "draw", "page"), _pdf, pages=True
)
MARKER_PNG: Final = OutputEach("marker-*.png", _OFFERED, _png)
MARKER_SVG: Final = OutputEach("marker-*.svg", _OFFERED, _svg)
FULL_SIZE_SVG: Final = OutputEach("marker-*-full-size.svg", places("full-size"), _full_size_svg)
FULL_SIZE_PDF: Final = OutputEach("marker-*-full-size.pdf", places("full-size"), _full_size_pdf)
