"""Slots, places and solid fixings: rules by hand and facts of the trade."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import spread
from model.answers import movement
from model.behaviour import bars, fixed_solid, fixings, restraint, shrinkage
from model.behaviour.fixings import Fixings
from model.behaviour.slab import Slab
from model.properties import fasteners, species
from model.properties.fasteners import Fastener

ELM = species.find("American elm")
OAK = species.find("northern red oak")
CENTRAL = spread.draw(0)
BOLT = Fastener("threaded_insert", diameter=0.0127, thread=0.025, shank=0.008)
SCREW = Fastener("wood_screw", diameter=0.008, thread=0.040)


def slab(wood: species.Species = OAK, width: float = 0.6, thickness: float = 0.05) -> Slab:
    """A slab with its rings straight along the width, the pith very far."""
    return Slab(wood, width=width, thickness=thickness, length=1.8, pith_below=1.0e4)


def planned(
    now: float,
    low: float,
    high: float,
    points: tuple[float, ...] = (0.05, 0.3, 0.55),
    fixed_at: float | None = None,
) -> Fixings:
    return fixings.plan(slab(), now, low, high, points, BOLT, CENTRAL, fixed_at=fixed_at)


def slot_of(point: fixings.Point) -> fixings.Slot:
    """The slot of a fixing that has one."""
    assert point.slot is not None
    return point.slot


def test_a_slot_by_hand_from_the_middle() -> None:
    # Red oak 8.6 % tangential over 30 %: strain 12 -> 6 %: 0.086 x 6/30/(1 - 0.086 x 18/30)
    # = 0.018136; 250 mm out: 4.534 mm in; slot 8 + 1.25 x 4.534 + 2 x 2 = 17.668 mm (hand).
    made = planned(12.0, 6.0, 12.0).points[0]
    assert float(made.moves_in[0]) * 1e3 == pytest.approx(4.534, abs=5e-4)
    assert float(made.moves_out[0]) == 0.0
    assert slot_of(made).length * 1e3 == pytest.approx(17.668, abs=1e-3)
    assert slot_of(made).shank_from_inner_end * 1e3 == pytest.approx(4 + 2 + 5.667, abs=2e-3)


def test_a_slot_by_hand_both_ways() -> None:
    # 8 % now, 6 to 10 %: in 0.086 x 2/30/(1 - 0.086 x 22/30) = 0.0061192, out the same.
    made = planned(8.0, 6.0, 10.0).points[2]
    assert float(made.moves_in[0]) * 1e3 == pytest.approx(1.530, abs=5e-4)
    assert float(made.moves_out[0]) * 1e3 == pytest.approx(1.530, abs=5e-4)
    assert slot_of(made).length * 1e3 == pytest.approx(8 + 1.25 * 3.0596 + 4, abs=2e-3)
    assert slot_of(made).shank_from_inner_end * 1e3 == pytest.approx(
        4 + 2 + 1.25 * 1.5298, abs=2e-3
    )


def test_a_slot_by_hand_from_a_line_off_the_middle() -> None:
    # Fixed 100 mm from the edge; the far point is 450 mm away: in 0.018136 x 450 = 8.161 mm.
    made = planned(12.0, 6.0, 12.0, fixed_at=0.1)
    assert [float(one.moves_in[0]) * 1e3 for one in made.points] == pytest.approx(
        [0.907, 3.627, 8.161], abs=1e-3
    )
    assert slot_of(made.points[2]).length * 1e3 == pytest.approx(8 + 1.25 * 8.161 + 4, abs=2e-3)
    # No point stands on that line, so none is called the fixed one; the first is nearest to it.
    assert made.fixed is None
    assert made.nearest == 0


@given(st.floats(0.0, 1.5), st.floats(0.0, 0.02), st.floats(0.0, 0.02), st.floats(0.1, 3.0))
def test_slots_grow_linearly_from_the_fixed_line(
    distance: float, inward: float, outward: float, factor: float
) -> None:
    base = fixings.slot(0.0, inward, outward, 0.008).length
    one = fixings.slot(distance, inward, outward, 0.008).length - base
    other = fixings.slot(factor * distance, inward, outward, 0.008).length - base
    assert other == pytest.approx(factor * one, abs=1e-12)


@given(st.floats(4.0, 20.0), st.floats(0.0, 10.0))
def test_a_slab_fitted_at_its_dampest_needs_only_inward_room(now: float, drop: float) -> None:
    made = planned(now, max(now - drop, 1.0), now)
    assert all(float(one.moves_out[0]) == 0.0 for one in made.points)
    outer = slot_of(made.points[0])
    assert outer.length - outer.shank_from_inner_end == pytest.approx(0.004 + 0.002, abs=1e-12)


def test_a_slab_fitted_damper_than_it_will_ever_be_moves_only_inward() -> None:
    made = planned(15.0, 6.0, 9.0)
    assert float(made.strain_out[0]) == 0.0
    expected = -float(shrinkage.strain(OAK.tangential, 30.0, 15.0, 6.0))
    assert float(made.strain_in[0]) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("rings", [{"ring_angle": 0.0}, {"pith_below": 0.1}, {"ring_angle": 30.0}])
def test_fixings_at_both_edges_move_as_the_width_does(rings: dict[str, float]) -> None:
    # What `movement` says of the whole width by the exact mapping; the averaged ring angle gives
    # that within 1.1 %, the pith 100 mm off (see tests/reference/test_rings).
    flat = Slab(OAK, 0.6, 0.05, length=1.8, **rings)  # type: ignore[arg-type]
    made = fixings.plan(flat, 12.0, 6.0, 12.0, (0.0, 0.3, 0.6), BOLT, CENTRAL)
    moved = -movement.movement(flat, 12.0, 6.0).width.change.value
    edges = float(made.points[0].moves_in[0] + made.points[2].moves_in[0])
    assert edges == pytest.approx(moved, rel=0.012)


def test_a_fixing_near_the_fixed_line_over_the_pith_moves_by_the_whole_tangential_strain() -> None:
    # The rings run along the width there, and have turned by 60 degrees at the edge (derived).
    flat = Slab(OAK, 0.6, 0.05, length=1.8, pith_below=0.1)
    made = fixings.plan(flat, 12.0, 6.0, 12.0, (0.29, 0.3, 0.59), BOLT, CENTRAL)
    near, _, far = (float(one.moves_in[0]) for one in made.points)
    whole = -float(shrinkage.strain(OAK.tangential, 30.0, 12.0, 6.0))
    assert near / 0.01 == pytest.approx(whole, rel=2e-3)
    assert far / 0.29 < 0.85 * whole


def test_with_a_spread_the_slot_covers_the_ninetieth_percentile() -> None:
    drawn = spread.draw(128)
    made = fixings.plan(slab(), 12.0, 6.0, 9.0, (0.05, 0.3, 0.55), BOLT, drawn)
    outer = made.points[0]
    room = slot_of(outer).shank_from_inner_end - 0.004 - 0.002
    assert room >= np.percentile(outer.moves_in[1:], 90.0) - 1e-12
    central = slot_of(planned(12.0, 6.0, 9.0).points[0]).length
    assert slot_of(outer).length >= central - 1e-12


def test_the_fixing_nearest_the_fixed_line_is_the_fixed_one() -> None:
    assert planned(10.0, 6.0, 10.0).fixed == 1
    off = planned(10.0, 6.0, 10.0, points=(0.05, 0.25, 0.55))
    assert off.fixed is None
    assert off.nearest == 1
    assert "no-point-on-the-fixed-line" in {note.code for note in off.notes}


def test_a_washer_bears_on_the_slot_and_a_covering_one_hides_it() -> None:
    made = fixings.slot(0.25, 0.008, 0.002, 0.008)
    assert made.washer > made.width
    # Shank hard against one end: the washer's rim still passes the other end.
    assert 0.5 * made.washer_covering >= made.length - 0.5 * 0.008


def test_little_wood_under_the_show_face_is_told() -> None:
    def codes(thread: float) -> set[str]:
        one = Fastener("threaded_insert", 0.0127, thread)
        made = fixings.plan(slab(thickness=0.03), 10.0, 6.0, 9.0, (0.3,), one, CENTRAL)
        return {note.code for note in made.notes}

    assert "thin-under-show-face" not in codes(0.0215)
    assert "thin-under-show-face" in codes(0.0225)
    assert "through" in codes(0.030)


def test_a_recess_takes_from_the_wood_left() -> None:
    made = fixings.plan(slab(), 10.0, 6.0, 9.0, (0.3,), BOLT, CENTRAL, recess=0.020)
    assert made.left_under_face == pytest.approx(0.005)


def test_end_grain_takes_lag_screws_at_three_quarters_and_no_others() -> None:
    side = fasteners.withdrawal(Fastener("lag_screw", 0.008, 0.05), OAK, 8.0, 9.0)
    end = fasteners.withdrawal(Fastener("lag_screw", 0.008, 0.05, grain="end"), OAK, 8.0, 9.0)
    assert side.allowable
    assert end.allowable
    assert end.allowable == pytest.approx(0.75 * side.allowable)
    for kind in ("wood_screw", "threaded_insert", "nail"):
        none = fasteners.withdrawal(Fastener(kind, 0.008, 0.05, grain="end"), OAK, 8.0, 9.0)
        assert none.allowable is None
        assert none.test_mean is None
        assert "no-end-grain-withdrawal" in {note.code for note in none.notes}


def test_wet_service_and_duration_cut_the_value() -> None:
    dry = fasteners.withdrawal(SCREW, OAK, 8.0, 9.0)
    wet = fasteners.withdrawal(SCREW, OAK, 8.0, 22.0)
    short = fasteners.withdrawal(SCREW, OAK, 8.0, 9.0, "ten_minutes")
    assert dry.allowable
    assert wet.allowable
    assert short.allowable
    assert wet.allowable == pytest.approx(0.7 * dry.allowable)
    assert short.allowable == pytest.approx(1.6 / 0.9 * dry.allowable)
    nail = Fastener("nail", 0.0033, 0.03)
    assert fasteners.withdrawal(nail, OAK, 25.0, 9.0).factors["wet"] == 0.25
    assert fasteners.withdrawal(nail, OAK, 8.0, 9.0).factors["wet"] == 1.0


def test_the_codes_stand_beside_each_other_where_they_hold() -> None:
    oak = fasteners.withdrawal(SCREW, OAK, 8.0, 9.0)
    assert oak.allowable
    assert oak.en1995_design
    assert oak.huebner_characteristic
    assert oak.test_mean
    assert oak.allowable < oak.en1995_design < oak.test_mean[0]
    pine = fasteners.withdrawal(SCREW, species.find("eastern white pine"), 8.0, 9.0)
    assert pine.huebner_characteristic is None
    thin = fasteners.withdrawal(Fastener("wood_screw", 0.005, 0.04), OAK, 8.0, 9.0)
    assert thin.en1995_characteristic is None
    assert thin.huebner_characteristic is None


def test_pilot_holes_are_larger_in_dense_wood() -> None:
    for kind in fasteners.KINDS:
        light, dense = (
            fasteners.place(Fastener(kind, 0.008, 0.04), gravity).pilot[1] for gravity in (0.4, 0.7)
        )
        assert light < dense < 0.008


def held_solid(moisture: tuple[float, float, float], fastener: Fastener) -> fixed_solid.Solid:
    now, low, high = moisture
    made = fixings.plan(slab(), now, low, high, (0.05, 0.3, 0.55), fastener, CENTRAL)
    return fixed_solid.solid(slab(), made, fastener, now, low, high, CENTRAL)


def test_battens_fixed_solid_across_the_grain_split_the_slab() -> None:
    # Common practice: no source.  Bolts strong enough not to give: the wood goes first.
    stout = Fastener("lag_screw", diameter=0.016, thread=0.045)
    made = held_solid((12.0, 6.0, 9.0), stout)
    assert made.first == "wood-splits"
    assert float(made.wood_index[0]) > 1.0


def test_thin_nails_give_before_the_wood_does() -> None:
    # Common practice: no source.
    made = held_solid((10.0, 8.0, 9.0), Fastener("nail", diameter=0.002, thread=0.03))
    assert made.first == "fixings-sideways"


def test_set_lowers_the_force_and_swelling_crushes_instead_of_splitting() -> None:
    dry = held_solid((12.0, 6.0, 12.0), BOLT)
    assert float(dry.force[0]) < float(dry.force_elastic[0])
    damp = held_solid((6.0, 6.0, 12.0), BOLT)
    assert float(damp.strain[0]) > 0.0
    assert float(damp.wood_index[0]) == 0.0
    assert float(damp.crush_index[0]) > 0.0


def test_a_slab_fitted_in_its_dry_months_still_splits_in_drier_ones() -> None:
    # It swells by 3 % and dries by 2: the swelling makes the larger force, the drying splits.
    both = held_solid((8.0, 6.0, 11.0), BOLT)
    dried = held_solid((8.0, 6.0, 8.0), BOLT)
    assert float(both.strain[0]) > 0.0
    assert float(both.wood_index[0]) == float(dried.wood_index[0]) > 0.0
    assert float(both.crush_index[0]) > 0.0


def test_the_pull_on_a_solid_fixing_goes_by_the_length_that_lifts_off_beside_it() -> None:
    # Closed form of `restraint.contact`: lever (6 EI/k)^(1/3), EI of strip and bar in series.  By
    # hand: strip 300 x 50 mm of red oak, bar 40 x 5 mm of steel (83.3 N m2).
    made = held_solid((12.0, 6.0, 12.0), BOLT)
    wood = float(species.elastic(OAK).E_T) * 0.3 * 0.05**3 / 12
    series = wood * 83.3 / (wood + 83.3)
    lever = (6 * series / restraint.axial_slip(BOLT.diameter, BOLT.thread)) ** (1 / 3)
    assert 0.03 < lever < 0.06  # m; the next fixing stands 250 mm away
    soft = float(restraint.relaxed(wood, 60.0, 6.0))
    axial = soft * 12 / 0.05**2
    pair = restraint.bonded(-made.strain[0], soft, axial, 83.3, 40e6, 0.0275)
    tested = fasteners.withdrawal(BOLT, OAK, 12.0, 12.0).test_mean
    assert tested is not None
    by_hand = float(pair.curvature) * 83.3 / lever / tested[0]
    assert float(made.pull_index[0]) == pytest.approx(by_hand, rel=0.02)


def test_a_key_in_the_strip_can_be_the_first_to_go() -> None:
    made = fixings.plan(slab(), 12.0, 6.0, 9.0, (0.05, 0.3, 0.55), BOLT, CENTRAL)
    weak = fixed_solid.solid(slab(), made, BOLT, 12.0, 6.0, 9.0, CENTRAL, key_capacity=2000.0)
    assert weak.first == "keys-shear"


def test_a_stiffer_bar_draws_more_force() -> None:
    made = fixings.plan(slab(), 12.0, 6.0, 9.0, (0.05, 0.3, 0.55), BOLT, CENTRAL)
    forces = [
        float(
            fixed_solid.solid(
                slab(), made, BOLT, 12.0, 6.0, 9.0, CENTRAL, bar=bars.flat(w, 0.006)
            ).force[0]
        )
        for w in (0.01, 0.03, 0.08)
    ]
    assert forces == sorted(forces)


@pytest.mark.parametrize("points", [(), (-0.01,), (0.61,)])
def test_points_off_the_slab_are_refused(points: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="within the width"):
        planned(10.0, 6.0, 9.0, points=points)


def test_a_fixing_of_no_size_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        Fastener("nail", 0.0, 0.03)
