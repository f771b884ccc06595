"""The sewing order of a window as steps to print: words and drawings of the operations that sew it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from nesting.construction import bench_of, order_of
from nesting.drawing.operations import step_drawing
from nesting.instructions import Telling, ToldStep, fabric_manner, hung_length, told_steps
from nesting.packet.facts import WindowFacts
from nesting.packet.model import MakingStep
from nesting.pieces.piece import Piece
from nesting.sewing import Work, sewn
from nesting.sewing.work import Side

#: Roles whose pieces are called by their numbers until they are joined; the others are made alike.
_NUMBERED = ("panel", "lining", "interlining", "facing", "band")


def window_steps(facts: WindowFacts) -> tuple[MakingStep, ...]:
    """Each step of a window, with its drawing and what is measured then.

    Parameters
    ----------
    facts
        The window; where its plan is older than sewing orders, its order is made from its pieces.

    Raises
    ------
    SewingError
        The order cannot be sewn from the pieces of the plan.
    """
    telling = window_telling(facts)
    told = told_steps(bench_of(facts), facts.sewing or order_of(facts), telling)
    return tuple(_step(each, telling) for each in told)


def sewn_panels(facts: WindowFacts) -> dict[str, tuple[Work, Fraction]]:
    """Each panel by its key as its steps make it, and how long it hangs, from top edge to hem edge.

    Raises
    ------
    SewingError
        The order cannot be sewn from the pieces of the plan.
    """
    bench, telling = sewn(bench_of(facts), facts.sewing or order_of(facts)), window_telling(facts)
    works = (bench.work(hanging.key) for hanging in facts.hangings)
    return {work.name: (work, hung_length(work, telling)) for work in works}


def _step(step: ToldStep, telling: Telling) -> MakingStep:
    drawing = step_drawing(step, telling)
    shown = "" if drawing is None else ", ".join(dict.fromkeys(drawing.texts))
    sizes = f", with the sizes {shown}" if shown else ""
    alt = "" if drawing is None else f"{step.title}: how it lies before and after{sizes}"
    return MakingStep(f"{step.title}. {step.text}", drawing, alt, step.measure)


def window_telling(facts: WindowFacts) -> Telling:
    """Names, unit and manner of each fabric for the steps of a window."""
    making, window = facts.making, facts.window
    sides: dict[str, Side] = {
        hanging.key: hanging.leading
        for hanging in facts.hangings
        if hanging.leading is not None and len(facts.hangings) > 1
    }
    return Telling(
        say=making.say,
        names=dict(_names(facts)),
        fabrics={fabric.key: fabric.title for fabric in facts.fabrics},
        manners={
            fabric.key: fabric_manner(
                fabric,
                lined=window.lining is not None and fabric.key == window.fabric,
                washable=fabric.shrinkage is not None,
            )
            for fabric in facts.fabrics
        },
        panels=tuple(hanging.key for hanging in facts.hangings),
        leading=sides,
        taken=Fraction(facts.style.rod_take_up(making)),
        onto_rod=_onto_rod(facts),
    )


def _names(facts: WindowFacts) -> Iterator[tuple[str, str]]:
    """Cut pieces by their numbers: ``cut B3``, ``cuts 5 and 6``."""
    yield from _band_names(facts)
    bands = facts.window.bands
    alike = {f"band-{number}" for number, band in enumerate(bands, 1) if band.edge == "leading"}
    for piece in facts.pieces:
        if piece.role == "tieback":
            yield piece.id, "tie-backs"
        elif piece.role == "band" and (
            (len(bands) == 1 and bands[0].edge == "leading") or piece.id.rpartition("/")[2] in alike
        ):
            yield piece.id, "leading-edge band"
        elif piece.role in _NUMBERED and (found := _numbers(piece, facts.numbers)):
            word = "or" if facts.window.count > 1 else "and"
            joined = f"{', '.join(found[:-1])} {word} {found[-1]}" if len(found) > 1 else found[0]
            yield piece.id, f"cut{'s' if len(found) > 1 and word == 'and' else ''} {joined}"


def _band_names(facts: WindowFacts) -> Iterator[tuple[str, str]]:
    """Bands along the hem, joined: ``hem band of the left panel``."""
    bands = facts.window.bands
    for number, band in enumerate(bands, 1):
        name = "band" if len(bands) == 1 else f"band {number}"
        for hanging in facts.hangings if band.edge == "hem" else ():
            alone = len(facts.hangings) == 1
            yield f"{hanging.key} {name}", "hem band" if alone else f"hem band of the {hanging.key} panel"


def _numbers(piece: Piece, numbers: Mapping[tuple[str, int], str]) -> list[str]:
    """The numbers of a piece, copy by copy; none where it was not laid out."""
    found = (numbers.get((piece.id, copy)) for copy in range(1, piece.copies + 1))
    return [number for number in dict.fromkeys(found) if number is not None]


def _onto_rod(facts: WindowFacts) -> str:
    said = facts.style.on_the_rod
    if facts.style.pleated and facts.making.hangs_from == "rings":
        return f"Slide a ring for each hook on the rod before it goes on its brackets. {said}"
    return said
