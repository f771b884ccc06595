"""Every sample job: valid for editors, planned, checked, read back, and mostly proven best."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from nesting.check import check_plan_document
from nesting.files import job_schema, plan_document, read_job, read_plan
from nesting.order.job import Job
from nesting.plan.plan import Plan
from nesting.plan.shortage import shortages
from nesting.planning.planner import Effort, compare, plan, require_possible
from tests.seeds import some

SAMPLES = sorted((Path(__file__).parent.parent / "samples").glob("*.toml"))


def planned(job: Job, work: float) -> Plan:
    return plan(job, effort=Effort(work=work, workers=1))


def test_there_are_samples() -> None:
    assert len(SAMPLES) == 9


@pytest.fixture(params=some(SAMPLES, 4), ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Path:
    path = request.param
    assert isinstance(path, Path)
    return path


def test_editors_accept_it(sample: Path) -> None:
    jsonschema.validate(tomllib.loads(sample.read_text("utf-8")), job_schema())


def test_it_says_what_it_shows(sample: Path) -> None:
    assert sample.read_text("utf-8").startswith("# ")


def test_it_is_planned_checked_and_read_back(sample: Path, tmp_path: Path) -> None:
    job = read_job(sample)
    require_possible(job)
    made = planned(job, work=0.5)
    document = json.loads(json.dumps(plan_document(made)))
    assert check_plan_document(document) == ()
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    back = read_plan(path)
    assert json.loads(json.dumps(plan_document(back))) == document
    assert back.job == made.job
    assert back.pieces == made.pieces


def test_it_costs_what_its_bolts_say_and_never_beats_its_bound(sample: Path) -> None:
    made = planned(read_job(sample), work=0.5)
    assert made.layouts
    for layout in made.layouts:
        assert layout.length is not None
        if layout.there is not None:
            assert layout.buy is None
            assert layout.length + layout.reserve <= layout.there.length
            continue
        assert layout.buy is not None
        assert layout.bound.length <= layout.length
        assert layout.buy.total >= layout.length + layout.squaring
        assert layout.buy.total - layout.buy.needed < layout.bolt.sold_by
        assert layout.buy.total % layout.bolt.sold_by == 0
        assert layout.rule_of_thumb is not None
        assert layout.length <= layout.rule_of_thumb.length


def test_every_bolt_on_offer_is_compared(sample: Path) -> None:
    job = read_job(sample)
    made = compare(job, effort=Effort(work=0.5, workers=1))
    offered = sum(len(fabric.bolts) for fabric in job.fabrics)
    assert len(made.options) == offered
    for option in made.options:
        assert option.offered
        assert (option.layout is None) is bool(option.reason)


def test_the_remnants_tell_what_is_left_out() -> None:
    """Two lots and three flaws; one window does not fit, and is told with what to buy for it."""
    made = planned(read_job(next(path for path in SAMPLES if path.stem == "remnants")), work=6.0)
    assert len({layout.lot for layout in made.layouts}) == 2
    assert sum(len(there.flaws) for there in made.job.fabrics[0].bolts[0].on_hand) == 3
    (short,) = shortages(made)
    assert short.what == "Hall window"
    assert short.shortfall > 0
    assert short.total is not None
    assert short.steps is not None
    assert short.total == short.steps * made.job.fabrics[0].bolts[0].sold_by
