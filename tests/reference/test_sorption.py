"""Sorption against the printed table and against points measured on European woods."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from model.properties import sorption

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_printed_cell_of_the_handbooks_table_is_reproduced() -> None:
    # Wood Handbook FPL-GTR-190 Table 4-2, 30-130 degF.  It was generated from the equation, so it
    # proves the transcription only: half a printed digit, 0.05, and the rounding of degF (0.0545
    # measured; 0.1 is the promise).
    cells = table("emc_table.csv")
    assert len(cells) == 209
    fahrenheit = np.array([float(cell["temp_F"]) for cell in cells])
    humidity = np.array([float(cell["rh_pct"]) for cell in cells])
    printed = np.array([float(cell["emc_pct"]) for cell in cells])
    ours = sorption.equilibrium_moisture((fahrenheit - 32.0) / 1.8, humidity)
    worst = np.abs(ours - printed).max()
    assert worst < 0.1
    assert worst < 0.06


# Beech, spruce and ash as makers and dealers print them; the addresses stand in the file.
POINTS = table("species_emc_points.csv")


@pytest.mark.parametrize("point", POINTS, ids=lambda p: f"{p['species']} at {p['rh_pct']} %")
def test_measured_points_lie_where_the_spread_expects_them(point: dict[str, str]) -> None:
    humidity, measured = float(point["rh_pct"]), float(point["emc_pct"])
    mean = float(sorption.equilibrium_moisture(float(point["temp_C"]), humidity))
    # The curve's value as computed apart from this code, to its last printed digit.
    assert mean == pytest.approx(float(point["hailwood_horrobin_pct"]), abs=0.005)
    if humidity < 65.0:
        # Points at 40-65 % lie between 1.7 below and 0.7 above the curve (Okoh & Skaar, printed).
        assert -1.7 <= measured - mean <= 0.7
    else:
        # At 80 % and over woods of temperate Europe lie below it, by 2 at most (printed).
        assert -2.0 <= measured - mean <= 0.0


def test_measured_points_lie_within_the_two_branches_up_to_two_thirds_humidity() -> None:
    for point in POINTS:
        temperature, humidity = float(point["temp_C"]), float(point["rh_pct"])
        if humidity < 65.0:
            wetting = float(sorption.branch_moisture(temperature, humidity, "wetting"))
            drying = float(sorption.branch_moisture(temperature, humidity, "drying"))
            assert wetting <= float(point["emc_pct"]) <= drying


# Wetting over drying branch at a humidity [%] of one Norway spruce at 20 degC (printed).
RATIOS = {
    20.0: 0.773, 30.0: 0.788, 40.0: 0.802, 50.0: 0.817, 60.0: 0.834,
    65.0: 0.843, 70.0: 0.855, 80.0: 0.884, 90.0: 0.928,
}  # fmt: skip


@pytest.mark.parametrize(("humidity", "ratio"), RATIOS.items())
def test_branches_stand_in_the_printed_ratio(humidity: float, ratio: float) -> None:
    wetting = float(sorption.branch_moisture(20.0, humidity, "wetting"))
    drying = float(sorption.branch_moisture(20.0, humidity, "drying"))
    assert wetting / drying == pytest.approx(ratio, abs=1e-12)


def test_half_the_gap_between_the_branches_is_about_nine_tenths_of_a_point() -> None:
    # Half gap at 50 %: about 0.9 % M (from the printed ratio; 0.93 by this curve).
    wetting = float(sorption.branch_moisture(20.0, 50.0, "wetting"))
    drying = float(sorption.branch_moisture(20.0, 50.0, "drying"))
    assert 0.5 * (drying - wetting) == pytest.approx(0.9, abs=0.05)


def test_room_air_at_21_degrees_and_half_saturated_holds_wood_at_9_2_percent() -> None:
    # Wood Handbook Table 4-2 at 70 degF prints 9.2, the curve gives 9.25: a printed digit.
    assert float(sorption.equilibrium_moisture(21.1, 50.0)) == pytest.approx(9.2, abs=0.06)


def test_the_laboratorys_earlier_table_gives_nearly_the_same() -> None:
    # FPL R1903-7 (1951) prints 10.9 at 70 degF and about 59 % (digit damaged in the scan):
    # another fit of the same measurements; half a point of humidity is 0.1 % M.
    assert float(sorption.equilibrium_moisture(21.1, 59.0)) == pytest.approx(10.9, abs=0.2)
