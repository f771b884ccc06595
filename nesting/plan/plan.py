"""A finished plan: what to buy, where every piece lies, and how good that is. Lengths in ticks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal, TypeVar

from nesting.order.job import Bolt, Edge, Fabric, Job, LengthOnHand, WayToCut
from nesting.packing.problem import Flaw
from nesting.packing.result import Aim, Bound, Incumbent, Status, Stop, status_of
from nesting.pieces.piece import Advice, HeadingPlan, PanelPlan, Piece, Sundry
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.plan.purchase import Allowance as Allowance
from nesting.plan.purchase import Buy as Buy
from nesting.plan.question import Question
from nesting.sewing import Sewing
from nesting.shown import HTML

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Laid:
    """One copy of a piece on the fabric, size as laid (turned: swapped).

    ``turn`` is 0 or 90, counter-clockwise; ``arrow`` is the direction of TOP on the fabric (up = +y).
    ``letter`` is A, B, ... on cuts of a drop match, else "". ``done``: it is cut already.
    """

    piece: Piece
    copy: int
    x: int
    y: int
    width: int
    length: int
    turn: Literal[0, 90] = 0
    arrow: Literal["up", "down", "left", "right"] = "up"
    letter: str = ""
    done: bool = False


@dataclass(frozen=True, slots=True)
class FabricLayout:
    """One fabric of the job laid on one bolt.

    Attributes
    ----------
    bolt
        As it is bought.
    usable
        The width to cut from, as it lies on the table. Where seam allowances of full widths reach into the
        selvage it is that much more than ``fit_to_cut``.
    on_table
        The bolt as it lies on the table, where washing has made it another.
    cutting
        The way in which it can be cut.
    free_length
        The best length found for the same pieces cut freely, where it is cut across first.
    bought_lot
        The dye lot of what is bought, where it is known.
    spoiled
        Flaws of a length on hand: what no piece may touch, ``x`` from the left of ``usable``.
    reserve
        What is kept at the squared end of a length on hand to find the place in the pattern.
    """

    fabric: Fabric
    bolt: Bolt
    usable: int
    placements: tuple[Laid, ...]
    length: int | None
    bound: Bound
    status: Status
    stop: Stop
    seconds: float
    buy: Buy | None
    rule_of_thumb: RuleOfThumb | None = None
    on_hand: str | None = None
    squaring: int = 0
    railroaded: bool = False
    incumbents: tuple[Incumbent, ...] = ()
    on_table: Bolt | None = None
    cutting: WayToCut = "free"
    free_length: int | None = None
    bought_lot: str | None = None
    spoiled: tuple[Flaw, ...] = ()
    reserve: int = 0
    _known: dict[str, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def once(self, name: str, make: Callable[[], _T]) -> _T:
        """What follows from all placements is worked out once: it is asked for piece by piece."""
        if name not in self._known:
            self._known[name] = make()
        made: _T = self._known[name]
        return made

    @property
    def longer_than_free(self) -> int | None:
        """What cutting across first costs in length; None where the layout is cut freely."""
        if self.free_length is None or self.length is None:
            return None
        return self.length - self.free_length

    @property
    def there(self) -> LengthOnHand | None:
        """The length on hand it lies on, as it lies on the table; None on fabric that is bought."""
        return self.once("there", self._there)

    def _there(self) -> LengthOnHand | None:
        bolt = self.on_table or self.bolt
        return next((there for there in bolt.on_hand if there.name == self.on_hand), None)

    @property
    def lot(self) -> str | None:
        """The dye lot it is cut from, where it is known."""
        return self.bought_lot if self.there is None else self.there.lot

    @property
    def flaws(self) -> tuple[Flaw, ...]:
        """The flaws of the length on hand it is laid on, as far as they spoil its width to cut."""
        there = self.there
        if self.spoiled or there is None:
            return self.spoiled
        found = (
            Flaw(flaw.from_left, flaw.at, right - flaw.from_left, min(flaw.length, there.length - flaw.at))
            for flaw in there.flaws
            if (right := min(self.usable, flaw.from_left + (flaw.width or self.usable))) > flaw.from_left
            and flaw.at < there.length
        )
        return tuple(found)

    @property
    def full_width(self) -> int:
        """Selvage to selvage, as the fabric lies on the table.

        Where the stated width is that of the print alone it is not known: at least what full widths take.
        """
        bolt = self.on_table or self.bolt
        return max(bolt.width, self.usable) if bolt.printed else bolt.width

    @property
    def washed_width(self) -> int | None:
        """The stated width once washed; None where washing before cutting takes nothing from it."""
        if self.on_table is None or self.on_table.width == self.bolt.width:
            return None
        return self.on_table.width

    @property
    def print_edge(self) -> int | None:
        """How far inside 0 across the left edge of a print as wide as its bolt lies; None elsewhere.

        Seam allowances reach into selvages of unknown width, so nothing is measured from the fabric's edge.
        """
        bolt = self.on_table or self.bolt
        if not bolt.printed or bolt.match is None or self.usable <= bolt.match:
            return None
        return (self.usable - bolt.match) // 2

    @property
    def fit_to_cut(self) -> int:
        """What is fit to cut of the width, as the fabric lies on the table, clear of the selvages."""
        there = self.there
        own = None if there is None else there.usable
        return min(self.usable, (self.on_table or self.bolt).usable if own is None else own)

    @property
    def hem_edge(self) -> Edge | None:
        """The edge of the fabric that is the hem of panels; None where none is."""
        return self.once("hem edge", self._hem_edge)

    def _hem_edge(self) -> Edge | None:
        bottoms = (laid.piece for laid in self.placements if laid.turn)
        return next((piece.hem_edge for piece in bottoms if piece.hem_edge), None)

    @property
    def edge_to_edge(self) -> bool:
        """Whether it is cut to the very edges of the fabric, of which pieces keep one."""
        return self.once("edge to edge", lambda: any(laid.piece.hem_edge for laid in self.placements))

    @property
    def all_done(self) -> bool:
        """Whether everything on it is cut already."""
        return bool(self.placements) and all(laid.done for laid in self.placements)

    @property
    def waste(self) -> Fraction:
        """The part of the layout's fabric (usable width x length) that no piece uses, 0 to 1."""
        return self.once("waste", self._waste)

    def _waste(self) -> Fraction:
        if not self.length:
            return Fraction(0)
        used = sum(laid.width * laid.length for laid in self.placements)
        return 1 - Fraction(used, self.usable * self.length)

    @property
    def gap(self) -> Fraction | None:
        """How far the layout may be above the least possible, as a part of the bound."""
        if self.length is None or self.bound.length == 0:
            return None
        return Fraction(self.length - self.bound.length, self.bound.length)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that did not fit, and by how much.

    Attributes
    ----------
    shortfall
        How much more fabric it takes, with all else laid: for an ordered piece that of its whole window.
    window
        Which window (or extra) would be served with that; "" for an optional piece.
    steps, total
        The shortfall with its allowances as bought: selling steps, and their length. None where no layout
        with it was found in the time: then ``shortfall`` says nothing.
    least
        Proven that no less would do.
    """

    piece: str
    copies: int
    shortfall: int
    window: str = ""
    steps: int | None = None
    total: int | None = None
    least: bool = False


@dataclass(frozen=True, slots=True)
class Shortfall:
    """What one fabric is short of, with all that is left out of it taken together.

    Attributes
    ----------
    buy
        What to buy beside the lengths on hand so that everything is cut, as topping up would. None where no
        layout of everything was found in the time.
    least
        Proven that no less than so much need be bought, in ticks and whole selling steps.
    idle
        Lengths on hand that are not cut into, by name, each with why in a maker's words.
    one_lot
        What to buy if what is there and what is bought were of one lot, nothing perhaps; None where that is
        not known to be less.
    """

    fabric: str
    buy: Buy | None
    least: int
    idle: tuple[tuple[str, str], ...] = ()
    one_lot: Buy | None = None

    @property
    def proven(self) -> bool:
        """No less is enough."""
        return self.buy is not None and self.buy.total == self.least


@dataclass(frozen=True, slots=True)
class Objective:
    """What was asked of the layouts of one fabric, stage by stage, and what is proven.

    Attributes
    ----------
    stages
        Each counts only where all before are equal; lengths in ticks, values in points of priority.
    untouched
        Lengths on hand that stay whole.
    """

    fabric: str
    stages: tuple[Aim, ...]
    stop: Stop
    seconds: float
    untouched: tuple[str, ...] = ()

    @property
    def status(self) -> Status:
        """Optimal only when every stage is closed."""
        return status_of(0, 0, self.stages)


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A change that would save fabric, or the seams, and what it would save.

    Attributes
    ----------
    kind
        ``shorter`` or ``less full``, of a window; ``wider bolt``, of a fabric.
    window, fabric
        What is changed, and the fabric that it saves.
    was, now
        Finished length, fullness (or flat width) or bolt width, before and after, as text.
    saves
        What is saved in a maker's words: ``one repeat``, ``one width``, ``the seams``, else the fabric.
    length
        Fabric bought less, in ticks; below 0 more.
    money
        Paid less; None where a price is missing.
    least
        Proven that no smaller change saves it.
    text
        All of it in one sentence.
    """

    kind: Literal["shorter", "less full", "wider bolt"]
    window: str | None
    fabric: str
    was: str
    now: str
    saves: str
    length: int
    money: Decimal | None
    least: bool
    text: str


