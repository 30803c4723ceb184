"""A slab through its stays: what the trade knows, what must be kept, and bad input."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from model import spread
from model.answers.course import follow, summaries, thinned
from model.answers.movement import movement
from model.behaviour import (
    course,
    moisture_steps,
    section,
    section_steps,
    timber,
    transport,
)
from model.behaviour.brought import Brought
from model.behaviour.course import Course, Stay
from model.behaviour.section import FLAT, Hold
from model.behaviour.slab import BarkSide, ShellCore, Slab
from model.properties.finishes import Face, Faces, face
from model.properties.sorption import humidity_of_moisture
from model.properties.species import LENGTHWISE, find, from_figures
from model.spread import Samples
from model.surroundings import calendar, room
from model.surroundings.air_series import Air

Floats = NDArray[np.float64]

BARE, CLOSED = face("bare"), face("closed")
STICKERED = Faces(BARE, BARE)
TOP_OPEN = Faces(BARE, CLOSED)
ELM = Slab(find("American elm"), 0.6, 0.05, 2.4, ring_angle=0.0)


def air_at(moisture: float) -> Air:
    """Air at 20 degC that wood settles to a moisture content in."""
    return room.constant(20.0, float(humidity_of_moisture(20.0, moisture))).air


def air_for(slab: Slab, moisture: float) -> Air:
    """Air at 20 degC that a slab's own wood settles to a moisture content in."""
    return room.constant(20.0, float(slab.species.humidity_of(20.0, moisture))).air


def yearly(amplitude: float = 15.0) -> Air:
    angle = (np.arange(12) + 0.5) / 12.0 * 2.0 * np.pi
    return room.from_months(np.full(12, 20.0), 40.0 - amplitude * np.cos(angle)).air


def like_the_central(count: int, **figures: Sequence[float]) -> Samples:
    """So many samples, alike but for the figures given."""
    one = spread.draw(0)
    told = ((name, getattr(one, name)) for name in one.__slots__)
    columns: dict[str, Any] = {
        name: value.repeat(count) for name, value in told if isinstance(value, np.ndarray)
    }
    columns |= {name: np.array(values, dtype=float) for name, values in figures.items()}
    columns["unlimited"] = np.isinf(columns["creep_limit"])
    return replace(one, count=count, **columns)


def cup_on(found: Course, stay: int, day: float) -> float:
    """Cup [mm] of the central case so many days into a stay."""
    rows = found.stay == stay
    days = found.days[rows]
    return float(np.interp(days[0] + day, days, 1000.0 * found.cup[rows, 0]))


@pytest.mark.parametrize("wood", ["northern red oak", "American elm"])
def test_a_slab_dressed_on_one_face_hollows_toward_it_most_with_the_fresh_face_up(
    wood: str,
) -> None:
    """Common practice, no source: dress both faces and stand the slab on edge."""
    slab = Slab(find(wood), 0.6, 0.06, 2.4, ring_angle=0.0)
    shop = air_at(7.0)
    dried = Stay(shop, 90.0, STICKERED)

    def after_dressing(faces: Faces, top: float, bottom: float) -> float:
        lies = Stay(shop, 14.0, faces, dress_top=top, dress_bottom=bottom, machined_flat=True)
        found = course.run(slab, 14.0, [dried, lies])
        assert abs(cup_on(found, 1, 0.0)) < 0.01  # mm; flat off the machine
        return cup_on(found, 1, 7.0)

    fresh_up = after_dressing(TOP_OPEN, 0.008, 0.0)
    fresh_down = after_dressing(Faces(CLOSED, BARE), 0.008, 0.0)
    both_on_edge = after_dressing(STICKERED, 0.004, 0.004)
    assert fresh_up > 1.5  # mm within a week, edges up: toward the dressed face
    assert abs(fresh_down) < fresh_up / 3.0
    assert abs(both_on_edge) < fresh_up / 8.0


def test_one_face_drying_faster_hollows_that_face_first_and_the_cup_turns_over_later() -> None:
    """Told in words for slabs with one face open; set makes the end reversed."""
    quarter = Slab(find("white oak"), 0.6, 0.05, ring_angle=90.0)
    samples = like_the_central(1, creep_limit=[np.inf])
    found = course.run(quarter, 12.0, [Stay(air_at(7.0), 1500.0, TOP_OPEN)], samples)
    assert found.cup[:, 0].max() > 0.002
    assert found.cup[-1, 0] < -0.0002


