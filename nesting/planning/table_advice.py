"""What is said of a plan that is planned again at the table: what to buy, new labels, what does not fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nesting.pieces.piece import Advice
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.shortage import bought
from nesting.planning.cut_names import listed_names
from nesting.planning.hung_fabric import LOT
from nesting.units import format_length


@dataclass(frozen=True, slots=True)
class TableAdvice:
    """A plan before and after, and what changed.

    ``again`` are the cuts that are made again, by their old names; ``narrower`` the usable width of fabrics
    that came narrower than ordered; ``flawed`` cuts that are made and have a flaw, by their old names.
    """

    before: Plan
    plan: Plan
    renamed: tuple[tuple[str, str], ...]
    again: frozenset[str]
    narrower: Mapping[str, int]
    flawed: tuple[str, ...] = ()

    def advice(self) -> Iterator[Advice]:
        """All of it, what wants a decision first."""
        yield from self._to_buy()
        if self.flawed:
            names = listed_names(self.flawed)
            text = f"a flaw lies in what is cut: {names}. Where it shows, mark it as cut again"
            yield Advice("warning", text)
        yield from self._again()
        yield from self._too_wide()
        yield from self._labels()
        if self.plan.job.cutting == "across-first":
            yield Advice(
                "note", "the rest of a fabric that is cut into is not laid out for cuts across first"
            )

    def _say(self, ticks: int) -> str:
        return format_length(ticks, self.plan.job.units)

    def _begun(self, key: str) -> bool:
        old = {one.on_hand for one in self.before.layouts if one.fabric.key == key}
        return any(one.fabric.key == key and one.on_hand not in old for one in self.plan.layouts)

    def _to_buy(self) -> Iterator[Advice]:
        for layout in self.plan.layouts:
            buy, key = layout.buy, layout.fabric.key
            if buy is None or not self._begun(key):
                continue
            lot = layout.lot or ""
            same = "of the same dye lot" if lot == LOT else f"of dye lot {lot}" if lot else ""
            what = bought(buy, self.plan.job.currency, f" more {same}".rstrip())
            ask = (
                ". Ask for that lot before you cut on; if it is sold out, cut whole windows from one lot and "
                "compare the lots by daylight"
            )
            text = f"{layout.fabric.title}: what is left is not enough: buy {what}{ask if same else ''}"
            yield Advice("warning", text, fabric=key, money=buy.cost)
        for key in dict.fromkeys(one.fabric.key for one in self.plan.layouts):
            mine = [one for one in self.plan.layouts if one.fabric.key == key]
            if self._begun(key) and all(one.buy is None for one in mine):
                rest = sum(map(_spare, mine))
                left = f", and at least {self._say(rest)} stay on the bolt" if rest > 0 else ""
                yield Advice("note", f"{mine[0].fabric.title}: what is left is enough{left}", fabric=key)

    def _again(self) -> Iterator[Advice]:
        if self.again:
            yield Advice(
                "note",
                f"cut again: {listed_names(self.again)} of the plan before. Keep what went wrong: smaller "
                "pieces may come from it",
            )

    def _too_wide(self) -> Iterator[Advice]:
        """Pieces that are wider than the fabric came."""
        numbers = numbering(self.plan.layouts)
        for key, usable in self.narrower.items():
            wide = [
                numbers.of(laid)
                for layout in self.plan.layouts
                for laid in layout.placements
                if layout.fabric.key == key and layout.on_hand is None and laid.width > usable
            ]
            if wide:
                yield Advice(
                    "warning",
                    f"{self.plan.job.fabric(key).title}: wider than the {self._say(usable)} that your fabric "
                    f"has: {listed_names(wide)}. Ask the shop for the width you ordered; where nothing of "
                    "a window is cut yet, change the usable width in the job and plan that window again",
                    fabric=key,
                )

    def _labels(self) -> Iterator[Advice]:
        moved = [(old, new) for old, new in self.renamed if old != new]
        if moved:
            listed = ", ".join(f"{old} is now {new}" for old, new in moved)
            yield Advice("note", f"write the new numbers on what is cut: {listed}")
        stays = {name for _, new in self.renamed for name in new.split(", ")}
        fresh = [
            name for name in dict.fromkeys(numbering(self.plan.layouts).numbers.values()) if name not in stays
        ]
        old = set(numbering(self.before.layouts).numbers.values())
        if again := [name for name in fresh if name in old]:
            yield Advice(
                "note",
                f"new labels: {listed_names(again)}; their old labels no longer hold",
            )


def _spare(layout: FabricLayout) -> int:
    there = layout.there
    if there is None or all(laid.done for laid in layout.placements):
        return 0
    return there.length - layout.reserve - (layout.length or 0)
