"""What was ordered: a job, its fabrics and its windows. Lengths in ticks, all values settled facts.

``None`` always means "not said": the heading or the trade default of the job's units decides then.
These classes hold what `nesting.files` has read and validated; they refuse only contradictions that
would make the arithmetic meaningless.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from nesting.errors import NestingError
from nesting.order.fabric import Arrow as Arrow
from nesting.order.fabric import Bolt as Bolt
from nesting.order.fabric import DropFrom as DropFrom
from nesting.order.fabric import Edge as Edge
from nesting.order.fabric import Fabric as Fabric
from nesting.order.fabric import FabricFlaw as FabricFlaw
from nesting.order.fabric import LengthOnHand as LengthOnHand
from nesting.order.fabric import Level as Level
from nesting.order.fabric import Motif as Motif
from nesting.order.fabric import Nap as Nap
from nesting.order.fabric import Safety as Safety
from nesting.order.fabric import Shrinkage as Shrinkage
from nesting.order.fabric import Tolerance as Tolerance
from nesting.units import Unit, selling_unit

Draw = Literal["pair", "left", "right", "fixed"]
Widths = Literal["exact", "half", "whole"]
Railroad = Literal["auto", "yes", "no"]
WayToCut = Literal["free", "across-first"]
PartAt = Literal["outer", "leading", "sides", "free"]
PartWidth = Literal["least", "free"]
HangsFrom = Literal["rod", "rings", "track"]


@dataclass(frozen=True, slots=True)
class Hem:
    """A hem of ``turns`` turns of ``turn`` each; ``selvage``: none, the fabric's own edge is the hem."""

    turn: int
    turns: int = 2
    selvage: bool = False

    @property
    def allowance(self) -> int:
        """What it takes from the fabric."""
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
    fabric: str | None = None


@dataclass(frozen=True, slots=True)
class FacingOrder:
    """What was said of the facing; ``depth`` finished."""

    depth: int | None = None
    fabric: str | None = None
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
    """What was said of grommets or rings: outer and inner diameter, ``spacing`` of centers."""

    size: int | None = None
    inner: int | None = None
    spacing: int | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A leading-edge or hem band in another fabric; ``width`` finished."""

    edge: Literal["leading", "hem"]
    width: int
    fabric: str


@dataclass(frozen=True, slots=True)
class Tieback:
    """Tie-backs of finished ``length`` x ``width``."""

    length: int
    width: int
    count: int
    fabric: str


@dataclass(frozen=True, slots=True)
class Window:
    """One window, or ``count`` identical ones. ``None``: the heading's or the trade default.

    ``heading`` is a name of `nesting.headings.HEADINGS`. ``rod_depth`` says that the rod is flat, and how
    deep from front to back; ``rod_diameter`` is then its height. ``rod_height`` is floor to top of rod,
    always. ``ring_drop`` is from there down to the bottom of a ring's eye or clip; ``eye_height`` is the
    floor to the hole of a track that the hook enters. ``own`` are lengths under keys that a heading declares
    itself.
    """

    name: str
    room: str
    rod: int
    heading: str
    fabric: str
    count: int = 1
    rod_diameter: int | None = None
    rod_depth: int | None = None
    finished_length: int | None = None
    rod_height: int | None = None
    hangs_from: HangsFrom | None = None
    ring_drop: int | None = None
    eye_height: int | None = None
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
    lining_gap: int | None = None
    lining_style: Literal["tucked", "tube"] = "tucked"
    bands: tuple[Band, ...] = ()
    tiebacks: tuple[Tieback, ...] = ()
    priority: int = 1
    own: tuple[tuple[str, int], ...] = ()

    def own_size(self, key: str) -> int | None:
        """What was ordered under a key that a heading has for itself."""
        return dict(self.own).get(key)


@dataclass(frozen=True, slots=True)
class Extra:
    """Anything else to cut: cut sizes, upright."""

    name: str
    fabric: str
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
    """The table the fabric is cut on; ``width`` None: as wide as the fabric."""

    length: int
    width: int | None = None


@dataclass(frozen=True, slots=True)
class HungLength:
    """The length of a window as a panel that hangs already showed it.

    Attributes
    ----------
    window
        Its name.
    was, length
        From the top edge to the finished hem: as it was planned, and as it was measured.
    panel
        The key of the panel it was measured on; empty where it goes with a window that was measured.
    """

    window: str
    was: int
    length: int
    panel: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """What reading the job took for granted and the maker should measure or confirm.

    Attributes
    ----------
    text
        The remark, which names what it is about.
    fabric
        Key of the fabric it is about, or None.
    bolt
        Which of the fabric's bolts, from 1 in the order of the file; None: all of them.
    asks
        Whether it asks about something that is seldom meant.
    """

    text: str
    fabric: str | None = None
    bolt: int | None = None
    asks: bool = False

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
        The margin to buy of every fabric; None: nothing was said, and it is offered.
    cutting
        "across-first": every layout can be cut by cuts across the fabric from edge to edge, then lengthwise
        within each band, then across within each column.
    table
        The cutting table, or None where nothing was said of it.
    hung
        What panels that hang already showed of the lengths of their windows: some of the job is cut.
    hang_first
        Window and panel (``left``) that is to hang before the rest is cut: its widths are cut first.
    """

    title: str
    units: Unit
    fabrics: tuple[Fabric, ...]
    windows: tuple[Window, ...] = ()
    extras: tuple[Extra, ...] = ()
    squaring: int | None = None
    currency: str = ""
    remarks: tuple[Remark, ...] = ()
    safety: Safety | None = None
    cutting: WayToCut = "free"
    table: CuttingTable | None = None
    hung: tuple[HungLength, ...] = ()
    hang_first: tuple[str, str] | None = None
    _rooms: dict[str, tuple[Window, ...]] = field(default_factory=dict, init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        rooms = dict[str, list[Window]]()
        for window in self.windows:
            rooms.setdefault(window.room, []).append(window)
        self._rooms.update((room, tuple(windows)) for room, windows in rooms.items())

    def fabric(self, key: str) -> Fabric:
        """The fabric of that key.

        Raises
        ------
        NestingError
            There is none.
        """
        for fabric in self.fabrics:
            if fabric.key == key:
                return fabric
        raise NestingError(f'fabric "{key}" does not exist in this job')

    def windows_in(self, room: str) -> Iterator[Window]:
        """The windows of one room."""
        return iter(self._rooms.get(room, ()))

    def windows_of(self, key: str) -> Iterator[Window]:
        """The windows whose face is of that fabric."""
        return (window for window in self.windows if window.fabric == key)

    @property
    def sold_in(self) -> Literal["yd", "m"]:
        """The unit in which its fabric is sold."""
        return selling_unit(self.units)
