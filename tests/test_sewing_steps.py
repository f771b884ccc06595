"""Operations of the sewing model by hand sums, and what they refuse; lengths in inches in the tests."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from nesting.repeat import Repeat
from nesting.sewing import (
    Attach,
    Chalk,
    DrawUp,
    Edge,
    FaceTop,
    Fold,
    Insert,
    Join,
    LayOn,
    LineRound,
    Operation,
    Overcast,
    PleatUp,
    Rod,
    SetAlong,
    Sew,
    SewingError,
    SewTube,
    Stitch,
    Trim,
    Wash,
    cut_piece,
    hang,
)
from tests.sewn_pieces import bench, left, piece, ticks


def test_joined_widths_keep_their_outer_edges_and_the_shortest_length() -> None:
    # 20 + 30 + 25 less four allowances of 1/2 is 73; seams at 19 1/2 and 19 1/2 + 29.
    works = (
        piece("one", 20, 90, selvages=frozenset({"left"})),
        piece("two", 30, 88, selvages=frozenset({"left"})),
        piece("three", 25, 91, selvages=frozenset({"right"})),
    )
    made = left(works, Join(("one", "two", "three"), "left", ticks("1/2"), "open"))
    assert (made.width, made.length) == (ticks(73), ticks(88))
    assert [(seam.at, seam.allowance, seam.finish) for seam in made.seams] == [
        (ticks("39/2"), ticks("1/2"), "open"),
        (ticks("97/2"), ticks("1/2"), "open"),
    ]
    assert [(strip.piece, strip.start, strip.end) for strip in made.strips] == [
        ("one", 0, ticks("39/2")),
        ("two", ticks("39/2"), ticks("97/2")),
        ("three", ticks("97/2"), ticks(73)),
    ]
    assert [made.edge(side).finish for side in ("left", "right", "top", "bottom")] == [
        "selvage", "selvage", "raw", "raw",
    ]  # fmt: skip


def test_what_was_joined_before_keeps_its_seams() -> None:
    works = (piece("one", 20, 90), piece("two", 30, 90), piece("three", 25, 90))
    made = left(
        works, Join(("one", "two"), "both", ticks("1/2")), Join(("three", "both"), "left", ticks("1/2"))
    )
    # 24 1/2 of the third, then a seam at 24 1/2 and that of the first two at 24 1/2 + 19.
    assert [seam.at for seam in made.seams] == [ticks("49/2"), ticks("87/2")]


def test_a_layer_is_one_of_those_made_alike_and_lies_where_it_was_told() -> None:
    table = bench(
        (piece("left", 40, 90), piece("band", 5, 80, 2)),
        LayOn("band", "left", "front", ticks(2), ticks(3)),
        LayOn("band", "left", "front", ticks(1), ticks(4), (), "right"),
    )
    made = table.work("left")
    assert set(table.works) == {"left"}
    assert [(one.left, one.up, one.face, one.work.count) for one in made.layers] == [
        (ticks(3), ticks(2), "front", 1),
        (ticks(31), ticks(1), "front", 1),
    ]
    # What is trimmed and folded at its lower left moves them.
    moved = left(
        (piece("left", 40, 90), piece("band", 5, 80)),
        LayOn("band", "left", "back", ticks(9), ticks(3)),
        Trim("left", "left", ticks(2)),
        Fold("left", "bottom", (ticks(4), ticks(4))),
        Trim("left", "top", ticks(1)),
    )
    assert [(one.left, one.up) for one in moved.layers] == [(ticks(1), ticks(1))]
    assert (moved.width, moved.length) == (ticks(38), ticks(81))


def test_a_layer_is_left_on_the_table_where_two_were_made() -> None:
    table = bench((piece("left", 40, 90), piece("band", 5, 80, 2)), LayOn("band", "left", "back", ticks(2)))
    assert table.work("band").count == 1


def test_a_facing_takes_its_seam_and_what_stood_on_it() -> None:
    # Tab 12 long in a seam of 1/2: 11 of it shows; the facing of 5 is 4 1/2 deep then, at 89 1/2 - 4 1/2.
    works = (piece("left", 40, 90), piece("tabs", 5, 12, 2), piece("facing", 40, 5))
    made = left(
        works,
        Chalk("left", "top", ticks("1/2")),
        SewTube("tabs", ticks("1/2")),
        Insert("tabs", "left", (ticks(0), ticks(38))),
        FaceTop("facing", "left", ticks("1/2")),
    )
    assert (made.length, made.lines) == (ticks("179/2"), ())
    assert [(tab.start, tab.end, tab.down, tab.length) for tab in made.carriers] == [
        (0, ticks(2), 0, ticks(11)),
        (ticks(38), ticks(40), 0, ticks(11)),
    ]
    assert made.edge("top") == Edge("seam", (ticks("9/2"),), "fold")
    assert (made.layers[0].left, made.layers[0].up, made.layers[0].face) == (0, ticks(85), "back")


def test_a_tube_lies_its_seam_inside_the_folds() -> None:
    # 70 with folds at 2 1/2: 65; the lining of 62 shows 61 from 2 inside either fold.
    works = (piece("left", 70, 90), piece("lining", 62, 88))
    made = left(
        works,
        Chalk("left", "left", ticks("5/2")),
        Chalk("left", "bottom", ticks(8)),
        LineRound("lining", "left", ticks("1/2"), ticks("5/2"), ticks("5/2"), ticks(1)),
    )
    layer = made.layers[0]
    assert (layer.left, layer.up, layer.work.width, layer.face) == (ticks(2), ticks(1), ticks(61), "back")
    assert [layer.work.edge(side).finish for side in ("left", "right", "top")] == ["seam", "seam", "raw"]
    assert [made.edge(side).finish for side in ("left", "right", "top")] == ["fold", "fold", "raw"]
    assert [line.edge for line in made.lines] == ["bottom"]


def test_a_tube_halves_a_strip_either_way() -> None:
    for halved, size in (("width", (ticks(2), ticks(12))), ("length", (ticks(5), ticks("11/2")))):
        made = left((piece("left", 5, 12),), SewTube("left", ticks("1/2"), halved))  # type: ignore[arg-type]
        assert ((made.width, made.length), made.tube) == (size, True)
        raw = [side for side in ("left", "right", "top", "bottom") if made.edge(side).shows_raw]  # type: ignore[arg-type]
        assert raw == (["top", "bottom"] if halved == "width" else ["left", "right"])


def test_rings_hooks_and_rows_lie_below_the_top() -> None:
    folded = Fold("left", "top", (ticks(4), ticks(4)))
    made = left(
        (piece("left", 40, 90),), folded, SetAlong("left", "ring", (ticks(2), ticks(38)), ticks(1), ticks(2))
    )
    assert [(one.start, one.end, one.down, one.length) for one in made.carriers] == [
        (ticks(2), ticks(2), ticks(1), ticks(2)),
        (ticks(38), ticks(38), ticks(1), ticks(2)),
    ]
    # The hole rests on the rod with its upper edge: 1 in above; 2 - 1 3/8 are left.
    hung = hang(made, Rod(ticks("11/8")))
    assert (hung.top, hung.length, hung.room) == (ticks(1), ticks(82), ticks("5/8"))
    row = left((piece("left", 40, 90),), folded, Stitch("left", (ticks(3),))).carriers[0]
    assert (row.start, row.end, row.down, row.length, row.lower) == (0, ticks(40), 0, ticks(3), ticks(3))
    two = left((piece("left", 40, 90),), folded, Stitch("left", (ticks(1), ticks(3)))).carriers[0]
    assert (two.down, two.length, two.lower) == (ticks(1), ticks(2), ticks(3))


def test_a_drawn_tape_covers_the_turned_top() -> None:
    pinned = Fold("left", "top", (ticks(1),), "pinned")
    made = left((piece("left", 60, 90),), pinned, DrawUp("left", ticks(3), ticks(20)))
    assert (made.drawn, made.tape, made.width) == (ticks(40), ticks(3), ticks(60))
    assert (made.edge("top").held, made.edge("top").shows_raw) == ("sewn", False)
    assert left((piece("left", 60, 90),), DrawUp("left", ticks(3), ticks(0))).edge("top").finish == "seam"


def test_loops_of_two_heights_hang_crooked_and_nothing_hangs_nothing() -> None:
    folded = Fold("left", "top", (ticks(4), ticks(4)))
    hooks = [SetAlong("left", "hook", (ticks(at),), ticks(down)) for at, down in ((1, 1), (30, 2))]
    with pytest.raises(SewingError, match="level"):
        hang(left((piece("left", 40, 90),), folded, *hooks), Rod(ticks(1)))
    with pytest.raises(SewingError, match="nothing carries it"):
        hang(piece("left", 40, 90), Rod(ticks(1)))


def test_a_tab_on_a_flat_rod_goes_down_both_sides_and_over_it() -> None:
    works = (piece("left", 40, 90), piece("tabs", 5, 12, 1), piece("facing", 40, 5))
    made = left(
        works,
        SewTube("tabs", ticks("1/2")),
        Insert("tabs", "left", (ticks(0),)),
        FaceTop("facing", "left", ticks("1/2")),
    )
    # 11 less 1 1/2 down each side and 1/4 over the top is 7 3/4; half of it hangs in front, below 1 1/2.
    hung = hang(made, Rod(ticks("3/2"), ticks("1/4")))
    assert (hung.room, hung.top) == (ticks("31/4"), -ticks("3/2") - ticks("31/8"))


def test_a_wash_takes_width_length_and_print_with_it() -> None:
    repeat = Repeat(int(ticks(25)), int(ticks(27)))
    one = replace(cut_piece("left", "face", ticks(50), ticks(100), repeat=repeat, at=(ticks(10), ticks(50))))
    lost = {"face": (Fraction(2, 100), Fraction(4, 100))}
    made = bench((one,), Wash("face"), shrinkage=lost).work("left")
    assert made.strips[0].at == (ticks("49/5"), ticks(48))
    assert (made.strips[0].start, made.strips[0].end) == (0, ticks(49))


FOLDED = Fold("left", "top", (ticks(4), ticks(4)))


@pytest.mark.parametrize(
    ("operations", "words"),
    [
        ((Fold("left", "left", (ticks(1),)), Fold("left", "left", (ticks(1),))), "folded or sewn already"),
        ((Fold("left", "left", (ticks(1),)), Trim("left", "left", ticks(1))), "finished and is not cut"),
        ((Overcast("left", "left"), Overcast("left", "left")), "is not raw"),
        ((Overcast("left", "left"), Trim("left", "left", ticks(1))), "finished and is not cut"),
        ((Chalk("left", "left", ticks(3)), Fold("left", "left", (ticks(1), ticks(1)))),
         "does not come on its line"),
        ((Chalk("left", "left", -ticks(1)),), "not on it"),
        ((Chalk("left", "left", ticks(60)),), "not on it"),
        ((FOLDED, Insert("tabs", "left", (ticks(1),))), "top is finished"),
        ((FOLDED, FaceTop("facing", "left", ticks("1/2"))), "finished already"),
        ((FaceTop("tabs", "left", ticks("1/2")),), "wide, and its panel"),
        ((Chalk("left", "top", ticks(1)), FaceTop("facing", "left", ticks("1/2"))), "on the top line"),
        ((Insert("tabs", "left", (ticks("117/2"),)),), "is not on it"),
        ((Insert("tabs", "left", (-ticks(1),)),), "is not on it"),
        ((Insert("tabs", "left", (ticks(1), ticks(9), ticks(20))),), "are used and 2 were made"),
        ((Attach("tabs", "left", (ticks(1),), ticks(1), ticks(13)),), "end is not turned under"),
        ((Attach("loops", "left", (ticks(1),), ticks(1), ticks(4)),), "long, its ends"),
        ((Attach("loops", "left", (ticks(1),), ticks(80), ticks(101)),), "long, its ends"),
        ((FOLDED, SetAlong("left", "ring", (ticks(5),), ticks(3), ticks(2))), "below the folded top"),
        ((FOLDED, SetAlong("left", "ring", (ticks("1/2"),), ticks(1), ticks(2))), "is not on it"),
        ((FOLDED, SetAlong("left", "hook", (ticks(61),), ticks(1))), "is not on it"),
        ((DrawUp("left", ticks(3), ticks(5)), SetAlong("left", "hook", (ticks(5),), ticks(4))),
         "below its tape"),
        ((DrawUp("left", ticks(3), ticks(5)), DrawUp("left", ticks(3), ticks(5))), "drawn in already"),
        ((FOLDED, DrawUp("left", ticks(3), ticks(5))), "reaches below the tape"),
        ((DrawUp("left", ticks(3), -ticks(1)),), "cannot be drawn in"),
        ((FOLDED, Stitch("left", (ticks(3), ticks(1)))), "cross"),
        ((FOLDED, Stitch("left", ())), "does not catch"),
        ((PleatUp("left", ((ticks(5), ticks(4)),)),), "cross"),
        ((PleatUp("left", ((ticks(55), ticks(61)),)),), "is not on it"),
        ((LayOn("facing", "left", "back", ticks(1), ticks(1)),), "beyond the sides"),
        ((LayOn("facing", "left", "back", ticks(1), -ticks(1)),), "beyond the sides"),
        ((Fold("left", "left", (ticks(1),)), LayOn("tabs", "left", "back", ticks(1), tucked=("left",))),
         "no open fold"),
        ((Join(("left", "tabs"), "tabs2", ticks("5/4")),), "no wider than its seams"),
        ((Join(("left", "other"), "both", ticks(1)),), "another fabric"),
        ((Join(("left", "facing"), "loops", ticks(1)),), "lies on the table already"),
        ((LineRound("lining", "left", ticks(1), ticks("1/2"), ticks(2), ticks(1)),),
         "comes round to the front"),
        ((LineRound("lining", "left", ticks(1), ticks(2), ticks("1/2"), ticks(1)),),
         "comes round to the front"),
        (
            (
                Chalk("left", "right", ticks(3)),
                LineRound("lining", "left", ticks(1), ticks(2), ticks(2), ticks(1)),
            ),
            "on its line",
        ),
        ((Sew("left", "left"),), "no fold"),
        ((Wash("face"),), "nothing is known"),
    ],
)  # fmt: skip
def test_what_cannot_be_sewn_is_refused(operations: tuple[Operation, ...], words: str) -> None:
    loops = (
        SewTube("tabs", ticks("1/2")),
        SewTube("loops", ticks("1/2")),
        Fold("loops", "top", (ticks("1/2"),)),
        Fold("loops", "bottom", (ticks("1/2"),)),
    )
    works = (
        piece("left", 60, 100), piece("tabs", 5, 12, 2), piece("loops", 5, 12, 2), piece("facing", 60, 5),
        piece("lining", 56, 90), cut_piece("other", "silk", ticks(10), ticks(100)),
    )  # fmt: skip
    assert bench(works, *loops).works.keys() == {work.name for work in works}
    with pytest.raises(SewingError, match=words):
        bench(works, *loops, *operations)
