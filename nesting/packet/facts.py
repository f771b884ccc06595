"""Words that the pages of a packet share, and what they know of each window."""

from __future__ import annotations

from dataclasses import replace

from nesting.construction.windows_made import WindowFacts as WindowFacts
from nesting.construction.windows_made import is_pile as is_pile
from nesting.construction.windows_made import laid_out as laid_out
from nesting.construction.windows_made import window_facts as windows_made
from nesting.names import plural_of
from nesting.pieces.piece import PanelPlan
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.units import Unit, format_length, round_up, unit_ticks
from nesting.units import grid as tape_step


def window_facts(plan: Plan) -> tuple[WindowFacts, ...]:
    """The windows of a plan with the numbers of their pieces; none where it does not carry its order."""
    numbers = numbering(plan.layouts).numbers
    return tuple(replace(each, numbers=numbers) for each in windows_made(plan))


def part_words(facts: WindowFacts, panel: PanelPlan) -> str:
    """Where in a panel of joined widths its part-width is; empty where all are alike."""
    cuts = panel.cuts
    if len(set(cuts)) < 2:
        return "All its widths are cut alike."
    if cuts == cuts[::-1]:
        return "It is cut alike from the middle to both sides."
    leading = next(hanging.leading for hanging in facts.hangings if hanging.key == panel.key)
    if leading is None:
        return "The part-width is at one side."
    lead, outer = (cuts[0], cuts[-1]) if leading == "left" else (cuts[-1], cuts[0])
    if lead == outer:
        return "The part-width is between the others."
    if outer < lead:
        where = "the part-width at the outer edge, where a seam shows least."
        return f"The wider one is at the leading edge, {where}"
    return "The part-width is at the leading edge, the wider one at the outer edge."


def bolt_words(layout: FabricLayout, numbers: Numbering, unit: Unit) -> str:
    """A fabric with its letter and its bolt, and its lot or a place to write it."""
    lot, on_hand = layout.lot, f", {layout.on_hand}" if layout.on_hand else ""
    width = format_length(layout.bolt.width, unit)
    return f"{numbers.fabric(layout)}, bolt {width}{on_hand}, lot {lot or '_______'}"


def length_words(layout: FabricLayout, unit: Unit) -> str:
    """A bolt, or a length on hand, among several of one fabric: ``blue remnant, lot 7``."""
    name = layout.on_hand or f"bought, bolt {format_length(layout.bolt.width, unit)}"
    return f"{name}, lot {layout.lot}" if layout.lot else name


def fabric_words(layout: FabricLayout, numbers: Numbering) -> str:
    """A fabric with its letter, the length on hand it is cut from, and its lot."""
    lot = f", lot {layout.lot}" if layout.lot else ""
    return f"{numbers.fabric(layout)}{f', {layout.on_hand}' if layout.on_hand else ''}{lot}"


def both_units(ticks: int, unit: Unit) -> str:
    """A length in the job's measure and in the other: ``54 in (137.2 cm)``."""
    other: Unit = "cm" if unit == "in" else "in"
    return f"{format_length(ticks, unit)} ({format_length(round_up(ticks, tape_step(other)), other)})"


def run_in_both(ticks: int, unit: Unit) -> str:
    """A length that is bought, in yards and meters: ``5 1/8 yd (4.69 m)``.

    Both are rounded up, and the other one is that of the first as it is printed: whoever buys by either has
    enough by both.
    """
    step = unit_ticks("yd") // 8 if unit == "in" else unit_ticks("m") // 100
    first = -(-ticks // step) * step
    own, other = (_yards(first), _meters(first)) if unit == "in" else (_meters(first), _yards(first))
    return f"{own} ({other})"


def in_other(ticks: int, sold: str) -> str:
    """A length that is sold in yards or meters, in the other measure, rounded up."""
    return _meters(ticks) if sold == "yd" else _yards(ticks)


def _meters(ticks: int) -> str:
    return f"{-(-ticks * 100 // unit_ticks('m')) / 100:.2f} m"


def _yards(ticks: int) -> str:
    whole, part = divmod(-(-ticks * 8 // unit_ticks("yd")), 8)
    words = {0: "", 2: "1/4", 4: "1/2", 6: "3/4"}.get(part, f"{part}/8")
    return " ".join(word for word in (str(whole) if whole or not words else "", words, "yd") if word)


def plural(count: int, noun: str, many: str = "") -> str:
    """``1 tab``, ``2 tabs``; ``many`` where that is not made by an ending."""
    return f"{count} {noun}" if count == 1 else f"{count} {many or plural_of(noun)}"


def times(count: int) -> str:
    """``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def listed(words: tuple[str, ...] | list[str]) -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
