"""Diagnosis piece by piece: stories and their weights, draws, weighing, parts, measurements."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from model import spread
from model.answers.diagnosis import (
    causes,
    clues,
    diagnose,
    formula,
    history,
    measure,
    posterior,
    stories,
    to_come,
    tried,
)
from model.answers.diagnosis.causes import Chance
from model.answers.diagnosis.history import History, Looks, Sighting, Strip
from model.answers.diagnosis.stories import Story
from model.answers.diagnosis.tried import NAMES, Departure
from model.behaviour import keys, section
from model.behaviour.brought import by_slice
from model.behaviour.course import Stay
from model.behaviour.slab import Depths, ShellCore, Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.properties.warmth import LocalWarmth
from model.spread import Figure
from model.surroundings.air_series import Air
from model.surroundings.room import constant

BARE, FILM = Face(0.0), Face(5.0)
AIR = constant(21.1, 40.0).air  # holds 7.7 % (Wood Handbook FPL-GTR-190 Table 4-2, printed)
WOOD = species.from_figures(4.6, 8.9, 0.6)
SLAB = Slab(WOOD, 0.8, 0.05, 2.4, ring_angle=0.0, bark_known=True)
STAY = Stay(AIR, 200.0, Faces(BARE, BARE), humidity_spread=3.0)
PLAIN = History(SLAB, (STAY,))
PLANED = replace(PLAIN, stays=(replace(STAY, dress_top=0.002),))
ROWS = np.random.default_rng(5).standard_normal((4096, len(NAMES)))


def weights(told: History) -> dict[str, float]:
    """Weight of each cause over that of the rings."""
    found: dict[str, float] = {}
    for one in stories.stories(told):
        found[one.cause] = found.get(one.cause, 0.0) + one.weight
    assert sum(found.values()) == pytest.approx(1.0)
    return {cause: 0.22 * weight / found["rings"] for cause, weight in found.items()}


def of(cause: str, told: History = PLAIN) -> list[Story]:
    return [one for one in stories.stories(told) if one.cause == cause]


def column(name: str, value: float) -> Any:
    theta = np.zeros((1, len(NAMES)))
    theta[0, NAMES.index(name)] = value
    return theta


# Stories: how often makers find each (judgement), and what is told of one changes its own alone.


def test_weights_of_an_untouched_slab_between_like_faces() -> None:
    assert weights(PLAIN) == pytest.approx({
        "rings": 0.22, "too_wet_at_fitting": 0.20, "uneven_faces": 0.16, "room_not_as_told": 0.10,
        "two_airs": 0.08, "springback": 0.02, "fixed_solid": 0.03,
    })  # fmt: skip


@pytest.mark.parametrize(
    ("told", "cause", "weight"),
    [
        (PLANED, "wet_core", 0.12),
        (PLANED, "locked_in_stress", 0.12),
        (replace(PLAIN, faces_known=False), "uneven_faces", 0.32),
        (replace(PLAIN, stays=(replace(STAY, faces=Faces(FILM, BARE)),)), "uneven_faces", 0.04),
        (replace(PLAIN, looks=Looks(flattened=0.01)), "springback", 0.30),
        (replace(PLAIN, looks=Looks(fixed="solid")), "fixed_solid", 0.30),
        (replace(PLAIN, looks=Looks(fixed="slotted")), "fixed_solid", None),
        (replace(PLAIN, looks=Looks(fixed="free")), "fixed_solid", None),
        # A strip of 2 m and 25 mm: bowed by 16 mm it strains 8e-4, by 2 mm 1e-4.
        (replace(PLAIN, strip=Strip(2.0, 0.025, 0.016)), "locked_in_stress", 0.36),
        (replace(PLAIN, strip=Strip(2.0, 0.025, 0.002)), "locked_in_stress", None),
        (replace(PLAIN, strip=Strip(2.0, 0.025, 0.008)), "locked_in_stress", 0.012),
        (replace(PLANED, strip=Strip(2.0, 0.025, 0.002)), "locked_in_stress", 0.012),
    ],
)
def test_what_is_told_makes_a_cause_likelier_or_less(
    told: History, cause: str, weight: float | None
) -> None:
    found = weights(told)
    assert (found.get(cause)) == (None if weight is None else pytest.approx(weight))


def test_stress_that_was_measured_is_in_every_story_and_no_cause_beside() -> None:
    brought = by_slice(0.002, 0.05, 0.005)
    slab = replace(SLAB, brought=brought)
    told = replace(PLANED, slab=slab)
    assert not of("locked_in_stress", told)
    middle, deviation = stories.stories(told)[0].case.locked
    assert middle == -brought.skin
    assert deviation == pytest.approx(0.3 * abs(brought.skin))
    none = replace(told, slab=replace(SLAB, brought=replace(brought, skin=1e-6)))
    assert stories.stories(none)[0].case.locked[1] == 2.0e-4


def test_how_it_lay_and_how_far_it_departs() -> None:
    below, above = of("uneven_faces")
    assert (below.lying, above.lying) == ("on-bottom", "top-covered")
    assert below.weight / above.weight == pytest.approx(0.65 / 0.35)
    assert below.case.stays[0].faces.bottom.sd == above.case.stays[0].faces.top.sd == 30.0
    assert below.case.stays[0].faces.top.sd == above.case.stays[0].faces.bottom.sd == 0.0
    (turned,) = of("uneven_faces", replace(PLAIN, stays=(replace(STAY, faces=Faces(FILM, BARE)),)))
    assert turned.case.stays[0].faces == Faces(BARE, FILM)
    drier, damper = of("room_not_as_told")
    assert drier.weight / damper.weight == pytest.approx(0.65 / 0.35)
    assert (drier.case.departure.damper, damper.case.departure.damper) == (
        (-8.0, -25.0), (8.0, 25.0),
    )  # fmt: skip
    locked = [one.case.departure.locked for one in of("locked_in_stress", PLANED)]
    assert locked == [(1.2e-3, 5.0e-3), (-1.2e-3, -5.0e-3)]
    sprung = [one.case.departure.spring for one in of("springback")]
    assert sprung == [(0.002, 0.015), (-0.002, -0.015)]
    (told,) = of("springback", replace(PLAIN, looks=Looks(flattened=-0.008)))
    assert told.case.departure.spring == pytest.approx((-0.002, -0.008))
    bowed = of("locked_in_stress", replace(PLAIN, strip=Strip(2.0, 0.025, 0.016)))[0]
    low, high = bowed.case.departure.locked
    assert high / low == pytest.approx(np.exp(1.5))
    assert np.sqrt(low * high) == pytest.approx(8.0e-4)
    assert of("too_wet_at_fitting")[0].case.departure.excess == (4.0, 25.0)
    read = replace(PLAIN, before=(10.0, 1.0))
    assert of("too_wet_at_fitting", read)[0].case.departure.excess == (2.0, 9.0)
    assert of("rings", read)[0].case.before == (10.0, 1.0)


def test_a_face_may_be_warmer_and_the_lower_one_damper() -> None:
    warmths = []
    for one in of("two_airs"):
        faces = one.case.stays[0].faces
        top, bottom = (None if f.warmth is None else f.warmth.by for f in (faces.top, faces.bottom))
        warmths.append((top, bottom))
    assert warmths == [
        (None, 5.0), (None, 10.0), (5.0, None), (10.0, None), (None, -2.5), (None, -5.0),
    ]  # fmt: skip


def test_wood_before_was_near_its_room_or_broadly_so() -> None:
    for cause, told, middle, deviation in (
        ("rings", PLAIN, 1.0, 2.0), ("too_wet_at_fitting", PLAIN, 1.0, 2.0),
        ("uneven_faces", PLAIN, 4.0, 4.0), ("wet_core", PLANED, 4.0, 4.0),
        ("room_not_as_told", PLAIN, 1.0, 2.0), ("two_airs", PLAIN, 1.0, 2.0),
        ("springback", PLAIN, 1.0, 2.0), ("fixed_solid", PLAIN, 4.0, 4.0),
        ("locked_in_stress", PLANED, 4.0, 4.0),
    ):  # fmt: skip
        found = of(cause, told)[0].case.before
        assert found == pytest.approx((7.7 + middle, deviation), abs=0.1)
    assert of("rings")[0].as_told
    assert not of("wet_core", PLANED)[0].as_told


def test_a_log_holds_wood_as_its_last_ninety_days_do() -> None:
    days = np.arange(0.0, 201.0)
    log = Air(days, np.full(201, 21.1), np.where(days < 109.5, 90.0, 40.0))
    assert stories._held(SLAB, replace(STAY, air=log)) == pytest.approx(7.7, abs=0.1)
    longer = Air(days, np.full(201, 21.1), np.where(days < 110.5, 90.0, 40.0))
    assert stories._held(SLAB, replace(STAY, air=longer)) > 7.81


# The forward model of one story.


def test_draws_of_one_story_are_spread_as_every_other_answer_s() -> None:
    made = of("rings")[0].case.samples(ROWS)
    # 4,096 draws: 4 % of a deviation, 0.02 of a correlation; three times that.
    assert np.std(made.tangential) == pytest.approx(spread.SHRINKAGE_CV, rel=0.05)
    assert np.std(made.radial) == pytest.approx(spread.SHRINKAGE_CV, rel=0.05)
    together = np.corrcoef(made.tangential, made.radial)[0, 1]
    assert together == pytest.approx(spread.SHRINKAGE_SHARED, abs=0.04)
    assert np.std(made.sorption) == pytest.approx(spread.SORPTION_CV, rel=0.05)
    assert np.std(made.modulus) == pytest.approx(spread.MODULUS_CV, rel=0.05)
    for values in (made.sorption, made.tangential, made.radial, made.modulus):
        assert np.mean(values) == pytest.approx(1.0, abs=0.02)
    for values in (made.ring, made.pith, made.set_in_width):
        assert np.percentile(values, [10.0, 50.0, 90.0]) == pytest.approx([0.1, 0.5, 0.9], abs=0.03)
    assert np.median(made.finish) == pytest.approx(1.0, rel=0.05)
    assert np.median(made.mechano) == pytest.approx(60.0, rel=0.05)
    assert np.std(made.transport) == pytest.approx(1.0, rel=0.05)
    assert np.mean(made.unlimited) == pytest.approx(0.5, abs=0.03)
    assert np.all(made.humidity == 1.0)
    assert np.all(made.moisture == 0.0)


def test_far_draws_of_a_wood_stay_a_wood() -> None:
    case = of("rings")[0].case
    for name, least in (("sorption", 0.6), ("tangential", 0.3), ("radial", 0.3), ("modulus", 0.3)):
        assert getattr(case.samples(column(name, -20.0)), name)[0] == least
        assert getattr(case.samples(column(name, -1.0)), name)[0] > least


def test_a_departure_runs_from_its_least_to_its_most() -> None:
    between = tried._between
    assert between((4.0, 25.0), np.array([0.0, 0.5, 1.0])) == pytest.approx([4.0, 10.0, 25.0])
    assert between((-4.0, -25.0), np.array([0.5])) == pytest.approx([-10.0])
    assert between((0.0, 2.0), np.array([0.25])) == pytest.approx([0.5])
    assert between((-2.0, 0.0), np.array([0.25])) == pytest.approx([-1.5])


def test_moisture_before_through_the_thickness() -> None:
    case = replace(of("wet_core", PLANED)[0].case, before=(10.0, 2.0), core=(0.5, 1.0))
    middle = replace(case, departure=Departure())
    begin = middle.begin(column("before", 1.0))[0]
    assert case.mesh.mean(begin) == pytest.approx(12.0)
    half = begin.size // 2
    assert begin[half] - begin[0] == pytest.approx(0.5)
    assert begin[half] - begin[-1] == pytest.approx(0.5)
    wetter = middle.begin(column("core", 2.0))[0]
    assert wetter[half] - wetter[0] == pytest.approx(2.5)
    # Half way through the departure, 3 to 10 % M in its logarithm, on top of the usual.
    cored = case.begin(column("core", 0.0))[0]
    assert cored[half] - cored[0] == pytest.approx(0.5 + np.sqrt(30.0))
    assert middle.mean_before(column("before", -9.0))[0] == 1.0
    wet = replace(middle, departure=Departure(excess=(4.0, 25.0)))
    assert wet.mean_before(column("before", 0.0))[0] == pytest.approx(20.0)
    # Free water is not followed out: it starts at 1.15 of where shrinkage does.
    green = replace(middle, before=(60.0, 1.0), core=(0.0, 1.0))
    assert green.begin(column("core", 0.0))[0].max() == pytest.approx(34.5)
    read = replace(green, history=replace(PLAIN, before=(60.0, 1.0)))
    assert read.begin(column("core", 0.0))[0].max() == pytest.approx(60.0)


def test_strain_locked_in_holds_itself_in_balance() -> None:
    case = replace(of("rings")[0].case, locked=(3.0e-4, 4.0e-4))
    begin = case.begin(column("before", 0.0))
    assert np.all(case.state(column("locked_even", 1.0), begin, stressed=False).creep == 0.0)
    even = case.state(column("locked_even", 0.5), begin, stressed=True).creep[0]
    assert case.locked_even(column("locked_even", 0.5))[0] == pytest.approx(5.0e-4)
    # Skin against core: the whole of it at both faces, half the other way in the middle.
    assert even[[0, even.size // 2, -1]] == pytest.approx([5.0e-4, -2.5e-4, 5.0e-4])
    assert case.mesh.mean(even) == pytest.approx(0.0, abs=2e-5)
    usual = case.state(column("locked_odd", 0.0), begin, stressed=True).creep[0]
    odd = case.state(column("locked_odd", 1.0), begin, stressed=True).creep[0] - usual
    sided = 0.4 * np.hypot(3.0e-4, 4.0e-4)
    assert odd[-1] - odd[0] == pytest.approx(2.0 * sided)
    x = 2.0 * case.mesh.depth / 0.05 - 1.0
    # Neither a force nor a moment is left.
    assert case.mesh.mean(odd) == pytest.approx(0.0, abs=1e-9)
    assert abs(case.mesh.mean(odd * x)) < 0.03 * sided


def test_every_room_has_an_air_of_its_own_and_may_be_damper_than_told() -> None:
    other = replace(STAY, air=constant(20.0, 60.0).air)
    told = replace(PLAIN, stays=(STAY, other))
    drier = of("room_not_as_told", told)[0].case
    theta = column("humidity", 1.0)
    theta[0, NAMES.index("elsewhere")] = -2.0
    first, second = drier.aired(theta, drier.stays)
    # Half way in the logarithm from -8 to -25 points.
    assert float(first.humidity_spread[0]) == pytest.approx(3.0 - np.sqrt(200.0))  # type: ignore[index]
    assert float(second.humidity_spread[0]) == pytest.approx(-6.0 - np.sqrt(200.0))  # type: ignore[index]


def test_the_room_of_today_is_that_of_its_last_day() -> None:
    log = Air(np.array([0.0, 100.0]), np.full(2, 21.1), np.array([40.0, 60.0]))
    still = replace(STAY, air=log, days=30.0, humidity_spread=0.0)
    # Wood Handbook FPL-GTR-190 Table 4-2 (printed), 70 degF: 45 % 8.5, 50 % 9.2, 55 % 10.1.
    for air_day, start, days, wanted in (
        (20.0, 0.0, 30.0, 9.2), (None, 0.0, 25.0, 8.5), (None, 45.0, 30.0, 10.1),
    ):  # fmt: skip
        last = replace(still, air_day=air_day, days=days)
        case = of("rings", replace(PLAIN, stays=(last,), start_day=start))[0].case
        found = float(case.room_now(column("before", 0.0))[0])
        assert found == pytest.approx(wanted, abs=0.15)


def follows(**more: Any) -> Any:
    """What an engine may have followed: two rows of three days."""
    mesh = SimpleNamespace(depth=np.linspace(0.0, 0.05, 11))
    told: dict[str, Any] = {
        "days": np.array([0.0, 10.0, 20.0]),
        "width": np.array([[0.8, 0.8], [0.79, 0.78], [0.78, 0.76]]),
        "cup": np.array([[0.0, 0.0], [1e-3, 2e-3], [2e-3, 4e-3]]),
        "mean": np.array([[12.0, 12.0], [10.0, 9.0], [8.0, 7.0]]),
        "moisture": np.stack([np.linspace(6.0, 16.0, 11), np.linspace(7.0, 17.0, 11)]),
        "mesh": mesh,
    }
    return SimpleNamespace(**(told | more))


def test_what_was_seen_is_read_off_the_day_and_the_depth() -> None:
    run = follows()
    for sighting, wanted in (
        (Sighting("width", 1.0, 1.0), [0.78, 0.76]),
        (Sighting("width", 1.0, 1.0, day=10.0), [0.79, 0.78]),
        (Sighting("cup", 1.0, 1.0, day=99.0), [2e-3, 4e-3]),
        (Sighting("cup", 1.0, 1.0, day=0.0), [0.0, 0.0]),
        (Sighting("moisture", 1.0, 1.0), [8.0, 7.0]),
        (Sighting("moisture", 1.0, 1.0, depth=0.0125), [8.5, 9.5]),
        (Sighting("moisture", 1.0, 1.0, depth=0.0), [6.0, 7.0]),
        (Sighting("moisture", 1.0, 1.0, depth=0.05), [16.0, 17.0]),
    ):
        assert tried.seen(run, sighting) == pytest.approx(wanted)


def test_errors_of_a_cup_grow_with_it_and_a_meter_s_bias_is_in_all_its_readings() -> None:
    told = replace(PLAIN, sightings=(
        Sighting("cup", 0.004, 5e-4), Sighting("moisture", 8.0, 0.8, depth=0.01),
        Sighting("moisture", 9.0, 0.5), Sighting("width", 0.79, 5e-4),
    ))  # fmt: skip
    covariance = of("rings", told)[0].case.covariance
    # 0.5 mm of reading, 0.3 mm and 15 % of 4 mm of the engine: 0.8366 mm.
    assert np.sqrt(np.diag(covariance)) == pytest.approx([8.366e-4, 0.8, 0.5, 5e-4], rel=1e-3)
    # Of a meter's 0.86 % of error 0.7 is shared: 0.66 of its variance.
    assert covariance[1, 2] == covariance[2, 1] == pytest.approx(0.66 * 0.8 * 0.5)
    assert np.count_nonzero(covariance - np.diag(np.diag(covariance))) == 2


@dataclass
class Run:
    """Of a course what `held` reads and writes."""

    days: Any
    width: Any
    cup: Any


def held(case: Any, run: Any, since: float = 0.0) -> Any:
    """The engine's course with what stands beside it."""
    theta = np.zeros((2, len(NAMES)))
    return case.held(theta, Run(run.days, run.width, run.cup), since)


