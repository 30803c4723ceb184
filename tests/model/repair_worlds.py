"""Twelve slabs with a hidden truth, what their makers see of them, and what comes of the advice.

The truth is one draw of everything uncertain, followed by the course engine from the day the slab
came to its room.  A maker sees a cup to half a millimetre, a width to half a millimetre, and a
meter's readings with a bias and scatter of its own.  `follow` does what the steps say to the true
slab, waits and measures as they say, fits it and leaves it in its true room for a year.

Not followed: whether clamping breaks the slab (the chance of it stands in the step), and what
cannot be seen in a section across the grain (twist, the fixings themselves).
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from model import spread
from model.behaviour import course, section, transport
from model.behaviour.course import Course, Stay
from model.behaviour.section import FLAT, FREE, Hold
from model.behaviour.slab import Depths, Moisture, ShellCore, Slab, profile
from model.properties import species
from model.properties.finishes import Face, Faces, face
from model.properties.warmth import LocalWarmth
from model.repair.plan import Repaired, repair
from model.repair.steps import Step
from model.repair.story import AtHand, Done, Seen, Story, Wanted
from model.spread import Samples
from model.surroundings import room
from model.surroundings.calendar import YEAR, day_of
from model.surroundings.room import Room

BARE, OILED, VARNISHED = face("bare"), face("hardwax-oil"), face("urethane-varnish")
SHUT = face("on-closed-surface")
SAW_KERF = 3.0e-3  # m planed off in jointing and levelling a panel glued up of strips (practice)
LONGEST_WAIT = 550.0  # days; who has waited so long goes on
# Of a meter, as holding says: bias shared by its readings and scatter of each [% M].
METER_BIAS, METER_SCATTER = 0.7, 0.5


def heated(winter: float = 32.0, summer: float = 52.0) -> Room:
    """A heated room: driest in January, dampest in July [% relative humidity]."""
    angle = 2.0 * np.pi * (np.arange(12) - 0.5) / 12.0
    middle, swing = 0.5 * (winter + summer), 0.5 * (summer - winter)
    return room.from_months(21.5 - 1.5 * np.cos(angle), middle - swing * np.cos(angle))


@dataclass(frozen=True, slots=True)
class World:
    """What is true of a slab, and what its maker tells of it.

    Attributes
    ----------
    slab : Slab
        The true one; `told_slab` is what the maker knows of it.
    begin : Moisture
        True, when it came to its room [%].
    stays : tuple of Stay
        What truly happened to it since, ended by today.
    room : Room
        Where it truly lives, `told_room` as told.
    cup : float
        That it came with, free of stress [m].
    locked : float
        Strain locked in, shell against core [-].
    seen, done, wanted, at_hand, faces, before : as told.
    """

    slab: Slab
    begin: Moisture
    stays: tuple[Stay, ...]
    room: Room
    since: datetime.date
    told_slab: Slab
    told_room: Room
    faces: Faces | None
    finish: Faces = field(default_factory=lambda: Faces(OILED, OILED))
    seed: int = 1
    cup: float = 0.0
    locked: float = 0.0
    seen: Mapping[str, Any] = field(default_factory=dict)
    done: Done = field(default_factory=Done)
    wanted: Wanted = field(default_factory=Wanted)
    before: float | None = None
    looks_at_width: bool = True

    @property
    def days(self) -> float:
        return sum(stay.days for stay in self.stays)

    @property
    def today(self) -> datetime.date:
        return self.since + datetime.timedelta(days=round(self.days))

    def truth(self) -> Samples:
        """One draw of everything uncertain, the same for the same seed."""
        drawn = spread.draw(256, 7)
        row = 1 + (37 * self.seed) % 256
        columns = {
            name: getattr(drawn, name)[row : row + 1]
            for name in drawn.__slots__
            if name not in ("count", "seed")
        }
        return Samples(count=1, seed=7, **{**columns, "moisture": np.zeros(1)})


@dataclass(slots=True)
class Bench:
    """The true slab at a moment, and the meter that reads it."""

    world: World
    last: Course
    day: float
    samples: Samples
    rng: np.random.Generator
    bias: float
    faces: Faces
    whole: Course | None = None  # the slab had it not been ripped

    @classmethod
    def of(cls, world: World) -> Bench:
        """The slab today, after all that truly happened to it."""
        samples = world.truth()
        rng = np.random.default_rng(world.seed)
        slab = world.slab
        mesh = transport.grid(slab.thickness)
        begin = profile(world.begin, mesh.depth, slab.thickness)[None, :]
        x = 2.0 * mesh.depth / mesh.thickness - 1.0
        creep = world.locked * 0.5 * (3.0 * x**2 - 1.0)
        state = section.unstressed(begin)
        form = np.full(1, 8.0 * world.cup / slab.width**2)
        state = replace(state, creep=creep[None, :] + state.creep, form=form)
        start = day_of(world.since)
        last = course.run(slab, begin, world.stays, samples, state=state, start_day=start)
        bias = METER_BIAS * float(rng.standard_normal())
        return cls(world, last, start + world.days, samples, rng, bias, world.stays[-1].faces)

    @property
    def cup(self) -> float:
        """Signed, now [m]; one that is held is that of the held slab."""
        return float(self.last.cup[-1, 0])

    @property
    def mean(self) -> float:
        return float(self.last.mean[-1, 0])

    @property
    def thickness(self) -> float:
        return self.last.slab.thickness

    def lie(self, days: float, faces: Faces, hold: Hold = FREE, **told: Any) -> None:
        """So many days more in its true room."""
        stay = Stay(self.world.room.air, days, faces, hold, **told)
        begun = self.last
        self.last = course.run(
            begun.slab, begun.end, [stay], self.samples, state=begun.state, start_day=self.day
        )
        if self.whole is not None:
            begun = self.whole
            self.whole = course.run(
                begun.slab, begun.end, [stay], self.samples, state=begun.state, start_day=self.day
            )
        self.day += days

    def measured_cup(self) -> float:
        return round(self.cup * 2000.0) / 2000.0

    def read(self) -> Depths:
        """Readings near both faces, at the quarters and in the middle."""
        thick = self.thickness
        depths = (0.004, 0.25 * thick, 0.5 * thick, 0.75 * thick, thick - 0.004)
        true = np.interp(depths, self.last.mesh.depth, self.last.moisture[0])
        read = true + self.bias + METER_SCATTER / math.sqrt(3.0) * self.rng.standard_normal(5)
        return Depths(depths, tuple(float(one) for one in np.maximum(read, 1.0).round(1)))


@dataclass(frozen=True, slots=True)
class Ending:
    """What came of it: steps taken, cup at its fitting and the largest of the year after [m]."""

    taken: tuple[str, ...]
    fitted: float | None
    largest: float
    thickness: float
    given_up: bool
    days: float


def told(world: World, bench: Bench, *, moisture: Moisture | None, days: float = 0.0) -> Story:
    """The story as the maker tells it that day."""
    seen: dict[str, Any] = dict(world.seen)
    cup = bench.measured_cup()
    seen.setdefault("cup", cup)
    if world.looks_at_width:
        seen.setdefault("width_after", round(float(bench.last.width[-1, 0]) * 2000.0) / 2000.0)
    return Story(
        slab=world.told_slab,
        starts=world.today + datetime.timedelta(days=round(days)),
        samples=spread.draw(64),
        moisture=moisture,
        moisture_before=world.before,
        room=world.told_room,
        since=world.since,
        faces=world.faces,
        finish=world.finish,
        seen=Seen(**seen),
        done=world.done,
        at_hand=AtHand(),
        wanted=world.wanted,
    )


def follow(world: World, bench: Bench, made: Repaired) -> Ending:
    """Do what the steps say to the true slab, then leave it in its room for a year."""
    taken: list[str] = []
    begun, fitted, gave_up = bench.day, None, False
    flat = False
    for step in made.steps:
        if step.code == "measure-again":
            within = step.does.figures["within"]
            flat = abs(bench.measured_cup()) <= within
        if step.only_if == "cup-left" and flat:
            continue
        taken.append(step.code)
        if step.code == "fit":
            fitted = bench.cup
        gave_up = gave_up or step.code == "give-up"
        DOES.get(step.code, _nothing)(bench, step, world)
    passed = bench.day - begun
    bench.lie(YEAR, bench.faces)
    # Strips glued up keep a cup of their own each, a ninth of what the whole slab would move by.
    waves = 0.0 if bench.whole is None else float(np.ptp(bench.whole.cup[:, 0])) / 9.0
    return Ending(
        tuple(taken),
        fitted,
        float(np.abs(bench.last.cup[:, 0]).max()) + waves,
        bench.thickness,
        gave_up,
        passed,
    )


def _nothing(bench: Bench, step: Step, world: World) -> None:
    """What changes nothing in a section: a look, a plug, a slot."""


def _open(faces: Faces) -> Faces:
    """On edge, air on both sides: what covered or warmed a face is gone, finishes stay."""

    def one(side: Face) -> Face:
        return BARE if side.finish == SHUT.finish else replace(side, warmth=None)

    return Faces(one(faces.top), one(faces.bottom))


def _stand(bench: Bench, step: Step, world: World) -> None:
    bench.faces = _open(bench.faces)
    bench.lie(step.days or 7.0, bench.faces)


def _wait(bench: Bench, step: Step, world: World) -> None:
    """As long as told; then until two looks two weeks apart agree, as the step says."""
    bench.faces = _open(bench.faces)
    waited = step.days or 14.0
    bench.lie(waited, bench.faces)
    while waited < LONGEST_WAIT:
        mean, cup = bench.mean, bench.cup
        bench.lie(14.0, bench.faces)
        waited += 14.0
        near = max(0.1 * abs(bench.cup), 5.0e-4)
        if abs(bench.mean - mean) < 0.3 and abs(bench.cup - cup) < near:
            return


def _pull(bench: Bench, step: Step, world: World) -> None:
    """Wetted where told, drawn and held as told."""
    f, width = step.does.figures, bench.last.slab.width
    bare = Faces(BARE, BARE)
    if f["wet_face"] and f["hours"]:
        hours = float(f["hours"])
        bench.lie(hours / 24.0, bare, wet_face=f["wet_face"], wet_hours=hours)
    now = 8.0 * bench.cup / width**2
    shares = (0.25, 0.5, 0.75, 1.0) if f["in_steps"] else (1.0,)
    each = min(7.0, f["hold_days"] / (len(shares) + 1.0))
    lasts = [each] * (len(shares) - 1)
    lasts.append(f["hold_days"] - sum(lasts))
    for share, days in zip(shares, lasts, strict=True):
        bent = now * (1.0 - f["over_correct"] * share)
        bench.lie(days, bare, Hold(bending=math.inf, curvature=bent))
    bench.lie(1.0, bare)
    bench.faces = bare


def _plane(bench: Bench, step: Step, world: World) -> None:
    """Flat with equal cuts, a rest, and the rest of the 3 mm."""
    cut = abs(bench.cup) + 0.5e-3
    bare = Faces(BARE, BARE)
    bench.lie(float(step.days or 14.0), bare, dress_top=cut, dress_bottom=cut, machined_flat=True)
    bench.lie(1.0, bare, dress_top=1.0e-3, dress_bottom=1.0e-3, machined_flat=True)
    bench.faces = bare


def _rip(bench: Bench, step: Step, world: World) -> None:
    """Three strips, every second turned over, glued up and levelled.

    The rings of the panel make no cup of its own; moisture and set that were unlike above and below
    are shared out between both faces.
    """
    slab = bench.last.slab
    plain = replace(slab, ring_angle=None, pith_across=0.0, pith_below=100.0 * slab.width)
    last = bench.last

    def shared(values: Any) -> Any:
        return 0.5 * (values + values[:, ::-1])

    end = replace(last.end, moisture=shared(last.end.moisture), memory=shared(last.end.memory))
    state = replace(
        last.state,
        creep=shared(last.state.creep),
        unstrained=shared(last.state.unstrained),
        form=np.zeros(1),
    )
    level = abs(bench.cup) / 9.0 + 0.5 * SAW_KERF
    bench.whole, bench.last = last, replace(last, slab=plain, end=end, state=state)
    bare = Faces(BARE, BARE)
    bench.lie(14.0, bare, dress_top=level, dress_bottom=level, machined_flat=True)
    bench.faces = bare


def _mill(bench: Bench, step: Step, world: World) -> None:
    """Over size, two weeks' rest, then to size."""
    leaves = step.does.figures["leaves"] or 0.85 * bench.thickness
    off = 0.5 * (bench.thickness - leaves) - 1.5e-3
    bare = Faces(BARE, BARE)
    bench.lie(14.0, bare, dress_top=off, dress_bottom=off, machined_flat=True)
    bench.lie(1.0, bare, dress_top=1.5e-3, dress_bottom=1.5e-3, machined_flat=True)
    bench.faces = bare


