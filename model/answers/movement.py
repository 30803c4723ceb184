"""Question 4: how much a slab moves between two states of moisture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import brought, crooked, rings, shape, shrinkage, timber
from model.behaviour.evidence import Given, Readings, Untold
from model.behaviour.rings import ring_notes
from model.behaviour.shape import Cupped
from model.behaviour.slab import Depths, Moisture, ShellCore, Slab, profile
from model.codes import Note
from model.properties import species
from model.properties.species import LENGTHWISE
from model.spread import Figure, Samples

Floats = NDArray[np.float64]

PLANED: Final = 1.0e-3  # m off one face, for what stress brought along does (a usual cut)
NODES: Final = 41  # through the thickness; a parabola's curvature and mean are then within 0.1 %
HANDBOOK_RANGE: Final = (6.0, 14.0)  # %; where Table 13-5 may be used (Wood Handbook ch. 13)
# Above this the straight law is a stretch: shrinkage sets in gradually (Wood Handbook ch. 4,
# memory) and green wood may collapse besides.
WELL_BELOW_START: Final = 5.0  # % below the start of shrinkage (judgement)


@dataclass(frozen=True, slots=True)
class InAir:
    """The moisture the slab takes on in air of a temperature [degC] and relative humidity [%]."""

    temperature: float
    relative_humidity: float


State = Moisture | InAir


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension before and after [m], its change, and the change by the coefficient.

    Attributes
    ----------
    before : float
    after, change : Figure
    coefficient : float or None
        Handbook coefficient [1/%], the shrinkage formula made straight at 10 %; None for the
        length, for which the handbook has none.
    change_by_coefficient : float or None
        Coefficient times dimension times the change of mean moisture, as far as that lies below
        the start of shrinkage [m].
    """

    before: float
    after: Figure
    change: Figure
    coefficient: float | None
    change_by_coefficient: float | None


@dataclass(frozen=True, slots=True)
class RingEffect:
    """What a known pith changes against a slab taken as plain flat-sawn.

    Attributes
    ----------
    width : float
        Before [m].
    flat_change : float
        Change of width by the plain tangential rule [m].
    change : float
        Change of width with the rings [m].
    cup : float
        Signed cup by the rings alone [m].
    check_opening : float or None
        Opening at the nearer face of a radial check from a pith inside the slab [m]; None when
        the pith lies outside.
    v_rise : float or None
        How far both edges then go away from the checked face [m]; None when the pith lies outside.
    """

    width: float
    flat_change: float
    change: float
    cup: float
    check_opening: float | None
    v_rise: float | None

    @property
    def cupped(self) -> Cupped:
        """The cup as it is told."""
        return shape.cupped(Figure(self.cup), self.width)


@dataclass(frozen=True, slots=True)
class Movement:
    """Answer to question 4; lengths in m, moisture in %, cup signed (positive `edges up`).

    `planing` is the cup that planing `PLANED` off the top face makes at once, of a slab that brings
    stress along; None of one that does not.  `crooked` is None without a length,
    `growth` unless a ripped strip was told.
    """

    moisture_before: Figure
    moisture_after: Figure
    width: Dimension
    thickness: Dimension
    length: Dimension | None
    cup: Figure
    rings: RingEffect | None
    planing: Figure | None
    growth: Growth | None
    crooked: Crooked | None
    notes: tuple[Note, ...]
    formulas: tuple[str, ...]

    @property
    def cupped(self) -> Cupped:
        """The cup as it is told, over the width before."""
        return shape.cupped(self.cup, self.width.before)


@dataclass(frozen=True, slots=True)
class Growth:
    """Stress along the grain that a strip ripped off told of.

    Attributes
    ----------
    strain : float
        Difference over the strip [-].
    stress : float or None
        Largest [Pa]; None where the wood's stiffness along the grain is not known.
    crook : float or None
        Of the slab once such a strip has left one edge [m]; None without a length.
    """

    strain: float
    stress: float | None
    crook: float | None


def _growth(slab: Slab) -> Growth | None:
    ripped, modulus = slab.ripped, slab.species.modulus
    if ripped is None:
        return None
    return Growth(
        ripped.difference,
        None if modulus is None else abs(ripped.stress(modulus)),
        None if slab.length is None else ripped.crook_left(slab.width, slab.length),
    )


@dataclass(frozen=True, slots=True)
class Crooked:
    """How a slab may go out of line along its length.

    Attributes
    ----------
    bow, crook : float
        Of a usual difference along the grain from face to face and from edge to edge [m].
    twist : float or None
        Turn of one end against the other [degrees]; None without spiral grain and pith.
    corner : float or None
        How far a corner rises by it [m].
    """

    bow: float
    crook: float
    twist: float | None
    corner: float | None


