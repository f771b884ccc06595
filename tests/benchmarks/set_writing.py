"""The text of a file of the set, one instance a line."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Mapping
from typing import Any

from nesting.errors import ProblemError
from nesting.packing import Part, Strip
from tests.benchmarks.set_entries import FORM, TICK, Claim, Entry, Family, Known, Run

#: Layouts and certificates longer than this, in letters, are kept compressed; certificates longer than the
#: second number even so are left out.
PLAIN, MOST = 3_000, 40_000


def written(family: Family) -> str:
    """The text of its file; `parsed` gives the same family again."""
    across = {entry.across for entry in family.entries}
    if len(across) > 1:
        raise ProblemError(f"{family.name}: cut across first and free: give each a family of its own")
    head = {
        "form": FORM,
        "family": family.name,
        "tick": TICK,
        "about": family.about,
        "cut": "across-first" if across == {True} else "free",
    }
    lines = ",\n".join(_dense(_told(entry)) for entry in family.entries)
    opened = ",\n".join(f'"{key}": {_dense(value)}' for key, value in head.items())
    return f'{{{opened},\n"instances": [\n{lines}\n]}}\n'


def _dense(value: object) -> str:
    return json.dumps(value, separators=(",", ":"), ensure_ascii=False)


def packed(value: object) -> object:
    """As it is, or where it is long as zlib packs it, written in base85."""
    text = _dense(value)
    if len(text) <= PLAIN:
        return value
    return base64.b85encode(zlib.compress(text.encode(), 9)).decode("ascii")


def _told(entry: Entry) -> dict[str, Any]:
    found: dict[str, Any] = {
        "name": entry.name,
        "windows": entry.windows,
        "sold_by": entry.sold_by,
        "measured_in": entry.unit,
        "rule_of_thumb": entry.thumb,
        "strips": [_told_strip(strip) for strip in entry.problem.strips],
        "parts": [_told_part(part) for part in entry.problem.parts],
        "choices": [choice.options for choice in entry.problem.choices] or None,
        "known": None if entry.known is None else _told_known(entry.known, len(entry.problem.parts)),
        "bounds": [_told_claim(claim) for claim in entry.bounds] or None,
        "runs": [_told_run(run) for run in entry.runs] or None,
    }
    return _said(found)


def _said(form: Mapping[str, Any]) -> dict[str, Any]:
    """Without what is not said."""
    return {key: value for key, value in form.items() if value is not None}


def _number(group: str | None) -> int | None:
    return None if group is None else int(group)


def _told_strip(strip: Strip) -> dict[str, Any]:
    repeat = strip.repeat
    drop = [repeat.drop.numerator, repeat.drop.denominator] if repeat is not None and repeat.drop else None
    return _said({
        "width": strip.width,
        "length": strip.length,
        "repeat": None
        if repeat is None
        else _said({"length": repeat.length, "width": repeat.width, "drop": drop}),
        "flaws": [[flaw.x, flaw.y, flaw.width, flaw.length] for flaw in strip.flaws] or None,
        "lot": _number(strip.lot),
        "start": strip.start,
    })  # fmt: skip


def _told_part(part: Part) -> dict[str, Any]:
    match = part.match
    return _said({
        "width": part.width,
        "length": part.length,
        "copies": part.copies if part.copies > 1 else None,
        "turnable": part.turnable or None,
        "level": None if match is None else _number(match.level),
        "seam": None if match is None else _number(match.seam),
        "place": None if match is None else [match.x, match.y],
        "arrow": _number(part.arrow),
        "lot": _number(part.lot),
        "value": part.value,
        "bundle": _number(part.bundle),
        "spare": part.spare or None,
        "clear": list(part.clear) if any(part.clear) else None,
    })  # fmt: skip


def _told_known(known: Known, parts: int) -> dict[str, Any]:
    rows: list[list[list[int]]] = [[] for _ in range(parts)]
    for at in sorted(known.layout, key=lambda at: (at.part, at.copy)):
        spot = [at.x, at.y, int(at.turned), at.strip]
        while len(spot) > 2 and not spot[-1]:
            spot.pop()
        rows[at.part].append(spot)
    goals = [
        [
            *(goal.name, goal.value, goal.bound, goal.by),
            *(() if goal.certificate is None else (packed(goal.certificate),)),
        ]
        for goal in known.goals
    ]
    return _said({
        "length": known.length,
        "by": known.by,
        "found": known.found,
        "work": known.work,
        "seed": known.seed,
        "goals": goals or None,
        "layout": packed(rows),
    })  # fmt: skip


def _told_claim(claim: Claim) -> dict[str, Any]:
    return _said({
        "length": claim.length,
        "by": claim.by,
        "rests_on": claim.rests_on,
        "found": claim.found,
        "certificate": None if claim.certificate is None else packed(claim.certificate),
        "left_out": claim.left_out or None,
    })  # fmt: skip


def _told_run(run: Run) -> dict[str, Any]:
    return _said({"work": run.work, "seed": run.seed, "day": run.day, "length": run.length,
                  "bound": run.bound or None})  # fmt: skip
