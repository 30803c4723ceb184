"""Verdicts of flattening and of bars, from either side of what decides them."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from model import spread
from model.answers import load, movement, settle, stiffening
from model.answers.diagnosis import tried
from model.answers.diagnosis.history import History
from model.answers.flattening import flatten, treatments
from model.answers.flattening.plan import CAME, Case, Plan, stays_of
from model.answers.flattening.treatments import Treatment
from model.behaviour import (
    bars,
    course,
    edges,
    keys,
    rings,
    shape,
    shrinkage,
    stiffeners,
    transport,
)
from model.behaviour.course import Course, Stay
from model.behaviour.keys import Key, KeysAlong
from model.behaviour.slab import Depths, Moisture, Slab
from model.behaviour.stiffeners import Stiffeners
from model.codes import Said
from model.properties import finishes, species, strength
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.properties.strength import Bent
from model.surroundings import room
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

OAK = species.find("white oak")
WALNUT = Slab(species.find("black walnut"), 0.6, 0.05, 1.8, ring_angle=0.0)
BARE = Faces(finishes.face("bare"), finishes.face("bare"))
ROOM = room.constant(21.0, 43.0)
DRY = room.constant(21.0, 20.0)


def case(cup: float = 0.010, moisture: Moisture = 8.1) -> Case:
    return Case(WALNUT, cup, moisture, BARE, ROOM, 0.0, spread.draw(0))


def made(breaks: float = 0.0, **figures: Any) -> Treatment:
    nothing = np.zeros(1)
    told: dict[str, Any] = {
        "way": "plan", "does": Said("plan"), "days": 30.0, "released": nothing,
        "after_year": nothing, "after_year_held": None, "largest_in_year": nothing,
        "index": nothing, "bends": Bent(nothing, nothing, breaks), "in_steps": False,
        "thickness_lost": 0.0, "width_lost": 0.0, "clamping": None, "thickness_left": 0.05,
    }  # fmt: skip
    return Treatment(**{**told, **figures})


@pytest.mark.parametrize(
    ("breaks", "helps", "says"),
    [
        # Hardly breaks: by whether it helps.
        (0.149, 0.851, "yes"), (0.149, 0.85, "cannot-tell"), (0.0, 0.15, "cannot-tell"),
        (0.0, 0.149, "no"),
        # May break: only where it is likelier to help.
        (0.15, 0.9, "risky"), (0.5, 0.51, "risky"), (0.5, 0.5, "no"), (0.5, 0.49, "no"),
        (0.85, 0.9, "risky"), (0.851, 1.0, "no"),
    ],
)  # fmt: skip
def test_what_chances_of_breaking_and_helping_come_to(
    breaks: float, helps: float, says: str
) -> None:
    assert flatten.judge(case(), made(breaks), helps) == says


def test_neither_a_small_cup_nor_a_slab_damp_on_one_face_is_flattened() -> None:
    # A six hundredth of the width is 1 mm; 1.5 % M from face to face must first even out.
    assert flatten.judge(case(0.00101), made(), 1.0) == "yes"
    assert flatten.judge(case(-0.00099), made(), 1.0) == "no"
    for difference, says in ((1.49, "yes"), (1.51, "no")):
        uneven = Depths((0.0, 0.05), (8.0 + difference, 8.0))
        assert flatten.judge(case(moisture=uneven), made(), 1.0) == says


def test_a_way_is_bearable_below_15_percent() -> None:
    assert made(0.149).bearable
    assert not made(0.15).bearable


def test_ways_are_ranked_by_their_largest_cup_of_the_year_over_the_draws() -> None:
    cups = np.array([9.0, -0.002, 0.004])  # the central case is no draw
    assert made(largest_in_year=cups, after_year=0.0 * cups).expected == pytest.approx(0.003)
    alone = made(largest_in_year=np.array([-0.005]))
    assert alone.expected == pytest.approx(0.005)


def test_strips_are_glued_up_to_a_panel_as_wide_as_the_slab() -> None:
    work = treatments.rip(case(0.010))
    # 10 mm go to four strips of a sixteenth of it each; faces bend the whole panel.
    assert (work.strips, work.case.slab.width) == (4, 0.6)
    assert work.case.cup == pytest.approx(0.010 / 16.0)
    assert work.width_lost == pytest.approx(3 * 0.006)


def test_bars_tell_what_the_plan_of_their_fixings_says() -> None:
    # 40 mm of thread over 19 mm of wood, 5 mm from the edge.
    slab = Slab(species.find("black walnut"), 0.6, 0.019, 1.8, ring_angle=0.0)
    insert = Fastener("threaded_insert", 0.012, 0.040, shank=0.008)
    placed = Stiffeners(
        bars.flat(0.04, 0.006), stiffeners.evenly(6, 1.8), (0.005, 0.3, 0.595), insert
    )
    found = stiffening.stiffen(slab, 9.0, BARE, ROOM, 0.0, placed, days=30.0)
    assert {"thread-clipped", "edge-distance", "through"} <= {note.code for note in found.notes}
    assert found.pulls is not None
    assert found.pulls.anchors[0].thread == pytest.approx(0.019)
    assert "no-point-on-the-fixed-line" not in {note.code for note in found.notes}


def test_a_hand_that_only_waits_breaks_nothing() -> None:
    waiting = treatments.wait(case(), ROOM)
    assert not waiting.in_steps
    assert treatments.chance_of_breaking(case(), waiting.stays) == 0.0


def test_a_plan_that_the_draws_break_is_not_proposed(monkeypatch: pytest.MonkeyPatch) -> None:
    # The central case bears plans that the draws of strength may not: the first that these bear
    # is proposed; where they bear none, the one that strains the central case least.
    asked = []

    def chance(_case: Case, stays: list[Stay]) -> float:
        asked.append(stays)
        return 0.5 if len(asked) < 2 else 0.149

    monkeypatch.setattr(treatments, "chance_of_breaking", chance)
    chosen = flatten.propose(case(), ROOM)
    assert len(asked) == 2
    assert stays_of(case(), chosen)[-1].hold == asked[1][-1].hold


def wetted(moisture: Moisture, hours: float, air: Room = DRY) -> flatten.Uptake:
    here = case(moisture=moisture)
    stays = stays_of(here, Plan("round", hours, 14.0, 1.0, None, air))
    series = course.run(WALNUT, moisture, stays, here.samples, came=CAME, cup=here.cup)
    return flatten._uptake(here, series, stays[0], here.round)


def test_water_taken_up_is_not_lessened_by_what_the_other_face_loses() -> None:
    # The wet face takes up the same whether the air dries the other face or dampens it; of the
    # whole slab's water two thirds would be left in the dry air and more be there in the damp.
    taken = [
        float(wetted(16.0, 8.0, room.constant(21.0, humidity)).per_area[0])
        for humidity in (20.0, 43.0, 75.0)
    ]
    assert taken == pytest.approx(3 * [taken[0]], rel=0.01)
    assert taken[0] > 0.1
    found = wetted(8.1, 1.0)
    assert found.whole == pytest.approx(float(found.per_area[0]) * 0.6 * 1.8)


def test_wet_down_to_counts_from_the_wet_face_and_not_what_was_damp_before() -> None:
    # The round face is the bottom one (edges up); the top was damper by 6 % before.
    even, damp_on_top = wetted(8.1, 8.0), wetted(Depths((0.0, 0.05), (14.1, 8.1)), 8.0)
    assert 0.0 < even.depth < 0.015
    assert damp_on_top.depth == pytest.approx(even.depth, rel=0.3)


def test_a_short_bar_holds_less_than_one_from_edge_to_edge() -> None:
    whole = Stiffeners(bars.flat(0.04, 0.006), stiffeners.evenly(6, 1.8), (0.2, 0.3, 0.4))
    held = [
        # Edges down, the bar's ends press on the slab; drawn up, the fixings alone hold it.
        stiffeners.grip(WALNUT, replace(whole, length=length), 8.0, -0.01).bar
        for length in (0.598, 0.3)
    ]
    assert held[1] < 0.9 * held[0]


def test_all_ways_end_on_the_same_day() -> None:
    # One is done in a day, the other in thirty; the year of both begins when the later is done.
    here = case()
    for days in (1.0, 30.0):
        stay = Stay(ROOM.air, days, BARE)
        _, done, free = treatments.treat(treatments.Work(here, Said("wait"), (stay,)), 30.0)
        assert float(done.days[-1]) == pytest.approx(days)
        assert days + float(free.days[-1]) == pytest.approx(30.0 + YEAR)


def test_of_what_water_and_clamps_do_the_draws_promise_from_a_third_to_more_than_all() -> None:
    # Nothing was measured of it: 0.3 to 1.3 of the 10 mm that the plan takes out come.
    draws = 65
    stays: dict[str, Any] = dict.fromkeys(CUPS, np.full(draws, 0.010))
    goes: dict[str, Any] = dict.fromkeys(CUPS, np.zeros(draws))
    waiting, done = made(way="wait", **stays), made(way="plan", **goes)
    told = treatments.tempered(done, waiting)
    for name in CUPS:
        left = 1e3 * getattr(told, name)
        assert left[0] == 0.0
        assert left[1:].min() == pytest.approx(-3.0, abs=0.3)
        assert left[1:].max() == pytest.approx(7.0, abs=0.3)
        assert np.median(left[1:]) == pytest.approx(2.0, abs=0.3)
    planed = replace(done, way="dress")
    assert treatments.tempered(planed, waiting) is planed


CUPS = ("released", "after_year", "largest_in_year")


def test_warmth_softens_wood_more_than_it_weakens_it() -> None:
    # At 50 degC 70 % of the modulus and 79.9 % of the strength are left (Wood Handbook Tables 5-14
    # and 5-15, trends, memory): by as much the stress index falls of a slab bent while it is warm.
    shown = [
        float(strength.bent(np.full((1, 1), 2e6), 5.5e6, 0.06, np.full((1, 1), 12.0), at).index[0])
        for at in (np.array([20.0]), np.array([50.0]), np.array([90.0]))
    ]
    assert shown[1] / shown[0] == pytest.approx(0.70 / 0.799)
    assert shown[2] == pytest.approx(shown[1])
    done = SimpleNamespace(
        temperature=np.array([20.0, 50.0]),
        index_top=np.array([[0.5], [1.0]]),
        index_bottom=np.array([[0.9], [0.4]]),
    )
    # 0.9 at 20 degC, 1.0 x 0.876 at 50.
    assert float(treatments._skin(cast(Course, done))[0]) == pytest.approx(0.9)
    done.index_top[1] = 1.2
    skin = float(treatments._skin(cast(Course, done))[0])
    assert skin == pytest.approx(1.2 * 0.70 / 0.799)


@pytest.mark.parametrize("least", [0, 1, 3, 5, 7, 60])
def test_the_least_number_of_bars_is_found_from_either_side(least: int) -> None:
    # By the elastic cups five would do; followed, it may be fewer or more.
    elastic = np.linspace(0.010, 0.0, stiffeners.MOST_BARS + 1)[:, None]
    limit = float(elastic[5, 0])
    assert stiffening._least(elastic, limit, lambda count: count >= least) == least
    assert stiffening._least(elastic, limit, lambda count: False) is None


def test_held_flat_a_heart_in_the_slab_asks_ten_times_as_much_of_a_key() -> None:
    # 5.2 and 51.6 kN a metre (by hand, see test_holding_rules), pith 10 mm inside of 50.
    inside = Slab(OAK, 0.6, 0.05, 2.0, pith_below=-0.010)
    key = Key(0.100, 0.025, 0.050, 0.025, OAK)
    free, flat, half = (
        float(keys.tie(inside, along, 9.0, 7.0, spread.draw(0), flattened=share).by_drying[0])
        for along, share in (
            (KeysAlong(key, 4, 1.0), None),
            (KeysAlong(key, 4, 1.0, "flat"), None),
            (KeysAlong(key, 4, 1.0), 0.5),
        )
    )
    assert flat / free == pytest.approx(51.6 / 5.2, rel=0.01)
    assert half == pytest.approx(0.5 * (free + flat))


@pytest.mark.parametrize(
    ("below", "warned"), [(-0.011, False), (-0.014, True), (-0.024, True), (0.01, False)]
)
def test_a_heart_in_the_middle_half_of_the_thickness_is_warned_of(
    below: float, warned: bool
) -> None:
    slab = Slab(OAK, 0.6, 0.05, 2.0, pith_below=below)
    found = movement.movement(slab, 12.0, 7.0)
    assert ("boxed-heart" in {note.code for note in found.notes}) is warned
    assert found.rings is not None
    # Its V: (W/2)(pi/2)(e_R - e_T), by the strains of the handbook's shrinkages (derived).
    strains = [
        float(shrinkage.strain(total, 30.0, 12.0, 7.0)) for total in (OAK.tangential, OAK.radial)
    ]
    if below < 0.0:
        rise = 0.3 * np.pi / 2.0 * (strains[1] - strains[0])
        assert found.rings.v_rise == pytest.approx(rise, rel=1e-6)
    else:
        assert found.rings.v_rise is None


def test_twist_is_told_where_spiral_grain_and_pith_are() -> None:
    slab = Slab(OAK, 0.6, 0.05, 2.0, pith_below=0.075)
    told = movement.movement(slab, 12.0, 7.0, spiral_grain=3.0).crooked
    assert told is not None
    assert told.twist is not None
    # 2 L e_T theta/(r (1 + e_T)), Stevens & Johnston 1960 (memory): 100 mm from the pith.
    along = abs(float(shrinkage.strain(OAK.tangential, 30.0, 12.0, 7.0)))
    assert told.twist == pytest.approx(2.0 * 2.0 * along * 3.0 / (0.1 * (1.0 + along)), rel=1e-3)
    for other in (movement.movement(slab, 12.0, 7.0),
                  movement.movement(WALNUT, 12.0, 7.0, spiral_grain=3.0)):  # fmt: skip
        assert other.crooked is not None
        assert other.crooked.twist is None


def test_a_short_wide_key_splits_the_slab_from_its_pocket() -> None:
    # EN 1995-1-1 8.1.4 (memory): b 25, h_e 15, h 300: 14 x 25 sqrt(15/(1 - 15/300)) = 1,391 N,
    # 0.54 of it to rely on; its flanks, 50 x 25 mm, would bear 1.9 kN.
    found = keys.capacity(Key(0.030, 0.030, 0.080, 0.025, OAK), OAK, 0.6)
    assert found.weakest == "slab-splits"
    assert found.allowable == pytest.approx(0.54 * 1391.0, rel=1e-3)


@pytest.mark.parametrize(
    ("thickness", "says"),
    # White oak, somebody of 1300 N 0.3 m outside the support: the middle of an edge bears him from
    # 35 mm, a corner from 54 (by hand, see test_holding_rules).
    [(0.034, "does-not"), (0.036, "not-at-a-corner"), (0.053, "not-at-a-corner"),
     (0.055, "bears-it")],
)  # fmt: skip
def test_who_may_sit_on_an_overhang(thickness: float, says: str) -> None:
    slab = Slab(OAK, 0.6, thickness, 2.0)
    assert load.bear(slab, 9.0, 0.3).verdict == says
    # Along a check nobody.
    found = load.bear(slab, 9.0, 0.3, checked=True)
    assert found.verdict == "does-not"
    assert "checked-overhang" in {note.code for note in found.notes}


def test_a_groove_near_the_load_takes_its_depth_from_the_overhang() -> None:
    # Within lambda = 1.93 of the overhang: 0.58 m.
    slab = Slab(OAK, 0.6, 0.060, 2.0)
    for away, says in ((0.57, "not-at-a-corner"), (0.59, "bears-it")):
        found = load.bear(slab, 9.0, 0.3, groove=0.010, groove_from_support=away)
        assert found.verdict == says


def test_width_and_thickness_share_the_area_that_is_lost() -> None:
    # Points go from (r, phi) about the pith to (r (1 + e_R), phi (1 + e_T)/(1 + e_R)), so that the
    # section keeps (1 + e_R)(1 + e_T) of its area (derived), however near the pith.
    for below in (0.03, 0.1, 1.0):
        slab = Slab(OAK, 0.6, 0.05, 2.0, pith_below=below)
        moved = shape.Strains(np.array(-0.020), np.array(-0.009), np.array(0.0), np.array(0.0))
        geometry = rings.rings(slab)
        width, thick = shape.width_of(geometry, moved), shape.thickness_of(slab, geometry, moved)
        # 1e-3: the middle of the thickness stands for all of it.
        assert float(width * thick) / 0.03 == pytest.approx(0.980 * 0.991, abs=1e-3)
        # The nearer the pith the less of the width is along the rings.
        assert 0.6 * 0.980 < float(width) < 0.6 * 0.991


def test_half_of_the_set_shows_in_the_width_and_the_draws_take_none_to_all() -> None:
    # No source says how much: 0 to 1, drawn evenly, the same share in every question.
    drawn = spread.draw(64).set_in_width
    assert drawn[0] == 0.5
    assert np.percentile(drawn[1:], [10.0, 50.0, 90.0]) == pytest.approx([0.1, 0.5, 0.9], abs=0.05)
    one = spread.draw(0)
    stay = Stay(DRY.air, 120.0, BARE)
    width = [
        float(course.run(WALNUT, 14.0, [stay], replace(one, set_in_width=share)).width[-1, 0])
        for share in (np.zeros(1), one.set_in_width, np.ones(1))
    ]
    assert width[1] == pytest.approx(0.5 * (width[0] + width[2]), abs=1e-9)
    assert abs(width[2] - width[0]) > 1e-4
    told = tried.Case(History(WALNUT, (stay,)), (stay,), transport.grid(0.05), (9.0, 1.0),
                      (0.5, 1.0), (0.0, 4e-4))  # fmt: skip
    theta = np.zeros((3, len(tried.NAMES)))
    theta[:, tried.NAMES.index("set_in_width")] = [-1.2816, 0.0, 1.2816]
    assert told.samples(theta).set_in_width == pytest.approx([0.1, 0.5, 0.9], abs=1e-4)


def test_ends_that_are_ahead_are_told_while_they_are() -> None:
    # Oak that came at 16 % to a room that holds 8: after 30 days its ends are drier, 5 cm deep or
    # more; where it came as dry as the room, they are not ahead.
    for came, told in ((16.0, True), (8.0, False)):
        notes = edges.ends_note(Slab(OAK, 0.6, 0.05, 2.0), np.array([30.0]), np.array([came]), 8.0)
        assert [note.code for note in notes] == (["ends-ahead"] if told else [])
        if told:
            assert notes[0].figures["way"] == "drier"
            assert 0.03 < float(notes[0].figures["zone"]) < 0.1
    settled = settle.settle(WALNUT, 16.0, BARE, DRY, 0.0, spread.draw(0))
    assert "ends-ahead" in {note.code for note in settled.notes}
