"""The language in which a drape is sewn: every operation holds only what a printed line tells a hand.

An operation names the work, the edge, how far and how often. It holds no finished size: what comes out is
worked out by sewing, and `nesting.check` compares it with what was ordered.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Protocol, runtime_checkable

from nesting.sewing.work import Bench, SewingError


@runtime_checkable
class Operation(Protocol):
    """One thing that is done with scissors, iron or machine.

    ``word`` is what it is called in a plan document.
    """

    word: ClassVar[str]

    @abstractmethod
    def done(self, bench: Bench) -> Bench:
        """The table after it.

        Raises
        ------
        SewingError
            It cannot be done: the message names the work and why.
        """
        ...


@dataclass(frozen=True, slots=True)
class SewingStep:
    """What stands under one number of the sewing order.

    Attributes
    ----------
    key
        What it is about: ``bottom hem``; the words of the step are found by it where its operations alone do
        not tell enough.
    operations
        In their order.
    """

    key: str
    operations: tuple[Operation, ...]


@dataclass(frozen=True, slots=True)
class Sewing:
    """The sewing order of one window: the works it begins with are its pieces."""

    window: str
    steps: tuple[SewingStep, ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """The table before and after one operation of a step."""

    step: int
    operation: Operation
    before: Bench
    after: Bench


def sew(bench: Bench, sewing: Sewing) -> Iterator[Moment]:
    """Sew a window, operation by operation.

    Parameters
    ----------
    bench
        The cut pieces of one such window.
    sewing
        Its sewing order.

    Raises
    ------
    SewingError
        A step cannot be sewn; the message names its number.
    """
    for number, step in enumerate(sewing.steps, 1):
        for operation in step.operations:
            try:
                after = operation.done(bench)
            except SewingError as fault:
                raise SewingError(f"{sewing.window}: step {number}, {step.key}: {fault}") from None
            yield Moment(number, operation, bench, after)
            bench = after


def sewn(bench: Bench, sewing: Sewing) -> Bench:
    """What lies on the table when the last step is done."""
    for moment in sew(bench, sewing):
        bench = moment.after
    return bench
