"""Plans, pieces and comparisons as tables for a person to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from nesting.order.job import Job, Remark
from nesting.packing.result import Status
from nesting.pieces.piece import Advice, Piece
from nesting.plan.comparison import Comparison, Option
from nesting.plan.cut_rows import CutRow, cuts_of
from nesting.plan.cuts import cutting_words
from nesting.plan.numbering import Numbering
from nesting.plan.offcuts import offcuts_of
from nesting.plan.plan import Buy, FabricLayout, Objective, Plan, SeamReport, Shortfall
from nesting.plan.seam_words import seam_row
from nesting.plan.sequence import price_words
from nesting.plan.shortage import shortfall_rows
from nesting.units import Unit, format_length, format_quantity, format_run, to_decimal
from nesting.units import grid as tape_step

#: So many offcuts are told of with each layout; the plan document has them all.
MOST_OFFCUTS = 4
#: So many rows of a list are shown on the terminal; setting thousands takes longer than planning them.
MOST_ROWS = 500


def plan_table(plan: Plan) -> RenderableType:
    """What to buy and where every piece lies, fabric by fabric."""
    parts: list[RenderableType] = [Text(plan.job.title, style="bold"), Text()]
    cuts = cuts_of(plan)
    for layout in plan.layouts:
        parts += [
            _buying(plan, layout, cuts.numbers), _cut_list(plan, cuts.of(layout)), *_offcuts(plan, layout)
        ]  # fmt: skip
    parts += [stage_table(objective, plan.job) for objective in plan.objectives]
    parts += [_seam_plans(plan, report) for report in plan.seams if _worth_telling(report)]
    if plan.sundries:
        parts.append(_sundries(plan))
    if plan.what_if:
        parts.append(_what_if(plan))
    parts += [shortfall_table(plan, short) for short in plan.shortfalls]
    if len(plan.short) < len(plan.left_out):
        parts.append(_left_out(plan))
    return Group(*parts)


def _worth_telling(report: SeamReport) -> bool:
    """Whether another plan than the first was chosen, or one that is barred would take less."""
    first, chosen = report.offers[0], report.chosen
    lengths = [offer.length for offer in report.offers if offer.length is not None]
    return chosen is not first or (chosen.length is not None and min(lengths) < chosen.length)


def _seam_plans(plan: Plan, report: SeamReport) -> RenderableType:
    """The seam plans of a window with what each would take."""
    layer = "" if report.layer == "panel" else f", {report.layer}"
    title = f"seam plans of {report.window}{layer} on {plan.job.fabric(report.fabric).title}"
    table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), title=title, title_justify="left")
    for heading in ("", "plan", "first panel"):
        table.add_column(heading)
    for heading in ("pieces", "layout", "buy"):
        table.add_column(heading, justify="right")
    table.add_column("allowed")
    for offer in report.offers:
        table.add_row(*seam_row(offer, report, plan.job.units))
    return table


def money(amount: object, currency: str) -> str:
    """An amount with the job's currency, empty where there is none."""
    return "" if amount is None else f"{currency}{amount:.2f}"


def bought(buy: Buy) -> str:
    """``8 1/8 yd``."""
    return format_quantity(buy.total, buy.unit)


