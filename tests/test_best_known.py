"""The set of instances in files: read strictly, the same as the generator's, and all it says holds."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from nesting.errors import ProblemError
from nesting.packing import Bound
from tests.benchmarks import plain_check, set_search
from tests.benchmarks.best_known import kept, main, table
from tests.benchmarks.set_entries import Claim, Entry, Family, Known
from tests.benchmarks.set_families import ABOUT, FAMILIES, HOTELS, MOST_COPIES, generated
from tests.benchmarks.set_files import FOLDER, load, path_of, stored, write
from tests.benchmarks.set_judging import REPLAYED, faults
from tests.benchmarks.set_reading import parsed
from tests.benchmarks.set_search import better_of, searched
from tests.benchmarks.set_writing import PLAIN, packed, written
from tests.seeds import nightly

ROOT = Path(__file__).parents[1]
#: More than this the set is not to take of the tree, in bytes.
LARGEST = 1_500_000
#: Some of each family, all small.
FEW = ("rooms/1", "rooms/13", "prints/1", "prints/4", "prints/14", "remnants/2", "hotel/1", "across/2")


@cache
def family_of(name: str) -> Family:
    return load(name)


def entry_of(place: str) -> Entry:
    family, _, name = place.partition("/")
    return next(entry for entry in family_of(family).entries if entry.name == name)


def every_place() -> list[str]:
    return [f"{family}/{number}" for family, (numbers, _) in FAMILIES.items() for number in numbers]


#: Two parts of three on a strip of 10, of which one may be turned; the least is 5.
SMALL: dict[str, Any] = {
    "form": "nesting-set/1",
    "family": "made",
    "tick": "1/80 mm",
    "about": "made by hand",
    "cut": "free",
    "instances": [
        {
            "name": "1",
            "windows": 1,
            "sold_by": 5,
            "measured_in": "in",
            "strips": [{"width": 10, "repeat": {"length": 4, "width": 5, "drop": [1, 2]}}],
            "parts": [
                {"width": 5, "length": 3, "copies": 2, "level": 1, "place": [0, 0]},
                {"width": 2, "length": 4, "turnable": True},
            ],
            "known": {
                "length": 9,
                "by": "hand",
                "found": "2026-12-01",
                "work": 1,
                "seed": 0,
                # The second column is half a repeat higher: 2; the plain part behind both.
                "layout": [[[0, 0], [5, 2]], [[0, 5]]],
            },
            "bounds": [
                {"length": 5, "by": "hand", "rests_on": "proved by our search", "found": "2026-12-01"}
            ],
            "runs": [{"work": 1, "seed": 0, "day": "2026-12-01", "length": 9, "bound": 5}],
        }
    ],
}


def changed(change: Callable[[dict[str, Any]], object]) -> str:
    form = json.loads(json.dumps(SMALL))
    change(form["instances"][0])
    return json.dumps(form)


class TestTheForm:
    def test_is_read_and_written_again_just_so(self) -> None:
        family = parsed(json.dumps(SMALL), "made")
        (entry,) = family.entries
        assert entry.problem.parts[0].match is not None
        assert (entry.bound, entry.closed, entry.known and entry.known.length) == (5, False, 9)
        assert faults(entry) == []
        assert parsed(written(family), "again") == family

    @pytest.mark.parametrize("family", stored())
    def test_files_are_as_they_are_written(self, family: str) -> None:
        """So that a better layout is one changed line."""
        assert written(family_of(family)) == path_of(family).read_text("utf-8")

    def test_is_small(self) -> None:
        assert sum(path.stat().st_size for path in FOLDER.iterdir()) <= LARGEST

    def test_what_is_long_is_packed_and_opened_again(self) -> None:
        rows = [[[at, 2 * at] for at in range(PLAIN)]]
        assert isinstance(packed(rows), str)
        text = changed(lambda form: form["known"].update(layout=packed([[[0, 0], [5, 2]], [[0, 5]]])))
        assert parsed(text, "made") == parsed(json.dumps(SMALL), "made")
        form = json.loads(json.dumps(SMALL))
        form["instances"][0]["known"]["layout"] = packed([[[0, 0]] * 900, [[0, 5]]])
        (entry,) = parsed(json.dumps(form), "made").entries
        assert entry.known is not None
        assert len(entry.known.layout) == 901

    @pytest.mark.parametrize(
        ("change", "told"),
        [
            (
                lambda one: one.update(width=3),
                "made: instances[0]: width = 3: expected none of this name",
            ),
            (
                lambda one: one["parts"][0].update(width=0),
                "parts[0]: width = 0: expected a whole number of 1",
            ),
            (lambda one: one["parts"][0].update(width=2.5), "parts[0]: width = 2.5: expected a whole number"),
            (
                lambda one: one["parts"][1].update(width=True),
                "parts[1]: width = true: expected a whole number",
            ),
            (lambda one: one["parts"][0].pop("level"), "parts[0]: level = nothing: expected the number of"),
            (lambda one: one["parts"][0].update(turnable=True), 'parts[0]: part "1" is matched and turnable'),
            (
                lambda one: one["parts"][1].update(turnable=False),
                "turnable = false: expected true; leave it out",
            ),
            (
                lambda one: one.update(choices=[[[0], [7]]]),
                "choices[0][1][0] = 7: expected the number of a part",
            ),
            (
                lambda one: one.update(choices=[[[0]], [[0]]]),
                "choices[1][0][0] = 0: expected the number of a part",
            ),
            (
                lambda one: one["strips"][0]["repeat"].update(drop=[1, 0]),
                "drop[1] = 0: expected a whole number",
            ),
            (
                lambda one: one["known"].update(layout=[[[0, 0]]]),
                "known: layout = [[[0, 0]]]: expected a list",
            ),
            (
                lambda one: one["known"].update(layout=[[[0]], []]),
                "layout[0][0] = [0]: expected a list of 2 to 4",
            ),
            (lambda one: one["known"].update(layout="no base85 \\"), 'layout = "no base85'),
            (lambda one: one["known"].update(found="today"), 'found = "today": expected a day such as'),
            (lambda one: one["known"].update(work=0), "work = 0: expected units of work above 0"),
            (
                lambda one: one["bounds"][0].update(length=-1),
                "bounds[0]: length = -1: expected a whole number",
            ),
            (lambda one: one["bounds"][0].update(certificate=[1]), "certificate = [1]: expected an object"),
            (lambda one: one.pop("name"), "name = nothing: expected words"),
        ],
    )
    def test_names_place_value_and_remedy(self, change: Callable[[Any], object], told: str) -> None:
        with pytest.raises(ProblemError) as caught:
            parsed(changed(change), "made")
        assert told in str(caught.value)

    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ("{", "made, line 1: "),
            ("[]", "made = []: expected an object with form"),
            ('{"form": 1, "form": 2}', '"form" stands twice'),
            ('{"form": NaN}', "NaN: expected a number of JSON"),
            ("[" * 100_000, "nests too deep"),
            (
                json.dumps(SMALL | {"form": "nesting-set/9"}),
                'form = "nesting-set/9": expected "nesting-set/1"',
            ),
            (
                json.dumps(SMALL | {"instances": SMALL["instances"] * 2}),
                'name = "1": expected a name of its own',
            ),
        ],
    )
    def test_refuses_what_is_no_such_file(self, text: str, told: str) -> None:
        with pytest.raises(ProblemError) as caught:
            parsed(text, "made")
        assert told in str(caught.value)

    def test_a_file_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(ProblemError, match=r"cannot be read .*: there are none"):
            load("prints", tmp_path)


class TestBothJudges:
    """What must fail fails, by the program's check and by the plain one, each by itself."""

    def test_the_plain_one_imports_nothing_of_the_program(self) -> None:
        tree = ast.parse(Path(plain_check.__file__).read_text("utf-8"))
        nodes = [node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
        names = {alias.name for node in nodes for alias in node.names} | {
            node.module for node in nodes if isinstance(node, ast.ImportFrom)
        }
        assert not [name for name in names if name and name.partition(".")[0] in ("nesting", "tests")]

    def test_the_plain_one_runs_alone(self, tmp_path: Path) -> None:
        script = Path(plain_check.__file__)
        good, bad = tmp_path / "good.json", tmp_path / "bad.json"
        good.write_text(json.dumps(SMALL), "utf-8")
        bad.write_text(changed(lambda one: one["known"].update(length=8)), "utf-8")
        for path, code, words in ((good, 0, "1 layouts judged"), (bad, 1, "length 8 is said, 9 is needed")):
            ran = subprocess.run(
                [sys.executable, "-I", script, path], capture_output=True, text=True, check=False
            )
            assert ran.returncode == code
            assert words in ran.stdout

    @pytest.mark.parametrize(
        ("layout", "length", "plain", "other"),
        [
            ([[[0, 0], [4, 2]], [[0, 5]]], 9, "over one another", "overlap"),
            ([[[0, 0], [6, 2]], [[0, 5]]], 9, "beside the strip", "outside"),
            ([[[0, 0], [5, 1]], [[0, 5]]], 9, "at several heights", "phase"),
            ([[[0, 0]], [[0, 5]]], 9, "1 copies of 2", "missing"),
            ([[[0, 0], [5, 2, 1]], [[0, 5]]], 9, "may not be turned", "turn"),
            ([[[0, 0], [5, 2]], [[0, 5, 1]]], 9, "9 is said, 7 is needed", "length"),
        ],
    )
    def test_see_a_broken_rule(self, layout: object, length: int, plain: str, other: str) -> None:
        (entry,) = parsed(
            changed(lambda one: one["known"].update(layout=layout, length=length)), "made"
        ).entries
        found = faults(entry)
        assert [fault for fault in found if plain in fault], found
        assert [fault for fault in found if other in fault.lower() and plain not in fault], found

    def test_see_choices_margins_and_flaws(self) -> None:
        def spoil(one: dict[str, Any]) -> None:
            one["choices"] = [[[0], [1]]]
            one["strips"][0]["flaws"] = [[0, 1, 1, 1]]
            one["parts"][0]["clear"] = [1, 0]

        (entry,) = parsed(changed(spoil), "made").entries
        told = "; ".join(faults(entry))
        for words in ("choice 0: parts [0, 1] are no option", "beside the strip", "lie over one another"):
            assert words in told

    def test_of_layouts_cut_across_first_see_a_pinwheel(self) -> None:
        """Four parts round a hole, each beside the next: no straight cut goes through."""
        parts = [{"width": 2, "length": 1}, {"width": 1, "length": 2}] * 2
        spots = [[[0, 0]], [[2, 0]], [[1, 2]], [[0, 1]]]
        form = {
            "strips": [{"width": 3}],
            "parts": parts,
            "known": {"length": 3, "layout": spots},
        }
        assert plain_check.faults(form, across=False) == []
        assert ["not cut across first" in fault for fault in plain_check.faults(form, across=True)] == [True]
        bands = form | {"known": {"length": 4, "layout": [[[0, 0]], [[0, 1]], [[0, 3]], [[1, 1]]]}}
        assert plain_check.faults(bands, across=True) == []

    @pytest.mark.parametrize(
        ("claim", "told"),
        [
            ({"length": 10}, "10 is above the layout of 9"),
            ({"rests_on": REPLAYED}, "which its certificate does not bear out"),
            ({"certificate": {"rule": "row weights"}}, "0 that its certificate proves"),
        ],
    )
    def test_a_bound_that_does_not_hold_is_seen(self, claim: dict[str, Any], told: str) -> None:
        (entry,) = parsed(changed(lambda one: one["bounds"][0].update(claim)), "made").entries
        assert [fault for fault in faults(entry) if told in fault]

    def test_a_forged_certificate_is_seen(self) -> None:
        entry = entry_of("rooms/1")
        (claim,) = entry.bounds
        assert claim.certificate is not None
        raised = replace(entry, bounds=(replace(claim, length=claim.length + 8),), known=None, runs=())
        assert [fault for fault in faults(raised) if "that its certificate proves" in fault]

    def test_a_forged_certificate_of_a_goal_is_seen(self) -> None:
        entry, goals = next(
            (entry, entry.known.goals)
            for entry in family_of("remnants").entries
            if entry.known is not None and entry.known.goals[0].certificate is not None
        )
        assert entry.known is not None
        raised = (replace(goals[0], value=goals[0].value + 8, bound=goals[0].bound + 8), *goals[1:])
        found = faults(replace(entry, known=replace(entry.known, goals=raised)))
        assert [fault for fault in found if "its certificate does not prove" in fault]


class TestTheSet:
    def test_has_a_file_for_each_family(self) -> None:
        assert stored() == sorted(FAMILIES) == sorted(ABOUT)

    @pytest.mark.parametrize(
        "place", [*FEW, *map(nightly, (each for each in every_place() if each not in FEW))]
    )
    def test_is_what_the_generator_makes(self, place: str) -> None:
        family, _, number = place.partition("/")
        stored_one, made = entry_of(place), generated(family, int(number))
        assert replace(stored_one, known=None, bounds=(), runs=()) == made

    @pytest.mark.nightly
    def test_leaves_out_no_hotel_that_is_small_enough(self) -> None:
        sizes = {number: generated("hotel", number).problem.copies for number in range(1, 25)}
        assert [number for number, copies in sizes.items() if copies <= MOST_COPIES] == list(HOTELS)

    @pytest.mark.parametrize("place", FEW)
    def test_holds(self, place: str) -> None:
        entry = entry_of(place)
        assert entry.known is not None
        assert faults(entry) == []

    @pytest.mark.nightly
    @pytest.mark.parametrize("family", FAMILIES)
    def test_holds_altogether(self, family: str) -> None:
        assert {entry.name: found for entry in family_of(family).entries if (found := faults(entry))} == {}
        assert main(["verify", family]) == 0

    def test_every_instance_has_a_layout_and_a_bound(self) -> None:
        for family in FAMILIES:
            for entry in family_of(family).entries:
                assert entry.known is not None, f"{family}/{entry.name}"
                assert entry.runs, f"{family}/{entry.name}"
                assert bool(entry.bound) or bool(entry.known.goals)

    def test_the_page_counts_its_families(self) -> None:
        page = (ROOT / "docs" / "results.md").read_text("utf-8")
        for family, (numbers, _) in FAMILIES.items():
            assert f"| `{family}` | {len(numbers)} |" in page

    def test_the_table_of_the_page_is_its_own(self) -> None:
        page = (ROOT / "docs" / "results.md").read_text("utf-8")
        assert table((), FOLDER) in page


class TestSearchingOn:
    def test_only_what_is_better_replaces(self) -> None:
        (now,) = parsed(json.dumps(SMALL), "made").entries
        assert now.known is not None
        longer = replace(now, known=replace(now.known, length=10), bounds=(replace(now.bounds[0], length=4),))
        assert better_of(now, longer).known == now.known
        assert better_of(now, longer).bounds == now.bounds
        assert better_of(longer, now).known == now.known
        assert len(better_of(now, longer).runs) == 2

    def test_a_bound_that_replays_stands_beside_a_higher_one_that_does_not(self) -> None:
        (now,) = parsed(json.dumps(SMALL), "made").entries
        sure = Claim(4, "rows", REPLAYED, "2026-12-01", {"rule": "row weights"})
        both = better_of(now, replace(now, bounds=(sure,)))
        assert [claim.length for claim in both.bounds] == [5, 4]
        higher = better_of(both, replace(now, bounds=(replace(sure, length=5),)))
        assert [(claim.length, claim.certificate is None) for claim in higher.bounds] == [(5, False)]

    def test_one_run_is_kept_checked_and_not_made_twice(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        family = family_of("prints")
        bare = replace(entry_of("prints/14"), known=None, bounds=(), runs=())
        write(replace(family, entries=(bare,)), tmp_path)
        ask = ["improve", "prints/14", "--folder", str(tmp_path), "--work-limit", "0.2"]
        assert main(ask) == 0
        (made,) = load("prints", tmp_path).entries
        assert made.known is not None
        assert faults(made) == []
        assert len(made.runs) == 1
        monkeypatch.setattr("tests.benchmarks.best_known.searched", None)
        assert main([*ask, "--closed"]) == 0
        assert main(["verify", "--folder", str(tmp_path)]) == 0

    def test_a_layout_that_breaks_a_rule_is_never_kept(self, tmp_path: Path) -> None:
        family = family_of("prints")
        entry = entry_of("prints/14")
        assert entry.known is not None
        write(replace(family, entries=(entry,)), tmp_path)
        heap: Known = replace(
            entry.known,
            length=entry.known.length - 8,
            layout=tuple(replace(at, y=max(0, at.y - 8)) for at in entry.known.layout),
        )
        with pytest.raises(ProblemError, match="prints/14: not kept: layout: "):
            kept(replace(entry, known=heap, runs=()), tmp_path)
        assert load("prints", tmp_path).entries == (entry,)

    def test_a_bound_whose_certificate_does_not_replay_is_no_more_than_said(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        entry = entry_of("rooms/1")
        (claim,) = entry.bounds
        bound = Bound(claim.length + 8, "rows", claim.certificate)
        said = set_search.claim_of(entry, bound)
        assert (said.certificate, said.rests_on) == (None, "proved by our search")
        monkeypatch.setattr(set_search, "MOST", 10)
        left = set_search.claim_of(entry, replace(bound, length=claim.length))
        assert left.certificate is None
        assert "which replays" in left.left_out

    def test_nothing_named_is_told(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["verify", "nothing"]) == 2
        assert "names no instance: expected across" in capsys.readouterr().err

    @pytest.mark.nightly
    @pytest.mark.parametrize("place", ["rooms/3", "prints/4", "across/4", "remnants/4", "choices/13"])
    def test_of_each_kind_a_run_holds(self, place: str) -> None:
        bare = replace(entry_of(place), known=None, bounds=(), runs=())
        found = searched(bare, 0.5, 3)
        assert found.known is not None
        assert faults(found) == []
