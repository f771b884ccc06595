"""`nesting prove`: certificates are replayed, looked for where there is none, and kept beside the plan."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from nesting.commands.prove import EVERYTHING
from nesting.errors import JobError
from nesting.files import proof_file, read_plan, read_proof_file
from nesting.planning.open_to import open_to
from tests.benchmarks.families import job_text
from tests.test_commands import Ran, Run
from tests.test_commands import run as run

#: The parts of `tests.test_proof_rows.FOUR`, by inches: the least is 11, by a search of rows.
JOB = """
units = "in"
[fabric.face]
nap = "one-way"
[[fabric.face.bolt]]
width = 13
usable = 13
[[extra]]
name = "eight"
width = 8
length = 2
[[extra]]
name = "six"
width = 6
length = 7
[[extra]]
name = "five"
width = 5
length = 4
count = 2
[[extra]]
name = "seven"
width = 7
length = 3
"""
#: The parts of `tests.test_proof_bands.THREE`, by inches: the least is 14.
ACROSS = """
units = "in"
cutting = "across-first"
[fabric.face]
nap = "one-way"
[[fabric.face.bolt]]
width = 10
usable = 10
[[extra]]
name = "seven"
width = 4
length = 7
count = 2
[[extra]]
name = "eight"
width = 3
length = 8
"""
BUDGET = ("--work-limit", "2", "--workers", "1")


@pytest.fixture
def made(run: Run, tmp_path: Path) -> Path:
    """The folder of a plan that carries a log."""
    job = tmp_path / "job.toml"
    job.write_text(JOB)
    assert run("plan", job, *BUDGET, "-o", tmp_path / "out").code == 0
    return tmp_path / "out"


def changed(folder: Path, change: Callable[[dict[str, Any]], None], name: str = "changed.json") -> Path:
    document = json.loads((folder / "plan.json").read_text())
    change(document["layouts"][0])
    path = folder / name
    path.write_text(json.dumps(document))
    return path


def bare(layout: dict[str, Any]) -> None:
    """As a search leaves it that had no time to write its proof."""
    layout |= {"bound_certificate": None, "bound_method": "rows in one piece, not re-checked"}


def test_of_layouts_cut_across_first_bands_are_asked(run: Run, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(ACROSS)
    assert run("plan", job, *BUDGET, "-o", tmp_path / "out").code == 0
    carried = lines(run("prove", tmp_path / "out" / "plan.json", "--time-limit", 0))
    assert carried[0].startswith("face: 14 in is the best possible: re-proved here from its certificate")
    found = lines(run("prove", changed(tmp_path / "out", said_by_the_solver)))
    assert "re-proved here from its certificate" in found[0]
    assert "found in" in found[0]


def said_by_the_solver(layout: dict[str, Any]) -> None:
    layout |= {"bound_certificate": None, "bound_method": "CP-SAT, not re-checked"}


def over_choices(layout: dict[str, Any]) -> None:
    layout |= {"bound_certificate": None, "bound_method": "linear bounds, over all choices, not re-checked"}


def lines(ran: Ran) -> list[str]:
    assert ran.code == 0, ran.err
    return ran.out.splitlines()


def test_what_the_plan_carries_is_replayed(run: Run, made: Path) -> None:
    first, last = lines(run("prove", made / "plan.json"))
    assert first.startswith(
        "face: 11 in is the best possible: re-proved here from its certificate (replayed in"
    )
    assert last == "nothing rests on trust"


def test_what_is_missing_is_looked_for_and_kept(run: Run, made: Path, tmp_path: Path) -> None:
    path = changed(made, bare)
    assert "proved by our search, not re-proved here" in run("check", path).out
    none = lines(run("prove", path, "--time-limit", 0))
    assert "proved by our search, not re-proved here" in none[0]
    assert none[-1] == "figures that rest on trust: 1"
    assert not (made / "proof.json.gz").exists()
    found = lines(run("prove", path, "-o", tmp_path / "kept"))
    assert "re-proved here from its certificate" in found[0]
    assert "found in" in found[0]
    assert found[1] == "nothing rests on trust"
    # Beside the plan it is replayed without a search.
    (made / "proof.json.gz").write_bytes((tmp_path / "kept" / "proof.json.gz").read_bytes())
    again = lines(run("prove", path, "--time-limit", 0))
    assert "re-proved here from its certificate (replayed in" in again[0]
    assert "found in" not in again[0]


def test_the_solvers_word_may_be_replaced(run: Run, made: Path) -> None:
    path = changed(made, said_by_the_solver)
    assert "the solver's word, not re-proved here" in lines(run("prove", path, "--time-limit", 0))[0]
    assert "re-proved here from its certificate" in lines(run("prove", path))[0]


def test_a_proof_of_the_pieces_laid_says_nothing_of_other_plans(run: Run, made: Path) -> None:
    """The document has the pieces of one selection only."""
    told = lines(run("prove", changed(made, over_choices)))
    assert "re-proved here from its certificate" in told[0]
    assert (
        told[1] == "  of the pieces laid: that other seam plans or ways to cut take no less is not replayed"
    )
    assert told[-1] == "figures that rest on trust: 1"


@pytest.fixture
def open_to_choose(run: Run, tmp_path: Path) -> Path:
    """The folder of a plan with a seam plan that was open, and two ways to cut."""
    job = tmp_path / "job.toml"
    job.write_text(job_text("rooms", 28))
    assert run("plan", job, *BUDGET, "-o", tmp_path / "out").code == 0
    return tmp_path / "out"


def test_of_open_plans_all_are_proved_cut_anew_from_the_order(run: Run, open_to_choose: Path) -> None:
    path = open_to_choose / "plan.json"
    # The check has no cutting of its own, so it confirms nothing.
    assert "proved by our search, not re-proved here" in run("check", path).out
    carried = lines(run("prove", path, "--time-limit", 0))
    assert "is the best possible: re-proved here from its certificate" in carried[0]
    assert carried[1:] == [f"  {EVERYTHING}", "nothing rests on trust"]

    def lost(layout: dict[str, Any]) -> None:
        del layout["open_certificate"]

    without = changed(open_to_choose, lost)
    assert "not re-proved here" in lines(run("prove", without, "--time-limit", 0))[0]
    found = lines(run("prove", without))
    assert "found in" in found[0]
    assert found[1:] == [f"  {EVERYTHING}", "nothing rests on trust"]


def test_forged_proofs_of_open_plans_are_not_believed(run: Run, open_to_choose: Path) -> None:
    """The options are those of the order: a plan that lists fewer, or other proofs, changes nothing."""

    def forged(change: Callable[[dict[str, Any]], None]) -> list[str]:
        return lines(run("prove", changed(open_to_choose, change), "--time-limit", 0))

    def one_way(layout: dict[str, Any]) -> None:
        layout["open_certificate"] = layout["open_certificate"]["cases"][0]

    def no_way(layout: dict[str, Any]) -> None:
        layout["open_certificate"]["cases"] = [layout["open_certificate"]["cases"][0], None]

    def light(layout: dict[str, Any]) -> None:
        for case in layout["open_certificate"]["cases"]:
            case["weights"] = []

    def junk(layout: dict[str, Any]) -> None:
        layout["open_certificate"] = {"rule": "ways to cut", "cases": "many"}

    for change in (one_way, no_way, light, junk):
        assert "not re-proved here" in forged(change)[0], change

    def boast(document: dict[str, Any]) -> None:
        document["lower_bound"] = document["length"] = document["length"] + 1

    ran = run("prove", changed(open_to_choose, boast), "--time-limit", 0)
    assert "re-proved" not in ran.out.replace("not re-proved", "")


def test_pieces_of_another_order_are_none_of_its_plans(run: Run, open_to_choose: Path) -> None:
    path = open_to_choose / "plan.json"
    whole = read_plan(path)
    assert [each.fabric for each in open_to(whole)] == ["face"]
    (mine,) = open_to(whole)
    assert len(mine.problems) == 2
    assert mine.problems[0].choices
    fewer = replace(whole, pieces=whole.pieces[1:])
    assert list(open_to(fewer)) == []
    longer = replace(whole.pieces[0], copies=whole.pieces[0].copies + 1)
    assert list(open_to(replace(whole, pieces=(longer, *whole.pieces[1:])))) == []


def test_a_proof_kept_of_something_else_proves_nothing(run: Run, made: Path) -> None:
    path = changed(made, bare)
    said = json.loads((made / "plan.json").read_text())["layouts"][0]["bound_certificate"]
    for other in (
        said | {"refuted": said["refuted"] + 2032},
        said | {"kinds": said["kinds"][::-1]},
        said | {"rule": "row weights"},
        {"rule": "unheard of"},
        {},
    ):
        (made / "proof.json.gz").write_bytes(proof_file({"layouts[0]": other}))
        assert "not re-proved here" in lines(run("prove", path, "--time-limit", 0))[0]
    for junk in (b"", b"no archive", gzip.compress(b"[1, 2"), gzip.compress(b'{"schema": "other"}')):
        (made / "proof.json.gz").write_bytes(junk)
        ran = run("prove", path, "--time-limit", 0)
        assert "not re-proved here" in lines(ran)[0]
        assert "proof.json.gz" in ran.err
        with pytest.raises(JobError, match=r"proof\.json\.gz"):
            read_proof_file(made / "proof.json.gz")


def test_a_certificate_that_does_not_hold_is_a_fault(run: Run, made: Path) -> None:
    def boast(layout: dict[str, Any]) -> None:
        layout["bound_certificate"]["refuted"] -= 2032

    ran = run("prove", changed(made, boast))
    assert (ran.code, ran.out) == (1, "")
    assert "rules broken" in ran.err


def test_the_file_is_the_same_for_the_same_proofs() -> None:
    assert proof_file({"layouts[0]": {"rule": "x"}}) == proof_file({"layouts[0]": {"rule": "x"}})


#: Panels of 50 and 40 on lengths of 100, 55 and 42: the two short ones are started, 97, and 90 cut into.
ON_HAND = """
units = "in"
[fabric.face]
nap = "one-way"
[[fabric.face.bolt]]
width = 50
usable = 50
[[fabric.face.bolt.on_hand]]
name = "long"
length = 100
[[fabric.face.bolt.on_hand]]
name = "middle"
length = 55
[[fabric.face.bolt.on_hand]]
name = "short"
length = 42
[[extra]]
name = "first"
width = 50
length = 50
[[extra]]
name = "second"
width = 50
length = 40
"""


class TestLengthsOnHand:
    """Every stage is proved of the order's own lengths, cut again for it."""

    @pytest.fixture
    def laid(self, run: Run, tmp_path: Path) -> Path:
        job = tmp_path / "job.toml"
        job.write_text(ON_HAND)
        assert run("plan", job, *BUDGET, "-o", tmp_path / "out").code == 0
        return tmp_path / "out" / "plan.json"

    def test_every_stage_is_replayed(self, run: Run, laid: Path) -> None:
        started, cut, last, *more = [
            line for line in lines(run("prove", laid, "--time-limit", 0)) if line[0] != " "
        ]
        assert started.startswith("face, fabric started: 97 in is the best possible: re-proved here")
        assert cut.startswith("face, fabric cut into: 90 in is the best possible: re-proved here")
        assert (last, more) == ("nothing rests on trust", [])

    def test_check_alone_does_not_vouch_for_it(self, run: Run, laid: Path) -> None:
        """What else there is on hand stands in the order, not among the layouts."""
        said = run("check", laid).out
        assert (
            "fabric started: 97 in, and the plan says that less is not possible: proved by our search" in said
        )

    def test_what_is_missing_is_looked_for(self, run: Run, laid: Path, tmp_path: Path) -> None:
        document = json.loads(laid.read_text())
        for stage in document["objectives"][0]["stages"]:
            stage |= {"certificate": None, "bound_method": "CP-SAT, not re-checked"}
        bare = tmp_path / "bare.json"
        bare.write_text(json.dumps(document))
        assert "the solver's word, not re-proved here" in run("check", bare).out
        found = lines(run("prove", bare, "-o", tmp_path / "kept"))
        assert "97 in is the best possible: re-proved here" in found[0]
        (tmp_path / "proof.json.gz").write_bytes((tmp_path / "kept" / "proof.json.gz").read_bytes())
        assert lines(run("prove", bare, "--time-limit", 0))[-1] == "nothing rests on trust"

    def test_a_length_that_was_added_to_the_order_takes_the_proof_away(
        self, run: Run, laid: Path, tmp_path: Path
    ) -> None:
        """With one of 95 on hand, 95 would be started: what the plan says is not so."""
        document = json.loads(laid.read_text())
        there = document["order"]["fabrics"][0]["bolts"][0]["on_hand"]
        there.append({**there[0], "name": "one more", "length": there[0]["length"] * 95 // 100})
        more = tmp_path / "more.json"
        more.write_text(json.dumps(document))
        assert "re-proved" not in lines(run("prove", more))[0].replace("not re-proved", "")
