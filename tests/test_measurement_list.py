"""Windows from a spreadsheet: what a list may look like, and how its faults are told. All data invented."""

from __future__ import annotations

import codecs
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from nesting.check import check_plan_document
from nesting.commands import main
from nesting.errors import JobError
from nesting.files import empty_list, list_text, plan_document, read_job, read_job_text, read_plan
from nesting.files.measurement_list import read_list_text
from nesting.order.job import Job
from nesting.planning.planner import Effort, plan
from nesting.units import centimeters, inches
from tests.orders import by_id, cut_job
from tests.seeds import examples
from tests.test_files import FULL

FABRICS = """
title = "Garden room"
windows = "measured.csv"
[fabric.face]
[[fabric.face.bolt]]
width = 54
[fabric.lining]
[[fabric.lining.bolt]]
width = 54
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(FABRICS, encoding="utf-8")
    return tmp_path


def read(folder: Path, text: str | bytes) -> Job:
    data = text if isinstance(text, bytes) else text.encode()
    (folder / "measured.csv").write_bytes(data)
    return read_job(folder / "job.toml")


def faults_of(folder: Path, text: str | bytes) -> list[str]:
    with pytest.raises(JobError) as caught:
        read(folder, text)
    return [str(fault) for fault in caught.value.faults]


def test_a_row_is_cut_as_if_it_stood_in_the_job(folder: Path) -> None:
    """Hand-worked; allowances of a back tab are common practice, no source (reference F1).

    Finished 95 1/2 + top seam 1/2 + hem 4 x 2 = 104 in long, nothing taken up by the rod. Rod 213.36 cm =
    84 in, a pair, so 42 a panel; 42 x 1.5 = 63 flat, + side hems 1 x 2 x 2 = 67 wide. Bolt 54 less
    two selvages of 1/2 = 53: the full width is 53, and the part 67 - 53 + 2 seams of 1/2 = 15.
    """
    job = read(folder, "name,rod (cm),finished_length,fullness,take_up\nEast,213.36,95 1/2,1.5,0\n")
    pieces = cut_job(job)
    full, part = by_id(pieces, "east/left/1"), by_id(pieces, "east/left/2")
    assert (full.width, full.length) == (inches(53), inches(104))
    assert (part.width, part.length) == (inches(15), inches(104))


def test_units_stand_in_the_head_or_the_cell_and_the_cell_wins(folder: Path) -> None:
    job = read(
        folder,
        "Name,ROD (cm),Finished Length [in],returns,overlap\n"
        'East,200,90 1/2,"3 1/2",10 cm\n'
        'West,84 in,"7\' 6""",0,4"\n',
    )
    east, west = job.windows
    assert (east.rod, east.finished_length) == (centimeters(200), inches("181/2"))
    assert (east.returns, east.overlap) == (inches("7/2"), centimeters(10))
    assert (west.rod, west.finished_length, west.overlap) == (inches(84), inches(90), inches(4))


def test_dots_lead_into_tables_and_numbers_count_lists(folder: Path) -> None:
    job = read(
        folder,
        "name,rod,finished_length,tab.width,side_hem.leading.turn,side_hem.outer,bottom_hem,"
        "tieback.length,tieback.width,tieback.2.length,tieback.2.width\n"
        "East,84,95,3,1.5,Selvage,selvage,24,4,30,5\n"
        "West,84,95,,,,,,,30,5\n",
    )
    east, west = job.windows
    assert east.tab.width == inches(3)
    assert east.leading_hem is not None
    assert east.leading_hem.allowance == inches(3)
    assert east.outer_hem is not None
    assert (east.outer_hem.turns, east.bottom_hem and east.bottom_hem.turns) == (0, 0)
    assert [(t.length, t.width) for t in east.tiebacks] == [
        (inches(24), inches(4)),
        (inches(30), inches(5)),
    ]
    assert [(t.length, t.width) for t in west.tiebacks] == [(inches(30), inches(5))]


