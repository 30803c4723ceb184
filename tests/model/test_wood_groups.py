"""A wood made of several, worked by hand from two made up ones; what single woods vary by."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model import spread
from model.properties import species
from model.properties.wood import Species
from model.properties.wood_groups import blend
from model.properties.wood_names import Called

Z = 1.2815516  # standard deviations to the tenth percentile (printed, normal table)
SURE = (1e-9, 1e-9)


def made(**figures: Any) -> Species:
    return replace(species.find("white oak"), **figures)


def together(one: Species, other: Species, share: float = 0.75) -> Species:
    oak = species.find("oak").id  # only its names are taken
    return blend(Called(oak, ((one.id, share), (other.id, 1.0 - share)), "both"), (one, other))


ONE = made(
    id="one", radial=4.0, tangential=8.0, shrinkage_starts=30.0, specific_gravity=0.6,
    modulus=10e9, side_hardness=None, shear_along=9e6, transport_factor=1.0,
    transport_spread=math.exp(0.3 * Z), is_softwood=True, sorption_at_60=1.0, sorption_at_90=0.9,
    confidence="high", radial_variation=SURE, tangential_variation=SURE,
)  # fmt: skip
OTHER = made(
    id="other", radial=6.0, tangential=10.0, shrinkage_starts=25.0, specific_gravity=0.5,
    modulus=14e9, side_hardness=5e3, shear_along=None, transport_factor=16.0,
    transport_spread=math.exp(0.5 * Z), is_softwood=False, sorption_at_60=0.95,
    sorption_at_90=0.83, confidence="low", radial_variation=SURE, tangential_variation=SURE,
)  # fmt: skip


def test_figures_are_means_by_how_likely_each_is_meant() -> None:
    both = together(ONE, OTHER)
    assert both.shrinkage_starts == pytest.approx(28.75)
    # Means of shrinkage over its start: 0.75 x 4/30 + 0.25 x 6/25, and 8/30, 10/25.
    assert (both.radial, both.tangential) == pytest.approx((28.75 * 0.16, 28.75 * 0.30))
    assert both.specific_gravity == pytest.approx(0.575)
    assert both.modulus == pytest.approx(11e9)
    assert both.side_hardness is None  # not known of the likeliest
    assert both.shear_along == pytest.approx(9e6)  # of those it is known of
    assert (both.sorption_at_60, both.sorption_at_90) == (0.99, 0.88)  # 0.9875, 0.8825
    assert both.confidence == "low"
    assert both.is_softwood
    assert together(ONE, OTHER, 0.55).is_softwood
    assert not together(ONE, OTHER, 0.45).is_softwood


def test_a_groups_transport_is_the_geometric_mean_and_spreads_by_what_is_apart() -> None:
    both = together(ONE, OTHER)
    assert both.transport_factor == pytest.approx(2.0)  # the fourth root of 16
    # Variance of the logarithm: 0.75 (0.3^2 + ln(2)^2) + 0.25 (0.5^2 + ln(8)^2) = 1.57136.
    assert both.transport_spread == pytest.approx(math.exp(1.253539 * Z), rel=1e-5)


def test_two_woods_that_do_not_vary_make_a_group_that_does() -> None:
    # Slopes 8/30 and 8/20 a per cent, mean 0.3: the tenth percentile is the one, the ninetieth
    # the other.
    both = together(ONE, replace(OTHER, tangential=8.0, shrinkage_starts=20.0))
    below, above = both.tangential_variation
    assert below == pytest.approx((1.0 - (8.0 / 30.0) / 0.3) / Z, rel=1e-6)
    assert above == pytest.approx((0.4 / 0.3 - 1.0) / Z, rel=1e-6)


def test_two_alike_vary_as_each() -> None:
    one = replace(ONE, tangential_variation=(0.10, 0.20), radial_variation=(0.15, 0.12))
    both = together(one, replace(one, id="other"))
    # The ends of four in five, over the middle, as each has them; 101 quantiles are said to make
    # them good to 0.3 %.
    for found, (low, high) in (
        (both.tangential_variation, (1.0 - 0.10 * Z, 1.0 + 0.20 * Z)),
        (both.radial_variation, (1.0 - 0.15 * Z, 1.0 + 0.12 * Z)),
    ):
        below, above = found
        assert (1.0 - below * Z, 1.0 + above * Z) == pytest.approx((low, high), rel=3e-3)


def test_a_group_of_one_varies_as_that_wood() -> None:
    one = replace(ONE, tangential_variation=(0.15, 0.20))
    alone = blend(Called(species.find("oak").id, (("one", 1.0),), "alone"), (one,))
    assert alone.tangential == pytest.approx(one.tangential)
    assert alone.tangential_variation == pytest.approx((0.15, 0.20), rel=1e-3)


def test_the_end_of_a_group_may_lie_near_the_middle_of_one_of_its_woods() -> None:
    # Slopes 8/30 (three in four) and 16/20 a per cent, far apart: one in ten lies above six in ten
    # of the other's, 0.25335 of its standard deviations over its middle (printed, normal table);
    # one in ten lies below 2/15 of the one's own, 1.11077 below its middle.
    one = replace(ONE, tangential_variation=(0.05, 0.06))
    other = replace(
        OTHER, tangential=16.0, shrinkage_starts=20.0, tangential_variation=(0.04, 0.30)
    )
    below, above = together(one, other).tangential_variation
    middle = 0.75 * 8.0 / 30.0 + 0.25 * 0.8
    assert middle * (1.0 + above * Z) == pytest.approx(0.8 * (1.0 + 0.25335 * 0.30), rel=1e-3)
    low = 8.0 / 30.0 * (1.0 - 1.11077 * 0.05)
    assert middle * (1.0 - below * Z) == pytest.approx(low, rel=1e-3)


def test_one_draw_of_shrinkage_is_as_far_off_as_its_deviate_says() -> None:
    # American elm: 4.2 and 9.5 % (Wood Handbook Table 4-3), 15 % one standard deviation.
    draw = replace(spread.draw(0), radial=np.array([0.7]), tangential=np.array([0.85]))
    over, along = species.find("American elm").shrinkages(draw)
    assert (over[0], along[0]) == pytest.approx((4.2 * 0.7, 9.5 * 0.85))


def test_the_handbooks_line_is_that_of_single_woods_of_the_handbook() -> None:
    assert species.find("white oak").is_of_handbook
    assert not species.find("oak").is_of_handbook
    assert not replace(species.find("white oak"), source_start="DIN 68100").is_of_handbook


def test_naming_the_wood_takes_as_much_off_the_band_as_the_group_adds() -> None:
    oak = species.find("oak")
    alone = [sum(species.by_id(one.id).tangential_variation) for one in oak.members]
    whole = sum(oak.tangential_variation)
    assert 1.0 - max(alone) / whole < species.narrower(oak) < 1.0 - min(alone) / whole