# Slab 50 x 600 mm, cup 10 mm to take out, from and back to 8 % M; mm of cup left at mE 30, 60, 120
# with the plain law and 60 with J 8.  Figures of an independent run of the same equations (no
# measured ones are known), rounded there to 0.1 mm.
FLATTENING = {
    "clamp flat for 30 days": [10.0, 10.0, 10.0, 10.0],
    "wet the hollow face": [15.4, 14.0, 12.9, 12.8],
    "wet the hollow face and clamp": [11.3, 8.9, 6.9, 8.7],
    "wet the round face": [1.2, 3.2, 5.0, 5.9],
    "wet the round face and clamp": [-3.3, -1.6, -0.5, 0.5],
    "moisten through and clamp": [3.0, 1.1, 0.2, 1.9],
    "moisten through and clamp, then three years": [3.4, 1.5, 0.4, 7.6],
}


def cupped() -> tuple[Slab, Samples]:
    # Movement of 0.0035 per % at 8 %, and the transport figures of the run it is held against.
    wood = from_figures(9.75, 9.75, 0.60)
    wood = replace(wood, transport_factor=1.8, transport_slope=0.087, sorption_at_90=1.0)
    samples = like_the_central(
        4, mechano=[30.0, 60.0, 120.0, 60.0], creep_limit=[np.inf, np.inf, np.inf, 8.0]
    )
    return Slab(wood, 0.6, 0.05, ring_angle=0.0), samples


def left_of_ten(plan: list[Stay], settle: bool = True) -> tuple[Floats, Course]:
    slab, samples = cupped()
    rest = [Stay(air_at(8.0), 250.0, STICKERED)] if settle else []
    begin = np.full((4, transport.NODES), 8.0)  # at rest in air that holds 8 % on the mean curve
    found = course.run(slab, begin, plan + rest, samples, cup=0.010, came="mean")
    return 1000.0 * found.cup[-1], found


def test_flattening_by_moisture_clamps_and_time_comes_out_as_reckoned_elsewhere() -> None:
    dry, damp = air_at(8.0), air_at(14.0)
    clamped = Stay(dry, 30.0, STICKERED, FLAT)
    hollow = Stay(dry, 8.0 / 24.0, STICKERED, wet_face="top", wet_hours=8.0)
    round_ = Stay(dry, 1.0, STICKERED, wet_face="bottom", wet_hours=24.0)
    through = [Stay(damp, 42.0, STICKERED), Stay(dry, 60.0, STICKERED, FLAT)]
    left = {
        "clamp flat for 30 days": left_of_ten([clamped])[0],
        "wet the hollow face": left_of_ten([hollow])[0],
        "wet the hollow face and clamp": left_of_ten([hollow, clamped])[0],
        "wet the round face": left_of_ten([round_])[0],
        "wet the round face and clamp": left_of_ten([round_, clamped])[0],
        "moisten through and clamp": left_of_ten(through)[0],
    }
    for plan, found in left.items():
        # 0.5 mm.  Figures after wetting a face hang on the mesh near it: here 25 nodes lie up to
        # 0.4 mm from 161 (0.8 against 0.4 mm left of the round face wetted at mE 30), the other
        # run stands at 1.2; and its "weeks" of moistening and drying are 42 and 60 days here.
        np.testing.assert_allclose(found, FLATTENING[plan], atol=0.5, err_msg=plan)
    # The order that is printed: wetting the hollow face leaves it a little more warped, wetting
    # the round face less than at the beginning, clamping without moisture does nothing.
    assert np.all(left["wet the hollow face"] > 10.0)
    assert np.all(left["wet the round face"] < 10.0)


def test_the_mesh_moves_a_wetted_slabs_cup_by_less_than_half_a_millimetre() -> None:
    slab, samples = cupped()
    stay = Stay(air_at(8.0), 100.0, STICKERED, wet_face="bottom", wet_hours=24.0)
    usual, fine = (
        course.run(
            slab, np.full((4, nodes), 8.0), [stay], samples, cup=0.010, nodes=nodes, came="mean"
        )
        for nodes in (transport.NODES, 81)
    )
    # Cup 10 mm to begin with, 7 to 9 of it taken out; measured 0.2 to 0.4 mm apart.
    np.testing.assert_allclose(1e3 * usual.cup[-1], 1e3 * fine.cup[-1], atol=0.5)


def test_three_years_of_seasons_bring_the_warp_back_under_the_limited_law_only() -> None:
    dry, damp = air_at(8.0), air_at(14.0)
    plan = [Stay(damp, 42.0, STICKERED), Stay(dry, 60.0, STICKERED, FLAT)]
    seasons = [Stay(yearly(10.0), 3.0 * calendar.YEAR, STICKERED), Stay(dry, 250.0, STICKERED)]
    before, _ = left_of_ten(plan)
    after, _ = left_of_ten(plan + seasons, settle=False)
    expected = np.array(FLATTENING["moisten through and clamp, then three years"])
    # The seasons of the other run are not known; 10 points of humidity either way give this.
    np.testing.assert_allclose(after, expected, atol=0.8)
    # Printed: the warp returns.  Only the limited law says so: a tenth of it under the plain one.
    assert after[3] > before[3] + 4.0
    assert np.all(after[:3] - before[:3] < 1.0)


