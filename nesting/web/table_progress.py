"""How far a plan is cut: the step that is shown, and the cuts that are made. Kept with its solve."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True)
class AtTable:
    """A plan at the table.

    Attributes
    ----------
    told
        As `nesting.web.table_steps.table_view` made it.
    plan
        The plan itself, pickled where it was made; only a process of ours opens it.
    at
        The step that is shown, from 0 on.
    cut
        Names of the cuts that are made.
    when
        When that was last changed, by the clock of the browser in milliseconds; 0 without one.
    after
        The address of the plan that was made of what is left of it; empty where there is none.
    """

    told: dict[str, Any]
    plan: bytes = b""
    at: int = 0
    cut: set[str] = field(default_factory=set)
    when: int = 0
    after: str = ""

    @property
    def steps(self) -> list[dict[str, Any]]:
        """All steps in their order."""
        steps: list[dict[str, Any]] = self.told["steps"]
        return steps

    @property
    def names(self) -> list[str]:
        """The cuts in their order."""
        return [cut["name"] for cut in self.told["cuts"]]

    @property
    def done(self) -> set[str]:
        """The cuts that are made, those before this plan among them."""
        return self.cut | self.before

    @property
    def before(self) -> set[str]:
        """The cuts that were made before this plan."""
        return {cut["name"] for cut in self.told["cuts"] if cut["done"]}

    @property
    def now(self) -> dict[str, Any] | None:
        """The step that is shown; None behind the last."""
        return self.steps[self.at] if self.at < len(self.steps) else None

    def go(self, at: int) -> None:
        """Show a step; one behind the last says that all is cut."""
        self.at = max(0, min(at, len(self.steps)))

    def next(self) -> None:
        """On to the next step; one that frees a piece has cut it."""
        if self.now is not None:
            if self.now["frees"]:
                self.cut.add(self.now["frees"])
            self.go(self.at + 1)

    def take_in(self, at: int | None, cut: Iterable[str], knew: Iterable[str], when: int) -> None:
        """What a browser has ticked since it last knew which cuts are made, at a step or on the plan's page.

        Another tab or device at the same plan may have ticked others meanwhile: those stay.
        """
        now, before = set(cut) & set(self.names), set(knew)
        self.cut = (self.cut | (now - before)) - (before - now)
        if when >= self.when:
            self.when = when
            if at is not None:
                self.go(at)