def _buying(plan: Plan, layout: FabricLayout, numbers: Numbering) -> RenderableType:
    unit, buy = plan.job.units, layout.buy
    grid = Table.grid(padding=(0, 2))
    grid.add_column(style="bold")
    grid.add_column()
    fit = format_length(layout.fit_to_cut, unit)
    width = f"{format_length(layout.bolt.width, unit)} wide, usable {fit}"
    if layout.hem_edge is not None:
        width += f", its {layout.hem_edge} edge is the hem"
    elif layout.edge_to_edge:
        width += ", selvages kept at the sides of panels"
    elif layout.usable > layout.fit_to_cut:
        width += f", full widths {format_length(layout.usable, unit)} with their seams in the selvage"
    ordered = plan.job.fabric(layout.fabric.key).shrinkage
    if ordered is not None and ordered.washed == "before":
        width += " once washed"
    grid.add_row(numbers.fabric(layout), width)
    if layout.there is not None:
        grid.add_row("length on hand", _on_hand(layout, unit))
    if buy is not None:
        cost = money(buy.cost, plan.job.currency)
        grid.add_row("buy", f"{bought(buy)}{'   ' + cost if cost else ''}")
        grid.add_row("", f"layout {_to_add(buy.length, unit)}")
        for allowance in buy.allowances:
            grid.add_row("", f"+ {allowance.name} {_to_add(allowance.length, unit)}")
        grid.add_row("", f"= {_to_add(buy.needed, unit)}, sold by {format_quantity(buy.step, buy.unit)}")
    grid.add_row("proven" if layout.on_hand else "proven least", proven(layout, unit))
    if layout.rule_of_thumb is not None:
        grid.add_row("rule of thumb", _against_rule(layout, unit))
    if layout.longer_than_free is not None:
        grid.add_row("across first", price_words(layout, unit))
    grid.add_row("unused", f"{float(100 * layout.waste):.1f} % of the layout")
    if layout.length is not None:
        grid.add_row("to cut", cutting_words(layout, unit).replace("×", "x"))
    return grid


def _on_hand(layout: FabricLayout, unit: Unit) -> str:
    """Which length on hand, its lot, how long it is and how much of it is left."""
    there = layout.there
    if there is None or layout.length is None:
        return ""
    lot = f", lot {there.lot}" if there.lot else ""
    left = format_length(there.length - layout.reserve - layout.length, unit)
    kept = f", {format_length(layout.reserve, unit)} kept to find the pattern" if layout.reserve else ""
    said = f"{there.name}{lot}: {format_length(there.length, unit)}"
    return f"{said}{kept}, cut into {format_length(layout.length, unit)}, {left} left behind"


def _offcuts(plan: Plan, layout: FabricLayout) -> Iterator[RenderableType]:
    """What is left in one piece, the largest first, where pieces would be cut from what is left over."""
    if not any(piece.optional or layout.there for piece in plan.pieces):
        return
    unit = plan.job.units
    words = [
        f"{format_length(one.width, unit)} x {format_length(one.length, unit)} at "
        f"{format_length(one.start, unit)}, {format_length(one.x, unit)} from the left"
        for one in offcuts_of(layout, unit)[:MOST_OFFCUTS]
    ]
    if words:
        yield Padding(Text("offcuts, the largest first: " + "; ".join(words)), (0, 0, 1, 0))


def stage_table(objective: Objective, job: Job) -> RenderableType:
    """What was asked of the lengths on hand, one after the other, and what is proven."""
    title = f"{job.fabric(objective.fabric).title}: {objective.status}, asked in this order"
    table = Table(box=SIMPLE_HEAD, pad_edge=False, title=title, title_justify="left")
    for heading in ("stage", "reached", "proven bound"):
        table.add_column(heading, justify="left" if heading == "stage" else "right")
    for stage in objective.stages:
        figures = (stage.value, stage.bound)
        told = map(str, figures) if stage.most else (format_length(one, job.units) for one in figures)
        table.add_row(stage.name, *told)
    untouched = ", ".join(objective.untouched)
    return Group(table, Text(f"not cut into: {untouched}\n")) if untouched else table


def shortfall_table(plan: Plan, short: Shortfall) -> RenderableType:
    """What is on hand, why it is not enough, what to buy, and what would use it."""
    fabric = plan.job.fabric(short.fabric)
    table = Table(
        box=SIMPLE_HEAD,
        pad_edge=False,
        show_header=False,
        title=f"Not enough fabric on hand: {fabric.title}",
        title_justify="left",
    )
    table.add_column()
    table.add_column(ratio=1)
    for label, words in shortfall_rows(plan, short):
        table.add_row(label, words)
    return table


def _to_add(ticks: int, unit: Unit) -> str:
    """A length as it stands in a sum: what a tape cannot show as a decimal, so that the sum adds up."""
    if ticks % tape_step(unit) == 0:
        return format_length(ticks, unit)
    return f"{to_decimal(ticks, unit):.3f}".rstrip("0") + f" {unit}"


