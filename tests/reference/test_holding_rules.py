"""Rules of holding and flattening against worked figures, each by hand from the rule's own source.

White oak 600 x 50 x 2000 mm stands in them: E_T 970 MPa, 5.5 MPa across the grain in a test piece
(Wood Handbook FPL-GTR-190 Tables 5-1 and 5-3, memory), e_R - e_T 0.00438.
"""

from __future__ import annotations

import numpy as np
import pytest

from model.behaviour import (
    bars,
    brought,
    crooked,
    ends,
    holdings,
    keys,
    loads,
    restraint,
)
from model.behaviour.keys import Key
from model.behaviour.slab import Slab
from model.properties import fasteners, species, strength
from model.properties.fasteners import Fastener

OAK = species.find("white oak")
SLAB = Slab(OAK, 0.6, 0.05, length=2.0, ring_angle=0.0)
E_T, MISSING = 970e6, 0.00438


def test_ends_dry_by_the_square_root_of_time_and_a_coat_slows_them() -> None:
    # 2 sqrt(D_L time), D_L 13 D (12-15 printed): white oak at 20 degC.
    reached = [1e3 * ends.dried_zone(SLAB, days) for days in (90.0, 365.0)]
    assert reached == pytest.approx([94.0, 190.0], abs=1.0)
    long = Slab(OAK, 0.6, 0.05)
    assert 1e3 * ends.dried_zone(long, 1095.0) == pytest.approx(328.0, abs=3.0)
    # No farther than the middle of its length.
    assert ends.dried_zone(Slab(OAK, 0.6, 0.05, length=0.3), 1095.0) == pytest.approx(0.15)
    assert ends.left_by_coat(10.0, 0.1) == pytest.approx(0.14, abs=0.003)


def test_a_ripped_strip_tells_stress_along_the_grain() -> None:
    # Strain difference 8 d w/L^2 (derived): 25 mm wide, 1 m long, bow 3 mm: 6e-4; with half of it
    # and E_L of white oak, 1.1 x 12.3 GPa (Wood Handbook Table 5-3, memory), 4.1 MPa.
    strip = brought.Ripped(0.003, 1.0, 0.025)
    assert strip.difference == pytest.approx(6.0e-4, rel=1e-12)
    assert OAK.modulus is not None
    # 13.5 GPa: 4.05, two digits of the other.
    assert strip.stress(OAK.modulus) / 1e6 == pytest.approx(4.1, rel=0.015)


def test_a_strip_off_one_edge_leaves_the_crook_of_a_parabola_let_go() -> None:
    # The strain of the parabola summed over what is left, against the formula to the first order:
    # a strip of 2 % of the width is within 4 %.
    width, breadth = 0.6, 0.012
    strip = brought.Ripped(0.001, 1.0, breadth)
    edge = strip.difference / (1.5 * (1.0 - (1.0 - 2.0 * breadth / width) ** 2))
    left = np.linspace(-0.5 * width, 0.5 * width - breadth, 200_001)
    strain = edge * (3.0 * (2.0 * left / width) ** 2 - 1.0) / 2.0
    arm = left - left.mean()
    curvature = np.trapezoid(strain * arm, left) * 12.0 / (width - breadth) ** 3
    # 8 d w/L^2: of twice the length a quarter.
    assert brought.Ripped(0.001, 2.0, breadth).difference == pytest.approx(strip.difference / 4.0)
    told = strip.crook_left(width, 3.0)
    assert told == pytest.approx(abs(curvature) * 3.0**2 / 8.0, rel=0.04)


def test_a_slice_tells_the_stress_and_planing_what_it_does() -> None:
    # |s_s| = 4 E gap t/(3 l^2); form of CEN/TS 14464 (memory).
    made = brought.by_slice(0.001, 0.100, 0.050)
    assert abs(made.skin) * E_T / 1e6 == pytest.approx(6.47, abs=0.01)
    assert 1e3 * brought.cup_by_planing(made, 0.002, 0.6, 0.05) == pytest.approx(1.44, abs=0.01)


