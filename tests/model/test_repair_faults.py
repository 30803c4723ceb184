"""Verdicts of a repair from either side of what decides them, without the whole of a repair."""

from __future__ import annotations

import datetime
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

from model import spread
from model.answers.flattening.flatten import Flattening
from model.behaviour.slab import ShellCore, Slab
from model.properties import finishes, species
from model.properties.finishes import Faces
from model.repair import plan, ways
from model.repair.happened import Happened
from model.repair.story import Done, Seen, Story
from model.repair.ways import Chosen
from model.spread import Figure
from model.surroundings.room import constant

OIL = finishes.face("hardwax-oil")
OAK = Slab(species.find("white oak"), 0.6, 0.045, length=1.8, ring_angle=0.0)
STORY = Story(
    OAK,
    datetime.date(2026, 1, 20),
    spread.draw(0),
    moisture=ShellCore(7.6, 7.9),
    room=constant(21.0, 40.0),
    faces=Faces(OIL, OIL),
    seen=Seen(cup=0.006),
    done=Done(held="slots"),
)


def caused(rings: float) -> Happened:
    return cast(Happened, SimpleNamespace(chance=lambda cause: rings, cause=None))


def way(
    monkeypatch: pytest.MonkeyPatch, verdict: str, rings: float = 0.1, story: Story = STORY
) -> Chosen:
    """The way chosen where flattening says a verdict and the rings are so likely the cause."""
    treatment = SimpleNamespace(days=40.0, expected=0.002)
    of_plan = SimpleNamespace(hours=24.0, hold_days=30.0, over_correct=1.0, in_steps=False)
    made: dict[str, Any] = {"verdict": verdict, "breaks": 0.05, "helps": 0.9, "face": "bottom",
                            "plan": of_plan, "treatment": treatment}  # fmt: skip
    monkeypatch.setattr(ways, "flatten", lambda case: cast(Flattening, SimpleNamespace(**made)))
    return ways.choose(story, caused(rings), 0.004, 8.0, Faces(OIL, OIL), 7.0)


@pytest.mark.parametrize(
    ("verdict", "chosen"),
    [("yes", "flatten"), ("risky", "flatten-in-steps"), ("cannot-tell", "plane-both"),
     ("no", "plane-both")],
)  # fmt: skip
def test_only_a_flattening_that_is_not_refused_is_a_step(
    monkeypatch: pytest.MonkeyPatch, verdict: str, chosen: str
) -> None:
    found = way(monkeypatch, verdict)
    assert found.way == chosen
    # What was weighed for it is told either way.
    assert found.flattening is not None


@pytest.mark.parametrize(("rings", "forced"), [(0.84, True), (0.86, False)])
def test_a_cup_of_the_rings_is_planed_and_not_clamped(
    monkeypatch: pytest.MonkeyPatch, rings: float, forced: bool
) -> None:
    found = way(monkeypatch, "yes", rings)
    assert (found.way == "flatten") is forced
    assert (found.flattening is not None) is forced


def test_neither_a_heart_nor_what_sprang_back_is_clamped(monkeypatch: pytest.MonkeyPatch) -> None:
    inside = replace(STORY, slab=replace(OAK, ring_angle=None, pith_below=-0.010))
    sprang = replace(STORY, done=Done(held="slots", flattened=0.008))
    for story, why in ((inside, "boxed"), (sprang, "sprang-back")):
        found = way(monkeypatch, "yes", story=story)
        assert found.way == "plane-both"
        assert found.steps[0].does.figures["why"] == why


@pytest.mark.parametrize(
    ("chance", "says"),
    [(0.86, ["skip-flattening"]), (0.84, ["measure-again", "name-cause"]),
     (0.16, ["measure-again", "name-cause"]), (0.14, ["name-cause"])],
)  # fmt: skip
def test_a_cup_is_skipped_that_goes_by_itself_with_85_percent(
    monkeypatch: pytest.MonkeyPatch, chance: float, says: list[str]
) -> None:
    monkeypatch.setattr(plan, "chance_within", lambda *_: chance)
    monkeypatch.setattr(ways, "choose", lambda *_: Chosen("none", ()))
    work = object.__new__(plan._Work)
    work.story, work.what, work.finish = STORY, caused(0.1), Faces(OIL, OIL)
    work.steps, work.day, work.endless = [], 7.0, False
    work.now, work.settled, work.swing = STORY.moisture, None, None
    work.cup_left = Figure(0.001, -0.002, 0.004)
    work._flat()
    assert [step.code for step in work.steps] == says
