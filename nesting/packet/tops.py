"""How the top of a window is sewn, and how a panel comes on its rod: what its heading says."""

from __future__ import annotations

from collections.abc import Iterator

from nesting.headings.sewn import Sewn
from nesting.packet.facts import WindowFacts, is_pile


def on_the_rod(facts: WindowFacts) -> str:
    """How a finished panel comes on its rod or track."""
    said = facts.style.on_the_rod
    if facts.style.pleated and facts.making.hangs_from == "rings":
        return f"Slide a ring for each hook on the rod before it goes on its brackets. {said}"
    return said


def top_steps(facts: WindowFacts) -> Iterator[str]:
    """The steps of the window's heading."""
    sewn = Sewn(
        making=facts.making,
        panels=facts.panels,
        plans=facts.headings,
        facings=sum(piece.copies for piece in facts.pieces_of("facing")),
        piles=frozenset(fabric.key for fabric in facts.fabrics if is_pile(fabric)),
    )
    return facts.style.told(sewn)
