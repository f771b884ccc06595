"""Each cloth of a job on every width in which it is sold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.bolts import bolt_of_width
from nesting.cutting import can_railroad
from nesting.effort import Effort
from nesting.errors import NestingError
from nesting.job import Bolt, Cloth, Job
from nesting.laying import layout_of
from nesting.plan import Comparison, Option
from nesting.thumb import LAYERS, rule_of_thumb_for
from nesting.units import format_length
from nesting.ways import Case, Solved, best_of, cases_of


def compare(job: Job, *, widths: Sequence[int] = (), effort: Effort | None = None) -> Comparison:
    """Each cloth of a job on every bolt on offer, and on further widths asked for, all of it bought.

    Lengths at hand are left aside: what is compared are purchases.

    Parameters
    ----------
    job
        What was ordered.
    widths
        Further full widths in ticks; no price is known for them.
    effort
        How long to search, for all of them together.
    """
    effort = effort or Effort()
    trials = [(cloth, bolt, offered) for cloth in job.cloths for bolt, offered in _bolts(job, cloth, widths)]
    prepared = [_Trial(job, cloth, bolt, offered) for cloth, bolt, offered in trials]
    effort.start(sum(len(trial.cases) for trial in prepared))
    return Comparison(job, tuple(trial.option(effort) for trial in prepared if trial.used))


def _bolts(job: Job, cloth: Cloth, widths: Sequence[int]) -> Iterator[tuple[Bolt, bool]]:
    for bolt in cloth.bolts:
        yield bolt, True
    known = {bolt.width for bolt in cloth.bolts}
    for width in widths:
        if width not in known:
            yield bolt_of_width(job.units, cloth, width), False


class _Trial:
    """One cloth on one bolt, for comparison."""

    def __init__(self, job: Job, cloth: Cloth, bolt: Bolt, offered: bool) -> None:
        self._job, self._cloth, self._bolt, self._offered = job, cloth, bolt, offered
        self.cases: list[Case] = []
        self.used = True
        self._reason = ""
        chosen = {other.key: other.bolts[0] for other in job.cloths} | {cloth.key: bolt}
        try:
            self.cases = cases_of(job, cloth, chosen)
            self.used = bool(self.cases)
        except NestingError as error:
            self._reason = str(error)

    def option(self, effort: Effort) -> Option:
        """What this bolt would take."""
        if not self.cases:
            return self._without(self._reason)
        try:
            solved = best_of(self.cases, effort)
        except NestingError as error:
            return self._without(str(error))
        rule = rule_of_thumb_for(
            self._job, solved.plain.cutting.pieces, self._cloth.key, self._bolt, solved.plain.sideways
        )
        lay = replace(solved.case.lay, railroaded=bool(solved.sideways))
        layout, _ = layout_of(lay, solved.result, solved.bound, rule)
        cutting = solved.case.cutting
        mine = {window.name for window in self._job.windows if window.cloth == self._cloth.key}
        return Option(
            layout=layout,
            bolt=self._bolt,
            cloth=self._cloth,
            widths_per_panel=tuple(pair for pair in cutting.widths if pair[0] in mine),
            seams=sum(len(p.joined_to) * p.copies for p in solved.case.lay.pieces) // 2,
            railroad=self._railroad(solved),
            offered=self._offered,
        )

    def _without(self, reason: str) -> Option:
        return Option(None, self._bolt, self._cloth, reason=reason, offered=self._offered)

    def _railroad(self, solved: Solved) -> str:
        """Whether panels may be cut sideways, and what that gives."""
        unit = self._job.units
        lengths = dict(solved.lengths)
        if len(lengths) < 2:
            rooms = dict.fromkeys(p.room for p in solved.case.lay.pieces if p.role in LAYERS and p.room)
            reasons = [can_railroad(self._job, self._cloth.key, room, self._bolt) for room in rooms]
            if solved.case.sideways:
                return "sideways, as ordered"
            if any(allowed for allowed, _ in reasons):
                how = "sideways" if solved.sideways else "upright"
                return f"{how}, no seams either way"
            return next((f"no: {reason}" for _, reason in reasons), "")
        upright = min((v for k, v in lengths.items() if not k and v is not None), default=None)
        turned = min((v for k, v in lengths.items() if k and v is not None), default=None)
        if upright is None or turned is None:
            return "possible"
        saved = format_length(abs(upright - turned), unit)
        if turned < upright:
            return f"sideways takes {saved} less"
        return f"sideways takes {saved} more" if turned > upright else "sideways takes the same"