def proven(layout: FabricLayout, unit: Unit) -> str:
    """How good the layout is, in words."""
    least = format_length(layout.bound.length, unit)
    if layout.on_hand is not None:
        if layout.all_done:
            return "cut already"
        closed = layout.status is Status.OPTIMAL
        return "every stage below" if closed else "not every stage below"
    if layout.gap == 0:
        return f"{least}: no layout of these pieces is shorter ({layout.bound.rests_on})"
    if layout.gap is None or layout.length is None:
        return least
    over = format_length(layout.length - layout.bound.length, unit)
    percent = f"{float(100 * layout.gap):.1f} %"
    return f"{least}, so this one is at most {over} ({percent}) longer than the shortest possible"


def _against_rule(layout: FabricLayout, unit: Unit) -> str:
    rule = layout.rule_of_thumb
    if rule is None or layout.length is None:
        return ""
    saved = rule.length - layout.length
    tail = f", {format_length(saved, unit)} more than this plan" if saved > 0 else ""
    return f"{format_length(rule.length, unit)}{tail}"


def _cut_list(plan: Plan, rows: Sequence[CutRow]) -> RenderableType:
    unit = plan.job.units
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in ("cut", "from end", "to", "from left", "wide", "long"):
        table.add_column(heading, justify="right")
    table.add_column("piece", ratio=1)
    letters = any(row.letter for row in rows)
    lines = any(row.line is not None for row in rows)
    if lines:
        table.add_column("line at", justify="right")
    if letters:
        table.add_column("drop")
    table.add_column("TOP")
    for row in rows[:MOST_ROWS]:
        ends = (row.start, row.end, row.across, row.wide, row.long)
        cells = [row.name, *(format_length(end, unit, name=False) for end in ends), _called(row)]
        if lines:
            cells.append("" if row.line is None else format_length(row.line, unit, name=False))
        table.add_row(*cells, *([row.letter] if letters else []), _POINTS[row.top])
    return Padding(Group(table, *_more(len(rows), "cuts")), (0, 0, 1, 0))


def _more(rows: int, what: str) -> list[Text]:
    """That a list has more rows than are shown, and where they all are."""
    if rows <= MOST_ROWS:
        return []
    return [Text(f" and {rows - MOST_ROWS} {what} more: --format json or -o FOLDER gives every one")]


_POINTS = {"up": "from end ↑", "down": "to end ↓", "left": "left ←", "right": "right →"}


def _called(row: CutRow) -> str:
    laid, block = row.first, row.group
    name, copies = row.title, laid.piece.copies
    if laid.turn:
        name += ", turned"
    if block.count == 1:
        return f"{name} ({laid.copy} of {copies})" if copies > 1 else name
    return f"{name}, {block.count} of {copies}: {block.arranged}"


def _what_if(plan: Plan) -> RenderableType:
    table = Table(
        box=SIMPLE_HEAD, pad_edge=False, title="What if: changes that would pay", title_justify="left"
    )
    table.add_column("saved", justify="right")
    table.add_column("change", ratio=1)
    for one in plan.what_if:
        table.add_row(money(one.money, plan.job.currency), one.text)
    return table


def _sundries(plan: Plan) -> RenderableType:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, title="Also needed", title_justify="left")
    table.add_column("what")
    table.add_column("how much", justify="right")
    table.add_column("for")
    table.add_column("note")
    for sundry in plan.sundries[:MOST_ROWS]:
        amount = str(sundry.count) if sundry.count is not None else ""
        if sundry.length is not None:
            length = format_run(sundry.length, plan.job.units)
            amount = f"{amount} x {length}" if amount else length
        table.add_row(sundry.name, amount, sundry.window or "", sundry.note)
    return Group(table, *_more(len(plan.sundries), "things"))


def _left_out(plan: Plan) -> RenderableType:
    table = Table(
        box=SIMPLE_HEAD, pad_edge=False, title="Optional, no room left for them", title_justify="left"
    )
    for heading in ("piece", "copies", "would need further"):
        table.add_column(heading)
    for out in plan.left_out:
        if out.window:
            continue
        table.add_row(out.piece, str(out.copies), format_length(out.shortfall, plan.job.units))
    return table


