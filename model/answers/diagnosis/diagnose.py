"""A slab diagnosed: what it was, what bent it, what is to come, what to measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import fitting, spread
from model.answers.diagnosis import causes, clues, formula, posterior, stories
from model.answers.diagnosis.causes import SURE, UNCUPPED, Chance, Share, figure
from model.answers.diagnosis.clues import Lock
from model.answers.diagnosis.history import History, check, planed_on
from model.answers.diagnosis.measure import ONE_DAY, Measurement, measurements, read_by_draws
from model.answers.diagnosis.posterior import Posterior
from model.answers.diagnosis.stories import Cause, Lying, Story
from model.answers.diagnosis.to_come import Doing, Option, look_ahead, option
from model.behaviour import slab as wood
from model.behaviour.course import Course
from model.behaviour.shape import Cupped, cupped
from model.codes import Caution, Note
from model.properties.finishes import Face
from model.spread import Figure
from model.surroundings.room import Room

Floats = NDArray[np.float64]
Otherwise = Literal["bark_other_way", "width_wrong", "cup_wrong", "moisture_wrong"]

DRAWS: Final = 128
FEWEST_DRAWS: Final = 64  # followed where no band is asked; their middle is told
NEARLY_GREEN: Final = 0.95  # of where shrinkage starts; from there on a width tells little
MISFIT: Final = 2.0  # standard deviations; what is seen farther off on the whole does not fit
WIDENED: Final = 1.1  # misfit from which the errors are said to be widened
FITS: Final = 1.5  # standard deviations; what would have to be otherwise is told if it fits so
TELLS: Final = 0.1  # of the doubt removed; a measurement that removes less is not worth naming


@dataclass(frozen=True, slots=True)
class Lay:
    """The most likely way it lay, when its faces were not told, and how likely [0..1]."""

    lying: Lying
    chance: float


@dataclass(frozen=True, slots=True)
class Bark:
    """The likelier bark side, when it was not told, and how likely [0..1]."""

    side: str
    chance: float


@dataclass(frozen=True, slots=True)
class Alternative:
    """What would have to be otherwise than told for the rest to fit, and how well it then does.

    misfit : root mean square of the misses that are left, in standard deviations.
    """

    otherwise: Otherwise
    misfit: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The diagnosis.

    Attributes
    ----------
    before : Figure
        Mean moisture before [%]; a `high` that is infinite: green, a width tells no more.
    by_formula : Figure or None
        The same by the shrinkage formula alone from the widths and the moisture today.
    now : Figure
        Mean moisture today [%].
    cup : Figure
        What the engine says the cup is today [m]; beside what was seen.
    chances : tuple of Chance
        Causes, likeliest first; what is left to 1 is something else.
    main : Cause or None
        The likeliest, where its chance is 85 % and more; None below, when what was seen does not
        fit, or when there is no cup to explain.
    shares : tuple of Share
        What bends it, largest first.
    alternatives : tuple of Alternative
        What would have to be otherwise, when what was seen does not fit; best first.
    lay : Lay or None
        None when the faces were told.
    bark : Bark or None
        None when the bark side was told.
    options : tuple of Option
    measurements : tuple of Measurement
        Best first.
    strip : Lock or None
    key_force : Figure or None
        Least force that sheared the key [N].
    misfit : float
        Root mean square of the sightings' misses, in standard deviations; about 1 or less is good.
    effective_draws : float
        How many equal draws those that were tried are worth.
    notes : tuple of Note
    cautions : tuple of Caution
    """

    before: Figure
    by_formula: Figure | None
    now: Figure
    cup: Figure
    chances: tuple[Chance, ...]
    main: Cause | None
    shares: tuple[Share, ...]
    alternatives: tuple[Alternative, ...]
    lay: Lay | None
    bark: Bark | None
    options: tuple[Option, ...]
    measurements: tuple[Measurement, ...]
    strip: Lock | None
    key_force: Figure | None
    misfit: float
    effective_draws: float
    notes: tuple[Note, ...]
    cautions: tuple[Caution, ...]

    @property
    def cupped(self) -> Cupped:
        """The cup today, as it is told."""
        return cupped(self.cup)

    @property
    def telling(self) -> tuple[Measurement, ...]:
        """The measurements worth naming."""
        return tuple(one for one in self.measurements if one.uncertainty_removed >= TELLS)


@dataclass(frozen=True, slots=True)
class _Group:
    """The draws of one story: their parameters, followed to today, their cup taken apart."""

    story: Story
    theta: Floats
    followed: Course
    apart: Floats
    ahead: dict[Doing, Course]


