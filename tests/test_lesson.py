"""Handouts for a class: pages, letters, sums by hand, words; all headings, inches and centimeters.

Common practice, no source, unless a comment names one.
"""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from nesting.drawing.lesson_sketch import lesson_sketch
from nesting.drawing.lettering import READABLE
from nesting.drawing.trace import trace
from nesting.headings import HEADINGS
from nesting.lesson import lesson, lesson_files
from nesting.lesson.handout import lettered
from nesting.lesson.planned import planned
from nesting.lesson.words import GLOSSARY, NEEDLES
from nesting.lesson.working import Worked, worked
from nesting.packet import Packet
from nesting.packet.measuring import window_look
from nesting.packet.model import BLANK, Beside, MakingSteps, Paragraph, Picture, Section, Table
from nesting.units import Unit, parse_length
from tests.seeds import some
from tests.sheets import assert_apart
from tests.sheets import texts as figure_texts
from tests.test_commands import Run, run  # noqa: F401 - a fixture
from tests.web_page import SMALL, a_page

MADE = date(2026, 3, 1)
UNITS: tuple[Unit, ...] = ("in", "cm")
EVERY = [(name, unit) for name in HEADINGS for unit in UNITS]
every = pytest.mark.parametrize(("name", "unit"), some(EVERY, 4))


@cache
def handout(name: str, unit: Unit) -> Packet:
    return lesson(name, unit, made=MADE)


@cache
def files(name: str, unit: Unit) -> dict[str, bytes]:
    return lesson_files(name, unit, made=MADE)


def pages(name: str, unit: Unit) -> list[Any]:
    return list(PdfReader(io.BytesIO(files(name, unit)[f"lesson-{name}.pdf"])).pages)


@cache
def sums(name: str, unit: Unit, which: str = "example") -> Worked:
    plans = planned(name, unit)
    return worked(plans.facts(getattr(plans, which)))


def blocks(name: str, unit: Unit, kind: type) -> list[Any]:
    return [
        block
        for section in handout(name, unit).sections
        for block in section.blocks
        if isinstance(block, kind)
    ]


def table(name: str, unit: Unit, caption: str) -> Table:
    found = [*blocks(name, unit, Table), *(one.table for one in blocks(name, unit, Beside))]
    (one,) = (each for each in found if each.caption.startswith(caption))
    return one


@every
def test_a_handout_has_at_most_four_pages_and_its_key_one_of_its_own(name: str, unit: Unit) -> None:
    texts = [page.extract_text() for page in pages(name, unit)]
    assert 1 <= len(texts) <= 4
    keys = [number for number, text in enumerate(texts) if "Answer key: the exercise" in text]
    assert keys == [len(texts) - 1]
    # Nothing of what a student gets stands on it, and no answer on theirs.
    assert "Sew a practice sample" not in texts[-1]
    assert all("with the numbers of the exercise" not in text for text in texts[:-1])


@every
def test_paper_is_letter_for_inches_and_a4_for_centimeters(name: str, unit: Unit) -> None:
    sizes = {
        (round(float(page.mediabox.width)), round(float(page.mediabox.height))) for page in pages(name, unit)
    }
    assert sizes == ({(612, 792)} if unit == "in" else {(595, 842)})


@every
def test_no_type_is_below_nine_points(name: str, unit: Unit) -> None:
    sizes = set[float]()

    def seen(text: str, matrix: Any, place: list[float], font: Any, size: float) -> None:
        if text.strip():
            sizes.add(round(abs(size * place[3] * matrix[3]) or abs(size), 2))

    for page in pages(name, unit):
        page.extract_text(visitor_text=seen)
    assert sizes
    assert min(sizes) >= READABLE


@every
def test_the_same_handout_is_the_same_bytes(name: str, unit: Unit) -> None:
    if unit == "cm" and name != next(iter(HEADINGS)):
        pytest.skip("one heading in centimeters is enough")
    assert lesson_files(name, unit, made=MADE) == files(name, unit)


# Letters


