"""The sewing model by hand sums: what operations make of cut pieces. Lengths in inches in the tests."""

from __future__ import annotations

from fractions import Fraction

import pytest

from nesting.repeat import Repeat
from nesting.sewing import (
    Attach,
    Bench,
    Chalk,
    DrawUp,
    FaceTop,
    Fold,
    Insert,
    Join,
    LayOn,
    LayOut,
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
    sewn,
)
from nesting.sewing.written import read_sewing, sewing_table
from tests.sewn_pieces import left, one_step, piece, ticks

TAB_TOP = (
    Join(("east/left/1", "east/left/2"), "left", ticks("1/2")),
    Trim("left", "top", ticks(2)),
    Chalk("left", "bottom", ticks(8)),
    Chalk("left", "top", ticks("1/2")),
    Fold("left", "bottom", (ticks(4), ticks(4)), "basted"),
    Fold("left", "left", (ticks(1), ticks(1))),
    Fold("left", "right", (ticks(1), ticks(1))),
    SewTube("east/tabs", ticks("1/2")),
    Fold("east/left/facing", "left", (ticks("1/2"),)),
    Fold("east/left/facing", "right", (ticks("1/2"),)),
    Overcast("east/left/facing", "bottom"),
    Insert("east/tabs", "left", (ticks(0), ticks(77))),
    FaceTop("east/left/facing", "left", ticks("1/2")),
)
TAB_TOP_PIECES = (
    piece("east/left/1", 54, 95),
    piece("east/left/2", 30, 95),
    piece("east/tabs", 5, 12, 2),
    piece("east/left/facing", 80, 5),
)


def test_a_tab_top_panel_sews_up_as_by_hand() -> None:
    # 54 + 30 - 1 - 4 = 79; 95 - 2 - 8 - 1/2 = 84 1/2; the seam at 54 - 1/2 - 2; loops 12 - 1.
    panel = left(TAB_TOP_PIECES, *TAB_TOP)
    assert (panel.width, panel.length) == (ticks(79), ticks("169/2"))
    assert [seam.at for seam in panel.seams] == [ticks("103/2")]
    assert [(tab.start, tab.end, tab.length) for tab in panel.carriers] == [
        (ticks(0), ticks(2), ticks(11)),
        (ticks(77), ticks(79), ticks(11)),
    ]
    assert panel.layers[0].up + panel.layers[0].work.length == panel.length
    assert panel.edge("top").depth == ticks("9/2")


@pytest.mark.parametrize("size", range(4))
def test_a_wrong_distance_changes_what_comes_out(size: int) -> None:
    wrong = list(TAB_TOP)
    wrong[1] = Trim("left", "top", ticks(2) + size)
    panel = left(TAB_TOP_PIECES, *wrong)
    assert panel.length == ticks("169/2") - size


def test_a_tab_lies_half_around_its_rod_and_hangs_the_rest() -> None:
    # Rod 1 3/8, loop 11: half of 4.32 is 2.16; 11 - 2.16 - 1.375 = 7.465 hangs, half of it in front.
    hung = hang(left(TAB_TOP_PIECES, *TAB_TOP), Rod(ticks("11/8")))
    assert abs(hung.top + ticks("11/8") + ticks("7465/2000")) < 20
    assert hung.length == ticks("169/2")
    assert hung.room is not None
    assert abs(hung.room - ticks("7465/1000")) < 20


def test_loops_behind_a_panel_take_up_a_quarter_of_the_rod() -> None:
    # d (pi / 4 - 1 / 2) of 1 3/8 is 0.392.
    facing, loops = piece("facing", 41, 5), piece("loops", 5, "15/4", 2)
    made = left(
        (piece("left", 40, 90), facing, loops),
        SewTube("loops", ticks("1/2")),
        Fold("loops", "top", (ticks("1/2"),)),
        Fold("loops", "bottom", (ticks("1/2"),)),
        Fold("facing", "left", (ticks("1/2"),)),
        Fold("facing", "right", (ticks("1/2"),)),
        Attach("loops", "facing", (ticks(1), ticks(37)), ticks("5/4"), ticks(4)),
        FaceTop("facing", "left", ticks("1/2")),
    )
    hung = hang(made, Rod(ticks("11/8")))
    assert hung.top == ticks("3/4")
    assert abs(made.length - hung.length - ticks("392/1000")) < 4
    flat = hang(made, Rod(ticks("3/2"), depth=ticks("1/4")))
    assert flat.length == made.length
    # A loop of 2 3/4 goes half the way round a flat rod: 1 1/2 down its back and 1/4 over its top.
    assert flat.room == ticks("11/4") - ticks("7/4")
    assert hang(made, Rod(ticks("11/8"), taken=ticks("1/2"))).length == made.length - ticks("1/2")


def test_a_pocket_is_what_lies_between_its_rows() -> None:
    panel = left(
        (piece("left", 60, 100),),
        Fold("left", "top", (ticks("1/2"), ticks(3))),
        Stitch("left", (ticks(1), ticks(3))),
    )
    assert panel.length == ticks("193/2")
    hung = hang(panel, Rod(ticks(1)))
    assert (panel.carriers[0].length, hung.top) == (ticks(2), ticks(1))


def test_a_piece_alone_is_laid_out_under_the_name_of_its_panel() -> None:
    bench = Bench({"east/left/1": piece("east/left/1", 54, 95, 2)})
    laid = sewn(bench, one_step(LayOut("east/left/1", "left"), LayOut("east/left/1", "right")))
    assert set(laid.works) == {"left", "right"}
    assert [(work.width, work.count) for work in laid] == [(ticks(54), 1)] * 2
    with pytest.raises(SewingError, match="already"):
        sewn(bench, one_step(LayOut("east/left/1", "left"), LayOut("east/left/1", "left")))


