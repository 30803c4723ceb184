"""Course, reading, movement and fixings piece by piece: figures by hand, words from either side."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from model import spread
from model.answers import course, fixings, movement, reading
from model.behaviour import evidence, holdings, safe_drying
from model.behaviour.ends import left_by_coat
from model.behaviour.slab import Depths, ShellCore, Slab
from model.behaviour.year import Extremes
from model.properties import species
from model.properties.fasteners import Fastener

OAK = Slab(species.find("white oak"), 0.6, 0.05, 2.0, ring_angle=0.0)
WOOD = species.from_figures(4.0, 9.0, 0.6)
BOARD = Slab(WOOD, 0.3, 0.03, 2.0, ring_angle=0.0)


# Course.


def followed(**more: Any) -> Any:
    """A course of two rows of draws: five rows in two stays."""
    told: dict[str, Any] = {
        "days": np.array([0.0, 1.0, 2.0, 3.0, 6.0]), "stay": np.array([0, 0, 0, 1, 1]),
        "temperature": np.array([10.0, 10.0, 10.0, 20.0, 20.0]),
        "mean": np.array([[14.0, 9.0], [13.0, 9.0], [12.0, 9.0], [11.0, 9.0], [10.0, 9.0]]),
        "equilibrium": np.array([8.0, 8.0, 11.1, 8.0, 8.0]),
        "index_top": np.array([[0.1, 0.1], [0.5, 0.2], [0.2, 0.9], [0.2, 0.1], [0.1, 0.1]]),
        "index_bottom": np.array([[0.0, 0.0], [0.4, 0.1], [0.6, 0.1], [0.3, 0.2], [0.2, 0.1]]),
        "cup": 1e-3 * np.array([[0.0, 0.0], [-4.0, 1.0], [3.0, 2.0], [1.0, -5.0], [2.0, 1.0]]),
        "width": 0.6 - 1e-3 * np.arange(10.0).reshape(5, 2),
        "thickness": 0.05 - 1e-4 * np.arange(10.0).reshape(5, 2),
        "slab": OAK,
    }  # fmt: skip
    return SimpleNamespace(**(told | more))


def test_each_stay_is_told_by_its_own_rows() -> None:
    stays: Any = [SimpleNamespace(name="shed", days=2.0), SimpleNamespace(name="room", days=4.0)]
    moment = np.array([[0.0, 0.0], [5.0, 1.0], [-7.0, 2.0], [3.0, 3.0], [2.0, -9.0]])
    shed, room = course.summaries(followed(), stays, moment)
    assert (shed.name, shed.first, shed.last) == ("shed", 0.0, 2.0)
    assert (room.name, room.first, room.last) == ("room", 2.0, 6.0)
    assert (shed.mean.value, room.mean.value) == (12.0, 10.0)
    assert (shed.cup.value, room.cup.value) == (0.003, 0.002)
    # The largest in amount keeps its sign; draw by draw.
    assert shed.largest_cup.value == -0.004
    assert (shed.largest_cup.low, room.largest_cup.low) == (-0.004, -0.005)
    assert (shed.largest_cup_day, room.largest_cup_day) == (1.0, 6.0)
    assert (shed.largest_index.value, shed.largest_index.high) == (0.6, 0.9)
    assert (shed.largest_index_day, shed.largest_index_face) == (2.0, "bottom")
    assert (room.largest_index_day, room.largest_index_face) == (3.0, "bottom")
    assert shed.largest_moment is not None
    assert shed.largest_moment.value == -7.0
    assert room.largest_moment is not None
    assert room.largest_moment.low == -9.0
    assert shed.most_cupped.day == 1.0
    assert shed.most_cupped.cupped.shape == "edges down"
    assert shed.cupped.shape == "edges up"
    assert course.summaries(followed(), stays)[0].largest_moment is None
    alike = followed(index_top=np.full((5, 2), 0.5), index_bottom=np.full((5, 2), 0.5))
    assert course.summaries(alike, stays)[0].largest_index_face == "top"


def test_ends_split_where_it_began_three_points_above_the_driest_air() -> None:
    for begins, splits in ((10.99, False), (11.01, True)):
        told = followed(mean=np.array([[begins, 99.0]] * 5))
        made = course.ends_of(OAK, told)
        assert made.may_split is splits
    # The zone at the mean warmth of the days: 10 for two, 15 for one, 20 for three.
    warm = (2 * 10.0 + 15.0 + 3 * 20.0) / 6.0
    even = course.ends_of(OAK, followed(temperature=np.full(5, warm)))
    assert made.zone == pytest.approx(even.zone)
    assert made.left_by_coat == pytest.approx(left_by_coat(10.0, made.zone))
    cool = followed(temperature=np.full(5, 10.0))
    assert course.ends_of(OAK, cool).zone < made.zone
    # With the root of the days.
    longer = followed(temperature=np.full(5, 10.0), days=np.array([0.0, 1.0, 2.0, 3.0, 24.0]))
    ratio = course.ends_of(OAK, longer).zone / course.ends_of(OAK, cool).zone
    assert ratio == pytest.approx(2.0)


def test_a_course_too_fast_for_its_wood_is_told_by_its_chance(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def told(chance: float, allowed: float | None = 1.0, draws: int = 2) -> list[dict[str, Any]]:
        fast = SimpleNamespace(
            allowed=allowed, chance=lambda: chance, loss=np.full(draws, 2.0), day=3.0
        )
        monkeypatch.setattr(safe_drying, "fastest", lambda *_: fast)
        return [one.figures for one in course._too_fast(OAK, followed())]

    assert told(0.149) == []
    (may,) = told(0.151)
    assert (may["likely"], may["chance"], may["loss"], may["day"]) == (
        False,
        pytest.approx(15.1),
        2.0,
        3.0,
    )
    assert may["skin"] == 0.6
    assert told(0.851)[0]["likely"] is True
    assert told(0.5, None) == []
    assert told(0.5, draws=1)[0]["chance"] is None


def test_of_a_long_course_the_extremes_of_every_stay_are_kept() -> None:
    count = 1000
    rows = np.arange(count)
    wave = np.sin(rows / 40.0)
    made = followed(
        days=rows.astype(float), stay=(rows >= 600).astype(int), mean=(10.0 + wave)[:, None],
        cup=(1e-3 * np.cos(rows / 7.0))[:, None], index_top=np.zeros((count, 1)),
        index_bottom=np.where(rows == 777, 1.0, 0.0)[:, None],
        **{
            name: np.where(rows == at, 9.0, 0.0)[:, None]
            for name, at in (("stress_top", 111), ("stress_bottom", 222), ("shell_top", 333),
                             ("shell_bottom", 444), ("width", 555))
        },
    )  # fmt: skip
    kept = course.thinned(made, 100)
    assert kept.size <= 100
    assert {0, 599, 600, 999, 777, 111, 222, 333, 444, 555} <= set(kept.tolist())
    for part in (rows < 600, rows >= 600):
        assert {int(rows[part][wave[part].argmax()]), int(rows[part][wave[part].argmin()])} <= set(
            kept.tolist()
        )
    # Nearly all that may be told is.
    assert kept.size > 80
    # Forty stretches of 25 rows, each with its own two.
    assert np.diff(kept).max() < 26
    with pytest.raises(course.TooFewRows, match="2 stays"):
        course.thinned(made, 9)
    assert course.thinned(made, 1000).size == 1000


# Reading.


def corrected(moisture: float | None, place: str, error: float = 0.8) -> Any:
    return SimpleNamespace(moisture=moisture, place=place, error=error)


@pytest.mark.parametrize(
    ("mean", "code", "below"),
    [
        (10.01, "ends-below-body", 2.01), (9.99, "ends", 1.99), (8.79, "ends-agree", 0.79),
        (8.81, "ends", 0.81), (7.21, "ends-agree", -0.79), (7.19, "ends", -0.81),
        (None, "ends", None),
    ],
)  # fmt: skip
def test_what_readings_of_the_ends_say(mean: float | None, code: str, below: float | None) -> None:
    found = [corrected(7.5, "end"), corrected(8.5, "edge"), corrected(20.0, "top"),
             corrected(None, "end")]  # fmt: skip
    made = reading._ends(found, 0.2, mean)
    assert made is not None
    assert (made.moisture, made.error, made.zone) == pytest.approx((8.0, 0.8, 0.2))
    assert made.says.code == code
    assert made.below_slab == (None if below is None else pytest.approx(below))
    assert reading._ends(found[2:], 0.2, mean) is None


def test_where_to_read_next_follows_what_is_not_known() -> None:
    def reasons(tilt: float, core: float) -> list[str]:
        told: Any = SimpleNamespace(tilt_known=tilt, core_known=core)
        return [one.reason.code for one in reading._following(told, 0.05, 2.0, 0.2)]

    assert reasons(0.5, 0.5) == ["mean-depth"]
    assert reasons(0.49, 0.5) == ["mean-depth", "other-face"]
    assert reasons(0.5, 0.49) == ["mean-depth", "middle"]
    every = reading._following(None, 0.05, None, 0.4)
    assert [one.reason.code for one in every] == ["mean-depth", "other-face", "middle"]
    assert [one.place for one in every] == ["top", "bottom", "top"]
    # A parabola's mean lies 0.2113 of the thickness deep (derived).
    assert [one.depth for one in every] == pytest.approx([0.010566, 0.010566, 0.025], abs=1e-5)
    assert every[0].from_end == 0.4
    assert reading._following(None, 0.05, 2.0, 0.2)[0].from_end == 0.3
    assert reading._following(None, 0.05, 0.5, 0.4)[0].from_end == 0.25


def test_a_parabola_s_faces_core_and_tilt(monkeypatch: pytest.MonkeyPatch) -> None:
    # Mean 11 %, tilt and bow so that the faces stand at 8 and 10 % and the core at 12.
    shape = np.array([11.0, 1.0, -2.0])
    covariance = np.diag([0.04, 0.09, 0.25])
    fit = SimpleNamespace(shape=shape, covariance=covariance, contradicting=(), used=(0,))
    monkeypatch.setattr(evidence, "fit", lambda *_: fit)
    made = reading.profile([corrected(11.0, "top")], 0.05)
    assert (made.top.value, made.core.value, made.bottom.value) == pytest.approx((8.0, 12.0, 10.0))
    assert made.mean.value == 11.0
    assert made.core_less_faces.value == pytest.approx(12.0 - 9.0)
    assert made.top_less_bottom.value == pytest.approx(-2.0)
    # Deciles of each by its own error: 1.5 x 0.5, 2 x 0.3.
    for figure, error in ((made.core_less_faces, 0.75), (made.top_less_bottom, 0.6)):
        assert figure.high is not None
        assert figure.high - figure.value == pytest.approx(1.28155 * error, rel=1e-4)
    assert made.error[0] == pytest.approx(np.sqrt(0.04 + 0.09 + 0.25))
    assert (made.depth[0], made.depth[-1]) == (0.0, 0.05)
    # Priors of 1.5 and 3 % (judgement): 0.3 and 0.5 are left of them.
    assert made.tilt_known == pytest.approx(1.0 - 0.3 / 1.5)
    assert made.core_known == pytest.approx(1.0 - 0.5 / 3.0)
    with pytest.raises(ValueError, match="body"):
        reading.profile([corrected(None, "top"), corrected(9.0, "end")], 0.05)


def test_a_normal_s_deciles_stand_beside_a_figure() -> None:
    made = reading._figure(10.0, 2.0)
    assert (made.low, made.high) == pytest.approx((10.0 - 2.563, 10.0 + 2.563), abs=1e-3)
    curve: Any = SimpleNamespace(moisture=np.array([10.0]), error=np.array([2.0]))
    low: Any = reading.Profile.low
    high: Any = reading.Profile.high
    assert low.fget(curve)[0] == pytest.approx(7.437, abs=1e-3)
    assert high.fget(curve)[0] == pytest.approx(12.563, abs=1e-3)


# Movement.


def test_length_by_the_range_printed_for_normal_wood() -> None:
    # 0.1 to 0.2 % from green to dry (Wood Handbook ch. 4): 10 of 30 points of 2 m, 0.15: 1.0 mm.
    none = movement._length(replace(BOARD, length=None), np.array([18.0]), np.array([8.0]))
    assert none is None
    alone = movement._length(BOARD, np.array([18.0]), np.array([8.0]))
    assert alone is not None
    assert alone.change.value == pytest.approx(-1.0e-3, rel=2e-3)
    assert alone.change.low is None
    assert alone.after.value == pytest.approx(1.999, abs=1e-5)
    drawn = movement._length(BOARD, np.array([18.0, 18.0, 18.0]), np.array([8.0, 8.0, 11.0]))
    assert drawn is not None
    assert drawn.after.value == pytest.approx(2.0 + drawn.change.value)
    # From the most of the wood that moved most to the least of that which moved least.
    assert (drawn.change.low, drawn.change.high) == pytest.approx(
        (-2.0 * 0.002 / 3.0, -2.0 * 0.001 * 0.7 / 3.0), rel=5e-3
    )
    assert drawn.after.low is not None
    assert drawn.after.low == pytest.approx(2.0 + drawn.change.low)  # type: ignore[operator]
    assert (alone.coefficient, alone.change_by_coefficient) == (None, None)


def codes(slab: Slab, before: Any, after: Any, spiral: float | None = None) -> set[str]:
    made = movement.movement(slab, before, after, spiral_grain=spiral)
    return {one.code for one in made.notes}


def test_notes_of_movement_from_either_side() -> None:
    starts = WOOD.shrinkage_starts
    assert "near-fibre-saturation" not in codes(BOARD, starts - 5.0, 8.0)
    assert "near-fibre-saturation" in codes(BOARD, starts - 4.9, 8.0)
    assert "above-shrinkage" in codes(BOARD, starts, 8.0)
    assert "above-shrinkage" not in codes(BOARD, ShellCore(starts - 0.1, starts + 5.0), 8.0)
    for moisture, said in ((5.9, True), (6.0, False), (14.0, False), (14.1, True)):
        assert ("outside-coefficient" in codes(BOARD, 8.0, moisture)) is said
    assert "free-elastic" in codes(BOARD, ShellCore(8.0, 9.0), 8.0)
    assert "free-elastic" in codes(BOARD, 8.0, Depths((0.01, 0.02), (8.0, 9.0)))
    assert "free-elastic" not in codes(BOARD, 9.0, 8.0)
    assert {"length", "out-of-line"} <= codes(BOARD, 9.0, 8.0)
    assert not {"length", "out-of-line"} & codes(replace(BOARD, length=None), 9.0, 8.0)
    pith = replace(BOARD, ring_angle=None, pith_below=0.1)
    assert "twist" in codes(pith, 9.0, 8.0, 3.0)
    assert "twist-needs-the-pith" in codes(BOARD, 9.0, 8.0, 3.0)
    assert not {"twist", "twist-needs-the-pith"} & codes(pith, 9.0, 8.0)
    # Boxed heart: the pith in the middle half of 30 mm.
    for inside, said in ((-0.0076, True), (-0.0074, False)):
        assert ("boxed-heart" in codes(replace(pith, pith_below=inside), 9.0, 8.0)) is said
    assert "boxed-heart" not in codes(pith, 9.0, 8.0)


def test_what_may_come_along_the_length() -> None:
    change = movement.movement(BOARD, 14.0, 8.0).crooked
    assert change is not None
    assert change.twist is change.corner is None
    # Bow over 30 mm of thickness, crook over 300 of width: ten times less.
    assert change.bow == pytest.approx(10.0 * change.crook)
    assert movement.movement(replace(BOARD, length=None), 14.0, 8.0).crooked is None
    pith = replace(BOARD, ring_angle=None, pith_below=0.1)
    near, far = (
        movement.movement(replace(pith, pith_below=below), 14.0, 8.0, spiral_grain=3.0).crooked
        for below in (0.1, 0.215)
    )
    assert near is not None
    assert far is not None
    assert near.twist is not None
    assert far.twist is not None
    assert near.corner is not None
    # By the pith's distance from the middle: 115 and 230 mm.
    assert near.twist == pytest.approx(2.0 * far.twist)
    assert abs(near.corner) > 0.0
    plain = movement.movement(pith, 14.0, 8.0).crooked
    assert plain is not None
    assert plain.twist is None


def test_what_a_known_pith_changes() -> None:
    outside = movement.movement(replace(BOARD, ring_angle=None, pith_below=0.1), 14.0, 8.0).rings
    assert outside is not None
    assert outside.check_opening is outside.v_rise is None
    # Flat-sawn by the formula: 9 % over 30 points: 6 of 0.3 m, over 1 - 0.09 x 16/30.
    plain = -0.3 * 0.09 * 6.0 / 30.0 / (1.0 - 0.09 * 16.0 / 30.0)
    assert outside.flat_change == pytest.approx(plain, rel=1e-6)
    assert plain < outside.change < 0.0
    inside = movement.movement(replace(BOARD, ring_angle=None, pith_below=-0.01), 14.0, 8.0).rings
    assert inside is not None
    assert inside.check_opening is not None
    assert inside.v_rise is not None
    # Tangential less radial: 5 % of 6/30, round a circle of 10 mm.
    open_ = 2.0 * np.pi * 0.010 * 0.05 * 6.0 / 30.0
    assert inside.check_opening == pytest.approx(open_, rel=0.1)
    damper = movement.movement(replace(BOARD, ring_angle=None, pith_below=-0.01), 8.0, 14.0).rings
    assert damper is not None
    assert damper.v_rise == 0.0
    assert movement.movement(BOARD, 14.0, 8.0).rings is None


def test_formulas_that_a_movement_leans_on() -> None:
    plain = movement.movement(BOARD, 14.0, 8.0).formulas
    assert "equilibrium-moisture" not in plain
    aired = movement.movement(BOARD, 14.0, movement.InAir(20.0, 40.0)).formulas
    assert {"equilibrium-moisture", "sorption-of-woods"} <= set(aired)
    first = movement.movement(BOARD, movement.InAir(20.0, 40.0), 9.0).formulas
    assert "equilibrium-moisture" in first


# Fixings.


def test_the_worst_point_of_nine_in_ten_cases_judges_other_ways_to_hold(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[float, float]] = []

    def judge(inward: float, outward: float) -> tuple[Any, ...]:
        asked.append((inward, outward))
        return ()

    monkeypatch.setattr(holdings, "judge", judge)
    screw = Fastener("wood_screw", 0.006, 0.030)
    low, high = np.full(17, 6.0), np.full(17, 11.0)
    low[0], high[0] = 7.0, 10.0
    for samples, ends in (
        (spread.draw(16), Extremes(low, high)),
        (spread.draw(0), Extremes(low[:1], high[:1])),
    ):
        made = fixings.fit(OAK, 9.0, ends, (0.1, 0.3, 0.58), screw, samples)
        far = made.planned.points[2]
        inward, outward = asked[-1]
        if samples.draws:
            assert inward == pytest.approx(float(np.percentile(far.moves_in[1:], 90.0)))
            assert outward == pytest.approx(float(np.percentile(far.moves_out[1:], 90.0)))
            assert inward > far.moves_in[0]
        else:
            assert (inward, outward) == (far.moves_in[0], far.moves_out[0])
        assert (made.driest.value, made.dampest.value) == (7.0, 10.0)
        assert [one.fixed for one in made.positions] == [False, True, False]
        assert made.fixed_solid is not None
        assert made.through == 0.006
    alone = fixings.fit(OAK, 9.0, Extremes(low, high), (0.3,), screw, spread.draw(16))
    assert alone.fixed_solid is None
    assert "two-layer-bar" not in alone.formulas
    assert {"two-layer-bar", "lateral-yield", "withdrawal-nds"} <= set(made.formulas)


def test_formulas_of_withdrawal_are_those_that_cover_the_screw() -> None:
    ends = Extremes(np.full(1, 7.0), np.full(1, 10.0))

    def formulas(diameter: float, wood: str = "white oak") -> set[str]:
        slab = replace(OAK, species=species.find(wood))
        screw = Fastener("wood_screw", diameter, 0.08)
        return set(fixings.fit(slab, 9.0, ends, (0.3,), screw, spread.draw(0)).formulas)

    # EN 1995 from 6 to 12 mm, the hardwood formula to 14 and for dense hardwood alone.
    assert {"withdrawal-en1995", "withdrawal-hardwood"} <= formulas(0.008)
    assert not {"withdrawal-en1995", "withdrawal-hardwood"} & formulas(0.0059)
    assert {"withdrawal-en1995", "withdrawal-hardwood"} & formulas(0.013) == {"withdrawal-hardwood"}
    pine = formulas(0.008, "eastern white pine")
    assert {"withdrawal-en1995", "withdrawal-hardwood"} & pine == {"withdrawal-en1995"}
