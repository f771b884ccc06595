"""The widths of one layer of a panel, joined: where each lies in the pattern, and how far it reaches."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.pieces.piece import Steps
from nesting.pieces.seams import OneWidth, Width, places, total_width


@dataclass(frozen=True, slots=True)
class Joined:
    """The widths of one layer from left to right, and how they came about.

    ``lead`` is the index of the width at the leading edge (of the middle one where there is none).
    ``need`` is the cut width that was asked for.
    """

    widths: tuple[Width, ...]
    lead: int
    need: Steps
    fabric: OneWidth
    run: bool = False

    @property
    def total(self) -> int:
        """Cut width once joined."""
        return total_width(self.widths, self.fabric.seam)

    def reach(self, origin: int = 0) -> tuple[tuple[int, int], ...]:
        """As `placed`, with widths trimmed on their seam side as wide as they were before.

        All in phase, they are trimmed at the seam and not, in the pattern, at the edge across from it.
        """
        found = []
        for index, (at, cut) in enumerate(self.placed(origin)):
            left, right = self._trimmed(index)
            found.append((at - left, left + cut + right))
        return tuple(found)

    def _trimmed(self, index: int) -> tuple[int, int]:
        """What was trimmed off a width on either side: toward the part-width beside it."""
        if self.widths[index].kind not in ("trimmed", "narrowed"):
            return 0, 0
        off = self.fabric.full - self.widths[index].cut
        beside = [
            0 <= at < len(self.widths) and self.widths[at].kind == "part" for at in (index - 1, index + 1)
        ]
        left = off // 2 if all(beside) else off if beside[0] else 0
        return left, off - left

    @property
    def counted(self) -> tuple[Steps, ...]:
        """Why so many widths: the sums of what one gives between its seams, and of their number.

        Empty for a panel cut as one run along the fabric, of which no widths are joined.
        """
        if self.run:
            return ()
        full, seam, count = self.fabric.full, self.fabric.seam, len(self.widths)
        between = Steps("width between seams").add("full width", full).take("seam", seam, 2)
        number = (
            Steps("widths")
            .add("cut width of the panel", self.need.total)
            .take("seam", seam, 2)
            .per("width between seams", between.total)
            .up_to(1, "up to a whole")
            .at_least(count, f"{count} so that they can be cut alike at both sides")
            .at_most(count, "one alone is wide enough" if count == 1 else f"{count} as its seams are planned")
        )
        return between, number

    @property
    def anchor(self) -> int | None:
        """Place of a full width in the pattern, the leading one's being 0; None without a full width."""
        kinds = {"full", "trimmed", "narrowed"}
        found = [at for (at, _), width in zip(self.reach(), self.widths, strict=True) if width.kind in kinds]
        return next(iter(found), None)

    def placed(self, origin: int = 0) -> tuple[tuple[int, int], ...]:
        """Place in the pattern and cut width of each width, ``origin`` being the place of the leading one."""
        at = places(self.widths, self.fabric.seam, self.lead)
        return tuple((origin + place, width.cut) for place, width in zip(at, self.widths, strict=True))

    def number(self, index: int) -> int:
        """The number of a width: 1 at the leading edge, counted outwards."""
        if self.lead == len(self.widths) - 1:
            return len(self.widths) - index
        return index + 1
