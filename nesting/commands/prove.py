"""`nesting prove PLAN`: how far each length of a plan is proved, replayed from the plan's numbers alone."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.commands import output
from nesting.commands.app import app
from nesting.commands.flags import Folder, PlanFile, TimeLimit
from nesting.commands.proofs import verdict_words
from nesting.commands.streams import answer, say
from nesting.errors import CheckError, NestingError
from nesting.files import PROOF_FILE, digest_of, proof_file, read_proof_file
from nesting.units import Unit

if TYPE_CHECKING:
    from nesting.check.verdict import Claim, Proof
    from nesting.packing import Aim, Problem

#: What is told of a proof that speaks of more than the pieces laid.
EVERYTHING = "of every seam plan and way to cut that is weighed, cut again from the order"
#: Logs of so many words are written and gone along, in some ten seconds.
WORDS = 3_000_000


@dataclass(frozen=True, slots=True)
class Replayed:
    """What became of one claim.

    Attributes
    ----------
    proof
        What it rests on now.
    certificate
        One that replays; None where there is none.
    seconds
        What replaying it took.
    found
        What looking for it took, where the plan carried none.
    everything
        It is proved of all that the order leaves open, which was cut again for it.
    """

    proof: Proof
    certificate: Mapping[str, Any] | None = None
    seconds: float = 0.0
    found: float | None = None
    everything: bool = False


@app.command()
def prove(plan_file: PlanFile, folder: Folder = None, time_limit: TimeLimit = 60.0) -> None:
    """Prove the lengths of a plan again, from its numbers alone; tells what still rests on trust.

    A certificate that the plan carries, or that proof.json.gz beside it holds, is replayed. Where there is
    none, one is looked for within the time; with -o it is kept in proof.json.gz. Seam plans and ways to cut
    that were open are taken from the order, which is cut again for it, and not from the plan.
    """
    from nesting.check import check_plan_document
    from nesting.check.document import read_plan_document as as_plan
    from nesting.check.verdict import Proof, claims, verdicts
    from nesting.files import read_plan, read_plan_document
    from nesting.planning.open_to import on_hand_asked, open_to

    document = read_plan_document(plan_file)
    violations = check_plan_document(document)
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{plan_file}: rules broken: {len(violations)}\n{listed}")
    known = _kept(plan_file)
    end = time.monotonic() + time_limit
    units: Unit = document["units"]
    done: dict[str, Replayed] = {}
    trusted = 0
    plan = read_plan(plan_file)
    carried = {f"layouts[{at}]": layout.bound.open_certificate for at, layout in enumerate(plan.layouts)}
    ways = {each.fabric: each.problems for each in open_to(plan)}
    for claim in claims(as_plan(document), document):
        kept, problems = known.get(claim.place), ways.get(claim.fabric, ())
        mine: Replayed | None = None
        if len(problems) > 1 or any(problem.choices for problem in problems):
            said = [each for each in (carried[claim.place], kept) if each is not None]
            mine = replayed_over(claim, problems, said, max(0.0, end - time.monotonic()))
        done[claim.place] = mine or replayed(claim, kept, max(0.0, end - time.monotonic()))
    for asked in on_hand_asked(plan):
        for at in range(len(asked.stages)):
            place = f"objectives[{asked.objective}].stages[{at}]"
            mine = replayed_stage(
                asked.problem, asked.stages[: at + 1], known.get(place), max(0.0, end - time.monotonic())
            )
            done |= {} if mine is None else {place: mine}
    for verdict in verdicts(document):
        result = done.get(verdict.place) or Replayed(verdict.proof)
        answer(f"{verdict.of}: {verdict_words(verdict, units, result.proof)}{_took(result)}\n")
        lines = list(_trust(verdict.method, result, Proof.REPLAYED))
        trusted += bool(lines) or result.proof in (Proof.SEARCHED, Proof.SAID)
        for line in lines:
            answer(f"  {line}\n")
        if result.everything:
            answer(f"  {EVERYTHING}\n")
    answer(f"{f'figures that rest on trust: {trusted}' if trusted else 'nothing rests on trust'}\n")
    if folder is not None:
        proofs = {at: each.certificate for at, each in done.items() if each.certificate is not None}
        output.require_folder(folder)
        files = {PROOF_FILE: proof_file(proofs)}
        output.tell(folder, output.write_all(folder, files, "proofs", digest_of(plan_file.read_bytes())))


def _kept(plan_file: Path) -> Mapping[str, Mapping[str, Any]]:
    """What stands beside a plan; a file that is none is passed over with a word."""
    beside = plan_file.parent / PROOF_FILE
    if not beside.is_file():
        return {}
    try:
        return read_proof_file(beside)
    except NestingError as error:
        say(f"warning: {error}")
        return {}


def replayed(claim: Claim, kept: Mapping[str, Any] | None, seconds: float) -> Replayed:
    """A claim proved again, by its own certificate, by one kept, or by one found within the time."""
    from nesting.check.verdict import Proof, proof_kind

    method = claim.bound.method
    for said in (claim.bound.certificate, kept):
        took = None if said is None else _replays(claim, said)
        if took is not None:
            return Replayed(Proof.REPLAYED, said, took)
    unproved = Replayed(proof_kind(None, claim.bound.length, method))
    if claim.beyond or claim.length != claim.bound.length or claim.bound.length <= 0:
        return unproved
    from nesting.packing.certifying import proof_of
    from nesting.packing.guillotine.band_proof import proof_across
    from nesting.packing.kernels.compiled import KERNELS
    from nesting.packing.turn import Budget

    KERNELS.prepare()
    begun = time.monotonic()
    if claim.across:
        bound = proof_across(claim.problem, claim.bound.length, Budget(seconds))
    else:
        bound = proof_of(claim.problem, claim.bound.length, Budget(seconds), words=WORDS, weighed=True)
    found = time.monotonic() - begun
    said = None if bound is None else bound.certificate
    took = None if said is None else _replays(claim, dict(said))
    if said is None or took is None:
        return Replayed(unproved.proof, found=found)
    return Replayed(Proof.REPLAYED, dict(said), took, found)


def replayed_over(
    claim: Claim, problems: Sequence[Problem], carried: Iterable[Mapping[str, Any]], seconds: float
) -> Replayed | None:
    """A claim proved of all that its order leaves open; None where no proof is carried, kept or found.

    ``problems`` are the ways to cut the fabric, as the order has them.
    """
    from nesting.check.verdict import Proof

    for said in carried:
        took = _replays_over(claim, problems, said)
        if took is not None:
            return Replayed(Proof.REPLAYED, said, took, everything=True)
    if claim.beyond or claim.length != claim.bound.length or claim.bound.length <= 0:
        return None
    from nesting.packing.choices.option_proof import proof_over_ways
    from nesting.packing.kernels.compiled import KERNELS
    from nesting.packing.turn import Budget

    KERNELS.prepare()
    begun = time.monotonic()
    found = proof_over_ways(problems, claim.bound.length, Budget(seconds), words=WORDS)
    searched = time.monotonic() - begun
    took = None if found is None else _replays_over(claim, problems, found)
    return None if took is None else Replayed(Proof.REPLAYED, found, took, searched, everything=True)


def replayed_stage(
    problem: Problem, stages: Sequence[Aim], kept: Mapping[str, Any] | None, seconds: float
) -> Replayed | None:
    """The last of these stages of lengths on hand proved again; None where no proof is carried or found.

    ``problem`` is what the order has of the fabric, cut again.
    """
    from nesting.check.proof_stock import PLAIN, proven_stage
    from nesting.check.verdict import Proof, proof_kind

    for said in (stages[-1].certificate or PLAIN, kept):
        begun = time.monotonic()
        if proven_stage(problem, [*stages[:-1], replace(stages[-1], certificate=said)]):
            return Replayed(Proof.REPLAYED, said, time.monotonic() - begun, everything=True)
    if not stages[-1].closed:
        return None
    from nesting.packing.kernels.compiled import KERNELS
    from nesting.packing.on_hand.stock_cases import stage_proof
    from nesting.packing.turn import Budget

    KERNELS.prepare()
    begun = time.monotonic()
    said = stage_proof(problem, stages, Budget(seconds))
    searched = time.monotonic() - begun
    begun = time.monotonic()
    if said is None or not proven_stage(problem, [*stages[:-1], replace(stages[-1], certificate=said)]):
        return Replayed(proof_kind(None, stages[-1].bound, stages[-1].method), found=searched)
    return Replayed(Proof.REPLAYED, said, time.monotonic() - begun, searched, everything=True)


def _replays_over(claim: Claim, problems: Sequence[Problem], said: Mapping[str, Any]) -> float | None:
    """How long it took to replay over all ways to cut; None where it does not prove the claim."""
    from nesting.check.verdict import NO_FORM, proven_of_all

    if claim.beyond:
        return None
    begun = time.monotonic()
    try:
        proven = proven_of_all(problems, said, across=claim.across)
    except NO_FORM:
        return None
    return time.monotonic() - begun if proven >= claim.bound.length else None


def _replays(claim: Claim, said: Mapping[str, Any]) -> float | None:
    """How long it took to replay; None where it does not prove the claim, or is no certificate of it."""
    from nesting.check.verdict import check_bound
    from nesting.packing import Bound

    if claim.beyond:
        return None
    begun = time.monotonic()
    try:
        broken = check_bound(claim.problem, Bound(claim.bound.length, "", said), across=claim.across)
    except NestingError:
        return None
    return None if broken else time.monotonic() - begun


def _took(mine: Replayed) -> str:
    searched = "" if mine.found is None else f", found in {mine.found:.1f} s"
    return f" (replayed in {mine.seconds:.2f} s{searched})" if mine.certificate is not None else ""


def _trust(method: str, mine: Replayed, sure: Proof) -> Iterator[str]:
    """What a person should know of a figure beside its proof."""
    choosing = [words for words in ("choices", "ways to cut") if words in method]
    if mine.proof is sure and choosing and not mine.everything:
        yield "of the pieces laid: that other seam plans or ways to cut take no less is not replayed"
    elif mine.proof is not sure and mine.found is not None:
        yield f"no proof that can be replayed was found in {mine.found:.0f} s; --time-limit gives it more"
