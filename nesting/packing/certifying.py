"""Writes down the proof of an optimal length where the search that closed it left none.

Nothing that was found is needed but the length: the bounds that carry certificates, and rows in one piece
(`nesting.packing.bounds.row_proof`), are asked for a certificate that nothing is shorter. So it may be asked
for at the end of a search, or long after it, by whoever has more time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Protocol

from nesting.packing.bounds import BOUNDS
from nesting.packing.bounds.row_proof import WORDS, written_down
from nesting.packing.branch import branches_of
from nesting.packing.certificates.directions import Directions, decided_cases
from nesting.packing.problem import Problem
from nesting.packing.race import Race, Stopped, in_ticks
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Bound, Certificate, Incumbent, Observer, Result, StageReport, Status, Stop
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.turn import Budget, Goal, Turn

#: As the statistics of a result name it.
STAGE = "certificate"


class Look(Protocol):
    """Finds a bound of a length, with a certificate; None where there is none in the time."""

    def __call__(
        self,
        problem: Problem,
        length: int,
        budget: Budget,
        params: Params = PARAMS,
        *,
        observer: Observer | None = None,
    ) -> Bound | None:
        """As `proof_of`."""


def certified(
    problem: Problem,
    result: Result,
    seconds: float,
    work: float | None = None,
    params: Params = PARAMS,
    observer: Observer | None = None,
    look: Look | None = None,
) -> Result:
    """The same result, with a certificate of its bound where it is optimal and one is found in time.

    Parameters
    ----------
    problem
        Packed as one open strip; with lengths on hand or optional parts nothing is changed.
    result
        What it has come to.
    seconds
        How long to look.
    work
        How much work instead, where nothing may depend on the clock.
    params
        Tuning numbers of the search.
    observer
        Asked about ten times a second; when it returns False, or the person interrupts, nothing more is
        looked for.
    look
        What finds a proof; None: `proof_of`, of a problem without choices.
    """
    open_strip = problem.plain_purchase and (look is not None or not problem.choices)
    if result.status is not Status.OPTIMAL or result.bound.certificate is not None or not open_strip:
        return result
    if result.stop is Stop.INTERRUPTED:
        return result
    budget, bound = Budget(seconds, work), None
    stop: Stop = result.stop

    def asked(_: Incumbent) -> object:
        known = Incumbent(result.length, result.bound.length, "", round(result.seconds + budget.elapsed, 3))
        return None if observer is None else observer(known)

    try:
        bound = (look or proof_of)(problem, result.bound.length, budget, params, observer=asked)
    except (Stopped, KeyboardInterrupt):
        stop = Stop.INTERRUPTED
    took = budget.elapsed if work is None else budget.spent
    report = StageReport(STAGE, 1, round(took, 3), 0, 0 if bound is None else 1)
    return replace(
        result,
        bound=result.bound if bound is None else bound,
        stop=stop,
        statistics=(*result.statistics, report),
        seconds=round(result.seconds + budget.elapsed, 3),
    )


def proof_of(
    problem: Problem,
    length: int,
    budget: Budget,
    params: Params = PARAMS,
    words: int = WORDS,
    observer: Observer | None = None,
    weighed: bool = False,
) -> Bound | None:
    """A bound of that length, in the problem's units, with a certificate; None where none is found.

    ``words``: a log of more is none; see `nesting.packing.bounds.row_proof.written_down`. ``weighed``: bounds
    by weights are asked first, which a search of these very parts has asked before.
    """
    core = reduce(problem)
    if core is None or length <= 0:
        return None
    race = Race(budget, observer)
    cases = branches_of(core, params.most_split)
    if len(cases) == 1:
        return _told(cases[0], length, race, words, rows_only=not weighed)
    decided = list(decided_cases(problem, core.open_arrows))
    found, methods = list[Certificate | None](), dict[str, None]()
    for case in map(reduce, decided):
        bound = None if case is None else _told(case, length, race, words, rows_only=False)
        if case is not None and (bound is None or not isinstance(bound.certificate, Certificate)):
            return None
        found.append(None if bound is None else bound.certificate)  # type: ignore[arg-type]
        methods |= {} if bound is None else {bound.method: None}
    said = Directions(core.open_arrows, tuple(found))
    return Bound(length, f"each way pieces may be turned: {', '.join(methods)}", said)


def _told(core: Core, length: int, race: Race, words: int, *, rows_only: bool) -> Bound | None:
    """The same of a core that lies one way."""
    least = -(-length // core.step_y) - core.lone_length
    turn = Turn(race, Goal(core, 0, least - 1), race.budget.left)
    for bound in () if rows_only else _weighed(core, turn):
        if bound.length >= least and bound.certificate is not None:
            return in_ticks(core, bound)
    if least <= 0 or not core.kinds or core.open_arrows:
        return None
    log = written_down(core, least - 1, turn, words)
    if log is None:
        return None
    placed = ", places across" if log.stands else ""
    method = f"columns in one piece{placed}" if log.columns else f"rows in one piece{placed}"
    return in_ticks(core, Bound(least, method, log))


def _weighed(core: Core, turn: Turn) -> Iterator[Bound]:
    """What the bounds say that carry certificates, those first that are worked out in no time."""
    every = [kind for kind in BOUNDS.values() if kind.certificate is not None and kind.applies(core)]
    for kind in sorted(every, key=lambda kind: not kind.instant):
        if turn.over() or not (kind.instant or core.kinds):
            return
        raised = kind(core).raised(turn.part(0.2))
        if raised is not None:
            turn.take(raised)
            yield raised
