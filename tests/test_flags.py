"""The measurement of CP-SAT's flags: every setting answers the same question, and none of them wrongly."""

from __future__ import annotations

import pytest

from nesting.packing import Part, Problem, Strip
from nesting.packing.models.solver import BOOLEANS, STRONG
from tests.benchmarks.flags import asked_of, main, settings
from tests.benchmarks.instances import Instance
from tests.brute_force import optimal_length

# Nine bars, two in a row, so the linear bound says 5; in one piece two share their rows and the third waits.
PROBLEM = Problem((Strip(6),), (Part("a", 3, 3, copies=3), Part("b", 1, 1)))


def test_every_flag_alone_none_and_all_are_compared() -> None:
    names = [name for name, _ in settings()]
    assert names == ["none", *STRONG, *BOOLEANS, "all"]
    assert dict(settings())["all"] == STRONG | BOOLEANS


@pytest.mark.parametrize(("name", "flags"), settings())
def test_with_any_flags_the_answer_is_the_optimum(name: str, flags: dict[str, bool | int]) -> None:
    question = asked_of(Instance("own", "one", PROBLEM))
    assert question is not None, name
    optimum = optimal_length(PROBLEM)
    assert question.core.ticks(question.least) < optimum
    length, bound, took = question.answer(flags, 20.0, 1)
    assert question.core.ticks(length) == question.core.ticks(bound) == optimum
    assert took > 0


def test_nothing_named_is_an_error(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no-such-set"]) == 2
    assert capsys.readouterr().out == ""
