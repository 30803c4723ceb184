"""The steps of a repair: which are taken, in which order, and whose their figures are."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from model import spread
from model.answers import fixings, stiffening
from model.answers.diagnosis.diagnose import diagnose
from model.answers.flattening.flatten import flatten
from model.answers.flattening.plan import Case
from model.answers.settle import settle
from model.behaviour import bars, stiffeners
from model.behaviour.evidence import Readings, Value
from model.behaviour.slab import Depths, ShellCore, Slab
from model.behaviour.stiffeners import Stiffeners
from model.behaviour.year import years
from model.properties import finishes, species
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.repair import plan, steps, ways
from model.repair.happened import history_of, shrinks_at_most
from model.repair.plan import Repaired, repair
from model.repair.story import AtHand, Done, Seen, Story, Wanted
from model.spread import Figure
from model.surroundings.calendar import day_of
from model.surroundings.room import constant

OIL = finishes.face("hardwax-oil")
BARE = finishes.face("bare")
OAK = Slab(species.find("white oak"), 0.6, 0.045, length=1.8, ring_angle=0.0)
ROOM = constant(21.0, 40.0)
TODAY = datetime.date(2026, 1, 20)
STORY = Story(
    OAK,
    TODAY,
    spread.draw(16),
    moisture=ShellCore(7.6, 7.9),
    room=ROOM,
    since=datetime.date(2025, 9, 1),
    faces=Faces(OIL, OIL),
    seen=Seen(cup=0.006),
    done=Done(held="slots"),
)


def codes(made: Repaired) -> list[str]:
    return [step.code for step in made.steps]


def figures(made: Repaired, code: str) -> dict[str, object]:
    return next(step.does.figures for step in made.steps if step.code == code)


def told(**seen: object) -> Story:
    return replace(STORY, seen=replace(STORY.seen, **seen))  # type: ignore[arg-type]


# The same figures as the questions asked alone.


def test_what_happened_is_what_diagnosis_says() -> None:
    made = repair(STORY)
    assert made.happened is not None
    alone = diagnose(history_of(STORY), ROOM, None, 16, STORY.samples.seed)
    assert made.happened.diagnosis is not None
    assert made.happened.diagnosis.chances == alone.chances
    assert made.happened.diagnosis.before == alone.before


def test_the_year_after_is_what_settle_says_of_both_faces_finished() -> None:
    made = repair(STORY)
    assert STORY.moisture is not None
    alone = settle(OAK, STORY.moisture, Faces(OIL, OIL), ROOM, day_of(TODAY), STORY.samples)
    assert made.settled is not None
    assert made.settled.mean == alone.mean
    assert made.settled.gap_when_settled == alone.gap_when_settled


def test_slots_are_what_fixings_says_on_the_day_of_fitting() -> None:
    made = repair(STORY)
    assert made.settled is not None
    assert made.fitted is not None
    slots = next(step for step in made.steps if step.code == "slots")
    now, day = made.settled.mean.value, day_of(TODAY) + slots.day
    ends = years(OAK, now, made.finish, ROOM, day, STORY.samples).extremes
    where = stiffeners.usual_fixings(OAK.width)
    alone = fixings.fit(OAK, now, ends, where, plan.USUAL_FASTENER, STORY.samples)
    outer = alone.positions[0].point.slot
    assert outer is not None
    assert figures(made, "slots")["length"] == outer.length


def test_bars_bear_what_stiffening_says() -> None:
    held = Stiffeners(
        bars.channel(0.05, 0.025, 0.003),
        stiffeners.evenly(3, 1.8),
        (0.06, 0.3, 0.54),
        Fastener("threaded_insert", 0.0127, 0.025),
    )
    made = repair(replace(STORY, bars=held))
    assert made.stiffened is not None
    assert made.settled is not None
    step = next(step for step in made.steps if step.code == "bars")
    alone = stiffening.stiffen(
        OAK,
        made.settled.mean.value,
        made.finish,
        ROOM,
        day_of(TODAY) + step.day,
        held,
        STORY.samples,
        cup=made.cup_left.value if made.cup_left and "hold-flat" in codes(made) else 0.0,
    )
    assert step.does.figures["moment"] == pytest.approx(float(np.abs(alone.largest_moment[0])))
    assert alone.pulls is not None
    assert step.does.figures["pull"] == pytest.approx(float(alone.pulls.hardest[0]))


def test_a_way_by_force_is_what_flattening_says() -> None:
    made = repair(STORY)
    assert made.flattening is not None
    assert made.settled is not None
    day = next(s.day for s in made.steps if s.code in ("flatten", "plane-both", "rip"))
    case = Case(
        OAK,
        _cup(made),
        made.settled.mean.value,
        made.finish,
        ROOM,
        day_of(TODAY) + day,
        STORY.samples,
    )
    alone = flatten(case)
    assert made.flattening.verdict == alone.verdict
    assert made.flattening.breaks == alone.breaks


def _cup(made: Repaired) -> float:
    left = made.cup_left
    assert left is not None
    assert made.flat_by_itself is not None
    if made.flat_by_itself >= 1.0 - plan.SURE:
        assert left.low is not None
        assert left.high is not None
        return max(left.low, left.high, key=abs)
    return left.value


# Verdicts, on either side.


def test_a_cup_within_what_is_wanted_is_left_and_one_beyond_is_not() -> None:
    within = replace(STORY, wanted=Wanted(flat_within=0.0061))
    assert repair(within).verdict == "leave"
    assert codes(repair(within)) == ["leave", "watch"]
    assert repair(replace(STORY, wanted=Wanted(flat_within=0.0059))).verdict == "repair"


@pytest.mark.parametrize(
    "seen", [{"fixings": "torn"}, {"key_split": True}, {"check": "one_face"}, {"twist": 0.01}]
)
def test_a_small_cup_is_not_left_where_something_else_is_wrong(seen: dict[str, object]) -> None:
    story = replace(told(cup=0.001, **seen), wanted=Wanted(flat_within=0.002))
    assert repair(story).verdict == "repair"


def test_nothing_is_done_until_the_core_is_read() -> None:
    made = repair(replace(STORY, moisture=8.0))
    assert made.verdict == "read-first"
    assert codes(made)[-2:] == ["read", "ask-again"]
    assert not {"flatten", "plane-both", "rip", "slots"} & set(codes(made))
    assert made.asks[0].code == "core"
    assert repair(replace(STORY, moisture=Depths((0.01, 0.022), (7.8, 8.0)))).verdict == "repair"
    shell, deep, shallow = (Value(8.0, depth=at) for at in (0.004, 0.0113, 0.0112))
    assert replace(STORY, moisture=Readings((shell, deep))).core_read
    assert not replace(STORY, moisture=Readings((shell, shallow))).core_read
    assert not replace(STORY, moisture=Readings((deep, Value(8.0)))).core_read


def test_only_wood_and_size_are_needed() -> None:
    made = repair(Story(OAK, TODAY, spread.draw(4), seen=Seen(cup=0.006)))
    assert made.verdict == "read-first"
    assert made.happened is not None
    assert made.happened.missing == ("room", "since")
    assert repair(Story(OAK, TODAY, spread.draw(4))).verdict == "plan"


def test_it_waits_where_core_and_faces_are_apart_and_not_where_they_are_not() -> None:
    apart, near = (
        repair(replace(STORY, moisture=ShellCore(7.5, 7.5 + difference)))
        for difference in (plan.UNEVEN + 0.05, plan.UNEVEN - 0.05)
    )
    assert "wait" in codes(apart)
    assert "wait" not in codes(near)


def test_it_waits_where_its_mean_is_off_the_room_and_not_where_it_is_near() -> None:
    assert repair(STORY).settled is not None
    settles = repair(STORY).settled.mean.value  # type: ignore[union-attr]
    for off, waits in ((plan.OFF_ROOM + 0.3, True), (plan.OFF_ROOM - 0.3, False)):
        even = ShellCore(settles + off, settles + off)
        assert ("wait" in codes(repair(replace(STORY, moisture=even)))) is waits


def test_decay_at_a_torn_fixing_and_a_twist_beyond_planing_are_given_up() -> None:
    assert repair(told(decayed=True, fixings="torn")).verdict == "give-up"
    assert repair(told(decayed=True, fixings="hold")).verdict == "repair"
    keeps = replace(STORY, wanted=Wanted(thickness=0.040))
    for twist, verdict in ((0.0019, "repair"), (0.0021, "give-up")):
        seen = replace(keeps.seen, twist=twist)
        assert repair(replace(keeps, seen=seen)).verdict == verdict


def test_a_heart_in_it_is_never_held_by_bars_nor_pulled() -> None:
    inside = replace(OAK, ring_angle=None, pith_below=-0.010)
    held = Stiffeners(bars.flat(0.04, 0.01), stiffeners.evenly(3, 1.8), (0.06, 0.3, 0.54))
    made = repair(replace(told(check="one_face"), slab=inside, bars=held))
    assert "fill-check" in codes(made)
    assert not {"flatten", "flatten-in-steps", "hold-flat", "bars"} & set(codes(made))


def test_what_sprang_back_is_not_flattened_again() -> None:
    made = repair(replace(STORY, done=Done(held="slots", flattened=0.008)))
    assert not {"flatten", "flatten-in-steps"} & set(codes(made))


def test_without_clamps_or_planer_neither_is_advised() -> None:
    by_hand = repair(replace(STORY, at_hand=AtHand(clamps=False)))
    assert by_hand.flattening is None
    assert "plane-both" not in codes(repair(replace(STORY, at_hand=AtHand(planer=False))))


@pytest.mark.parametrize(("keep", "way"), [(0.0295, "plane-both"), (0.0305, "rip")])
def test_planing_needs_the_final_thickness_twice_the_cup_and_three_millimetres(
    keep: float, way: str
) -> None:
    # 45 - 2 x 6 - 3 = 30 mm (common practice, no source)
    story = replace(STORY, wanted=Wanted(thickness=keep), at_hand=AtHand(clamps=False))
    made = ways._without_force(story, 0.006, 0.0, "no-clamps")
    assert made.way == way


def test_a_gap_that_grew_by_more_than_its_wood_can_shrink_says_that_it_slid() -> None:
    most = shrinks_at_most(STORY)
    # White oak, 10.5 % tangential green to dry (Wood Handbook, memory): 30 mm of 600 from 20 to
    # 6 %, and four tenths more for wood that shrinks most.
    assert 0.030 < most < 0.045
    for grew, slid in ((most + 1e-4, True), (most - 1e-4, False)):
        made = repair(told(gap_before=0.003, gap_after=0.003 + grew))
        assert made.happened is not None
        assert made.happened.slid is slid
        assert any(note.code == "slid" for note in made.notes) is slid


def test_faces_with_unlike_finishes_and_unlike_air_are_put_right_first() -> None:
    sealed = Faces(finishes.face("polyurethane varnish"), BARE)
    made = repair(replace(STORY, faces=sealed, moisture=ShellCore(7.0, 9.5)))
    assert codes(made).index("alike-now") < codes(made).index("wait")
    assert "alike-now" not in codes(repair(STORY))


def test_the_order_is_that_of_the_table_and_days_never_go_back() -> None:
    for story in (STORY, replace(STORY, moisture=ShellCore(7.0, 11.0)), told(fixings="torn")):
        made = repair(story)
        orders = [step.rule.order for step in made.steps]
        assert orders == sorted(orders)
        assert [step.day for step in made.steps] == sorted(step.day for step in made.steps)


def test_every_step_of_the_table_says_how_it_is_known() -> None:
    assert len(steps.rules()) == 29
    for rule in steps.rules().values():
        assert rule.basis == "common practice, no source"
        assert rule.when


def test_a_plan_from_the_stack_dries_planes_finishes_slots_fits_and_looks() -> None:
    story = replace(STORY, seen=Seen(), done=Done(), moisture=ShellCore(11.0, 14.0))
    made = repair(story)
    assert codes(made) == ["stack", "mill", "finish-alike", "slots", "fit", "watch"]
    assert made.happened is None
    assert made.done_on is not None
    late = replace(story, wanted=Wanted(by=TODAY + datetime.timedelta(days=20)))
    assert any(note.code == "late" for note in repair(late).notes)
    assert not any(note.code == "late" for note in made.notes)


def test_chances_of_lying_within_a_limit_are_those_of_a_normal() -> None:
    # 10th and 90th percentile at one limit either side: 80 % within it.
    assert ways.chance_within(Figure(0.0, -1.0, 1.0), 1.0) == pytest.approx(0.8)
    # one-sided: the 90th percentile at the limit, the other limit far off
    assert ways.chance_within(Figure(5.0, 4.0, 6.0), 6.0) == pytest.approx(0.9)
