"""The words people read: none that the house does without, no British spelling, no file syntax on paper."""

from __future__ import annotations

import re
from functools import cache

import pytest

from nesting.web.form_faults import told_faults, without_syntax
from tests.texts import Text, texts

#: Words that are said otherwise here.
FORBIDDEN = (
    r"\bshall\b", "nought", "suffic", r"\btak(?:e|es|ing) (?:it |them )?away\b", "hand's width",
    "absurd", r"\bcloths?\b", "fit to cut", "left empty", r"\bdear(?:er|est)?\b", "onward", r"\bat hand\b",
    "trade rule",
    "what the planner", "the shortest decides", r"\bheretofore\b", r"\bthereof\b",
    "is that meant", r"\breckons? with\b", r"\blies? further\b", r"\bbesides[.;]", r"\banew\b",
)  # fmt: skip
BRITISH = (
    r"\b(?:centi|milli)?metres?\b", r"\bcentr(?:e|ed|es|ing)\b", "towards", "mitre", r"colour", r"\bgrey\b",
    "curtain", "selvedge", "eyelet", r"\b\w{3,}isation\b", "favour", "labelled", "travelled", r"\bcheque\b",
    r"\b(?:cancel|model|signal|level|channel|bevel|panel)l(?:ed|ing)\b", r"\banalys(?:e|ing)",
    r"\b(?:for|back|up|down|in|out|after)wards\b", r"\b(?:behavi|neighb|hon|flav|harb|lab|hum)our",
    r"\b(?:organ|real|recogn|minim|maxim|optim|summar|apolog)is(?:e|ing)", "catalogue", r"\bprogrammes?\b",
    r"\blicence", r"\bpractis", "judgement", "whilst", "amongst", r"\bfibre",
    r"\b(?:learn|spel|burn|dream)t\b", "aluminium", "defence", "offence", r"\bkerb",
    r"\bplough", r"\bsceptic",
    r"\bmoulding\b", r"\bcosy\b", r"\bjewellery\b", r"\binstal(?:l?ment)?\b", r"\bfulfil\b", r"\benrol\b",
)  # fmt: skip
#: A press cloth is called so; words of earlier versions are named where they are translated.
PRESS = re.compile("press cloth")
#: On page and paper nothing looks like a line of the job file.
SYNTAX = re.compile(r'\b[a-z]+_[a-z_]+\b|\b[a-z]+ = (?:"|\d)|\[\[')
PAGE_AND_PAPER = (
    "nesting/packet/",
    "nesting/drawing/",
    "nesting/web/templates/",
    "nesting/web/static/",
    "nesting/lesson/",
)


@cache
def every() -> tuple[Text, ...]:
    """All of them, read once."""
    return tuple(texts())


def told(found: list[Text]) -> str:
    return "\n".join(map(str, found))


def test_the_list_holds_what_is_printed() -> None:
    """Some of each kind: were one missing, nothing would be looked at."""
    places = {text.place for text in every()}
    assert len(every()) > 1500
    assert {
        "nesting/web/templates/start.html",
        "nesting/web/static/page.js",
        "nesting/packet/cautions.py",
    } <= places
    words = [text.words for text in every()]
    assert any("What will you sew?" in one for one in words)
    assert any("Good enough" in one for one in words)
    assert any(one.startswith("The page does not answer") for one in words)


@pytest.mark.parametrize("pattern", FORBIDDEN + BRITISH)
def test_no_text_has_a_word_that_the_house_does_without(pattern: str) -> None:
    wanted = re.compile(pattern, re.IGNORECASE)
    found = [
        text
        for text in every()
        if "old_words" not in text.place and "british" not in text.words.lower()
        # Names of searches and bounds, for those who study the solver.
        if not text.place.startswith("nesting/packing/")
        if wanted.search(PRESS.sub("", text.words))
    ]
    assert not found, told(found)


def test_nothing_on_page_or_paper_looks_like_the_job_file() -> None:
    found = [text for text in every() if text.place.startswith(PAGE_AND_PAPER) and SYNTAX.search(text.words)]
    assert not found, told(found)


def test_a_fault_is_told_without_signs_of_the_file() -> None:
    fault = {
        "place": 'window "East": finished_length',
        "value": "",
        "expected": "finished_length, or rod_height with clearance",
        "at": ("window", 0, "finished_length"),
    }
    beside, summary = told_faults([fault], pressed=True)
    assert beside["window.0.finished_length"] == ("Expected finished length, or rod height with clearance.",)
    assert summary == (
        (
            "window.0.finished_length",
            'window "East": finished length: expected finished length, or rod height with clearance',
        ),
    )
    assert (
        without_syntax('the print may be cut upright (railroad = "no")')
        == "the print may be cut upright (railroad: no)"
    )
