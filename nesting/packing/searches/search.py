"""What every search answers."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar, Protocol

from nesting.packing.reduce import Core
from nesting.packing.turn import Turn


class Search(Protocol):
    """A search for short layouts of a core; it can be taken up again.

    Parameters
    ----------
    core
        The problem, one to which it `applies`.
    seed
        Same seed, same search, where work is counted.
    """

    name: ClassVar[str]
    """By which the schedule knows it."""

    @abstractmethod
    def __init__(self, core: Core, seed: int) -> None:
        """Get ready; it may take a moment, but offers nothing."""

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Whether it can find anything for such a core."""
        return True

    @abstractmethod
    def run(self, turn: Turn) -> bool:
        """Offer layouts until the turn is over, charging what was done; False: nothing is left to search."""
