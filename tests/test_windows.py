"""Neighborhoods along the strip: what they offer is shorter and keeps every rule."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from nesting.check import check_layout
from nesting.packing import Match, Part, Problem, Repeat, Strip
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout, reduce
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.searches.neighborhoods import WindowSearch
from nesting.packing.turn import Budget
from tests.turns import racing


def core_of(problem: Problem) -> Core:
    core = reduce(problem, set_apart=False)
    assert core is not None
    return core


@pytest.fixture(autouse=True)
def _however_few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neighborhoods of small layouts too."""
    monkeypatch.setattr("nesting.packing.searches.neighborhoods.FEW", 0)


def bettered(problem: Problem, work: float, loose: Layout | None = None) -> tuple[Core, Layout, Race]:
    """A layout, shelves if none is given, and the race after so many units of work of neighborhoods."""
    core = core_of(problem)
    first = loose or shelves(core, SeamRoom(core))
    assert first is not None
    race = Race(Budget(0, work))
    race.offer(core, first, "shelves")
    WindowSearch(core, 0).run(racing(core, race, work))
    assert race.best is not None
    placements, length = core.placements(race.best[1]), race.length
    assert length is not None
    assert not check_layout(problem, placements, length, 0)
    return core, first, race


def test_a_loose_layout_of_plain_fabric_grows_shorter() -> None:
    # Shelves lay 3 x 9 and 3 x 5 side by side, then 3 x 4 on top: 13, where 9 is enough on a strip of 6.
    parts = (Part("a", 3, 9, 3), Part("b", 3, 5, 3), Part("c", 3, 4, 3))
    core, first, race = bettered(Problem((Strip(6),), parts), 3.0)
    assert core.length_of(first) > 27
    assert race.length == 27


def test_a_print_comes_down_by_whole_repeats() -> None:
    # A repeat of 11: four panels of 6 x 9, two and two, so the least is 11 + 9 = 20. Shelves find that; with
    # the upper two laid two repeats higher it has to be found again.
    problem = Problem((Strip(13, repeat=Repeat(11)),), (Part("panel", 6, 9, 4, match=Match("room")),))
    core = core_of(problem)
    tight = shelves(core, SeamRoom(core))
    assert tight is not None
    assert core.length_of(tight) == 20
    loose = tuple(replace(spot, y=spot.y + 22) if spot.y else spot for spot in tight)
    assert bettered(problem, 3.0, loose)[2].length == 20


def test_what_is_held_stays_but_for_what_comes_down() -> None:
    # Two panels of a half drop with 12 of fabric between them: the upper one comes down by one repeat of 6.
    strip = Strip(5, repeat=Repeat(6, 5, Fraction(1, 2)))
    core = core_of(Problem((strip,), (Part("panel", 5, 5, 2, match=Match("room", "seam")), Part("x", 2, 1))))
    first = shelves(core, SeamRoom(core))
    assert first is not None
    panels = [i for i, spot in enumerate(first) if core.kinds[spot.kind].match is not None]
    tab = next(i for i in range(len(first)) if i not in panels)
    upper = max(panels, key=lambda i: first[i].y)
    loose = list(first)
    loose[upper] = replace(first[upper], y=first[upper].y + 12)
    layout = tuple(loose)
    model = LayoutModel(core, core.length_of(layout) - 1)
    model.hold_outside(layout, frozenset({tab}), layout[upper].y)
    outcome = model.solve(Race(Budget(0, 5.0)), 5, 1)
    assert outcome.layout is not None
    moved = max(spot.y for spot in outcome.layout if core.kinds[spot.kind].match is not None)
    assert (layout[upper].y - moved) % 6 == 0
    assert moved < layout[upper].y
    others = [spot for spot in outcome.layout if core.kinds[spot.kind].match is not None and spot.y != moved]
    assert [(spot.x, spot.y) for spot in others] == [(layout[i].x, layout[i].y) for i in panels if i != upper]
