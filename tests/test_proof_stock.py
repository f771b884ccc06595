"""Proofs of the stages of lengths on hand: each replayed by the check alone, in whole numbers."""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from nesting.check.proof_stock import proven_stage, proven_stages
from nesting.packing import Aim, Choice, Flaw, Match, Part, Problem, Repeat, Status, Strip, pack
from nesting.packing.on_hand.relaxation import Relaxation, slabs
from nesting.packing.on_hand.stock_cases import stage_proof
from nesting.packing.on_hand.stock_core import stock_of
from nesting.packing.turn import Budget
from tests.fuzz.stages import trial
from tests.seeds import some
from tests.stock_instances import remnants, tiny_stock


def least(name: str, value: int, certificate: dict[str, Any] | None = None) -> Aim:
    return Aim(name, value, value, certificate=certificate)


def most(name: str, value: int) -> Aim:
    return Aim(name, value, value, most=True)


def written(problem: Problem, stages: Sequence[Aim]) -> dict[str, Any] | None:
    said = stage_proof(problem, stages, Budget(0, 3.0))
    return None if said is None else json.loads(json.dumps(said))


def replays(problem: Problem, stages: Sequence[Aim], said: dict[str, Any] | None) -> bool:
    return proven_stage(problem, [*stages[:-1], replace(stages[-1], certificate=said)])


def better_by(step: int, stages: Sequence[Aim]) -> list[Aim]:
    """The same with a bound of the last stage that says so much more."""
    last = stages[-1]
    return [*stages[:-1], replace(last, bound=last.bound - step if last.most else last.bound + step)]


#: What is asked of each problem, worked out by hand; strips are 50 wide.
TWO_PANELS = Problem((Strip(50, 100), Strip(50, 55), Strip(50, 42)), (Part("a", 50, 50), Part("b", 50, 40)))
#: Three rows of 20 in a strip of 50, of parts 30 wide: two never lie side by side.
WIDE = Problem((Strip(50, 70),), (Part("a", 30, 20, copies=3),))
#: Full-width flaw from 40 to 45: 50 lies behind it, 95 are cut into.
SPOILED = Problem((Strip(50, 100, flaws=(Flaw(0, 40, 50, 5),)),), (Part("a", 50, 50), Part("b", 50, 40)))
#: A pair must be of one lot, which has no room for it on hand: it is bought.
LOTS = Problem(
    (Strip(50, 60, lot="A"), Strip(50, lot="new")),
    (Part("pair", 50, 50, copies=2, lot="east"), Part("single", 50, 50, lot="west")),
)
#: East's pair is worth more, but only west's can be laid whole.
BUNDLES = Problem(
    (Strip(50, 50), Strip(50, 45), Strip(50, 45)),
    (
        Part("east", 50, 50, copies=2, value=3, bundle="east", lot="east"),
        Part("west", 50, 40, copies=2, value=2, bundle="west", lot="west"),
    ),
)
#: The pattern begins at the squared end: a part whose place is 7 begins there, and ends at 17.
PRINTED = Problem(
    (Strip(50, 40, repeat=Repeat(12), start=0),), (Part("a", 30, 10, match=Match("room", None, 0, 7)),)
)
#: Upright, as b must lie: no row has both a and b, so of 40 rows b's 20 leave the two a no 20 in common.
UPRIGHT = Problem(
    (Strip(60, 60),), (Part("a", 20, 30, 2, turnable=True, arrow="up"), Part("b", 30, 20, arrow="up"))
)
#: 25 rows in one piece meet a flaw, beside which 30 are left, so a goes on the other length, and b beside it.
SPOTTED = Problem(
    (Strip(50, 60, flaws=(Flaw(0, 20, 20, 10), Flaw(30, 40, 20, 10))), Strip(50, 90)),
    (Part("a", 35, 25), Part("b", 15, 15)),
)
#: One plan is a panel of 30, the other of 40.
CHOSEN = Problem(
    (Strip(50, 60), Strip(50)), (Part("a", 50, 30), Part("b", 50, 40)), (Choice("seams", ((0,), (1,))),)
)
BY_HAND = {
    "two panels": (TWO_PANELS, (least("fabric started", 97), least("cut into", 90))),
    "wide": (WIDE, (least("fabric started", 70), least("cut into", 60))),
    "spoiled": (SPOILED, (least("fabric started", 100), least("cut into", 95))),
    "lots": (LOTS, (least("to buy", 100), least("fabric started", 60), least("cut into", 50))),
    "bundles": (BUNDLES, (most("value", 4), least("fabric started", 90), least("cut into", 80))),
    "printed": (PRINTED, (least("fabric started", 40), least("cut into", 17))),
    "upright": (UPRIGHT, (least("fabric started", 60), least("cut into", 50))),
    "spotted": (SPOTTED, (least("fabric started", 90), least("cut into", 25))),
    "chosen": (CHOSEN, (least("to buy", 0), least("fabric started", 60), least("cut into", 30))),
}


