"""Stress a slab brings along: what it does when it is planed, and what it does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.answers import movement
from model.answers.diagnosis import stories
from model.answers.diagnosis.history import History
from model.behaviour import brought, course, transport
from model.behaviour.brought import Brought
from model.behaviour.course import Stay
from model.behaviour.slab import Slab
from model.properties import finishes, species
from model.properties.finishes import Faces
from model.surroundings import room

OAK = species.find("white oak")
CASEHARDENED = brought.by_slice(0.001, 0.1, 0.05)
SLAB = Slab(OAK, 0.6, 0.05, length=2.0, ring_angle=0.0, brought=CASEHARDENED)
OPEN = Faces(finishes.face("bare"), finishes.face("bare"))
AIR = room.constant(20.0, 42.0).air


def planed(top: float, bottom: float, slab: Slab = SLAB) -> float:
    """Cup [m] at once after so much is planed off each face."""
    stay = Stay(AIR, 0.01, OPEN, dress_top=top, dress_bottom=bottom)
    return float(course.run(slab, 8.0, [stay], came="mean").cup[0, 0])


def test_planing_one_face_of_a_casehardened_slab_hollows_it_at_once() -> None:
    # 0.75 |s|/E depth W^2/t^2 (derived; exact to first order of the depth): 1.44 mm for 2 mm.
    by_rule = brought.cup_by_planing(CASEHARDENED, 0.002, 0.6, 0.05)
    assert by_rule == pytest.approx(1.44e-3, abs=5e-6)
    # 2 mm off 50: what is left is thinner by 4 %, its curvature that of a thinner section.
    assert planed(0.002, 0.0) == pytest.approx(by_rule, rel=0.12)
    assert planed(0.0, 0.002) == pytest.approx(-planed(0.002, 0.0), rel=1e-6)
    reverse = replace(SLAB, brought=Brought(-CASEHARDENED.skin))
    assert planed(0.002, 0.0, reverse) == pytest.approx(-planed(0.002, 0.0), rel=1e-6)


def test_equal_cuts_from_both_faces_leave_it_flat() -> None:
    assert planed(0.003, 0.003) == pytest.approx(0.0, abs=1e-9)


def test_left_alone_it_neither_cups_nor_changes_its_width() -> None:
    kept, free = (
        course.run(one, 8.0, [Stay(AIR, 0.01, OPEN)], came="mean")
        for one in (SLAB, replace(SLAB, brought=None))
    )
    np.testing.assert_allclose(kept.cup[0], free.cup[0], atol=1e-9)
    np.testing.assert_allclose(kept.width[0], free.width[0], rtol=1e-9)
    # The shell is pressed, the core pulled.
    assert float(kept.stress_top[0, 0]) < 0.0
    assert "brought-along" in {note.code for note in kept.notes}
    assert "brought-along" not in {note.code for note in free.notes}


@given(st.floats(-0.01, 0.01), st.floats(0.01, 0.2))
def test_the_set_that_stands_for_it_is_balanced(skin: float, thickness: float) -> None:
    mesh = transport.grid(thickness)
    made = brought.set_of(Brought(skin), mesh.depth, mesh.weight, thickness)
    assert float(made @ mesh.weight) == pytest.approx(0.0, abs=1e-12)
    assert float(made @ (mesh.weight * (mesh.depth - 0.5 * thickness))) == pytest.approx(
        0.0, abs=1e-12
    )


def test_a_slice_and_a_prong_of_one_slab_tell_the_same() -> None:
    # The slab's own parabola bends a prong of a tenth of the thickness; half a slice likewise.
    skin, length, prong = CASEHARDENED.skin, 0.15, 0.005
    difference = 1.5 * -skin * (1.0 - (1.0 - 2.0 * prong / 0.05) ** 2)
    bends = difference * length**2 / (2.0 * prong)
    assert brought.by_prong(bends, length, prong, 0.05).skin == pytest.approx(skin)


def test_movement_tells_what_planing_does_and_nothing_without_stress() -> None:
    told = movement.movement(SLAB, 10.0, 8.0).planing
    assert told is not None
    assert told.value == pytest.approx(0.72e-3, abs=5e-6)
    assert movement.movement(replace(SLAB, brought=None), 10.0, 8.0).planing is None


def test_a_diagnosis_of_a_slab_that_brings_stress_along_begins_with_it() -> None:
    history = History(SLAB, (Stay(AIR, 30.0, OPEN),))
    middle, deviation = stories._usual_locked(history)
    # It is in every story, and no story of its own any more.
    assert all(one.case.locked == (middle, deviation) for one in stories.stories(history))
    assert "locked_in_stress" not in {one.cause for one in stories.stories(history)}
    # As the engine's own set of it, shell against core.
    assert middle == pytest.approx(-CASEHARDENED.skin)
    assert 0.0 < deviation < abs(middle)
    plain = replace(history, slab=replace(SLAB, brought=None))
    assert stories._usual_locked(plain)[0] == 0.0