@pytest.mark.parametrize(
    "text",
    [
        "name;rod (cm);finished_length (cm);fullness;count\nEast;213,5;240;1,75;2\n",
        "sep=;\r\nname;rod (cm);finished_length (cm);fullness;count\r\nEast;213,5;240;1,75;2,0\r\n",
        'name,rod (cm),finished_length (cm),fullness,count\nEast,"213,5",240,"1,75",2\n',
        "name\trod (cm)\tfinished_length (cm)\tfullness\tcount\nEast\t213,5\t240,00\t1,75\t2\n",
        "name,# by,rod (cm),finished_length (cm),fullness,count,,\nEast,me,213.5,240,1.75,2,,\n,,,,,,,\n",
    ],
)
def test_however_a_country_writes_numbers(folder: Path, text: str) -> None:
    (window,) = read(folder, text).windows
    assert (window.rod, window.finished_length) == (centimeters("427/2"), centimeters(240))
    assert (window.fullness, window.count) == (1.75, 2)


@pytest.mark.parametrize(("before", "code"), [(codecs.BOM_UTF8, "utf-8"), (b"", "utf-8"), (b"", "utf-16")])
def test_a_byte_order_mark_and_wide_text(folder: Path, before: bytes, code: str) -> None:
    text = "name;rod;finished_length\nFenêtre ½;84 ½;95\n"
    (window,) = read(folder, before + text.encode(code)).windows
    assert (window.name, window.rod) == ("Fenêtre ½", inches("169/2"))


def test_its_windows_follow_those_of_the_job(folder: Path) -> None:
    path = folder / "job.toml"
    path.write_text(FABRICS + '[[window]]\nname = "Own"\nrod = 84\nfinished_length = 90\n', encoding="utf-8")
    job = read(folder, "rod,finished_length\n60,80\n70,80\n")
    assert [window.name for window in job.windows] == ["Own", "Window 2", "Window 3"]


def test_all_faults_at_once_each_with_file_row_column_and_value(folder: Path) -> None:
    found = faults_of(
        folder,
        "Name,rod (furlong),finished_length,fullness,count,finished length,rodd,heading,tieback.2.width,\n"
        'East,84,95,"2,250",two,,,tap top,4,\n'
        "\n"
        "East,84,-3,1.5,,,,,,x\n"
        "West,84,2-Jan,1,5,2,,,,,,\n",
    )
    assert found == [
        'measured.csv: row 1: column "rod (furlong)": expected a unit in brackets: in, ft, yd, mm, cm or m, '
        'such as "rod (cm)"',
        'measured.csv: row 1: column "finished length": expected each column once: remove or rename the '
        "second one",
        'measured.csv: row 1: column "rodd": expected a key of a window; did you mean "rod"?; or begin the '
        "name with # for notes of your own",
        'measured.csv: row 4: column "J" = "x": expected a name in the first row for this column, or nothing '
        "in it",
        'measured.csv: row 2 "East": column "fullness" = "2,250": expected a number from 1 up to 6, such as '
        "1.5",
        'measured.csv: row 2 "East": column "count" = "two": expected a whole number from 1 to 100000, such '
        "as 1",
        'measured.csv: row 2 "East": column "heading" = "tap top": expected one of "back-tab", "tab-top", '
        '"rod-pocket", "pinch-pleat", "grommet", "clip-ring", "pencil-pleat" (did you mean "tab-top"?)',
        'measured.csv: row 2 "East": column "tieback.2.length": expected the finished length of the '
        "tie-back, such as 24",
        'measured.csv: header: column "rod": expected the length of the rod, such as 84',
        'measured.csv: row 4 "East": column "Name" = "East": expected a name of its own: "East" is taken',
        'measured.csv: row 4 "East": column "finished_length" = "-3": expected a length above 0, such as '
        '"95 1/2"',
        'measured.csv: row 5: column "finished_length" = "2-Jan": expected a measure: a spreadsheet took '
        "this one for a date; format its column as text",
    ]


def test_a_decimal_comma_between_commas_is_refused(folder: Path) -> None:
    assert faults_of(folder, "name,rod,finished_length\nEast,213,5,240\n") == [
        "measured.csv: row 2: expected at most 3 cells, one for each column; a decimal comma needs quotes, "
        "or semicolons between the cells"
    ]


