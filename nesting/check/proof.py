"""Re-proves a linear lower bound from its weights, in whole numbers, with nothing taken from the engine.

A certificate gives every part a weight for each way it may lie, counted for each unit of its length. Slice a
layout into rows: the parts that share a row lie side by side, so their weights add up to no more than the
heaviest set that fits in the strip's width, K, which an exact knapsack finds here anew. All rows together
carry the weight of all parts, each laid the way that weighs least, so there are at least total / K rows.

``rule = "row weights"`` proves a length that way. ``rule = "placed row weights"`` does the same with the
heaviest row found by going along it, the widths of a panel at the places that their pattern allows.
``rule = "column weights"`` slices along the strip and refutes one length: columns that long would have to be
more than the strip is wide. ``rule = "band weights"`` speaks of layouts cut across first only; see
`nesting.check.proof_bands`.

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

import heapq
import math
import operator
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.check.proof_bands import Stacked, proven_bands
from nesting.packing.problem import Part, Problem

#: Knapsacks over more units than this are not done again.
WIDEST = 5_000_000
#: Rows of more steps than this are not gone along again.
MOST_PLACES = 200_000
#: Up to this many copies that may turn are counted one by one.
SINGLY = 64
#: Weights and lengths beyond these are not believed: what is added up of them stays within 64 bits.
HEAVIEST, LONGEST = 2**48, 2**48
WAYS = ("upright", "turned", "upright_along", "turned_along")

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
    said, ways = _said(problem, certificate), _ways(problem)
    if said is None or not _within_premises(problem) or not all(ways):
        return 0
    alone = _length_alone(problem, ways, said.lone)
    if alone is None:
        return 0
    lone = set(said.lone)
    rest = [index for index in range(len(problem.parts)) if index not in lone]
    if said.rule == "band weights" and not across:
        return 0
    if said.rule == "placed row weights" and said.lone:
        return 0
    proven = _RULES[said.rule](problem, ways, rest, said) if said.rule in _RULES else None
    return 0 if proven is None else alone + proven


def _within_premises(problem: Problem) -> bool:
    """One open strip, every part laid, and a pattern under every part that is matched."""
    bound_to_it = any(part.match is not None for part in problem.parts)
    printed = problem.strips[0].repeat is not None
    return problem.plain_purchase and not problem.choices and (printed or not bound_to_it)


def _said(problem: Problem, certificate: Mapping[str, Any]) -> _Said | None:
    """The certificate read; None where a number is out of its range, or a part is named twice."""
    lone = tuple(_whole(part) for part in certificate.get("lone", ()))
    entries = [(_whole(entry["part"]), entry) for entry in certificate.get("weights", ())]
    known = range(len(problem.parts))
    numbers = [part for part, _ in entries]
    if any(part not in known for part in (*lone, *numbers)) or len(set(numbers)) < len(numbers):
        return None
    weights = dict[int, dict[str, int]]()
    for part, entry in entries:
        most = problem.parts[part].copies
        copies = _whole(entry.get("copies", most))
        read = {way: _whole(entry[way]) for way in WAYS if entry.get(way) is not None}
        if not 1 <= copies <= most or any(not 0 <= weight <= HEAVIEST for weight in read.values()):
            return None
        weights[part] = read | {"copies": copies}
    refuted, longest = (_whole(certificate.get(key, 0)) for key in ("refuted", "longest"))
    if not (0 <= refuted <= LONGEST and 0 <= longest <= LONGEST):
        return None
    return _Said(str(certificate.get("rule")), weights, lone, refuted, longest)


def _whole(number: object) -> int:
    """A whole number as Python has it; a yes or no is none.

    Raises
    ------
    TypeError
        It is no whole number.
    """
    if isinstance(number, bool):
        raise TypeError(f"{number}: expected a whole number")
    return operator.index(number)  # type: ignore[arg-type]


_AnyWay = Sequence[Sequence[tuple[int, int, bool]]]


def _width(problem: Problem, rest: Sequence[int]) -> int:
    """What of the strip's width is left by the margins that all these parts keep."""
    clear = [problem.parts[index].clear for index in rest] or [(0, 0)]
    return problem.strips[0].width - min(left for left, _ in clear) - min(right for _, right in clear)


