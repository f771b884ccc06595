from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import ProblemError
from nesting.repeat import Repeat

DROPS = st.sampled_from([Fraction(part, parts) for parts in range(1, 7) for part in range(parts)])


@st.composite
def repeats(draw: st.DrawFn) -> Repeat:
    drop = draw(DROPS)
    return Repeat(drop.denominator * draw(st.integers(1, 12)), draw(st.integers(1, 30)), drop)


def brute_force_phases(repeat: Repeat, x: int, y: int, p: int, q: int) -> tuple[int, int]:
    """(phase_x, phase_y) by trying every n of the rule of `nesting.repeat`."""
    assert repeat.width is not None
    for n in range(-400, 401):
        phase_x = x - p - n * repeat.width
        if 0 <= phase_x < repeat.width:
            return phase_x, int(y - q - n * repeat.drop * repeat.length) % repeat.length
    raise AssertionError("no n in range")


@given(
    repeat=repeats(),
    x=st.integers(0, 300),
    y=st.integers(0, 300),
    p=st.integers(-60, 60),
    q=st.integers(-60, 60),
)
def test_phases_are_those_of_every_n_tried(repeat: Repeat, x: int, y: int, p: int, q: int) -> None:
    phase_x, phase_y = brute_force_phases(repeat, x, y, p, q)
    assert repeat.columns(x, p)[1] == phase_x
    assert repeat.phase_y(x, y, p, q) == phase_y


@pytest.mark.parametrize(("drop", "steps"), [("1/3", [0, 10, 20, 0]), ("2/3", [0, 20, 10, 0])])
def test_thirds_step_up_one_way_and_the_other(drop: str, steps: list[int]) -> None:
    # A third of a repeat of 30 is 10: n columns to the right the phase grows by n x 10, or by n x 20.
    repeat = Repeat(30, 7, Fraction(drop))
    assert [repeat.first_y(0, 7 * n, 0, 0, 0) for n in range(4)] == steps
    assert [repeat.first_y(0, -7 * n, 0, 0, 0) for n in range(4)] == [-step % 30 for step in steps]


@pytest.mark.parametrize("drop", [Fraction(1, 3), Fraction(2, 3), Fraction(1, 2), Fraction(2, 5)])
def test_a_seam_shows_the_same_pattern_on_both_sides(drop: Fraction) -> None:
    """A printed fabric drawn dot by dot: two cuts laid by the rule agree along their seam."""
    length, width = 30, 9
    repeat = Repeat(length, width, drop)

    def dot(x: int, y: int) -> tuple[int, int]:
        column, across = divmod(x, width)
        return across, int(y - column * drop * length) % length

    for x in range(40):
        for p in range(0, 3 * width, 2):
            if (x - p) % width:
                continue
            y = repeat.first_y(50, x, p, 4, 11)
            first = repeat.first_y(50, 0, 0, 0, 11)
            # The pattern plane of the panel: its point (p, 4) must carry what the panel shows there.
            assert dot(x, y) == dot(0 + p, first + 4)


@given(
    repeat=repeats(),
    x=st.integers(0, 99),
    p=st.integers(-50, 50),
    q=st.integers(-50, 50),
    least=st.integers(-50, 200),
)
def test_first_y_is_the_least_that_keeps_the_phase(
    repeat: Repeat, x: int, p: int, q: int, least: int
) -> None:
    phase = least % repeat.length
    y = repeat.first_y(least, x, p, q, phase)
    assert y == next(t for t in range(least, least + repeat.length) if repeat.phase_y(x, t, p, q) == phase)


@given(repeat=repeats(), p=st.integers(-50, 50), least=st.integers(-50, 200), seed=st.integers(0, 29))
def test_first_x_is_the_least_that_keeps_the_phase(repeat: Repeat, p: int, least: int, seed: int) -> None:
    assert repeat.width is not None
    phase = seed % repeat.width
    x = repeat.first_x(least, p, phase)
    assert x == next(t for t in range(least, least + repeat.width) if repeat.columns(t, p)[1] == phase)


def half_drop_total(cut: int, repeat: Repeat, letters: str) -> int:
    """The length of full-width cuts in this order, each as low as its phase allows."""
    assert repeat.width is not None
    end = 0
    for letter in letters:
        y = repeat.first_y(end, 0, -repeat.width * (letter == "B"), 0, 0)
        end = y + cut
    return end


@pytest.mark.parametrize(
    ("cut", "length", "drop", "best"),
    [
        # Found by trying every order; the first three also PRT, E34 (K. Stein, Prints:
        # Conquering and Cutting, Part III, April 1998) for cut 87, repeat 12.
        ("87", "12", "0", "375"),
        ("87", "12", "1/2", "357"),
        ("116", "25", "0", "491"),
        ("116", "25", "1/2", "503.5"),
        ("108", "25", "1/2", "445.5"),
    ],
)
def test_full_width_cuts_take_what_the_references_say(cut: str, length: str, drop: str, best: str) -> None:
    repeat = Repeat(int(Fraction(length) * 2), 100, Fraction(drop))
    orders = ["AABB", "ABAB", "ABBA", "BBAA", "BABA", "BAAB"] if repeat.drop else ["AAAA"]
    shortest = min(half_drop_total(int(Fraction(cut) * 2), repeat, order) for order in orders)
    assert Fraction(shortest, 2) == Fraction(best)


def test_letters_make_the_drop_visible() -> None:
    half, third, straight = Repeat(30, 9, Fraction(1, 2)), Repeat(30, 9, Fraction(1, 3)), Repeat(30, 9)
    assert "".join(half.letter(9 * n, 0) for n in range(4)) == "ABAB"
    assert "".join(third.letter(9 * n, 0) for n in range(4)) == "ABCA"
    assert third.letter(-9, 0) == "C"
    assert "".join(straight.letter(9 * n, 0) for n in range(3)) == "AAA"


@given(repeat=repeats(), x=st.integers(0, 200), p=st.integers(-50, 50))
def test_equal_letters_mean_equal_height(repeat: Repeat, x: int, p: int) -> None:
    height = (repeat.first_y(0, x, p, 0, 0)) % repeat.length
    same = repeat.letter(x, p) == "A"
    assert same == (height == 0)


def test_without_a_width_x_is_free() -> None:
    repeat = Repeat(30)
    assert repeat.columns(17, 4) == (0, 0)
    assert repeat.first_x(5, 3, 9) == 5
    assert repeat.first_y(31, 17, 4, 0, 0) == 60


@pytest.mark.parametrize(
    ("length", "width", "drop", "reason"),
    [
        (0, 5, "0", "above 0"),
        (5, 0, "0", "above 0"),
        (-5, None, "0", "above 0"),
        (30, None, "1/2", "without a repeat width"),
        (31, 5, "1/2", "no whole number"),
    ],
)
def test_impossible_patterns_are_refused(length: int, width: int | None, drop: str, reason: str) -> None:
    with pytest.raises(ProblemError, match=reason):
        Repeat(length, width, Fraction(drop))
