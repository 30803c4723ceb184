"""The cup taken apart by cause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import fitting, spread
from model.answers.diagnosis.tried import Case, shrunk
from model.behaviour import section, shape, timber
from model.behaviour.course import Course, Stay
from model.behaviour.shape import Cupped, cupped
from model.properties.finishes import Faces
from model.spread import Figure

Floats = NDArray[np.float64]
Cause = Literal["wet_core", "uneven_faces", "rings", "locked_in_stress"]

CAUSES: Final[tuple[Cause, ...]] = ("rings", "wet_core", "uneven_faces", "locked_in_stress")
DECIDED: Final = 0.7  # of the draws must agree on the largest cause (judgement)
UNCUPPED: Final = 5.0e-4  # m; a cup smaller than this needs no cause (judgement)


@dataclass(frozen=True, slots=True)
class Share:
    """A cause of the cup.

    `amount` is what it adds to the cup today [m, positive edges up]; `share` its part of all that
    bends the same way as the cup [%]; `main` how often among the draws it is the largest [0..1].
    """

    cause: Cause
    amount: Figure
    share: Figure
    main: float

    @property
    def cupped(self) -> Cupped:
        """The cup it makes, as it is told."""
        return cupped(self.amount)


def parts(case: Case, theta: Floats, followed: Course) -> Floats:
    """The cup at the end taken apart by cause, (causes, samples); the sum is the cup [m]."""
    free = tuple(replace(stay, hold=section.FREE) for stay in case.stays)
    dressed = any(stay.dressed for stay in case.stays)
    unlike = any(not stay.faces.alike or stay.wet_face for stay in case.stays)

    def bent(run: Course) -> Floats:
        result: Floats = run.cup[-1] - _by_rings(case, theta, run)
        return result

    whole = bent(followed)
    unstressed = bent(case.run(theta, free, stressed=False))
    # Alike faces dry a slab evenly: without planing nothing bends it but its rings.
    core = bent(case.run(theta, _alike(case.stays), stressed=False)) if dressed else 0.0 * whole
    if not unlike:
        core = unstressed
    return np.stack([_by_rings(case, theta, followed), core, unstressed - core, whole - unstressed])


def _alike(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """The stays with both faces like the one more open, and nothing held."""
    changed = []
    for stay in stays:
        face = min(stay.faces.top, stay.faces.bottom, key=lambda one: one.resistance)
        changed.append(
            replace(stay, faces=Faces(face, face), hold=section.FREE, wet_face=None, wet_hours=0.0)
        )
    return tuple(changed)


def _by_rings(case: Case, theta: Floats, followed: Course) -> Floats:
    """Cup at the end by the rings alone, from the mean moisture before and after [m]."""
    samples = case.samples(theta)
    before, after = case.mean_before(theta), followed.mean[-1]
    change = shrunk(case.history.slab.species, samples, before, after)
    return shape.cup_of(timber.rings_of(followed.slab, samples), change)


def shares(apart: Floats, seen: float) -> tuple[tuple[Share, ...], Cause | None]:
    """Shares by cause, largest first, and the main one if it stands out.

    Parameters
    ----------
    apart : ndarray (causes, samples)
        The cup by cause [m].
    seen : float
        The cup that was seen [m].
    """
    way = 1.0 if seen >= 0.0 else -1.0
    helping = np.maximum(way * apart, 0.0)
    total = helping.sum(axis=0)
    share = 100.0 * helping / np.maximum(total, 1e-12)
    drawn = share[:, 1:] if share.shape[1] > 1 else share
    largest = drawn.argmax(axis=0)
    told = []
    for i, cause in enumerate(CAUSES):
        # A share's value is the mean of its draws: shares then add up to the whole.
        of_all = spread.figure(np.concatenate(([drawn[i].mean()], share[i, 1:])))
        often = float(np.mean(largest == i))
        told.append(Share(cause, fitting.figure(apart[i]), of_all, often))
    ordered = tuple(sorted(told, key=lambda one: -one.share.value))
    stands_out = ordered[0].main >= DECIDED and abs(seen) >= UNCUPPED
    return ordered, ordered[0].cause if stands_out else None
