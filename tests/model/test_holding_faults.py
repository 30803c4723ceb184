"""Verdicts on holding that were wrong once, each held by the case that showed it."""

from __future__ import annotations

import numpy as np
import pytest

from model import spread
from model.answers import stiffening
from model.answers.flattening import flatten
from model.answers.flattening.plan import Case
from model.behaviour import bars, fixings, stiffeners
from model.behaviour.slab import Slab
from model.behaviour.stiffeners import Stiffeners
from model.properties import finishes, species
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.surroundings import room

BARE = Faces(finishes.face("bare"), finishes.face("bare"))
WALNUT = species.find("black walnut")
STEADY = room.constant(21.0, 43.0)
SAMPLES = spread.draw(16)


@pytest.mark.parametrize("cup", [0.010, 0.020, 0.060])
def test_no_flattening_that_breaks_the_slab_is_said_to_work(cup: float) -> None:
    # Black walnut 600 x 50 mm: 10, 20 and 60 mm were all told to try.
    slab = Slab(WALNUT, 0.6, 0.05, length=1.8, ring_angle=0.0)
    made = flatten.flatten(Case(slab, cup, 8.1, BARE, STEADY, 0.0, SAMPLES))
    if made.verdict == "yes":
        assert made.breaks < 0.15
    assert made.verdict != "yes" or cup < 0.060


def test_straight_bars_bear_the_cup_they_draw_flat() -> None:
    # Walnut 914 x 44 mm, 10 mm of cup, three channels: 25 N m was told where 180 act.
    slab = Slab(WALNUT, 0.914, 0.044, length=1.8, ring_angle=0.0)
    placed = Stiffeners(
        bars.channel(0.05, 0.025, 0.003),
        stiffeners.evenly(3, 1.8),
        (0.1, 0.457, 0.814),
        Fastener("threaded_insert", diameter=0.0127, thread=0.025, shank=0.008),
    )
    made = stiffening.stiffen(slab, 8.1, BARE, STEADY, 0.0, placed, SAMPLES, cup=0.010)
    assert np.abs(made.moment[:, 0]).max() > 100.0
    assert made.pulls is not None
    # The worst of all decides: none bears more of what tears it than the one it is judged by.
    assert made.pulls.by_point[made.pulls.worst] == pytest.approx(max(made.pulls.by_point))


def test_thread_that_would_stand_out_of_the_wood_holds_nothing() -> None:
    # A 40 mm insert in 19 mm of wood, 5 mm from the edge: its full thread was counted.
    slab = Slab(WALNUT, 0.6, 0.019, length=1.8, ring_angle=0.0)
    long, short = (
        fixings.plan(
            slab, 8.0, 6.0, 9.0, (0.005, 0.3),
            Fastener("threaded_insert", diameter=0.0127, thread=thread, shank=0.008), SAMPLES,
        )
        for thread in (0.040, 0.019)
    )  # fmt: skip
    assert long.points[1].anchor.thread <= 0.019
    assert long.points[1].anchor.allowable == pytest.approx(short.points[1].anchor.allowable)
    assert "edge-distance" in {note.code for note in long.notes}
