"""Files of earlier versions, as they were written, in the names of now. All data invented."""

from __future__ import annotations

import json
import shutil
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from nesting.check import Breach, check_plan_document
from nesting.commands import main
from nesting.errors import JobError, NestingError
from nesting.files import (
    amend_job_text,
    in_words_of_now,
    list_text,
    read_comparison,
    read_job,
    read_job_text,
    read_plan,
    read_plan_document,
)
from nesting.files.measurement_list import read_list_text
from nesting.web.draft import REWORDED, from_form, from_text, packed
from tests.web_page import OURS, a_page

HERE = Path(__file__).parent
OLD = sorted((HERE / "old_samples").glob("*.toml"))
NOW = HERE.parent / "samples"
PLAN = HERE / "old_samples" / "remnants-plan.json"

EVERYWHERE = """\
# All places that had another name.
title = "Den"

[cloth."cloth"]  # its name is its own
repeat = { length = 25, width = 27 }
[[cloth."cloth".bolt]]
width = 56
match = 54
top_up = true
at_hand = [{ length = 200, name = "at_hand" }]

[cloth.trim]
bolt = [{ width = 54, at_hand = [{ length = 90 }] }]

[[window]]
name = "cloth = 3"
rod = 40
finished_length = 80
heading = "tab-top"
cloth   = "cloth"   # the face
tab.cloth = "trim"
facing = { cloth = "trim" }
[[window.band]]
width = 3
cloth = "trim"
[[window.tieback]]
length = 20
width = 4
cloth = "trim"

[[extra]]
cloth = "trim"
width = 10
length = 10
"""


