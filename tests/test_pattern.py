"""A print as it lies on the table: motif height, measured repeat, drift, cutting gap, start lines."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.check import check_plan_document
from nesting.commands import main
from nesting.drawing.page import marker_svg
from nesting.errors import JobError
from nesting.files import cut_list_csv, plan_document, read_job_text, read_plan
from nesting.order.job import Job, Motif, Tolerance
from nesting.order.remeasure import with_measured_repeat, with_start
from nesting.packing import Status
from nesting.plan.pattern import column_of, drift_of, first_lines, start_line
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.planner import Effort, plan
from nesting.units import inches
from tests.orders import cut_job, inch
from tests.seeds import examples


def order(*windows: str, fabric: str = "", repeat: str = "{ length = 25 }", width: str = "50") -> str:
    """A job of clip-ring panels without side hems; each as wide as the bolt's match of 48 lets it."""
    head = f"""
[fabric.face]
repeat = {repeat}
{fabric}
[[fabric.face.bolt]]
width = {width}
usable = {width}
match = 48
"""
    return head + "\n".join(windows)


def window(
    name: str, length: str, *, room: str = "Room", hem: str = "4", more: str = "", flat: int = 47
) -> str:
    """One panel, hem turned twice, nothing at the top: cut length = finished + 2 x hem."""
    return f"""
[[window]]
name = "{name}"
room = "{room}"
rod = 40
finished_length = {length}
heading = "clip-ring"
heading_depth = 0
draw = "left"
flat_width = {flat}
returns = 0
side_hem = {{ turn = 0 }}
bottom_hem = {{ turn = {hem} }}
{more}
"""


def planned(text: str | Job, work: float = 1.0) -> Plan:
    job = read_job_text(text) if isinstance(text, str) else text
    return plan(job, effort=Effort(work=work, workers=1))


def layout_of(text: str | Job, work: float = 1.0) -> FabricLayout:
    (layout,) = planned(text, work).layouts
    assert layout.status is Status.OPTIMAL
    return layout


def allowances(layout: FabricLayout) -> dict[str, int]:
    assert layout.buy is not None
    return {line.name: line.length for line in layout.buy.allowances}


# Motif height and start


@pytest.mark.parametrize(
    ("fabric", "length"),
    [
        # Finished 90 + hem 4 x 2 = cut 98. The foot of the motif shows 6 above the finished hem, so it lies
        # 8 + 6 = 14 above the lower cut edge. Start 0: feet at 0, 25, ...: cut at 25 - 14 = 11; 109 in all.
        ("motif = { height = 6 }\nstart = 0", 109),
        # Start 5: the pattern stands 5 at the squared end, so its next foot is at 20: cut at 6: 104.
        ("motif = { height = 6 }\nstart = 5", 104),
        # 10 below the top edge of 90 is 80 above the hem, 88 above the lower cut edge, 13 past a repeat: 12.
        ('motif = { height = 10, at = "top" }\nstart = 0', 110),
        # No motif: the line runs along the finished hem, 8 above the edge: cut at 25 - 8 = 17.
        ("start = 0", 115),
        # Nothing prescribed, start unknown: the cut begins at the squared end.
        ("", 98),
    ],
)
def test_motif_height_and_start_decide_where_the_first_cut_begins(fabric: str, length: int) -> None:
    assert layout_of(order(window("A", "90"), fabric=fabric)).length == inches(length)


def test_a_motif_height_binds_all_rooms_to_one_height() -> None:
    """Cuts of 102 and 110 in two rooms, repeat 25, each as wide as the bolt, one above the other.

    Without a motif each room has its own height: 102 + 110 = 212. With it the second begins a whole number of
    repeats above the first: after 102 at 125, in all 235; after 110 at 125, in all 227, which is less.
    """
    rooms = (window("A", "94"), window("B", "102", room="Other"))
    assert layout_of(order(*rooms)).length == inches(212)
    bound = layout_of(order(*rooms, fabric="motif = { height = 6 }"))
    assert bound.length == inches(227)
    assert len(first_lines(bound)) == 1
    assert len(first_lines(layout_of(order(*rooms)))) == 2


