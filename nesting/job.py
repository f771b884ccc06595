"""What was ordered: a job, its cloths and its windows. Lengths in ticks, all values settled facts.

``None`` always means "not said": the heading or the trade default of the job's units decides then.
These classes hold what `nesting.files` has read and validated; they refuse only contradictions that
would make the arithmetic meaningless.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from nesting.errors import NestingError
from nesting.repeat import Repeat
from nesting.units import Unit, selling_unit

Nap = Literal["one-way", "two-way", "none"]
Arrow = Literal["up", "down"]
Level = Literal["hem", "top", "floor"]
Draw = Literal["pair", "left", "right", "fixed"]
Widths = Literal["exact", "half", "whole"]
Railroad = Literal["auto", "yes", "no"]
WayToCut = Literal["free", "across-first"]
PartAt = Literal["outer", "leading", "sides", "free"]
PartWidth = Literal["least", "free"]
HeadingName = Literal[
    "back-tab", "tab-top", "rod-pocket", "pinch-pleat", "grommet", "clip-ring", "pencil-pleat"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """How much the cloth shrinks, in percent, and whether it is washed before or after cutting."""

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
class ClothFlaw:
    """A spoiled rectangle of a length at hand; ``at`` along from the end, ``from_left`` across."""

    at: int
    length: int
    from_left: int = 0
    width: int | None = None


@dataclass(frozen=True, slots=True)
class LengthAtHand:
    """A length of cloth that is already there.

    Attributes
    ----------
    length
        From its squared end.
    usable
        Fit to cut across, where it differs from the bolt's.
    lot
        Its dye lot; lengths without one are taken to be of one lot of their own.
    start
        Height of the design at its squared end, where it is known.
    repeat
        The repeat along, where it was measured on this length.
    """

    length: int
    name: str = ""
    usable: int | None = None
    lot: str | None = None
    flaws: tuple[ClothFlaw, ...] = ()
    start: int | None = None
    repeat: int | None = None


@dataclass(frozen=True, slots=True)
class Bolt:
    """A width in which a cloth is sold.

    Attributes
    ----------
    width
        Selvage to selvage.
    usable
        Fit to cut, seam allowances included; not above ``width``.
    match
        Prints: seam line to seam line of a full width. None on plain cloth.
    match_said
        False where ``match`` was worked out from the width and must be measured on the cloth.
    price
        Per yard or metre of length; None where it was not given.
    sold_by
        The selling step, in ticks.
    at_hand, top_up
        Lengths already there; they are all there is unless ``top_up``.
    lot
        The dye lot of what can still be bought; None: another than those at hand.
    """

    width: int
    usable: int
    match: int | None = None
    match_said: bool = True
    price: Decimal | None = None
    sold_by: int = 0
    at_hand: tuple[LengthAtHand, ...] = ()
    top_up: bool = False
    lot: str | None = None


@dataclass(frozen=True, slots=True)
class Cloth:
    """A fabric quality, with the widths in which it is on offer (the first is the default).

    Attributes
    ----------
    key
        Its name in the job file.
    nap, arrow
        one-way: all pieces of a room run alike, the smooth nap towards ``arrow`` on the hanging panel.
    repeat
        The printed design in ticks, or None. ``repeat.width`` None: taken as the bolt's match.
    repeat_rounding
        What rounding the repeat to ticks added, in ticks (under 0.04 mm).
    level
        What all panels of a room have in common in the design: the finished hem, the top edge or the floor.
    hidden_nap
        "free" releases hidden pieces (facings, hidden tabs) from the nap.
    start
        Height of the design at the squared end, where it is known.
    safety
        The margin to buy, where it is another than the job's.
    labelled
        The repeat as the label says, where another was measured (which ``repeat`` then is).
    motif
        Prescribed height of the design on the hanging panels.
    tolerance
        How far the print may be out.
    sideways_print
        Whether the design looks right turned sideways, so that panels may be cut railroaded.
    one_lot
        What must be cut from one dye lot: the pieces of a window, or those of a room.
    cutting_gap
        What every matched cut is longer by: a length, or "auto" for its own bow, skew and drift.
    """

    key: str
    bolts: tuple[Bolt, ...]
    name: str = ""
    nap: Nap = "none"
    arrow: Arrow = "up"
    repeat: Repeat | None = None
    repeat_rounding: Fraction = Fraction(0)
    level: Level = "hem"
    hidden_nap: Literal["keep", "free"] = "keep"
    shrinkage: Shrinkage | None = None
    start: int | None = None
    weight: Literal["sheer", "medium", "heavy"] | None = None
    safety: Safety | None = None
    labelled: Repeat | None = None
    motif: Motif | None = None
    tolerance: Tolerance | None = None
    cutting_gap: int | Literal["auto"] | None = None
    sideways_print: bool = False
    one_lot: Literal["window", "room"] = "window"

    @property
    def title(self) -> str:
        """The name to print."""
        return self.name or self.key


@dataclass(frozen=True, slots=True)
class Hem:
    """A hem of ``turns`` turns of ``turn`` each, or the selvage left as it is (``turns`` 0)."""

    turn: int
    turns: int = 2

    @property
    def allowance(self) -> int:
        """What it takes from the cloth."""
        return self.turn * self.turns

    @property
    def finished(self) -> int:
        """How deep it shows."""
        return self.turn if self.turns else 0


@dataclass(frozen=True, slots=True)
class TabOrder:
    """What was said of tabs; None: by heading. ``width`` finished, ``length`` of the finished loop."""

    width: int | None = None
    spacing: int | None = None
    length: int | None = None
    gap: int | None = None
    count: int | None = None
    cloth: str | None = None


@dataclass(frozen=True, slots=True)
class FacingOrder:
    """What was said of the facing; ``depth`` finished."""

    depth: int | None = None
    cloth: str | None = None
    lower_edge: Literal["overcast", "turned"] = "overcast"


@dataclass(frozen=True, slots=True)
class PleatOrder:
    """What was said of pleats; None: by heading."""

    count: int | None = None
    space: int | None = None
    lead: int | None = None
    buckram: int | None = None


@dataclass(frozen=True, slots=True)
class RingOrder:
    """What was said of grommets or clip rings; ``size`` outer diameter, ``spacing`` between centres."""

    size: int | None = None
    spacing: int | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A leading-edge or hem band in another cloth; ``width`` finished."""

    edge: Literal["leading", "hem"]
    width: int
    cloth: str


