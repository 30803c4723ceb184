"""Taking a cup out piece by piece: stays of a plan, other ways, reasons and notes, either side."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from model import spread
from model.answers.flattening import clamping, flatten, plan, treatments
from model.answers.flattening.plan import Case, Plan
from model.answers.flattening.treatments import Treatment
from model.behaviour import bar_forces, course
from model.behaviour.section import FREE
from model.behaviour.slab import Depths, Slab
from model.codes import Said
from model.properties import species, strength
from model.properties.finishes import Face, Faces
from model.properties.strength import IN_STEPS
from model.surroundings.room import constant

WOOD = species.from_figures(4.0, 9.4, 0.58, transport_group="light diffuse-porous")
SLAB = Slab(WOOD, width=0.6, thickness=0.05, length=1.8, pith_below=1.0e4)
BARE = Faces(Face(0.0), Face(0.0))
ROOM = constant(20.0, 40.0)
CUP = 0.010  # edges up: the top is the hollow face
CASE = Case(SLAB, CUP, 8.0, BARE, ROOM, 10.0, spread.draw(0))
PLAN = Plan("round", 24.0, 20.0, 1.25, None, ROOM)


def made(breaks: float = 0.0, **more: Any) -> Any:
    """A way that breaks the slab by such a chance and leaves a tenth of the cup."""
    told = {
        "breaks": breaks, "in_steps": False, "largest_in_year": np.array([0.1 * CUP]), "way": "plan"
    }  # fmt: skip
    return SimpleNamespace(**(told | more))


def waits(cup: float) -> Any:
    return SimpleNamespace(way="wait", released=np.array([cup]))


DRESS = SimpleNamespace(way="dress")


# The stays of a plan.


def test_it_is_wetted_and_then_held_past_flat() -> None:
    wet, held = plan.stays_of(CASE, PLAN)
    assert (wet.name, wet.wet_face, wet.wet_hours, wet.days) == ("wetted", "bottom", 24.0, 1.0)
    assert wet.air is ROOM.air
    assert (held.name, held.days) == ("dried", 20.0)
    # 10 mm over 0.6 m is 0.2222 per metre; a quarter past flat.
    assert held.hold.curvature == pytest.approx(-0.25 * 8.0 * 0.010 / 0.36)
    assert math.isinf(float(held.hold.bending))
    (hollow, _) = plan.stays_of(CASE, replace(PLAN, wet_face="hollow"))
    assert hollow.wet_face == "top"
    down = replace(CASE, cup=-CUP)
    assert plan.stays_of(down, PLAN)[0].wet_face == "top"
    assert (CASE.hollow, CASE.round, down.hollow, down.round) == ("top", "bottom", "bottom", "top")
    for none in (replace(PLAN, wet_face=None), replace(PLAN, hours=0.0)):
        assert [one.name for one in plan.stays_of(CASE, none)] == ["dried"]


def test_little_by_little_is_four_steps_a_week_apart_or_a_fifth_of_a_short_hold() -> None:
    for days, week in ((60.0, 7.0), (35.0, 7.0), (20.0, 4.0)):
        steps = plan.drawn(CASE, days, 1.2, ROOM, in_steps=True)
        assert [one.days for one in steps] == pytest.approx([week, week, week, days - 3.0 * week])
        now = 8.0 * 0.010 / 0.36
        assert [one.hold.curvature for one in steps] == pytest.approx(
            [now * (1.0 - 1.2 * share) for share in (0.25, 0.5, 0.75, 1.0)]
        )
    assert len(plan.drawn(CASE, 60.0, 1.2, ROOM, in_steps=False)) == 1


def test_warm_water_meets_warm_air_of_the_same_vapour() -> None:
    warm = plan.warmed(ROOM, 0.0, 40.0)
    # 40 % at 20 degC is 12.7 % at 40 (saturation 2,339 and 7,385 Pa, IAPWS-95).
    assert float(warm.relative_humidity[0]) == pytest.approx(12.7, abs=0.05)
    assert float(plan.warmed(ROOM, 0.0, -10.0).relative_humidity[0]) == 95.0
    assert float(plan.warmed(constant(20.0, 2.0), 0.0, 60.0).relative_humidity[0]) == 1.0
    assert plan.wet_temperature(CASE, PLAN) == 20.0
    assert plan.wet_temperature(CASE, replace(PLAN, temperature=45.0)) == 45.0
    wet = plan.stays_of(CASE, replace(PLAN, temperature=40.0))[0]
    assert float(wet.air.temperature[0]) == 40.0


def test_heat_is_through_when_the_plane_sheet_says_so() -> None:
    # Crank 1975 eq. 4.17 (memory): middle of a sheet whose faces are brought to 1 at once.
    def short(fourier: float) -> float:
        terms = np.arange(20)
        odd = 2 * terms + 1
        series = (-1.0) ** terms / odd * np.exp(-(odd**2) * np.pi**2 * fourier / 4.0)
        return float(0.1 - 4.0 / np.pi * series.sum())

    exact = brentq(short, 0.5, 2.0)
    for thickness in (0.025, 0.060):
        hours = exact * (0.5 * thickness) ** 2 / 1.6e-7 / 3600.0
        assert plan.heats_through_in(thickness) == pytest.approx(hours, rel=1e-3)


def test_a_plan_as_told() -> None:
    def whole(**more: Any) -> Plan:
        told: dict[str, Any] = {
            "wet_face": "round", "hours": 24.0, "clamped": True, "days": 30.0,
            "over_correct": 1.2, "temperature": None, "drying": ROOM, "in_steps": True,
        }  # fmt: skip
        return plan.whole(CASE, **(told | more))

    full = whole()
    assert (full.hours, full.hold_days, full.over_correct, full.in_steps) == (24.0, 30.0, 1.2, True)
    free = whole(clamped=False)
    assert (free.hold_days, free.over_correct, free.in_steps) == (0.0, 1.0, False)
    assert whole(wet_face=None).hours == 0.0


def test_without_days_it_is_held_until_it_is_dry_and_three_weeks_more_in_steps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(plan, "drying_days", lambda case, before, drying: 20.0 + len(before))

    def held(**more: Any) -> float:
        told: dict[str, Any] = {
            "wet_face": "round", "hours": 24.0, "clamped": True, "days": None,
            "over_correct": 1.2, "temperature": None, "drying": ROOM,
        }  # fmt: skip
        return plan.whole(CASE, **(told | more)).hold_days

    assert held() == 21.0
    assert held(in_steps=True) == 42.0
    assert held(wet_face=None) == 20.0
    assert held(days=5.0) == 5.0


def dried(
    spreads: list[float], means: list[float], monkeypatch: pytest.MonkeyPatch, room: Any = ROOM
) -> float:
    """Days until it is even, where an engine followed this on days 0, 1, 20, 40 and so on."""
    days = np.array([0.0, 1.0, 20.0, 40.0])[: len(spreads)]
    rows = np.array([[m - 0.5 * s, m, m + 0.5 * s] for s, m in zip(spreads, means, strict=True)])
    mesh = SimpleNamespace(mean=lambda moisture: moisture[..., 1])
    run = SimpleNamespace(central=[(days, mesh, rows)])
    monkeypatch.setattr(course, "run", lambda *_, **__: run)
    return plan.drying_days(CASE, [], room)


def test_it_may_be_let_go_when_its_layers_are_within_1_and_it_is_near_the_air(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # The air holds 7.7 %: 1.5 more is 9.2.
    near = [9.0] * 4
    assert dried([5.0, 5.0, 1.01, 0.99], near, monkeypatch) == 40.0
    assert dried([5.0, 5.0, 0.99, 0.5], near, monkeypatch) == 20.0
    assert dried([0.5] * 4, [12.0, 11.0, 9.3, 9.1], monkeypatch) == 40.0
    assert dried([0.5] * 4, [3.0, 4.0, 6.3, 6.3], monkeypatch) == 20.0
    # What it is near to is the air of that day: from day 40 of the year on 40 %, today is day 10.
    air = SimpleNamespace(
        at_days=lambda days: (np.full(days.shape, 20.0), np.where(days < 40.0, 90.0, 40.0))
    )
    assert dried([0.5] * 4, near, monkeypatch, SimpleNamespace(air=air)) == 40.0
    # Set needs a fortnight; half a year is the end of it.
    assert dried([0.5, 0.5], near[:2], monkeypatch) == 180.0
    assert dried([5.0, 5.0, 5.0], near[:3], monkeypatch) == 180.0


def test_what_was_wetted_dries_until_half_a_point_of_it_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    days = np.array([0.0, 1.0, 10.0, 20.0, 30.0, 180.0])
    calm = np.full((6, 3), 8.0)

    def follow(more: list[float]) -> float:
        wet = calm + np.array(more)[:, None]
        runs = iter([SimpleNamespace(central=[None, (days, None, wet)]),
                     SimpleNamespace(central=[(days, None, calm)])])  # fmt: skip
        monkeypatch.setattr(course, "run", lambda *_, **__: next(runs))
        return plan.drying_days(CASE, [plan.stays_of(CASE, PLAN)[0]], ROOM)

    assert follow([9.0, 9.0, 5.0, 0.51, 0.49, 0.0]) == 29.0  # a day of it was the wetting
    assert follow([9.0, 9.0, 5.0, 0.49, 0.2, 0.0]) == 19.0
    # What it keeps for good because it was wet does not count: a point at most.
    assert follow([9.0, 9.0, 5.0, 1.29, 0.9, 0.8]) == 19.0
    assert follow([9.0, 9.0, 5.0, 4.0, 1.51, 1.4]) == 179.0
    # A fortnight at least.
    assert follow([9.0, 9.0, 0.1, 0.1, 0.1, 0.0]) == 14.0


def test_layers_between_days_run_straight() -> None:
    days = np.array([0.0, 1.0, 5.0, 6.0])
    rows = np.array([[0.0], [2.0], [10.0], [14.0]])
    found = [float(plan._between(days, rows, at)[0]) for at in (0.0, 0.5, 2.0, 5.5, 6.0)]
    assert found == pytest.approx([0.0, 1.0, 4.0, 12.0, 14.0])


# Reasons and notes.


@pytest.mark.parametrize(
    ("breaks", "helps", "says"),
    [
        (0.149, 0.9, set()),
        (0.15, 0.9, {"may-break"}),
        (0.85, 0.9, {"may-break"}),
        (0.851, 0.9, {"breaks"}),
        (0.5, 0.5, {"risk-for-little"}),
        (0.5, 0.51, {"may-break"}),
        (0.0, 0.149, {"leaves-most"}),
        (0.0, 0.15, {"may-not-help"}),
        (0.0, 0.85, {"may-not-help"}),
        (0.0, 0.851, set()),
    ],
)
def test_reasons_by_the_chances(breaks: float, helps: float, says: set[str]) -> None:
    told = flatten._reasons(CASE, PLAN, (made(breaks), DRESS), helps)  # type: ignore[arg-type]
    assert {one.code for one in told} == says
    thin = flatten._reasons(CASE, PLAN, (made(breaks),), helps)
    assert ("too-thin-to-plane" in {one.code for one in thin}) is (breaks >= 0.15)


def reasons(case: Case = CASE, plan_: Plan = PLAN, **more: Any) -> set[str]:
    ways = (made(**more), waits(0.5 * CUP), DRESS)
    return {one.code for one in flatten._reasons(case, plan_, ways, 0.9)}  # type: ignore[arg-type]


def test_reasons_by_the_case() -> None:
    assert reasons() == set()
    assert reasons(replace(CASE, cup=0.00099)) == {"cup-small"}
    assert reasons(replace(CASE, cup=-0.00099), largest_in_year=np.zeros(1)) == {"cup-small"}
    assert reasons(replace(CASE, cup=0.00101)) == set()
    assert reasons(plan_=replace(PLAN, wet_face="hollow")) == {"hollow-wetted"}
    assert reasons(largest_in_year=np.array([-0.0031])) == {"bends-over"}
    assert reasons(largest_in_year=np.array([-0.0029])) == set()
    assert reasons(largest_in_year=np.array([0.0031])) == set()
    for damper, said in ((1.49, set()), (1.51, {"uneven-much-goes"})):
        for top, bottom in ((8.0 + damper, 8.0), (8.0, 8.0 + damper)):
            case = replace(CASE, moisture=Depths((0.0, 0.05), (top, bottom)))
            assert reasons(case) == said


@pytest.mark.parametrize(
    ("evened", "says"),
    [
        (0.0101, "uneven-cups-more"),
        (0.0099, "uneven-see"),
        (0.0061, "uneven-see"),
        (0.0059, "uneven-much-goes"),
        (-0.0059, "uneven-much-goes"),
        (-0.0200, "uneven-see"),
    ],
)
def test_what_a_slab_damp_on_one_face_does_by_itself(evened: float, says: str) -> None:
    for way in (1.0, -1.0):
        case = replace(CASE, cup=way * CUP)
        assert flatten._of_uneven(case, (DRESS, waits(way * evened))).code == says  # type: ignore[arg-type]


def notes(case: Case = CASE, plan_: Plan = PLAN, *, proposed: bool = False) -> dict[str, Any]:
    return {one.code: one.figures for one in flatten._notes(case, plan_, proposed)}


def test_notes_from_either_side() -> None:
    always = {"confidence-low", "springs-back", "weights-and-clamps", "uptake-by-vapour", "checks"}
    assert set(notes()) == always
    assert "too-far-past-flat" in notes(plan_=replace(PLAN, over_correct=1.31))
    assert "too-far-past-flat" not in notes(plan_=replace(PLAN, over_correct=1.3))
    for film, said in ((0.11, True), (0.1, False)):
        for faces in (Faces(Face(film), Face(0.0)), Faces(Face(0.0), Face(film))):
            assert ("finish-off" in notes(replace(CASE, faces=faces))) is said
    for apart, said in ((0.99, False), (1.01, True)):
        layers = Depths((0.0, 0.05), (8.0, 8.0 + apart))
        assert ("even-out-first" in notes(replace(CASE, moisture=layers))) is said
    for hours, edge in ((4.0, True), (8.0, False), (48.0, False), (72.0, True)):
        tried = replace(PLAN, hours=hours)
        assert ("plan-at-the-edge" in notes(plan_=tried, proposed=True)) is edge
        assert "plan-at-the-edge" not in notes(plan_=tried)
    assert "warmth" not in notes(plan_=replace(PLAN, temperature=30.0))
    warm = notes(plan_=replace(PLAN, temperature=30.1))["warmth"]
    assert warm["hours"] == pytest.approx(1.12, abs=0.01)
    unsized = notes(replace(CASE, slab=replace(SLAB, length=None)))
    assert unsized["length-for-strength"] == {"length": 2.0}


def test_what_a_plan_does_is_told() -> None:
    stays = plan.stays_of(CASE, PLAN)
    told = flatten.describe(CASE, PLAN, stays).figures
    assert (told["wet_face"], told["face"], told["hours"]) == ("round", "bottom", 24.0)
    assert (told["days"], told["warmth"], told["in_steps"]) == (20.0, 20.0, False)
    dry = replace(PLAN, hours=0.0)
    assert flatten.describe(CASE, dry, plan.stays_of(CASE, dry)).figures["wet_face"] is None
    hollow = replace(PLAN, wet_face="hollow")
    told = flatten.describe(CASE, hollow, plan.stays_of(CASE, hollow)).figures
    assert (told["wet_face"], told["face"]) == ("hollow", "top")


@pytest.mark.parametrize(
    ("more", "reached"),
    [
        # Straight between the layers: 1 % more 18 mm down, then all of it, then nothing.
        ([5.0, 3.0, 0.5, 0.0, 0.0, 0.0], 0.018),
        ([5.0, 3.0, 0.5, 3.0, 3.0, 3.0], 0.018),
        ([5.0, 4.0, 3.0, 2.0, 1.5, 1.1], 0.050),
        ([0.9, 0.5, 0.0, 0.0, 0.0, 0.0], 0.0),
    ],
)
@pytest.mark.parametrize("face", ["top", "bottom"])
def test_water_taken_up_and_how_deep_it_went(
    more: list[float], reached: float, face: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    depth = np.linspace(0.0, 0.05, 6)
    wet = np.array(more if face == "top" else more[::-1])
    seen: list[Any] = []
    control = SimpleNamespace(
        mean=np.array([[8.0], [7.5]]), days=np.array([0.0, 1.0]),
        profile=lambda day: (depth, np.full(6, 8.0) if day == 1.0 else np.full(6, 99.0)),
    )  # fmt: skip

    def follow(slab: Slab, moisture: float, stays: Any, *_: Any, **__: Any) -> Any:
        seen.extend(stays)
        return control

    monkeypatch.setattr(course, "run", follow)
    series: Any = SimpleNamespace(
        days=np.array([0.0, 1.0, 30.0]), mean=np.array([[8.0], [9.0], [8.0]]),
        profile=lambda day: (depth, 8.0 + wet if day == 1.0 else np.full(6, 99.0)),
    )  # fmt: skip
    wetted = plan.stays_of(CASE, PLAN)[0]
    made = flatten._uptake(CASE, series, wetted, face)
    # 1.5 % of 29 kg/m2 of dry wood, over 0.6 x 1.8 m.
    assert made.per_area[0] == pytest.approx(0.015 * 29.0)
    assert made.whole == pytest.approx(0.015 * 29.0 * 1.08)
    assert made.depth == pytest.approx(reached)
    # Against the same slab with that face closed.
    (stay,) = seen
    assert getattr(stay.faces, face).sd > 1e5
    assert (stay.wet_face, stay.wet_hours) == (None, 0.0)
    assert flatten._uptake(
        replace(CASE, slab=replace(SLAB, length=None)), series, wetted, face
    ).whole is None  # fmt: skip


# The other ways.


def test_planing_takes_a_third_off_the_hollow_face_and_what_it_may() -> None:
    work = treatments.dress(CASE)
    assert work is not None
    (stay,) = work.stays
    assert (stay.dress_top, stay.dress_bottom) == pytest.approx((CUP / 3.0, 2.0 * CUP / 3.0))
    assert stay.machined_flat
    assert stay.days == work.days == 1.0
    assert work.thickness_lost == CUP
    down = treatments.dress(replace(CASE, cup=-CUP))
    assert down is not None
    assert down.stays[0].dress_top == pytest.approx(2.0 * CUP / 3.0)
    assert down.thickness_lost == CUP
    # Four fifths of the thickness at most.
    assert treatments.dress(replace(CASE, cup=0.0399)) is not None
    assert treatments.dress(replace(CASE, cup=0.0401)) is None


def test_strips_keep_a_millimetre_of_cup_each() -> None:
    for cup, strips in ((0.001, 2), (0.004, 2), (0.0041, 3), (-0.009, 3), (0.0161, 5)):
        assert treatments.strips_of(cup) == strips
    assert treatments.rip(CASE).thickness_lost == pytest.approx(CUP / 16.0)
    flat = treatments.glued_up(replace(SLAB, pith_below=None, ring_angle=30.0))
    assert flat.pith_below == pytest.approx(60.0 * math.cos(math.radians(30.0)))
    assert flat.pith_across == pytest.approx(60.0 * math.sin(math.radians(30.0)))
    for angle in (None, 0.0):
        straight = treatments.glued_up(replace(SLAB, pith_below=None, ring_angle=angle))
        assert straight.pith_across == pytest.approx(0.0)
    above = treatments.glued_up(replace(SLAB, pith_below=0.1, pith_across=0.0))
    assert above.pith_below == pytest.approx(60.0)
    assert above.pith_across == pytest.approx(0.0)


def test_a_damp_face_is_opened_and_the_dry_one_shut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(treatments, "drying_days", lambda *_: 60.0)
    for top, bottom, wet, shut in ((9.51, 8.0, "top", "bottom"), (8.0, 9.51, "bottom", "top")):
        case = replace(CASE, moisture=Depths((0.0, 0.05), (top, bottom)))
        work = treatments.dry_wet_side(case, ROOM)
        assert work is not None
        assert work.does == Said("dry-damp-side", wet=wet, days=30.0)
        faces = work.stays[0].faces
        assert getattr(faces, shut).sd == 40.0
        assert getattr(faces, wet).sd == 0.0
        assert treatments.uneven(case) == pytest.approx(top - bottom)
    even = replace(CASE, moisture=Depths((0.0, 0.05), (9.49, 8.0)))
    assert treatments.dry_wet_side(even, ROOM) is None
    monkeypatch.setattr(treatments, "drying_days", lambda *_: 20.0)
    assert treatments.dry_wet_side(case, ROOM).days == 14.0  # type: ignore[union-attr]


def test_it_is_dampened_to_14_percent_and_pulled_as_far_as_it_bears(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(treatments, "drying_days", lambda *_: 30.0)
    tried: list[float] = []

    def breaks(case: Case, stays: Any) -> float:
        tried.append(float(stays[-1].hold.curvature) / (8.0 * CUP / 0.36))
        return 0.16 if len(tried) < 3 else 0.14

    monkeypatch.setattr(treatments, "chance_of_breaking", breaks)
    work = treatments.soak_through(CASE, ROOM)
    # A quarter past flat, to flat, three quarters: 1 less the share.
    assert tried == pytest.approx([-0.25, 0.0, 0.25])
    told = work.does.figures
    assert (told["over_correct"], told["moisture"], told["damp"], told["held"]) == (
        0.75, 14.0, 30.0, 51.0,
    )  # fmt: skip
    # 75 % hold 14.1 % at 70 degF (Wood Handbook FPL-GTR-190 Table 4-2, printed).
    assert told["humidity"] == pytest.approx(75.0, abs=2.0)
    assert work.in_steps
    monkeypatch.setattr(treatments, "chance_of_breaking", lambda *_: 1.0)
    assert treatments.soak_through(CASE, ROOM).does.figures["over_correct"] == 0.25


def test_drawn_a_week_apart_it_bears_more_than_drawn_at_once() -> None:
    steps = plan.drawn(CASE, 60.0, 1.0, ROOM, in_steps=True)
    at_once = plan.drawn(CASE, 60.0, 1.0, ROOM, in_steps=False)
    half = plan.drawn(CASE, 17.5, 1.0, ROOM, in_steps=True)
    wet = plan.stays_of(CASE, PLAN)[0]
    assert wet.hold is FREE
    assert treatments._held([wet, *steps]) == [1, 2, 3, 4]
    whole = treatments._eased(steps)
    assert whole == IN_STEPS > 1.0
    assert treatments._eased(at_once) == 1.0
    # Half a week apart: half of what steps gain.
    assert treatments._eased(half) == pytest.approx(1.0 + 0.5 * (whole - 1.0))


def test_clamps_bend_the_whole_slab_a_metre_of_it_by_6_m_over_t_squared(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[Any, ...]] = []
    monkeypatch.setattr(strength, "bent", lambda *told: asked.append(told))
    stays = plan.stays_of(CASE, PLAN)
    steps = [stays[0], *plan.drawn(CASE, 60.0, 1.0, ROOM, in_steps=True)]
    run: Any = SimpleNamespace(
        stay=np.array([0, 1, 1]), moment=np.array([[9e9], [500.0], [250.0]]), slab=SLAB,
        mean=np.array([[20.0], [9.0], [8.0]]), temperature=np.array([50.0, 20.0, 21.0]),
    )  # fmt: skip
    for given, eased in ((stays, 1.0), (steps, IN_STEPS)):
        treatments._bends(run, given)
        stress, _, volume, moisture, warmth = asked[-1]
        # 500 N m/m in 50 mm: 1.2 MPa; what the wetting did is not among it.
        assert stress[:, 0] * eased == pytest.approx([1.2e6, 0.6e6])
        assert volume == pytest.approx(0.05 * 0.6 * 1.8)
        assert (moisture[:, 0].tolist(), warmth.tolist()) == ([9.0, 8.0], [20.0, 21.0])
    unsized = SimpleNamespace(**(vars(run) | {"slab": replace(SLAB, length=None)}))
    treatments._bends(unsized, stays)  # type: ignore[arg-type]
    assert asked[-1][2] == pytest.approx(0.05 * 0.6 * 2.0)
    assert treatments._bends(run, stays[:1]) is None


def test_what_bars_bear_is_their_largest_and_their_last_moment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name, said in (("planned", None), ("pulled", None)):
        monkeypatch.setattr(bar_forces, name, lambda *_, told=said: told)
    bent = SimpleNamespace(breaks=0.1, breaks_in_steps=0.05)
    monkeypatch.setattr(bar_forces, "bent_by", lambda *_: bent)
    year: Any = SimpleNamespace(moment=np.array([[1.0], [-3.0], [2.0]]), slab=SLAB)
    by: Any = SimpleNamespace(on_bar=lambda moment: 2.0 * moment)
    barred: Any = replace(CASE, stiffeners=SimpleNamespace())  # type: ignore[arg-type]
    made = treatments._pulled(barred, year, by)
    assert (made.moment[0], made.lasting[0]) == (6.0, 4.0)
    assert (made.breaks, made.breaks_in_steps) == (0.1, 0.05)
    assert (made.pull, made.tears, made.verdict) == (None, None, None)


def treatment(way: str, cup: float, count: int = 401) -> Treatment:
    cups = np.full(count, cup)
    return Treatment(
        way=way, does=Said(way), days=1.0, released=cups, after_year=2.0 * cups,  # type: ignore[arg-type]
        after_year_held=None, largest_in_year=3.0 * cups, index=cups, bends=None, in_steps=False,
        thickness_lost=0.0, width_lost=0.0, clamping=None, thickness_left=0.05,
    )  # fmt: skip


def test_what_water_and_clamps_do_comes_by_three_to_thirteen_tenths() -> None:
    waiting = treatment("wait", 0.010)
    for way in ("plan", "dampen"):
        drawn = treatments.tempered(treatment(way, 0.0), waiting)
        for name, alone in (("released", 0.010), ("after_year", 0.02), ("largest_in_year", 0.03)):
            comes = 1.0 - getattr(drawn, name) / alone
            assert comes[0] == 1.0
            assert comes[1:].min() == pytest.approx(0.3, abs=0.01)
            assert comes[1:].max() == pytest.approx(1.3, abs=0.01)
            assert comes.mean() == pytest.approx(0.8, abs=0.01)
    kept = treatment("dress", 0.0)
    assert treatments.tempered(kept, waiting) is kept
    central = treatment("plan", 0.0, 1)
    assert treatments.tempered(central, waiting) is central


def test_ways_stand_against_waiting_and_the_best_is_the_one_that_leaves_least(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    leaves = {"plan": 0.008, "wait": 0.010, "dampen": 0.001, "dress": 0.0005, "rip": 0.0007}
    lasts = {"plan": 30.0, "wait": 20.0, "dampen": 90.0, "dress": 1.0, "rip": 1.0}
    begun: set[float] = set()

    def work(way: str) -> Any:
        return lambda *_: SimpleNamespace(way=way, days=lasts[way])

    for name, way in (("wait", "wait"), ("soak_through", "dampen"), ("dress", "dress"),
                      ("rip", "rip")):  # fmt: skip
        monkeypatch.setattr(treatments, name, work(way))
    monkeypatch.setattr(treatments, "dry_wet_side", lambda *_: None)
    monkeypatch.setattr(flatten, "Work", work("plan"))
    run = SimpleNamespace(mean=np.array([[9.0]]), days=np.array([0.0, 2.0]), notes=())

    def treat(one: Any, begins: float) -> Any:
        begun.add(begins)
        lost = 0.01 if one.way in ("dress", "rip") else 0.0
        made = replace(treatment(one.way, leaves[one.way], 1), thickness_lost=lost)
        return made, run, run

    monkeypatch.setattr(flatten, "treat", treat)
    made = flatten.flatten(CASE, plan=replace(PLAN, hours=0.0))
    # The year begins when the longest of them is done.
    assert begun == {90.0}
    assert (made.best, made.best_with_loss) == ("dampen", "dress")
    # Four fifths of what waiting leaves is where it is even whether a way helps.
    assert made.helps == pytest.approx(0.5, abs=0.02)
    assert (made.verdict, made.face, made.proposed) == ("cannot-tell", "", False)
    assert [one.way for one in made.alternatives] == ["wait", "dampen", "dress", "rip"]
    assert made.waiting.way == "wait"
    assert made.weight == pytest.approx(SLAB.weight(9.0))
    assert made.days.tolist() == [0.0, 2.0, 2.0, 4.0]
    leaves["plan"] = 0.001
    assert flatten.flatten(CASE, plan=replace(PLAN, hours=0.0)).verdict == "yes"
    with pytest.raises(ValueError, match="no cup"):
        flatten.flatten(replace(CASE, cup=0.0))


def test_warmth_softens_the_skin_by_more_than_it_weakens_it() -> None:
    def skin(temperature: float) -> float:
        run: Any = SimpleNamespace(
            temperature=np.array([temperature, 20.0]), index_top=np.array([[0.8], [0.1]]),
            index_bottom=np.array([[0.6], [0.2]]),
        )  # fmt: skip
        return float(treatments._skin(run)[0])

    assert skin(20.0) == skin(5.0) == pytest.approx(0.8)
    assert skin(60.0) < skin(40.0) < 0.8


# Clamps.


def test_cauls_are_a_foot_apart_and_two_at_least() -> None:
    stays = plan.stays_of(CASE, PLAN)
    run: Any = SimpleNamespace(
        stay=np.array([0, 0, 1, 1]), moment=np.array([[900.0], [900.0], [-200.0], [50.0]])
    )  # fmt: skip
    for length, cauls, spacing in ((1.8, 6, 0.3), (1.81, 7, 1.81 / 7), (0.2, 2, 0.1)):
        found = clamping.clamping_of(replace(SLAB, length=length), run, stays)
        assert found is not None
        assert found.cauls == cauls
        assert found.spacing == pytest.approx(spacing)
        # 3 M/W a metre of length at each end.
        assert found.force_per_clamp[0] == pytest.approx(3.0 * 200.0 / 0.6 * spacing)
        assert (found.moment[0], found.lasting[0]) == (200.0, 50.0)
        assert found.load[0] == pytest.approx(48.0 * 200.0 / (5.0 * 0.36))
    unsized = clamping.clamping_of(replace(SLAB, length=None), run, stays)
    assert unsized is not None
    assert (unsized.cauls, unsized.spacing) == (None, 0.3)
    assert clamping.clamping_of(SLAB, run, stays[:1]) is None
