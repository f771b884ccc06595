"""How far the length of a written plan is proved: replayed here, or only said.

That a layout keeps every rule is one verdict (`nesting.check`); that nothing shorter exists is another. A
certificate that replays confirms it. Without one the document only says so, and whether our own search or
the solver is said to have proved it is told, but nothing is confirmed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from typing import Any

from nesting.check.document import LayoutEntry, PlanDocument, read_plan_document, table_of
from nesting.check.document_prints import part_of
from nesting.check.document_widths import kept_clear
from nesting.check.proof import proven_length
from nesting.check.proof_options import proven_over_ways
from nesting.check.violation import Breach, Violation
from nesting.errors import NestingError
from nesting.packing.problem import Part, Problem
from nesting.packing.result import SOLVER, Bound

#: What is raised of a certificate that has not the form of one.
NO_FORM = (AttributeError, KeyError, TypeError, ValueError, IndexError, OverflowError)


class Proof(StrEnum):
    """What a bound on a length rests on."""

    REPLAYED = "re-proved here from its certificate"
    SEARCHED = "proved by our search, not re-proved here"
    SAID = "the solver's word, not re-proved here"
    NONE = "nothing proved"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is proved of one figure of a plan; lengths in ticks.

    Attributes
    ----------
    of
        The fabric, and the length on hand or the objective.
    reached, bound
        Of the layout, and what no layout can better.
    proof
        What the bound rests on.
    measured
        Whether the figures are lengths, of which less is better; else points, of which more is.
    place, method
        Where the layout or the stage stands in the document, and the name of its bound; empty for a stage.
    most
        Whether more is better.
    """

    of: str
    reached: int
    bound: int
    proof: Proof
    measured: bool = True
    place: str = ""
    method: str = ""
    most: bool = False

    @property
    def best(self) -> bool:
        """The figure is said to be the best possible."""
        return self.reached == self.bound


def check_bound(
    problem: Problem, bound: Bound, at: str = "", *, across: bool = False
) -> tuple[Violation, ...]:
    """Whether a bound's certificate proves it; empty where it does, and where it has none.

    ``across`` tells that only layouts cut across first are spoken of.

    Raises
    ------
    NestingError
        The certificate has not the form of one.
    """
    if bound.certificate is None:
        return ()
    try:
        proven = proven_length(problem, bound.certificate, across=across)
    except NO_FORM as error:
        raise NestingError(f"{at or 'bound'}: bound_certificate: no weights of parts ({error!r})") from error
    if proven >= bound.length:
        return ()
    other = f"{proven} that its certificate proves"
    return (Violation(Breach.BOUND, f"bound {bound.length}", other, bound.length - proven, at),)


def proven_of_all(
    problems: Sequence[Problem], certificate: Mapping[str, Any], *, across: bool = False
) -> int:
    """The length that no layout of any selection of any way to cut undercuts; 0 where none is proved.

    ``problems`` are the ways to cut one fabric. They must be all that its order leaves open, whatever the
    plan says of them. What is raised is one of `NO_FORM`.
    """
    return proven_over_ways(problems, certificate, partial(proven_length, across=across))


@dataclass(frozen=True, slots=True)
class Claim:
    """What a plan says of the length of one layout, with the problem it speaks of; lengths in ticks.

    Attributes
    ----------
    place, fabric
        Where the layout stands in the document, and its fabric.
    problem
        One open strip, and all that was ordered of the fabric; nothing where that is ``beyond`` a proof.
    length
        Of the layout.
    bound
        What no layout undercuts, with the certificate that the plan carries.
    across
        Only layouts cut across first are spoken of.
    beyond
        Why no certificate can prove it; empty where one may.
    """

    place: str
    fabric: str
    problem: Problem
    length: int | None
    bound: Bound
    across: bool = False
    beyond: str = ""


