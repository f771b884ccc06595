"""The page at the table without a script: steps, marks, what went wrong, and the rest planned again."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.check import check_plan_document
from nesting.files import plan_document
from nesting.plan.cut_rows import cuts_of
from nesting.plan.sequence import sequence
from nesting.units import parse_length
from nesting.web.bench import Solve
from nesting.web.table_progress import AtTable
from tests.test_hung import job_text
from tests.web_page import OURS, TWO_BOLTS, a_page, begun, bench_of, opened, solve_at, waited

#: A pair, 49 x 96 each, one behind the other; with 20 in of margin 214 in from the squared end.
PAIR = job_text(face='safety = "20 in"')
_KNOWN = dict[tuple[TestClient, str], str]()
_RESTS = dict[str, str]()


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


def planned(page: TestClient, text: str = PAIR, *, anew: bool = False) -> str:
    """The address of a plan that is done, nothing of it cut; each is made once, unless ``anew``."""
    known = _KNOWN.get((page, text))
    if known is None or anew or bench_of(page).find(known.rpartition("/")[2]) is None:
        known = begun(page, "/plan", opened(page, text), work="0.1")
        waited(page, known)
        # No small changes are looked for.
        page.post(f"{known}/enough", headers=OURS, follow_redirects=False)
        _KNOWN[page, text] = known
    table = table_of(page, known)
    table.at, table.when = 0, 0
    table.cut.clear()
    return known


def table_of(page: TestClient, address: str) -> AtTable:
    table = solve_at(page, address.removesuffix("/table")).table
    assert table is not None
    return table


def do(page: TestClient, address: str, at: int, what: str, **more: Any) -> Any:
    data = {"at": str(at), "do": what, **more}
    return page.post(f"{address}/table", data=data, headers=OURS, follow_redirects=False)


def wrong(page: TestClient, address: str, **fields: Any) -> Any:
    data = {
        name.replace("_", "-") if name.startswith("flaw") else name: text for name, text in fields.items()
    }
    data = {"length": "0", "do": "again", **data}
    return page.post(f"{address}/table/wrong", data=data, headers=OURS, follow_redirects=False)


def replanned(page: TestClient, answer: Any) -> tuple[str, Solve]:
    assert answer.status_code == 303, answer.text
    address = answer.headers["location"].removesuffix("/table")
    return address, waited(page, address)


def rest_of_the_pair(page: TestClient) -> tuple[str, Solve]:
    """The pair with a flaw behind its first cut, planned again; made once for each plan of the pair."""
    address = planned(page)
    known = _RESTS.get(address)
    if known is None or bench_of(page).find(known.rpartition("/")[2]) is None:
        # The flaw from 100 to 102 in lies 4 to 6 in behind the first cut; 49 in do not fit beside it.
        answer = wrong(
            page, address, cut=["1"], flaw_0_at="100", flaw_0_long="2", flaw_0_left="10", flaw_0_wide="3"
        )
        known, _ = replanned(page, answer)
        _RESTS[address] = known
    return known, solve_at(page, known)


def test_the_steps_are_those_of_the_cutting_sequence_in_its_words(page: TestClient) -> None:
    address = planned(page)
    table = table_of(page, address)
    made = pickle.loads(table.plan)
    layout, numbers = made.layouts[0], cuts_of(made).numbers
    told = [step["text"].lower() for step in table.steps]
    actions = sequence(made.job, layout, numbers).actions
    for action in actions:
        if action.kind in ("check", "pull"):
            assert action.text.lower() in told
    lines = [line for action in actions for line in action.lines]
    assert [f"{line.text}.".lower() for line in lines] == [
        step["text"].lower() for step in table.steps if step["cut"] and not step["frees"]
    ]
    # Every cut is freed once, after its own lines; 96 and 192 in from the squared end.
    assert [step["frees"] for step in table.steps if step["frees"]] == ["1", "2"]
    assert [step["big"] for step in table.steps if step["title"].startswith("Cut 1")] == ["96 in", "49 in"]
    assert [step["big"] for step in table.steps if step["title"].startswith("Cut 2")] == ["192 in", "49 in"]


def test_a_walk_without_script_marks_what_is_cut(page: TestClient) -> None:
    address = planned(page)
    plan_page = page.get(address).text
    assert f'href="{address}/table"' in plan_page
    table = table_of(page, address)
    first = next(at for at, step in enumerate(table.steps) if step["frees"])
    for at in range(first + 1):
        answer = page.get(f"{address}/table")
        assert f'name="at" value="{at}"' in answer.text
        assert table.steps[at]["title"] in answer.text
        assert do(page, address, at, "next").status_code == 303
    assert (table.at, table.cut) == (first + 1, {"1"})
    assert "1 of 2 cut" in page.get(f"{address}/table").text
    # Going back keeps what is cut; a tick taken away does not.
    do(page, address, table.at, "back")
    assert (table.at, table.cut) == (first, {"1"})
    do(page, address, table.at, "ticks")
    assert table.cut == set()
    do(page, address, 0, "ticks", cut=["1", "2", "nothing"])
    assert table.cut == {"1", "2"}
    do(page, address, 5, "again")
    assert (table.at, table.cut) == (0, set())


def test_behind_the_last_step_and_before_the_first_nothing_is(page: TestClient) -> None:
    address = planned(page)
    table = table_of(page, address)
    do(page, address, 0, "back")
    assert table.at == 0
    do(page, address, 10**6, "next")
    assert page.get(f"{address}/table").status_code == 200
    assert "All is cut" in page.get(f"{address}/table?at=999").text


def test_what_a_script_keeps_is_there_when_the_page_is_opened_again(page: TestClient) -> None:
    address = planned(page)
    table = table_of(page, address)
    assert do(page, address, 4, "ticked", cut=["1"], when="1000").json() == {"cut": ["1"]}
    # A message that comes late says nothing.
    do(page, address, 2, "ticked", cut=["1"], knew=["1"], when="999")
    assert (table.at, table.cut, table.when) == (4, {"1"}, 1000)
    shown = page.get(f"{address}/table").text
    assert 'data-at="4"' in shown
    assert 'data-when="1000"' in shown
    assert page.get(f"{address}/table/steps").json()["steps"] == table.steps


def test_two_at_one_plan_take_no_tick_from_one_another(page: TestClient) -> None:
    address = planned(page)
    table = table_of(page, address)

    def ticked(at: int, cut: list[str], knew: list[str], when: str) -> list[str]:
        answer = do(page, address, at, "ticked", cut=cut, knew=knew, when=when)
        assert answer.status_code == 200
        found: list[str] = answer.json()["cut"]
        return found

    # Both began with nothing cut; each ticks another piece.
    assert ticked(3, ["1"], [], "10") == ["1"]
    assert ticked(5, ["2", "nothing"], [], "20") == ["1", "2"]
    # What one takes back is gone; where the other stood goes by the later word.
    assert ticked(2, [], ["1"], "15") == ["2"]
    assert (table.at, table.when) == (5, 20)
    assert ticked(6, ["2"], ["1", "2"], "30") == ["2"]


def on_plan_page(page: TestClient, address: str) -> dict[str, tuple[bool, bool]]:
    """Of each cut on the plan's page: whether it is ticked, and whether that stands."""
    boxes = re.findall(
        r'<input type="checkbox" id="cut-card-[^"]*" value="([^"]*)"([^>]*)>', page.get(address).text
    )
    return {name: ("checked" in more, "disabled" in more) for name, more in boxes}


