"""The alternatives of a job: each is a job, told as it is, taken as it was told and taken back."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.check import check_plan_document
from nesting.files import amend_job_text, job_table, plan_document, read_job_table
from nesting.planning.effort import Effort
from nesting.planning.planner import plan
from nesting.web import caps
from nesting.web.alternatives import alternatives_of, taken
from nesting.web.clerk import Clerk
from nesting.web.figures import figures_of, weighed
from nesting.web.rendering import text_of
from nesting.web.strip import strip_of
from nesting.web.wire import Line, Message
from nesting.web.workings import sums_of
from tests.web_forms import entries_of
from tests.web_page import HANGS, OURS, SAMPLES, SMALL, TWO_BOLTS, a_page, list_of, opened, sent

#: Two widths each at 1.5 times full, one at 1.26.
PLAIN = TWO_BOLTS
SHEER = PLAIN.replace('name = "Linen"', 'name = "Voile"\nweight = "sheer"').replace("1.5", "2.5")


def keys_of(text: str) -> dict[str, dict[str, Any]]:
    table = job_table(text)
    return {each.key: each.table for each in alternatives_of(table, read_job_table(table))}


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


def whole_strip(page: TestClient, entries: dict[str, str]) -> str:
    for _ in range(caps.MOST_ALTERNATIVES + 2):
        told = sent(page, "/weigh", entries).json()
        if not told["more"]:
            return str(told["regions"]["strip"])
    raise AssertionError("the list does not end")


def of_job(path: Path) -> dict[str, Any] | None:
    return None if list_of(path) else job_table(path.read_text("utf-8"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_each_alternative_is_a_job_and_comes_back_from_its_file(path: Path) -> None:
    table = of_job(path)
    if table is None:
        pytest.skip("its windows are in a list")
    job = read_job_table(dict(table))
    found = alternatives_of(table, job)
    assert len(found) <= caps.MOST_ALTERNATIVES
    assert len({each.key for each in found}) == len(found)
    for each in found:
        assert read_job_table(dict(each.table)) != job
        text = amend_job_text(path.read_text("utf-8"), each.table)
        assert job_table(text) == each.table
        again = taken(table, each.key)
        assert again is not None
        assert again.table == each.table
    assert table == job_table(path.read_text("utf-8")), "the job that was typed stays as it is"


def test_what_is_offered_of_a_pair_of_plain_panels() -> None:
    """By hand: a 54 in bolt joins 53 in less seams; 1.5 x 72 / 2 = 54 in a panel needs a second width."""
    ways = keys_of(PLAIN)
    assert ways["half"]["window"][0]["widths"] == "half"
    assert ways["whole"]["window"][0]["widths"] == "whole"
    assert ways["step-less"]["window"][0]["fullness"] == Decimal("1.25")
    assert ways["step-more"]["window"][0]["fullness"] == Decimal("1.75")
    assert "sideways" not in ways, "90 in and its hems are more than 54 in"
    assert [bolt["width"] for bolt in ways["bolt-1-face"]["fabric"]["face"]["bolt"]] == [110, 54]
    less = ways["less"]["window"][0]["fullness"]
    assert Decimal("1.2") <= less < Decimal("1.5")
    now, then = (weighed(job_table(PLAIN), key)["figures"] for key in ("", "less"))
    assert (now["widths"], then["widths"]) == (4, 2)
    assert (now["seams"], then["seams"]) == (2, 0)
    assert then["cost"] < now["cost"]


def test_a_step_stays_within_what_heading_and_fabric_bear() -> None:
    sheer = keys_of(SHEER)
    assert "step-less" not in sheer, "sheers are 2.5 to 3 times full (common practice, no source)"
    assert sheer["step-more"]["window"][0]["fullness"] == Decimal("2.75")
    assert "step-more" not in keys_of(PLAIN.replace("clip-ring", "grommet").replace("1.5", "2"))
    assert not {"step-less", "step-more"} & keys_of(PLAIN.replace("fullness = 1.5", "flat_width = 54")).keys()


def test_panels_that_fit_across_the_fabric_are_offered_turned_and_upright() -> None:
    """The finished 90 in and hems of some 13 in lie across 110 in of fabric."""
    wide = keys_of(PLAIN.replace("width = 54\nusable = 53", "width = 109"))
    assert wide["sideways"]["window"][0]["railroad"] == "yes"
    assert wide["upright"]["window"][0]["railroad"] == "no"


def test_a_turn_that_nobody_asked_for_is_told() -> None:
    known = {"": figures(), "bolt-1-face": figures(cost=Decimal(100), sideways=True)}
    assert strip_of(known, {"bolt-1-face": "Linen, 110 in wide"}).cards[1].title == (
        "Linen, 110 in wide, turned sideways"
    )


def test_a_pile_is_never_offered_sideways() -> None:
    pile = PLAIN.replace('name = "Linen"', 'name = "Velvet"\nnap = "one-way"')
    assert not {"sideways", "upright"} & keys_of(pile).keys()


def test_there_is_no_choice_where_fabric_on_hand_is_cut() -> None:
    text = PLAIN.replace("price = 20\n", 'on_hand = [{ length = "9 yd" }]\n')
    table = job_table(text)
    assert alternatives_of(table, read_job_table(table)) == ()
    assert sums_of(table)["ways"] == []


def test_the_figures_are_those_of_a_plan_that_passes_the_check() -> None:
    table = taken(job_table(PLAIN), "whole")
    assert table is not None
    made = plan(read_job_table(table.table), effort=Effort(seconds=1, workers=1))
    assert not check_plan_document(plan_document(made))
    figures = figures_of(made)
    assert figures is not None
    assert figures["cost"] == made.cost
    assert figures["cuts"] == sum(piece.copies for piece in made.pieces)
    assert figures["seams"] == 2
    # Two widths of 53 in less a seam of 1/2 in on both sides, less two side hems of two turns of 1 in (common
    # practice, no source): 106 - 1 - 4 = 101 in for half of the rod of 72 in.
    assert figures["full"][0] == Fraction(101, 36)


def figures(**more: Any) -> dict[str, Any]:
    usual = {
        "bought": [("Linen", "5 yd")], "total": 5 * 75, "unit": "yd", "currency": "$", "cost": Decimal(280),
        "cuts": 4, "widths": 4, "seams": 2, "full": (Fraction(3, 2), Fraction(3, 2)), "sheer": False,
        "sideways": False, "proven": True, "title": "Exact widths",
    }  # fmt: skip
    return {"figures": {**usual, **more}}


FEW: dict[str, Any] = {"cost": Decimal(204), "widths": 2, "seams": 0, "full": (Fraction(126, 100),) * 2}


def test_the_largest_saving_leads_and_what_is_no_better_stays_away() -> None:
    known = {
        "": figures(),
        "step-more": figures(cost=Decimal(300), full=(Fraction(7, 4),) * 2),
        "same": figures(),
        "worse": figures(cost=Decimal(290)),
        "bolt-1-face": figures(cost=Decimal(310)),
        "cannot": {"figures": None},
        "less": figures(**FEW),
        "half": figures(**FEW),
    }
    strip = strip_of(known, {"less": "One width less"})
    assert [card.key for card in strip.cards] == ["", "less", "step-more", "bolt-1-face"]
    assert strip.lead == ("One width less: $204.00 instead of $280.00, fullness 1.26.",)
    assert dict(strip.cards[1].rows)["Saves"] == "$76.00"
    assert dict(strip.cards[2].rows)["Adds"] == "$20.00"


def test_of_two_fullnesses_the_one_that_gives_less_for_as_much_is_left_out() -> None:
    known = {"": figures(), "less": figures(**FEW)} | {
        "step-less": figures(**{**FEW, "full": (Fraction(5, 4),) * 2, "cuts": 2}),
        "whole": figures(full=(Fraction(2),) * 2, cost=Decimal(300)),
        "step-more": figures(full=(Fraction(7, 4),) * 2, cost=Decimal(300)),
    }
    assert [card.key for card in strip_of(known, {}).cards] == ["", "less", "whole", "step-more"]


def test_what_is_there_is_said_once_all_are() -> None:
    strip = strip_of({"": figures(), "less": figures(**FEW)}, {"less": "One width less"})
    assert strip.said == "1 other way to make it. One width less: $204.00 instead of $280.00, fullness 1.26."
    assert replace(strip, more=True).said == ""
    assert strip_of({"": figures()}, {}).said == ""


def test_without_prices_fabric_is_compared() -> None:
    known = {"": figures(cost=None), "half": figures(cost=None, total=3 * 75, unit="m", full=None)}
    _, card = strip_of(known, {"half": "Half widths"}).cards
    assert re.fullmatch(r"[0-9.]+ m", dict(card.rows)["Saves"])
    assert "Cost" not in dict(card.rows)


def test_a_name_that_would_be_wrong_is_not_said() -> None:
    known = {"": figures(), "less": figures(cost=Decimal(200)), "fuller": figures(cost=Decimal(9), widths=5)}
    assert [card.key for card in strip_of(known, {}).cards] == [""]


def test_of_sheers_seamless_ones_come_first_and_the_saving_is_offered() -> None:
    known = {
        "": figures(sheer=True),
        "step-less": figures(sheer=True, cost=Decimal(150), full=(Fraction(5, 4),) * 2),
        "sideways": figures(sheer=True, cost=Decimal(320), seams=0),
    }
    strip = strip_of(known, {"step-less": "Fullness 1.25", "sideways": "Turned sideways"})
    assert [card.key for card in strip.cards] == ["", "sideways", "step-less"]
    assert strip.lead == (
        "Turned sideways: $320.00 instead of $280.00, no seams instead of 2.",
        "Fullness 1.25: $150.00 instead of $280.00.",
    )


def test_a_fullness_in_the_name_is_not_said_again() -> None:
    """Where the panels turned as well, it once was: "Fullness 1.25, railroaded: ..., fullness 1.25"."""
    less = figures(cost=Decimal(150), full=(Fraction(5, 4),) * 2, sideways=True)
    strip = strip_of({"": figures(), "step-less": less}, {"step-less": "Fullness 1.25"})
    assert strip.lead == ("Fullness 1.25, turned sideways: $150.00 instead of $280.00.",)


def test_a_sheer_without_seams_is_told_so_and_the_saving_is_offered() -> None:
    known = {
        "": figures(sheer=True, seams=0),
        "upright": figures(sheer=True, seams=3, cost=Decimal(200)),
    }
    assert strip_of(known, {"upright": "Upright"}).lead == (
        "As it stands it has no seams.",
        "Upright: $200.00 instead of $280.00, 3 seams instead of none.",
    )


def test_what_is_not_proven_is_told_to_be_searched_for_longer() -> None:
    for proven in (True, False):
        known = {"": figures(), "less": figures(**FEW, proven=proven)}
        assert strip_of(known, {}).proven is proven
    shown = text_of("strip.html", strip=strip_of(known, {"less": "One width less"}))
    assert "searched for only a moment" in shown


def test_at_most_seven_stand_side_by_side() -> None:
    known = {"": figures()} | {
        str(number): figures(cost=Decimal(number), cuts=number) for number in range(1, 11)
    }
    assert [card.key for card in strip_of(known, {}).cards] == ["", *map(str, range(1, 7))]


def test_the_strip_comes_one_by_one_and_is_remembered(page: TestClient) -> None:
    entries = opened(page, PLAIN)
    sent(page, "/first", entries)
    counts = []
    for _ in range(caps.MOST_ALTERNATIVES + 2):
        told = sent(page, "/weigh", entries).json()
        counts.append(told["regions"]["strip"].count("<li"))
        if not told["more"]:
            break
    assert counts == sorted(counts)
    assert counts[0] < counts[-1] <= caps.MOST_SIDE_BY_SIDE
    again = sent(page, "/weigh", entries).json()
    assert again == told
    assert "Linen, 110 in wide, turned sideways: $" in told["regions"]["strip"]
    assert ">One width less<" in told["regions"]["strip"]
    assert told["regions"]["strip"].count('aria-current="true"') == 1


def test_what_is_given_up_is_no_answer() -> None:
    assert weighed(job_table(PLAIN), "whole", hurried=lambda: True) == {"figures": None, "ended": True}
    assert weighed(job_table(PLAIN), "whole")["figures"] is not None


class Slow:
    """A process that thinks about an alternative until it is told to hurry."""

    alive = True

    def __init__(self) -> None:
        self.heard: list[Message] = []
        self.hurried = asyncio.Event()

    async def send(self, message: Message) -> None:
        self.heard.append(message)
        if "hurry" in message:
            self.hurried.set()

    async def receive(self) -> Message:
        if "turn" in self.heard[-1]:
            return {"lines": [], "markers": [], "cost": "", "less": "", "proven": True, "stuck": ""}
        await self.hurried.wait()
        return {"figures": None, "ended": True}


def test_an_alternative_is_given_up_for_a_first_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow()

    async def opening(module: str) -> Slow:
        return slow

    async def ask() -> None:
        planner, table = Clerk("nesting.web.first"), job_table(PLAIN)
        weighing = asyncio.create_task(planner.weighed(table, "less"))
        while not slow.heard:
            await asyncio.sleep(0)
        async with asyncio.timeout(HANGS):
            assert (await planner.first(table, 0))["proven"]
            assert "ended" in await weighing
        assert planner.weighed_before(table, "less") is None

    monkeypatch.setattr(Line, "open", opening)
    asyncio.run(ask())
    assert [next(iter(set(said) - {"table"})) for said in slow.heard] == ["way", "hurry", "turn"]


def test_a_word_to_hurry_that_comes_too_late_is_passed_over() -> None:
    async def ask() -> None:
        line = await Line.open("nesting.web.first")
        try:
            await line.send({"hurry": True})
            await line.send({"table": job_table(PLAIN), "turn": 0})
            async with asyncio.timeout(HANGS):
                answer = await line.receive()
            assert answer is not None
            assert answer["lines"]
        finally:
            await line.close()

    asyncio.run(ask())


def test_a_job_with_faults_has_no_strip(page: TestClient) -> None:
    entries = opened(page, PLAIN)
    for rod in ("", "x"):
        told = sent(page, "/weigh", entries, window__0__rod=rod).json()
        assert (told["regions"]["strip"].strip(), told["more"]) == ("", False)


def test_one_is_taken_and_taken_back_without_script(page: TestClient) -> None:
    entries = opened(page, PLAIN)
    shown = sent(page, "/job", entries, do="weigh").text
    assert "Other ways to make it" in shown
    assert 'value="take:half"' in shown or 'value="take:whole"' in shown
    key = "half" if 'value="take:half"' in shown else "whole"
    answer = sent(page, "/job", entries_of(shown), do=f"take:{key}").text
    assert "Chosen: " in answer
    after = entries_of(answer)
    assert after["window.0.widths"] == key
    saved = sent(page, "/job/save", after).text
    assert job_table(saved)["window"][0]["widths"] == key
    title = "Half widths" if key == "half" else "Whole widths"
    strip = whole_strip(page, after)
    assert re.search(rf'aria-current="true"><h4>{title}</h4>', strip)
    back = entries_of(sent(page, "/job", after, do="back").text)
    assert sent(page, "/job/save", back).text == PLAIN


def test_a_bolt_that_is_taken_is_the_one_planned_for(page: TestClient) -> None:
    after = entries_of(sent(page, "/job", opened(page, PLAIN), do="take:bolt-1-face").text)
    assert [after[f"fabric.face.bolt.{number}.width"] for number in (0, 1)] == ["110", "54"]
    assert [after[f"fabric.face.bolt.{number}.price"] for number in (0, 1)] == ["30", "20"]


@pytest.mark.parametrize("key", ["", "nonsense", "bolt-9-face", "less;half", "../../etc", "window.0.rod=1"])
def test_what_is_not_on_offer_cannot_be_taken(page: TestClient, key: str) -> None:
    entries = opened(page, PLAIN)
    answer = sent(page, "/job", entries, do=f"take:{key}")
    assert answer.status_code == 200
    assert sent(page, "/job/save", entries_of(answer.text)).text == PLAIN


def test_a_broken_way_back_is_refused(page: TestClient) -> None:
    entries = opened(page, PLAIN)
    for before in ("", "%%%", "bm90IHRvbWwgPQ=="):
        assert sent(page, "/job", entries, do="back", before=before).status_code in (200, 422)
    assert sent(page, "/job", entries, do="back", before="%%%").status_code == 422


def test_a_large_job_is_not_weighed() -> None:
    many = SMALL + "".join(SMALL[SMALL.index("[[window]]") :].replace("One", f"W{n}") for n in range(39))
    table = job_table(many.replace('draw = "left"\n', "count = 3\n"))
    assert sums_of(table)["count"] > caps.MOST_WEIGHED
    assert sums_of(table)["ways"] == []


def test_names_in_the_strip_are_escaped(page: TestClient) -> None:
    name = "<script>alert(1)</script>"
    strip = whole_strip(page, opened(page, PLAIN.replace('"Linen"', f'"{name}"')))
    assert "&lt;script&gt;" in strip
    assert "<script" not in strip


def test_a_strip_is_asked_for_from_our_own_page_only(page: TestClient) -> None:
    assert page.post("/weigh", data={}, headers={"origin": "http://evil.example"}).status_code == 403
    assert page.get("/weigh", headers=OURS).status_code == 405