def test_of_the_first_days_moment_a_sixth_or_so_lasts_once_it_has_dried_under_clamps() -> None:
    _, found = left_of_ten(
        [Stay(air_at(14.0), 42.0, STICKERED), Stay(air_at(8.0), 300.0, STICKERED, FLAT)], False
    )
    held = found.moment[found.stay == 1]
    share = held[-1] / held[0]
    # 10 to 17 % by the limited law, as an independent run of the model has it.
    assert 0.10 < share[3] < 0.17
    # The plain law has less left the more it creeps.
    assert share[0] > share[1] > share[2] > 0.0


def test_without_set_the_end_is_that_of_the_question_of_movement() -> None:
    slab = replace(ELM, ring_angle=None, pith_below=0.2)
    samples = like_the_central(1, mechano=[1e-9])
    found = course.run(slab, 12.0, [Stay(air_at(7.0), 4000.0, STICKERED)], samples)
    moved = movement(slab, 12.0, float(found.mean[-1, 0]))
    assert found.width[-1, 0] == pytest.approx(moved.width.after.value, abs=1e-7)
    assert found.thickness[-1, 0] == pytest.approx(moved.thickness.after.value, abs=1e-8)
    assert found.cup[-1, 0] == pytest.approx(moved.cup.value, abs=1e-6)
    assert abs(found.stress_top[-1, 0]) < 1e3  # Pa


def test_cutting_a_course_in_two_gives_the_same_end(monkeypatch: pytest.MonkeyPatch) -> None:
    samples = spread.draw(16)
    stays = [Stay(yearly(), 200.0, TOP_OPEN), Stay(yearly(), 160.0, TOP_OPEN)]
    stays[1] = replace(stays[1], air=stays[0].air)
    uncut = [replace(stays[0], days=360.0)]

    def whole() -> Course:
        return course.run(ELM, 12.0, stays, samples, start_day=40.0)

    usual = whole()
    first = course.run(ELM, 12.0, stays[:1], samples, start_day=40.0)
    second = course.run(ELM, first.end, stays[1:], samples, start_day=240.0, state=first.state)
    np.testing.assert_allclose(second.mean[-1], usual.mean[-1], atol=1e-12)
    np.testing.assert_allclose(second.cup[-1], usual.cup[-1], atol=1e-12)
    np.testing.assert_allclose(second.width[-1], usual.width[-1], atol=1e-12)
    # One stay of the same length takes other steps: within the solver's error, of which draws are
    # allowed more.
    single = course.run(ELM, 12.0, uncut, samples, start_day=40.0)
    assert single.mean[-1, 0] == pytest.approx(usual.mean[-1, 0], abs=0.005)
    assert single.cup[-1, 0] == pytest.approx(usual.cup[-1, 0], abs=1e-4)
    np.testing.assert_allclose(single.mean[-1], usual.mean[-1], atol=0.1)
    # Every draw as fine as the central case.
    monkeypatch.setattr(transport, "DRAWN_TOLERANCE", transport.TOLERANCE)
    monkeypatch.setattr(transport, "DRAWN_LONGEST_STEP", transport.LONGEST_STEP)
    single = course.run(ELM, 12.0, uncut, samples, start_day=40.0)
    fine = whole()
    np.testing.assert_allclose(single.mean[-1], fine.mean[-1], atol=0.01)
    np.testing.assert_allclose(single.cup[-1], fine.cup[-1], atol=1e-4)


def test_dressing_both_faces_alike_of_an_even_slab_moves_nothing() -> None:
    slab = replace(ELM, ring_angle=None, pith_below=0.1)
    stay = Stay(air_for(slab, 12.0), 30.0, STICKERED, dress_top=0.005, dress_bottom=0.005)
    found = course.run(slab, 12.0, [stay], came="unknown")
    assert found.slab.thickness == pytest.approx(0.04, abs=1e-15)
    assert np.abs(found.cup).max() < 1e-8
    assert np.abs(found.width - 0.6).max() < 1e-8


def test_the_water_planed_off_is_the_water_missing() -> None:
    dry = Stay(air_at(7.0), 40.0, STICKERED)
    before = course.run(ELM, 14.0, [dry])
    after = course.run(ELM, 14.0, [dry, replace(dry, days=1.0, dress_top=0.01)])
    first = int(np.flatnonzero(after.stay == 1)[0])
    old, new = before.mesh, after.mesh
    shavings = section.remap(before.moisture, old, transport.grid(0.01), 0.0)
    gone = float(transport.grid(0.01).mean(shavings[0])) * 0.01
    kept = float(after.mean[first, 0]) * new.thickness
    # Water before = kept + shavings, to rounding.
    assert kept + gone == pytest.approx(float(before.mean[-1, 0]) * old.thickness, rel=1e-12)


