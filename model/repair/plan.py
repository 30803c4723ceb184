"""What to do about a slab: the steps in order, with the figures of the questions they lean on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.answers import fixings as fixings_
from model.answers import stiffening
from model.answers.fixings import Fitted
from model.answers.flattening.flatten import Flattening
from model.answers.settle import Settled, YearlyCup, settle
from model.answers.stiffening import Stiffened
from model.behaviour import stiffeners
from model.behaviour.slab import Moisture, mean_moisture, profile
from model.behaviour.year import years
from model.codes import Caution, Note, Said
from model.properties.fasteners import Fastener
from model.properties.finishes import Face, Faces, face
from model.repair import ways
from model.repair.happened import Happened, happened
from model.repair.steps import Step
from model.repair.story import Story
from model.repair.ways import Chosen, chance_within
from model.spread import Figure
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

Floats = NDArray[np.float64]
Verdict = Literal["leave", "read-first", "repair", "give-up", "plan"]

WEEK: Final = 7.0  # days on edge before anything is judged (common practice, no source)
FORTNIGHT: Final = 14.0  # days between two looks (common practice, no source)
UNEVEN: Final = 1.0  # % M, core less shell, from which it waits (common practice, no source)
OFF_ROOM: Final = 1.5  # % M of the mean from what it settles to from which it waits (the same)
CHANGED_ROOM: Final = 2.5  # % M from before to what it settles to: another room (judgement)
SURE: Final = 0.85  # chance above which it is said, below its complement denied
UNLIKE: Final = 2.0  # times the resistance of the other face that makes faces unlike (judgement)
ALLOWED: Final = (
    1.6  # of the yearly cup expected that is still in order (common practice, no source)
)
LOOKS: Final = (30.0, 91.0, 183.0, 365.0)  # days after fitting (common practice, no source)
# Where no fixing is told, slots are reckoned for a usual screw (judgement).
USUAL_FASTENER: Final = Fastener("wood_screw", 0.005, 0.020)
COVERS: Final = ("plastic-sheet", "on-closed-surface")  # lifted off, not scraped off
# Of the cup wanted: so much is flat enough however the year swings (judgement).
LEAST_WITHIN: Final = 0.5
DAY_OF_WORK: Final = 1.0  # days that finishing or fitting takes


@dataclass(frozen=True, slots=True)
class Ask:
    """Something to tell or to read, and what share of the doubt it removes [0..1], if known."""

    code: str
    removes: float | None = None


@dataclass(frozen=True, slots=True)
class Repaired:
    """What probably happened, what to do, and what it will do after.

    Attributes
    ----------
    story : Story
    verdict : str
        ``leave``, ``read-first``, ``repair``, ``give-up`` or, where nothing moved, ``plan``.
    happened : Happened or None
        None where nothing moved.
    cup_left : Figure or None
        Cup once it is even [m]; None where it cannot be told.
    flat_by_itself : float or None
        Chance that this is flat enough [0..1].
    steps : tuple of Step
    asks : tuple of Ask
        What would tell most, first.
    resting : Settled or None
        As it waits, in the air it waits in.
    settled : Settled or None
        With its finish, in its room: the year after.
    swing : YearlyCup or None
        Of the cup through that year, from flat at the moisture it settles to.
    finish : Faces
        What is on it then.
    flattening : Flattening or None
    fitted : Fitted or None
    stiffened : Stiffened or None
    done_on : float or None
        Days from today when it is fitted, as far as every step before it is known.
    notes : tuple of Note
    cautions : tuple of Caution
    """

    story: Story
    verdict: Verdict
    happened: Happened | None
    cup_left: Figure | None
    flat_by_itself: float | None
    steps: tuple[Step, ...]
    asks: tuple[Ask, ...]
    resting: Settled | None
    settled: Settled | None
    swing: YearlyCup | None
    finish: Faces
    flattening: Flattening | None
    fitted: Fitted | None
    stiffened: Stiffened | None
    done_on: float | None
    notes: tuple[Note, ...]
    cautions: tuple[Caution, ...]


def repair(story: Story) -> Repaired:
    """What to do about a slab that moved, or on its way to its room.

    Every figure is that of the question it belongs to, asked with what the story tells: diagnosis
    for what happened, settle for waiting and for the year after, flattening, fixings, stiffening.

    Parameters
    ----------
    story : Story

    Raises
    ------
    TooManySteps
        A thin or wet slab through years of changing air.
    """
    return _Work(story).done()


class _Work:
    """The steps as they are put together."""

    def __init__(self, story: Story) -> None:
        self.story = story
        self.steps: list[Step] = []
        self.day = 0.0
        self.endless = False  # whether a wait among the steps is of unknown length
        self.what = happened(story) if story.in_place else None
        self.now = self._moisture_now()
        self.finish = _finish_of(story)
        self.resting: Settled | None = None
        self.settled: Settled | None = None
        self.swing: YearlyCup | None = None
        self.cup_left: Figure | None = None
        self.chosen: Chosen | None = None
        self.fitted: Fitted | None = None
        self.stiffened: Stiffened | None = None
        self._look_ahead()

    def done(self) -> Repaired:
        """The answer."""
        verdict = self._verdict()
        by_verdict = {
            "leave": self._leave,
            "read-first": self._read_first,
            "give-up": self._give_up,
            "repair": self._repair,
            "plan": self._plan,
        }
        by_verdict[verdict]()
        story, weight = self.story, None
        if self.now is not None:
            weight = story.slab_now.weight(mean_moisture(self.now, story.slab_now.thickness))
        cautions = [one for step in self.steps for one in step.cautions(weight)]
        fits = [step.day for step in self.steps if step.code == "fit"]
        return Repaired(
            story=story,
            verdict=verdict,
            happened=self.what,
            cup_left=self.cup_left,
            flat_by_itself=self.flat_by_itself,
            steps=tuple(self.steps),
            asks=tuple(self._asks()),
            resting=self.resting,
            settled=self.settled,
            swing=self.swing,
            finish=self.finish,
            flattening=None if self.chosen is None else self.chosen.flattening,
            fitted=self.fitted,
            stiffened=self.stiffened,
            done_on=fits[0] if fits and not self.endless else None,
            notes=tuple(self._noted()),
            cautions=tuple(dict.fromkeys(cautions)),
        )

    # What is known.

    @property
    def room(self) -> Room | None:
        """The room it lives in, or will."""
        return self.story.room

    @property
    def flat_by_itself(self) -> float | None:
        """Chance that the cup left is flat enough."""
        if self.cup_left is None:
            return None
        return chance_within(self.cup_left, self.story.flat_within)

    def _moisture_now(self) -> Moisture | None:
        if self.story.moisture is not None:
            return self.story.moisture
        if self.what is None or self.what.diagnosis is None:
            return None
        return self.what.diagnosis.now.value

    def _look_ahead(self) -> None:
        """Where it goes as it waits and after; the cup that stays."""
        story = self.story
        if self.room is None:
            return
        today = day_of(story.starts)
        begins = self.now
        if begins is None:
            begins = float(np.mean(_equilibria(self.room, story)))
        bare = face("bare")
        lying = story.faces or Faces(bare, bare)
        lies_in = story.shop or self.room
        slab, samples = story.slab_now, story.samples
        self.settled = settle(slab, begins, self.finish, self.room, today, samples)
        self.resting = settle(slab, begins, _stickered(lying), lies_in, today, samples)
        even = self.settled.mean.value
        self.swing = settle(slab, even, self.finish, self.room, today, samples).cup_yearly
        found = None if self.what is None else self.what.diagnosis
        if found is not None:
            doing = "opened" if not lying.alike else "left"
            left = next(one for one in found.options if one.doing == doing)
            self.cup_left = left.cup_after_year

    @property
    def off_room(self) -> float | None:
        """Mean moisture now less what it settles to [%]; None where one is not known."""
        if self.now is None or self.settled is None:
            return None
        now = mean_moisture(self.now, self.story.slab_now.thickness)
        return now - self.settled.mean.value

    @property
    def uneven(self) -> float | None:
        """Largest difference through the thickness [%]; None where only a mean is known."""
        moisture = self.story.moisture
        if moisture is None or isinstance(moisture, float | int):
            return None
        thick = self.story.slab_now.thickness
        return float(np.ptp(profile(moisture, np.linspace(0.0, thick, 41), thick)))

    @property
    def waits(self) -> bool:
        """Whether it must first even out and come near its room."""
        off, uneven = self.off_room, self.uneven
        return (off is not None and abs(off) > OFF_ROOM) or (uneven is not None and uneven > UNEVEN)

    def _verdict(self) -> Verdict:
        story = self.story
        if not story.in_place:
            return "plan"
        if ways.hopeless(story) is not None:
            return "give-up"
        seen = story.seen
        straight = not seen.twist and not seen.bow and abs(seen.cup or 0.0) <= story.flat_within
        sound = straight and not seen.torn and not seen.split
        if sound and not self.waits and not self._slid:
            return "leave"
        # What slid, and is sound, waits for nothing.
        if not story.core_read and not (sound and self._slid):
            return "read-first"
        return "repair"

    @property
    def _slid(self) -> bool:
        return self.what is not None and self.what.slid

    # The steps.

    def _add(
        self,
        code: str,
        days: float | None = None,
        only_if: str = "",
        *,
        aside: bool = False,
        **figures: object,
    ) -> None:
        """A step; one that goes on beside the next ones (`aside`) keeps none of them waiting."""
        does = Said(code, **figures)
        self.steps.append(Step(does, self.day, days, only_if=only_if, earliest=self.endless))
        self.day += 0.0 if aside else days or 0.0

    def _leave(self) -> None:
        self._add("leave", cup=abs(self.story.seen.cup or 0.0), within=self.story.flat_within)
        self._watch()

    def _taken_off(self) -> None:
        """Unloaded, freed, and put where air gets at it."""
        held = self.story.done.held
        if held != "nothing":
            self._add("unload", held=held, fixings=self.story.seen.fixings)
        self._add("stand", WEEK)

    def _read_first(self) -> None:
        self._taken_off()
        self._mend_air()
        self._mend_room()
        self._read()
        self._add("ask-again")

    def _give_up(self) -> None:
        self._taken_off()
        why = ways.hopeless(self.story)
        assert why is not None
        self.steps.append(Step(why, self.day))

    def _repair(self) -> None:
        self._taken_off()
        self._mend_air()
        self._mend_room()
        if not self.story.core_read:
            self._read()
        self._alike_now()
        self._wait("wait")
        self._flat()
        self._checks()
        self._finish()

    def _plan(self) -> None:
        if not self.story.core_read:
            self._read()
        self._wait("stack")
        thickness = self.story.wanted.thickness
        self._add("mill", FORTNIGHT, leaves=thickness)
        self._checks()
        self._finish()

    def _read(self) -> None:
        thick = self.story.slab_now.thickness
        self._add(
            "read",
            meter=self.story.at_hand.meter,
            both=self.story.in_place and not self._faces_alike,
            shell=min(0.004, 0.1 * thick),
            quarter=0.25 * thick,
            half=0.5 * thick,
        )

    @property
    def _faces_alike(self) -> bool:
        """Whether both faces meet the air alike, and nothing was planed off one alone."""
        faces, done = self.story.faces, self.story.done
        return faces is not None and faces.alike and done.planed_top == done.planed_bottom

    def _mend_air(self) -> None:
        """Faces that meet unlike air."""
        faces = self.story.faces
        told = faces is not None and (faces.top.warmth != faces.bottom.warmth)
        chance = 0.0 if self.what is None else self.what.chance("two_airs")
        if told or chance > 1.0 - SURE:
            self._add("mend-air", told=told, chance=chance)

    def _alike_now(self) -> None:
        """Finishes that differ, for a cup that the difference makes."""
        faces = self.story.faces
        if faces is None:
            return
        ends = sorted((faces.top.resistance, faces.bottom.resistance))
        if ends[1] < UNLIKE * ends[0]:
            return
        closed = "top" if faces.top.resistance > faces.bottom.resistance else "bottom"
        shut: Face = getattr(faces, closed)
        cover = shut.finish is not None and shut.finish.id in COVERS
        self._add("alike-now", closed=closed, cover=cover)

    def _wait(self, code: str) -> None:
        known = self.off_room is not None and self.story.moisture is not None
        if not self.waits and (known or code == "wait"):
            if code == "stack":
                self._add(code, FORTNIGHT, off=self.off_room, uneven=self.uneven, near=True)
            return
        # How long is not known of a slab that nobody has read, or whose room is not told.
        within = self.resting.days_within_1 if known and self.resting is not None else None
        lasts = None if within is None else max(within.value, FORTNIGHT)
        does = Said(
            code,
            off=self.off_room,
            uneven=self.uneven,
            near=False,
            to=None if self.resting is None else self.resting.mean.value,
        )
        low = None if within is None or within.low is None else max(within.low, FORTNIGHT)
        high = None if within is None or within.high is None else max(within.high, FORTNIGHT)
        self.steps.append(Step(does, self.day, lasts, low, high))
        self.day += lasts or 0.0
        self.endless = within is None

    def _flat(self) -> None:
        """The cup that stays, if one does."""
        story = self.story
        if story.seen.cup is None or (abs(story.seen.cup) <= story.flat_within and not self.waits):
            return
        flat, within = self.flat_by_itself, story.flat_within
        if flat is not None and flat > SURE:
            assert self.cup_left is not None
            self._add("skip-flattening", cup=abs(self.cup_left.value), within=within, chance=flat)
            return
        only_if = ""
        if flat is None or flat >= 1.0 - SURE:
            self._add("measure-again", chance=flat, within=self.within_now)
            only_if = "cup-left"
        if self.what is not None and self.what.cause is None and not ways.boxed(story):
            self._add("name-cause", only_if=only_if)
        self._by_a_way(only_if)

    @property
    def within_now(self) -> float:
        """Cup by the straight-edge that stays within what is wanted through the year [m]."""
        wanted = self.story.flat_within
        swing = 0.0 if self.swing is None else abs(self.swing.larger.signed.value)
        return max(wanted - swing, LEAST_WITHIN * wanted)

    def _by_a_way(self, only_if: str) -> None:
        story, what = self.story, self.what
        assert what is not None
        assert story.seen.cup is not None
        left = story.seen.cup if self.cup_left is None else self.cup_left.value
        # A cup that may or may not stay is dealt with as the larger of what it may be.
        if only_if and self.cup_left is not None and self.cup_left.high is not None:
            assert self.cup_left.low is not None
            left = max(self.cup_left.low, self.cup_left.high, key=abs)
        if left == 0.0:
            return
        moisture = None if self.settled is None else self.settled.mean.value
        self.chosen = ways.choose(story, what, left, moisture, self.finish, self.day)
        self.steps += [
            replace(step, only_if=only_if, earliest=self.endless) for step in self.chosen.steps
        ]
        self.day += sum(step.days or 0.0 for step in self.chosen.steps)

    def _checks(self) -> None:
        seen = self.story.seen
        if seen.key_split:
            self._add("keys-again", boxed=ways.boxed(self.story))
        if seen.check in ("one_face", "both_faces") or ways.boxed(self.story):
            told = seen.check or "none"
            self._add("fill-check", check=told, boxed=ways.boxed(self.story))

    def _finish(self) -> None:
        """From flat to fitted."""
        story = self.story
        self._add("finish-alike", DAY_OF_WORK, told=story.finish is not None)
        if story.seen.fixings == "torn":
            self._add("plug")
        self._slots()
        self._bars()
        self._fit()
        self._watch()

    def _mend_room(self) -> None:
        """A room far damper than it was made for; or one that may not be as told."""
        before = self.story.moisture_before
        if before is None and self.what is not None and self.what.diagnosis is not None:
            before = self.what.diagnosis.before.value
        likely = 0.0 if self.what is None else self.what.chance("room_not_as_told")
        if self.settled is None or before is None:
            return
        off = self.settled.mean.value - before
        if off > CHANGED_ROOM:
            self._add("mend-room", off=off, settles=self.settled.mean.value)
        elif likely > 1.0 - SURE:
            self._add("log-air", FORTNIGHT, aside=True, chance=likely)

    def _then(self) -> float:
        """Day number on which the work has come so far."""
        return day_of(self.story.starts) + self.day

    def _slots(self) -> None:
        story, settled = self.story, self.settled
        if settled is None or self.room is None:
            self._add("slots", known=False)
            return
        slab, samples, now = story.slab_now, story.samples, settled.mean.value
        ends = years(slab, now, self.finish, self.room, self._then(), samples).extremes
        where = stiffeners.usual_fixings(slab.width)
        if story.bars is not None:
            where = story.bars.across
        fastener = story.fastener or USUAL_FASTENER
        self.fitted = fixings_.fit(slab, now, ends, where, fastener, samples)
        outer = max(self.fitted.positions, key=lambda one: abs(one.point.across - 0.5 * slab.width))
        slot = outer.point.slot
        self._add(
            "slots",
            known=True,
            across=outer.point.across,
            length=None if slot is None else slot.length,
            through=fastener.through,
            told=story.fastener is not None,
        )

    def _bars(self) -> None:
        story = self.story
        if story.bars is None or self.settled is None or self.room is None:
            return
        if ways.boxed(story) or story.slab_now.length is None:
            return
        held = self.chosen is not None and self.chosen.way == "hold-flat"
        cup = self.cup_left.value if held and self.cup_left is not None else 0.0
        self.stiffened = stiffening.stiffen(
            story.slab_now,
            self.settled.mean.value,
            self.finish,
            self.room,
            self._then(),
            story.bars,
            story.samples,
            cup=cup,
        )
        made = self.stiffened
        self._add(
            "bars",
            count=made.layout.count,
            moment=float(np.abs(made.largest_moment[0])),
            pull=None if made.pulls is None else float(made.pulls.hardest[0]),
            verdict=None if made.pulls is None else made.pulls.verdict,
            breaks=made.bends.breaks_in_steps,
        )

    def _fit(self) -> None:
        settled = self.settled
        self._add(
            "fit",
            DAY_OF_WORK,
            gap=None if settled is None else settled.gap_when_settled.value,
            gap_high=None if settled is None else settled.gap_when_settled.high,
        )

    def _watch(self) -> None:
        settled = self.settled
        yearly = None
        if settled is not None:
            assert self.swing is not None
            yearly = ALLOWED * abs(self.swing.larger.signed.value)
        self._add(
            "watch",
            looks=LOOKS,
            driest=None if settled is None else settled.driest.month,
            dampest=None if settled is None else settled.dampest.month,
            allowed=yearly,
        )

    # What is said beside them.

    def _asks(self) -> list[Ask]:
        story, what = self.story, self.what
        asks = []
        if story.in_place and not story.core_read:
            asks.append(Ask("core"))
        if story.room is None:
            asks.append(Ask("room"))
        if what is not None:
            asks += [Ask(one) for one in what.missing if one != "room"]
            if what.diagnosis is not None and what.cause is None:
                asks += [
                    Ask(one.measuring, one.uncertainty_removed)
                    for one in what.diagnosis.telling
                    if one.measuring != "pin_core" or story.core_read
                ]
        slid = None if what is None else what.slid_chance
        if slid is not None and 1.0 - SURE < slid < SURE and story.moisture_before is None:
            asks.append(Ask("moisture-before"))
        if story.faces is None and story.in_place:
            asks.append(Ask("faces"))
        if not story.slab_now.bark_known and story.slab_now.ring_angle is None:
            asks.append(Ask("bark-side"))
        if story.slab_now.length is None:
            asks.append(Ask("length"))
        if story.wanted.thickness is None and story.seen.cup:
            asks.append(Ask("thickness"))
        return asks

    def _noted(self) -> list[Note]:
        story = self.story
        notes: list[Note] = []
        if story.moisture is None and self.now is not None:
            notes.append(
                Note("moisture-guessed", value=mean_moisture(self.now, story.slab_now.thickness))
            )
        if story.fastener is None and self.fitted is not None:
            notes.append(Note("fastener-usual", through=USUAL_FASTENER.through))
        if self.what is not None and self.what.slid:
            grew = story.seen.gap_grew
            notes.append(Note("slid", grew=grew, most=self.what.most))
        elif self.what is not None and (self.what.slid_chance or 0.0) > 1.0 - SURE:
            grew, chance = story.seen.gap_grew, 100.0 * (self.what.slid_chance or 0.0)
            notes.append(Note("may-have-slid", grew=grew, chance=chance))
        by = story.wanted.by
        fits = [step.day for step in self.steps if step.code == "fit"]
        if by is not None and fits and not self.endless:
            ready = float((by - story.starts).days)
            if fits[0] > ready:
                notes.append(Note("late", by=fits[0] - ready))
        notes.append(Note("steps-practice"))
        return notes


def _equilibria(room: Room, story: Story) -> Floats:
    """Equilibrium moisture of its wood in the months of a room [%]."""
    return story.slab_now.species.equilibrium(room.temperature, room.relative_humidity)


def _stickered(faces: Faces) -> Faces:
    """On edge with air on both sides: finishes stay on, what covered or warmed a face is gone."""

    def free(one: Face) -> Face:
        covered = one.finish is not None and one.finish.id in COVERS
        return Face(0.0) if covered else replace(one, warmth=None)

    return Faces(free(faces.top), free(faces.bottom))


def _finish_of(story: Story) -> Faces:
    """What will be on both faces: as told, or the closer of both finishes on both; bare if none."""
    if story.finish is not None:
        return story.finish
    bare = face("bare")
    if story.faces is None:
        return Faces(bare, bare)
    kept = _stickered(story.faces)
    closer = max(kept.top, kept.bottom, key=lambda one: one.resistance)
    return Faces(closer, closer)