@pytest.mark.parametrize("name", BY_HAND)
def test_every_stage_worked_out_by_hand_is_proved_again(name: str) -> None:
    problem, stages = BY_HAND[name]
    for at in range(len(stages)):
        said = written(problem, stages[: at + 1])
        assert said is not None, stages[at].name
        assert replays(problem, stages[: at + 1], said)


@pytest.mark.parametrize("name", BY_HAND)
def test_nothing_is_proved_of_what_is_not_so(name: str) -> None:
    """No proof of a bound beyond the best is written, and one that is true proves none."""
    problem, stages = BY_HAND[name]
    for at in range(len(stages)):
        mine = stages[: at + 1]
        said, beyond = written(problem, mine), better_by(1, mine)
        assert written(problem, beyond) is None
        assert not replays(problem, beyond, said)


def test_what_is_packed_is_proved_again() -> None:
    """Panels of 30 by 20 on 50: each has its rows to itself."""
    result = pack(WIDE, workers=1, work_limit=5)
    assert result.status is Status.OPTIMAL
    assert [stage.value for stage in result.stages] == [70, 60]
    assert proven_stages(WIDE, result.stages) == (True, True)
    assert all("CP-SAT" not in stage.method for stage in result.stages)


@pytest.mark.parametrize("seed", [12, 18, 23])
def test_a_document_gives_a_proof_back_as_it_was(seed: int) -> None:
    result = pack(tiny_stock(random.Random(seed)), workers=1, work_limit=10)
    told = [dict(stage.certificate) for stage in result.stages if stage.certificate is not None]
    assert told
    assert json.loads(json.dumps(told)) == told


@pytest.mark.parametrize("seed", [1])
def test_forged_proofs_prove_nothing(seed: int) -> None:
    """Against every layout there is: `tests.fuzz.stages`."""
    _, tried, wrong = trial(seed)
    assert tried > 20
    assert not wrong


@pytest.mark.nightly
@pytest.mark.parametrize("block", some(range(40), 1, 7))
def test_more_forged_proofs_prove_nothing(block: int) -> None:
    for seed in range(1000 + 3 * block, 1003 + 3 * block):
        assert not trial(seed)[2], seed


@cache
def said_of_wide() -> dict[str, Any]:
    said = written(WIDE, BY_HAND["wide"][1])
    assert said is not None
    return said


