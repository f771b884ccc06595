"""The questions of a plan, as they stand in its document."""

from __future__ import annotations

from typing import Any

from nesting.files.buy_writing import buy_document
from nesting.plan.question import Answer, Question
from nesting.units import Unit


def question_document(question: Question, unit: Unit) -> dict[str, Any]:
    """A question with every answer and what it would cost."""
    return {
        "about": question.about,
        "fabric": question.fabric,
        "bolt": question.bolt,
        "question": question.text,
        "check": question.check,
        "answers": [_answer(answer, unit) for answer in question.answers],
    }


def _answer(answer: Answer, unit: Unit) -> dict[str, Any]:
    return {
        "answer": answer.text,
        "planned": answer.planned,
        "enter": answer.enter,
        "buy": None if answer.buy is None else buy_document(answer.buy, unit),
    }
