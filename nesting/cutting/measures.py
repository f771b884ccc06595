"""A window's order settled: every default filled in, its panels named, its finished length worked out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from nesting.errors import Fault, JobError
from nesting.headings import FinishedPanel, Making, heading
from nesting.headings.hanging import hanger_height, hanging_of
from nesting.headings.making import measure
from nesting.order.defaults import Defaults, defaults_for
from nesting.order.job import Hem, Job, Window
from nesting.pieces.once import once
from nesting.pieces.piece import PanelPlan, Side, Steps
from nesting.units import Unit, round_up

#: What a window on rings must say where its heading knows no usual ring.
RING_DROP: Final = "the length from the top of the rod to the bottom of the ring's eye, measured, such as 2"
#: Hems of sheer and heavy fabric, where the job names the weight (common practice, no source).
SHEER_BOTTOM: Final = measure("5", "25/2")
HEAVY_SIDE: Final = measure("3/2", "4")
#: What a cut size holds more, or less, than it should, where the piece was cut before a panel hung.
MORE_HEM: Final = "more below the hem, cut before"
LESS_HEM: Final = "less for the hem, cut before"


@dataclass(frozen=True, slots=True)
class Hanging:
    """Where a panel hangs and what it covers.

    ``key`` names it in ids: ``left``, ``right``, ``single``, and ``left-2`` for a second one inwards.
    ``leading`` is its leading edge, None where it does not move. ``overlap`` is its own share.
    """

    key: str
    side: Side
    leading: Literal["left", "right"] | None
    covers: Fraction
    return_left: int = 0
    return_right: int = 0
    overlap: Fraction = Fraction(0)

    @property
    def finished(self) -> Fraction:
        """Rod, returns and overlap: its width once dressed."""
        return self.covers + self.return_left + self.return_right + self.overlap


def lying_flat(making: Making, hanging: Hanging, flat: int, seams: tuple[int, ...] = ()) -> FinishedPanel:
    """A panel as it is made up, hemmed and lying ``flat`` wide, its ``seams`` from the left finished edge."""
    return FinishedPanel(
        key=hanging.key,
        side=hanging.side,
        leading=hanging.leading,
        covers=hanging.covers,
        return_left=hanging.return_left,
        return_right=hanging.return_right,
        overlap=round_up(hanging.overlap, 1),
        flat=flat,
        finished=round_up(hanging.finished, 1),
        length=making.finished.total,
        seams=seams,
    )


def settle(job: Job, window: Window) -> Making:
    """The window with every default filled in: what was said, else the heading's, else the trade's.

    Raises
    ------
    JobError
        Neither a finished length is given nor the height it hangs from.
    """
    return _settled(window, job.units, job.fabric(window.fabric).weight)


@once
def _settled(window: Window, unit: Unit, weight: str | None) -> Making:
    defaults, style = defaults_for(unit), heading(window.heading)
    bottom, side = _hems(unit, weight, defaults)
    making = Making(
        window=window,
        unit=unit,
        defaults=defaults,
        rod_diameter=window.rod_diameter or defaults.rod_diameter,
        diameter_assumed=window.rod_diameter is None,
        hangs_from=hanging_of(style, window.hangs_from, window.rod_diameter),
        seam=_said(window.seam, defaults.seam),
        bottom_hem=window.bottom_hem or bottom,
        leading_hem=window.leading_hem or side,
        outer_hem=window.outer_hem or side,
        lining_hem=window.lining_hem or defaults.lining_hem,
        returns=_said(window.returns, defaults.return_depth if style.pleated else 0),
        overlap=_said(window.overlap, defaults.overlap if style.pleated else 0),
        fullness=window.fullness or style.fullness,
        least_part=_said(window.least_part_width, defaults.least_part_width),
        finished=Steps("finished length"),
    )
    return replace(making, finished=finished_length(making))


def _said(value: int | None, default: int) -> int:
    return default if value is None else value


def _hems(unit: Unit, weight: str | None, defaults: Defaults) -> tuple[Hem, Hem]:
    """Bottom and side hem by the weight of the fabric."""
    bottom = Hem(SHEER_BOTTOM.of(unit)) if weight == "sheer" else defaults.bottom_hem
    side = Hem(HEAVY_SIDE.of(unit)) if weight == "heavy" else defaults.side_hem
    return bottom, side


def side_hem(job: Job, window: Window) -> Hem:
    """The usual side hem of a window's fabric."""
    return _hems(job.units, job.fabric(window.fabric).weight, defaults_for(job.units))[1]


