"""What is said to a maker: no words of solvers, no cut that no hand makes, no amount that is short."""

from __future__ import annotations

import random
import re
from datetime import date
from fractions import Fraction

import pytest

from nesting.commands.tables import advice_lines, proven
from nesting.cutting.cut import cut
from nesting.files import read_job_text
from nesting.instructions.edges_told import LEAST_CUT, can_be_cut
from nesting.order.job import Job
from nesting.packet import packet
from nesting.packet.facts import in_other, run_in_both
from nesting.packet.model import Cautions
from nesting.pieces.piece import Advice
from nesting.planning.planner import Effort, plan
from nesting.units import inches, unit_ticks
from tests.sewing_orders import ORDERS, telling
from tests.test_instructions import text

PAIR = """\
units = "in"
[fabric.face]
[[fabric.face.bolt]]
width = 54
usable = 53
[[window]]
name = "One"
rod = 40
finished_length = 60
"""


def job(more: str) -> Job:
    return read_job_text(PAIR + more)


def amount(words: str) -> Fraction:
    """Ticks of ``5 1/8 yd`` or ``8.40 m``."""
    number, _, unit = words.rpartition(" ")
    return sum(map(Fraction, number.split()), Fraction(0)) * unit_ticks(unit)


def test_both_amounts_are_enough_and_the_second_is_as_much_as_the_first() -> None:
    """1 yd = 0.9144 m exactly (international yard, 1959); whoever buys by either has no less than needed."""
    dice = random.Random(1959)
    for _ in range(3000):
        ticks = dice.randrange(1, 60 * unit_ticks("yd"))
        for unit in ("in", "cm"):
            own, other = (amount(words) for words in run_in_both(ticks, unit).rstrip(")").split(" ("))
            assert ticks <= own <= other, (ticks, unit)
        for sold in ("yd", "m"):
            assert amount(in_other(ticks, sold)) >= ticks


def test_an_eighth_that_is_rounded_up_is_what_the_meters_are_of() -> None:
    # 4 yd + 1 tick: up to 4 1/8 yd = 3.7719 m, so 3.78 m; of 4 yd alone 3.66 m.
    assert run_in_both(4 * unit_ticks("yd") + 1, "in") == "4 1/8 yd (3.78 m)"


@pytest.mark.parametrize("more", ['heading = "clip-ring"', 'heading = "tab-top"\ncount = 3'])
def test_the_terminal_tells_how_good_without_naming_methods(more: str) -> None:
    made = plan(job(more), effort=Effort(work=0.2, workers=1))
    for layout in made.layouts:
        said = proven(layout, "in")
        assert layout.bound.method not in said
        assert re.search(r"no layout of these pieces is shorter|longer than the shortest possible", said)
        assert "re-checked" not in said


def test_a_key_of_the_job_file_stands_apart_from_the_sentence() -> None:
    offer = Advice("offer", 'Linen has no margin: it would add 1 yd (safety = "usual")', fabric="face")
    assert offer.plain == "Linen has no margin: it would add 1 yd"
    assert list(advice_lines([offer])) == [
        'offer: Linen has no margin: it would add 1 yd; in the job file: safety = "usual"'
    ]
    plain = Advice("note", "cut first (see the marker)")
    assert plain.for_file == plain.plain == plain.text


def test_nothing_is_cut_off_that_no_hand_can_cut() -> None:
    """1/16 in goes into the hem, 1/8 in is cut: common practice, no source."""
    assert not can_be_cut(Fraction(inches("1/16")))
    assert can_be_cut(Fraction(inches("1/8")))
    assert unit_ticks("mm") * 3 == LEAST_CUT


@pytest.mark.parametrize("name", ORDERS)
def test_no_step_says_to_cut_less_than_that(name: str) -> None:
    for less in re.findall(r"cut (\d+/\d+) in off", text(name, telling()).lower()):
        assert Fraction(less) >= Fraction(1, 8)


def test_thread_is_reckoned_for_all_that_is_sewn() -> None:
    """Three times hems and seams, and around what goes with them: common practice, no source; by hand."""
    made = job(
        'heading = "clip-ring"\nfullness = 1.5\n[[window.tieback]]\nlength = 20\nwidth = 4\ncount = 2\n'
    )
    cutting = cut(made, {"face": made.fabrics[0].bolts[0]})
    (thread,) = [one for one in cutting.sundries if one.name == "thread"]
    (ties,) = [piece for piece in cutting.pieces if piece.role == "tieback"]
    # Two panels of one width: twice across and twice along each, flat 30 and finished 60 long or what their
    # heading makes of it; each tie-back once around its cut edge.
    panels = sum(2 * panel.flat + 2 * panel.length for panel in cutting.panels)
    assert len(cutting.panels) == 2
    assert thread.length is not None
    assert 0 <= thread.length - 3 * (panels + 2 * 2 * (ties.width + ties.length)) < inches("1/8")
    assert thread.note == "about 3 times the length of hems and seams, and of the edges of tie-backs"


def test_thread_of_tabs_and_facings_is_named() -> None:
    made = job('heading = "tab-top"\n')
    cutting = cut(made, {"face": made.fabrics[0].bolts[0]})
    (thread,) = [one for one in cutting.sundries if one.name == "thread"]
    assert thread.note.endswith("of the edges of facings and tabs")
    around = sum(
        2 * (piece.width + piece.length) * piece.copies
        for piece in cutting.pieces
        if piece.role in ("facing", "tab")
    )
    panels = sum(2 * panel.flat + 2 * panel.length for panel in cutting.panels)
    assert thread.length is not None
    assert 0 <= thread.length - 3 * (panels + around) < inches("1/8")


def test_a_tube_is_told_where_its_upper_edge_comes() -> None:
    told = [
        text(name, telling()) for name in ORDERS if "lay lining and face" in text(name, telling()).lower()
    ]
    assert told
    for words in told:
        assert re.search(
            r"above the lower edge of the panel; its upper edge comes (on|[\d /]+in (below|above)) the", words
        )


def test_cautions_and_offcuts_never_come_last() -> None:
    """What comes last on a sheet is what it is for, so that no page holds only what goes with it."""
    made = packet(
        plan(job('heading = "clip-ring"'), effort=Effort(work=0.2, workers=1)), made=date(2026, 3, 1)
    )
    sheets = [one for one in made.sections if one.title.startswith(("Table sheet", "Window sheet"))]
    assert len(sheets) == 2
    for one in sheets:
        leads = [getattr(block, "lead", "") for block in one.blocks]
        assert not isinstance(one.blocks[-1], Cautions)
        assert leads[-1] != "Offcuts:"
    assert any(getattr(block, "lead", "") == "Offcuts:" for block in sheets[0].blocks)
    assert any(isinstance(block, Cautions) for block in sheets[1].blocks)