@dataclass(frozen=True, slots=True)
class SeamOffer:
    """What one seam plan of a window takes of a fabric, all other windows cut as they are.

    Attributes
    ----------
    told
        The plan in a maker's words.
    cuts
        Cut widths of its first panel, from left to right.
    pieces
        How many pieces of the fabric the window is cut into.
    length, bound
        The shortest layout found and what no layout undercuts; None where it was not tried.
    buy
        What would be bought; None without a layout.
    chosen
        Whether the window is cut by it.
    allowed_by
        The key of the job that would allow it; empty where the maker's rules do.
    """

    told: str
    cuts: tuple[int, ...]
    pieces: int
    length: int | None
    bound: int | None
    buy: Buy | None = None
    chosen: bool = False
    allowed_by: str = ""


@dataclass(frozen=True, slots=True)
class SeamReport:
    """The seam plans that the maker's rules leave open for one window, each with what it would take.

    ``layer`` is ``panel`` (with what is pieced behind it), ``lining`` or ``interlining``.
    """

    window: str
    layer: str
    fabric: str
    offers: tuple[SeamOffer, ...]

    @property
    def chosen(self) -> SeamOffer:
        """The plan the window is cut by."""
        return next(offer for offer in self.offers if offer.chosen)


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything the program answers about one job.

    ``sewing`` is how each of its windows is sewn, in their order.
    """

    job: Job
    pieces: tuple[Piece, ...]
    layouts: tuple[FabricLayout, ...]
    sundries: tuple[Sundry, ...] = ()
    headings: tuple[HeadingPlan, ...] = ()
    advice: tuple[Advice, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    panels: tuple[PanelPlan, ...] = ()
    what_if: tuple[WhatIf, ...] = ()
    seams: tuple[SeamReport, ...] = ()
    objectives: tuple[Objective, ...] = ()
    questions: tuple[Question, ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    sewing: tuple[Sewing, ...] = ()

    @property
    def short(self) -> tuple[LeftOut, ...]:
        """What was ordered and is left out because the lengths on hand are not enough."""
        return tuple(out for out in self.left_out if out.window)

    @property
    def cost(self) -> Decimal | None:
        """The cost of all fabric; None where a price is missing."""
        costs = [layout.buy.cost for layout in self.layouts if layout.buy]
        known = [cost for cost in costs if cost is not None]
        return sum(known, Decimal(0)) if known and len(known) == len(costs) else None

    def _repr_html_(self) -> str:
        """The plan as a notebook shows it: what to buy, markers, cut lists."""
        return HTML["plan"](self)
