"""Reads a plan document back into a `Plan`, so that it can be drawn and printed without solving."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from nesting.errors import NestingError
from nesting.files.buy_reading import read_buy, read_question, read_shortfall
from nesting.files.content import content_of
from nesting.files.plan_form import (
    HeadingForm,
    LaidForm,
    LayoutForm,
    LeftOutForm,
    ObjectiveForm,
    PanelForm,
    PieceForm,
    PlanForm,
    RepeatForm,
    SeamPlansForm,
    WhatIfForm,
)
from nesting.files.renamed import REWRITES, is_earlier
from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric, FabricFlaw, Job, LengthOnHand
from nesting.packing.problem import Flaw, Match
from nesting.packing.result import Aim, Bound, Incumbent
from nesting.pieces.piece import Advice, HeadingPlan, HeadingSpot, PanelPlan, Piece, Steps, Sundry
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.pieces.washing import washed
from nesting.plan.plan import (
    FabricLayout,
    Laid,
    LeftOut,
    Objective,
    Plan,
    SeamOffer,
    SeamReport,
    Shortfall,
    WhatIf,
)
from nesting.repeat import Repeat
from nesting.sewing.written import read_sewing
from nesting.units import Unit, grid, round_down, to_ticks

#: A plan of 100,000 pieces takes a third of it.
_MOST_BYTES: Final = 256 * 1024 * 1024
_MOST_SHOWN: Final = 12
_DROP_PARTS: Final = 100


def read_plan(path: Path, data: bytes | None = None) -> Plan:
    """The plan of a JSON file that `plan_document` described.

    Parameters
    ----------
    path
        A document of the form ``nesting-plan/2``, at most 256 MiB.
    data
        What is in it, where that is known already.

    Returns
    -------
    Plan
        Lengths to the nearest tick. Nothing is verified beyond its form: what the document claims
        (status, bound) is what the plan says. Without ``order`` the job holds the fabrics alone.

    Raises
    ------
    NestingError
        The file cannot be read, is no such document, or lays a piece that it does not list.
    """
    data = bytes_of(path) if data is None else data
    try:
        form = PlanForm.model_validate_json(data)
        return _plan(form)
    except ValidationError as error:
        raise NestingError(form_message(error, path)) from None
    except RecursionError:
        raise NestingError(f"{path}: nests too deep: expected a plan as `nesting plan` writes it") from None
    except NestingError as error:
        raise NestingError(f"{path}: {error}") from None


def read_plan_document(path: Path) -> dict[str, Any]:
    """The plan document of a JSON file as it stands, for `nesting.check.check_plan_document`.

    Raises
    ------
    NestingError
        The file cannot be read or is no JSON table.
    """
    try:
        document = json.loads(bytes_of(path))
    except (ValueError, RecursionError) as error:
        raise NestingError(
            f"{path}: no JSON ({error}): expected a plan as `nesting plan` writes it"
        ) from None
    if not isinstance(document, dict):
        raise NestingError(f"{path}: no table: expected a plan as `nesting plan` writes it")
    return document


def bytes_of(path: Path) -> bytes:
    """What is in a file of at most 256 MiB.

    Raises
    ------
    NestingError
        It is larger or cannot be read.
    """
    try:
        data = content_of(path, _MOST_BYTES)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise NestingError(
            f"{path}: the plan cannot be read ({reason}): expected a file such as plan.json"
        ) from None
    if len(data) > _MOST_BYTES:
        raise NestingError(f"{path}: the file is over 256 MiB: expected a plan, such as plan.json")
    return data


def form_message(
    error: ValidationError, path: Path, form: str = "nesting-plan/2", command: str = "plan"
) -> str:
    """What a document lacks of its form, in words."""
    noun = "comparison" if command == "compare" else command
    details = error.errors(include_url=False)
    if details[0]["type"] == "json_invalid":
        reason = details[0]["ctx"]["error"]
        return f"{path}: this is no JSON ({reason}): expected a {noun} as `nesting {command}` writes it"
    if details[0]["loc"] == ("schema",) and is_earlier(details[0]["input"]):
        return f"{path}: an earlier version wrote this: expected the form {form}; {REWRITES}"
    lines = [f"  - {_place(detail['loc'])}: {detail['msg']}" for detail in details[:_MOST_SHOWN]]
    if len(details) > _MOST_SHOWN:
        lines.append(f"  - and {len(details) - _MOST_SHOWN} more")
    return "\n".join([f"{path}: no {noun} of the form {form}", *lines])


def _place(loc: tuple[str | int, ...]) -> str:
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in loc)
    return text.lstrip(".") or "the document"


class _Ticks:
    """Turns the document's decimals into ticks."""

    def __init__(self, unit: Unit) -> None:
        self.unit = unit

    def __call__(self, value: float) -> int:
        return to_ticks(value, self.unit)

    def maybe(self, value: float | None) -> int | None:
        """None stays None."""
        return None if value is None else self(value)


