"""What the plan knows of each window, gathered for its construction and for the pages that tell of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from nesting.cutting.measures import Hanging, as_cut, hangings, settle
from nesting.headings import Heading, Making, heading
from nesting.order.job import Fabric, Window
from nesting.pieces.piece import HeadingPlan, PanelPlan, Piece, Role
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.selvages import seams_in_selvage
from nesting.sewing import Sewing
from nesting.units import Unit


@dataclass(frozen=True, slots=True)
class WindowFacts:
    """One window with its panels, from left to right, and its pieces.

    ``clipped`` holds the keys of fabrics whose seams take up the selvage; of all others it is cut off.
    ``sewing`` is its sewing order as the plan holds it, or None where the plan holds none. ``numbers`` are
    those of its pieces, by id and copy, where a page has numbered them.
    """

    window: Window
    fabric: Fabric
    making: Making
    style: Heading
    hangings: tuple[Hanging, ...]
    panels: tuple[PanelPlan, ...]
    headings: tuple[HeadingPlan, ...]
    pieces: tuple[Piece, ...]
    fabrics: tuple[Fabric, ...] = ()
    clipped: frozenset[str] = frozenset()
    sewing: Sewing | None = None
    numbers: Mapping[tuple[str, int], str] = field(default_factory=dict)

    @property
    def unit(self) -> Unit:
        """In which its lengths are told."""
        return self.making.unit

    @property
    def pile(self) -> bool:
        """Whether its fabric has a nap that runs one way and no print, as velvet has."""
        return is_pile(self.fabric)

    @property
    def drawn_in(self) -> bool:
        """Whether a panel is narrower once its top is made: pleated, or drawn up by a tape."""
        return self.style.pleated and all(panel.finished < panel.flat for panel in self.panels)

    def pieces_of(self, role: Role) -> tuple[Piece, ...]:
        """Its pieces of that role."""
        return tuple(piece for piece in self.pieces if piece.role == role)


def window_facts(plan: Plan) -> tuple[WindowFacts, ...]:
    """The windows of a plan in the order of the job; none where the plan does not carry its order."""
    found = list[WindowFacts]()
    at = 0
    clipped = frozenset(layout.fabric.key for layout in laid_out(plan) if seams_in_selvage(layout))
    pieces, panels = defaultdict[str | None, list[Piece]](list), dict[str, PanelPlan]()
    for piece in plan.pieces:
        pieces[piece.window].append(piece)
    for panel in plan.panels:
        panels.setdefault(panel.window, panel)
    sewing = {order.window: order for order in plan.sewing}
    for window in plan.job.windows:
        making, made = settle(plan.job, window), panels.get(window.name)
        making = making if made is None else as_cut(making, plan.job, made)
        hung = hangings(making)
        found.append(
            WindowFacts(
                window=window,
                fabric=plan.job.fabric(window.fabric),
                making=making,
                style=heading(window.heading),
                hangings=hung,
                panels=plan.panels[at : at + len(hung)],
                headings=plan.headings[at : at + len(hung)],
                fabrics=plan.job.fabrics,
                clipped=clipped,
                pieces=tuple(pieces[window.name]),
                sewing=sewing.get(window.name),
            )
        )
        at += len(hung)
    return tuple(found)


def is_pile(fabric: Fabric) -> bool:
    """Whether a fabric has a nap that runs one way and no print, as velvet has."""
    return fabric.nap == "one-way" and fabric.repeat is None


def laid_out(plan: Plan) -> Iterator[FabricLayout]:
    """The layouts that hold something."""
    return (layout for layout in plan.layouts if layout.length is not None)