def _finish(bench: Bench, step: Step, world: World) -> None:
    bench.faces = world.finish
    bench.lie(step.days or 1.0, bench.faces)


def _fit(bench: Bench, step: Step, world: World) -> None:
    bench.lie(step.days or 1.0, bench.faces)


DOES: Mapping[str, Callable[[Bench, Step, World], None]] = {
    "stand": _stand,
    "wait": _wait,
    "stack": _wait,
    "flatten": _pull,
    "flatten-in-steps": _pull,
    "plane-both": _plane,
    "rip": _rip,
    "mill": _mill,
    "finish-alike": _finish,
    "fit": _fit,
}


@dataclass(frozen=True, slots=True)
class Told:
    """A world told twice: first without a reading of the core, then with it."""

    world: World
    first: Repaired
    then: Repaired
    ending: Ending


def tell(world: World) -> Told:
    """The maker tells what was seen, does what is said, reads the core, and asks again."""
    bench = Bench.of(world)
    first = repair(told(world, bench, moisture=None))
    codes = [step.code for step in first.steps]
    begun = bench.day
    if "ask-again" in codes:
        for step in first.steps:
            DOES.get(step.code, _nothing)(bench, step, world)
        story = told(world, bench, moisture=bench.read(), days=bench.day - begun)
        then = repair(story)
    else:
        then = first
    return Told(world, first, then, follow(world, bench, then))


