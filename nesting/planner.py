"""The use cases: plan a job, compare the widths in which its cloths are sold."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.bolts import bolt_of_width
from nesting.cutting import Cutting, can_railroad, cut, must_railroad
from nesting.errors import DoesNotFitError, Fault, JobError, NestingError, NothingFoundError
from nesting.job import Bolt, Cloth, Job
from nesting.laying import Lay, lay_of, layout_of, require_fit
from nesting.packing import Bound, Incumbent, Problem, Result, Stop, pack
from nesting.piece import Advice
from nesting.plan import ClothLayout, Comparison, LeftOut, Option, Plan
from nesting.thumb import LAYERS, rule_of_thumb_for
from nesting.units import format_length

#: Of this many rooms every choice of cutting upright or sideways is tried; of more, all or none.
MOST_ROOMS = 3

Listener = Callable[[str, Incumbent], object]
"""Told the cloth and each better layout or bound; returning False asks for an end."""

Sideways = frozenset[tuple[str, str]]
"""Cloth key and room of the panels cut turned sideways."""


@dataclass(slots=True)
class Effort:
    """How long to search, shared out over the cloths that are still to come.

    Attributes
    ----------
    seconds
        For everything.
    work
        Instead of seconds: a budget that does not depend on the clock.
    workers, seed
        As for `nesting.packing.pack`.
    listener
        Told of progress.
    """

    seconds: float = 10.0
    work: float | None = None
    workers: int | None = None
    seed: int = 0
    listener: Listener | None = None
    interrupted: bool = False
    _end: float = 0.0
    _left: int = 1

    def start(self, problems: int) -> None:
        """Begin; so many problems are to share the time."""
        self._end = time.monotonic() + self.seconds
        self._left = max(1, problems)

    def pack(self, lay: Lay) -> Result:
        """One problem with its share; after an interrupt only the first layouts are made."""
        share = max(0.0, self._end - time.monotonic()) / self._left
        work = None if self.work is None else self.work / self._left
        self._left = max(1, self._left - 1)
        if self.interrupted:
            share, work = 0.0, None if self.work is None else 0.0
        listener = self.listener

        def told(incumbent: Incumbent) -> object:
            wish = None if listener is None else listener(lay.cloth.title, incumbent)
            # An end is not granted before there is something to keep: a first layout comes at once.
            return None if incumbent.length is None else wish

        result = pack(
            lay.problem,
            time_limit=share,
            workers=self.workers,
            seed=self.seed,
            work_limit=work,
            on_progress=None if self.interrupted else told,
        )
        if self.work is not None and work is not None:
            self.work -= work
        self.interrupted = self.interrupted or result.stop is Stop.INTERRUPTED
        return result


def plan(job: Job, *, bolts: Mapping[str, Bolt] | None = None, effort: Effort | None = None) -> Plan:
    """A checked cutting plan for every cloth of a job.

    Parameters
    ----------
    job
        What was ordered.
    bolts
        Cloth key to the bolt it is cut from; default: the first on offer of each cloth.
    effort
        How long to search.

    Raises
    ------
    DoesNotFitError
        A piece is too wide for its bolt in every direction allowed.
    NothingFoundError
        No layout was found in the time.
    CheckError
        A layout failed the independent check.
    """
    _refuse_at_hand(job)
    effort = effort or Effort()
    chosen = {cloth.key: cloth.bolts[0] for cloth in job.cloths} | dict(bolts or {})
    cases = {cloth.key: _cases(job, cloth, chosen) for cloth in job.cloths}
    effort.start(sum(len(case) for case in cases.values()))
    solved = {key: _best(case, effort) for key, case in cases.items() if case}
    sideways: Sideways = frozenset().union(*(way.sideways for way in solved.values()))
    cutting = cut(job, chosen, sideways)
    layouts, left_out = [], list[LeftOut]()
    for cloth in job.cloths:
        if cloth.key not in solved:
            continue
        layout, out = _settled(job, cloth, chosen[cloth.key], cutting, sideways, solved[cloth.key], effort)
        layouts.append(layout)
        left_out += out
    used = {piece.cloth for piece in cutting.pieces}
    remarks = [Advice("warning", remark) for remark in job.remarks]
    unused = [
        Advice("note", f'cloth "{cloth.title}" is not used by any piece', cloth=cloth.key)
        for cloth in job.cloths
        if cloth.key not in used
    ]
    selvages = [
        Advice(
            "note",
            f"full widths are cut {format_length(layout.usable, job.units)} wide: their seam allowances "
            "reach into the selvage, of which all other pieces keep clear",
            cloth=layout.cloth.key,
        )
        for layout in layouts
        if layout.usable > layout.bolt.usable
    ]
    return Plan(
        job=job,
        pieces=cutting.pieces,
        layouts=tuple(layouts),
        sundries=cutting.sundries,
        headings=cutting.headings,
        advice=(*remarks, *cutting.advice, *selvages, *unused),
        left_out=tuple(left_out),
        panels=cutting.panels,
    )


def compare(job: Job, *, widths: Sequence[int] = (), effort: Effort | None = None) -> Comparison:
    """Each cloth of a job on every bolt on offer, and on further widths asked for.

    Parameters
    ----------
    job
        What was ordered.
    widths
        Further full widths in ticks; no price is known for them.
    effort
        How long to search, for all of them together.
    """
    _refuse_at_hand(job)
    effort = effort or Effort()
    trials = [(cloth, bolt, offered) for cloth in job.cloths for bolt, offered in _bolts(job, cloth, widths)]
    prepared = [_Trial(job, cloth, bolt, offered) for cloth, bolt, offered in trials]
    effort.start(sum(len(trial.cases) for trial in prepared))
    return Comparison(job, tuple(trial.option(effort) for trial in prepared if trial.used))


def require_possible(job: Job) -> None:
    """Refuse a job that no search can save: pieces too large or out of phase, cloth that cannot be laid.

    Raises
    ------
    JobError, DoesNotFitError
        As `plan` would, before any packing.
    """
    _refuse_at_hand(job)
    chosen = {cloth.key: cloth.bolts[0] for cloth in job.cloths}
    for cloth in job.cloths:
        cases = _cases(job, cloth, chosen)
        tried = (pack(case.lay.problem, workers=1, work_limit=0.0) for case in cases)
        if cases and all(result.infeasible for result in tried):
            raise DoesNotFitError(_out_of_phase(cases[0].lay))


def _refuse_at_hand(job: Job) -> None:
    faults = [
        Fault(
            f'cloth "{cloth.title}": bolt {number}: at_hand',
            f"{len(bolt.at_hand)} lengths",
            "no at_hand: this version plans a purchase and cannot yet lay cloth at hand",
        )
        for cloth in job.cloths
        for number, bolt in enumerate(cloth.bolts, 1)
        if bolt.at_hand
    ]
    if faults:
        raise JobError(faults)


def _bolts(job: Job, cloth: Cloth, widths: Sequence[int]) -> Iterator[tuple[Bolt, bool]]:
    for bolt in cloth.bolts:
        yield bolt, True
    known = {bolt.width for bolt in cloth.bolts}
    for width in widths:
        if width not in known:
            yield bolt_of_width(job.units, cloth, width), False


@dataclass(frozen=True, slots=True)
class _Case:
    """One cloth cut one way, upright or sideways by room."""

    lay: Lay
    sideways: Sideways
    cutting: Cutting


@dataclass(frozen=True, slots=True)
class _Solved:
    """The best of a cloth's cases, the bound over all of them, and the plainest: upright where it can be."""

    case: _Case
    plain: _Case
    result: Result
    bound: Bound
    sideways: Sideways
    lengths: tuple[tuple[Sideways, int | None], ...] = ()


