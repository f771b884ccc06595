"""What is proved of the lengths of a plan, in lines for a person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from nesting.check.verdict import Proof, Verdict, verdicts
from nesting.units import Unit, format_length


def proof_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """A line for each figure of a plan that is sound: how good it is, and what says so."""
    units: Unit = document["units"]
    for verdict in verdicts(document):
        yield f"{verdict.of}: {verdict_words(verdict, units, verdict.proof)}"


def verdict_words(verdict: Verdict, units: Unit, proof: Proof) -> str:
    """How good a figure is, and what says so."""
    reached, bound = (
        format_length(figure, units) if verdict.measured else str(figure)
        for figure in (verdict.reached, verdict.bound)
    )
    nearer = "more" if verdict.most else "less"
    if proof is Proof.NONE:
        return f"{reached}, and {nearer} is not possible" if verdict.best else f"{reached}; nothing proved"
    if verdict.best and proof is not Proof.REPLAYED:
        # Nothing here has shown it: a bound set to the length would be told in the same words.
        return f"{reached}, and the plan says that {nearer} is not possible: {proof}"
    if verdict.best:
        return f"{reached} is the best possible: {proof}"
    limit = f"no less than {bound}" if verdict.measured else f"no more than {bound}"
    return f"{reached}, and {limit} is possible: {proof}"
