"""The curve through what was read, its doubt, and what stands in where nothing was read."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from model import spread
from model.behaviour import evidence
from model.behaviour.evidence import Given, Readings, Untold, Value
from model.properties.meters import MEAN_DEPTH

Floats = NDArray[np.float64]
THICK = 0.05
DEPTHS = np.linspace(0.0, THICK, 11)


def through(*values: Value) -> evidence.Fitted:
    return evidence.fit([one.corrected(THICK) for one in values], THICK)


def oven(value: float, share: float = 0.5, error: float | None = None) -> Value:
    return Value(value, error, "top", share * THICK, "oven_dry")


def test_tilt_and_bow_leave_the_mean_and_are_what_their_names_say() -> None:
    at = np.linspace(0.0, THICK, 2001)
    functions = evidence.shape(at, at, THICK)
    mean = np.trapezoid(functions, at, axis=0) / THICK
    assert mean == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)
    assert functions[0].tolist() == [1.0, -1.0, 1.0]
    assert functions[-1].tolist() == [1.0, 1.0, 1.0]
    assert functions[1000] == pytest.approx([1.0, 0.0, -0.5])
    # Averaged over a span they are the mean of what they are at its points.
    low, high = np.array([0.004]), np.array([0.031])
    inside = np.linspace(0.004, 0.031, 4001)
    fine = evidence.shape(inside, inside, THICK)
    told = evidence.shape(low, high, THICK)[0]
    assert told == pytest.approx(np.trapezoid(fine, inside, axis=0) / 0.027, abs=1e-6)
    assert evidence.shape(*(np.array([0.2113 * THICK]),) * 2, THICK)[0, 2] == pytest.approx(
        0.0, abs=1e-4
    )


def test_good_readings_give_back_the_profile_they_were_read_from() -> None:
    def held(share: float) -> float:
        x = 2.0 * share - 1.0
        return float(11.0 + 0.8 * x - 1.2 * (3.0 * x * x - 1.0) / 2.0)

    made = through(*(oven(held(one), one, 0.02) for one in (0.05, 0.3, 0.5, 0.7, 0.95)))
    assert made.shape == pytest.approx([11.0, 0.8, -1.2], abs=0.01)
    assert made.contradicting == ()
    assert made.used == (0, 1, 2, 3, 4)


def test_one_reading_in_the_middle_leaves_the_bow_as_doubtful_as_it_was() -> None:
    made = through(oven(12.0))
    # There the bow counts half and the mean whole: no bow is as likely as that much of either.
    assert made.shape == pytest.approx([12.0, 0.0, 0.0], abs=0.01)
    deviation = np.sqrt(np.diag(made.covariance))
    assert deviation[0] == pytest.approx(np.hypot(0.3, 0.5 * 3.0), rel=1e-3)
    assert deviation[1:] == pytest.approx([1.5, 3.0], rel=1e-3)
    assert made.covariance[0, 2] == pytest.approx(0.5 * 9.0, rel=1e-3)


def test_bias_is_shared_within_a_kind_of_meter_and_depths_nobody_told_are_too() -> None:
    def doubt(*values: Value) -> float:
        return float(np.sqrt(through(*values).covariance[0, 0]))

    at = 0.2113 * THICK  # where bow and, in pairs, tilt say nothing
    both = [("top", at), ("bottom", at)] * 8
    pins = [Value(10.0, None, side, depth) for side, depth in both]  # type: ignore[arg-type]
    # 0.5 of its own by each, 0.7 shared by all pins whatever their number.
    assert doubt(*pins[:2]) == pytest.approx(np.hypot(0.7, 0.5 / 2**0.5), rel=2e-3)
    assert doubt(*pins) == pytest.approx(np.hypot(0.7, 0.5 / 4.0), rel=2e-3)
    ovens = [Value(10.0, None, *one, "oven_dry") for one in both]  # type: ignore[arg-type]
    assert doubt(*ovens) == pytest.approx(0.3 / 4.0, rel=5e-3)
    untold = [Value(10.0, None, side) for side, _ in both]  # type: ignore[arg-type]
    more = doubt(*untold) ** 2 - doubt(*pins) ** 2
    # A quarter of core less faces, 1.5 of a bow of 3: 1.125 (judgement and computed).
    assert more == pytest.approx(1.125**2, rel=0.15)


def test_errors_grow_with_readings_that_scatter_beyond_them() -> None:
    at = [0.2113, 0.7887]
    calm = through(oven(9.9, at[0]), oven(10.1, at[1]))
    rough = through(*(oven(10.0 + off, at[i % 2]) for i, off in enumerate((-0.5, 0.5, 0.5, -0.5))))
    # Four with deviations of 0.3 that miss by 0.5: chi2 of 11.1 over 3 (Birge 1932, memory).
    plain = 0.3 / 2.0
    assert np.sqrt(rough.covariance[0, 0]) == pytest.approx(
        plain * (0.25 / 0.09 * 4 / 3) ** 0.5, rel=0.03
    )
    assert np.sqrt(calm.covariance[0, 0]) == pytest.approx(0.3 / 2**0.5, rel=0.01)
    assert rough.contradicting == ()


def test_a_reading_that_contradicts_four_others_is_left_out_and_of_three_none() -> None:
    near = [oven(one, 0.5) for one in (10.0, 10.1, 9.9, 10.0)]
    made = through(*near, oven(16.0))
    assert (made.used, made.contradicting) == ((0, 1, 2, 3), (4,))
    assert made.shape[0] == pytest.approx(10.0, abs=0.05)
    made = through(oven(10.0), oven(10.0), oven(16.0))
    assert made.used == (0, 1, 2)
    assert 2 in made.contradicting
    # Of four it can be told; of ten two are left out, a third only told.
    made = through(*near[:3], oven(16.0))
    assert (made.used, made.contradicting) == ((0, 1, 2), (3,))
    many = [oven(10.0 + 0.1 * (i % 3)) for i in range(12)]
    made = through(*many, oven(16.0), oven(17.0), oven(18.0))
    assert made.contradicting == (12, 13, 14)
    assert len(made.used) == 12  # a fifth of fifteen are three
    made = through(*many[:6], oven(16.0), oven(18.0))
    assert len(made.used) == 7  # a fifth of eight is one


def test_a_reading_stands_three_deviations_off_before_it_contradicts() -> None:
    near = [oven(10.0, 0.5, 0.3) for _ in range(8)]
    # From eight others: 0.3 sqrt(1 + 1/8) = 0.318 off is one deviation.
    for off, out in ((2.9, False), (3.1, True)):
        made = through(*near, oven(10.0 + off * 0.3182, 0.5, 0.3))
        assert (made.contradicting == (8,)) is out


def test_a_value_is_read_under_its_face_with_the_errors_of_its_meter() -> None:
    top, bottom = (Value(10.0, None, one, 0.01).corrected(THICK) for one in ("top", "bottom"))
    assert (top.depth_from, top.depth_to) == (0.01, 0.01)
    assert (bottom.depth_from, bottom.depth_to) == pytest.approx((0.04, 0.04))
    assert (top.scatter, top.bias, top.kind) == (0.5, 0.7, "pin")
    untold = Value(10.0).corrected(THICK)
    assert untold.depth_from == MEAN_DEPTH * THICK
    assert (top.depth_told, untold.depth_told) == (True, False)
    own = Value(10.0, 0.2, meter="surface").corrected(THICK)
    assert np.hypot(own.scatter, own.bias) == pytest.approx(0.2)
    assert own.bias / own.scatter == pytest.approx(1.3 / 0.8)


def test_what_an_answer_gave_comes_back_with_its_errors() -> None:
    covariance = np.array([[0.5, 0.1, -0.3], [0.1, 0.4, 0.05], [-0.3, 0.05, 0.9]])
    functions = evidence.shape(DEPTHS, DEPTHS, THICK)
    curve = functions @ np.array([10.0, 0.5, -1.0])
    decile = 1.2815515655446004  # of the normal distribution
    reach = decile * np.sqrt(np.einsum("di,ij,dj->d", functions, covariance, functions))
    off = decile * 0.5**0.5
    made = Given(
        (10.0, 10.0 - off, 10.0 + off), tuple(DEPTHS), tuple(curve), tuple(curve - reach),
        tuple(curve + reach),
    )  # fmt: skip
    told = made.shaped(THICK)
    assert told.covariance == pytest.approx(covariance, abs=1e-6)
    assert told.at([0.0, 0.0125, 0.025]) == pytest.approx(curve[[0, 0, 5]] * [1, 0, 1] + [
        0.0, float(evidence.shape(*(np.array([0.0125]),) * 2, THICK)[0] @ [10.0, 0.5, -1.0]), 0.0
    ])  # fmt: skip
    # Level beyond its ends.
    assert told.at([-1.0, 1.0]) == pytest.approx(curve[[0, -1]])
    assert made.note.figures["mean"] == 10.0


def test_draws_have_the_errors_they_are_drawn_from_and_the_curve_first() -> None:
    covariance = np.array([[0.5, 0.1, -0.3], [0.1, 0.4, 0.05], [-0.3, 0.05, 0.9]])
    curve = np.full(11, 12.0)
    samples = spread.draw(512)
    made = evidence.Shaped(DEPTHS, curve, covariance).drawn(DEPTHS, THICK, samples)
    assert made[0] == pytest.approx(curve, abs=1e-9)
    functions = evidence.shape(DEPTHS, DEPTHS, THICK)
    wanted = np.einsum("di,ij,dj->d", functions, covariance, functions)
    assert made[1:].var(axis=0) == pytest.approx(wanted, rel=0.12)
    assert made[1:].mean(axis=0) == pytest.approx(curve, abs=0.08)
    # The mean's error goes with the deviates that every question shares.
    mean = made[1:] @ np.gradient(DEPTHS) / THICK
    assert np.corrcoef(mean, samples.moisture[1:])[0, 1] > 0.98
    driest = evidence.Shaped(DEPTHS, np.full(11, 1.5), 9.0 * covariance)
    assert driest.drawn(DEPTHS, THICK, samples).min() == 1.0  # no draw below 1 % M (judgement)


@pytest.mark.parametrize(
    ("story", "mean", "deviation", "gap"),
    [("anywhere", 12.0, 4.0, 1.5), ("stack", 15.0, 2.5, 2.0), ("room", 8.5, 1.5, 0.0)],
)
def test_where_nothing_was_read_the_story_says_how_wide_the_doubt_is(
    story: evidence.Story, mean: float, deviation: float, gap: float
) -> None:
    made = Untold(story)
    curve = made.shaped(THICK)
    assert curve.moisture[5] - curve.moisture[0] == pytest.approx(gap)
    assert curve.moisture[0] == curve.moisture[-1]
    inside = curve.at(np.linspace(0.0, THICK, 1001))
    assert inside.mean() == pytest.approx(mean, abs=0.01)
    assert np.sqrt(curve.covariance[0, 0]) == pytest.approx(deviation)
    # The bow's deviation makes that of core less faces; the tilt half of it.
    assert 1.5 * np.sqrt(curve.covariance[2, 2]) == pytest.approx(evidence.STORIES[story][3])
    assert 2.0 * np.sqrt(curve.covariance[1, 1]) == pytest.approx(evidence.STORIES[story][3])
    low, high = made.note.figures["low"], made.note.figures["high"]
    assert (low + high) / 2.0 == pytest.approx(mean)
    assert (high - low) / 2.0 == pytest.approx(1.28155 * deviation, rel=1e-4)


def test_readings_are_counted_in_their_note() -> None:
    made = Readings((oven(10.0), oven(11.0)))
    assert made.note.figures["count"] == 2
    assert made.shaped(THICK).depth.size == 11
