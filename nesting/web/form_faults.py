"""What is wrong with a job, told beside its fields; and what nobody has typed yet, which is no fault."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from nesting.web.draft import name_of

#: A key of the job file of several words, and one with its value.
_KEY: Final = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
_SET: Final = re.compile(r'\b([a-z_]+) = "([^"]*)"')
#: What is typed before anything can be told, in a maker's words.
_TO_TYPE: Final = {
    "rod": "the rod",
    "finished_length": "the finished length, or a height",
    "rod_height": "the height",
    "eye_height": "the height",
    "ring_drop": "how far a ring hangs down",
    "width": "the width of the fabric",
    "length": "the repeat of the print",
}


def still_to_type(faults: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """What nobody has typed yet, in a maker's words, each once, as it is measured."""
    missing = {words for fault in faults if (words := _missing(fault))}
    return tuple(words for words in dict.fromkeys(_TO_TYPE.values()) if words in missing)


def _missing(fault: Mapping[str, Any]) -> str:
    """What it lacks, where a fault is only that a measure was not typed yet; else nothing."""
    at = fault["at"]
    return _TO_TYPE.get(str(at[-1]), "") if at and not fault["value"] else ""


def without_syntax(text: str) -> str:
    """A message as it is read on a page: keys of the job file by their words, no signs of its syntax."""
    return _KEY.sub(lambda found: found[0].replace("_", " "), _SET.sub(r"\1: \2", text))


def told_faults(
    faults: Iterable[Mapping[str, Any]], *, pressed: bool = False
) -> tuple[dict[str, tuple[str, ...]], tuple[tuple[str, str], ...]]:
    """What is said beside each field, by its name, and the summary of all: field and words.

    What was only not typed yet is no fault until a plan is asked for (``pressed``).
    """
    beside: dict[str, tuple[str, ...]] = {}
    summary = []
    for fault in faults:
        if not pressed and _missing(fault):
            continue
        name = name_of(tuple(fault["at"]))
        expected = without_syntax(fault["expected"])
        beside[name] = (*beside.get(name, ()), f"Expected {expected}.")
        found = f" is {fault['value']}" if fault["value"] else ""
        summary.append((name, f"{without_syntax(fault['place'])}{found}: expected {expected}"))
    return beside, tuple(summary)
