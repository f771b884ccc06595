"""Problems as files: what is written is read back, and what is no instance is refused with a remedy."""

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.errors import OutputError, ProblemError
from nesting.packing import Choice, Flaw, Match, Part, Problem, Repeat, Strip
from tests.instances import guillotine_cutting

#: Three forms of one instance, written by hand.
TEXT = """3
20
7 12 1
3 12 2
2 8 1
"""
NAMED = "3\n20\n1 7 12 1\n2 3 12 2\n3 2 8 1\n"
FORM = {"strip_width": 20, "items": [[7, 12, 1], [3, 12, 2], [2, 8, 1]]}
SIZES = [(7, 12, 1), (3, 12, 2), (2, 8, 1)]


def saved(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def nameless(problem: Problem) -> Problem:
    return replace(problem, parts=tuple(replace(part, name="") for part in problem.parts))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.json", json.dumps(FORM)),
        ("a.txt", TEXT),
        ("named.txt", NAMED),
        ("one_line.dat", TEXT.replace("3\n20\n", "3 20\n\n")),
        ("words", "3\n20\nsill 7 12\nhem 3 12\nhem 3 12\n"),
    ],
)
def test_forms_of_one_instance(name: str, text: str, tmp_path: Path) -> None:
    problem = Problem.read(saved(tmp_path, name, text))
    assert problem.strips == (Strip(20),)
    sizes = [(part.width, part.length, part.copies) for part in problem.parts]
    assert sizes == (SIZES if name != "words" else [(7, 12, 1), (3, 12, 1), (3, 12, 1)])


def test_names_are_the_ids_or_the_sizes(tmp_path: Path) -> None:
    assert [p.name for p in Problem.read(saved(tmp_path, "a", NAMED)).parts] == ["1", "2", "3"]
    assert [p.name for p in Problem.read(saved(tmp_path, "b", TEXT)).parts] == ["7 x 12", "3 x 12", "2 x 8"]


def test_two_columns_are_sizes_and_three_that_count_begin_with_ids(tmp_path: Path) -> None:
    def read(text: str) -> list[tuple[int, int, int]]:
        return [(p.width, p.length, p.copies) for p in Problem.read(saved(tmp_path, "a", text)).parts]

    assert read("2\n9\n1 4\n2 5\n") == [(1, 4, 1), (2, 5, 1)]
    assert read("2\n9\n0 4 5\n1 5 6\n") == [(4, 5, 1), (5, 6, 1)]
    assert read("2\n9\n1 4 5\n2 5 6\n") == [(4, 5, 1), (5, 6, 1)]
    assert read("2\n9\n2 4 5\n1 5 6\n") == [(2, 4, 5), (1, 5, 6)]


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("form", ["a.json", "with ids", "without"])
def test_what_is_written_is_read_back(seed: int, form: str, tmp_path: Path) -> None:
    problem = guillotine_cutting(random.Random(seed), 30, 40, 12)
    path = tmp_path / form
    problem.write(path, ids=form != "without")
    again = Problem.read(path)
    assert nameless(again) == nameless(problem)
    if form == "with ids":
        assert [p.name for p in again.parts] == [p.name.replace(" ", "_") for p in problem.parts]


def test_a_pattern_is_written_and_read_back(tmp_path: Path) -> None:
    parts = tuple(Part(str(y), 5, 4, 2, match=Match("pattern", y=y)) for y in (0, 2, -1))
    problem = Problem((Strip(5, repeat=Repeat(3), start=0),), parts)
    problem.write(tmp_path / "a.json")
    again = Problem.read(tmp_path / "a.json")
    assert nameless(again) == nameless(problem)
    with pytest.raises(ProblemError, match=r"text holds no repeat \(3\): write a .json file"):
        problem.write(tmp_path / "a.txt")


A, B = Part("a", 3, 4), Part("b", 2, 4)


@pytest.mark.parametrize(
    "problem",
    [
        Problem((Strip(5, length=9),), (A,)),
        Problem((Strip(5), Strip(6)), (A,)),
        Problem((Strip(5, flaws=(Flaw(0, 0, 1, 1),)),), (A,)),
        Problem((Strip(5),), (replace(A, turnable=True),)),
        Problem((Strip(5),), (replace(A, value=3),)),
        Problem((Strip(5),), (A, B), (Choice("either", ((0,), (1,))),)),
        Problem((Strip(5, repeat=Repeat(3, 2), start=0),), (replace(A, match=Match("pattern")),)),
        Problem((Strip(5, repeat=Repeat(3)),), (replace(A, match=Match("pattern")),)),
        Problem((Strip(5, repeat=Repeat(3), start=0),), (replace(A, match=Match("pattern")), B)),
        Problem((Strip(5, repeat=Repeat(3), start=0),), (replace(A, match=Match("room")),)),
    ],
)
def test_what_no_form_holds_is_not_written(problem: Problem, tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match="files hold one open strip"):
        problem.write(tmp_path / "a.json")
    assert not (tmp_path / "a.json").exists()


def test_a_part_without_a_name_is_numbered(tmp_path: Path) -> None:
    Problem((Strip(5),), (A, replace(B, name=" "))).write(tmp_path / "a.txt")
    assert (tmp_path / "a.txt").read_text() == "2\n5\na 3 4 1\n2 2 4 1\n"


def test_widths_that_count_need_ids(tmp_path: Path) -> None:
    problem = Problem((Strip(5),), (Part("a", 1, 4, 2), Part("b", 2, 4)))
    with pytest.raises(ProblemError, match="would be read as ids: write them with ids"):
        problem.write(tmp_path / "a.txt", ids=False)
    problem.write(tmp_path / "a.txt")
    assert Problem.read(tmp_path / "a.txt") == problem


