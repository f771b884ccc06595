"""What is said of a plan whose first panel hangs: lengths, hems of what is cut, what to buy, what to ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from nesting.order.job import HungLength, Window
from nesting.pieces.piece import Advice
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.shortage import bought
from nesting.planning.cut_names import listed_names
from nesting.planning.hung_fabric import LOT
from nesting.planning.hung_pieces import CutPiece
from nesting.units import format_length


@dataclass(frozen=True, slots=True)
class Told:
    """A plan before and after its first panel hung, and what changed.

    ``alike`` are windows that were planned like the measured one and keep their lengths; ``hems_suffice``:
    what is not cut yet could be cut as planned, with other hems; ``moves``: how far below the level line of
    a group the line of its pattern came.
    """

    before: Plan
    plan: Plan
    lengths: tuple[HungLength, ...]
    cut: tuple[CutPiece, ...]
    renamed: tuple[tuple[str, str], ...]
    alike: tuple[Window, ...]
    hems_suffice: bool = False
    moves: Mapping[str, int] = field(default_factory=dict)

    def advice(self) -> Iterator[Advice]:
        """All of it, what wants a decision first."""
        yield from self._asked()
        yield from self._to_buy()
        yield from self._hung()
        yield from self._hems()
        yield from self._prints()
        yield from self._labels()
        if self.plan.job.cutting == "across-first" and any(one.on_hand for one in self.plan.layouts):
            yield Advice("note", "the rest of a bolt that is cut into is not laid out for cuts across first")

    def _say(self, ticks: int) -> str:
        return format_length(ticks, self.plan.job.units)

    def _asked(self) -> Iterator[Advice]:
        if not self.alike:
            return
        more = self.lengths[0].length - self.lengths[0].was
        for window in self.alike:
            yield Advice(
                "warning",
                f"keeps its planned length. It has the heading and the length of {self.lengths[0].window}, "
                f"which came out {self._change(more)}: hang one of its panels too, or correct it alike "
                f'(--also "{window.name}")',
                window.name,
            )

    def _change(self, more: int) -> str:
        if not more:
            return "as planned"
        return f"{self._say(abs(more))} {'longer' if more > 0 else 'shorter'}"

    def _hung(self) -> Iterator[Advice]:
        for one in self.lengths:
            why = f"as its {one.panel} panel hangs" if one.panel else f"with {self.lengths[0].window}"
            text = (
                f"{self._say(one.length)} from top edge to hem, {self._change(one.length - one.was)}, {why}"
            )
            yield Advice("note", text, one.window)

    def _hems(self) -> Iterator[Advice]:
        new = dict(self.renamed)
        said = dict[tuple[str | None, str], list[str]]()
        for one in self.cut:
            if one.hem:
                what = one.piece.role if one.piece.role != "panel" else "panel"
                said.setdefault((one.piece.window, f"{what}: {one.hem}"), []).append(
                    new.get(one.was, one.was)
                )
        for (window, words), names in said.items():
            cuts = f"cuts {listed_names(names)}" if len(names) > 1 else f"cut {names[0]}"
            yield Advice("warning", f"{cuts}, {words}", window)

    def _to_buy(self) -> Iterator[Advice]:
        for layout in self.plan.layouts:
            fabric, now = layout.fabric, layout.buy
            old = next((one for one in self.before.layouts if one.fabric.key == fabric.key), None)
            if now is None:
                continue
            if self._begun(layout) and layout.length and not any(laid.done for laid in layout.placements):
                lot = layout.lot or ""
                same = (
                    "of the dye lot of the first panel" if lot == LOT else f"of dye lot {lot}" if lot else ""
                )
                text = f"buy {bought(now, self.plan.job.currency, f' more {same}'.rstrip())}"
                ask = "; where that lot is sold out, ask before you cut on" if same else ""
                text = f"{fabric.title}: what is left on the bolt is not enough: {text}{ask}{self._spared()}"
                yield Advice("warning", text, fabric=fabric.key, money=now.cost)
            elif (
                not self._begun(layout)
                and old is not None
                and old.buy is not None
                and old.buy.total != now.total
            ):
                text = (
                    f"{fabric.title}: {bought(now, self.plan.job.currency)} instead of "
                    f"{bought(old.buy, self.plan.job.currency)}"
                )
                yield Advice("warning" if now.total > old.buy.total else "note", text, fabric=fabric.key)

    def _spared(self) -> str:
        if not self.hems_suffice:
            return ""
        return (
            ". Nothing more is bought if the rest is cut as planned and its hems are turned as those of "
            "what is cut (--hems-only)"
        )

    def _begun(self, layout: FabricLayout) -> bool:
        return any(
            laid.done
            for one in self.plan.layouts
            if one.fabric.key == layout.fabric.key
            for laid in one.placements
        )

    def _prints(self) -> Iterator[Advice]:
        """Where the line of a pattern stands that was to stand at the hem."""
        for layout in self.plan.layouts:
            repeat = layout.fabric.repeat
            for laid in layout.placements if repeat is not None else ():
                match = laid.piece.match
                if match is None or repeat is None or match.level not in self.moves:
                    continue
                below = self.moves[match.level] % repeat.length
                below = below if 2 * below <= repeat.length else below - repeat.length
                where = f"{self._say(abs(below))} {'below' if below > 0 else 'above'}"
                yield Advice(
                    "warning",
                    f"the print of {layout.fabric.title} hangs {where} where it was planned, level on all "
                    "panels with the one that hangs: its start lines are marked by that",
                    laid.piece.window,
                    layout.fabric.key,
                )
                return

    def _labels(self) -> Iterator[Advice]:
        moved = [(old, new) for old, new in self.renamed if old != new]
        if moved:
            listed = ", ".join(f"{old} is now {new}" for old, new in moved)
            yield Advice("note", f"cuts of the plan before: {listed}")
        stays = {new for _, new in self.renamed}
        fresh = [name for name in numbering(self.plan.layouts).numbers.values() if name not in stays]
        if fresh:
            yield Advice(
                "note",
                f"new labels: cuts {listed_names(fresh)}; the old labels of cuts not made yet no longer hold",
            )
