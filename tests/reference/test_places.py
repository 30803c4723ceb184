"""The look-up by coordinates: every station in turn is left out and found from its neighbours.

What is measured here is what the answers state as the error of a place; the table's README gives
1.3-1.6 % M within 150 km, 1.7-1.8 to 300 km and 2.3 to 500 km for the outdoor equilibrium.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from model.properties import air, sorption
from model.surroundings import climate

Floats = NDArray[np.float64]
LONGEST = 500.0  # km; the README's bands reach here, the answers only to 250


@dataclass(frozen=True)
class LeftOut:
    """Errors of stations found from their neighbours, one row a station."""

    distance: Floats  # km to the first neighbour chosen
    higher: Floats  # m, mean height difference to the neighbours
    outdoors: Floats  # (stations, 12) % M
    indoors: Floats  # (stations, 12) points of humidity of the air warmed to 20 degC


def equilibrium(temperature: Floats, humidity: Floats) -> Floats:
    return sorption.equilibrium_moisture(temperature, np.minimum(humidity, 95.0))


def left_out(elevation_known: bool) -> LeftOut:
    table = climate.listed()
    latitude = np.array([one.latitude for one in table.stations])
    longitude = np.array([one.longitude for one in table.stations])
    good = np.array([one.grade != "C" for one in table.stations])
    rows = []
    for number in np.flatnonzero(good):
        one = table.stations[number]
        away = climate.distances(one.latitude, one.longitude, latitude, longitude)
        pool = good & (away <= LONGEST)
        pool[number] = False
        if not pool.any():
            continue
        used = table.weighted(
            np.flatnonzero(pool), away, one.elevation if elevation_known else None
        )
        temperature, pressure, humidity = climate.mean_of(used)
        rows.append(
            (
                used[0].distance,
                sum(x.weight * abs(one.elevation - x.station.elevation) for x in used),
                equilibrium(temperature, humidity)
                - equilibrium(one.temperature, one.relative_humidity),
                100.0 * (pressure - one.vapour_pressure) / float(air.saturation_pressure(20.0)),
            )
        )
    distance, higher, outdoors, indoors = zip(*rows, strict=True)
    return LeftOut(np.array(distance), np.array(higher), np.array(outdoors), np.array(indoors))


@pytest.fixture(scope="module")
def found() -> LeftOut:
    return left_out(elevation_known=True)


def rms(errors: Floats) -> float:
    return float(np.sqrt(np.mean(errors**2)))


def test_enough_stations_are_left_out(found: LeftOut) -> None:
    assert found.distance.size > 2700


@pytest.mark.parametrize(
    ("near", "far", "low", "high"),
    # The README's bands. Measured here: 1.40, 1.63, 2.23. The tenth of a point below 1.7 is the
    # gain of three stations over one, which gives 1.89 and 2.48 in the outer bands.
    [(0.0, 150.0, 1.3, 1.6), (150.0, 300.0, 1.6, 1.8), (300.0, 500.0, 2.1, 2.4)],
)
def test_the_outdoor_equilibrium_is_as_sure_as_stated(
    found: LeftOut, near: float, far: float, low: float, high: float
) -> None:
    band = (found.distance >= near) & (found.distance < far)
    assert low <= rms(found.outdoors[band]) <= high


@pytest.mark.parametrize(
    ("near", "far"), [(0.0, 25.0), (25.0, 50.0), (50.0, 100.0), (100.0, 175.0), (175.0, 250.0)]
)
def test_the_stated_error_is_the_measured_one_by_distance(
    found: LeftOut, near: float, far: float
) -> None:
    band = (found.distance >= near) & (found.distance < far)
    root = float(np.sqrt(found.distance[band]).mean())
    outdoors = climate.EQUILIBRIUM_ERROR[0] + climate.EQUILIBRIUM_ERROR[1] * root
    indoors = climate.HUMIDITY_ERROR[0] + climate.HUMIDITY_ERROR[1] * root
    # Stations of all heights, as the stated form was fitted. It is smooth through bands that
    # scatter by a fifth: 1.59 measured against 1.34 under 25 km, 1.33 against 1.57 at 50 to 100.
    assert 0.75 * outdoors <= rms(found.outdoors[band]) <= 1.2 * outdoors
    assert 0.75 * indoors <= rms(found.indoors[band]) <= 1.2 * indoors


def test_height_differences_make_it_less_sure_and_are_told_with_room_to_spare(
    found: LeftOut,
) -> None:
    near = found.distance < 150.0
    level, hilly, alpine = (
        rms(found.outdoors[near & (found.higher >= low) & (found.higher < high)])
        for low, high in ((0.0, 200.0), (200.0, 600.0), (600.0, 9000.0))
    )
    assert level < hilly < alpine
    # Stated: twice the error from 200 m. Measured 1.4 times to 600 m and 1.9 beyond.
    assert hilly < 2.0 * level
    assert alpine < 2.2 * level


def test_knowing_the_elevation_makes_it_surer(found: LeftOut) -> None:
    blind = left_out(elevation_known=False)
    hilly = blind.higher > 200.0
    assert rms(found.outdoors) < rms(blind.outdoors)
    # Where it matters, the humidity indoors by a fifth at least.
    seeing = found.higher > 200.0
    assert rms(found.indoors[seeing]) < 0.8 * rms(blind.indoors[hilly])


def test_the_look_up_is_not_biased(found: LeftOut) -> None:
    # Errors of neighbours cancel over all stations: 0.2 % M and 0.5 points, a tenth of their rms.
    assert abs(found.outdoors.mean()) < 0.2
    assert abs(found.indoors.mean()) < 0.5
