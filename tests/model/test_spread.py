"""Draws of what is uncertain, and the figures told from them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

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


def test_a_tenth_of_a_normal_lies_beyond_the_decile() -> None:
    assert pytest.approx(norm.ppf(0.9), rel=1e-15) == spread.TO_DECILE


@pytest.fixture(scope="module")
def many() -> spread.Samples:
    return spread.draw(1024, 3)


@pytest.mark.parametrize(
    ("name", "low", "middle", "high"),
    # Least, central and most of each (judgement, beside the constants): even in the logarithm on
    # either side, so that the quartiles stand at the roots of low x middle and middle x high.
    [
        ("finish", 0.7, 1.0, 3.0),
        ("mechano", 30.0, 60.0, 120.0),
        ("creep_limit", 5.0, 8.0, 15.0),
    ],
)
def test_factors_are_even_in_their_logarithm_on_either_side(
    many: spread.Samples, name: str, low: float, middle: float, high: float
) -> None:
    drawn = getattr(many, name)[1:]
    assert low <= drawn.min() < 1.01 * low
    assert 0.99 * high < drawn.max() <= high
    quartiles = np.percentile(drawn, [25.0, 50.0, 75.0])
    assert quartiles == pytest.approx(
        [np.sqrt(low * middle), middle, np.sqrt(middle * high)], rel=0.01
    )


def test_normal_draws_have_their_deviations(many: spread.Samples) -> None:
    for drawn, central, deviation in (
        (many.transport, 0.0, 1.0),
        (many.humidity, 0.0, 1.0),
        (many.moisture, 0.0, 0.8),
        (many.sorption, 1.0, 0.08),
        (many.modulus, 1.0, 0.22),
    ):
        assert drawn[0] == central
        # 1,024 quasi-random draws: the mean to a hundredth of the deviation, that to 2 %.
        assert drawn[1:].mean() == pytest.approx(central, abs=0.01 * deviation)
        assert drawn[1:].std() == pytest.approx(deviation, rel=0.02)
        # None beyond three deviations: 0.3 % would lie there.
        assert np.abs(drawn - central).max() <= 3.0 * deviation * (1.0 + 1e-12)
    assert np.abs(spread.draw(2048, 1).transport).max() == 3.0


def test_uniform_draws_fill_their_range(many: spread.Samples) -> None:
    for drawn, low, high in (
        (many.ring, 0.0, 1.0),
        (many.pith, 0.0, 1.0),
        (many.set_in_width, 0.0, 1.0),
        (many.loop, 0.5, 0.9),
    ):
        assert drawn[0] == pytest.approx(0.5 * (low + high))
        shares, _ = np.histogram(drawn[1:], 8, (low, high))
        assert shares == pytest.approx(np.full(8, 128.0), abs=2.0)
    assert many.unlimited[1:].sum() == 512
    assert (many.count, many.draws, many.seed) == (1025, 1024, 3)
    for name in set(many.__slots__) - {"count", "seed"}:
        assert getattr(many, name).shape == (1025,)
    assert spread.draw().count == 129


def test_both_shrinkages_share_064_of_their_variance(many: spread.Samples) -> None:
    shared = np.corrcoef(many.tangential[1:], many.radial[1:])[0, 1]
    assert shared == pytest.approx(0.64, abs=0.02)


def test_shares_of_set_lie_evenly_however_many() -> None:
    # The sequence of the plastic number: a gap of no part of it is wider than twice the mean.
    shares = np.sort(spread.draw(128).set_in_width)
    assert np.diff(shares).max() < 2.0 / 128.0
    assert np.diff(shares).min() > 0.1 / 128.0


def test_no_wood_shrinks_less_than_a_tenth() -> None:
    made = spread.own_variation([0.0, 0.85, 1.0, 1.3], (0.30, 0.20))
    assert made.tolist() == pytest.approx([0.1, 0.7, 1.0, 1.4])


def test_a_band_is_a_mean_of_the_draws_around_each_decile() -> None:
    # Of an evenly spaced sample the weights change nothing; of steps they take the mean.
    even = spread.figure([0.5, *np.linspace(0.0, 1.0, 101)])
    assert (even.low, even.high) == pytest.approx((0.1, 0.9))
    # 101 draws: weights fall straight to nothing 6.05 draws from the tenth and the ninetieth.
    step = np.zeros(102)
    step[11:] = 1.0  # from the draw of rank 10 on
    below = sum(1.0 - n / 6.05 for n in range(1, 7))
    found = spread.band(step)
    assert found is not None
    assert found[0] == pytest.approx(0.0)  # widened to the central value
    step[0] = 1.0
    found = spread.band(step)
    assert found is not None
    assert found[0] == pytest.approx((1.0 + below) / (1.0 + 2.0 * below))
    assert found[1] == pytest.approx(1.0)


def test_bands_of_many_figures_at_once() -> None:
    values = np.array([[0.5, *np.linspace(0.0, 1.0, 21)], [5.0, *np.linspace(0.0, 10.0, 21)]])
    found = spread.band(values)
    assert found is not None
    assert found[0] == pytest.approx([0.1, 1.0])
    assert found[1] == pytest.approx([0.9, 9.0])
    assert spread.band(np.array([[1.0], [2.0]])) is None
    assert spread.figure([1.0, 2.0, 3.0]).alone == spread.Figure(1.0)
    assert spread.figure([1.0, 2.0]) == spread.Figure(1.0, 1.0, 2.0)
