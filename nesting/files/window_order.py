"""The window as people write it in the job file, and the job around it; see `nesting.files.order`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, get_args

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler, create_model
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from nesting.files.entries import Count, Margin, Number, OneOf, Size, Text
from nesting.files.order import WORDS_OF_UNITS, ExtraEntry, FabricEntry, TomlTable, entry, rows
from nesting.headings import HEADINGS, OWN_SIZES, USUAL
from nesting.order.job import (
    Draw,
    HangsFrom,
    PartAt,
    PartWidth,
    Railroad,
    Safety,
    WayToCut,
    Widths,
)
from nesting.units import INCH, METER, TICKS_PER_MM

_SMALL = METER


class HemEntry(TomlTable):
    """A hem, turned ``turns`` times by ``turn``."""

    needed: ClassVar[Mapping[str, str]] = {"turn": "how deep one turn is, such as 4"}

    turn: Annotated[Fraction | None, Size("4", least=0, most=_SMALL)] = entry("How deep one turn is.")
    turns: Annotated[int | None, Count(0, 3)] = entry("How often it is turned. Default 2.")


@dataclass(frozen=True)
class Selvage:
    """Lets a hem be the word "selvage": the woven edge is left as it is."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(_selvage_hem, handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"anyOf": [handler(core), {"const": "selvage"}]}


def _selvage_hem(value: object) -> object:
    return {"turn": 0, "turns": 0} if value == "selvage" else value


class SideHemEntry(HemEntry):
    """The hems at the sides: one for both edges, or leading and outer edge apart."""

    needed: ClassVar[Mapping[str, str]] = {}

    leading: Annotated[HemEntry | None, Selvage()] = entry("The hem at the leading edge.")
    outer: Annotated[HemEntry | None, Selvage()] = entry("The hem at the outer (return) edge.")


class TabEntry(TomlTable):
    """Tabs, of back-tab and tab-top headings. What is left out the heading decides."""

    width: Annotated[Fraction | None, Size("2", most=_SMALL)] = entry("Finished width.")
    spacing: Annotated[Fraction | None, Size("6", most=_SMALL)] = entry("From center to center, about.")
    length: Annotated[Fraction | None, Size("2 3/4", most=_SMALL)] = entry(
        "The whole finished loop, from seam to seam over the rod."
    )
    gap: Annotated[Fraction | None, Size("2", least=0, most=_SMALL)] = entry(
        "Tab top: from the underside of the rod to the top edge of the panel; or give length."
    )
    count: Annotated[int | None, Count(2, 1000)] = entry("How many on each panel.")
    fabric: Annotated[str | None, Text("lining")] = entry("Another fabric for the tabs.")


class FacingEntry(TomlTable):
    """The facing behind the top edge."""

    depth: Annotated[Fraction | None, Size("4", most=_SMALL)] = entry("Finished depth.")
    fabric: Annotated[str | None, Text("lining")] = entry("Another fabric for the facing.")
    lower_edge: Annotated[str | None, OneOf(("overcast", "turned"))] = entry(
        'How its lower edge is finished: "overcast" (default) or "turned" under.'
    )


class PleatEntry(TomlTable):
    """Pleats of a pinch-pleated heading. What is left out the heading decides."""

    count: Annotated[int | None, Count(1, 1000)] = entry("How many on each panel.")
    space: Annotated[Fraction | None, Size("4", most=_SMALL)] = entry("Between two pleats.")
    lead: Annotated[Fraction | None, Size("2", least=0, most=_SMALL)] = entry(
        "From the leading edge to the first pleat."
    )
    buckram: Annotated[Fraction | None, Size("4", most=_SMALL)] = entry("Depth of the stiffening.")


class RingEntry(TomlTable):
    """Grommets, clip rings, or the rings of a pleated heading. What is left out the heading decides."""

    size: Annotated[Fraction | None, Size("2 1/2", most=_SMALL)] = entry("Outer diameter.")
    inner: Annotated[Fraction | None, Size("1 3/4", most=_SMALL)] = entry(
        "Inner diameter: the rod must pass, with about 1/4 in to spare."
    )
    spacing: Annotated[Fraction | None, Size("7", most=_SMALL)] = entry("From center to center, about.")
    count: Annotated[int | None, Count(1, 1000)] = entry("How many on each panel.")