def _plan(form: PlanForm) -> Plan:
    ticks = _Ticks(form.units)
    pieces = tuple(_piece(piece, ticks) for piece in form.pieces)
    by_id = {piece.id: piece for piece in pieces}
    job = form.order or _job(form, ticks)
    if job.units != form.units:
        raise NestingError(f"units = {form.units}, but its order is in {job.units}: expected the same")
    return Plan(
        job=job,
        pieces=pieces,
        layouts=tuple(_layout(layout, job, by_id, ticks) for layout in form.layouts),
        sundries=tuple(
            Sundry(sundry.name, sundry.count, ticks.maybe(sundry.length), sundry.window, sundry.note)
            for sundry in form.sundries
        ),
        headings=tuple(_heading(heading, ticks) for heading in form.headings),
        advice=tuple(Advice(a.kind, a.text, a.window, a.fabric, _money(a.money)) for a in form.advice),
        left_out=tuple(_left_out(out, ticks) for out in form.left_out),
        shortfalls=_shortfalls(form, by_id),
        objectives=tuple(_objective(objective, ticks) for objective in form.objectives),
        panels=tuple(_panel(panel, ticks) for panel in form.panels),
        what_if=tuple(_what_if(one, ticks) for one in form.what_if),
        questions=tuple(read_question(one, form.units) for one in form.questions),
        seams=tuple(_seam_report(plans, ticks) for plans in form.seam_plans),
        sewing=tuple(read_sewing(one, f"sewing[{at}]") for at, one in enumerate(form.sewing)),
    )


def _shortfalls(form: PlanForm, by_id: Mapping[str, Piece]) -> tuple[Shortfall, ...]:
    """What fabrics are short of; of a plan that does not say it, which they are."""
    if form.shortfalls:
        return tuple(read_shortfall(short, form.units) for short in form.shortfalls)
    short = [by_id[out.piece].fabric for out in form.left_out if out.window and out.piece in by_id]
    return tuple(Shortfall(fabric, None, 0) for fabric in dict.fromkeys(short))


def _money(amount: float | None) -> Decimal | None:
    """To the cent, as it was written."""
    return None if amount is None else Decimal(repr(amount)).quantize(Decimal("0.01"))


def _what_if(form: WhatIfForm, ticks: _Ticks) -> WhatIf:
    money = None if form.money is None else Decimal(repr(form.money))
    return WhatIf(
        form.kind,
        form.window,
        form.fabric,
        form.was,
        form.now,
        form.saves,
        ticks(form.length),
        money,
        form.least,
        form.text,
    )


def _left_out(form: LeftOutForm, ticks: _Ticks) -> LeftOut:
    return LeftOut(
        form.piece,
        form.copies,
        ticks(form.shortfall),
        form.window,
        form.selling_steps,
        ticks.maybe(form.buy),
        form.least,
    )


def _objective(form: ObjectiveForm, ticks: _Ticks) -> Objective:
    stages = tuple(
        Aim(
            stage.name,
            round(stage.value) if stage.measure == "points" else ticks(stage.value),
            round(stage.bound) if stage.measure == "points" else ticks(stage.bound),
            stage.goal == "most",
            stage.bound_method,
            stage.certificate,
        )
        for stage in form.stages
    )
    return Objective(form.fabric, stages, form.stop, form.seconds, form.untouched)


