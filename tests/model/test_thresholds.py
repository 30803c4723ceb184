"""Each threshold of a verdict, limit and factor of fixings, keys and strength from either side."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model import spread
from model.behaviour import anchorage, bars, fixings, keys
from model.behaviour.keys import Key
from model.behaviour.slab import Slab
from model.properties import fasteners, species, strength
from model.properties.fasteners import Fastener, Withdrawal

OAK, PINE = species.find("white oak"), species.find("eastern white pine")
SCREW = Fastener("wood_screw", 0.008, 0.040)
LAG = Fastener("lag_screw", 0.008, 0.040)
INSERT = Fastener("threaded_insert", 0.012, 0.020)
NAIL = Fastener("nail", 0.004, 0.040)


def codes(made: Withdrawal) -> set[str]:
    return {note.code for note in made.notes}


def sized(name: str, size: float) -> dict[str, Any]:
    return {name: size}


def drawn(one: Fastener, moisture: float = 8.0, in_use: float = 8.0) -> Withdrawal:
    return fasteners.withdrawal(one, OAK, moisture, in_use)


# Fixings.
def test_every_kind_passes_and_no_other() -> None:
    for kind in ("wood_screw", "lag_screw", "threaded_insert", "nail"):
        assert Fastener(kind, 0.006, 0.03).kind == kind
    with pytest.raises(ValueError, match="a fixing is one of"):
        Fastener("staple", 0.006, 0.03)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["diameter", "thread", "shank", "depth", "head"])
def test_no_size_of_a_fixing_is_nothing_or_endless(name: str) -> None:
    for size in (0.0, -1e-3, math.inf):
        with pytest.raises(ValueError, match=f"the {name} of a fixing"):
            replace(SCREW, **sized(name, size))
    assert getattr(replace(SCREW, **sized(name, 1e-6)), name) == 1e-6


def test_what_is_left_out_of_a_fixing() -> None:
    assert SCREW.through == 0.008
    assert INSERT.through == pytest.approx(0.67 * 0.012)  # M8 in 12 mm (judgement)
    assert replace(INSERT, shank=0.008).through == 0.008
    assert SCREW.head_across == pytest.approx(0.016)
    assert replace(SCREW, head=0.02).head_across == 0.02
    assert (SCREW.hole, replace(SCREW, depth=0.045).hole) == (0.040, 0.045)


def test_wood_is_wet_above_19_percent() -> None:
    dry, wet = drawn(SCREW, 19.0, 19.0), drawn(SCREW, 8.0, 19.01)
    assert (dry.factors["wet"], wet.factors["wet"]) == (1.0, 0.7)
    assert "wet-service" not in codes(dry)
    assert "wet-service" in codes(wet)
    # A screw driven into wet wood that dries has its whole value; a nail has a quarter, either way.
    assert drawn(SCREW, 25.0, 8.0).factors["wet"] == 1.0
    assert [drawn(NAIL, *pair).factors["wet"] for pair in ((8, 25), (25, 8), (25, 25), (8, 8))] == [
        0.25, 0.25, 1.0, 1.0,
    ]  # fmt: skip


def test_end_grain_holds_lag_screws_alone() -> None:
    side, end = drawn(LAG), drawn(replace(LAG, grain="end"))
    assert side.allowable is not None
    assert end.allowable == pytest.approx(0.75 * side.allowable)
    assert side.test_mean is not None
    assert end.test_mean == pytest.approx((0.75 * side.test_mean[0], 0.75 * side.test_mean[1]))
    assert {"en1995-not-along"} <= codes(end)
    assert "no-end-grain-withdrawal" not in codes(end)
    assert end.en1995_characteristic is None
    assert end.huebner_characteristic is None
    none = drawn(replace(SCREW, grain="end"))
    assert none.reference is None
    assert none.allowable is None
    assert none.test_mean is None
    assert "no-end-grain-withdrawal" in codes(none)
    assert "en1995-not-along" not in codes(side)


def test_factors_of_a_withdrawal_multiply() -> None:
    made = drawn(INSERT)
    assert made.factors == {"duration": 0.9, "wet": 1.0, "end_grain": 1.0, "insert": 0.8}
    assert made.reference is not None
    assert made.allowable == pytest.approx(0.72 * made.reference)
    assert made.test_mean == pytest.approx((3.6 * made.reference, 4.56 * made.reference))
    assert made.en1995_characteristic is None
    assert "insert-judged" in codes(made)
    assert "insert-judged" not in codes(drawn(SCREW))
    european = drawn(SCREW)
    assert european.en1995_characteristic is not None
    assert european.en1995_design == pytest.approx(european.en1995_characteristic * 0.6 / 1.3)


def test_diameters_that_the_european_formulas_cover() -> None:
    for diameter, en1995, huebner in (
        (0.0059, False, False), (0.006, True, True), (0.012, True, True),
        (0.0121, False, True), (0.014, False, True), (0.0141, False, False),
    ):  # fmt: skip
        made = drawn(Fastener("wood_screw", diameter, 0.08))
        assert (made.en1995_characteristic is not None) is en1995, diameter
        assert (made.huebner_characteristic is not None) is huebner, diameter


def test_huebner_is_for_dense_hardwood() -> None:
    for gravity, softwood, fits in ((0.5, False, True), (0.499, False, False), (0.6, True, False)):
        wood = replace(OAK, specific_gravity=gravity, is_softwood=softwood)
        made = fasteners.withdrawal(SCREW, wood, 8.0, 8.0)
        assert (made.huebner_characteristic is not None) is fits


@pytest.mark.parametrize(("one", "least"), [(LAG, 4.0), (SCREW, 6.0), (NAIL, 6.0)])
def test_a_short_thread_is_told(one: Fastener, least: float) -> None:
    enough = replace(one, thread=least * one.diameter)
    assert "thread-short" not in codes(drawn(enough))
    short = drawn(replace(one, thread=0.999 * least * one.diameter))
    note = next(note for note in short.notes if note.code == "thread-short")
    assert note.figures["least"] == pytest.approx(least * one.diameter)


def test_distances_and_least_thickness_by_kind() -> None:
    # EN 1995-1-1 tables 8.2 and 8.6 (memory), in diameters; inserts by practice.
    for one, wanted in (
        (SCREW, (4.0, 10.0, 7.0, 12.0)), (LAG, (4.0, 10.0, 7.0, 12.0)),
        (NAIL, (5.0, 15.0, 10.0, 0.0)), (INSERT, (5.0, 5.0, 7.0, 0.0)),
    ):  # fmt: skip
        where = fasteners.place(one, 0.6)
        found = (where.edge, where.end, where.apart, where.least_thickness)
        assert np.array(found) / one.diameter == pytest.approx(wanted)


def test_pilot_holes() -> None:
    # NDS 12.1.4 to 12.1.6 (memory), over the diameter; on either side of 0.5 and of 0.6.
    for one, gravity, low, high, what in (
        (LAG, 0.50, 0.40, 0.70, "lag-screw"), (LAG, 0.51, 0.60, 0.75, "lag-screw"),
        (LAG, 0.60, 0.60, 0.75, "lag-screw"), (LAG, 0.61, 0.65, 0.85, "lag-screw"),
        (SCREW, 0.50, 0.0, 0.525, "soft-wood"), (SCREW, 0.51, 0.4875, 0.5625, "middling-wood"),
        (SCREW, 0.60, 0.4875, 0.5625, "middling-wood"),
        (SCREW, 0.61, 0.6375, 0.7125, "dense-wood"),
        (NAIL, 0.60, 0.0, 0.75, "nail"), (NAIL, 0.61, 0.75, 0.90, "nail"),
        (INSERT, 0.50, 0.84, 0.88, "insert"), (INSERT, 0.51, 0.88, 0.92, "insert"),
    ):  # fmt: skip
        where = fasteners.place(one, gravity)
        assert np.array(where.pilot) / one.diameter == pytest.approx((low, high)), (one, gravity)
        assert where.pilot_note == what


# What one fixing bears.
def anchored(from_edge: float, **more: object) -> anchorage.Anchor:
    where = fasteners.place(SCREW, 0.68)
    return anchorage.anchor(SCREW, drawn(SCREW), where, from_edge, **more)  # type: ignore[arg-type]


def test_wood_near_an_edge_bears_in_proportion_below_half_the_distance() -> None:
    full = fasteners.place(SCREW, 0.68).edge
    assert [anchored(share * full).edge for share in (0.0, 0.25, 0.5, 0.75)] == pytest.approx(
        [0.0, 0.5, 1.0, 1.0]
    )
    assert anchored(0.49 * full).weakest == "edge-splits"
    assert anchored(0.51 * full).weakest == "thread-draws"
    end = fasteners.place(SCREW, 0.68).end
    assert anchored(full, from_end=0.25 * end).edge == pytest.approx(0.5)
    assert anchored(0.25 * full, from_end=end).edge == pytest.approx(0.5)


def test_verdicts_turn_at_15_and_85_percent() -> None:
    for tears, of_allowable, says in (
        (0.149, 1.0, "hold"), (0.149, 1.001, "without-margin"), (0.15, 0.5, "may-tear"),
        (0.85, 0.5, "may-tear"), (0.851, 0.5, "will-tear"),
    ):  # fmt: skip
        assert anchorage.verdict(tears, of_allowable) == says


def test_a_thread_longer_than_the_wood_is_told() -> None:
    assert anchorage.threaded(SCREW, 0.040) is SCREW
    assert anchorage.threaded(SCREW, 0.030).thread == 0.030
    assert anchorage.clipped(SCREW, 0.040) == []
    assert [note.code for note in anchorage.clipped(SCREW, 0.0399)] == ["thread-clipped"]


# Slots and the plan of fixings.
def test_wood_over_a_blind_hole() -> None:
    assert fixings.least_left(0.048) == pytest.approx(0.008)
    assert fixings.least_left(0.060) == pytest.approx(0.010)
    assert fixings.least_left(0.024) == 0.008


def planned(points: tuple[float, ...], thickness: float = 0.06, **more: object) -> fixings.Fixings:
    slab = Slab(OAK, 0.6, thickness, 2.0, ring_angle=0.0)
    made: fixings.Fixings = fixings.plan(
        slab,
        9.0,
        6.0,
        12.0,
        points,
        SCREW,
        spread.draw(1),
        **more,  # type: ignore[arg-type]
    )
    return made


def said(made: fixings.Fixings) -> set[str]:
    return {note.code for note in made.notes}


def test_a_point_within_a_millimetre_of_the_fixed_line_is_fixed() -> None:
    on, off = planned((0.3009, 0.5)), planned((0.3011, 0.5))
    assert (on.fixed, off.fixed, off.nearest) == (0, None, 0)
    assert on.points[0].slot is None
    assert on.points[1].slot is not None
    assert "no-point-on-the-fixed-line" in said(off)
    assert "no-point-on-the-fixed-line" not in said(on)


def test_what_a_plan_warns_of_begins_where_it_says() -> None:
    # 8 mm screw: 32 mm from the edge, 80 mm from the end, slab 96 mm thick, 10 mm over the hole.
    assert "edge-distance" in said(planned((0.031, 0.3)))
    assert "edge-distance" in said(planned((0.569, 0.3)))
    assert "edge-distance" not in said(planned((0.032, 0.3, 0.568)))
    assert "end-distance" in said(planned((0.3,), from_end=0.079))
    assert "end-distance" not in said(planned((0.3,), from_end=0.080))
    assert "slab-thin-for-screw" in said(planned((0.3,), 0.095))
    assert "slab-thin-for-screw" not in said(planned((0.3,), 0.096))
    assert "through" in said(planned((0.3,), 0.040))
    assert "through" not in said(planned((0.3,), 0.041))
    assert "thin-under-show-face" in said(planned((0.3,), 0.0479))
    assert "thin-under-show-face" not in said(planned((0.3,), 0.0481))
    assert planned((0.3,), 0.06, recess=0.01).left_under_face == pytest.approx(0.010)


def test_fixings_lie_within_the_slab() -> None:
    assert len(planned((0.0, 0.6)).points) == 2
    for points, line in (((-0.001,), None), ((0.601,), None), ((), None), ((0.3,), 0.601)):
        with pytest.raises(ValueError, match="within the width"):
            planned(points, fixed_at=line)


# Strength.
def test_softening_begins_and_ends() -> None:
    assert [float(strength.warm_modulus(t)) for t in (10.0, 20.0, 30.0, 50.0, 60.0)] == (
        pytest.approx([1.0, 1.0, 0.9, 0.7, 0.7])
    )
    usual = float(strength.in_bending(5e6, 0.05))
    for moisture, factor in ((0.0, 1.264), (25.0, 0.714), (30.0, 0.714), (-5.0, 1.264)):
        found = float(strength.in_bending(5e6, 0.05, moisture=moisture))
        assert found / usual == pytest.approx(factor)
    assert float(strength.in_bending(5e6, 0.05, temperature=5.0)) == pytest.approx(usual)


def test_a_chance_counts_the_draws_and_doubts_where_there_are_none() -> None:
    # Log-normal: sigma^2 = ln(1 + cv^2), and 0.35 beside it where nothing was drawn.
    sigma = math.sqrt(math.log(1.09))
    alone = math.hypot(sigma, 0.35)
    assert strength.chance([math.exp(alone)], 1.0, 0.3) == pytest.approx(0.841345, abs=1e-5)
    assert strength.chance([9.0, math.exp(sigma)], 1.0, 0.3) == pytest.approx(0.841345, abs=1e-5)
    assert strength.chance([9.0, 1.0, 0.0], 1.0, 0.3) == pytest.approx(0.25)
    bears = np.array([1.0, 2.0])
    assert strength.chance([2.0, 2.0], bears, 0.3) == pytest.approx(0.5)


def test_what_bending_does_and_what_time_spares() -> None:
    made = strength.bent(
        np.array([[1e6], [-2e6]]), 5.5e6, 0.06, np.full((2, 1), 12.0), np.array([20.0, 20.0])
    )
    # Size at the central exponent 6.7, for a season: 1.58 MPa (worked in in_bending's example).
    assert made.stress[0] == pytest.approx(2e6)
    assert made.index[0] == pytest.approx(2.0 / 1.58, rel=4e-3)
    assert made.breaks == pytest.approx(strength.chance(made.index, 1.5, 0.30))
    assert made.breaks_in_steps == pytest.approx(strength.chance(made.index, 2.25, 0.30))
    assert made.breaks_in_steps < made.breaks


def test_warm_wood_is_bent_by_less_and_bears_less() -> None:
    # A kelvin takes 1 % of the modulus and 0.67 % of the strength: at 40 degC 0.8 and 0.866.
    cold, warm = (
        strength.bent(np.array([[2e6]]), 5.5e6, 0.06, np.full((1, 1), 12.0), np.array([warmth]))
        for warmth in (20.0, 40.0)
    )
    assert warm.stress[0] == pytest.approx(0.8 * cold.stress[0])
    assert warm.index[0] == pytest.approx(0.8 / 0.866 * cold.index[0])


def test_exponents_fill_their_range() -> None:
    drawn_ones = strength.exponents(64)
    assert drawn_ones[0] == 6.7
    assert 5.0 <= drawn_ones.min() < 5.2
    assert 9.8 < drawn_ones.max() < 10.0
    assert np.unique(np.floor(drawn_ones[1:])).size == 5
    # Evenly: the widest gap of a golden sequence is at most 1 + 2/sqrt 5 of the mean one (derived).
    for count in (32, 64, 128):
        ends = np.sort([5.0, *strength.exponents(count)[1:], 10.0])
        assert np.diff(ends).max() < 1.9 * 5.0 / count


def test_what_is_not_listed_is_predicted_and_said() -> None:
    bare = replace(OAK, tension_across=None, modulus=None)
    assert strength.of(bare).estimated == ("tension_across",)
    assert strength.of(bare).tension_across == pytest.approx(10.1e6 * OAK.specific_gravity**1.30)
    assert strength.of(OAK).estimated == ()
    assert strength.of(OAK).tension_along == pytest.approx(171.3e6 * OAK.specific_gravity**1.13)
    assert strength.modulus_along(bare) == pytest.approx(
        species.ALONG_OVER_BENDING * 16.5e9 * OAK.specific_gravity**0.70
    )
    assert strength.modulus_along(OAK) == OAK.modulus
    # Density at 12 %, 1120 G, over 1.2.
    assert strength.characteristic_density(0.6) == pytest.approx(560.0)


# Keys.
KEY = Key(0.100, 0.030, 0.060, 0.020, OAK)


def test_a_key_is_wider_at_its_wing_and_has_sizes() -> None:
    with pytest.raises(ValueError, match="wing must be wider"):
        replace(KEY, wing=0.030)
    assert replace(KEY, wing=0.0301).wing == 0.0301
    for name in ("length", "waist", "wing", "thickness"):
        for size in (0.0, math.inf):
            with pytest.raises(ValueError, match=f"the {name} of a key"):
                replace(KEY, **sized(name, size))


def test_parts_of_a_key_by_their_areas() -> None:
    own = strength.of(OAK)
    found = keys.capacity(KEY, OAK, 0.6)
    assert found.neck == pytest.approx(0.030 * 0.020 * own.tension_along)
    assert found.wing_shear == pytest.approx(0.100 * 0.020 * own.shear_along)
    assert found.slab_shear == pytest.approx(0.100 * 0.020 * own.shear_along)
    assert found.bearing == pytest.approx(0.030 * 0.020 * own.compression_across)
    # 14 b sqrt(h_e/(1 - h_e/h)) in N and mm: b 20, h_e 50, h 300.
    assert found.splitting == pytest.approx(14.0 * 20.0 * math.sqrt(50.0 / (1.0 - 50.0 / 300.0)))
    assert found.clear == pytest.approx(
        min(found.neck, found.wing_shear, found.slab_shear, found.bearing)
    )
    assert found.allowable == pytest.approx(min(found.clear / 4.5, 0.54 * found.splitting))
    assert found.lasting == pytest.approx(0.6 * min(found.clear, 1.4 * found.splitting))
    assert not found.estimated
    # With its grain along the check it parts across the grain; its wings shear 2.5 times as hard.
    turned = keys.capacity(replace(KEY, grain_across=False), OAK, 0.6)
    assert turned.neck == pytest.approx(0.030 * 0.020 * own.tension_across)
    assert turned.wing_shear == pytest.approx(2.5 * found.wing_shear)
    # A key nearly as long as the slab is wide: the root goes no higher than 1/0.05.
    wide = keys.capacity(KEY, OAK, 0.1001)
    assert wide.splitting == pytest.approx(14.0 * 20.0 * math.sqrt(50.0 / 0.05))


def test_what_drying_asks_of_keys_by_hand() -> None:
    # 0.40 u^2/(1 - k/2 - u/2), at most 0.13, times E e t: pith 10 mm inside a 50 mm slab.
    whole = 970e6 * 0.00438 * 0.05
    free = [float(keys.asked_free(970e6, 0.00438, 0.05, p, 0.025)) for p in (-0.01, 0.01, -0.045)]
    assert free == pytest.approx([whole * 0.40 * 0.04 / 0.65, 0.0, whole * 0.13])
    flat = float(keys.asked_flat(970e6, 0.00438, 0.05, 0.0, 0.025, 0.1))
    bend = (math.atan(1.0) + 0.5) / 0.025
    loose = 1.0 + 1.12 * 2.0**0.67
    assert flat == pytest.approx(970e6 * 0.00438 * 0.05**2 * 0.125 * bend * 0.90 / loose)
    near = float(keys.asked_flat(970e6, 0.00438, 0.05, -0.005, 0.040))
    bend = (math.atan(1.25) + 0.025 * 0.02 / (0.025**2 + 0.02**2)) / 0.025
    assert near == pytest.approx(970e6 * 0.00438 * 0.05**2 * 0.08 * bend * (0.90 - 0.12))
    # A key through all of the thickness leaves no lever; no deeper one has less.
    for depth in (0.050, 0.060):
        assert float(keys.asked_flat(970e6, 0.00438, 0.05, 0.0, depth)) == 0.0


def test_a_moment_on_keys() -> None:
    # Lever t - k/2 - u/3, at least t/10.
    assert keys.asked_by_load(100.0, 0.05, -0.015, 0.02) == pytest.approx(100.0 / 0.035)
    assert keys.asked_by_load(100.0, 0.05, 0.01, 0.02) == pytest.approx(100.0 / 0.040)
    assert keys.asked_by_load(100.0, 0.05, -0.09, 0.06) == pytest.approx(100.0 / 0.005)


def test_bars_yield_by_what_they_are_made_of() -> None:
    for modulus, yields in ((200e9, 235e6), (150e9, 235e6), (149e9, 160e6), (49e9, 30e6)):
        made = bars.Bar("flat", bars.compose([(0.05, 0.01, 0.0)]), modulus, 0.05)
        assert made.yields == yields


def test_a_slot_and_its_washers_by_the_rules_of_the_trade() -> None:
    # Common practice, no source: 1.25 of the movement, 2 mm at each end, 1 mm wider than the shank;
    # a washer three times the shank (ISO 7093, memory), one that hides the slot twice the rest.
    made = fixings.slot(0.25, 0.008, 0.002, 0.008)
    assert made.length == pytest.approx(0.008 + 1.25 * 0.25 * 0.010 + 0.004)
    assert made.width == pytest.approx(0.009)
    assert made.washer == pytest.approx(0.024)
    assert made.washer_covering == pytest.approx(2.0 * (made.length - 0.004))
    assert made.shank_from_inner_end == pytest.approx(0.004 + 0.002 + 0.0025)
    # What must be there passes the rule; where it is less it does not matter.
    more = fixings.slot(0.25, 0.008, 0.002, 0.008, least_in=0.004, least_out=0.003)
    assert more.length == pytest.approx(0.008 + 0.007 + 0.004)
    less = fixings.slot(0.25, 0.008, 0.002, 0.008, least_in=0.002, least_out=0.0005)
    assert less == made


def test_one_draw_is_enough_for_a_slot_to_make_room_for_it() -> None:
    slab = Slab(OAK, 0.6, 0.06, 2.0, ring_angle=0.0)
    driest = np.array([8.5, 5.0])  # the central case, and one that dries much further
    made = fixings.plan(slab, 9.0, driest, 9.0, (0.3, 0.55), SCREW, spread.draw(1))
    slot, moves = made.points[1].slot, made.points[1].moves_in
    assert slot is not None
    assert moves[1] > 2.0 * moves[0]
    assert slot.shank_from_inner_end == pytest.approx(0.004 + 0.002 + float(moves[1]))


def test_keys_bear_handling_at_least() -> None:
    # 2000 N a metre (judgement) where drying asks less: nothing dries here.
    slab = Slab(OAK, 0.6, 0.05, 2.0, ring_angle=0.0)
    made = keys.tie(slab, keys.KeysAlong(KEY, 4, 0.5), 9.0, 9.0, spread.draw(1))
    assert made.by_drying[0] == 0.0
    assert made.demand[0] == pytest.approx(250.0)
