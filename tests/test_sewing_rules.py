"""Single rules of the sewing check by hand sums; lengths in inches in the tests."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from nesting.check.document import TableReader
from nesting.check.sewing_bench import label_of
from nesting.check.sewing_marks import Top, evenly
from nesting.check.sewing_ordered import (
    WindowOrdered,
    fraction_or_none,
    percent_kept,
    whole,
    windows_ordered,
)
from nesting.check.sewing_panels import check_edges, turned_as
from nesting.check.sewing_prints import out_of_register
from nesting.check.sewing_sums import SumTerm
from nesting.check.sewing_tops import TOPS
from nesting.errors import NestingError
from nesting.repeat import Repeat
from nesting.sewing import (
    Edge,
    Fold,
    LayOn,
    Rod,
    SetAlong,
    Work,
)
from nesting.sewing.work import Seam
from nesting.units import inches
from tests.sewn_pieces import left, piece, ticks


def window(fabrics: tuple[dict[str, Any], ...] = ({"key": "face"},), **said: Any) -> WindowOrdered:
    entry = {"name": "East", "heading": "pinch-pleat", "fabric": "face", "rod": int(ticks(120)), **said}
    order = {"order": {"fabrics": list(fabrics), "windows": [entry]}}
    return next(windows_ordered(TableReader(order, "", "in"), "in"))


def panels(pleated: bool, **said: Any) -> list[tuple[Any, ...]]:
    return [
        (one.key, one.leading, one.covers / inches(1), one.return_left // inches(1),
         one.return_right // inches(1), one.overlap / inches(1))
        for one in window(**said).panels(pleated)
    ]  # fmt: skip


def test_panels_cover_the_rod_and_those_that_meet_share_the_overlap() -> None:
    given = {"returns": int(ticks(3)), "overlap": int(ticks(4))}
    assert panels(True, **given) == [("left", "right", 60, 3, 0, 2), ("right", "left", 60, 0, 3, 2)]
    assert panels(True, panels=4, **given) == [
        ("left", "right", 30, 3, 0, 0),
        ("left-2", "right", 30, 0, 0, 2),
        ("right-2", "left", 30, 0, 0, 2),
        ("right", "left", 30, 0, 3, 0),
    ]
    # Three have one in the middle that does not move, and nothing meets.
    assert panels(True, panels=3, **given) == [
        ("left", "right", 40, 3, 0, 0),
        ("single", None, 40, 0, 0, 0),
        ("right", "left", 40, 0, 3, 0),
    ]
    assert panels(True, draw="left", **given) == [("single", "right", 120, 3, 3, 0)]
    assert panels(True, draw="right", **given) == [("single", "left", 120, 3, 3, 0)]
    fixed = panels(True, draw="fixed", covers=int(ticks(18)), **given)
    assert fixed == [("left", "right", 18, 3, 0, 0), ("right", "left", 18, 0, 3, 0)]
    # Usual are 3 1/2 and 4 where a heading is drawn in, nothing else where it is not.
    assert panels(False) == [("left", "right", 60, 0, 0, 0), ("right", "left", 60, 0, 0, 0)]
    assert [one[3:] for one in panels(True)] == [(3, 0, 2), (0, 3, 2)]


def test_the_flat_width_is_of_the_rod_alone_or_of_all_that_is_covered() -> None:
    # 60 and 3 + 2 at its ends; double: 125, of all of it 130.
    made = window(returns=int(ticks(3)), overlap=int(ticks(4)))
    first = next(made.panels(True))
    assert (first.ends, first.dressed) == (ticks(5), ticks(65))
    assert made.flat(first, Fraction(2)) == ticks(125)
    assert window(fullness_on="all").flat(first, Fraction(2)) == ticks(130)
    assert window(flat_width=int(ticks(99))).flat(first, Fraction(2)) == ticks(99)


def test_a_window_hangs_from_what_was_measured() -> None:
    assert window().hangs_from(False, False) == "rod"
    assert window().hangs_from(True, False) == "rings"
    assert window().hangs_from(True, True) == "track"
    assert window(rod_diameter=2032).hangs_from(True, True) == "rings"
    assert window(rod_diameter=2032).hangs_from(False, True) == "track"
    assert window(hangs_from="rod").hangs_from(True, True) == "rod"


def test_hems_are_as_ordered_or_by_the_weight() -> None:
    made = window(bottom_hem={"turn": 2032, "turns": 3, "selvage": False})
    assert (made.hem("bottom_hem").allowance, made.hem("bottom_hem").deep) == (6096, 2032)
    assert window(bottom_hem={"turn": 2032}).hem("bottom_hem").allowance == 4064
    gone = window(bottom_hem={"turn": 0}).hem("bottom_hem")
    assert (gone.folded, gone.allowance, gone.deep) == ((), 0, 0)
    woven = window(bottom_hem={"turn": 2032, "selvage": True}).hem("bottom_hem")
    assert (woven.folded, woven.deep) == ((), 0)
    for weight, bottom, side in (("medium", 4, "1"), ("sheer", 5, "1"), ("heavy", 4, "3/2")):
        usual = window(({"key": "face", "weight": weight},))
        assert usual.hem("bottom_hem").turn == ticks(bottom)
        assert usual.hem("outer_hem").turn == usual.hem("leading_hem").turn == ticks(side)
        assert usual.hem("lining_hem").turn == ticks(2)


def test_a_rod_is_as_measured_or_a_usual_one() -> None:
    assert window().rod == Rod(ticks("11/8"))
    assert window(rod_diameter=2032, rod_depth=508, take_up=100).rod == Rod(
        ticks(1), ticks("1/4"), Fraction(100)
    )
    # Half round 2 in: 3.14; half round a flat one: down its back and over its top.
    assert abs(window(rod_diameter=4064).half_round - ticks("314159/100000")) < 1
    assert window(rod_diameter=2032, rod_depth=508).half_round == ticks("5/4")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"fabric": "silk"}, "the key of a fabric"),
        ({"lining": "silk"}, "the key of a fabric"),
        ({"interlining": "silk"}, "the key of a fabric"),
    ],
)
def test_a_window_of_no_fabric_is_refused(said: dict[str, Any], words: str) -> None:
    with pytest.raises(NestingError, match=words):
        window(**said)


@pytest.mark.parametrize(
    ("key", "word"), [("nap", "both"), ("arrow", "left"), ("level", "rod"), ("one_lot", "job")]
)
def test_a_word_that_no_fabric_is_ordered_with_is_refused(key: str, word: str) -> None:
    with pytest.raises(NestingError):
        window(({"key": "face", key: word},))


@pytest.mark.parametrize("value", [0, -1, 2.0, True, "3", 10**12 + 1])
def test_what_is_no_count_is_refused(value: object) -> None:
    with pytest.raises(NestingError, match="a whole number, 1 or more"):
        whole(TableReader({"count": value}, "", "in"), "count", 1)


def test_numbers_of_an_order_are_read_exactly() -> None:
    table = TableReader(
        {"a": "3/2", "b": 0.1, "c": 3, "d": True, "e": "x", "f": "1/0", "g": "1" * 41}, "", "in"
    )
    assert [fraction_or_none(table, key) for key in "abch"] == [Fraction(3, 2), Fraction(1, 10), 3, None]
    for key in "defg":
        with pytest.raises(NestingError, match="a number"):
            fraction_or_none(table, key)


def test_a_wash_leaves_what_it_does_not_take_at_its_time() -> None:
    for washed, before, after in ((None, 1, Fraction(97, 100)), ("before", Fraction(97, 100), 1)):
        entry = {"shrinkage": {"length": 3, "width": 1} | ({} if washed is None else {"washed": washed})}
        fabric = TableReader(entry, "", "in")
        assert percent_kept(fabric, "length", "before") == before
        assert percent_kept(fabric, "length", "after") == after
    assert percent_kept(TableReader({}, "", "in"), "length", "after") == 1


@pytest.mark.parametrize(
    ("id", "panel"),
    [
        ("east/left/1", "left"),
        ("east/2/left/1", "left"),
        ("east/right-2/lining/1", "right-2"),
        ("east/single/1", "single"),
        ("east/tabs", ""),
        ("east/left", ""),
        ("east/tieback/1", ""),
    ],
)
def test_an_id_names_its_panel(id: str, panel: str) -> None:
    assert label_of(id) == panel


def test_points_lie_evenly_and_one_alone_in_the_middle() -> None:
    assert evenly(2, 10, 5) == [2, 4, 6, 8, 10]
    assert evenly(2, 10, 2) == [2, 10]
    assert evenly(2, 10, 1) == [6]


@pytest.mark.parametrize(
    ("hung", "made", "same"),
    [
        (False, (4, 4), True), (False, (3, 4), False), (True, (3, 4), True), (True, (4, 3), False),
        (True, (5, 4), False), (True, (0, 4), False), (True, (4,), False), (True, (4, 4, 4), False),
    ],
)  # fmt: skip
def test_only_the_first_turn_may_be_less_and_only_once_it_hung(
    hung: bool, made: tuple[int, ...], same: bool
) -> None:
    assert turned_as(hung, tuple(map(Fraction, made)), (Fraction(4), Fraction(4))) is same


@pytest.mark.parametrize(
    ("one", "other", "off"),
    [
        ((0, 0), (0, 0), 0), ((5, 7), (105, 7), 50), ((5, 7), (104, 57), 1), ((5, 7), (105, 57), 0),
        ((5, 7), (205, 107), 0), ((5, 7), (5, 37), 30), ((5, 7), (5, 77), 30), ((5, 7), (35, 7), 30),
        ((105, 57), (5, 7), 0), ((5, 7), (-95, -43), 0),
    ],
)  # fmt: skip
def test_points_of_a_half_drop_show_the_same_a_column_on_and_half_a_repeat_up(
    one: tuple[int, int], other: tuple[int, int], off: int
) -> None:
    a, b = ((Fraction(x), Fraction(y)) for x, y in (one, other))
    assert out_of_register(Repeat(100, 100, Fraction(1, 2)), a, b) == off


def test_of_a_print_without_a_width_only_heights_are_compared() -> None:
    assert out_of_register(Repeat(100), (Fraction(0), Fraction(7)), (Fraction(33), Fraction(17))) == 10


@pytest.mark.parametrize(
    ("sign", "amount", "times", "total"),
    [
        ("+", 5, 2, 30), ("number", 5, 2, 30), ("-", 5, 2, 10), ("x", 3, 1, 60), ("/", 3, 1, Fraction(20, 3)),
        ("per", 8, 1, Fraction(5, 2)), ("/", 0, 1, 20), ("up to", 8, 1, 24), ("down to", 8, 1, 16),
        ("at least", 25, 1, 25), ("at least", 5, 1, 20), ("at most", 25, 1, 20), ("at most", 5, 1, 5),
        ("nearest", 8, 1, 24), ("nearest down", 8, 1, 16), ("nearest", 7, 1, 21), ("up to", 1, 1, 20),
    ],
)  # fmt: skip
def test_a_term_is_added_as_its_sign_says(sign: str, amount: int, times: int, total: Fraction) -> None:
    assert SumTerm("", sign, Fraction(amount), times).add_to(20) == total


def folded_once(side: Any, **cover: str | int) -> Work:
    """A panel of 20 x 40 with one edge turned once by 2, and a layer at the back."""
    size = {"width": 20, "length": 40, "left": 0, "up": 0, **cover}
    works = (piece("left", 22 if side in ("left", "right") else 20, 42 if side in ("top", "bottom") else 40),
             piece("layer", size["width"], size["length"]))  # fmt: skip
    made = left(
        works,
        Fold("left", side, (ticks(2),)),
        LayOn("layer", "left", "back", ticks(size["up"]), ticks(size["left"])),
    )
    finished = {edge: Edge("fold", (ticks(1), ticks(1))) for edge in ("left", "right", "top", "bottom")}
    return replace(made, edges={**finished, side: made.edge(side)})


@pytest.mark.parametrize(
    ("side", "cover", "raw"),
    [
        ("left", {}, False), ("left", {"left": 3, "width": 17}, True), ("left", {"width": 1}, True),
        ("left", {"up": 5, "length": 30}, True), ("left", {"length": 10}, True),
        ("left", {"left": 1, "width": 3}, False),
        ("right", {}, False), ("right", {"width": 17}, True), ("right", {"left": 17, "width": 3}, False),
        ("right", {"left": 19, "width": 1}, True), ("bottom", {}, False),
        ("bottom", {"up": 3, "length": 30}, True),
        ("bottom", {"up": 1, "length": 2}, False), ("bottom", {"width": 15}, True),
        ("bottom", {"left": 5, "width": 15}, True),
        ("bottom", {"length": 1}, True), ("top", {}, False), ("top", {"length": 37}, True),
        ("top", {"up": 37, "length": 3}, False), ("top", {"up": 39, "length": 1}, True),
        ("top", {"width": 5}, True),
    ],
)  # fmt: skip
def test_a_raw_end_behind_a_fold_is_covered_from_corner_to_corner(
    side: str, cover: dict[str, int], raw: bool
) -> None:
    wrong = [str(one) for one in check_edges("east", folded_once(side, **cover))]
    assert any(f"its {side} edge is raw" in one for one in wrong) is raw
    assert len(wrong) == raw


@pytest.mark.parametrize(
    ("seam", "at"),
    [("42", "87/2"), ("44", "85/2"), ("46", "214/5"), ("83/2", "43"), ("141/2", "69"), ("139/2", "68")],
)
def test_a_ring_moves_off_a_seam_to_its_nearer_side_that_is_no_edge(seam: str, at: str) -> None:
    # Six rings on 72 from 2 to 70, 13.6 apart: the fourth at 42.8; 1 1/2 off a seam, none beyond 2 and 70.
    centers = [ticks(2) + ticks("68/5") * number for number in range(6)]
    number = min(range(6), key=lambda one: abs(centers[one] - ticks(at)))
    made = left(
        (piece("left", 72, 90),),
        Fold("left", "top", (ticks(4), ticks(4)), over="stiffener"),
        SetAlong(
            "left", "ring", (*centers[:number], ticks(at), *centers[number + 1 :]), ticks(1), ticks("13/8")
        ),
    )
    asked = window(heading="grommet", rod=int(ticks(96)), ring={"count": 6})
    top = Top(
        asked, next(asked.panels(False)), replace(made, seams=(Seam(ticks(seam), ticks("1/2")),)), "east"
    )
    assert list(TOPS["grommet"].check(top)) == []
    moved = [replace(one, start=one.start + 300, end=one.end + 300) for one in made.carriers]
    assert len(list(TOPS["grommet"].check(replace(top, work=replace(top.work, carriers=tuple(moved)))))) == 6
