"""Side edges that are the selvage: only an edge of the fabric's own goes without a hem. Lengths in ticks.

Widths joined upright can lie so that the outermost edges of the panel are those of the fabric. A single
width has one such edge, and a panel that is cut turned has none: its sides are cut across. The widths of a
print lie where the pattern meets, which is at the seam lines and not at the edge of the fabric. A lining sewn
on as a tube takes both sides into its seams.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from nesting.cutting.layers import Layer
from nesting.cutting.measures import Hanging, flat_steps, hangings, left_hem, right_hem, side_hem
from nesting.cutting.table import FabricsOnTable
from nesting.headings import Making
from nesting.order.job import Edge
from nesting.pieces.piece import Advice
from nesting.pieces.seams import Width
from nesting.pieces.washing import wider


def settled_sides(table: FabricsOnTable, making: Making) -> Making:
    """The window with the usual hem at each side that was ordered as the selvage but is a cut edge."""
    leading, outer = making.leading_hem.selvage, making.outer_hem.selvage
    if not leading and not outer:
        return making
    usual, key = side_hem(table.job, making.window), making.window.fabric
    cut = (key, making.window.room) in table.railroaded or table.fabrics[key].repeat is not None
    # A lining sewn to both sides as a tube takes them in its seams.
    cut = cut or (making.window.lining is not None and making.window.lining_style == "tube")
    each = hangings(making)
    single = any(_flat(table, making, hanging) <= table.usable(key) for hanging in each)
    fixed = any(hanging.leading is None for hanging in each)
    if cut:
        leading = outer = False
    elif single and (leading or fixed):
        # One width has one edge of the fabric: the leading one; of a panel that does not move neither.
        outer = False
    return replace(
        making,
        leading_hem=usual if making.leading_hem.selvage and not leading else making.leading_hem,
        outer_hem=usual if making.outer_hem.selvage and not outer else making.outer_hem,
    )


def _flat(table: FabricsOnTable, making: Making, hanging: Hanging) -> int:
    return wider(flat_steps(making, hanging), table.fabrics[making.window.fabric]).up_to(table.grid).total


def own_edge(
    table: FabricsOnTable,
    making: Making,
    hanging: Hanging,
    layer: Layer,
    widths: tuple[Width, ...],
    index: int,
) -> Edge | None:
    """The edge of the fabric that is the bottom of a panel, or else the panel's side on one of its widths."""
    if layer.role != "panel":
        return None
    if making.bottom_hem.selvage:
        return table.fabrics[layer.fabric].hem_edge
    if index == 0 and left_hem(making, hanging).selvage:
        return "left"
    return "right" if index == len(widths) - 1 and right_hem(making, hanging).selvage else None


def hem_notes(making: Making, own: Edge | None) -> Iterator[str]:
    """What a label says of an edge of the fabric that is kept."""
    if own is not None:
        edge = "bottom" if making.bottom_hem.selvage else own
        yield f"{edge} edge: the {own} selvage, not cut off and not hemmed"


def selvage_advice(making: Making) -> Iterator[Advice]:
    """Which sides are hemmed although the selvage was ordered."""
    window = making.window
    sides = (
        ("leading", window.leading_hem, making.leading_hem),
        ("outer", window.outer_hem, making.outer_hem),
    )
    for edge, said, made in sides:
        if said is not None and said.selvage and not made.selvage:
            tube = window.lining is not None and window.lining_style == "tube"
            why = "is sewn to its lining" if tube else "is a cut edge, no selvage"
            text = (
                f"the {edge} edge {why}: it gets its hem of {making.say(made.turn)}, "
                f"turned {made.turns} times"
            )
            yield Advice("note", text, window.name, window.fabric)
