"""Sewing orders made by hand, one for each heading and one of layers, to test words and pictures by."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import partial

from nesting.instructions import Manner, Telling
from nesting.instructions.manner import Kind
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
    SetAlong,
    Sew,
    Sewing,
    SewingStep,
    SewTube,
    Stitch,
    Trim,
    Wash,
    Work,
    cut_piece,
)
from nesting.units import format_length
from tests.sewn_pieces import ticks

PAIR = ("left", "right")


def piece(name: str, width: str | int, length: str | int, count: int = 1, fabric: str = "face") -> Work:
    return cut_piece(name, fabric, ticks(width), ticks(length), count=count, nap="up")


def bench(*works: Work) -> Bench:
    """A table with these pieces; the face loses 2 parts in 100 across and 4 along when it is washed."""
    return Bench({work.name: work for work in works}, {"face": (Fraction(2, 100), Fraction(4, 100))})


def order(*steps: tuple[str, tuple[Operation, ...]]) -> Sewing:
    return Sewing("east", tuple(SewingStep(key, operations) for key, operations in steps))


def telling(kind: Kind = "plain", *, lined: bool = False, washable: bool = False) -> Telling:
    """Inches, the fabric ``face`` of that kind, a pair of panels."""
    return Telling(
        partial(format_length, unit="in"),
        names={"one": "cut 1", "two": "cut 2", "three": "cut 3", "four": "cut 4"},
        fabrics={"face": "Velvet"},
        manners={"face": Manner(kind, lined, washable)},
        panels=PAIR,
        leading={"left": "right", "right": "left"},
        taken=ticks("7/16"),
        onto_rod="Slide the rod in.",
    )


def tab_top() -> tuple[Bench, Sewing]:
    """A pair of two widths each."""
    works = (
        piece("one", 54, 95), piece("two", 30, 95), piece("three", 30, 95), piece("four", 54, 95),
        piece("east/tabs", 5, 12, 18), piece("left facing", 80, 5), piece("right facing", 80, 5),
    )  # fmt: skip
    at, half = tuple(ticks(Fraction(77 * number, 8)) for number in range(9)), ticks("1/2")
    facing = tuple(
        one
        for each in PAIR
        for one in (
            Fold(f"{each} facing", "left", (half,), "pressed"),
            Fold(f"{each} facing", "right", (half,), "pressed"),
            Overcast(f"{each} facing", "bottom"),
            Chalk(f"{each} facing", "top", half),
        )
    )
    return bench(*works), order(
        ("join widths", (Join(("one", "two"), "left", half), Join(("three", "four"), "right", half))),
        ("lines", tuple(one for each in PAIR for one in lines(each, top=half, trim=ticks(2)))),
        ("bottom hem", tuple(Fold(each, "bottom", (ticks(4), ticks(4)), "basted") for each in PAIR)),
        ("side hems", tuple(one for each in PAIR for one in side_hems(each))),
        ("tabs", (SewTube("east/tabs", half),)),
        ("facing", facing),
        ("marks", ()),
        ("tabs", tuple(Insert("east/tabs", each, at) for each in PAIR)),
        ("top", tuple(FaceTop(f"{each} facing", each, half) for each in PAIR)),
        ("hang", ()),
        ("level", tuple(Sew(each, "bottom") for each in PAIR)),
    )


def lines(name: str, *, top: Fraction, trim: Fraction) -> Iterator[Operation]:
    yield Trim(name, "top", trim)
    yield Chalk(name, "bottom", ticks(8))
    yield Chalk(name, "top", top)
    yield Chalk(name, "left", ticks(2))
    yield Chalk(name, "right", ticks(2))


def side_hems(name: str) -> Iterator[Operation]:
    yield Fold(name, "left", (ticks(1), ticks(1)))
    yield Fold(name, "right", (ticks(1), ticks(1)))


def back_tab() -> tuple[Bench, Sewing]:
    """A panel whose facing is joined and turned under."""
    half = ticks("1/2")
    works = (
        piece("one", 81, 90), piece("f1", 42, "11/2"), piece("f2", 41, "11/2"),
        piece("east/tabs", 5, "15/4", 14),
    )  # fmt: skip
    ends = (Fold("east/tabs", "top", (half,)), Fold("east/tabs", "bottom", (half,)))
    return bench(*works), order(
        ("join widths", (LayOut("one", "left"),)),
        ("tabs", (SewTube("east/tabs", half), *ends)),
        (
            "facing",
            (
                Join(("f1", "f2"), "left facing", half, "open"),
                Fold("left facing", "left", (half,), "pressed"),
                Fold("left facing", "right", (half,), "pressed"),
                Fold("left facing", "bottom", (half,)),
                Chalk("left facing", "top", half),
            ),
        ),
        ("marks", ()),
        ("tabs", (Attach("east/tabs", "left facing", evenly(1, 77, 14), ticks("5/4"), ticks(4)),)),
        ("top", (FaceTop("left facing", "left", half),)),
        ("hang", ()),
    )


def evenly(first: int, last: int, count: int) -> tuple[Fraction, ...]:
    return tuple(ticks(first + Fraction((last - first) * number, count - 1)) for number in range(count))


def rod_pocket() -> tuple[Bench, Sewing]:
    """A panel washed first, its lining tucked."""
    works = (piece("left", 84, 100), piece("left lining", 75, 88, fabric="lining"))
    turn = ticks("3/2")
    return bench(*works), order(
        ("wash", (Wash("face"),)),
        ("lines", (Chalk("left", "bottom", ticks(8)), Chalk("left", "top", ticks("7/2")))),
        ("bottom hem", (Fold("left", "bottom", (ticks(4), ticks(4)), "basted"),)),
        ("side hems", tuple(Fold("left", side, (turn, turn), "pinned") for side in ("left", "right"))),
        (
            "lining",
            (
                Fold("left lining", "bottom", (ticks(2), ticks(2))),
                LayOn("left lining", "left", "back", ticks(1), ticks(0), ("left", "right")),
                Sew("left", "left"),
                Sew("left", "right"),
            ),
        ),
        (
            "top",
            (Fold("left", "top", (ticks("1/2"), ticks(3)), "pressed"), Stitch("left", (ticks(1), ticks(3)))),
        ),
        ("hang", ()),
        ("level", (Sew("left", "bottom"),)),
    )


def pinch_pleat() -> tuple[Bench, Sewing]:
    """Four pleats, not alike from both ends."""
    pleats = tuple((ticks(start), ticks(start + 5)) for start in (5, 14, 23, 70))
    hooks = (ticks(0), *((one + other) / 2 for one, other in pleats), ticks(80))
    return bench(piece("left", 84, 95)), order(
        ("side hems", tuple(side_hems("left"))),
        ("top", (Fold("left", "top", (ticks(4), ticks(4)), "basted", "buckram"),)),
        ("marks", ()),
        ("pleats", (PleatUp("left", pleats),)),
        ("hooks", (SetAlong("left", "hook", hooks, ticks("1/2")),)),
        ("hang", ()),
    )


def grommet() -> tuple[Bench, Sewing]:
    """Eleven rings through a stiffened top."""
    return bench(piece("left", 84, 95)), order(
        ("top", (Fold("left", "top", (ticks(4), ticks(4)), "sewn", "stiffener"),)),
        ("marks", ()),
        ("rings", (SetAlong("left", "ring", evenly(2, 82, 11), ticks(1), ticks("8/5")),)),
        ("hang", ()),
    )


def clip_ring() -> tuple[Bench, Sewing]:
    """Marks told with what is set at them."""
    return bench(piece("left", 84, 95)), order(
        ("top", (Fold("left", "top", (ticks(2), ticks(2))),)),
        ("rings", (SetAlong("left", "clip", evenly(1, 83, 13), ticks(0)),)),
        ("hang", ()),
    )


def pencil_pleat() -> tuple[Bench, Sewing]:
    """A tape over a top folded once; the lower edge is no hem."""
    return bench(piece("left", 84, 95)), order(
        ("top", (Fold("left", "top", (ticks("3/2"),), "pinned"),)),
        ("pleats", (DrawUp("left", ticks(3), ticks(47)),)),
        ("hooks", (SetAlong("left", "hook", evenly(0, 84, 8), ticks("1/2")),)),
        ("hang", ()),
        ("level", ()),
    )


def layers() -> tuple[Bench, Sewing]:
    """Interlining, a lining sewn round, a band and tie-backs."""
    works = (
        piece("left", 70, 90), piece("left lining", 62, 88, fabric="lining"),
        piece("left interlining", 65, 70, fabric="inter"), piece("left band", 4, 60), piece("ties", 30, 7, 2),
    )  # fmt: skip
    half, fold = ticks("1/2"), ticks("5/2")
    band = tuple(Fold("left band", side, (half,), "pressed") for side in ("left", "right", "bottom", "top"))
    return bench(*works), order(
        ("leading band", (*band, LayOn("left band", "left", "front", ticks(8), ticks(62)))),
        ("interlining", (LayOn("left interlining", "left", "back", ticks(8), fold),)),
        (
            "lining",
            (
                Fold("left lining", "bottom", (ticks(2), ticks(2))),
                LineRound("left lining", "left", half, fold, fold, ticks(1)),
            ),
        ),
        (
            "tie-backs",
            (SewTube("ties", half, "length"), Trim("ties", "left", ticks(1)), Overcast("ties", "right")),
        ),
    )


ORDERS = {
    "tab top": tab_top,
    "back tab": back_tab,
    "rod pocket": rod_pocket,
    "pinch pleat": pinch_pleat,
    "grommet": grommet,
    "clip ring": clip_ring,
    "pencil pleat": pencil_pleat,
    "layers": layers,
}
