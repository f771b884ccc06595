"""Logs of searches of rows: true ones replay, and nothing changed in them proves a length too long."""

from __future__ import annotations

import base64
import json
import random
import zlib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from nesting.check import check_bound, proof_rows, proof_standing, row_weighing
from nesting.check.proof import proven_length
from nesting.check.proof_cases import GOES_ON, SPENT, TOO_LATE, PricedRule, RowTask, refuted
from nesting.errors import NestingError
from nesting.packing import Bound, Incumbent, Match, Part, Problem, Repeat, Status, Stop, Strip, pack
from nesting.packing.bounds import row_proof
from nesting.packing.bounds.row_proof import written_down
from nesting.packing.certificates import CaseLog, Directions
from nesting.packing.certifying import certified, proof_of
from nesting.packing.kernels import row_cases
from nesting.packing.race import Herald, Race, Stopped
from nesting.packing.reduce import reduce
from nesting.packing.turn import Budget, Goal, Turn
from tests.benchmarks.families import make
from tests.brute_force import optimal_length
from tests.fuzz.proofs import forged, problem_of, proofs_of, trial
from tests.seeds import seeds

#: No weights prove it (area says 10). By hand: 8 lies beside neither 7 nor 6. So of the 7 rows of the six 3
#: go to the seven at best, and the 4 left to one five; the other has room for 2 of its rows beside the eight:
#: 7 + 2 + 2 = 11.
FOUR = Problem((Strip(13),), (Part("8", 8, 2), Part("6", 6, 7), Part("5", 5, 4, 2), Part("7", 7, 3)))


