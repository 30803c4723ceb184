"""A load that shares its room's air, against another way to solve it and against hand balances."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from model.behaviour import transport
from model.properties import air as moist
from model.properties import sorption
from model.properties.finishes import Face, Faces
from model.properties.species import find
from model.surroundings.air_series import Air

Floats = NDArray[np.float64]

WALNUT = find("black walnut")
WEIGHT, WET, TARGET = 300.0, 14.0, 9.0  # kg, % M, % M
VOLUME, WARM, DAMP = 4.0, 20.0, 35.0  # m3, degC, %
DRY_MASS = WEIGHT / (1.0 + WET / 100.0)
THICK = 0.05
BARE = Faces(Face(0.0), Face(0.0))
ROOM = Air(np.zeros(1), np.full(1, WARM), np.full(1, DAMP))
GAS = 461.5  # J/(kg K)


def wood() -> transport.Wood:
    return transport.Wood(
        np.array([WALNUT.transport_factor]),
        WALNUT.transport_slope,
        WALNUT.specific_gravity,
        WALNUT.fibre_saturation,
        np.ones(1),
    )


def shared(changes: float, high: float = 200.0, rated: float = math.inf) -> transport.SharedAir:
    return transport.SharedAir(
        DRY_MASS, VOLUME * changes, np.zeros(1), np.full(1, high), rated=rated
    )


def days_to(
    target: float, around: transport.SharedAir | None, faces: Faces = BARE, nodes: int = 25
) -> float:
    days = np.arange(0.0, 1500.0, 0.25)
    run = transport.run(
        wood(), transport.grid(THICK, nodes), WET, ROOM, faces, 0.0, 1500.0,
        days=days, shared=around, tolerance=0.01,
    )  # fmt: skip
    mean = run.mean[:, 0]
    return float(np.interp(-target, -mean, days))


def directly(
    changes: float, faces: Faces, high: float, rated: float, until: float
) -> tuple[float, float]:
    """Days to a mean moisture, and the humidity of the air then, by scipy's BDF on even layers.

    The load's water is counted in kilograms and square metres: oven-dry mass over density and
    thickness gives the area of one face; the air's balance is solved by bisection.
    """
    layers = 120
    gap = THICK / layers
    density = 1000.0 * WALNUT.specific_gravity
    area = DRY_MASS / (density * THICK)
    saturated = float(moist.saturation_pressure(WARM))
    free = DAMP / 100.0 * saturated
    change = VOLUME * changes / 3600.0 / (GAS * (WARM + 273.15))  # kg/(s Pa)
    steep = WALNUT.transport_slope
    conducts = float(wood().diffusion(WARM)[0])
    points = np.linspace(0.5, 30.0, 3000)
    humid = sorption.humidity_of_moisture(WARM, points) / 100.0
    skins = [1.0 / face.resistance for face in (faces.top, faces.bottom)]

    def theta(moisture: Floats) -> Floats:
        result: Floats = np.exp(steep * (moisture - 10.0)) / steep
        return result

    def takes(pressure: float) -> float:
        t, h = WARM, 100.0 * pressure / saturated
        share = (
            -1.162525707 + 0.02271469 * t - 0.000113208 * t * t
            + 0.021110538 * h - 0.0000693034 * h * h + 0.000378843 * t * h
        )  # fmt: skip
        return rated / 86400.0 * max(share, 0.0) if h > high else 0.0

    def around(moisture: Floats, into: list[float]) -> tuple[float, float, float]:
        """Room's pressure and the flux into both faces [kg/(m2 s)]."""

        def fluxes(pressure: float) -> tuple[float, float]:
            found = []
            for at, skin in ((0, skins[0]), (-1, skins[1])):
                # Half a layer of wood in series with the film: solved for the face's moisture.
                low, up = 1.0, 29.0
                inside = theta(moisture[at])
                for _ in range(48):
                    face = 0.5 * (low + up)
                    over = saturated * float(np.interp(face, points, humid))
                    comes = skin * (pressure - over)
                    goes = density / 100.0 * conducts * (float(theta(np.array(face))) - inside)
                    low, up = (face, up) if comes > goes / (0.5 * gap) else (low, face)
                found.append(comes)
            return found[0], found[1]

        low, up = 1.0, saturated
        for _ in range(44):
            pressure = 0.5 * (low + up)
            top, bottom = fluxes(pressure)
            surplus = change * (free - pressure) - area * (top + bottom) - takes(pressure)
            low, up = (pressure, up) if surplus > 0.0 else (low, pressure)
        return pressure, top, bottom

    def rate(_: float, moisture: Floats) -> Floats:
        _, top, bottom = around(moisture, [])
        potential = theta(moisture)
        flow = conducts * np.diff(potential) / gap
        into = np.concatenate(([100.0 * top / density], -flow))
        out = np.concatenate((-flow, [-100.0 * bottom / density]))
        result: Floats = (into - out) / gap * 86400.0
        return result

    def arrived(_: float, moisture: Floats) -> float:
        return float(moisture.mean()) - TARGET

    arrived.terminal = True  # type: ignore[attr-defined]
    band = [[abs(i - j) <= 1 or {i, j} == {0, layers - 1} for j in range(layers)]
            for i in range(layers)]  # fmt: skip
    found = solve_ivp(
        rate, (0.0, until), np.full(layers, WET), "BDF", events=arrived,
        rtol=2e-4, atol=1e-4, jac_sparsity=np.array(band, dtype=float),
    )  # fmt: skip
    assert found.t_events is not None
    pressure, _, _ = around(found.y[:, -1], [])
    return float(found.t_events[0][0]), 100.0 * pressure / saturated


