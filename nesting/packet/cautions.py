"""Cautions: what can hurt somebody or spoil the fabric, with a pointer to who decides.

They stand on the sheet of every window: `nesting.packet.model.Section` refuses one without.
"""

from __future__ import annotations

from typing import Final

from nesting.packet.model import Cautions

CAUTIONS: Final = Cautions(
    (
        (
            "Cords:",
            "use none, or keep them out of a child's reach, or no longer than 8 in (203 mm): 16 CFR 1260 "
            "with ANSI/WCMA A100.1, and EN 13120 in Europe. A tie-back is a loop too: hang it high, or "
            "leave it off where children play.",
        ),
        (
            "Heat:",
            "3 ft (0.9 m) from heaters, stoves and fireplaces (US Fire Administration), also when the window "
            "is open and the drape blows inward.",
        ),
        (
            "Flame:",
            "a public room may need fabric that passes NFPA 701 or BS 5867-2. Layers that pass alone can "
            "fail together (NISTIR 89-4138): test face and lining as they hang. This plan claims no "
            "compliance.",
        ),
        (
            "Ladder:",
            "three points of contact, never the top step. Two people hang a heavy lined pair.",
        ),
        (
            "Brackets:",
            "into framing, or with anchors made for the wall, for fabric, lining and rod together, "
            "and for a pull on top.",
        ),
        (
            "Blades:",
            "close the guard of a rotary cutter after every cut, cut away from the hand, wear shoes. Lay "
            "shears down closed.",
        ),
        (
            "Iron:",
            "a press cloth, from the wrong side, first on a scrap. Pile is steamed and never pressed.",
        ),
        (
            "Care:",
            "keep the label of the bolt (16 CFR 423, ISO 3758). The weakest layer decides how the whole "
            "drape is cleaned: face, lining, interlining, buckram and tape.",
        ),
        (
            "Who decides:",
            "sizes and allowances are common practice of the trade, not a standard. Local codes, the "
            "landlord's rules and licensed practice decide; where they differ from this sheet, they are "
            "right.",
        ),
    )
)
