"""A plan that is being cut, planned again at the table: what stays, where the rest lies, what to buy.

Sums are worked out in the comments. That goods are squared anew behind a wrong cut, that a piece of a print
is cut from its start line, and that more is bought of the same dye lot, are common practice, no source.
"""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest

from nesting.check import check_plan_document
from nesting.errors import JobError, NestingError
from nesting.files import plan_document, read_plan
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.planning.at_table import CutSoFar, Finding, Replanned, Spoiled, faults_of, replanned
from nesting.planning.planner import plan
from nesting.units import to_decimal
from tests.drapes import drawn_job
from tests.orders import inch
from tests.seeds import seeds
from tests.test_hung import EFFORT, job_text, planned, run

Cut = tuple[str, float, float]


def again(before: Plan, *cut: str, found: Finding | None = None, wrong: tuple[str, ...] = ()) -> Replanned:
    """The plan of what is left; its document is checked, also as it is read again."""
    standing = CutSoFar(frozenset((*cut, *wrong)), frozenset(wrong), () if found is None else (found,))
    made = replanned(before, standing, effort=EFFORT)
    document = json.loads(json.dumps(plan_document(made.plan)))
    assert check_plan_document(document) == ()
    with TemporaryDirectory() as folder:
        path = Path(folder, "plan.json")
        path.write_text(json.dumps(document), "utf-8")
        assert json.loads(json.dumps(plan_document(read_plan(path)))) == document
    return made


def face(**said: object) -> Finding:
    """A finding on the face fabric as it was bought; lengths in inches as text."""
    flaws = said.pop("flaws", ())
    lengths = {name: inch(str(text)) for name, text in said.items()}
    return Finding("face", flaws=flaws, **lengths)  # type: ignore[arg-type]


def flaw(at: str, long: str = "2", *, left: str = "0", wide: str | None = None) -> Spoiled:
    return Spoiled(inch(at), inch(long), inch(left), None if wide is None else inch(wide))


def lies(layout: FabricLayout) -> list[Cut]:
    """What lies on a length: piece, from the left, from its squared end."""
    return [(one.piece.id, to_decimal(one.x, "in"), to_decimal(one.y, "in")) for one in layout.placements]


def done(made: Replanned) -> set[str]:
    return {one.piece.id for layout in made.plan.layouts for one in layout.placements if one.done}


def on(made: Replanned, name: str | None) -> FabricLayout:
    return next(one for one in made.plan.layouts if one.on_hand == name)


def said(made: Replanned) -> str:
    return "\n".join(one.text for one in made.plan.advice)


# Plain fabric: a pair, each 49 x 96, one behind the other; 198 in bought, of which 2 square the end.


def test_a_flaw_in_what_is_not_cut_yet_moves_the_piece_behind_it() -> None:
    # Bought with 20 in of margin: 192 + 2 + 20 = 214, sold by 4 1/2 in: 216; 214 from the squared end.
    before = planned(job_text(face='safety = "20 in"'))
    made = again(before, "1", found=face(flaws=(flaw("100", left="10", wide="3"),)))
    assert done(made) == {"bay/left/1"}
    rest = on(made, "rest of the bolt")
    # 214 - 96 = 118 are left. The flaw is 4 to 6 in from the new end: 10 in at its left and 40 at its right
    # are both less than 49, so the piece lies behind it: 6 + 96 = 102.
    assert rest.there is not None
    assert to_decimal(rest.there.length, "in") == 118.0
    assert lies(rest) == [("bay/right/1", 0.0, 6.0)]
    assert all(one.buy is None for one in made.plan.layouts)
    assert "what is left is enough, and at least 16 in stay on the bolt" in said(made)


def test_where_the_flaw_leaves_too_little_it_says_what_to_buy_and_of_which_lot() -> None:
    # Without a margin 196 are there, 100 behind the first cut: 94 behind the flaw are less than 96.
    made = again(planned(job_text()), "1", found=face(flaws=(flaw("100"),)))
    bought = on(made, None)
    assert lies(bought) == [("bay/right/1", 0.0, 0.0)]
    # 96 + 2 to square the end: 98, sold by 4 1/2 in: 99 in, 2 3/4 yd at $20: 55.
    assert bought.buy is not None
    assert to_decimal(bought.buy.total, "in") == 99.0
    assert "Linen: what is left is not enough: buy 2 3/4 yd more of the same dye lot, 55.00" in said(made)
    assert "compare the lots by daylight" in said(made)


