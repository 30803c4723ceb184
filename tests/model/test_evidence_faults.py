"""Verdicts on evidence that were wrong once: what is not told is drawn, a bias is shared."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from model.answers import drying
from model.answers.diagnosis import diagnose, posterior, stories, tried
from model.answers.diagnosis.history import History, Sighting, end_grain_seen
from model.answers.diagnosis.stories import Story
from model.answers.readiness import fit
from model.answers.readiness.seen import UNTOLD, Observation
from model.behaviour import transport
from model.behaviour.course import Stay
from model.properties.finishes import Face, Faces
from tests.model.test_drying import steady
from tests.model.test_readiness import ELM, SHOP, case, read

BARE = Faces(Face(0.0), Face(0.0))


def test_pins_of_which_no_depth_is_told_stand_at_one_that_is_drawn() -> None:
    told = read((0, 14.0), (20, 13.0))
    assert "depth" not in fit._problem(case(), told).names
    problem = fit._problem(case(), [replace(one, depth_told=False) for one in told])
    where = problem.names.index("depth")
    # Even in its logarithm between a twentieth and a half of the thickness (judgement).
    theta = np.zeros((3, len(problem.names)))
    theta[:, where] = [-4.0, 0.0, 4.0]
    depths = problem.pin_depth(theta) / 0.05
    assert depths == pytest.approx([0.05, np.sqrt(0.05 * 0.5), 0.5], rel=1e-3)
    # A drying slab is damper the deeper they stand, and so all readings go with the depth.
    theta[:, problem.names.index("shape")] = 2.0
    seen = problem.predict(theta)
    assert np.all(np.diff(seen, axis=0) > 0.3)


@pytest.mark.parametrize("untold", [(False, False), (True, False), (False, True), (True, True)])
def test_a_face_of_which_nothing_is_told_has_a_resistance_that_is_drawn(
    untold: tuple[bool, bool],
) -> None:
    faces = Faces(*(UNTOLD if drawn else Face(0.0) for drawn in untold))
    problem = fit._problem(case(faces=faces, untold=untold), read((0, 14.0), (20, 13.0)))
    names = [name for name in ("lid", "bench") if name in problem.names]
    assert names == [name for name, drawn in zip(("lid", "bench"), untold, strict=True) if drawn]
    theta = np.zeros((2, len(problem.names)))
    theta[0], theta[1] = -2.5, 2.5
    for resists, drawn in zip(problem.finish(theta), untold, strict=True):
        assert bool(resists[1] > 100.0 * resists[0]) is drawn


def test_a_meter_s_bias_is_in_all_that_a_diagnosis_reads_by_it() -> None:
    seen = (Sighting("cup", 0.004, 5e-4), Sighting("moisture", 9.0, 0.8),
            Sighting("moisture", 9.4, 0.8, depth=0.02), end_grain_seen(7.0))  # fmt: skip
    stay = Stay(SHOP.air, 30.0, BARE)
    one = tried.Case(History(ELM, (stay,), sightings=seen), (stay,), transport.grid(0.05),
                     (12.0, 2.0), (0.5, 1.0), (0.0, 4e-4))  # fmt: skip
    errors = np.sqrt(np.diag(one.covariance))
    shared = one.covariance / np.outer(errors, errors)
    # Of pins 0.7 % M shared, 0.5 each reading's own: two thirds of the variance.
    assert shared[1, 2] == pytest.approx(0.7**2 / (0.7**2 + 0.5**2), abs=0.005)
    assert shared[1, 3] == pytest.approx(shared[1, 2])
    assert shared[0, 1:] == pytest.approx(0.0)


def test_a_misfit_widens_the_errors_by_which_stories_are_weighed() -> None:
    # Best misses of 4 and 5 standard deviations: so sure as told, one story is 90 times as likely
    # as the other; with errors four times as wide (e^(-9/2/16) = 0.755) hardly more.
    story = cast(Story, SimpleNamespace(case=SimpleNamespace(covariance=np.array([[0.25]]))))
    rows = np.zeros((64, 2))
    found = posterior._weighed(
        [(story, rows, np.zeros(64), np.full((64, 1), 0.5 * miss)) for miss in (4.0, 5.0)], [], 8
    )
    assert found.misfit == pytest.approx(4.0)
    assert found.power == 1.0
    assert found.chances == pytest.approx((1.0 / 1.755, 0.755 / 1.755), abs=1e-3)
    # What fits keeps its errors: misses of 0.5 and 1.5.
    fits = posterior._weighed(
        [(story, rows, np.zeros(64), np.full((64, 1), 0.5 * miss)) for miss in (0.5, 1.5)], [], 8
    )
    assert fits.chances[0] == pytest.approx(1.0 / (1.0 + np.exp(-1.0)), abs=1e-6)


def test_what_a_machine_condenses_and_its_current_warm_the_shop() -> None:
    # 20 degC, 60 % held at 43 for 30 days; a kilogram gives back 2,501 - 2.36 T kJ (ASHRAE
    # Fundamentals ch. 1, memory), 0.68 kWh, and the 0.75 kWh of current (common practice).
    shop = steady(humidity=60.0)
    plan = drying.by_humidity(shop, 8.0)
    assert plan is not None
    days, still = np.arange(0.0, 40.0), np.full(40, 8.0)
    balance, damps, warms = drying.balance_of(1e-6, plan, shop, days, still, 0.0, 30.0)
    assert balance.removed > 10.0
    assert warms / balance.removed == pytest.approx(0.68 + 0.75, abs=0.005)
    assert damps == 0.0


def test_beside_a_piece_that_was_dried_a_meter_may_be_off_by_anything() -> None:
    # A pin's usual bias of 0.7 % M gives way to 2 beside a piece from the oven, which is to say.
    pins = [Observation(day, 11.0, 0.5, 0.7, group="pin") for day in (0.0, 20.0)]
    piece = Observation(20.0, 12.0, 0.5, 0.0, group="oven_dry")
    assert fit._covariance(pins)[0] == pytest.approx([0.7**2 + 0.5**2, 0.7**2])
    beside = fit._covariance([*pins, piece])
    assert beside[0] == pytest.approx([2.0**2 + 0.5**2, 2.0**2, 0.0])
    assert beside[2] == pytest.approx([0.0, 0.0, 0.5**2])


def cupped(*, bark_known: bool) -> History:
    slab = replace(ELM, bark_side="top", bark_known=bark_known)
    seen = (Sighting("cup", 0.004, 5e-4), Sighting("width", 0.59, 5e-4))
    return History(slab, (Stay(SHOP.air, 30.0, BARE),), sightings=seen)


def test_either_side_may_be_the_bark_s_where_nobody_told() -> None:
    told = stories.stories(cupped(bark_known=False))
    weight = {"top": 0.0, "bottom": 0.0}
    for one in told:
        weight[one.case.history.slab.bark_side] += one.weight
    assert weight == pytest.approx({"top": 0.5, "bottom": 0.5})
    sides = {one.case.history.slab.bark_side for one in stories.stories(cupped(bark_known=True))}
    assert sides == {"top"}


@pytest.mark.parametrize(
    ("misfit", "fits", "tried_"), [(2.1, 1.0, 3), (2.1, 9.0, 0), (1.9, 1.0, 0)]
)
def test_of_what_does_not_fit_the_bark_side_and_each_figure_is_tried_otherwise(
    monkeypatch: pytest.MonkeyPatch, misfit: float, fits: float, tried_: int
) -> None:
    monkeypatch.setattr(posterior, "misfit", lambda *_: fits)
    found = cast(posterior.Posterior, SimpleNamespace(misfit=misfit))
    others = diagnose._alternatives(cupped(bark_known=True), found, 1, unasked=False)
    assert len(others) == tried_
    if tried_:
        assert {one.otherwise for one in others} == {"bark_other_way", "width_wrong", "cup_wrong"}
