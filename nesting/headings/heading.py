"""What every heading style answers, and what it is told of the window. Lengths in ticks."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, Protocol

from nesting.headings.look import MarkLook, Picture, Sits
from nesting.headings.making import TAKE_UP, Making
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.piece import Advice, HeadingPlan, HeadingSpot, Role, Side, Steps, Sundry
from nesting.sewing import SewingStep
from nesting.units import METER, round_nearest

#: No heading is offered fuller (common practice, no source).
MOST_FULL: Final = Fraction(3)


@dataclass(frozen=True, slots=True)
class Marks:
    """What lies side by side along the top of a panel: tabs, grommets.

    Attributes
    ----------
    table, size
        Where its number, spacing and width stand in the order of a window: ``tab`` and ``width``.
    name
        Several of them, for people.
    width
        Of one, in ticks.
    """

    table: Literal["tab", "ring"]
    size: Literal["width", "size"]
    name: str
    width: int


@dataclass(frozen=True, slots=True)
class FinishedPanel:
    """A panel as it is made up, hemmed and lying flat before it is dressed on the rod.

    Attributes
    ----------
    key, side
        ``left``; where it hangs, seen from the room.
    leading
        Which of its edges is the leading edge; None where it does not move.
    covers
        The part of the rod it covers.
    return_left, return_right, overlap
        What it reaches round the rod's ends and past the center.
    flat
        Hemmed width lying flat.
    finished
        Width once pleated: rod, returns and overlap.
    length
        Top edge to hem edge.
    seams
        Where its widths are joined, from the left finished edge.
    """

    key: str
    side: Side
    leading: Literal["left", "right"] | None
    covers: Fraction
    return_left: int
    return_right: int
    overlap: int
    flat: int
    finished: int
    length: int
    seams: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Component:
    """A piece before its fabric has had its say: no nap, no shrinkage, not yet rounded to the tape."""

    key: str
    name: str
    role: Role
    fabric: str
    width: Steps
    length: Steps
    copies: int = 1
    hidden: bool = False
    side: Side | None = None
    finished_width: int | None = None
    finished_length: int | None = None
    hem: int | None = None
    joined_to: tuple[str, ...] = ()
    joined_at: tuple[Literal["left", "right"], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnSize:
    """A length that a window may order and that only one heading, or a few, look at.

    Attributes
    ----------
    key
        In the table of a window: ``scallop``. What was ordered is `Window.own_size` of it.
    example, told
        A usual value as it is typed (``1 1/2``), and what the length is, for schema and page.
    least, most
        What is accepted, in ticks; ``least`` None: anything above 0.
    """

    key: str
    example: str
    told: str
    least: int | None = None
    most: int = METER


class Heading(Protocol):
    """One way of making the top of a drape: all that is true of it alone, its sewing and its picture too."""

    @property
    @abstractmethod
    def name(self) -> str:
        """As it is called in a job file."""
        ...

    @property
    def title(self) -> str:
        """As makers call it: ``back tab``."""
        return self.name.replace("-", " ")

    @property
    @abstractmethod
    def top_name(self) -> str:
        """What is at the top of a finished panel, beside its depth: ``facing``."""
        ...

    @property
    @abstractmethod
    def cover_name(self) -> str:
        """What comes down at the back over the lining's raw top: ``facing``."""
        ...

    @property
    @abstractmethod
    def on_the_rod(self) -> str:
        """How a finished panel comes on its rod or track: a sentence."""
        ...

    @property
    @abstractmethod
    def fullness(self) -> Fraction:
        """The default fullness."""
        ...

    @property
    def fullest(self) -> Fraction:
        """The most fullness that it bears and that is offered."""
        return MOST_FULL

    @property
    @abstractmethod
    def pleated(self) -> bool:
        """Whether returns and overlap are usual."""
        ...

    @property
    @abstractmethod
    def hangs_from(self) -> tuple[HangsFrom, ...]:
        """What it may hang from; the first holds where nothing is said."""
        ...

    @property
    def own_keys(self) -> tuple[str, ...]:
        """Keys of a window, those of `own_sizes` aside, that it looks at and not every heading does."""
        return ()

    @property
    def own_sizes(self) -> tuple[OwnSize, ...]:
        """Lengths of a window for which there is no key: they become keys of job file, page and plan."""
        return ()

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """What holds for a key of its own where nothing is ordered: ``tab.width``, and a length in words."""
        return iter(())

    @abstractmethod
    def needs_diameter(self, making: Making) -> bool:
        """Whether the sizes of this window depend on the thickness of the rod."""
        ...

    @abstractmethod
    def above_hanger(self, making: Making) -> Steps:
        """How the top edge sits above what it hangs from; negative when below.

        That is the top of the rod, the bottom of a ring's eye or clip, or the hole of a track that the hook
        enters.
        """
        ...

    def usual_drop(self, making: Making) -> Steps | None:
        """Where the eye or clip of a ring is assumed below the top of the rod; None: it must be measured."""
        return None

    def passages(self, making: Making) -> Iterator[Passage]:
        """The openings of ordered sizes that the rod must pass through."""
        return iter(())

    @property
    def sits(self) -> Sits:
        """How its top edge hangs to the rod or the eye, as it is drawn; the sign of `above_hanger`."""
        return "above"

    @property
    @abstractmethod
    def picture(self) -> Picture:
        """What it looks like, for the choice of headings."""
        ...

    def mark_look(self, making: Making) -> MarkLook | None:
        """What one of its marks looks like on a finished panel; None where it has none to show."""
        return None

    def marks(self, making: Making) -> Marks | None:
        """What lies side by side along its top and cannot overlap; None where no width is known."""
        return None

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """Sizes of this heading that do not go together."""
        return iter(())

    @abstractmethod
    def top_allowance(self, making: Making) -> Steps:
        """What the cut length adds at the top."""
        ...

    @abstractmethod
    def top_cover(self, making: Making) -> int:
        """How far face or facing reaches down the back, where the lining starts."""
        ...

    def depth(self, making: Making) -> int:
        """How far the heading reaches down a finished panel."""
        return self.top_cover(making)

    def take_up(self, making: Making) -> Steps:
        """What the rod takes up: a panel lying flat is longer by so much than once it hangs."""
        return Steps(TAKE_UP)

    def rod_take_up(self, making: Making) -> int:
        """The total of `take_up`, in ticks."""
        return self.take_up(making).total

    @abstractmethod
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Where tabs, rings or pleats come along the flat heading of a panel."""
        ...

    def companions(
        self, making: Making, panels: tuple[FinishedPanel, ...], usable: Mapping[str, int]
    ) -> Iterator[Component]:
        """The pieces it needs beside the panels of one window."""
        return iter(())

    @abstractmethod
    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """The steps by which the tops of a window are sewn, lining and side hems done, as operations."""
        ...

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """What it needs that is not cut from fabric, for all ``count`` windows."""
        return iter(())

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """What the maker should know or decide."""
        return iter(())


def bare(making: Making, panel: FinishedPanel, *steps: Steps, remarks: tuple[str, ...] = ()) -> HeadingPlan:
    """The plan of a heading without tabs, rings or pleats."""
    return HeadingPlan(making.window.name, panel.side, panel.flat, (), steps, remarks)


def evenly(first: int | Fraction, last: int | Fraction, count: int) -> tuple[Fraction, ...]:
    """So many points from ``first`` to ``last``, all gaps alike; one point comes in the middle."""
    start, end = Fraction(first), Fraction(last)
    if count == 1:
        return ((start + end) / 2,)
    gap = (end - start) / (count - 1)
    return tuple(start + gap * number for number in range(count))


def point_spots(kind: str, centers: tuple[Fraction, ...]) -> tuple[HeadingSpot, ...]:
    """Spots of rings by their centers."""
    marks = (round_nearest(center) for center in centers)
    return tuple(HeadingSpot(kind, mark, mark, number) for number, mark in enumerate(marks, 1))


def total_flat(panels: tuple[FinishedPanel, ...]) -> int:
    """The flat widths of all panels of a window."""
    return sum(panel.flat for panel in panels)
