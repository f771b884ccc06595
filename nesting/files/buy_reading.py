"""Reads back what a document says to buy, what fabric on hand is short of, and the questions it asks."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from nesting.errors import NestingError
from nesting.files.plan_form import AnswerForm, BuyForm, QuestionForm, ShortfallForm
from nesting.order.defaults import defaults_for
from nesting.plan.plan import Shortfall
from nesting.plan.purchase import Allowance, Buy
from nesting.plan.question import Answer, Question
from nesting.units import Unit, round_nearest, to_ticks, unit_ticks


def read_buy(form: BuyForm, length: int | None, unit: Unit) -> Buy:
    """What to buy; ``length`` is the layout's, where the form does not say it.

    Raises
    ------
    NestingError
        The selling step is not above 0.
    """
    step = defaults_for(unit).sold_by if form.step is None else to_ticks(form.step, unit)
    if step <= 0:
        raise NestingError(f"buy.step = {form.step}: expected a length above 0")
    said = length if form.length is None else to_ticks(form.length, unit)
    bought = round_nearest(Fraction(form.quantity) * unit_ticks(form.unit))
    return Buy(
        length=bought if said is None else said,
        allowances=tuple(Allowance(item.name, to_ticks(item.length, unit)) for item in form.allowances),
        step=step,
        unit=form.unit,
        price=None if form.price is None else Decimal(repr(form.price)),
    )


def read_question(form: QuestionForm, unit: Unit) -> Question:
    """A question with its answers."""
    answers = tuple(_answer(answer, unit) for answer in form.answers)
    return Question(form.about, form.fabric, form.bolt, form.question, form.check, answers)


def _answer(form: AnswerForm, unit: Unit) -> Answer:
    buy = None if form.buy is None else read_buy(form.buy, None, unit)
    return Answer(form.answer, form.planned, form.enter, buy)


def read_shortfall(form: ShortfallForm, unit: Unit) -> Shortfall:
    """What one fabric is short of."""
    return Shortfall(
        form.fabric,
        None if form.buy is None else read_buy(form.buy, None, unit),
        to_ticks(form.least, unit),
        tuple((idle.on_hand, idle.why) for idle in form.not_cut_into),
        None if form.if_one_lot is None else read_buy(form.if_one_lot, None, unit),
    )
