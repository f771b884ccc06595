"""A lesson as the files of a folder."""

from __future__ import annotations

from datetime import date

from nesting.lesson.handout import lesson
from nesting.packet.html import packet_html
from nesting.packet.pdf import packet_pdf
from nesting.plan.paper import Paper
from nesting.units import Unit


def paper_for_class(units: Unit) -> Paper:
    """Letter where people measure in inches, else A4."""
    return "letter" if units == "in" else "a4"


def lesson_files(name: str, units: Unit, *, made: date, paper: Paper | None = None) -> dict[str, bytes]:
    """The handout as HTML and PDF, by file name: ``lesson-back-tab.pdf``."""
    packet, sheet = lesson(name, units, made=made), paper or paper_for_class(units)
    return {
        f"lesson-{name}.html": packet_html(packet, paper=sheet).encode(),
        f"lesson-{name}.pdf": packet_pdf(packet, paper=sheet),
    }
