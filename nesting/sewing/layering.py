"""Layers: facings, linings, interlinings and bands brought together with a panel."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar, Literal

from nesting.sewing.folding import SAME
from nesting.sewing.operation import Operation
from nesting.sewing.work import Bench, Edge, Face, LaidOn, SewingError, Side


@dataclass(frozen=True, slots=True)
class FaceTop(Operation):
    """Sew a facing to the top, right sides together, and turn it to the back.

    Attributes
    ----------
    facing, on
        The facing, and the panel.
    allowance
        From both upper raw edges to the seam.
    """

    word: ClassVar[str] = "face"
    facing: str
    on: str
    allowance: Fraction

    def done(self, bench: Bench) -> Bench:
        """The seam is the top edge; what was caught in it is held, what lay on the facing faces the wall."""
        work, facing = bench.work(self.on), bench.work(self.facing)
        if work.edge("top").finish not in ("raw", "selvage", "overcast"):
            raise SewingError(f"{self.on}: its top is finished already")
        if abs(work.width - facing.width) > SAME:
            raise SewingError(
                f"{self.facing}: {float(facing.width):g} wide, and its panel {float(work.width):g}"
            )
        for line in (*work.lines, *facing.lines):
            if line.edge == "top" and abs(line.inward - self.allowance) > SAME:
                raise SewingError(f"{self.on}: the seam of the facing does not come on the top line")
        caught = tuple(
            replace(one, length=one.length - 2 * self.allowance) if one.kind == "tab" else one
            for one in work.carriers
        )
        shown = replace(work, carriers=caught).shortened("top", self.allowance)
        turned = facing.shortened("top", self.allowance)
        # Caught tabs begin in the seam itself.
        at_seam = tuple(
            replace(one, down=Fraction(0)) if one.kind == "tab" else one for one in shown.carriers
        )
        layer = LaidOn(
            replace(turned, carriers=(), lines=()), Fraction(0), shown.length - turned.length, "back"
        )
        lines = tuple(line for line in shown.lines if line.edge != "top")
        made = replace(
            shown, carriers=(*at_seam, *turned.carriers), layers=(*shown.layers, layer), lines=lines
        ).with_edge("top", Edge("seam", (turned.length,), "fold"))
        return bench.take(self.facing, 1).put(made)


@dataclass(frozen=True, slots=True)
class LayOn(Operation):
    """Lay one work on another and pin it.

    Attributes
    ----------
    layer, on
        The work that is laid, and the one it is laid on.
    face
        Whether it lies at the back or in front.
    up
        How far its lower edge lies above the lower edge of the other as it is now.
    inside
        How far its edge lies inside the edge of the other, as it is now, on that ``side``.
    tucked
        Its sides that go under open folds of the other.
    side
        From which edge ``inside`` is measured.
    """

    word: ClassVar[str] = "lay"
    layer: str
    on: str
    face: Face
    up: Fraction
    inside: Fraction = Fraction(0)
    tucked: tuple[Side, ...] = ()
    side: Literal["left", "right"] = "left"

    def done(self, bench: Bench) -> Bench:
        """The layer has its place on the work."""
        work, layer = bench.work(self.on), bench.work(self.layer)
        for side in self.tucked:
            edge = work.edge(side)
            if edge.finish != "fold" or edge.held == "sewn":
                raise SewingError(f"{self.on}: its {side} has no open fold to tuck the {self.layer} under")
        left = self.inside if self.side == "left" else work.width - self.inside - layer.width
        if left < -SAME or left + layer.width > work.width + SAME:
            raise SewingError(f"{self.layer}: reaches beyond the sides of {self.on}")
        laid = LaidOn(replace(layer, count=1), left, self.up, self.face, self.tucked)
        return bench.take(self.layer, 1).put(replace(work, layers=(*work.layers, laid)))


@dataclass(frozen=True, slots=True)
class LineRound(Operation):
    """Sew a lining to both sides of a panel, turn, and fold the sides on their chalked lines.

    Attributes
    ----------
    lining, on
        The lining, narrower than the panel, and the panel.
    allowance
        From the raw edges to the seams.
    left, right
        Where the side folds lie, inside the raw edges of the panel.
    up
        How far the lining's lower edge lies above the lower edge of the panel.
    """

    word: ClassVar[str] = "line round"
    lining: str
    on: str
    allowance: Fraction
    left: Fraction
    right: Fraction
    up: Fraction

    def done(self, bench: Bench) -> Bench:
        """A tube lying flat: the face comes round to the back at both sides.

        Raises
        ------
        SewingError
            A side fold lies in the seam, so that the lining shows in front; or face and lining together do
            not go round the panel: one of them would pull.
        """
        work, lining = bench.work(self.on), bench.work(self.lining)
        for side, fold in (("left", self.left), ("right", self.right)):
            if fold < self.allowance:
                raise SewingError(f"{self.lining}: comes round to the front at the {side} of {self.on}")
            if any(line.edge == side and abs(line.inward - fold) > SAME for line in work.lines):
                raise SewingError(f"{self.on}: its {side} fold does not come on its line")
        flat = work.width - self.left - self.right
        round_both = work.width + lining.width - 4 * self.allowance
        if abs(round_both - 2 * flat) > 2 * SAME:
            raise SewingError(
                f"{self.lining}: {float(round_both):g} go round, where the folds take {float(2 * flat):g}"
            )
        for line in work.lines:
            fold_at = {"left": self.left, "right": self.right}.get(line.edge, line.inward)
            if abs(line.inward - fold_at) > SAME:
                raise SewingError(f"{self.on}: the fold at its {line.edge} does not come on its line")
        shown = work.shortened("left", self.left).shortened("right", self.right)
        for side, fold in (("left", self.left), ("right", self.right)):
            wrap = Edge("fold", (fold - self.allowance,), "seam")
            shown = shown.with_edge(side, wrap)  # type: ignore[arg-type]
        inner = lining.shortened("left", self.allowance).shortened("right", self.allowance)
        seam = Edge("seam")
        inner = inner.with_edge("left", seam).with_edge("right", seam)
        lines = tuple(line for line in shown.lines if line.edge not in ("left", "right"))
        layer = LaidOn(replace(inner, count=1), self.left - self.allowance, self.up, "back")
        made = replace(shown, layers=(*shown.layers, layer), lines=lines)
        return bench.take(self.lining, 1).put(made)