def diagnose(
    history: History,
    next_room: Room | None = None,
    finished: Face | None = None,
    draws: int = DRAWS,
    seed: int = spread.DEFAULT_SEED,
) -> Diagnosis:
    """Diagnose a slab.

    Parameters
    ----------
    history : History
        What it was, where it has been, and what was seen.
    next_room : Room, optional
        Where it will be for the year to come; as in its last stay when left out.
    finished : Face, optional
        The finish of "both faces finished alike"; about three coats of varnish when left out.
    draws, seed : int
        Posterior draws and their seed; without draws the middle of some is told, without a band.

    Raises
    ------
    ValueError
        No stay, or a sighting that is impossible or lies outside the history.
    TooManySteps
        A thin or wet slab through years of changing air.

    References
    ----------
    One story for each cause on the course engine, weighed by what was seen; likelihoods beforehand
    by judgement (derived).
    """
    check(history)
    told = stories.stories(history)
    factors = [clues.factor(history.looks, one.cause) for one in told]
    found = posterior.weigh(told, factors, max(draws, FEWEST_DRAWS), seed)
    groups = [
        _group(one.story, one.theta[rows], next_room, finished)
        for one, rows in zip(found.stories, found.picked, strict=True)
        if rows.size
    ]
    cup_now = np.concatenate([one.followed.cup[-1] for one in groups])
    seen = _cup_seen(history, float(np.median(cup_now)))
    band = draws > 0
    named = {
        id(one.story): causes.cause_of(one.story, one.theta, one.followed, one.apart, seen)
        for one in groups
    }
    chances = causes.chances(found, [named.get(id(one.story), []) for one in found.stories])
    apart = np.concatenate([one.apart for one in groups], axis=1)
    now = figure(np.concatenate([one.followed.mean[-1] for one in groups]), band=band)
    species = history.slab.species
    unasked = _unasked(chances, history)
    result = Diagnosis(
        before=_before(history, groups, band=band),
        by_formula=formula.of_sightings(history.slab, history.sightings, spread.draw(draws, seed)),
        now=now,
        cup=figure(cup_now, band=band),
        chances=chances,
        main=None if unasked else _main(chances, found.misfit, seen),
        shares=causes.shares(apart, seen, band=band),
        alternatives=_alternatives(history, found, seed, unasked=unasked),
        lay=None if history.faces_known else _lay(found),
        bark=None if history.slab.bark_known else _bark(found),
        options=tuple(
            option(doing, [one.ahead[doing] for one in groups], band=band)
            for doing in groups[0].ahead
        ),
        measurements=_measurements(groups, named, chances[0].cause, seed) if band else (),
        strip=None if history.strip is None else clues.lock(history.strip, species),
        key_force=None if history.key is None else clues.key_force(history.key, species),
        misfit=found.misfit,
        effective_draws=found.effective,
        notes=(),
        cautions=_cautions(history, now.value),
    )
    return replace(result, notes=_notes(result, history, seen, found))


def _group(story: Story, theta: Floats, next_room: Room | None, finished: Face | None) -> _Group:
    case = story.case
    planed = planed_on(case.stays)
    followed = case.run(theta, stops=() if planed is None else (planed + ONE_DAY,))
    apart = causes.parts(case, theta, followed)
    return _Group(
        story, theta, followed, apart, look_ahead(case, theta, followed, next_room, finished)
    )


def _cup_seen(history: History, followed: float) -> float:
    """The cup today as it was seen last [m]; where none was seen, as it is followed."""
    seen = [one.value for one in history.sightings if one.what == "cup" and one.day is None]
    return seen[-1] if seen else followed


def _unasked(chances: Sequence[Chance], history: History) -> bool:
    """Whether only a flattening that nobody told of explains it.

    It fits because it may have any size, and says only that nothing else does.
    """
    return chances[0].cause == "springback" and history.looks.flattened is None


def _main(chances: Sequence[Chance], misfit: float, seen: float) -> Cause | None:
    """The likeliest cause, if it is likely enough, what was seen fits, and there is a cup."""
    first = chances[0]
    sure = first.chance >= SURE and misfit <= MISFIT and abs(seen) >= UNCUPPED
    return first.cause if sure else None


def _lay(found: Posterior) -> Lay:
    told: dict[Lying, float] = {}
    for one, chance in zip(found.stories, found.chances, strict=True):
        lying: Lying = "open" if one.story.lying == "as-told" else one.story.lying
        told[lying] = told.get(lying, 0.0) + chance
    best = max(told, key=lambda lying: told[lying])
    return Lay(best, told[best])


def _bark(found: Posterior) -> Bark:
    told = {"top": 0.0, "bottom": 0.0}
    for one, chance in zip(found.stories, found.chances, strict=True):
        told[one.story.case.history.slab.bark_side] += chance
    best = max(told, key=lambda side: told[side])
    return Bark(best, told[best])