def test_a_flaw_in_a_piece_that_is_cut_is_a_question_for_its_maker() -> None:
    made = again(planned(job_text()), "1", found=face(flaws=(flaw("50"),)))
    assert done(made) == {"bay/left/1"}
    assert lies(on(made, "rest of the bolt")) == [("bay/right/1", 0.0, 0.0)]
    assert "a flaw lies in what is cut: 1. Where it shows, mark it as cut again" in said(made)


def test_a_flaw_beside_the_piece_moves_nothing() -> None:
    # 49 wide at the left of 53: a flaw from 50 on meets nothing.
    made = again(planned(job_text()), "1", found=face(flaws=(flaw("100", left="50"),)))
    assert lies(on(made, "rest of the bolt")) == [("bay/right/1", 0.0, 0.0)]


def test_fabric_lost_in_a_wrong_cut_is_squared_behind_it() -> None:
    # 196 - 97 1/2 = 98 1/2 are left, 2 1/2 more than the piece; 196 - 101 = 95 are too little.
    made = again(planned(job_text()), "1", found=face(lost="97 1/2"))
    rest = on(made, "rest of the bolt")
    assert rest.there is not None
    assert to_decimal(rest.there.length, "in") == 98.5
    assert lies(rest) == [("bay/right/1", 0.0, 0.0)]
    short = again(planned(job_text()), "1", found=face(lost="101"))
    assert lies(on(short, None)) == [("bay/right/1", 0.0, 0.0)]


def test_a_piece_that_went_wrong_is_cut_again() -> None:
    made = again(planned(job_text()), wrong=("1",))
    assert done(made) == set()
    # 196 - 96 = 100 hold one of them, the other is bought; what went wrong is no fabric to cut from.
    assert [one.on_hand for one in made.plan.layouts] == ["rest of the bolt", None]
    assert [to_decimal(one.length or 0, "in") for one in made.plan.layouts] == [96.0, 96.0]
    lengths = made.plan.job.fabric("face").bolts[0].on_hand
    assert [(one.name, to_decimal(one.length, "in")) for one in lengths] == [("rest of the bolt", 100.0)]
    assert "cut again: 1 of the plan before" in said(made)


def test_a_second_finding_goes_on_from_the_first() -> None:
    first = again(planned(job_text(face='safety = "20 in"')), "1", found=face(flaws=(flaw("100"),)))
    # Of the 118 that are left 16 lie behind the piece; 10 more lost before it leave it 6 in behind them.
    second = again(first.plan, "1", found=Finding("face", "rest of the bolt", lost=inch("10")))
    assert done(second) == {"bay/left/1"}
    rest = on(second, "rest of the bolt, rest")
    assert rest.there is not None
    assert to_decimal(rest.there.length, "in") == 108.0
    assert lies(rest) == [("bay/right/1", 0.0, 0.0)]


def test_a_narrower_bolt_lays_what_fits_and_names_what_does_not() -> None:
    narrow = again(planned(job_text()), "1", found=face(usable="50"))
    assert lies(on(narrow, "rest of the bolt")) == [("bay/right/1", 0.0, 0.0)]
    tight = again(planned(job_text()), "1", found=face(usable="48 1/2"))
    assert lies(on(tight, None)) == [("bay/right/1", 0.0, 0.0)]
    assert "wider than the 48 1/2 in that your fabric has: 2." in said(tight)


def test_less_on_the_bolt_than_was_bought() -> None:
    enough = again(planned(job_text()), "1", found=face(left="96"))
    assert lies(on(enough, "rest of the bolt")) == [("bay/right/1", 0.0, 0.0)]
    short = again(planned(job_text()), "1", found=face(left="95 3/4"))
    assert lies(on(short, None)) == [("bay/right/1", 0.0, 0.0)]


def test_nothing_cut_yet_and_a_flaw_found() -> None:
    made = again(planned(job_text(face='safety = "20 in"')), found=face(flaws=(flaw("20"),)))
    # 214 are there: the first piece behind the flaw at 22, the second behind it at 118, to 214.
    assert lies(on(made, "rest of the bolt")) == [("bay/left/1", 0.0, 22.0), ("bay/right/1", 0.0, 118.0)]