@pytest.mark.parametrize(
    ("bark", "below", "top", "bottom", "expected"),
    [
        ("top", 0.1, 0.01, 0.0, ("top", 0.1)),
        ("top", 0.1, 0.0, 0.01, ("top", 0.11)),
        ("bottom", 0.1, 0.01, 0.0, ("bottom", 0.11)),
        ("bottom", 0.1, 0.0, 0.01, ("bottom", 0.1)),
        # The pith 10 mm inside a 50 mm slab; 35 mm off the top leave it 5 mm below the new top.
        ("top", -0.01, 0.035, 0.0, ("bottom", -0.005)),
    ],
)
def test_planing_leaves_the_pith_where_it_was(
    bark: BarkSide, below: float, top: float, bottom: float, expected: tuple[str, float]
) -> None:
    slab = Slab(find("white oak"), 0.6, 0.05, pith_below=below, bark_side=bark)
    left = timber.planed(slab, top, bottom)
    assert left.bark_side == expected[0]
    assert left.pith_below == pytest.approx(expected[1], abs=1e-15)


def test_held_flat_it_stays_flat_and_springs_back_on_release() -> None:
    dry = air_at(7.0)
    found = course.run(ELM, 12.0, [Stay(dry, 40.0, TOP_OPEN, FLAT), Stay(dry, 1.0, TOP_OPEN)])
    held = found.stay == 0
    assert np.all(found.cup[held] == 0.0)
    assert np.abs(found.moment[held]).max() > 100.0
    released = found.stay == 1
    # Clamped against hollowing: the moment bent the edges down.
    assert found.moment[held][-1, 0] < 0.0
    assert found.cup[released][0, 0] > 0.001
    assert found.days[released][0] == found.days[held][-1]
    np.testing.assert_allclose(found.moment[released], 0.0, atol=1e-9)


def test_a_stiffener_lies_between_free_and_flat() -> None:
    dry = air_at(7.0)
    cups = [
        float(course.run(ELM, 12.0, [Stay(dry, 30.0, TOP_OPEN, hold)]).cup[-1, 0])
        for hold in (Hold(), Hold(bending=2e3), Hold(bending=2e4), Hold(bending=2e5), FLAT)
    ]
    assert cups == sorted(cups, reverse=True)
    assert cups[-1] == 0.0


def test_turned_over_the_other_face_meets_what_lies_on_top() -> None:
    dry = air_at(7.0)
    # As much across as along the rings: they bend nothing, so both ways up are alike.
    slab = Slab(from_figures(8.0, 8.0, 0.55), 0.6, 0.05, 2.4, ring_angle=0.0)
    up = course.run(slab, 12.0, [Stay(dry, 20.0, TOP_OPEN)])
    down = course.run(slab, 12.0, [Stay(dry, 20.0, TOP_OPEN, turned=True)])
    assert down.shell_bottom[-1, 0] == pytest.approx(up.shell_top[-1, 0], abs=1e-9)
    assert down.cup[-1, 0] == pytest.approx(-up.cup[-1, 0], abs=1e-9)
    assert down.bow is not None
    assert up.bow is not None
    assert up.bow[-1, 0] > 0.0
    assert down.bow[-1, 0] == pytest.approx(-up.bow[-1, 0], abs=1e-9)


def test_an_overnight_cup_mostly_goes_within_hours_of_turning_the_slab_over() -> None:
    """Printed reports: a slab's overnight cup mostly reverses 3-6 h after it is turned over."""
    dry = air_at(7.0)
    stays = [
        Stay(dry, 0.5, TOP_OPEN),
        Stay(dry, 6.0 / 24.0, TOP_OPEN, turned=True),
    ]
    found = course.run(replace(ELM, thickness=0.03), 11.0, stays)
    assert found.cup[found.stay == 0][-1, 0] > 0.0005
    assert found.cup[-1, 0] < 0.5 * found.cup[found.stay == 0][-1, 0]


def test_a_wetted_face_swells_and_the_slab_bends_away_from_it() -> None:
    stay = Stay(air_at(8.0), 2.0, STICKERED, wet_face="top", wet_hours=6.0)
    found = course.run(ELM, 8.0, [stay], stops=[0.25])
    wet_end = int(np.flatnonzero(found.days == 0.25)[0])
    assert found.shell_top[wet_end, 0] == pytest.approx(30.0, abs=0.3)
    assert found.cup[wet_end, 0] < -0.002
    assert found.stress_top[wet_end, 0] < 0.0
    assert found.shell_top[-1, 0] < 15.0