def test_a_slab_bent_flat_against_its_strength() -> None:
    # 4 E t c/W^2: 5.4 MPa at 10 mm.
    stress = 4.0 * E_T * 0.05 * 0.010 / 0.6**2
    assert stress / 1e6 == pytest.approx(5.4, abs=0.02)
    volume = 0.6 * 0.05 * 2.0
    bears = [float(strength.in_bending(5.5e6, volume, exponent=m)) / 1e6 for m in (5.0, 6.7, 10.0)]
    assert bears == pytest.approx([1.06, 1.58, 2.30], abs=0.01)
    assert stress / 1e6 / bears[1] == pytest.approx(3.4, abs=0.05)
    # Index 1 at 2.9 mm.
    assert 1e3 * bears[1] * 1e6 * 0.6**2 / (4.0 * E_T * 0.05) == pytest.approx(2.9, abs=0.05)
    # By the exponent of EN 1995 a 5.5 MPa piece becomes 1.15 MPa at 0.01 m3, without bending.
    by_size = 5.5 * (strength.TEST_VOLUME / 0.01) ** 0.2
    assert by_size == pytest.approx(1.15, abs=0.01)


def test_water_and_warmth_soften_wood_more_than_they_weaken_it() -> None:
    # Wood Handbook trends (memory): -2.2 % a percent and -0.67 % a kelvin, to 25 % and 50 degC.
    dry = float(strength.in_bending(5.5e6, 0.06))
    damp = float(strength.in_bending(5.5e6, 0.06, moisture=16.0))
    hot = float(strength.in_bending(5.5e6, 0.06, temperature=50.0))
    assert damp / dry == pytest.approx(1.0 - 0.088, abs=1e-6)
    assert hot / dry == pytest.approx(1.0 - 0.201, abs=1e-6)
    assert float(strength.warm_modulus(50.0)) == pytest.approx(0.70)
    for beyond in (60.0, 90.0):
        assert float(strength.in_bending(5.5e6, 0.06, temperature=beyond)) == pytest.approx(hot)


def test_a_steel_angle_under_a_cupped_slab() -> None:
    # Steel angle 40 x 40 x 5 (I 55,615 mm4), a strip of 667 mm, cup 10 mm, fixings 500 mm apart.
    angle = bars.angle(0.040, 0.040, 0.005)
    assert angle.section.second_moment * 1e12 == pytest.approx(55_615.0, abs=5.0)
    wood = E_T * (2.0 / 3.0) * 0.05**3 / 12.0
    free = 8.0 * 0.010 / 0.6**2
    left = free * wood / (wood + angle.stiffness)  # two beams bent to one curvature
    moment = left * angle.stiffness
    assert moment == pytest.approx(933.0, abs=1.5)
    assert 1e3 * left * 0.6**2 / 8.0 == pytest.approx(3.77, abs=0.01)
    assert float(restraint.outer_pull(moment, 0.5)) / 1e3 == pytest.approx(5.6, abs=0.01)
    moved = E_T * 0.05 / 2.0 * (free - left)
    assert moved / 1e6 == pytest.approx(3.36, abs=0.02)
    assert moved / float(strength.in_bending(5.5e6, 0.06)) == pytest.approx(2.1, abs=0.05)
    # An edge beyond the last fixing rises half a millimetre at 67 mm.
    assert 1e3 * restraint.farthest_from_edge(free) == pytest.approx(67.0, abs=0.1)
    # Two outer fixings, the middle bearing: the contact bears as the rule by hand, its fixings
    # stretch a little.
    held = restraint.contact(
        free,
        (wood, angle.stiffness),
        0.6,
        (0.0, 0.6),
        (0.05, 0.3, 0.55),
        restraint.axial_slip(0.008, 0.030),
    )
    assert held.pulls[0] == pytest.approx(float(restraint.outer_pull(moment, 0.5)), rel=0.15)


