"""A fabric as it was ordered: its nap and print, its bolts, lengths on hand. Lengths in ticks, settled facts.

``None`` always means "not said", as in `nesting.order.job`, which hands these names on.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from nesting.repeat import Repeat

Nap = Literal["one-way", "two-way", "none"]
Arrow = Literal["up", "down"]
Edge = Literal["left", "right"]
Level = Literal["hem", "top", "floor"]
DropFrom = Literal["column", "selvage"]


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """How much the fabric shrinks, in percent, and whether it is washed before or after cutting."""

    length: Fraction = Fraction(0)
    width: Fraction = Fraction(0)
    washed: Literal["before", "after"] = "after"


@dataclass(frozen=True, slots=True)
class Safety:
    """A margin bought beyond what is needed: in percent, a length (0: none), or else what is usual."""

    percent: Fraction | None = None
    length: int | None = None


@dataclass(frozen=True, slots=True)
class Motif:
    """Where the foot of the motif shows: ``height`` above the finished hem, or below the top edge."""

    height: int
    at: Literal["hem", "top"] = "hem"

    @property
    def above_level(self) -> int:
        """The same, upwards from the level line."""
        return self.height if self.at == "hem" else -self.height


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a print may be out: each repeat along the bolt; bow and skew across its whole width."""

    repeat: int = 0
    bow: int = 0
    skew: int = 0


@dataclass(frozen=True, slots=True)
class FabricFlaw:
    """A spoiled rectangle of a length on hand; ``at`` along from the end, ``from_left`` across."""

    at: int
    length: int
    from_left: int = 0
    width: int | None = None


@dataclass(frozen=True, slots=True)
class LengthOnHand:
    """A length of fabric that is already there.

    Attributes
    ----------
    length
        From its squared end.
    usable
        Its usable width, where it differs from the bolt's.
    lot
        Its dye lot; lengths without one are taken to be of one lot of their own.
    start
        Height of the pattern at its squared end, where it is known.
    repeat
        The repeat along, where it was measured on this length.
    follows
        The name of the length that was cut off before it, and from which its pattern goes on.
    """

    length: int
    name: str = ""
    usable: int | None = None
    lot: str | None = None
    flaws: tuple[FabricFlaw, ...] = ()
    start: int | None = None
    repeat: int | None = None
    follows: str | None = None


@dataclass(frozen=True, slots=True)
class Bolt:
    """A width in which a fabric is sold.

    Attributes
    ----------
    width
        Selvage to selvage.
    usable
        Fit to cut, seam allowances included; not above ``width``.
    match
        Prints: seam line to seam line of a full width. None on plain fabric.
    match_said
        False where ``match`` was worked out from the width and must be measured on the fabric.
    usable_said
        False where ``usable`` is the width less what is usual at the selvages.
    printed
        ``width`` is that of the print alone: seam allowances of full widths lie in selvages beyond it, and
        only they may be wider than ``usable``.
    price
        Per yard or meter of length; None where it was not given.
    sold_by
        The selling step, in ticks.
    on_hand, top_up
        Lengths already there; they are all there is unless ``top_up``.
    lot
        The dye lot of what can still be bought; None: another than those on hand.
    """

    width: int
    usable: int
    match: int | None = None
    match_said: bool = True
    usable_said: bool = True
    printed: bool = False
    price: Decimal | None = None
    sold_by: int = 0
    on_hand: tuple[LengthOnHand, ...] = ()
    top_up: bool = False
    lot: str | None = None


@dataclass(frozen=True, slots=True)
class Fabric:
    """A fabric quality, with the widths in which it is on offer (the first is the default).

    Attributes
    ----------
    key
        Its name in the job file.
    nap, arrow
        one-way: all pieces of a room run alike, the smooth nap toward ``arrow`` on the hanging panel.
    repeat
        The printed pattern in ticks, or None. ``repeat.width`` None: taken as the bolt's match.
    drop_from
        Where a drop steps: from column to column of the repeat, or only from width to width, at the
        selvage. None: nobody said, and it is taken from column to column.
    repeat_rounding
        What rounding the repeat to ticks added, in ticks (under 0.04 mm).
    level
        What all panels of a room have in common in the pattern: the finished hem, the top edge or the floor.
    hidden_nap
        "free" releases hidden pieces (facings, hidden tabs) from the nap.
    start
        Height of the pattern at the squared end, where it is known.
    safety
        The margin to buy, where it is another than the job's.
    labeled
        The repeat as the label says, where another was measured (which ``repeat`` then is).
    motif
        Prescribed height of the pattern on the hanging panels.
    tolerance
        How far the print may be out.
    sideways_print
        Whether the pattern looks right turned sideways, so that panels may be cut railroaded.
    one_lot
        What must be cut from one dye lot: the pieces of a window, or those of a room.
    hem_edge
        Which of its own edges hangs at the bottom where the selvage is the hem: right side up, seen along the
        fabric from its squared end.
    cutting_gap
        What every matched cut is longer by: a length, or "auto" for its own bow, skew and drift.
    """

    key: str
    bolts: tuple[Bolt, ...]
    name: str = ""
    nap: Nap = "none"
    arrow: Arrow = "up"
    repeat: Repeat | None = None
    drop_from: DropFrom | None = None
    repeat_rounding: Fraction = Fraction(0)
    level: Level = "hem"
    hidden_nap: Literal["keep", "free"] = "keep"
    shrinkage: Shrinkage | None = None
    start: int | None = None
    weight: Literal["sheer", "medium", "heavy"] | None = None
    safety: Safety | None = None
    labeled: Repeat | None = None
    motif: Motif | None = None
    tolerance: Tolerance | None = None
    cutting_gap: int | Literal["auto"] | None = None
    sideways_print: bool = False
    one_lot: Literal["window", "room"] = "window"
    hem_edge: Edge = "right"

    @property
    def title(self) -> str:
        """The name to print."""
        return self.name or self.key
