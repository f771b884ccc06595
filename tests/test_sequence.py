"""The cutting sequence: hand-worked steps, and random layouts cut to the last piece by the checker."""

from __future__ import annotations

import copy
import itertools
import json
import random
from dataclasses import replace
from typing import Any

import plans
import pytest

from nesting.check import Breach, check_plan_document
from nesting.check.document_cutting import _join
from nesting.files import plan_document, read_job_text
from nesting.order.job import Bolt, CuttingTable, Fabric
from nesting.packing.cut_order import Cut
from nesting.plan.cuts import cutting_steps
from nesting.plan.plan import Laid, Plan
from nesting.plan.sequence import sequence
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import inches
from tests.seeds import seeds


def plan_with(boxes: list[tuple[int, int, int, int]], width: int, table: CuttingTable | None = None) -> Plan:
    """A plan whose pieces lie there, in inches; equal sizes are copies of one piece."""
    bolt = Bolt(inches(width), inches(width))
    fabric = Fabric("face", (bolt,))
    sizes = dict[tuple[int, int], list[tuple[int, int]]]()
    for left, low, right, high in boxes:
        sizes.setdefault((right - left, high - low), []).append((left, low))
    placed = list[Laid]()
    for number, ((wide, long), places) in enumerate(sizes.items(), 1):
        piece = plans.small(f"p{number}", f"Piece {number}", "extra", inches(wide), inches(long), len(places))
        placed += (
            plans.laid(piece, at, inches(x), inches(y)) for at, (x, y) in enumerate(places, 1)
        )  # fmt: skip
    plan = plans.plan_of("Test", "in", [plans.layout_of(fabric, bolt, placed)])
    return replace(plan, job=replace(plan.job, table=table))


def document(plan: Plan) -> dict[str, Any]:
    """A plan put together by hand has neither windows nor their sewing: its layouts alone are judged."""
    made: dict[str, Any] = json.loads(json.dumps(plan_document(plan)))
    return {key: value for key, value in made.items() if key != "sewing" or value}