@pytest.fixture
def run(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    def ran(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["nesting", *map(str, words)])
        capsys.readouterr()
        code = 0
        try:
            main()
        except SystemExit as end:
            code = 0 if end.code is None else int(end.code)
        return code, *capsys.readouterr()

    return ran


def test_there_are_old_samples() -> None:
    assert len(OLD) == 9


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_an_old_sample_is_refused_and_rewritten_is_the_job_of_the_new_one(path: Path, tmp_path: Path) -> None:
    with pytest.raises(
        JobError, match=r"\[cloth\.face\].* \[fabric\.face\]; `nesting check OLD --convert NEW`"
    ):
        read_job(path)
    (tmp_path / "guest-rooms.csv").write_bytes((path.parent / "guest-rooms.csv").read_bytes())
    new = tmp_path / path.name
    new.write_text(in_words_of_now(path.read_text("utf-8"), path.name), "utf-8")
    assert read_job(new) == read_job(NOW / path.name)
    # Line by line the same, but for keys that are called otherwise: notes, order and blanks stay.
    was, now = path.read_text("utf-8").splitlines(), new.read_text("utf-8").splitlines()
    assert len(was) == len(now)
    changed = [(old, made) for old, made in zip(was, now, strict=True) if old != made]
    assert changed
    for old, made in changed:
        assert old.replace("cloth", "fabric").replace("at_hand", "on_hand") == made


def test_every_place_of_an_old_name_is_found() -> None:
    made = in_words_of_now(EVERYWHERE)
    assert made == (
        EVERYWHERE.replace("[cloth.", "[fabric.")
        .replace("at_hand = [", "on_hand = [")
        .replace("cloth   =", "fabric   =")
        .replace('cloth = "trim"', 'fabric = "trim"')
    )
    assert tomllib.loads(made)["fabric"]["cloth"]["bolt"][0]["on_hand"][0]["name"] == "at_hand"
    job = read_job_text(made)
    assert (job.windows[0].fabric, job.windows[0].name) == ("cloth", "cloth = 3")
    assert job.fabric("trim").bolts[0].on_hand[0].length > 0
    assert in_words_of_now(made) is made


def test_each_kind_of_place_is_told_once_with_its_new_name() -> None:
    with pytest.raises(JobError) as error:
        read_job_text(EVERYWHERE)
    assert [
        (fault.place, fault.expected.split(";")[0].rpartition(", ")[2]) for fault in error.value.faults
    ] == [
        ("[cloth.cloth]", "[fabric.cloth]"),
        ("[[cloth.cloth.bolt.at_hand]]", "[[fabric.cloth.bolt.on_hand]]"),
        ("[[cloth.trim.bolt.at_hand]]", "[[fabric.trim.bolt.on_hand]]"),
        ("window.cloth", "window.fabric"),
        ("window.tab.cloth", "window.tab.fabric"),
        ("window.facing.cloth", "window.facing.fabric"),
        ("window.band.cloth", "window.band.fabric"),
        ("window.tieback.cloth", "window.tieback.fabric"),
        ("extra.cloth", "extra.fabric"),
    ]


def test_an_entry_under_both_names_is_refused() -> None:
    with pytest.raises(JobError, match=r'window\.0\.cloth: expected one of "cloth" and "fabric"'):
        in_words_of_now('[cloth.face]\n[[window]]\ncloth = "a"\nfabric = "b"\n')


def test_tables_in_any_order_are_rewritten() -> None:
    text = (
        '[cloth.a]\nnap = "none"\n[[window]]\nrod = 3\ncloth = "a"\n[cloth.b]\n[[cloth.a.bolt]]\nwidth = 54\n'
    )
    made = tomllib.loads(in_words_of_now(text))
    assert made == {
        "fabric": {"a": {"nap": "none", "bolt": [{"width": 54}]}, "b": {}},
        "window": [{"rod": 3, "fabric": "a"}],
    }
    assert tomllib.loads(in_words_of_now('cloth.a.bolt = [{ width = 54 }]\ncloth.a.name = "b"\n')) == {
        "fabric": {"a": {"bolt": [{"width": 54}], "name": "b"}}
    }


def test_a_job_whose_notes_cannot_be_kept_is_written_anew_and_says_so(
    run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    # Valid TOML: the bolts of one fabric stand apart, so that no editor of texts follows.
    old.write_text(
        "# by hand\n[[cloth.a.bolt]]\nwidth = 54\n[cloth.b]\n[[cloth.a.bolt.at_hand]]\nlength = 90\n"
        '[[cloth.b.bolt]]\nwidth = 60\n[[extra]]\ncloth = "a"\nwidth = 9\nlength = 9\n'
    )
    code, _, err = run("check", old, "--convert", new)
    assert code == 0
    assert f"{new}: without the notes of {old}" in err
    table = tomllib.loads(new.read_text())
    assert table == {
        "fabric": {
            "a": {"bolt": [{"width": 54, "on_hand": [{"length": 90}]}]},
            "b": {"bolt": [{"width": 60}]},
        },
        "extra": [{"fabric": "a", "width": 9, "length": 9}],
    }
    # So is one of now, when the page changes it.
    now = old.read_text().replace("cloth", "fabric").replace("at_hand", "on_hand")
    table["extra"][0]["width"] = 10
    assert tomllib.loads(amend_job_text(now, table)) == table


@pytest.mark.parametrize("lead", ["", "\ufeff", "sep=;\n"])
def test_the_columns_of_a_list_are_renamed_and_its_cells_are_not(lead: str) -> None:
    old = lead + 'name;Cloth ;tab.cloth;"tieback.2.cloth";tieback.2.width (cm);# cloth\nA;cloth;b;c;4;cloth\n'
    with_faults = read_list_text("old.csv", old)
    assert [fault.expected.split(";")[0] for _, fault in with_faults.faults] == [
        f'the name it has now, "{name}"' for name in ("fabric", "tab.fabric", "tieback.2.fabric")
    ]
    new = in_words_of_now(old, "old.csv")
    assert new == lead + (
        'name;fabric ;tab.fabric;"tieback.2.fabric";tieback.2.width (cm);# cloth\nA;cloth;b;c;4;cloth\n'
    )
    listed = read_list_text("new.csv", new)
    assert not listed.faults
    assert listed.windows == (
        {
            "name": "A",
            "fabric": "cloth",
            "tab": {"fabric": "b"},
            "tieback": [{"fabric": "c", "width": "4 cm"}],
        },
    )
    again = list_text(listed.windows)
    assert in_words_of_now(again, "x.csv") == again


def test_a_column_is_renamed_where_a_cell_of_its_row_goes_on_in_the_next_line() -> None:
    old = 'name,"rod\n(cm)",cloth\nA,40,cloth\n'
    assert [fault.expected.split(";")[0] for _, fault in read_list_text("old.csv", old).faults] == [
        'the name it has now, "fabric"'
    ]
    new = in_words_of_now(old, "old.csv")
    assert new == 'name,"rod\n(cm)",fabric\nA,40,cloth\n'
    assert not read_list_text("new.csv", new).faults


def test_a_column_under_both_names_is_refused() -> None:
    with pytest.raises(JobError, match=r'column "cloth": expected one of "cloth" and "fabric"'):
        in_words_of_now("name,Cloth,fabric\nA,a,b\n", "list.csv")


def test_an_old_plan_is_rewritten_and_passes_the_check(tmp_path: Path) -> None:
    with pytest.raises(NestingError, match=r"`nesting check OLD --convert NEW` rewrites the file"):
        read_plan(PLAN)
    with pytest.raises(NestingError, match=r"`nesting check OLD --convert NEW` rewrites the file"):
        check_plan_document(read_plan_document(PLAN))
    new = tmp_path / "plan.json"
    new.write_text(in_words_of_now(PLAN.read_text("utf-8"), "plan.json"), "utf-8")
    document = read_plan_document(new)
    # What a rod takes up was not cut then: every panel would hang 7/16 short, and each piece of it is named.
    short = check_plan_document(document)
    assert {one.kind for one in short} == {Breach.HANGING}
    assert all(one.what.endswith(": 0 more for the rod") for one in short)
    assert len(short) == sum(piece["role"] == "panel" for piece in document["pieces"])
    document["order"]["windows"] = [{**one, "take_up": 0} for one in document["order"]["windows"]]
    assert check_plan_document(document) == ()
    plan = read_plan(new)
    assert plan.job == read_job(NOW / "remnants.toml")
    old = json.loads(PLAN.read_text("utf-8"))
    assert {layout.on_hand for layout in plan.layouts} == {layout["at_hand"] for layout in old["layouts"]}
    assert [stage.name for each in plan.objectives for stage in each.stages] == [
        stage["name"].replace("cloth", "fabric") for each in old["objectives"] for stage in each["stages"]
    ]
    assert "half the rod's circumference" in new.read_text("utf-8")
    assert '"label": "half the rod round"' not in new.read_text("utf-8")
    # The check looks at what was renamed: pieces that reach beyond the length on hand are found.
    next(each for each in document["layouts"] if each["on_hand"])["on_hand_length"] = 1
    assert check_plan_document(document)


def test_an_old_comparison_is_rewritten(tmp_path: Path) -> None:
    job = read_job_text(
        'title = "T"\n[fabric.a]\n[[fabric.a.bolt]]\nwidth = 54\n[[extra]]\nwidth = 9\nlength = 9\n'
    )
    option = {"cloth": "a", "bolt_width": 54, "widths_per_panel": {"cloth": 1}, "reason": "cloth is short"}
    old = {"schema": "nesting-comparison/1", "title": "T", "units": "in", "options": [option]}
    new = tmp_path / "comparison.json"
    new.write_text(json.dumps(old))
    with pytest.raises(NestingError, match="an earlier version wrote this"):
        read_comparison(new, job)
    new.write_text(in_words_of_now(json.dumps(old), "comparison.json"))
    (made,) = read_comparison(new, job).options
    assert (made.fabric.key, made.widths_per_panel, made.reason) == ("a", (("cloth", 1),), "cloth is short")


def test_what_is_none_of_these_is_left_or_refused() -> None:
    assert in_words_of_now('{"cloth": 1}', "other.json") == '{"cloth": 1}'
    with pytest.raises(NestingError, match="no JSON"):
        in_words_of_now("{", "plan.json")
    with pytest.raises(JobError, match="quotes"):
        in_words_of_now("rod = 1/2")


def test_the_command_writes_the_new_file_and_checks_it(
    run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    new = tmp_path / "job.toml"
    code, out, err = run("check", HERE / "old_samples" / "guest-rooms.toml", "--convert", new)
    assert (code, out) == (0, f"{new}: a job that can be planned (3 windows, 0 extras)\n")
    assert f"written: {new}" in err
    assert f"written: {tmp_path / 'guest-rooms.csv'}" in err
    again = run("check", HERE / "old_samples" / "guest-rooms.toml", "--convert", new)
    assert again[0] == 2
    assert "expected a folder without a guest-rooms.csv" in again[2]
    (tmp_path / "guest-rooms.csv").unlink()
    again = run("check", HERE / "old_samples" / "guest-rooms.toml", "--convert", new)
    assert again[0] == 2
    assert "a new file: this one is there already" in again[2]
    other = run("check", PLAN, "--convert", tmp_path / "plan.toml")
    assert other[0] == 2
    assert "a file of the same kind, ending in .json" in other[2]
    # Sound but for what a rod takes up, which was not cut then.
    code, out, err = run("check", PLAN, "--convert", tmp_path / "plan.json")
    assert (code, out) == (1, "")
    assert err.count("0 more for the rod") == err.count("hanging:") > 0
    listed = tmp_path / "old.csv"
    listed.write_text("name,rod,cloth\nA,40,face\n")
    code, out, _ = run("check", listed, "--convert", tmp_path / "new.csv")
    assert (code, (tmp_path / "new.csv").read_text()) == (0, "name,rod,fabric\nA,40,face\n")


@pytest.mark.parametrize("absolute", [False, True])
def test_a_list_of_another_folder_is_left_alone_and_named(
    absolute: bool, run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    lists, jobs, there = (tmp_path / name for name in ("lists", "jobs", "there/new"))
    for folder in (lists, jobs, there):
        folder.mkdir(parents=True)
    shutil.copy(HERE / "old_samples" / "guest-rooms.csv", lists)
    name = (lists / "guest-rooms.csv").as_posix() if absolute else "../lists/guest-rooms.csv"
    text = (HERE / "old_samples" / "guest-rooms.toml").read_text()
    assert '"guest-rooms.csv"' in text
    (jobs / "job.toml").write_text(text.replace('"guest-rooms.csv"', f'"{name}"'))
    before = (lists / "guest-rooms.csv").read_bytes()
    _, _, err = run("check", jobs / "job.toml", "--convert", there / "job.toml")
    assert f"written: {there / 'job.toml'}" in err
    assert f"{name}: left as it is, for it is in another folder; convert it by itself" in err
    assert sorted(path.name for path in tmp_path.rglob("*.csv")) == ["guest-rooms.csv"]
    assert (lists / "guest-rooms.csv").read_bytes() == before


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_list_keeps_the_mark_by_which_a_spreadsheet_reads_its_letters(
    encoding: str, run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    old, new = tmp_path / "old.csv", tmp_path / "new.csv"
    old.write_bytes("name;rod;cloth\r\nKüche;40;face\r\n".encode(encoding))
    assert run("check", old, "--convert", new)[0] == 0
    assert new.read_bytes() == "name;rod;fabric\r\nKüche;40;face\r\n".encode("utf-8-sig")


@pytest.mark.parametrize("text", ['{"schema": "other/1"}', '{"cloth": 1}', "[1]", '{"schema": ["a"]}'])
def test_a_document_that_is_read_nowhere_is_not_written_anew(
    text: str, run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    old, new = tmp_path / "old.json", tmp_path / "new.json"
    old.write_text(text)
    code, _, err = run("check", old, "--convert", new)
    assert code == 2
    assert "expected a plan or a comparison" in err
    assert not new.exists()


def test_the_page_rewrites_an_old_job_and_an_old_list_and_says_so() -> None:
    old = (HERE / "old_samples" / "reading-nook.toml").read_bytes()
    with a_page() as page:
        answer = page.post("/job/open", files={"file": ("job.toml", old)}, headers=OURS)
        assert answer.status_code == 200
        assert REWORDED in answer.text
        assert 'name="fabric.face.name"' in answer.text
        now = (NOW / "reading-nook.toml").read_bytes()
        assert REWORDED not in page.post("/job/open", files={"file": ("job.toml", now)}, headers=OURS).text
        text = b"name,rod,cloth\nA,40,lining\n"
        answer = page.post("/job/open", files={"file": ("list.csv", text)}, headers=OURS)
        assert answer.status_code == 200
        assert REWORDED in answer.text
        kept = {"base": packed(old.decode()), "cloth.face.name": "Moss", "do": "update"}
        answer = page.post("/job", data=kept, headers=OURS)
        assert REWORDED in answer.text
        assert 'value="Moss"' in answer.text


def test_a_form_that_a_browser_kept_keeps_what_was_typed() -> None:
    base = '[cloth.face]\nname = "Oat"\n[[cloth.face.bolt]]\nwidth = 54\n'
    base += "[[cloth.face.bolt.at_hand]]\nlength = 9\n"
    typed = {
        "base": packed(base),
        "cloth.face.name": "Moss",
        "cloth.face.bolt.0.at_hand.0.length": "120",
        "cloth.face.bolt.0.width": "54",
    }
    draft = from_form(typed.items())
    assert draft.reworded
    assert draft.table == {
        "fabric": {"face": {"name": "Moss", "bolt": [{"width": 54, "on_hand": [{"length": 120}]}]}}
    }
    assert tomllib.loads(draft.text) == draft.table
    assert from_text(base).text == base.replace("cloth", "fabric").replace("at_hand", "on_hand")
    # What is too long to be rewritten while others wait is asked for as a file.
    long = base + "# nothing\n" * 5000
    with pytest.raises(JobError, match="opened again"):
        from_form([("base", packed(long))])
