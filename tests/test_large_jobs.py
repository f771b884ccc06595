"""Large jobs: work grows with what there is to do, told by counting it, and pages are bounded in words."""

from __future__ import annotations

import heapq
import io
import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from nesting.check import check_layout, check_plan_document
from nesting.check.document import _DocumentTable
from nesting.check.proof_premises import length_alone, ways_of
from nesting.commands import output, tables
from nesting.commands.app import app
from nesting.cutting import made_window, seam_choices
from nesting.files import as_json, plan_document, read_job, read_job_text
from nesting.order.job import Job
from nesting.packing import Choice, Part, Placement, Problem, Strip
from nesting.packing.choices import linear_bounds
from nesting.packing.choices import menu as menus
from nesting.packing.on_hand.stock_core import stock_of
from nesting.packing.on_hand.stock_fill import Filler
from nesting.packing.reduce import Core, Kind, _lone
from nesting.plan import offcuts
from nesting.plan.cuts import _cutting_steps, _order_of, cutting_steps
from nesting.plan.plan import Plan
from nesting.planning import planner
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import inches

_NOOK = Path(__file__).parents[1] / "samples" / "reading-nook.toml"


_LINEN = 'units = "cm"\n[fabric.face]\nname = "Linen"\n[[fabric.face.bolt]]\nwidth = 140\nusable = 137\n'


def _napkins(count: int) -> str:
    """A job of equal pieces."""
    return f"{_LINEN}[[extra]]\nname = 'Napkin'\nwidth = 25\nlength = 30\ncount = {count}\n"