def _slab(wood: str, width: float, thickness: float, **rings: Any) -> Slab:
    return Slab(species.find(wood), width, thickness, 1.9, **rings)


def _stay(air: Room, days: float, faces: Faces, **told_: Any) -> Stay:
    return Stay(air.air, days, faces, **told_)


ALIKE = Faces(OILED, OILED)
SEPTEMBER, NOVEMBER = datetime.date(2025, 9, 15), datetime.date(2025, 11, 1)
HEATED = heated()


def _world(
    slab: Slab,
    begin: Moisture,
    stays: tuple[Stay, ...],
    faces: Faces | None = ALIKE,
    room_: Room = HEATED,
    since: datetime.date = SEPTEMBER,
    **told_: Any,
) -> World:
    """A world whose maker tells slab, room and faces as they are."""
    return World(slab, begin, stays, room_, since, slab, room_, faces, **told_)


def too_wet() -> World:
    slab = _slab("northern red oak", 0.6, 0.045, pith_below=0.10, bark_side="top")
    stays = (_stay(HEATED, 150.0, ALIKE),)
    return _world(slab, 14.5, stays, seed=3, seen={"fixings": "loose"},
                  wanted=Wanted(0.0025, 0.034))  # fmt: skip


def planed_one_face() -> World:
    slab = _slab("black walnut", 0.7, 0.055, pith_below=0.5, bark_side="top")
    stay = _stay(HEATED, 30.0, ALIKE, dress_top=0.007, machined_flat=True)
    return _world(slab, ShellCore(8.5, 14.5), (stay,), since=NOVEMBER, seed=5,
                  done=Done(planed_top=0.007), wanted=Wanted(0.003, 0.038))  # fmt: skip


