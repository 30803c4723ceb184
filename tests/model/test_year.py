"""The year a slab settles into: what it starts from, how a difference fades, where it rests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from model import spread
from model.behaviour import shape, transport, year
from model.behaviour.evidence import Untold
from model.behaviour.slab import ShellCore, Slab
from model.properties.finishes import Face, Faces
from model.properties.species import find
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]
OAK = find("white oak")
SLAB = Slab(OAK, 0.6, 0.05, ring_angle=0.0)
DAYS = np.linspace(0.0, YEAR, 120, endpoint=False)
WAVE = np.cos(2.0 * np.pi * DAYS / YEAR)
AIR = Air(DAYS, 18.0 - 4.0 * WAVE, 48.0 - 12.0 * WAVE, YEAR)
OPEN = Faces(Face(0.1), Face(0.5))


def test_the_error_of_a_meter_fades_out_toward_fibre_saturation() -> None:
    samples = replace(spread.draw(2), moisture=np.array([0.0, 2.0, -2.0]))
    mesh = transport.grid(0.05, 5)
    for told, share in ((8.0, 1.0), (15.0, 1.0), (22.5, 0.5), (30.0, 0.0), (60.0, 0.0)):
        made = year.start_moisture(told, mesh, samples, 30.0)
        assert made[:, 0] == pytest.approx(told + np.array([0.0, 2.0, -2.0]) * share)
    # No draw goes below 1 %, but what is told below it stays.
    assert year.start_moisture(2.0, mesh, samples, 30.0)[:, 0].tolist() == [2.0, 4.0, 1.0]
    assert year.start_moisture(0.5, mesh, samples, 30.0)[:, 0].tolist() == [0.5] * 3
    across = year.start_moisture(ShellCore(8.0, 12.0), mesh, samples, 30.0)
    assert across[0] == pytest.approx([8.0, across[0, 1], 12.0, across[0, 1], 8.0])
    untold = year.start_moisture(Untold("stack"), mesh, samples, 30.0)
    assert untold[0].mean() > 13.0
    assert untold[1].mean() > untold[0].mean() > untold[2].mean()


def test_the_wood_of_a_slab_is_that_of_its_species_for_every_draw() -> None:
    samples = spread.draw(16)
    wood = year.wood_of(SLAB, samples)
    assert wood.transport_factor[0] == OAK.transport_factor
    quick = np.argsort(samples.transport)  # the deviates that make it quicker or slower
    assert np.all(np.diff(wood.transport_factor[quick]) >= 0.0)
    assert wood.transport_factor.max() > 1.2 * OAK.transport_factor
    assert wood.sorption is samples.sorption
    assert wood.loop is samples.loop
    assert year.wood_of(SLAB, samples, hysteresis=False).loop is None
    assert (wood.sorption_at_60, wood.sorption_at_90) == (OAK.sorption_at_60, OAK.sorption_at_90)


def search(wood: transport.Wood, thickness: float, air: Air, faces: Faces) -> year._Search:
    """A search that has begun nothing."""
    mesh = transport.grid(thickness)
    count = wood.transport_factor.size
    moisture = np.full((count, mesh.depth.size), 9.0)
    sums = shape.StrainSums(np.zeros((count, 4, mesh.depth.size)), np.zeros((count, 4)), 30.0)
    state = transport.begin(moisture, wood, mesh.depth.size, "unknown")
    return year._Search(wood, mesh, faces, air, np.zeros(count), np.ones(count), sums, state)


@pytest.mark.parametrize(
    ("thickness", "faces", "quickened"),
    [(0.05, OPEN, 1.0), (0.08, Faces(Face(2.0), Face(20.0)), 1.0), (0.08, OPEN, 1.3)],
)
def test_a_difference_fades_in_a_year_as_two_courses_drift_together(
    thickness: float, faces: Faces, quickened: float
) -> None:
    steady = Air(np.zeros(1), np.full(1, 18.0), np.full(1, 48.0))
    wood = transport.Wood(
        np.full(1, 0.5), 0.05, 0.65, 30.0, np.full(1, 0.97), quickened=quickened
    )  # fmt: skip
    told = search(wood, thickness, steady, faces).slowest[0]
    mesh = transport.grid(thickness)
    # Once the quick modes are gone the difference between two courses is left to the slowest one.
    later = -1.2 * YEAR / float(np.log(told))
    ends = [
        transport.run(
            wood, mesh, begin, steady, faces, 0.0, later + YEAR, days=[later, later + YEAR],
            tolerance=1e-3,
        ).mean[:, 0]
        for begin in (8.4, 8.8)
    ]  # fmt: skip
    before, after = ends[1] - ends[0]
    # Coefficients are not quite those of the mean, nor the other modes quite gone.
    assert np.log(told) == pytest.approx(np.log(after / before), rel=0.02)


def test_a_slab_too_slow_for_the_seasons_rests_where_its_faces_pass_as_much_in_as_out() -> None:
    wood = transport.Wood(np.full(1, 1.0), 0.087, 0.65, 30.0, np.full(1, 0.95))
    faces = Faces(Face(20.0), Face(20.0))
    rests = search(wood, 0.1, AIR, faces)._resting()[0]
    run = transport.run(
        wood, transport.grid(0.1), rests + 0.5, AIR, faces, 0.0, 60.0 * YEAR,
        days=np.linspace(59.0 * YEAR, 60.0 * YEAR, 40, endpoint=False),
    )  # fmt: skip
    assert run.mean.mean() == pytest.approx(rests, abs=0.05)
    assert abs(run.mean.mean() - rests) < 0.2 * 0.5  # from half a point off it has come to it


@pytest.fixture(scope="module")
def found() -> year.Years:
    return year.years_in(SLAB, 14.0, OPEN, AIR, 5.0, 100.0, spread.draw(4))


def test_the_year_found_repeats_itself_and_is_that_of_many_years(found: year.Years) -> None:
    days = found.periodic.days
    assert days[-1] - days[0] == pytest.approx(YEAR)
    assert (days[0] - 100.0) / YEAR == pytest.approx(round((days[0] - 100.0) / YEAR))
    assert days.size == 74
    mean = found.periodic.mean
    assert np.abs(mean[-1] - mean[0]).max() < 0.03
    assert abs(mean[-1, 0] - mean[0, 0]) < 0.01
    assert found.miss < 0.01
    plain = transport.run(
        found.wood, found.grid, found.start, AIR, OPEN, 100.0, 100.0 + 30.0 * YEAR,
        days=100.0 + 29.0 * YEAR + (days - days[0]),
        humidity_offset=5.0 * spread.draw(4).humidity, finish_factor=spread.draw(4).finish,
    )  # fmt: skip
    assert mean[:, 0] == pytest.approx(plain.mean[:, 0], abs=0.03)
    assert mean == pytest.approx(plain.mean, abs=0.12)
    assert found.periodic.central == pytest.approx(plain.moisture[:, 0], abs=0.15)


def test_the_way_there_begins_with_what_came_and_tells_each_day_once(found: year.Years) -> None:
    assert found.followed.days[0] == 100.0
    assert np.all(np.diff(found.followed.days) > 0.0)
    assert found.followed.days[-1] <= 100.0 + 3.0 * YEAR + 1e-6
    assert found.followed.mean[0] == pytest.approx(found.start @ found.grid.weight)
    assert found.followed.central[0] == pytest.approx(14.0)
    for column in (found.followed.strains.mean_tangential, found.followed.strains.curvature_radial):
        assert column.shape == found.followed.mean.shape
        assert column[0] == pytest.approx(np.zeros(5), abs=1e-12)
    both = np.concatenate((found.followed.mean, found.periodic.mean))
    assert found.extremes.driest.tolist() == both.min(axis=0).tolist()
    assert found.extremes.dampest.tolist() == both.max(axis=0).tolist()


def test_strains_of_the_year_are_those_of_its_moisture(found: year.Years) -> None:
    told = shape.strains(SLAB, found.start[:1], found.periodic.central[:, None], found.grid.depth)
    for name in ("mean_tangential", "mean_radial", "curvature_tangential", "curvature_radial"):
        mine, plain = getattr(found.periodic.strains, name), getattr(told, name)
        assert mine[:, 0] == pytest.approx(plain[:, 0], abs=1e-9)


def test_wood_that_came_the_other_way_settles_on_the_other_side(found: year.Years) -> None:
    mean = float(found.periodic.mean[1:, 0].mean())
    other = year.years_in(SLAB, 14.0, OPEN, AIR, 5.0, 100.0, spread.draw(0), "wetting")
    assert found.otherwise == pytest.approx(float(other.periodic.mean[1:, 0].mean()), abs=0.02)
    assert other.otherwise == pytest.approx(mean, abs=0.02)
    assert year.settled_mean(SLAB, 14.0, OPEN, AIR, 100.0) == pytest.approx(mean, abs=0.02)
    none = year.years_in(SLAB, 14.0, OPEN, AIR, 5.0, 100.0, spread.draw(0), "mean")
    assert none.otherwise == pytest.approx(float(none.periodic.mean[1:, 0].mean()), abs=1e-6)


def test_a_slow_slab_is_followed_three_years_and_a_green_one_until_it_is_dry() -> None:
    slow = Slab(OAK, 0.9, 0.1, ring_angle=0.0)
    closed = Faces(Face(20.0), Face(20.0))
    made = year.years_in(slow, 14.0, closed, AIR, 0.0, 100.0, spread.draw(0))
    assert made.followed.days[-1] == pytest.approx(100.0 + 3.0 * YEAR)
    assert made.periodic.days[0] >= made.followed.days[-1] - YEAR - 1e-6
    green = year.years_in(slow, 60.0, closed, AIR, 0.0, 100.0, spread.draw(0))
    assert green.followed.days[-1] == pytest.approx(100.0 + 8.0 * YEAR)
    # What a year leaves of a difference is what many years have, one after the other.
    wood = year.wood_of(slow, spread.draw(0), hysteresis=False)
    begun = transport.begin(14.0, wood, transport.NODES, "unknown")
    run = transport.run(
        wood, transport.grid(0.1), begun, AIR, closed, 100.0, 100.0 + 8.0 * YEAR,
        days=100.0 + YEAR * np.arange(9),
    )  # fmt: skip
    moves = np.diff(run.mean[:, 0])
    plain = year.years_in(slow, 14.0, closed, AIR, 0.0, 100.0, spread.draw(0), "mean")
    assert plain.left[0] == pytest.approx(moves[-1] / moves[-2], abs=0.02)
    assert made.left[0] == pytest.approx(moves[-1] / moves[-2], abs=0.02)
