"""What a search shows on its way: layouts of every kind of job, from the first on, each one to cut from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.check.document_cutting import edge_to_edge
from nesting.files import read_job
from nesting.order.job import Job
from nesting.plan.plan import FabricLayout
from nesting.planning.effort import Effort
from nesting.planning.planner import plan

SAMPLES = Path(__file__).parents[1] / "samples"
NOOK = read_job(SAMPLES / "reading-nook.toml")


def shown(job: Job) -> tuple[dict[str, list[tuple[FabricLayout, ...]]], tuple[FabricLayout, ...]]:
    """Layouts by the title of their fabric as they were shown, and those of the plan."""
    seen = dict[str, list[tuple[FabricLayout, ...]]]()

    def show(title: str, make: Callable[[], tuple[FabricLayout, ...]]) -> None:
        seen.setdefault(title, []).append(make())

    made = plan(job, effort=Effort(work=0.5, workers=1, display=show))
    return seen, made.layouts


@pytest.mark.parametrize(
    "job",
    [NOOK, replace(NOOK, cutting="across-first"), read_job(SAMPLES / "remnants.toml")],
    ids=["free", "across first", "on hand"],
)
def test_each_fabric_is_shown_with_every_piece_of_its_plan(job: Job) -> None:
    seen, layouts = shown(job)
    assert set(seen) == {layout.fabric.title for layout in layouts}
    for title, each in seen.items():
        assert each[-1], title
        pieces = {(laid.piece.id, laid.copy) for layout in each[-1] for laid in layout.placements}
        planned = [layout for layout in layouts if layout.fabric.title == title]
        assert pieces == {(laid.piece.id, laid.copy) for layout in planned for laid in layout.placements}


def test_what_is_shown_of_a_fabric_cut_across_first_can_be_cut_so() -> None:
    seen, _ = shown(replace(NOOK, cutting="across-first"))
    for each in seen.values():
        for (layout,) in each:
            boxes = [(at.x, at.y, at.x + at.width, at.y + at.length) for at in layout.placements]
            assert edge_to_edge(boxes)
