"""The safety margin: asked for it is bought on a line of its own, unasked it is offered."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from nesting.check import check_plan_document
from nesting.commands import main
from nesting.errors import JobError
from nesting.files import plan_document, read_job_text, read_plan
from nesting.packet import packet, packet_html
from nesting.plan.plan import Buy, Plan
from nesting.planning.planner import Effort, plan
from nesting.units import centimeters, inches, unit_ticks

#: One piece of 100 on a bolt as wide as it: layout 100, squaring 2, together 102. Sold by 1/8 yd = 4 1/2 in.
PLAIN = """
currency = "$"
[fabric.face]
[[fabric.face.bolt]]
width = 50
usable = 50
price = 16
[[extra]]
width = 50
length = 100
turnable = false
"""


def planned(text: str) -> Plan:
    return plan(read_job_text(text), effort=Effort(work=0.5, workers=1))


def bought(text: str) -> Buy:
    (layout,) = planned(text).layouts
    assert layout.buy is not None
    return layout.buy


def margins(buy: Buy) -> list[tuple[str, int]]:
    return [(line.name, line.length) for line in buy.allowances if "safety" in line.name]


def with_safety(value: str, text: str = PLAIN) -> str:
    return f"safety = {value}\n{text}"


def test_usual_is_a_yard_on_plain_fabric() -> None:
    """102 + 36 = 138 in = 30.7 steps, so 31 steps = 139 1/2 in = 3 7/8 yd. The rule: common practice."""
    buy = bought(with_safety('"usual"'))
    assert margins(buy) == [("safety margin (1 yd)", inches(36))]
    assert buy.needed == inches(138)
    assert buy.total == inches("279/2")
    assert float(buy.quantity) == 3.875


def test_usual_is_a_meter_in_metric_jobs() -> None:
    """Squaring 5 cm: 100 + 5 + 100 = 205 cm, sold by 10 cm: 2.1 m."""
    buy = bought(with_safety('"usual"', 'units = "cm"\n' + PLAIN))
    assert margins(buy) == [("safety margin (1 m)", centimeters(100))]
    assert float(buy.quantity) == 2.1


def test_usual_is_one_repeat_where_that_is_more() -> None:
    """Repeat 40 above 1 yd = 36: 100 + squaring 2 + unknown start 40 + margin 40 = 182 in."""
    text = PLAIN.replace("[[fabric", "repeat = { length = 40 }\n[[fabric").replace(
        "false", "false\nmatched = true"
    )
    text = text.replace("usable = 50", "usable = 50\nmatch = 49")
    buy = bought(with_safety('"usual"', text))
    assert margins(buy) == [("safety margin (one repeat)", inches(40))]
    assert buy.needed == inches(182)
    short = bought(with_safety('"usual"', text.replace("length = 40", "length = 35")))
    assert margins(short) == [("safety margin (1 yd)", inches(36))]


def test_a_percentage_is_taken_of_all_that_is_needed() -> None:
    """10 % of 102 = 10.2, up to the tape 10 1/4; 112 1/4 in is 24.9 steps, so 25 = 112 1/2 in."""
    buy = bought(with_safety('"10 %"'))
    assert margins(buy) == [("safety margin (10 %)", inches("41/4"))]
    assert buy.total == inches("225/2")


def test_it_comes_after_what_washing_takes() -> None:
    """Washed before, 20 % shorter: 102 / 0.8 = 127 1/2; the margin is bought as it is: 163 1/2 in."""
    text = PLAIN.replace("[[fabric", 'shrinkage = { length = 20, washed = "before" }\n[[fabric')
    text = text.replace("usable = 50", "usable = 50")
    buy = bought(with_safety('"usual"', text))
    assert buy.needed == inches("327/2")
    assert [line.name for line in buy.allowances][-1] == "safety margin (1 yd)"


def test_a_length_and_a_fabric_of_its_own() -> None:
    assert margins(bought(with_safety('"1/2 yd"'))) == [("safety margin (as ordered)", inches(18))]
    text = PLAIN.replace("[[fabric", "safety = 5\n[[fabric")
    assert margins(bought(with_safety('"usual"', text))) == [("safety margin (as ordered)", inches(5))]
    declined = PLAIN.replace("[[fabric", 'safety = "none"\n[[fabric')
    assert margins(bought(with_safety('"usual"', declined))) == []


def test_unasked_it_is_offered_with_its_cost_and_never_bought() -> None:
    """102 in is 22.7 steps: 23 = 103 1/2 in = 2 7/8 yd, $46; with the yard 3 7/8 yd, $62: $16 more."""
    made = planned(PLAIN)
    (offer,) = [advice for advice in made.advice if "safety" in advice.text]
    assert offer.kind == "offer"
    assert offer.fabric == "face"
    assert "would add 36 in, so 3 7/8 yd, $62.00, instead of 2 7/8 yd, $46.00" in offer.text
    assert offer.money == 16
    assert made.layouts[0].buy is not None
    assert margins(made.layouts[0].buy) == []
    for answer in ('"usual"', '"none"', '"5 %"', "0"):
        assert not [a for a in planned(with_safety(answer)).advice if "safety" in a.text]


@pytest.mark.parametrize(
    "value", ['"a bit"', '"-5 %"', '"200 %"', "-1", "true", "[1]", '"%"', '"1/0 %"', '"20 km"']
)
def test_what_is_no_margin_is_refused(value: str) -> None:
    with pytest.raises(JobError) as caught:
        read_job_text(with_safety(value))
    (fault,) = caught.value.faults
    assert fault.place == "safety"
    assert '"usual"' in fault.expected


def test_its_line_is_in_json_packet_and_plans_read_back(tmp_path: Path) -> None:
    made = planned(with_safety('"10 %"'))
    document = json.loads(json.dumps(plan_document(made)))
    assert check_plan_document(document) == ()
    assert document["layouts"][0]["buy"]["allowances"][-1]["name"] == "safety margin (10 %)"
    (tmp_path / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    again = read_plan(tmp_path / "plan.json")
    assert again.job == made.job
    page = packet_html(packet(again, made=date(2026, 11, 25)), paper="a4")
    assert "+ safety margin (10 %)" in page
    offered = packet_html(packet(planned(PLAIN), made=date(2026, 11, 25)), paper="a4")
    assert "has no safety margin" in offered


def test_the_command_asks_for_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(with_safety('"none"'), encoding="utf-8")

    def run(command: str, margin: str) -> tuple[int, str, str]:
        words = ["nesting", command, str(job), "--safety", margin, "--work-limit", "0.5", "--format", "json"]
        monkeypatch.setattr("sys.argv", words)
        with pytest.raises(SystemExit) as ended:
            main()
        return (int(ended.value.code or 0), *capsys.readouterr())

    code, out, _ = run("plan", "usual")
    assert code == 0
    assert json.loads(out)["layouts"][0]["buy"]["quantity"] == 3.875
    code, out, _ = run("compare", "usual")
    assert code == 0
    assert json.loads(out)["options"][0]["buy"]["total"] == unit_ticks("yd") * 3.875 / inches(1)
    code, _, err = run("plan", "plenty")
    assert code == 2
    assert "--safety = plenty: expected a margin" in err