class TestPremises:
    """Of what it does not understand nothing is proved."""

    def test_stages_out_of_their_order_or_of_another_name(self) -> None:
        started, cut = BY_HAND["wide"][1]
        said = said_of_wide()
        assert replays(WIDE, (started, cut), said)
        assert not replays(WIDE, (cut, started), said)
        assert not replays(WIDE, (started, replace(cut, name="waste")), said)
        assert not replays(WIDE, (started, replace(cut, most=True)), said)
        assert not proven_stage(WIDE, (least("cut into", 0), least("fabric started", 0)))

    def test_an_open_strip_of_which_nothing_is_held(self) -> None:
        """How long it may be is not known then."""
        assert not proven_stage(LOTS, (least("fabric started", 0),))
        assert proven_stage(LOTS, (least("to buy", 0),))

    def test_two_open_strips(self) -> None:
        two = replace(LOTS, strips=(*LOTS.strips, Strip(50)))
        assert not proven_stage(two, (least("to buy", 0),))

    def test_a_part_of_two_choices(self) -> None:
        both = replace(CHOSEN, choices=(*CHOSEN.choices, Choice("again", ((0,), ()))))
        assert not proven_stage(both, (least("to buy", 0),))

    @pytest.mark.parametrize(
        "cases",
        [
            None, 3, [], [None], [{}], [{"sums": [[["better"], 1.0]]}], [{"sums": [[["better"], True]]}],
            [{"sums": [[["nothing of the kind"], 1]]}], [{"sums": [["better", 1]]}], [{"filled": 0}],
            [{"sums": [[["area", 0], -1]]}], [{"sums": [[["one", 9], 1]]}], [{"sums": [[["laid", -1], 1]]}],
            [{"sums": [[["area", True], 1]]}], [{"sums": [[["weighed", 0], 1]]}],
            [{"of": ["end", 7], "most": 1}],
        ],
    )  # fmt: skip
    def test_what_is_no_certificate(self, cases: Any) -> None:
        assert not replays(WIDE, BY_HAND["wide"][1], {"rule": "stock cases", "cases": cases})

    def test_cases_that_are_missing_or_too_many(self) -> None:
        said = said_of_wide()
        assert not replays(WIDE, BY_HAND["wide"][1], said | {"cases": said["cases"][:-1]})
        assert not replays(WIDE, BY_HAND["wide"][1], said | {"cases": [*said["cases"], {"sums": []}]})
        assert not replays(WIDE, BY_HAND["wide"][1], said | {"rule": "row weights"})


def test_the_check_has_the_sums_of_the_engine() -> None:
    """Each by its own code: the same unknowns, and the same rows by their names."""
    from nesting.check.stock_sums import StockSums

    for seed in range(12):
        problem = remnants(random.Random(seed))
        names = ["to buy"] if any(strip.length is None for strip in problem.strips) else []
        stages = [Aim(name, 40, 40) for name in [*names, "fabric started", "cut into"]]
        ours, theirs = Relaxation(problem, stock_of(problem), stages), StockSums(problem, stages)
        assert dict(zip(ours.names, ours.limits, strict=True)) == theirs.box
        limits = dict(theirs.box)
        for row in ours.sums:
            if row.key[0] != "weighed":
                found = theirs.row(row.key, limits)
                mine = {ours.names[at]: weight for at, weight in row.weights.items() if weight}
                assert (mine, ours.most(row, ours.limits), row.exact) == (
                    found.weights,
                    found.most,
                    found.exact,
                )


def test_flaws_over_one_another_are_counted_once() -> None:
    """4 by 4 and 4 by 4, 2 by 2 of them in common: 28 in all."""
    strip = Strip(10, 10, flaws=(Flaw(0, 0, 4, 4), Flaw(2, 2, 4, 4)))
    problem = Problem((strip,), (Part("a", 1, 1),))
    stock = stock_of(problem)
    found = slabs(strip, stock.berths[0], stock)
    assert sum(flaw.width * flaw.length for flaw in found) == 28


def test_a_thousand_lengths_are_not_gone_through() -> None:
    """A proof is no reason to wait: of so many nothing is looked for, and nothing believed."""
    problem = Problem((Strip(50, 100),) * 1300, tuple(Part(f"p{at}", 40, 30 + at) for at in range(20)))
    budget = Budget(0, 10.0)
    assert stage_proof(problem, [least("fabric started", 2000)], budget) is None
    assert budget.spent == 0
    assert not proven_stage(problem, [least("fabric started", 0)])
