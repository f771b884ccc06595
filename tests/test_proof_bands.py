"""Proofs by sums of bands: of layouts cut across first only, replayed from the problem alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.check.proof import proven_length
from nesting.check.proof_bands import MOST_SUMS, Stacked, proven_bands, proven_sums_of_bands
from nesting.packing import Bound, Flaw, Match, Part, Problem, Repeat, Strip, pack_across
from nesting.packing.certificates import BandSums
from nesting.packing.certificates.band_sums import MOST_SUMS as MOST_SUMS_OF_THE_ENGINE
from nesting.packing.certificates.weighing import PartWeight
from nesting.packing.guillotine.band_proof import proof_across, proof_in_bands
from nesting.packing.turn import Budget
from tests.fuzz import bands
from tests.seeds import seeds

#: Two of 4 x 7 and one of 3 x 8 on a strip of 10.
THREE = Problem((Strip(10),), (Part("seven", 4, 7, copies=2), Part("eight", 3, 8)))
STACKED = [Stacked(0, 4, 7, 7, 2), Stacked(1, 3, 8, 8, 1)]


def test_by_hand() -> None:
    # Widths add up to 3, 4, 7, 8 and no more within 10, so no band has three columns; lengths to 7, 8, 14. Of
    # weights 7 and 8 a band of 7 holds 14, one of 8 at most 16, and all parts weigh 22: 14 is the least, by
    # one band of a column of two sevens beside the eight.
    assert bands.least_of(THREE) == 14
    assert proven_sums_of_bands(STACKED, 10, 14) == 14
    # At every step a third column of 3 seems to fit, and bands of 8 seem to hold 24.
    assert proven_bands(STACKED, 10, 14) < 14
    # Where it is weighed up to 13 only, nothing up to 13 is long enough.
    assert proven_sums_of_bands(STACKED, 10, 13) == 14
    assert proven_sums_of_bands(STACKED, 10, 7) == 8
    assert proven_sums_of_bands([], 10, 14) == 0
    assert proven_sums_of_bands([Stacked(0, 4, 7, 0, 2)], 10, 14) == 0


def test_it_speaks_of_layouts_cut_across_first_only() -> None:
    said = proof_in_bands(THREE, 14, Budget(0, 5.0))
    assert said is not None
    assert said.checked(THREE)
    assert proven_length(THREE, said.certificate or {}, across=True) == 14
    assert proven_length(THREE, said.certificate or {}) == 0
    assert proof_in_bands(THREE, 15, Budget(0, 5.0)) is None


def test_beyond_plain_fabric_it_proves_nothing() -> None:
    weights = (PartWeight(0, 7), PartWeight(1, 8))
    said = BandSums(weights, longest=14)
    assert said.proven(THREE) == 14 == proven_length(THREE, said, across=True)
    flawed = replace(THREE, strips=(Strip(10, flaws=(Flaw(0, 0, 1, 1),)),))
    printed = Problem(
        (Strip(10, repeat=Repeat(4)),), (replace(THREE.parts[0], match=Match("room")), THREE.parts[1])
    )
    for other in (flawed, printed):
        assert said.proven(other) == 0 == proven_length(other, said, across=True)
        assert proof_in_bands(other, 14, Budget(0, 5.0)) is None
    assert proven_length(replace(THREE, strips=(Strip(10, 99),)), said, across=True) == 0


def test_more_sums_than_are_gone_through_prove_nothing() -> None:
    many = [Stacked(at, 1, 2**at, 1, 1) for at in range(16)]
    assert len(many) == 16
    assert 2 ** len(many) > max(MOST_SUMS, MOST_SUMS_OF_THE_ENGINE)
    assert proven_sums_of_bands(many, 20, 2**16) == 0
    parts = tuple(Part(str(at), 1, 2**at) for at in range(16))
    wide = Problem((Strip(20),), parts)
    assert BandSums(tuple(PartWeight(at, 1) for at in range(16)), longest=2**16).proven(wide) == 0


def test_weights_that_64_bits_do_not_hold_prove_nothing() -> None:
    assert proven_sums_of_bands([Stacked(0, 4, 7, 2**60, 2), Stacked(1, 3, 8, 8, 1)], 10, 14) == 0
    said = {
        "rule": "band sums",
        "longest": 14,
        "weights": [{"part": 0, "upright": 2**48}, {"part": 1, "upright": 1}],
    }
    assert proven_length(THREE, said, across=True) <= 14


@pytest.mark.nightly
def test_packing_carries_the_proof() -> None:
    result = pack_across(THREE, free=Bound(0, "nothing"), workers=1, work_limit=3)
    assert result.length == result.bound.length == 14
    assert (result.bound.certificate or {})["rule"] == "band sums"
    assert "not re-checked" not in result.bound.method


def test_what_counts_for_every_layout_counts_for_bands() -> None:
    # On a print, where sums say nothing: 4 x 7 twice and one of 8 x 9 lie one above the other.
    parts = (Part("a", 8, 9, match=Match("room")), Part("b", 8, 7, copies=2))
    problem = Problem((Strip(10, repeat=Repeat(3)),), parts)
    found = proof_across(problem, 23, Budget(0, 5.0))
    assert found is not None
    assert proven_length(problem, found.certificate or {}, across=True) >= 23


@pytest.mark.parametrize("seed", seeds(40, 1000))
def test_true_ones_replay_and_forged_ones_prove_nothing_false(seed: int) -> None:
    assert bands.trial(seed)[2] == []


def test_many_of_them_are_proved() -> None:
    """Or the property above would speak of nothing."""
    proofs = [bands.trial(seed)[0] for seed in range(1, 31)]
    assert 4 * sum(proofs) >= len(proofs)
