"""Pencil pleat: gathered by a tape, hung by hooks in one of its rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.counting import by_rule
from nesting.headings.hanging import HOOK_INSIDE, carriers, ring_passages
from nesting.headings.heading import FinishedPanel, Heading, bare, evenly, total_flat
from nesting.headings.look import Drape, Picture, RodBar, Stroke, edge
from nesting.headings.making import Making, measure
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, Steps, Sundry
from nesting.sewing import DrawUp, SetAlong, SewingStep

TAPE: Final = measure("3", "15/2")
TURN: Final = measure("3/2", "4")
UNDER_TAPE: Final = measure("1/4", "1/2")
TAPE_ENDS: Final = measure("2", "5")
TOP_ROW: Final = measure("1/2", "1")
HOOKS_APART: Final = measure("3", "8")

_PICTURE: Final[Picture] = (
    RodBar(8),
    Drape(14, 9),
    edge(14),
    *(Stroke(f"M{x} 14L{x} 27", width=1) for x in range(18, 80, 3)),
    edge(18, "2.5 2"),
    edge(24, "2.5 2"),
)


@dataclass(frozen=True, slots=True)
class PencilPleat(Heading):
    """A tape draws the top into narrow even pleats. Common practice, no source.

    The top edge sits above the hooks by the height of the hook row in use: just above it for the
    top row, nearly the whole tape for the bottom row.
    """

    name: str = "pencil-pleat"
    top_name: str = "turn under the tape"
    cover_name: str = "turned-down top"
    on_the_rod: str = "Enter the hooks."
    own_keys: tuple[str, ...] = ("tape", "hook_row")
    fullness: Fraction = Fraction(9, 4)
    pleated: bool = True
    hangs_from: tuple[HangsFrom, ...] = ("track", "rings")
    picture: Picture = _PICTURE

    def tape(self, making: Making) -> int:
        """How deep the tape is."""
        return making.window.tape or TAPE.of(making.unit)

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "tape", making.say(self.tape(making))

    def needs_diameter(self, making: Making) -> bool:
        """The rod does not matter."""
        return False

    def above_hanger(self, making: Making) -> Steps:
        """By the hook row in use."""
        upper = TOP_ROW.of(making.unit)
        lower = max(upper, self.tape(making) - upper)
        row = {"top": upper, "middle": (upper + lower) // 2, "bottom": lower}[making.window.hook_row]
        return Steps("top edge above the rod").add(
            f"{making.window.hook_row} hook row below the top edge", row
        )

    def top_allowance(self, making: Making) -> Steps:
        """The turn that lies under the tape."""
        return Steps("top").add("turned under the tape", self._turn(making))

    def _turn(self, making: Making) -> int:
        depth, tape = making.window.heading_depth, self.tape(making)
        return (
            min(TURN.of(making.unit), max(0, tape - UNDER_TAPE.of(making.unit))) if depth is None else depth
        )

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """A turn that comes out below the tape, its raw edge in sight."""
        depth, tape = making.window.heading_depth, self.tape(making)
        if depth is not None and depth > tape:
            text = f"at most {making.say(tape)}, the depth of the tape that covers its raw edge"
            yield Refusal(("heading_depth",), depth, text)

    def top_cover(self, making: Making) -> int:
        """The turn; the lining goes up under the tape."""
        return self._turn(making)

    def depth(self, making: Making) -> int:
        """The tape."""
        return self.tape(making)

    def passages(self, making: Making) -> Iterator[Passage]:
        """The rings, where it hangs from rings."""
        return ring_passages(making, "rings") if making.hangs_from == "rings" else iter(())

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Nothing to space: the tape draws the fabric up."""
        hooks = self._hooks(making, panel)
        remarks = (
            f"draw the tape up to {making.say(panel.finished)}, {making.window.hook_row} hook row",
            by_rule(making, hooks, f"{hooks.total - 1} spaces, {hooks.total} hooks"),
        )
        return bare(making, panel, hooks, remarks=remarks)

    def _hooks(self, making: Making, panel: FinishedPanel) -> Steps:
        """Hooks of a panel: one at each end of every space."""
        return (
            Steps("hooks")
            .add("finished", panel.finished)
            .per("hooks apart", HOOKS_APART.of(making.unit))
            .up_to(1, "up to a whole")
            .number("", 1)
        )

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """The top turned, the tape over its raw edge, drawn up; hooks where they fall."""
        making = sewn.making
        yield SewingStep("top", tuple(sewn.fold_top(self._turn(making), held="pinned", covered=True)))
        tape = Fraction(self.tape(making))
        drawn = (DrawUp(p.key, tape, Fraction(max(0, p.flat - p.finished))) for p in sewn.panels)
        yield SewingStep("pleats", tuple(drawn))
        row, apart = self.above_hanger(making).exact, HOOKS_APART.of(making.unit)
        end = HOOK_INSIDE.of(making.unit)
        hooks = (
            SetAlong(p.key, "hook", evenly(end, p.flat - end, -(-p.finished // apart) + 1), row)
            for p in sewn.panels
        )
        yield SewingStep("hooks", tuple(hooks))

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """Tape as long as the flat panel and its two ends, and hooks."""
        window, count = making.window, making.window.count
        length = total_flat(panels) + len(panels) * TAPE_ENDS.of(making.unit)
        deep, ends = making.say(self.tape(making)), making.say(TAPE_ENDS.of(making.unit))
        note = f"{deep} deep, each piece its flat panel and {ends}"
        yield Sundry("pencil-pleat tape", length=length * count, window=window.name, note=note)
        counts = [self._hooks(making, panel) for panel in panels]
        hooks = sum(steps.total for steps in counts)
        rules = dict.fromkeys(by_rule(making, steps, f"{steps.total} a panel") for steps in counts)
        yield Sundry("hooks", count=hooks * count, window=window.name, note="; ".join(rules))
        yield from carriers(making, hooks * count)

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Which hook row the length was worked out for."""
        if making.window.finished_length is None:
            text = f"the length is worked out for the {making.window.hook_row} hook row of the tape"
            yield Advice("note", text, making.window.name)
