"""Parts of a step through time: the air, the curves, rates and their Jacobian, the two schemes.

Asked in plain Python with the very arguments that `transport.run` hands over.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad

from model.behaviour import moisture_steps, transport
from model.properties import sorption
from model.properties.air import saturation_pressure
from model.properties.finishes import Face, Faces
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from tests.model.plain_loops import steps_in_python

Floats = NDArray[np.float64]

steps = steps_in_python()
BRANCHES: tuple[sorption.Branch, ...] = ("drying", "wetting")
NODES = 9
THICK = 0.04
SLOPE, SATURATION = 0.09, 28.0
FACES = Faces(Face(0.1), Face(0.7))
STEADY = Air(np.zeros(1), np.full(1, 21.0), np.full(1, 45.0))
YEARLY = Air(
    np.arange(12.0) * YEAR / 12.0, np.linspace(2.0, 24.0, 12), np.linspace(80.0, 35.0, 12), YEAR
)
LOG = Air(np.array([0.0, 10.0, 40.0]), np.array([5.0, 25.0, 15.0]), np.array([70.0, 30.0, 99.5]))
SHARED = transport.SharedAir(200.0, 3.0, np.zeros(1), np.full(1, 101.0))


@pytest.fixture
def handed(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """What a course hands to the compiled loop, by name."""
    names = (
        "layers", "curves", "each", "weather", "span", "watch", "state", "memory", "told",
        "begin", "budget",
    )  # fmt: skip

    def asked(
        moisture: Any = 12.0, air: Air = STEADY, faces: Faces = FACES,
        loop: float | None = None, factor: float = 1.0, **more: Any,
    ) -> Any:  # fmt: skip
        caught: list[Any] = []

        def follow(*given: Any) -> int:
            caught.extend(given)
            return int(given[6].shape[0])

        wood = transport.Wood(
            np.full(1, 1.8), SLOPE, 0.60, SATURATION, np.full(1, factor),
            None if loop is None else np.full(1, loop),
        )  # fmt: skip
        with monkeypatch.context() as context:
            context.setattr(moisture_steps, "follow", follow)
            transport.run(wood, transport.grid(THICK, NODES), moisture, air, faces, 0, 30, **more)
        return SimpleNamespace(**dict(zip(names, caught, strict=True)), wood=wood)

    return asked


def work_of(nodes: int = NODES) -> Any:
    drives = [steps._Drive(*np.zeros((3, nodes))) for _ in range(2)]
    return steps._Work(*drives, *np.zeros((7, nodes)), np.zeros(5))


# The air.


@pytest.mark.parametrize("air", [STEADY, YEARLY, LOG], ids=["steady", "yearly", "logged"])
def test_the_air_a_face_meets_is_straight_between_its_points(
    air: Air, handed: Callable[..., Any]
) -> None:
    day = np.array([0.0, 3.3, 9.99, 17.0, 39.0, 40.0])
    given = handed(air=air)
    weather = given.weather._replace(bottom=given.weather.warm - 6.0)
    period = air.period or math.inf
    days = np.append(air.days, period) if air.period else air.days
    warm, damp = (
        np.interp(day, days, np.append(one, one[0]) if air.period else one)
        for one in (air.temperature, air.relative_humidity)
    )
    for one, temperature, humidity in zip(day, warm, damp, strict=True):
        for offset in (0.0, 10.0, -60.0):
            room = steps._air(weather, given.curves, offset, one)
            held = min(max(humidity + offset, 1.0), 98.0)  # told in `run`: kept in 1..98
            assert room.warm == pytest.approx(temperature, abs=1e-9)
            assert room.top == pytest.approx(temperature, abs=1e-9)
            assert room.bottom == pytest.approx(temperature - 6.0, abs=1e-9)
            # Straight in the logarithm over half a kelvin: a relative 1e-4 at worst.
            full = float(saturation_pressure(temperature))
            assert room.pressure == pytest.approx(held / 100.0 * full, rel=1e-4)
            assert room.saturated_top == room.saturated == pytest.approx(full, rel=1e-4)
            below = float(saturation_pressure(temperature - 6.0))
            assert room.saturated_bottom == pytest.approx(below, rel=1e-4)


def test_what_machines_hold_is_straight_between_its_points_too(handed: Callable[..., Any]) -> None:
    held = transport.SharedAir(
        200.0, 3.0, np.array([20.0, 30.0, 10.0]), np.array([60.0, 50.0, 80.0])
    )
    given = handed(air=LOG, shared=held)
    for day, low, high in ((0.0, 20.0, 60.0), (2.0, 22.0, 58.0), (25.0, 20.0, 65.0)):
        room = steps._air(given.weather, given.curves, 0.0, day)
        assert (room.low, room.high) == pytest.approx((low, high))


def test_a_year_comes_round(handed: Callable[..., Any]) -> None:
    given = handed(air=YEARLY)
    for day in (-YEAR, 0.0, YEAR, 40.0 * YEAR):
        assert steps._air(given.weather, given.curves, 0.0, day).warm == pytest.approx(2.0)
    half = 11.5 / 12.0 * YEAR
    assert steps._air(given.weather, given.curves, 0.0, half).warm == pytest.approx(13.0)


def test_diffusion_follows_the_mean_warmth_of_both_faces(handed: Callable[..., Any]) -> None:
    given = handed()
    weather = given.weather._replace(bottom=given.weather.warm - 6.0)
    room = steps._air(weather, given.curves, 0.0, 0.0)
    told = given.each.diffusion[0] * steps._arrhenius(given.layers, room)
    assert told == pytest.approx(float(given.wood.diffusion(18.0)[0]), rel=1e-12)


# The curves.


@pytest.mark.parametrize("factor", [1.0, 0.9])
@pytest.mark.parametrize("temperature", [-5.0, 20.3, 61.0])
def test_the_tables_say_what_the_curves_say(
    temperature: float, factor: float, handed: Callable[..., Any]
) -> None:
    curves = handed(factor=factor).curves
    for moisture in (3.1, 8.02, 13.57, 19.9):
        humidity, rise = steps._humidity(curves, temperature, moisture, factor)
        back = float(sorption.equilibrium_moisture(temperature, 100.0 * humidity))
        assert factor * back == pytest.approx(moisture, abs=0.003)  # as `test_sorption` holds
        steep = float(sorption.slope(temperature, 100.0 * humidity))
        assert rise == pytest.approx(1.0 / (100.0 * factor * steep), rel=0.02)
    # Past the table the air over the wood is saturated, whatever more the wood holds.
    assert steps._humidity(curves, temperature, 90.0, factor) == (1.0, 0.0)
    assert steps._humidity(curves, temperature, 0.0, factor)[0] == pytest.approx(0.0, abs=1e-6)


def test_tables_are_read_in_every_cell_and_held_beyond(handed: Callable[..., Any]) -> None:
    curves = handed().curves
    rows, columns, _ = curves.table.shape
    warmest = curves.coldest + (rows - 1) * curves.warmer
    for temperature, row, share in (
        (curves.coldest - 9.0, 0, 0.0), (curves.coldest + 0.25 * curves.warmer, 0, 0.25),
        (curves.coldest + 1.5 * curves.warmer, 1, 0.5),
        (warmest - 0.25 * curves.warmer, rows - 2, 0.75), (warmest + 9.0, rows - 2, 1.0),
    ):  # fmt: skip
        assert steps._row(curves, temperature) == (row, pytest.approx(share))
    for column in (0, 1, columns - 2):
        humidity, rise = steps._humidity(curves, curves.coldest, (column + 0.5) * curves.finer, 1.0)
        low, high = curves.table[0, column : column + 2, 0]
        assert humidity == pytest.approx(0.5 * (low + high))
        assert rise == pytest.approx((high - low) / curves.finer)
    assert steps._humidity(curves, 20.0, (columns - 1.0) * curves.finer, 1.0) == (1.0, 0.0)
    last = curves.pressure_coldest + (curves.pressure.size - 1) * curves.pressure_warmer
    for temperature in (curves.pressure_coldest + 0.1, last - 0.1):
        assert steps._saturated(curves, temperature) == pytest.approx(
            float(saturation_pressure(temperature)), rel=1e-4
        )
    days = np.array([0.0, 2.0, 10.0])
    for day, place in ((-1.0, (0, 0.0)), (0.5, (0, 0.25)), (2.0, (1, 0.0)), (12.0, (1, 1.0))):
        assert steps._place(days, day) == place


@pytest.mark.parametrize("factor", [1.0, 0.9])
@pytest.mark.parametrize("loop", [0.6, 1.0])
def test_what_drives_a_layer_lies_between_the_branches(
    loop: float, factor: float, handed: Callable[..., Any]
) -> None:
    given = handed(loop=loop, factor=factor)
    warm, drive = 20.3, steps._Drive(*np.zeros((3, 3)))
    mean = 11.0
    humidity = 100.0 * steps._humidity(given.curves, warm, mean, factor)[0]
    high, low = (
        factor * float(sorption.branch_moisture(warm, humidity, name)) for name in BRANCHES
    )
    assert low < mean < high
    # On the drying branch, on the wetting branch, and between both, from where memory puts it.
    inside = 0.5 * (low + high)
    moisture = np.array([high, low, inside])
    memory = np.array([1e3, -1e3, inside - loop * mean])
    steps._drive(given.curves, warm, factor, loop, moisture, memory, drive)
    assert drive.mu == pytest.approx(np.full(3, mean), abs=0.01)
    # Within the loop it answers along the flatter curve, either way.
    assert drive.drying[2] == drive.wetting[2] == pytest.approx(1.0 / loop)
    # On a branch, further out: by the branch's own slope; what is far out has no other way.
    for place, name in enumerate(BRANCHES):
        step = 1.0
        more = factor * float(sorption.branch_moisture(warm, humidity + step, name))
        here = factor * float(sorption.branch_moisture(warm, humidity, name))
        along = factor * float(sorption.slope(warm, humidity)) * step / (more - here)
        assert (drive.drying, drive.wetting)[place][place] == pytest.approx(along, rel=0.04)
        assert drive.drying[place] == drive.wetting[place]
    # Just on a branch it leaves it by the loop when it turns.
    moisture = np.array([high, low, inside])
    memory = moisture - loop * drive.mu
    steps._drive(given.curves, warm, factor, loop, moisture, memory, drive)
    assert drive.wetting[0] == drive.drying[1] == pytest.approx(1.0 / loop)
    if loop < 1.0:
        assert drive.drying[0] < drive.wetting[0]
        assert drive.wetting[1] < drive.drying[1]
    # Above all tables nothing is remembered.
    steps._drive(given.curves, warm, factor, loop, np.full(3, 60.0), memory, drive)
    assert drive.mu.tolist() == [60.0] * 3
    assert drive.drying.tolist() == drive.wetting.tolist() == [1.0] * 3


@pytest.mark.parametrize("slope", [0.0, 0.05, 0.13])
def test_conduction_is_the_integral_of_the_diffusion_law(
    slope: float, handed: Callable[..., Any]
) -> None:
    layers = handed().layers._replace(slope=slope)
    law: Callable[[float], float] = lambda m: math.exp(slope * (max(m, 3.0) - 10.0))  # noqa: E731
    moisture = np.array([1.0, 3.0, 9.0, 15.0, 27.7])
    theta, rise = np.zeros((2, 5))
    steps._conduct(layers, moisture, theta, rise)
    whole = [quad(law, 0.0, one, points=[3.0])[0] for one in moisture]
    assert theta == pytest.approx(np.array(whole), rel=1e-7)
    assert rise == pytest.approx(np.array([law(one) for one in moisture]), rel=1e-7)
    # It fades out within a point above fibre saturation, without a jump, and then stands.
    above = np.array([27.79, 27.81, 28.0, 30.0, 80.0])
    steps._conduct(layers, above, theta, rise)
    assert theta[1] - theta[0] == pytest.approx(0.02 * law(27.8), rel=0.05)
    assert np.all(np.diff(theta) >= 0.0)
    assert theta[4] == pytest.approx(quad(law, 0.0, SATURATION, points=[3.0])[0], rel=1e-2)
    assert theta[4] - theta[0] == pytest.approx(0.21 * law(27.8), rel=0.01)
    assert rise[2] == pytest.approx(law(27.8) / math.e, rel=1e-6)
    assert rise[4] < 1e-12
    more = np.array([27.9 + 1e-6, 27.9 - 1e-6, 28.5 + 1e-6, 28.5 - 1e-6, 28.5])
    steps._conduct(layers, more, theta, rise)
    assert rise[4] == pytest.approx((theta[2] - theta[3]) / 2e-6, rel=1e-5)


# Rates, and what is solved for a step.

PROFILE = np.array([6.2, 8.13, 9.71, 11.33, 12.02, 12.41, 12.03, 11.13, 10.46])
CASES: dict[str, dict[str, Any]] = {
    "free": {},
    "steep": {"moisture": PROFILE[::-1] * 1.4},
    "turning": {"loop": 0.7, "came": "unknown"},
    "drying": {"loop": 0.7, "came": "drying"},
    "wet above": {"faces": Faces(Face(0.0, wet=True), Face(0.7))},
    "wet below": {"faces": Faces(Face(0.1), Face(0.0, wet=True)), "loop": 0.7},
    "shared": {"shared": SHARED},
    "shared, turning": {"shared": SHARED, "loop": 0.7, "came": "unknown"},
    "shared, open below": {"shared": SHARED, "faces": Faces(Face(3.0), Face(0.0))},
}


class Wall:
    """A slab in a state, its rates and their derivatives."""

    def __init__(self, handed: Callable[..., Any], case: str) -> None:
        asked: dict[str, Any] = dict(CASES[case])
        moisture = asked.pop("moisture", PROFILE)
        came = asked.pop("came", "drying")
        self.given = handed(moisture, **asked)
        mean = np.array(moisture)
        loop = asked.get("loop")
        self.memory = (1.0 - (loop or 1.0)) * mean if came == "unknown" else np.full(NODES, 1e3)
        self.moisture, self.work = mean, work_of()
        self.room = steps._air(self.given.weather, self.given.curves, 0.0, 0.0)
        self.rates(mean)
        if loop is not None:
            steps._remember(self.given.each, 0, mean, self.memory, self.work.here)

    @property
    def diffusion(self) -> float:
        return float(self.given.each.diffusion[0])

    def rates(self, moisture: Floats) -> tuple[Floats, Any]:
        """Change of every layer [% M/s]; what came through the faces and how it falls."""
        given = self.given
        steps._look(
            given.layers, given.curves, given.each, 0, self.room, moisture, self.memory,
            self.work.here,
        )  # fmt: skip
        faces = steps._rates(
            given.layers, given.curves, given.each, 0, self.room, self.diffusion, moisture,
            self.work.here, self.work,
        )  # fmt: skip
        return self.work.change.copy(), faces

    def jacobian(self) -> Floats:
        """By differences, each layer moved the way it goes: on a branch it is free one way only."""
        before, _ = self.rates(self.moisture)
        columns = []
        for i in range(NODES):
            moved = self.moisture.copy()
            moved[i] += math.copysign(1e-6, before[i])
            columns.append((self.rates(moved)[0] - before) / (moved[i] - self.moisture[i]))
        return np.stack(columns, axis=1)


@pytest.mark.parametrize("case", CASES)
def test_the_rates_keep_the_balance_of_water(case: str, handed: Callable[..., Any]) -> None:
    wall = Wall(handed, case)
    change, (top, bottom, _, _) = wall.rates(wall.moisture)
    stored = float(wall.given.layers.weight @ change) * THICK
    assert stored == pytest.approx(top + bottom, rel=1e-9)


@pytest.mark.parametrize("seconds", [2e3, 6e5])
@pytest.mark.parametrize("case", CASES)
def test_what_is_solved_for_a_step_is_the_jacobian_of_the_rates(
    case: str, seconds: float, handed: Callable[..., Any]
) -> None:
    wall, random = Wall(handed, case), np.random.default_rng(5)
    matrix = np.eye(NODES) - seconds * wall.jacobian()
    _, (_, _, top_rise, bottom_rise) = wall.rates(wall.moisture)
    steps._factor(
        wall.given.layers, wall.given.each, 0, wall.diffusion, seconds, top_rise, bottom_rise,
        wall.work,
    )  # fmt: skip
    for right in (random.normal(size=NODES), np.eye(NODES)[0], np.eye(NODES)[-1]):
        found = right.copy()
        steps._solve(wall.given.layers, wall.work, found)
        # Differences over a millionth of a point are good to five digits.
        assert found == pytest.approx(np.linalg.solve(matrix, right), rel=2e-4, abs=1e-6)


@pytest.mark.parametrize("case", CASES)
def test_both_schemes_take_a_short_step_alike_and_count_what_came_through_the_faces(
    case: str, handed: Callable[..., Any]
) -> None:
    # Both are of second order: over a minute they and the rate itself say the same.
    wall, seconds = Wall(handed, case), 60.0
    if "wet" in case:
        seconds = 0.01  # a wet face is there within seconds
    given, first, second = wall.given, *np.zeros((2, NODES))
    common = (given.layers, given.curves, given.each, 0, wall.room, wall.room, wall.diffusion,
              wall.diffusion, seconds, wall.moisture, wall.memory)  # fmt: skip
    change, faces = wall.rates(wall.moisture)
    for iterated in (False, True):
        if iterated:
            told = steps._iterated(*common, first, second, np.zeros(NODES), wall.work)
            assert told[0] is True
            through = told[1:]
        else:
            through = steps._linearised(*common, first, second, wall.work)
        for share in (0.4, 1.0):
            one, two = steps._shares(iterated, share)
            moved = one * first + two * second
            assert moved == pytest.approx(share * seconds * change, rel=0.03, abs=2e-7)
            top = one * through[0] + two * through[2]
            bottom = one * through[1] + two * through[3]
            stored = float(given.layers.weight @ moved) * THICK
            assert stored == pytest.approx(top + bottom, rel=1e-9, abs=1e-18)
            assert top == pytest.approx(share * seconds * faces[0], rel=0.03)


@pytest.mark.parametrize("iterated", [False, True], ids=["linearised", "iterated"])
def test_the_state_within_a_step_is_of_second_order_and_its_end_the_scheme_s(
    iterated: bool,
) -> None:
    # On u' = z u, by the schemes as they were published: Verwer and others' two-stage Rosenbrock,
    # u + 3/2 k1 + 1/2 k2, and Alexander's two-stage implicit one.
    gamma = 1.0 - math.sqrt(0.5)

    def miss(z: float, share: float) -> float:
        if iterated:
            first = z / (1.0 - gamma * z)
            second = z * (1.0 + (1.0 - gamma) * first) / (1.0 - gamma * z)
        else:
            first = z / (1.0 - gamma * z)
            second = (z * (1.0 + first) - 2.0 * first) / (1.0 - gamma * z)
        one, two = steps._shares(iterated, share)
        return float(abs(1.0 + one * first + two * second - math.exp(share * z)))

    for share in (0.25, 0.7, 1.0):
        assert miss(-0.02, share) / miss(-0.01, share) == pytest.approx(8.0, rel=0.1)
    whole = (1.0 - gamma, gamma) if iterated else (1.5, 0.5)
    assert steps._shares(iterated, 1.0) == pytest.approx(whole, rel=1e-12)
    assert steps._shares(iterated, 0.0) == (0.0, 0.0)


@pytest.mark.parametrize("iterated", [False, True], ids=["linearised", "iterated"])
def test_the_error_of_a_step_is_its_root_mean_square_or_five_times_its_mean(
    iterated: bool, handed: Callable[..., Any]
) -> None:
    layers = handed().layers
    # A change along a straight line has no error: the second increment of the one scheme undoes
    # the first, that of the other is the first again.
    first = np.full(NODES, 0.3)
    second = first.copy() if iterated else -first
    told = steps._size_of_error(layers, iterated, PROFILE, first, second)
    assert told == pytest.approx(0.0, abs=1e-15)
    # Alike in every layer the mean decides; of either sign and balanced, the root mean square.
    gamma = 1.0 - math.sqrt(0.5)
    scale = 1.0 / (1.0 - gamma) if iterated else 2.0  # of the second to the lower order
    for sign in (1.0, -1.0):
        told = steps._size_of_error(
            layers, iterated, PROFILE, np.full(NODES, sign * 0.01 * scale), np.zeros(NODES)
        )
        assert told == pytest.approx(0.05, rel=1e-12)
    alternating = np.ones(NODES)
    alternating[1::2] = -layers.weight[::2].sum() / layers.weight[1::2].sum()
    told = steps._size_of_error(
        layers, iterated, PROFILE, 0.01 * scale * alternating, np.zeros(NODES)
    )
    assert told == pytest.approx(0.01 * math.sqrt(layers.weight @ alternating**2), rel=1e-9)
    if iterated:  # free water that moves from layer to layer is no error
        told = steps._size_of_error(
            layers, True, np.full(NODES, 60.0), 0.01 * scale * alternating, np.zeros(NODES)
        )
        assert told == pytest.approx(0.0, abs=1e-12)


def test_an_implicit_stage_ends_where_its_equation_holds(
    handed: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    wall = Wall(handed, "steep")
    given, scale, step = wall.given, 4e4, np.zeros(NODES)
    found = wall.moisture.copy()
    for _ in range(4):  # the next iterate is nearer by its square
        solved, top, bottom = steps._stage(
            given.layers, given.curves, given.each, 0, wall.room, wall.diffusion, scale,
            wall.moisture, wall.memory, found, step, wall.work,
        )  # fmt: skip
    assert solved
    change, faces = wall.rates(found)
    assert found == pytest.approx(wall.moisture + scale * change, abs=1e-8)
    assert (top, bottom) == pytest.approx((scale * faces[0], scale * faces[1]), rel=1e-6)
    # From far off the first iterate is not near enough; then it says so.
    monkeypatch.setattr(steps, "MOST_ITERATIONS", 1)
    solved, *_ = steps._stage(
        given.layers, given.curves, given.each, 0, wall.room, wall.diffusion, scale,
        wall.moisture, wall.memory, wall.moisture.copy(), step, wall.work,
    )  # fmt: skip
    assert not solved


# Whole courses.


def course(handed: Callable[..., Any], moisture: Any = 12.0, **asked: Any) -> Any:
    given = handed(moisture, **asked)
    end = steps.follow(
        given.layers, given.curves, given.each, given.weather, given.span, given.watch,
        given.state, given.memory, given.told, 0, 10**6,
    )  # fmt: skip
    assert end == given.state.shape[0]
    return given


@pytest.mark.parametrize(
    "asked",
    [
        {"air": LOG},
        {"air": LOG, "loop": 0.7},
        {"air": LOG, "moisture": np.linspace(60.0, 10.0, NODES)},
        {"moisture": 15.0, "shared": SHARED, "loop": 0.7},
        {"moisture": np.linspace(45.0, 20.0, NODES), "shared": SHARED},
        {"faces": Faces(Face(0.0, wet=True), Face(0.7)), "moisture": 9.0},
        {"faces": Faces(Face(0.7), Face(0.0, wet=True)), "moisture": 9.0},
    ],
    ids=["log", "loop", "green", "shared", "shared green", "wet above", "wet below"],
)
def test_a_course_keeps_the_balance_of_water_and_gives_the_sums_asked_for(
    asked: dict[str, Any], handed: Callable[..., Any]
) -> None:
    weights = np.random.default_rng(3).normal(size=(1, 2, NODES))
    days = [0.0, 0.004, 1.0, 7.7, 29.99, 30.0]
    given = course(handed, days=days, sums=transport.Sums(weights, 14.0), **asked)
    told, weight = given.told, given.layers.weight
    assert told.mean[:, 0] == pytest.approx(told.moisture[:, 0] @ weight, abs=1e-12)
    came = told.gained[:, 0].sum(axis=-1)
    assert told.mean[:, 0] - told.mean[0, 0] == pytest.approx(came, abs=1e-9)
    assert abs(came[-1]) > 0.2
    capped = np.minimum(told.moisture[:, 0], 14.0)
    assert told.sums[:, 0] == pytest.approx(capped @ weights[0].T, abs=1e-12)
    assert told.moisture[-1, 0] == pytest.approx(given.state[0], abs=1e-12)


def test_samples_are_followed_until_the_budget_is_used(handed: Callable[..., Any]) -> None:
    given = handed()
    arguments = (given.layers, given.curves, given.each, given.weather)
    rest = (given.watch, given.state, given.memory, given.told)
    assert steps.follow(*arguments, given.span._replace(most_steps=3), *rest, 0, 10**6) == -1
    assert int(given.told.steps[0] + given.told.rejected[0]) == 3
    assert steps.follow(*arguments, given.span, *rest, 0, 1) == 1
    assert steps.follow(*arguments, given.span, *rest, 1, 1) == 1


def test_steps_grow_fivefold_at_most_up_to_the_longest_and_no_sliver_is_left(
    handed: Callable[..., Any],
) -> None:
    # Nothing happens: from 0.01 day the steps are 0.05, 0.25, 1.25, 6.25 and then the longest, 7;
    # of what is left of 30 days, 22.19, three more are whole and the last two share the rest.
    given = course(handed, float(settled(handed)), longest_step=7.0)
    assert given.told.rejected[0] == 0
    assert given.told.steps[0] == 9
    assert given.state[0] == pytest.approx(np.full(NODES, settled(handed)), abs=1e-6)


def test_a_step_that_misses_too_much_is_taken_again_shorter(handed: Callable[..., Any]) -> None:
    given = course(handed, 16.0, first_step=20.0)
    assert given.told.rejected[0] > 0
    # Those taken in vain count toward what is allowed.
    taken = int(given.told.steps[0] + given.told.rejected[0])
    for most, ends in ((taken, 1), (taken - 1, -1)):
        again = handed(16.0, first_step=20.0)
        assert ends == steps.follow(
            again.layers, again.curves, again.each, again.weather,
            again.span._replace(most_steps=most), again.watch, again.state, again.memory,
            again.told, 0, 10**6,
        )  # fmt: skip
    fine = course(handed, 16.0, first_step=1e-3, tolerance=1e-3)
    weight = given.layers.weight
    assert given.state[0] @ weight == pytest.approx(float(fine.state[0] @ weight), abs=0.01)
    assert given.told.steps[0] < 0.5 * fine.told.steps[0]
    # Green wood too, whose stages are solved by iteration.
    green = course(handed, 40.0, first_step=20.0)
    assert green.told.rejected[0] > 0
    close = course(handed, 40.0, first_step=1e-3, tolerance=2e-3)
    assert green.state[0] @ weight == pytest.approx(float(close.state[0] @ weight), abs=0.1)


def test_a_day_has_its_seconds(handed: Callable[..., Any]) -> None:
    wall = Wall(handed, "free")
    change, _ = wall.rates(wall.moisture)
    given = course(handed, PROFILE, days=[0.0, 0.001], tolerance=1e-3, first_step=1e-4)
    moved = float(given.told.mean[1, 0] - given.told.mean[0, 0])
    assert moved == pytest.approx(86.4 * float(wall.given.layers.weight @ change), rel=0.02)


def settled(handed: Callable[..., Any]) -> float:
    """What the tables hold in steady air [% M]."""
    given = handed()
    low, high = 2.0, 25.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        dry = steps._humidity(given.curves, 21.0, middle, 1.0)[0] < 0.45
        low, high = (middle, high) if dry else (low, middle)
    return low