def test_screws_heads_bolts_and_washers() -> None:
    # EN 1995-1-1 8.7.2 (memory), design x 0.7/1.3; approvals' head.
    drawn = fasteners.en1995_withdrawal(600.0, 0.008, 0.040)
    assert drawn / 1e3 == pytest.approx(6.79, abs=0.01)
    assert drawn * 0.7 / 1.3 / 1e3 == pytest.approx(3.66, abs=0.01)
    assert fasteners.head_pull_through(0.015, 600.0) / 1e3 == pytest.approx(4.16, abs=0.01)
    bolt = Fastener("threaded_insert", 0.010, 0.020, shank=0.006)
    assert fasteners.bolt_tension(bolt, 800e6) / 1e3 == pytest.approx(11.6, abs=0.05)
    washer = fasteners.washer_thickness(3000.0, 0.008, 0.024, 0.008)
    assert 1e3 * washer == pytest.approx(2.2, abs=0.05)
    # No. 8 screw (4.17 mm), 12 mm in wood of 0.68: 454 N allowable for two months... permanent 0.9.
    per_length = fasteners.withdrawal_per_length("wood_screw", 0.68, 0.164 * 0.0254)
    assert 0.012 * per_length == pytest.approx(454.0, rel=0.01)


def test_keys_by_hand() -> None:
    # Free with the pith 10 mm inside; held flat; from 100 mm off; see test_keys_fem for elements.
    free = float(keys.asked_free(E_T, MISSING, 0.05, -0.010, 0.025)) / 1e3
    assert free == pytest.approx(5.2, abs=0.05)
    flat = [
        float(keys.asked_flat(E_T, MISSING, 0.05, below, 0.025)) / 1e3
        for below in (-0.010, 0.025, 0.100)
    ]
    assert flat == pytest.approx([51.6, 45.9, 20.7], abs=0.06)
    afar = float(keys.asked_flat(E_T, MISSING, 0.05, -0.010, 0.025, 0.1)) / 1e3
    assert afar == pytest.approx(18.5, abs=0.1)
    # Set: (1 - exp(-x))/x at a change of 2.4 %.
    left = [float(restraint.relaxed(1.0, mE, 2.4)) for mE in (30.0, 60.0, 120.0)]
    assert left == pytest.approx([0.71, 0.53, 0.33], abs=0.005)
    # The opening of a check from the pith to the face 40 mm off: 1.101 mm (exact).
    opening, other = keys.openings(
        Slab(OAK, 0.6, 0.05, pith_below=-0.010), np.array([MISSING]), np.array([-0.010])
    )
    assert 1e3 * float(opening[0]) == pytest.approx(1.101, abs=0.001)
    assert 1e3 * float(other[0]) == pytest.approx(2.0 * np.pi * 10.0 * MISSING, abs=0.001)


def test_what_a_key_bears() -> None:
    # 100 x 25/50 mm, 25 mm deep: flanks 4.6 kN, to rely on 1.02; splitting EN 1995-1-1 8.1.4
    # (memory) 2.71, to rely on 1.46.  At 250 mm: free 0.69 kN holds, flat 6.8 kN fails.
    bears = keys.capacity(Key(0.1, 0.025, 0.05, 0.025, OAK), OAK, 0.6)
    assert bears.bearing / 1e3 == pytest.approx(4.6, abs=0.02)
    assert bears.splitting / 1e3 == pytest.approx(2.71, abs=0.005)
    assert bears.splitting * keys.SPLITTING_DESIGN / 1e3 == pytest.approx(1.46, abs=0.005)
    assert bears.allowable / 1e3 == pytest.approx(1.02, abs=0.006)
    soft = float(restraint.relaxed(E_T, 60.0, 2.4))
    free = float(keys.asked_free(soft, MISSING, 0.05, -0.010, 0.025)) * 0.25
    flat = float(keys.asked_flat(soft, MISSING, 0.05, -0.010, 0.025)) * 0.25
    assert free / 1e3 == pytest.approx(0.69, abs=0.01)
    assert flat / 1e3 == pytest.approx(6.8, abs=0.1)
    assert free < bears.allowable < bears.lasting < flat


