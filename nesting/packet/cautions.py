"""Cautions: what can hurt somebody or spoil the fabric, with a pointer to who decides."""

from __future__ import annotations

from nesting.packet.model import Bullets, Paragraph, Section

_DANGERS = (
    "Cords: use none, or keep them out of a child's reach, or no longer than 8 in (203 mm): 16 CFR 1260 "
    "with ANSI/WCMA A100.1, and EN 13120 in Europe. A tie-back is a loop too; hang it high or leave it "
    "off where children play.",
    "Heat: keep fabric 3 ft (0.9 m) from heaters, stoves and fireplaces (US Fire Administration), also "
    "when the window is open and the drape blows inward.",
    "Flame: a public room may need fabric that passes NFPA 701 or BS 5867-2. Layers that pass alone can "
    "fail together (NISTIR 89-4138), so face and lining are tested as they hang. This plan claims no "
    "compliance.",
    "Ladder: three points of contact, never the top step. A heavy lined pair is hung by two people.",
    "Brackets: fix them into framing or with anchors made for the wall, for the weight of fabric, lining "
    "and rod together, with plenty to spare for a pull.",
    "Rotary cutter: close the guard after every single cut, cut away from the hand, wear shoes. Shears "
    "are laid down closed and flat.",
    "Iron: a press cloth, from the wrong side, and first on a scrap. Pile is steamed and never pressed.",
)
_FABRIC = (
    "Care label: keep the label of the bolt (16 CFR 423, ISO 3758). The weakest layer decides how the "
    "whole drape is cleaned: face, lining, interlining, buckram and tape.",
    "Once cut, no shop takes fabric back. Before the first cut check the dye lot, flaws against the light, "
    "the full length, a square end, and the repeat as measured on the fabric.",
    "Measure everything with the same tape.",
)


def cautions() -> Section:
    """The page of cautions."""
    return Section(
        "cautions",
        "Cautions",
        (
            Bullets(_DANGERS),
            Paragraph("", "For the fabric"),
            Bullets(_FABRIC),
            Paragraph(
                "Sizes and allowances are common practice of the trade, not a standard. Local codes, the "
                "landlord's rules and licensed practice decide; where they differ from this packet, they "
                "are right.",
                "Who decides:",
                "note",
            ),
        ),
    )