def steps_in_inches(plan: Plan) -> list[tuple[list[tuple[str, int, int, int, bool]], str, int]]:
    one = inches(1)
    return [
        (
            [(c.way, c.at // one, c.start // one, c.end // one, c.stops) for c in step.cuts],
            step.frees.first.piece.id,
            step.frees.count,
        )
        for step in cutting_steps(plan.layouts[0])
    ]


def test_bands_columns_and_grids_worked_out_by_hand() -> None:
    # Strip 10: A 6 x 8 with two tabs 2 x 4 stacked right of it and 2 left over; then C 10 x 3.
    # Across at 8 from edge to edge; lengthwise at 6 and at 8; the tabs parted across at 4. Then across at 11.
    plan = plan_with([(0, 0, 6, 8), (6, 0, 8, 4), (6, 4, 8, 8), (0, 8, 10, 11)], 10)
    assert steps_in_inches(plan) == [
        ([("across", 8, 0, 10, False), ("lengthwise", 6, 0, 8, False)], "p1", 1),
        ([("lengthwise", 8, 0, 8, False), ("across", 4, 6, 8, False)], "p2", 2),
        ([("across", 11, 0, 10, False)], "p3", 1),
    ]


def test_a_line_of_equal_pieces_in_a_wider_strip_is_one_step() -> None:
    # A 6 x 9 at the right of 8; left of it three tabs 1 x 2 in a line, short of its end by 3. Across at 9;
    # lengthwise at 1 for the tabs, across at 6 where they end, at 2 and 4 between; lengthwise at 2 for A.
    plan = plan_with([(2, 0, 8, 9), (0, 0, 1, 2), (0, 2, 1, 4), (0, 4, 1, 6)], 8)
    assert steps_in_inches(plan) == [
        (
            [
                ("across", 9, 0, 8, False),
                ("lengthwise", 1, 0, 9, False),
                ("across", 6, 0, 1, False),
                ("across", 2, 0, 1, False),
                ("across", 4, 0, 1, False),
            ],
            "p2",
            3,
        ),
        ([("lengthwise", 2, 0, 9, False)], "p1", 1),
    ]


def test_two_lines_of_equal_pieces_beside_a_panel_are_one_step() -> None:
    # A 4 x 9 with tabs 2 x 2 beside it, two side by side in four rows: 8 of 9 in length, 8 of 9 in width.
    tabs = [(4 + 2 * n, 2 * m, 6 + 2 * n, 2 * m + 2) for n in range(2) for m in range(4)]
    plan = plan_with([(0, 0, 4, 9), *tabs], 9)
    assert [(piece, count) for _, piece, count in steps_in_inches(plan)] == [("p1", 1), ("p2", 8)]
    assert check_plan_document(document(plan)) == ()


def test_a_pinwheel_is_cut_with_cuts_that_stop_at_a_corner() -> None:
    # Round a hole from (2, 2) to (3, 3) on a strip of 5 no cut runs from edge to edge but the end at 5. The
    # piece at (0, 0), 2 x 3, is freed lengthwise at 2 from the squared end up to 3, and across at 3 from the
    # edge to that corner; the rest falls to cuts from edge to edge.
    plan = plan_with([(0, 0, 2, 3), (2, 0, 5, 2), (3, 2, 5, 5), (0, 3, 3, 5)], 5)
    made = steps_in_inches(plan)
    assert made[0] == (
        [("across", 5, 0, 5, False), ("lengthwise", 2, 0, 3, True), ("across", 3, 0, 2, True)], "p1", 1,
    )  # fmt: skip
    assert not any(stops for cuts, _, _ in made[1:] for *_, stops in cuts)
    text = next(a.text for a in sequence(plan.job, plan.layouts[0]).actions if a.kind == "cut")
    assert "stopping at the corner" in text
    assert check_plan_document(document(plan)) == ()


def test_checks_come_before_the_first_cut_and_name_what_was_planned() -> None:
    plan = plans.half_drop()
    made = sequence(plan.job, plan.layouts[0])
    kinds = [action.kind for action in made.actions]
    count = kinds.index("cut") if "pull" not in kinds else min(kinds.index("cut"), kinds.index("pull"))
    assert set(kinds[:count]) == {"check"}
    assert "check" not in kinds[count:]
    said = " ".join(action.text for action in made.actions[:count])
    for words in ("right side", "lot", "against the light", "Square the end", "25 in along", "55 in"):
        assert words in said
    assert [a.number for a in made.actions if a.kind == "check"] == list(range(1, count + 1))


def test_a_print_has_its_repeat_checked_and_plain_fabric_none() -> None:
    plain = sequence(plans.back_tab().job, plans.back_tab().layouts[0])
    assert not any("repeat" in action.text for action in plain.actions)


def test_running_distances_and_pulls() -> None:
    # Two panels of 104 on a table of 72: pulls 0-72, 72-104, 104-176, 176-208. The cut across at 104 lies on
    # the second pull, so the fabric is drawn on first; that at 208 on the fourth.
    plan = plan_with([(0, 0, 47, 104), (0, 104, 47, 208)], 53, CuttingTable(inches(72)))
    made = sequence(plan.job, plan.layouts[0])
    done = [(a.kind, a.number, a.at) for a in made.actions if a.kind != "check"]
    assert done == [
        ("pull", 2, inches(72)), ("cut", 1, inches(104)),
        ("pull", 3, inches(104)), ("pull", 4, inches(176)), ("cut", 2, inches(208)),
    ]  # fmt: skip


def test_a_cut_longer_than_the_table_says_its_runs() -> None:
    plan = plan_with([(0, 0, 47, 104)], 53, CuttingTable(inches(72)))
    (cut,) = [a for a in sequence(plan.job, plan.layouts[0]).actions if a.kind == "cut"]
    lengthwise = [one for one in cut.cuts if one.cut == Cut("lengthwise", inches(47), 0, inches(104))]
    assert [(run.pull, run.start, run.end) for run in lengthwise[0].along] == [
        (1, 0, inches(72)), (2, inches(72), inches(104)),
    ]  # fmt: skip
    assert "in 2 runs (to 72, to 104), pulling the fabric on at each fold" in cut.text


def test_many_cuts_at_equal_distances_are_told_by_first_step_and_last() -> None:
    # Six tabs 2 x 3 in a line: across at 3, 6, ... 18; the last of them is the cut of the band.
    plan = plan_with([(0, 3 * n, 2, 3 * n + 3) for n in range(6)] + [(2, 0, 9, 18)], 9)
    text = next(a.text for a in sequence(plan.job, plan.layouts[0]).actions if a.frees and a.frees.count == 6)
    assert "at 3, 6 and so on every 3 to 15 in from the squared end cut across from 0 to 2 in" in text
    assert text.endswith("This frees Piece 1, 6 pieces: 6 in a row.")


def test_fabric_wider_than_the_table_is_drawn_across_it() -> None:
    # Strip 53 on a table 40 wide: A 0-30 and B 30-53. The table ends at 40, within B; B is 23 wide and fits,
    # so the second lane begins where B does, at 30. The cut across the bolt is made in two runs.
    plan = plan_with([(0, 0, 30, 20), (30, 0, 53, 20)], 53, CuttingTable(inches(72), inches(40)))
    made = sequence(plan.job, plan.layouts[0])
    assert [(lane.start // 2032, lane.end // 2032) for lane in made.lanes] == [(0, 30), (30, 53)]
    first = next(a for a in made.actions if a.kind == "cut").cuts[0]
    assert [(run.pull, run.end // 2032) for run in first.across] == [(1, 30), (2, 53)]
    assert check_plan_document(document(plan)) == ()


def random_layout(seed: int, *, interlocked: bool) -> tuple[list[tuple[int, int, int, int]], int]:
    """Pieces dropped where they fit, on whole inches."""
    chance = random.Random(seed)
    width, boxes = chance.randint(4, 12), list[tuple[int, int, int, int]]()
    for _ in range(chance.randint(3, 40)):
        wide, long = chance.randint(1, 5), chance.randint(1, 9 if interlocked else 4)
        x, y = chance.randint(0, max(0, width - wide)), chance.randint(0, 14)
        box = (x, y, min(width, x + wide), y + long)
        if all(box[0] >= b[2] or b[0] >= box[2] or box[1] >= b[3] or b[1] >= box[3] for b in boxes):
            boxes.append(box)
    return boxes, width


@pytest.mark.parametrize("seed", seeds(10, 80))
def test_every_layout_can_be_cut_by_hand(seed: int) -> None:
    """The checker cuts along: no cut meets a piece, and all sides of a piece are cut when it is freed."""
    boxes, width = random_layout(seed, interlocked=bool(seed % 2))
    table = CuttingTable(inches(12 + seed % 5), inches(12) if seed % 3 else None)
    plan = plan_with(boxes, width, replace(table, length=inches(3 + seed % 9), width=inches(2 + seed % 7)))
    assert check_plan_document(document(plan)) == ()


@pytest.mark.parametrize("name", ["back_tab", "half_drop", "long_bolt"])
def test_plans_put_together_by_hand_can_be_cut(name: str) -> None:
    plan: Plan = getattr(plans, name)()
    plan = replace(plan, job=replace(plan.job, table=CuttingTable(inches(60), inches(40))))
    assert check_plan_document(document(plan)) == ()


def test_numbers_of_cuts_run_on_and_free_every_piece_once() -> None:
    plan = plans.long_bolt()
    steps = cutting_steps(plan.layouts[0])
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    assert sum(step.frees.count for step in steps) == len(plan.layouts[0].placements)


class TestWhatMustFail:
    """A spoiled document is told, each fault by its kind."""

    @pytest.fixture
    def good(self) -> dict[str, Any]:
        boxes = [(0, 0, 6, 8), (6, 0, 8, 4), (6, 4, 8, 8), (0, 8, 10, 11)]
        return document(plan_with(boxes, 10, CuttingTable(inches(9))))

    @staticmethod
    def kinds(spoiled: dict[str, Any]) -> set[Breach]:
        return {broken.kind for broken in check_plan_document(spoiled)}

    def test_the_good_one_passes(self, good: dict[str, Any]) -> None:
        assert self.kinds(good) == set()

    @pytest.mark.parametrize(
        ("key", "value"),
        [
            # Lines: y = 8, y = 11, x = 6, x = 8 and y = 4 between the tabs: five, two of them from edge to
            # edge, the longest 10. Free is 2 x 8 right of the tabs, and nothing at the end.
            # Cuts: across at 8 and along at 6 free the piece 6 x 8, along at 8 and across at 4 the first tab
            # and the other with it, across at 11 the last: five. Sizes 6 x 8, 2 x 4 twice, 10 x 3: two
            # changes.
            ("cuts", 4),
            ("size_changes", 3),
            ("cut_lines", 6),
            ("across", 3),
            ("longest_cut", 9.0),
            ("offcut", None),
            ("end_offcut", {"x": 8.0, "y": 0.0, "width": 2.0, "length": 8.0}),
        ],
    )
    def test_a_wrong_figure(self, good: dict[str, Any], key: str, value: object) -> None:
        figures = good["layouts"][0]["cutting"]
        assert figures[key] != value
        figures[key] = value
        assert self.kinds(good) == {Breach.CUTTING}

    def test_an_offcut_over_a_piece(self, good: dict[str, Any]) -> None:
        good["layouts"][0]["cutting"]["offcut"]["x"] = 7.0
        assert self.kinds(good) == {Breach.CUTTING}

    def test_a_way_that_is_not_kept(self) -> None:
        made = document(plan_with([(0, 0, 2, 3), (2, 0, 5, 2), (3, 2, 5, 5), (0, 3, 3, 5)], 5))
        made["layouts"][0]["cutting"]["way"] = "across-first"
        assert self.kinds(made) == {Breach.CUTTING}

    def test_a_cut_through_a_piece(self, good: dict[str, Any]) -> None:
        cuts = [a for a in good["layouts"][0]["sequence"] if a["kind"] == "cut"]
        cuts[0]["cuts"][1]["at"] = 5.0
        assert Breach.SEQUENCE in self.kinds(good)

    def test_a_cut_left_out(self, good: dict[str, Any]) -> None:
        cuts = [a for a in good["layouts"][0]["sequence"] if a["kind"] == "cut"]
        del cuts[1]["cuts"][-1]
        assert self.kinds(good) == {Breach.SEQUENCE}

    def test_a_piece_never_freed_and_one_freed_twice(self, good: dict[str, Any]) -> None:
        actions = good["layouts"][0]["sequence"]
        twice = copy.deepcopy(good)
        twice["layouts"][0]["sequence"][-1]["frees"] *= 2
        assert self.kinds(twice) == {Breach.SEQUENCE}
        actions[-1]["frees"] = []
        assert self.kinds(good) == {Breach.SEQUENCE}

    def test_a_check_after_a_cut(self, good: dict[str, Any]) -> None:
        actions = good["layouts"][0]["sequence"]
        actions.append(actions.pop(0) | {"number": 6})
        assert self.kinds(good) == {Breach.SEQUENCE}

    def test_a_pull_longer_than_the_table(self, good: dict[str, Any]) -> None:
        good["order"]["table"]["length"] = inches(5)
        assert self.kinds(good) == {Breach.PULL}

    def test_fabric_that_no_pull_reaches(self, good: dict[str, Any]) -> None:
        good["layouts"][0]["pulls"][-1]["end"] = 10.0
        assert self.kinds(good) == {Breach.PULL}

    def test_a_fold_in_a_piece_that_the_table_holds(self, good: dict[str, Any]) -> None:
        layout = good["layouts"][0]
        layout["pulls"][0]["end"] = layout["pulls"][1]["start"] = 7.0
        assert Breach.PULL in self.kinds(good)


def checks(plan: Plan) -> list[str]:
    return [action.text for action in sequence(plan.job, plan.layouts[0]).actions if action.kind == "check"]


def with_fabric(plan: Plan, **said: Any) -> Plan:
    """The plan with another fabric under its pieces, which are bound by that fabric's nap."""
    (layout,) = plan.layouts
    fabric = replace(layout.fabric, **said)
    placements = tuple(replace(laid, piece=replace(laid.piece, nap=fabric.nap)) for laid in layout.placements)
    return replace(plan, layouts=(replace(layout, fabric=fabric, placements=placements),))


class TestDirectionIsCheckOne:
    """A length begun at the wrong end hangs upside down; the tests are common practice, no source."""

    def test_pile_is_stroked_from_the_free_end(self) -> None:
        # All tops lie away from the squared end. Pile that runs smooth upwards on the panel feels smooth from
        # that end on; pile that is to run smooth downwards feels rough.
        for arrow, feels, wrong in (("up", "smooth", "rough"), ("down", "rough", "smooth")):
            (first, *rest) = checks(with_fabric(plans.back_tab(), nap="one-way", arrow=arrow))
            assert first.startswith("Direction:")
            assert f"Stroke the pile from the free end along the fabric: it must feel {feels}" in first
            assert f"If it feels {wrong}, do not cut: square the other end instead" in first
            assert not any("Direction" in text for text in rest)

    def test_a_print_shows_its_head(self) -> None:
        first = checks(with_fabric(plans.half_drop(), nap="one-way"))[0]
        assert "The heads of the motifs must point away from the free end, to your right" in first
        assert "square the other end instead and measure from there, or the drapes hang upside down" in first

    def test_a_print_without_a_nap_may_have_a_right_way_up(self) -> None:
        first = checks(with_fabric(plans.half_drop(), nap="none"))[0]
        assert "If the print has a right way up, the heads of its motifs must point away from" in first

    def test_a_print_that_lies_turned_has_its_tops_at_the_left_selvage(self) -> None:
        plan = with_fabric(plans.half_drop(), nap="none")
        (layout,) = plan.layouts
        turned = tuple(replace(laid, turn=90, arrow="left") for laid in layout.placements)
        plan = replace(plan, layouts=(replace(layout, placements=turned),))
        assert "must point to the left selvage, the far edge" in checks(plan)[0]

    def test_plain_fabric_may_begin_at_either_end(self) -> None:
        first = checks(with_fabric(plans.back_tab(), nap="none"))[0]
        assert "Either end will do. Stroke the fabric both ways" in first
        assert "the panels of a room" in checks(with_fabric(plans.back_tab(), nap="two-way"))[0]

    def test_what_was_measured_from_the_end_is_measured_anew(self) -> None:
        (layout,) = plans.on_hand().layouts
        fabric = replace(layout.fabric, nap="one-way")
        placements = tuple(
            replace(laid, piece=replace(laid.piece, nap="one-way")) for laid in layout.placements
        )
        plan = replace(plans.on_hand(), layouts=(replace(layout, fabric=fabric, placements=placements),))
        assert layout.flaws
        assert "measure the flaws from that end and plan again before you cut" in checks(plan)[0]


class TestWhereTheEndIsSquared:
    """The cut is 0 of the ruler; on a print it is found from the line of the pattern that is to show."""

    @staticmethod
    def square(plan: Plan) -> str:
        (said,) = [text for text in checks(plan) if "quare the end" in text]
        return said

    def test_plain_fabric_at_the_end_as_it_is(self) -> None:
        assert self.square(plans.back_tab()) == (
            "Square the end across from selvage to selvage. This cut is 0 of the ruler and of all distances; "
            "2 in is included for it."
        )

    def test_an_unknown_start_is_chosen_at_the_hem(self) -> None:
        # Hem 4 turned twice: the finished hem stands 8 above the lower cut edge of the first cut, which is 0.
        # The line chosen for the hem comes again every 25, so at most 25 is cut off to reach it.
        made = read_print("")
        said = self.square(made)
        assert said.startswith(
            "Choose the line of the pattern that is to stand at the finished hem. Square the end across from "
            "selvage to selvage, 8 in before this line: at most one repeat, 25 in, from the free end "
            "(included)."
        )
        assert "This cut is 0 of the ruler" in said

    def test_an_unknown_start_is_chosen_at_the_top(self) -> None:
        # 8 of hem and 90 finished: the top edge lies at 98 = 3 x 25 + 23.
        assert "stand at the top edge. Square the end across from selvage to selvage, 23 in before" in (
            self.square(read_print('level = "top"'))
        )

    def test_a_prescribed_motif_is_found_by_its_foot(self) -> None:
        # The foot of the motif 6 above the hem: 8 + 6 = 14 from the cut.
        assert "Square the end across from selvage to selvage, 14 in before the foot of a motif" in (
            self.square(read_print("motif = { height = 6 }"))
        )

    def test_a_start_that_was_measured_is_found_again(self) -> None:
        # The pattern stands 17 above its line at the end: the next line comes 25 - 17 = 8 further on.
        said = self.square(read_print("start = 17"))
        assert "at the place in the pattern that was measured: 8 in before the line of the pattern" in said
        assert "Choose" not in said

    def test_a_half_drop_says_at_which_cut_the_line_is_read(self) -> None:
        said = self.square(read_print("", repeat="{ length = 25, width = 27, drop = 0.5 }"))
        assert "before this line where cut 1 will lie" in said


def read_print(fabric: str, repeat: str = "{ length = 25, width = 27 }") -> Plan:
    job = read_job_text(f"""
        [fabric.face]
        nap = "one-way"
        repeat = {repeat}
        {fabric}
        [[fabric.face.bolt]]
        width = 56
        match = 54
        [[window]]
        name = "Hall"
        rod = 40
        draw = "left"
        finished_length = 90
        heading = "clip-ring"
        fabric = "face"
        fullness = 1.2
        """)
    return make_plan(job, effort=Effort(work=0.2, workers=1))


def test_lines_on_one_place_are_joined_as_they_are_cut() -> None:
    """What the check knows of the cuts on one line, against all of them gone through in order."""
    for seed in range(2_000):
        draw = random.Random(seed)
        joined, cut = list[tuple[int, int]](), list[tuple[int, int]]()
        for _ in range(draw.randint(0, 8)):
            cut.append((draw.randint(0, 20), draw.randint(0, 20)))
            _join(joined, *cut[-1])
        for start, end in itertools.combinations(range(21), 2):
            reached = start
            for low, high in sorted(cut):
                if low <= reached:
                    reached = max(reached, high)
            assert any(low <= start and end <= high for low, high in joined) == (reached >= end)


def test_a_piece_that_the_cuts_before_freed_is_told_so() -> None:
    # Strip 10: once across at 8 and lengthwise at 4, both pieces are free.
    plan = plan_with([(0, 0, 4, 8), (4, 0, 10, 8)], 10)
    first, second = [one for one in sequence(plan.job, plan.layouts[0]).actions if one.kind == "cut"]
    assert first.brief == "across at 8; along at 4 from 0 to 8"
    assert second.brief == "nothing more: the cuts before have freed it"
    assert second.text == "Nothing more to cut: the cuts before freed Piece 2."