def test_the_table_and_the_page_of_the_plan_have_one_list_of_cuts(page: TestClient) -> None:
    """There were two, each kept apart: what was cut at the table stood uncut on the plan's page."""
    address = planned(page)
    assert on_plan_page(page, address) == {"1": (False, False), "2": (False, False)}
    do(page, address, 4, "ticked", cut=["1"], when="1000")
    assert on_plan_page(page, address) == {"1": (True, False), "2": (False, False)}
    # A tick of the plan's page, which is at no step of the table: the step stays.
    data = {"do": "ticked", "cut": ["1", "2"], "knew": ["1"], "when": "1001"}
    answer = page.post(f"{address}/table", data=data, headers=OURS)
    assert answer.json() == {"cut": ["1", "2"]}
    assert (table_of(page, address).at, table_of(page, address).when) == (4, 1001)
    assert "2 of 2 cut" in page.get(f"{address}/table").text
    # Planned again: what was cut stays so on the page of the new plan, and the old page leads there.
    after, _ = rest_of_the_pair(page)
    assert on_plan_page(page, after) == {"1": (True, True), "2": (False, False)}
    assert f'<a href="{after}/table">Go to the plan you cut by now</a>' in page.get(address).text


@pytest.mark.nightly
def test_the_same_plan_is_known_again_and_another_is_not(page: TestClient) -> None:
    digests = [
        table_of(page, planned(page, text)).told["digest"] for text in (PAIR, PAIR, job_text(width="60"))
    ]
    assert digests[0] == digests[1] != digests[2]


