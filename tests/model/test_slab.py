"""The slab: what is refused, its weight, and its moisture through the thickness."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.behaviour.slab import Depths, ShellCore, Slab, cautions, mean_moisture, profile
from model.properties import species

ELM = species.find("american elm")


@pytest.mark.parametrize(
    ("figures", "named"),
    [
        ({"width": 0.0}, "width"),
        ({"width": -0.3}, "width"),
        ({"thickness": float("nan")}, "thickness"),
        ({"length": float("inf")}, "length"),
        ({"ring_angle": 91.0}, "ring angle"),
        ({"ring_angle": -1.0}, "ring angle"),
        ({"ring_angle": 0.0, "pith_below": 0.1}, "not both"),
        ({"pith_below": -0.03}, "middle of the slab"),
        ({"pith_below": float("inf")}, "middle of the slab"),
        ({"pith_below": 0.1, "pith_across": float("nan")}, "offset"),
        ({"bark_side": "left"}, "bark side"),
    ],
)
def test_an_impossible_slab_is_refused_by_name(figures: dict[str, Any], named: str) -> None:
    sizes: dict[str, Any] = {"width": 0.3, "thickness": 0.05, **figures}
    with pytest.raises(ValueError, match=named):
        Slab(ELM, **sizes)


def test_a_pith_inside_the_slab_is_known_as_such() -> None:
    assert Slab(ELM, 0.3, 0.05, pith_below=-0.01).pith_is_inside
    assert not Slab(ELM, 0.3, 0.05, pith_below=0.01).pith_is_inside
    assert not Slab(ELM, 0.3, 0.05, pith_below=-0.01, pith_across=0.2).pith_is_inside
    assert not Slab(ELM, 0.3, 0.05).pith_is_inside


def test_weight_by_hand_at_twelve_percent() -> None:
    # 0.5 x 1000 kg/m3 x 0.05 m3 x 1.12 = 28 kg
    slab = Slab(ELM, width=0.5, thickness=0.05, length=2.0)
    assert slab.weight(12.0) == pytest.approx(28.0, rel=1e-12)


def test_weight_carries_the_volume_to_where_the_density_is_measured() -> None:
    # By hand at 30 %: a green slab shrinks 0.6 x (4.2, 9.5) % on its way to 12 %:
    # 25 kg x (1 - 0.0252)(1 - 0.057) = 22.981 kg dry, x 1.30 = 29.875 kg
    slab = Slab(ELM, width=0.5, thickness=0.05, length=2.0)
    assert slab.weight(30.0) == pytest.approx(29.875, abs=0.001)
    # Above fibre saturation the volume stays and only water is added.
    assert slab.weight(60.0) == pytest.approx(22.981 * 1.6, abs=0.001)


def test_no_weight_without_a_length() -> None:
    assert Slab(ELM, width=0.5, thickness=0.05).weight(12.0) is None


def test_a_parabola_has_its_mean_at_a_fifth_of_the_thickness() -> None:
    # Mean of shell + (core - shell) 4 z (t - z)/t^2 is 2/3 of the way to the core, which the
    # parabola reaches at z = 0.2113 t (derived); the midpoint sum over 4001 nodes errs by 1e-8.
    depth = (np.arange(4001) + 0.5) / 4001 * 0.05
    moisture = profile(ShellCore(6.0, 12.0), depth, 0.05)
    assert moisture.mean() == pytest.approx(10.0, abs=1e-6)
    at_a_fifth = profile(ShellCore(6.0, 12.0), 0.05 * (0.5 - np.sqrt(1.0 / 12.0)), 0.05)
    assert float(at_a_fifth) == pytest.approx(10.0, abs=1e-12)


def test_readings_are_joined_by_straight_lines_and_held_flat_beyond() -> None:
    readings = Depths((0.01, 0.03), (8.0, 12.0))
    found = profile(readings, [0.0, 0.01, 0.02, 0.03, 0.05], 0.05)
    assert found.tolist() == [8.0, 8.0, 10.0, 12.0, 12.0]


def test_one_number_holds_through_the_thickness() -> None:
    assert profile(12.5, [0.0, 0.02, 0.05], 0.05).tolist() == [12.5] * 3


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_a_profile_stays_between_what_was_told(shell: float, core: float) -> None:
    moisture = profile(ShellCore(shell, core), np.linspace(0.0, 0.05, 21), 0.05)
    assert moisture.min() >= min(shell, core) - 1e-9
    assert moisture.max() <= max(shell, core) + 1e-9


@pytest.mark.parametrize(
    ("moisture", "named"),
    [
        (-1.0, "moisture content"),
        (400.0, "moisture content"),
        (float("nan"), "moisture content"),
        (ShellCore(-2.0, 8.0), "moisture content"),
        (Depths((0.01,), (-1.0,)), "moisture content"),
        (Depths((0.01, 0.02), (8.0,)), "for each depth"),
        (Depths((), ()), "at least one"),
        (Depths((0.02, 0.01), (8.0, 9.0)), "rise"),
        (Depths((0.01, 0.01), (8.0, 9.0)), "rise"),
        (Depths((0.01, 0.06), (8.0, 9.0)), "thickness"),
        (Depths((float("nan"),), (8.0,)), "thickness"),
    ],
)
def test_impossible_moisture_is_refused(moisture: float | ShellCore | Depths, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        profile(moisture, np.linspace(0.0, 0.05, 5), 0.05)


def test_what_weighs_more_than_one_may_lift_is_a_caution() -> None:
    # 23 kg, the load constant of the NIOSH lifting equation (memory); elm 560 kg/m3 at 12 %.
    sizes = [
        (length, bool(cautions(Slab(ELM, 0.5, 0.05, length), 12.0))) for length in (1.64, 1.65)
    ]
    assert sizes == [(1.64, False), (1.65, True)]
    assert cautions(Slab(ELM, 0.5, 0.05), 12.0) == []
    (heavy,) = cautions(Slab(ELM, 0.5, 0.05, 2.0), 12.0)
    assert heavy.figures["weight"] == pytest.approx(28.0)


def test_dry_wood_weighs_less_and_is_carried_to_twelve_percent_too() -> None:
    # By hand at 6 %: sizes grow by (1 - 0.6 s)/(1 - 0.8 s), s 4.2 and 9.5 %, on the way to 12 %.
    slab = Slab(ELM, width=0.5, thickness=0.05, length=2.0)
    grown = (1 - 0.6 * 0.042) / (1 - 0.8 * 0.042) * (1 - 0.6 * 0.095) / (1 - 0.8 * 0.095)
    assert slab.weight(6.0) == pytest.approx(25.0 * grown * 1.06)


def test_limits_of_moisture_and_depth_are_met_and_passed() -> None:
    assert profile(350.0, [0.01], 0.05).tolist() == [350.0]
    assert profile(0.0, [0.01], 0.05).tolist() == [0.0]
    with pytest.raises(ValueError, match="between 0 and 350"):
        profile(350.1, [0.01], 0.05)
    ends = Depths((0.0, 0.05), (8.0, 9.0))
    assert profile(ends, [0.025], 0.05).tolist() == [8.5]
    with pytest.raises(ValueError, match="depths lie"):
        profile(Depths((-0.001, 0.05), (8.0, 9.0)), [0.01], 0.05)
    for angle in (0.0, 90.0):
        assert Slab(ELM, 0.3, 0.05, ring_angle=angle).ring_angle == angle
    assert Slab(ELM, 0.3, 0.05, pith_below=-0.0249).pith_is_inside
    with pytest.raises(ValueError, match="middle of the slab"):
        Slab(ELM, 0.3, 0.05, pith_below=-0.025)
    assert not Slab(ELM, 0.3, 0.05, pith_below=0.0).pith_is_inside
    assert Slab(ELM, 0.3, 0.05, pith_below=-0.01, pith_across=-0.149).pith_is_inside
    assert not Slab(ELM, 0.3, 0.05, pith_below=-0.01, pith_across=-0.15).pith_is_inside


def test_a_mean_is_that_of_even_places() -> None:
    assert mean_moisture(ShellCore(6.0, 12.0), 0.05) == pytest.approx(10.0, abs=0.1)
    assert mean_moisture(Depths((0.0, 0.05), (6.0, 10.0)), 0.05) == pytest.approx(8.0)