def as_cut(making: Making, job: Job, panel: PanelPlan) -> Making:
    """The window with the usual hem at each side of which its panels say that one was cut on.

    A side that was ordered as the selvage has a hem where it is a cut edge.
    """
    usual, at_left = side_hem(job, making.window), panel.side == "right" or making.window.draw == "right"
    leading, outer = (panel.left_hem, panel.right_hem) if at_left else (panel.right_hem, panel.left_hem)
    return replace(
        making,
        leading_hem=usual if making.leading_hem.selvage and leading else making.leading_hem,
        outer_hem=usual if making.outer_hem.selvage and outer else making.outer_hem,
    )


def finished_length(making: Making) -> Steps:
    """Top edge to hem edge: as ordered, or from the height it hangs from, the heading and the clearance.

    Worked out from a height it goes down to a step of the tape, so that the hem still clears the floor.
    """
    window, steps = making.window, Steps("finished length")
    if window.finished_length is not None:
        return steps.add("finished length", window.finished_length)
    style = heading(window.heading)
    height = hanger_height(style, making)
    if height is None:
        raise JobError([_no_height(making)])
    steps = Steps(steps.target, (*height.terms, *style.above_hanger(making).terms))
    clearance = clearance_of(making)
    if clearance < 0:
        steps = steps.add("puddle", -clearance)
    elif clearance:
        steps = steps.take("clearance above the floor", clearance)
    return steps.down_to(making.grid)


def _no_height(making: Making) -> Fault:
    """What is missing of the height a window hangs from."""
    window, measured = making.window, "finished_length, or rod_height with clearance"
    key = "finished_length"
    if making.hangs_from == "track":
        measured = "finished_length, or eye_height: floor to the hole of the track that the hook enters"
    elif window.rod_height is not None:
        key, measured = "ring_drop", f"{RING_DROP}, or finished_length"
    return Fault(f'window "{window.name}": {key}', "", measured)


def lying_length(making: Making) -> Steps:
    """Top edge to hem edge of a panel lying flat; the rod may take up some of it once it hangs."""
    steps = Steps("length lying flat").add("finished length", making.finished.total)
    taken = heading(making.window.heading).rod_take_up(making)
    return steps.add("take-up over the rod", taken) if taken else steps


def above_top_line(making: Making) -> Steps:
    """What a face reaches above its finished top edge lying flat: what is turned down, or taken by a seam."""
    style = heading(making.window.heading)
    steps = Steps("above the top line", style.top_allowance(making).terms)
    taken = style.rod_take_up(making)
    return steps.take("take-up over the rod", taken) if taken else steps


def trimmed(making: Making, length: Steps) -> Steps:
    """What a cut length holds beyond what is sewn, cut off at the top: working allowance, gap of a print."""
    needed = needed_length(making).terms
    beyond = (term for term in length.terms if term.sign == "+" and term.label != MORE_HEM)
    more = (term for term in beyond if term not in needed)
    return Steps("cut off at the top", tuple(more))


def joined_width(making: Making, hanging: Hanging, flat: int) -> Steps:
    """The width of a panel whose widths are joined and whose side hems are not yet turned."""
    return with_side_hems(Steps("joined width").add("hemmed flat", flat), making, hanging)


def clearance_of(making: Making) -> int:
    """How far the finished hem hangs above the floor; negative where it lies on it."""
    return _said(making.window.clearance, making.defaults.clearance)


