"""What becomes of the selvages on the table, and from which line distances across are read.

Sizes are those between the lines: a piece that keeps a selvage which is left off comes out wider than
ordered, and a seam sewn on it lies beside its line. Common practice, no source.
"""

from __future__ import annotations

from nesting.plan.plan import FabricLayout
from nesting.units import Unit, format_length


def left_off(layout: FabricLayout) -> int:
    """How much of the fabric is cut off at either edge, in ticks; 0 where it is cut from edge to edge."""
    return 0 if layout.edge_to_edge else max(0, layout.full_width - layout.usable) // 2


def seams_in_selvage(layout: FabricLayout) -> bool:
    """Whether the seams of full widths take up the selvage, or part of it."""
    return not layout.edge_to_edge and (layout.usable > layout.fit_to_cut or not left_off(layout))


def left_mark(layout: FabricLayout) -> str:
    """From where distances across are read: ``left line`` where a selvage is left off, else ``left edge``."""
    return "left line" if left_off(layout) or layout.print_edge else "left edge"


def selvage_words(layout: FabricLayout, unit: Unit) -> str:
    """The check that draws the lines between which all is cut; empty where a hem's own check says it."""
    edge, seam = left_off(layout), layout.print_edge
    if layout.hem_edge is not None:
        return ""
    if layout.edge_to_edge:
        return (
            "Every distance from the left is read from the left edge of the fabric. A selvage that is the "
            "side of a panel stays on; at a seam none does."
        )
    if edge:
        return (
            f"Chalk the left line and the right line, {format_length(edge, unit)} inside each selvage, along "
            "the whole length. All pieces lie between them, and every distance from the left is read from "
            "the left line. Cut each piece on these lines where it reaches them: what is beyond is no part "
            "of it."
        )
    if seam:
        return (
            f"The line {format_length(seam, unit)} outside the left motif is the left line: draw it along "
            "the whole length, for every distance from the left is read from it. Where a selvage is wider, "
            "cut each piece on the line and, at the right, at its own width."
        )
    return "Every distance from the left is read from the left edge of the fabric."