def test_a_flattening_comes_back_by_63_percent_in_20_days() -> None:
    case = replace(of("springback")[0].case, departure=Departure(spring=(0.01, 0.01)))
    came = held(case, follows()).cup - follows().cup
    assert came[:, 0] == pytest.approx(0.01 * (1.0 - np.exp([0.0, -0.5, -1.0])))
    later = held(case, follows(), since=20.0).cup - follows().cup
    assert later[0, 0] == pytest.approx(0.01 * (1.0 - np.exp(-1.0)))


def test_a_solid_bar_below_bends_what_shrinks_edges_up_and_keeps_some_width() -> None:
    # 2.5 % of shrinkage in 50 mm, unit strength: 0.5 per metre of curvature, 40 mm over 0.8 m.
    case = replace(of("fixed_solid")[0].case, departure=Departure(solid=(1.0, 1.0)))
    made, free = held(case, follows()), follows()
    assert made.cup[2, 0] - free.cup[2, 0] == pytest.approx(0.04)
    assert made.width[2, 0] == pytest.approx(0.8 - 0.6 * 0.02)
    # At most all of the movement.
    firm = replace(case, departure=Departure(solid=(9.0, 9.0)))
    assert held(firm, follows()).width[2, 0] == pytest.approx(0.8)


# Weighing.


