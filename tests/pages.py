"""Reading packets back: tables of the HTML page, and texts of the PDF pages with their places."""

from __future__ import annotations

import io
import itertools
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import html5lib
import plans
from orders import a_bolt, a_fabric, a_job, a_window, inch
from pypdf import PdfReader
from pypdf.generic import NameObject
from reportlab.pdfbase.pdfmetrics import stringWidth

from nesting.files import read_job
from nesting.order.job import TabOrder
from nesting.packet import Packet, appendix_pdf, packet, packet_html, packet_pdf
from nesting.packet.pdf_drawing import BOLD, PLAIN
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import unit_ticks

MADE = date(2026, 3, 1)
SAMPLES = Path(__file__).parent.parent / "samples"
#: Inch, metric, half drop.
THREE = ("reading-nook", "loft-metric", "dining-room")
_XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"


@cache
def sample(name: str) -> Plan:
    """A sample's plan, searched a little."""
    return make_plan(read_job(SAMPLES / f"{name}.toml"), effort=Effort(work=0.3, workers=1))


def planned(*windows: Any, fabrics: Any) -> Plan:
    """A plan for those windows; every bolt is sold by the eighth of a yard."""
    sold = tuple(
        replace(fabric, bolts=tuple(replace(bolt, sold_by=unit_ticks("yd") // 8) for bolt in fabric.bolts))
        for fabric in fabrics
    )
    return make_plan(a_job(*windows, fabrics=sold), effort=Effort(work=0.2, workers=1))


@cache
def hard(name: str) -> Plan:
    """Plans that strain a page: a long bolt, long names, two hundred tabs on one panel."""
    if name == "names":
        long = "Upper landing, the tall window over the stairs beside the linen room " * 3
        window = a_window(name=long.strip(), room="Donaudampfschifffahrtsgesellschaftskapitänszimmer" * 2)
        fabric = a_fabric(a_bolt(inch(54), inch(53)), name="Velvet of a name that goes on and on " * 6)
        return planned(window, fabrics=(fabric,))
    if name == "tabs":
        # 200 tabs of 2 with gaps of 1: 200 x 2 + 199 = 599 flat.
        more = {
            "heading": "tab-top",
            "flat_width": inch(599),
            "tab": TabOrder(width=inch(2), count=200),
            "draw": "left",
        }
        return planned(a_window(**more), fabrics=(a_fabric(a_bolt(inch(118), inch(117))),))
    return plans.long_bolt()


def built(plan: Plan, paper: Any = "a4", **more: Any) -> Packet:
    return packet(plan, made=MADE, paper=paper, **more)


def named(name: str) -> Plan:
    return sample(name) if (SAMPLES / f"{name}.toml").exists() else hard(name)


@cache
def packet_of(name: str, paper: Any = "a4") -> Packet:
    return built(named(name), paper)


@cache
def page_of(name: str, paper: Any = "a4") -> str:
    return packet_html(packet_of(name, paper), paper=paper)


@cache
def pdf_of(name: str, paper: Any = "a4") -> bytes:
    return packet_pdf(packet_of(name, paper), paper=paper)


@cache
def appendix_of(name: str, paper: Any = "a4") -> bytes:
    return appendix_pdf(packet_of(name, paper), paper=paper)


def all_texts(name: str, paper: Any = "a4") -> list[str]:
    """The text of each page of the packet and of its appendix."""
    return [*texts(pdf_of(name, paper)), *texts(appendix_of(name, paper))]


def each_cut(called: str) -> list[str]:
    """``cuts A3, A5 to A7`` one by one."""
    found = list[str]()
    for run in re.sub(r"^cuts? ", "", called).split(", "):
        first, _, last = run.partition(" to ")
        letter = first.rstrip("0123456789")
        counts = [int(number.removeprefix(letter)) for number in (first, last or first)]
        found += [f"{letter}{count}" for count in range(counts[0], counts[1] + 1)]
    return found


def parsed(html: str) -> ET.Element:
    """The page as a tree; refused where it breaks any rule of HTML."""
    parser = html5lib.HTMLParser(strict=True, tree=html5lib.getTreeBuilder("etree"))
    return parser.parse(html)


def every(tree: ET.Element, tag: str) -> list[ET.Element]:
    return list(tree.iter(f"{_XHTML}{tag}"))


def words(element: ET.Element) -> str:
    return " ".join("".join(element.itertext()).split())


@dataclass(frozen=True)
class Rows:
    """A table: its heads, rows and foot as texts."""

    head: list[str]
    body: list[list[str]]
    foot: list[list[str]]

    def column(self, name: str) -> list[str]:
        at = self.head.index(name)
        return [row[at] for row in self.body]


def tables(tree: ET.Element) -> dict[str, Rows]:
    """All tables by caption."""
    found = {}
    for table in every(tree, "table"):
        parts = {
            part: [
                [words(cell) for cell in row]
                for row in every(table.find(f"{_XHTML}{part}"), "tr")
                if row.get("class") != "under"
            ]
            for part in ("thead", "tbody", "tfoot")
            if table.find(f"{_XHTML}{part}") is not None
        }
        caption = words(table.find(f"{_XHTML}caption"))
        found[caption] = Rows(parts["thead"][0], parts["tbody"], parts.get("tfoot", []))
    return found


def leaves(pdf: bytes) -> list[Any]:
    """The pages, their hatches marked as pictures: they are drawn hundreds of times and hold no text."""
    pages = list(PdfReader(io.BytesIO(pdf)).pages)
    for page in pages:
        for form in page["/Resources"].get("/XObject", {}).values():
            drawn = form.get_object()
            if drawn["/Subtype"] == "/Form":
                assert b"Tj" not in drawn.get_data()
                drawn[NameObject("/Subtype")] = NameObject("/Image")
    return pages


def texts(pdf: bytes) -> list[str]:
    """The text of each page, spaces as one."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in leaves(pdf)]


@dataclass(frozen=True)
class Written:
    """A level text on a page: its box in points, and what it says."""

    left: float
    low: float
    right: float
    high: float
    text: str


def written(pdf: bytes) -> Iterator[tuple[tuple[float, float], list[Written]]]:
    """For each page its size, and the texts on it that are not turned."""
    for page in leaves(pdf):
        yield (float(page.mediabox.width), float(page.mediabox.height)), list(_level(page))


def _level(page: Any) -> Iterator[Written]:
    boxes: list[Written] = []

    def visit(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        shown = text.strip()
        if not shown or abs(tm[1]) > 1e-6 or abs(cm[1]) > 1e-6:
            return
        scale = cm[0] * tm[0]
        x, y = cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]
        bold = font is not None and "Bold" in str(font.get("/BaseFont"))
        width = max(stringWidth(line, BOLD if bold else PLAIN, size) for line in shown.split("\n")) * scale
        boxes.append(Written(x, y - 0.1 * size * scale, x + width, y + 0.6 * size * scale, shown))

    page.extract_text(visitor_text=visit)
    yield from boxes


def collisions(found: list[Written]) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other; a line that changes its type midway starts at one place."""
    return [
        (a.text, b.text)
        for a, b in itertools.combinations(found, 2)
        if min(a.right, b.right) - max(a.left, b.left) > 0.5 and min(a.high, b.high) - max(a.low, b.low) > 0.5
        if not (a.left == b.left and abs(a.low - b.low) < 0.5)
    ]