@dataclass(frozen=True, slots=True)
class Tieback:
    """Tie-backs of finished ``length`` x ``width``."""

    length: int
    width: int
    count: int
    cloth: str


@dataclass(frozen=True, slots=True)
class Window:
    """One window, or ``count`` identical ones. ``None``: the heading's or the trade default."""

    name: str
    room: str
    rod: int
    heading: HeadingName
    cloth: str
    count: int = 1
    rod_diameter: int | None = None
    finished_length: int | None = None
    rod_height: int | None = None
    clearance: int | None = None
    fullness: Fraction | None = None
    fullness_on: Literal["rod", "all"] = "rod"
    flat_width: int | None = None
    draw: Draw = "pair"
    covers: int | None = None
    panels: int | None = None
    lining: str | None = None
    interlining: str | None = None
    returns: int | None = None
    overlap: int | None = None
    pair: Literal["alike", "continuous"] = "alike"
    widths: Widths = "exact"
    least_part_width: int | None = None
    part_at: PartAt | None = None
    part_width: PartWidth = "free"
    part_pieces: int = 1
    railroad: Railroad = "auto"
    bottom_hem: Hem | None = None
    leading_hem: Hem | None = None
    outer_hem: Hem | None = None
    seam: int | None = None
    working: int = 0
    tab: TabOrder = field(default_factory=TabOrder)
    facing: FacingOrder = field(default_factory=FacingOrder)
    pleat: PleatOrder = field(default_factory=PleatOrder)
    ring: RingOrder = field(default_factory=RingOrder)
    heading_depth: int | None = None
    pocket: int | None = None
    take_up: int | None = None
    tape: int | None = None
    hook_row: Literal["top", "middle", "bottom"] = "top"
    lining_hem: Hem | None = None
    lining_cover: int | None = None
    lining_style: Literal["tucked", "tube"] = "tucked"
    bands: tuple[Band, ...] = ()
    tiebacks: tuple[Tieback, ...] = ()
    priority: int = 1


@dataclass(frozen=True, slots=True)
class Extra:
    """Anything else to cut: cut sizes, upright."""

    name: str
    cloth: str
    width: int
    length: int
    count: int = 1
    window: str | None = None
    room: str | None = None
    matched: bool = False
    turnable: bool | None = None
    optional: bool = False
    priority: int = 1


@dataclass(frozen=True, slots=True)
class CuttingTable:
    """The table the cloth is cut on; ``width`` None: as wide as the cloth."""

    length: int
    width: int | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """What reading the job took for granted and the maker should measure or confirm.

    Attributes
    ----------
    text
        The remark, which names what it is about.
    cloth
        Key of the cloth it is about, or None.
    bolt
        Which of the cloth's bolts, from 1 in the order of the file; None: all of them.
    """

    text: str
    cloth: str | None = None
    bolt: int | None = None

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Job:
    """Everything that was ordered.

    Attributes
    ----------
    units
        The unit people measure this job in.
    squaring
        Cut off to square the end of each bolt; part of what is bought.
    remarks
        What reading the job took for granted and the maker should measure or confirm.
    safety
        The margin to buy of every cloth; None: nothing was said, and it is offered.
    cutting
        "across-first": every layout can be cut by cuts across the cloth from edge to edge, then lengthwise
        within each band, then across within each column.
    table
        The cutting table, or None where nothing was said of it.
    """

    title: str
    units: Unit
    cloths: tuple[Cloth, ...]
    windows: tuple[Window, ...] = ()
    extras: tuple[Extra, ...] = ()
    squaring: int | None = None
    currency: str = ""
    remarks: tuple[Remark, ...] = ()
    safety: Safety | None = None
    cutting: WayToCut = "free"
    table: CuttingTable | None = None

    def cloth(self, key: str) -> Cloth:
        """The cloth of that key.

        Raises
        ------
        NestingError
            There is none.
        """
        for cloth in self.cloths:
            if cloth.key == key:
                return cloth
        raise NestingError(f'cloth "{key}" does not exist in this job')

    def windows_in(self, room: str) -> Iterator[Window]:
        """The windows of one room."""
        return (window for window in self.windows if window.room == room)

    @property
    def sold_in(self) -> Literal["yd", "m"]:
        """The unit in which its cloth is sold."""
        return selling_unit(self.units)