def test_widths_sewn_edge_to_edge_have_a_seam_all_the_same() -> None:
    joined = left((piece("one", 20, 90), piece("two", 30, 90)), Join(("one", "two"), "left", ticks(0)))
    assert (joined.width, [seam.at for seam in joined.seams]) == (ticks(50), [ticks(20)])


def test_pleats_draw_a_panel_in_by_what_lies_between_their_lines() -> None:
    panel = left(
        (piece("left", 60, 100),),
        PleatUp("left", ((ticks(5), ticks(10)), (ticks(14), ticks(19)))),
    )
    assert panel.drawn == ticks(50)
    with pytest.raises(SewingError, match="cross"):
        left((piece("left", 60, 100),), PleatUp("left", ((ticks(5), ticks(10)), (ticks(9), ticks(19)))))


def test_what_is_drawn_in_is_not_drawn_in_again() -> None:
    once = PleatUp("left", ((ticks(5), ticks(10)),))
    with pytest.raises(SewingError, match="drawn in already"):
        left((piece("left", 60, 100),), once, once)


def test_a_lining_sewn_round_goes_round_the_panel_or_pulls() -> None:
    # A face of 70 with folds at 2 1/2 lies 65 wide; a lining of 70 - 10 + 2 = 62 goes round: 132 - 2 = 130.
    works = (piece("left", 70, 90), piece("lining", 62, 88))
    made = left(works, LineRound("lining", "left", ticks("1/2"), ticks("5/2"), ticks("5/2"), ticks(1)))
    assert made.width == ticks(65)
    assert made.edge("left").depth == ticks(2)
    with pytest.raises(SewingError, match="go round"):
        left(works, LineRound("lining", "left", ticks("1/2"), ticks(2), ticks("5/2"), ticks(1)))


def test_a_wash_takes_what_the_fabric_loses() -> None:
    bench = Bench({"left": piece("left", 50, 100)}, {"face": (Fraction(2, 100), Fraction(4, 100))})
    washed = sewn(bench, one_step(Wash("face"))).work("left")
    assert (washed.width, washed.length) == (ticks(49), ticks(96))


def test_the_print_goes_with_the_fabric_through_seams_and_folds() -> None:
    repeat = Repeat(int(ticks(25)), int(ticks(27)))
    one = cut_piece("one", "face", ticks(28), ticks(50), repeat=repeat, at=(Fraction(0), Fraction(0)))
    two = cut_piece("two", "face", ticks(28), ticks(50), repeat=repeat, at=(ticks(27), Fraction(0)))
    made = left(
        (one, two),
        Join(("one", "two"), "left", ticks("1/2")),
        Fold("left", "bottom", (ticks(4), ticks(4))),
        Fold("left", "left", (ticks(1), ticks(1))),
    )
    one_side, other = made.strips
    assert one_side.at is not None
    assert other.at is not None
    assert one_side.at == (ticks(2), ticks(8))
    assert other.at == (ticks("55/2"), ticks(8))
    assert one_side.at[0] + one_side.end - one_side.start == other.at[0]


@pytest.mark.parametrize(
    ("operation", "words"),
    [
        (Fold("left", "bottom", (ticks(4), ticks(3))), "deeper than the next"),
        (Fold("left", "bottom", (ticks(60), ticks(60))), "more than there is"),
        (Trim("left", "top", -ticks(1)), "cannot be put on"),
        (Insert("left", "left", (ticks(1),)), "sewn and turned"),
        (SetAlong("left", "ring", (ticks(5),), ticks(1), ticks(1)), "top is raw"),
        (Chalk("left", "top", ticks(101)), "not on it"),
        (FaceTop("nothing", "left", ticks(1)), "no such piece"),
        (Fold("left", "bottom", (ticks(0),)), "a turn of nothing"),
        (Fold("left", "bottom", ()), "a turn of nothing"),
        (Sew("left", "bottom"), "no fold"),
        (Join(("left",), "right", ticks(1)), "nothing to be joined to"),
        (Join(("left", "left"), "right", ticks(1)), "are used and 1 were made"),
        (LayOut("left", "left"), "lies on the table already"),
        (Wash("face"), "nothing is known"),
        (Trim("left", "top", ticks(100)), "more than there is"),
        (Stitch("left", (ticks(1),)), "does not catch"),
        (SewTube("left", ticks(30)), "takes all of it"),
        (DrawUp("left", ticks(3), ticks(60)), "cannot be drawn in"),
        (LayOn("left", "left", "back", ticks(0), tucked=("left",)), "no open fold"),
    ],
)
def test_what_cannot_be_sewn_is_told(operation: Operation, words: str) -> None:
    with pytest.raises(SewingError, match=words) as told:
        left((piece("left", 60, 100),), operation)
    assert "step 1" in str(told.value)


def test_a_sewing_order_is_read_back_as_it_was_written() -> None:
    sewing = one_step(*TAB_TOP, PleatUp("left", ((ticks(5), ticks("31/3")),)))
    assert read_sewing(sewing_table(sewing), "sewing[0]") == sewing


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"do": "glue"}, "expected one of"),
        ({"off": "2.5"}, "expected ticks"),
        ({"off": "1/0"}, "expected ticks"),
        ({"edge": "upper"}, "expected left or right"),
        ({"length": "5"}, "no such entry"),
        ({"on": 5}, "expected a word"),
    ],
)
def test_a_table_that_is_no_operation_is_refused(change: dict[str, object], words: str) -> None:
    table = sewing_table(one_step(Trim("left", "top", ticks(2))))
    table["steps"][0]["operations"][0] |= change
    with pytest.raises(SewingError, match=words) as told:
        read_sewing(table, "sewing[0]")
    assert "sewing[0].steps[0].operations[0]" in str(told.value)
