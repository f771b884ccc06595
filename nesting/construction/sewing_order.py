"""Every window's sewing order as operations: from cut pieces to a panel that hangs.

Every distance is one of the plan's sums; none of them is a finished size, which `nesting.sewing` works out by
sewing. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.construction.cut_parts import Away, CutWindow
from nesting.construction.windows_made import WindowFacts, window_facts
from nesting.cutting.layers import TOP_TURN, lining_gap, lining_tucked
from nesting.cutting.measures import Hanging, above_top_line, left_hem
from nesting.headings.sewn import Finish, Parts, Sewn
from nesting.order.job import Hem
from nesting.pieces.piece import PanelPlan
from nesting.plan.plan import Plan
from nesting.sewing import (
    Chalk,
    Fold,
    LayOn,
    LineRound,
    Operation,
    Overcast,
    Sew,
    Sewing,
    SewingStep,
    SewTube,
    Trim,
    Wash,
)
from nesting.sewing.work import Held
from nesting.sewing.work import Side as WorkSide


def sewing_of(plan: Plan) -> tuple[Sewing, ...]:
    """The sewing order of every window of a plan, in the order of the job.

    The works of an order begin with the pieces of one such window; of a window made more than once whose
    faces are cut one by one it names those of the first.
    """
    return tuple(order_of(facts) for facts in window_facts(plan))


def order_of(facts: WindowFacts) -> Sewing:
    """The sewing order of one window: steps without an operation are left out but where the hands rest."""
    cut = CutWindow.of(facts)
    panels = zip(facts.hangings, facts.panels, strict=True)
    faces = {hanging.key: cut.panel(hanging, panel.flat) for hanging, panel in panels}
    made = _MadeUp(facts, cut, faces)
    steps = [step for part in _ORDER for step in part(made)]
    return Sewing(facts.window.name, tuple(steps))


@dataclass(frozen=True, slots=True)
class _MadeUp:
    """A window and its cut pieces, those of its faces by the key of their panel."""

    facts: WindowFacts
    cut: CutWindow
    faces: Mapping[str, Parts]

    def panels(self) -> Iterator[tuple[Hanging, PanelPlan]]:
        return zip(self.facts.hangings, self.facts.panels, strict=True)

    @property
    def seam(self) -> Fraction:
        return Fraction(self.facts.making.seam)

    def hem(self, hanging: Hanging) -> Fraction:
        """What the bottom hem of a panel takes."""
        return self.cut.lower("panel", hanging).takes


def _washed(made: _MadeUp) -> Iterator[SewingStep]:
    fabrics = tuple(Wash(fabric.key) for fabric in made.cut.washed())
    if fabrics:
        yield SewingStep("wash", fabrics)


def _joined(made: _MadeUp) -> Iterator[SewingStep]:
    """The widths of each panel become one, under its name."""
    facts = made.facts
    finish: Finish = "selvage" if facts.window.fabric in facts.clipped else "together"
    finish = "french" if facts.fabric.weight == "sheer" else finish
    operations = list[Operation]()
    for hanging, _ in made.panels():
        parts = made.faces[hanging.key]
        operations += (*made.cut.lower("panel", hanging).trims(), *parts.made(finish))
    yield SewingStep("join widths", tuple(operations))


def _lined_out(made: _MadeUp) -> Iterator[SewingStep]:
    """What is more of each panel cut off, its hem, top and side lines chalked."""
    above, operations = above_top_line(made.facts.making).exact, list[Operation]()
    for hanging, _ in made.panels():
        operations += made.faces[hanging.key].trimmed()
        if below := made.hem(hanging):
            operations.append(Chalk(hanging.key, "bottom", below))
        if above:
            operations.append(Chalk(hanging.key, "top", above))
        for side, hem in made.cut.hems(hanging).items():
            if hem.allowance:
                operations.append(Chalk(hanging.key, side, Fraction(hem.allowance)))
    yield SewingStep("lines", tuple(operations))


def _band_name(made: _MadeUp, number: int) -> str:
    return "band" if len(made.facts.window.bands) == 1 else f"band-{number}"


def _turned_in(parts: Parts, seam: Fraction) -> Iterator[Operation]:
    """All edges of a band turned in."""
    yield from parts.trimmed()
    for side in ("left", "right", "bottom", "top"):
        yield Fold(parts.into, side, (seam,), "pressed")


def _leading_bands(made: _MadeUp) -> Iterator[SewingStep]:
    """Bands along the leading edge, stitched on the face before sides and hem are folded."""
    for number, band in enumerate(made.facts.window.bands, 1):
        if band.edge == "leading":
            operations = [one for at, _ in made.panels() for one in _leading_band(made, number, at)]
            yield SewingStep("leading band", tuple(operations))


def _leading_band(made: _MadeUp, number: int, hanging: Hanging) -> Iterator[Operation]:
    parts = made.cut.bands_alike(hanging, _band_name(made, number))
    if parts is None:
        return
    yield from _turned_in(parts, made.seam)
    sides: tuple[Away, ...] = ("left", "right") if hanging.leading is None else (hanging.leading,)
    for side in sides:
        fold = Fraction(made.cut.hems(hanging)[side].allowance)
        yield LayOn(parts.into, hanging.key, "front", made.hem(hanging), fold, side=side)


def _interlined(made: _MadeUp) -> Iterator[SewingStep]:
    """Interlining between the chalked lines; where no fold holds it, it stays clear of the lining's edge."""
    if made.facts.window.interlining is None:
        return
    operations = list[Operation]()
    for hanging, panel in made.panels():
        parts = made.cut.interlining(hanging, panel.flat)
        operations += (*parts.made("open"), *parts.trimmed())
        left = Fraction(left_hem(made.facts.making, hanging).allowance)
        for side, hem in made.cut.hems(hanging).items():
            if not hem.allowance:
                operations.append(Trim(parts.into, side, 2 * made.seam))
                left += 2 * made.seam if side == "left" else 0
        operations.append(LayOn(parts.into, hanging.key, "back", made.hem(hanging), left))
    yield SewingStep("interlining", tuple(operations))


