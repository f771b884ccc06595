"""What the lengths at hand do not suffice for: one line for each window or extra that is left out."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.job import Job
from nesting.plan import Plan
from nesting.units import format_length, format_quantity


@dataclass(frozen=True, slots=True)
class Shortage:
    """A window, or an extra, that is left out of one cloth.

    Attributes
    ----------
    what
        Its name.
    shortfall
        How much more cloth one of them takes, all else laid.
    steps, total
        The same as bought, in selling steps and in ticks.
    least
        Proven that no less would do.
    """

    what: str
    cloth: str
    shortfall: int
    steps: int | None
    total: int | None
    least: bool


def shortages(plan: Plan) -> tuple[Shortage, ...]:
    """What is left out, each once for each cloth it is short of, equal windows one by one."""
    cloths = {piece.id: piece.cloth for piece in plan.pieces}
    found: list[Shortage] = []
    seen: dict[tuple[str, str], set[str]] = {}
    for out in plan.short:
        cloth = cloths.get(out.piece, "")
        known = seen.setdefault((out.window, cloth), set())
        # A piece that comes again is the next of several equal windows.
        if not known or out.piece in known:
            found.append(Shortage(out.window, cloth, out.shortfall, out.steps, out.total, out.least))
            known.clear()
        known.add(out.piece)
    return tuple(found)


def shortage_words(short: Shortage, job: Job) -> str:
    """``Door: 64 in more of Plum velvet would be needed; buy 2 1/8 yd (17 selling steps of 1/8 yd)``."""
    at_most = "" if short.least else "at most "
    cloth = job.cloth(short.cloth)
    said = f"{short.what}: {at_most}{format_length(short.shortfall, job.units)} more of {cloth.title}"
    if short.total is None or not short.steps:
        return f"{said} would be needed"
    step = format_quantity(short.total // short.steps, job.sold_in)
    bought = format_quantity(short.total, job.sold_in)
    return f"{said} would be needed: {bought} with its allowances, {short.steps} selling steps of {step}"
