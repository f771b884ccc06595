"""`nesting prove PLAN`: how far each length of a plan is proved, replayed from the plan's numbers alone."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
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
    """

    proof: Proof
    certificate: Mapping[str, Any] | None = None
    seconds: float = 0.0
    found: float | None = None


@app.command()
def prove(plan_file: PlanFile, folder: Folder = None, time_limit: TimeLimit = 60.0) -> None:
    """Prove the lengths of a plan again, from its numbers alone; tells what still rests on trust.

    A certificate that the plan carries, or that proof.json.gz beside it holds, is replayed. Where there is
    none, one is looked for within the time; with -o it is kept in proof.json.gz.
    """
    from nesting.check import check_plan_document
    from nesting.check.document import read_plan_document as as_plan
    from nesting.check.verdict import Proof, claims, verdicts
    from nesting.files import read_plan_document

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
    for claim in claims(as_plan(document), document):
        done[claim.place] = replayed(claim, known.get(claim.place), max(0.0, end - time.monotonic()))
    for verdict in verdicts(document):
        mine = done.get(verdict.place) or Replayed(verdict.proof)
        answer(f"{verdict.of}: {verdict_words(verdict, units, mine.proof)}{_took(mine)}\n")
        lines = list(_trust(verdict.method, mine, Proof.REPLAYED))
        trusted += bool(lines) or mine.proof in (Proof.SEARCHED, Proof.SAID)
        for line in lines:
            answer(f"  {line}\n")
    answer(f"{f'figures that rest on trust: {trusted}' if trusted else 'nothing rests on trust'}\n")
    if folder is not None:
        kept = {at: mine.certificate for at, mine in done.items() if mine.certificate is not None}
        output.require_folder(folder)
        files = {PROOF_FILE: proof_file(kept)}
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
    if claim.beyond or claim.across or claim.length != claim.bound.length or claim.bound.length <= 0:
        return unproved
    from nesting.packing.certifying import proof_of
    from nesting.packing.kernels.compiled import KERNELS
    from nesting.packing.turn import Budget

    KERNELS.prepare()
    begun = time.monotonic()
    bound = proof_of(claim.problem, claim.bound.length, Budget(seconds), words=WORDS, weighed=True)
    found = time.monotonic() - begun
    said = None if bound is None else bound.certificate
    took = None if said is None else _replays(claim, dict(said))
    if said is None or took is None:
        return Replayed(unproved.proof, found=found)
    return Replayed(Proof.REPLAYED, dict(said), took, found)


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
    if mine.proof is sure and choosing:
        yield "of the pieces laid: that other seam plans or ways to cut take no less is not replayed"
    elif mine.proof is not sure and mine.found is not None:
        yield f"no proof that can be replayed was found in {mine.found:.0f} s; --time-limit gives it more"
