"""What is printed: the packet, its appendix and the labels."""

from __future__ import annotations

from typing import Final

from nesting.outputs.output_kind import Output, Ready, places

_PDF: Final = "application/pdf"
_OFFERED: Final = places("plan", "packet", "page")


def _packet_pdf(ready: Ready) -> bytes:
    from nesting.packet import packet_pdf

    return packet_pdf(ready.packet, paper=ready.paper)


def _appendix_pdf(ready: Ready) -> bytes:
    from nesting.packet import appendix_pdf

    return appendix_pdf(ready.packet, paper=ready.paper)


def _packet_html(ready: Ready) -> bytes:
    from nesting.files.plan_sending import with_plan
    from nesting.packet import packet_html

    return with_plan(packet_html(ready.packet, paper=ready.paper), ready.document).encode()


def _labels_pdf(ready: Ready) -> bytes:
    from nesting.packet import labels_pdf

    made = ready.packet
    return labels_pdf(made.labels, title=made.title, made=made.made, paper=ready.paper)


PACKET_PDF: Final = Output("packet.pdf", "Packet, PDF", _PDF, _OFFERED, _packet_pdf, pages=True)
APPENDIX_PDF: Final = Output("appendix.pdf", "Appendix, PDF", _PDF, _OFFERED, _appendix_pdf, pages=True)
PACKET_HTML: Final = Output(
    "packet.html", "Packet, HTML", "text/html; charset=utf-8", _OFFERED, _packet_html, pages=True
)
LABELS_PDF: Final = Output("labels.pdf", "Labels, PDF", _PDF, _OFFERED, _labels_pdf, pages=True)
