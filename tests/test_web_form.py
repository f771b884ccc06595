"""The form: nothing typed is lost, all is read as meant, and a saved job is the one that was loaded."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.errors import JobError
from nesting.files import amend_job_text, job_keys, job_table, read_job_table, read_job_text, starter_job
from nesting.units import parse_length
from nesting.web.draft import (
    Draft,
    from_form,
    from_text,
    kind_of,
    leaves,
    loc_of,
    look_up,
    name_of,
    new_draft,
    packed,
    with_copy,
    with_row,
    without_row,
)
from nesting.web.fields import Box, Field
from nesting.web.form import form_of
from nesting.web.form_faults import awaited, still_to_type
from nesting.web.measure_fields import understood, with_units
from tests.web_forms import entries_of
from tests.web_page import OURS, SAMPLES, SMALL, a_page, opened, sent

ODD = """\
# a remark above all
title = "Odd"   # and one beside it
units = "in"
wiggle = "a key of a later version"

[fabric."A.B c"]
name = "Plain"
sparkle = { much = 3 }

[[fabric."A.B c".bolt]]
width = 54.00
price = 12.5
usable = "53 1/2"
[[window]]
rod = 30
finished_length = '60'
draw = "left"
side_hem = "selvage"
bottom_hem = { turn = 3 }   # one turn less
later = [1, 2]
"""


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


def typed(text: str, **changes: str) -> Draft:
    """A job file whose fields were changed; points of names as double underscores."""
    return from_form(
        [("base", packed(text)), *((name.replace("__", "."), said) for name, said in changes.items())]
    )


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_that_is_opened_and_saved_is_the_same_to_the_letter(page: TestClient, path: Path) -> None:
    text = path.read_text("utf-8")
    assert sent(page, "/job/save", opened(page, text)).text == text


@pytest.mark.parametrize(
    "text", [ODD, ODD.replace("\n", "\r\n"), SMALL, starter_job("cm"), starter_job("in")]
)
def test_remarks_spelling_and_unknown_keys_stay(page: TestClient, text: str) -> None:
    saved = sent(page, "/job/save", opened(page, text))
    assert saved.content.decode() == text


def test_a_change_touches_its_own_line_only() -> None:
    draft = typed(ODD, window__0__rod="31 1/2")
    assert draft.text == ODD.replace("rod = 30", 'rod = "31 1/2"')


def test_a_fabric_may_have_any_name(page: TestClient) -> None:
    entries = opened(page, ODD)
    (name,) = [name for name in entries if name.endswith(".name") and name.startswith("fabric")]
    assert loc_of(name) == ("fabric", "A.B c", "name")
    saved = sent(page, "/job/save", entries, **{name: "Linen"})
    assert job_table(saved.text)["fabric"]["A.B c"]["name"] == "Linen"


def test_everything_a_form_says_is_in_the_file() -> None:
    """Every kind of entry: what is typed comes out of the file as it was typed."""
    draft = typed(
        SMALL,
        title="Été à 1/2",
        window__0__rod="7 ft 6 in",
        window__0__count="3",
        window__0__fullness="2.25",
        window__0__heading="tab-top",
        window__0__tab__gap="1 1/2",
        fabric__face__bolt__0__price="12,50",
    )
    window = draft.table["window"][0]
    assert draft.table["title"] == "Été à 1/2"
    assert (window["rod"], window["count"], window["fullness"]) == ("7 ft 6 in", 3, Decimal("2.25"))
    assert window["tab"] == {"gap": "1 1/2"}
    assert draft.table["fabric"]["face"]["bolt"][0]["price"] == "12,50"
    assert job_table(draft.text) == draft.table


def test_an_emptied_field_takes_its_key_away() -> None:
    assert "later" in typed(ODD, window__0__rod="").table["window"][0]
    assert "rod" not in typed(ODD, window__0__rod=" ").table["window"][0]
    assert "bottom_hem" not in typed(ODD, window__0__bottom_hem__turn="").table["window"][0]


def test_a_hem_may_be_the_selvage_and_what_was_typed_comes_back() -> None:
    entries = {"window__0__bottom_hem__selvage": "yes", "window__0__bottom_hem__turn": "3"}
    draft = typed(ODD, **entries)
    assert draft.table["window"][0]["bottom_hem"] == "selvage"
    assert draft.aside == {"window.0.bottom_hem.turn": "3"}
    again = typed(draft.text, window__0__bottom_hem__turn="3")
    assert again.table["window"][0]["bottom_hem"] == {"turn": 3}


def test_plain_fabric_keeps_the_typed_repeat_aside() -> None:
    printed = {"fabric__face__repeat__length": "25 1/4", "fabric__face__repeat__width": "27"}
    draft = typed(SMALL, fabric__face__repeat__drop="plain", **printed)
    assert "repeat" not in draft.table["fabric"]["face"]
    shown = {one.name: one.text for one in form_of(draft).fields() if isinstance(one, Field)}
    assert shown["fabric.face.repeat.length"] == "25 1/4"
    again = typed(draft.text, fabric__face__repeat__drop="0.5", **printed)
    assert again.table["fabric"]["face"]["repeat"] == {
        "length": "25 1/4",
        "width": 27,
        "drop": Decimal("0.5"),
    }


@pytest.mark.parametrize("written", ["0", "0.0", "0.5", '"1/2"', '"1/3"', "0.25", '"2/3"', "0.33"])
def test_every_drop_survives_the_pictures(page: TestClient, written: str) -> None:
    text = SMALL.replace(
        "[[fabric.face.bolt]]\nwidth = 54",
        f"repeat = {{ length = 20, width = 26, drop = {written} }}\n[[fabric.face.bolt]]\nwidth = 54",
    )
    assert sent(page, "/job/save", opened(page, text)).content.decode() == text


def test_a_drop_chosen_without_its_length_asks_for_it(page: TestClient) -> None:
    answer = sent(page, "/live", opened(page, SMALL), fabric__face__repeat__drop="straight").json()
    assert answer["status"] == "Still to type: the repeat of the print"
    assert "fabric.face.repeat.length" not in answer["told"]
    assert not answer["ready"]
    # Once a plan is asked for it is a fault at its place.
    refused = sent(page, "/plan", opened(page, SMALL), fabric__face__repeat__drop="straight")
    assert refused.status_code == 422
    assert "the repeat along the bolt" in refused.text


def test_all_faults_stand_beside_their_fields_and_nothing_is_lost(page: TestClient) -> None:
    wrong = {"window__0__rod": "banana", "window__0__count": "-2", "fabric__face__bolt__0__width": "5 1/"}
    answer = sent(page, "/job", opened(page, SMALL), **wrong, do="update")
    for name, text in wrong.items():
        name = name.replace("__", ".")
        assert f'id="f-{name}" name="{name}" value="{text}"' in answer.text
        note = answer.text.partition(f'data-told="{name}"')[2].partition("</p>")[0]
        assert "Expected" in note
    assert "3 things need putting right" in answer.text


def test_lengths_are_shown_as_they_were_understood() -> None:
    assert understood("84 1/2", "in") == "84 1/2 in · 214.63 cm"
    assert understood("7' 6", "in") == "90 in · 228.6 cm"
    assert understood("213", "cm") == "213 cm · 83.858 in"
    assert understood("banana", "in") == ""
    # What two people could read in two ways is not understood at all; the fault of its field says why.
    for text, unit in (("½7", "in"), ("1'250", "in"), ("11/8", "in"), ("213.125", "cm"), ("1,250", "mm")):
        assert understood(text, unit) == ""  # type: ignore[arg-type]
    # 213.125 x 2.54 = 541.3375; 25.25 x 2.54 = 64.135, whose three digits nobody could type again.
    assert understood("213.125", "in") == "213 1/8 in · 541.3375 cm"
    assert understood("25 1/4", "in") == "25 1/4 in · 64.1350 cm"
    assert understood("64.1350", "cm").startswith("64.1350 cm")


def test_a_number_that_may_mean_thousands_is_a_fault_beside_its_field(page: TestClient) -> None:
    form = opened(page, SMALL.replace('units = "in"', 'units = "cm"'))
    told = sent(page, "/live", form, window__0__rod="213.125").json()["told"]
    assert "write 213125 or 213.1250" in told["window.0.rod"]["faults"][0]


def test_other_units_leave_every_length_and_price_what_it_was() -> None:
    before = from_text(SAMPLES[1].read_text("utf-8"))
    after, notes = with_units(before, "cm")
    assert after.table["units"] == "cm"
    lengths = [(loc, key) for loc, key in leaves(before.table) if key.kind == "length"]
    assert lengths
    for loc, _ in lengths:
        one, two = look_up(before.table, loc), look_up(after.table, loc)
        assert parse_length(one, "in") == parse_length(two, "cm"), loc
    # 47.00 per yard / 0.9144 m in a yard (1 July 1959) = 51.40 per meter
    assert after.table["fabric"]["face"]["bolt"][0]["price"] == Decimal("51.40")
    assert any("47.00 per yd is 51.40 per m" in note for note in notes)
    back, _ = with_units(after, "in")
    assert read_job_table(back.table).windows[0].rod == read_job_table(before.table).windows[0].rod


def test_a_change_of_units_reads_what_was_typed_with_it_in_the_old_ones(page: TestClient) -> None:
    answer = sent(page, "/job", opened(page, SMALL), units="cm", window__0__rod="40", do="update")
    assert 'name="window.0.rod" value="40 in"' in answer.text
    assert "keeps its length" in answer.text


def test_every_key_of_a_job_file_has_its_field() -> None:
    """A key that is new to the job file comes into the form by itself."""
    table = job_table(starter_job("in"))
    table["fabric"]["face"]["bolt"][0]["on_hand"] = [{"length": 100, "flaws": [{"at": 3, "length": 1}]}]
    table["window"][0]["band"] = [{"width": 4}]
    # Where the step of a drop is, only a print with a drop is asked.
    table["fabric"]["face"]["repeat"] = {"length": 27, "drop": "1/2"}
    draft = Draft(table)
    names = {one.name for one in form_of(draft).fields()}
    shown: set[tuple[str, ...]] = {tuple(str(s) for s in loc_of(n) if not isinstance(s, int)) for n in names}

    def wanted(keys: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
        for key in keys:
            here = (*at, key.name, "face") if key.kind == "named" else (*at, key.name)
            yield from wanted(key.keys, here) if key.keys else [here]

    of_other_headings = {
        ("window", name) for name in ("pleat", "ring", "pocket", "take_up", "tape", "hook_row")
    }
    of_other_headings |= {("window", name) for name in ("hangs_from", "ring_drop", "eye_height")}
    of_other_headings |= {("window", "covers")}
    missing = {
        loc for loc in wanted(job_keys().keys) if loc not in shown and loc[:2] not in of_other_headings
    }
    missing -= {("fabric", "face", *rest) for rest in [("lining", "bolt")]}
    assert missing == set()


def test_the_usual_values_are_those_that_are_cut() -> None:
    """What a field says of its emptiness is what the sums take: asked of the core, not written down here."""
    draft = from_text(SMALL.replace("clip-ring", "pinch-pleat").replace('draw = "left"', 'draw = "pair"'))
    fields = {one.name: one for one in form_of(draft).fields()}
    usual = {name: one.usual for name, one in fields.items() if isinstance(one, Field | Box)}
    # Common practice, no source: 3 1/2 each side, 4 for the pair, 2.5 full, hem 4 turned twice.
    assert (usual["window.0.returns"], usual["window.0.overlap"]) == ("3 1/2 in", "4 in")
    assert usual["window.0.fullness"] == "2.5"
    assert usual["window.0.bottom_hem"] == "4 in, turned twice"
    assert usual["fabric.face.bolt.0.usable"] == "53 in"
    metric = {one.name: one for one in form_of(with_units(draft, "cm")[0]).fields()}
    hem = metric["window.0.bottom_hem"]
    assert isinstance(hem, Box)
    assert hem.usual == "10 cm, turned twice"


def test_windows_fabrics_and_rows_come_and_go() -> None:
    draft = with_row(from_text(SMALL), ("window",))
    assert [row["name"] for row in draft.table["window"]] == ["One", "Window 1"]
    draft = with_copy(draft, ("window", 0))
    assert draft.table["window"][2]["rod"] == 30
    assert len({row["name"] for row in draft.table["window"]}) == 3
    draft = with_row(draft, ("fabric",))
    assert list(draft.table["fabric"]) == ["face", "lining"]
    draft = with_row(draft, ("window", 0, "tieback"))
    draft = with_row(draft, ("fabric", "face", "bolt", 0, "on_hand"))
    draft = with_row(draft, ("fabric", "face", "bolt", 0, "on_hand", 0, "flaws"))
    assert draft.table["fabric"]["face"]["bolt"][0]["on_hand"] == [{"flaws": [{}]}]
    draft = without_row(draft, ("window", 0, "tieback", 0))
    draft = without_row(without_row(draft, ("window", 1)), ("fabric", "lining"))
    assert job_table(draft.text) == draft.table
    assert [row["name"] for row in draft.table["window"]] == ["One", "One 2"]


@pytest.mark.parametrize(
    "wish", ["remove:fabric", "remove:title", "add:title", "add:nowhere.3", "copy:fabric.face", "add:"]
)
def test_wishes_that_cannot_be_granted_change_nothing(page: TestClient, wish: str) -> None:
    entries = opened(page, SMALL)
    answer = sent(page, "/job", entries, do=wish)
    assert answer.status_code == 200
    assert f'value="{entries["base"]}"' in answer.text


def test_a_new_job_asks_for_what_it_needs(page: TestClient) -> None:
    for unit in ("in", "cm", "mm"):
        answer = page.get(f"/job/new?units={unit}")
        assert answer.status_code == 200
        wanted = "the rod, the finished length or a height and the width of the fabric"
        assert f"Still to type: {wanted}" in answer.text.replace("&#39;", "'")
        assert 'class="fault"' not in answer.text
        assert "putting right" not in answer.text
        pressed = sent(page, "/plan", entries_of(answer.text))
        assert pressed.status_code == 422
        assert "the length of the rod, such as 84" in pressed.text
    assert new_draft("cm").unit == "cm"


def test_what_another_window_lacks_is_told_with_its_name() -> None:
    draft = from_text(SMALL + '\n[[window]]\nname = "Bay"\n')
    with pytest.raises(JobError) as refused:
        read_job_table(draft.table)
    faults = [{"place": one.place, "at": one.at, "value": one.value, "expected": one.expected}
              for one in refused.value.faults]  # fmt: skip
    assert still_to_type(faults) == ("for Bay the rod and the finished length or a height",)
    assert awaited(faults) == (
        "Type for Bay the rod and the finished length or a height. What to buy comes here by itself."
    )


def test_amounts_wait_for_what_is_told(page: TestClient) -> None:
    lacking = sent(page, "/live", opened(page, SMALL), fabric__face__repeat__drop="straight").json()
    assert "Type the repeat of the print." in lacking["regions"]["rule"]
    wrong = sent(page, "/live", opened(page, SMALL), window__0__rod="-3").json()
    assert "once what is marked is put right" in wrong["regions"]["rule"]
    # A number that is refused is not told as read as well.
    assert wrong["told"]["window.0.rod"]["read"] == ""
    assert wrong["told"]["window.0.rod"]["faults"]


def test_help_says_one_thing_once_and_no_syntax_of_the_file(page: TestClient) -> None:
    helps = re.findall(r'<span id="w-[^"]*">(.*?)</span></details>', page.get("/job/new?units=in").text)
    assert len(helps) > 80
    for text in helps:
        words = re.sub("<[^>]*>", "", text).replace("&#34;", '"')
        assert not re.search(
            r"[a-z]_[a-z]|\(default\)|(^|[.:] )true\b|[\[\]{}]|\. Default|^Default", words
        ), words
        # Either why a value is what it is, or what the key says; both would say much twice.
        assert ("<span" in text) != bool(text.partition("<span")[0].strip()), text


def test_a_lining_is_added_where_it_is_wanted(page: TestClient) -> None:
    entries = opened(page, SMALL)
    answer = sent(page, "/job", entries, do="line:window.0")
    draft = from_form(list(entries_of(answer.text).items()))
    assert draft.table["window"][0]["lining"] == "lining"
    assert "lining" in draft.table["fabric"]
    # Its width is all that is asked for now.
    assert "Still to type: the width of the fabric" in answer.text
    for odd in ("line:window.9", "line:fabric.face", "line:window"):
        unchanged = sent(page, "/job", entries, do=odd)
        assert unchanged.status_code == 200
        assert "lining" not in from_form(list(entries_of(unchanged.text).items())).table["fabric"]


@pytest.mark.parametrize(
    ("kind", "nap", "drop"), [("plain", None, None), ("pile", "one-way", None), ("print", None, "straight")]
)
def test_the_kind_of_a_fabric_says_its_nap_and_print(kind: str, nap: str | None, drop: str | None) -> None:
    draft = from_text(SMALL)
    entries = [("base", packed(SMALL)), ("kind:face", kind), ("kind-was:face", "other")]
    fabric = from_form(entries).table["fabric"]["face"]
    assert kind_of(fabric) == kind
    assert fabric.get("nap") == nap
    assert ("repeat" in fabric) == (drop is not None)
    # A kind that was not touched says nothing.
    untouched = [("base", packed(SMALL)), ("kind:face", "print"), ("kind-was:face", "print")]
    assert from_form(untouched).table == draft.table


def test_a_print_that_becomes_plain_keeps_its_repeat_aside(page: TestClient) -> None:
    text = SMALL.replace(
        "[[fabric.face.bolt]]", "repeat = { length = 20, width = 26 }\n[[fabric.face.bolt]]", 1
    )
    answer = sent(page, "/job", opened(page, text), **{"kind:face": "plain"}, do="update")
    entries = entries_of(answer.text)
    assert entries["kind:face"] == "plain"
    assert entries["fabric.face.repeat.length"] == "20"
    again = entries_of(sent(page, "/job", entries, **{"kind:face": "print"}, do="update").text)
    assert (again["fabric.face.repeat.length"], again["fabric.face.repeat.width"]) == ("20", "26")


def test_the_first_sheet_asks_for_little() -> None:
    """At most 12 things before the first answer; whatever is chosen by one tab stop counts once."""
    for kind in ("plain", "pile", "print"):
        form = form_of(
            from_form([("base", packed(new_draft("in").base)), ("kind:face", kind), ("kind-was:face", "")])
        )
        window, face = form.windows[0], form.fabrics[0]
        asked = [one for part in window.parts if not part.title for one in part.fields]
        asked += [one for part in face.parts if not part.title for one in part.fields]
        asked += [one for part in face.bolts[0].parts if not part.title for one in part.fields]
        assert all(isinstance(one, Field) for one in asked)
        assert len(asked) + 1 <= 12


def test_a_broken_form_is_refused_in_words(page: TestClient) -> None:
    for base in ("%%%", packed("title = "), packed(""), "w5w="):
        answer = page.post("/job", data={"base": base}, headers=OURS)
        assert answer.status_code == 422
        assert "cannot be read" in answer.text


def test_amending_writes_anew_what_it_cannot_follow() -> None:
    """Tables torn apart: remarks may go, but every entry stays."""
    torn = (
        'title = "T"\n[[window]]\nrod = 1\n[fabric.face]\nname = "A"\n[[window]]\nrod = 2\n'
        "[[fabric.face.bolt]]\nwidth = 54\n"
    )
    table = job_table(torn)
    changed = copy.deepcopy(table)
    changed["window"].insert(0, {"rod": 7, "tieback": [{"length": 3}]})
    changed["fabric"]["face"]["bolt"].append({"width": Decimal("60.50")})
    assert job_table(amend_job_text(torn, changed)) == changed
    assert amend_job_text(torn, table) == torn
    with pytest.raises(JobError):
        amend_job_text("title = ", {})


def test_faults_name_their_place() -> None:
    with pytest.raises(JobError) as error:
        read_job_text(SMALL.replace("rod = 30", "rod = -1").replace("width = 54", "widht = 54"))
    places = {name_of(fault.at) for fault in error.value.faults}
    assert {"window.0.rod", "fabric.face.bolt.0.widht", "fabric.face.bolt.0.width"} <= places
