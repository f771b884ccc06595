"""Re-proves a linear lower bound from its weights, in whole numbers, with nothing taken from the engine.

A certificate gives every part a weight for each way it may lie, counted for each unit of its length. Slice a
layout into rows: the parts that share a row lie side by side, so their weights add up to no more than the
heaviest set that fits in the strip's width, K, which an exact knapsack finds here anew. All rows together
carry the weight of all parts, each laid the way that weighs least, so there are at least total / K rows.

``rule = "row weights"`` proves a length that way. ``rule = "placed row weights"`` does the same with the
heaviest row found by going along it, the widths of a panel at the places that their design allows.
``rule = "column weights"`` slices along the strip and refutes one length: columns that long would have to be
more than the strip is wide. ``rule = "band weights"`` speaks of layouts cut across first only; see
`nesting.proof_bands`.

``rule = "scale products"`` gives each way a second weight, for the length, and refutes one length. Let u be
the heaviest set that fits side by side in the strip, by the first weights, and v the heaviest that fits one
after another in the length, by the second. A layout stays one when each part takes its weights for sizes, in
a strip of width u and length v: push the parts to the left and to the squared end in the order they have; no
row becomes wider than u then, no column longer than v. So the products of the weights, each part laid the
way for which it is least, add up to u v at most. Where they add up to more no layout is so long, or shorter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.packing.problem import Part, Problem
from nesting.proof_bands import Stacked, proven_bands

#: Knapsacks over more units than this are not done again.
WIDEST = 5_000_000
#: Rows of more steps than this are not gone along again.
MOST_PLACES = 200_000
#: Up to this many copies that may turn are counted one by one.
SINGLY = 64

Sizes = tuple[int, int]
"""Across and along, as laid."""


@dataclass(frozen=True, slots=True)
class _Bars:
    """One part, one way: ``size`` takes room, ``count`` slices of ``weight`` each, of ``copies`` parts."""

    part: int
    size: int
    count: int
    weight: int
    copies: int


def proven_length(problem: Problem, certificate: Mapping[str, Any]) -> int:
    """The length that the certificate proves no layout can undercut; 0 where it proves nothing.

    Parameters
    ----------
    problem
        One open strip and its parts.
    certificate
        As `nesting.packing.result.Bound` carries it: ``rule``, ``weights`` (entries with ``part``,
        ``upright``, ``turned`` and at times ``copies``; for products ``upright_along``, ``turned_along``
        too), ``lone`` (parts said to lie alone in their rows) and, for columns and products, ``refuted``.

    References
    ----------
    Weak duality of the pattern linear program: Gilmore, Gomory, Operations Research 9 (1961) 849-859.
    Products: conservative scales of Fekete, Schepers, Mathematical Methods of Operations Research 60 (2004)
    311-329.
    """
    ways = _ways(problem)
    if not all(ways):
        return 0
    across, along = _steps(problem, ways)
    lone = [int(part) for part in certificate.get("lone", ())]
    alone = _length_alone(problem, ways, lone)
    if alone is None:
        return 0
    rest = [index for index in range(len(problem.parts)) if index not in set(lone)]
    weights = {int(entry["part"]): entry for entry in certificate.get("weights", ())}
    if certificate.get("rule") == "row weights":
        bars = list(_bars(problem, ways, rest, weights, rows=True))
        return alone + _up(_ratio(bars, problem.strips[0].width), along)
    if certificate.get("rule") == "band weights":
        bands = [
            Stacked(bar.part, bar.size // across, bar.count // along, bar.weight, bar.copies)
            for bar in _bars(problem, ways, rest, weights, rows=True)
        ]
        if problem.strips[0].flaws or any(part.match for part in problem.parts):
            return 0
        longest = max(1, int(certificate["longest"]) // along)
        return alone + proven_bands(bands, problem.strips[0].width // across, longest) * along
    if certificate.get("rule") == "placed row weights" and not lone:
        bars = list(_bars(problem, ways, rest, weights, rows=True))
        heaviest = _heaviest_in_place(problem, bars, across)
        return _up(_Quotient((_least_weight(bars), heaviest)), along) if heaviest else 0
    if certificate.get("rule") == "column weights":
        refuted = int(certificate["refuted"])
        width = problem.strips[0].width // across * across
        needed = _ratio(list(_bars(problem, ways, rest, weights, rows=False)), refuted)
        return alone + (refuted // along + 1) * along if needed > (width, 1) else 0
    if certificate.get("rule") == "scale products":
        refuted = int(certificate["refuted"])
        rows = list(_bars(problem, ways, rest, weights, rows=True))
        columns = list(_bars(problem, ways, rest, weights, rows=False, suffix="_along"))
        room = _heaviest_of(rows, problem.strips[0].width) * _heaviest_of(columns, refuted)
        return alone + (refuted // along + 1) * along if 0 < room < _least_product(rows, columns) else 0
    return 0


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


def _ratio(bars: Sequence[_Bars], capacity: int) -> _Quotient:
    """Weight of all parts over the heaviest set that fits."""
    heaviest = _heaviest_of(bars, capacity)
    return _Quotient((_least_weight(bars), heaviest)) if heaviest else _Quotient((0, 1))


def _heaviest_of(bars: Iterable[_Bars], capacity: int) -> int:
    """The largest weight that fits; 0 where nothing weighs anything or it cannot be worked out."""
    by_part: dict[int, list[_Bars]] = {}
    for bar in bars:
        if bar.weight:
            by_part.setdefault(bar.part, []).append(bar)
    return _heaviest(capacity, list(by_part.values()))


def _least_weight(bars: Iterable[_Bars]) -> int:
    """Of all parts together, each laid the way that weighs least."""
    least: dict[int, int] = {}
    for bar in bars:
        mine = bar.weight * bar.count * bar.copies
        least[bar.part] = min(least.get(bar.part, mine), mine)
    return sum(least.values())


def _least_product(rows: Iterable[_Bars], columns: Iterable[_Bars]) -> int:
    """The products of both weights of all parts together, each laid the way for which it is least."""
    least: dict[int, int] = {}
    for row, column in zip(rows, columns, strict=True):
        mine = row.weight * column.weight * row.copies
        least[row.part] = min(least.get(row.part, mine), mine)
    return sum(least.values())


def _heaviest_in_place(problem: Problem, bars: Sequence[_Bars], step: int) -> int:
    """The largest weight side by side in one row at places allowed, each bar as often as it has room."""
    strip = problem.strips[0]
    width = strip.width // step
    if width > MOST_PLACES:
        return 0
    best = [0] * (width + 1)
    starts = [(bar.size // step, bar.weight, _places(problem, bar, step)) for bar in bars if bar.weight]
    for end in range(1, width + 1):
        best[end] = best[end - 1]
        for size, weight, allowed in starts:
            at = end - size
            if at >= 0 and (allowed is None or at in allowed):
                best[end] = max(best[end], best[at] + weight)
    return best[width]


def _places(problem: Problem, bar: _Bars, step: int) -> frozenset[int] | None:
    """Where a width of a panel may begin so that all widths of its seam group have room; None: anywhere."""
    strip, match = problem.strips[0], problem.parts[bar.part].match
    if match is None or match.seam is None or strip.repeat is None or strip.repeat.width is None:
        return None
    column = strip.repeat.width
    group = [part for part in problem.parts if part.match is not None and part.match.seam == match.seam]
    phases = [
        phase
        for phase in range(0, column, step)
        if all(
            part.match is None or (phase + part.match.x) % column + part.width <= strip.width
            for part in group
        )
    ]
    first = {(phase + match.x) % column for phase in phases}
    return frozenset(
        x // step
        for start in first
        for x in range(start, strip.width - bar.size + 1, column)
        if x % step == 0
    )


def _heaviest(capacity: int, parts: Sequence[Sequence[_Bars]]) -> int:
    """The largest weight that fits, each copy in one of its ways; 0 where it cannot be worked out."""
    every = [bar for ways in parts for bar in ways]
    unit = math.gcd(*(bar.size for bar in every)) if every else 1
    room = capacity // unit
    if room > WIDEST or sum(bar.weight * bar.copies for bar in every) >= 2**62:
        return 0
    best = np.zeros(room + 1, dtype=np.int64)
    for ways in parts:
        if len(ways) > 1 and ways[0].copies <= SINGLY:
            for _ in range(ways[0].copies):
                best = np.maximum.reduce([best, *(_with(best, bar.size // unit, bar.weight) for bar in ways)])
            continue
        # Copies in blocks of 1, 2, 4, ...: every number of them is a sum of blocks. With two ways and many
        # copies each way is counted for itself, which can only weigh more and prove less.
        for bar in ways:
            left, block = min(bar.copies, capacity // bar.size), 1
            while left > 0:
                taken = min(block, left)
                best = np.maximum(best, _with(best, taken * (bar.size // unit), taken * bar.weight))
                left, block = left - taken, block * 2
    return int(best[room])


def _with(best: npt.NDArray[np.int64], size: int, weight: int) -> npt.NDArray[np.int64]:
    """The best weights with one more item of that size."""
    more = np.zeros_like(best)
    if size < len(best):
        more[size:] = best[: len(best) - size] + weight
    return more


def _bars(
    problem: Problem,
    ways: Sequence[Sequence[tuple[int, int, bool]]],
    rest: Iterable[int],
    weights: Mapping[int, Mapping[str, Any]],
    *,
    rows: bool,
    suffix: str = "",
) -> Iterable[_Bars]:
    """Slices of rows or of columns, with the weights that the certificate has under names of that ending."""
    for index in rest:
        entry = weights.get(index, {})
        copies = min(problem.parts[index].copies, int(entry.get("copies", problem.parts[index].copies)))
        for width, length, turned in ways[index]:
            weight = max(0, int(entry.get(("turned" if turned else "upright") + suffix) or 0))
            size, count = (width, length) if rows else (length, width)
            yield _Bars(index, size, count, weight, copies)


def _ways(problem: Problem) -> list[list[tuple[int, int, bool]]]:
    """``(across, along, turned)`` of every way each part may lie, its arrow group considered."""
    width = problem.strips[0].width
    ways = [
        [way for way in _any_way(part) if way[0] <= width and (part.turnable or not way[2])]
        for part in problem.parts
    ]
    for index, part in enumerate(problem.parts):
        if part.arrow is not None:
            for other, same in zip(ways, problem.parts, strict=True):
                if same.arrow == part.arrow:
                    open_to = {turned for _, _, turned in other}
                    ways[index] = [way for way in ways[index] if way[2] in open_to]
    # A square lies the same either way.
    return [each[:1] if len({way[:2] for way in each}) == 1 else each for each in ways]


def _any_way(part: Part) -> list[tuple[int, int, bool]]:
    return [(part.width, part.length, False), (part.length, part.width, True)]


def _steps(problem: Problem, ways: Sequence[Sequence[tuple[int, int, bool]]]) -> Sizes:
    """The common divisors across and along: every layout can be moved onto their multiples, never longer."""
    strip = problem.strips[0]
    across = [width for each in ways for width, _, _ in each]
    along = [length for each in ways for _, length, _ in each]
    for part in problem.parts:
        if part.match is not None:
            across.append(part.match.x)
            along.append(part.match.y)
    for flaw in strip.flaws:
        across += [flaw.x, flaw.width]
        along += [flaw.y, flaw.length]
    if strip.repeat is not None:
        across.append(strip.repeat.width or 0)
        along += [strip.repeat.length, int(strip.repeat.drop * strip.repeat.length)]
    along.append(strip.start or 0)
    if any(len(each) > 1 for each in ways):
        both = math.gcd(*across, *along) or 1
        return both, both
    return math.gcd(*across) or 1, math.gcd(*along) or 1


def _length_alone(
    problem: Problem, ways: Sequence[Sequence[tuple[int, int, bool]]], lone: Sequence[int]
) -> int | None:
    """What the lone parts take one after another; None unless each has its rows to itself."""
    strip = problem.strips[0]
    if lone and (strip.flaws or any(part.match for part in problem.parts)):
        return None
    left, total = set(range(len(problem.parts))), 0
    for index in lone:
        if index not in left or len(ways[index]) != 1:
            return None
        width, length, _ = ways[index][0]
        copies = problem.parts[index].copies
        beside = [w for other in left if other != index or copies > 1 for w, _, _ in ways[other]]
        if any(w + width <= strip.width for w in beside):
            return None
        left.discard(index)
        total += length * copies
    return total