def test_a_flaw_plans_the_rest_again_and_keeps_what_is_cut(page: TestClient) -> None:
    address = planned(page)
    form = page.get(f"{address}/table/wrong?at=0")
    assert form.status_code == 200
    new, solve = rest_of_the_pair(page)
    assert solve.kind == "recut"
    table = table_of(page, new)
    assert table.done == {"1"}
    made = pickle.loads(table.plan)
    assert check_plan_document(plan_document(made)) == ()
    rest = next(one for one in made.layouts if not one.all_done)
    assert [laid.y for laid in rest.placements] == [6 * 2032]
    shown = page.get(f"{new}/table").text
    assert "1 of 2 cut" in shown
    assert "What is left is enough" in re.sub(r"Linen: w", "W", shown)
    # Only what is not cut yet has steps, and its distances begin at the new squared end: 6 + 96.
    assert [step["frees"] for step in table.steps if step["frees"]] == ["2"]
    assert "6, 102 in" in [step["big"] for step in table.steps]
    # The plan's own page and its files are there too.
    planned_again = page.get(new)
    assert planned_again.status_code == 200
    # What leads the page is what to buy, not the names of lengths; what is all cut is not told there.
    assert '<b class="much">Nothing to buy</b>' in planned_again.text
    assert "On hand: Linen, <b>rest of the bolt</b>" in planned_again.text
    assert "<b>cut off</b>" not in planned_again.text
    assert "rest of the bolt, lot of what is cut" in shown
    assert "packet.pdf" in waited(page, new, "packet.pdf").files


