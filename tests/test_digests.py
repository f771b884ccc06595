"""The same job, seed and work give the same layout to the tick, on every Python."""

from __future__ import annotations

import json
import warnings

import pytest

from tests.digests import FILE, PROBLEMS, digest, solver
from tests.seeds import some

KNOWN = json.loads(FILE.read_text(encoding="utf-8"))


def test_every_problem_is_known_by_its_digest() -> None:
    assert sorted(KNOWN["layouts"]) == sorted(PROBLEMS)
    assert len(set(KNOWN["layouts"].values())) == len(PROBLEMS)


@pytest.mark.parametrize("name", some(PROBLEMS, 2))
def test_a_layout_is_the_same_everywhere(name: str) -> None:
    found = digest(name)
    if found != KNOWN["layouts"][name] and solver() != KNOWN["ortools"]:
        # What can be compared with another solver: the same search again gives the same layout.
        warnings.warn(
            f"{name}: not compared with tests/digests.json, which is of ortools {KNOWN['ortools']}; here is "
            f"{solver()}, and the search was done twice instead",
            stacklevel=1,
        )
        assert digest(name) == found
        return
    assert found == KNOWN["layouts"][name], (
        "another layout than on the machine of tests/digests.json: if the engine was changed to find others, "
        "write the file anew with `python -m tests.digests`"
    )


def test_another_seed_gives_another_digest() -> None:
    """Or the digest would not tell layouts apart; a job that is not proven so soon, so that seeds differ.

    prints/29 was asked before: its window 4 is trimmed at the seam now, and both seeds end at one layout.
    """
    assert digest("rooms/48", seed=4) != KNOWN["layouts"]["rooms/48"]