#: Four panels in a row, 49 x 96 each: 0, 96, 192, 288 to 384.
FOUR = """
[[window]]
name = "Door"
room = "Hall"
rod = 60
finished_length = 84
heading = "clip-ring"
rod_diameter = 1
fullness = 1.5
fabric = "face"
"""


def named_at(before: Plan, inches: float) -> str:
    """The name of the cut that begins there."""
    layout, numbers = before.layouts[0], numbering(before.layouts)
    return next(numbers.of(one) for one in layout.placements if to_decimal(one.y, "in") == inches)


def test_what_was_cut_first_lay_in_the_middle() -> None:
    before = planned(job_text(more=FOUR))
    middle = named_at(before, 96.0)
    kept = next(one for one in before.layouts[0].placements if to_decimal(one.y, "in") == 96.0)
    made = again(before, middle)
    assert done(made) == {kept.piece.id}
    # 384 + 2 = 386, sold by 4 1/2: 387; 385 from the squared end. Before the cut 96 are whole, behind it
    # 385 - 192 = 193: one piece and two.
    lengths = {
        one.name: to_decimal(one.length, "in") for one in made.plan.job.fabric("face").bolts[0].on_hand
    }
    assert lengths == {"uncut stretch": 96.0, "cut off": 96.0, "rest of the bolt": 193.0}
    assert [len(on(made, name).placements) for name in lengths] == [1, 1, 2]
    assert all(one.buy is None for one in made.plan.layouts)
    # A flaw in the stretch before it: that holds none any more, and the two behind it do not make room.
    spoiled = again(before, middle, found=face(flaws=(flaw("50"),)))
    assert [one.on_hand for one in spoiled.plan.layouts] == ["cut off", "rest of the bolt", None]
    assert to_decimal(on(spoiled, None).length or 0, "in") == 96.0


# A print, 24 in: 96 in are four repeats, so the planned cuts follow one another. The line is at the hem, 8 in
# above the lower edge. 192 + 2 + 24 for the start + 40 = 258, sold by 4 1/2: 261, 235 from the squared end.

PRINT = 'repeat = { length = 24 }\nsafety = "40 in"'


def test_behind_lost_fabric_the_next_panel_waits_for_its_place_in_the_print() -> None:
    made = again(planned(job_text(face=PRINT)), "1", found=face(lost="100"))
    rest = on(made, "rest of the bolt")
    # 100 is 4 repeats and 4 in: level with the panel that is cut it begins 20 in behind, at 120.
    assert lies(rest) == [("bay/right/1", 0.0, 20.0)]
    assert rest.there is not None
    assert to_decimal(rest.there.length, "in") == 135.0


def test_a_repeat_measured_on_the_bolt_moves_the_next_panel() -> None:
    made = again(planned(job_text(face=PRINT)), "1", found=face(repeat="24 1/4"))
    # Four repeats are 97 in on this bolt: the panel cut 96 long ends 1 in before the next one begins.
    assert lies(on(made, "rest of the bolt")) == [("bay/right/1", 0.0, 1.0)]
    # Three repeats of 24 3/4 and 21 3/4 are 96: 3 in before the next one.
    longer = again(planned(job_text(face=PRINT)), "1", found=face(repeat="24 3/4"))
    assert lies(on(longer, "rest of the bolt")) == [("bay/right/1", 0.0, 3.0)]
    # Of 23 3/4 in four are 95, so 1 in of it is cut off with the first: the next begins 22 3/4 behind.
    shorter = again(planned(job_text(face=PRINT)), "1", found=face(repeat="23 3/4"))
    assert lies(on(shorter, "rest of the bolt")) == [("bay/right/1", 0.0, 22.75)]


#: One panel of four widths on a half drop of 24 in whose columns are 27 in: two to a match of 54 in.
DROP = job_text(
    face='repeat = { length = 24, width = 27, drop = 0.5 }\nsafety = "40 in"',
    width="55\nmatch = 54",
    window='draw = "left"',
).replace("fullness = 1.5", "fullness = 3")


def phases(made: Replanned) -> set[tuple[float, float]]:
    """Of every width, where it begins in the print: across and along, columns stepped by half a repeat."""
    found = set()
    for layout in made.plan.layouts:
        start = layout.fabric.start
        for one in layout.placements:
            assert one.piece.match is not None
            repeat = layout.fabric.repeat
            assert repeat is not None
            assert repeat.width is not None
            if start is not None:
                column, across = divmod(one.x - one.piece.match.x, repeat.width)
                along = (start + one.y - one.piece.match.y - column * inch("12")) % inch("24")
                found.add((to_decimal(across, "in"), to_decimal(along, "in")))
    return found