def _job(form: PlanForm, ticks: _Ticks) -> Job:
    """The job behind a plan without ``order``: its fabrics, as far as the layouts tell."""
    fabrics = dict[str, Fabric]()
    for layout in form.layouts:
        naps = [piece.nap for piece in form.pieces if piece.fabric == layout.fabric]
        found = Fabric(
            key=layout.fabric,
            bolts=(),
            nap=naps[0] if naps else "none",
            repeat=_repeat(layout.repeat, ticks),
            start=ticks.maybe(layout.start),
            sideways_print=layout.repeat is not None and layout.repeat.sideways,
        )
        fabric, bolt = fabrics.get(layout.fabric, found), _bolt(layout, (), ticks)
        fabrics[layout.fabric] = replace(fabric, bolts=tuple(dict.fromkeys((*fabric.bolts, bolt))))
    return Job(form.title, form.units, tuple(fabrics.values()), currency=form.currency)


def _piece(form: PieceForm, ticks: _Ticks) -> Piece:
    match = form.match
    steps = form.steps
    return Piece(
        id=form.id,
        name=form.name or form.id,
        role=form.role,
        fabric=form.fabric,
        width=ticks(form.width),
        length=ticks(form.length),
        copies=form.copies,
        turnable=form.turnable,
        match=None if match is None else Match(match.level, match.seam, ticks(match.x), ticks(match.y)),
        arrow_group=form.arrow_group,
        nap=form.nap,
        optional=form.optional,
        window=form.window or None,
        room=form.room,
        side=form.side,
        hidden=form.hidden,
        finished_width=ticks.maybe(form.finished_width),
        finished_length=ticks.maybe(form.finished_length),
        hem_line=ticks.maybe(form.hem_line),
        width_steps=steps.width if steps else Steps("cut width").add("as given", ticks(form.width)),
        length_steps=steps.length if steps else Steps("cut length").add("as given", ticks(form.length)),
        joined_to=form.joined_to,
        joined_at=form.joined_at if len(form.joined_at) == len(form.joined_to) else (),
        notes=form.notes,
        sideways=form.sideways,
        top=form.top,
        hem_edge=form.hem_edge,
        first=form.first,
    )


def _repeat(form: RepeatForm | None, ticks: _Ticks) -> Repeat | None:
    if form is None:
        return None
    return Repeat(
        ticks(form.length), ticks.maybe(form.width), Fraction(form.drop).limit_denominator(_DROP_PARTS)
    )


def _layout(form: LayoutForm, job: Job, pieces: Mapping[str, Piece], ticks: _Ticks) -> FabricLayout:
    fabric = job.fabric(form.fabric)
    repeat = _repeat(form.repeat, ticks)
    bolt = _bolt(form, fabric.bolts, ticks)
    _, table = washed(fabric, bolt)
    table = replace(table, usable=round_down(table.usable, grid(ticks.unit)))
    if repeat != fabric.repeat:
        fabric = replace(fabric, repeat=repeat)
    if repeat is not None and form.start is None:
        fabric = replace(fabric, start=None)
    if form.on_hand is not None and repeat is not None:
        fabric = replace(fabric, start=ticks.maybe(form.start))
    return FabricLayout(
        fabric=fabric,
        bolt=bolt,
        usable=ticks(form.usable_width),
        placements=tuple(_laid(laid, pieces, ticks) for laid in form.placements),
        length=ticks.maybe(form.length),
        bound=Bound(
            ticks(form.lower_bound or 0), form.bound_method, form.bound_certificate, form.open_certificate
        ),
        status=form.status,
        stop=form.stop,
        seconds=form.seconds,
        buy=None if form.buy is None else read_buy(form.buy, ticks.maybe(form.length), ticks.unit),
        rule_of_thumb=None
        if form.rule_of_thumb is None
        else RuleOfThumb(ticks(form.rule_of_thumb.length), form.rule_of_thumb.lines),
        on_hand=form.on_hand,
        squaring=ticks(form.squaring),
        railroaded=form.railroaded,
        incumbents=tuple(
            Incumbent(ticks.maybe(item.length), ticks(item.bound), item.method, item.seconds)
            for item in form.incumbents
        ),
        on_table=None if table == bolt else table,
        cutting=form.cutting.way,
        free_length=ticks.maybe(form.cutting.free_length),
        bought_lot=form.lot if form.on_hand is None else None,
        spoiled=tuple(
            Flaw(ticks(flaw.x), ticks(flaw.y), ticks(flaw.width), ticks(flaw.length)) for flaw in form.flaws
        ),
        reserve=ticks(form.start_reserve),
    )


