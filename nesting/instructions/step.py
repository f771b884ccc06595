"""The sewing order of a window as steps in words: each made of its operations and of what they changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from nesting.instructions.edges_told import (
    chalk_told,
    fold_told,
    overcast_told,
    sew_told,
    trim_told,
    tube_told,
)
from nesting.instructions.joins_told import join_told, lay_out_told, wash_told
from nesting.instructions.layers_told import face_told, lay_told, round_told
from nesting.instructions.line import Telling, ToldLine, sentences
from nesting.instructions.measured import hanging_length, hung, measured, washed
from nesting.instructions.tops_told import (
    attach_told,
    draw_told,
    insert_told,
    marked,
    pleat_told,
    set_told,
    stitch_told,
)
from nesting.sewing import (
    Attach,
    Bench,
    Chalk,
    DrawUp,
    FaceTop,
    Fold,
    Insert,
    Join,
    LayOn,
    LayOut,
    LineRound,
    Moment,
    Operation,
    Overcast,
    PleatUp,
    SetAlong,
    Sew,
    Sewing,
    SewTube,
    Stitch,
    Trim,
    Wash,
    sew,
)
from nesting.sewing.work import Side

#: How each operation is told; a new one is a function and a line here.
TELLERS: Final[Mapping[type[Operation], Callable[..., ToldLine]]] = MappingProxyType({
    Wash: wash_told,
    Trim: trim_told,
    Overcast: overcast_told,
    LayOut: lay_out_told,
    Join: join_told,
    Chalk: chalk_told,
    Fold: fold_told,
    Sew: sew_told,
    SewTube: tube_told,
    Insert: insert_told,
    Attach: attach_told,
    SetAlong: set_told,
    Stitch: stitch_told,
    PleatUp: pleat_told,
    DrawUp: draw_told,
    FaceTop: face_told,
    LayOn: lay_told,
    LineRound: round_told,
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class ToldStep:
    """One step of a sewing order, told.

    Attributes
    ----------
    key, title
        What it is about, and how it is headed: ``Bottom hem``.
    text
        What is done.
    measure
        What the tape must read then; empty where nothing is measured.
    moments
        Its operations with the table before and after each; those of the next step where it marks for it.
    table
        All that lies on the table when the step is done.
    marking
        Whether it only marks where those of the next step will come.
    """

    key: str
    title: str
    text: str
    measure: str
    moments: tuple[Moment, ...]
    table: Bench
    marking: bool = False


def told(operation: Operation, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """One operation in words.

    Parameters
    ----------
    operation
        What is done; sizes it holds are told as it holds them.
    before, after
        The table before and after it: what is measured is read from it.
    telling
        Names, unit, manner of each fabric.
    """
    return TELLERS[type(operation)](operation, before, after, telling)


def told_steps(bench: Bench, sewing: Sewing, telling: Telling) -> tuple[ToldStep, ...]:
    """The whole order of a window in words.

    Parameters
    ----------
    bench
        Its cut pieces.
    sewing
        Its steps.
    telling
        Names, unit, manner of each fabric.

    Raises
    ------
    SewingError
        The order cannot be sewn.
    """
    moments = dict[int, list[Moment]]()
    for moment in sew(bench, sewing):
        moments.setdefault(moment.step, []).append(moment)
    found, ready = list[ToldStep](), False
    for number, step in enumerate(sewing.steps, 1):
        mine = tuple(moments.get(number, ()))
        bench = mine[0].before if mine else bench
        if step.key == "marks" and not mine:
            following = tuple(moments.get(number + 1, ()))
            lines = [line for line in _marks(following, telling) if line is not None]
            if lines:
                text = sentences(lines, telling)
                found.append(ToldStep("marks", TITLES["marks"], text, "", following, bench, marking=True))
            ready = bool(lines)
            continue
        done = mine[-1].after if mine else bench
        text = _text(step.key, mine, done, telling, ready=ready)
        if text:
            title = TITLES.get(step.key, step.key.capitalize())
            measure = _measure(step.key, mine, bench, done, telling)
            found.append(ToldStep(step.key, title, text, measure, mine, done))
        bench, ready = done, False
    return tuple(found)


def _marks(moments: tuple[Moment, ...], telling: Telling) -> Iterator[ToldLine | None]:
    return (marked(each.operation, each.before, telling) for each in moments)


def _text(key: str, moments: tuple[Moment, ...], done: Bench, telling: Telling, *, ready: bool) -> str:
    """What is done in a step, with what its key alone tells."""
    lines = list[ToldLine]()
    for each in moments:
        if not ready:
            mark = marked(each.operation, each.before, telling)
            lines += [] if mark is None else [mark]
        lines.append(told(each.operation, each.before, each.after, telling))
    lines += _selvages(key, done, telling)
    before, after = NOTES.get(key, ("", ""))
    if key == "hang":
        before = telling.onto_rod
    if key == "level" and not moments:
        return "Look along the lower edge after two or three days: it must hang level."
    if any(isinstance(each.operation, SewTube) for each in moments) and key == "tabs":
        after = "Try the first one on the rod before the others are finished."
    said = sentences(lines, telling, title=TITLES.get(key, key))
    return " ".join(part for part in (before, said, after) if part)


def _selvages(key: str, done: Bench, telling: Telling) -> Iterator[ToldLine]:
    """Edges that have no hem, because they are the edge of the fabric."""
    sides = _HEMMED.get(key, ())
    for panel in telling.panels:
        for side in sides:
            if panel in done.works and done.work(panel).edge(side).finish == "selvage":
                yield ToldLine(panel, "leave {edge}, which is the selvage, as it is", (side,))


def _measure(key: str, moments: tuple[Moment, ...], before: Bench, after: Bench, telling: Telling) -> str:
    if key == "wash":
        return washed(before, after, telling)
    if key == "hang":
        return hung(after, telling)
    if key == "level":
        return hanging_length(after, telling)
    names = [name for each in moments if (name := touched(each.operation)) is not None]
    return measured(moments, names, telling) if moments else ""


def touched(operation: Operation) -> str | None:
    """The work an operation changes; None where it changes all of a fabric."""
    name = getattr(operation, "on", None) or getattr(operation, "into", None)
    return name if isinstance(name, str) else None


#: The edges that a step finishes.
_HEMMED: Final[Mapping[str, tuple[Side, ...]]] = MappingProxyType({
    "bottom hem": ("bottom",),
    "side hems": ("left", "right"),
})  # fmt: skip

#: How the steps are headed.
TITLES: Final[Mapping[str, str]] = MappingProxyType({
    "wash": "Wash first",
    "join widths": "Widths",
    "lines": "Lines",
    "leading band": "Leading-edge band",
    "hem band": "Hem band",
    "marks": "Marks",
    "hang": "Hang",
    "level": "Level the hem",
    "tie-backs": "Tie-backs",
})  # fmt: skip

#: What is told before and after the operations of a step by what it is about. No size stands here.
NOTES: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({
    "lines": ("Chalk on the wrong side and measure each line at both sides and in the middle.", ""),
    "hang": (
        "",
        "Let each panel hang for two or three days, because fabric drops, and not evenly.",
    ),
    "level": (
        "Level the hem edge all along before it is sewn.",
        "Close the corners, mitered or folded, sew what was left open above them, and put a weight in each.",
    ),
    "tie-backs": ("", "Close both ends by hand and sew a ring to each."),
})  # fmt: skip