@pytest.mark.parametrize(
    "cell", ["213.125", "½7", "1'250", "11/8", '"1,250"', "213.125 cm"]
)  # fmt: skip
def test_a_cell_that_two_people_could_read_two_ways_is_refused(folder: Path, cell: str) -> None:
    (fault,) = faults_of(folder, f"name,rod (cm),finished_length\nEast,{cell},95 1/2\n")
    assert 'row 2 "East": column "rod (cm)"' in fault
    assert any(reason in fault for reason in ("write", "behind its whole number"))
    # The same digits in a column of meters or inches have one reading: there a point is the decimal point.
    if cell == "213.125":
        assert (
            read(folder, "name,rod (in),finished_length\nEast,95.125,95 1/2\n").windows[0].rod
            == 95.125 * 2032
        )
        assert (
            read(folder, "name,rod (m),finished_length\nEast,2.135,95 1/2\n").windows[0].rod == 213500 * 0.8
        )


def test_two_cells_that_contradict_each_other(folder: Path) -> None:
    (fault,) = faults_of(
        folder, "name,rod,finished_length,bottom_hem,bottom_hem.turn\nEast,84,95,selvage,4\n"
    )
    assert fault == (
        'measured.csv: row 2: column "bottom_hem.turn" = "4": expected nothing here, or nothing in the '
        "column that contradicts it"
    )


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("", "a row of column names"),
        ("\n\n", "a row of column names"),
        (";;;\n;;\n", "a row of column names"),
        ('"",""\n', "a row of column names"),
        ("name,rod\n", "at least one row below it"),
        (b"n\xe9me,rod\nEast,84\n", "character set UTF-8"),
        ('name,rod\n"East,84\n', "quotes are closed"),
        (b"name\0rod\n", "a row of column names"),
        ("name," * 500_000, "over 2 MiB"),
    ],
)
def test_lists_that_cannot_be_read(folder: Path, text: str | bytes, remedy: str) -> None:
    (fault,) = faults_of(folder, text)
    assert remedy in fault
    assert "measured.csv" in fault