def test_from_the_hem_panels_of_other_lengths_show_the_motif_alike() -> None:
    """Hems of 4 x 2 and 3 x 2: the foot lies 14 and 12 above the lower cut edges."""
    text = order(window("A", "94"), window("B", "102", hem="3"), fabric="motif = { height = 6 }")
    job = read_job_text(text)
    assert job.fabrics[0].motif == Motif(inches(6))
    assert [piece.match and piece.match.y for piece in cut_job(job).pieces] == [-inches(14), -inches(12)]
    layout = layout_of(job)
    lines = {laid.piece.window: start_line(layout, laid) for laid in layout.placements}
    assert lines["A"] is not None
    assert lines["B"] is not None
    assert (lines["A"] - lines["B"]) % inches(25) == 0


def test_an_unknown_start_buys_one_repeat_and_says_where_to_square() -> None:
    """Bought: 98 + squaring 2 + repeat 25 = 125. The plan begins 14 below a foot, at height 25 - 14 = 11."""
    made = planned(order(window("A", "90"), fabric="motif = { height = 6 }"))
    (layout,) = made.layouts
    assert allowances(layout)["unknown start of the print, one repeat"] == inches(25)
    assert layout.buy is not None
    assert layout.buy.needed == inches(125)
    text = " ".join(advice.text for advice in made.advice)
    assert "square the end 14 in below a foot of the motif" in text
    assert "made for 11 in" in text
    chosen = layout_of(with_start(made.job, "face", inches(11)))
    assert chosen.length == layout.length == inches(98)
    assert "unknown start of the print, one repeat" not in allowances(chosen)


# Measured repeat


def test_a_measured_repeat_is_planned_with_and_told() -> None:
    """Cut 116, repeat 25, four widths: 3 x 125 + 116 = 491 (derived by trying every order).

    Measured 126 1/4 over five repeats, 25 1/4 each: 3 x 126 1/4 + 116 = 494 3/4.
    """
    windows = [window(name, "108") for name in "ABCD"]
    assert layout_of(order(*windows)).length == inches(491)
    made = planned(order(*windows, fabric='measured_repeat = { length = "126 1/4", over = 5 }'))
    assert made.layouts[0].length == inch("494 3/4")
    assert made.layouts[0].fabric.repeat is not None
    assert made.layouts[0].fabric.repeat.length == inch("25 1/4")
    (told,) = [advice for advice in made.advice if "label" in advice.text]
    assert told.kind == "warning"
    assert "measures 25 1/4 in, 1/4 in more than its label (25 in)" in told.text


def test_measured_at_replan_is_the_same_as_said_in_the_job() -> None:
    said = read_job_text(order(window("A", "90"), fabric='measured_repeat = "25 1/4"\nstart = 6'))
    job = read_job_text(order(window("A", "90")))
    again = with_start(with_measured_repeat(job, "face", Fraction(inch("25 1/4"))), "face", inches(6))
    assert again == said
    assert (
        with_measured_repeat(again, "face", Fraction(inches(25))).fabrics[0].repeat == job.fabrics[0].repeat
    )


