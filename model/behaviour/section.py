"""Stress, set and curvature of a slab's section across the grain, layer by layer.

Plane sections through the thickness, e(z) = e + k a with the arm `a` = z - t/2 counted down from
the middle, carry unequal moisture, ring cup, creep under changing moisture (mechano-sorptive
creep, here called *set*), clamping, stiffening and the planing off of layers.  A layer's stress is

    s = E(M) (e + k a - e_free - e_set)            tension positive

and its set grows with the stress it bears while its moisture changes by |du| (u = M/100):

    d e_set = m |du| (s - e_set E12 / J)           Ranta-Maunus; Ormarsson et al. (memory)

J infinite is the plain law (set stays), J finite the limited law (set is recovered when the
moisture changes with no stress).  Depth runs down from the top face, so a positive curvature means
edges up, the top face hollow.

The set equation is linear, so each step is integrated exactly for a strain that runs linearly with
the layer's moisture.  The backward step, E_eff = E/(1 + E m |du|/den) with den = 1 + m |du| E12/J,
is its first-order relative.  The steps are compiled: see `section_steps`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from model.behaviour import section_steps as steps
from model.behaviour.compiled import plain
from model.behaviour.transport import Grid
from model.properties import strength

Floats = NDArray[np.float64]

MODULUS_SLOPE: Final = 0.025  # per % M from 12 %; printed for spruce, taken for every wood
CREEP_RADIAL: Final = 1.4  # -, m E of a quarter-sawn width over a flat-sawn one (low confidence)
PLAIN: Final = np.inf  # -, J of the law without a limit
WARN_INDEX: Final = 0.5  # -, stress index from which a check is to be reckoned with (judgement)


@dataclass(frozen=True, slots=True)
class Timber:
    """What a section is made of, each figure an array over the samples.

    Attributes
    ----------
    swelling : ndarray (samples,)
        Free strain across the section per % M [1/%], below `starts`.
    starts : float
        Moisture content above which wood does not move [%].
    saturation : float
        Fibre saturation [%]: the modulus falls no further above it.
    modulus : ndarray (samples,)
        Modulus along the section at 12 % M [Pa].
    creep : ndarray (samples,)
        m E12 [-] per unit of u; 0 is elastic wood.
    limit : ndarray (samples,)
        J [-]; infinite is the plain law.
    softening : float
        Share of the modulus at 12 % that goes with each % M [1/%].
    """

    swelling: Floats
    starts: float
    saturation: float
    modulus: Floats
    creep: Floats
    limit: Floats
    softening: float = MODULUS_SLOPE


@dataclass(frozen=True, slots=True)
class Hold:
    """How a slab is held: springs against bending and against change of width.

    Attributes
    ----------
    bending : float or ndarray (samples,)
        EI of what holds it flat per metre of slab length [N m2/m]; 0 free, infinite flat.
    axial : float or ndarray (samples,)
        EA of what holds its width per metre of length [N/m]; 0 free, infinite fixed.
    curvature : float or ndarray (samples,)
        Curvature at which the bending spring is slack [1/m].
    strain : float or ndarray (samples,)
        Strain of the width at which the axial spring is slack [-].
    """

    bending: float | Floats = 0.0
    axial: float | Floats = 0.0
    curvature: float | Floats = 0.0
    strain: float | Floats = 0.0


FREE: Final = Hold()
FLAT: Final = Hold(bending=np.inf)


@dataclass(frozen=True, slots=True)
class State:
    """What a section remembers beside its moisture.

    Attributes
    ----------
    creep : ndarray (samples, nodes)
        Mechano-sorptive strain (set) of each layer [-].
    unstrained : ndarray (samples, nodes)
        Moisture content at which each layer, without set, fits a flat slab of the first width [%].
    form : ndarray (samples,)
        Curvature given by machining [1/m]: the section is unstressed when bent by it.
    """

    creep: Floats
    unstrained: Floats
    form: Floats


@dataclass(frozen=True, slots=True)
class History:
    """What became of a section, at each of the given times.

    Attributes
    ----------
    curvature, strain : ndarray (times, samples)
        Curvature [1/m], positive edges up, and change of the width against the start [-].
    moment, force : ndarray (times, samples)
        Moment [N m/m] and pull [N/m] the hold puts on each metre of slab length: positive bends
        the edges up, positive stretches.
    stress_top, stress_bottom : ndarray (times, samples)
        Stress in the outermost layers [Pa], tension positive.
    tension_top, tension_bottom : ndarray (times, samples)
        Weakest-link tension of the upper and lower half of the thickness [Pa]: see
        `strength.skin_index`.
    stress : ndarray (times, samples, nodes) or None
        Stress of every layer [Pa], when asked for.
    state : State
        The state at the last time.
    """

    curvature: Floats
    strain: Floats
    moment: Floats
    force: Floats
    stress_top: Floats
    stress_bottom: Floats
    tension_top: Floats
    tension_bottom: Floats
    stress: Floats | None
    state: State


def unstressed(moisture: Floats) -> State:
    """The state of a slab that is flat and free of stress at a moisture (samples, nodes) [%]."""
    return State(
        creep=np.zeros_like(moisture),
        unstrained=np.array(moisture, dtype=np.float64),
        form=np.zeros(moisture.shape[0]),
    )


def modulus_at_angle(
    radial: ArrayLike, tangential: ArrayLike, shear: ArrayLike, poisson: ArrayLike, angle: ArrayLike
) -> Floats:
    """Modulus across the grain at an angle between ring tangent and the direction of stress.

    Parameters
    ----------
    radial, tangential, shear : array_like
        E_R, E_T and G_RT [Pa].
    poisson : array_like
        nu_RT: contraction along the ring tangent per strain along the radius, stressed along it.
    angle : array_like
        Angle between ring tangent and stress [deg]: 0 flat-sawn, 90 quarter-sawn.

    Returns
    -------
    ndarray
        Modulus [Pa].

    References
    ----------
    Rotation of the compliances of an orthotropic body (derived).

    Examples
    --------
    >>> [round(float(modulus_at_angle(1600.0, 800.0, 80.0, 0.7, a))) for a in (0, 45, 90)]
    [800, 296, 1600]
    """
    turned = np.deg2rad(np.asarray(angle, dtype=np.float64))
    c2, s2 = np.cos(turned) ** 2, np.sin(turned) ** 2
    e_r = np.asarray(radial, dtype=np.float64)
    coupling = 1.0 / np.asarray(shear, dtype=np.float64) - 2.0 * np.asarray(poisson) / e_r
    compliance = c2**2 / np.asarray(tangential) + s2**2 / e_r + s2 * c2 * coupling
    result: Floats = 1.0 / compliance
    return result


def stiffness(timber: Timber, moisture: Floats) -> Floats:
    """Modulus of each layer [Pa] at its moisture (..., samples, nodes) [%].

    E12 (1 - 0.025 (M - 12)) from 0 % to fibre saturation and level above it (printed for spruce
    between about 6 and 20 %; outside that it is an extrapolation: 1.30 E12 at 0, 0.55 at 30 %).
    """
    below = np.minimum(moisture, timber.saturation)
    result: Floats = timber.modulus[:, None] * (
        1.0 - timber.softening * (below - steps.MODULUS_REFERENCE)
    )
    return result


def free_strain(timber: Timber, state: State, moisture: Floats) -> Floats:
    """Strain each layer (..., samples, nodes) would take if nothing held it, without set [-]."""
    moved = np.minimum(moisture, timber.starts) - np.minimum(state.unstrained, timber.starts)
    result: Floats = timber.swelling[:, None] * moved
    return result


def arm_of(mesh: Grid) -> Floats:
    """Distance of each node below the middle of the thickness [m]."""
    return mesh.depth - 0.5 * mesh.thickness


def _edges(mesh: Grid) -> Floats:
    """Depths of the boundaries between the layers [m], (nodes + 1,)."""
    return mesh.thickness * np.concatenate(([0.0], np.cumsum(mesh.weight)))


def sweep(
    timber: Timber,
    mesh: Grid,
    moisture: Floats,
    state: State,
    hold: Hold = FREE,
    ring_curvature: Floats | None = None,
    every_layer: bool = False,
) -> History:
    """Carry a section through a history of moisture.

    At the first time the section is only brought into balance under `hold`, without set: so a hold
    may change, and layers may be gone, between two sweeps.  Steps in which a layer moves by more
    than `section_steps.LARGEST_STEP` are divided, straight between the given times; left, of
    strains that bend within a step, is up to 0.1 % of the largest curvature and stress at mE 60
    and 0.4 % at mE 150 (measured on rough histories against steps fifty times finer).

    Parameters
    ----------
    timber : Timber
        Wood of the section, arrays (samples,).
    mesh : Grid
        Nodes through the thickness.
    moisture : ndarray (times, samples, nodes)
        Moisture content of each layer [%]; order of time.
    state : State
        State at the first time.
    hold : Hold
        How the slab is held throughout.
    ring_curvature : ndarray (times, samples), optional
        Curvature the rings give the unstressed section [1/m], positive edges up.
    every_layer : bool
        Keep the stress of every layer.

    Returns
    -------
    History

    Raises
    ------
    ValueError
        If the arrays do not fit each other.

    References
    ----------
    Ranta-Maunus; Ormarsson, Dahlblom & Petersson (memory): mechano-sorptive creep.
    """
    if moisture.ndim != 3 or moisture.shape[1:] != state.creep.shape:
        raise ValueError(f"moisture {moisture.shape} does not fit the state {state.creep.shape}")
    if moisture.shape[2] != mesh.depth.size:
        raise ValueError(f"{moisture.shape[2]} layers of moisture, {mesh.depth.size} of wood")
    times, samples, nodes = moisture.shape
    upper = arm_of(mesh) < 1e-9 * mesh.thickness  # a middle layer belongs to both halves
    lower = arm_of(mesh) > -1e-9 * mesh.thickness
    creep = plain(state.creep)
    told = steps.Told(
        columns=np.empty((8, times, samples)),
        stress=np.empty((times, samples if every_layer else 0, nodes)),
    )
    steps.sweep(
        steps.Wood(
            swelling=plain(timber.swelling, samples),
            modulus=plain(timber.modulus, samples),
            creep=plain(timber.creep, samples),
            backing=plain(timber.modulus / timber.limit, samples),
            starts=float(timber.starts),
            saturation=float(timber.saturation),
            softening=float(timber.softening),
        ),
        steps.Held(
            bending=plain(hold.bending, samples),
            axial=plain(hold.axial, samples),
            curvature=plain(hold.curvature, samples),
            strain=plain(hold.strain, samples),
        ),
        steps.Section(
            arm=plain(arm_of(mesh)),
            layer=plain(mesh.thickness * mesh.weight),
            upper=plain(np.where(upper, mesh.weight, 0.0)),
            lower=plain(np.where(lower, mesh.weight, 0.0)),
            exponent=strength.SIZE_EXPONENT,
        ),
        plain(moisture),
        plain(0.0 if ring_curvature is None else ring_curvature, times, samples),
        plain(state.unstrained),
        plain(state.form, samples),
        creep,
        told,
    )
    curvature, strain, moment, force, top, bottom, tension_top, tension_bottom = told.columns
    return History(
        curvature=curvature,
        strain=strain,
        moment=moment,
        force=force,
        stress_top=top,
        stress_bottom=bottom,
        tension_top=tension_top,
        tension_bottom=tension_bottom,
        stress=told.stress if every_layer else None,
        state=replace(state, creep=creep),
    )


def remap(values: Floats, old: Grid, new: Grid, planed_top: float) -> Floats:
    """Layer means (..., nodes) carried onto the layers of the slab left after planing.

    The running total over the depth is interpolated by a monotone cubic, so what the kept depth
    held is kept to rounding, a uniform slab stays uniform, moisture stays positive, and extremes
    are overstepped by less than 0.01 % M (measured, rough profiles).

    Parameters
    ----------
    values : ndarray (..., nodes)
        Means of the old layers (moisture, set, ...).
    old, new : Grid
        Nodes before and after.
    planed_top : float
        Depth planed off the top face [m].

    Raises
    ------
    ValueError
        If the new slab does not lie within the old one.
    """
    if planed_top < 0.0 or planed_top + new.thickness > old.thickness * (1.0 + 1e-12):
        raise ValueError(f"{new.thickness} m below {planed_top} m do not fit in {old.thickness} m")
    total = np.concatenate(
        (
            np.zeros((*values.shape[:-1], 1)),
            np.cumsum(values * (old.weight * old.thickness), axis=-1),
        ),
        axis=-1,
    )
    running = PchipInterpolator(_edges(old), total, axis=-1)
    edges = np.minimum(planed_top + _edges(new), old.thickness)
    result: Floats = np.diff(running(edges), axis=-1) / (new.weight * new.thickness)
    return result


def planed(state: State, old: Grid, new: Grid, planed_top: float) -> State:
    """The state left when layers are planed off: theirs go with them, the rest is kept.

    Bring it into balance with the next `sweep`.
    """
    return State(
        creep=remap(state.creep, old, new, planed_top),
        unstrained=remap(state.unstrained, old, new, planed_top),
        form=state.form,
    )


def machined_flat(state: State, curvature: Floats) -> State:
    """The state of a slab whose present free curvature (samples,) [1/m] is cut away flat."""
    return replace(state, form=state.form - curvature)