def test_text_holds_one_item_at_least(tmp_path: Path) -> None:
    for ids in (True, False):
        with pytest.raises(ProblemError, match=r"text holds one item at least: write a \.json file"):
            Problem((Strip(5),), ()).write(tmp_path / "a.txt", ids=ids)
    Problem((Strip(5),), ()).write(tmp_path / "a.json")
    assert Problem.read(tmp_path / "a.json") == Problem((Strip(5),), ())


def test_the_mark_of_an_encoding_and_capitals_of_an_ending_do_no_harm(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("1\n5\n3 4\n", encoding="utf-8-sig")
    problem = Problem.read(tmp_path / "a.txt")
    assert problem == Problem((Strip(5),), (Part("3 x 4", 3, 4),))
    problem.write(tmp_path / "a.JSON")
    assert json.loads((tmp_path / "a.JSON").read_text()) == {"strip_width": 5, "items": [[3, 4, 1]]}
    assert Problem.read(tmp_path / "a.JSON") == problem


def test_a_name_that_is_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match="a name has what is no letter"):
        Problem((Strip(5),), (replace(A, name="\ud800"),)).write(tmp_path / "a.txt")


REFUSED = [
    ("a.json", "{", "line 1: .*: expected JSON"),
    ("a.json", "[3]", r"\[3\]: expected an object with"),
    ("a.json", json.dumps({"items": []}), "strip_width = nothing: expected a whole number above 0"),
    ("a.json", json.dumps({"strip_width": 2.5, "items": []}), "strip_width = 2.5: .* multiply all by ten"),
    ("a.json", json.dumps({"strip_width": True, "items": []}), "strip_width = true: "),
    (
        "a.json",
        json.dumps({"strip_width": 9}),
        r"items = nothing: expected a list of \[width, length",
    ),
    ("a.json", json.dumps({"strip_width": 9, "items": [[3, 4]]}), r"items\[0\] = \[3, 4\]: expected \[width"),
    ("a.json", json.dumps({"strip_width": 9, "items": [[3, -4, 1]]}), r"items\[0\], length = -4: expected"),
    ("a.json", json.dumps({"strip_width": 9, "items": [[3, 4, 0]]}), r"items\[0\], copies = 0: expected"),
    ("a.json", json.dumps({"strip_width": 9, "items": [], "repeat": 0}), "repeat = 0: expected"),
    ("a.json", json.dumps({"strip_width": 9, "items": [], "repeat": 3}), "phased_items = nothing: expected"),
    (
        "a.json",
        json.dumps({"strip_width": 9, "repeat": 3, "phased_items": [[3, 4, "x", 1]]}),
        r'phased_items\[0\], phase = "x": expected a whole number',
    ),
    ("a.json", json.dumps({"strip_width": 2**31, "items": [[3, 4, 1]]}), "strip width 2147483648: expected"),
    ("a.json", "[" * 100_000, "it nests too deep, or has a number too long: expected JSON"),
    ("a.json", '{"strip_width": ' + "9" * 5000 + "}", "it nests too deep, or has a number too long"),
    ("a.txt", "1\n20\n7 " + "9" * 5000 + "\n", 'line 3: length = "999.*: expected a whole number above 0'),
    ("a.txt", "", 'begins with "": expected the number of items, then the width'),
    ("a.txt", "3\n20 30\n7 12\n", 'begins with "3 20 30": expected the number of items'),
    ("a.txt", "two\n20\n7 12\n", 'line 1: number of items = "two": expected a whole number'),
    ("a.txt", "1\n-20\n7 12\n", 'line 2: strip width = "-20": expected a whole number above 0'),
    ("a.txt", "2\n20\n7 12\n", "line 1: number of items = 2, but 1 lines follow: give each item a line"),
    ("a.txt", "1\n20\n7\n", 'line 3: "7": expected 2 to 4 columns'),
    ("a.txt", "1\n20\n1 7 12 1 5\n", 'line 3: "1 7 12 1 5": expected 2 to 4 columns'),
    ("a.txt", "2\n20\n7 12\n\n7 12 1\n", 'line 5: "7 12 1": expected 2 to 4 columns, as many in each'),
    ("a.txt", "1\n20\n7 1.5\n", 'line 3: length = "1.5": expected .* multiply all by ten'),
    ("a.txt", "1\n20\n7 0\n", 'line 3: length = "0": expected a whole number above 0'),
    ("a.txt", "1\n20\n7 ²\n", 'line 3: length = "²": expected a whole number above 0'),
]


@pytest.mark.parametrize(("name", "text", "said"), REFUSED)
def test_bad_files_are_refused_with_place_value_and_remedy(
    name: str, text: str, said: str, tmp_path: Path
) -> None:
    path = saved(tmp_path, name, text)
    with pytest.raises(ProblemError, match=said) as refused:
        Problem.read(path)
    assert str(refused.value).startswith(str(path))


def test_files_that_cannot_be_read_or_written(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match=r"none\.txt: cannot be read"):
        Problem.read(tmp_path / "none.txt")
    (tmp_path / "bytes.txt").write_bytes(b"1\n\xff")
    with pytest.raises(ProblemError, match="byte 2 is no text: save the file as UTF-8"):
        Problem.read(tmp_path / "bytes.txt")
    with pytest.raises(OutputError, match="cannot be written"):
        Problem((Strip(5),), (A,)).write(tmp_path / "no folder" / "a.txt")