def test_rooms_are_drawn_apart_and_one_room_twice_is_the_same_room() -> None:
    samples = spread.draw(32)
    one, other = air_at(7.0), air_at(10.0)
    stays = [Stay(air, 2000.0, STICKERED, humidity_spread=6.0) for air in (one, other, one)]
    found = course.run(ELM, 9.0, stays, samples, came="mean")
    ends = [found.mean[np.flatnonzero(found.stay == number)[-1], 1:] for number in range(3)]
    steady = samples.sorption[1:]
    np.testing.assert_allclose(ends[0], ends[2], atol=0.05)
    alike = np.corrcoef(ends[0] / steady, ends[1] / steady)[0, 1]
    assert abs(alike) < 0.6


def test_the_central_case_hardly_feels_the_draws_beside_it() -> None:
    stay = [Stay(yearly(), 365.0, TOP_OPEN, humidity_spread=6.0)]
    alone = course.run(ELM, 12.0, stay)
    among = course.run(ELM, 12.0, stay, spread.draw(64))
    assert np.array_equal(among.days, alone.days)
    for name in ("mean", "width", "cup", "stress_top", "index_bottom"):
        # Every sample takes its own steps: to rounding, whatever stands beside it.
        one, same = getattr(alone, name)[:, 0], getattr(among, name)[:, 0]
        np.testing.assert_allclose(same, one, rtol=1e-9, atol=1e-12)


def test_the_sweep_is_compiled_for_one_kind_of_arguments() -> None:
    # A second kind - read-only, another order - would cost seconds in the midst of an answer.
    samples = spread.draw(4)
    for hold in (Hold(), FLAT, Hold(bending=2e3), Hold(bending=np.linspace(1e3, 2e3, 5))):
        stays = [
            Stay(air_at(7.0), 5.0, TOP_OPEN, hold),
            Stay(air_at(7.0), 5.0, STICKERED, dress_top=0.002, machined_flat=True),
        ]
        found = course.run(ELM, 12.0, stays, samples, came="unknown", cup=0.001)
        course.run(found.slab, found.end, stays[:1], samples, state=found.state)
        section.sweep(
            timber.timber_of(found.slab, samples, found.mean[0]), found.mesh,
            np.asfortranarray(found.moisture[None]), found.state, hold,
        )  # fmt: skip
    assert len(section_steps.sweep.signatures) == 1  # type: ignore[attr-defined]
    assert len(moisture_steps.follow.signatures) == 1  # type: ignore[attr-defined]


def test_both_laws_of_creep_are_inside_the_band() -> None:
    stay = [Stay(air_at(7.0), 400.0, TOP_OPEN)]
    samples = spread.draw(128)
    band = spread.figure(course.run(ELM, 12.0, stay, samples).cup[-1])
    assert band.low is not None
    assert band.high is not None
    for limit in (8.0, np.inf):
        one = course.run(ELM, 12.0, stay, like_the_central(1, creep_limit=[limit]))
        assert band.low <= one.cup[-1, 0] <= band.high
    assert samples.unlimited[1:].sum() == 64
    assert not samples.unlimited[0]


def test_a_log_is_followed_from_its_first_reading_and_refused_when_it_ends_too_early() -> None:
    days = np.arange(0.0, 20.01, 0.25)
    humidity = 45.0 + 10.0 * np.sin(2.0 * np.pi * days)
    logged = room.from_log(datetime.date(2024, 3, 1), days, np.full(days.size, 20.0), humidity)
    found = course.run(ELM, 9.0, [Stay(logged.air, 20.0, STICKERED)], start_day=60.0)
    assert found.relative_humidity[0] == pytest.approx(45.0)
    assert found.relative_humidity.max() > 54.0  # no day's peak is stepped over
    with pytest.raises(ValueError, match="the log runs from"):
        course.run(ELM, 9.0, [Stay(logged.air, 21.0, STICKERED)])


def test_a_log_of_twenty_thousand_readings_is_averaged_and_says_so() -> None:
    days = np.linspace(0.0, 833.0, 20_000)
    humidity = 42.0 - 12.0 * np.cos(2.0 * np.pi * days / 365.0) + 8.0 * np.sin(2.0 * np.pi * days)
    logged = room.from_log(datetime.date(2024, 1, 1), days, np.full(days.size, 20.0), humidity)
    smooth = room.from_log(
        datetime.date(2024, 1, 1), days[::80], np.full(250, 20.0),
        (42.0 - 12.0 * np.cos(2.0 * np.pi * days / 365.0))[::80],
    )  # fmt: skip
    last = float(smooth.air.days[-1])
    found = course.run(ELM, 9.0, [Stay(logged.air, last, STICKERED)])
    expected = course.run(ELM, 9.0, [Stay(smooth.air, last, STICKERED)])
    [told] = [note for note in found.notes if note.code == "log-averaged"]
    # A thousand pieces of 800 days and more: 19 to 20 hours each.
    assert told.figures == {"readings": 1000, "hours": pytest.approx(24.0 * last / 1000.0)}
    # The daily swing of 8 points leaves the mean alone but for the bent sorption curve.
    assert found.mean[-1, 0] == pytest.approx(expected.mean[-1, 0], abs=0.05)