def sealed_one_face() -> World:
    slab = _slab("sugar maple", 0.7, 0.04, pith_below=0.6, bark_side="bottom")
    faces = Faces(VARNISHED, BARE)
    return _world(slab, 11.0, (_stay(HEATED, 60.0, faces),), faces, since=NOVEMBER, seed=8,
                  wanted=Wanted(0.003, 0.032))  # fmt: skip


def floor_heat() -> World:
    slab = _slab("black cherry", 0.7, 0.04, pith_below=0.6, bark_side="top")
    warm = Faces(OILED, replace(OILED, warmth=LocalWarmth(by=7.0)))
    return _world(slab, 9.0, (_stay(HEATED, 120.0, warm),), warm, seed=11,
                  wanted=Wanted(0.003, 0.032))  # fmt: skip


def damp_room() -> World:
    damp = heated(58.0, 72.0)
    slab = _slab("American elm", 0.8, 0.045, pith_below=0.12, bark_side="top")
    stays = (_stay(damp, 240.0, ALIKE),)
    return _world(slab, 7.0, stays, room_=damp, since=datetime.date(2025, 5, 1), seed=13,
                  before=7.0, seen={"fixings": "torn"}, wanted=Wanted(0.0035, 0.030))  # fmt: skip


def springback() -> World:
    slab = _slab("black walnut", 0.65, 0.045, pith_below=0.4, bark_side="top")
    bare = Faces(BARE, BARE)
    stays = (
        _stay(HEATED, 0.5, bare, wet_face="top", wet_hours=12.0),
        _stay(HEATED, 5.0, bare, hold=FLAT),
        _stay(HEATED, 60.0, ALIKE),
    )
    return _world(slab, 8.0, stays, since=NOVEMBER, seed=17, cup=0.007, done=Done(flattened=0.007),
                  wanted=Wanted(0.002, 0.027))  # fmt: skip


