"""Two hundred flattenings at random: nothing that breaks is recommended, whatever the month."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model import spread
from model.answers.flattening import flatten
from model.answers.flattening.plan import Case, Plan
from model.behaviour.slab import Slab
from model.properties import finishes, species
from model.properties.finishes import Faces
from model.properties.strength import UNLIKELY
from model.surroundings import room

WOODS = (
    "black walnut", "white oak", "northern red oak", "sugar maple", "black cherry",
    "American elm", "yellow-poplar", "American beech", "eastern white pine", "white ash",
)  # fmt: skip
YEARLY = room.from_months(
    [20.0] * 12, [30.0, 30.0, 33.0, 38.0, 45.0, 55.0, 60.0, 60.0, 55.0, 45.0, 38.0, 32.0]
)
ROOMS = (YEARLY, room.constant(21.0, 43.0), room.constant(20.0, 35.0))
SAMPLES = spread.draw(16)


def drawn(count: int, seed: int) -> list[Case]:
    """Cases at random: wood, size, cup, moisture, faces, room and day."""
    dice = np.random.default_rng(seed)
    cases = []
    for _ in range(count):
        width = float(dice.uniform(0.25, 1.0))
        slab = Slab(
            species.find(str(dice.choice(WOODS))),
            width,
            float(dice.uniform(0.02, 0.08)),
            length=float(dice.uniform(0.8, 3.0)),
            ring_angle=float(dice.choice([0.0, 30.0])),
            bark_side="top" if dice.random() < 0.5 else "bottom",
        )
        cup = float(dice.uniform(0.002, 0.04) * width) * (1.0 if dice.random() < 0.5 else -1.0)
        faces = [finishes.face(str(dice.choice(["bare", "oiled"]))) for _ in range(2)]
        cases.append(
            Case(
                slab,
                cup,
                float(dice.uniform(6.0, 14.0)),
                Faces(*faces),
                ROOMS[int(dice.integers(len(ROOMS)))],
                float(dice.uniform(0.0, 365.0)),
                SAMPLES,
            )
        )
    return cases


def check(made: flatten.Flattening) -> None:
    """What holds of every flattening."""
    ways = {one.way: one for one in (made.treatment, *made.alternatives)}
    if made.verdict == "yes":
        assert made.breaks < UNLIKELY
        assert made.helps > 1.0 - UNLIKELY
    if made.breaks > 1.0 - UNLIKELY:
        assert made.verdict == "no"
    for best in (made.best, made.best_with_loss):
        assert ways[best].breaks < UNLIKELY
    if made.proposed and made.plan.hours in (flatten.HOURS[0], flatten.HOURS[-1]):
        assert "plan-at-the-edge" in {note.code for note in made.notes}
    for one in ways.values():
        assert np.all(np.isfinite(one.largest_in_year))
        assert 0.0 <= one.breaks <= 1.0
    if made.uptake is not None:
        assert float(made.uptake.per_area[0]) > 0.0
        assert 0.0 <= made.uptake.depth <= made.treatment.thickness_left + 1e-9


@pytest.mark.slow
def test_no_plan_is_recommended_that_breaks_the_slab() -> None:
    for case in drawn(200, seed=5):
        check(flatten.flatten(case))


@pytest.mark.slow
def test_the_word_of_the_verdict_does_not_hang_on_the_month_it_starts_in() -> None:
    for case in drawn(15, seed=11):
        plan = Plan("round", 24.0, 60.0, 0.5, None, case.room, in_steps=True)
        words = {
            flatten.flatten(replace(case, today=month * 365.2425 / 12.0), plan=plan).verdict
            for month in range(12)
        }
        assert len(words - {"cannot-tell", "risky"}) <= 1


@pytest.mark.parametrize("case", drawn(3, seed=3))
def test_a_few_of_them(case: Case) -> None:
    check(flatten.flatten(case))