def claims(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Claim]:
    """The claims of a document, parts counted as it lists the pieces of each fabric."""
    for at, layout in enumerate(plan.layouts):
        if layout.lower_bound is None:
            continue
        table = table_of(document, "layouts", at, plan.units)
        figures = table.table_or_none("cutting")
        method = table.text_or_none("bound_method", None) or ""
        certificate = None if layout.certificate is None else dict(layout.certificate)
        beyond = _beyond_premises(plan, layout)
        parts = () if beyond else _parts(plan, layout, kept_clear(plan, document, at))
        yield Claim(
            layout.place,
            layout.fabric,
            Problem((layout.strip,), parts),
            layout.length,
            Bound(layout.lower_bound, method, certificate),
            figures is not None and figures.text("way") == "across-first",
            beyond,
        )


def check_proofs(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """The certificates of a document that do not prove what it says."""
    if all(layout.certificate is None for layout in plan.layouts):
        return
    for claim in claims(plan, document):
        if claim.bound.certificate is not None and claim.beyond:
            yield Violation(Breach.BOUND, f"bound {claim.bound.length}", claim.beyond, at=claim.place)
        elif claim.bound.certificate is not None:
            yield from check_bound(claim.problem, claim.bound, claim.place, across=claim.across)


def _parts(plan: PlanDocument, layout: LayoutEntry, clear: Mapping[str, tuple[int, int]]) -> tuple[Part, ...]:
    """What a bound speaks of: all that was ordered of a fabric.

    Where widths are joined the panels of that arrow group stand: turned, each would be one run.
    """
    mine = [piece for piece in plan.pieces if piece.fabric == layout.fabric and not piece.optional]
    upright = {piece.arrow_group for piece in mine if piece.joined} - {None}
    parts = [replace(part_of(piece), clear=clear.get(piece.id, (0, 0))) for piece in mine]
    return tuple(replace(part, turnable=part.turnable and part.arrow not in upright) for part in parts)


def _beyond_premises(plan: PlanDocument, layout: LayoutEntry) -> str:
    """Why weights of parts say nothing of a layout; empty where they may.

    They speak of all ordered pieces on one bolt.
    """
    mine = {piece.id: piece for piece in plan.pieces if piece.fabric == layout.fabric and not piece.optional}
    if layout.on_hand is not None or sum(other.fabric == layout.fabric for other in plan.layouts) > 1:
        return "weights of parts, which say nothing of one length among several"
    if any(piece in mine and copies for piece, copies in plan.left_out):
        return "weights of parts, some of which are left out"
    if layout.strip.repeat is None and any(piece.match is not None for piece in mine.values()):
        return "weights of parts that match a print which is not stated"
    return ""


def verdicts(document: Mapping[str, Any]) -> tuple[Verdict, ...]:
    """Of each layout that is bought, and of each objective of lengths on hand, what is proved.

    The document is one that `nesting.check.check_plan_document` finds no fault with, so a certificate that
    it carries replays.
    """
    plan = read_plan_document(document)
    several = {entry["fabric"] for entry in document.get("objectives", ())}
    found = []
    for at, layout in enumerate(plan.layouts):
        if layout.length is None or layout.fabric in several:
            continue
        method = table_of(document, "layouts", at, plan.units).text_or_none("bound_method", None) or ""
        bound = layout.lower_bound or 0
        proof = proof_kind(layout.certificate, bound, method)
        place = layout.place
        found.append(Verdict(layout.fabric, layout.length, bound, proof, place=place, method=method))
    for number in range(len(document.get("objectives", ()))):
        entry = table_of(document, "objectives", number, plan.units)
        for stage in entry.tables("stages"):
            measured = stage.one_of("measure", ("length", "points")) == "length"
            reached, bound = (
                stage.length_of(key) if measured else stage.whole(key) for key in ("value", "bound")
            )
            proof = proof_kind(None, bound if measured else 1, stage.text_or_none("bound_method", None) or "")
            name = f"{entry.text('fabric')}, {stage.text('name')}"
            most = stage.one_of("goal", ("most", "least")) == "most"
            found.append(Verdict(name, reached, bound, proof, measured, stage.place, most=most))
    return tuple(found)


def proof_kind(certificate: Mapping[str, Any] | None, bound: int, method: str) -> Proof:
    """What a bound rests on, its certificate being one that replays."""
    if bound <= 0:
        return Proof.NONE
    if certificate is not None:
        return Proof.REPLAYED
    return Proof.SAID if SOLVER in method else Proof.SEARCHED