def _turned(
    on: str, edge: WorkSide, hem: Hem, held: Held, turns: tuple[Fraction, ...] = ()
) -> Iterator[Operation]:
    """A hem, its raw edge overcast first where it is turned once or not at all; a selvage stays as it is.

    ``turns`` are its turns where they are not all as deep as ordered.
    """
    if hem.selvage:
        return
    if hem.allowance == 0 or hem.turns < 2:
        yield Overcast(on, edge)
    if hem.allowance:
        yield Fold(on, edge, turns or (Fraction(hem.turn),) * hem.turns, held)


def _hemmed(made: _MadeUp) -> Iterator[SewingStep]:
    """The bottom hem, basted: it is sewn when the drape has hung."""
    hem = made.facts.making.bottom_hem
    yield SewingStep(
        "bottom hem",
        tuple(
            one
            for hanging, _ in made.panels()
            for one in _turned(hanging.key, "bottom", hem, "basted", made.cut.lower("panel", hanging).turns)
        ),
    )


def _sided(made: _MadeUp) -> Iterator[SewingStep]:
    """The sides: sewn, or pinned for a lining that goes under them; a tube is folded with its lining."""
    window = made.facts.window
    if window.lining is not None and window.lining_style == "tube":
        return
    held: Held = "sewn" if window.lining is None else "pinned"
    operations = [
        one
        for hanging, _ in made.panels()
        for side, hem in made.cut.hems(hanging).items()
        for one in _turned(hanging.key, side, hem, held)
    ]
    yield SewingStep("side hems", tuple(operations))