def test_a_density_of_misses_is_scipy_s_but_for_its_constant() -> None:
    draws = np.random.default_rng(1)
    root = draws.standard_normal((3, 3))
    covariance = root @ root.T + np.eye(3)
    miss = draws.standard_normal((5, 3))
    found = posterior.log_normal(miss, covariance)
    wanted = multivariate_normal(cov=covariance).logpdf(miss) + 1.5 * np.log(2.0 * np.pi)
    assert found == pytest.approx(wanted)
    apart = posterior.misses(miss, covariance)
    wanted = np.sqrt(np.einsum("ri,ij,rj->r", miss, np.linalg.inv(covariance), miss) / 3.0)
    assert apart == pytest.approx(wanted)
    assert posterior.log_normal(np.zeros((2, 0)), np.zeros((0, 0))).tolist() == [0.0, 0.0]
    assert posterior.misses(np.zeros((2, 0)), np.zeros((0, 0))).tolist() == [0.0, 0.0]


SLOPES = np.zeros((2, len(NAMES)))
SLOPES[0, 0], SLOPES[0, 3], SLOPES[1, 3] = 2.0, 1.0, -3.0


def straight(bent: float = 0.0, weight: float = 1.0, cause: str = "rings") -> Any:
    """A story whose two sightings are straight, or bent, in its parameters."""
    sightings = (Sighting("width", 7.0, 0.5), Sighting("moisture", 8.0, 0.4))

    def predict(theta: Any) -> Any:
        return np.array([6.0, 9.0]) + theta @ SLOPES.T + bent * theta[:, :1] ** 2

    case = SimpleNamespace(
        history=replace(PLAIN, sightings=sightings), predict=predict,
        covariance=np.diag([0.25, 0.16]),
    )  # fmt: skip
    return SimpleNamespace(case=case, weight=weight, cause=cause)


