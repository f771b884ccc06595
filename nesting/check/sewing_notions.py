"""Notions that a plan document has bought, against the drapes as they were sewn."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Final

from nesting.check.document import TableReader
from nesting.check.sewing_ordered import WindowOrdered
from nesting.check.sewing_prints import SewnPanel
from nesting.check.violation import Breach, Violation

#: Notions that are counted, by what carries the panels that need them.
_COUNTED: Final[Mapping[str, str]] = {"grommets": "ring", "clip rings": "clip", "hooks": "hook"}
#: What a hook hangs from, one each: the window has either.
_FOR_HOOKS: Final = ("gliders", "rings with eyes")
#: By how much a strip in the top of a panel may be shorter than it: a stiffener ends inside the side hems.
_ENDS_INSIDE: Final[Mapping[str, tuple[str, str]]] = {"stiffener": ("0.5", "1")}
#: A stitch takes a thread from above and one from below (common practice, no source).
_THREADS: Final = 2
_TAPE: Final = "pencil-pleat tape"


def check_notions(
    top: TableReader, windows: Sequence[WindowOrdered], panels: Sequence[SewnPanel]
) -> Iterator[Violation]:
    """As many of each are bought as were set, and as much as was sewn in.

    Parameters
    ----------
    top
        The document.
    windows
        As ordered.
    panels
        Those of the first of several windows alike.
    """
    said = defaultdict[tuple[str, str], int](int)
    for entry in top.tables("sundries", ()):
        key = entry.text_or_none("window", None) or "", entry.text("name")
        if entry.value("count", None) is not None:
            said[key] += entry.whole("count")
        else:
            said[key] += entry.length_or_none("length", None) or 0
    for window in windows:
        mine = [panel for panel in panels if panel.window.name == window.name]
        bought = {name: amount for (of, name), amount in said.items() if of == window.name}
        yield from _counted(window, mine, bought)
        yield from _measured(window, mine, bought)


def _counted(
    window: WindowOrdered, panels: Sequence[SewnPanel], bought: Mapping[str, int]
) -> Iterator[Violation]:
    carriers = Counter[str](one.kind for panel in panels for one in panel.work.carriers)
    asked = {name: carriers[kind] for name, kind in _COUNTED.items()}
    hemmed = [panel for panel in panels if panel.work.edge("bottom").finish == "fold"]
    asked["weights"] = 2 * len(hemmed)
    for name, number in asked.items():
        if bought.get(name, 0) != number * window.count:
            yield _bought(window, bought.get(name, 0), name, number * window.count, "set")
    from_hooks = sum(bought.get(name, 0) for name in _FOR_HOOKS)
    hooks = carriers["hook"] * window.count
    if from_hooks != hooks:
        yield _bought(window, from_hooks, " or ".join(_FOR_HOOKS), hooks, "hooks")


def _measured(
    window: WindowOrdered, panels: Sequence[SewnPanel], bought: Mapping[str, int]
) -> Iterator[Violation]:
    asked = defaultdict[str, Fraction](Fraction)
    for panel in panels:
        work = panel.work
        name = work.edge("top").over or (_TAPE if work.tape else "")
        if name:
            inside = _ENDS_INSIDE.get(name)
            asked[name] += work.width - (window.of(inside) if inside else 0)
        long = work.length * (2 + len(work.seams)) + 2 * work.width
        asked["thread"] += _THREADS * long
    # A panel may come out a step of the tape wider or longer than it was reckoned for the shop.
    slack = window.step * len(panels)
    for name, length in asked.items():
        if bought.get(name, 0) < (int(length) - slack) * window.count:
            yield _bought(window, bought.get(name, 0), f"of {name}", int(length) * window.count, "sewn in")


def _bought(window: WindowOrdered, said: int, name: str, asked: int, how: str) -> Violation:
    what = f'"{window.name}": {said} {name} to buy'
    return Violation(Breach.SEWING, what, f"{asked} {how}", abs(said - asked))