@once
def hangings(making: Making) -> tuple[Hanging, ...]:
    """The panels of one window from left to right, seen from the room.

    A pair meets at the center with its overlap; a single draw has a return at each end of the rod.
    """
    window = making.window
    count = window.panels or (1 if window.draw in ("left", "right") else 2)
    covers = Fraction(window.rod, count)
    if window.draw == "fixed" and window.covers is not None:
        covers = Fraction(window.covers)
    share = Fraction(making.overlap, 2) if window.draw == "pair" and count % 2 == 0 else Fraction(0)
    found = list[Hanging]()
    for number in range(count):
        side = _side(number, count)
        found.append(
            Hanging(
                key=_key(number, count, side),
                side=side,
                leading=_leading(window, side, count),
                covers=covers,
                return_left=making.returns if number == 0 else 0,
                return_right=making.returns if number == count - 1 else 0,
                overlap=share if number in (count // 2 - 1, count // 2) else Fraction(0),
            )
        )
    return tuple(found)


def _side(number: int, count: int) -> Side:
    if 2 * number + 1 == count:
        return "single"
    return "left" if 2 * number < count else "right"


def _key(number: int, count: int, side: Side) -> str:
    place = min(number, count - 1 - number) + 1
    return side if place == 1 or side == "single" else f"{side}-{place}"


def _leading(window: Window, side: Side, count: int) -> Literal["left", "right"] | None:
    if window.draw in ("left", "right"):
        return "right" if window.draw == "left" else "left"
    if side == "single":
        return None
    return "right" if side == "left" else "left"


@once
def flat_steps(making: Making, hanging: Hanging) -> Steps:
    """The hemmed width of a panel lying flat, not yet rounded."""
    window, steps = making.window, Steps("flat width")
    if window.flat_width is not None:
        return steps.add("flat width", window.flat_width)
    steps = _covered(steps, window, hanging)
    if window.fullness_on == "all":
        return _ends(steps, making, hanging).times("fullness", making.fullness)
    return _ends(steps.times("fullness", making.fullness), making, hanging)


@once
def dressed_steps(making: Making, hanging: Hanging) -> Steps:
    """The width of a panel once it is dressed: the rod it covers, its returns, its share of the overlap."""
    return _ends(_covered(Steps("finished"), making.window, hanging), making, hanging)


def _covered(steps: Steps, window: Window, hanging: Hanging) -> Steps:
    """The part of the rod that a panel covers, from the whole of it as it was measured."""
    share = Fraction(window.rod) / hanging.covers if hanging.covers else Fraction(0)
    if (window.draw == "fixed" and window.covers is not None) or share.denominator != 1:
        return steps.add("rod covered by the panel", hanging.covers)
    steps = steps.add("rod to be covered", window.rod)
    return steps.over("panels", share) if share > 1 else steps


def _ends(steps: Steps, making: Making, hanging: Hanging) -> Steps:
    returns = hanging.return_left + hanging.return_right
    if returns:
        steps = steps.add("return", making.returns, returns // making.returns)
    return steps.add("half the overlap", hanging.overlap) if hanging.overlap else steps


def left_hem(making: Making, hanging: Hanging) -> Hem:
    """The side hem at the left edge."""
    return making.leading_hem if hanging.leading == "left" else making.outer_hem


def right_hem(making: Making, hanging: Hanging) -> Hem:
    """The side hem at the right edge."""
    return making.leading_hem if hanging.leading == "right" else making.outer_hem


def with_side_hems(steps: Steps, making: Making, hanging: Hanging) -> Steps:
    """A flat width and its two side hems."""
    left, right = left_hem(making, hanging), right_hem(making, hanging)
    if left == right:
        return steps.add("side hem", left.turn, 2 * left.turns) if left.allowance else steps
    for name, hem in (("left", left), ("right", right)):
        if hem.allowance:
            steps = steps.add(f"{name} side hem", hem.turn, hem.turns)
    return steps


@once
def needed_width(making: Making, hanging: Hanging) -> Steps:
    """The cut width a panel needs once its widths are joined, before shrinkage and rounding."""
    flat = flat_steps(making, hanging)
    return with_side_hems(Steps("cut width", flat.terms), making, hanging)


@once
def needed_length(making: Making) -> Steps:
    """The cut length of the face, before shrinkage and rounding."""
    steps = Steps("cut length").add("finished length", making.finished.total)
    top = heading(making.window.heading).top_allowance(making)
    steps = Steps(steps.target, (*steps.terms, *(term for term in top.terms if term.amount)))
    hem = making.bottom_hem
    return steps.add("bottom hem", hem.turn, hem.turns) if hem.allowance else steps