def test_the_line_through_a_straight_story_is_that_story() -> None:
    normal = posterior._normals(512, 3)
    made = posterior.line_of(straight(), normal)
    # A ridge of half a draw takes 0.1 % of 512.
    assert made.middle == pytest.approx([6.0, 9.0], abs=0.01)
    np.testing.assert_allclose(made.slopes, SLOPES, atol=0.01)
    assert np.diag(made.off) == pytest.approx([0.0, 0.0], abs=1e-4)
    # What bends by a square of deviation 0.5 x sqrt(2) lies off it by as much.
    bent = posterior.line_of(straight(0.5), normal)
    assert np.sqrt(np.diag(bent.off)) == pytest.approx([0.707, 0.707], rel=0.1)


def test_quasi_random_normals_are_normal() -> None:
    normal = posterior._normals(1000, 1)
    assert normal.shape == (1000, len(NAMES))
    assert normal.mean(axis=0) == pytest.approx(np.zeros(len(NAMES)), abs=0.02)
    assert normal.std(axis=0) == pytest.approx(np.ones(len(NAMES)), abs=0.03)


def test_the_normal_posterior_is_that_of_the_closed_form() -> None:
    line = posterior.Line(np.array([6.0, 9.0]), SLOPES, np.diag([0.1, 0.2]))
    error = np.diag([0.25, 0.16])
    mean, covariance = posterior._gauss(line, np.array([1.0, -1.0]), error)
    inner = np.linalg.inv(error + line.off)
    wanted = np.linalg.inv(np.eye(len(NAMES)) + SLOPES.T @ inner @ SLOPES)
    np.testing.assert_allclose(covariance, wanted, atol=1e-10)
    np.testing.assert_allclose(mean, wanted @ SLOPES.T @ inner @ [1.0, -1.0], atol=1e-10)


def test_proposals_weighed_by_prior_and_density_are_draws_of_the_prior() -> None:
    # The mean of prior over density is 1; what is proposed is wider than the posterior by 1.1.
    none = posterior.Line(np.array([6.0, 9.0]), 0.0 * SLOPES, np.zeros((2, 2)))
    over = posterior._propose(straight(), none, 8192, 2)[1]
    assert np.mean(np.exp(over)) == pytest.approx(1.0, abs=0.03)
    line = posterior.Line(np.array([6.0, 9.0]), 0.3 * SLOPES, np.zeros((2, 2)))
    theta = posterior._propose(straight(), line, 8192, 2)[0]
    mean, covariance = posterior._gauss(line, np.array([1.0, -1.0]), np.diag([0.25, 0.16]))
    assert theta.mean(axis=0) == pytest.approx(mean, abs=0.05)
    assert theta.std(axis=0) == pytest.approx(1.1 * np.sqrt(np.diag(covariance)), rel=0.03)
    assert np.abs(theta).max() == 4.0


def test_likelier_stories_get_more_draws_and_none_too_few() -> None:
    assert posterior._counts(np.array([0.64, 0.16, 0.04]), 1400) == [800, 400, 200]
    assert posterior._counts(np.array([1.0, 1e-6]), 1000)[1] == 48


def test_stories_are_weighed_by_their_evidence(monkeypatch: pytest.MonkeyPatch) -> None:
    # Two stories straight in their parameters: chances by the closed form of their evidence.
    monkeypatch.setattr(posterior, "_steps", lambda story: 60)
    one, other = straight(weight=0.3), straight(weight=0.7, cause="wet_core")
    far = replace_predict(other, np.array([8.0, 6.0]))
    made = posterior.weigh([one, far], [2.0, 1.0], 64, 1)
    seen = np.array([7.0, 8.0])
    whole = SLOPES @ SLOPES.T + np.diag([0.25, 0.16])
    evidence = [
        weight * multivariate_normal(cov=whole).pdf(seen - middle)
        for weight, middle in ((0.6, [6.0, 9.0]), (0.7, [8.0, 6.0]))
    ]
    wanted = evidence[0] / sum(evidence)
    chances = {
        id(told.story): chance for told, chance in zip(made.stories, made.chances, strict=True)
    }
    assert chances[id(one)] == pytest.approx(wanted, abs=0.04)
    assert sum(made.chances) == pytest.approx(1.0)
    assert list(made.chances) == sorted(made.chances, reverse=True)
    assert sum(rows.size for rows in made.picked) == 64
    # Rows are picked as their weight asks.
    assert made.picked[0].size == pytest.approx(64 * made.chances[0], abs=1.0)
    assert made.misfit < 0.5
    assert made.effective > 100.0
    assert made.power == 1.0


