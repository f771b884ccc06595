"""Bolts of several widths for one job, side by side. Lengths in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypeVar

from nesting.order.job import Bolt, Fabric, Job
from nesting.plan.plan import FabricLayout
from nesting.plan.purchase import Allowance as Allowance
from nesting.plan.purchase import Buy as Buy

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Option:
    """One bolt width tried for one fabric."""

    layout: FabricLayout | None
    bolt: Bolt
    fabric: Fabric
    widths_per_panel: tuple[tuple[str, int], ...] = ()
    seams: int = 0
    railroad: str = ""
    reason: str = ""
    offered: bool = True

    @property
    def area(self) -> int | None:
        """The fabric bought, width times length, in square ticks; None where nothing can be bought."""
        if self.layout is None or self.layout.buy is None:
            return None
        return self.bolt.width * self.layout.buy.total

    @property
    def cost(self) -> Decimal | None:
        """What its purchase costs; None where nothing can be bought or no price is known."""
        return self.layout.buy.cost if self.layout is not None and self.layout.buy is not None else None


@dataclass(frozen=True, slots=True)
class Comparison:
    """The same job on every bolt on offer or asked for."""

    job: Job
    options: tuple[Option, ...]

    def honors(self, option: Option) -> tuple[Literal["least fabric", "least cost"], ...]:
        """What no other bolt of the same fabric does better; equals share it, and one alone has none.

        Fabric goes by the area bought: width times length, selling step and allowances included. Cost is
        judged only where every bolt on offer that can hold the job has a price; widths that nobody offers
        have none.
        """
        rivals = [other for other in self.options if other.fabric.key == option.fabric.key]
        if len(rivals) < 2 or option.area is None:
            return ()
        areas = [other.area for other in rivals if other.area is not None]
        priced = [other for other in rivals if other.area is not None and other.offered]
        costs = [other.cost for other in priced if other.cost is not None]
        won: list[Literal["least fabric", "least cost"]] = []
        if option.area == min(areas):
            won.append("least fabric")
        if option.cost is not None and len(costs) == len(priced) and option.cost == min(costs):
            won.append("least cost")
        return tuple(won)
