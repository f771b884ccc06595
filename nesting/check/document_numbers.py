"""Whether a plan document calls every piece by one number, judged from its placements and its cuts alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from nesting.check.document import PlanDocument, TableReader
from nesting.check.violation import Breach, Violation


def check_numbers(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with the names of cuts and pieces; a document need not give any.

    Each fabric has a letter of its own, or none where it is alone. A cut is called by that letter and its
    count, a piece by the cut that frees it, and no two cuts of a plan are called alike.
    """
    layouts = tuple(TableReader(document, "", plan.units).tables("layouts"))
    yield from _check_letters(plan, layouts)
    names = dict[str, str]()
    for entry in layouts:
        letter, freed = entry.text_or_none("letter", None), dict[tuple[str, int], str]()
        for action in entry.tables("sequence", ()):
            name = action.text_or_none("cut", None)
            if name is None or letter is None:
                continue
            if name != f"{letter}{action.whole('number')}":
                yield Violation(
                    Breach.SEQUENCE, f"cut {name}", f"{letter}{action.whole('number')}", at=action.place
                )
            if names.setdefault(name, action.place) != action.place:
                yield Violation(Breach.SEQUENCE, f"cut {name}", names[name], at=action.place)
            freed |= {(one.text("piece"), one.whole("copy")): name for one in action.tables("frees")}
        for placed in entry.tables("placements"):
            number, key = placed.text_or_none("number", None), (placed.text("piece"), placed.whole("copy"))
            if number is not None and freed and freed.get(key) != number:
                yield Violation(
                    Breach.SEQUENCE, f'"{key[0]}" called {number}', f"cut {freed.get(key)}", at=placed.place
                )


def _check_letters(plan: PlanDocument, layouts: tuple[TableReader, ...]) -> Iterator[Violation]:
    letters = dict[str, str]()
    for layout, entry in zip(plan.layouts, layouts, strict=True):
        letter = entry.text_or_none("letter", None)
        if letter is None or not layout.entries:
            continue
        if letters.setdefault(layout.fabric, letter) != letter:
            yield Violation(
                Breach.SEQUENCE, f'letter "{letter}"', f'"{letters[layout.fabric]}"', at=entry.place
            )
    if len(set(letters.values())) < len(letters):
        yield Violation(Breach.SEQUENCE, "letters of the fabrics", "two fabrics with one letter")
    if len(letters) == 1 and any(letters.values()):
        yield Violation(Breach.SEQUENCE, "a letter", "the only fabric")
