"""What a moisture meter, a scale or an oven says about a slab, and how far it can be trusted.

Pin meters are corrected for the wood's temperature and species in the published form of Pfaff and
Garrahan, resistances are read on a Douglas-fir table, surface meters are scaled by density, and
weights follow the oven-dry definition.  Readings at depths give a profile with its error; readings
in the end grain or at an edge speak of that zone only and are kept apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.behaviour import evidence
from model.behaviour.edges import end_zone
from model.behaviour.slab import Slab
from model.behaviour.year import wood_of
from model.codes import Note, Reason
from model.properties.meters import MEAN_DEPTH, Corrected, Place, Reading, correct
from model.spread import TO_DECILE, Figure, draw

Floats = NDArray[np.float64]

END_DISTANCE: Final = 0.3  # m; EN 13183-2 (memory)

USUAL_AGE: Final = 365.0  # days since the ends were cut, when it is not told (judgement)


@dataclass(frozen=True, slots=True)
class Profile:
    """Moisture through the thickness as the readings tell it.

    `mean`, the two shells, `core`, `core_less_faces` and `top_less_bottom` are
    Figures [%]; `depth` [m] and `moisture` the curve.  `core_known` and `tilt_known` tell what
    share of the prior doubt the readings removed (0 nothing, 1 all).  `contradicting` are the
    indexes of readings more than three standard deviations from what all others say; those of
    them in `left_out` have no say in the profile.
    """

    mean: Figure
    top: Figure
    core: Figure
    bottom: Figure
    core_less_faces: Figure
    top_less_bottom: Figure
    depth: Floats
    moisture: Floats
    error: Floats
    core_known: float
    tilt_known: float
    contradicting: tuple[int, ...]
    left_out: tuple[int, ...]

    @property
    def low(self) -> Floats:
        """10th percentile of the curve [%]."""
        return self.moisture - TO_DECILE * self.error

    @property
    def high(self) -> Floats:
        """90th percentile of the curve [%]."""
        return self.moisture + TO_DECILE * self.error


@dataclass(frozen=True, slots=True)
class EndGrain:
    """Readings of the ends and edges: their moisture [%], and how deep that zone reaches [m]."""

    moisture: float
    error: float
    zone: float
    below_slab: float | None
    says: Reason


@dataclass(frozen=True, slots=True)
class Next:
    """Where to put the pins next: depth under a face [m], distance from the ends [m], and why."""

    depth: float
    place: Place
    from_end: float
    reason: Reason


@dataclass(frozen=True, slots=True)
class Answer:
    """All readings corrected, the profile (None when there is too little), the ends, what next."""

    corrected: tuple[Corrected, ...]
    profile: Profile | None
    ends: EndGrain | None
    following: tuple[Next, ...]
    notes: tuple[Note, ...]


def _figure(value: float, deviation: float) -> Figure:
    return Figure(
        float(value), float(value - TO_DECILE * deviation), float(value + TO_DECILE * deviation)
    )


def profile(corrected: Sequence[Corrected], thickness: float) -> Profile:
    """Profile through the thickness from readings of the slab's body.

    A mean, a tilt and a parabola are fitted with the readings' errors and a weak prior on the last
    two, so that a single reading gives a mean whose error holds the gradient nobody measured.
    A reading that contradicts all others is left out, a fifth of them at most; of three and fewer
    none can be told to be the wrong one.

    Raises
    ------
    ValueError
        No reading of the body within its instrument's range.

    References
    ----------
    Normal linear model (derived); prior standard deviations 1.5 and 3 % M (judgement).
    """
    back = [
        i
        for i, one in enumerate(corrected)
        if one.moisture is not None and one.place in ("top", "bottom")
    ]
    if not back:
        raise ValueError("no reading of the slab's body within the meter's range")
    found = evidence.fit([corrected[i] for i in back], thickness)
    fitted, posterior = found.shape, found.covariance

    def figure(row: Floats) -> Figure:
        return _figure(float(row @ fitted), float(np.sqrt(row @ posterior @ row)))

    depth = np.linspace(0.0, thickness, 11)
    curve = evidence.shape(depth, depth, thickness)
    known = 1.0 - np.sqrt(np.diag(posterior)) / evidence.PRIOR_DEVIATION
    return Profile(
        mean=figure(np.array([1.0, 0.0, 0.0])),
        top=figure(curve[0]),
        core=figure(np.array([1.0, 0.0, -0.5])),
        bottom=figure(curve[-1]),
        core_less_faces=figure(np.array([0.0, 0.0, -1.5])),
        top_less_bottom=figure(np.array([0.0, -2.0, 0.0])),
        depth=depth,
        moisture=curve @ fitted,
        error=np.sqrt(np.einsum("ij,jk,ik->i", curve, posterior, curve)),
        core_known=float(known[2]),
        tilt_known=float(known[1]),
        contradicting=tuple(back[i] for i in found.contradicting),
        left_out=tuple(back[i] for i in found.contradicting if i not in found.used),
    )


def _ends(corrected: Sequence[Corrected], zone: float, mean: float | None) -> EndGrain | None:
    """What readings of the ends and edges say; None when there are none in range."""
    found = [one for one in corrected if one.place in ("edge", "end") and one.moisture is not None]
    if not found:
        return None
    values = np.array([one.moisture for one in found], dtype=np.float64)
    error = float(np.sqrt(np.mean([one.error**2 for one in found])))
    moisture = float(values.mean())
    gap = None if mean is None else mean - moisture
    code = "ends"
    if gap is not None and gap > 2.0:
        code = "ends-below-body"
    elif gap is not None and abs(gap) <= error:
        code = "ends-agree"
    return EndGrain(moisture, error, zone, gap, Reason(code, zone=zone))


def _following(
    found: Profile | None, thickness: float, length: float | None, zone: float
) -> tuple[Next, ...]:
    """Where to read next: the mean's depth first, then whatever the readings left open."""
    distance = max(END_DISTANCE, zone)
    if length is not None:
        distance = min(distance, 0.5 * length)
    mean_depth = float(MEAN_DEPTH * thickness)
    places = [Next(mean_depth, "top", distance, Reason("mean-depth"))]
    if found is None or found.tilt_known < 0.5:
        places.append(Next(mean_depth, "bottom", distance, Reason("other-face")))
    if found is None or found.core_known < 0.5:
        places.append(Next(0.5 * thickness, "top", distance, Reason("middle")))
    return tuple(places)