class BandEntry(TomlTable):
    """A band along the leading edge or the hem."""

    needed: ClassVar[Mapping[str, str]] = {"width": "the finished width of the band, such as 5"}

    edge: Annotated[str | None, OneOf(("leading", "hem"))] = entry('"leading" (default) or "hem".')
    width: Annotated[Fraction | None, Size("5", most=5 * METER)] = entry("Finished width.")
    fabric: Annotated[str | None, Text("trim")] = entry("Its fabric. Default: the window's.")


class TiebackEntry(TomlTable):
    """A tie-back."""

    needed: ClassVar[Mapping[str, str]] = {
        "length": "the finished length of the tie-back, such as 24",
        "width": "the finished width of the tie-back, such as 4",
    }

    length: Annotated[Fraction | None, Size("24", most=5 * METER)] = entry("Finished length.")
    width: Annotated[Fraction | None, Size("4", most=5 * METER)] = entry("Finished width.")
    count: Annotated[int | None, Count(1, 1000)] = entry("How many. Default: one for each panel.")
    fabric: Annotated[str | None, Text("trim")] = entry("Its fabric. Default: the window's.")


if TYPE_CHECKING:

    class OwnSizesEntry(TomlTable):
        """Lengths that headings declare themselves."""
else:
    OwnSizesEntry = create_model(
        "OwnSizesEntry",
        __base__=TomlTable,
        **{
            own.key: (
                Annotated[Fraction | None, Size(own.example, least=own.least, most=own.most)],
                entry(own.told),
            )
            for own in OWN_SIZES.values()
        },
    )


