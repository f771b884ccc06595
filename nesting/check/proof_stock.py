"""Re-proves a stage of lengths on hand by cases, each closed by sums or by what a stretch does not hold.

A certificate of the rule ``stock cases`` says that no layout which is as good in the stages before is better
in one stage than a bound. Its ``cases`` are gone through in order. One that names an unknown of
`nesting.check.stock_sums` and a number has two cases behind it: the unknown is that much at most, or more.
What follows at once from that, such as that a stretch is cut into where something lies in it, is drawn here
(`narrowed`), and a case in which nothing is left is none. Every other case is closed, in one of two ways:

* by ``sums``: rows of `nesting.check.stock_sums`, each times a whole number (of those that are no equations
  0 or more), are added up. If what stands on the left is more than what stands on the right even at its
  least, each unknown being anywhere in its case, there is no such layout.
* by what is ``filled``: so many copies of parts at least lie in a stretch that may be cut into so far at
  most, and they take more: by a certificate of one open strip (`nesting.check.proof`), or where all places
  are tried, with the flaws where they are (`nesting.check.proof_places`).

Nothing rests on a float, and nothing is taken from the search that wrote the cases.

References
----------
Neumaier, Shcherbina, Mathematical Programming 99 (2004) 283-296 (safe bounds by the least of each unknown).
Cheung, Gleixner, Steffy, "Verifying integer programming results", IPCO 2017,
doi:10.1007/978-3-319-59250-3_13.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from nesting.check.proof import proven_length
from nesting.check.proof_places import require_no_places
from nesting.check.proof_premises import whole_number
from nesting.check.stock_steps import UnfoundedError, require
from nesting.check.stock_sums import Box, StockRow, StockSums, Unknown
from nesting.packing.problem import Problem
from nesting.packing.result import Aim

RULE: Final = "stock cases"
#: The rule of a stretch in which all places are tried, its flaws where they are.
TRIED: Final = "places tried out"
#: More cases are not gone through, and larger numbers not believed.
MOST_CASES: Final = 200_000
LARGEST: Final = 2**100
#: So often all is drawn that follows of a box, at most.
ROUNDS: Final = 5
#: What proves a stage of which nothing need be known but how much there is.
PLAIN: Final[Mapping[str, Any]] = {"rule": RULE, "cases": ({"sums": ()},)}


def proven_stages(problem: Problem, stages: Sequence[Aim]) -> tuple[bool, ...]:
    """Of each stage whether it is proved that no layout as good in those before it is better than its bound.

    A certificate that has not the form of one proves nothing.
    """
    return tuple(proven_stage(problem, stages[: at + 1]) for at in range(len(stages)))


def proven_stage(problem: Problem, stages: Sequence[Aim]) -> bool:
    """The same of the last of these stages, by its certificate, or by how much there is at all."""
    said = [PLAIN, *([] if stages[-1].certificate is None else [stages[-1].certificate])]
    return any(_proves(problem, stages, each) for each in said)


def _proves(problem: Problem, stages: Sequence[Aim], certificate: Mapping[str, Any]) -> bool:
    try:
        require(certificate["rule"] == RULE)
        _StageCases(StockSums(problem, stages), certificate).require_all_closed()
    except (UnfoundedError, AttributeError, LookupError, TypeError, ValueError, OverflowError):
        return False
    return True


class _StageCases:
    """A certificate on its way through its cases."""

    def __init__(self, sums: StockSums, certificate: Mapping[str, Any]) -> None:
        self._sums = sums
        self._cases = certificate["cases"]
        self._weights = certificate.get("weights", ())
        self._filled = certificate.get("filled", ())
        self._weighed: dict[int, StockRow] = {}
        self._holding: dict[int, tuple[int, list[tuple[Unknown, int]], int]] = {}
        require(len(self._cases) <= MOST_CASES)

    def require_all_closed(self) -> None:
        """No case is left in which a layout could be."""
        left = [narrowed(self._sums, self._sums.box)]
        for case in self._cases:
            require(bool(left))
            box = left.pop()
            if "most" in case:
                name, most = _key(case["of"]), _number(case["most"])
                require(name in self._sums.box)
                left += self._parted(box, name, most)
            elif box is None:
                continue
            elif "filled" in case:
                self._require_overfull(_number(case["filled"]), box)
            else:
                require(self._contradicts(case["sums"], box))
        require(not left)

    def _parted(self, box: Box | None, name: Unknown, most: int) -> tuple[Box | None, Box | None]:
        """An unknown is more than a number, or that much at most, which is looked at first."""
        if box is None:
            return None, None
        low, high = box[name]
        above, below = {**box, name: (max(low, most + 1), high)}, {**box, name: (low, min(high, most))}
        return narrowed(self._sums, above), narrowed(self._sums, below)

    def _contradicts(self, listed: Iterable[Any], box: Box) -> bool:
        """Whether rows times numbers add up to what no numbers in the box fulfill."""
        weights, most = dict[Unknown, int](), 0
        for said, times in listed:
            row, factor = self._row(_key(said), box), _number(times)
            require(factor >= 0 or row.exact)
            most += factor * row.most
            for name, weight in row.weights.items():
                weights[name] = weights.get(name, 0) + factor * weight
        return sum(weight * box[name][weight < 0] for name, weight in weights.items()) > most

    def _row(self, key: Unknown, box: Box) -> StockRow:
        if key[0] != "weighed":
            return self._sums.row(key, box)
        (number,) = key[1:]
        require(0 <= number < len(self._weights))
        if number not in self._weighed:
            said = self._weights[number]
            self._weighed[number] = self._sums.weighed(
                _number(said["stretch"]), _listed(said["across"]), _listed(said["along"])
            )
        return self._weighed[number]

    def _require_overfull(self, number: int, box: Box) -> None:
        """What lies in a stretch at least takes more than it may be cut into."""
        require(0 <= number < len(self._filled))
        if number not in self._holding:
            self._holding[number] = self._proven(self._filled[number])
        stretch, laid, longest = self._holding[number]
        require(box["end", stretch][1] <= longest)
        require(all(box[name][0] >= copies for name, copies in laid))

    def _proven(self, said: Mapping[str, Any]) -> tuple[int, list[tuple[Unknown, int]], int]:
        stretch, longest = _number(said["stretch"]), _number(said["longest"])
        parts = [tuple(_number(number) for number in part) for part in said["parts"]]
        require(longest >= 0 and 0 <= stretch < len(self._sums.stretches))
        laid = [(("lies", index, turned, stretch), copies) for index, turned, copies in parts]
        require(len({name for name, _ in laid}) == len(laid))
        for name, copies in laid:
            require(name in self._sums.box and 0 < copies <= self._sums.box[name][1])
        ways = [(at, bool(turned), many) for at, turned, many in parts]
        alone, proof = self._sums.alone(stretch, ways, longest), said["certificate"]
        if proof["rule"] == TRIED:
            flaws = self._sums.stretches[stretch].flaws
            require_no_places(alone.strips[0].width, longest, alone.parts[: len(ways)], flaws)
        else:
            require(proven_length(alone, proof) > longest)
        return stretch, laid, longest


def narrowed(sums: StockSums, box: Box) -> Box | None:
    """What follows of a box; None where nothing is left in it.

    None reaches further than its strip, nothing lies where it would reach further, and where something lies
    its stretch is cut into as far as it reaches. And in each row no unknown may be more, or less, than all
    others allow at their least.

    References
    ----------
    Savelsbergh, ORSA J. Computing 6 (1994) 445-454.
    """
    found = dict(box)
    for _ in range(ROUNDS):
        before = dict(found)
        for number, stretch in enumerate(sums.stretches):
            low, high = found["end", number]
            found["end", number] = low, min(high, max(0, found["cut", stretch.strip][1] - stretch.begin))
        for name, reach in sums.reach.items():
            low, high = found["end", name[3]]
            if reach > high:
                found[name] = found[name][0], min(found[name][1], 0)
            if found[name][0] > 0:
                found["end", name[3]] = max(low, reach), high
        for row in sums.narrowing:
            if not _narrow(row.weights, row.most, found):
                return None
            if row.exact and not _narrow({name: -by for name, by in row.weights.items()}, -row.most, found):
                return None
        if found == before:
            break
    return None if any(low > high for low, high in found.values()) else found


def _narrow(weights: Mapping[Unknown, int], most: int, box: Box) -> bool:
    """Narrow a box by one row; False where the row cannot be kept in it."""
    left = most - sum(weight * box[name][weight < 0] for name, weight in weights.items())
    for name, weight in weights.items() if left >= 0 else ():
        low, high = box[name]
        box[name] = (
            (low, min(high, low + left // weight)) if weight > 0 else (max(low, high - left // -weight), high)
        )
    return left >= 0


def _number(said: object) -> int:
    number = whole_number(said)
    require(abs(number) <= LARGEST)
    return number


def _key(said: Iterable[Any]) -> Unknown:
    """A name of whole numbers and words, as a document lists it."""
    require(not isinstance(said, str))
    return tuple(each if isinstance(each, str) else whole_number(each) for each in said)


def _listed(said: Iterable[Any] | None) -> dict[tuple[int, int], int] | None:
    """Weights by part and way; None: the sizes themselves."""
    if said is None:
        return None
    entries = [tuple(_number(number) for number in entry) for entry in said]
    found = {(part, turned): weight for part, turned, weight in entries}
    require(len(found) == len(entries))
    return found