def replace_predict(story: Any, middle: Any) -> Any:
    case = SimpleNamespace(
        **(vars(story.case) | {"predict": lambda theta: middle + theta @ SLOPES.T})
    )
    return SimpleNamespace(case=case, weight=story.weight, cause=story.cause)


def test_a_story_that_cannot_fit_widens_the_errors_and_is_not_followed_beside_a_likely_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(posterior, "_steps", lambda story: 60)
    near = straight()
    hopeless = replace_predict(straight(), np.array([70.0, -90.0]))
    made = posterior.weigh([near, hopeless], [1.0, 1.0], 8, 1)
    assert len(made.stories) == 1
    assert len(made.lines) == 2
    alone = posterior.weigh([hopeless], [1.0], 8, 1)
    assert alone.misfit > 5.0


def test_errors_widen_by_the_misfit_of_the_best_row() -> None:
    story = straight()
    miss = np.array([[1.5, 0.0], [2.5, 0.0], [0.0, 3.2]])  # in deviations of 0.5 and 0.4
    theta = np.zeros((3, len(NAMES)))
    made = posterior._weighed([(story, theta, np.array([0.0, 0.1, 0.2]), miss)], [], 4)
    # The best misses by 3 in one of two figures: 2.12 on the root mean square.
    assert made.misfit == pytest.approx(3.0 / np.sqrt(2.0))
    score = made.stories[0].score
    apart = [0.5 * (squares - 9.0) / 4.5 for squares in (25.0, 64.0)]
    assert score[0] - score[1] == pytest.approx(apart[0] - 0.1)
    assert score[0] - score[2] == pytest.approx(apart[1] - 0.2)
    # What fits well is weighed by the errors as told.
    near = posterior._weighed([(story, theta, np.zeros(3), 0.2 * miss)], [], 4)
    score = near.stories[0].score
    assert score[0] - score[1] == pytest.approx(0.5 * 0.04 * 16.0)


# The cup taken apart.


def test_shares_are_of_what_bends_it_the_way_it_went() -> None:
    apart = np.zeros((5, 3))
    apart[0], apart[1], apart[2] = 0.006, [0.002, 0.002, 0.014], -0.004
    made = causes.shares(apart, 0.004)
    told = {one.cause: one for one in made}
    assert [one.cause for one in made[:2]] == ["rings", "wet_core"]
    assert told["rings"].share.value == pytest.approx((75.0 + 75.0 + 30.0) / 3.0)
    assert (told["rings"].share.low, told["rings"].share.high) == pytest.approx((30.0, 75.0))
    assert told["rings"].main == pytest.approx(2.0 / 3.0)
    assert told["uneven_faces"].share.value == 0.0
    assert told["uneven_faces"].amount.value == -0.004
    assert told["wet_core"].amount == Figure(0.002, 0.002, 0.014)
    down = causes.shares(apart, -0.004)
    assert down[0].cause == "uneven_faces"
    assert down[0].share.value == pytest.approx(100.0)
    plain = causes.shares(apart, 0.004, band=False)
    assert plain[0].share.low is None
    assert plain[0].amount.low is None


def test_a_figure_is_the_median_with_its_deciles_endless_ones_too() -> None:
    values = np.array([np.inf, *range(1, 10)], dtype=np.float64)
    assert causes.figure(values) == Figure(5.0, 1.0, 9.0)
    assert causes.figure(values, band=False) == Figure(5.0)


def caused(
    story_cause: str, apart: list[float], seen: float = 0.006, *, plain: float = 0.0,
    warm: bool = False,
) -> str:  # fmt: skip
    """The cause of one row."""
    face = replace(BARE, warmth=LocalWarmth(by=5.0)) if warm else BARE
    stays = (replace(STAY, faces=Faces(face, BARE)),)
    without = SimpleNamespace(cup=np.array([[0.0], [9.0], [plain]]))
    story: Any = SimpleNamespace(
        cause=story_cause, as_told=story_cause == "rings", case=SimpleNamespace(stays=stays),
        plain=SimpleNamespace(run=lambda theta: without),
    )  # fmt: skip
    followed: Any = SimpleNamespace(cup=np.array([[0.0], [9.0], [seen]]))
    theta = np.zeros((1, len(NAMES)))
    return causes.cause_of(story, theta, followed, np.array(apart)[:, None], seen)[0]


@pytest.mark.parametrize(
    ("apart", "cause"),
    [
        ([4e-3, 0.0, 4.9e-3, 0.0, 0.0], "rings"),  # rings lead by a quarter (judgement)
        ([4e-3, 0.0, 5.1e-3, 0.0, 0.0], "uneven_faces"),
        ([1e-3, 2e-3, 0.0, 0.0, 0.0], "wet_core"),
        ([1e-3, 0.0, 0.0, 2e-3, 0.0], "locked_in_stress"),
        ([1e-3, 0.0, 0.0, 0.0, 2e-3], "springback"),
        ([1e-3, -9e-3, 0.0, 0.0, 0.0], "rings"),
    ],
)
def test_a_slab_as_told_is_bent_by_its_largest_part(apart: list[float], cause: str) -> None:
    assert caused("rings", apart) == cause
    turned = [-one for one in apart]
    assert caused("rings", turned, -0.006) == cause


def test_what_departs_is_the_cause_where_it_makes_three_tenths_of_the_cup() -> None:
    by_faces = [1e-3, 0.0, 5e-3, 0.0, 0.0]
    assert caused("wet_core", by_faces, plain=0.0041) == "wet_core"
    assert caused("wet_core", by_faces, plain=0.0043) == "uneven_faces"
    assert caused("wet_core", by_faces, plain=0.0043, warm=True) == "two_airs"
    # Of wood that was too wet only what its rings bend.
    assert caused("too_wet_at_fitting", by_faces, plain=0.0) == "uneven_faces"
    by_rings = [5e-3, 0.0, 1e-3, 0.0, 0.0]
    assert caused("too_wet_at_fitting", by_rings, plain=0.0) == "too_wet_at_fitting"
    # Below half a millimetre there is nothing to explain.
    assert caused("wet_core", by_faces, seen=4.9e-4, plain=1.0) == "wet_core"
    assert caused("wet_core", by_faces, seen=5.1e-4, plain=1.0) == "uneven_faces"


