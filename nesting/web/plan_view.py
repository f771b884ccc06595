"""A plan as plain tables for its page: markers with a link on every piece, cards, what to buy, advice.

Made where the plan was made, so that the page itself draws nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from typing import Any, Final

from nesting.drawing.charts import comparison_figure
from nesting.drawing.first_marker import first_marker
from nesting.drawing.svg import svg
from nesting.drawing.title import money, proof
from nesting.drawing.trace import trace
from nesting.drawing.wording import across_words, finish_words, run_words, size_words
from nesting.names import slugs
from nesting.order.job import Job
from nesting.packet.buying import bought
from nesting.packet.cautions import CAUTIONS
from nesting.packet.print_picture import print_pictures
from nesting.packing import Incumbent
from nesting.packing.result import Status
from nesting.plan.comparison import Comparison, Option
from nesting.plan.cut_rows import CutLength, CutRow, cuts_of
from nesting.plan.cuts import cutting_words
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Plan, WhatIf
from nesting.plan.shortage import shortfall_rows
from nesting.units import Unit, format_length, format_quantity, format_run, to_decimal
from nesting.web.caps import MOST_CARDS, MOST_HUNG
from nesting.web.marker_view import card_id, marker_svg
from nesting.web.taking import of_advice, of_what_if

#: How wide a window of a print is drawn as it hangs, in points.
_PICTURE_WIDTH: Final = 500.0

View = dict[str, Any]


def plan_view(plan: Plan, table: Mapping[str, Any]) -> View:
    """Everything the page of a plan tells; ``table`` is the job as it was typed."""
    cuts = cuts_of(plan)
    names = slugs(one.layout.fabric.key for one in cuts.lengths)
    return {
        "title": plan.job.title,
        "cost": "" if plan.cost is None else f"{plan.job.currency}{plan.cost:.2f}",
        "layouts": [
            _layout(plan, one, cuts.numbers, name) for one, name in zip(cuts.lengths, names, strict=True)
        ],
        "hung": list(_hung(plan)),
        "left_out": [
            {
                "piece": _name_of(plan, out.piece),
                "copies": out.copies,
                "shortfall": format_length(out.shortfall, plan.job.units),
            }
            for out in plan.left_out
            if not out.window
        ],
        "shortfalls": [
            {"fabric": plan.job.fabric(short.fabric).title, "rows": list(shortfall_rows(plan, short))}
            for short in plan.shortfalls
        ],
        "to_decide": _advice(plan, table, "question", "warning"),
        "offers": _advice(plan, table, "offer"),
        "notes": _advice(plan, table, "note"),
        "cautions": list(CAUTIONS.items),
        "next": list(_next_steps(plan)),
        "sundries": [
            {
                "name": sundry.name,
                "window": sundry.window or "",
                "note": sundry.note,
                "much": " ".join(
                    part
                    for part in (
                        "" if sundry.count is None else str(sundry.count),
                        "" if sundry.length is None else format_run(sundry.length, plan.job.units),
                    )
                    if part
                ),
            }
            for sundry in plan.sundries
        ],
    }  # fmt: skip


def _advice(plan: Plan, table: Mapping[str, Any], *kinds: str) -> list[View]:
    """Remarks of those kinds, each with what is typed to take it."""
    return [
        {
            "kind": one.kind,
            "text": one.plain,
            "window": one.window or "",
            "change": of_advice(table, one),
        }
        for one in plan.advice
        if one.kind in kinds
    ]


def _next_steps(plan: Plan) -> Iterator[str]:
    """What to do with a plan, in order, from the shop to the machine."""
    questions = sum(one.kind in ("question", "warning") for one in plan.advice)
    if questions:
        yield "Read the cautions: some of them change what you buy and cut."
    cuts = cuts_of(plan)
    for one in cuts.lengths:
        layout = one.layout
        if layout.on_hand is not None:
            yield f"Lay out {layout.on_hand} of {layout.fabric.title}."
            continue
        prints = ", and the repeat" if layout.fabric.repeat is not None else ""
        yield (
            f"Buy {bought(layout)} of {layout.fabric.title} from one dye lot. Before it is cut from the "
            f"bolt, have the width measured selvage to selvage{prints}: this plan rests on it."
        )
    for fabric in dict.fromkeys(one.layout.fabric.title for one in cuts.lengths if _washed_first(one.layout)):
        yield f"Wash and press {fabric} before you cut."
    for one in cuts.lengths:
        if one.rows:
            first = one.rows[0]
            size = size_words(first.first, plan.job.units)
            yield (
                f"{one.fabric}: square the end, then cut in the order of the numbers. The first is "
                f"{first.name}, {first.title}, {size}."
            )
    yield "Label each piece as it leaves the table; the packet has the labels."
    if plan.job.windows:
        yield "Sew by the sheet of each window in the packet."


def _washed_first(layout: FabricLayout) -> bool:
    return layout.fabric.shrinkage is not None and layout.fabric.shrinkage.washed == "before"


def _hung(plan: Plan) -> Iterator[View]:
    """Each window of a print as it will hang; of a job with many windows the first ones."""
    pictures = print_pictures(plan, _PICTURE_WIDTH)
    for number, (name, shown) in enumerate(islice(pictures, MOST_HUNG)):
        drawn = svg(shown.drawing, alt=shown.alt, prefix=f"hung-{number}")
        yield {"window": name, "svg": drawn, "told": shown.caption}


def first_view(plan: Plan) -> View:
    """What a first answer tells of a plan: what to buy of each fabric, and its marker."""
    cuts = cuts_of(plan)
    lines, markers = [], []
    for number, one in enumerate(cuts.lengths):
        layout, unit = one.layout, plan.job.units
        if layout.length is None:
            continue
        rule = layout.rule_of_thumb
        lines.append({
            "fabric": one.fabric,
            "buy": bought(layout),
            "cost": "" if layout.buy is None else money(layout.buy, plan.job.currency),
            "length": format_length(layout.length, unit),
            "rule": "" if rule is None else format_length(rule.length, unit),
            "proof": proof(layout, unit)[1],
        })  # fmt: skip
        alt = f"First layout of {one.fabric}, {format_length(layout.length, unit)} long"
        drawn = svg(first_marker(layout, unit, cuts.numbers), alt=alt, prefix=f"first-{number}")
        markers.append({"fabric": one.fabric, "svg": drawn})
    return {
        "lines": lines,
        "markers": markers,
        "cost": "" if plan.cost is None else f"{plan.job.currency}{plan.cost:.2f}",
        "gap": _gap(plan),
        "proven": all(layout.length == layout.bound.length for layout in plan.layouts),
    }


def _gap(plan: Plan) -> str:
    """How much longer all layouts are than they could be; empty where lengths on hand are cut."""
    over = 0
    for layout in plan.layouts:
        if layout.length is None or layout.on_hand is not None:
            return ""
        over += layout.length - layout.bound.length
    if not over:
        return "proven: no layout is shorter"
    return f"at most {format_length(over, plan.job.units)} above the proven least"


def _name_of(plan: Plan, piece: str) -> str:
    return next((one.name for one in plan.pieces if one.id == piece), piece)


def _trusted(layout: FabricLayout, how: str) -> str:
    """How good a layout is, and what an optimal one rests on."""
    optimal = layout.on_hand is None and layout.status is Status.OPTIMAL and not layout.bound.told
    return f"{how} ({layout.bound.rests_on})" if optimal else how


def _layout(plan: Plan, length: CutLength, numbers: Numbering, name: str) -> View:
    unit, layout = plan.job.units, length.layout
    least, how = proof(layout, unit)
    rule = layout.rule_of_thumb
    return {
        "name": name,
        "fabric": length.fabric,
        "bolt": format_length(layout.bolt.width, unit),
        "sideways": layout.railroaded,
        "buy": bought(layout),
        "cost": "" if layout.buy is None else money(layout.buy, plan.job.currency),
        "length": format_length(layout.length or 0, unit),
        "least": least,
        "proof": _trusted(layout, how),
        "unused": f"{float(layout.waste * 100):.1f} %",
        "to_cut": cutting_words(layout, unit),
        "rule": "" if rule is None else format_length(rule.length, unit),
        "status": f"{how[0].upper()}{how[1:]}.",
        "proven": layout.status is Status.OPTIMAL and not layout.bound.told,
        "on_hand": layout.on_hand or "",
        "done": layout.all_done,
        "pieces": len(layout.placements),
        "svg": marker_svg(layout, numbers, name, unit),
        "cards": [_card(cut, numbers, name, unit) for cut in length.rows[:MOST_CARDS]],
        "course": course(layout.incumbents, unit),
        "seconds": layout.seconds,
    }


def so_far_view(job: Job, layouts: tuple[FabricLayout, ...]) -> list[View]:
    """The markers of one fabric while it is searched, as the page of its plan will show them.

    Sums and seams are left to that one.
    """
    cuts = cuts_of(Plan(job, (), layouts))
    names = slugs(one.layout.fabric.key for one in cuts.lengths)
    return [
        {
            "name": name,
            "fabric": one.layout.fabric.title,
            "on_hand": one.layout.on_hand or "",
            "pieces": len(one.layout.placements),
            "svg": marker_svg(one.layout, cuts.numbers, name, job.units),
            "cards": [_brief_card(cut, cuts.numbers, name, job.units) for cut in one.rows[:MOST_CARDS]],
        }
        for one, name in zip(cuts.lengths, names, strict=True)
    ]


def _brief_card(cut: CutRow, numbers: Numbering, name: str, unit: Unit) -> View:
    return _card(cut, numbers, name, unit) | {"arithmetic": [], "notes": []}


def _card(cut: CutRow, numbers: Numbering, name: str, unit: Unit) -> View:
    """One card for a cut; equal pieces that lie edge to edge share it, with their count."""
    laid, piece = cut.first, cut.first.piece
    across = across_words(laid, unit) or "along the left selvage"
    run = run_words(laid, unit)
    if cut.count > 1:
        run = f"from {format_length(cut.start, unit, name=False)} to {format_length(cut.end, unit)}"
        across = f"the first {across}"
    places = [f"on the bolt {run}, {across}", finish_words(laid, unit)]
    if piece.hem_line:
        places.append(f"finished hem line {format_length(piece.hem_line, unit)} above the lower cut edge")
    if laid.turn:
        places.append("turned: its width runs along the bolt, its length across")
    return {
        "id": card_id(name, numbers.of(laid)),
        "cut": cut.name,
        "name": cut.title,
        "number": f"{cut.count} pieces" if cut.count > 1 else "",
        "about": piece.window or "",
        "size": size_words(laid, unit),
        "letter": laid.letter,
        "places": [place for place in places if place],
        "arithmetic": piece.arithmetic(unit),
        "notes": (*piece.notes, *numbers.seams(laid)),
    }


def course(incumbents: Iterable[Incumbent], unit: Unit) -> list[tuple[float, float | None, float]]:
    """Seconds, best length and proven least over the time of a search, in the unit of the job."""
    return [
        (
            one.seconds,
            None if one.length is None else to_decimal(one.length, unit),
            to_decimal(one.bound, unit),
        )
        for one in incumbents
    ]


def what_if_view(found: Iterable[WhatIf], job: Job, table: Mapping[str, Any]) -> list[View]:
    """Changes that would save fabric, each planned and checked."""
    return [
        {
            "kind": one.kind,
            "text": one.text,
            "least": one.least,
            "change": of_what_if(table, job, one),
        }
        for one in found
    ]


def comparison_view(comparison: Comparison) -> View:
    """Everything the page of a comparison tells."""
    job = comparison.job
    drawn = trace(comparison_figure(comparison))
    alt = (
        "Bars: how much of each bolt is bought, with its cost and the proven least. The table says the same."
    )
    return {
        "title": job.title,
        "svg": svg(drawn, alt=alt, prefix="compare"),
        "options": [_option(comparison, option) for option in comparison.options],
        "sold_in": job.sold_in,
    }


def _option(comparison: Comparison, option: Option) -> View:
    job, layout = comparison.job, option.layout
    made = {
        "fabric": option.fabric.title,
        "width": format_length(option.bolt.width, job.units),
        "offered": option.offered,
        "reason": option.reason,
        "seams": option.seams,
        "railroad": option.railroad,
        "widths": ", ".join(f"{window}: {count}" for window, count in option.widths_per_panel),
        "honors": comparison.honors(option),
        "buy": "", "cost": "", "length": "", "least": "", "proof": "",
        "area": None if option.area is None else float(option.area),
        "price": None if option.cost is None else float(option.cost),
    }  # fmt: skip
    if layout is None or layout.length is None:
        return made
    least, how = proof(layout, job.units)
    made |= {
        "length": format_length(layout.length, job.units),
        "least": least,
        "proof": _trusted(layout, how),
    }
    if layout.buy is not None:
        made |= {
            "buy": format_quantity(layout.buy.total, layout.buy.unit),
            "cost": money(layout.buy, job.currency),
        }
    return made