def _ways(job: Job, cloth: Cloth, bolt: Bolt) -> list[Sideways]:
    """Which rooms' panels of a cloth may be cut sideways, in every combination worth trying."""
    rooms = dict.fromkeys(window.room for window in job.windows)
    forced = frozenset((cloth.key, room) for room in rooms if must_railroad(job, cloth.key, room))
    may = [
        (cloth.key, room)
        for room in rooms
        if (cloth.key, room) not in forced and can_railroad(job, cloth.key, room, bolt)[0]
    ]
    if len(may) > MOST_ROOMS:
        return [forced, forced | frozenset(may)]
    return [
        forced | frozenset(some)
        for count in range(len(may) + 1)
        for some in itertools.combinations(may, count)
    ]


def _cases(job: Job, cloth: Cloth, bolts: Mapping[str, Bolt]) -> list[_Case]:
    """The different ways to cut one cloth, those that fit its bolt; none where nothing is cut from it.

    Raises
    ------
    DoesNotFitError
        None of them fits.
    """
    cases, refused = list[_Case](), list[DoesNotFitError]()
    seen = set[Problem]()
    others = frozenset(
        (other.key, window.room)
        for other in job.cloths
        for window in job.windows
        if other is not cloth and must_railroad(job, other.key, window.room)
    )
    for sideways in _ways(job, cloth, bolts[cloth.key]):
        try:
            cutting = cut(job, bolts, sideways | others)
            lay = lay_of(job, cloth, bolts[cloth.key], cutting.pieces, railroaded=bool(sideways))
            if not lay.pieces and not lay.extras:
                return []
            require_fit(lay)
        except DoesNotFitError as error:
            refused.append(error)
            continue
        if lay.problem not in seen:
            seen.add(lay.problem)
            cases.append(_Case(lay, sideways, cutting))
    if not cases:
        raise refused[0]
    return cases


