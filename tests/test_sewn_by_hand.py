"""One case of each heading sewn, its sums worked out by hand.

A pair on a rod of 84 in, 1 3/8 thick, 95 1/2 finished, unlined, fabric 53 usable; side hems 1 twice, bottom
hem 4 twice, seams 1/2. Common practice, no source, but for the pleats (*How to Make Draperies*, booklet
no. 102, 1960). Half the rod's circumference is 3.1416 x 1 3/8 / 2 = 2.16; in front of the rod the fabric
takes up 1 3/8 x (0.7854 - 0.5) = 0.392, up to the tape 7/16. Inches.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import pytest
from orders import a_bolt, a_fabric, a_job, a_window, cut_job, inch

from nesting.construction import bench_of, sewing_of, window_facts
from nesting.headings import HEADINGS
from nesting.plan.plan import Plan
from nesting.sewing import Work, sewn


@dataclass(frozen=True)
class SewnByHand:
    """What the left panel comes to: flat width, length lying flat, width drawn in, what carries it.

    ``first`` and ``last`` are from where to where the outermost carriers reach, ``down`` how far below the
    top edge they begin, ``size`` the length of a tab, a loop or a pocket, or the hole of a ring.
    """

    flat: str
    lying: str
    count: int
    first: tuple[str, str]
    last: tuple[str, str]
    down: str
    size: str = "0"
    drawn: str = ""


BY_HAND = {
    # 42 x 1 1/2 = 63. 59 / 6 = 9.8, so 10 gaps, 11 loops 2 wide, centers 2 inside; 2.16 + 1/2, up to 2 3/4.
    "back-tab": SewnByHand("63", "95 15/16", 11, ("1", "3"), ("60", "62"), "3/4", "2 3/4"),
    # (63 + 5) / (2 + 5) = 9.7, so 10 tabs; 2.16 + 2 x 2 + 1 3/8 = 7.53, up to 7 5/8; caught in the seam.
    "tab-top": SewnByHand("63", "95 1/2", 10, ("0", "2"), ("61", "63"), "0", "7 5/8"),
    # 42 x 2 = 84. 2.16 x 1.2 = 2.592, up to 2 5/8; the heading 1.
    "rod-pocket": SewnByHand("84", "95 15/16", 1, ("0", "84"), ("0", "84"), "1", "2 5/8"),
    # 42 x 2 1/2 + 3 1/2 + 2 = 110 1/2, drawn in to 42 + 3 1/2 + 2 = 47 1/2. (47 1/2 - 3 1/2 - 2) / 4 = 10.5,
    # ties down: 10 spaces, 11 pleats of 63 / 11 = 5.73; a hook behind each and one at each edge, 1/2 inside.
    "pinch-pleat": SewnByHand("110 1/2", "95 1/2", 13, ("1/2", "1/2"), ("110", "110"), "1/2", drawn="47 1/2"),
    # 42 x 1 3/4 = 73 1/2. 69 1/2 / 7 = 9.9, so 10 to the nearest even; the hole is the rod and 1/4.
    "grommet": SewnByHand("73 1/2", "95 1/2", 10, ("2", "2"), ("71 1/2", "71 1/2"), "1", "1 5/8"),
    # 62 / 6 = 10.3, so 10 gaps, 11 clips, 12 for a pair.
    "clip-ring": SewnByHand("63", "95 1/2", 12, ("1/2", "1/2"), ("62 1/2", "62 1/2"), "0"),
    # 42 x 2 1/4 + 3 1/2 + 2 = 100, drawn in to 47 1/2. 47 1/2 / 3 = 15.8, so 16 and one more hooks.
    "pencil-pleat": SewnByHand(
        "100", "95 1/2", 17, ("1/2", "1/2"), ("99 1/2", "99 1/2"), "1/2", drawn="47 1/2"
    ),
}


def left_panel(name: str) -> Work:
    job = a_job(a_window(heading=name, take_up=None), fabrics=(a_fabric(a_bolt(inch(54), inch(53))),))
    made = cut_job(job)
    plan = Plan(job, made.pieces, (), headings=made.headings, panels=made.panels)
    (facts,) = window_facts(plan)
    return sewn(bench_of(facts), sewing_of(plan)[0]).work("left")


@pytest.mark.parametrize("name", HEADINGS)
def test_a_panel_of_each_heading_comes_to_what_it_is_by_hand(name: str) -> None:
    hand, work = BY_HAND[name], left_panel(name)
    assert (work.width, work.length) == (inch(hand.flat), inch(hand.lying))
    assert work.drawn == (inch(hand.drawn) if hand.drawn else None)
    carriers = sorted(work.carriers, key=lambda one: one.start)
    assert len(carriers) == hand.count
    for carrier, (start, end) in ((carriers[0], hand.first), (carriers[-1], hand.last)):
        assert (carrier.start, carrier.end) == (inch(start), inch(end))
    assert {one.down for one in carriers} == {inch(hand.down)}
    assert {one.length for one in carriers} == {inch(hand.size)}


def test_the_sums_of_pleats_add_up() -> None:
    work = left_panel("pinch-pleat")
    assert len(work.pleats) == 11
    taken = sum((pleat.end - pleat.start for pleat in work.pleats), Fraction(0))
    assert taken == inch(63)
    # The return of 3 1/2 at the outer edge, a lead of 2 at the leading one, which is the right one here.
    assert work.pleats[0].start == inch("3 1/2")
    assert work.width - work.pleats[-1].end == inch(2)
