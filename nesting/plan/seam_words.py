"""A seam plan and what it takes, in the cells of a row."""

from __future__ import annotations

from typing import Final

from nesting.plan.plan import SeamOffer, SeamReport
from nesting.units import Unit, format_length, format_quantity

_NEEDS: Final = {
    'part_at = "free"': "if part-widths may lie at any edge",
    "part_pieces = 2": "if a part-width may be pieced of two strips",
}


def needs_words(allowed_by: str) -> str:
    """What a plan that the order bars would need, in words: it is given as a key of the job file."""
    return _NEEDS.get(allowed_by, allowed_by)


def seam_row(offer: SeamOffer, report: SeamReport, unit: Unit) -> tuple[str, ...]:
    """Chosen or not, the plan, its widths, how many pieces, layout, purchase, and what would allow it."""
    return (
        "cut" if offer.chosen else "",
        offer.told,
        " + ".join(format_length(cut, unit, name=False) for cut in offer.cuts),
        str(offer.pieces),
        _length(offer, report, unit),
        "" if offer.buy is None else format_quantity(offer.buy.total, offer.buy.unit),
        needs_words(offer.allowed_by) or "yes",
    )


def _length(offer: SeamOffer, report: SeamReport, unit: Unit) -> str:
    """The layout and how much more or less it is; in brackets what is proven where it may be shorter."""
    if offer.length is None:
        return "none found"
    text, chosen = format_length(offer.length, unit), report.chosen.length
    if not offer.chosen and chosen is not None and offer.length != chosen:
        sign = "+" if offer.length > chosen else "-"
        text += f" ({sign}{format_length(abs(offer.length - chosen), unit, name=False)})"
    if offer.bound is not None and offer.bound < offer.length:
        text += f", at least {format_length(offer.bound, unit, name=False)}"
    return text