def letters_in(formula: str) -> set[str]:
    """Letters of a formula; its words are lower case and longer."""
    return set(re.findall(r"(?<![A-Za-z])[A-Za-z]\d?(?![A-Za-z])", formula)) - {"a"} | (
        {"a"} if re.search(r"[×+÷−] a\b(?! (?:half|whole))|^a\b", formula) else set()
    )


@every
def test_every_letter_is_measured_decided_or_worked_out_before(name: str, unit: Unit) -> None:
    measured = {row[0] for row in table(name, unit, "What to measure").rows}
    rows = table(name, unit, "What the other letters").rows
    decided = {letter for row in rows for letter in (row[0], row[3]) if letter}
    assert not measured & decided
    known = measured | {letter.partition("/")[0] for letter in decided}
    for line in sums(name, unit).lines:
        assert letters_in(line.formula) <= known, line
        known |= {line.letter} - {""}
    # Nothing is explained that no sum uses, but for what decides what is bought: the rod, for rings.
    used = {letter for line in sums(name, unit).lines for letter in letters_in(line.formula)}
    used |= {"B"} if any("3.1416 × B" in text for row in rows for text in row) else set()
    assert decided - used - {"B/2", "r/2"} == set()
    assert measured - used <= {"B", "H"}


@every
def test_what_is_measured_and_cut_has_its_letter_on_the_drawing(name: str, unit: Unit) -> None:
    (picture,) = blocks(name, unit, Picture)
    drawn = set(picture.drawing.texts)
    measured = {row[0] for row in table(name, unit, "What to measure").rows}
    assert measured <= drawn
    assert {"F", "K", "L", "W", "e", "h", "s"} <= drawn
    # The top of a cut panel: what stands in the sum of the cut length beyond F and the hem.
    (length,) = (line for line in sums(name, unit).lines if line.letter == "L")
    assert letters_in(length.formula) - {"F", "h"} <= drawn
    # No letter is drawn that the handout does not explain.
    explained = measured | {letter for line in sums(name, unit).lines for letter in (line.letter,)}
    rows = table(name, unit, "What the other letters").rows
    explained |= {letter for row in rows for letter in (row[0], row[3])}
    single = {text for text in drawn if re.fullmatch(r"[A-Za-z]", text)}
    assert single <= explained


def test_one_letter_means_one_thing_in_all_handouts() -> None:
    meanings = dict[str, set[str]]()
    for name, unit in EVERY:
        for row in table(name, unit, "What to measure").rows:
            meanings.setdefault(row[0], set()).add(re.split(r"[,:]", row[1])[0].split()[0])
    # A rod or a track, its hole or top; a height, a thickness, a clearance.
    assert {letter: len(words) for letter, words in meanings.items() if len(words) > 2} == {}
    assert set(meanings) <= set("ABCDEGHR")


# The sums by hand