def test_the_air_takes_the_date_or_its_own_day() -> None:
    winter = course.run(ELM, 9.0, [Stay(yearly(), 30.0, STICKERED)], start_day=0.0)
    summer = course.run(ELM, 9.0, [Stay(yearly(), 30.0, STICKERED)], start_day=180.0)
    told = course.run(ELM, 9.0, [Stay(yearly(), 30.0, STICKERED, air_day=180.0)])
    assert winter.mean[-1, 0] < 9.0 < summer.mean[-1, 0]
    assert told.mean[-1, 0] == pytest.approx(summer.mean[-1, 0], abs=1e-12)


def test_a_thinned_course_keeps_its_extremes() -> None:
    stays = [Stay(yearly(), 10.0 * 365.0, TOP_OPEN), Stay(yearly(), 10.0 * 365.0, STICKERED)]
    found = course.run(ELM, 12.0, stays, spread.draw(16))
    for most in (40, 400):
        rows = thinned(found, most)
        assert rows.size <= most
        assert rows[0] == 0
        assert rows[-1] == found.days.size - 1
        assert np.all(np.diff(rows) > 0)
        for values in (found.mean, found.cup, found.stress_top, found.stress_bottom):
            for number in (0, 1):
                whole = values[found.stay == number, 0]
                kept = values[rows][found.stay[rows] == number, 0]
                assert kept.min() == whole.min()
                assert kept.max() == whole.max()
    with pytest.raises(ValueError, match="too few"):
        thinned(found, 5)


def test_a_thinned_course_of_many_stays_keeps_what_its_summary_tells() -> None:
    # The index looks inside the wood, so its peak is none of the faces' stress.
    stays = [
        Stay(air_at(7.0 + 7.0 * (number % 3 == 0)), 20.0, (TOP_OPEN, STICKERED)[number % 2])
        for number in range(50)
    ]
    found = course.run(ELM, 12.0, stays, least_rows=60)
    rows = thinned(found, 400)
    assert rows.size <= 400 < found.days.size
    for number, one in enumerate(summaries(found, stays)):
        kept = rows[found.stay[rows] == number]
        index = np.maximum(found.index_top[kept, 0], found.index_bottom[kept, 0])
        assert index.max() == one.largest_index.value
        assert np.abs(found.cup[kept, 0]).max() == abs(one.largest_cup.value)


