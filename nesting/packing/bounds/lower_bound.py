"""What every lower bound answers."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar, Protocol

from nesting.packing.reduce import Core
from nesting.packing.result import Bound, Certificate
from nesting.packing.turn import Turn, Weights


class LowerBound(Protocol):
    """An argument why no layout of a core is shorter; it can be taken up again.

    Parameters
    ----------
    core
        The problem, one for which it `applies`.
    """

    name: ClassVar[str]
    """By which the schedule knows it."""
    certificate: ClassVar[type[Certificate] | None] = None
    """What its bounds carry; None: nothing replays them."""
    instant: ClassVar[bool] = False
    """Whether it is worked out in no time, from the sizes alone."""
    core: Core

    def __init__(self, core: Core) -> None:
        self.core = core

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Whether it can say anything of such a core."""
        return True

    @classmethod
    def weights(cls, core: Core) -> Weights | None:
        """Row weights that give the bound, where the sizes alone tell them; whichever parts are laid."""
        return None

    @abstractmethod
    def raised(self, turn: Turn) -> Bound | None:
        """The highest bound found within the turn, in steps of the core; None where there is nothing to say.

        Never above the length of any layout. Lower ones may be handed in on the way, by `Turn.take`.
        """

    def open(self, turn: Turn) -> bool:
        """Whether it may say more when it is asked again."""
        return False
