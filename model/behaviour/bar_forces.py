"""What bars that hold a slab ask of their fixings and of the wood, judged by chances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.behaviour import anchorage, fixings, restraint
from model.behaviour.anchorage import Anchor, Verdict
from model.behaviour.course import Course
from model.behaviour.fixings import Fixings
from model.behaviour.slab import Slab
from model.behaviour.stiffeners import Grip, Stiffeners
from model.properties import strength
from model.properties.fasteners import washer_thickness
from model.properties.strength import Bent
from model.spread import Samples

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pulls:
    """What the fixings bear.

    Attributes
    ----------
    hardest : ndarray (samples,)
        Largest pull through the course on the fixing that is worst off [N].
    worst : int
        That fixing: the likeliest to tear, or the most pulled where nothing is known of them.
    by_point : tuple of float
        Largest pull on each fixing in the central case [N].
    by_rule : ndarray (samples,)
        Three times the moment over the distance between the outermost fixings [N]: the hand check.
    anchors : tuple of Anchor
        What each bears; empty without a fastener.
    of_allowable : ndarray (samples,) or None
        The pull on the worst over the allowable one.
    tears : float or None
        Chance that the worst tears.
    verdict : str or None
        ``hold``, ``without-margin``, ``may-tear`` or ``will-tear``; None when nothing is known.
    washer : float or None
        Thickness of a steel washer over its slot [m].
    """

    hardest: Floats
    worst: int
    by_point: tuple[float, ...]
    by_rule: Floats
    anchors: tuple[Anchor, ...]
    of_allowable: Floats | None
    tears: float | None
    verdict: Verdict | None
    washer: float | None

    @property
    def anchor(self) -> Anchor | None:
        """What the worst one bears."""
        return self.anchors[self.worst] if self.anchors else None

    @property
    def longest(self) -> int:
        """Index of the most pulled fixing, central case."""
        return int(np.argmax(self.by_point))


def bent_by(slab: Slab, by: Grip, held: Course) -> Bent:
    """What bars do to the wood that they bend straight."""
    assert slab.length is not None
    per_metre = by.on_bar(held.moment) / by.layout.strip
    return strength.bent(
        6.0 * per_metre / (held.slab.thickness**2 * by.left),
        strength.of(slab.species).tension_across,
        slab.length * slab.width * held.slab.thickness,
        held.mean,
        held.temperature,
    )


def planned(
    slab: Slab, followed: Course, stiffeners: Stiffeners, samples: Samples
) -> Fixings | None:
    """Places and withdrawal of a bar's fixings in a slab that is followed; None where none is told.

    Parameters
    ----------
    slab : Slab
        Of a known length.
    followed : Course
    stiffeners : Stiffeners
    samples : Samples
    """
    if stiffeners.fastener is None or len(stiffeners.across) < 2:
        return None
    assert slab.length is not None
    ends = min(min(stiffeners.along), slab.length - max(stiffeners.along))
    return fixings.plan(
        slab,
        float(followed.mean[0, 0]),
        followed.mean.min(axis=0),
        followed.mean.max(axis=0),
        stiffeners.across,
        stiffeners.fastener,
        samples,
        recess=stiffeners.recess,
        bar=stiffeners.bar,
        from_end=ends,
    )


def pulled(stiffeners: Stiffeners, by: Grip, held: Course, places: Fixings | None) -> Pulls | None:
    """What a bar's fixings bear, judged by the worst of all; None with fewer than two.

    Parameters
    ----------
    stiffeners : Stiffeners
    by : Grip
    held : Course
        Under the grip's hold.
    places : Fixings or None
        See `planned`.
    """
    across = stiffeners.across
    if len(across) < 2:
        return None
    each = by.on_fixings(held.moment).max(axis=0)  # (samples, fixings)
    rule = restraint.outer_pull(
        np.abs(by.on_bar(held.moment)).max(axis=0), max(across) - min(across)
    )
    by_point = tuple(float(one) for one in each[0])
    anchors = () if places is None else tuple(point.anchor for point in places.points)
    worst = int(np.argmax(by_point))
    tears: float | None = None
    of_allowable = verdict = washer = None
    known = [
        (each[:, i], one.tears_at, one.variation)
        for i, one in enumerate(anchors)
        if one.tears_at is not None
    ]
    if known:  # of all or of none: they are alike
        chances = [strength.chance(*one) for one in known]
        asked = [float(pull[0]) / tears_at for pull, tears_at, _ in known]
        worst = max(range(len(across)), key=lambda i: (round(chances[i], 6), asked[i]))
        tears = chances[worst]
    hardest = each[:, worst]
    allowable = anchors[worst].allowable if anchors else None
    if tears is not None and allowable is not None:
        of_allowable = hardest / max(allowable, 1e-9)
        verdict = anchorage.verdict(tears, float(of_allowable[0]))
    if stiffeners.fastener is not None:
        shank = stiffeners.fastener.through
        washer = washer_thickness(
            float(hardest[0]), shank + fixings.SLOT_PLAY, fixings.WASHER * shank, shank
        )
    return Pulls(hardest, worst, by_point, rule, anchors, of_allowable, tears, verdict, washer)
