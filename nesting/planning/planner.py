"""The use cases: plan a job, compare the widths in which its fabrics are sold."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from nesting.construction import sewing_of
from nesting.cutting.cut import NO_PLANS, Cutting
from nesting.cutting.offers import fullness_offers
from nesting.cutting.seam_choices import MOST_WINDOWS, plans_settled
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.errors import DoesNotFitError
from nesting.order.job import Bolt, Fabric, Job, Remark
from nesting.pieces.piece import Advice
from nesting.plan.margin import offers
from nesting.plan.pattern import print_advice
from nesting.plan.plan import FabricLayout, LeftOut, Objective, Plan, SeamReport, Shortfall
from nesting.plan.question import Question
from nesting.planning.answers import set_aside, with_costs
from nesting.planning.compare import compare
from nesting.planning.doubts import open_questions, telling
from nesting.planning.effort import Effort, Listener, Spending
from nesting.planning.from_stock import (
    FromStock,
    lay_from_stock,
    layouts_from_stock,
    objective_of,
    packings_of,
    settled_cases,
)
from nesting.planning.hang_first import SHARE as FIRST_SHARE
from nesting.planning.hang_first import cut_first, first_ids, told
from nesting.planning.laying import lay_of, layout_of, require_fit
from nesting.planning.open_to import faces_first
from nesting.planning.seam_report import SHARE, barred_offers, priced
from nesting.planning.shortfall import shortfall_of, shortfalls, unused_advice
from nesting.planning.spare import SHARE as SPARE_SHARE
from nesting.planning.spare import spares_in
from nesting.planning.stakes import SHARE as OFFERS_SHARE
from nesting.planning.stakes import OfferPricing
from nesting.planning.ways import Case, Cuttings, Sideways, Solved, best_of, cases_of, out_of_phase
from nesting.units import format_length

__all__ = ["Effort", "Listener", "compare", "plan", "require_possible"]


def plan(job: Job, *, bolts: Mapping[str, Bolt] | None = None, effort: Effort | None = None) -> Plan:
    """A checked cutting plan for every fabric of a job.

    Parameters
    ----------
    job
        What was ordered.
    bolts
        Fabric key to the bolt it is cut from; default: the first on offer of each fabric.
    effort
        How long to search.

    Raises
    ------
    DoesNotFitError
        A piece is too wide for its bolt in every direction allowed.
    NothingFoundError
        No layout was found in the time.
    CheckError
        A layout failed the independent check.
    """
    with telling(job):
        return _planned(job, bolts, effort or Effort())


def _planned(job: Job, bolts: Mapping[str, Bolt] | None, effort: Effort) -> Plan:
    began = time.monotonic()
    chosen = {fabric.key: fabric.bolts[0] for fabric in job.fabrics} | dict(bolts or {})
    cuttings = Cuttings(job, chosen)
    cases = {fabric.key: cases_of(job, fabric, chosen, cuttings=cuttings) for fabric in faces_first(job)}
    questions = () if effort.layouts_only else open_questions(job, chosen)
    # Cutting counts as well: of a thousand windows it takes a part of the time that is felt.
    effort = replace(effort, seconds=max(0.0, effort.seconds - (time.monotonic() - began)))
    whole = effort
    effort, aside = set_aside(effort, len(questions))
    problems = sum(_problems(chosen[key], case) for key, case in cases.items())
    spending = effort.begin(problems + OFFERS_SHARE * bool(job.windows), whole=whole)
    plans, solved, stock = NO_PLANS, dict[str, Solved](), dict[str, FromStock]()
    seams = list[SeamReport]()
    for fabric in faces_first(job):
        mine = cases_of(job, fabric, chosen, plans, cuttings) if plans else cases[fabric.key]
        if mine and chosen[fabric.key].on_hand:
            stock[fabric.key] = lay_from_stock(settled_cases(mine, spending), spending)
            plans = stock[fabric.key].case.order.plans
        elif mine:
            solved[fabric.key], reports = _best_of(mine, spending)
            plans, seams = solved[fabric.key].plans, [*seams, *reports]
    sideways: Sideways = frozenset().union(
        *(way.sideways for way in solved.values()), *(made.sideways for made in stock.values())
    )
    forced: Sideways = frozenset().union(
        *(way.case.sideways for way in solved.values()), *(made.case.sideways for made in stock.values())
    )
    cutting = cuttings.cut(sideways, plans, sideways - forced)
    first = first_ids(job, cutting.pieces)
    if first:
        marked = (replace(piece, first=piece.id in first) for piece in cutting.pieces)
        cutting = replace(cutting, pieces=tuple(marked))
    layouts, left_out, objectives = list[FabricLayout](), list[LeftOut](), list[Objective]()
    unused, missing, costs = list[Advice](), list[Shortfall](), list[Advice]()
    for fabric in job.fabrics:
        bolt = chosen[fabric.key]
        if fabric.key in stock:
            made = _settled_stock(job, fabric, bolt, cutting, sideways, stock[fabric.key], spending)
            eased = spending.tidied_lengths(made.case.lay, made.problem, made.result)
            made = replace(made, result=eased)
            layouts += layouts_from_stock(made)
            left_out += shortfalls(made, spending)
            if (short := shortfall_of(made, spending)) is not None:
                missing.append(short)
            unused += unused_advice(made, spending)
            objectives.append(objective_of(made))
            if any(piece.first and piece.fabric == fabric.key for piece in cutting.pieces):
                text = (
                    f"{fabric.title}: lengths on hand are cut in their own order, whatever is to hang first"
                )
                costs.append(Advice("note", text, fabric=fabric.key))
        elif fabric.key in solved:
            layout, out, asked = _settled(
                job, fabric, bolt, cutting, sideways, solved[fabric.key], spending, first, costs
            )
            layouts.append(layout)
            left_out += out
            objectives += asked
    pricing = OfferPricing(job, chosen, cutting, layouts)
    settled = plans_settled(job) or effort.layouts_only
    offers_made = () if settled else fullness_offers(job, chosen, sideways, plans)
    offered = pricing.planned(offers_made, spending)
    remarks = (
        *_advice(job, cutting, layouts),
        *unused,
        *costs,
        *offered,
        *barred_offers(seams, job.currency),
    )
    answered = with_costs(job, chosen, questions, layouts, aside, interrupted=spending.interrupted)
    finished = Plan(
        job=job,
        pieces=cutting.pieces,
        layouts=tuple(layouts),
        sundries=cutting.sundries,
        headings=cutting.headings,
        advice=(*_asked(job, answered), *pricing.in_order(remarks)),
        left_out=tuple(left_out),
        panels=cutting.panels,
        seams=tuple(seams),
        objectives=tuple(objectives),
        questions=answered,
        shortfalls=tuple(missing),
    )
    return replace(finished, sewing=sewing_of(finished))


def _best_of(cases: Sequence[Case], spending: Spending) -> tuple[Solved, Sequence[SeamReport]]:
    """The best case, and what its other seam plans would take where that is wanted."""
    best = best_of(cases, spending)
    return (best, ()) if spending.effort.layouts_only else priced(best, spending)


def _asked(job: Job, questions: Sequence[Question]) -> Iterator[Advice]:
    """The questions among the remarks, before all others."""
    return (Advice("question", each.told(job.currency), fabric=each.fabric) for each in questions)


def _problems(bolt: Bolt, cases: Sequence[Case]) -> float:
    """How many shares of the time a fabric takes."""
    if bolt.on_hand:
        return packings_of(cases)
    extras = SPARE_SHARE * any(way.lay.extras for way in cases)
    extras += 2 * FIRST_SHARE * any(way.lay.job.hang_first is not None for way in cases)
    return len(cases) + SHARE * any(way.choices for way in cases) + extras


def _advice(job: Job, cutting: Cutting, layouts: Sequence[FabricLayout]) -> tuple[Advice, ...]:
    """What reading the job took for granted, then what cutting and laying it brought up."""
    used = {piece.fabric for piece in cutting.pieces}
    remarks = [
        Advice("warning", remark.text, fabric=remark.fabric)
        for remark in job.remarks
        if _concerns(job, remark, layouts)
    ]
    unused = [
        Advice("note", f'fabric "{fabric.title}" is not used by any piece', fabric=fabric.key)
        for fabric in job.fabrics
        if fabric.key not in used
    ]
    selvages = [
        Advice(
            "note",
            f"full widths are cut {format_length(layout.usable, job.units)} wide: their seam allowances "
            "reach into the selvage, of which all other pieces keep clear",
            fabric=layout.fabric.key,
        )
        for layout in layouts
        if layout.usable > layout.fit_to_cut and not layout.edge_to_edge
    ]
    hems = [
        Advice(
            "note",
            f"the {layout.hem_edge} selvage is the hem: do not trim it, and check that it is clean, straight "
            "and not drawn tight along its whole length; the other selvage is left off",
            fabric=layout.fabric.key,
        )
        for layout in layouts
        if layout.hem_edge is not None
    ]
    selvages += [*hems, *_left_plain(job)]
    return (*remarks, *cutting.advice, *print_advice(job, layouts), *selvages, *offers(job, layouts), *unused)


def _left_plain(job: Job) -> Iterator[Advice]:
    """What is not looked at, because the job is so large."""
    if plans_settled(job):
        yield Advice(
            "note",
            f"{len(job.windows)} windows: each is cut by its plain seam plan, and no other fullness is "
            f"offered; other plans and offers are compared in jobs of at most {MOST_WINDOWS} windows, so "
            "plan fewer at a time to see them",
        )


def _concerns(job: Job, remark: Remark, layouts: Sequence[FabricLayout]) -> bool:
    """Whether a remark is about a bolt that is cut from, or about no fabric at all."""
    if remark.fabric is None:
        return True
    cut_from = [layout.bolt for layout in layouts if layout.fabric.key == remark.fabric]
    if remark.bolt is None:
        return bool(cut_from)
    return job.fabric(remark.fabric).bolts[remark.bolt - 1] in cut_from


def require_possible(job: Job) -> None:
    """Refuse a job that no search can save: pieces too large or out of phase, fabric that cannot be laid.

    Raises
    ------
    JobError, DoesNotFitError
        As `plan` would, before any packing.
    """
    chosen = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    for fabric in job.fabrics:
        cases = cases_of(job, fabric, chosen)
        spending = Effort(work=0.0, workers=1).begin(len(cases))
        if chosen[fabric.key].on_hand:
            continue
        if cases and all(spending.pack(case.lay).infeasible for case in cases):
            raise DoesNotFitError(out_of_phase(cases[0].lay))


def _settled_stock(
    job: Job,
    fabric: Fabric,
    bolt: Bolt,
    cutting: Cutting,
    sideways: Sideways,
    made: FromStock,
    spending: Spending,
) -> FromStock:
    """The same on lengths on hand: laid once more if another fabric's way of cutting changed its pieces."""
    lay = lay_of(job, fabric, bolt, cutting.pieces, railroaded=any(key == fabric.key for key, _ in sideways))
    case = replace(made.case, lay=lay, cutting=cutting)
    if lay.problem == made.case.lay.problem and lay.extras == made.case.lay.extras:
        return replace(made, case=case, problem=replace(made.problem, lay=lay))
    require_fit(lay)
    return lay_from_stock((case,), spending)


