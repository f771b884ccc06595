"""Two verdicts of a plan: its layouts keep every rule; its lengths are re-proved, or only said to be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from nesting.check import Breach, check_bound, check_plan_document
from nesting.check.proof import proven_length
from nesting.check.verdict import Proof, verdicts
from nesting.commands.proofs import proof_lines
from nesting.errors import NestingError
from nesting.files import plan_document as made_document
from nesting.files import read_job_text
from nesting.packing import Bound, Choice, Part, Problem, Strip, pack
from nesting.planning.planner import Effort, plan
from tests.fuzz import certificates
from tests.seeds import seeds
from tests.test_check import plan_document

ROWS = "row weights"
#: Two of 3 x 1000 side by side on a strip of 6, and three of 6 x 1 that lie alone: 1003.
WIDE = Problem((Strip(6),), (Part("a", 3, 1000, copies=2), Part("b", 6, 1, copies=3)))


def rows(*entries: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"rule": ROWS, "weights": list(entries), "lone": [], **more}


def test_negative_copies_and_weights_that_overflow_prove_nothing() -> None:
    """By hand: the least is 1003. With -3 copies of b at 2**61 the weights seemed to stay below 2**62, and
    two of 2**62 side by side came out as one: 2 x 1000 x 2**62 - 3 x 2**61 over 2**62 is 1999 rows."""
    forged = rows({"part": 0, "upright": 2**62}, {"part": 1, "upright": 2**61, "copies": -3})
    assert proven_length(WIDE, forged) == 0
    assert [one.kind for one in check_bound(WIDE, Bound(1999, "area", forged))] == [Breach.BOUND]


A = {"part": 0, "upright": 3}
HONEST = rows(A, {"part": 1, "upright": 6})


@pytest.mark.parametrize(
    "forged",
    [
        rows(A, {"part": 1, "upright": 6, "copies": 4}),
        rows(A, {"part": 1, "upright": 6, "copies": 0}),
        rows({"part": 0, "upright": -3}),
        rows({"part": 0, "upright": 2**70}),
        rows({"part": 0, "upright": 3, "turned_along": -1}),
        rows(A, A),
        rows({"part": 2, "upright": 3}),
        rows({"part": -1, "upright": 3}),
        rows(A, lone=[-1]),
        rows(A, lone=[2]),
        rows(A, refuted=-1),
        rows(A, longest=2**70),
    ],
)
def test_numbers_out_of_their_range_prove_nothing(forged: dict[str, Any]) -> None:
    # (2 x 3 x 1000 + 3 x 6 x 1) / 6 = 1003.
    assert proven_length(WIDE, HONEST) == 1003
    assert proven_length(WIDE, forged) == 0


@pytest.mark.parametrize(
    "forged",
    [
        rows({"part": 0, "upright": 3.5}),
        rows({"part": 0, "upright": "3"}),
        rows({"part": True, "upright": 3}),
        rows({"part": 0, "upright": 3, "copies": 1.0}),
        rows({"upright": 3}),
        rows(3),  # type: ignore[arg-type]
        {"rule": ROWS, "weights": 5},
        {"rule": "column weights", "weights": [], "refuted": None},
    ],
)
def test_what_is_no_whole_number_is_no_certificate(forged: dict[str, Any]) -> None:
    with pytest.raises(NestingError, match="no weights of parts"):
        check_bound(WIDE, Bound(1, "area", forged), "layouts[0]")


@pytest.mark.parametrize(
    "beyond",
    [
        Problem((Strip(6, 2000),), WIDE.parts),
        Problem((Strip(6), Strip(6, 2000)), WIDE.parts),
        Problem((Strip(6),), (Part("a", 3, 1000, copies=2, value=1), WIDE.parts[1])),
        Problem((Strip(6),), WIDE.parts, (Choice("seams", ((0,), (1,))),)),
    ],
)
def test_beyond_one_open_strip_with_all_its_parts_nothing_is_proved(beyond: Problem) -> None:
    assert proven_length(beyond, HONEST) == 0


def test_weights_of_bands_speak_of_bands_only() -> None:
    # A piece a weighs 500 and b 1, 1003 in all; a band of 1000 holds 1000, no band more than its length.
    weights = [{"part": 0, "upright": 500}, {"part": 1, "upright": 1}]
    said = {"rule": "band weights", "weights": weights, "lone": [], "longest": 1003}
    assert proven_length(WIDE, said, across=True) == 1003
    assert proven_length(WIDE, said) == 0


def test_a_way_longer_than_what_is_proved_needs_no_weight() -> None:
    # Two parts 9 x 1 fill a strip of 9: at least 2. Turned they are 9 long, which no layout up to 5 holds.
    problem = Problem((Strip(9),), (Part("a", 9, 1, copies=2, turnable=True),))
    said = {"rule": "band weights", "weights": [{"part": 0, "upright": 1}], "lone": [], "longest": 5}
    assert proven_length(problem, said, across=True) == 2
    # Up to 9 such a way is possible, and then weighs nothing.
    assert proven_length(problem, said | {"longest": 9}, across=True) == 1


@pytest.mark.parametrize("block", seeds(1, 8))
def test_no_forged_certificate_is_accepted(block: int) -> None:
    """``python -m tests.fuzz certificates`` tries as many as asked."""
    tried, accepted = certificates.run(12, 12 * block)
    assert tried >= 6
    assert accepted == []


class TestLabels:
    """What nothing replays says so."""

    def test_of_a_bound(self) -> None:
        assert Bound(7, "area").method == "area, not re-checked"
        assert Bound(7, "rows, not re-checked").method == "rows, not re-checked"
        assert Bound(7, "area", HONEST).method == "area"
        assert Bound(0, "nothing is shorter than nothing").method == "nothing is shorter than nothing"

    def test_rows_of_their_own_replay(self) -> None:
        problem = Problem((Strip(10),), (Part("a", 10, 3), Part("b", 9, 4)))
        bound = pack(problem, workers=1, work_limit=0.1).bound
        assert (bound.length, bound.method) == (7, "rows of their own")
        assert bound.certificate is not None
        assert check_bound(problem, bound) == ()

    def test_over_all_choices_a_proof_speaks_of_all_of_them(self) -> None:
        # Either is 3 long over the whole width, and the 2 of the third come on top.
        parts = (Part("a", 10, 3), Part("b", 5, 3, copies=2), Part("c", 4, 2))
        problem = Problem((Strip(10),), parts, (Choice("seams", ((0,), (1,))),))
        bound = pack(problem, workers=1, work_limit=0.2).bound
        assert bound.length == 5
        assert check_bound(problem, bound) == ()
        assert bound.rests_on == "re-proved from its certificate"
        # Of other options, or of a longer length, it is none.
        wide = replace(problem, choices=(Choice("seams", ((0,), (2,))),), parts=(*parts[:2], Part("c", 4, 1)))
        assert check_bound(wide, bound)
        assert check_bound(problem, replace(bound, length=6))

    def test_directions_tried_one_by_one_do_not_replay(self) -> None:
        parts = (Part("a", 4, 3, turnable=True, arrow="g"), Part("b", 5, 3, turnable=True, arrow="g"))
        bound = pack(Problem((Strip(6),), parts), workers=1, work_limit=0.2).bound
        assert bound.certificate is not None or "not re-checked" in bound.method


def certified() -> dict[str, Any]:
    """A lining of two widths side by side, 30 in long: half the width or more each, so 30 in are needed."""
    document = plan_document()
    layout = document["layouts"][1]
    layout["lower_bound"], layout["status"] = 30.0, "optimal"
    layout["bound_certificate"] = {"rule": ROWS, "weights": [{"part": 0, "upright": 1, "copies": 1}]}
    return document


def proofs(document: dict[str, Any]) -> dict[str, Proof]:
    assert check_plan_document(document) == ()
    return {verdict.of: verdict.proof for verdict in verdicts(document)}


def test_a_length_is_confirmed_where_its_certificate_replays_and_nowhere_else() -> None:
    document = certified()
    # The face says "area" and has no certificate; what it says of itself confirms nothing.
    assert proofs(document) == {"face": Proof.SEARCHED, "lining": Proof.REPLAYED}
    document["layouts"][0]["bound_method"] = "subset relaxation of 3 of 4 parts by CP-SAT, not re-checked"
    assert proofs(document)["face"] is Proof.SAID
    document["layouts"][0] |= {"lower_bound": 0.0, "status": "feasible"}
    assert proofs(document)["face"] is Proof.NONE


def _on_hand(document: dict[str, Any]) -> None:
    document["layouts"][1] |= {"on_hand": "remnant", "on_hand_length": 40.0, "buy": None}


def _left_out(document: dict[str, Any]) -> None:
    document["left_out"] = [{"piece": "lining", "copies": 1}]
    del document["layouts"][1]["placements"][1]


def _print_not_stated(document: dict[str, Any]) -> None:
    certificate = {"rule": ROWS, "weights": [{"part": 0, "upright": 1, "copies": 1}]}
    document["layouts"][0] |= {"repeat": None, "bound_certificate": certificate}


@pytest.mark.parametrize("beyond", [_on_hand, _left_out, _print_not_stated])
def test_a_certificate_beyond_its_premises_is_refused(beyond: Callable[[dict[str, Any]], object]) -> None:
    document = certified()
    beyond(document)
    assert Breach.BOUND in {broken.kind for broken in check_plan_document(document)}


def test_matched_pieces_need_the_print_they_match() -> None:
    document = plan_document()
    document["layouts"][0]["repeat"] = None
    assert {broken.kind for broken in check_plan_document(document)} == {Breach.PHASE_ALONG}


JOINED = """
units = "in"
[fabric.face]
nap = "two-way"
[[fabric.face.bolt]]
width = 54
usable = 53
[[window]]
rod = 52
finished_length = 24
heading = "clip-ring"
rod_diameter = 1
fullness = 3
widths = "whole"
"""


def test_joined_widths_stand_and_their_bound_replays() -> None:
    """Four widths of 53, the whole fabric, 36 long: each alone in its rows, 144, since joined widths are
    never turned. The check took them for free to turn, and refused such plans of the program's own."""
    made = made_document(plan(read_job_text(JOINED), effort=Effort(work=0.3, workers=1)))
    (layout,) = made["layouts"]
    assert layout["length"] == layout["lower_bound"] == 144
    layout["bound_certificate"] = {"rule": ROWS, "weights": [], "lone": [0, 1, 2, 3]}
    assert check_plan_document(made) == ()
    # A joined width that lies turned breaks a rule, whatever else is right.
    at = next(at for at in layout["placements"] if at["piece"].endswith("/2"))
    at |= {"turn": 90, "arrow": "left", "width": at["length"], "length": at["width"]}
    assert "the widths that it is joined to" in {broken.other for broken in check_plan_document(made)}


def test_each_verdict_is_told_in_a_line() -> None:
    document = certified()
    face, lining = proof_lines(document)
    assert face == (
        "face: 36 in, and the plan says that less is not possible: proved by our search, not re-proved here"
    )
    assert lining == "lining: 30 in is the best possible: re-proved here from its certificate"
    document["layouts"][1] |= {"lower_bound": 29.5, "status": "feasible"}
    assert list(proof_lines(document))[1] == (
        "lining: 30 in, and no less than 29 1/2 in is possible: re-proved here from its certificate"
    )
    document["layouts"][0] |= {"lower_bound": 0.0, "status": "feasible"}
    assert next(proof_lines(document)) == "face: 36 in; nothing proved"