def test_chances_share_a_story_s_among_its_rows_and_keep_three_of_a_hundred() -> None:
    stories_ = tuple(
        SimpleNamespace(story=SimpleNamespace(cause=one)) for one in ("rings", "wet_core")
    )
    weighed: Any = SimpleNamespace(stories=stories_, chances=(0.6, 0.4))
    made = causes.chances(weighed, [["rings", "rings", "two_airs"], []])
    told = {one.cause: one.chance for one in made}
    assert told["rings"] == pytest.approx(0.97 * 0.4)
    assert told["two_airs"] == pytest.approx(0.97 * 0.2)
    assert told["wet_core"] == pytest.approx(0.97 * 0.4)
    assert sum(told.values()) == pytest.approx(0.97)
    assert [one.chance for one in made] == sorted(told.values(), reverse=True)


# The answer's verdicts and notes, either side.


def test_a_cause_needs_its_chance_a_fit_and_a_cup() -> None:
    def main(chance: float, misfit: float, seen: float) -> object:
        return diagnose._main([Chance("wet_core", chance)], misfit, seen)

    assert main(0.85, 2.0, 5e-4) == main(0.85, 2.0, -5e-4) == "wet_core"
    assert main(0.849, 2.0, 5e-4) is main(0.85, 2.01, 5e-4) is main(0.85, 2.0, 4.9e-4) is None


def test_the_way_it_lay_and_its_bark_side_are_the_likeliest_together() -> None:
    def told(lying: str, side: str) -> Any:
        slab = SimpleNamespace(bark_side=side)
        case = SimpleNamespace(history=SimpleNamespace(slab=slab))
        return SimpleNamespace(story=SimpleNamespace(lying=lying, case=case))

    weighed: Any = SimpleNamespace(
        stories=(
            told("on-bottom", "top"), told("as-told", "bottom"), told("open", "bottom"),
            told("top-covered", "top"),
        ),
        chances=(0.35, 0.3, 0.25, 0.1),
    )  # fmt: skip
    assert diagnose._lay(weighed) == diagnose.Lay("open", 0.55)
    assert diagnose._bark(weighed) == diagnose.Bark("bottom", 0.55)


def test_moisture_before_ends_where_shrinkage_starts() -> None:
    def before(values: list[float], told: History = PLAIN, *, band: bool = True) -> Figure:
        case = SimpleNamespace(mean_before=lambda theta: np.array(values))
        group: Any = SimpleNamespace(story=SimpleNamespace(case=case), theta=None)
        return diagnose._before(told, [group], band=band)

    dry = [10.0, 12.0, 29.0]
    assert before(dry) == Figure(12.0, 10.0, 29.0)
    assert before([10.0, 12.0, 31.0]) == Figure(12.0, 10.0, np.inf)
    assert before([31.0, 32.0, 33.0]) == Figure(30.0, 30.0, np.inf)
    assert before([31.0, 32.0, 33.0], band=False) == Figure(30.0)
    read = replace(PLAIN, before=(31.0, 1.0))
    assert before([31.0, 32.0, 33.0], read) == Figure(32.0, 31.0, 33.0)


def noted(seen: float = 0.006, power: float = 1.0, **more: Any) -> dict[str, dict[str, Any]]:
    """Notes of an answer that has these."""
    told: dict[str, Any] = {
        "before": Figure(12.0), "chances": (Chance("rings", 0.6), Chance("wet_core", 0.3)),
        "main": None, "misfit": 1.0, "alternatives": (), "lay": None, "bark": None, "strip": None,
        "measurements": (measure.Measurement("turn", 0.3),), "effective_draws": 80.0,
    }  # fmt: skip
    looks = Looks(flattened=more.pop("flattened", None))
    found: Any = SimpleNamespace(**(told | more))
    weighed: Any = SimpleNamespace(power=power)
    notes = diagnose._notes(found, replace(PLAIN, looks=looks), seen, weighed)
    return {one.code: one.figures for one in notes}


def test_notes_of_a_diagnosis_from_either_side() -> None:
    plain = noted()
    assert set(plain) == {"cannot-tell", "causes-beforehand", "cup-uncertain"}
    assert plain["cannot-tell"] == {
        "first": "rings", "second": "wet_core", "chance": 0.6, "other": 0.3, "measuring": "turn",
    }  # fmt: skip
    for removed, measuring in ((0.101, "turn"), (0.1, None)):
        told = noted(measurements=(measure.Measurement("turn", removed),))
        assert told["cannot-tell"]["measuring"] == measuring
    assert noted(measurements=())["cannot-tell"]["measuring"] is None
    # From 0.95 of where shrinkage starts a width tells little.
    assert "green-before" in noted(before=Figure(28.6))
    assert "green-before" not in noted(before=Figure(28.5))
    assert "no-cup" in noted(seen=-4.9e-4)
    assert "no-cup" not in noted(seen=-5e-4)
    assert "cannot-tell" not in noted(main="rings")
    assert "cannot-tell" not in noted(misfit=2.01)
    sprung = (Chance("springback", 0.9), Chance("rings", 0.05))
    assert "nothing-told-bends-it-so" in noted(chances=sprung)
    assert "nothing-told-bends-it-so" not in noted(chances=sprung, flattened=0.01)
    for misfit, code in ((1.1, None), (1.11, "errors-widened"), (2.0, "errors-widened"),
                         (2.01, "does-not-fit")):  # fmt: skip
        given = {"errors-widened", "does-not-fit"} & set(noted(misfit=misfit))
        assert given == (set() if code is None else {code})
    assert "few-draws" in noted(power=0.99)
    assert "few-draws" not in noted(power=1.0)


def test_measurements_worth_naming_remove_a_tenth_of_the_doubt() -> None:
    few = SimpleNamespace(measurements=(
        measure.Measurement("turn", 0.3), measure.Measurement("wait", 0.1),
        measure.Measurement("weigh", 0.099),
    ))  # fmt: skip
    telling: Any = diagnose.Diagnosis.telling
    assert [one.measuring for one in telling.fget(few)] == ["turn", "wait"]


def test_the_cup_is_the_one_seen_last_today() -> None:
    seen = (Sighting("cup", 0.001, 5e-4), Sighting("cup", 0.002, 5e-4),
            Sighting("cup", 0.009, 5e-4, day=3.0), Sighting("width", 0.79, 5e-4))  # fmt: skip
    assert diagnose._cup_seen(replace(PLAIN, sightings=seen), 0.005) == 0.002
    assert diagnose._cup_seen(replace(PLAIN, sightings=seen[2:]), 0.005) == 0.005


