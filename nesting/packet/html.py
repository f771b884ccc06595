"""The packet as one page of HTML that needs nothing but itself, on a screen or printed."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from nesting.drawing.svg import patterns, svg
from nesting.drawing.trace import Hatch
from nesting.packet.model import BLANK, TICK_BOX, MakingStep, Packet, Picture
from nesting.plan.paper import Paper, paper_for

_SIZES: Final = {"a4": "210mm 297mm", "letter": "8.5in 11in"}


@lru_cache(maxsize=1)
def _templates() -> Environment:
    """Everything a person typed is escaped: autoescape holds for every template."""
    return Environment(
        loader=PackageLoader("nesting.packet", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


class _Drawings:
    """Sets drawings as SVG, each with ids of its own; their hatches are held once for the page."""

    def __init__(self) -> None:
        self._count = 0
        self._hatches: dict[Hatch, str] = {}

    def __call__(self, block: Picture | MakingStep) -> Markup:
        if block.drawing is None:
            return Markup()
        self._count += 1
        # The SVG is made of numbers and of texts it has escaped itself.
        return Markup(svg(block.drawing, alt=block.alt, prefix=f"d{self._count}", hatches=self._hatches))

    def hatches(self) -> Markup:
        """The hatches of all drawings set so far."""
        return Markup(patterns(self._hatches))


def _in_style(text: str) -> Markup:
    """A text as a string inside a style sheet, where HTML escapes do not hold."""
    plain = "".join(
        character if character.isalnum() or character in " .,:;-_()/·" else f"\\{ord(character):x} "
        for character in text
        if character.isprintable()
    )
    return Markup(f'"{plain}"')


def packet_html(packet: Packet, *, paper: Paper | None = None) -> str:
    """The packet as a self-contained HTML page.

    Parameters
    ----------
    packet
        What to print.
    paper
        What it is set for when printed; default: that of the packet's units.

    Returns
    -------
    str
        UTF-8 text; opens from disk, asks for nothing from any network, and shows all that was typed as text.
    """
    template = _templates().get_template("packet.html")
    return template.render(
        packet=packet,
        made=packet.made.isoformat(),
        draw=_Drawings(),
        style_string=_in_style,
        size=_SIZES[paper or paper_for(packet.units)],
        box=TICK_BOX,
        blank=BLANK,
    )