def _lined(made: _MadeUp) -> Iterator[SewingStep]:
    """The lining hemmed by itself, its top turned under where nothing covers it, then sewn in."""
    making = made.facts.making
    if making.window.lining is None:
        return
    operations, sewn_in = list[Operation](), list[Operation]()
    finish: Finish = "selvage" if making.window.lining in made.facts.clipped else "together"
    tube = making.window.lining_style == "tube"
    for hanging, panel in made.panels():
        parts = made.cut.lining(hanging, panel.flat)
        lower = made.cut.lower("lining", hanging)
        operations += (*lower.trims(), *parts.made(finish), *parts.trimmed())
        operations += _turned(parts.into, "bottom", making.lining_hem, "sewn", lower.turns)
        if not lining_tucked(making):
            operations.append(Fold(parts.into, "top", (Fraction(TOP_TURN.of(making.unit)),)))
        sewn_in += _round(made, hanging, parts) if tube else _tucked(made, hanging, parts)
    yield SewingStep("lining", (*operations, *sewn_in))


def _tucked(made: _MadeUp, hanging: Hanging, parts: Parts) -> Iterator[Operation]:
    """Raw sides under the open side hems; at a selvage the lining is turned under by itself."""
    gap, left = Fraction(lining_gap(made.facts.making)), Fraction(0)
    under = list[WorkSide]()
    for side, hem in made.cut.hems(hanging).items():
        if hem.allowance:
            under.append(side)
        else:
            yield Fold(parts.into, side, (made.seam,))
            left += made.seam if side == "left" else 0
    yield LayOn(parts.into, hanging.key, "back", gap, left, tuple(under))
    for tucked in under:
        yield Sew(hanging.key, tucked)


def _round(made: _MadeUp, hanging: Hanging, parts: Parts) -> Iterator[Operation]:
    left, right = (Fraction(hem.allowance) for _, hem in made.cut.hems(hanging).items())
    gap = Fraction(lining_gap(made.facts.making))
    yield LineRound(parts.into, hanging.key, made.seam, left, right, gap)


def _topped(made: _MadeUp) -> Iterator[SewingStep]:
    """What the heading says."""
    facts, facing = made.facts, dict[str, Parts]()
    for hanging, _ in made.panels():
        parts = made.cut.facing(hanging)
        if parts is not None:
            facing[hanging.key] = parts
    sewn = Sewn(facts.making, facts.panels, facts.headings, made.cut.tabs(), facing)
    yield from facts.style.sewing(sewn)


def _hung(made: _MadeUp) -> Iterator[SewingStep]:
    """It hangs, then its hem is sewn."""
    yield SewingStep("hang", ())
    hem = made.facts.making.bottom_hem
    sewn = (Sew(hanging.key, "bottom") for hanging, _ in made.panels() if hem.allowance)
    yield SewingStep("level", tuple(sewn))


def _hem_bands(made: _MadeUp) -> Iterator[SewingStep]:
    """Bands along the hem, laid on when it is sewn."""
    for number, band in enumerate(made.facts.window.bands, 1):
        operations = list[Operation]()
        for hanging, _ in made.panels() if band.edge == "hem" else ():
            parts = made.cut.band(hanging, _band_name(made, number))
            if parts is not None:
                operations += parts.made("open")
                operations += _turned_in(parts, made.seam)
                operations.append(LayOn(parts.into, hanging.key, "front", Fraction(0)))
        if operations:
            yield SewingStep("hem band", tuple(operations))


def _tied(made: _MadeUp) -> Iterator[SewingStep]:
    """Tie-backs: a strip folded lengthwise, sewn, turned, both ends turned in."""
    operations = list[Operation]()
    for parts in made.cut.tiebacks():
        operations += (*parts.trimmed(), SewTube(parts.into, made.seam, "length"))
        operations += (Fold(parts.into, "left", (made.seam,)), Fold(parts.into, "right", (made.seam,)))
    if operations:
        yield SewingStep("tie-backs", tuple(operations))


#: What comes before what: layers go in before the hems that cover them are sewn, the hem last of all.
_ORDER: Final[tuple[Callable[[_MadeUp], Iterator[SewingStep]], ...]] = (
    _washed,
    _joined,
    _lined_out,
    _leading_bands,
    _interlined,
    _hemmed,
    _sided,
    _lined,
    _topped,
    _hung,
    _hem_bands,
    _tied,
)
