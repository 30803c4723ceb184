"""What may have happened: one story for each cause, and for each way it may have come about.

A story is the history as told but for one thing, with how likely that is before anything is looked
at.  How far it departs is drawn.  All likelihoods here are judgement: how often makers find each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

import numpy as np

from model.answers.diagnosis.clues import strip_strain
from model.answers.diagnosis.history import History
from model.answers.diagnosis.tried import Case, Departure
from model.behaviour import transport
from model.behaviour.course import Stay
from model.behaviour.slab import BarkSide, Slab
from model.properties.finishes import Face, Faces
from model.properties.warmth import LocalWarmth

Cause = Literal[
    "rings",
    "too_wet_at_fitting",
    "uneven_faces",
    "wet_core",
    "locked_in_stress",
    "room_not_as_told",
    "two_airs",
    "springback",
    "fixed_solid",
]
Lying = Literal["as-told", "open", "on-bottom", "top-covered"]

CAUSES: Final[tuple[Cause, ...]] = get_args(Cause)
# Before anything is looked at (judgement).
USUALLY: Final[dict[Cause, float]] = {
    "rings": 0.22,
    "too_wet_at_fitting": 0.20,
    "uneven_faces": 0.16,
    "wet_core": 0.12,
    "locked_in_stress": 0.12,
    "room_not_as_told": 0.10,
    "two_airs": 0.08,
    "springback": 0.02,
    "fixed_solid": 0.03,
}
FACES_UNTOLD: Final = 2.0  # times as likely unlike, where nobody told of them (judgement)
SPRING_TOLD: Final = 0.30  # that a flattening which is told comes back (judgement)
SOLID_TOLD: Final = 0.30  # that what is told as fixed solid bends it (judgement)
OTHER_FACE: Final = 0.25  # of unlike faces, that it is the other way than told (judgement)

# Usual moisture before, less what the last room holds, and its standard deviation [% M]; that of
# slabs of which something else went wrong too; core less shell and its deviation [% M] (judgement).
NEAR: Final = (1.0, 2.0)
BROAD: Final = (4.0, 4.0)
USUAL_CORE: Final = (0.5, 1.2)
USUAL_LOCKED: Final = (0.0, 4.0e-4)
# How far a departure goes, least to most (judgement).
TOO_WET: Final = (4.0, 25.0)  # % M above the usual, when nothing is told of before
WETTER_THAN_TOLD: Final = (2.0, 9.0)  # % M
WET_CORE: Final = (3.0, 10.0)  # % M, core less shell
LOCKED: Final = (1.2e-3, 5.0e-3)  # of strain; 1 to 4 MPa at 800 MPa
NOT_AS_TOLD: Final = (8.0, 25.0)  # points of relative humidity
WARMER: Final = (5.0, 10.0)  # K; the two that are tried
DAMPER_BELOW: Final = (2.5, 5.0)  # K colder: 15 to 30 points damper, as a closed carcass is
COMES_BACK: Final = (0.25, 1.0)  # of the cup that was flattened
FLATTENED: Final = (2.0e-3, 1.5e-2)  # m; what may come back where nobody told how much it was
SOLID: Final = (0.2, 1.4)  # see `Departure.solid`; 1.3 by a flat steel bar that does not slip
DRIER_ROOM: Final = 0.65  # of rooms not as told, that they are drier (judgement)
COVERED: Final = 30.0  # m of still air; a face lying on a closed surface

# A strip ripped off; of strain.
TOLD_SPREAD: Final = 0.3  # of what a slice or a prong tells; one look at one place (judgement)
LEAST_LOCKED: Final = 2.0e-4  # a strip that stays straight leaves this much open
STRIP_SPREAD: Final = 0.5  # of the strain a strip shows along the grain, taken for that across it
STRAIGHT_STRIP: Final = 0.1  # times as likely, where a strip stayed straight (judgement)
BOWED_STRIP: Final = 3.0  # where it bowed as stress of that size would bow it (judgement)

SHUT: Final = Face(COVERED, name="closed")
OPEN: Final = Face(0.0)


@dataclass(frozen=True, slots=True)
class Story:
    """One way it may have come about: its cause, how likely it is beforehand, how it lay.

    `plain` is the same with everything as told.
    """

    cause: Cause
    weight: float
    case: Case
    plain: Case
    lying: Lying = "as-told"

    @property
    def as_told(self) -> bool:
        """Whether nothing departs: the cause is what bends such a slab most."""
        return self.cause == "rings"


def stories(history: History) -> list[Story]:
    """Every story of a history, with weights that sum to 1."""
    sides = _sides(history)
    told = [
        replace(story, weight=story.weight / len(sides)) for one in sides for story in _of_side(one)
    ]
    total = sum(one.weight for one in told)
    return [replace(one, weight=one.weight / total) for one in told]


def other_bark(history: History) -> list[Story]:
    """The stories with the bark side the other way than told."""
    slab = history.slab
    turned = replace(slab, bark_side="bottom" if slab.bark_side == "top" else "top")
    return _of_side(replace(history, slab=turned))


def _sides(history: History) -> list[History]:
    """The history with the bark side up and down, where nobody told which."""
    slab = history.slab
    if slab.bark_known:
        return [history]
    sides: tuple[BarkSide, ...] = ("top", "bottom")
    return [replace(history, slab=replace(slab, bark_side=side, bark_known=True)) for side in sides]


@dataclass(frozen=True, slots=True)
class _Teller:
    """Makes the stories of a history with one bark side."""

    history: History
    stays: tuple[Stay, ...]
    mesh: transport.Grid
    held: float  # % M; what the last room holds it at

    def tell(
        self,
        cause: Cause,
        weight: float,
        departure: Departure | None = None,
        stays: tuple[Stay, ...] | None = None,
        *,
        near: bool = False,
        lying: Lying = "as-told",
    ) -> Story:
        """A story; `near`: of wood about as dry as it should have been."""
        before = self.history.before
        if before is None:
            middle, deviation = NEAR if near else BROAD
            before = (self.held + middle, deviation)
        case = Case(
            self.history,
            self.stays if stays is None else stays,
            self.mesh,
            before,
            USUAL_CORE,
            _usual_locked(self.history),
            Departure() if departure is None else departure,
        )
        plain = replace(case, stays=self.stays, departure=Departure())
        return Story(cause, weight, case, plain, lying)


def _usual_locked(history: History) -> tuple[float, float]:
    """Middle and standard deviation of the strain locked in, as it usually is or as was told."""
    brought = history.slab.brought
    if brought is not None:
        # A slice or a prong tells both sign and size; set is what stands against it.
        return -brought.skin, max(TOLD_SPREAD * abs(brought.skin), LEAST_LOCKED)
    if history.strip is not None and abs(strip_strain(history.strip)[1]) <= LEAST_LOCKED:
        return 0.0, LEAST_LOCKED
    return USUAL_LOCKED


def _of_side(history: History) -> list[Story]:
    stays = history.stays
    if not history.faces_known:
        stays = with_faces(stays, Faces(OPEN, OPEN))
    teller = _Teller(
        history, stays, transport.grid(history.slab.thickness), _held(history.slab, stays[-1])
    )
    return [
        teller.tell("rings", USUALLY["rings"], near=True,
                    lying="as-told" if history.faces_known else "open"),
        *_wet(teller),
        *_unlike(teller),
        *_planed(teller),
        *_other_room(teller),
        *_two_airs(teller),
        *_sprung(teller),
        *_fixed(teller),
    ]  # fmt: skip


def _held(slab: Slab, stay: Stay) -> float:
    """What the air of a stay holds the wood at, on the mean of its last ninety days [%]."""
    if stay.air.days.size == 1 or stay.air.period is not None:
        temperature, humidity = stay.air.temperature, stay.air.relative_humidity
    else:
        late = stay.air.days >= stay.air.days[-1] - 90.0
        temperature = stay.air.temperature[late]
        humidity = stay.air.relative_humidity[late]
    return float(np.mean(slab.species.equilibrium(temperature, humidity)))


def with_faces(stays: tuple[Stay, ...], faces: Faces) -> tuple[Stay, ...]:
    """The stays with other faces."""
    return tuple(replace(stay, faces=faces) for stay in stays)


def _wet(teller: _Teller) -> Iterator[Story]:
    excess = TOO_WET if teller.history.before is None else WETTER_THAN_TOLD
    weight = USUALLY["too_wet_at_fitting"]
    yield teller.tell("too_wet_at_fitting", weight, Departure(excess=excess), near=True)


def _unlike(teller: _Teller) -> Iterator[Story]:
    history, weight = teller.history, USUALLY["uneven_faces"]
    faces = teller.stays[-1].faces
    if not history.faces_known:
        weight *= FACES_UNTOLD
    elif not faces.alike:
        turned = tuple(
            replace(stay, faces=Faces(stay.faces.bottom, stay.faces.top)) for stay in teller.stays
        )
        yield teller.tell("uneven_faces", OTHER_FACE * weight, stays=turned)
        return
    below = with_faces(teller.stays, Faces(faces.top, SHUT))
    above = with_faces(teller.stays, Faces(SHUT, faces.bottom))
    yield teller.tell("uneven_faces", 0.65 * weight, stays=below, lying="on-bottom")
    yield teller.tell("uneven_faces", 0.35 * weight, stays=above, lying="top-covered")


def _planed(teller: _Teller) -> Iterator[Story]:
    """What planing lets out: a wet core, strain locked in."""
    history = teller.history
    strip = None if history.strip is None else abs(strip_strain(history.strip)[1])
    if any(stay.dressed for stay in teller.stays):
        yield teller.tell("wet_core", USUALLY["wet_core"], Departure(core=WET_CORE))
    elif strip is None or strip <= LEAST_LOCKED:
        return
    weight, (least, most) = USUALLY["locked_in_stress"], LOCKED
    if history.slab.brought is not None:
        return  # it is told, and in every story
    if strip is not None and strip <= LEAST_LOCKED:
        weight *= STRAIGHT_STRIP
    elif strip is not None:
        weight *= BOWED_STRIP if strip >= 0.5 * least else STRAIGHT_STRIP
        least, most = strip * np.exp(-1.5 * STRIP_SPREAD), strip * np.exp(1.5 * STRIP_SPREAD)
    for sign in (1.0, -1.0):
        locked = (sign * float(least), sign * float(most))
        yield teller.tell("locked_in_stress", 0.5 * weight, Departure(locked=locked))


def _other_room(teller: _Teller) -> Iterator[Story]:
    weight, (least, most) = USUALLY["room_not_as_told"], NOT_AS_TOLD
    for sign, share in ((-1.0, DRIER_ROOM), (1.0, 1.0 - DRIER_ROOM)):
        damper = (sign * least, sign * most)
        yield teller.tell("room_not_as_told", share * weight, Departure(damper=damper), near=True)


def _two_airs(teller: _Teller) -> Iterator[Story]:
    """A floor, a radiator or a lamp warms one face; a closed carcass keeps the lower one damp."""
    weight = USUALLY["two_airs"]
    ways = [
        *((0.22, 0.0, warmth) for warmth in WARMER),
        *((0.16, warmth, 0.0) for warmth in WARMER),
        *((0.12, 0.0, -colder) for colder in DAMPER_BELOW),
    ]
    for share, above, below in ways:
        stays = tuple(
            replace(
                stay, faces=Faces(_warm(stay.faces.top, above), _warm(stay.faces.bottom, below))
            )
            for stay in teller.stays
        )
        yield teller.tell("two_airs", share * weight, stays=stays, near=True)


def _warm(face: Face, by: float) -> Face:
    if by == 0.0:
        return face
    return replace(face, warmth=LocalWarmth(by=by), name=face.name)


def _sprung(teller: _Teller) -> Iterator[Story]:
    flattened = teller.history.looks.flattened
    if flattened is None:
        for sign in (1.0, -1.0):
            spring = (sign * FLATTENED[0], sign * FLATTENED[1])
            weight = 0.5 * USUALLY["springback"]
            yield teller.tell("springback", weight, Departure(spring=spring), near=True)
        return
    back = (COMES_BACK[0] * flattened, COMES_BACK[1] * flattened)
    yield teller.tell("springback", SPRING_TOLD, Departure(spring=back), near=True)


def _fixed(teller: _Teller) -> Iterator[Story]:
    fixed = teller.history.looks.fixed
    if fixed in ("slotted", "free"):
        return
    weight = SOLID_TOLD if fixed == "solid" else USUALLY["fixed_solid"]
    yield teller.tell("fixed_solid", weight, Departure(solid=SOLID))
