"""Which cases of a family are tried: a fixed few in every run, many at night, others each day.

``python -m pytest`` is the quick run: fixed seeds, always the same, so that what it finds is due to a change.
``python -m pytest -m nightly`` tries many more. Their seeds follow from the seed of the session, which is the
date or what ``--seed`` says; it stands in the header, and beside each failure.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import settings

#: So many seeds belong to each session; none asks for more.
OF_A_SESSION = 1000
#: Seeds of the engine end at 2**31 - 2.
MOST_SESSIONS = 2_000_000


@dataclass
class Session:
    """What this run of the tests is; `tests.conftest` settles it before any test module is read.

    Attributes
    ----------
    seed
        What the nightly seeds follow from.
    nightly
        Whether nightly tests were asked for.
    every
        Whether large finite families are gone through whole.
    """

    seed: int = 0
    nightly: bool = False
    every: bool = False


SESSION = Session()


def nightly(value: object) -> Any:
    """One value of a parameter, or a tuple of several, that is tried at night only."""
    return pytest.param(*(value if isinstance(value, tuple) else (value,)), marks=pytest.mark.nightly)


def seeds(quick: int, at_night: int) -> list[Any]:
    """Seeds 0, 1, ... for the quick run; at night so many others too, which follow from the day."""
    assert 0 <= quick <= at_night <= OF_A_SESSION
    at_night = at_night if SESSION.nightly else 0
    first = SESSION.seed * OF_A_SESSION
    return [*range(quick), *(nightly(seed) for seed in range(first, first + at_night))]


def some(values: Iterable[Any], quick: int, at_night: int | None = None) -> list[Any]:
    """Every value of a finite family; so many, evenly spread, in the quick run, the others at night.

    Of a family that is too large for one night only ``at_night`` others, which follow from the day; all of
    them with ``--every``.
    """
    every: Sequence[Any] = list(values)
    assert 0 < quick < len(every)
    kept = {at * len(every) // quick for at in range(quick)}
    others = [at for at in range(len(every)) if at not in kept and SESSION.nightly]
    if at_night is not None and not SESSION.every:
        others = random.Random(SESSION.seed).sample(others, min(at_night, len(others)))
    return [
        value if at in kept else nightly(value) for at, value in enumerate(every) if at in kept.union(others)
    ]


def examples(at_night: int, quick: int | None = None, **more: Any) -> Callable[[Any], Any]:
    """How many examples of a property are tried at night; in the quick run a tenth of them, at least ten."""
    few = min(at_night, max(10, at_night // 10)) if quick is None else quick
    return settings(max_examples=at_night if SESSION.nightly else few, **more)
