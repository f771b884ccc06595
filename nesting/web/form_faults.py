"""What is wrong with a job, told beside its fields; and what nobody has typed yet, which is no fault."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from nesting.web.draft import name_of

#: A key of the job file of several words, and one with its value.
_KEY: Final = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
_SET: Final = re.compile(r'\b([a-z_]+) = "([^"]*)"')
_SENTENCE: Final = re.compile(r"(?<=\.) (?=[A-Z])")
_QUOTED: Final = re.compile(r'"([a-z-]+)"')
#: What is typed before anything can be told, in a maker's words.
_TO_TYPE: Final = {
    "rod": "the rod",
    "finished_length": "the finished length or a height",
    "rod_height": "the height",
    "eye_height": "the height",
    "ring_drop": "how far a ring hangs down",
    "width": "the width of the fabric",
    "length": "the repeat of the print",
}


#: What a window is called in the place of a fault.
_OF_WINDOW: Final = re.compile(r'window "([^"]*)"')


def still_to_type(faults: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """What nobody has typed yet, in a maker's words, each once, as it is measured.

    What another window than the first lacks is told together, with its name.
    """
    missing: dict[tuple[int, str], set[str]] = {}
    for fault in faults:
        if words := _missing(fault):
            missing.setdefault(_later_window(fault), set()).add(words)
    order, told = dict.fromkeys(_TO_TYPE.values()), list[str]()
    for window, lacks in sorted(missing.items()):
        ranked = [words for words in order if words in lacks]
        told += [f"for {window[1]} {in_a_row(ranked)}"] if window[1] else ranked
    return tuple(told)


def _later_window(fault: Mapping[str, Any]) -> tuple[int, str]:
    """Number and name of the window that a fault is about; 0 and nothing of the first and of all else."""
    at = fault["at"]
    if len(at) < 2 or at[0] != "window" or not at[1]:
        return 0, ""
    named = _OF_WINDOW.search(str(fault["place"]))
    return int(at[1]), named[1] if named else f"window {int(at[1]) + 1}"


def in_a_row(words: Sequence[str]) -> str:
    """Things one after another as a sentence names them: a, b and c."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def awaited(faults: Iterable[Mapping[str, Any]]) -> str:
    """What the amounts wait for, in a sentence: a number to put right, or what is still to be typed."""
    faults = tuple(faults)
    if told_faults(faults)[1]:
        return "What to buy comes back here once what is marked is put right."
    missing = still_to_type(faults)
    return f"Type {in_a_row(missing)}. What to buy comes here by itself." if missing else ""


def _missing(fault: Mapping[str, Any]) -> str:
    """What it lacks, where a fault is only that a measure was not typed yet; else nothing."""
    at = fault["at"]
    return _TO_TYPE.get(str(at[-1]), "") if at and not fault["value"] else ""


def without_syntax(text: str) -> str:
    """A message as it is read on a page: keys of the job file by their words, no signs of its syntax."""
    return _KEY.sub(lambda found: found[0].replace("_", " "), _SET.sub(r"\1: \2", text))


def help_of(description: str) -> str:
    """What the job file says of a key, as one line of help on a page: without its syntax and its default.

    The page shows the default at the field.
    """
    kept = (part for part in _SENTENCE.split(description) if not part.startswith("Default"))
    text = " ".join("Yes: " + part[6:] if part.startswith("true: ") else part for part in kept)
    text = _QUOTED.sub(r"\1", text.replace(" (default)", "").replace("eft out: ", "eft empty: "))
    return without_syntax(text)


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
