"""One run of the engine on an instance of the set, and what of it is better than what is known."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from nesting.check.proof_stock import PLAIN, proven_stages
from nesting.packing import Bound, Result, pack, pack_across
from nesting.packing.result import UNCHECKED
from tests.benchmarks.set_entries import Claim, Entry, Goal, Known, Run
from tests.benchmarks.set_judging import replays
from tests.benchmarks.set_writing import MOST, packed

#: Of a search cut across first, the part of the work that goes to the free bound before it.
FREE = 0.25
#: Units of work in which a bound with a certificate is looked for, where the best one has none: bounds by
#: weights come first, and what comes later and higher has none.
SURE = (0.3, 0.05, 0.01, 0.001)


def searched(entry: Entry, work: float, seed: int) -> Entry:
    """The instance with what one run comes to, by itself; one worker, so that it is repeatable.

    The layout that is known is where the run begins, where the engine takes one.
    """
    result = _packed(entry, work, seed)
    claims = [claim_of(entry, result.bound)]
    if claims[0].certificate is None and not entry.replayed:
        claims += sure_claims(entry)
    day = _today()
    run = Run(work, seed, day, result.length, result.bound.length)
    known = None
    if result.length is not None:
        found = [now.method for now in result.incumbents if now.length == result.length]
        goals = _goals(entry, result)
        by = found[0] if found else "as it was known"
        known = Known(result.length, result.placements, by, day, work, seed, goals)
    return replace(entry, known=known, bounds=_kept(claims), runs=(run,))


def _goals(entry: Entry, result: Result) -> tuple[Goal, ...]:
    """The objectives as the file keeps them; no certificate that does not replay or is too long."""
    goals = list[Goal]()
    for aim, proven in zip(result.stages, proven_stages(entry.problem, result.stages), strict=True):
        # What follows from how much there is has a certificate that says nothing more.
        told = plain(dict(aim.certificate or PLAIN)) if proven else None
        kept = told if told is not None and len(str(packed(told))) <= MOST else None
        by = aim.method.replace(f", {UNCHECKED}", "") if kept is not None else aim.method
        goals.append(Goal(aim.name, aim.value, aim.bound, by or "how much there is", kept))
    return tuple(goals)


def sure_claims(entry: Entry) -> list[Claim]:
    """A bound that replays, by searches that end before others raise it; none of lengths on hand."""
    if not entry.problem.plain_purchase:
        return []
    for work in SURE:
        claim = claim_of(entry, pack(entry.problem, work_limit=work, workers=1).bound)
        if claim.certificate is not None:
            return [claim]
    return []


def _packed(entry: Entry, work: float, seed: int) -> Result:
    if entry.across:
        free = pack(entry.problem, work_limit=FREE * work, workers=1, seed=seed).bound
        return pack_across(entry.problem, free=free, work_limit=(1 - FREE) * work, workers=1, seed=seed)
    on_hand = any(strip.length is not None for strip in entry.problem.strips)
    begin = None if entry.known is None or on_hand or entry.problem.choices else entry.known.layout
    return pack(entry.problem, work_limit=work, workers=1, seed=seed, start=begin)


def _today() -> str:
    return datetime.datetime.now(tz=datetime.UTC).date().isoformat()


def claim_of(entry: Entry, bound: Bound) -> Claim:
    """A bound as the file keeps it: with its certificate only where that replays, and is not too long."""
    told = bound.open_certificate if entry.problem.choices else bound.certificate
    told = told or bound.certificate
    certificate = None if told is None else plain(dict(told))
    method = bound.method.replace(f", {UNCHECKED}", "")
    claim = Claim(bound.length, method or "nothing", bound.rests_on, _today(), certificate)
    if certificate is None:
        return replace(claim, rests_on=_unproved(bound))
    if replays(entry, claim) < bound.length:
        return replace(claim, rests_on=_unproved(bound), certificate=None)
    size = len(str(packed(certificate)))
    if size > MOST:
        return replace(claim, certificate=None, left_out=f"a certificate of {size} letters, which replays")
    return claim


def _unproved(bound: Bound) -> str:
    """What a bound rests on where no certificate speaks for it."""
    return Bound(max(bound.length, 1), bound.method).rests_on


def plain(value: Any) -> Any:
    """Of mappings and sequences the same in the form of JSON."""
    if hasattr(value, "items"):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value


def better_of(now: Entry, found: Entry) -> Entry:
    """The better of each: the layout known and the one found, and their bounds; runs are written down."""
    known = found.known if _better(found.known, now.known) else now.known
    bounds = _kept([*now.bounds, *found.bounds])
    return replace(now, known=known, bounds=bounds, runs=(*now.runs, *found.runs))


def _better(new: Known | None, old: Known | None) -> bool:
    """Shorter; of several objectives better in the first that differs, or closed in more of them."""
    if new is None or old is None:
        return new is not None
    return _rank(new) < _rank(old)


def _rank(known: Known) -> tuple[int, ...]:
    worth = [-goal.value if goal.name in ("value", "extras") else goal.value for goal in known.goals]
    closed = sum(goal.value == goal.bound for goal in known.goals)
    return (known.length, *worth, -closed, -sum(goal.certificate is not None for goal in known.goals))


def _kept(claims: Sequence[Claim]) -> tuple[Claim, ...]:
    """The highest; of equal ones one with a certificate; beside one without, the highest that has one."""
    some = [claim for claim in claims if claim.length > 0]
    if not some:
        return ()
    # Of equal ones the first, which is known longest.
    best = max(some, key=lambda claim: (claim.length, claim.certificate is not None, bool(claim.left_out)))
    sure = [claim for claim in some if claim.certificate is not None]
    if best.certificate is not None or not sure:
        return (best,)
    return (best, max(sure, key=lambda claim: claim.length))