def _settled(
    job: Job,
    fabric: Fabric,
    bolt: Bolt,
    cutting: Cutting,
    sideways: Sideways,
    solved: Solved,
    spending: Spending,
    first: frozenset[str],
    costs: list[Advice],
) -> tuple[FabricLayout, tuple[LeftOut, ...], tuple[Objective, ...]]:
    """The fabric's layout; packed once more if another fabric's way of cutting changed its pieces.

    Where the widths that are to hang ``first`` make it longer, that is added to the ``costs``.
    """
    lay = lay_of(job, fabric, bolt, cutting.pieces, railroaded=any(key == fabric.key for key, _ in sideways))
    result, bound = solved.result, solved.bound
    if lay.problem != solved.case.lay.problem:
        require_fit(lay)
        result = spending.pack(lay)
        bound = result.bound
    shortest = spending.tidied(lay, result)
    result = cut_first(lay, shortest, first, spending)
    if said := told(lay, shortest, result):
        costs.append(Advice("note", said, fabric=fabric.key))
    plain = solved.plain
    rule = rule_of_thumb_for(job, plain.cutting.pieces, fabric.key, bolt, plain.sideways)
    spares = spares_in(lay, result, spending)
    layout, out = layout_of(lay, result, bound, rule, spares.filled)
    asked = spares.objective(lay, spares.filled.result, bound.length, bound.method)
    return layout, out, () if asked is None else (asked,)
