"""What was ordered of a window's drapes, worked out from the order in a plan document and from nothing else.

Trade values are restated here, as in `nesting.check.document_hanging`: nothing is taken from the code that
makes pieces. All are common practice, no source. Lengths in ticks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any, Final, Literal

from nesting.check.document import TableReader
from nesting.errors import Fault, NestingError
from nesting.sewing import Rod
from nesting.units import Unit, grid, to_ticks

#: What holds where nothing was ordered: inches, and centimeters.
_USUAL: Final[Mapping[str, tuple[str, str]]] = {
    "seam": ("0.5", "1.5"),
    "bottom hem": ("4", "10"),
    "bottom hem of sheer": ("5", "12.5"),
    "side hem": ("1", "2.5"),
    "side hem of heavy": ("1.5", "4"),
    "lining hem": ("2", "5"),
    "lining gap": ("1", "2.5"),
    "lining turn": ("0.5", "1.5"),
    "facing": ("4", "10"),
    "clearance": ("0.5", "1.5"),
    "rod": ("1.375", "3.5"),
    "return": ("3.5", "9"),
    "overlap": ("4", "10"),
    "least part": ("6", "15"),
    "squaring": ("2", "5"),
}
#: What may be ordered of a fabric in one of several words.
_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "nap": ("one-way", "two-way", "none"),
    "arrow": ("up", "down"),
    "level": ("hem", "top", "floor"),
    "hidden_nap": ("keep", "free"),
    "one_lot": ("window", "room"),
}
SideEdge = Literal["left", "right"]
#: Lengths of an order, and counts, are no larger than this.
_MOST: Final = 10**12


@dataclass(frozen=True, slots=True)
class HemOrdered:
    """A hem as ordered: ``turns`` turns of ``turn`` each, or the selvage."""

    turn: int
    turns: int = 2
    selvage: bool = False

    @property
    def folded(self) -> tuple[Fraction, ...]:
        """Its turns, the first one first; none where the edge of the fabric is the hem."""
        return () if self.selvage or not self.turn else (Fraction(self.turn),) * self.turns

    @property
    def allowance(self) -> int:
        """What it takes from the fabric."""
        return int(sum(self.folded))

    @property
    def deep(self) -> int:
        """How deep it shows."""
        return self.turn if self.folded else 0


@dataclass(frozen=True, slots=True)
class PanelOrdered:
    """A panel of a window: what it covers, and what it reaches beyond.

    ``leading`` is its leading edge, None where it does not move.
    """

    key: str
    leading: SideEdge | None
    covers: Fraction
    return_left: int = 0
    return_right: int = 0
    overlap: Fraction = Fraction(0)

    @property
    def ends(self) -> Fraction:
        """Its returns and its share of the overlap."""
        return self.return_left + self.return_right + self.overlap

    @property
    def dressed(self) -> Fraction:
        """Its width once it is dressed on the rod."""
        return self.covers + self.ends


@dataclass(frozen=True, slots=True)
class WindowOrdered:
    """A window of the order, read when it is asked.

    ``fabrics`` are those of the order by key; ``hung``: a panel of it hung before the others were cut, and
    hems of what was cut by then may be turned under less at first.
    """

    at: TableReader
    unit: Unit
    fabrics: Mapping[str, TableReader]
    hung: bool = False

    @property
    def name(self) -> str:
        """As it was named."""
        return self.at.text("name")

    @property
    def heading(self) -> str:
        """The name of its heading."""
        return self.at.text("heading")

    @property
    def count(self) -> int:
        """How many are made alike."""
        return whole(self.at, "count", 1)

    @property
    def step(self) -> int:
        """The smallest step people measure in."""
        return grid(self.unit)

    def usual(self, key: str) -> int:
        """The trade's value in the measure of the job."""
        return self.of(_USUAL[key])

    def of(self, both: tuple[str, str]) -> int:
        """A pair of trade values, the one in the measure of the job."""
        return to_ticks(float(both[0]), "in") if self.unit == "in" else to_ticks(float(both[1]), "cm")

    def said(self, key: str, within: str = "") -> int | None:
        """A length or count that was ordered, in a table of its own where ``within`` names one."""
        table = self.at.table_or_none(within) if within else self.at
        return None if table is None or table.value(key, None) is None else whole(table, key, 0)

    def either(self, key: str, usual: str | tuple[str, str], within: str = "") -> int:
        """What was ordered, or else the trade's value."""
        said = self.said(key, within)
        if said is not None:
            return said
        return self.usual(usual) if isinstance(usual, str) else self.of(usual)

    def word(self, key: str, default: str, within: str = "") -> str:
        """A word that was ordered, or the default."""
        table = self.at.table_or_none(within) if within else self.at
        return default if table is None or table.value(key, None) is None else table.text(key)

    @property
    def fabric(self) -> TableReader:
        """The fabric of its face."""
        return self.fabrics[self.at.text("fabric")]

    @property
    def seam(self) -> int:
        """Allowance on each side of a seam."""
        return self.either("seam", "seam")

    def hem(self, key: str) -> HemOrdered:
        """A hem: ``bottom_hem``, ``leading_hem``, ``outer_hem`` or ``lining_hem``."""
        said = self.at.table_or_none(key)
        if said is not None:
            turns = 2 if said.value("turns", None) is None else whole(said, "turns", 0)
            return HemOrdered(whole(said, "turn", 0), turns, said.flag("selvage", False))
        return self.usual_hem(key)

    def usual_hem(self, key: str) -> HemOrdered:
        """A hem where none was ordered, by the weight of the fabric."""
        weight = self.fabric.value("weight", None)
        if key == "lining_hem":
            return HemOrdered(self.usual("lining hem"))
        if key == "bottom_hem":
            return HemOrdered(self.usual("bottom hem of sheer" if weight == "sheer" else "bottom hem"))
        return HemOrdered(self.usual("side hem of heavy" if weight == "heavy" else "side hem"))

    def side_hem(self, panel: PanelOrdered, edge: SideEdge) -> HemOrdered:
        """The side hem at that edge of a panel."""
        return self.hem("leading_hem" if panel.leading == edge else "outer_hem")

    @property
    def rod(self) -> Rod:
        """What it hangs from; a rod of which nothing was said is a usual one."""
        depth, taken = self.said("rod_depth"), self.said("take_up")
        return Rod(
            Fraction(self.either("rod_diameter", "rod")),
            None if depth is None else Fraction(depth),
            None if taken is None else Fraction(taken),
        )

    @property
    def half_round(self) -> Fraction:
        """Half the way round the rod, a hair more than it is: nothing that goes round is found too short."""
        rod = self.rod
        return rod.thick * Fraction(355, 113) / 2 if rod.depth is None else rod.thick + rod.depth

    @property
    def fullness(self) -> Fraction | None:
        """As ordered; None: the heading's."""
        return fraction_or_none(self.at, "fullness")

    def panels(self, pleated: bool) -> Iterator[PanelOrdered]:
        """The panels from left to right, seen from the room; ``pleated``: returns and overlap are usual."""
        draw, rod = self.word("draw", "pair"), Fraction(whole(self.at, "rod", 0))
        count = self.said("panels") or (1 if draw in ("left", "right") else 2)
        covers, covered = rod / count, self.said("covers")
        if draw == "fixed" and covered is not None:
            covers = Fraction(covered)
        reach = self.either("returns", "return" if pleated else ("0", "0"))
        overlap = Fraction(self.either("overlap", "overlap" if pleated else ("0", "0")))
        meets = (count // 2 - 1, count // 2) if draw == "pair" and count % 2 == 0 else ()
        for number in range(count):
            side = "single" if 2 * number + 1 == count else "left" if 2 * number < count else "right"
            place = min(number, count - 1 - number) + 1
            leading: SideEdge | None = "right" if side == "left" else "left" if side == "right" else None
            if draw in ("left", "right"):
                leading = "right" if draw == "left" else "left"
            yield PanelOrdered(
                side if place == 1 or side == "single" else f"{side}-{place}",
                leading,
                covers,
                reach if number == 0 else 0,
                reach if number == count - 1 else 0,
                overlap / 2 if number in meets else Fraction(0),
            )

    def flat(self, panel: PanelOrdered, fullness: Fraction) -> Fraction:
        """The hemmed width of a panel lying flat."""
        said = self.said("flat_width")
        if said is not None:
            return Fraction(said)
        if self.word("fullness_on", "rod") == "all":
            return panel.dressed * fullness
        return panel.covers * fullness + panel.ends

    def hangs_from(self, rings: bool, track: bool) -> str:
        """``rod``, ``rings`` or ``track``, by what its heading may hang from and what was measured."""
        said = self.word("hangs_from", "")
        if said:
            return said
        if rings and (not track or self.said("rod_diameter") is not None):
            return "rings"
        return "track" if track else "rod"


def windows_ordered(top: TableReader, unit: Unit) -> Iterator[WindowOrdered]:
    """The windows of the order of a document."""
    order = top.table_or_none("order")
    if order is None:
        return
    fabrics = {fabric.text("key"): fabric for fabric in order.tables("fabrics", ())}
    for fabric in fabrics.values():
        for key, words in _WORDS.items():
            if fabric.value(key, None) is not None:
                fabric.one_of(key, words)
    hung = {one.text("window") for one in order.tables("hung", ())}
    for window in order.tables("windows", ()):
        made = WindowOrdered(window, unit, fabrics, window.text("name") in hung)
        for key in ("fabric", "lining", "interlining"):
            named = window.value(key, None)
            if (named is not None or key == "fabric") and named not in fabrics:
                raise _fault(window, key, "the key of a fabric")
        yield made


def whole(table: TableReader, key: str, least: int) -> int:
    """A whole number of a table that an order holds; 1 where there is none."""
    value = table.value(key, 1)
    if type(value) is not int or not least <= value <= _MOST:
        raise _fault(table, key, f"a whole number, {least} or more")
    return value


def fraction_or_none(table: TableReader, key: str) -> Fraction | None:
    """A number or a fraction as text; None where there is none."""
    value: Any = table.value(key, None)
    if value is None:
        return None
    try:
        if isinstance(value, bool) or not isinstance(value, int | float | str) or len(str(value)) > 40:
            raise ValueError
        return Fraction(value) if isinstance(value, str) else Fraction(Decimal(str(value)))
    except (ValueError, ZeroDivisionError, InvalidOperation, OverflowError):
        raise _fault(table, key, "a number") from None


def percent_kept(fabric: TableReader, way: Literal["width", "length"], washed: str) -> Fraction:
    """What a wash ``before`` or ``after`` cutting leaves of a width or length."""
    shrinkage = fabric.table_or_none("shrinkage")
    if shrinkage is None or shrinkage.value("washed", "after") != washed:
        return Fraction(1)
    return 1 - (fraction_or_none(shrinkage, way) or Fraction(0)) / 100


def _fault(table: TableReader, key: str, expected: str) -> NestingError:
    return NestingError(str(Fault(f"{table.place}.{key}", repr(table.value(key, None))[:60], expected)))
