"""What the project asks of others: bounds that can be tested, and the set it was tested with."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
#: One lower bound each: `.ci/lowest` installs just that.
BOUND = re.compile(r"([\w.-]+)>=([\d.]+)")


def version(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in text.split(".") if part.isdigit())


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


TESTED = {
    plain(name): version(said)
    for name, said in re.findall(
        r"^([\w.-]+)==(.+)$", (ROOT / ".ci" / "constraints.txt").read_text("utf-8"), re.MULTILINE
    )
}


@pytest.mark.parametrize("said", PROJECT["dependencies"])
def test_each_dependency_has_a_lower_bound_and_was_tested(said: str) -> None:
    bound = BOUND.fullmatch(said)
    assert bound is not None, f"{said}: write NAME>=VERSION, so that .ci/lowest can install just that"
    assert TESTED[plain(bound[1])] >= version(bound[2])


def test_the_tools_of_the_tests_were_tested_too() -> None:
    for said in PROJECT["optional-dependencies"]["dev"]:
        name = re.split(r"[><=;]", said)[0]
        assert plain(name) in TESTED, f"{name} is missing in .ci/constraints.txt"