def test_widths_of_a_panel_that_is_begun_still_meet_at_their_seams() -> None:
    made = again(planned(DROP), "1", found=face(lost="130"))
    assert done(made) == {"bay/single/1"}
    # 130 is 5 repeats and 10 in: the next full width begins 14 in behind.
    rest = on(made, "rest of the bolt")
    assert lies(rest)[0] == ("bay/single/2", 0.0, 14.0)
    # All widths begin at one place of the print, across and along.
    assert len(phases(made)) == 1
    assert "buy" in said(made)


def test_another_flaw_leaves_the_part_width_beside_a_step_of_the_drop() -> None:
    made = again(planned(DROP), "1", "2", found=face(flaws=(flaw("200", "1", left="0", wide="6"),)))
    assert len(phases(made)) == 1


#: Beside the pair, a cushion 50 wide and 20 long, whose nap runs with its length.
CUSHION = """
[[extra]]
name = "Cushion"
fabric = "face"
width = 50
length = 20
"""


@pytest.mark.parametrize("nap", ["one-way", "none"])
def test_a_nap_keeps_its_way_in_what_is_left(nap: str) -> None:
    # Both panels are cut, the cushion is not. The rest came 22 in wide: the cushion would fit on it turned,
    # 20 across; with a nap it may not be turned, and is cut upright from what is bought.
    before = planned(job_text(face=f'nap = "{nap}"\nsafety = "60 in"', more=CUSHION))
    numbers = numbering(before.layouts)
    panels = {numbers.of(one) for one in before.layouts[0].placements if one.piece.role == "panel"}
    made = again(before, *panels, found=face(usable="22"))
    layout, cushion = next(
        (layout, one) for layout in made.plan.layouts for one in layout.placements if not one.done
    )
    assert cushion.piece.role == "extra"
    if nap == "one-way":
        assert (layout.on_hand, cushion.turn, cushion.arrow) == (None, 0, "up")
    else:
        assert (layout.on_hand, cushion.turn) == ("rest of the bolt", 90)


# What cannot be.


@pytest.mark.parametrize(
    ("standing", "words"),
    [
        (CutSoFar(frozenset({"7"})), "cuts of this plan: 1, 2"),
        (CutSoFar(frozenset(), found=(Finding("velvet"),)), "a fabric or length of this plan"),
        (CutSoFar(frozenset(), found=(Finding("face", repeat=80),)), "no piece of this fabric is matched"),
        (CutSoFar(frozenset(), found=(Finding("face", usable=10**7),)), "not above the planned 53 in"),
        (CutSoFar(frozenset(), found=(Finding("face", lost=-1),)), "0 or more"),
        (
            CutSoFar(frozenset(), found=(Finding("face", flaws=(Spoiled(0, 80, 10**7),)),)),
            "0 to 53 in from the left",
        ),
    ],
)
def test_what_cannot_be_is_said_with_its_remedy(standing: CutSoFar, words: str) -> None:
    with pytest.raises(JobError, match=words):
        replanned(planned(job_text()), standing, effort=EFFORT)


@pytest.mark.parametrize(
    ("cut", "found", "words"),
    [
        # 198 were bought, of which 2 square the end.
        ((), face(flaws=(flaw("196"),)), "flaw = 196 in: expected a place on the fabric, which ends 196 in"),
        ((), face(lost="196 1/16"), "lost up to = 196 1/16 in: expected at most 196 in"),
        # The first piece ends at 96; measured, 90 are left behind it.
        (("1",), face(flaws=(flaw("186"),), left="90"), "which ends 186 in from its squared end"),
        (("1",), face(lost="187", left="0"), None),
        (("1",), face(flaws=(flaw("200"),), left="110"), None),
        ((), face(flaws=(flaw("195 15/16"),), lost="196"), None),
    ],
)
def test_what_was_found_lies_on_the_fabric(cut: tuple[str, ...], found: Finding, words: str | None) -> None:
    standing = CutSoFar(frozenset(cut), found=(found,))
    faults = "".join(str(fault) for fault in faults_of(planned(job_text()), standing))
    assert (faults == "") if words is None else (words in faults)


