"""Every plan is sewn in software, and what comes out is what the plan says of its panels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from nesting.construction import WindowFacts, bench_of, sewing_of, window_facts
from nesting.cutting.measures import lying_length
from nesting.files import plan_document, read_job
from nesting.files.json_text import as_json
from nesting.files.plan_reading import read_plan
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.sewing import Sewing, SewingError, Work, sewn
from nesting.sewing.written import read_sewing, sewing_table
from tests.seeds import some

SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.toml"))


@cache
def sample(path: Path) -> Plan:
    """A sample, hardly searched."""
    return make_plan(read_job(path), effort=Effort(work=0.05, workers=1))


def sewn_window(facts: WindowFacts, sewing: Sewing) -> dict[str, Work]:
    """Its panels and tie-backs; nothing else is left on the table."""
    bench = sewn(bench_of(facts), sewing)
    keys = {panel.key for panel in facts.panels}
    spare = {piece.id for piece in facts.pieces_of("tieback")}
    assert set(bench.works) == keys | spare
    return dict(bench.works)


def assert_as_planned(facts: WindowFacts, sewing: Sewing) -> None:
    """Each panel as wide, long, drawn in and carried as the plan says, to one step of the tape."""
    works, step = sewn_window(facts, sewing), facts.making.grid
    for panel, head in zip(facts.panels, facts.headings, strict=True):
        work = works[panel.key]
        assert abs(work.width - panel.flat) <= step
        assert abs(work.length - lying_length(facts.making).total) <= step
        if facts.style.pleated and head.spots:
            assert work.drawn is not None
            assert abs(work.drawn - panel.finished) <= step
        assert carried(work) == list(marks(facts, head.spots))


def marks(facts: WindowFacts, spots: tuple[object, ...]) -> Iterator[tuple[Fraction, Fraction]]:
    """From where to where each mark of a heading reaches."""
    for spot in spots:
        if spot.kind not in ("space", "pleat"):  # type: ignore[attr-defined]
            yield Fraction(spot.start), Fraction(spot.end)  # type: ignore[attr-defined]


def carried(work: Work) -> list[tuple[Fraction, Fraction]]:
    """From where to where each tab, ring or clip reaches."""
    return [(one.start, one.end) for one in work.carriers if one.kind not in ("hook", "pocket")]


@pytest.mark.parametrize("path", some(SAMPLES, 3), ids=lambda path: path.stem)
def test_every_sample_sews_up_as_planned(path: Path) -> None:
    plan = sample(path)
    assert plan.sewing == sewing_of(plan)
    for facts, sewing in zip(window_facts(plan), plan.sewing, strict=True):
        assert_as_planned(facts, sewing)


def test_a_plan_is_read_back_with_its_sewing(tmp_path: Path) -> None:
    plan = sample(SAMPLES[-1])
    (tmp_path / "plan.json").write_bytes(as_json(plan_document(plan)).encode())
    assert read_plan(tmp_path / "plan.json").sewing == plan.sewing
    assert all(read_sewing(sewing_table(one), "sewing[0]") == one for one in plan.sewing)


def test_a_piece_that_is_missing_is_told() -> None:
    plan = sample(SAMPLES[-1])
    facts = window_facts(plan)[0]
    less = replace(facts, pieces=facts.pieces[1:])
    with pytest.raises(SewingError, match="no such piece"):
        sewn(bench_of(less), plan.sewing[0])
