"""Pulls over a table: hand-worked folds, and no piece that the table holds is ever folded."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.plan.pulls import Pull, Run, lying, pulls_of, runs


def test_a_short_layout_needs_no_fold() -> None:
    assert pulls_of([(0, 40), (40, 70)], 70, 72) == (Pull(1, 0, 70),)


def test_the_fold_lies_at_the_last_straight_cut_in_reach() -> None:
    # Table 72: bands end at 40, 70 and 110. 70 is the last straight cut within 72, so the first pull ends
    # there and the second holds 70 to 110.
    spans = [(0, 40), (40, 70), (70, 110)]
    assert pulls_of(spans, 110, 72) == (Pull(1, 0, 70), Pull(2, 70, 110))


def test_a_piece_longer_than_the_table_is_folded_where_the_table_ends() -> None:
    # One panel of 104 on a table of 72: folded at 72; the rest of it, 72 to 104, is the second pull, which
    # ends at the straight cut at 104.
    assert pulls_of([(0, 104), (104, 208)], 208, 72) == (
        Pull(1, 0, 72), Pull(2, 72, 104), Pull(3, 104, 176), Pull(4, 176, 208),
    )  # fmt: skip


def test_the_fold_is_shifted_back_for_a_piece_that_the_table_can_hold() -> None:
    # Beside a panel of 104 lies a tie-back from 60 to 86. The table would end at 72, within the tie-back;
    # nothing short lies across 60, so the fold is shifted there: pulls 0 to 60 and, with the straight cut at
    # 104 within 60 + 72 = 132, 60 to 104.
    spans = [(0, 104), (60, 86)]
    assert pulls_of(spans, 104, 72) == (Pull(1, 0, 60), Pull(2, 60, 104))


def test_pulls_overlap_where_a_shifted_fold_would_meet_another_piece() -> None:
    # Bricks of 40 in two columns, the right one stepped by 20: 0-40-80-120 and 20-60-100. Table 72. At 72
    # both 40-80 and 60-100 are crossed; the first of them begins at 40, and 20-60 lies across 40. So the
    # first pull keeps 0 to 72 and the second begins again at 40: 40 to 112. There 80-120 is crossed, and
    # 60-100 lies across 80: the third begins at 80 and holds the rest, 80 to 120.
    spans = [(0, 40), (40, 80), (80, 120), (20, 60), (60, 100)]
    assert pulls_of(spans, 120, 72) == (Pull(1, 0, 72), Pull(2, 40, 112), Pull(3, 80, 120))


def test_a_cut_over_a_fold_is_made_in_runs() -> None:
    made = pulls_of([(0, 104), (60, 86)], 104, 72)
    # The tie-back's sides lie whole in the second pull; the panel's side is cut to the fold and on from it.
    assert runs(60, 86, made) == (Run(2, 60, 86),)
    assert runs(0, 104, made) == (Run(1, 0, 60), Run(2, 60, 104))
    assert runs(104, 104, made) == (Run(2, 104, 104),)


def runs_by_search(start: int, end: int, made: tuple[Pull, ...]) -> tuple[Run, ...]:
    """As `runs` says, every pull looked at each time."""
    found, at = list[Run](), start
    while True:
        whole = [pull for pull in made if pull.start <= at and end <= pull.end]
        here = max((pull for pull in made if pull.start <= at <= pull.end), key=lambda pull: pull.end)
        pull = whole[0] if whole else here
        found.append(Run(pull.number, at, min(end, pull.end)))
        if end <= pull.end:
            return tuple(found)
        at = pull.end


SPANS = st.lists(st.tuples(st.integers(0, 200), st.integers(1, 90)), min_size=1, max_size=25)


@given(spans=SPANS, table=st.integers(5, 80))
def test_no_cut_is_out_of_reach(spans: list[tuple[int, int]], table: int) -> None:
    placed = [(low, low + size) for low, size in spans]
    length = max(high for _, high in placed)
    made = pulls_of(placed, length, table)
    assert made[0].start == 0
    assert made[-1].end == length
    for before, after in itertools.pairwise(made):
        assert before.start < after.start <= before.end
    assert all(0 < pull.end - pull.start <= table for pull in made)
    for low, high in placed:
        whole = any(pull.start <= low and high <= pull.end for pull in made)
        assert whole or high - low > table
        pieces = runs(low, high, made)
        assert (pieces[0].start, pieces[-1].end) == (low, high)
        assert (len(pieces) == 1) == whole
        for one in pieces:
            assert made[one.pull - 1].start <= one.start <= one.end <= made[one.pull - 1].end
        for one, two in itertools.pairwise(pieces):
            assert one.end == two.start


@pytest.mark.parametrize("table", [1, 7, 1000])
def test_many_pieces_are_quick(table: int) -> None:
    spans = [(n * 3, n * 3 + 2 + n % 3) for n in range(3000)]
    made = pulls_of(spans, max(high for _, high in spans), table)
    assert made[-1].end == max(high for _, high in spans)


@given(SPANS, st.integers(5, 100))
def test_runs_are_found_as_by_looking_at_every_pull(sized: list[tuple[int, int]], table: int) -> None:
    """By halves, for a bolt of 100,000 napkins has 27,000 pulls and as many cuts."""
    spans = [(low, low + size) for low, size in sized]
    made = pulls_of(spans, max(high for _, high in spans), table)
    for one, two in itertools.pairwise(made):
        assert one.start < two.start
        assert one.end < two.end
    for low, high in spans:
        assert runs(low, high, made) == runs_by_search(low, high, made)
        assert lying(low, made) == tuple(pull for pull in made if pull.start <= low <= pull.end)
