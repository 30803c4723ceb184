"""Ready is said by the chance, and by nothing less than it takes."""

from dataclasses import replace

import numpy as np
import pytest

from model.answers.readiness import ready
from model.answers.readiness.seen import UNTOLD, Observation, Target
from model.properties.finishes import Faces
from tests.model.test_readiness import MEAN_DEPTH, case, codes, read, weights


@pytest.mark.parametrize(("late", "verdict"), [(2, "ready"), (3, "probably")])
def test_ready_takes_98_of_100_draws_within_a_fortnight(late: int, verdict: str) -> None:
    days = np.array([0.0, *[14.0] * (100 - late), *[14.1] * late])
    assert ready._verdict(days, ()) == verdict


@pytest.mark.parametrize(("never", "verdict"), [(86, "not_here"), (85, "cannot_tell")])
def test_what_seems_never_to_come_is_told_by_its_chance(never: int, verdict: str) -> None:
    days = np.array([np.inf, *[np.inf] * never, *[100.0] * (100 - never)])
    assert ready._verdict(days, ()) == verdict


def test_weights_alone_never_say_ready_and_with_the_dry_weight_they_do() -> None:
    told = weights(33.0, (0, 8.9), (60, 8.7), (120, 8.6), (180, 8.6))
    alone = ready.answer(case(), told, Target(8.6, 1.0))
    assert alone.verdict == "cannot_tell"
    assert [why.code for why in alone.withheld] == ["weights-alone"]
    known = ready.answer(case(dry_mass=33.0), told, Target(8.6, 1.0))
    assert known.verdict == "ready"
    assert known.chance_soon is not None
    assert known.chance_soon >= ready.SURE
    pinned = ready.answer(
        case(), [*told, *(replace(one, day=180.0) for one in read((180, 8.6)))], Target(8.6)
    )
    assert not pinned.withheld


def test_one_reading_is_no_proof() -> None:
    found = ready.answer(case(), read((0, 8.6), error=0.1), Target(8.6, 2.0))
    assert [why.code for why in found.withheld] == ["one-reading"]
    assert found.verdict == "cannot_tell"


def test_a_mean_at_its_target_with_a_wet_core_is_not_ready() -> None:
    # 5 at the faces and 11 in the middle: mean 9, which is the target, six apart.
    def at(share: float, value: float) -> Observation:
        return Observation(0.0, value, 0.15, 0.0, "moisture", 0.05 * share, 0.05 * share)

    wet_core = [at(0.02, 5.2), at(0.2113, 9.0), at(0.5, 11.0), at(0.98, 5.2)]
    found = ready.answer(case(), wet_core, Target(9.0, 1.0))
    # Near enough by its mean alone.
    assert found.present.mean.value == pytest.approx(9.0, abs=0.9)
    assert found.uneven.value > 4.0
    assert found.chance_ready == 0.0
    assert found.verdict != "ready"


def test_a_depth_nobody_told_and_faces_nobody_told_widen_the_answer_and_are_said() -> None:
    readings = read((0, 14.0), (20, 13.2), (40, 12.4), error=0.3)
    plain = ready.answer(case(), readings, Target(8.5, 1.5))
    untold = [replace(one, depth_told=False) for one in readings]
    deep = ready.answer(case(), untold, Target(8.5, 1.5))
    bench = ready.answer(
        case(faces=Faces(UNTOLD, UNTOLD), untold=(True, True)), readings, Target(8.5, 1.5)
    )

    def width(found: ready.Answer) -> float:
        mean = found.present.mean
        assert mean.low is not None
        assert mean.high is not None
        return mean.high - mean.low

    assert width(deep) > 1.2 * width(plain)
    assert "depth-drawn" in codes(deep)
    assert width(bench) > 1.2 * width(plain)
    # What weighs most comes first.
    assert bench.notes[0].code == "faces-drawn"
    assert not {"faces-drawn", "depth-drawn"} & codes(plain)


def test_a_piece_dried_beside_the_pins_moves_what_they_say() -> None:
    pins = [
        Observation(day, value, 0.5, 0.7, "moisture", MEAN_DEPTH, MEAN_DEPTH, "pin")
        for day, value in ((0.0, 12.0), (20.0, 11.2), (40.0, 10.5))
    ]
    piece = Observation(40.0, 12.0, 0.51, 0.0, "moisture", 0.0, 0.05, "oven_dry")
    alone = ready.answer(case(), pins, Target(8.5)).present.mean
    beside = ready.answer(case(), [*pins, piece], Target(8.5)).present.mean
    assert alone.value == pytest.approx(10.5, abs=0.4)
    # The piece has most of the say: 0.51 against what three pins share, 2.
    assert beside.value == pytest.approx(11.9, abs=0.3)


def test_up_and_down_is_scatter_and_not_water() -> None:
    days = np.linspace(0.0, 90.0, 10)
    zigzag = 9.0 + 5.0 * np.exp(-days / 60.0) + 1.5 * (-1.0) ** np.arange(10)
    readings = read(*zip(days, zigzag, strict=True), error=0.3)
    found = ready.answer(case(), readings, Target(8.5))
    assert found.flags.rewetted is None
    # Errors are widened by the misfit: a band of 0.3 over root ten would be 0.25.
    mean = found.present.mean
    assert mean.low is not None
    assert mean.high is not None
    assert mean.high - mean.low > 0.6


def test_the_chance_grows_with_the_days_and_begins_with_todays() -> None:
    found = ready.answer(case(), read((0, 14.0), (20, 13.0), (40, 12.2)), Target(8.5, 1.5))
    chance = found.trace.chance
    assert chance is not None
    assert np.all(np.diff(chance) >= 0.0)
    assert chance[0] == 0.0
    assert chance[-1] > 0.3
    assert ready.answer(case(), read((0, 14.0)), Target(8.5), draws=0).trace.chance is None
