"""The job file as people write it: its tables and keys, before anything is worked out.

Every key may be left out here, so that one missing or faulty entry never hides the others;
``needed`` names those that a job cannot do without. Lengths are exact ticks (`Fraction`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from nesting.files.entries import Count, Drop, Flag, Gap, Margin, Number, OneOf, Price, Size, Text
from nesting.order.job import Arrow, DropFrom, Edge, Level, Nap, Safety
from nesting.units import METER, Unit

WORDS_OF_UNITS: tuple[str, ...] = get_args(Unit)


def entry(description: str) -> Any:
    """An optional key with what it means."""
    return Field(default=None, description=description)


def rows(description: str) -> Any:
    """A list of tables, with what one of them is."""
    return Field(default_factory=list, description=description)


class TomlTable(BaseModel):
    """The base of all tables: unknown keys are refused; ``needed`` maps a key to what it asks for."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
    needed: ClassVar[Mapping[str, str]] = {}

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        made = handler(core)
        plain = handler.resolve_ref_schema(made)
        if cls.needed:
            plain["required"] = sorted(cls.needed)
        return made


@dataclass(frozen=True)
class Shorthand:
    """Lets a table be one value alone, which stands for its key ``key``."""

    key: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self._table, handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"anyOf": [handler(core), {"type": "number", "exclusiveMinimum": 0}, {"type": "string"}]}

    def _table(self, value: object) -> object:
        return value if isinstance(value, Mapping | list) else {self.key: value}


class RepeatEntry(TomlTable):
    """The printed or woven pattern of a fabric."""

    needed: ClassVar[Mapping[str, str]] = {"length": "the repeat along the bolt, such as 25.25"}

    length: Annotated[Fraction | None, Size("25 1/4", most=10 * METER)] = entry(
        "How far along the bolt until the pattern comes again."
    )
    width: Annotated[Fraction | None, Size("27", most=10 * METER)] = entry(
        "How far across until it comes again; left out: taken as the bolt's match."
    )
    drop: Annotated[Fraction | None, Drop()] = entry(
        "Part of the repeat length by which the pattern steps up from one column to the next on its right: "
        "0 straight match, 0.5 half drop. Default 0."
    )
    drop_from: Annotated[str | None, OneOf(get_args(DropFrom))] = entry(
        'Where the step of a drop is: from "column" to column of the repeat, inside the width too (default), '
        'or only from "selvage" to selvage, from one width to the next. Look at the fabric.'
    )
    sideways: Annotated[bool | None, Flag()] = entry(
        "true: the pattern looks right turned sideways as well, so that panels may be cut railroaded. "
        "Default false: a print is never turned."
    )


class ShrinkageEntry(TomlTable):
    """What washing takes from a fabric."""

    length: Annotated[Fraction | None, Number("3", Fraction(0), Fraction(30), percent=True)] = entry(
        "Percent lost along the bolt. Default 0."
    )
    width: Annotated[Fraction | None, Number("1", Fraction(0), Fraction(30), percent=True)] = entry(
        "Percent lost across the bolt. Default 0."
    )
    washed: Annotated[str | None, OneOf(("before", "after"))] = entry(
        '"before" cutting: more is bought and the cuts stay; "after" (default): everything is cut longer.'
    )


class MotifEntry(TomlTable):
    """Where the foot of the pattern's motif is to show on the hanging panels."""

    needed: ClassVar[Mapping[str, str]] = {"height": "how high the foot of the motif shows, such as 6"}

    height: Annotated[Fraction | None, Size("6", least=0, most=10 * METER)] = entry(
        "From the finished hem up to the foot of the motif, or from the top edge down to it."
    )
    at: Annotated[str | None, OneOf(("hem", "top"))] = entry(
        'From where it is measured: "hem" (default) or "top". All rooms then share it.'
    )


class MeasuredEntry(TomlTable):
    """The repeat as it measures on the bolt."""

    needed: ClassVar[Mapping[str, str]] = {"length": "the repeat as it measures, such as 25.375"}

    length: Annotated[Fraction | None, Size("25 3/8", most=100 * METER)] = entry(
        "From one line of the pattern to its next along the bolt, or over several repeats."
    )
    over: Annotated[int | None, Count(1, 1000)] = entry("How many repeats were measured. Default 1.")