def _bolt(form: LayoutForm, known: tuple[Bolt, ...], ticks: _Ticks) -> Bolt:
    """The bolt of the order, or else what the layout tells of it."""
    width = ticks(form.bolt_width)
    if form.bolt is not None and 0 <= form.bolt < len(known) and known[form.bolt].width == width:
        return known[form.bolt]
    on_hand: tuple[LengthOnHand, ...] = ()
    if form.on_hand is not None and form.on_hand_length is not None:
        flaws = tuple(
            FabricFlaw(ticks(flaw.y), ticks(flaw.length), ticks(flaw.x), ticks(flaw.width))
            for flaw in form.flaws
        )
        on_hand = (LengthOnHand(ticks(form.on_hand_length), form.on_hand, lot=form.lot, flaws=flaws),)
    step = form.buy.step if form.buy else None
    price = form.buy.price if form.buy else None
    return Bolt(
        width=width,
        usable=ticks(form.usable_width if form.fit_width is None else form.fit_width),
        match=ticks.maybe(form.match_width),
        printed=form.printed,
        price=None if price is None else Decimal(repr(price)),
        sold_by=defaults_for(ticks.unit).sold_by if step is None else ticks(step),
        on_hand=on_hand,
    )


def _laid(form: LaidForm, pieces: Mapping[str, Piece], ticks: _Ticks) -> Laid:
    piece = pieces.get(form.piece)
    if piece is None:
        raise NestingError(f'a placement lays "{form.piece}": expected the id of a piece in "pieces"')
    return Laid(
        piece=piece,
        copy=form.copy_number,
        x=ticks(form.x),
        y=ticks(form.y),
        width=ticks(form.width),
        length=ticks(form.length),
        turn=form.turn,
        arrow=form.arrow,
        letter=form.letter,
        done=form.done,
    )


def _heading(form: HeadingForm, ticks: _Ticks) -> HeadingPlan:
    return HeadingPlan(
        window=form.window,
        side=form.side,
        width=ticks(form.width),
        spots=tuple(
            HeadingSpot(spot.kind, ticks(spot.start), ticks(spot.end), spot.number) for spot in form.spots
        ),
        steps=form.steps,
        remarks=form.remarks,
    )


def _panel(form: PanelForm, ticks: _Ticks) -> PanelPlan:
    return PanelPlan(
        window=form.window,
        key=form.key,
        side=form.side,
        count=form.count,
        flat=ticks(form.flat),
        finished=ticks(form.finished),
        length=ticks(form.length),
        cuts=tuple(ticks(cut) for cut in form.cuts),
        seams=tuple(ticks(seam) for seam in form.seams),
        steps=form.steps,
        cut_width=ticks.maybe(form.cut_width),
        seam_allowance=ticks.maybe(form.seam_allowance),
        left_hem=ticks.maybe(form.left_hem),
        right_hem=ticks.maybe(form.right_hem),
        overlap=ticks.maybe(form.overlap),
    )


def _seam_report(form: SeamPlansForm, ticks: _Ticks) -> SeamReport:
    offers = (
        SeamOffer(
            told=option.plan,
            cuts=tuple(ticks(cut) for cut in option.cuts),
            pieces=option.pieces,
            length=ticks.maybe(option.length),
            bound=ticks.maybe(option.lower_bound),
            buy=None if option.buy is None else read_buy(option.buy, ticks.maybe(option.length), ticks.unit),
            chosen=option.chosen,
            allowed_by=option.allowed_by,
        )
        for option in form.options
    )
    return SeamReport(form.window, form.layer, form.fabric, tuple(offers))