def test_profiles_are_told_on_any_day_and_a_stop_gets_its_own_row() -> None:
    found = course.run(
        ELM, ShellCore(8.0, 12.0), [Stay(air_at(7.0), 30.0, STICKERED)], stops=[3.0, 17.5]
    )
    assert {3.0, 17.5} <= set(found.days)
    depth, moisture = found.profile(0.0)
    assert moisture[0] == pytest.approx(8.0)
    assert moisture[depth.size // 2] == pytest.approx(12.0)
    depth, moisture = found.profile(17.5)
    row = int(np.flatnonzero(found.days == 17.5)[0])
    assert moisture @ found.mesh.weight == pytest.approx(found.mean[row, 0], abs=1e-12)
    # Straight between two rows, and the end itself on the last day.
    whole, central = found.central[0][0], found.central[0][2]
    for day in (whole[-2] + 0.3 * (whole[-1] - whole[-2]), 30.0, whole[1]):
        told = found.profile(float(day))[1]
        at = [np.interp(day, whole, central[:, node]) for node in (0, 5, 12)]
        assert told[[0, 5, 12]] == pytest.approx(at, abs=1e-12)
    assert found.profile(30.0)[1] == pytest.approx(found.moisture[0], abs=1e-12)
    for day in (31.0, -0.1):
        with pytest.raises(ValueError, match="outside the course of 30 days"):
            found.profile(day)


def test_a_bow_follows_from_the_gradient_along_the_grain() -> None:
    # 12/t^3 INT e (z - t/2) dz of the strain along the grain, times L^2/8.
    found = course.run(ELM, 12.0, [Stay(air_at(7.0), 6.0, TOP_OPEN)])
    assert found.bow is not None
    assert found.bow[0, 0] == 0.0
    depth = np.linspace(0.0, 0.05, 20001)
    moved = np.interp(depth, found.mesh.depth, found.moisture[0]) - 12.0
    strain = LENGTHWISE[1] / (100.0 * ELM.species.shrinkage_starts) * moved
    curvature = 12.0 / 0.05**3 * np.trapezoid(strain * (depth - 0.025), depth)
    assert found.bow[-1, 0] == pytest.approx(curvature * 2.4**2 / 8.0, rel=1e-4)
    assert found.bow[-1, 0] > 1e-4
    held = course.run(ELM, 12.0, [Stay(air_at(7.0), 6.0, TOP_OPEN, FLAT)])
    assert held.bow is not None
    assert np.all(held.bow == 0.0)
    short = replace(ELM, length=None)
    assert course.run(short, 12.0, [Stay(air_at(7.0), 6.0, TOP_OPEN)]).bow is None
    drawn = course.run(ELM, 12.0, [Stay(air_at(7.0), 6.0, TOP_OPEN)], spread.draw(32))
    assert drawn.bow is not None
    per = drawn.bow[-1] / drawn.bow[-1, 0]
    assert per.min() < 0.8 < 1.2 < per.max()


def test_rows_come_as_often_as_is_asked_and_once_where_nothing_jumps() -> None:
    dry = air_at(8.0)
    two = [Stay(dry, 30.0, STICKERED), Stay(dry, 40.0, STICKERED)]
    found = course.run(ELM, 12.0, two)
    assert np.diff(found.days).max() <= 5.0 + 1e-9
    assert np.all(np.diff(found.days) > 0.0)
    assert (found.stay == 1).sum() == found.days.size - 1 - int(
        np.flatnonzero(found.days == 30.0)[0]
    )
    often = course.run(ELM, 12.0, two, least_rows=60)
    assert np.diff(often.days).max() <= 40.0 / 60.0 + 1e-9
    # Clamped or planed there are two rows on that day: before and after.
    for second in (
        replace(two[1], hold=FLAT), replace(two[1], dress_top=0.002),
        replace(two[1], machined_flat=True), replace(two[1], hold=Hold(strain=0.001, axial=1.0)),
    ):  # fmt: skip
        jumps = course.run(ELM, 12.0, [two[0], second])
        assert np.count_nonzero(jumps.days == 30.0) == 2
    same = [replace(one, hold=Hold(bending=1e3)) for one in two]
    assert np.count_nonzero(course.run(ELM, 12.0, same).days == 30.0) == 1


def test_a_course_says_what_it_leans_on() -> None:
    def said(slab: Slab, **told: Any) -> set[str]:
        stay = Stay(air_at(8.0), 2.0, STICKERED, **told)
        return {note.code for note in course.run(slab, 12.0, [stay]).notes}

    assert said(ELM) == {"starts-flat", "creep", "stiffness", "bow"}
    assert "bow" not in said(replace(ELM, length=None))
    assert "machined-flat" in said(ELM, machined_flat=True)
    brings = replace(ELM, brought=Brought(-0.001))
    assert said(brings) == {"brought-along", "creep", "stiffness", "bow"}
    bare = replace(ELM, species=replace(ELM.species, tension_across=None))
    assert "strength-estimated" in said(bare)


def test_wood_kept_from_shrinking_stays_wider_by_the_share_of_its_set_that_shows() -> None:
    shows = like_the_central(4, set_in_width=[0.0, 0.0, 0.5, 1.0])  # the first is followed finer
    fixed = Hold(bending=np.inf, axial=np.inf)
    stays = [Stay(air_at(7.0), 60.0, STICKERED, fixed), Stay(air_at(7.0), 5.0, STICKERED)]
    none, half, whole = course.run(ELM, 14.0, stays, shows).width[-1, 1:]
    assert whole > none + 1e-3
    assert half - none == pytest.approx(0.5 * (whole - none), rel=1e-9)
    free = course.run(ELM, 14.0, [Stay(air_at(7.0), 65.0, STICKERED)], shows)
    assert none == pytest.approx(free.width[-1, 1], abs=5e-5)


def test_the_index_of_a_face_is_that_of_where_it_is_stressed_most(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stay = Stay(air_at(7.0), 5.0, STICKERED)
    plain = course.run(ELM, 12.0, [stay])
    worst = float(timber.stressed_most(
        ELM, spread.draw(0), timber.timber_of(ELM, spread.draw(0), np.array([12.0])),
        np.array([12.0]),
    )[0])  # fmt: skip
    monkeypatch.setattr(course, "stressed_most", lambda *_: np.full(1, 2.0 * worst))
    twice = course.run(ELM, 12.0, [stay])
    assert plain.index_top.max() > 0.1
    assert twice.index_top == pytest.approx(2.0 * plain.index_top)
    assert twice.index_bottom == pytest.approx(2.0 * plain.index_bottom)


def test_the_face_kept_wet_is_wet_for_its_hours() -> None:
    found = course.run(
        ELM, 10.0, [Stay(air_at(8.0), 3.0, STICKERED, wet_face="bottom", wet_hours=36.0)]
    )
    wet = found.days <= 1.5
    assert found.shell_bottom[wet][-1, 0] == pytest.approx(30.0, abs=0.2)
    assert found.shell_bottom[-1, 0] < 25.0
    assert found.shell_top.max() <= 10.0 + 1e-9
    whole = course.run(
        ELM, 10.0, [Stay(air_at(8.0), 1.5, STICKERED, wet_face="bottom", wet_hours=36.0)]
    )
    assert whole.days[-1] == 1.5
    assert whole.mean[-1, 0] == pytest.approx(float(found.mean[wet][-1, 0]), abs=1e-9)


def test_each_stay_is_summed_up() -> None:
    stays = [
        Stay(air_at(14.0), 30.0, STICKERED, name="shed"),
        Stay(air_at(7.0), 60.0, TOP_OPEN, FLAT, name="clamped"),
        Stay(air_at(7.0), 60.0, TOP_OPEN, name="free"),
    ]
    found = course.run(ELM, 12.0, stays, spread.draw(16))
    told = summaries(found, stays, found.moment)
    assert [one.name for one in told] == ["shed", "clamped", "free"]
    assert [(one.first, one.last) for one in told] == [(0.0, 30.0), (30.0, 90.0), (90.0, 150.0)]
    assert told[1].largest_cup.value == 0.0
    assert told[1].largest_moment is not None
    assert abs(told[1].largest_moment.value) > 100.0
    last = np.flatnonzero(found.stay == 2)[-1]
    assert told[2].mean == spread.figure(found.mean[last])
    assert 90.0 <= told[2].largest_cup_day <= 150.0


@given(
    days=st.floats(0.01, 400.0), top=st.floats(0.0, 0.02), bottom=st.floats(0.0, 0.02),
    start=st.floats(3.0, 60.0), settle=st.floats(3.0, 20.0),
)  # fmt: skip
def test_any_course_gives_finite_figures(
    days: float, top: float, bottom: float, start: float, settle: float
) -> None:
    stays = [
        Stay(air_at(settle), days, TOP_OPEN),
        Stay(air_at(10.0), days, STICKERED, FLAT, dress_top=top, dress_bottom=bottom),
    ]
    found = course.run(ELM, start, stays)
    for name in ("mean", "width", "thickness", "cup", "bow", "stress_top", "index_top", "moment"):
        assert np.all(np.isfinite(getattr(found, name))), name
    assert np.all(np.diff(found.days) >= 0.0)
    assert found.mean.min() > 0.0


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"days": 0.0}, "longer than 0 days"),
        ({"days": np.inf}, "longer than 0 days"),
        ({"dress_top": -0.001}, "0 m or more"),
        ({"wet_face": "top", "wet_hours": 0.0}, "more than 0 hours"),
        ({"wet_face": "top", "wet_hours": 300.0}, "at most the stay"),
    ],
)
def test_a_stay_that_cannot_be_is_refused(wrong: dict[str, float], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        replace(Stay(air_at(7.0), 10.0, STICKERED), **wrong)  # type: ignore[arg-type]


def test_a_course_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one stay"):
        course.run(ELM, 12.0, [])
    too_deep = Stay(air_at(7.0), 10.0, STICKERED, dress_top=0.03, dress_bottom=0.02)
    with pytest.raises(ValueError, match="must be left"):
        course.run(ELM, 12.0, [too_deep])


def test_a_wet_face_of_its_own_needs_no_hours() -> None:
    wet = Faces(Face(0.0, wet=True, name="wet"), CLOSED)
    found = course.run(ELM, 8.0, [Stay(air_at(8.0), 1.0, wet)])
    assert found.shell_top[-1, 0] == pytest.approx(30.0, abs=0.3)


@pytest.mark.parametrize(("moisture", "humid", "said"), [(60.0, 40.0, True), (14.0, 40.0, False)])
def test_a_course_says_when_green_wood_dries_faster_than_is_safe(
    moisture: float, humid: float, said: bool
) -> None:
    # White oak of 50 mm may lose 1.0 % a day (printed); below 15 % any loss will do.
    place = room.constant(20.0, humid)
    slab = Slab(find("white oak"), 0.3, 0.05, 2.0)
    stay = Stay(place.air, 30.0, STICKERED)
    found = follow(
        slab, moisture, [stay], [place], np.ones((1, 2)), spread.draw(16), start_day=0.0
    )  # fmt: skip
    assert ("dries-too-fast" in {note.code for note in found.notes}) is said