def _alternatives(
    history: History, found: Posterior, seed: int, *, unasked: bool
) -> tuple[Alternative, ...]:
    """What would have to be otherwise for the rest to fit: the bark side, or one of the figures.

    unasked : only a flattening that nobody told of fits; the bark side alone is then turned.
    """
    tried: dict[Otherwise, float] = {}
    if found.misfit <= MISFIT and not unasked:
        return ()
    if history.slab.bark_known:
        turned = stories.other_bark(history)
        tried["bark_other_way"] = posterior.misfit(turned, seed)
    kinds = [one.what for one in history.sightings] if found.misfit > MISFIT else []
    wrong: dict[str, Otherwise] = {
        "width": "width_wrong",
        "cup": "cup_wrong",
        "moisture": "moisture_wrong",
    }
    for kind, otherwise in wrong.items():
        kept = tuple(one for one in history.sightings if one.what != kind)
        if kind in kinds and kept:
            rest = stories.stories(replace(history, sightings=kept))
            tried[otherwise] = posterior.misfit(rest, seed)
    fit = [Alternative(what, misfit) for what, misfit in tried.items() if misfit <= FITS]
    return tuple(sorted(fit, key=lambda one: one.misfit))


def _measurements(
    groups: Sequence[_Group], named: dict[int, list[Cause]], first: Cause, seed: int
) -> tuple[Measurement, ...]:
    """What every draw of all stories would read, and how much of the doubt each removes."""
    read = [
        read_by_draws(
            one.story.case, one.theta, one.followed, one.ahead["left"], one.ahead["turned"],
            seed + number,
        )
        for number, one in enumerate(groups)
    ]  # fmt: skip
    likeliest = np.array(
        [float(cause == first) for one in groups for cause in named[id(one.story)]]
    )
    together = {what: np.concatenate([one[what] for one in read]) for what in read[0]}
    return measurements(together, likeliest)


def _before(history: History, groups: Sequence[_Group], *, band: bool) -> Figure:
    """Moisture before; at most where shrinkage starts, with an open end if it may be more."""
    found = figure(
        np.concatenate([one.story.case.mean_before(one.theta) for one in groups]), band=band
    )
    start = history.slab.species.shrinkage_starts
    if history.before is not None or max(found.value, found.high or 0.0) <= start:
        return found
    low = None if found.low is None else min(found.low, start)
    return Figure(min(found.value, start), low, None if found.high is None else float("inf"))


def _cautions(history: History, now: float) -> tuple[Caution, ...]:
    heavy = wood.cautions(history.slab, now) or [Caution("heavy-unweighed")]
    return (*heavy, Caution("ripping-stressed"), Caution("no-longer-held"))


def _notes(found: Diagnosis, history: History, seen: float, weighed: Posterior) -> tuple[Note, ...]:
    notes = []
    start = history.slab.species.shrinkage_starts
    if found.before.value > NEARLY_GREEN * start:
        notes.append(Note("green-before", start=start))
    if abs(seen) < UNCUPPED:
        notes.append(Note("no-cup"))
    elif _unasked(found.chances, history):
        notes.append(Note("nothing-told-bends-it-so"))
    elif found.main is None and found.misfit <= MISFIT:
        notes.append(_cannot_tell(found))
    notes += [
        Note("fits-otherwise", otherwise=one.otherwise, misfit=one.misfit)
        for one in found.alternatives
    ]
    if found.misfit > MISFIT:
        notes.append(Note("does-not-fit"))
    elif found.misfit > WIDENED:
        notes.append(Note("errors-widened", misfit=found.misfit))
    if found.lay is not None:
        notes.append(Note("faces-guessed", lying=found.lay.lying, chance=found.lay.chance))
    if found.bark is not None:
        notes.append(Note("bark-guessed", side=found.bark.side, chance=found.bark.chance))
    if weighed.power < 1.0:
        notes.append(Note("few-draws", effective=found.effective_draws, enough=fitting.ENOUGH))
    if found.strip is not None:
        notes.append(
            Note(
                "strip",
                strain=found.strip.strain,
                is_large=found.strip.is_large,
                moisture_difference=found.strip.moisture_difference,
            )
        )
    notes.append(Note("causes-beforehand"))
    notes.append(Note("cup-uncertain"))
    return tuple(notes)


def _cannot_tell(found: Diagnosis) -> Note:
    """The two likeliest causes, and the measurement that would tell them apart."""
    first, second = found.chances[:2]
    best = found.measurements[0] if found.measurements else None
    telling = best is not None and best.uncertainty_removed > TELLS
    measuring = best.measuring if best is not None and telling else None
    return Note(
        "cannot-tell",
        first=first.cause,
        second=second.cause,
        chance=first.chance,
        other=second.chance,
        measuring=measuring,
    )