@pytest.mark.parametrize(
    ("changes", "top", "high", "rated"),
    [
        (0.1, 0.0, 200.0, math.inf),
        (1.0, 0.0, 200.0, math.inf),
        (20.0, 0.0, 200.0, math.inf),
        (1.0, 2.0, 200.0, math.inf),
        (1.0, 0.0, 30.0, 0.2),
    ],
)
def test_days_of_a_load_are_those_of_another_solver(
    changes: float, top: float, high: float, rated: float
) -> None:
    # 300 kg of walnut in 4 m3, 14 to 9 %: alone with its air, one face finished (sd 2 m), and with
    # a dehumidifier of 0.2 kg a day rated.  120 even layers and scipy's BDF against 97 graded ones:
    # 0.1 %; the 25 layers that answers take are within 0.3 %.
    faces = Faces(Face(top), Face(0.0))
    around = shared(changes, high, rated)
    days, _ = directly(changes, faces, high, rated, 1500.0)
    assert days_to(TARGET, around, faces, 97) == pytest.approx(days, rel=1e-3)
    assert days_to(TARGET, around, faces) == pytest.approx(days, rel=3e-3)


def test_a_tight_chamber_dries_as_slowly_as_its_air_carries_water_away() -> None:
    # By hand: the air alone would take m/100 SUM dM/(24 n V (c(M) - c_o)), with c(M) the vapour
    # density over wood at M; the wood alone takes what it takes in free air.  The two are in
    # series, so the days add up.  320 + 72, 32 + 72 and 1.6 + 72 days; within 10 %.
    alone = days_to(TARGET, None)
    moisture = np.linspace(TARGET, WET, 201)
    over = sorption.humidity_of_moisture(WARM, moisture) / 100.0
    saturated = float(moist.saturation_pressure(WARM))
    apart = (over - DAMP / 100.0) * saturated / (GAS * (WARM + 273.15))  # kg/m3
    found = []
    for changes in (0.1, 1.0, 20.0):
        carried = DRY_MASS / 100.0 * np.trapezoid(1.0 / (24.0 * changes * VOLUME * apart), moisture)
        found.append(days_to(TARGET, shared(changes)))
        assert found[-1] == pytest.approx(alone + float(carried), rel=0.10)
    assert found[0] > 3.0 * found[1] > 3.0 * found[2] > 3.0 * alone


def test_with_all_the_air_there_is_a_load_dries_as_if_alone() -> None:
    assert days_to(TARGET, shared(1e6)) == pytest.approx(days_to(TARGET, None), rel=1e-5)
