"""The layers of a panel, face, lining and interlining: the size each needs before its widths are planned."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from nesting.cutting.measures import lying_length
from nesting.headings import FinishedPanel, Making, heading
from nesting.headings.making import measure
from nesting.order.job import Hem
from nesting.pieces.piece import Steps
from nesting.units import round_down

#: How far the raw top of a lining goes up under what finishes the top of the face, or is turned under where
#: nothing covers it; how far its hem edge hangs above the face's.
TOP_TURN: Final = measure("1/2", "3/2")
GAP: Final = measure("1", "5/2")
#: What a lining shows of a shallow hem at most: half of it, so that it still covers the hem's upper edge.
MOST_SHOWN: Final = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of one panel. Width and length in steps before shrinkage and rounding to the tape.

    ``left`` and ``right`` are what its side hems take, ``hem`` what its bottom hem takes.
    """

    role: Literal["panel", "lining", "interlining"]
    fabric: str
    width: Steps
    length: Steps
    left: Hem
    right: Hem
    hem: int
    finished_width: int
    finished_length: int


def lining_width(face: int, left: int, right: int) -> Steps:
    """Cut width of a lining tucked under the side hems of a face cut ``face`` wide.

    Its raw edges lie in the folds of the hems, so it is as wide as the finished panel (common practice, no
    source).

    Parameters
    ----------
    face
        Cut width of the face, its widths joined.
    left, right
        What the face's side hems take at each edge, all turns together.
    """
    return Steps("cut width").add("face cut width", face).take("left hem", left).take("right hem", right)


def tube_width(flat: int, left: int, right: int, seam: int) -> Steps:
    """Cut width of a lining sewn to the face as a tube, the face coming round to the back on both sides.

    Sewn and pressed flat, both layers together go round twice the finished width: the face comes to the back
    by its side hem less the seam, and the lining is narrower than the face by twice that at each edge.

    Parameters
    ----------
    flat
        Finished width of the panel, lying flat.
    left, right
        What the face's side hems take at each edge, the seam that joins the lining among it.
    seam
        Seam allowance.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: side hems of 2 and 1 make the lining 6 in narrower than
    the face. That those are what shows at the back, so that the allowances are 2 1/2 and 1 1/2 with seams of
    1/2, is our reading of it.
    """
    return (
        Steps("cut width")
        .add("finished panel", flat)
        .take("left side turn of the face", left)
        .take("right side turn of the face", right)
        .add("seam", seam, 4)
    )


def lining_length(
    finished: int, cover: int, turn: int, gap: int, hem: Hem, *, take_up: int = 0, tucked: bool = True
) -> Steps:
    """Cut length of a lining.

    Parameters
    ----------
    finished
        Finished length of the face.
    cover
        How far face or facing reaches down the back from the top edge.
    turn
        What the raw top goes up under the finish of the face, or what is turned under there.
    gap
        How far the lining ends above the face's hem edge.
    hem
        The lining's own hem.
    take_up
        What the rod takes up of the face, which lies longer by so much.
    tucked
        Whether the raw top is covered, or turned under.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: 91 finished, 3 1/2 covered, 1/2, 2 and 2 1/2 give 88 1/2.
    That the 3 1/2 are ``cover`` and the 2 are ``gap`` is our reading of it.
    """
    steps = Steps("cut length").add("finished length", finished)
    if take_up:
        steps = steps.add("take-up over the rod", take_up)
    steps = (
        steps.take("covered at the top", cover)
        .add("tucked under at the top" if tucked else "turned under at the top", turn)
        .take("short of the hem edge", gap)
    )
    return steps.add("lining hem", hem.turn, hem.turns) if hem.allowance else steps


def lining(making: Making, panel: FinishedPanel, left: Hem, right: Hem, fabric: str) -> Layer:
    """The lining of one panel."""
    face = panel.flat + left.allowance + right.allowance
    tube = making.window.lining_style == "tube"
    width = (
        tube_width(panel.flat, left.allowance, right.allowance, making.seam)
        if tube
        else lining_width(face, left.allowance, right.allowance)
    )
    length = needed_lining_length(making)
    bare = Hem(0, 0)
    return Layer(
        "lining", fabric, width, length, bare, bare, making.lining_hem.allowance, panel.flat,
        hemmed_lining(making).total,
    )  # fmt: skip


def top_cover(making: Making) -> int:
    """How far the back of the face reaches down: as ordered, or by the heading."""
    said = making.window.lining_cover
    return heading(making.window.heading).top_cover(making) if said is None else said


def lining_tucked(making: Making) -> bool:
    """Whether the finish of the face covers the raw top of the lining; it is turned under otherwise."""
    deep = heading(making.window.heading).top_cover(making)
    return TOP_TURN.of(making.unit) <= top_cover(making) < deep + TOP_TURN.of(making.unit)


def lining_top(making: Making) -> Steps:
    """How far below the top edge of the drape the lining ends: its raw top, or the fold of its turn."""
    steps = Steps("top of the lining below the top edge").add("covered at the top", top_cover(making))
    return steps.take("tucked under at the top", TOP_TURN.of(making.unit)) if lining_tucked(making) else steps


def lining_overlap(making: Making) -> Steps:
    """How far the finish of the face comes down over the raw top of a tucked lining."""
    deep = heading(making.window.heading).top_cover(making)
    steps = Steps("lining covered at the top").add("covered at the top", deep)
    return steps.take("top of the lining below the top edge", lining_top(making).exact)


def lining_gap(making: Making) -> int:
    """How far the lining's hem edge hangs above the face's: as ordered, or so that no hem's top shows."""
    if making.window.lining_gap is not None:
        return making.window.lining_gap
    gap, hem = GAP.of(making.unit), making.bottom_hem
    return min(gap, round_down(hem.finished * MOST_SHOWN, making.grid)) if hem.allowance else gap


def needed_lining_length(making: Making) -> Steps:
    """Cut length of the lining, before shrinkage and rounding."""
    return lining_length(
        making.finished.total,
        top_cover(making),
        TOP_TURN.of(making.unit),
        lining_gap(making),
        making.lining_hem,
        take_up=lying_length(making).total - making.finished.total,
        tucked=lining_tucked(making),
    )


def hemmed_lining(making: Making) -> Steps:
    """Length of a lining from its top, raw or turned under, to its hem edge."""
    steps = Steps("lining, hemmed").add("length lying flat", lying_length(making).total)
    steps = steps.take("top of the lining below the top edge", lining_top(making).exact)
    return steps.take("short of the hem edge", lining_gap(making))


def tube_wrap(hem: Hem, seam: int) -> Steps:
    """How far the face of a tube comes round to the back at an edge, to the seam of the lining."""
    return Steps("face at the back").add("side turn of the face", hem.allowance).take("seam", seam)


def needed_interlining_length(making: Making) -> Steps:
    """Interlining is as long as the drape lying flat."""
    return Steps("cut length", lying_length(making).terms)


def interlining(making: Making, panel: FinishedPanel, fabric: str) -> Layer:
    """The interlining of one panel, of its finished size.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: 1 1/2 at each side and 3 at top and bottom less than
    the face.
    """
    width, bare = Steps("cut width").add("finished panel", panel.flat), Hem(0, 0)
    length = needed_interlining_length(making)
    return Layer("interlining", fabric, width, length, bare, bare, 0, panel.flat, length.total)