@pytest.mark.nightly
def test_too_little_left_says_what_to_buy(page: TestClient) -> None:
    address = planned(page, job_text())
    new, _ = replanned(page, wrong(page, address, cut=["1"], lost="101"))
    shown = page.get(f"{new}/table").text
    assert "what is left is not enough: buy 2 3/4 yd more of the same dye lot" in shown


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "what went wrong: expected a flaw, a measure, or a piece that is cut again"),
        ({"flaw_0_at": "here"}, "flaw 1, from the squared end"),
        ({"flaw_0_at": "30"}, "how far it is from the squared end, and how long it is"),
        ({"usable": "99"}, "not above the planned 53 in"),
        ({"lost": "-3"}, "0 or more"),
        ({"repeat": "24"}, "no piece of this fabric is matched"),
        ({"cut": ["9"], "lost": "3"}, "cuts of this plan: 1, 2"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_typed_is_lost(
    page: TestClient, fields: dict[str, Any], words: str
) -> None:
    answer = wrong(page, planned(page), left="77 1/8", **fields) if fields else wrong(page, planned(page))
    assert answer.status_code == 422
    assert words in answer.text
    if fields:
        assert 'value="77 1/8"' in answer.text
    if "flaw_0_at" in fields:
        assert f'value="{fields["flaw_0_at"]}"' in answer.text


@pytest.mark.parametrize(
    ("wide", "long", "words"),
    [
        ("49", "97", "Too long by 1 in: trim it to 96 in at either end."),
        # A hem of 4 in turned twice takes 8.
        (
            "49",
            "95 1/2",
            "Too short by 1/2 in: its hem can give that. Turn up 7 1/2 in in all instead of 8 in",
        ),
        ("49", "85", "Too short by 11 in: nothing on it can give that."),
        ("50", "96", "Too wide by 1 in: trim it to 49 in at either side."),
        # 1 in of 49 is 2 percent.
        ("48", "96", "about 2 percent less full"),
        ("40", "96", "Too narrow by 9 in: mark it as cut again."),
        ("49", "96 1/16", "leave it as it is"),
        ("x", "96", "wide:"),
    ],
)
def test_a_piece_of_another_size_has_advice(page: TestClient, wide: str, long: str, words: str) -> None:
    address = planned(page)
    answer = wrong(page, address, do="measure", piece="1", wide=wide, long=long)
    assert words in answer.text.replace("&#34;", '"')


@pytest.mark.parametrize("number", ["²", "٣", "9" * 5000, "-1", "1e400", "0x10", ""])
def test_what_is_no_number_is_none_of_a_request(page: TestClient, number: str) -> None:
    address = planned(page)
    table = table_of(page, address)
    assert page.get(f"{address}/table", params={"at": number}).status_code == 200
    assert page.get(f"{address}/table/wrong", params={"at": number}).status_code == 200
    assert page.get(f"{address}/now", params={"seen": f"done-{number}"}).status_code == 200
    if len(number) < 100:
        for what in ("next", "back", "keep", "ticks"):
            data = {"at": number, "do": what, "when": number}
            answer = page.post(f"{address}/table", data=data, headers=OURS, follow_redirects=False)
            assert answer.status_code in (204, 303)
        assert table.when == 0
        # Of which length, and of how many repeats.
        for fields in ({"length": number, "again": ["9"]}, {"repeat": "24", "repeats": number or "²"}):
            assert wrong(page, address, **fields).status_code == 422


def test_the_form_says_in_which_unit_it_is_read(page: TestClient) -> None:
    address = planned(page)
    table = table_of(page, address)
    for unit, words in (("in", "inches"), ("cm", "centimeters"), ("mm", "millimeters")):
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(table.told, "unit", unit)
            assert f"Lengths in {words}," in page.get(f"{address}/table/wrong").text


def test_asking_what_can_be_done_keeps_what_else_was_typed(page: TestClient) -> None:
    address = planned(page)
    # One form holds both, so that a browser sends all of it with either button.
    form = page.get(f"{address}/table/wrong").text
    assert form.count("<form") == 1
    answer = wrong(
        page, address, do="measure", piece="2", wide="49", long="97", flaw_2_long="3 1/2", cut=["1"]
    )
    assert "trim it to 96 in" in answer.text
    assert 'value="3 1/2"' in answer.text
    assert '<details class="fold" open>' in answer.text
    assert re.search(r'name="cut" value="1"[^>]* checked', answer.text)
    assert not re.search(r'name="cut" value="2"[^>]* checked', answer.text)


def test_nothing_is_there_of_what_is_forgotten_or_no_plan(page: TestClient) -> None:
    for path in ("", "/wrong"):
        assert page.get(f"/solve/nothing/table{path}").status_code == 404
    address = begun(page, "/compare", opened(page, TWO_BOLTS), work="0.3")
    waited(page, address)
    assert page.get(f"{address}/table").status_code == 404


def test_a_rest_that_cannot_be_planned_leads_back(page: TestClient) -> None:
    address = planned(page)
    solve = solve_at(page, address)
    new, failed = replanned(page, wrong(page, address, cut=["1"], lost="101"))
    failed.view, failed.table, failed.state, failed.failure = None, None, "failed", "No layout was found."
    shown = page.get(f"{new}/table")
    assert shown.status_code == 422
    assert "No layout was found." in shown.text
    assert f"/solve/{solve.token}/table/wrong" in shown.text


def test_a_cut_of_a_print_is_measured_from_its_start_line(page: TestClient) -> None:
    # The line is at the finished hem, 8 in above the lower edge: 8 and 96 + 8 from the squared end.
    address = planned(page, job_text(face="repeat = { length = 24 }"))
    table = table_of(page, address)
    titles = [step["title"] for step in table.steps]
    for name, place in (("1", "8 in"), ("2", "104 in")):
        at = titles.index(f"Find the start line of {name}")
        assert table.steps[at]["big"] == place
        # It is found before anything of the piece is cut, and while it lies on the table: no pull before
        # it has taken it past the head.
        cut = next(step for step, title in enumerate(titles) if title.startswith(f"Cut {name}"))
        assert at < cut
        pulls = [step["big"] for step in table.steps[:at] if step["title"] == "Pull the fabric"]
        assert all(parse_length(pull, "in") <= parse_length(place, "in") for pull in pulls)
        assert 'class="found"' in table.steps[at]["view"]
        # 8 in of hem below the line; 96 - 8 above it.
        assert f"From it, {name} reaches 8 in toward the squared end and 88 in away from it" in " ".join(
            table.steps[at]["notes"]
        )
    # A table of 72 in: the first cut takes pulls, the line of the second is past one of them.
    assert titles.index("Pull the fabric") > titles.index("Find the start line of 1")
    assert titles.index("Pull the fabric") < titles.index("Find the start line of 2")
