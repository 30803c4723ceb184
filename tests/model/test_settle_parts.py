"""Settle and stiffening piece by piece: days within, extremes, fitness, notes, bars wanted."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from model.answers import settle, stiffening
from model.behaviour import bars, stiffeners
from model.behaviour.brought import Brought
from model.behaviour.slab import ShellCore, Slab
from model.behaviour.stiffeners import MOST_BARS, Stiffeners, grip
from model.behaviour.year import CENTRAL_MISS
from model.properties import species
from model.properties.fasteners import Fastener
from model.properties.finishes import Face, Faces
from model.spread import Figure
from model.surroundings.calendar import MONTH, YEAR
from model.surroundings.room import constant, from_months

OAK = Slab(species.find("white oak"), 0.6, 0.045, 1.8, ring_angle=0.0)
ROOM = constant(20.0, 45.0)
DAYS = np.linspace(0.0, YEAR, 367)  # even steps of a year


def wave(peak: float, high: float = 10.0, by: float = 2.0) -> Any:
    """A yearly wave with its peak on a day, (days, 1)."""
    return (high + by * np.cos(2.0 * np.pi * (DAYS - peak) / YEAR))[:, None]


# Along days.


def test_figures_between_days_run_straight() -> None:
    days, values = np.array([0.0, 10.0, 30.0]), np.array([[0.0], [1.0], [5.0]])
    found = settle._between(days, values, np.array([0.0, 5.0, 15.0, 30.0]))
    assert found[:, 0] == pytest.approx([0.0, 0.5, 2.0, 5.0])
    year = settle._periodic(DAYS, wave(100.0), np.array([100.0, 100.0 + 3.0 * YEAR, -265.2425]))
    assert year[:, 0] == pytest.approx([12.0, 12.0, 12.0], abs=1e-3)


def test_days_within_are_counted_from_the_last_day_outside() -> None:
    days = np.array([5.0, 15.0, 25.0, 35.0])
    flat = np.full((DAYS.size, 3), 8.0)
    mean = 8.0 + np.array([[3.0, 0.9, -3.0], [2.0, 0.5, 0.5], [0.4, 0.5, -1.6], [0.2, 0.5, 0.4]])
    found = settle._days_within(days, mean, DAYS, flat, np.full(3, 0.5), 1.0)
    # From 2.0 to 0.4 in ten days 1.0 is passed after 6.25; never outside; last out on day 25.
    assert found == pytest.approx([10.0 + 6.25, 0.0, 20.0 + 5.0])


def test_beyond_the_days_followed_a_miss_shrinks_by_what_a_year_leaves() -> None:
    days = np.array([0.0, YEAR])
    flat = np.full((DAYS.size, 2), 8.0)
    mean = np.array([[16.0, 16.0], [12.0, 12.0]])
    found = settle._days_within(days, mean, DAYS, flat, np.array([0.5, 0.25]), 1.0)
    # 4 % over, halved every year: two more years; quartered: one.
    assert found == pytest.approx([3.0 * YEAR, 2.0 * YEAR])
    half = settle._days_within(days, mean, DAYS, flat, np.array([0.5, 0.25]), 0.5)
    assert half == pytest.approx([4.0 * YEAR, 2.5 * YEAR])


@pytest.mark.parametrize("peak", [50.0, 200.3, 364.9])
def test_the_day_of_a_peak_is_found_between_the_steps(peak: float) -> None:
    found = float(settle._peak_day(DAYS, wave(peak))[0])
    assert (found - peak + 0.5 * YEAR) % YEAR - 0.5 * YEAR == pytest.approx(0.0, abs=0.02)
    # A flat year has no bend to follow.
    assert settle._peak_day(DAYS, np.ones((DAYS.size, 1)))[0] == 0.0


def test_an_extreme_has_its_month_its_moisture_and_its_lag_behind_the_room() -> None:
    middle = 20.0 + 6.0 * np.cos(2.0 * np.pi * (np.arange(12) + 0.5 - 6.5) / 12.0)
    room = from_months(np.full(12, 20.0), 25.0 + middle)  # dampest in the middle of July
    highest = room.air.at_days(DAYS)[1].argmax()
    late = float(DAYS[highest]) + 40.0
    dampest = settle._month(DAYS, wave(late), room, lowest=False)
    assert dampest.month == 8
    assert dampest.moisture.value == pytest.approx(12.0, abs=1e-3)
    assert dampest.lag_days.value == pytest.approx(40.0, abs=1.0)
    driest = settle._month(DAYS, wave(late), room, lowest=True)
    assert driest.month == 2
    assert driest.moisture.value == pytest.approx(8.0, abs=1e-3)
    # A little before the room is no year behind it.
    early = settle._month(DAYS, wave(float(DAYS[highest]) - 20.0), room, lowest=False)
    assert early.lag_days.value == pytest.approx(-20.0, abs=1.0)
    most = settle._month(DAYS, wave(float(DAYS[highest]) + 0.7 * YEAR), room, lowest=False)
    assert most.lag_days.value == pytest.approx(0.7 * YEAR, abs=1.0)


def test_a_size_has_its_months_and_the_mean_of_its_year() -> None:
    made = settle._size(0.6, DAYS, 0.05 * wave(45.0))
    assert made.now == 0.6
    assert made.settled.value == pytest.approx(0.5, abs=1e-6)
    assert (made.narrowest.value, made.widest.value) == pytest.approx((0.4, 0.6), abs=1e-5)
    assert (made.narrowest_month, made.widest_month) == (8, 2)


def test_the_largest_cup_is_that_before_it_settled() -> None:
    days = np.array([0.0, 10.0, 20.0, 30.0])
    cup = np.array([[0.0, 0.0], [-3e-3, 1e-3], [2e-3, -2e-3], [9e-3, 9e-3]])
    made = settle._largest(0.6, days, cup, np.array([20.0, 10.0]))
    assert made.signed.value == -3e-3
    assert made.day is not None
    assert (made.day.value, made.width) == (10.0, 0.6)
    both = settle._largest(0.6, days, cup[:, 1:], np.array([20.0]))
    assert both.signed.value == -2e-3
    # Settled at once it still has its first step.
    first = settle._largest(0.6, days, cup[:, 1:], np.array([0.0]))
    assert first.signed.value == 1e-3
    yearly = settle._yearly(0.6, DAYS, 1e-3 * wave(100.0), np.intp(100))
    assert yearly.month == int(100.0 // MONTH) + 1
    assert yearly.signed.value == pytest.approx(0.012, abs=1e-5)


def test_of_the_yearly_cups_the_larger_in_amount_comes_first() -> None:
    up, down = settle.Cup(Figure(0.002), 0.6), settle.Cup(Figure(-0.003), 0.6)
    told: Any = SimpleNamespace(cup_yearly_up=up, cup_yearly_down=down)
    first: Any = settle.Settled.cup_yearly
    assert first.fget(told) == settle.YearlyCup(down, up)
    even: Any = SimpleNamespace(cup_yearly_up=up, cup_yearly_down=settle.Cup(Figure(-0.002), 0.6))
    assert first.fget(even).larger == up


# Fit to be worked.


def fitness(shell: float, core: float, settled: float, year: tuple[float, float]) -> Any:
    return settle._fitness(
        np.array([shell, core, shell]), np.array([0.25, 0.5, 0.25]), settled, np.array(year)
    )


@pytest.mark.parametrize(
    ("shell", "core", "settled", "year", "why"),
    [
        (8.0, 9.9, 9.0, (8.0, 10.0), ["even-and-near"]),
        (8.0, 10.1, 9.0, (8.0, 10.0), ["uneven"]),  # 2 % apart (common practice)
        (9.0, 9.0, 9.0, (8.0, 10.0), ["taken-even-and-near"]),
        (9.0, 9.06, 9.0, (8.0, 10.0), ["even-and-near"]),
        (9.0, 9.04, 9.0, (8.0, 10.0), ["taken-even-and-near"]),
        # 1.5 % from what the year makes of it, and half a point beyond its extremes.
        (10.6, 10.6, 9.0, (8.5, 10.0), ["wetter"]),
        (10.4, 10.4, 9.0, (8.5, 9.5), ["taken-even-and-near"]),
        (10.6, 10.6, 9.0, (8.5, 10.2), ["taken-even-and-near"]),
        (7.4, 7.4, 9.0, (8.0, 10.0), ["drier"]),
        (7.6, 7.6, 9.0, (8.5, 10.0), ["taken-even-and-near"]),
        (7.4, 7.4, 9.0, (7.8, 10.0), ["taken-even-and-near"]),
        (7.0, 12.0, 5.0, (4.0, 6.0), ["uneven", "wetter"]),
    ],
)
def test_fit_to_work_is_even_and_near(
    shell: float, core: float, settled: float, year: tuple[float, float], why: list[str]
) -> None:
    made = fitness(shell, core, settled, year)
    assert [one.code for one in made.reasons] == why
    assert made.ready is (not {"uneven", "wetter", "drier"} & set(why))
    assert made.largest_difference == pytest.approx(core - shell)
    assert made.distance == pytest.approx(0.5 * (shell + core) - settled)
    for one in made.reasons:
        if one.code in ("wetter", "drier"):
            assert one.figures["by"] == pytest.approx(abs(made.distance))
    if made.ready:
        way = "wetter" if made.distance > 0.0 else "drier"
        assert made.reasons[0].figures["way"] == way


# Notes.


def years(**more: Any) -> Any:
    told: dict[str, Any] = {
        "followed": SimpleNamespace(days=np.array([10.0, 10.0 + 2.0 * YEAR])),
        "periodic": SimpleNamespace(mean=np.full((3, 2), 8.0)), "miss": 0.0, "otherwise": 8.0,
    }  # fmt: skip
    return SimpleNamespace(**(told | more))


def test_how_it_came_is_told_from_a_tenth_of_a_point() -> None:
    for otherwise, said in ((8.09, False), (8.11, True), (7.89, True)):
        for came in ("drying", "wetting", "unknown"):
            told = settle._remembered(came, years(otherwise=otherwise))
            assert [one.code for one in told] == ([f"came-{came}"] if said else [])
            if said:
                assert told[0].figures["apart"] == pytest.approx(abs(otherwise - 8.0))
    assert [one.code for one in settle._remembered("mean", years())] == ["mean-curve"]


def test_notes_of_settling_from_either_side() -> None:
    def codes(moisture: Any = 9.0, within: float = 100.0, **more: Any) -> dict[str, Any]:
        made = settle._notes(
            OAK, moisture, ROOM, years(**more), [np.zeros(1), np.array([within, 5.0])]
        )
        return {one.code: one.figures for one in made}

    assert {"times-weak", "cup-elastic", "yearly-theory", "moisture-even"} <= set(codes())
    assert "moisture-even" in codes(9)
    assert "moisture-even" not in codes(ShellCore(8.0, 9.0))
    assert codes()["times-weak"]["factor"] == OAK.species.transport_spread
    assert "slow-extrapolated" not in codes(within=730.0)
    assert codes(within=731.0)["slow-extrapolated"] == {"years": pytest.approx(2.0)}
    assert "year-not-found" not in codes(miss=CENTRAL_MISS)
    assert "year-not-found" in codes(miss=1.01 * CENTRAL_MISS)


def test_what_keys_meet_of_a_wet_core_is_less_where_the_shell_was_pressed() -> None:
    # Keys lie in the face nearer the bark; a casehardened slab's shell is pressed (practice), that
    # of one with reverse set is pulled already.
    wet, faces = 16.0, Faces(Face(0.0), Face(0.0))
    pull = [
        stiffening._wet_core(
            replace(OAK, brought=None if skin == 0.0 else Brought(skin)),
            wet,
            faces,
            ROOM,
            0.0,
            0.01,
        )
        for skin in (-4.0e-4, 0.0, 4.0e-4)
    ]
    assert pull[0] < pull[1] < pull[2]


# Bars.


SCREW = Fastener("threaded_insert", 0.0127, 0.025)
FLAT = Stiffeners(bars.flat(0.04, 0.006), stiffeners.evenly(4, 1.8), (0.06, 0.3, 0.54), SCREW)


@pytest.mark.parametrize(
    ("guess", "enough", "wanted"),
    [(3, 3, 3), (3, 5, 5), (5, 2, 2), (0, 0, 0), (2, 0, 0), (4, 99, None)],
)
def test_the_least_number_of_bars_is_found_from_any_guess(
    guess: int, enough: int, wanted: int | None
) -> None:
    amounts = np.where(np.arange(MOST_BARS + 1) < guess, 0.002, 0.0009)[:, None]
    found = stiffening._least(amounts, 0.001, lambda count: count >= enough)
    assert found == wanted
    # None at all seems enough by the guess: it begins at the most there may be.
    never = np.full((MOST_BARS + 1, 1), 0.002)
    assert stiffening._least(never, 0.001, lambda count: count >= enough) == wanted


def test_nine_of_ten_cases_take_the_tenth_not_the_central_one() -> None:
    by = grip(OAK, FLAT, 8.0, 0.0)

    def follow(count: int) -> Any:
        # The central case: 4 mm over (count + 1); of ten draws one is twice that.
        cups = np.full(12, 0.004 / (count + 1))
        cups[10:] *= 2.0
        return cups[None]

    free = np.full((1, 12), 0.004)
    needed, careful = stiffening._wanted(OAK, by, free, follow, 0.001)
    assert (needed, careful) == (3, 7)
    assert stiffening._wanted(OAK, by, free, follow, None) == (None, None)
    # One that stands above it needs one at least, whatever one would leave.
    assert stiffening._wanted(OAK, by, free, follow, 0.0039)[0] == 1
    # A slab that stands at its limit today needs no bar.
    assert stiffening._wanted(OAK, by, free, follow, 0.004) == (0, 0)


def test_stress_of_a_bar_s_outermost_fibre() -> None:
    # Flat 40 x 6 mm on its side: I = 40 x 6^3/12 = 720 mm4, 3 mm out: 100 N m is 417 MPa.
    made = stiffening._bar_stress(bars.flat(0.04, 0.006), np.array([-100.0]))
    assert made is not None
    assert made[0] == pytest.approx(100.0 * 0.003 / 720e-12)
    tee = bars.tee(0.05, 0.05, 0.006)
    section = tee.section
    farthest = max(section.centroid, section.height - section.centroid)
    assert farthest > 0.5 * section.height
    stress = stiffening._bar_stress(tee, np.array([100.0]))
    assert stress is not None
    assert stress[0] == pytest.approx(100.0 * farthest / section.second_moment)


def test_the_largest_keeps_its_sign() -> None:
    values = np.array([[1.0, -1.0], [-3.0, 2.0], [2.0, 0.0]])
    assert stiffening._largest(values).tolist() == [-3.0, 2.0]


def noted(stiff: Stiffeners = FLAT, cup: float = 0.0, limit: float | None = None) -> dict[str, Any]:
    by = grip(OAK, stiff, 8.0, cup)
    return {one.code: one.figures for one in stiffening._notes(OAK, stiff, by, cup, limit)}


def test_notes_of_bars_from_either_side() -> None:
    assert {"bars-slide", "bar-forces-weak", "pull-by-contact"} <= set(noted())
    assert not {"bars-draw-flat", "bars-shimmed", "groove-weakens"} & set(noted())
    assert "bars-draw-flat" in noted(cup=-0.002)
    shimmed = replace(FLAT, shimmed=True)
    assert "bars-shimmed" in noted(shimmed, 0.002)
    assert "cupped-beyond-the-limit" in noted(shimmed, -0.002, 0.0019)
    assert "cupped-beyond-the-limit" not in noted(shimmed, -0.002, 0.0021)
    assert "cupped-beyond-the-limit" not in noted(cup=-0.002, limit=0.001)
    grooved = noted(replace(FLAT, recess=0.009))["groove-weakens"]
    # A fifth of the thickness: 0.8^2 is left of what a strip bears.
    assert grooved["rest"] == pytest.approx(64.0)
    assert 0.0 < grooved["taken"] < 100.0


def test_an_edge_far_beyond_its_last_fixing_rises_and_is_told() -> None:
    # 10 mm over 0.6 m: 4 x 10 x (b/600)^2 is half a millimetre at 67 mm.
    for out, said in ((0.066, False), (0.068, True)):
        placed = replace(FLAT, across=(out, 0.3, 0.6 - out))
        for cup in (0.010, -0.010):
            told = noted(placed, cup)
            assert ("edge-beyond-fixing" in told) is said
        if said:
            figures = told["edge-beyond-fixing"]
            assert figures["rise"] == pytest.approx(0.5e-3, rel=0.04)
            assert figures["beyond"] == pytest.approx(out)
        assert "edge-beyond-fixing" not in noted(replace(placed, shimmed=True), 0.010)
    one_side = noted(replace(FLAT, across=(0.02, 0.3, 0.45)), 0.010)["edge-beyond-fixing"]
    assert one_side["beyond"] == pytest.approx(0.15)
    assert "edge-beyond-fixing" not in noted(replace(FLAT, across=(0.068, 0.3, 0.532)))


def test_bars_too_far_apart_are_told() -> None:
    apart = noted(replace(FLAT, along=(0.1, 1.7)))
    assert apart["bars-far-apart"]["apart"] > apart["bars-far-apart"]["reach"]
    assert "bars-far-apart" not in noted(replace(FLAT, along=stiffeners.evenly(12, 1.8)))


def test_spacing_of_the_bars_needed() -> None:
    told: Any = SimpleNamespace(layout=SimpleNamespace(count=4, strip=0.45))
    apart: Any = stiffening.Stiffened._apart
    assert apart(told, 6) == pytest.approx(0.3)
    assert apart(told, 0) is None
    assert apart(told, None) is None


def test_what_cannot_be_held_is_refused() -> None:
    faces: Any = None
    with pytest.raises(ValueError, match="length"):
        stiffening.stiffen(replace(OAK, length=None), 8.0, faces, ROOM, 0.0, FLAT)
    for across in ((-0.01, 0.3), (0.3, 0.61)):
        with pytest.raises(ValueError, match="within the width"):
            stiffening.stiffen(OAK, 8.0, faces, ROOM, 0.0, replace(FLAT, across=across))


def test_of_the_plan_of_fixings_all_is_said_but_for_the_line_that_stays_put() -> None:
    notes = [SimpleNamespace(code=one) for one in ("through", "no-point-on-the-fixed-line")]
    plan: Any = SimpleNamespace(notes=notes)
    assert [one.code for one in stiffening._of_fixings(plan)] == ["through"]
    assert stiffening._of_fixings(None) == []