#: Worked with pencil and paper for a rod of 76 in, 1 3/8 in thick, 90 in high (rings: clip 2 1/2 below), 53
#: in of usable width, seams 1/2, side hems 1 twice, bottom hem 4 twice, 1/2 off the floor. F finished length,
#: W flat, K cut width, Z widths, the part-width, L cut length, and what is counted along the top.
BY_HAND = {
    # 90 + 3/4 - 1/2; 38 x 1.5; + 4; 60/52 = 1.15; 61 - 52; the rod takes up 1 3/8 x (pi/4 - 1/2) = 0.392, so
    # 7/16; + 1/2 + 7/16 + 8; 53/6 = 8.83: 9 gaps.
    "back-tab": ("90 1/4", "57", "61", 2, "9", "99 3/16", {"n": 9, "m": 10}),
    # 90 - 1 3/8 - 2 - 1/2; 62/7 = 8.86: 9 tabs.
    "tab-top": ("86 1/8", "57", "61", 2, "9", "94 5/8", {"m": 9, "n": 8}),
    # 90 + 1 - 1/2; 38 x 2; pocket 2.16 x 1.2 = 2.59, so 2 5/8; 90 1/2 + 1 + 2 5/8 + 1/2 + 7/16 + 8.
    "rod-pocket": ("90 1/2", "76", "80", 2, "28", "103 1/16", {}),
    # A rod of 70: 90 + 1/2 - 1/2; 87 1/2 + 3 1/2 + 2; 96/52 = 1.85; 97 - 52; + 8 + 8; 40 1/2 - 5 1/2 = 35;
    # 35/4 = 8.75: 9 spaces, 10 pleats of 52 1/2 in all.
    "pinch-pleat": ("90", "93", "97", 2, "45", "106", {"X": "52 1/2", "n": 9, "m": 10}),
    # 90 + 1 - 1/2; 38 x 1.75; 69 1/2 / 52 = 1.34; 62 1/2 / 7 + 1 = 9.93: 10.
    "grommet": ("90 1/2", "66 1/2", "70 1/2", 2, "18 1/2", "106 1/2", {"m": 10, "n": 9}),
    # 90 - 2 1/2 - 1/2; 56/6 = 9.33: 9 + 1 = 10.
    "clip-ring": ("87", "57", "61", 2, "9", "99", {"m": 10, "n": 9}),
    # A rod of 70: 78 3/4 + 5 1/2; 87 1/4 / 52 = 1.68; 88 1/4 - 52; + 1 1/2 + 8.
    "pencil-pleat": ("90", "84 1/4", "88 1/4", 2, "36 1/4", "99 1/2", {}),
}


@pytest.mark.parametrize("name", HEADINGS)
def test_the_worked_example_is_what_a_pencil_gives(name: str) -> None:
    if name not in BY_HAND:
        pytest.skip(f"no sums by hand for a {name} heading: add them to BY_HAND")
    *sizes, counts = BY_HAND[name]
    lines = sums(name, "in").lines
    printed = {line.letter or line.what: line.result for line in lines}
    wanted = dict(zip(("F", "W", "K", "Z", "cut width, part-width", "L"), sizes, strict=True))
    assert {key: printed[key] for key in wanted} == {
        key: str(value) if isinstance(value, int) else f"{value} in" for key, value in wanted.items()
    }
    for letter, number in counts.items():
        assert printed[letter].removesuffix(" in") == str(number)


def test_every_heading_has_a_worked_example_by_hand() -> None:
    assert set(BY_HAND) == set(HEADINGS)


_NUMBER = r"\d+(?: \d+/\d+|/\d+|\.\d+)?"


def value(figures: str) -> Fraction:
    """What printed figures come to: whole, fraction and decimal numbers, brackets, the four signs."""
    text = re.sub(_NUMBER, lambda found: f"Fraction('{_plain(found[0])}')", figures)
    text = text.replace("×", "*").replace("÷", "/").replace("−", "-")
    assert re.fullmatch(r"[\d\s()*/+\-'.]|Fraction|(?:[\d\s()*/+\-'.]|Fraction)*", text), figures
    return Fraction(eval(text, {"__builtins__": {}, "Fraction": Fraction}))


def _plain(number: str) -> str:
    whole, _, part = number.rpartition(" ")
    return str(Fraction(whole) + Fraction(part)) if whole else number


def printed(result: str, unit: Unit) -> Fraction:
    return value(result.removeprefix("≈ ").removesuffix(f" {unit}"))


@every
@pytest.mark.parametrize("which", ["example", "exercise"])
def test_every_line_adds_up_as_it_is_printed(name: str, unit: Unit, which: str) -> None:
    """Only what stands on the paper is used: figures on the left, result on the right."""
    step = Fraction(1, 16) if unit == "in" else Fraction(1, 10)
    for line in sums(name, unit, which).lines:
        for one, result in zip(line.figures.split(" by "), line.result.split(" by "), strict=True):
            total, *told = re.split(r" = |, (?=up|to|rounded|at|down|\+)", one)
            reached, shown = value(total), printed(result, unit)
            if not told:
                assert abs(reached - shown) <= step / 2, line
                continue
            # "= 8.83, to the nearest whole": what is reached, then what is done with it.
            for word in told:
                if re.fullmatch(_NUMBER, word):
                    assert abs(reached - value(word)) <= Fraction(1, 100), line
                elif word.startswith("+ "):
                    reached += int(word.split()[1])
                elif word.startswith("up to the next"):
                    reached = _up(reached, value(word.split()[-2]))
                else:
                    reached = rounded(word, reached, step)
            assert abs(reached - shown) <= step / 50, line


