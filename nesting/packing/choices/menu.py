"""A problem's choices made ready: what is laid in any case, and what of each choice can be laid at all.

Three reductions, each with its argument:

* **impossible options.** An option with a part that fits in no direction, or whose seam group has no room
  in any phase, is in no layout.
* **equal options.** Options whose parts are equal but for their names lead to equal layouts; the first stands
  for all. Seam groups that lie wholly within their options may change names.
* **equal selections.** The same holds for whole selections, such as two equal windows with their plans
  exchanged; see `Menu.signature`.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from nesting.errors import ProblemError
from nesting.packing.problem import Choice, Part, Problem
from nesting.packing.reduce import Core, Kind, reduce
from nesting.packing.result import Placement
from nesting.packing.searches.bed import SeamRoom

Selection = tuple[int, ...]
"""For each choice, which of its offers is taken."""


@dataclass(frozen=True, slots=True)
class OpenOption:
    """One option that can be laid: its ``number`` in the choice, and its parts."""

    number: int
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Menu:
    """The problem, the parts laid ``always``, and for each choice its ``offers``, the preferred first.

    ``alike`` has a number for each part, the same for parts that are equal but for their names and copies.
    """

    problem: Problem
    always: tuple[int, ...]
    offers: tuple[tuple[OpenOption, ...], ...]
    alike: tuple[int, ...]

    @property
    def plain(self) -> Selection:
        """The first offer of every choice."""
        return (0,) * len(self.offers)

    @property
    def count(self) -> int:
        """How many selections there are."""
        return math.prod(len(offers) for offers in self.offers)

    def selections(self) -> Iterator[Selection]:
        """Every selection, those with the fewest departures from the plain one first."""
        for departures in range(len(self.offers) + 1):
            for where in itertools.combinations(range(len(self.offers)), departures):
                for taken in itertools.product(*(range(1, len(self.offers[at])) for at in where)):
                    others = dict(zip(where, taken, strict=True))
                    yield tuple(others.get(at, 0) for at in range(len(self.offers)))

    def parts(self, selection: Selection) -> tuple[int, ...]:
        """What is laid."""
        taken = (offers[at].parts for offers, at in zip(self.offers, selection, strict=True))
        return tuple(sorted((*self.always, *itertools.chain(*taken))))

    def core(self, selection: Selection) -> Core | None:
        """The selection as an ordinary problem, made smaller; its members name parts of the whole problem.

        None where its parts cannot lie together.
        """
        numbers = self.parts(selection)
        core = core_of(self.problem, numbers)
        if core is None:
            return None
        kinds, lone = _renumbered(core.kinds, numbers), _renumbered(core.lone, numbers)
        return replace(core, kinds=kinds, lone=lone)

    def signature(self, selection: Selection) -> object:
        """Equal for selections whose parts are equal but for their names."""
        return _signature(self.problem, self.parts(selection), self.alike)

    def taken(self, parts: Collection[int]) -> Selection:
        """The selection whose parts these are."""
        found = []
        for offers in self.offers:
            mine = {part for offer in offers for part in offer.parts}.intersection(parts)
            found.append(next(at for at, offer in enumerate(offers) if set(offer.parts) == mine))
        return tuple(found)

    def laid(self, placements: Iterable[Placement]) -> tuple[int, ...]:
        """The option of each choice that a layout holds, as the problem numbers them."""
        taken = self.taken({placement.part for placement in placements})
        return tuple(offers[at].number for offers, at in zip(self.offers, taken, strict=True))


def menu_of(problem: Problem) -> Menu | None:
    """The choices made ready; None where one of them has no option that can be laid.

    Raises
    ------
    ProblemError
        A choice has no options, or names a part that does not exist, that another choice names, or twice.
    """
    require_sound(problem)
    taken = {part for choice in problem.choices for option in choice.options for part in option}
    always = tuple(part for part in range(len(problem.parts)) if part not in taken)
    seams, classes = Counter(map(_seam, problem.parts)), dict[Part, int]()
    alike = tuple(classes.setdefault(_bare(part), len(classes)) for part in problem.parts)
    offers = tuple(_offers(problem, choice, seams, alike) for choice in problem.choices)
    if not all(offers) or core_of(problem, always) is None:
        return None
    return Menu(problem, always, offers, alike)


def core_of(problem: Problem, numbers: Sequence[int]) -> Core | None:
    """Some of the parts as an ordinary problem; None where they cannot lie together."""
    parts = tuple(problem.parts[number] for number in numbers)
    core = reduce(replace(problem, parts=parts, choices=()))
    if core is None or core.repeat is None or core.repeat.width is None:
        return core
    room = SeamRoom(core)
    return core if all(room.phases(seam) for seam in room.seams) else None


def require_sound(problem: Problem) -> None:
    """Refuse choices that name no parts, parts that do not exist, or parts twice.

    Raises
    ------
    ProblemError
        Names the choice and what is accepted.
    """
    seen: dict[int, str] = {}
    for choice in problem.choices:
        if not choice.options:
            raise ProblemError(f'choice "{choice.name}": expected at least one option')
        for option in choice.options:
            if len(set(option)) < len(option):
                raise ProblemError(f'choice "{choice.name}": option {option} names a part twice')
            for part in option:
                if part not in range(len(problem.parts)):
                    raise ProblemError(
                        f'choice "{choice.name}": part {part}: expected 0 to {len(problem.parts) - 1}'
                    )
                if seen.setdefault(part, choice.name) != choice.name:
                    raise ProblemError(
                        f'part "{problem.parts[part].name}" stands in two choices, "{seen[part]}" and '
                        f'"{choice.name}": expected parts of its own for each choice'
                    )


def _offers(
    problem: Problem, choice: Choice, seams: Counter[str | None], alike: Sequence[int]
) -> tuple[OpenOption, ...]:
    """The options that can be laid, of equal ones the first; ``seams`` of all parts of the problem."""
    mine = {part for option in choice.options for part in option}
    own = Counter(_seam(problem.parts[number]) for number in mine)
    others = {seam for seam in own if seams[seam] > own[seam]}
    found: dict[object, OpenOption] = {}
    for number, option in enumerate(choice.options):
        if core_of(problem, option) is not None:
            found.setdefault(_signature(problem, option, alike, others), OpenOption(number, option))
    return tuple(found.values())


def _bare(part: Part) -> Part:
    """A part without its names and copies."""
    return replace(part, name="", copies=1, match=part.match and replace(part.match, seam=None))


def _signature(
    problem: Problem, numbers: Iterable[int], alike: Sequence[int], named: Collection[str | None] = ()
) -> object:
    """Equal for sets of parts that are equal but for their names; ``alike`` as in `Menu`.

    Seam groups lose their names, but for those in ``named``.
    """
    loose: Counter[object] = Counter()
    groups: dict[str, Counter[object]] = defaultdict(Counter)
    for number in numbers:
        part = problem.parts[number]
        bare, seam = alike[number], _seam(part)
        if seam is None or seam in named:
            loose[bare, seam] += part.copies
        else:
            groups[seam][bare] += part.copies
    sets = Counter(frozenset(group.items()) for group in groups.values())
    return frozenset(loose.items()), frozenset(sets.items())


def _seam(part: Part) -> str | None:
    return None if part.match is None else part.match.seam


def _renumbered(kinds: Iterable[Kind], numbers: Sequence[int]) -> tuple[Kind, ...]:
    """Kinds whose members name the parts of the whole problem."""
    return tuple(
        replace(kind, members=tuple((numbers[part], copy) for part, copy in kind.members)) for kind in kinds
    )
