"""Readiness piece by piece: priors by their deciles, errors of readings, slips, water, verdicts."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from model import fitting
from model.answers.readiness import fit, ready, seen
from model.answers.readiness.fit import Problem
from model.answers.readiness.seen import UNTOLD, Case, Observation, Target, of_weight
from model.behaviour import edges, transport
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.properties.meters import Corrected
from model.spread import TO_DECILE, Figure
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from model.surroundings.room import constant

ELM = Slab(species.find("American elm"), 0.6, 0.05, 2.4, ring_angle=0.0)
SHOP = constant(20.0, 40.0)  # holds 7.7 %
OPEN = Faces(Face(0.0), Face(0.0))
CASE = Case(ELM, OPEN, SHOP.air, 3.0)


def read(*pairs: tuple[float, float], error: float = 0.5, **more: Any) -> list[Observation]:
    return [Observation(day, value, error, **more) for day, value in pairs]


def problem(case: Case = CASE, readings: list[Observation] | None = None) -> Problem:
    return fit._problem(case, read((0.0, 12.0)) if readings is None else readings)


def theta(made: Problem, **columns: float) -> Any:
    row = np.zeros((1, len(made.names)))
    for name, value in columns.items():
        row[0, made.names.index(name)] = value
    return row


# What nobody told.


def test_a_face_nobody_told_is_open_mostly_above_and_shut_in_two_of_five_below() -> None:
    shares = np.array([0.0, 0.75, 0.9, 1.0])
    assert seen.untold_resistance(shares, False) == pytest.approx([0.005, 0.05, 1.0, 10.0])
    # Even in its logarithm between.
    assert seen.untold_resistance(np.array([0.95]), False) == pytest.approx([np.sqrt(10.0)])
    below = seen.untold_resistance((np.arange(1000) + 0.5) / 1000, True)
    assert np.mean(below > 10.0) == pytest.approx(0.44, abs=0.01)
    assert np.mean(below < 0.05) == pytest.approx(0.35, abs=0.01)


def test_parameters_are_what_was_not_told() -> None:
    always = ("rate", "start", "shape", "tilt", "sorption", "humidity")
    assert problem().names == always
    weight = [of_weight(0.0, 40.0, 0.0)]
    assert problem(readings=weight).names == (*always, "mass")
    assert problem(replace(CASE, dry_mass=38.0), weight).names == always
    film = Faces(Face(0.06), Face(0.0))
    assert problem(replace(CASE, faces=film)).names == (*always, "finish")
    assert problem(replace(CASE, faces=Faces(Face(0.05), Face(0.05)))).names == always
    lid = replace(CASE, faces=Faces(UNTOLD, Face(0.0)), untold=(True, False))
    assert problem(lid).names == (*always, "lid")
    bench = replace(CASE, faces=Faces(Face(1.0), UNTOLD), untold=(False, True))
    assert problem(bench).names == (*always, "bench", "finish")
    pins = read((0.0, 12.0), depth_from=0.0, depth_to=0.0, depth_told=False)
    assert problem(readings=pins).names == (*always, "depth")


def test_priors_have_the_deciles_of_what_they_stand_for() -> None:
    film = replace(CASE, faces=Faces(Face(1.0), Face(1.0)))
    made = problem(film)
    wood = ELM.species
    for way in (-1.0, 0.0, 1.0):
        at = theta(made, rate=way * TO_DECILE, sorption=way, humidity=way, finish=way * TO_DECILE)
        factor = made.wood(at).transport_factor[0] / wood.transport_factor
        assert factor == pytest.approx(wood.transport_spread**way)
        assert made.wood(at).sorption[0] == pytest.approx(1.0 + 0.08 * way)
        assert made.offset(at)[0] == pytest.approx(3.0 * way)
        # 0.7, 1 and 3 times, even in the logarithm: a tenth is eight tenths of the way out.
        finish = {-1.0: 0.7**0.8, 0.0: 1.0, 1.0: 3.0**0.8}[way]
        assert made.finish(at)[:, 0] == pytest.approx([finish, finish])
    assert made.wood(theta(made, sorption=-20.0)).sorption[0] == 0.5
    pins = problem(readings=read((0.0, 12.0), depth_from=0.0, depth_to=0.0, depth_told=False))
    depth = [float(pins.pin_depth(theta(pins, depth=at))[0]) for at in (-9.0, 0.0, 9.0)]
    # From a twentieth to half of 50 mm, even in its logarithm.
    assert depth == pytest.approx([0.0025, 0.05 * np.sqrt(0.025), 0.025])


def test_an_untold_face_is_drawn_by_its_own_share() -> None:
    both = replace(CASE, faces=Faces(UNTOLD, UNTOLD), untold=(True, True))
    made = problem(both)
    drawn = made.finish(theta(made, lid=0.6745, bench=-0.3853))[:, 0]
    # 75 and 35 % of a normal.
    assert drawn == pytest.approx([0.05, 0.05], rel=1e-3)


# The profile at the first reading.


def test_it_begins_as_a_parabola_about_what_was_read() -> None:
    made = problem()
    assert made.start_moisture == 12.0
    # 20 degC and 40 %: 7.7 % (Wood Handbook FPL-GTR-190 Table 4-2, printed for 70 degF).
    assert made.air_moisture == pytest.approx(7.7, abs=0.1)
    usual = made.start(theta(made))[0]
    assert made.mesh.mean(usual) == pytest.approx(12.0, abs=0.02)
    away = 12.0 - made.air_moisture
    # Seven tenths of the way from even to faces at the air.
    assert usual[0] == usual[-1] == pytest.approx(12.0 - 0.7 * away)
    assert usual[usual.size // 2] == pytest.approx(12.0 + 0.35 * away)
    more = made.start(theta(made, shape=1.0))[0]
    assert usual[0] - more[0] == pytest.approx(0.4 * away)
    wetter = made.start(theta(made, start=1.0))[0]
    assert made.mesh.mean(wetter) == pytest.approx(12.0 * np.exp(0.5), abs=0.05)
    tilted = made.start(theta(made, tilt=1.0))[0] - usual
    assert tilted[-1] == -tilted[0] == pytest.approx(0.1 * away + 0.3)
    assert np.all(made.start(theta(made, tilt=-50.0)) >= 0.1)


def test_unlike_and_untold_faces_may_tilt_it_more() -> None:
    for case in (
        replace(CASE, faces=Faces(Face(0.02), Face(0.0))),
        replace(CASE, untold=(True, False), faces=Faces(UNTOLD, UNTOLD)),
    ):
        made = problem(case)
        tilted = made.start(theta(made, tilt=1.0))[0] - made.start(theta(made))[0]
        assert tilted[-1] == pytest.approx(0.4 * (12.0 - made.air_moisture) + 0.3)


def test_a_shut_face_is_the_top_of_its_parabola() -> None:
    shut = problem(replace(CASE, faces=Faces(Face(0.0), Face(1e6))))
    assert shut.closedness(theta(shut))[0] == pytest.approx(1.0, abs=1e-4)
    # Wholly developed it is at the air at the open face and half as far again above the mean at the
    # shut one: a tilt of 3/4 and a bow of 1/4, of which the usual has 0.7 (derived).
    whole = shut.start(theta(shut, shape=(0.25 - 0.7 * 0.25) / 0.4))[0]
    away = 12.0 - shut.air_moisture
    assert whole[0] == pytest.approx(12.0 - away, abs=0.01)
    assert whole[-1] == pytest.approx(12.0 + 0.5 * away, abs=0.01)
    # Its slope ends at the shut face: the last node is the wettest.
    assert int(whole.argmax()) == whole.size - 1
    mirrored = problem(replace(CASE, faces=Faces(Face(1e6), Face(0.0))))
    assert mirrored.closedness(theta(mirrored))[0] == pytest.approx(-1.0, abs=1e-4)
    # Half of 50 mm of wood resists as 3 m of still air: a film of 3 m on one face is half shut.
    half = problem(replace(CASE, faces=Faces(Face(0.0), Face(3.0))))
    assert half.closedness(theta(half))[0] == pytest.approx(0.5)


# What a reading looked at.


def test_a_span_s_mean_and_a_point_of_a_known_profile() -> None:
    mesh = problem().mesh
    line = 6.0 + 200.0 * mesh.depth
    for first, last in ((0.0, 0.02), (0.013, 0.013), (0.0, 0.05), (0.03, 0.05)):
        looked = Observation(0.0, 9.0, 0.5, depth_from=first, depth_to=last)
        assert fit._weights(looked, mesh) @ line == pytest.approx(6.0 + 100.0 * (first + last))
    assert fit._weights(Observation(0.0, 9.0, 0.5), mesh) @ line == pytest.approx(11.0)
    # At a face it is the face's own layer, and near it the two that it lies between.
    for face in (0.0, 0.05):
        at_face = fit._at(mesh, np.array([face]))
        assert at_face[0 if face == 0.0 else -1] == pytest.approx(1.0)
        assert np.count_nonzero(np.abs(at_face) > 1e-9) == 1
    near = fit._at(mesh, np.array([0.5 * (mesh.depth[-1] + mesh.depth[-2])]))
    assert near[-2:] == pytest.approx([0.5, 0.5])
    # A parabola's mean over a span, straight between the nodes: 3 %.
    bent = (mesh.depth - 0.01) ** 2 / 1e-4
    looked = Observation(0.0, 9.0, 0.5, depth_from=0.0, depth_to=0.02)
    assert fit._weights(looked, mesh) @ bent == pytest.approx(1.0 / 3.0, rel=0.03)


def test_pins_nobody_told_of_go_in_from_the_face_they_were_read_on() -> None:
    made = problem(readings=read((0.0, 12.0), depth_from=0.0, depth_to=0.0, depth_told=False))
    at = theta(made)
    depth = float(made.pin_depth(at)[0])
    for face, wanted in ((0.0, depth), (0.05, 0.05 - depth)):
        one = Observation(0.0, 12.0, 0.5, depth_from=face, depth_to=face, depth_told=False)
        assert made.at_depth(at, one)[0] @ made.mesh.depth == pytest.approx(wanted)


def test_weights_are_of_the_oven_dry_mass() -> None:
    told = problem(replace(CASE, dry_mass=30.0), [of_weight(0.0, 33.0, 0.0)])
    assert told.dry_mass(np.zeros((2, 6))).tolist() == [30.0, 30.0]
    # With the moisture of 15 % that weights alone begin at.
    open_ = problem(readings=[of_weight(0.0, 43.0, 0.0)])
    assert open_.start_moisture == 15.0
    usual = float(open_.dry_mass(theta(open_))[0])
    weight = ELM.weight(15.0)
    assert weight is not None
    assert usual == pytest.approx(weight / 1.15)
    heavier = float(open_.dry_mass(theta(open_, mass=1.0))[0])
    assert np.log(heavier / usual) == pytest.approx(0.1)  # 10 % of density within a species
    seen_ = told.predict(theta(told))[0]
    assert seen_[0] == pytest.approx(30.0 * 1.15, rel=0.01)


def test_where_it_begins_is_the_first_day_s_mean_or_the_first_moisture() -> None:
    days = read((0.0, 12.0), (0.0, 14.0), (5.0, 9.0))
    assert problem(readings=days).start_moisture == 13.0
    later = [of_weight(0.0, 43.0, 0.0), *read((5.0, 9.0), (6.0, 8.0))]
    assert problem(readings=later).start_moisture == 9.0


def test_the_air_of_ten_days_sets_the_profile_and_not_a_gust() -> None:
    gust = Air(np.array([0.0, 0.9, 1.0, 100.0]), np.full(4, 20.0), np.array([90.0, 90.0, 40.0, 40]))
    made = problem(replace(CASE, air=gust), read((0.0, 12.0), (50.0, 9.0)))
    # One of eleven days at 90 %: 44.5 % hold 8.4 %.
    assert made.air_moisture == pytest.approx(8.4, abs=0.15)
    short = problem(replace(CASE, air=gust), read((0.0, 12.0), (0.5, 9.0)))
    assert short.air_moisture > 18.0


# Errors.


def test_a_bias_is_shared_by_its_instrument_and_goes_with_the_reading() -> None:
    pins = [Observation(0.0, 12.0, 0.3, 0.6, group="pin"), Observation(1.0, 8.0, 0.4, 0.6,
            group="pin"), Observation(1.0, 9.0, 0.2, 0.5, group="other")]  # fmt: skip
    plain = fit._covariance(pins)
    assert np.diag(plain) == pytest.approx([0.09 + 0.36, 0.16 + 0.36, 0.04 + 0.25])
    assert plain[0, 1] == plain[1, 0] == pytest.approx(0.36)
    assert plain[0, 2] == plain[1, 2] == 0.0
    # Peelle's puzzle: by what is expected, 12 of 10 and 8 of 10 of 0.6.
    going = fit._covariance(pins, np.array([12.0, 8.0, 9.0]))
    assert going[0, 1] == pytest.approx(0.72 * 0.48)
    assert going[0, 0] == pytest.approx(0.09 + 0.72**2)
    assert going[2, 2] == pytest.approx(0.29)
    wide = fit._covariance(pins, widened=2.0)
    assert wide[0, 0] == pytest.approx(0.36 + 0.36)
    # A piece dried beside them calibrates the meter, whatever is usual: 2 % of bias.
    dried = [*pins, Observation(1.0, 10.0, 0.1, 0.0, group="oven_dry")]
    beside = fit._covariance(dried)
    assert beside[0, 1] == pytest.approx(4.0)
    assert beside[2, 2] == pytest.approx(0.29)
    assert beside[3, 3] == pytest.approx(0.01)


def test_a_scale_errs_by_its_step_or_a_thousandth() -> None:
    assert of_weight(0.0, 40.0, 0.5).scatter == pytest.approx(0.5 / np.sqrt(12.0))
    assert of_weight(0.0, 40.0, 0.1).scatter == pytest.approx(0.04)
    assert of_weight(0.0, 40.0, 0.0).kind == "weight"


def test_a_meter_s_reading_keeps_its_depth_its_errors_and_its_instrument() -> None:
    one = Corrected(9.0, 0.5, 0.7, "surface", "top", "within", 0.0, 0.02, (), False)
    made = seen.of_reading(3.0, one)
    assert made == Observation(3.0, 9.0, 0.5, 0.7, "moisture", 0.0, 0.02, "surface", False)
    assert seen.of_reading(3.0, replace(one, moisture=None)) is None


def test_errors_widen_where_chance_makes_such_misses_once_in_twenty() -> None:
    # chi-square of 10 at 95 %: 18.307 (printed in every table).
    assert fit._widening(18.3, 10) == 1.0
    assert fit._widening(18.4, 10) == pytest.approx(np.sqrt(1.84))
    assert fit._widening(3.84, 1) == 1.0
    assert fit._widening(3.85, 1) == pytest.approx(np.sqrt(3.85))


@pytest.mark.parametrize(("rise", "wet"), [(2.11, False), (2.13, True)])
def test_a_rise_of_three_deviations_over_what_the_air_explains_is_water(
    rise: float, wet: bool
) -> None:
    # Two readings of 0.5 %: the rise errs by 0.707, three times that is 2.12.
    readings = read((0.0, 12.0), (10.0, 12.0 + rise))
    assert fit._rewetted(readings, np.array([12.0, 12.0])) == (1 if wet else None)
    # What the model has rise itself is explained; what it has fall is not counted against it.
    lifted = read((0.0, 12.0), (10.0, 13.0 + rise))
    assert fit._rewetted(lifted, np.array([11.0, 12.0])) == (1 if wet else None)
    assert fit._rewetted(readings, np.array([12.0, 10.0])) == (1 if wet else None)


def test_readings_that_go_up_and_down_are_measured_by_their_own_scatter() -> None:
    # Rises of 1, 4 and 1: in deviations 1.41, 5.66 and 1.41; 4 over 1.4826 x 1.41 is 2.7.
    values = (12.0, 13.0, 9.0, 13.0, 9.0, 10.0)
    up_down = read(*((10.0 * day, value) for day, value in enumerate(values)))
    assert fit._rewetted(up_down, np.full(6, 10.0)) is None
    calm = read(*((10.0 * day, value) for day, value in enumerate((12.0, 12.1, 9, 13.0, 9, 9.1))))
    assert fit._rewetted(calm, np.full(6, 10.0)) == 3


def test_only_readings_of_one_depth_and_kind_are_compared() -> None:
    deep = Observation(10.0, 20.0, 0.5, depth_from=0.025, depth_to=0.025)
    assert fit._steps([*read((0.0, 12.0)), deep], np.zeros(2)) == []
    mixed = [*read((0.0, 12.0)), of_weight(0.0, 40.0, 0.5), *read((10.0, 13.0)),
             of_weight(10.0, 42.0, 0.5)]  # fmt: skip
    found = fit._steps(mixed, np.zeros(4))
    scale = np.sqrt(2.0) * 0.5 / np.sqrt(12.0)
    assert [first for first, _ in found] == [2, 3]
    assert [apart for _, apart in found] == pytest.approx([1.0 / np.sqrt(0.5), 2.0 / scale])
    # Two readings a day: the mean of four pairs.
    pairs = read((0.0, 12.0), (0.0, 12.0), (10.0, 14.0), (10.0, 14.0))
    ((first, apart),) = fit._steps(pairs, np.zeros(4))
    assert first == 2
    assert apart == pytest.approx(2.0 / (np.sqrt(4 * 0.5) / 4))


@pytest.mark.parametrize(
    ("values", "used", "contradicting"),
    [
        # A fifth of them is left out at most, and one of five to nine; of three none.
        ((10, 10, 10, 10, 16, 15), (0, 1, 2, 3, 5), (4, 5)),
        ((10, 10, 10, 10, 16, 10), (0, 1, 2, 3, 5), (4,)),
        ((10, 10, 10, 10, 13.4, 10), (0, 1, 2, 3, 4, 5), ()),
        ((10, 10, 6.4), (0, 1, 2), (2,)),
        ((10, 10, 10, 10, 10, 10, 10, 10, 16, 15), (0, 1, 2, 3, 4, 5, 6, 7), (8, 9)),
    ],
)
def test_strays_are_left_out_one_by_one(
    values: tuple[float, ...],
    used: tuple[int, ...],
    contradicting: tuple[int, ...],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Each stands as far off as it is from 10, in deviations; 3.5 contradict the others (judgement).
    def best(data: Any, start: Any = None) -> Any:
        return SimpleNamespace(predicted=data.values, theta=np.zeros(6), cost=0.0)

    monkeypatch.setattr(fitting, "fit", best)
    monkeypatch.setattr(fitting, "apart", lambda data, _: data.values - 10.0)
    made = fit._without_strays(CASE, read(*((float(i), float(v)) for i, v in enumerate(values))))
    assert (made.used, made.contradicting) == (used, contradicting)
    assert made.rewetted is None


@pytest.mark.parametrize(("over", "water"), [(0.70, False), (0.72, True), (-0.72, False)])
def test_what_follows_a_rise_must_stay_two_deviations_up(
    over: float, water: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Two readings of 0.5 % after the rise: their mean errs by 0.354, the fit before by nothing.
    readings = read((0.0, 10.0), (1.0, 10.0), (2.0, 15.0), (3.0, 8.0 + over), (4.0, 8.0 + over))
    begun = SimpleNamespace(theta=np.zeros(6), covariance=np.zeros((6, 6)))
    monkeypatch.setattr(fitting, "fit", lambda *_: begun)
    monkeypatch.setattr(fitting, "linearised", lambda *_: (np.full(5, 8.0), np.ones((5, 6))))
    assert fit._stays_up(CASE, readings, 2, (0, 1, 3, 4)) is water
    # Of what the fit before leaves open as well: 6 x 0.1 as far again.
    begun.covariance = 0.01 * np.eye(6)
    assert fit._stays_up(CASE, readings, 2, (0, 1, 3, 4)) is False
    # One reading tells no course, and nothing after it says nothing.
    assert not fit._stays_up(CASE, readings, 1, (0, 2, 3, 4))
    assert not fit._stays_up(CASE, readings, 4, (0, 1, 2, 3))


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([], "at least one"),
        (read((0.0, 0.0)), "above 0"),
        (read((0.0, 9.0), error=0.0), "above 0"),
        (read((0.0, float("inf"))), "above 0"),
        (read((1.0, 9.0), (0.0, 9.0)), "order"),
    ],
)
def test_readings_that_cannot_be_are_refused(readings: list[Observation], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        fit.check(readings)
    fit.check(read((0.0, 1e-3), (0.0, 9.0), error=1e-3))


# Targets.


def test_a_room_s_own_target_goes_with_the_wood_and_with_the_house() -> None:
    made = problem()
    rows = np.concatenate([theta(made), theta(made, sorption=1.0), theta(made, humidity=2.0)])
    plain = ready._targets(made, rows, Target(9.0), 1)
    assert plain.tolist() == [9.0, 9.0, 9.0]
    here = Target(9.0, 1.0, True, True, 0.16, 5.0)
    assert ready._targets(made, rows, here, 1) == pytest.approx([9.0, 9.0 * 1.08, 9.0 + 1.6])
    there = ready._targets(made, np.zeros((4001, 6)), replace(here, stands_there=False), 1)
    # Another house is drawn apart, the central one as told.
    assert there[0] == 9.0
    assert np.std(there) == pytest.approx(0.8, rel=0.05)
    assert np.mean(there) == pytest.approx(9.0, abs=0.05)


def test_it_stands_there_where_the_air_is_the_same() -> None:
    def target(stands: Any) -> Target:
        return seen.target_room(SHOP, 1.0, ELM, OPEN, 0.0, stands)

    assert target(SHOP).stands_there
    assert target(constant(20.0, 40.0)).stands_there
    assert not target(None).stands_there
    for other in (constant(21.0, 40.0), constant(20.0, 41.0)):
        assert not target(other).stands_there
    assert not target(replace(SHOP, air=replace(SHOP.air, period=10.0))).stands_there
    made = target(None)
    assert made.is_room
    # 10 points about 40 % are 1.6 % M (Table 4-2, printed).
    assert made.per_humidity == pytest.approx(0.16, abs=0.01)


# What is withheld and said.


def checked(**more: Any) -> Any:
    told = {"problem": problem(), "used": (0, 1), "contradicting": ()} | more
    return SimpleNamespace(**told)


def test_why_no_verdict_is_said() -> None:
    def why(made: Any, case: Case = CASE) -> list[str]:
        return [one.code for one in ready._withheld(made, case)]

    assert why(checked()) == []
    assert why(checked(used=(0,))) == ["one-reading"]
    # A stray that was left out stands against nothing.
    assert why(checked(contradicting=(2,))) == []
    assert why(checked(contradicting=(1,))) == ["readings-apart"]
    scale = problem(readings=[of_weight(0.0, 43.0, 0.0)])
    assert why(checked(problem=scale)) == ["weights-alone"]
    assert why(checked(problem=scale), replace(CASE, dry_mass=38.0)) == []
    both = problem(readings=[of_weight(0.0, 43.0, 0.0), *read((0.0, 12.0))])
    assert why(checked(problem=both)) == []


def found(**more: Any) -> Any:
    """An answer as far as its notes read it."""
    told: dict[str, Any] = {
        "verdict": "probably", "chance_near": 0.99, "chance_even": 0.99, "chance_soon": 0.9,
        "rate_learned": 0.5, "rate_factor": 1.4, "used": (0, 1), "ready_in": Figure(20.0),
        "flags": ready.Flags((), False, None, False), "against_species": 1.2, "as_of": 30.0,
        "settles_here": Figure(8.0), "humidity_needed": 42.0,
        "present": SimpleNamespace(mean=Figure(9.0)),
    }  # fmt: skip
    return SimpleNamespace(**(told | more))


def codes(readings: list[Observation] | None = None, case: Case = CASE, **more: Any) -> set[str]:
    many = read(*((10.0 * day, 12.0 - day) for day in range(5)))
    made = found(**more)
    return {one.code for one in ready._notes(made, readings or many, case, Target(8.5))}


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({}, []),
        ({"chance_near": 0.979}, ["held-by-meter"]),
        ({"chance_near": 0.98}, []),
        ({"chance_even": 0.979}, ["held-by-core"]),
        ({"chance_even": 0.98}, []),
        ({"chance_near": 0.5, "chance_even": 0.5}, ["held-by-meter", "held-by-core"]),
        ({"chance_near": 0.5, "chance_soon": 0.5}, ["held-by-meter"]),
        ({"chance_near": 0.5, "chance_soon": 0.499}, []),
        ({"chance_near": 0.5, "chance_soon": None}, []),
        ({"chance_near": 0.5, "verdict": "not_here"}, []),
        ({"chance_near": None}, []),
        ({"chance_near": 0.5, "chance_even": None}, []),
    ],
)
def test_what_a_look_would_settle(more: dict[str, Any], says: list[str]) -> None:
    assert [one.code for one in ready._would_tell(found(**more), read((0.0, 9.0)))] == says
    dried = read((0.0, 9.0), group="oven_dry")
    kept = [one for one in says if one != "held-by-meter"]
    assert [one.code for one in ready._would_tell(found(**more), dried)] == kept


def test_how_little_readings_prove_is_said_from_either_side() -> None:
    assert not {"too-little", "little-proof"} & codes()
    assert "little-proof" in codes(rate_learned=0.29)
    assert "little-proof" not in codes(rate_learned=0.3)
    four = read(*((10.0 * day, 12.0 - day) for day in range(4)))
    assert "little-proof" in codes(four)
    assert "too-little" in codes(read((0.0, 12.0), (0.0, 11.0)))
    assert "little-proof" not in codes(read((0.0, 12.0)))


def test_flags_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = codes()
    assert not {"contradiction", "rate-unlike-species", "re-wetted", "stuck", "not-ready-here",
                "faces-drawn", "depth-drawn"} & plain  # fmt: skip
    flags = ready.Flags((2,), True, 10.0, True)
    assert {"contradiction", "rate-unlike-species", "re-wetted", "stuck"} <= codes(flags=flags)
    never = codes(ready_in=None)
    assert "not-ready-here" in never
    assert "not-ready-here" not in codes(flags=flags, ready_in=None)
    assert "faces-drawn" in codes(case=replace(CASE, untold=(False, True)))
    pins = read((0.0, 12.0), (10.0, 11.0), depth_from=0.0, depth_to=0.0, depth_told=False)
    assert "depth-drawn" in codes(pins)
    for used, out in (((0, 1), True), ((0, 2), False)):
        made = found(flags=ready.Flags((2,), False, None, False), used=used)
        many = read(*((10.0 * day, 12.0 - day) for day in range(5)))
        note = next(
            one for one in ready._notes(made, many, CASE, Target(8.5))
            if one.code == "contradiction"
        )  # fmt: skip
        assert note.figures == {"readings": (3,), "deviations": 3.5, "left_out": out}
    since: list[float] = []

    def ends(slab: Slab, days: Any, mean: Any, settles: float) -> tuple[Any, ...]:
        since.append(float(days[0]))
        return ()

    monkeypatch.setattr(edges, "ends_note", ends)
    dated = ready._notes(found(), read((5.0, 12.0), (5.0, 11.0)), CASE, Target(8.5))
    # From the first reading to the answer's day, 30.
    assert since == [25.0]
    assert next(one for one in dated if one.code == "too-little").figures["dated"] is True


def test_a_chance_counts_the_draws_and_not_the_central_case() -> None:
    days = np.array([0.0, 10.0, 14.0, 14.1, np.inf])
    assert ready._chance(days, 14.0) == 0.5
    assert ready._chance(days, 0.0) == 0.0
    assert ready._chance(days[:1], 14.0) is None
    assert ready._verdict(days[:1], ()) == "probably"
    assert ready._verdict(np.array([np.inf]), ()) == "not_here"


def runs(monkeypatch: pytest.MonkeyPatch, *years: Any) -> None:
    """What the model would follow, one stretch after another."""
    left = iter(years)
    monkeypatch.setattr(transport, "run", lambda *_, **__: next(left))


def layers(*apart: Any) -> Any:
    """Moisture (times, draws, nodes) whose wettest and driest layers are so far apart."""
    across = np.linspace(-0.5, 0.5, problem().mesh.depth.size)
    return 10.0 + np.array(apart, dtype=np.float64)[..., None] * across


def test_shares_near_and_even_within_a_fortnight(monkeypatch: pytest.MonkeyPatch) -> None:
    made = problem()
    rows = np.repeat(theta(made), 5, axis=0)
    run = SimpleNamespace(
        mean=np.array([[8.5, 9.6, 12.0, 9.4, 7.4], [8.5, 9.6, 12.0, 9.6, 7.6]]),
        moisture=layers([0.0, 1.9, 2.1, 2.1, 3.0], [0.0, 2.1, 2.1, 1.9, 2.0]),
    )
    runs(monkeypatch, run)
    near, even = ready._soon(made, rows, None, np.full(5, 8.5), 1.0, 0.0)  # type: ignore[arg-type]
    # Of four draws two come within 1 % of 8.5, three within 2 % of even; some day will do.
    assert (near, even) == (0.5, 0.75)
    alone = ready._soon(made, rows[:1], None, np.full(1, 8.5), 1.0, 0.0)  # type: ignore[arg-type]
    assert alone == (None, None)


def test_ready_is_near_and_even_at_once_and_the_years_go_on_until_all_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = problem()
    rows = np.repeat(theta(made), 2, axis=0)
    days = np.array([0.0, 10.0, 20.0, YEAR])
    first = SimpleNamespace(
        days=days, mean=np.array([[12.0, 14.0], [9.5, 14.0], [9.0, 13.0], [8.5, 12.0]]),
        moisture=layers([4.0, 4.0], [4.0, 4.0], [2.0, 4.0], [0.0, 4.0]), end=None,
    )  # fmt: skip
    second = SimpleNamespace(
        days=YEAR + days, mean=np.array([[8.5, 12.0], [8.5, 9.5], [8.5, 9.0], [8.5, 8.5]]),
        moisture=layers([0.0, 1.0], [0.0, 1.0], [0.0, 1.0], [0.0, 1.0]), end=None,
    )  # fmt: skip
    runs(monkeypatch, first, second)
    found, core = ready._forecast(made, rows, None, np.full(2, 8.5), 1.0, 0.0)  # type: ignore[arg-type]
    # Near on day 10, even on day 20; the other in the second year, on its tenth day.
    assert found.tolist() == [20.0, YEAR + 10.0]
    assert core == 10.0
    still = SimpleNamespace(
        days=days, mean=np.full((4, 2), 12.0), moisture=layers(*[[0.0, 0.0]] * 4), end=None
    )  # fmt: skip
    # A year that ends as it began is the last that is followed.
    runs(monkeypatch, still)
    found, core = ready._forecast(made, rows, None, np.full(2, 8.5), 1.0, 0.0)  # type: ignore[arg-type]
    assert np.isinf(found).all()
    assert core is None


def test_the_chart_ends_a_third_past_the_date_between_a_month_and_a_year() -> None:
    made = problem(readings=read((5.0, 12.0), (20.0, 11.0)))
    for days, end in ((10.0, 50.0), (100.0, 150.0), (900.0, 385.2425), (np.inf, 385.2425)):
        trace = ready._trace(made, theta(made), 20.0, np.array([days]))
        assert (trace.days[0], trace.days[-1], trace.days.size) == (5.0, pytest.approx(end), 60)
        assert trace.chance is None
    rows = np.repeat(theta(made), 3, axis=0)
    drawn = ready._trace(made, rows, 20.0, np.array([10.0, 10.0, 40.0])).chance
    assert drawn is not None
    assert (drawn[0], drawn[-1]) == (0.0, 0.5)


def test_after_a_log_it_settles_to_the_mean_of_the_year_followed() -> None:
    warmth, settles = ready._settles(CASE, 0.0)
    assert warmth == 20.0
    # What dries stays above the mean curve's 7.7 %, by the loop at most.
    assert 7.9 < settles < 8.9
    days = np.arange(0.0, 500.0)
    log = Air(days, np.where(days < 200.0, 10.0, 20.0), np.full(500, 40.0))
    # From day 100 on 100 of 365 days are at 10 degC.
    assert ready._settles(replace(CASE, air=log), 100.0)[0] == pytest.approx(17.3, abs=0.15)
