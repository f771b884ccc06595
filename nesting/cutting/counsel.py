"""What the planner tells the maker about a window: assumptions, doubts, and offers that save fabric."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.cutting.fullness import USUAL, WORTH_TELLING, fullness_of, times
from nesting.cutting.measures import Hanging
from nesting.cutting.panels import Joined
from nesting.cutting.table import FabricsOnTable
from nesting.headings import FinishedPanel, Heading, Making
from nesting.headings.hanging import doubts
from nesting.headings.making import measure
from nesting.order.job import Fabric
from nesting.pieces.piece import Advice

WORKING_LEAST: Final = measure("1/2", "1")
WORKING_MOST: Final = measure("1", "5/2")


def counsel(
    table: FabricsOnTable,
    making: Making,
    style: Heading,
    made: tuple[tuple[Hanging, FinishedPanel, Joined], ...],
) -> Iterator[Advice]:
    """All advice about one window."""
    window = making.window
    fabric = table.fabrics[window.fabric]
    if making.diameter_assumed and style.needs_diameter(making):
        text = (
            f"the rod's thickness is not given: {making.say(making.rod_diameter)} is assumed, at the "
            "thickest section; measure the rod before cutting"
        )
        yield Advice("warning", text, window.name, window.fabric)
    yield from doubts(style, making)
    yield from style.advice(making, tuple(panel for _, panel, _ in made))
    yield from _weight(making, fabric)
    hanging, panel, widths = made[0]
    if not widths.run:
        yield from _trimmed(making, fabric, widths)
        yield from _leading(making, fabric, tuple(joined for _, _, joined in made))
        yield from _rounded(making, hanging, panel)
    yield from _delicate(table, making, style, fabric, tuple(panel for _, panel, _ in made))
    if window.bands and fabric.repeat is not None:
        yield Advice("note", "bands and other small pieces are not matched to the print", window.name)


def _delicate(
    table: FabricsOnTable, making: Making, style: Heading, fabric: Fabric, panels: tuple[FinishedPanel, ...]
) -> Iterator[Advice]:
    """What pile and prints are better off with."""
    window, pile = making.window, fabric.nap == "one-way" and fabric.repeat is None
    if (pile or fabric.repeat is not None) and not window.working:
        least, most = making.say(WORKING_LEAST.of(making.unit)), making.say(WORKING_MOST.of(making.unit))
        text = (
            f"pile and prints shift under the shears: a working allowance of {least} to {most} makes every "
            f'cut longer, to be trimmed when it is squared up (working = "{least}")'
        )
        yield Advice("offer", text, window.name, fabric.key, change=("working", least))
    usable = {key: table.usable(key) for key in table.fabrics}
    parts = style.companions(making, panels, usable) if pile else ()
    hidden = [part for part in parts if part.hidden and part.fabric == fabric.key]
    if hidden:
        tabs, facing = (any(part.role == role for part in hidden) for role in ("tab", "facing"))
        what = "facing and hidden tabs" if tabs and facing else "hidden tabs" if tabs else "the facing"
        text = f"{what} may be cut from lining, which spares pile and bulk"
        yield Advice("offer", text, window.name, fabric.key)


def _weight(making: Making, fabric: Fabric) -> Iterator[Advice]:
    if fabric.weight is None or making.window.flat_width is not None:
        return
    least, most = USUAL[fabric.weight]
    if not least <= making.fullness <= most:
        usual = f"{times(least)} to {times(most)} full"
        text = f"{fabric.weight} fabric is usually made {usual}; here {times(making.fullness)}"
        yield Advice("note", text, making.window.name, fabric.key)


def _trimmed(making: Making, fabric: Fabric, made: Joined) -> Iterator[Advice]:
    """Widths that are not cut as one would expect."""
    name = making.window.name
    if len(made.widths) < 2:
        return
    if any(width.kind == "trimmed" for width in made.widths):
        yield Advice(
            "note",
            f"the part-width would show less than {making.say(making.least_part)}: it is cut wider and the "
            "width beside it narrower",
            name,
            fabric.key,
        )


def _leading(making: Making, fabric: Fabric, made: tuple[Joined, ...]) -> Iterator[Advice]:
    """What the pattern asks of a panel: a leading width cut narrower, or the panel made wider."""
    leads = [joined.widths[joined.lead] for joined in made]
    if any(lead.kind == "leading" for lead in leads):
        off = [joined.fabric.full - lead.cut for joined, lead in zip(made, leads, strict=True)]
        sides = "" if len(set(off)) == 1 else " (left and right panel)"
        text = (
            f"the leading width is cut {' and '.join(making.say(o) for o in dict.fromkeys(off))} narrower at "
            f"its leading edge{sides} and the part-width wider, so that all widths meet in the pattern"
        )
        if making.window.pair == "continuous":
            text += " across the closed pair; were both panels to start alike, full widths would lead"
            text += ' (pair = "alike")'
        yield Advice("note", text, making.window.name, fabric.key)
    over = max(joined.total - joined.need.total for joined in made)
    # Two equal parts rounded up to the tape are a step more; plain fabric has no pattern to meet.
    if fabric.repeat is not None and over > made[0].fabric.grid and making.window.widths == "exact":
        text = (
            f"each panel is made {making.say(over)} wider than asked: its part-width would show less than "
            f"{making.say(making.least_part)}, and the pattern cannot meet if the width beside it is trimmed"
        )
        yield Advice("note", text, making.window.name, fabric.key)


def _rounded(making: Making, hanging: Hanging, panel: FinishedPanel) -> Iterator[Advice]:
    """Whole or half widths make a panel fuller than asked."""
    if making.window.widths == "exact" or making.window.flat_width is not None:
        return
    got = fullness_of(making, hanging, panel.flat)
    if got - making.fullness >= WORTH_TELLING:
        asked = times(making.fullness)
        text = f"{making.window.widths} widths give a fullness of {times(got)} instead of {asked}"
        yield Advice("note", text, making.window.name)


def washing_advice(fabric: Fabric) -> Iterator[Advice]:
    """What shrinkage was reckoned with."""
    shrinkage = fabric.shrinkage
    if shrinkage is None or not (shrinkage.length or shrinkage.width):
        return
    amount = f"{float(shrinkage.length):g} % in length and {float(shrinkage.width):g} % in width"
    if shrinkage.washed == "before":
        text = f"{fabric.title}: wash the whole length before cutting; {amount} is bought on top and lost"
    else:
        text = (
            f"{fabric.title}: pieces are cut larger for {amount} lost in the first wash; wash them before "
            "they are sewn"
        )
    yield Advice("note", text, fabric=fabric.key)