class WindowEntry(OwnSizesEntry):
    """One window, or several identical ones."""

    needed: ClassVar[Mapping[str, str]] = {"rod": "the length of the rod, such as 84"}

    name: Annotated[str | None, Text("East window")] = entry('What to call it. Default "Window 1", ...')
    room: Annotated[str | None, Text("Garden room")] = entry(
        "Panels of a room hang level and lie alike. Default: the title of the job."
    )
    count: Annotated[int | None, Count()] = entry("How many identical windows. Default 1.")
    rod: Annotated[Fraction | None, Size("84")] = entry("Length of the rod or track.")
    rod_diameter: Annotated[Fraction | None, Size("1 3/8", most=METER // 2)] = entry(
        "Its thickest section; of a flat rod its height. Left out: a usual rod is taken, and the plan says "
        "so."
    )
    rod_depth: Annotated[Fraction | None, Size("1/4", most=METER // 2)] = entry(
        "A flat rod: how deep it is from front to back; rod_diameter is its height. Left out: a round rod."
    )
    finished_length: Annotated[Fraction | None, Size("95 1/2", most=30 * METER)] = entry(
        "The finished panel from top edge to hem edge; or give rod_height, on a track eye_height."
    )
    rod_height: Annotated[Fraction | None, Size("96", most=30 * METER)] = entry(
        "Floor to the top of the rod, always; or give finished_length."
    )
    hangs_from: Annotated[str | None, OneOf(get_args(HangsFrom))] = entry(
        'The "rod" itself, "rings" on it, or a "track". Default by heading; pleats: rings where rod_diameter '
        "is given, else a track."
    )
    ring_drop: Annotated[Fraction | None, Size("2", most=_SMALL)] = entry(
        "Rings: top of the rod to the bottom of the eye or clip, measured with the ring on the rod. Pleats "
        "on rings need it with rod_height; for clip rings 1 3/4 in (4.5 cm) below the rod is assumed."
    )
    eye_height: Annotated[Fraction | None, Size("95 1/4", most=30 * METER)] = entry(
        "Pleats on a track: floor to the hole that the hook enters; instead of rod_height."
    )
    clearance: Annotated[Fraction | None, Size("1/2", least=-METER, most=30 * METER)] = entry(
        "From the hem to the floor; below 0 the panel puddles. Default 1/2 in, in metric jobs 1.5 cm."
    )
    heading: Annotated[str | None, OneOf(tuple(HEADINGS))] = entry(f"The heading style. Default {USUAL}.")
    fullness: Annotated[Fraction | None, Number("1.5", Fraction(1), Fraction(6))] = entry(
        "Flat fabric over rod length. Default: by heading."
    )
    fullness_on: Annotated[str | None, OneOf(("rod", "all"))] = entry(
        '"rod" (default): returns and overlap are added flat; "all": they are gathered too.'
    )
    flat_width: Annotated[Fraction | None, Size("63")] = entry(
        "Flat finished width of each panel, to copy a drape that exists; instead of fullness."
    )
    draw: Annotated[str | None, OneOf(get_args(Draw))] = entry(
        '"pair" (default), single panel drawn to the "left" or "right", or "fixed" side panels.'
    )
    covers: Annotated[Fraction | None, Size("18")] = entry("Rod length that each fixed panel covers.")
    panels: Annotated[int | None, Count(1, 2)] = entry("2 for a pair, 1 for a single draw, either if fixed.")
    fabric: Annotated[str | None, Text("face")] = entry('Its fabric. Default "face", or the first fabric.')
    lining: Annotated[str | None, Text("lining")] = entry("The fabric of its lining; left out: unlined.")
    interlining: Annotated[str | None, Text("bump")] = entry("The fabric of its interlining.")
    returns: Annotated[Fraction | None, Size("3 1/2", least=0, most=2 * METER)] = entry(
        "From the rod back to the wall, each side. Default: by heading."
    )
    overlap: Annotated[Fraction | None, Size("4", least=0, most=2 * METER)] = entry(
        "Where a pair crosses at the center, both together. Default: by heading."
    )
    pair: Annotated[str | None, OneOf(("alike", "continuous"))] = entry(
        '"alike" (default): both panels start alike; "continuous": the pattern runs on over the closed pair.'
    )
    widths: Annotated[str | None, OneOf(get_args(Widths))] = entry(
        'How part-widths are rounded: "exact" (default), up to the "half" or to the "whole" width.'
    )
    least_part_width: Annotated[Fraction | None, Size("6", least=0, most=5 * METER)] = entry(
        "The narrowest strip that may show. Default 6 in, in metric jobs 15 cm."
    )
    part_at: Annotated[str | None, OneOf(get_args(PartAt))] = entry(
        'Where part-widths go: the "outer" edge (default), the "leading" edge, both "sides" (default of a '
        'fixed single panel), or "free": wherever that takes the least fabric.'
    )
    part_width: Annotated[str | None, OneOf(get_args(PartWidth))] = entry(
        '"free" (default): a part-width may be cut wider, and the width beside it narrower, where that takes '
        'less fabric; "least": as narrow as it comes.'
    )
    part_pieces: Annotated[int | None, Count(1, 2)] = entry(
        "2: a part-width may be pieced of two strips, with one seam more, where that takes less fabric. "
        "Default 1."
    )
    railroad: Annotated[str | None, OneOf(get_args(Railroad))] = entry(
        'Whether the fabric may be turned sideways: "auto" (default), "yes" or "no".'
    )
    priority: Annotated[int | None, Count(1, 99)] = entry(
        "Which goes first where there is not enough on hand: 1 (default) before 2. Of equals the first in "
        "the file."
    )
    bottom_hem: Annotated[HemEntry | None, Selvage()] = entry('The bottom hem, or "selvage".')
    side_hem: Annotated[SideHemEntry | None, Selvage()] = entry('The hems at the sides, or "selvage".')
    leading_hem: Annotated[HemEntry | None, Selvage()] = entry("The hem at the leading edge alone.")
    outer_hem: Annotated[HemEntry | None, Selvage()] = entry("The hem at the outer edge alone.")
    seam: Annotated[Fraction | None, Size("1/2", least=0, most=100 * TICKS_PER_MM)] = entry(
        "Seam allowance. Default 1/2 in, in metric jobs 1.5 cm."
    )
    squaring: Annotated[Fraction | None, Size("2", least=0, most=5 * METER)] = entry(
        "Cut off to square the end; the most that any window asks for is taken for the whole job."
    )
    working: Annotated[Fraction | None, Size("1", least=0, most=_SMALL)] = entry(
        "Extra length on every width of a panel's face, cut off at the top before sewing. Default 0."
    )
    tab: TabEntry | None = entry("Tabs.")
    facing: FacingEntry | None = entry("The facing.")
    pleat: PleatEntry | None = entry("Pleats.")
    ring: RingEntry | None = entry("Grommets or clip rings.")
    heading_depth: Annotated[Fraction | None, Size("2", least=0, most=_SMALL)] = entry(
        "Height of the heading above the rod pocket, or of the pleated heading."
    )
    pocket: Annotated[Fraction | None, Size("2", most=_SMALL)] = entry("Flat depth of the rod pocket.")
    take_up: Annotated[Fraction | None, Size("1/2", least=0, most=_SMALL)] = entry(
        "What going over the rod takes from the length of a rod-pocket or back-tab panel. Default: a quarter "
        "of a round rod's circumference less half the rod; of a flat rod 0."
    )
    tape: Annotated[Fraction | None, Size("3", most=_SMALL)] = entry("Depth of the pencil-pleat tape.")
    hook_row: Annotated[str | None, OneOf(("top", "middle", "bottom"))] = entry(
        'Which row of the tape hangs on the hooks: "top" (default), "middle" or "bottom".'
    )
    lining_hem: Annotated[HemEntry | None, Selvage()] = entry("The hem of the lining.")
    lining_cover: Annotated[Fraction | None, Size("4", least=0, most=_SMALL)] = entry(
        "How far the face covers the lining from the top edge down. Default: as deep as the heading's finish."
    )
    lining_gap: Annotated[Fraction | None, Size("1", least=0, most=_SMALL)] = entry(
        "How far the lining's lower edge stays above the face's. "
        "Default 1 in, in metric jobs 2.5 cm, and at most half of the face's hem."
    )
    lining_style: Annotated[str | None, OneOf(("tucked", "tube"))] = entry(
        '"tucked" (default) under the side hems, or sewn to the face as a "tube".'
    )
    band: list[BandEntry] = rows("Bands in another fabric.")
    tieback: list[TiebackEntry] = rows("Tie-backs.")


class TableEntry(TomlTable):
    """The table the fabric is cut on."""

    needed: ClassVar[Mapping[str, str]] = {"length": "how long the table is, such as 72"}

    length: Annotated[Fraction | None, Size("72", least=12 * INCH, most=50 * METER)] = entry(
        "How much fabric lies on it along the bolt."
    )
    width: Annotated[Fraction | None, Size("36", least=12 * INCH, most=10 * METER)] = entry(
        "How much of the fabric's width it holds; left out: all of it."
    )


class JobEntry(TomlTable):
    """A job for the cutting table: fabrics, windows and extras. Bare numbers are in ``units``."""

    title: Annotated[str | None, Text("Garden room")] = entry(
        "What the job is called. Default: the name of the file."
    )
    units: Annotated[str | None, OneOf(WORDS_OF_UNITS)] = entry(
        'The unit of bare numbers: "in" (default), "cm" or "mm".'
    )
    squaring: Annotated[Fraction | None, Size("2", least=0, most=5 * METER)] = entry(
        "Cut off to square the end of each bolt. Default 2 in, in metric jobs 5 cm."
    )
    currency: Annotated[str | None, Text("$", most=8)] = entry("The sign to print with prices.")
    safety: Annotated[Safety | None, Margin()] = entry(
        'A margin to buy of each fabric: "usual" (the larger of 1 yd and one repeat; in metric jobs 1 m), a '
        'percentage such as "10 %", a length, or "none". Left out: none is bought, and the plan offers it.'
    )
    windows: Annotated[str | None, Text("windows.csv", most=400)] = entry(
        "A measurement list beside the job file, one window a row (CSV); its windows follow those below."
    )
    cutting: Annotated[str | None, OneOf(get_args(WayToCut))] = entry(
        '"free" (default), or "across-first": cuts across the fabric from edge to edge first, then '
        "lengthwise within each band, then across within each column."
    )
    table: TableEntry | None = entry("The cutting table: the marker is split into pulls of its length.")
    fabric: dict[str, FabricEntry] = Field(
        default_factory=dict, description="The fabrics: one table [fabric.NAME] for each."
    )
    window: list[WindowEntry] = rows("The windows.")
    extra: list[ExtraEntry] = rows("Anything else to cut.")