def fixed_solid() -> World:
    slab = _slab("white oak", 0.7, 0.052, pith_below=0.4, bark_side="bottom")
    # A bar under it that does not give bends it the more the more it shrinks (two layers).
    bent = 8.0 * 0.008 / slab.width**2
    stays = tuple(
        _stay(HEATED, 50.0, ALIKE, hold=Hold(bending=math.inf, curvature=share * bent))
        for share in (0.35, 0.75, 1.0)
    )
    return _world(slab, 11.0, stays, seed=19, done=Done(held="solid"), seen={"fixings": "torn"},
                  looks_at_width=False, wanted=Wanted(0.003, 0.032))  # fmt: skip


def boxed_heart() -> World:
    slab = _slab("white oak", 0.55, 0.06, pith_below=-0.015, bark_side="top")
    return _world(slab, 14.0, (_stay(HEATED, 180.0, ALIKE),), seed=23,
                  seen={"check": "one_face", "fixings": "hold"},
                  wanted=Wanted(0.002, 0.045))  # fmt: skip


def split_key() -> World:
    slab = _slab("American elm", 0.75, 0.05, pith_below=0.08, bark_side="top")
    return _world(slab, 12.5, (_stay(HEATED, 200.0, ALIKE),), seed=29,
                  seen={"check": "one_face", "key_split": True},
                  wanted=Wanted(0.003, 0.036))  # fmt: skip


def not_failed_yet() -> World:
    slab = _slab("white oak", 0.6, 0.054, pith_below=0.3, bark_side="top")
    stay = _stay(HEATED, 1.0, Faces(BARE, BARE))
    return _world(slab, ShellCore(11.0, 14.0), (stay,), None, seed=31, seen={"cup": None},
                  looks_at_width=False, wanted=Wanted(0.002, 0.042))  # fmt: skip


def nothing_wrong() -> World:
    slab = _slab("black cherry", 0.6, 0.045, pith_below=0.5, bark_side="top")
    return _world(slab, 8.2, (_stay(HEATED, 200.0, ALIKE),), seed=37, looks_at_width=False,
                  seen={"fixings": "hold", "check": "none"},
                  wanted=Wanted(0.002, 0.040))  # fmt: skip


def hopeless() -> World:
    slab = _slab("sugar maple", 0.7, 0.035, pith_below=0.05, bark_side="top")
    seen = {"twist": 0.022, "fixings": "torn", "check": "both_faces", "decayed": True}
    return _world(slab, 13.0, (_stay(HEATED, 200.0, ALIKE),), seed=41, seen=seen,
                  wanted=Wanted(0.002, 0.030))  # fmt: skip


WORLDS: Mapping[str, Callable[[], World]] = {
    one.__name__: one
    for one in (
        too_wet, planed_one_face, sealed_one_face, floor_heat, damp_room, springback, fixed_solid,
        boxed_heart, split_key, not_failed_yet, nothing_wrong, hopeless,
    )
}  # fmt: skip
