"""The layers of a panel, face, lining and interlining: the size each needs before its widths are planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from nesting.headings import FinishedPanel, Making, heading
from nesting.headings.heading import measure
from nesting.job import Hem
from nesting.piece import Steps

#: Turned in where the lining meets the face at the top; how far it hangs above the face's hem edge.
TOP_TURN: Final = measure("1/2", "3/2")
GAP: Final = measure("1", "5/2")


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of one panel. Width and length in steps before shrinkage and rounding to the tape.

    ``left`` and ``right`` are what its side hems take, ``hem`` what its bottom hem takes.
    """

    role: Literal["panel", "lining", "interlining"]
    cloth: str
    width: Steps
    length: Steps
    left: Hem
    right: Hem
    hem: int
    finished_width: int
    finished_length: int


def lining_width(face: int, left: int, right: int) -> Steps:
    """Cut width of a lining tucked under the side hems of a face cut ``face`` wide.

    Parameters
    ----------
    face
        Cut width of the face, its widths joined.
    left, right
        What the face's side hems take at each edge, all turns together.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: side hems of 2 and 1 make the lining 6 in narrower.
    """
    return Steps("cut width").add("face cut width", face).take("left hem", left).take("right hem", right)


def tube_width(flat: int, left: int, right: int, seam: int) -> Steps:
    """Cut width of a lining sewn to the face as a tube, the face coming round to the back on both sides.

    Sewn and pressed flat, both layers together go round twice the finished width.
    """
    return (
        Steps("cut width")
        .add("finished panel", flat)
        .take("left side turn of the face", left)
        .take("right side turn of the face", right)
        .add("seam", seam, 4)
    )


def lining_length(finished: int, cover: int, turn: int, gap: int, hem: Hem) -> Steps:
    """Cut length of a lining.

    Parameters
    ----------
    finished
        Finished length of the face.
    cover
        How far face or facing reaches down the back from the top edge.
    turn
        Turned in at the top of the lining.
    gap
        How far the lining ends above the face's hem edge.
    hem
        The lining's own hem.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: 91 finished, 3 1/2 covered, 1/2, 2 and 2 1/2 give 88 1/2.
    """
    steps = (
        Steps("cut length")
        .add("finished length", finished)
        .take("covered at the top", cover)
        .add("turned in at the top", turn)
        .take("short of the hem edge", gap)
    )
    return steps.add("lining hem", hem.turn, hem.turns) if hem.allowance else steps


def lining(making: Making, panel: FinishedPanel, left: Hem, right: Hem, cloth: str) -> Layer:
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
    finished = panel.length - top_cover(making) - GAP.of(making.unit)
    return Layer(
        "lining", cloth, width, length, bare, bare, making.lining_hem.allowance, panel.flat, finished
    )  # fmt: skip


def top_cover(making: Making) -> int:
    """How far the back of the face reaches down: as ordered, or by the heading."""
    said = making.window.lining_cover
    return heading(making.window.heading).top_cover(making) if said is None else said


def needed_lining_length(making: Making) -> Steps:
    """Cut length of the lining, before shrinkage and rounding."""
    unit = making.unit
    return lining_length(
        making.finished.total, top_cover(making), TOP_TURN.of(unit), GAP.of(unit), making.lining_hem
    )


def needed_interlining_length(making: Making) -> Steps:
    """Interlining is as long as the finished drape."""
    return Steps("cut length").add("finished length", making.finished.total)


def interlining(making: Making, panel: FinishedPanel, cloth: str) -> Layer:
    """The interlining of one panel, of its finished size.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960: 1 1/2 at each side and 3 at top and bottom less than
    the face.
    """
    width, bare = Steps("cut width").add("finished panel", panel.flat), Hem(0, 0)
    length = needed_interlining_length(making)
    return Layer("interlining", cloth, width, length, bare, bare, 0, panel.flat, panel.length)
