"""What is remembered of a job is what would be worked out anew: no sum shown is one of another job."""

from __future__ import annotations

import copy
import functools
import gc
import random
from collections.abc import Callable
from typing import Any

import pytest

from nesting.cutting import made_window
from nesting.files import job_table
from nesting.web.workings import sums_of
from tests.seeds import seeds

JOB = """\
title = "Four windows"
units = "in"
currency = "$"

[fabric.face]
name = "Linen"

[[fabric.face.bolt]]
width = 54
price = 20

[fabric.lining]

[[fabric.lining.bolt]]
width = 48

[[window]]
name = "One"
rod = 60
finished_length = 84

[[window]]
name = "Two"
rod = 72.5
finished_length = 90
heading = "pinch-pleat"
lining = "lining"

[[window]]
name = "Three"
rod = 41
finished_length = 63
heading = "grommet"
draw = "left"

[[window]]
name = "Four"
rod = 100
finished_length = 95
heading = "tab-top"
room = "Hall"
"""
Table = dict[str, Any]


def _a_size(table: Table, chance: random.Random) -> None:
    key, least = chance.choice([("rod", 20), ("finished_length", 40)])
    chance.choice(table["window"])[key] = least + chance.randrange(0, 640) / 8


def _a_choice(table: Table, chance: random.Random) -> None:
    key, values = chance.choice([
        ("heading", ["back-tab", "clip-ring", "grommet", "pencil-pleat", "pinch-pleat", "rod-pocket"]),
        ("draw", ["pair", "left", "right"]),
        ("fullness", [1.5, 1.75, 2, 2.5]),
        ("widths", ["exact", "half", "whole"]),
        ("lining", ["lining"]),
        ("count", [1, 2]),
        ("railroad", ["auto", "no", "yes"]),
        ("rod_diameter", [0.75, 1, 6]),
        ("room", ["Hall", "Study"]),
        ("facing", [{"fabric": "lining"}, {"depth": 4}]),
        ("name", ["One", "Five", "Six"]),
    ])  # fmt: skip
    chance.choice(table["window"])[key] = chance.choice(values)


def _a_fabric(table: Table, chance: random.Random) -> None:
    fabric = table["fabric"][chance.choice(["face", "lining"])]
    key, values = chance.choice([
        ("name", ["Linen", "Velvet"]),
        ("nap", ["one-way", "none"]),
        ("weight", ["sheer", "medium", "heavy"]),
        ("repeat", [{"length": 25.25, "width": 27}, {"length": 12.5, "width": 27, "drop": 0.5}]),
        ("shrinkage", [{"length": 3, "width": 2}]),
    ])  # fmt: skip
    fabric[key] = chance.choice(values)


def _a_bolt(table: Table, chance: random.Random) -> None:
    bolt = table["fabric"][chance.choice(["face", "lining"])]["bolt"][0]
    key, values = chance.choice([
        ("width", [36, 45, 54, 54.5, 60, 110]), ("price", [10, 20.5]), ("usable", [44, 53])
    ])  # fmt: skip
    bolt[key] = chance.choice(values)


def _a_row(table: Table, chance: random.Random) -> None:
    rows = table["window"]
    if chance.random() < 0.5 and len(rows) > 2:
        rows.pop(chance.randrange(len(rows)))
    elif len(rows) < 6:
        rows.insert(chance.randrange(len(rows)), copy.deepcopy(rows[-1]) | {"name": f"Window {len(rows)}"})
    chance.shuffle(rows)


def _back(table: Table, chance: random.Random) -> None:
    """What was typed is taken away again."""
    row = chance.choice([*table["window"], *table["fabric"].values()])
    for key in ("fullness", "repeat", "lining", "railroad", "rod_diameter", "widths", "shrinkage", "facing"):
        row.pop(key, None)


CHANGES: list[Callable[[Table, random.Random], None]] = [
    _a_size, _a_size, _a_choice, _a_choice, _a_fabric, _a_bolt, _a_row, _back,
]  # fmt: skip


def _forget() -> None:
    """Everything that any function remembers."""
    for each in gc.get_objects():
        if isinstance(each, functools._lru_cache_wrapper):
            each.cache_clear()


@pytest.mark.parametrize("seed", seeds(1, 6))
def test_sums_after_many_changes_are_those_of_a_fresh_start(seed: int) -> None:
    chance, sound = random.Random(seed), job_table(JOB)
    tables, told = [sound], [sums_of(sound)]
    for _ in range(12):
        table = copy.deepcopy(sound)
        chance.choice(CHANGES)(table, chance)
        tables.append(table)
        told.append(sums_of(table))
        # What cannot be made is typed back.
        sound = table if told[-1]["count"] else sound
    assert made_window.plain_window.cache_info().hits > 0, "nothing was remembered"  # type: ignore[attr-defined]
    assert sum(1 for answer in told if answer["count"]) > 3, "hardly a job was sound"
    for one, said in zip(tables, told, strict=True):
        _forget()
        assert sums_of(one) == said
