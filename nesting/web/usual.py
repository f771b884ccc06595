"""What holds where a field is left empty, asked of the headings and the trade defaults themselves."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any, cast, get_args

from nesting.cutting.layers import lining_gap
from nesting.cutting.measures import settle
from nesting.errors import LengthError, NestingError
from nesting.headings import HEADINGS, USUAL, Making
from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Draw, Fabric, Hem, Job, Window
from nesting.order.print_width import print_width
from nesting.units import (
    METER,
    Unit,
    format_exact,
    format_length,
    format_quantity,
    grid,
    parse_length,
    round_down,
)


def usual_of_job(unit: Unit) -> dict[str, str]:
    """What holds for the job itself, by key."""
    return {"squaring": format_length(defaults_for(unit).squaring, unit)}


def usual_of_bolt(unit: Unit, bolt: Mapping[str, Any], repeat: object = None) -> dict[str, str]:
    """What holds for a bolt of that width, by key; ``repeat`` is that of its print."""
    usual = defaults_for(unit)
    sold = "yd" if unit == "in" else "m"
    held = {"sold_by": format_quantity(usual.sold_by, sold), "match": "most whole repeat widths"}  # type: ignore[arg-type]
    try:
        width = parse_length(bolt.get("width", ""), unit)
    except (LengthError, TypeError):
        return held
    fit = round_down(width - 2 * usual.selvage, grid(unit))
    held["match"] = _usual_match(unit, width, bolt, repeat) or held["match"]
    return held | ({"usable": format_length(fit, unit)} if fit > 0 else {})


def _usual_match(unit: Unit, width: Fraction, bolt: Mapping[str, Any], repeat: object) -> str:
    """What a full width is matched over with usual seams; empty where the repeat across is not known."""
    try:
        across = parse_length(repeat["width"], unit) if isinstance(repeat, Mapping) else Fraction(0)
    except (KeyError, LengthError, TypeError):
        return ""
    if across <= 0:
        return ""
    seam, said = Fraction(defaults_for(unit).seam), bool(bolt.get("usable"))
    found = print_width(Fraction(width), Fraction(across), seam, unit, usable_said=said)
    if found is None:
        return ""
    why = "the whole width, seams in the selvage" if found.printed else "most whole repeats between two seams"
    return f"{format_exact(found.match, unit)}, {why}"


def usual_of_window(unit: Unit, window: Mapping[str, Any], weight: object) -> dict[str, str]:
    """What holds for a window with that heading, draw and rod, by key; keys of its tables with a point."""
    heading = window.get("heading", USUAL)
    draw = window.get("draw", "pair")
    known = draw if draw in get_args(Draw) else "pair"
    return dict(
        _usual(
            unit,
            heading if heading in HEADINGS else USUAL,
            known,
            weight if weight in ("sheer", "medium", "heavy") else None,
            _ticks(window.get("rod_diameter"), unit),
            _ticks(window.get("rod_depth"), unit),
        )
    )


def _ticks(value: object, unit: Unit) -> int | None:
    try:
        ticks = round(parse_length(cast(str, value), unit))
    except (LengthError, TypeError, ValueError):
        return None
    return ticks if 0 < ticks < METER else None


@lru_cache(maxsize=512)
def _usual(
    unit: Unit, heading: str, draw: str, weight: Any, diameter: int | None, depth: int | None
) -> tuple[tuple[str, str], ...]:
    fabric = Fabric("face", (Bolt(METER, METER),), weight=weight)
    window = Window(
        name="window",
        room="room",
        rod=2 * METER,
        heading=heading,
        fabric="face",
        finished_length=2 * METER,
        draw=cast(Any, draw),
        rod_diameter=diameter,
        rod_depth=depth,
    )
    making = settle(Job("job", unit, (fabric,), (window,)), window)
    say = making.say
    found = {
        "rod_diameter": _rod(making),
        "rod_depth": "a round rod",
        "clearance": say(making.defaults.clearance),
        "fullness": f"{float(making.fullness):g}",
        "returns": say(making.returns),
        "overlap": say(making.overlap),
        "least_part_width": say(making.least_part),
        "bottom_hem": _hem(making, making.bottom_hem),
        "side_hem": _hem(making, making.outer_hem),
        "leading_hem": "as the side hem",
        "outer_hem": "as the side hem",
        "lining_hem": _hem(making, making.lining_hem),
        "seam": say(making.seam),
        "working": "none",
        "panels": "1" if draw in ("left", "right") else "2",
        "count": "1",
        "heading": HEADINGS[USUAL].title,
    }
    # A rod too thick for the heading: the sums say so, and here nothing is said.
    with contextlib.suppress(NestingError):
        found |= _of_heading(making)
    return tuple(found.items())


def _rod(making: Making) -> str:
    """The rod that is assumed; a pleated heading then hangs from a track."""
    if len(HEADINGS[making.window.heading].hangs_from) > 1:
        return "it hangs from a track"
    return f"{making.say(making.rod_diameter)} is assumed"


def _hem(making: Making, hem: Hem) -> str:
    return f"{making.say(hem.turn)}, turned {'twice' if hem.turns == 2 else f'{hem.turns} times'}"


def _of_heading(making: Making) -> dict[str, str]:
    """The sizes that only this heading has."""
    style = HEADINGS[making.window.heading]
    lining = {
        "lining_cover": making.say(style.top_cover(making)),
        "lining_gap": making.say(lining_gap(making)),
    }
    return {**lining, **dict(style.usual(making))}
