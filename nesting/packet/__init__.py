"""What is printed: the packet as HTML and PDF, the labels, a practice sample, the marker at true scale."""

from nesting.packet.build import packet, paper_of
from nesting.packet.full_size import full_size_pdf, full_size_svg
from nesting.packet.html import packet_html
from nesting.packet.labels import labels_csv
from nesting.packet.model import Packet
from nesting.packet.pdf import packet_pdf
from nesting.packet.pdf_labels import labels_pdf
from nesting.packet.pdf_marker import marker_pdf

__all__ = [
    "Packet",
    "full_size_pdf",
    "full_size_svg",
    "labels_csv",
    "labels_pdf",
    "marker_pdf",
    "packet",
    "packet_html",
    "packet_pdf",
    "paper_of",
]
