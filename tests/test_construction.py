"""Every plan is sewn in software, and what comes out is what the plan says of its panels."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from orders import a_bolt, a_fabric, a_job, a_window, cm, cut_job, inch

from nesting.construction import WindowFacts, bench_of, sewing_of, window_facts
from nesting.cutting.measures import lying_length
from nesting.errors import DoesNotFitError, JobError
from nesting.files import plan_document, read_job
from nesting.files.json_text import as_json
from nesting.files.plan_reading import read_plan
from nesting.headings import HEADINGS
from nesting.order.job import Fabric, Job, Nap, Shrinkage
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.repeat import Repeat
from nesting.sewing import Sewing, SewingError, Work, sewn
from nesting.sewing.folding import SAME
from nesting.sewing.written import read_sewing, sewing_table
from nesting.units import Unit, grid, round_down
from tests.drapes import drawn_job
from tests.seeds import seeds, some

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
        assert_finished(work)
        hung, planned = carried(work), list(marks(facts, head.spots))
        assert len(hung) == len(planned)
        assert all(abs(one - two) <= SAME for one, two in zip(sum(hung, ()), sum(planned, ()), strict=True))
        assert_pattern_runs_on(work)


def assert_finished(work: Work) -> None:
    """No raw edge lies open, and every fold is sewn."""
    for side, edge in work.edges.items():
        assert not edge.shows_raw, (work.name, side)
        assert edge.finish != "fold" or edge.held == "sewn", (work.name, side)


def assert_pattern_runs_on(work: Work) -> None:
    """A print meets at every seam, across and up, to a tick for each width."""
    for left, right in itertools.pairwise(work.strips):
        if left.at is not None and right.at is not None:
            assert abs(left.at[0] + left.end - left.start - right.at[0]) <= len(work.strips)
            assert left.at[1] == right.at[1]


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


UNITS: tuple[Unit, ...] = ("in", "cm")
LAYERS = ("unlined", "tucked", "tube")
KINDS = ("plain", "pile", "print")


@dataclass(frozen=True)
class Case:
    """A pair of panels of one kind."""

    heading: str
    layers: str
    kind: str
    washed: bool
    widths: int
    unit: Unit

    def __str__(self) -> str:
        washed = " washed" if self.washed else ""
        return f"{self.heading} {self.layers} {self.kind}{washed} {self.widths} {self.unit}"


CASES = tuple(
    Case(*each) for each in itertools.product(HEADINGS, LAYERS, KINDS, (False, True), (1, 2, 3), UNITS)
)


def cut_only(job: Job) -> Plan:
    """A job cut, and not laid: what is sewn asks for no layout."""
    made = cut_job(job)
    plan = Plan(job, made.pieces, (), headings=made.headings, panels=made.panels)
    return replace(plan, sewing=sewing_of(plan))


def face_of(kind: str, unit: Unit, shrinkage: Shrinkage | None) -> Fabric:
    """Fabric 53 in or 136 cm of which can be cut."""
    size = inch if unit == "in" else cm
    width, usable = (size(54), size(53)) if unit == "in" else (size(140), size(136))
    nap: Nap = "none" if kind == "plain" else "one-way"
    if kind == "print":
        repeat, match = (
            (Repeat(inch(25), inch(26)), inch(52)) if unit == "in" else (Repeat(cm(64), cm(66)), cm(132))
        )
        bolt = a_bolt(width, usable, match=match)
        return a_fabric(bolt, repeat=repeat, nap=nap, shrinkage=shrinkage)
    return a_fabric(a_bolt(width, usable), nap=nap, shrinkage=shrinkage)


def job_of(case: Case) -> Job:
    """A pair of panels of so many widths each, hung from a rod, rings or track as the heading is."""
    layers, kind, widths, unit = case.layers, case.kind, case.widths, case.unit
    size, style = (inch if unit == "in" else cm), HEADINGS[case.heading]
    loss = Shrinkage(length=Fraction(4), width=Fraction(2), washed="after") if case.washed else None
    flat = {1: 40, 2: 88, 3: 131} if unit == "in" else {1: 100, 2: 220, 3: 330}
    # Fullness counts on the rod alone, so what a pleated panel reaches round the ends goes off first.
    ends = (inch("5 1/2") if unit == "in" else cm(14)) if style.pleated else 0
    rod = round_down(2 * (size(flat[widths]) - ends) / style.fullness, grid(unit))
    lined = {} if layers == "unlined" else {"lining": "lining", "lining_style": layers}
    window = a_window(
        heading=case.heading,
        rod=rod,
        rod_diameter=size("1 3/8") if unit == "in" else size("3.5"),
        finished_length=size("95 1/2") if unit == "in" else size("242.5"),
        take_up=None,
        hangs_from=style.hangs_from[0],
        working=size("3/4") if kind != "plain" and unit == "in" else 0,
        **lined,
    )
    lining = replace(face_of("plain", unit, loss), key="lining")
    fabrics = (face_of(kind, unit, loss), *((lining,) if lined else ()))
    return a_job(window, fabrics=fabrics, units=unit)


@pytest.mark.parametrize("case", some(CASES, 90), ids=str)
def test_every_kind_of_drape_sews_up_as_planned(case: Case) -> None:
    plan = cut_only(job_of(case))
    (facts,), (sewing,) = window_facts(plan), plan.sewing
    assert {len(panel.cuts) for panel in facts.panels} == {case.widths}
    assert_as_planned(facts, sewing)


@pytest.mark.parametrize("seed", seeds(60, 900))
def test_a_drape_drawn_at_random_sews_up_as_planned(seed: int) -> None:
    job = drawn_job(seed)
    try:
        plan = cut_only(job)
    except (DoesNotFitError, JobError):
        return
    (facts,), (sewing,) = window_facts(plan), plan.sewing
    assert_as_planned(facts, sewing)


def test_few_drapes_drawn_at_random_are_refused() -> None:
    refused = 0
    for seed in range(60):
        try:
            cut_only(drawn_job(seed))
        except (DoesNotFitError, JobError):
            refused += 1
    assert refused <= 12


def test_the_table_is_as_long_as_it_says() -> None:
    assert len(CASES) == len(HEADINGS) * 3 * 3 * 2 * 3 * 2 >= 400


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
