"""A small version of one panel to teach with: finished sizes scaled, hems and seams kept workable."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.cutting.cut import cut
from nesting.cutting.layers import TOP_TURN, hemmed_lining
from nesting.cutting.measures import settle
from nesting.errors import DoesNotFitError, Fault, JobError
from nesting.headings import Making, heading
from nesting.headings.making import measure
from nesting.order.job import Bolt, Fabric, Hem, Job, Window
from nesting.packet.build import sheets
from nesting.packet.facts import window_facts
from nesting.packet.model import Block, Bullets, Paragraph, Section, SectionHeading
from nesting.packet.room import page_room
from nesting.packet.sums import sums
from nesting.plan.cut_rows import cuts_of
from nesting.plan.paper import Paper
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import format_length, grid, round_nearest

#: No hem of a sample is turned less than this: smaller ones cannot be pressed.
LEAST_BOTTOM: Final = measure("1", "5/2")
LEAST_SIDE: Final = measure("1/2", "1")
#: A sample panel is at least so wide and long, or nothing is learned from it.
LEAST_PANEL: Final = measure("8", "20")


@dataclass(frozen=True, slots=True)
class Practice:
    """A plan for the sample, and how much smaller it is."""

    plan: Plan
    scale: Fraction
    window: str


def practice(plan: Plan, scale: Fraction, *, seconds: float = 3.0, effort: Effort | None = None) -> Practice:
    """One panel of the job's first window, smaller.

    Finished width and length, rod, returns, overlap and how far a lining stays from the edges are scaled.
    Seams, headings, tabs, pleats and rings keep their real size, for hands do not shrink; hems are scaled but
    never below `LEAST_BOTTOM` and `LEAST_SIDE`. The practice fabric has no print and is as much narrower than
    the bolt, so the sample has the same seams; where its pieces of real size need more, it is as wide as the
    bolt.

    Parameters
    ----------
    plan
        The plan of the job.
    scale
        Such as 1/3; above 0 and below 1.
    seconds, effort
        How long to search for the sample's own layout; or another effort.

    Raises
    ------
    JobError
        The scale is out of range or leaves a panel too small to handle, or the plan names no window.
    """
    if not 0 < scale < 1:
        raise JobError([Fault("--practice", str(scale), "a fraction above 0 and below 1, such as 1/3")])
    if not plan.job.windows:
        raise JobError(
            [Fault("--practice", str(scale), "a plan with its order, as `nesting plan` writes it")]
        )
    wide = _job(plan.job, scale, Fraction(1))
    _require_workable(wide, scale)
    effort, name = effort or Effort(seconds), plan.job.windows[0].name
    try:
        return Practice(make_plan(_job(plan.job, scale, scale), effort=effort), scale, name)
    except DoesNotFitError:
        return Practice(make_plan(wide, effort=effort), scale, name)


def _require_workable(job: Job, scale: Fraction) -> None:
    """Refuse a sample too small to handle, or for its lining."""
    least = LEAST_PANEL.of(job.units)
    panels = cut(job, {fabric.key: fabric.bolts[0] for fabric in job.fabrics}).panels
    makings = [settle(job, window) for window in job.windows if window.lining is not None]
    bare = any(hemmed_lining(making).total <= making.lining_hem.finished for making in makings)
    if bare or any(min(panel.flat, panel.length) < least for panel in panels):
        short = format_length(least, job.units)
        raise JobError(
            [Fault("--practice", str(scale), f"a sample at least {short} wide and long: take more")]
        )


def practice_sections(sample: Practice, paper: Paper) -> tuple[Section, ...]:
    """The sample's pages: what it teaches, sums, and its sheets for table and window."""
    plan = sample.plan
    facts, cuts = window_facts(plan), cuts_of(plan)
    blocks: list[Block] = [
        Paragraph(
            f"One panel of {sample.window} at {sample.scale} of its finished size, in plain fabric. Seams, "
            "tabs, pleats and rings have their real size, and hems stay deep enough to press, so "
            "everything the hands must learn is learned here. What it does not teach is the weight of the "
            "real fabric, its nap, and matching a print."
        ),
        Bullets(_to_buy(plan)),
    ]
    worked = sums(plan, facts, page_room(paper))
    # What the packet itself has told once is not told again.
    first = next(n for n, block in enumerate(worked.blocks) if isinstance(block, SectionHeading))
    blocks += worked.blocks[first:]
    found = (
        replace(section, key=f"practice-{section.key}", part="appendix", title=f"Practice: {section.title}")
        for section in sheets(plan, facts, cuts, paper)
    )
    return (Section("practice", f"Practice sample, {sample.scale}", tuple(blocks)), *found)


