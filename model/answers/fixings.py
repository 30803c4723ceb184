"""Fixings through a slab that moves: slots, places, withdrawal, and what a solid fixing does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.behaviour import fixed_solid, holdings, rings
from model.behaviour.bars import Bar
from model.behaviour.fixed_solid import Solid
from model.behaviour.fixings import CLEARANCE, Fixings, Point, plan
from model.behaviour.holdings import Judged
from model.behaviour.slab import Slab
from model.behaviour.year import Extremes
from model.codes import Note
from model.properties.fasteners import Fastener
from model.spread import Figure, Samples, figure


@dataclass(frozen=True, slots=True)
class Position:
    """One of the fixings.

    Attributes
    ----------
    point : Point
    withdrawal : float or None
        Allowable pull [N]: of the wood, its edge, the bolt or the head, the least.
    fixed : bool
        Whether it is the one to fix.
    """

    point: Point
    withdrawal: float | None
    fixed: bool


@dataclass(frozen=True, slots=True)
class Fitted:
    """Fixings of a slab between the driest and the dampest it will be.

    Attributes
    ----------
    now : float
        Mean moisture on the day of fitting [%].
    through : float
        Diameter of what passes through the slots [m].
    driest, dampest : Figure
        Of the years to come [%].
    planned : Fixings
    fixed_solid : Solid or None
        What they would do solid; None for a single one.
    notes : tuple of Note
    holdings : tuple of Judged
        Other ways of holding against the movement of the point that moves most, nine cases in ten.
    formulas : tuple of str
        Ids in the list of formulas.
    """

    now: float
    through: float
    driest: Figure
    dampest: Figure
    planned: Fixings
    fixed_solid: Solid | None
    notes: tuple[Note, ...]
    holdings: tuple[Judged, ...]
    formulas: tuple[str, ...]

    @property
    def positions(self) -> tuple[Position, ...]:
        """The fixings in the order given."""
        fixed = self.planned.fixed
        return tuple(
            Position(point, point.anchor.allowable, index == fixed)
            for index, point in enumerate(self.planned.points)
        )


def fit(
    slab: Slab,
    now: float,
    ends: Extremes,
    positions: tuple[float, ...],
    fastener: Fastener,
    samples: Samples,
    *,
    fixed_at: float | None = None,
    clearance: float = CLEARANCE,
    recess: float = 0.0,
    duration: str = "permanent",
    bar: Bar | None = None,
    strip: float = fixed_solid.SOLID_STRIP,
) -> Fitted:
    """Slots, places and withdrawal of fixings, and what they would do solid.

    Parameters
    ----------
    slab, now, positions, fastener, samples, fixed_at, clearance, recess, duration
        As in `behaviour.fixings.plan`.
    ends : Extremes
        Driest and dampest to come [%].
    bar : Bar, optional
        What they would be solid to; flat steel 40 x 5 mm when left out.
    strip : float
        Length of slab along the grain that one bar holds [m].
    """
    planned = plan(
        slab,
        now,
        ends.driest,
        ends.dampest,
        positions,
        fastener,
        samples,
        fixed_at=fixed_at,
        clearance=clearance,
        recess=recess,
        duration=duration,
        bar=bar,
    )
    solid = None
    if len(planned.points) > 1:
        solid = fixed_solid.solid(
            slab,
            planned,
            fastener,
            now,
            ends.driest,
            ends.dampest,
            samples,
            bar=bar,
            strip=strip,
        )
    formulas = ["shrinkage", *rings.formulas(slab), "slot", "withdrawal-nds"]
    if planned.withdrawal.en1995_characteristic is not None:
        formulas.append("withdrawal-en1995")
    if planned.withdrawal.huebner_characteristic is not None:
        formulas.append("withdrawal-hardwood")
    if solid is not None:
        formulas += ["two-layer-bar", "lateral-yield"]
    driest, dampest = (
        figure(np.broadcast_to(end, (samples.count,))) for end in (ends.driest, ends.dampest)
    )
    notes = (
        *planned.notes,
        *rings.pith_notes(slab),
        Note("forces-weak"),
        Note("slot-rule"),
        Note("holdings-usual"),
    )
    most = max(planned.points, key=lambda point: float(point.moves_in[0] + point.moves_out[0]))
    inward, outward = (
        float(np.percentile(ways[1:], 90.0)) if ways.size > 1 else float(ways[0])
        for ways in (most.moves_in, most.moves_out)
    )
    others = holdings.judge(
        max(inward, float(most.moves_in[0])), max(outward, float(most.moves_out[0]))
    )
    return Fitted(
        now, fastener.through, driest, dampest, planned, solid, notes, others, tuple(formulas)
    )