class ToleranceEntry(TomlTable):
    """How far a print may be out, up or down."""

    repeat: Annotated[Fraction | None, Size("1/16", least=0, most=METER // 10)] = entry(
        "One repeat along the bolt. Default 0."
    )
    bow: Annotated[Fraction | None, Size("1/4", least=0, most=METER)] = entry(
        "The middle of the width against its edges. Default 0."
    )
    skew: Annotated[Fraction | None, Size("1/2", least=0, most=METER)] = entry(
        "One selvage against the other. Default 0."
    )


class FlawEntry(TomlTable):
    """A spoiled place of a length on hand."""

    needed: ClassVar[Mapping[str, str]] = {
        "at": "how far the flaw begins from the squared end, such as 120",
        "length": "how long the flaw is along the fabric, such as 2",
    }

    at: Annotated[Fraction | None, Size("120", least=0, most=1000 * METER)] = entry(
        "Where the flaw begins, from the squared end."
    )
    length: Annotated[Fraction | None, Size("2", most=1000 * METER)] = entry(
        "How long it is along the fabric."
    )
    from_left: Annotated[Fraction | None, Size("10", least=0, most=10 * METER)] = entry(
        "Where it begins across, from the left edge of the usable width. Default 0."
    )
    width: Annotated[Fraction | None, Size("3", most=10 * METER)] = entry(
        "How wide it is; left out: to the right edge."
    )


class LengthEntry(TomlTable):
    """A length of the fabric that is already there."""

    needed: ClassVar[Mapping[str, str]] = {"length": "the length that is there, such as 180"}

    length: Annotated[Fraction | None, Size("180", most=1000 * METER)] = entry(
        "How long it is, from its squared end."
    )
    name: Annotated[str | None, Text("remnant from the hall")] = entry("What to call it in the plan.")
    usable: Annotated[Fraction | None, Size("53", most=10 * METER)] = entry(
        "Its usable width, where it differs from the bolt's."
    )
    lot: Annotated[str | None, Text("A 4711")] = entry(
        "Its dye lot. Lengths without one are taken to be of one lot of their own."
    )
    start: Annotated[Fraction | None, Size("6", least=0, most=10 * METER)] = entry(
        "Height of the pattern at its squared end. Left out: up to one repeat is kept for finding the place."
    )
    repeat: Annotated[Fraction | None, Size("25 3/8", most=10 * METER)] = entry(
        "The repeat as it measures along this length, where it is another than the fabric's."
    )
    flaws: list[FlawEntry] = rows("Places to cut around.")


class BoltEntry(TomlTable):
    """A width in which the fabric is sold."""

    needed: ClassVar[Mapping[str, str]] = {"width": "the width from selvage to selvage, such as 54"}

    width: Annotated[Fraction | None, Size("54", most=10 * METER)] = entry(
        "As its label states it, before washing: selvage to selvage, or of the print."
    )
    usable: Annotated[Fraction | None, Size("53", most=10 * METER)] = entry(
        "The usable width, measured, seam allowances included. Default: width less 1/2 in (1.5 cm) at "
        "each selvage."
    )
    match: Annotated[Fraction | None, Size("54", most=10 * METER)] = entry(
        "Prints: from seam line to seam line of a full width, before washing. Default: the most whole "
        "repeats in the width less two seams; or the whole width, where repeats fill it and seams fall "
        "in the selvage. Measure it on the fabric."
    )
    price: Annotated[Decimal | None, Price()] = entry("Per yard (inch jobs) or meter of length.")
    sold_by: Annotated[Fraction | None, Size("4 1/2", most=100 * METER)] = entry(
        'The step in which it is sold, such as "1/8 yd". Default 1/8 yd, in metric jobs 0.1 m.'
    )
    on_hand: list[LengthEntry] = rows("Lengths already there; they are all there is unless top_up is true.")
    top_up: Annotated[bool | None, Flag()] = entry(
        "true: buy more where there is not enough on hand. Default false."
    )
    lot: Annotated[str | None, Text("A 4711")] = entry(
        "Dye lot of what can still be bought. Default: another than those of the lengths on hand."
    )


class FabricEntry(TomlTable):
    """A fabric quality: its nap and pattern, and the bolts on offer."""

    name: Annotated[str | None, Text("Moss velvet")] = entry("What to print. Default: the name of the table.")
    nap: Annotated[str | None, OneOf(get_args(Nap))] = entry(
        '"one-way" (pile, one-way print), "two-way" or "none" (default).'
    )
    arrow: Annotated[str | None, OneOf(get_args(Arrow))] = entry(
        'Which way the smooth nap runs on the hanging panel, "up" (default) or "down".'
    )
    repeat: RepeatEntry | None = entry("The pattern; leave it out for plain fabric.")
    level: Annotated[str | None, OneOf(get_args(Level))] = entry(
        'What hangs at one height in the pattern in a room: finished "hem" (default), "top" edge or "floor".'
    )
    hidden_nap: Annotated[str | None, OneOf(("keep", "free"))] = entry(
        '"free": facings and hidden tabs may lie against the nap. Default "keep".'
    )
    shrinkage: ShrinkageEntry | None = entry("What washing takes from it.")
    start: Annotated[Fraction | None, Size("6", least=0, most=10 * METER)] = entry(
        "Height of the pattern at the squared end, where it is known."
    )
    measured_repeat: Annotated[MeasuredEntry | None, Shorthand("length")] = entry(
        "The repeat as it measures on this bolt, where it is not what its label says; a length, or "
        "{ length, over }. The plan is made with it."
    )
    motif: MotifEntry | None = entry("A prescribed height of the pattern on the hanging panels.")
    tolerance: ToleranceEntry | None = entry("How far the print may be out.")
    cutting_gap: Annotated[Fraction | Literal["auto"] | None, Gap("1/2", least=0, most=METER)] = entry(
        'What every matched cut is made longer by, to be trimmed true: a length, or "auto" for bow, skew and '
        "drift of the cut's own. Default none."
    )
    safety: Annotated[Safety | None, Margin()] = entry(
        "A margin to buy beyond what is needed, where it is another than the job's."
    )
    weight: Annotated[str | None, OneOf(("sheer", "medium", "heavy"))] = entry(
        "How heavy it is; hems and fullness follow it where the window says nothing."
    )
    hem_edge: Annotated[str | None, OneOf(get_args(Edge))] = entry(
        "Which selvage hangs at the bottom where it is the hem, as the fabric lies right side up with its "
        'squared end toward you: "left" or "right" (default). Say it where the two differ (weighted, '
        "bordered)."
    )
    one_lot: Annotated[str | None, OneOf(("window", "room"))] = entry(
        'What is cut from one dye lot of the lengths on hand: each "window" (default) or each "room".'
    )
    bolt: list[BoltEntry] = rows("One for each width on offer; the first is the one planned for.")


class ExtraEntry(TomlTable):
    """Anything else to cut; sizes are cut sizes."""

    needed: ClassVar[Mapping[str, str]] = {
        "width": "the width to cut, such as 18",
        "length": "the length to cut, such as 18",
    }

    name: Annotated[str | None, Text("Cushion front")] = entry('What it is. Default "Extra 1", ...')
    fabric: Annotated[str | None, Text("face")] = entry('Its fabric. Default "face", or the first fabric.')
    width: Annotated[Fraction | None, Size("18")] = entry("Across the bolt when upright.")
    length: Annotated[Fraction | None, Size("18")] = entry("Along the bolt when upright.")
    count: Annotated[int | None, Count()] = entry("How many. Default 1.")
    window: Annotated[str | None, Text("East window")] = entry("The window it belongs to.")
    room: Annotated[str | None, Text("Garden room")] = entry("The room it belongs to.")
    matched: Annotated[bool | None, Flag()] = entry(
        "true: its pattern lies level with the panels. Default false."
    )
    turnable: Annotated[bool | None, Flag()] = entry(
        "Whether it may turn a quarter. Default: as the nap allows."
    )
    optional: Annotated[bool | None, Flag()] = entry(
        "true: cut it only from what would be left over. Default false."
    )
    priority: Annotated[int | None, Count(1, 99)] = entry(
        "Which goes first where fabric is short: 1 (default) before 2. Of equals the first in the file."
    )