def movement(
    slab: Slab,
    before: State,
    after: State,
    samples: Samples | None = None,
    *,
    spiral_grain: float | None = None,
) -> Movement:
    """How width, thickness, length and cup change between two states of moisture.

    Parameters
    ----------
    slab : Slab
        With the size it has in the first state.
    before, after : State
        One moisture content, shell and core, readings at depths, or the air it settles in.
    samples : Samples, optional
        What is uncertain: variation of shrinkage within the species, ring angle or pith when not
        given, equilibrium moisture when air is given.  The central case alone when left out.
    spiral_grain : float, optional
        Angle of the grain to the slab's length [degrees], for its twist.

    Returns
    -------
    Movement

    Raises
    ------
    ValueError
        If a moisture content or depth is impossible.

    Examples
    --------
    >>> elm = Slab(species.find("American elm"), width=0.8636, thickness=0.0508, ring_angle=0.0)
    >>> moved = movement(elm, 12.5, 7.0).width
    >>> round(1000 * moved.change.value, 2), round(1000 * moved.change_by_coefficient, 2)
    (-11.45, -16.06)
    """
    drawn = spread.draw(0) if samples is None else samples
    wood = slab.species
    depth = np.linspace(0.0, slab.thickness, NODES)
    first, second = (_at_nodes(state, depth, slab, drawn) for state in (before, after))
    radial, tangential = wood.shrinkages(drawn)
    geometry = timber.rings_of(slab, drawn)
    change = shape.strains(slab, first, second, depth, radial, tangential)
    cup = shape.cup_of(geometry, change)
    mean = [np.asarray(np.trapezoid(one, depth)) / slab.thickness for one in (first, second)]
    shrinkage = shape.across(slab, wood.radial, wood.tangential)
    step = float(_bound_mean(slab, second[0], depth) - _bound_mean(slab, first[0], depth))
    return Movement(
        moisture_before=spread.figure(mean[0]),
        moisture_after=spread.figure(mean[1]),
        width=_dimension(
            slab.width, shape.width_of(geometry, change), float(shrinkage[0]), slab, step
        ),
        thickness=_dimension(
            slab.thickness,
            shape.thickness_of(slab, geometry, change),
            float(shrinkage[1]),
            slab,
            step,
        ),
        length=_length(slab, *(_bound_mean(slab, one, depth) for one in (first, second))),
        cup=spread.figure(cup),
        planing=_planing(slab),
        growth=_growth(slab),
        crooked=_crooked(slab, change, mean, spiral_grain),
        rings=_ring_effect(slab, first[0], second[0], depth),
        notes=tuple(_notes(slab, before, after, first, second, spiral_grain)),
        formulas=_formulas(slab, before, after) + _of_stress(slab),
    )


def _crooked(
    slab: Slab, change: shape.Strains, mean: list[Floats], spiral: float | None
) -> Crooked | None:
    """What may come along the length, central case; None without a length."""
    if slab.length is None:
        return None
    moved = float(mean[1][0] - mean[0][0])
    turned = corner = None
    if spiral is not None and slab.pith_below is not None:
        radius = max(
            float(np.hypot(slab.pith_below + 0.5 * slab.thickness, slab.pith_across)), 0.01
        )
        turned = crooked.twist(slab.length, float(change.mean_tangential[0]), spiral, radius)
        corner = crooked.rise_of_corner(turned, slab.width)
    return Crooked(
        bow=crooked.may_bow(moved, slab.length, slab.thickness),
        crook=crooked.may_bow(moved, slab.length, slab.width),
        twist=turned,
        corner=corner,
    )


def _of_stress(slab: Slab) -> tuple[str, ...]:
    told = ("stress-brought",) if slab.brought else ()
    return (*told, "growth-stress") if slab.ripped else told


def _planing(slab: Slab) -> Figure | None:
    if slab.brought is None:
        return None
    return Figure(brought.cup_by_planing(slab.brought, PLANED, slab.width, slab.thickness))


def _at_nodes(state: State, depth: Floats, slab: Slab, samples: Samples) -> Floats:
    """Moisture [%] at the nodes, shape (samples, nodes)."""
    if isinstance(state, InAir):
        mean = slab.species.equilibrium(state.temperature, state.relative_humidity)
        return np.repeat((mean * samples.sorption)[:, None], depth.size, axis=1)
    if isinstance(state, Readings | Given | Untold):
        return state.shaped(slab.thickness).drawn(depth, slab.thickness, samples)
    even = profile(state, depth, slab.thickness)
    return np.broadcast_to(even, (samples.count, depth.size))


