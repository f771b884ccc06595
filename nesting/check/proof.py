"""Re-proves a linear lower bound from its weights, in whole numbers, with nothing taken from the engine.

A certificate gives every part a weight for each way it may lie, counted for each unit of its length. Slice a
layout into rows: the parts that share a row lie side by side, so their weights add up to no more than the
heaviest set that fits in the strip's width, K, which an exact knapsack finds here anew. All rows together
carry the weight of all parts, each laid the way that weighs least, so there are at least total / K rows.

``rule = "row weights"`` proves a length that way. ``rule = "placed row weights"`` does the same with the
heaviest row found by going along it, the widths of a panel at the places that their pattern allows.
``rule = "column weights"`` slices along the strip and refutes one length: columns that long would have to be
more than the strip is wide. ``rule = "band weights"`` and ``"band sums"`` speak of layouts cut across first
only; see `nesting.check.proof_bands`.

``rule = "scale products"`` gives each way a second weight, for the length, and refutes one length. Let u be
the heaviest set that fits side by side in the strip, by the first weights, and v the heaviest that fits one
after another in the length, by the second. A layout stays one when each part takes its weights for sizes, in
a strip of width u and length v: push the parts to the left and to the squared end in the order they have; no
row becomes wider than u then, no column longer than v. So the products of the weights, each part laid the
way for which it is least, add up to u v at most. Where they add up to more no layout is so long, or shorter.

All of this speaks of one open strip on which every copy of every part is laid. With lengths on hand, optional
parts or choices a part may lie elsewhere or nowhere, and no rule proves anything. Nor does a certificate with
a number out of its range, or one that names a part twice: what is not understood is not believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from nesting.check.proof_bands import Stacked, proven_bands, proven_sums_of_bands
from nesting.check.proof_directions import proven_by_directions
from nesting.check.proof_options import proven_by_options
from nesting.check.proof_premises import (
    AnyWay,
    length_alone,
    steps_of,
    ways_of,
    whole_number,
    width_left,
    within_premises,
)
from nesting.check.proof_rows import proven_rows
from nesting.check.row_weighing import WeighedSlices, heaviest_in_place, heaviest_of
from nesting.packing.problem import Problem

#: Weights and lengths beyond these are not believed: what is added up of them stays within 64 bits.
HEAVIEST, LONGEST = 2**48, 2**48
WAYS = ("upright", "turned", "upright_along", "turned_along")


@dataclass(frozen=True, slots=True)
class _Said:
    """What a certificate says, every number in its range."""

    rule: str
    weights: Mapping[int, Mapping[str, int]]
    lone: tuple[int, ...]
    refuted: int
    longest: int


def proven_length(problem: Problem, certificate: Mapping[str, Any], *, across: bool = False) -> int:
    """The length that the certificate proves no layout can undercut; 0 where it proves nothing.

    Parameters
    ----------
    problem
        One open strip and its parts; of any other nothing is proved.
    across
        It is asked of layouts cut across first only, of which band weights speak.
    certificate
        As `nesting.packing.result.Bound` carries it: ``rule``, ``weights`` (entries with ``part``,
        ``upright``, ``turned`` and at times ``copies``; for products ``upright_along``, ``turned_along``
        too), ``lone`` (parts said to lie alone in their rows) and, for columns and products, ``refuted``.

    Raises
    ------
    TypeError, ValueError, KeyError
        It has not the form of a certificate, or a number in it is no whole number.

    References
    ----------
    Weak duality of the pattern linear program: Gilmore, Gomory, Operations Research 9 (1961) 849-859.
    Products: conservative scales of Fekete, Schepers, Mathematical Methods of Operations Research 60 (2004)
    311-329.
    """
    if problem.choices:
        return proven_by_options(problem, certificate, partial(proven_length, across=across))
    if certificate.get("rule") == "rows in one piece":
        return proven_rows(problem, certificate)
    if certificate.get("rule") == "directions":
        return proven_by_directions(problem, certificate, partial(proven_length, across=across))
    said, ways = _said(problem, certificate), ways_of(problem)
    if said is None or not within_premises(problem) or not all(ways):
        return 0
    alone = length_alone(problem, ways, said.lone)
    if alone is None:
        return 0
    lone = set(said.lone)
    rest = [index for index in range(len(problem.parts)) if index not in lone]
    if said.rule in ("band weights", "band sums") and not across:
        return 0
    if said.rule == "placed row weights" and said.lone:
        return 0
    proven = _RULES[said.rule](problem, ways, rest, said) if said.rule in _RULES else None
    return 0 if proven is None else alone + proven


def _said(problem: Problem, certificate: Mapping[str, Any]) -> _Said | None:
    """The certificate read; None where a number is out of its range, or a part is named twice."""
    lone = tuple(whole_number(part) for part in certificate.get("lone", ()))
    entries = [(whole_number(entry["part"]), entry) for entry in certificate.get("weights", ())]
    known = range(len(problem.parts))
    numbers = [part for part, _ in entries]
    if any(part not in known for part in (*lone, *numbers)) or len(set(numbers)) < len(numbers):
        return None
    weights = dict[int, dict[str, int]]()
    for part, entry in entries:
        most = problem.parts[part].copies
        copies = whole_number(entry.get("copies", most))
        read = {way: whole_number(entry[way]) for way in WAYS if entry.get(way) is not None}
        if not 1 <= copies <= most or any(not 0 <= weight <= HEAVIEST for weight in read.values()):
            return None
        weights[part] = read | {"copies": copies}
    refuted, longest = (whole_number(certificate.get(key, 0)) for key in ("refuted", "longest"))
    if not (0 <= refuted <= LONGEST and 0 <= longest <= LONGEST):
        return None
    return _Said(str(certificate.get("rule")), weights, lone, refuted, longest)


def _by_rows(problem: Problem, ways: AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    _, along = steps_of(problem, ways)
    bars = list(_bars(problem, ways, rest, said.weights, rows=True))
    return _up(_ratio(bars, width_left(problem, rest)), along)


def _by_bands(problem: Problem, ways: AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = steps_of(problem, ways)
    if problem.strips[0].flaws or any(part.match for part in problem.parts):
        return None
    longest = max(1, said.longest // along)
    # In a layout no longer than that no part lies a way in which it is longer, so such a way needs no weight.
    bands = [
        Stacked(bar.part, bar.size // across, bar.count // along, bar.weight, bar.copies)
        for bar in _bars(problem, ways, rest, said.weights, rows=True)
        if bar.count // along <= longest
    ]
    proven = proven_sums_of_bands if said.rule == "band sums" else proven_bands
    return proven(bands, width_left(problem, rest) // across, longest) * along


def _by_placed_rows(problem: Problem, ways: AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = steps_of(problem, ways)
    bars = list(_bars(problem, ways, rest, said.weights, rows=True))
    heaviest = heaviest_in_place(problem, bars, across)
    return _up(_Quotient((_least_weight(bars), heaviest)), along) if heaviest else None


def _by_columns(problem: Problem, ways: AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = steps_of(problem, ways)
    width = width_left(problem, rest) // across * across
    needed = _ratio(list(_bars(problem, ways, rest, said.weights, rows=False)), said.refuted)
    return (said.refuted // along + 1) * along if needed > (width, 1) else None


def _by_products(problem: Problem, ways: AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    _, along = steps_of(problem, ways)
    rows = list(_bars(problem, ways, rest, said.weights, rows=True))
    columns = list(_bars(problem, ways, rest, said.weights, rows=False, suffix="_along"))
    room = heaviest_of(rows, width_left(problem, rest)) * heaviest_of(columns, said.refuted)
    return (said.refuted // along + 1) * along if 0 < room < _least_product(rows, columns) else None


_RULES: Mapping[str, Callable[[Problem, AnyWay, Sequence[int], _Said], int | None]] = {
    "row weights": _by_rows,
    "placed row weights": _by_placed_rows,
    "column weights": _by_columns,
    "scale products": _by_products,
    "band weights": _by_bands,
    "band sums": _by_bands,
}


class _Quotient(tuple[int, int]):
    """A fraction ``(over, under)`` compared exactly."""

    def __gt__(self, other: object) -> bool:
        if not isinstance(other, tuple):
            return NotImplemented
        return bool(self[0] * other[1] > other[0] * self[1])


def _up(quotient: _Quotient, step: int) -> int:
    """The least multiple of ``step`` not below the quotient."""
    over, under = quotient
    return -(-over // (under * step)) * step


def _ratio(bars: Sequence[WeighedSlices], capacity: int) -> _Quotient:
    """Weight of all parts over the heaviest set that fits."""
    heaviest = heaviest_of(bars, capacity)
    return _Quotient((_least_weight(bars), heaviest)) if heaviest else _Quotient((0, 1))


def _least_weight(bars: Iterable[WeighedSlices]) -> int:
    """Of all parts together, each laid the way that weighs least."""
    least: dict[int, int] = {}
    for bar in bars:
        mine = bar.weight * bar.count * bar.copies
        least[bar.part] = min(least.get(bar.part, mine), mine)
    return sum(least.values())


def _least_product(rows: Iterable[WeighedSlices], columns: Iterable[WeighedSlices]) -> int:
    """The products of both weights of all parts together, each laid the way for which it is least."""
    least: dict[int, int] = {}
    for row, column in zip(rows, columns, strict=True):
        mine = row.weight * column.weight * row.copies
        least[row.part] = min(least.get(row.part, mine), mine)
    return sum(least.values())


def _bars(
    problem: Problem,
    ways: Sequence[Sequence[tuple[int, int, bool]]],
    rest: Iterable[int],
    weights: Mapping[int, Mapping[str, int]],
    *,
    rows: bool,
    suffix: str = "",
) -> Iterable[WeighedSlices]:
    """Slices of rows or of columns, with the weights that the certificate has under names of that ending."""
    for index in rest:
        entry = weights.get(index, {})
        copies = entry.get("copies", problem.parts[index].copies)
        for width, length, turned in ways[index]:
            weight = entry.get(("turned" if turned else "upright") + suffix, 0)
            size, count = (width, length) if rows else (length, width)
            yield WeighedSlices(index, size, count, weight, copies)