def _to_buy(plan: Plan) -> tuple[str, ...]:
    unit = plan.job.units
    return tuple(
        f"{layout.fabric.title}: at least {format_length(layout.usable, unit)} wide and "
        f"{format_length(layout.buy.needed if layout.buy else layout.length or 0, unit)} long"
        for layout in plan.layouts
    )


def _job(job: Job, scale: Fraction, narrowing: Fraction) -> Job:
    window = _window(job, job.windows[0], scale)
    keys = {window.fabric, window.lining, window.interlining, window.tab.fabric, window.facing.fabric}
    fabrics = tuple(_fabric(job, fabric, narrowing) for fabric in job.fabrics if fabric.key in keys)
    title = f"{job.title}: practice sample"
    return replace(
        job, title=title, fabrics=fabrics, windows=(window,), extras=(), squaring=0, remarks=(), safety=None
    )


def _fabric(job: Job, fabric: Fabric, narrowing: Fraction) -> Fabric:
    """Plain fabric so much narrower, without nap; nothing is bought by the step."""
    bolt = fabric.bolts[0]
    small = Bolt(
        width=_scaled(bolt.width, narrowing, job),
        usable=_scaled(bolt.usable, narrowing, job),
        sold_by=grid(job.units),
    )
    name = f"Practice fabric for {fabric.title}"
    return Fabric(fabric.key, (small,), name=name, weight=fabric.weight)


def _window(job: Job, window: Window, scale: Fraction) -> Window:
    making = settle(job, window)
    count = window.panels or (1 if window.draw in ("left", "right") else 2)
    rod = window.covers if window.draw == "fixed" and window.covers else window.rod // count
    # The sample hangs alone, so it returns to the wall at both ends.
    returns = _scaled(making.returns, scale, job)
    return replace(
        window,
        name=f"Sample of {window.name}",
        count=1,
        draw="left",
        panels=1,
        covers=None,
        rod=max(1, _scaled(rod, scale, job)),
        finished_length=_scaled(making.finished.total, scale, job),
        rod_height=None,
        eye_height=None,
        flat_width=None if window.flat_width is None else _scaled(window.flat_width, scale, job),
        returns=returns,
        overlap=0,
        pair="alike",
        bottom_hem=_hem(making.bottom_hem, scale, LEAST_BOTTOM.of(job.units), job),
        leading_hem=_hem(making.leading_hem, scale, LEAST_SIDE.of(job.units), job),
        outer_hem=_hem(making.outer_hem, scale, LEAST_SIDE.of(job.units), job),
        lining_hem=_hem(making.lining_hem, scale, LEAST_SIDE.of(job.units), job),
        lining_cover=_cover(making, scale, job),
        lining_gap=None if window.lining_gap is None else _scaled(window.lining_gap, scale, job),
        least_part_width=_scaled(making.least_part, scale, job),
        bands=(),
        tiebacks=(),
    )


def _cover(making: Making, scale: Fraction, job: Job) -> int | None:
    """As ordered down to the finish of the heading, which keeps its size; what is more is scaled."""
    said = making.window.lining_cover
    deep = heading(making.window.heading).top_cover(making)
    # Where the raw top is turned under, it is on the sample too.
    turned = deep + TOP_TURN.of(job.units)
    return said if said is None or said <= turned else max(turned, deep + _scaled(said - deep, scale, job))


def _hem(hem: Hem, scale: Fraction, least: int, job: Job) -> Hem:
    """A hem made smaller, but never so small that it cannot be pressed; a selvage stays one."""
    if not hem.allowance:
        return hem
    return replace(hem, turn=min(hem.turn, max(least, _scaled(hem.turn, scale, job))))


def _scaled(ticks: int, scale: Fraction, job: Job) -> int:
    """A length made smaller, to what a tape shows."""
    return round_nearest(ticks * scale, grid(job.units))
