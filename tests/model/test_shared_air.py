"""The balance of air that a load shares, against a root finder."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy.optimize import brentq

from model.behaviour import shared_air
from model.behaviour.shared_air import Load
from model.properties.air import saturation_pressure
from model.surroundings import machines
from tests.model.plain_loops import plain

balanced = plain(shared_air.balanced)
OPEN = 3e-9  # % M m/s per Pa, both faces of some slab


def asked(warm: float, humidity: float, damp: float, low: float, high: float, **load: Any) -> Any:
    """Pressure and its rise: air outside at one humidity, over the wood at another [%]."""
    full = float(saturation_pressure(warm))
    around = Load(
        True, load.pop("exchange", 4e-7), load.pop("rated", math.inf), load.pop("kept", False),
        load.pop("works_from", 5.0), load.pop("ices_below", 15.0),
    )  # fmt: skip
    given = OPEN * 0.01 * damp * full + load.pop("more", 0.0)
    return balanced(around, warm, full, 0.01 * humidity * full, low, high, OPEN, given), full


def taken(warm: float, humidity: float, rated: float, kept: bool) -> float:
    """What a machine takes out: as rated, or by the share of `shared_air`'s output law."""
    if kept:
        return rated
    a, t, tt, h, hh, th = machines.OUTPUT
    share = a + t * warm + tt * warm**2 + h * humidity + hh * humidity**2 + th * warm * humidity
    return rated * min(max((warm - 5.0) / 10.0, 0.0), 1.0) * max(share, 0.0)


def test_without_a_machine_the_air_is_that_between_outside_and_the_wood() -> None:
    (pressure, rise), full = asked(20.0, 35.0, 75.0, 0.0, 200.0)
    change = 4e-7 / 293.15  # per kelvin
    share = (change * 35.0 + OPEN * 75.0) / (change + OPEN)
    assert pressure == pytest.approx(0.01 * share * full, rel=1e-12)
    assert rise == pytest.approx(1.0 / (change + OPEN), rel=1e-12)


def test_air_that_would_be_drier_or_damper_is_held_or_condenses() -> None:
    (pressure, rise), full = asked(20.0, 35.0, 30.0, 40.0, 200.0)
    assert (pressure, rise) == (pytest.approx(0.40 * full), 0.0)
    (pressure, rise), full = asked(20.0, 70.0, 80.0, 0.0, 55.0)
    assert (pressure, rise) == (pytest.approx(0.55 * full), 0.0)
    (pressure, rise), full = asked(20.0, 99.0, 104.0, 0.0, 200.0)
    assert (pressure, rise) == (full, 0.0)
    # A machine rated at nothing holds nothing; one that is strong enough holds what it is set to.
    (pressure, rise), full = asked(20.0, 70.0, 80.0, 0.0, 55.0, rated=0.0)
    assert pressure > 0.7 * full
    (pressure, rise), full = asked(20.0, 70.0, 80.0, 0.0, 55.0, rated=1e-4)
    assert (pressure, rise) == (pytest.approx(0.55 * full), 0.0)


@pytest.mark.parametrize("kept", [True, False], ids=["desiccant", "compressor"])
@pytest.mark.parametrize("warm", [3.0, 9.0, 20.0, 30.0])
@pytest.mark.parametrize(
    ("humidity", "over", "high"), [(60.0, 90.0, 50.0), (85.0, 90.0, 50.0), (38.0, 40.0, 30.0)]
)
def test_a_weak_machine_balances_what_comes_in(
    kept: bool, warm: float, humidity: float, over: float, high: float
) -> None:
    rated = 5e-7 if over > 50.0 else 5e-8

    def found(more: float) -> Any:
        return asked(warm, humidity, over, 0.0, high, rated=rated, kept=kept, more=more)

    (pressure, rise), full = found(0.0)
    change = 4e-7 / (warm + 273.15)

    def surplus(damp: float) -> float:
        comes = change * (humidity - damp) + OPEN * (over - damp)
        return float(0.01 * full * comes - taken(warm, damp, rated, kept))

    assert pressure == pytest.approx(0.01 * full * brentq(surplus, 0.0, 100.0), rel=1e-9)
    assert pressure > 0.01 * high * full
    step = 1e-10
    assert rise == pytest.approx((found(step)[0][0] - pressure) / step, rel=1e-3)