def rounded(words: str, number: Fraction, step: Fraction) -> Fraction:
    half = Fraction(1, 2)
    if words == "rounded up":
        return _up(number, step)
    if words == "up to a whole":
        return _up(number, Fraction(1))
    if words == "up to an even number":
        return _up(number, Fraction(2))
    if words == "to the nearest even number":
        return Fraction(2 * math.floor(number / 2 + half))
    if words == "to the nearest whole, a half down":
        return Fraction(math.ceil(number - half))
    assert words == "to the nearest whole", words
    return Fraction(math.floor(number + half))


def _up(number: Fraction, step: Fraction) -> Fraction:
    # What is printed as a decimal may be a hair above or below a step that it lies on.
    return math.ceil((number - Fraction(1, 1000)) / step) * step


@every
def test_counts_show_the_rule_they_come_from(name: str, unit: Unit) -> None:
    lines = {line.letter: line for line in sums(name, unit).lines}
    assert " ÷ " in lines["Z"].figures
    for letter in {"m", "n"} & set(lines):
        assert re.search(r"÷| [+−] \d$", lines[letter].figures), lines[letter]


@every
def test_the_pieces_of_the_plan_are_those_of_the_sums(name: str, unit: Unit) -> None:
    plan = planned(name, unit).example
    lines = {line.letter or line.what: line.result for line in sums(name, unit).lines}
    cut = {(piece.role, piece.width, piece.length) for piece in plan.pieces}
    long = parse_length(lines["L"], unit)
    part = parse_length(lines["cut width, part-width"], unit)
    assert ("panel", part, long) in cut
    assert {round(length) for role, _, length in cut if role == "panel"} == {round(long)}
    for role in ("facing", "tab"):
        if f"{role}, cut size" in lines:
            wide, high = lines[f"{role}, cut size"].split(" by ")
            assert (role, parse_length(f"{wide} {unit}", unit), parse_length(high, unit)) in cut


# Blanks, key, sample, words


@every
def test_every_result_has_a_blank_and_an_answer(name: str, unit: Unit) -> None:
    student, key = table(name, unit, "The sums of one panel"), table(name, unit, "Answers")
    assert all(row[-2:] == (BLANK, BLANK) for row in student.rows)
    assert [row[:2] for row in student.rows] == [row[:2] for row in key.rows]
    assert [row[-1] for row in key.rows] == [line.result for line in sums(name, unit, "exercise").lines]
    # The exercise is another window: hardly an answer is that of the example.
    same = [one[4] == other[4] for one, other in zip(student.rows, key.rows, strict=True)]
    assert sum(same) <= len(same) / 2


@every
def test_each_step_has_its_picture_and_the_sample_its_marker(name: str, unit: Unit) -> None:
    (steps,) = blocks(name, unit, MakingSteps)
    assert len(steps.items) >= 6
    assert all(step.drawing is not None and step.alt for step in steps.items)
    (beside,) = blocks(name, unit, Beside)
    pieces = sum(int(row[1]) for row in beside.table.rows)
    sample = planned(name, unit).sample
    assert pieces == sum(len(layout.placements) for layout in sample.layouts)
    numbers = {number for row in beside.table.rows for number in row[0].split(", ")}
    drawn = {re.split(r"[ →←↑↓]", text)[0] for text in beside.picture.drawing.texts}
    assert numbers <= drawn