def test_a_list_is_looked_for_beside_the_job(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read(folder, "name,rod,finished_length\nEast,84,95\n")
    elsewhere = folder / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    assert len(read_job(folder / "job.toml").windows) == 1
    (folder / "measured.csv").rename(elsewhere / "measured.csv")
    with pytest.raises(JobError, match=r"nesting start --csv"):
        read_job(folder / "job.toml")
    with pytest.raises(JobError, match="looked for beside it"):
        read_job_text(FABRICS)


@pytest.mark.parametrize("value", ["3", '""', '["a.csv"]'])
def test_a_list_that_is_no_name(value: str) -> None:
    with pytest.raises(JobError, match=r"windows"):
        read_job_text(FABRICS.replace('"measured.csv"', value))


# Nothing is lost


def toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else str(value)


def test_a_window_with_every_key_reads_the_same_from_a_list(tmp_path: Path) -> None:
    raw = tomllib.loads(FULL)
    (tmp_path / "job.toml").write_text(
        FULL[: FULL.index("[[window]]")].replace("units", 'windows = "w.csv"\nunits')
        + FULL[FULL.index("[[extra]]") :],
        encoding="utf-8",
    )
    (tmp_path / "w.csv").write_text(list_text(raw["window"]), encoding="utf-8")
    assert read_job(tmp_path / "job.toml").windows == read_job_text(FULL).windows


#: From 25 on: below heading and hem, or below their side hems, panels are refused.
SIZES = st.one_of(
    st.integers(25, 190), st.sampled_from(["95 1/2", "213 cm", "7 ft 6 in", '84"', "84,5", "33.25"])
)
NAMES = st.text("abäé ½;,\"'\t#=+-@", min_size=1, max_size=12).filter(lambda name: "a" in name)
HEMS = st.one_of(
    st.just("selvage"),
    st.fixed_dictionaries({"turn": st.integers(1, 4)}, optional={"turns": st.integers(0, 2)}),
)
TIEBACKS = st.lists(
    st.fixed_dictionaries({"length": SIZES, "width": SIZES}, optional={"count": st.integers(1, 9)}),
    max_size=3,
)
WINDOWS = st.lists(
    st.fixed_dictionaries(
        {"rod": SIZES, "finished_length": SIZES},
        optional={
            "room": NAMES.map(lambda name: name.replace("\t", "")),
            "fullness": st.sampled_from([1.5, "2 1/2", 2, "5/2"]),
            "count": st.integers(1, 9),
            "heading": st.sampled_from(["tab-top", "grommet"]),
            "bottom_hem": HEMS,
            "tab": st.fixed_dictionaries({"width": st.integers(1, 3)}, optional={"gap": st.integers(0, 3)}),
            "tieback": TIEBACKS,
        },
    ),
    min_size=1,
    max_size=4,
)


@pytest.mark.parametrize("room", ["=a", "'=a", " '=a", "''-1", "'-1 1/2", "'a", "-1 1/2"])
def test_an_apostrophe_of_the_name_is_not_taken_for_that_of_the_sheet(room: str) -> None:
    written = list_text([{"rod": 40, "finished_length": 60, "room": room}])
    assert read_list_text("w.csv", written).windows[0]["room"] == room.strip()


# Sizes a maker could mean: wider tabs lie over each other on the narrowest panel, deeper hems fold it away.
@examples(150)
@example(windows=[{"rod": 40, "finished_length": 60, "room": " '=a"}])
@given(windows=WINDOWS)
def test_any_windows_read_the_same_from_a_list(windows: list[dict[str, Any]]) -> None:
    head = FABRICS.replace('windows = "measured.csv"\n', "")
    rows = "".join(
        "[[window]]\n" + "".join(f"{key} = {toml(value)}\n" for key, value in window.items())
        for window in windows
    )
    listed = read_list_text("w.csv", list_text(windows))
    assert listed.faults == ()
    again = "".join(
        "[[window]]\n" + "".join(f"{key} = {toml(value)}\n" for key, value in window.items())
        for window in listed.windows
    )
    assert read_job_text(head + again).windows == read_job_text(head + rows).windows


def test_the_plan_needs_no_list_any_more(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = read(folder, "name,rod,finished_length,heading\nEast,40,60,clip-ring\n")
    made = plan(job, effort=Effort(work=0.5, workers=1))
    path = folder / "plan.json"
    path.write_text(json.dumps(plan_document(made)), encoding="utf-8")
    (folder / "measured.csv").unlink()
    assert read_plan(path).job == job
    assert check_plan_document(json.loads(path.read_text("utf-8"))) == ()
    monkeypatch.setattr("sys.argv", ["nesting", "check", str(path)])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code in (0, None)
    monkeypatch.setattr("sys.argv", ["nesting", "packet", str(path), "-o", str(folder / "out")])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code in (0, None)
    assert "East" in (folder / "out" / "packet.html").read_text("utf-8")


# An empty list to begin with


@pytest.mark.parametrize("unit", ["in", "cm", "mm"])
def test_an_empty_list_takes_a_window(folder: Path, unit: Any) -> None:
    heads = empty_list(unit)
    assert "finished_length" in heads
    assert heads.count(f"({unit})") >= 4
    cells = {"name": "East", f"rod ({unit})": "1000", f"finished_length ({unit})": "1000"}
    row = ",".join(cells.get(head, "") for head in heads.strip().split(","))
    (window,) = read(folder, f"{heads}{row}\n").windows
    assert window.name == "East"
    assert window.rod == window.finished_length == 1000 * {"in": 2032, "cm": 800, "mm": 80}[unit]


def test_start_writes_an_empty_list_and_overwrites_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["nesting", "start", "--csv", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        return (int(ended.value.code or 0), *capsys.readouterr())

    assert run("--units", "cm")[:2] == (0, empty_list("cm"))
    code, out, err = run("-o", str(tmp_path))
    assert (code, out.strip()) == (0, str(tmp_path / "windows.csv"))
    assert 'windows = "windows.csv"' in err
    assert (tmp_path / "windows.csv").read_text("utf-8") == empty_list("in")
    code, _, err = run("-o", str(tmp_path))
    assert code == 2
    assert "windows.csv is there already" in err


@examples(300)
@given(
    text=st.lists(
        st.sampled_from(
            ["rod", "name", "tieback.2.width", "84 ½", "-", "(cm)", "#", '"', "=", "\r", *",;\t\n"]
        ),
        max_size=24,
    ).map("".join)
    | st.text(max_size=60)
)
def test_no_text_is_too_odd_to_be_read_or_refused(text: str) -> None:
    listed = read_list_text("w.csv", text)
    assert listed.windows or listed.faults
    assert len(listed.windows) == len(listed.rows) == len(listed.cells)
    for number, window in enumerate(listed.windows):
        assert isinstance(window, dict)
        assert listed.place(number, ("rod",))[0].startswith("w.csv")
