"""What a maker says of a panel that hangs, held against the plan by which it was cut. Lengths in ticks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from nesting.cutting.measures import settle
from nesting.errors import Fault, JobError
from nesting.order.job import Hem, Job, Window
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import Laid, Plan
from nesting.planning.cut_names import listed_names
from nesting.planning.hung_windows import planned_length
from nesting.units import format_length

#: A drop off by more than this part of it was measured on another panel, or in another unit.
FARTHEST: Final = 4


@dataclass(frozen=True, slots=True)
class Measured:
    """What a panel that hangs has shown, and what is cut by then.

    Attributes
    ----------
    window, panel
        The window's name, and the key of the panel: ``left``.
    length
        From its top edge to the wanted hem, in ticks, measured as it hangs.
    cut
        The cuts of the plan that are made, by name: ``A3``, or ``3`` where there is one fabric.
    again
        Of those, the ones whose pieces no longer serve and are cut again.
    lining_gap
        How far linings are to end above the hem edge instead, on all panels that are corrected.
    hem
        How deep the bottom hem is to be instead, on all panels that are corrected; None: as planned.
    also
        Further windows that are longer or shorter by as much.
    alone
        The other windows of the room keep their lengths, though their print must be level with this one.
    hems_only
        What is not cut yet is cut as planned too, with its hem turned as that of what is cut.
    left, whole_from
        By fabric, what is still on the bolt, and from where it is whole; default: by the plan.
    """

    window: str
    panel: str
    length: int
    cut: frozenset[str]
    again: frozenset[str] = frozenset()
    hem: int | None = None
    lining_gap: int | None = None
    also: tuple[str, ...] = ()
    alone: bool = False
    hems_only: bool = False
    left: Mapping[str, int] | None = None
    whole_from: Mapping[str, int] | None = None


@dataclass(frozen=True, slots=True)
class Marked:
    """The copies of a plan that are cut: ``done`` serve, by the name of their cut; ``gone`` are cut again."""

    done: Mapping[tuple[str, int], str]
    gone: frozenset[tuple[str, int]]


def measured_window(plan: Plan, said: Measured) -> Window:
    """The window whose panel hangs.

    Raises
    ------
    JobError
        There is no such window or panel, or the length is far from the planned one.
    """
    job = plan.job
    window = next((one for one in job.windows if one.name == said.window), None)
    if window is None:
        listed = ", ".join(f'"{one.name}"' for one in job.windows) or "one of a plan that has windows"
        raise JobError([Fault("--window", f'"{said.window}"', f"a window of this plan: {listed}")])
    keys = [panel.key for panel in plan.panels if panel.window == window.name]
    if said.panel not in keys:
        listed = ", ".join(keys)
        raise JobError([Fault("--panel", f'"{said.panel}"', f'a panel of "{window.name}": {listed}')])
    was = planned_length(job, window)
    if said.length <= 0 or abs(said.length - was) * FARTHEST > was:
        wanted = (
            "the length from the top edge to the wanted hem as it hangs, near the planned "
            f"{format_length(was, job.units)}"
        )
        raise JobError([Fault("--length", format_length(said.length, job.units), wanted)])
    return window


def marked(plan: Plan, numbers: Numbering, said: Measured) -> Marked:
    """The copies that are cut: those named, and those that an earlier correction marked.

    Raises
    ------
    JobError
        There is no such cut.
    """
    names = set(numbers.numbers.values())
    for flag, asked in (("--cut", said.cut), ("--again", said.again)):
        if unknown := asked - names:
            wanted = f"cuts of this plan: {listed_names(names)}"
            raise JobError([Fault(flag, listed_names(unknown), wanted)])
    done, gone = dict[tuple[str, int], str](), set[tuple[str, int]]()
    for layout in plan.layouts:
        for laid in layout.placements:
            copy, name = (laid.piece.id, laid.copy), numbers.of(laid)
            if name in said.again:
                gone.add(copy)
            elif laid.done or name in said.cut:
                done[copy] = name
    return Marked(done, frozenset(gone))


def require_hanging(plan: Plan, window: Window, cut: Marked, said: Measured) -> None:
    """Refuse a panel that hangs and is not cut, in none of the windows that are alike.

    Raises
    ------
    JobError
        A width of it is not among what is cut.
    """
    numbers = {(one.piece.id, one.copy): at for at, one in _laid(plan)}
    missing = defaultdict[int, list[str]](list)
    for piece in plan.pieces:
        parts = piece.id.split("/")
        if piece.role != "panel" or piece.window != window.name or said.panel not in parts[1:-1]:
            continue
        for copy in range(1, piece.copies + 1):
            if (piece.id, copy) not in cut.done:
                which = int(parts[1]) if parts[1].isdigit() else copy
                missing[which].append(numbers.get((piece.id, copy), ""))
    if set(range(1, window.count + 1)) <= missing.keys():
        nearest = missing[min(missing, key=lambda which: ("" in missing[which], len(missing[which]), which))]
        wanted = f"the cuts of the panel that hangs among them: {listed_names(nearest)}"
        if "" in nearest:
            wanted = "the cuts of a panel that this plan lays: this one is left out of it"
        raise JobError([Fault("--cut", listed_names(cut.done.values()) or "none", wanted)])


def _laid(plan: Plan) -> Iterator[tuple[str, Laid]]:
    numbers = numbering(plan.layouts)
    return ((numbers.of(laid), laid) for layout in plan.layouts for laid in layout.placements)


def asked_hem(job: Job, window: Window, said: Measured) -> Hem | None:
    """The bottom hem that is asked for instead; None where the planned one stays.

    Raises
    ------
    JobError
        It is no depth, or the window has no hem that is turned.
    """
    usual = settle(job, window).bottom_hem
    if said.hem is None:
        return None
    if said.hem <= 0 or usual.selvage or not usual.turns:
        value = format_length(said.hem, job.units)
        raise JobError([Fault("--hem", value, "a depth above 0, of a window whose bottom hem is turned")])
    return replace(usual, turn=said.hem)