def test_loads_on_an_overhang_of_white_oak() -> None:
    # EN 12520: 1300 N (printed second-hand); orthotropic plate (computed), lambda 1.93.
    assert loads.stiffer_along(OAK) == pytest.approx(1.93, abs=0.005)
    edge = loads.on_an_edge(OAK, 1300.0)
    corner = loads.on_a_corner(OAK, 1300.0, 0.3)
    for thickness, expected in ((0.050, (0.81, 1.94)), (0.025, (3.2, 7.8))):
        told = [loads.stress(one, thickness) / 1e6 for one in (edge, corner)]
        assert told == pytest.approx(expected, abs=0.05)
    safe = [1e3 * loads.thick_enough(one, 5.5e6) for one in (edge, corner)]
    assert safe == pytest.approx([35.0, 54.0], abs=0.6)
    sags = [
        1e3 * loads.sag_of_load(1300.0, 0.3, 0.05, E_T, 1.93, factor)
        for factor in (loads.SAG_EDGE, loads.SAG_CORNER)
    ]
    assert sags == pytest.approx([1.05, 2.9], abs=0.01)
    assert 1e3 * loads.sag_of_weight(0.3, 0.05, E_T, 750.0) == pytest.approx(0.037, abs=0.001)
    assert 1e3 * loads.sag_of_weight(0.5, 0.03, E_T, 750.0) == pytest.approx(0.79, abs=0.005)
    # A corner standing out farther is bent more: 1.4 at 0.5 m.
    assert loads.on_a_corner(OAK, 1300.0, 0.5) / corner == pytest.approx(1.4 / 1.2)


@pytest.mark.parametrize(
    ("name", "inward", "outward"),
    [
        # Common practice, no source: usual sizes.
        ("figure-eight-cross", 6.8, 6.8),
        ("figure-eight-along", 4.7, 7.3),
        ("clip-along", 3.0, 7.0),
        ("clip-cross", 10.5, 10.5),
        ("button", 3.0, 6.0),
        ("slotted-angle", 7.5, 7.5),
        ("wide-hole", 1.5, 1.5),
        ("breadboard", 4.0, 4.0),
    ],
)
def test_other_holdings_travel_as_is_usual(name: str, inward: float, outward: float) -> None:
    one = next(one for one in holdings.HOLDINGS if one.name == name)
    travel = one.travel(one.size)
    assert 1e3 * travel.inward == pytest.approx(inward, abs=0.06)
    assert 1e3 * travel.outward == pytest.approx(outward, abs=0.06)
    # Just enough on either side of its threshold, and the size that it says would do does.
    most = (min(travel.inward, travel.outward) - holdings.SPARE) / holdings.RANGE
    for share, enough in ((0.999, True), (1.001, False)):
        judged = next(
            made
            for made in holdings.judge(share * max(most, 0.0), share * max(most, 0.0))
            if made.holding is one
        )
        assert judged.suffices is enough
        assert judged.needs is not None
        assert (judged.needs <= one.size) is enough


def test_twist_bow_crook_and_a_boxed_heart() -> None:
    # Stevens & Johnston 1960 (memory): 1.07 degrees, 11.2 mm on 600.
    turned = crooked.twist(2.0, -0.00903, 3.0, 0.1)
    assert turned == pytest.approx(1.07, abs=0.005)
    assert 1e3 * crooked.rise_of_corner(turned, 0.6) == pytest.approx(11.2, abs=0.1)
    # 3,600 spruce sticks (printed): a difference of 0.0111 % a percent, 6 %, 2.4 m.
    out = [1e3 * crooked.may_bow(6.0, 2.4, one) for one in (0.05, 0.6)]
    assert out == pytest.approx([9.6, 0.8], abs=0.05)
    # (W/2)(pi/2) missing: 2.06 mm (finite elements 2.2).
    assert 1e3 * crooked.boxed_heart_rise(0.6, MISSING) == pytest.approx(2.06, abs=0.01)


def test_a_holding_needs_its_travel_each_way() -> None:
    # 1.25 of the movement and 1 mm more (practice), inward and outward for themselves.
    for inward, outward, enough in (
        (6.0, 3.5, True), (5.99, 3.5, False), (6.0, 3.49, False), (60.0, 35.0, True),
    ):  # fmt: skip
        travel = holdings.Travel(1e-3 * inward, 1e-3 * outward)
        assert holdings.enough(travel, 0.004, 0.002) is enough