def test_what_would_have_to_be_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = (Sighting("cup", 0.004, 5e-4), Sighting("width", 0.79, 5e-4))
    told = replace(PLAIN, sightings=seen)

    def without(stories_: list[Story], _seed: int) -> float:
        kinds = {one.what for one in stories_[0].case.history.sightings}
        if len(kinds) == 2:
            return 1.5
        return 0.7 if kinds == {"cup"} else 1.51

    monkeypatch.setattr(posterior, "misfit", without)

    def otherwise(misfit: float, history_: History = told, *, unasked: bool = False) -> list[str]:
        weighed: Any = SimpleNamespace(misfit=misfit)
        made = diagnose._alternatives(history_, weighed, 1, unasked=unasked)
        return [one.otherwise for one in made]

    assert otherwise(2.0) == []
    assert otherwise(2.01) == ["width_wrong", "bark_other_way"]
    assert otherwise(2.0, unasked=True) == ["bark_other_way"]
    untold = replace(told, slab=replace(SLAB, bark_known=False))
    assert otherwise(2.01, untold) == ["width_wrong"]
    # The last figure is not left out.
    assert otherwise(2.01, replace(untold, sightings=seen[:1])) == []


# Measurements.


def test_a_reading_removes_the_doubt_it_explains() -> None:
    draws = np.random.default_rng(3)
    x, noise = draws.standard_normal(4000), draws.standard_normal(4000)
    removed = measure._removed
    assert removed(x, 3.0 * x + 1.0) == pytest.approx(1.0)
    assert removed(x, x**2) == pytest.approx(1.0)
    assert removed(x, noise) == pytest.approx(0.0, abs=0.005)
    # Half of the variance.
    assert removed(x, x + noise) == pytest.approx(0.5, abs=0.03)
    assert removed(np.ones(20), x[:20]) == removed(x[:20], np.ones(20)) == 0.0
    # Of few draws a reading of mere noise removes nothing on the mean.
    chance = [
        1.0 - np.var(b - np.polyval(np.polyfit(a, b, 2), a)) / np.var(b) * 9.0 / 7.0
        for a, b in draws.standard_normal((200, 2, 10))
    ]
    assert np.mean(chance) == pytest.approx(0.0, abs=0.05)
    a, b = draws.standard_normal((2, 10))
    share = np.var(b - np.polyval(np.polyfit(a, b, 2), a)) / np.var(b)
    assert removed(a, b) == pytest.approx(max(0.0, 1.0 - share * 9.0 / 7.0))


def test_measurements_are_told_best_first_and_of_eight_draws_or_more() -> None:
    x = np.linspace(-1.0, 1.0, 8)
    # A wave that no parabola follows.
    poor = np.array([1.0, -1.0] * 4)
    made = measure.measurements({"turn": poor, "wait": x}, x)
    assert [one.measuring for one in made] == ["wait", "turn"]
    assert measure.measurements({"wait": x[:7]}, x[:7]) == ()


def test_every_reading_has_the_error_of_reading_it() -> None:
    # Draws that are all alike: what is spread is the reading itself.
    count = ROWS.shape[0]
    even = np.ones((4, count))
    days = np.array([0.0, 3.0, 14.0, 30.0])
    run = follows(
        days=days, cup=np.array([[0.0], [1e-3], [2e-3], [3e-3]]) * even,
        mean=np.array([[10.0], [9.5], [9.0], [8.0]]) * even, moisture=np.full((count, 11), 12.0),
    )  # fmt: skip
    strip = Strip(2.0, 0.025, 0.016)
    slab = replace(SLAB, ring_angle=None, pith_below=0.1)
    case = of("rings", replace(PLAIN, slab=slab, strip=strip))[0].case
    made = measure.read_by_draws(case, ROWS, run, run, run, 4)
    wanted = {
        "pin_core": (4.0, 0.7), "wait": (2e-3, 5e-4), "turn": (1e-3, 5e-4), "weigh": (-1.0, 0.1),
        "warm_face": (0.0, 1.0),
    }  # fmt: skip
    for what, (middle, error) in wanted.items():
        values = made[what]  # type: ignore[index]
        assert np.mean(values) == pytest.approx(middle, abs=0.06 * error)
        assert np.std(values) == pytest.approx(error, rel=0.05)
    # What is told already is not asked again.
    assert not {"rings", "strip", "when"} & set(made)
    seen = replace(PLAIN, slab=slab, sightings=(Sighting("end_grain", 7.0, 1.0),))
    untold = measure.read_by_draws(of("rings", seen)[0].case, ROWS, run, run, run, 4)
    assert "strip" in untold
    assert "end_grain" in made
    assert "end_grain" not in untold


def test_a_sighting_lies_in_the_history_from_its_first_day_to_its_last() -> None:
    for day in (0.0, 0.5, 200.0):
        history.check(replace(PLAIN, sightings=(Sighting("cup", 0.001, 5e-4, day=day),)))
    for day in (-0.1, 200.1):
        with pytest.raises(ValueError, match="within the history"):
            history.check(replace(PLAIN, sightings=(Sighting("cup", 0.001, 5e-4, day=day),)))


def test_when_it_came_is_asked_where_it_was_planed_and_nobody_looked_then() -> None:
    run = follows(days=np.array([0.0, 10.0, 11.0, 30.0]), cup=np.arange(8.0).reshape(4, 2))
    stays = (replace(STAY, days=10.0), replace(STAY, days=20.0, dress_top=0.001))

    def asked(sightings: tuple[Sighting, ...], stays: tuple[Stay, ...] = stays) -> Any:
        case: Any = SimpleNamespace(stays=stays, history=replace(PLAIN, sightings=sightings))
        return measure._when_it_came(case, run, iter([np.array([1.0, -1.0])]))

    # A day after planing, remembered to a millimetre.
    assert asked(())["when"] == pytest.approx([4.001, 4.999])
    for day, known in ((9.9, False), (10.0, True), (17.0, True), (17.1, False)):
        assert (asked((Sighting("cup", 0.0, 1e-3, day=day),)) == {}) is known
    assert asked((Sighting("width", 0.8, 1e-3, day=12.0),)) != {}
    assert asked((), (STAY,)) == {}
    assert history.planed_on(stays) == 10.0
    assert history.planed_on((STAY,)) is None


def test_how_much_warmer_the_top_is() -> None:
    def case(top: float | None, bottom: float | None) -> Any:
        faces = Faces(*(
            BARE if by is None else replace(BARE, warmth=LocalWarmth(by=by))
            for by in (top, bottom)
        ))  # fmt: skip
        return SimpleNamespace(stays=(STAY, replace(STAY, faces=faces)))

    for top, bottom, warmer in ((5.0, None, 5.0), (None, 10.0, -10.0), (3.0, 1.0, 2.0)):
        assert measure._warmer(case(top, bottom)) == warmer


# What is to come.


