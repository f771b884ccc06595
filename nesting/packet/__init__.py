"""What is printed: packet and appendix as HTML and PDF, labels, a practice sample, markers at true scale."""

from nesting.packet.build import packet
from nesting.packet.full_size import full_size_pdf, full_size_svg
from nesting.packet.html import packet_html
from nesting.packet.labels import labels_csv
from nesting.packet.model import Packet
from nesting.packet.pdf import appendix_pdf, packet_pdf
from nesting.packet.pdf_labels import labels_pdf
from nesting.packet.pdf_marker import marker_pdf

__all__ = [
    "Packet",
    "appendix_pdf",
    "full_size_pdf",
    "full_size_svg",
    "labels_csv",
    "labels_pdf",
    "marker_pdf",
    "packet",
    "packet_html",
    "packet_pdf",
]