def _by_rows(problem: Problem, ways: _AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    _, along = _steps(problem, ways)
    bars = list(_bars(problem, ways, rest, said.weights, rows=True))
    return _up(_ratio(bars, _width(problem, rest)), along)


def _by_bands(problem: Problem, ways: _AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = _steps(problem, ways)
    if problem.strips[0].flaws or any(part.match for part in problem.parts):
        return None
    bands = [
        Stacked(bar.part, bar.size // across, bar.count // along, bar.weight, bar.copies)
        for bar in _bars(problem, ways, rest, said.weights, rows=True)
    ]
    longest = max(1, said.longest // along)
    return proven_bands(bands, _width(problem, rest) // across, longest) * along


def _by_placed_rows(problem: Problem, ways: _AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = _steps(problem, ways)
    bars = list(_bars(problem, ways, rest, said.weights, rows=True))
    heaviest = _heaviest_in_place(problem, bars, across)
    return _up(_Quotient((_least_weight(bars), heaviest)), along) if heaviest else None


def _by_columns(problem: Problem, ways: _AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    across, along = _steps(problem, ways)
    width = _width(problem, rest) // across * across
    needed = _ratio(list(_bars(problem, ways, rest, said.weights, rows=False)), said.refuted)
    return (said.refuted // along + 1) * along if needed > (width, 1) else None


def _by_products(problem: Problem, ways: _AnyWay, rest: Sequence[int], said: _Said) -> int | None:
    _, along = _steps(problem, ways)
    rows = list(_bars(problem, ways, rest, said.weights, rows=True))
    columns = list(_bars(problem, ways, rest, said.weights, rows=False, suffix="_along"))
    room = _heaviest_of(rows, _width(problem, rest)) * _heaviest_of(columns, said.refuted)
    return (said.refuted // along + 1) * along if 0 < room < _least_product(rows, columns) else None


_RULES: Mapping[str, Callable[[Problem, _AnyWay, Sequence[int], _Said], int | None]] = {
    "row weights": _by_rows,
    "placed row weights": _by_placed_rows,
    "column weights": _by_columns,
    "scale products": _by_products,
    "band weights": _by_bands,
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
    """Where a part may begin, a width of a panel so that all of its group have room; None: anywhere."""
    strip, part = problem.strips[0], problem.parts[bar.part]
    (left, right), match = part.clear, part.match
    last = strip.width - right - bar.size
    if match is None or match.seam is None or strip.repeat is None or strip.repeat.width is None:
        return frozenset(range(left // step, last // step + 1)) if left or right else None
    column = strip.repeat.width
    group = [part for part in problem.parts if part.match is not None and part.match.seam == match.seam]
    phases = [
        phase
        for phase in range(0, column, step)
        if all(
            part.match is None
            or part.clear[0] + (phase + part.match.x - part.clear[0]) % column
            <= strip.width - part.clear[1] - part.width
            for part in group
        )
    ]
    first = {(phase + match.x) % column for phase in phases}
    return frozenset(
        x // step for start in first for x in range(start, last + 1, column) if x % step == 0 and x >= left
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
    weights: Mapping[int, Mapping[str, int]],
    *,
    rows: bool,
    suffix: str = "",
) -> Iterable[_Bars]:
    """Slices of rows or of columns, with the weights that the certificate has under names of that ending."""
    for index in rest:
        entry = weights.get(index, {})
        copies = entry.get("copies", problem.parts[index].copies)
        for width, length, turned in ways[index]:
            weight = entry.get(("turned" if turned else "upright") + suffix, 0)
            size, count = (width, length) if rows else (length, width)
            yield _Bars(index, size, count, weight, copies)


def _ways(problem: Problem) -> list[list[tuple[int, int, bool]]]:
    """``(across, along, turned)`` of every way each part may lie, its arrow group considered."""
    width = problem.strips[0].width
    ways = [
        [way for way in _any_way(part) if way[0] + sum(part.clear) <= width and (part.turnable or not way[2])]
        for part in problem.parts
    ]
    open_to = dict[str, set[bool]]()
    for part, each in zip(problem.parts, ways, strict=True):
        if part.arrow is not None:
            open_to.setdefault(part.arrow, {False, True}).intersection_update(turned for _, _, turned in each)
    ways = [
        each if part.arrow is None else [way for way in each if way[2] in open_to[part.arrow]]
        for part, each in zip(problem.parts, ways, strict=True)
    ]
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
        across.append(part.clear[0])
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
    # Of what may stand to its right, and to its left, only the narrowest with its margin can tell.
    least = [min((width for width, _, _ in each), default=0) for each in ways]
    narrow = [
        [
            (own + part.clear[side], index)
            for index, (own, part) in enumerate(zip(least, problem.parts, strict=True))
        ]
        for side in (1, 0)
    ]
    for heap in narrow:
        heapq.heapify(heap)
    gone, total = set[int](), 0
    for index in lone:
        if index in gone or len(ways[index]) != 1:
            return None
        width, length, _ = ways[index][0]
        part = problem.parts[index]
        for heap, margin in zip(narrow, part.clear, strict=True):
            beside = _narrowest(heap, gone, index if part.copies == 1 else None)
            if beside is not None and margin + width + beside <= strip.width:
                return None
        gone.add(index)
        copies = part.copies
        total += length * copies
    return total


def _narrowest(narrow: list[tuple[int, int]], gone: Collection[int], but: int | None) -> int | None:
    """The least width on a heap of ``(width, index)`` but for that index; what is gone leaves the heap."""
    aside = None
    while narrow and (narrow[0][1] in gone or narrow[0][1] == but):
        top = heapq.heappop(narrow)
        aside = top if top[1] == but else aside
    least = narrow[0][0] if narrow else None
    if aside is not None:
        heapq.heappush(narrow, aside)
    return least
