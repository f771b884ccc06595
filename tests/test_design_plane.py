"""The print on the sewn panels, worked out by hand from the cuts on the bolt. All data invented.

Trade sizes are common practice, no source: hem 4 twice, side hems 1 twice, seam 1/2.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.construction.design_plane import NOWHERE, DesignPlane, Lattice, design_planes
from nesting.drawing.hung_print import hung_print_figure
from nesting.drawing.trace import Outline, Words, trace
from nesting.errors import NestingError
from nesting.files import read_job_text
from nesting.packet import packet
from nesting.packet.model import Picture
from nesting.packet.print_picture import print_picture
from nesting.plan.plan import Laid, Plan
from nesting.planning.planner import Effort, plan
from nesting.repeat import Repeat
from nesting.sewing import Chalk, Fold, Sewing
from nesting.units import inches
from tests.drapes import drawn_job
from tests.seeds import seeds

FABRIC = """
[fabric.face]
nap = "{}"
repeat = {{ {} }}
{}
[[fabric.face.bolt]]
width = {}
usable = {}
match = {}
"""
#: 100 flat + 4 x 1 of side hems; finished 80.
SINGLE = """
[[window]]
name = "East"
rod = 50
finished_length = 80
heading = "clip-ring"
fullness = 2
draw = "left"
"""
HALF_DROP = "length = 25, width = 27, drop = 0.5"


def inch(text: str | int) -> Fraction:
    return Fraction(text) * inches(1)


def order(
    window: str = SINGLE,
    repeat: str = HALF_DROP,
    more: str = "motif = { height = 6 }",
    bolt: tuple[int, int, int] = (56, 55, 54),
    nap: str = "one-way",
) -> Plan:
    text = FABRIC.format(nap, repeat, more, *bolt) + window
    return plan(read_job_text(text), effort=Effort(work=1, workers=1))


def plane_of(made: Plan) -> DesignPlane:
    (plane,) = design_planes(made)
    return plane


def moved(made: Plan, piece: str, change: Callable[[Laid], Laid]) -> Plan:
    """The plan with a piece laid elsewhere on the bolt."""
    (layout,) = made.layouts
    laid = tuple(change(one) if one.piece.id == piece else one for one in layout.placements)
    return replace(made, layouts=(replace(layout, placements=laid),))


@pytest.fixture(scope="module")
def single() -> Plan:
    return order()


def test_the_foot_of_the_motif_stands_where_it_was_ordered(single: Plan) -> None:
    # Foot 6 above the hem in the first width's column; half a repeat of 25 higher in the next: 18 1/2. The
    # panel draws to the left, so its leading edge is at the right. Full width 55: 54 from seam to seam are
    # two columns, the leaf in the middle of each, 13 1/2 and 40 1/2 from the seam line. The hem takes 2 of
    # it: 55 - 1/2 - 2 = 52 1/2 to the leading edge, 52 1/2 - 40 1/2 = 12.
    plane = plane_of(single)
    (panel,) = plane.panels
    assert (panel.width, panel.length) == (inch(100), inch(80))
    assert plane.above_hem(panel) == (inch(6), inch("37/2"))
    assert plane.first_spot(panel) == (inch(12), inch("37/2"))
    assert plane.misses(panel) == (NOWHERE,) * len(panel.seams)
    # Seam to leading edge 52 1/2: 100 - 52 1/2 from the left.
    assert panel.seams[-1] == inch("95/2")


@pytest.mark.parametrize(("along", "up"), [(0, 2), (0, -3), (1, 0)])
def test_a_width_laid_elsewhere_shows_at_its_seam(single: Plan, along: int, up: int) -> None:
    # Laid 2 further along the bolt its lower edge lies 2 higher in the pattern, which comes out 2 lower.
    def change(laid: Laid) -> Laid:
        return replace(laid, x=laid.x + along * inches(1), y=laid.y + up * inches(1))

    plane = plane_of(moved(single, "east/single/2", change))
    (panel,) = plane.panels
    apart = plane.misses(panel)
    assert {abs(one[0]) for one in apart if any(one)} == ({inch(along)} if along else {0})
    assert {abs(one[1]) for one in apart if any(one)} == {inch(abs(up))}
    said = print_picture(plane, 500).caption
    assert "does not run on" in said
    way = {(0, 2): "2 in too", (0, -3): "3 in too", (1, 0): "1 in too"}[along, up]
    assert way in said
    # A whole repeat further is the same place of the pattern.
    far = moved(single, "east/single/2", lambda laid: replace(laid, y=laid.y + inches(25)))
    assert "does not run on" not in print_picture(plane_of(far), 500).caption


def test_a_hem_folded_deeper_brings_the_pattern_down(single: Plan) -> None:
    def deeper(sewing: Sewing) -> Sewing:
        steps = [
            replace(
                step,
                operations=tuple(
                    replace(one, turns=(inch(5), inch(5)))
                    if isinstance(one, Fold) and one.edge == "bottom"
                    else replace(one, inward=inch(10))
                    if isinstance(one, Chalk) and one.edge == "bottom"
                    else one
                    for one in step.operations
                ),
            )
            for step in sewing.steps
        ]
        return replace(sewing, steps=tuple(steps))

    plane = plane_of(replace(single, sewing=tuple(deeper(one) for one in single.sewing)))
    # Two turns of 5 for two of 4: 2 less is left below the foot.
    assert plane.above_hem(plane.panels[0]) == (inch(4), inch("33/2"))


def test_both_panels_of_a_pair_are_told_from_their_leading_edges() -> None:
    # 84 flat, 54 of it in the full width at the leading edge of either panel. The left one's leading column
    # is its width's second, which a half drop steps up by 12 1/2: the leading edges are not alike.
    window = SINGLE.replace('draw = "left"', "").replace("rod = 50", "rod = 84")
    plane = plane_of(order(window))
    left, right = plane.panels
    assert (left.told, right.told) == ("right", "left")
    assert plane.first_spot(left) == (inch(12), inch("37/2"))
    assert plane.first_spot(right) == (inch(12), inch(6))
    said = print_picture(plane, 500).caption
    assert "Left panel: leaves 6 in and 18 1/2 in above the hem edge and every 25 in up from there" in said
    assert "the first one 12 in from the leading edge, 18 1/2 in above the hem edge" in said
    assert said.count("runs on") == 2
    assert "the nearest leaf is 12 1/2 in higher than at the right panel's" in said


def test_without_a_drop_both_leading_edges_show_the_same() -> None:
    window = SINGLE.replace('draw = "left"', "").replace("rod = 50", "rod = 84")
    plane = plane_of(order(window, repeat="length = 25, width = 27"))
    found = {plane.first_spot(panel) for panel in plane.panels}
    assert found == {(inch(12), inch(6))}
    assert "Both leading edges show the same of the pattern." in print_picture(plane, 500).caption


def test_over_a_continuous_pair_the_pattern_runs_on() -> None:
    # Flat 42, cut 46, no seam; the bolt has room to shift the second panel in the pattern.
    window = SINGLE.replace('draw = "left"', 'pair = "continuous"').replace("rod = 50", "rod = 42")
    made = order(window, bolt=(60, 59, 54))
    plane = plane_of(made)
    assert plane.between() == NOWHERE
    assert "Where the closed panels meet, the pattern runs on" in print_picture(plane, 500).caption
    off = moved(made, "east/right/1", lambda laid: replace(laid, y=laid.y + inches(4)))
    assert plane_of(off).between() == (inch(0), inch(4))


@pytest.mark.parametrize("motif", ["motif = { height = 6 }", ""])
def test_a_print_cut_sideways_is_told_as_it_hangs(motif: str) -> None:
    # Turned, the 20 across the bolt run up the panel and the 25 along it across. Without an ordered height
    # its line is the hem edge.
    window = SINGLE.replace("rod = 50", "rod = 40")
    turned = "length = 25, width = 20, sideways = true"
    made = order(window, repeat=turned, more=motif, bolt=(118, 117, 100), nap="none")
    assert {laid.turn for laid in made.layouts[0].placements} == {90}
    plane = plane_of(made)
    (panel,) = plane.panels
    assert plane.lattice.cell == (inch(25), inch(20))
    assert plane.above_hem(panel) == (inch(6) if motif else 0,)


def test_a_panel_cut_sideways_at_another_place_hangs_otherwise() -> None:
    # Its top is at the left on the bolt: 3 further to the right is 3 lower in the pattern, shown 3 higher.
    window = SINGLE.replace("rod = 50", "rod = 80").replace('draw = "left"', "")
    turned = "length = 25, width = 20, sideways = true"
    made = order(window, repeat=turned, bolt=(118, 117, 100), nap="none")
    assert {laid.arrow for laid in made.layouts[0].placements} == {"left"}
    plane = plane_of(made)
    assert [plane.above_hem(one) for one in plane.panels] == [(inch(6),), (inch(6),)]
    off = plane_of(moved(made, "east/right/1", lambda laid: replace(laid, x=laid.x + inches(3))))
    assert [off.above_hem(one) for one in off.panels] == [(inch(6),), (inch(9),)]


def test_windows_of_a_room_are_told_by_one_line() -> None:
    # Two inches further along the bolt is two inches lower on the window.
    made = order(SINGLE + SINGLE.replace("East", "West"))
    level = [plane.above_hem(plane.panels[0]) for plane in design_planes(made)]
    assert level == [(inch(6), inch("37/2"))] * 2
    for piece in ("west/single/1", "west/single/2", "west/single/3"):
        made = moved(made, piece, lambda laid: replace(laid, y=laid.y + inches(2)))
    east, west = (plane.above_hem(plane.panels[0])[0] for plane in design_planes(made))
    assert east - west in (inch(2), inch(2) - inch("25/2"), inch("25/2") - inch(2))
    assert all(not any(one) for plane in design_planes(made) for one in plane.misses(plane.panels[0]))


def test_washed_pieces_bring_a_smaller_print() -> None:
    # 4 % along and 2 % across after cutting: 25 x 0.96 = 24, 27 x 0.98 = 26.46. The foot stands as ordered.
    made = order(more="motif = { height = 6 }\nshrinkage = { length = 4, width = 2, washed = 'after' }")
    plane = plane_of(made)
    (panel,) = plane.panels
    assert plane.lattice.cell == (inch("2646/100"), inch(24))
    low, high = plane.above_hem(panel)
    # What is cut was rounded up to the tape before the wash.
    assert abs(low - inch(6)) <= inch("1/16")
    assert high - low == inch(12)
    for across, up in plane.misses(panel):
        assert abs(across) <= inch("1/16")
        assert abs(up) <= inch("1/16")


def test_a_print_without_a_width_has_rows_alone() -> None:
    # One width a panel and no match said: across, nothing is known of the print.
    text = FABRIC.format("none", "length = 25", "motif = { height = 6 }", 56, 55, 54).replace(
        "match = 54\n", ""
    )
    made = plan(
        read_job_text(text + SINGLE.replace("rod = 50", "rod = 20")), effort=Effort(work=1, workers=1)
    )
    (plane,) = design_planes(made)
    (panel,) = plane.panels
    assert plane.lattice.across is None
    assert plane.first_spot(panel) is None
    assert plane.above_hem(panel) == (inch(6),)
    assert len(hung_print_figure(plane).axes) == 1


def test_plain_fabric_has_no_such_picture() -> None:
    text = f"[fabric.face]\n[[fabric.face.bolt]]\nwidth = 56\n{SINGLE}"
    assert tuple(design_planes(plan(read_job_text(text), effort=Effort(work=0.2, workers=1)))) == ()


@pytest.mark.parametrize("seed", seeds(20, 120))
def test_a_print_drawn_at_random_runs_on_and_hangs_level(seed: int) -> None:
    # Lengths of the cuts are on the tape, lattices and washes are not quite.
    job = drawn_job(seed)
    if all(fabric.repeat is None for fabric in job.fabrics):
        return
    bought = [replace(one, bolts=(replace(one.bolts[0], sold_by=inches(1)),)) for one in job.fabrics]
    try:
        made = plan(replace(job, fabrics=tuple(bought)), effort=Effort(work=0.05, workers=1))
    except NestingError:
        return
    plane = plane_of(made)
    assert all(abs(part) <= 8 for panel in plane.panels for miss in plane.misses(panel) for part in miss)
    heights = [plane.above_hem(panel)[:1] for panel in plane.panels]
    assert len({height for height in heights if height}) <= 1
    said = print_picture(plane, 500).caption
    assert "does not run on" not in said
    assert said.count("no leaf falls on it") == heights.count(())


# The lattice


@given(
    st.integers(1, 60), st.integers(1, 60), st.sampled_from([0, Fraction(1, 2), Fraction(1, 3)]),
    st.integers(-200, 200), st.integers(-200, 200), st.integers(-5, 5), st.integers(-5, 5),
)  # fmt: skip
def test_spots_a_lattice_step_apart_are_the_same(
    width: int, length: int, drop: Fraction, x: int, y: int, columns: int, rows: int
) -> None:
    repeat = Repeat(6 * length, 6 * width, Fraction(drop))
    across = Fraction(6 * width), Fraction(repeat.step)
    lattice = Lattice(across, (Fraction(0), Fraction(6 * length)))
    step = columns * across[0], columns * across[1] + rows * Fraction(6 * length)
    assert lattice.rest(step) == NOWHERE
    first = lattice.rest((Fraction(x), Fraction(y)))
    again = lattice.rest((x + step[0], y + step[1]))
    assert abs(first[0]) + abs(first[1]) == abs(again[0]) + abs(again[1])
    # The rule of the layout says the same: such a place has the phase of 0, 0.
    same = repeat.columns(x, 0)[1] == 0 and repeat.phase_y(x, y, 0, 0) == 0
    assert (first == NOWHERE) == same


@given(st.integers(3, 20), st.integers(3, 20), st.integers(0, 19), st.integers(-30, 30), st.integers(-30, 30))
def test_spots_are_those_of_a_plain_search(width: int, length: int, step: int, x: int, y: int) -> None:
    lattice = Lattice((Fraction(width), Fraction(step)), (Fraction(0), Fraction(length)))
    found = set(lattice.spots((Fraction(x), Fraction(y)), (Fraction(x + 40), Fraction(y + 40))))
    plain = {
        (Fraction(column * width), Fraction(column * step + row * length))
        for column in range(-30, 31)
        for row in range(-250, 251)
        if x <= column * width <= x + 40 and y <= column * step + row * length <= y + 40
    }
    assert found == plain


# The picture


def test_every_spot_has_its_leaf_and_the_words_are_read_in_print(single: Plan) -> None:
    plane = plane_of(single)
    drawing = trace(hung_print_figure(plane))
    leaves = [one for one in drawing.marks if isinstance(one, Outline) and one.name == "leaf"]
    assert len(leaves) >= sum(len(list(plane.spots(panel))) for panel in plane.panels) > 10
    # Black on white, and cut off at the edges of the width, as the fabric is.
    assert {one.fill for one in leaves} == {"#26211c"}
    frame = next(one for one in drawing.marks if isinstance(one, Outline) and one.name.startswith("panel:"))
    corners = [point for _, at in frame.verbs for point in (at,) if at]
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    for leaf in leaves:
        across = [x for _, at in leaf.verbs for x in at[::2]]
        assert leaf.clip is not None or left <= min(across) <= max(across) <= right
    words = [one for one in drawing.marks if isinstance(one, Words)]
    said = {one.text for one in words}
    assert {"single panel", "leading edge", "12 in", "18 1/2 in"} <= said
    assert min(one.size for one in words) >= 9
    for one in words:
        assert 0 <= one.x <= drawing.width


def test_the_sheet_of_a_printed_window_has_the_picture_and_no_other(single: Plan) -> None:
    def shown(made: Plan) -> list[Picture]:
        sections = packet(made, made=date(2026, 12, 1)).sections
        (sheet,) = [section for section in sections if section.title == "Window sheet: East"]
        found = [block for block in sheet.blocks if isinstance(block, Picture)]
        return [one for one in found if "pattern on the sewn panels" in one.alt]

    (picture,) = shown(single)
    assert "leaves 6 in and 18 1/2 in above the hem edge" in picture.caption
    plain = f"[fabric.face]\n[[fabric.face.bolt]]\nwidth = 56\n{SINGLE}"
    assert shown(plan(read_job_text(plain), effort=Effort(work=0.2, workers=1))) == []


def test_a_leaf_tells_up_from_down_and_left_from_right(single: Plan) -> None:
    drawing = trace(hung_print_figure(plane_of(single)))
    leaf = next(one for one in drawing.marks if isinstance(one, Outline) and one.name == "leaf")
    points = [part[1][-2:] for part in leaf.verbs if part[1]]
    across, down = sorted(x for x, _ in points), sorted(y for _, y in points)
    stem = points[0][0]
    # Wider at the right of its stem than at the left, its foot narrow and low.
    assert across[-1] - stem > 3 * (stem - across[0])
    assert points[0][1] == down[-1]
