"""Verdicts of flattening and of bars, from either side of what decides them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model import spread
from model.answers import stiffening
from model.answers.flattening import flatten, treatments
from model.answers.flattening.plan import Case, Plan, stays_of
from model.answers.flattening.treatments import Treatment
from model.behaviour import bars, stiffeners
from model.behaviour.course import Stay
from model.behaviour.slab import Depths, Moisture, Slab
from model.behaviour.stiffeners import Stiffeners
from model.codes import Said
from model.properties import finishes, species
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.properties.strength import Bent
from model.surroundings import room

WALNUT = Slab(species.find("black walnut"), 0.6, 0.05, 1.8, ring_angle=0.0)
BARE = Faces(finishes.face("bare"), finishes.face("bare"))
ROOM = room.constant(21.0, 43.0)
DRY = room.constant(21.0, 20.0)


def case(cup: float = 0.010, moisture: Moisture = 8.1) -> Case:
    return Case(WALNUT, cup, moisture, BARE, ROOM, 0.0, spread.draw(0))


def made(breaks: float = 0.0, **figures: Any) -> Treatment:
    nothing = np.zeros(1)
    told: dict[str, Any] = {
        "way": "plan", "does": Said("plan"), "days": 30.0, "released": nothing,
        "after_year": nothing, "after_year_held": None, "largest_in_year": nothing,
        "index": nothing, "bends": Bent(nothing, nothing, breaks), "in_steps": False,
        "thickness_lost": 0.0, "width_lost": 0.0, "clamping": None, "thickness_left": 0.05,
    }  # fmt: skip
    return Treatment(**{**told, **figures})


@pytest.mark.parametrize(
    ("breaks", "helps", "says"),
    [
        # Hardly breaks: by whether it helps.
        (0.149, 0.851, "yes"), (0.149, 0.85, "cannot-tell"), (0.0, 0.15, "cannot-tell"),
        (0.0, 0.149, "no"),
        # May break: only where it is likelier to help.
        (0.15, 0.9, "risky"), (0.5, 0.51, "risky"), (0.5, 0.5, "no"), (0.5, 0.49, "no"),
        (0.85, 0.9, "risky"), (0.851, 1.0, "no"),
    ],
)  # fmt: skip
def test_what_chances_of_breaking_and_helping_come_to(
    breaks: float, helps: float, says: str
) -> None:
    assert flatten.judge(case(), made(breaks), helps) == says


def test_neither_a_small_cup_nor_a_slab_damp_on_one_face_is_flattened() -> None:
    # A six hundredth of the width is 1 mm; 1.5 % M from face to face must first even out.
    assert flatten.judge(case(0.00101), made(), 1.0) == "yes"
    assert flatten.judge(case(-0.00099), made(), 1.0) == "no"
    for difference, says in ((1.49, "yes"), (1.51, "no")):
        uneven = Depths((0.0, 0.05), (8.0 + difference, 8.0))
        assert flatten.judge(case(moisture=uneven), made(), 1.0) == says


def test_a_way_is_bearable_below_15_percent() -> None:
    assert made(0.149).bearable
    assert not made(0.15).bearable


def test_ways_are_ranked_by_their_largest_cup_of_the_year_over_the_draws() -> None:
    cups = np.array([9.0, -0.002, 0.004])  # the central case is no draw
    assert made(largest_in_year=cups, after_year=0.0 * cups).expected == pytest.approx(0.003)
    alone = made(largest_in_year=np.array([-0.005]))
    assert alone.expected == pytest.approx(0.005)


def test_strips_are_glued_up_to_a_panel_as_wide_as_the_slab() -> None:
    work = treatments.rip(case(0.010))
    # 10 mm go to four strips of a sixteenth of it each; faces bend the whole panel.
    assert (work.strips, work.case.slab.width) == (4, 0.6)
    assert work.case.cup == pytest.approx(0.010 / 16.0)
    assert work.width_lost == pytest.approx(3 * 0.006)


def test_bars_tell_what_the_plan_of_their_fixings_says() -> None:
    # 40 mm of thread over 19 mm of wood, 5 mm from the edge.
    slab = Slab(species.find("black walnut"), 0.6, 0.019, 1.8, ring_angle=0.0)
    insert = Fastener("threaded_insert", 0.012, 0.040, shank=0.008)
    placed = Stiffeners(
        bars.flat(0.04, 0.006), stiffeners.evenly(6, 1.8), (0.005, 0.3, 0.595), insert
    )
    found = stiffening.stiffen(slab, 9.0, BARE, ROOM, 0.0, placed, days=30.0)
    assert {"thread-clipped", "edge-distance", "through"} <= {note.code for note in found.notes}
    assert found.pulls is not None
    assert found.pulls.anchors[0].thread == pytest.approx(0.019)
    assert "no-point-on-the-fixed-line" not in {note.code for note in found.notes}


def test_a_hand_that_only_waits_breaks_nothing() -> None:
    waiting = treatments.wait(case(), ROOM)
    assert not waiting.in_steps
    assert treatments.chance_of_breaking(case(), waiting.stays) == 0.0


def test_a_plan_that_the_draws_break_is_not_proposed(monkeypatch: pytest.MonkeyPatch) -> None:
    # The central case bears plans that the draws of strength may not: the first that these bear
    # is proposed; where they bear none, the one that strains the central case least.
    asked = []

    def chance(_case: Case, stays: list[Stay]) -> float:
        asked.append(stays)
        return 0.5 if len(asked) < 2 else 0.149

    monkeypatch.setattr(treatments, "chance_of_breaking", chance)
    chosen = flatten.propose(case(), ROOM)
    assert len(asked) == 2
    assert stays_of(case(), chosen)[-1].hold == asked[1][-1].hold


def wetted(moisture: Moisture, hours: float) -> flatten.Uptake:
    plan = Plan("round", hours, 14.0, 1.0, None, DRY)
    found = flatten.flatten(case(moisture=moisture), DRY, plan)
    assert found.uptake is not None
    return found.uptake


def test_water_taken_up_is_not_lessened_by_what_the_other_face_loses() -> None:
    # Wood at 16 % in air of 20 %: its open face loses more in an hour than none at all; the wet
    # one takes up water all the same, over its face 1.08 m2.
    found = wetted(16.0, 1.0)
    assert found.per_area[0] > 0.0
    assert found.whole == pytest.approx(float(found.per_area[0]) * 0.6 * 1.8)


def test_wet_down_to_counts_from_the_wet_face_and_not_what_was_damp_before() -> None:
    # The round face is the bottom one (edges up); the top was damper by 6 % before.
    even, damp_on_top = wetted(8.1, 8.0), wetted(Depths((0.0, 0.05), (14.1, 8.1)), 8.0)
    assert 0.0 < even.depth < 0.015
    assert damp_on_top.depth == pytest.approx(even.depth, rel=0.3)


def test_a_short_bar_holds_less_than_one_from_edge_to_edge() -> None:
    whole = Stiffeners(bars.flat(0.04, 0.006), stiffeners.evenly(6, 1.8), (0.2, 0.3, 0.4))
    held = [
        # Edges down, the bar's ends press on the slab; drawn up, the fixings alone hold it.
        stiffeners.grip(WALNUT, replace(whole, length=length), 8.0, -0.01).bar
        for length in (0.598, 0.3)
    ]
    assert held[1] < 0.9 * held[0]