def _best(cases: Sequence[_Case], effort: Effort) -> _Solved:
    """Each case packed; the shortest is kept, and the least bound holds for all."""
    results = [(case, effort.pack(case.lay)) for case in cases]
    found = [(case, result) for case, result in results if result.length is not None]
    if not found:
        lay = cases[0].lay
        if all(result.infeasible for _, result in results):
            raise DoesNotFitError(_out_of_phase(lay))
        raise NothingFoundError(f'cloth "{lay.cloth.title}": no layout was found in the time: give it more')
    case, result = min(found, key=lambda pair: pair[1].length or 0)
    bound = min((r.bound for _, r in results if not r.infeasible), key=lambda bound: bound.length)
    lengths = tuple((case.sideways, result.length) for case, result in results)
    return _Solved(case, cases[0], result, bound, case.sideways | _turned(case.lay, result), lengths)


def _out_of_phase(lay: Lay) -> str:
    """Why no layout exists, and what would help."""
    windows = [w for w in lay.job.windows if w.cloth == lay.cloth.key]
    running = next((w.name for w in windows if w.pair == "continuous"), None)
    remedy = "check its match and usable width"
    if running is not None:
        remedy = f'in window "{running}" take pair = "alike", or a wider bolt: {remedy}'
    return (
        f'cloth "{lay.cloth.title}": the widths of a panel cannot all lie in phase on a bolt of '
        f"{format_length(lay.bolt.width, lay.job.units)}: {remedy}"
    )


def _turned(lay: Lay, result: Result) -> Sideways:
    """Rooms whose panels the layout turned of its own accord: no wider than the bolt, they lie either way."""
    pieces = (lay.pieces[placement.part] for placement in result.placements if placement.turned)
    return frozenset((lay.cloth.key, piece.room) for piece in pieces if piece.role in LAYERS and piece.room)


def _settled(
    job: Job,
    cloth: Cloth,
    bolt: Bolt,
    cutting: Cutting,
    sideways: Sideways,
    solved: _Solved,
    effort: Effort,
) -> tuple[ClothLayout, tuple[LeftOut, ...]]:
    """The cloth's layout; packed once more if another cloth's way of cutting changed its pieces."""
    lay = lay_of(job, cloth, bolt, cutting.pieces, railroaded=any(key == cloth.key for key, _ in sideways))
    result, bound = solved.result, solved.bound
    if lay.problem != solved.case.lay.problem:
        require_fit(lay)
        result = effort.pack(lay)
        bound = result.bound
    plain = solved.plain
    rule = rule_of_thumb_for(job, plain.cutting.pieces, cloth.key, bolt, plain.sideways)
    return layout_of(lay, result, bound, rule)


class _Trial:
    """One cloth on one bolt, for comparison."""

    def __init__(self, job: Job, cloth: Cloth, bolt: Bolt, offered: bool) -> None:
        self._job, self._cloth, self._bolt, self._offered = job, cloth, bolt, offered
        self.cases: list[_Case] = []
        self.used = True
        self._reason = ""
        chosen = {other.key: other.bolts[0] for other in job.cloths} | {cloth.key: bolt}
        try:
            self.cases = _cases(job, cloth, chosen)
            self.used = bool(self.cases)
        except NestingError as error:
            self._reason = str(error)

    def option(self, effort: Effort) -> Option:
        """What this bolt would take."""
        if not self.cases:
            return self._without(self._reason)
        try:
            solved = _best(self.cases, effort)
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

    def _railroad(self, solved: _Solved) -> str:
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