def log_of(problem: Problem, length: int) -> CaseLog | None:
    core = reduce(problem)
    assert core is not None
    turn = Turn(Race(Budget(0, 10.0)), Goal(core), 10.0)
    return written_down(core, length // core.step_y - core.lone_length, turn)


def unpacked(said: CaseLog) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads(zlib.decompress(base64.b85decode(said.cases)))
    return cases


def with_cases(said: CaseLog, cases: list[Any]) -> dict[str, Any]:
    text = json.dumps(cases).encode()
    return dict(said) | {"cases": base64.b85encode(zlib.compress(text)).decode()}


@pytest.mark.parametrize("block", seeds(2, 8))
def test_proofs_replay_and_changed_ones_prove_nothing_false(block: int) -> None:
    """Every proof that is written of a tiny problem proves brute force's optimum, changed ones never more."""
    proofs = tried = 0
    for seed in range(30 * block, 30 * block + 30):
        found, forgeries, wrong = trial(seed)
        assert not wrong, (seed, wrong)
        proofs, tried = proofs + found, tried + forgeries
    # Or the property would speak of nothing.
    assert proofs >= 20
    assert tried >= 200


@pytest.mark.parametrize("seed", seeds(20, 200))
def test_an_optimal_result_with_a_certificate_is_brute_forces(seed: int) -> None:
    problem = problem_of(random.Random(seed))
    result = pack(problem, workers=1, work_limit=0.5)
    if result.status is not Status.OPTIMAL or result.bound.certificate is None:
        return
    said = json.loads(json.dumps(dict(result.bound.certificate)))
    assert proven_length(problem, said) == result.length == optimal_length(problem)
    assert result.bound.checked(problem)


class TestByHand:
    def test_four_kinds(self) -> None:
        assert optimal_length(FOUR) == 11
        said = log_of(FOUR, 10)
        assert said is not None
        assert said.proven(FOUR) == proven_length(FOUR, dict(said)) == 11
        assert log_of(FOUR, 11) is None

    def test_a_longer_length_needs_another_log(self) -> None:
        said = log_of(FOUR, 10)
        assert said is not None
        for more in (1, 2, 100, 2**40):
            assert proven_length(FOUR, dict(said) | {"refuted": said.refuted + more}) == 0
        assert proven_length(FOUR, dict(said) | {"refuted": 10 - 1}) in (0, 10)

    def test_of_what_it_does_not_speak_it_proves_nothing(self) -> None:
        said = log_of(FOUR, 10)
        assert said is not None
        assert proven_length(replace(FOUR, strips=(Strip(14),)), dict(said)) == 0
        assert proven_length(replace(FOUR, strips=(Strip(13, length=50),)), dict(said)) == 0
        turnable = tuple(replace(part, turnable=True) for part in FOUR.parts)
        assert proven_length(replace(FOUR, parts=turnable), dict(said)) == 0

    def test_words_that_are_missing_or_more(self) -> None:
        said = log_of(FOUR, 10)
        assert said is not None
        cases = unpacked(said)
        log = cases[0]["log"]
        assert proven_length(FOUR, with_cases(said, cases)) == 11
        for changed in ([], log[:-1], [*log, GOES_ON], [GOES_ON] * len(log), [TOO_LATE] * len(log)):
            assert changed == log or proven_length(FOUR, with_cases(said, [cases[0] | {"log": changed}])) == 0
        assert proven_length(FOUR, with_cases(said, [])) == 0

    def test_a_case_that_was_not_gone_into_may_not_be_named(self) -> None:
        """Two of 3 x 2 on a strip of 5: one after another, 4 long, so not 3."""
        task = RowTask(5, 3, 1, (2,), (3,), (2,), (0,), ((),), (0,))
        assert refuted(task, (), [TOO_LATE])
        assert not refuted(task, (), [-1])
        # A row more, in which nothing may begin and nothing lies, says the same.
        assert refuted(task, (), [GOES_ON])
        assert not refuted(task, (), [SPENT])
        # Within 4 they have rows, whatever the log says.
        longer = replace(task, longest=4)
        assert not any(refuted(longer, (), log) for log in ([TOO_LATE], [GOES_ON], [-1], []))

    def test_prices_above_the_wait_refute_nothing(self) -> None:
        """Two of 4 x 3 on a strip of 5, under a repeat of 4, both from 0: the second begins at 4, so 7."""
        task = RowTask(5, 7, 4, (2,), (4,), (3,), (0,), ((0,),), (0,))
        none = PricedRule((1,), 1, False, (0,), (0,), 0, 0)
        assert not refuted(task, [none], [GOES_ON])
        # Of 7 rows 6 are used and one is waited for: prices of 1 are all there is to pay, those of 2 lie.
        assert PricedRule((1,), 1, False, (1,), (0,), -1, 0).holds(task)
        assert not PricedRule((1,), 1, False, (2,), (0,), 0, 0).holds(task)
        assert not refuted(task, [replace(none, before=(2,))], [])
        short = replace(task, longest=6)
        assert refuted(short, [replace(none, before=(1,), first=-1)], [])

    @pytest.mark.parametrize("letters", ["", "!!", "0000", 5, None, base64.b85encode(b"x").decode()])
    def test_what_is_no_log_is_no_certificate(self, letters: object) -> None:
        said = log_of(FOUR, 10)
        assert said is not None
        with pytest.raises(NestingError, match="bound_certificate"):
            check_bound(FOUR, Bound(11, "", dict(said) | {"cases": letters}))

    def test_lists_in_lists_without_end_are_refused(self) -> None:
        said = log_of(FOUR, 10)
        assert said is not None
        deep = base64.b85encode(zlib.compress(b"[" * 200_000)).decode()
        with pytest.raises(NestingError, match="bound_certificate"):
            check_bound(FOUR, Bound(11, "", dict(said) | {"cases": deep}))


def test_places_across_are_proved_and_may_not_be_left_out() -> None:
    """Widths of a panel that can never lie side by side, though they are narrow enough together.

    The pattern has two columns of 5 on a strip of 11. One width of 8 lies at 0 to 3, so the phase is 0 to 3,
    and the two of 4 lie at phase + 0 or + 5: beside one another they may be, but beside the 8 neither.
    """
    seam = [Match("room", "panel", x=0, y=0) for _ in range(3)]
    parts = tuple(Part(f"{wide}", wide, 6, match=match) for wide, match in zip((8, 4, 4), seam, strict=True))
    problem = Problem((Strip(11, repeat=Repeat(7, 5)),), (*parts, Part("narrow", 3, 9, 2)))
    optimum = optimal_length(problem)
    assert optimum is not None
    proofs = [said for said in proofs_of(problem, optimum) if said.get("stands")]
    for said in proofs:
        assert proven_length(problem, said) == optimum
        for at in range(len(said["stands"])):
            fewer = said | {"stands": said["stands"][:at] + said["stands"][at + 1 :]}
            assert proven_length(problem, fewer) <= optimum
            narrow = [list(one) for one in said["stands"]]
            narrow[at][2] -= 1
            assert proven_length(problem, said | {"stands": narrow}) <= optimum


def test_each_direction_has_a_certificate_of_its_own() -> None:
    """By hand: 2 x (4 x 7) upright side by side on 9 take 7, turned 8; with a 9 x 2, 9 and 10."""
    parts = (Part("a", 4, 7, 2, turnable=True, arrow="nap"), Part("b", 9, 2))
    problem = Problem((Strip(9),), parts)
    assert optimal_length(problem) == 9
    bound = proof_of(problem, 9, Budget(0, 5.0))
    assert bound is not None
    assert isinstance(bound.certificate, Directions)
    said = json.loads(json.dumps(dict(bound.certificate)))
    assert proven_length(problem, said) == bound.certificate.proven(problem) == 9
    assert proof_of(problem, 10, Budget(0, 5.0)) is None
    assert proven_length(problem, said | {"cases": said["cases"][:1]}) == 0
    assert proven_length(problem, said | {"cases": said["cases"][::-1]}) <= 9
    assert proven_length(problem, said | {"cases": [None, said["cases"][1]]}) == 0
    assert proven_length(problem, said | {"arrows": ["other"]}) == 0
    assert proven_length(problem, {"rule": "directions", "arrows": ["nap"], "cases": [said, said]}) == 0


@pytest.mark.parametrize("name", ["prints/1", "prints/2", "prints/25", "prints/26", "rooms/29"])
def test_optimal_results_of_our_families_are_re_proved(name: str) -> None:
    """Nothing but searches closes these: waits, rows, places across."""
    family, number = name.split("/")
    problem = make(family, int(number)).problem
    result = pack(problem, workers=1, work_limit=10)
    assert result.status is Status.OPTIMAL
    assert result.bound.certificate is not None
    assert "not re-checked" not in result.bound.method
    assert proven_length(problem, dict(result.bound.certificate)) == result.length


def test_without_time_nothing_is_written() -> None:
    problem = make("prints", 25).problem
    result = pack(problem, workers=1, work_limit=10)
    bare = replace(result, bound=Bound(result.bound.length, "rows"))
    assert certified(problem, bare, 0.0).bound == bare.bound
    again = certified(problem, bare, 5.0)
    assert again.bound.certificate is not None
    assert again.statistics[-1].name == "certificate"
    # What is not optimal has no proof to be written down.
    open_yet = replace(bare, bound=Bound(result.bound.length - 1, "rows"))
    assert certified(problem, open_yet, 5.0) == open_yet


def test_words_are_those_of_the_kernel() -> None:
    assert (GOES_ON, TOO_LATE, SPENT) == (row_cases.GOES_ON, row_cases.TOO_LATE, row_cases.SPENT)


def test_forging_changes_something() -> None:
    """Or the trials above would put the same to the check."""
    said = log_of(FOUR, 10)
    assert said is not None
    whole = json.loads(json.dumps(dict(said)))
    changed = [forged(random.Random(seed), whole) for seed in range(40)]
    assert sum(one != whole for one in changed) > 20


def test_an_end_may_be_asked_for_while_a_proof_is_looked_for() -> None:
    """The layout is kept, and the bound as it was."""
    problem = make("prints", 25).problem
    result = pack(problem, workers=1, work_limit=10)
    bare = replace(result, bound=Bound(result.bound.length, "rows"))
    told = list[Incumbent]()

    def ask(incumbent: Incumbent) -> bool:
        told.append(incumbent)
        return False

    # Asked at once: the observer has heard nothing for more than a tenth of a second.
    def late(self: Herald, now: Callable[[], Incumbent]) -> None:
        if self._observer is not None and self._observer(now()) is False:
            raise Stopped

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Herald, "breathe", late)
        ended = certified(problem, bare, 5.0, observer=ask)
    assert ended.stop is Stop.INTERRUPTED
    assert (ended.bound, ended.placements) == (bare.bound, bare.placements)
    assert [(one.length, one.bound) for one in told] == [(result.length, result.length)]

    def pressed(*_: object, **__: object) -> Bound:
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("nesting.packing.certifying.proof_of", pressed)
        ended = certified(problem, bare, 5.0)
    assert (ended.stop, ended.bound) == (Stop.INTERRUPTED, bare.bound)


def test_nothing_is_written_that_the_check_would_not_go_through() -> None:
    assert row_proof.RANGES <= proof_rows.MOST_RANGES
    assert row_proof.STEPS <= row_weighing.MOST_PLACES
    assert row_proof.COLUMNS <= proof_standing.MOST_STEPS