def test_what_was_found_on_a_length_on_hand_lies_within_it() -> None:
    text = job_text().replace("[[window]]", '[[fabric.face.bolt.on_hand]]\nlength = "300"\n\n[[window]]', 1)
    before = planned(text)
    (name,) = {layout.on_hand for layout in before.layouts}
    assert name is not None

    def faults(at: str) -> str:
        found = Finding("face", name, flaws=(flaw(at),))
        return "".join(map(str, faults_of(before, CutSoFar(frozenset(), found=(found,)))))

    assert "which ends 300 in from its squared end" in faults("300")
    # Behind all that is laid, and still on the fabric.
    assert not faults("299")


def test_a_repeat_far_from_the_label_is_refused() -> None:
    with pytest.raises(JobError, match="within a tenth of the repeat, 24 in"):
        again(planned(job_text(face=PRINT)), "1", found=face(repeat="30"))


# Jobs of all kinds.


def uncut(made: Replanned) -> list[tuple[FabricLayout, Laid]]:
    return [(layout, one) for layout in made.plan.layouts for one in layout.placements if not one.done]


@pytest.mark.parametrize("seed", seeds(3, 12))
def test_any_plan_can_be_planned_again_from_any_step(seed: int) -> None:
    random = Random(seed)
    try:
        before = plan(drawn_job(seed), effort=EFFORT)
    except NestingError:
        pytest.skip("this order is refused before anything is cut")
    numbers = numbering(before.layouts)
    layout = random.choice(before.layouts)
    names = list(dict.fromkeys(numbers.on(layout).values()))
    cut = names[: random.randint(0, len(names))]
    wrong = tuple(cut[-1:]) if random.random() < 0.3 else ()
    end = layout.length or 1
    spot = Spoiled(random.randrange(end), inch("1"), random.randrange(layout.usable), inch("2"))
    finding = Finding(layout.fabric.key, layout.on_hand, flaws=(spot,))
    made = again(before, *cut, found=finding, wrong=wrong)
    # What is cut and serves has the size it was cut in; every ordered piece is laid, or named as missing.
    sizes = {piece.id: (piece.width, piece.length) for piece in before.pieces}
    for _, one in ((layout, one) for layout in made.plan.layouts for one in layout.placements):
        assert (one.piece.width, one.piece.length) == sizes[one.piece.id]
    assert {one.piece for one in made.plan.left_out} <= {one.id for one in made.plan.pieces if one.optional}
    good = sum(numbers.of(one) in set(cut) - set(wrong) for lay in before.layouts for one in lay.placements)
    assert sum(one.done for lay in made.plan.layouts for one in lay.placements) == good


# In the terminal.


@pytest.mark.nightly
def test_the_command_plans_the_rest_and_keeps_the_plan_before(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, before, after = tmp_path / "job.toml", tmp_path / "before", tmp_path / "after"
    job.write_text(job_text(), encoding="utf-8")
    budget = ("--work-limit", "1", "--workers", "1")
    assert run(capsys, "plan", job, "-o", before, *budget)[0] == 0
    kept = (before / "plan.json").read_bytes()
    words = ("recut", before / "plan.json", "--cut", "1", "--flaw", "100, 2", *budget)
    assert run(capsys, *words, "-o", before)[0] == 2
    code, out, err = run(capsys, *words, "-o", after)
    assert code == 0, err
    assert "cut already" in out
    assert "buy 2 3/4 yd more of the same dye lot" in err
    assert (before / "plan.json").read_bytes() == kept
    assert run(capsys, "check", after / "plan.json")[0] == 0
    # What is left of it is planned on from there, not from its order alone.
    code, _, err = run(capsys, "plan", after / "plan.json", *budget)
    assert (code, "`nesting recut` plans the rest of this one again" in err) == (2, True)


@pytest.mark.parametrize(
    ("words", "place"),
    [
        (("--cut", "one"), "--cut"),
        (("--cut", "1", "--flaw", "100"), "--flaw"),
        (("--cut", "1", "--flaw", "here, 2"), "--flaw"),
        (("--cut", "1", "--lost", "-3"), "--lost"),
        (("--cut", "1", "--fabric", "velvet", "--lost", "3"), "--fabric"),
        (("--cut", "7"), "cuts of this plan: 1, 2"),
    ],
)
def test_the_command_names_what_it_cannot_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], place: str
) -> None:
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(plan_document(planned(job_text()))), encoding="utf-8")
    code, _, err = run(capsys, "recut", file, *words)
    assert (code, place in err) == (2, True), err