def test_the_command_takes_what_was_measured(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(order(*(window(name, "108") for name in "ABCD")), encoding="utf-8")

    def run(*words: str) -> tuple[int, str, str]:
        head = ["nesting", "plan", str(job), "--work-limit", "1", "--workers", "1", "--format", "json"]
        monkeypatch.setattr("sys.argv", [*head, *words])
        with pytest.raises(SystemExit) as ended:
            main()
        return (int(ended.value.code or 0), *capsys.readouterr())

    code, out, err = run("--measured", "face=126 1/4 over 5", "--start", "face=0")
    assert code == 0
    # The line lies 8 above the edge, so the first cut begins at 25 1/4 - 8 = 17 1/4: 494 3/4 + 17 1/4.
    assert json.loads(out)["layouts"][0]["length"] == 512.0
    assert "than its label" in err
    for words, told in (
        (("--measured", "face"), "a fabric and a length"),
        (("--measured", "face=long"), "a length behind the sign"),
        (("--measured", "face=50"), "within a tenth of the repeat, 25 in"),
        (("--measured", "moss=25"), "a fabric of this job with a repeat: face"),
        (("--start", "face=-1"), "a length of 0 or more"),
    ):
        code, _, err = run(*words)
        assert (code, told in err) == (2, True), err


def test_a_plan_is_made_again_without_its_job_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(order(*(window(name, "108") for name in "ABCD")), encoding="utf-8")

    def run(command: str, *words: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["nesting", command, *words])
        with pytest.raises(SystemExit) as ended:
            main()
        return (int(ended.value.code or 0), *capsys.readouterr())

    budget = ("--work-limit", "1", "--workers", "1", "--format", "json")
    assert run("plan", str(job), *budget, "-o", str(tmp_path / "out"))[0] == 0
    job.unlink()
    earlier = tmp_path / "out" / "plan.json"
    code, out, _ = run("plan", str(earlier), *budget, "--measured", "face=126 1/4 over 5")
    assert code == 0
    # 494 3/4 as in the test above; the order is the same but for the repeat.
    assert json.loads(out)["layouts"][0]["length"] == 494.75
    assert run("pieces", str(earlier))[0] == 0
    document = json.loads(earlier.read_text("utf-8"))
    document["order"] = None
    earlier.write_text(json.dumps(document), encoding="utf-8")
    code, _, err = run("plan", str(earlier), *budget)
    assert (code, "a plan that carries its order" in err) == (2, True)


# Drift, bow and skew, cutting gap


def test_drift_is_summed_along_the_bolt_bought_and_told() -> None:
    """491 of repeat 25 begin 20 repeats; 1/16 each is 1 1/4. Needed: 491 + 2 + 25 + 1 1/4 + 3/4 = 520."""
    tolerance = 'tolerance = { repeat = "1/16", bow = "1/4", skew = "1/2" }'
    made = planned(order(*(window(name, "108") for name in "ABCD"), fabric=tolerance))
    (layout,) = made.layouts
    assert layout.fabric.tolerance == Tolerance(inch("1/16"), inch("1/4"), inch("1/2"))
    drift = drift_of(layout)
    assert drift is not None
    assert (drift.repeats, drift.worst) == (20, inch("1 1/4"))
    lines = allowances(layout)
    assert lines["drift of the print (20 repeats, each up to 1/16 in)"] == inch("1 1/4")
    assert lines["bow and skew of the print (once)"] == inch("3/4")
    assert layout.buy is not None
    assert layout.buy.needed == inches(520)
    assert any("up to 1 1/4 in away from the tape at the far end" in advice.text for advice in made.advice)
    assert any('cutting_gap = "auto"' in advice.text for advice in made.advice)


def test_two_widths_of_one_panel_may_miss_each_other() -> None:
    """Flat 70 of match 48: two widths of cut 98, which cannot lie side by side: 4 repeats apart at least."""
    text = order(window("A", "90", flat=90), fabric='tolerance = { repeat = "1/8" }')
    drift = drift_of(layout_of(text))
    assert drift is not None
    assert (drift.between, drift.apart) == (4, inch("1/2"))


def test_a_cutting_gap_makes_cuts_longer_and_says_by_what() -> None:
    """Needed 98 begins 4 repeats of 25: bow 1/4 + skew 1/2 + drift 1/16 x 4 = 1: 99, trimmed at the top."""
    tolerance = 'tolerance = { repeat = "1/16", bow = "1/4", skew = "1/2" }\ncutting_gap = "auto"'
    (piece,) = cut_job(read_job_text(order(window("A", "90"), fabric=tolerance))).pieces
    assert piece.length == inches(99)
    assert piece.hem_line == inches(8)
    assert (
        "+ bow of the print 1/4 + skew of the print 1/2 + drift of the print by repeats 1/16 x 4 = 99 in"
        in piece.arithmetic("in")[0]
    )
    assert "bow and skew of the print (once)" not in allowances(
        layout_of(order(window("A", "90"), fabric=tolerance))
    )
    (piece,) = cut_job(read_job_text(order(window("A", "90"), fabric="cutting_gap = 2"))).pieces
    assert piece.length == inches(100)
    assert "cutting gap, trimmed at the top 2" in piece.arithmetic("in")[0]


# A start line for every cut


@examples(12)
@given(
    drop=st.sampled_from(["0", "1/2", "1/3", "2/3"]),
    motif=st.sampled_from(["", "motif = { height = 6 }", 'motif = { height = 20, at = "top" }', "start = 7"]),
    lengths=st.lists(st.integers(30, 110), min_size=1, max_size=3),
    flat=st.sampled_from([47, 90, 130]),
)
def test_every_cut_has_its_line_in_the_pattern(
    drop: str, motif: str, lengths: list[int], flat: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    windows = [window(f"W{n}", str(length), flat=flat) for n, length in enumerate(lengths)]
    made = planned(
        order(*windows, fabric=motif, repeat=f'{{ length = 24, width = 16, drop = "{drop}" }}'), work=0.3
    )
    (layout,) = made.layouts
    repeat, first = layout.fabric.repeat, first_lines(layout)
    assert repeat is not None
    for laid in layout.placements:
        match = laid.piece.match
        assert match is not None
        line = start_line(layout, laid)
        if line is None:
            continue
        # The bolt's column at the piece's place, and from there to the one in which the cut shows its line.
        column = repeat.columns(laid.x, match.x)[0] + column_of(laid.piece, repeat)
        assert laid.y <= line <= laid.y + laid.length
        assert (line - first[match.level] - column * repeat.step) % repeat.length == 0
        if layout.fabric.start is not None:
            # The height of the pattern there, in the cut's own column, is that of its line: none.
            assert (line + layout.fabric.start - column * repeat.step) % repeat.length == 0
    document = json.loads(json.dumps(plan_document(made)))
    assert check_plan_document(document) == ()
    path = tmp_path_factory.mktemp("plan") / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    assert plan_document(read_plan(path)) == document


def test_the_line_is_on_the_cut_where_a_width_holds_one_column() -> None:
    # One column of 48 a width, half drop of 24: the second width of a panel shows its motif 12 higher on the
    # drape. Its line was told where the column beside it would have it: half a repeat off any motif.
    text = order(
        window("W", "90", flat=90), fabric="start = 0", repeat='{ length = 24, width = 48, drop = "1/2" }'
    )
    made = planned(text)
    (layout,) = made.layouts
    repeat = layout.fabric.repeat
    assert repeat is not None
    panels = [laid for laid in layout.placements if laid.piece.match is not None]
    assert {column_of(laid.piece, repeat) % 2 for laid in panels} == {0, 1}
    for laid in panels:
        line = start_line(layout, laid)
        assert line is not None
        # The bolt has one column, whose motifs begin at the squared end.
        assert line % repeat.length == 0


def test_it_is_in_the_json_the_lists_and_the_marker() -> None:
    """The foot lies 14 above the lower edge of the cut, which begins at 11 (see the first test)."""
    made = planned(order(window("A", "90"), fabric="motif = { height = 6 }\nstart = 0"))
    (layout,) = made.layouts
    document: dict[str, Any] = plan_document(made)
    assert document["layouts"][0]["placements"][0]["start_line"] == 25.0
    assert document["layouts"][0]["first_lines"] == {"face/motif": 0.0}
    (row,) = csv.DictReader(io.StringIO(cut_list_csv(made)))
    assert (row["start line"], row["start line decimal"]) == ("25", "25.0")
    svg = marker_svg(made, layout).decode()
    assert "start-line:a/single/1:1" in svg
    assert "start-notch:a/single/1:1:near" in svg
    plain = planned(order(window("A", "90"), repeat="{ length = 25 }").replace("repeat =", "# repeat ="))
    assert "start-line" not in marker_svg(plain, plain.layouts[0]).decode()


# What is refused


@pytest.mark.parametrize(
    ("fabric", "fault"),
    [
        ("measured_repeat = 50", 'fabric "face": measured_repeat = 50: expected a length within a tenth'),
        ("measured_repeat = { over = 5 }", "measured_repeat.length: expected the repeat as it measures"),
        ("measured_repeat = true", "measured_repeat = true: expected a length above 0"),
        ("motif = { at = 'hem' }", "motif.height: expected how high the foot of the motif shows"),
        ("motif = { height = 3 }\nlevel = 'top'", 'level = "top": expected "hem", from where the motif'),
        ("cutting_gap = 'auto'", 'cutting_gap = "auto": expected a length, or a tolerance'),
        ("cutting_gap = 'some'", 'cutting_gap = "some": expected "auto", or a length of 0 or more'),
        ("tolerance = { skew = -1 }", "tolerance.skew = -1: expected a length of 0 or more"),
    ],
)
def test_what_contradicts_itself(fabric: str, fault: str) -> None:
    with pytest.raises(JobError) as caught:
        read_job_text(order(window("A", "90"), fabric=fabric))
    (found,) = caught.value.faults
    assert fault in str(found)


@pytest.mark.parametrize("key", ["measured_repeat = 25", "motif = { height = 3 }", "cutting_gap = 1"])
def test_plain_fabric_has_no_pattern(key: str) -> None:
    text = order(window("A", "90"), fabric=key).replace("repeat = {", "# repeat = {", 1)
    with pytest.raises(JobError, match="this fabric is plain"):
        read_job_text(text)
