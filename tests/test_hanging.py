"""What a drape hangs from, how high, whether the rod passes: worked by hand. Common practice, no source."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from orders import a_bolt, a_fabric, a_job, a_window, by_role, cm, cut_job, inch, panels

from nesting.cutting.cut import Cutting
from nesting.errors import JobError
from nesting.files import read_job_text
from nesting.files.columns import measurement_heads
from nesting.order.job import RingOrder, TabOrder
from nesting.units import Unit, format_length
from nesting.web.draft import from_text
from nesting.web.form import form_of
from nesting.web.sketch import sketch

#: A circle's circumference to its diameter, from memory; the sums below round it to 3.1416.
CIRCLE = Fraction("3.14159265")


def cut_window(units: Unit = "in", **said: Any) -> Cutting:
    return cut_job(a_job(a_window(**said), fabrics=(a_fabric(a_bolt(inch(54))),), units=units))


def told(cutting: Cutting) -> str:
    return "\n".join(note.text for note in cutting.advice)


def job_text(window: str, units: str = "in") -> str:
    return (
        f'title = "T"\nunits = "{units}"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = 54\n'
        f'[[window]]\nname = "East"\nrod = 60\n{window}\n'
    )


def refused(window: str, units: str = "in") -> str:
    with pytest.raises(JobError) as caught:
        read_job_text(job_text(window, units))
    return str(caught.value)


# How long a loop makes the panel


@pytest.mark.parametrize(
    ("loop", "finished", "cut"),
    [
        # Rod top 96, d 1, clearance 1/2, hem 4 twice, seam 1/2. Half the circumference 1.5708.
        # Loop 10: gap (10 - 1.5708 - 1) / 2 = 3.7146; 96 - 1 - 3.7146 - 1/2 = 90.7854, down to 90 3/4; 8 1/2
        # more to cut.
        ("10", "90 3/4", "99 1/4"),
        # Loop 4: gap 0.7146; 93.7854, down to 93 3/4; + 8 1/2.
        ("4", "93 3/4", "102 1/4"),
    ],
)
def test_a_loop_that_is_ordered_decides_where_the_panel_hangs(loop: str, finished: str, cut: str) -> None:
    said = {"rod_height": inch(96), "finished_length": None, "rod_diameter": inch(1)}
    cutting = cut_window(heading="tab-top", tab=TabOrder(length=inch(loop)), **said)
    assert cutting.panels[0].length == inch(finished)
    assert {piece.length for piece in panels(cutting)} == {inch(cut)}
    assert by_role(cutting, "tab")[0].finished_length == inch(loop)


def test_a_gap_that_is_ordered_decides_too() -> None:
    # Gap 3: 96 - 1 - 3 - 1/2 = 91 1/2; loop 1.5708 + 6 + 1 = 8.5708, up to 8 5/8.
    said = {"rod_height": inch(96), "finished_length": None, "rod_diameter": inch(1)}
    cutting = cut_window(heading="tab-top", tab=TabOrder(gap=inch(3)), **said)
    assert cutting.panels[0].length == inch("91 1/2")
    assert by_role(cutting, "tab")[0].finished_length == inch("8 5/8")


def test_the_sum_shows_the_loop() -> None:
    said = {"rod_height": inch(96), "finished_length": None, "rod_diameter": inch(1)}
    cutting = cut_window(heading="tab-top", tab=TabOrder(length=inch(10)), **said)
    assert cutting.panels[0].steps[0].line("in") == (
        "finished length: top of the rod above the floor 96 - rod 1 - gap below the rod 3.715 - clearance "
        "above the floor 1/2 = 90.785, rounded down to the tape = 90 3/4 in"
    )
    gap = cutting.headings[0].steps[1].line("in")
    assert gap.startswith(
        "gap below the rod: (finished tab 10 - half the rod's circumference 1.571 - rod 1) ÷ "
    )


@pytest.mark.parametrize("diameter", ["5/8", "1", "1 3/8", "2"])
@pytest.mark.parametrize("loop", [6, 7, 9, 12])
def test_the_hem_always_clears_the_floor_by_less_than_a_step_too_much(diameter: str, loop: int) -> None:
    d = inch(diameter)
    said = {"rod_height": inch(96), "finished_length": None, "rod_diameter": d}
    cutting = cut_window(heading="tab-top", tab=TabOrder(length=inch(loop)), **said)
    hangs = inch(96) - d - (inch(loop) - CIRCLE * d / 2 - d) / 2
    clear = hangs - cutting.panels[0].length
    assert inch("1/2") - 1 <= clear < inch("1/2") + inch("1/16") + 1


@pytest.mark.parametrize("diameter", ["3/8", "5/8", "1", "1 1/4", "1 3/8", "1 13/16", "2", "3"])
@pytest.mark.parametrize("height", ["96", "90 3/16", "84 5/8"])
@pytest.mark.parametrize("name", ["back-tab", "rod-pocket"])
def test_in_front_of_a_rod_the_hem_is_within_a_step_of_its_clearance(
    name: str, height: str, diameter: str
) -> None:
    # Cut length less seam or pocket and hem lies flat; a quarter of the way round the rod less half of the
    # rod goes over it. The top edge is 3/4, or the heading of 1, above the rod; the hem 1/2 above the floor.
    d = inch(diameter)
    said = {"rod_height": inch(height), "finished_length": None, "rod_diameter": d, "take_up": None}
    cutting = cut_window(heading=name, **said)
    (length,) = {piece.length for piece in panels(cutting)}
    pocket = sum(steps.total for steps in cutting.headings[0].steps if steps.target == "pocket")
    top = inch("1/2") if name == "back-tab" else inch("1 1/2") + pocket
    hangs = length - inch(8) - top - d * (CIRCLE / 4 - Fraction(1, 2))
    above = inch("3/4") if name == "back-tab" else inch(1)
    clear = inch(height) + above - hangs
    assert abs(clear - inch("1/2")) < inch("1/16")


def test_loop_and_gap_must_agree() -> None:
    # d 1: a loop of 10 leaves 3.71, on the tape 3 11/16. Gap 2 needs 1.5708 + 4 + 1 = 6.5708, up to 6 5/8.
    line = 'heading = "tab-top"\nrod_diameter = 1\nrod_height = 96\ntab = {{ length = {}, gap = {} }}'
    text = refused(line.format(10, 2))
    assert 'window "East": tab.gap = 2: expected 3 11/16 in' in text
    assert "6 5/8 in" in text
    assert read_job_text(job_text(line.format("6.625", 2))).windows[0].tab.gap == inch(2)


# Spacing of tab tops


@pytest.mark.parametrize(
    ("flat", "width", "spacing", "number", "clear"),
    [
        (43, 3, 8, 6, "5"),  # (43 - 3) / 8 = 5 spaces: six tabs, not the five that a clear gap of 8 gives
        (60, 2, 6, 11, "3 4/5"),  # 58 / 6 = 9.67: 10 spaces of 5.8
        (20, 4, 8, 3, "4"),  # 16 / 8 = 2
    ],
)
def test_tabs_are_as_far_from_center_to_center_as_ordered(
    flat: int, width: int, spacing: int, number: int, clear: str
) -> None:
    tab = TabOrder(width=inch(width), spacing=inch(spacing))
    cutting = cut_window(heading="tab-top", draw="left", flat_width=inch(flat), tab=tab)
    (head,) = cutting.headings
    assert len(head.spots) == number
    assert (head.spots[0].start, head.spots[-1].end) == (0, inch(flat))
    whole, _, part = clear.partition(" ")
    gap = (Fraction(whole) + Fraction(part or 0)) * inch(1)
    assert abs(head.spots[1].start - head.spots[0].end - gap) <= 1
    assert f"{format_length(gap + inch(width), 'in')} from center to center" in head.remarks[0]


def test_without_a_spacing_the_clear_gap_of_5_stays() -> None:
    # E43: 43 in, six tabs of 3, five gaps of 5. (43 + 5) / (3 + 5) = 6.
    cutting = cut_window(heading="tab-top", draw="left", flat_width=inch(43), tab=TabOrder(width=inch(3)))
    assert len(cutting.headings[0].spots) == 6


# The rod must pass


@pytest.mark.parametrize(
    ("line", "place", "least", "usual"),
    [
        # d 2: half the circumference 3.1416, on the tape up to 3 3/16; + 1/2 = 3.64, up to 3 3/4.
        ('heading = "back-tab"\ntab = { length = 2 }', "tab.length = 2", "at least 3 3/16 in", "3 3/4 in"),
        # A loop also goes down both sides: 3.1416 + 2 = 5.1416, up to 5 3/16. With ease it goes all around:
        # 6.2832 + 1/2 = 6.78, up to 6 7/8.
        ('heading = "tab-top"\ntab = { length = 3 }', "tab.length = 3", "at least 5 3/16 in", "6 7/8 in"),
        ('heading = "tab-top"\ntab = { length = 4 }', "tab.length = 4", "at least 5 3/16 in", "6 7/8 in"),
        # A fifth more than 3.1416 is 3.77, up to 3 13/16.
        ('heading = "rod-pocket"\npocket = 3', "pocket = 3", "at least 3 3/16 in", "3 13/16 in"),
        ('heading = "grommet"\nring = { size = 1.5 }', "ring.size = 1.5", "more than 2 in", ""),
        (
            'heading = "grommet"\nring = { size = 3, inner = 2 }',
            "ring.inner = 2",
            "more than 2 in",
            "2 1/4 in",
        ),
        ('heading = "clip-ring"\nring = { size = 1.5 }', "ring.size = 1.5", "more than 2 in", ""),
        ('heading = "pinch-pleat"\nring = { inner = 1.5 }', "ring.inner = 1.5", "more than 2 in", "2 1/4 in"),
        ('heading = "pencil-pleat"\nring = { size = 2 }', "ring.size = 2", "more than 2 in", ""),
    ],
)
def test_what_the_rod_does_not_pass_is_refused(line: str, place: str, least: str, usual: str) -> None:
    text = refused(f"{line}\nrod_diameter = 2\nfinished_length = 90")
    assert f'window "East": {place}: expected {least}' in text
    assert usual in text


@pytest.mark.parametrize(
    ("line", "place", "least"),
    [
        # 1 1/2 high, 1/2 deep: 2 half around; from corner to corner the root of 2 1/2, 1.58, up to 1 5/8.
        (
            'heading = "back-tab"\ntab = { length = 1.75 }',
            "tab.length",
            "at least 2 in, height and depth of a flat",
        ),
        ('heading = "rod-pocket"\npocket = 1.75', "pocket", "at least 2 in, height and depth of a flat"),
        # Over its top and down both sides.
        (
            'heading = "tab-top"\ntab = { length = 3 }',
            "tab.length",
            "at least 3 1/2 in, height and depth and",
        ),
        (
            'heading = "grommet"\nring = { size = 3, inner = 1.5 }',
            "ring.inner",
            "more than 1 5/8 in, the diagonal",
        ),
    ],
)
def test_what_a_flat_rod_does_not_pass_is_refused(line: str, place: str, least: str) -> None:
    text = refused(f"{line}\nrod_diameter = 1.5\nrod_depth = 0.5\nfinished_length = 90")
    assert f'window "East": {place}' in text
    assert least in text


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("rod_depth = 0.25", "rod_diameter: missing: expected the height of the flat rod"),
        ("rod_diameter = 1\nrod_depth = 1.25", "rod_depth = 1.25: expected no more than rod_diameter"),
    ],
)
def test_a_flat_rod_is_told_by_height_and_depth(line: str, words: str) -> None:
    text = refused(f"finished_length = 90\n{line}")
    assert words.replace("missing: ", "") in text.replace("missing: ", "")


def test_a_cut_refuses_it_as_well() -> None:
    with pytest.raises(JobError, match=r"tab\.length = 2 in: expected at least 3 3/16 in"):
        cut_window(rod_diameter=inch(2), tab=TabOrder(length=inch(2)))


@pytest.mark.parametrize(
    ("said", "text"),
    [
        (
            {"tab": TabOrder(length=inch("3 1/4"))},
            "tabs 3 1/4 in long are tight on a rod 2 in thick: 3 3/4 in",
        ),
        # The loop hangs with a gap of (5 1/4 - 5.14) / 2, but both its ends lie in one seam: 6.28 around.
        (
            {"heading": "tab-top", "tab": TabOrder(length=inch("5 1/4"))},
            "tabs 5 1/4 in long are tight on a rod 2 in thick: 6 7/8 in",
        ),
        ({"heading": "tab-top", "tab": TabOrder(gap=0)}, "tabs 5 1/4 in long are tight on a rod 2 in thick"),
        ({"heading": "grommet", "ring": RingOrder(inner=inch("2 1/8"))}, "2 1/8 in wide inside are tight"),
        ({"heading": "clip-ring", "ring": RingOrder(inner=inch("2 1/8"))}, "2 1/4 in is usual"),
        (
            {"heading": "grommet", "ring": RingOrder(size=inch(3))},
            "grommets 3 in across outside: the inner diameter must be more than 2 in, the rod; measure it",
        ),
    ],
)
def test_less_than_the_usual_ease_is_told_with_the_size(said: dict[str, Any], text: str) -> None:
    assert text in told(cut_window(rod_diameter=inch(2), **said))


@pytest.mark.parametrize(
    "said",
    [
        {"tab": TabOrder(length=inch("3 3/4"))},
        {"heading": "tab-top", "tab": TabOrder(length=inch("6 7/8"))},
        {"heading": "rod-pocket", "pocket": inch("3 13/16")},
        {"heading": "grommet", "ring": RingOrder(size=inch(3), inner=inch("2 1/4"))},
        {"heading": "back-tab"},
        {"heading": "tab-top"},
        {"heading": "rod-pocket"},
    ],
)
def test_the_usual_ease_is_not_remarked_on(said: dict[str, Any]) -> None:
    text = told(cut_window(rod_diameter=inch(2), **said))
    assert "tight" not in text
    assert "measure it" not in text


@pytest.mark.parametrize(
    ("said", "text"),
    [
        # 2 x 2 / 3.1416 = 1.27, down to 1 1/4.
        ({"tab": TabOrder(length=inch(2))}, "tabs 2 in long are wide enough for a rod up to 1 1/4 in thick"),
        # 3 x 2 / 3.1416 = 1.909, down to 1 7/8.
        (
            {"heading": "rod-pocket", "pocket": inch(3)},
            "a pocket 3 in deep is wide enough for a rod up to 1 7/8",
        ),
        ({"heading": "grommet", "ring": RingOrder(inner=inch(2))}, "for a rod thinner than 2 in"),
    ],
)
def test_an_unknown_rod_is_not_refused_but_asked_for(said: dict[str, Any], text: str) -> None:
    assert text in told(cut_window(rod_diameter=None, **said))


def test_metric_ease() -> None:
    # d 3 cm: half the circumference 4.712, + 1.2 = 5.912, up to 6; x 1.2 = 5.655, up to 5.7; ring 3 + 0.6.
    base = {"units": "cm", "rod": cm(120), "finished_length": cm(240), "rod_diameter": cm(3)}
    assert "6 cm is usual" in told(cut_window(tab=TabOrder(length=cm(5)), **base))
    assert "5.7 cm is usual" in told(cut_window(heading="rod-pocket", pocket=cm(5), **base))
    ring = RingOrder(inner=cm(Fraction("3.3")))
    assert "3.6 cm is usual" in told(cut_window(heading="grommet", ring=ring, **base))


# What it hangs from


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Pleats on a track: the rod's height says nothing of where the hook goes in.
        ('heading = "pinch-pleat"\nrod_height = 96', ("rod_height = 96: expected eye_height", "ring_drop")),
        ('heading = "pencil-pleat"\nrod_height = 96', ("rod_height = 96: expected eye_height",)),
        (
            'heading = "pinch-pleat"\nrod_diameter = 1\nhangs_from = "track"\nrod_height = 96',
            ("rod_height = 96: expected eye_height",),
        ),
        # Pleats on rings: no default, for rings differ by inches.
        (
            'heading = "pinch-pleat"\nrod_diameter = 1\nrod_height = 96',
            ("ring_drop: expected the length from the top of the rod to the bottom of the ring's eye",),
        ),
        (
            'heading = "pinch-pleat"\nrod_diameter = 1\neye_height = 96',
            ("eye_height = 96: expected rod_height and ring_drop instead", 'hangs_from = "track"'),
        ),
        ('heading = "back-tab"\neye_height = 96', ("eye_height = 96: expected rod_height instead",)),
        ('heading = "pinch-pleat"', ("finished_length: expected", "or eye_height, the floor to the hole")),
        ('heading = "clip-ring"', ("finished_length: expected", "or rod_height, such as 96")),
        (
            'heading = "grommet"\nhangs_from = "track"\nrod_height = 96',
            ('hangs_from = "track": expected "rod"',),
        ),
        ('heading = "pinch-pleat"\nhangs_from = "rod"\neye_height = 96', ('expected "track" or "rings"',)),
        ('heading = "pinch-pleat"\neye_height = 96\nfinished_length = 90', ("eye_height = 96", "not both")),
        (
            'heading = "pinch-pleat"\neye_height = 5\nclearance = 5',
            ("clearance = 5: expected less than eye_height",),
        ),
        (
            'heading = "clip-ring"\nrod_diameter = 2\nrod_height = 96\nring_drop = 1.5',
            ("ring_drop = 1.5: expected more than 2 in",),
        ),
        (
            'heading = "grommet"\nfinished_length = 90\nring = { size = 2, inner = 2.5 }',
            ("ring.inner = 2.5: expected less than ring.size",),
        ),
    ],
)
def test_heights_that_do_not_belong_are_refused_with_the_right_one(
    lines: str, expected: tuple[str, ...]
) -> None:
    text = refused(lines)
    assert all(part in text for part in ('window "East"', *expected)), text
    assert text.count("  - ") <= 1


def test_a_clip_ring_that_was_not_measured_is_said_to_be_assumed() -> None:
    # 1 3/8 + 1 3/4 = 3 1/8 below the top of the rod.
    said = {"heading": "clip-ring", "finished_length": None, "rod_height": inch(96)}
    text = "clips are assumed to hold the top edge 3 1/8 in below the top of the rod"
    assert text in told(cut_window(**said))
    assert text not in told(cut_window(**said, ring_drop=inch(3)))
    assert text not in told(cut_window(heading="clip-ring"))


def test_every_height_of_one_room_ends_at_one_hem() -> None:
    """A rod at 96 and what hangs from it, from the floor up: hem 1/2, top edge as the heading has it."""
    said: dict[str, Any] = {"finished_length": None, "rod_height": inch(96)}
    tops = {
        "back-tab": inch("96 3/4"),
        "rod-pocket": inch(97),
        "grommet": inch(97),
        "clip-ring": inch("93 1/2"),  # ring measured: 2 1/2 below
        "pinch-pleat": inch(94),  # the same ring's eye, and 1/2 above it
        "pencil-pleat": inch(94),
    }
    for name, top in tops.items():
        drop = {"ring_drop": inch("2 1/2")} if top < inch(96) else {}
        assert cut_window(heading=name, **said, **drop).panels[0].length == top - inch("1/2"), name


def test_rings_for_pleats_are_bought_and_the_rod_with_them() -> None:
    # 11 pleats and 2 edges in each of two panels: 26 hooks, 26 rings; 1 3/8 + 1/4 = 1 5/8 inside.
    found = {sundry.name: sundry for sundry in cut_window(heading="pinch-pleat").sundries}
    assert (found["hooks"].count, found["rings with eyes"].count) == (26, 26)
    assert found["rings with eyes"].note == "inner diameter at least 1 5/8 in"
    assert "rings with eyes" not in {
        sundry.name for sundry in cut_window(heading="pinch-pleat", hangs_from="track").sundries
    }


def test_a_list_of_measurements_has_the_new_columns() -> None:
    heads = measurement_heads("in")
    assert {"hangs_from", "ring_drop (in)", "eye_height (in)", "rod_height (in)"} <= set(heads)


# The page


@pytest.mark.parametrize(
    ("lines", "hangs", "shown", "hidden"),
    [
        ('heading = "back-tab"', "rod", {"rod_height"}, {"hangs_from", "ring_drop", "eye_height"}),
        ('heading = "clip-ring"', "rings", {"rod_height", "ring_drop"}, {"hangs_from", "eye_height"}),
        ('heading = "pinch-pleat"', "track", {"hangs_from", "rod_height", "eye_height"}, set()),
        ('heading = "pinch-pleat"\nrod_diameter = 1', "rings", {"ring_drop", "eye_height"}, set()),
        (
            'heading = "pinch-pleat"\nhangs_from = "track"',
            "track",
            {"eye_height"},
            {"rod_height", "ring_drop"},
        ),
        ('heading = "pencil-pleat"\nhangs_from = "rings"', "rings", {"ring_drop"}, {"eye_height"}),
    ],
)
def test_the_page_asks_for_what_the_window_hangs_from(
    lines: str, hangs: str, shown: set[str], hidden: set[str]
) -> None:
    (block,) = form_of(from_text(job_text(lines))).windows
    names = {one.name.rpartition(".")[2] for part in block.parts for one in part.fields}
    assert block.hangs == hangs
    assert shown <= names
    assert not hidden & names
    drawing = str(sketch(block.title, block.heading, block.hangs))
    assert ("knob" in drawing) == (hangs != "track")
    assert all(f"dim-{key}" in drawing for key in ("rod_height", "ring_drop", "eye_height"))