def pieces_table(pieces: Iterable[Piece], unit: Unit) -> RenderableType:
    """Every piece with its arithmetic."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in ("copies", "wide", "long"):
        table.add_column(heading, justify="right")
    table.add_column("fabric")
    table.add_column("piece and how it was worked out", ratio=1)
    for piece in pieces:
        lines = "\n".join(f"  {line}" for line in piece.arithmetic(unit))
        lines += "\n  cut with the fabric turned sideways" if piece.sideways else ""
        table.add_row(
            str(piece.copies),
            format_length(piece.width, unit, name=False),
            format_length(piece.length, unit, name=False),
            piece.fabric,
            f"{piece.name}{' (optional)' if piece.optional else ''}\n{lines}",
        )
    return table


def comparison_table(comparison: Comparison) -> RenderableType:
    """Each fabric on every bolt, the best marked, with remarks below."""
    parts: list[RenderableType] = []
    for key in dict.fromkeys(option.fabric.key for option in comparison.options):
        mine = [option for option in comparison.options if option.fabric.key == key]
        parts += [Text(mine[0].fabric.title, style="bold"), _bolts(comparison, mine)]
        lines = [_remarks(comparison, option) for option in mine]
        parts += [Padding(Text(line), (0, 0, 0, 1)) for line in lines if line]
        parts.append(Text())
    return Group(*parts)


def _bolts(comparison: Comparison, options: list[Option]) -> Table:
    unit, currency = comparison.job.units, comparison.job.currency
    table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for heading in ("bolt", "widths", "seams", "layout", "least", "buy", "cost", "unused"):
        table.add_column(heading, justify="right")
    for option in options:
        best = "least fabric" in comparison.honors(option)
        table.add_row(*_option_row(option, unit, currency), style="bold" if best else "")
    return table


def _remarks(comparison: Comparison, option: Option) -> str:
    """What else is to say of one bolt."""
    layout, said = option.layout, list[str](comparison.honors(option))
    if not option.offered:
        said.append("not on offer")
    if option.bolt.on_hand:
        said.append("lengths on hand left aside")
    if layout is not None:
        said.append("layout proven shortest" if layout.gap == 0 else "perhaps shorter: give it more time")
    sideways = option.railroad
    said += [f"not sideways{sideways[2:]}" if sideways.startswith("no:") else sideways, option.reason]
    words = "; ".join(word for word in said if word)
    return f"{format_length(option.bolt.width, comparison.job.units)}: {words}"


def _option_row(option: Option, unit: Unit, currency: str) -> list[str]:
    width, layout = format_length(option.bolt.width, unit), option.layout
    if layout is None or layout.length is None or layout.buy is None:
        return [width, "", "", "none"]
    counts = sorted({count for _, count in option.widths_per_panel})
    return [
        width,
        " to ".join(str(count) for count in dict.fromkeys((counts[0], counts[-1]))) if counts else "",
        str(option.seams),
        format_length(layout.length, unit),
        format_length(layout.bound.length, unit),
        bought(layout.buy),
        money(layout.buy.cost, currency),
        f"{float(100 * layout.waste):.0f} %",
    ]


def question_lines(job: Job) -> Iterator[str]:
    """What is asked of the prints of a job that is not planned, without what each answer costs."""
    from nesting.planning.doubts import open_questions

    for one in open_questions(job, {fabric.key: fabric.bolts[0] for fabric in job.fabrics}):
        yield f"question: {one.question.told(job.currency)}"


def remark_lines(remarks: Iterable[Remark]) -> Iterator[str]:
    """What reading a job brought up."""
    for remark in remarks:
        yield f"warning: {remark}"


def advice_lines(advice: Iterable[Advice], *, ranked: bool = False) -> Iterator[str]:
    """Remarks for the maker, questions and warnings first; or as they stand, where a plan ranked them."""
    order = {"question": 0, "warning": 1, "offer": 2, "note": 3}
    for remark in advice if ranked else sorted(advice, key=lambda a: order[a.kind]):
        about = f"{remark.window}: " if remark.window else ""
        yield f"{remark.kind}: {about}{remark.for_file}"
