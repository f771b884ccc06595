"""The order of work as data: which bound or search has its turn when, and how much of the budget it may use.

A stage names a bound of `nesting.packing.bounds.BOUNDS` or a search of `nesting.packing.searches.SEARCHES`.
Other numbers and shares come from TOML by `load_params`; stages are switched off by name.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any

from nesting.errors import ProblemError


class When(StrEnum):
    """When a stage has its turn.

    ``AT_ONCE``: first of all, once for each case, whatever is left of the budget. ``BEFORE``: once, before
    the first round. ``ALONE``: in each round, while no companion thread searches. ``ROUND``: in each round,
    with less and less time while it brings nothing. ``BESIDE``: the same, while a companion searches.
    ``AFTER``: once, after the first round. ``COMPANION``: in the companion thread, in turn.
    """

    AT_ONCE = "at once"
    BEFORE = "before"
    ALONE = "alone"
    ROUND = "round"
    BESIDE = "beside"
    AFTER = "after"
    COMPANION = "companion"


@dataclass(frozen=True, slots=True)
class TimeShare:
    """How many seconds, or units of work, a turn may take: the least of what is given.

    Attributes
    ----------
    slices
        Times the slice of the round, which grows from round to round.
    most
        Of what is left of the budget.
    seconds
        Whatever is left.
    """

    slices: float | None = None
    most: float | None = None
    seconds: float | None = None

    def of(self, left: float, slice_: float) -> float:
        """In seconds, or units of work."""
        limits = [] if self.slices is None else [self.slices * slice_]
        limits += [] if self.most is None else [self.most * left]
        limits += [] if self.seconds is None else [self.seconds]
        return min(limits, default=left)


@dataclass(frozen=True, slots=True)
class Stage:
    """One place in the order of work.

    Attributes
    ----------
    search
        The name of a bound or a search.
    share
        How long a turn is.
    when
        Its place.
    printed
        How long a turn is where a pattern, flaws or margins bind parts; None: as long.
    luck
        Stages of one search with the same luck go on with one state, with other luck they begin apart.
    """

    search: str
    share: TimeShare
    when: When
    printed: TimeShare | None = None
    luck: int = 0


_PROBE = TimeShare(most=0.05)
_TURN = TimeShare(slices=1, most=0.3)

USUAL = TimeShare(slices=1, most=0.05)
"""A turn of what is registered and has no stage."""

SCHEDULE: tuple[Stage, ...] = (
    Stage("tallest part", _PROBE, When.AT_ONCE),
    Stage("area", _PROBE, When.AT_ONCE),
    Stage("pieces too wide to lie side by side", _PROBE, When.AT_ONCE),
    Stage("first layouts", TimeShare(most=0.2), When.AT_ONCE),
    Stage("bars", TimeShare(most=0.15), When.AT_ONCE),
    Stage("levels first", TimeShare(slices=8, most=0.3), When.BEFORE),
    Stage("bars in place", _PROBE, When.BEFORE),
    Stage("waits for the repeat", TimeShare(slices=1, most=0.04), When.BEFORE),
    Stage("pairs of scales", TimeShare(seconds=1, most=0.03), When.BEFORE),
    Stage("rows in one piece", TimeShare(2, 0.15), When.BEFORE, printed=TimeShare(4, 0.25)),
    Stage("orders", _TURN, When.ALONE),
    Stage("side by side", _TURN, When.ALONE),
    Stage("fixed length", _TURN, When.ALONE),
    Stage("niches", _TURN, When.ALONE),
    Stage("levels first", TimeShare(slices=8, most=0.3), When.ROUND),
    Stage("waits for the repeat", TimeShare(slices=1, most=0.04), When.ROUND),
    Stage("rows first", TimeShare(slices=2, most=0.2), When.ROUND),
    Stage("neighborhoods", TimeShare(slices=2, most=0.2), When.ROUND),
    Stage("rows in one piece", TimeShare(2, 0.15), When.ROUND, printed=TimeShare(4, 0.25)),
    Stage("model at the bound", TimeShare(slices=1, most=0.4), When.ROUND),
    Stage("whole model", TimeShare(slices=2, most=1), When.ROUND),
    Stage("side by side", TimeShare(slices=2, most=0.2), When.BESIDE, luck=1),
    Stage("rows of subsets", TimeShare(most=0.08), When.AFTER),
    Stage("bars along the strip", _PROBE, When.AFTER),
    Stage("orders", TimeShare(seconds=1), When.COMPANION),
    Stage("side by side", TimeShare(seconds=1), When.COMPANION),
    Stage("rows first", TimeShare(seconds=1), When.COMPANION, luck=1),
    Stage("fixed length", TimeShare(seconds=2), When.COMPANION),
    Stage("niches", TimeShare(seconds=1), When.COMPANION),
)
"""What is done for one open strip, in this order."""


@dataclass(frozen=True, slots=True)
class Params:
    """The numbers by which the engine orders its work.

    Attributes
    ----------
    stages
        In order.
    off
        Names of bounds and searches that have no turn.
    first_slice, growth
        Seconds, or units of work, of a slice in the first round; and how many times as long the next one is.
    least_credit
        In a round a stage that brings nothing has half the time, but this part of its due at least.
    least_companion_credit
        The same in the companion thread.
    companion_turns
        A search of the companion, or a way of searching selections, that has just found something shorter
        goes on, so many turns in all.
    most_in_model
        With more rectangles than this no model in two dimensions is built.
    tight
        Niches are searched when at most this part of the fabric would stay unused.
    near
        Under a repeat, a layout at the bound is asked for when the best is at most this part longer.
    most_placed_singly
        With more rectangles than this, on plain fabric, only shelves are laid at first.
    most_split
        With more open arrow groups than this the directions are left to the solver, not tried one by one.
    plain
        Of choices, the part of the budget for the plain selection.
    lightest, anew, exchange, carried, others, of_all
        Of what is then left, how many slices of a round each way of searching on is due: the selection that
        the linear bounds take to be shortest; the order of the best layout; options exchanged in it; its
        selection with all that the ordinary search has; other selections so; the solver over all of them,
        by rows and by places. See `nesting.packing.choices.allotment`.
    apart
        The same for all that are left, each a case, where they are few: the order of the best layout, and
        options exchanged in it, have half of theirs then.
    linear
        The part that the linear program over all selections may take.
    choices_round
        The part of what is then left that is the slice of the first round; it grows by ``growth``.
    closer
        So many of the best selections are searched together.
    most_apart
        So many selections are searched each as a case of its own.
    most_listed
        So many are looked at one by one, to see which are left.
    certificate, least_certificate
        What may be spent after the search, as a part of the budget, to write down the proof of an optimal
        length that has no certificate: of what is left, and where nothing is.
    most_certificate
        Seconds, or units of work, that it may take at most.
    most_in_rows_of_choices, most_in_places_of_choices
        With more rectangles than this there is no model of all selections, of rows and of places.
    """

    stages: tuple[Stage, ...] = SCHEDULE
    off: frozenset[str] = frozenset()
    first_slice: float = 0.5
    growth: float = 2
    least_credit: float = 0.1
    least_companion_credit: float = 0.25
    companion_turns: int = 3
    most_in_model: int = 400
    tight: float = 0.04
    near: float = 0.01
    most_placed_singly: int = 500
    most_split: int = 3
    plain: float = 0.5
    lightest: float = 2
    anew: float = 2
    exchange: float = 2
    carried: float = 0.5
    others: float = 0.5
    of_all: float = 0.25
    apart: float = 4
    linear: float = 0.1
    choices_round: float = 0.15
    closer: int = 3
    most_apart: int = 12
    most_listed: int = 4096
    certificate: float = 0.1
    least_certificate: float = 0.02
    most_certificate: float = 5.0
    most_in_rows_of_choices: int = 300
    most_in_places_of_choices: int = 100

    def at(self, when: When) -> Iterator[Stage]:
        """The stages of that place that are not switched off."""
        return (stage for stage in self.stages if stage.when is when and stage.search not in self.off)

    def without(self, *names: str) -> Params:
        """The same with these bounds and searches switched off."""
        return replace(self, off=self.off | set(names))


PARAMS = Params()
"""As the engine is tuned."""

_NUMBERS = {field.name: field.type for field in fields(Params) if field.name not in ("stages", "off")}


def load_params(text: str) -> Params:
    """Tuning numbers from TOML; what is not named stays as it is.

    ``off = ["niches"]`` switches stages off, ``first_slice = 1.0`` and the like set a number, and
    ``[share."orders"]`` with ``slices``, ``most`` or ``seconds`` the time of all stages of that name, or of
    those in one place with ``when = "round"``.

    Raises
    ------
    ProblemError
        The text is no TOML, a name is not known, or a value has not its kind.
    """
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProblemError(f"tuning numbers: {error}") from None
    off, shares = said.pop("off", []), said.pop("share", {})
    if not isinstance(off, list) or not isinstance(shares, dict):
        raise ProblemError('tuning numbers: expected off = ["..."] and tables [share."..."]')
    numbers: dict[str, Any] = {}
    for name, value in said.items():
        if name not in _NUMBERS:
            raise ProblemError(f"{name} = {value!r}: expected one of off, share, {', '.join(_NUMBERS)}")
        numbers[name] = _number(name, value, whole=_NUMBERS[name] == "int")
    params = replace(PARAMS, **numbers).without(*map(str, off))
    for name, asked in shares.items():
        params = _shared(params, name, asked)
    return params


def _number(name: str, value: object, *, whole: bool = False) -> float:
    accepted = (int,) if whole else (int, float)
    if isinstance(value, bool) or not isinstance(value, accepted) or not 0 <= value < float("inf"):
        raise ProblemError(f"{name} = {value!r}: expected a {'whole ' * whole}number of 0 or more")
    return value


def _shared(params: Params, name: str, asked: object) -> Params:
    known = {stage.search for stage in params.stages}
    if name not in known or not isinstance(asked, Mapping):
        raise ProblemError(f'share."{name}": expected a table named as one of {", ".join(sorted(known))}')
    place, numbers = asked.get("when"), {key: value for key, value in asked.items() if key != "when"}
    if not numbers or not numbers.keys() <= {"slices", "most", "seconds"}:
        raise ProblemError(f'share."{name}": expected slices, most or seconds, and when')
    if place is not None and place not in list(When):
        raise ProblemError(f'share."{name}": when = {place!r}: expected one of {", ".join(When)}')
    share = TimeShare(**{key: _number(f'share."{name}".{key}', value) for key, value in numbers.items()})
    return replace(
        params,
        stages=tuple(
            replace(stage, share=share, printed=None)
            if stage.search == name and place in (None, stage.when)
            else stage
            for stage in params.stages
        ),
    )
