"""Draws of what is uncertain, and the figures told from them."""

import numpy as np
import pytest

from model import spread


def test_the_first_sample_is_the_central_case_of_everything() -> None:
    samples = spread.draw(64)
    assert samples.count == 65
    assert samples.transport[0] == samples.humidity[0] == samples.moisture[0] == 0.0
    assert samples.sorption[0] == samples.tangential[0] == samples.radial[0] == 1.0
    assert samples.finish[0] == samples.modulus[0] == 1.0
    assert samples.mechano[0] == pytest.approx(60.0)  # the middle of 30..120 on a log scale
    assert samples.creep_limit[0] == 8.0
    assert not samples.unlimited[0]


def test_no_draws_leave_the_central_case_alone_and_figures_without_a_band() -> None:
    assert spread.draw(0).count == 1
    assert spread.figure(spread.draw(0).sorption) == spread.Figure(1.0, None, None)


def test_the_same_seed_gives_the_same_draws_and_another_seed_others() -> None:
    again = spread.draw.__wrapped__(32, 5)
    assert np.array_equal(spread.draw(32, 5).transport, again.transport)
    assert not np.array_equal(spread.draw(32, 6).transport, again.transport)


def test_a_species_spread_is_the_factor_at_the_tenth_and_ninetieth_percentile() -> None:
    factors = spread.transport_factor(spread.draw(1024), 2.0)[1:]
    # 1024 quasi-random points place a decile within 2 %.
    assert np.percentile(factors, 10.0) == pytest.approx(0.5, rel=0.02)
    assert np.percentile(factors, 90.0) == pytest.approx(2.0, rel=0.02)


def test_shrinkage_varies_by_fifteen_percent_within_a_species() -> None:
    # Wood Handbook FPL-GTR-190 ch. 4 (memory); 1024 quasi-random points give the deviation to 2 %.
    samples = spread.draw(1024)
    assert np.std(samples.tangential[1:]) == pytest.approx(0.15, rel=0.02)
    assert np.std(samples.radial[1:]) == pytest.approx(0.15, rel=0.02)
    assert np.corrcoef(samples.tangential[1:], samples.radial[1:])[0, 1] > 0.5


def test_a_band_always_holds_its_central_value() -> None:
    skewed = spread.figure([10.0, 1.0, 2.0, 3.0, 4.0])
    assert skewed.low is not None
    assert skewed.high is not None
    assert skewed.low < skewed.high == skewed.value == 10.0


def test_shared_draws_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        spread.draw(8).transport[0] = 1.0


def test_the_bark_side_is_up_in_the_middle_and_in_half_of_the_draws() -> None:
    for seed in range(1, 6):
        samples = spread.draw(128, seed)
        assert samples.bark_up[0] == 1.0
        assert set(np.unique(samples.bark_up)) == {-1.0, 1.0}
        # 64 of 128 within three standard deviations of a fair coin, 17
        assert abs(float(samples.bark_up[1:].sum())) < 2 * 17
        # It goes with nothing else: correlations of 128 draws stay below 3/sqrt(128).
        for other in (samples.pith, samples.tangential, samples.ring):
            assert abs(np.corrcoef(samples.bark_up[1:], other[1:])[0, 1]) < 0.27


def test_a_wood_varies_by_its_own_figures() -> None:
    samples = spread.draw(1024)
    own = spread.own_variation(samples.tangential, (0.15, 0.195))
    low, high = np.percentile(own[1:], [10.0, 90.0])
    # 1 - 1.28 x 0.15 and 1.25, to 1 %: 1,024 quasi-random draws
    assert (low, high) == pytest.approx((0.808, 1.25), rel=0.01)
    assert own[0] == 1.0
    same = spread.own_variation(samples.tangential, (0.15, 0.15))
    assert same == pytest.approx(samples.tangential)
