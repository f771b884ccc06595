"""Finished plans put together by hand, for the tests of drawings. All data is invented."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from nesting.order.job import Bolt, Fabric, FabricFlaw, Job, LengthOnHand
from nesting.packing.problem import Match
from nesting.packing.result import Bound, Incumbent, Status, Stop
from nesting.pieces.piece import HeadingPlan, HeadingSpot, Piece
from nesting.plan.comparison import Comparison, Option
from nesting.plan.plan import Allowance, Buy, FabricLayout, Laid, Plan
from nesting.repeat import Repeat
from nesting.units import centimeters, inches, unit_ticks


def laid(piece: Piece, copy: int, x: int, y: int, turned: bool = False, letter: str = "") -> Laid:
    """One copy, its size and arrow as the turn makes them."""
    size = (piece.length, piece.width) if turned else (piece.width, piece.length)
    return Laid(
        piece, copy, x, y, *size, turn=90 if turned else 0, arrow="left" if turned else "up", letter=letter
    )


def layout_of(
    fabric: Fabric, bolt: Bolt, placements: list[Laid], *, bound: int | None = None, **more: object
) -> FabricLayout:
    """A layout as long as its last cut; optimal unless a smaller bound is given."""
    length = max(one.y + one.length for one in placements)
    least = length if bound is None else bound
    squaring = int(more.pop("squaring", 0))  # type: ignore[call-overload]
    unit = "yd" if bolt.width % inches(1) == 0 else "m"
    step = unit_ticks("yd") // 8 if unit == "yd" else unit_ticks("m") // 10
    allowances = (Allowance("squaring", squaring),) if squaring else ()
    buy = Buy(length, allowances, step, unit, bolt.price)  # type: ignore[arg-type]
    settings: dict[str, object] = {
        "status": Status.OPTIMAL if least == length else Status.FEASIBLE,
        "stop": Stop.PROVED if least == length else Stop.TIME_LIMIT,
        "seconds": 0.4,
        "buy": buy,
        "squaring": squaring,
        **more,
    }
    return FabricLayout(
        fabric=fabric,
        bolt=bolt,
        usable=bolt.usable,
        placements=tuple(placements),
        length=length,
        bound=Bound(least, "area"),
        **settings,  # type: ignore[arg-type]
    )


def plan_of(title: str, units: str, layouts: list[FabricLayout], **more: object) -> Plan:
    """A plan around those layouts."""
    fabrics = {layout.fabric.key: layout.fabric for layout in layouts}
    job = Job(title, units, tuple(fabrics.values()), currency="$")  # type: ignore[arg-type]
    pieces = {one.piece.id: one.piece for layout in layouts for one in layout.placements}
    return Plan(job, tuple(pieces.values()), tuple(layouts), **more)  # type: ignore[arg-type]


def panel(window: str, side: str, number: int, width: int, length: int, **more: object) -> Piece:
    """One width of a panel."""
    settings: dict[str, object] = {"fabric": "face", "nap": "one-way", "side": side, **more}
    key = window.lower().replace(" ", "-")
    return Piece(
        id=f"{key}/{side}/{number}",
        name=f"{window}, {side} panel, width {number}",
        role="panel",
        width=width,
        length=length,
        window=window,
        **settings,  # type: ignore[arg-type]
    )


def small(key: str, name: str, role: str, width: int, length: int, copies: int = 1, **more: object) -> Piece:
    """A companion piece."""
    settings: dict[str, object] = {"fabric": "face", "hidden": True, **more}
    return Piece(key, name, role, width=width, length=length, copies=copies, **settings)  # type: ignore[arg-type]


def back_tab(title: str = "Garden room") -> Plan:
    """Two velvet panels with facings, twenty tabs beside them, and a cushion."""
    bolt = Bolt(inches(54), inches(53), price=Decimal("38.50"), sold_by=unit_ticks("yd") // 8)
    fabric = Fabric("face", (bolt,), name="Cotton velvet, moss", nap="one-way")
    finish = {"finished_length": inches(Fraction(191, 2)), "hem_line": inches(8)}
    left = panel("East window", "left", 1, inches(47), inches(104), **finish)
    right = panel("East window", "right", 1, inches(47), inches(104), **finish)
    tab = small("east-window/tab", "East window, hidden tab", "tab", inches(5), inches(Fraction(15, 4)), 20)
    facing = small(
        "east-window/facing", "East window, facing", "facing", inches(44), inches(Fraction(9, 2)), 2
    )
    cushion = small("cushion", "Window seat cushion, front", "extra", inches(18), inches(18), hidden=False)
    placements = [laid(left, 1, 0, 0), laid(right, 1, 0, inches(104))]
    placements += [laid(tab, n + 1, inches(47), n * inches(Fraction(15, 4))) for n in range(20)]
    placements += [laid(facing, n + 1, 0, inches(208) + n * inches(Fraction(9, 2))) for n in range(2)]
    placements += [laid(cushion, 1, inches(2), inches(217))]
    steps = (
        Incumbent(None, inches(200), "area", 0.01),
        Incumbent(inches(250), inches(208), "construct", 0.05),
        Incumbent(inches(240), inches(230), "improve", 0.2),
        Incumbent(inches(235), inches(235), "cp-sat", 0.4),
    )
    layout = layout_of(fabric, bolt, placements, squaring=inches(2), incumbents=steps)
    # Ten tabs of 2 in, first and last 1 in from the edges of a 43 in panel: 39 in between the outer centers.
    centers = [inches(2) + round(n * inches(39) / 9) for n in range(10)]
    spots = tuple(HeadingSpot("tab", c - inches(1), c + inches(1), n + 1) for n, c in enumerate(centers))
    heading = HeadingPlan("East window", "left", inches(43), spots)
    return plan_of(title, "in", [layout], headings=(heading,))


def half_drop() -> Plan:
    """A half-drop print: two panels of two widths, one cut stepped by half a repeat; not proven optimal."""
    bolt = Bolt(inches(56), inches(55), match=inches(54), price=Decimal("61"), sold_by=unit_ticks("yd") // 8)
    repeat = Repeat(inches(25), inches(54), Fraction(1, 2))
    fabric = Fabric("face", (bolt,), name="Linen print, fern", nap="one-way", repeat=repeat)
    placements, y, phase = [], 0, None
    for side in ("left", "right"):
        for number in (1, 2):
            across = (number - 1) * inches(54)
            piece = panel(
                "Study", side, number, inches(55), inches(116),
                match=Match("study", f"study/{side}", across, 0),
                hem_line=inches(8), finished_length=inches(Fraction(215, 2)),
            )  # fmt: skip
            phase = repeat.phase_y(0, 0, across, 0) if phase is None else phase
            y = repeat.first_y(y, 0, across, 0, phase)
            placements.append(laid(piece, 1, 0, y, letter=repeat.letter(0, across)))
            y += inches(116)
    gap = placements[1].y - inches(116)
    if gap >= inches(5):
        facing = small("study/facing", "Study, facing", "facing", inches(50), inches(Fraction(9, 2)))
        placements.append(laid(facing, 1, 0, inches(116)))
    layout = layout_of(fabric, bolt, placements, bound=inches(464), squaring=inches(2))
    return plan_of("Study, half-drop fern", "in", [layout])


def sheer() -> Plan:
    """A railroaded sheer in centimeters, without price or repeat: panels and ties turned."""
    bolt = Bolt(centimeters(300), centimeters(297))
    fabric = Fabric("sheer", (bolt,), name="Voile, ivory")
    placements, y = [], 0
    for side in ("left", "right"):
        piece = panel(
            "Bay window", side, 1, centimeters(420), centimeters(281), fabric="sheer", nap="none",
            turnable=True, hem_line=centimeters(20), finished_length=centimeters(260),
        )  # fmt: skip
        placements.append(laid(piece, 1, 0, y, turned=True))
        y += centimeters(420)
    tie = small(
        "bay/tie", "Bay window, tie-back", "tieback", centimeters(70), centimeters(12), 4, turnable=True
    )
    loops = small("bay/loop", "Bay window, loop", "tab", centimeters(9), centimeters(14), 18, turnable=True)
    placements += [laid(tie, n + 1, n * centimeters(70), y) for n in range(4)]
    placements += [laid(loops, n + 1, centimeters(282), n * centimeters(10), turned=True) for n in range(18)]
    layout = layout_of(fabric, bolt, placements, railroaded=True, squaring=centimeters(5))
    return plan_of("Bay window sheers", "cm", [layout])


def on_hand() -> Plan:
    """A remnant with two flaws, nothing bought, a piece in the clear between them."""
    flaws = (
        FabricFlaw(inches(30), inches(2), inches(10), inches(3)),
        FabricFlaw(inches(58), inches(6), inches(30), None),
    )
    remnant = LengthOnHand(inches(90), "blue remnant", lot="7", flaws=flaws)
    bolt = Bolt(inches(45), inches(44), on_hand=(remnant,))
    fabric = Fabric("lining", (bolt,), name="Sateen, blue", nap="two-way")
    lining = small("nook/lining", "Nook, lining", "lining", inches(29), inches(54), hidden=False,
                   hem_line=inches(4), finished_length=inches(50))  # fmt: skip
    inter = small("nook/inter", "Nook, interlining", "interlining", inches(29), inches(20))
    band = small("nook/band", "Nook, leading-edge band", "band", inches(6), inches(52))
    placements = [
        laid(lining, 1, inches(14), 0), laid(band, 1, 0, 0), laid(inter, 1, 0, inches(64)),
    ]  # fmt: skip
    layout = layout_of(fabric, bolt, placements, on_hand="blue remnant", buy=None)
    return plan_of("Nook", "in", [layout])


def long_bolt() -> Plan:
    """Sixty yards: twenty panels, two hundred tabs of twenty windows, and bands and ties of their own."""
    bolt = Bolt(inches(54), inches(53), price=Decimal("24"), sold_by=unit_ticks("yd") // 8)
    fabric = Fabric("face", (bolt,), name="Repp, straw", nap="one-way")
    placements = []
    for n in range(20):
        window, y = f"Hall window {n + 1:02}", n * inches(106)
        piece = panel(window, "left" if n % 2 else "right", 1, inches(47), inches(104), hem_line=inches(8))
        tab = small(f"hall-{n + 1:02}/tab", f"{window}, hidden tab for the back of the heading", "tab",
                    inches(5), inches(4), 10)  # fmt: skip
        tie = small(f"hall-{n + 1:02}/tie", f"{window}, tie-back", "tieback", inches(5), inches(16), 2)
        placements.append(laid(piece, 1, 0, y))
        placements += [laid(tab, k + 1, inches(47), y + k * inches(4)) for k in range(10)]
        placements += [laid(tie, k + 1, inches(47), y + inches(40) + k * inches(17)) for k in range(2)]
    last = small("bench", "Hall bench, cover", "extra", inches(50), inches(40), hidden=False)
    placements.append(laid(last, 1, 0, inches(2120)))
    layout = layout_of(fabric, bolt, placements, bound=inches(2100), squaring=inches(2))
    return plan_of("Long hall", "in", [layout])


def comparison() -> Comparison:
    """The same job on three widths, one too narrow."""
    first = back_tab()
    layout = first.layouts[0]
    wide = Bolt(inches(60), inches(59), price=Decimal("44"))
    narrow = Bolt(inches(36), inches(35))
    other = layout_of(layout.fabric, wide, list(layout.placements[:2]), bound=inches(200), squaring=inches(2))
    options = (
        Option(layout, layout.bolt, layout.fabric, (("East window", 1),), 0),
        Option(other, wide, layout.fabric, (("East window", 1),), 0, railroad="no"),
        Option(None, narrow, layout.fabric, reason="a panel of 47 in is wider than the 35 in usable"),
    )
    return Comparison(first.job, options)
