"""What if: each line of advice is a change that was planned; hand-worked cases, all data invented."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from nesting.commands import main
from nesting.files import plan_document, read_job, read_job_text, read_plan
from nesting.packet import packet, packet_html
from nesting.packing import Incumbent
from nesting.plan.plan import Plan, WhatIf
from nesting.planning.effort import Effort
from nesting.planning.planner import plan
from nesting.planning.what_if import MOST_LINES, what_if
from nesting.units import inches, parse_length, unit_ticks

SAMPLES = Path(__file__).parent.parent / "samples"
STEP = unit_ticks("yd") // 8

HEAD = """
currency = "$"
[fabric.face]
name = "Weave"
nap = "one-way"
{repeat}
[[fabric.face.bolt]]
width = 51
usable = 50
price = 16
{match}
{bolt}
[[window]]
name = "East"
heading = "clip-ring"
heading_depth = 0
returns = 0
side_hem = {{ turn = 0 }}
"""


def order(window: str, *, repeat: str = "", bolt: str = "", match: str = "") -> str:
    return HEAD.format(repeat=repeat, bolt=bolt, match=match) + window


#: Two panels of 47, too wide to lie side by side on 50; finished 92 + hem 4 x 2 = cut 100.
PAIR = "rod = 94\nfinished_length = 92\nfullness = 1\n"
#: One panel 50 x 2 = 100 wide: two widths joined give 50 + 50 - 2 x 1/2 = 99, so it takes three.
WIDE = 'rod = 50\nfinished_length = 92\nfullness = 2\ndraw = "left"\nleast_part_width = 0\n'


def planned(text: str) -> Plan:
    return plan(read_job_text(text), effort=Effort(work=0.5, workers=1))


def asked(made: Plan, work: float = 8.0) -> tuple[WhatIf, ...]:
    return what_if(made, effort=Effort(work=work, workers=1))


def test_how_much_shorter_saves_a_selling_step() -> None:
    """Two cuts of 100 one above the other: 200 + squaring 2 = 202, 44.9 steps of 4 1/2, so 45 = 202 1/2.

    44 steps are 198: the cuts may be 98 each, 2 in shorter. At 1 7/8 in it is 198 1/4: a step too much. One
    step costs 16 / 8 = 2.
    """
    made = planned(order(PAIR))
    (line,) = [one for one in asked(made) if one.kind == "shorter"]
    assert (line.window, line.fabric, line.was, line.now) == ("East", "face", "92 in", "90 in")
    assert (line.length, line.money, line.least) == (STEP, Decimal(2), True)
    assert line.text == "East 2 in shorter, finished 90 in, saves 1/8 yd of Weave, $2.00"


def test_how_much_shorter_saves_a_repeat() -> None:
    """Cut 94 + 8 = 102, repeat 25: the second begins at 125: 125 + 102 = 227. At 100 it begins at 100: 200.

    Bought: 227 + 2 + 25 = 254 is 56.4 steps: 57 = 256 1/2; 227 is 50.4 steps: 51 = 229 1/2: 27 in less. At
    1 7/8 in shorter it is 125 + 100 1/8, which takes 252 1/8: still 57 steps. So nothing less saves anything.
    """
    window = PAIR.replace("92", "94")
    made = planned(order(window, repeat="repeat = { length = 25 }", match="match = 49"))
    (line,) = [one for one in asked(made) if one.kind == "shorter"]
    assert (line.now, line.saves, line.length, line.least) == ("92 in", "one repeat", inches(27), True)
    assert "saves one repeat: 3/4 yd of Weave, $12.00" in line.text


def test_how_much_less_full_saves_a_width() -> None:
    """At a fullness of 1.98 the panel is 99 wide, which two widths give. Three rows of 100, 302 in: 68 steps;
    two rows, 202 in: 45 steps: 23 steps less.
    """
    made = planned(order(WIDE))
    assert made.layouts[0].length == inches(300)
    (line,) = [one for one in asked(made) if one.kind == "less full"]
    assert (line.was, line.now, line.saves) == ("2", "1.98", "one width")
    assert (line.length, line.money, line.least) == (23 * STEP, Decimal(46), True)
    assert "with a fullness of 1.98 instead of 2 saves one width: 2 7/8 yd of Weave, $46.00" in line.text


def test_a_flat_width_is_made_narrower() -> None:
    made = planned(order(WIDE.replace("fullness = 2", "flat_width = 100")))
    (line,) = [one for one in asked(made) if one.kind == "less full"]
    assert (line.was, line.now, line.saves) == ("100 in", "99 in", "one width")


def test_which_bolt_needs_no_seams() -> None:
    """The panel is 100 wide; the narrowest bolt in whole inches that holds it has 101, less two selvages."""
    (line,) = [one for one in asked(planned(order(WIDE))) if one.kind == "wider bolt"]
    assert (line.was, line.now, line.saves, line.money) == ("51 in", "101 in", "the seams", None)
    # One cut of 100 + squaring 2 = 102 in is 22.7 steps: 23; it was 68.
    assert line.length == (68 - 23) * STEP
    assert "(not on offer here)" in line.text
    offered = "[[fabric.face.bolt]]\nwidth = 104\nprice = 60\n"
    (line,) = [one for one in asked(planned(order(WIDE, bolt=offered))) if one.kind == "wider bolt"]
    # 68 steps at 16 / 8 = 136.00; 23 steps at 60 / 8 = 172.50: 36.50 more for 5 5/8 yd less.
    assert (line.now, line.money) == ("104 in", Decimal("-36.50"))
    assert line.text == (
        "Weave from a bolt 104 in wide (on offer) needs no seams in its panels: 2 7/8 yd, 5 5/8 yd less, "
        "for $36.50 more"
    )


def test_a_bolt_as_wide_as_the_drop_needs_no_seams_when_cut_sideways() -> None:
    """Of plain fabric without nap the panel, 100 wide, may lie along the bolt.

    With finished 60 the cut is 68 long: a bolt of 69, less two selvages of 1/2, holds it across. One run of
    100 + squaring 2 = 102 in is 23 steps; three widths of 68 were 204 + 2 = 206: 46 steps.
    """
    text = order(WIDE.replace("92", "60")).replace('nap = "one-way"', 'nap = "none"')
    (line,) = [one for one in asked(planned(text)) if one.kind == "wider bolt"]
    assert (line.now, line.length) == ("69 in", 23 * STEP)
    assert "needs no seams in its panels, cut sideways: 2 7/8 yd, 2 7/8 yd less" in line.text


def test_the_largest_saving_comes_first_and_five_are_enough() -> None:
    made = plan(read_job(SAMPLES / "workshop.toml"), effort=Effort(work=1, workers=1))
    lines = asked(made, work=4)
    assert 1 < len(lines) <= MOST_LINES
    money = [one.money for one in lines if one.money is not None]
    assert money == sorted(money, reverse=True)
    assert asked(made, work=4) == lines


@pytest.mark.parametrize("sample", ["three-window-house", "workshop"])
@pytest.mark.nightly
def test_every_line_is_kept_by_a_plan_with_that_change(sample: str) -> None:
    """Planned as changed, the fabric costs no more than the advice said."""
    job = read_job(SAMPLES / f"{sample}.toml")
    made = plan(job, effort=Effort(work=2, workers=1))
    lines = asked(made, work=6)
    assert lines
    for line in lines:
        bolts = {}
        changed = job
        if line.window is None:
            width = parse_length(line.now, job.units)
            offered = [bolt for bolt in job.fabric(line.fabric).bolts if bolt.width == width]
            if not offered:
                continue
            bolts = {line.fabric: offered[0]}
        else:
            said = (
                {"finished_length": int(parse_length(line.now, job.units))}
                if line.kind == "shorter"
                else {"fullness": Fraction(line.now)}
            )
            windows = tuple(replace(w, **said) if w.name == line.window else w for w in job.windows)  # type: ignore[arg-type]
            changed = replace(job, windows=windows)
        again = plan(changed, bolts=bolts, effort=Effort(work=3, workers=1))
        before, after = (
            next(layout.buy for layout in p.layouts if layout.fabric.key == line.fabric)
            for p in (made, again)
        )
        assert before is not None
        assert after is not None
        assert before.total - after.total >= line.length


def test_it_ends_when_asked_and_without_a_budget() -> None:
    made = planned(order(PAIR))
    told = list[str]()

    def no_more(fabric: str, now: Incumbent) -> bool:
        told.append(fabric)
        return False

    assert what_if(made, effort=Effort(work=8.0, workers=1, listener=no_more)) == ()
    assert set(told) == {"Weave"}
    assert what_if(made, effort=Effort(seconds=0.0)) == ()
    assert what_if(replace(made, layouts=())) == ()


def test_it_is_in_json_packet_and_on_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(order(PAIR), encoding="utf-8")

    def run(*words: str) -> tuple[int, str, str]:
        head = ["nesting", "plan", str(job), "--work-limit", "8", "--workers", "1"]
        monkeypatch.setattr("sys.argv", [*head, *words])
        with pytest.raises(SystemExit) as ended:
            main()
        return (int(ended.value.code or 0), *capsys.readouterr())

    code, out, _ = run("--what-if", "-o", str(tmp_path / "out"))
    assert code == 0
    assert "What if" in out
    assert "East 2 in shorter" in out
    made = read_plan(tmp_path / "out" / "plan.json")
    document = json.loads((tmp_path / "out" / "plan.json").read_text("utf-8"))
    assert json.loads(json.dumps(plan_document(made))) == document
    (line,) = [one for one in document["what_if"] if one["kind"] == "shorter"]
    assert (line["length"], line["money"], line["least"]) == (4.5, 2.0, True)
    page = packet_html(packet(made, made=date(2026, 11, 25)), paper="a4")
    assert "East 2 in shorter, finished 90 in, saves 1/8 yd of Weave, $2.00." in page
    assert "Small changes, the largest saving first" in page
    plain = packet_html(packet(replace(made, what_if=()), made=date(2026, 11, 25)), paper="a4")
    assert "Small changes" not in plain
    code, out, _ = run("--format", "json")
    assert json.loads(out)["what_if"] == []
