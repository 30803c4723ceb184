"""The moisture before by the shrinkage formula alone: from widths and the moisture after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.answers.diagnosis.history import Sighting
from model.behaviour import timber
from model.behaviour.slab import Slab
from model.codes import Note, Refusal
from model.spread import Figure, Samples

Floats = NDArray[np.float64]


def moisture_before(
    width_ratio: Floats | float, moisture: Floats | float, shrinkage: Floats | float, starts: float
) -> Floats:
    """Moisture content before, from how a width changed and the moisture after.

    Parameters
    ----------
    width_ratio : array_like
        Width after over width before.
    moisture : array_like
        After [%].
    shrinkage : array_like
        Total shrinkage along the width, green to oven-dry [%].
    starts : float
        Moisture at which shrinkage starts [%].

    Returns
    -------
    ndarray
        [%]; more than `starts` (by the same straight line) means: green, no more can be said.

    References
    ----------
    Wood Handbook FPL-GTR-190 ch. 13, solved for the first moisture (memory).

    Examples
    --------
    A slab of 8.9 % tangential shrinkage that lost 4 % of its width in drying to 8 %:

    >>> round(float(moisture_before(0.96, 8.0, 8.9, 30.0)), 1)
    21.1
    """
    total = np.asarray(shrinkage, dtype=np.float64) / 100.0
    after = 1.0 - total * (1.0 - np.minimum(np.asarray(moisture) / starts, 1.0))
    first = after / np.asarray(width_ratio, dtype=np.float64)
    result: Floats = starts * (1.0 - (1.0 - first) / total)
    return result


def by_formula(
    slab: Slab, width_ratio: float, moisture: float, error: float, samples: Samples
) -> Figure:
    """Moisture before by the shrinkage formula alone [%], with its spread.

    Parameters
    ----------
    slab : Slab
        Its ring angle sets the shrinkage along the width; flat-sawn when not known.
    width_ratio : float
        Width after over width before.
    moisture, error : float
        Mean moisture after and its standard deviation [%].
    samples : Samples
    """
    species = slab.species
    # With the pith known the width runs through all angles; their mean is the rings' own.
    share = timber.rings_of(slab, samples).tangential_share
    over, along = species.shrinkages(samples)
    after = moisture + error * samples.moisture / spread.METER_SD
    total = over + (along - over) * share
    return spread.figure(moisture_before(width_ratio, after, total, species.shrinkage_starts))


def of_sightings(slab: Slab, sightings: Sequence[Sighting], samples: Samples) -> Figure | None:
    """`by_formula` on the last width and the moistures at the end; None without either."""
    end = [one for one in sightings if one.day is None]
    widths = [one for one in end if one.what == "width"]
    if not widths or not any(one.what == "moisture" for one in end):
        return None
    now, error = moisture_now(sightings)
    return by_formula(slab, widths[-1].value / slab.width, now, error, samples)


def moisture_now(sightings: Sequence[Sighting]) -> tuple[float, float]:
    """Mean of the moistures at the end and its error [%]: the plain mean of those by depth."""
    seen = [one for one in sightings if one.day is None and one.what == "moisture"]
    whole = [one for one in seen if one.depth is None] or seen
    now = float(np.mean([one.value for one in whole]))
    return now, float(np.sqrt(np.mean([one.error**2 for one in whole])))


@dataclass(frozen=True, slots=True)
class ByFormula:
    """What the formula alone tells where nothing is known of where a slab has been.

    Attributes
    ----------
    before : Figure
        Mean moisture before [%].
    now : float
        Mean moisture today [%].
    notes : tuple of Note
    """

    before: Figure
    now: float
    notes: tuple[Note, ...]


def alone(slab: Slab, sightings: Sequence[Sighting], samples: Samples) -> ByFormula:
    """The formula on a width and moistures at the end, for want of a history.

    Raises
    ------
    Refusal
        If no moisture fits.
    ValueError
        Without a width or a moisture at the end.
    """
    before = of_sightings(slab, sightings, samples)
    if before is None:
        raise ValueError("the formula needs a width and a moisture at the end")
    if before.value <= 0.0:
        raise Refusal("no-moisture-fits")
    start = slab.species.shrinkage_starts
    notes = [Note("no-history")]
    if before.value > start:
        notes.append(Note("green-before", start=start))
    return ByFormula(before, moisture_now(sightings)[0], tuple(notes))