class Counted:
    """Counts the calls of what it stands before."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, where: object, name: str) -> None:
        self.calls = 0
        before = getattr(where, name)

        def counting(*args: Any, **more: Any) -> Any:
            self.calls += 1
            return before(*args, **more)

        monkeypatch.setattr(where, name, counting)

    def during(self, work: Any) -> int:
        """How many calls a piece of work makes."""
        self.calls = 0
        work()
        return self.calls


def _nook(windows: int) -> Job:
    job = read_job(_NOOK)
    first = job.windows[0]
    more = tuple(
        replace(first, name=f"Window {at}", room=f"Room {at // 4}", rod=first.rod + inches(at % 7))
        for at in range(windows)
    )
    return replace(job, windows=more)


def _planned(job: Job) -> Plan:
    return make_plan(job, effort=Effort(work=0.5, workers=1))


@pytest.fixture(scope="module")
def rooms() -> tuple[Plan, Plan]:
    """The nook with six windows, and with twelve."""
    return _planned(_nook(6)), _planned(_nook(12))


def _one_by_one(core: Core) -> list[int]:
    """Lone rows as they are told of: the first beside which nothing fits is taken out, and so on."""
    left, lone = list(range(len(core.kinds))), list[int]()

    def first() -> int | None:
        for at in left:
            kind = core.kinds[at]
            others = [core.kinds[o] for o in left if o != at or kind.copies > 1]
            room = core.width - kind.ways[0][0]
            beside = [
                other.least_width + min(kind.clear[0] + other.clear[1], other.clear[0] + kind.clear[1])
                for other in others
            ]
            if len(kind.ways) == 1 and kind.arrow is None and all(width > room for width in beside):
                return at
        return None

    while (at := first()) is not None:
        left.remove(at)
        lone.append(at)
    return lone


def _kinds(rng: random.Random, count: int, *, bordered: bool) -> tuple[Kind, ...]:
    def kind(at: int) -> Kind:
        turned, copies = rng.random() < 0.3, rng.choice((1, 1, 1, 2))
        upright = not turned or rng.random() < 0.7
        members = tuple((at, copy) for copy in range(copies))
        clear = (rng.randint(0, 2), rng.randint(0, 2)) if bordered else (0, 0)
        return Kind(rng.randint(1, 10), rng.randint(1, 10), members, upright, turned, clear=clear)

    return tuple(kind(at) for at in range(count))


class TestLoneRows:
    """Parts beside which nothing fits, found and proved."""

    def test_they_are_those_found_one_by_one_in_their_order(self) -> None:
        rng, found = random.Random(1), 0
        for _ in range(3000):
            core = Core(10, _kinds(rng, rng.randint(0, 7), bordered=rng.random() < 0.5))
            lone = _lone(core)
            assert lone == _one_by_one(core), core.kinds
            found += bool(lone)
        assert found > 300, "some have lone rows"

    def test_each_kind_is_looked_at_so_many_times(self, monkeypatch: pytest.MonkeyPatch) -> None:
        looks = 0
        before = Kind.ways.fget  # type: ignore[attr-defined]

        def ways(kind: Kind) -> object:
            nonlocal looks
            looks += 1
            return before(kind)

        monkeypatch.setattr(Kind, "ways", property(ways))
        # Half of them lie alone, and the narrow half does not.
        kinds = tuple(Kind(60 + at % 40 if at % 2 else 30, 5 + at, ((at, 1),)) for at in range(400))
        assert len(_lone(Core(89, kinds))) >= 100
        assert looks <= 3 * len(kinds)

    def test_the_proof_asks_only_for_the_narrowest(self, monkeypatch: pytest.MonkeyPatch) -> None:
        count = 300
        problem = Problem((Strip(100),), tuple(Part(f"{at}", 51 + at % 40, 5 + at) for at in range(count)))
        ways = [[(part.width, part.length, False)] for part in problem.parts]
        pops = Counted(monkeypatch, heapq, "heappop")
        assert length_alone(problem, ways, range(count)) == sum(part.length for part in problem.parts)
        assert pops.calls <= 3 * count

    def test_the_proof_refuses_what_is_not_alone(self) -> None:
        parts = (Part("wide", 60, 5), Part("narrow", 40, 7), Part("whole", 90, 9))
        problem = Problem((Strip(100),), parts)
        ways = [[(part.width, part.length, False)] for part in parts]
        assert length_alone(problem, ways, [0]) is None, "the narrow one fits beside it"
        assert length_alone(problem, ways, [2]) == 9
        assert length_alone(problem, ways, [2, 2]) is None
        twice = replace(problem, parts=(replace(parts[0], width=50, copies=2), *parts[2:]))
        assert length_alone(twice, [[(50, 5, False)], ways[2]], [0]) is None, "two copies fit side by side"

    def test_arrow_groups_turn_together_in_the_proof(self) -> None:
        parts = (Part("a", 60, 5, turnable=True, arrow="g"), Part("b", 60, 200, turnable=True, arrow="g"))
        assert ways_of(Problem((Strip(100),), parts)) == [[(60, 5, False)], [(60, 200, False)]]


class TestCheck:
    """The check of what lies where."""

    def test_only_pieces_that_overlap_are_intersected(self, monkeypatch: pytest.MonkeyPatch) -> None:
        import shapely

        asked = list[int]()
        before = shapely.intersection

        def intersection(one: Sequence[object], two: Sequence[object]) -> object:
            asked.append(len(one))
            return before(one, two)

        monkeypatch.setattr(shapely, "intersection", intersection)
        problem = Problem((Strip(100),), (Part("napkin", 20, 30, copies=500),))
        grid = [Placement(0, at + 1, at % 5 * 20, at // 5 * 30) for at in range(500)]
        assert check_layout(problem, grid, 3000) == ()
        assert sum(asked) == 0, "none overlap, though all touch"
        grid[7] = replace(grid[7], x=grid[7].x + 1)
        broken = check_layout(problem, grid, 3000)
        assert [str(one.kind) for one in broken] == ["overlap"]
        assert sum(asked) == 1

    @pytest.mark.nightly
    def test_a_document_is_read_so_many_times_whatever_its_size(
        self, rooms: tuple[Plan, Plan], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        tables = Counted(monkeypatch, _DocumentTable, "_table")
        documents = [plan_document(each) for each in rooms]
        few, many = (tables.during(lambda read=each: check_plan_document(read)) for each in documents)
        assert few > 0
        assert many <= 2.4 * few, "twice the windows"


class TestTable:
    """What is worked out for the table."""

    def test_offcuts_are_held_against_few_others(
        self, rooms: tuple[Plan, Plan], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        held = Counted(monkeypatch, offcuts, "_holds")
        few, many = (
            held.during(lambda plan=each: [offcuts.offcuts_of(one, plan.job.units) for one in plan.layouts])
            for each in rooms
        )
        assert many <= 3 * few + 500

    def test_the_cuts_of_a_layout_are_found_once(
        self, rooms: tuple[Plan, Plan], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from nesting.plan import cuts

        found = Counted(monkeypatch, cuts, "_cutting_steps")
        made = replace(rooms[0], layouts=tuple(replace(each) for each in rooms[0].layouts))
        plan_document(made)
        plan_document(made)
        assert found.calls == len(made.layouts)
        for layout in made.layouts:
            assert cutting_steps(layout) == _cutting_steps(layout)


class TestWork:
    """What is done once, and what is done only where somebody asks for it."""

    def test_a_job_of_plain_seam_plans_is_cut_once_for_all_fabrics(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        made = Counted(monkeypatch, made_window, "_make")
        monkeypatch.setattr(seam_choices, "MOST_WINDOWS", 2)
        monkeypatch.setattr(planner, "MOST_WINDOWS", 2)
        for windows in (6, 12):
            # What was made for the job before would be remembered.
            made_window.plain_window.cache_clear()
            job = _nook(windows)
            assert made.during(lambda job=job: _planned(job)) == len(job.windows)

    def test_neighbors_are_weighed_without_summing_up_the_job_again(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        parts = [Part(f"{at}", 30 + at % 7, 40 + at % 11) for at in range(120)]
        choices = tuple(Choice(f"{at}", ((at,), (at + 1,), (at + 2,))) for at in range(0, 120, 3))
        summed = Counted(monkeypatch, linear_bounds, "_weight")
        compared = Counted(monkeypatch, menus, "_bare")
        demand = linear_bounds.demand_of(menus.menu_of(Problem((Strip(100),), tuple(parts), choices=choices)))
        assert compared.calls == len(parts)
        for linear in linear_bounds.counting(demand):
            weighed = linear.on(demand)
            asked = summed.calls
            plain = (0,) * len(choices)
            lengths = {weighed.over((*plain[:at], 1, *plain[at + 1 :])) for at in range(len(choices))}
            assert lengths
            assert summed.calls == asked, "each neighbor is a look at numbers that are there"
        assert summed.calls <= 2 * 2 * (1 + 120)

    def test_few_orders_of_bands_are_laid_only_until_all_were(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from nesting.packing import pack
        from nesting.packing.guillotine import bands
        from nesting.packing.tidy import tidy

        parts = (Part("wide", 60, 50), Part("half", 40, 30), Part("tab", 20, 15, copies=3))
        problem = Problem((Strip(100),), parts)
        found = pack(problem, work_limit=0.5, workers=1)
        built = Counted(monkeypatch, bands.BandSearch, "_build")
        one = tidy(problem, found, seconds=0.0, work=2.0)
        # 5! / 3! = 20 orders, met by chance in a few hundred draws.
        few = built.calls
        assert 20 <= few <= 600
        monkeypatch.setattr(bands, "MOST_ORDERS", 0)
        built.calls = 0
        assert tidy(problem, found, seconds=0.0, work=2.0) == one
        assert built.calls > 5 * few

    def test_layouts_too_large_to_be_tidied_are_judged_once(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from nesting.planning import effort, laying

        looks = [Counted(monkeypatch, where, "check_layout") for where in (effort, laying)]
        _planned(read_job_text(_napkins(2100)))
        assert [look.calls for look in looks] == [0, 1]

    def test_a_table_alone_needs_no_document(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        written = Counted(monkeypatch, output, "checked_document")
        job = tmp_path / "job.toml"
        job.write_text(_napkins(40))
        plain = ["plan", str(job), "--work-limit", "0.1", "--workers", "1"]
        for further, count in (([], 0), (["--format", "csv"], 0), (["--format", "json"], 1)):
            assert written.during(lambda more=further: app([*plain, *more], standalone_mode=False)) == count
        assert "Napkin" in capsys.readouterr().out

    def test_cuts_are_found_in_a_few_looks_at_each_piece(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from nesting.packing import cut_order

        kinds = Counted(monkeypatch, cut_order, "_alike")
        few, many = (_planned(read_job_text(_napkins(count))) for count in (300, 600))
        looks = [
            kinds.during(lambda plan=plan: [_order_of(each) for each in plan.layouts]) for plan in (few, many)
        ]
        assert looks[0] > 300
        assert looks[1] <= 2 * looks[0] + 50
        assert looks[1] <= 6 * 600


class TestLengths:
    """Lengths on hand."""

    def test_kinds_are_made_once_however_many_lengths_there_are(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        made = Counted(monkeypatch, Filler, "_kinds")
        parts = (Part("a", 40, 60, turnable=True), Part("b", 30, 50))
        for count in (5, 50):
            stock = stock_of(Problem((Strip(100, length=200),) * count, parts))
            assert made.during(lambda stock=stock: Filler(stock)) == 2


class TestBounded:
    """What a job is too large for is said."""

    def test_many_windows_are_cut_by_their_plain_plans(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def said(plan: Plan) -> list[str]:
            return [one.text for one in plan.advice if "plain seam plan" in one.text]

        assert said(_planned(_nook(3))) == []
        monkeypatch.setattr(seam_choices, "MOST_WINDOWS", 2)
        monkeypatch.setattr(planner, "MOST_WINDOWS", 2)
        made = _planned(_nook(3))
        assert made.seams == ()
        (note,) = said(made)
        assert "3 windows" in note
        assert "at most 2 windows" in note
        assert not [one for one in made.advice if one.kind == "offer" and "fullness" in one.text]

    def test_a_plan_of_many_pieces_comes_without_pages_and_says_so(
        self, rooms: tuple[Plan, Plan], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert output.too_large(rooms[0]) == ""
        monkeypatch.setattr(output, "MOST_DRAWN", 5)
        files = output.plan_files(rooms[0], "a4")
        assert set(files) == {"plan.json", "cut-list.csv", "labels.csv"}
        said = output.too_large(rooms[0])
        assert "at most 5" in said
        assert "nesting packet" in said
        assert json.loads(files["plan.json"]) == json.loads(json.dumps(plan_document(rooms[0])))

    def test_a_long_cut_list_is_shown_in_part_and_says_so(
        self, rooms: tuple[Plan, Plan], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def shown() -> str:
            console = Console(width=120, file=io.StringIO(), force_terminal=False)
            with console.capture() as capture:
                console.print(tables.plan_table(rooms[0]))
            return capture.get()

        cuts = sum(len(cutting_steps(layout)) for layout in rooms[0].layouts)
        assert " more: --format json" not in shown()
        monkeypatch.setattr(tables, "MOST_ROWS", 3)
        said = [int(line.split()[1]) for line in shown().splitlines() if "cuts more: --format json" in line]
        assert said == [
            len(cutting_steps(each)) - 3 for each in rooms[0].layouts if len(cutting_steps(each)) > 3
        ]
        assert 0 < sum(said) < cuts

    def test_json_is_written_as_python_indents_it(self, rooms: tuple[Plan, Plan]) -> None:
        odd = {"a": [], "b": {}, "c": [1, 2.5, -1e-9, 1e22, True, None, 'say "ü"\n'], "d": [{"e": [[0]]}]}
        for document in (odd, plan_document(rooms[0])):
            assert as_json(document) == json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _large() -> Iterator[str]:
    head = _LINEN
    window = (
        '[[window]]\nname = "W{0}"\nroom = "R{1}"\nrod = {2}\nfinished_length = {3}\nheading = "rod-pocket"\n'
    )
    yield _napkins(100_000)
    many = (window.format(at, at // 4, 100 + at * 7 % 163, 120 + at * 11 % 149) for at in range(1000))
    yield head + "".join(many)
    lengths = "".join(f"[[fabric.face.bolt.on_hand]]\nlength = 9900\nname = 'L{at}'\n" for at in range(1000))
    yield head + lengths + window.format(1, 1, 150, 220)


@pytest.mark.nightly
@pytest.mark.parametrize("text", list(_large()), ids=["100,000 copies", "1,000 windows", "1,000 lengths"])
def test_a_large_job_is_planned_and_checked(text: str) -> None:
    made = make_plan(read_job_text(text), effort=Effort(work=2.0, workers=1))
    asked = sum(piece.copies for piece in made.pieces)
    assert sum(len(layout.placements) for layout in made.layouts) == asked
    assert check_plan_document(plan_document(made)) == ()