def _bound_mean(slab: Slab, moisture: Floats, depth: Floats) -> Floats:
    """Mean through the thickness of the moisture that moves wood [%], at most where that starts."""
    bound = np.minimum(moisture, slab.species.shrinkage_starts)
    return np.asarray(np.trapezoid(bound, depth)) / slab.thickness


def _dimension(
    size: float, after: Floats, total_shrinkage: float, slab: Slab, step: float
) -> Dimension:
    slope = float(shrinkage.coefficient(total_shrinkage, slab.species.shrinkage_starts))
    return Dimension(
        before=size,
        after=spread.figure(after),
        change=spread.figure(after - size),
        coefficient=slope,
        change_by_coefficient=size * slope * step,
    )


def _length(slab: Slab, before: Floats, after: Floats) -> Dimension | None:
    """Length by the range printed for normal wood; juvenile and reaction wood move far more."""
    if slab.length is None:
        return None
    low, middle, high = LENGTHWISE
    start = slab.species.shrinkage_starts

    def changed(total: float, first: Floats, second: Floats) -> Floats:
        result: Floats = slab_length * shrinkage.strain(total, start, first, second)
        return result

    slab_length = slab.length
    central = float(changed(middle, before[:1], after[:1])[0])
    if before.size == 1:
        return Dimension(slab_length, Figure(slab_length + central), Figure(central), None, None)
    ends = np.concatenate([changed(total, before[1:], after[1:]) for total in (low, high)])
    # The printed range itself is the band: its two ends, over every draw of moisture.
    least, most = min(float(ends.min()), central), max(float(ends.max()), central)
    change = Figure(central, least, most)
    later = Figure(slab_length + central, slab_length + least, slab_length + most)
    return Dimension(slab_length, later, change, None, None)


def _ring_effect(slab: Slab, first: Floats, second: Floats, depth: Floats) -> RingEffect | None:
    if slab.pith_below is None:
        return None
    change = shape.strains(slab, first, second, depth)
    geometry = rings.rings(slab)
    along, over = float(change.mean_tangential), float(change.mean_radial)
    opening = rise = None
    if slab.pith_is_inside:
        rise = crooked.boxed_heart_rise(slab.width, max(over - along, 0.0))
        # Rings are whole circles only as far as the heart-side face, the nearer one.
        opening = float(shape.radial_check_opening(-slab.pith_below, along, over))
    return RingEffect(
        width=slab.width,
        flat_change=slab.width * along,
        change=float(shape.width_of(geometry, change)) - slab.width,
        cup=float(shape.ring_cup(slab, along, over)),
        check_opening=opening,
        v_rise=rise,
    )


def _formulas(slab: Slab, before: State, after: State) -> tuple[str, ...]:
    used = ["shrinkage", "dimensional-change-coefficient", *rings.formulas(slab), "gradient-cup"]
    if slab.species.source_movement:
        used.append("printed-movement")
    if isinstance(before, InAir) or isinstance(after, InAir):
        used += ["equilibrium-moisture", "sorption-of-woods"]
    return tuple(used)


def _notes(
    slab: Slab,
    before: State,
    after: State,
    first: Floats,
    second: Floats,
    spiral: float | None,
) -> list[Note]:
    told = [*species.notes(slab.species), *ring_notes(slab)]
    for state, given, moisture in (("before", before, first[0]), ("after", after, second[0])):
        told += _moisture_notes(slab, state, moisture)
        if isinstance(given, ShellCore | Depths | Readings | Given):
            told.append(Note("free-elastic", state=state))
    if slab.length is not None:
        told += [Note("length"), Note("out-of-line")]
    if slab.ripped is not None:
        told.append(Note("growth-stress"))
    if slab.pith_is_inside and _shallow(slab):
        told.append(Note("boxed-heart"))
    if spiral is not None:
        told.append(Note("twist" if slab.pith_below is not None else "twist-needs-the-pith"))
    return told


def _shallow(slab: Slab) -> bool:
    """Whether the pith lies in the middle half of the thickness."""
    assert slab.pith_below is not None
    return -slab.pith_below > 0.25 * slab.thickness


def _moisture_notes(slab: Slab, state: str, moisture: Floats) -> list[Note]:
    start = slab.species.shrinkage_starts
    lowest, highest = float(moisture.min()), float(moisture.max())
    told = []
    if lowest >= start:
        told.append(Note("above-shrinkage", state=state, start=start, wood=slab.species.name))
    elif highest > start - WELL_BELOW_START:
        told.append(Note("near-fibre-saturation", state=state, start=start))
    if lowest < HANDBOOK_RANGE[0] or highest > HANDBOOK_RANGE[1]:
        told.append(Note("outside-coefficient", state=state))
    return told
