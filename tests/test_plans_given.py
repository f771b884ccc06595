"""No plan is given, in whatever form, whose document breaks a rule: its drapes are sewn first."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting.check.violation import Breach, Violation
from nesting.errors import CheckError
from nesting.files import checked_document, job_table, plan_checked, read_job
from nesting.planning.effort import Effort
from nesting.planning.planner import plan
from nesting.web.figures import weighed
from nesting.web.first import _Best, first_of
from tests.test_commands import Run, run  # noqa: F401 - a fixture

NOOK = Path(__file__).parent.parent / "samples" / "reading-nook.toml"
QUICK = ("--work-limit", "0.1", "--workers", "1")


@pytest.fixture
def spoiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check finds a drape that does not come out as ordered."""
    broken = Violation(Breach.SEWING, '"Nook window": 43 wide', "44 ordered", 1)
    monkeypatch.setattr(plan_checked, "check_plan_document", lambda document: (broken,))


def test_a_sound_plan_is_given() -> None:
    made = plan(read_job(NOOK), effort=Effort(work=0.1, workers=1))
    assert checked_document(made)["sewing"]


@pytest.mark.usefixtures("spoiled")
@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_no_command_prints_a_plan_that_does_not_sew_up(form: str, run: Run) -> None:  # noqa: F811
    done = run("plan", NOOK, "--format", form, *QUICK)
    assert done.code == 1
    assert '"Nook window": 43 wide' in done.err
    assert "Rust velvet" not in done.out


@pytest.mark.usefixtures("spoiled")
def test_no_library_document_is_made_of_it() -> None:
    made = plan(read_job(NOOK), effort=Effort(work=0.1, workers=1))
    with pytest.raises(CheckError, match="43 wide"):
        checked_document(made)


@pytest.mark.usefixtures("spoiled")
def test_the_page_shows_neither_a_first_layout_nor_another_way() -> None:
    table = job_table(NOOK.read_text("utf-8"))
    answer = first_of(_Best(), table, 0)
    assert answer["lines"] == []
    assert "43 wide" in answer["stuck"]
    assert weighed(table, "")["figures"] is None