def test_an_option_is_the_middle_of_all_draws() -> None:
    days = np.array([0.0, 3.0, 30.0, to_come.AHEAD])
    cup = np.array([[0.0, 1.0, 2.0], [5.0, -7.0, 2.0], [4.0, 4.5, 3.0], [1.0, 2.0, 3.0]])
    run = follows(days=days, cup=cup, width=cup * 0.1, mean=cup + 8.0)
    made = to_come.option("left", [run, run])
    assert made.cup_after_month == Figure(4.0, 3.0, 4.5)
    assert made.cup_after_year == Figure(2.0, 1.0, 3.0)
    assert made.largest_cup == Figure(3.0, -7.0, 5.0)
    assert made.width_change.value == pytest.approx(0.1)
    assert made.moisture.value == 10.0
    assert (made.course[0], made.course[-1]) == (1.0, 2.0)
    assert to_come.option("left", [run], band=False).moisture == Figure(10.0)
    assert to_come.AHEAD_DAYS[1] == 7.0
    assert np.all(np.diff(to_come.AHEAD_DAYS) > 0.0)
    assert to_come.AHEAD_DAYS[-1] == to_come.AHEAD


def test_what_waits_a_year_is_held_by_nothing_and_as_it_lay() -> None:
    last = replace(
        STAY, hold=section.FLAT, dress_top=0.001, dress_bottom=0.002, machined_flat=True,
        wet_face="top", wet_hours=3.0, faces=Faces(BARE, FILM),
    )  # fmt: skip
    case: Any = SimpleNamespace(stays=(last,), history=replace(PLAIN, stays=(STAY,)))
    made = to_come._waiting(case, None)
    assert made.days == to_come.AHEAD
    assert made.hold is section.FREE
    assert (made.dress_top, made.dress_bottom, made.machined_flat) == (0.0, 0.0, False)
    assert (made.wet_face, made.wet_hours) == (None, 0.0)
    assert made.faces == Faces(BARE, FILM)
    assert made.air is AIR
    # In another room its faces are as they were told.
    moved = to_come._waiting(case, constant(20.0, 60.0))
    assert moved.faces == Faces(BARE, BARE)
    assert float(moved.air.relative_humidity[0]) == 60.0
    # After a log its last reading goes on.
    log = Air(np.arange(3.0), np.array([18.0, 19.0, 20.0]), np.array([40.0, 45.0, 50.0]))
    logged: Any = SimpleNamespace(
        stays=(replace(last, air=log),), history=replace(PLAIN, stays=(STAY,))
    )
    after = to_come._waiting(logged, None)
    assert (after.air.temperature.tolist(), after.air.relative_humidity.tolist()) == (
        [20.0],
        [50.0],
    )
    assert after.faces == Faces(BARE, BARE)


# What else was seen.


def test_a_look_counts_for_its_own_causes_and_looks_multiply() -> None:
    both = Looks(torn="outer", check="fixing", key_split=True)
    assert clues.factor(both, "fixed_solid") == pytest.approx(4.0 * 5.0 * 1.5)
    assert clues.factor(both, "two_airs") == 1.0
    assert clues.factor(Looks(check="none"), "wet_core") == 0.8
    assert clues.lock(Strip(2.0, 0.025, 0.020), WOOD).is_large
    assert not clues.lock(Strip(2.0, 0.025, 0.0199), WOOD).is_large
    assert clues.lock(Strip(2.0, 0.025, -0.020), WOOD).is_large


# Sightings.


def test_a_sheared_key_bore_the_strength_along_the_grain_of_its_wings() -> None:
    walnut = species.find("black walnut")
    key = keys.Key(0.12, 0.03, 0.06, 0.02, walnut)
    made = clues.key_force(key, WOOD)
    assert walnut.shear_along is not None
    assert made.value == pytest.approx(2.0 * 0.06 * 0.02 * walnut.shear_along)
    assert (made.low, made.high) == pytest.approx(
        ((1.0 - 0.17942) * made.value, (1.0 + 0.17942) * made.value), rel=1e-4
    )


def test_sightings_of_what_makers_measure() -> None:
    whole = history.width_seen(SLAB, 0.79)
    assert (whole.value, whole.error, whole.day) == (0.79, 5e-4, None)
    # The same half millimetre on a quarter of the width counts four times.
    assert history.width_seen(SLAB, 0.79, stretch=0.2).error == pytest.approx(2e-3)
    # 0.8 % of the meter and 1 % about the room.
    end = history.end_grain_seen(7.0)
    assert (end.value, end.error) == pytest.approx((7.0, np.hypot(0.8, 1.0)))
    assert history.end_grain_seen(0.0).value == 0.1
    layers = history.moistures_seen(Depths((0.01, 0.02), (8.0, 0.0)), 0.05)
    assert [(one.depth, one.value, one.error) for one in layers] == [
        (0.01, 8.0, 0.8), (0.02, 0.1, 0.8),
    ]  # fmt: skip
    assert history.moistures_seen(9.0, 0.05)[0].depth is None
    assert history.wettest(Depths((0.01, 0.02), (8.0, 9.0))) == 9.0
    assert history.wettest(ShellCore(12.0, 9.0)) == 12.0
    assert history.wettest(9.5) == 9.5


def test_moisture_now_is_the_mean_told_or_that_of_its_depths() -> None:
    deep = (Sighting("moisture", 8.0, 0.6, depth=0.01), Sighting("moisture", 10.0, 0.8, depth=0.02))
    assert formula.moisture_now(deep) == pytest.approx((9.0, np.sqrt(0.5)))
    told = (*deep, Sighting("moisture", 12.0, 0.5), Sighting("moisture", 20.0, 0.5, day=3.0))
    assert formula.moisture_now(told) == (12.0, 0.5)
    # Along the width of a quarter-sawn slab the radial shrinkage: 4.6 %.
    quarter = replace(SLAB, ring_angle=90.0)
    made = formula.by_formula(quarter, 0.98, 8.0, 0.5, spread.draw(0)).value
    assert made == pytest.approx(float(formula.moisture_before(0.98, 8.0, 4.6, 30.0)))
    drawn = formula.by_formula(SLAB, 0.98, 8.0, 3.0, spread.draw(64))
    narrow = formula.by_formula(SLAB, 0.98, 8.0, 0.01, spread.draw(64))
    assert drawn.high is not None
    assert drawn.low is not None
    assert narrow.high is not None
    assert narrow.low is not None
    # 3 % of a reading beside the 15 % of shrinkage: some 2.56 x 3 more or less.
    assert drawn.high - drawn.low == pytest.approx(
        np.hypot(2.563 * 3.0, narrow.high - narrow.low), rel=0.15
    )