def corrected_in(slab: Slab, reading: Reading) -> Corrected:
    """One reading of a slab as a moisture content with its error; see `meters.correct`."""
    wood = slab.species
    return correct(reading, slab.thickness, wood.specific_gravity, wood.id)


def diffusion_at_20(slab: Slab) -> float:
    """Diffusion coefficient across the grain at 10 % and 20 degC of the species' middle [m2/s]."""
    return float(wood_of(slab, draw(0)).diffusion(20.0)[0])


def read(
    readings: Sequence[Reading],
    slab: Slab,
    age_days: float | None = None,
) -> Answer:
    """Correct all readings, draw the profile, keep the ends apart and say where to read next.

    Parameters
    ----------
    readings : sequence of Reading
        At least one.
    slab : Slab
    age_days : float, optional
        Days since the ends were cut; `USUAL_AGE` when left out.
    """
    thickness = slab.thickness
    corrected = tuple(corrected_in(slab, one) for one in readings)
    notes = list(dict.fromkeys(note for one in corrected for note in one.notes))
    usable = [one.moisture is not None and one.place in ("top", "bottom") for one in corrected]
    if any(one.range != "within" for one in corrected):
        notes.append(Note("out-of-range"))
    found = profile(corrected, thickness) if any(usable) else None
    if found is None:
        notes.append(Note("no-reading-of-the-body"))
    elif found.contradicting:
        notes.append(Note("readings-left-out" if found.left_out else "readings-contradict"))
    if found is not None and found.core_known < 0.3:
        notes.append(Note("gradient-unknown"))
    if age_days is None:
        notes.append(Note("age-assumed"))
    zone = end_zone(diffusion_at_20(slab), USUAL_AGE if age_days is None else age_days)
    ends = _ends(corrected, zone, None if found is None else found.mean.value)
    following = _following(found, thickness, slab.length, zone)
    return Answer(corrected, found, ends, following, tuple(notes))
