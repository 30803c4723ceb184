"""How fast wood may dry: what is allowed, from either side of each threshold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from model.behaviour import safe_drying
from model.behaviour.safe_drying import Rule
from model.properties import species

OAK = Rule(2.5, (87.0, 87.0), 45.0, True)


@pytest.mark.parametrize(
    ("moisture", "allowed"),
    [(60.0, 2.5), (25.0, 2.5), (24.999, 5.0), (15.0, 5.0), (14.999, np.inf), (5.0, np.inf)],
)
def test_what_is_allowed_doubles_below_25_and_ends_below_15(
    moisture: float, allowed: float
) -> None:
    assert float(OAK.allowed(0.025, moisture)) == allowed


@given(some.floats(0.01, 0.15), some.floats(1.001, 3.0), some.floats(0.0, 120.0))
def test_thicker_stock_may_never_lose_more(thick: float, times: float, moisture: float) -> None:
    assert OAK.allowed(thick * times, moisture) <= OAK.allowed(thick, moisture)


@given(some.floats(15.0, 120.0), some.floats(5.0, 120.0), some.floats(5.0, 120.0))
def test_a_run_in_two_parts_takes_as_long_as_in_one(a: float, b: float, c: float) -> None:
    low, middle, high = sorted((a, b, c))
    whole = OAK.least_days(0.05, high, low)
    parts = OAK.least_days(0.05, high, middle) + OAK.least_days(0.05, middle, low)
    assert parts == pytest.approx(whole, abs=1e-9)


def test_the_fastest_day_is_found_and_gains_are_no_loss() -> None:
    days = np.arange(0.0, 6.0)
    mean = np.array([[60.0], [58.0], [52.0], [51.0], [55.0], [54.0]])
    found = safe_drying.fastest(days, mean, OAK, 0.025)
    assert found.loss[0] == 6.0
    assert found.day == 1.0
    assert found.allowed == 2.5
    assert found.index[0] == pytest.approx(2.4)
    assert found.chance() == 1.0
    wetting = safe_drying.fastest(days, mean[::-1] * 0.0 + np.arange(6.0)[:, None], OAK, 0.025)
    assert wetting.index[0] == 0.0
    assert wetting.chance() == 0.0


def test_the_last_day_counts_and_days_are_counted_from_the_first() -> None:
    days = np.arange(10.0, 16.0)
    mean = np.array([[60.0], [59.0], [58.0], [57.5], [57.0], [52.0]])
    found = safe_drying.fastest(days, mean, OAK, 0.025)
    assert found.loss[0] == 5.0
    assert found.day == 4.0


def test_a_day_of_a_course_told_every_few_days_is_their_mean() -> None:
    found = safe_drying.fastest(np.array([0.0, 5.0]), np.array([[40.0], [30.0]]), OAK, 0.025)
    assert found.loss[0] == pytest.approx(2.0)


@pytest.mark.parametrize(("share", "verdict"), [(0.149, True), (0.151, False)])
def test_under_15_of_100_is_unlikely(share: float, verdict: bool) -> None:
    assert safe_drying.unlikely(share) is verdict
    assert safe_drying.likely(1.0 - share) is verdict


def test_the_chance_is_of_the_draws_without_the_central_case() -> None:
    # One of four draws is over 1; the central case is too and does not count.
    loss = np.array([3.0, 3.0, 1.0, 1.0, 1.0])
    mean = np.stack([np.full(5, 60.0), 60.0 - loss])
    found = safe_drying.fastest(np.array([0.0, 1.0]), mean, OAK, 0.025)
    assert found.chance() == 0.25
    assert found.chance(np.array([0.0, 0.0, 1.2, 0.0, 0.0])) == 0.5


def test_a_trade_name_is_as_careful_as_the_woods_that_make_a_tenth_of_it() -> None:
    # Oak is white oak by a third and more; hard maple by itself may lose more.
    assert safe_drying.rule_of(species.find("oak")).loss == 2.5
    assert safe_drying.rule_of(species.find("sugar maple")).loss == 6.5


def test_every_wood_has_a_rule() -> None:
    for one in (*species.all_species(), *species.all_groups()):
        rule = safe_drying.rule_of(one)
        assert 0.5 < rule.loss < 15.0
        assert rule.hottest_wet in (45.0, 55.0)