@every
def test_words_of_the_trade_are_explained_and_no_others(name: str, unit: Unit) -> None:
    (words,) = (block for block in blocks(name, unit, Paragraph) if block.lead == "Words:")
    section = handout(name, unit).sections[0]
    rest = Section(section.key, section.title, tuple(b for b in section.blocks if b is not words), "table")
    text = all_text(rest).lower()
    told = {entry.partition(":")[0] for entry in words.text.rstrip(".").split("; ")}
    assert told == {word for word, pattern, _ in GLOSSARY if re.search(pattern, text)}
    assert len(told) >= 5


def all_text(section: Section) -> str:
    found = list[str]()
    for block in section.blocks:
        if isinstance(block, Beside):
            block = block.table
        if isinstance(block, Paragraph):
            found.append(f"{block.lead} {block.text}")
        elif isinstance(block, Table):
            found += [block.caption, *block.head, *(cell for row in block.rows for cell in row)]
        elif hasattr(block, "items"):
            found += [getattr(item, "text", item) for item in block.items]
            found += [getattr(item, "measure", "") for item in block.items]
    return "\n".join(found)


@every
def test_notions_and_needles_are_there(name: str, unit: Unit) -> None:
    leads = {block.lead: block.text for block in blocks(name, unit, Paragraph)}
    needed = leads["For the worked example (for the sample):"]
    assert all(sundry.name in needed for sundry in planned(name, unit).example.sundries)
    assert {"weights", "thread"} <= set(re.findall(r"\w+", needed))
    assert table(name, unit, "Needle, stitch and iron by fabric").rows == NEEDLES


# The command and the page


def test_the_command_writes_both_files_or_tells_the_handout(tmp_path: Path, run: Run) -> None:  # noqa: F811
    done = run("lesson", "rod-pocket", "--units", "cm", "-o", tmp_path / "class")
    assert done.code == 0
    written = {path.name for path in (tmp_path / "class").iterdir() if path.is_file()}
    assert written == {"lesson-rod-pocket.html", "lesson-rod-pocket.pdf"}
    told = run("lesson", "rod-pocket")
    assert told.code == 0
    assert "E + H − G" in told.out
    assert "ANSWER KEY" in told.out
    refused = run("lesson", "swag")
    assert refused.code == 2
    assert "rod-pocket" in refused.err


def test_the_page_offers_and_shows_every_handout() -> None:
    with a_page() as page:
        start = page.get("/").text
        for name in HEADINGS:
            for unit in UNITS:
                assert f'href="/lesson/{name}?units={unit}"' in start
        shown = page.get("/lesson/rod-pocket?units=cm")
        assert shown.status_code == 200
        assert "Lesson: rod pocket drapes" in shown.text
        assert "sandbox" in shown.headers["content-security-policy"]
        paper = page.get("/lesson/rod-pocket?units=cm&form=pdf")
        assert paper.content.startswith(b"%PDF")
        for address in ("/lesson/swag", "/lesson/rod-pocket?units=ell", "/lesson/..%2fjob"):
            assert page.get(address).status_code == 404


def test_the_page_of_a_job_says_the_rule_of_each_count_too() -> None:
    from nesting.files import job_table
    from nesting.web.workings import sums_of

    text = SMALL.replace('draw = "left"\nheading = "clip-ring"', 'heading = "back-tab"').replace("30", "76")
    (group,) = sums_of(job_table(text))["groups"]
    # 76 / 2 x 1.5 = 57 flat, less 2 in at each edge, 6 in apart; K 61 from 53 in of usable width, seams 1/2.
    assert any(line.startswith("53 ÷ 6 = 8.83, so 9 gaps, 10 tabs") for line in group["counts"])
    assert any(line.startswith("widths: ") and line.endswith("= 2") for line in group["counts"])


def test_letters_of_both_drawings_stand_apart_for_every_heading() -> None:
    for name, unit in EVERY:
        plans = planned(name, unit)
        facts = plans.facts(plans.example)
        panel = lettered(facts, sums(name, unit))
        window = replace(window_look(facts), spare=False, wide=False)
        figure = lesson_sketch(window, panel)
        assert_apart(figure_texts(figure))
        assert panel.letters <= set(trace(figure).texts)
