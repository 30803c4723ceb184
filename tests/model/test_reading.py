"""Readings become moisture, a profile and its error; what they cannot say is said."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from model.answers import reading
from model.behaviour.edges import end_zone
from model.behaviour.slab import Slab
from model.codes import Refusal
from model.properties import meters, species
from model.properties.meters import OvenDry, Pin, SampleBoard, Surface

THICKNESS = 0.05  # m
DIFFUSIVITY = 3.3e-11  # m2/s; about G 0.60, C 1.6 at 10 %
YEAR = 365.0  # days
ELM = Slab(species.find("American elm"), 0.6, THICKNESS, 2.4)


def ask(*readings: meters.Reading) -> reading.Answer:
    return reading.read(readings, ELM, YEAR)


def fir(one: Pin) -> reading.Answer:
    """A reading of Douglas-fir, whose scale meters carry."""
    return reading.read([one], replace(ELM, species=species.find("coast Douglas-fir")), YEAR)


def codes(found: reading.Answer) -> set[str]:
    return {note.code for note in found.notes}


def pin(value: float, depth: float, place: meters.Place = "top") -> Pin:
    return Pin(value, depth=depth, place=place, compensated=True, species_set=True)


def test_readings_along_a_known_parabola_give_its_mean_core_and_shells() -> None:
    # Exact readings of 13 % in the middle and 7 % at the faces; oven-dry slices have the smallest
    # error, so the weak prior pulls by less than 0.1 %.
    def moisture(shallow: float, deep: float) -> float:
        z = np.linspace(shallow, deep, 2001)
        return float(np.mean(13.0 - 6.0 * (2.0 * z / THICKNESS - 1.0) ** 2))

    edges = np.linspace(0.0, THICKNESS, 6)
    slices = [
        OvenDry(1.0 + moisture(a, b) / 100.0, 1.0, 0.0, float(a), float(b))
        for a, b in pairwise(edges)
    ]
    found = ask(*slices).profile
    assert found is not None
    assert found.mean.value == pytest.approx(11.0, abs=0.1)
    assert found.core.value == pytest.approx(13.0, abs=0.1)
    assert found.top.value == pytest.approx(7.0, abs=0.15)
    assert found.core_less_faces.value == pytest.approx(6.0, abs=0.2)
    assert found.top_less_bottom.value == pytest.approx(0.0, abs=0.05)
    assert not found.contradicting


def test_one_pin_reading_at_0_21_of_the_thickness_gives_the_mean_but_no_gradient() -> None:
    found = ask(pin(12.0, THICKNESS * meters.MEAN_DEPTH))
    assert found.profile is not None
    assert found.profile.mean.value == pytest.approx(12.0, abs=0.01)
    assert found.profile.core_known < 0.05
    assert "gradient-unknown" in codes(found)
    # The mean's band is wider than the meter's own error alone: the tilt is unknown too.
    low, high = found.profile.mean.low, found.profile.mean.high
    assert low is not None
    assert high is not None
    assert high - low > 2.0 * 1.28 * found.corrected[0].error


def test_a_single_reading_in_the_middle_leaves_the_mean_less_sure_than_one_at_0_21() -> None:
    middle = ask(pin(12.0, 0.5 * THICKNESS)).profile
    quarter = ask(pin(12.0, THICKNESS * meters.MEAN_DEPTH)).profile
    assert middle is not None
    assert quarter is not None
    assert middle.mean.high is not None
    assert quarter.mean.high is not None
    assert middle.mean.high > quarter.mean.high


def test_a_bias_shared_by_all_readings_of_a_meter_does_not_shrink_with_their_number() -> None:
    many = ask(*[pin(12.0, THICKNESS * meters.MEAN_DEPTH, p) for p in ("top", "bottom") * 20])
    assert many.profile is not None
    assert many.profile.mean.high is not None
    # 0.7 % M is the bias kept: 1.2816 x 0.7, and a little of the scatter of 40.
    assert many.profile.mean.high - many.profile.mean.value == pytest.approx(1.2816 * 0.7, rel=0.05)


def test_a_depth_nobody_told_widens_the_mean_by_the_gradient_it_may_have_met() -> None:
    told, untold = (
        ask(Pin(12.0, depth=depth, compensated=True, species_set=True)).profile
        for depth in (THICKNESS * meters.MEAN_DEPTH, None)
    )
    assert told is not None
    assert untold is not None
    assert told.mean.high is not None
    assert untold.mean.high is not None
    assert untold.mean.value == pytest.approx(told.mean.value, abs=0.05)
    # A quarter of the 4.5 % M between core and shell that the prior allows: 1.1 % M beside 2.2.
    more = (untold.mean.high - untold.mean.value) ** 2 - (told.mean.high - told.mean.value) ** 2
    assert np.sqrt(more) / 1.2816 == pytest.approx(0.25 * 1.5 * 3.0, rel=0.02)


@pytest.mark.parametrize(("value", "times"), [(7.9, 1.5), (8.1, 1.0), (17.9, 1.0), (18.1, 1.5)])
def test_a_meters_errors_grow_outside_8_to_18_percent(value: float, times: float) -> None:
    one = ask(pin(value, 0.01)).corrected[0]
    assert one.scatter == pytest.approx(0.5 * times)
    assert one.bias == pytest.approx(0.7 * times)


@pytest.mark.parametrize(("value", "expected"), [(5.9, "below"), (30.1, "above"), (12.0, "within")])
def test_pin_readings_outside_6_to_30_are_not_numbers(value: float, expected: str) -> None:
    found = ask(pin(value, 0.01))
    assert found.corrected[0].range == expected
    assert (found.corrected[0].moisture is None) == (expected != "within")
    assert ("out-of-range" in codes(found)) == (expected != "within")


def test_only_readings_out_of_range_is_too_little_to_say() -> None:
    found = ask(pin(4.0, 0.01), pin(33.0, 0.025))
    assert found.profile is None
    assert "no-reading-of-the-body" in codes(found)


def test_end_grain_is_kept_out_of_the_slabs_mean() -> None:
    body = ask(pin(12.0, 0.0106))
    both = ask(pin(12.0, 0.0106), pin(7.0, 0.02, "end"))
    assert body.profile is not None
    assert both.profile is not None
    assert both.profile.mean == body.profile.mean
    assert both.ends is not None
    assert both.ends.moisture == pytest.approx(7.0)
    assert both.ends.below_slab == pytest.approx(5.0, abs=0.01)
    assert both.ends.says.code == "ends-below-body"


def test_the_end_zone_is_two_roots_of_diffusion_along_the_grain_times_time() -> None:
    # 2 sqrt(13 x 3.3e-11 x 365 x 86400) = 0.2326 m, by hand.
    assert end_zone(DIFFUSIVITY, YEAR) == pytest.approx(0.2326, abs=5e-4)
    assert end_zone(DIFFUSIVITY, 4.0 * YEAR) == pytest.approx(0.4652, abs=1e-3)


def test_the_next_reading_stays_clear_of_the_ends_and_asks_for_what_is_missing() -> None:
    young = ask(pin(12.0, 0.0106))
    assert young.following[0].depth == pytest.approx(0.2113 * THICKNESS, rel=1e-3)
    assert young.following[0].from_end == pytest.approx(0.3)  # EN 13183-2 (memory)
    assert {one.place for one in young.following} == {"top", "bottom"}
    old = reading.read([pin(12.0, 0.0106)], ELM, 9 * YEAR)
    # 2 sqrt(13 x 5.086e-11 x 9 x 365 x 86400) = 0.8664 m, by hand with the diffusion of elm.
    assert old.following[0].from_end == pytest.approx(0.8664, abs=1e-3)
    short = reading.read([pin(12.0, 0.0106)], replace(ELM, length=0.5), YEAR)
    assert short.following[0].from_end == pytest.approx(0.25)


def test_a_reading_far_from_all_others_is_named() -> None:
    found = ask(*[pin(12.0 + 0.1 * i, 0.0106) for i in range(5)], pin(18.0, 0.0106))
    assert found.profile is not None
    assert found.profile.contradicting == (5,)
    assert "readings-left-out" in codes(found)


def test_readings_that_disagree_do_not_send_the_mean_below_all_of_them() -> None:
    # 14, 9 and 14.2 % at one place with an error that all share: counted from each reading, a
    # shared error in per cent used to give a mean far below the least of them.
    uncorrected = [Pin(value, depth=0.0106, temperature=20.0) for value in (14.0, 9.0, 14.2)]
    found = ask(*uncorrected)
    assert found.profile is not None
    read = np.array([one.moisture for one in found.corrected])
    assert read.min() < found.profile.mean.value < read.max()
    # Scatter of 0.5 % M from 8 to 18 %, of 0.75 below, weighs them; the weak prior of 15 with a
    # standard deviation of 100 and that of the shape change it by less than 0.1.
    weights = np.where(read < 8.0, 1.5, 1.0) ** -2.0
    weighed = np.sum(read * weights) / np.sum(weights)
    assert found.profile.mean.value == pytest.approx(weighed, abs=0.1)
    # Three alone do not tell which is wrong: all are kept, and the contradiction is told.
    assert 1 in found.profile.contradicting
    assert found.profile.left_out == ()


def test_a_slip_of_the_pen_among_oven_dry_pieces_is_left_out_of_the_mean() -> None:
    dried = [OvenDry(wet, 45.0) for wet in (50.2, 50.8, 49.9, 50.4, 70.0)]
    found = ask(*dried)
    assert found.profile is not None
    assert found.profile.contradicting == found.profile.left_out == (4,)
    # The other four by ASTM D4442: 11.56, 12.89, 10.89 and 12.00 %.
    assert found.profile.mean.value == pytest.approx(11.83, abs=0.05)


def test_pieces_of_one_slab_differ_so_their_mean_is_no_surer_than_that_allows() -> None:
    dried = [OvenDry(wet, 45.0) for wet in (50.2, 50.8, 49.9, 50.4)]
    found = ask(*dried).profile
    assert found is not None
    assert found.mean.high is not None
    # They stand 0.84 % apart as a standard deviation, so the mean of four is known to 0.42 %, 0.54
    # to the 90th percentile; a scale's 0.1 % alone would have said 0.06.
    assert 0.3 < found.mean.high - found.mean.value < 0.8


def test_pieces_that_scatter_widen_the_mean_and_not_what_is_taken_of_the_shape() -> None:
    # Two weighings of whole pieces 3 % apart: the mean is known within 2 %, and the gradient is the
    # prior's guess, 3 % of bow, whatever they say: a face within 1.28 x sqrt(9 + 2.25 + 1.5^2).
    apart = ask(OvenDry(50.0, 45.0), OvenDry(51.4, 45.0), OvenDry(50.2, 45.0)).profile
    assert apart is not None
    assert apart.top.high is not None
    assert apart.mean.high is not None
    assert 0.8 < apart.mean.high - apart.mean.value < 2.0
    assert apart.top.high - apart.top.value < 1.2816 * np.sqrt(9.0 + 2.25 + 1.5**2)


def test_readings_that_agree_within_their_error_do_not_contradict() -> None:
    found = ask(*[pin(12.0 + d, 0.0106) for d in (-0.4, 0.3, 0.1, -0.2, 0.5)])
    assert found.profile is not None
    assert not found.profile.contradicting


def test_an_uncorrected_wood_is_said_and_widens_the_error() -> None:
    # Teak has no row of meter constants.
    teak = Slab(species.find("teak"), 0.6, THICKNESS, 2.4)
    plain, known = (
        reading.read([Pin(12.0, depth=0.0106, temperature=20.0, a=a, b=a and 0.0)], teak, YEAR)
        for a in (None, 1.0)
    )
    assert "species-uncorrected" in codes(plain)
    assert "species-uncorrected" not in codes(known)
    # 0.5 and 0.7 % M of a known wood; 8 % of the reading, 12.25 %, on top of an unknown one's.
    assert known.corrected[0].error == pytest.approx(np.hypot(0.5, 0.7))
    assert plain.corrected[0].error == pytest.approx(np.hypot(np.hypot(0.5, 0.7), 0.98), abs=0.001)


def test_a_wood_with_a_row_is_corrected_unless_the_meter_was_set_to_it() -> None:
    # American elm reads 10.0 where Douglas-fir would 12.0 (a row of the table).
    of_row = ask(Pin(12.0, depth=0.0106, compensated=True))
    assert of_row.corrected[0].moisture == pytest.approx(10.0, abs=0.05)
    assert "species-row" in codes(of_row)
    set_to_it = ask(Pin(12.0, depth=0.0106, compensated=True, species_set=True))
    assert set_to_it.corrected[0].moisture == pytest.approx(12.0)
    assert "species-row" not in codes(set_to_it)


def test_a_woods_own_constants_undo_the_scale() -> None:
    # a = 0.85, b = 0.4 chosen here: the Douglas-fir moisture less b, over a.
    scale = float(meters.pin_moisture(12.0, 20.0))
    found = ask(Pin(12.0, depth=0.0106, temperature=20.0, a=0.85, b=0.4))
    assert found.corrected[0].moisture == pytest.approx((scale - 0.4) / 0.85)


def test_a_missing_temperature_is_assumed_and_said() -> None:
    found = ask(Pin(12.0, depth=0.0106, species_set=True))
    assert "temperature-assumed" in codes(found)
    assert found.corrected[0].moisture == pytest.approx(12.25, abs=0.005)


def test_resistance_reads_the_table_at_27_degrees_and_shifts_from_there() -> None:
    warm = fir(Pin(resistance=120e6, depth=0.0106, temperature=27.0))
    cold = fir(Pin(resistance=120e6, depth=0.0106, temperature=7.0))
    assert warm.corrected[0].moisture == pytest.approx(12.0, abs=1e-9)
    assert cold.corrected[0].moisture is not None
    # 20 K colder at 0.5 % per 5.6 K (Wood Handbook, printed) is 1.8 % more; the form gives 1.9.
    assert cold.corrected[0].moisture - 12.0 == pytest.approx(1.8, abs=0.2)


def test_resistances_beyond_the_table_are_said_and_beyond_the_range_are_no_numbers() -> None:
    wet = fir(Pin(resistance=0.6e6, depth=0.0106, temperature=27.0))
    assert wet.corrected[0].moisture is not None
    assert 20.0 < wet.corrected[0].moisture < 30.0
    assert "resistance-extrapolated" in codes(wet)
    for ohm in (0.05e6, 0.2e6):
        assert (
            fir(Pin(resistance=ohm, depth=0.0106, temperature=27.0)).corrected[0].range == "above"
        )
    assert fir(Pin(resistance=1e12, depth=0.0106)).corrected[0].range == "below"


def test_a_surface_reading_scales_with_density_and_sees_the_outer_layer() -> None:
    found = ask(Surface(10.0, 0.006, scale_specific_gravity=0.6))
    one = found.corrected[0]
    assert one.moisture == pytest.approx(12.0)
    assert (one.depth_from, one.depth_to) == (0.0, 0.006)
    assert "surface-meter" in codes(found)
    below = ask(Surface(10.0, 0.006, place="bottom")).corrected[0]
    assert (below.depth_from, below.depth_to) == pytest.approx((0.044, 0.05))


def test_the_weighing_step_sets_the_error_of_an_oven_dry_pair() -> None:
    # 1 g steps on a 10 g sample: 100/10 x 1/sqrt(12) x sqrt(1 + 1.12^2) = 4.33 % M.
    coarse = ask(OvenDry(0.0112, 0.010, 0.001, 0.0, THICKNESS)).corrected[0]
    fine = ask(OvenDry(1.12, 1.0, 0.001, 0.0, THICKNESS)).corrected[0]
    assert coarse.scatter == pytest.approx(4.335, abs=0.01)
    assert fine.scatter == pytest.approx(meters.OVEN_SCATTER, abs=0.01)


def test_a_sample_board_carries_the_error_of_its_section() -> None:
    one = ask(SampleBoard(3.5, 4.46, 85.0, 2.0)).corrected[0]
    assert one.moisture == pytest.approx(45.18, abs=0.01)
    assert one.bias == pytest.approx(145.18 * 2.0 / 185.0, abs=1e-3)


@pytest.mark.parametrize(
    ("impossible", "code"),
    [
        (OvenDry(1.0, 1.2), "dry-above-wet"),
        (OvenDry(1.0, 0.0), "dry-above-wet"),
        (Pin(12.0, depth=0.06), "reading-too-deep"),
        (Surface(12.0, 0.06), "reading-too-deep"),
        (OvenDry(1.1, 1.0, 0.0, 0.03, 0.02), "reading-too-deep"),
        (Pin(6.0, depth=0.01, temperature=20.0, a=1.0, b=20.0), "less-than-no-moisture"),
    ],
)
def test_impossible_readings_are_refused(impossible: meters.Reading, code: str) -> None:
    with pytest.raises(Refusal) as refused:
        ask(impossible)
    assert refused.value.said.code == code
