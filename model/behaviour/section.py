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
is its first-order relative.  Steps in which a layer moves by more than `LARGEST_STEP` are divided:
see `sweep` for the error that leaves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from model.behaviour.transport import Grid
from model.properties import strength

Floats = NDArray[np.float64]

MODULUS_SLOPE: Final = 0.025  # per % M from 12 %; printed for spruce, taken for every wood
MODULUS_REFERENCE: Final = 12.0  # % M at which moduli and strengths are listed
CREEP_RADIAL: Final = 1.4  # -, m E of a quarter-sawn width over a flat-sawn one (low confidence)
PLAIN: Final = np.inf  # -, J of the law without a limit
LARGEST_STEP: Final = 1.0  # % M in one step of one layer; see `sweep` for the error it leaves
WARN_INDEX: Final = 0.5  # -, stress index from which a check is to be reckoned with (judgement)
_CHUNK: Final = 32_768  # numbers in one working array, so that a chunk stays in the cache


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
    """

    swelling: Floats
    starts: float
    saturation: float
    modulus: Floats
    creep: Floats
    limit: Floats


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
    below = np.clip(moisture, 0.0, timber.saturation)
    result: Floats = timber.modulus[:, None] * (1.0 - MODULUS_SLOPE * (below - MODULUS_REFERENCE))
    return result


def free_strain(timber: Timber, state: State, moisture: Floats) -> Floats:
    """Strain each layer (..., samples, nodes) would take if nothing held it, without set [-]."""
    moved = np.minimum(moisture, timber.starts) - np.minimum(state.unstrained, timber.starts)
    result: Floats = timber.swelling[:, None] * moved
    return result


def arm_of(mesh: Grid) -> Floats:
    """Distance of each node below the middle of the thickness [m]."""
    return mesh.depth - 0.5 * mesh.thickness


def _basis(mesh: Grid) -> Floats:
    """(nodes, 3): layer values times it give their integrals with 1, a and a^2 over the depth."""
    return mesh.thickness * mesh.weight[:, None] * arm_of(mesh)[:, None] ** np.arange(3)


def _edges(mesh: Grid) -> Floats:
    """Depths of the boundaries between the layers [m], (nodes + 1,)."""
    return mesh.thickness * np.concatenate(([0.0], np.cumsum(mesh.weight)))


@dataclass(frozen=True, slots=True)
class _Step:
    """Coefficients of the steps of one chunk, arrays (steps, samples[, nodes])."""

    free: Floats  # free strain with the stress-free curvature in it
    modulus: Floats
    keep: Floats  # share of the old set that stays
    from_old: Floats  # set per unit of the old strain
    from_new: Floats  # set per unit of the new strain
    load: Floats  # (steps, samples, 2) force and moment of the free strains
    solve: tuple[Floats, Floats, Floats, Floats, Floats]  # see `_solver`
    sums: Floats  # (steps, samples, 3) of the softened modulus: E, E a, E a2


def _creep_factors(
    timber: Timber, modulus: Floats, change: Floats
) -> tuple[Floats, Floats, Floats]:
    """Exact set after a step with strain linear in moisture: kept, from the old, from the new.

    With x the set and g = e + k a - e_free: dx/d|u| = m E (g - x) - m E12 x / J.  Hence, with
    L = m (E + E12/J) |du| and c = (1 - exp(-L))/L,
    x1 = exp(-L) x0 + E/(E + E12/J) [(c - exp(-L)) g0 + (1 - c) g1].
    """
    backing = (timber.modulus / timber.limit)[:, None]
    together = modulus + backing
    exponent = (timber.creep / timber.modulus)[:, None] * together * change
    keep = np.exp(-exponent)
    # Below 1e-7 the quotient loses its digits; 1 - L/2 is then exact to 1e-15.
    share = np.where(
        exponent > 1e-7, -np.expm1(-exponent) / np.maximum(exponent, 1e-7), 1.0 - 0.5 * exponent
    )
    follows = modulus / together
    return keep, follows * (share - keep), follows * (1.0 - share)


def _solver(sums: Floats, hold: Hold) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Strain e = e_c + ee F + ek M and k = k_c + ek F + kk M under the load F, M.

    An infinite spring fixes its own movement, exactly; so its row of the inverse vanishes.
    """
    samples = sums.shape[1]
    bending = np.broadcast_to(np.asarray(hold.bending, dtype=np.float64), (samples,))
    axial = np.broadcast_to(np.asarray(hold.axial, dtype=np.float64), (samples,))
    curvature = np.broadcast_to(np.asarray(hold.curvature, dtype=np.float64), (samples,))
    strain = np.broadcast_to(np.asarray(hold.strain, dtype=np.float64), (samples,))
    flat, fixed = np.isinf(bending), np.isinf(axial)
    bending, axial = np.where(flat, 0.0, bending), np.where(fixed, 0.0, axial)
    s0, s1, s2 = sums[..., 0] + axial, sums[..., 1], sums[..., 2] + bending
    # A fixed movement takes its row out: the other equation stands alone.
    cross = np.where(flat | fixed, 0.0, s1)
    determinant = s0 * s2 - cross * cross
    ee = np.where(fixed, 0.0, s2 / determinant)
    kk = np.where(flat, 0.0, s0 / determinant)
    ek = -cross / determinant
    pull = axial * strain - np.where(flat, s1 * curvature, 0.0)
    turn = bending * curvature - np.where(fixed, s1 * strain, 0.0)
    constant_e = np.where(fixed, strain, ee * pull + ek * turn)
    constant_k = np.where(flat, curvature, ek * pull + kk * turn)
    return constant_e, constant_k, ee, ek, kk


def _prepare(
    timber: Timber,
    mesh: Grid,
    state: State,
    hold: Hold,
    moisture: Floats,
    ring_curvature: Floats,
) -> _Step:
    """Everything about the steps between rows of `moisture` that does not need the strains."""
    basis, arm = _basis(mesh), arm_of(mesh)
    modulus = stiffness(timber, moisture)
    change = 0.01 * np.abs(np.diff(moisture, axis=0))
    keep, from_old, from_new = _creep_factors(timber, 0.5 * (modulus[1:] + modulus[:-1]), change)
    bent = ring_curvature[1:] + state.form
    free = free_strain(timber, state, moisture[1:]) + bent[..., None] * arm
    softened = modulus[1:] * (1.0 - from_new)
    sums = softened @ basis
    load = (softened * free) @ basis[:, :2]
    return _Step(free, modulus[1:], keep, from_old, from_new, load, _solver(sums, hold), sums)


def _advance(
    step: _Step, mesh: Grid, creep: Floats, strained: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Sweep the steps of one chunk: mid strain, curvature, set and restrained strain at each."""
    count, samples, nodes = step.free.shape
    basis, arm = _basis(mesh)[:, :2], arm_of(mesh)
    constant_e, constant_k, ee, ek, kk = step.solve
    strain, curvature = np.empty((count, samples)), np.empty((count, samples))
    creeps, restrained = np.empty_like(step.free), np.empty_like(step.free)
    work, other = np.empty((samples, nodes)), np.empty((samples, nodes))
    for i in range(count):
        np.multiply(step.keep[i], creep, out=work)
        np.multiply(step.from_old[i], strained, out=other)
        work += other
        np.multiply(step.modulus[i], work, out=other)
        load = other @ basis
        load += step.load[i]
        force, moment = load[:, 0], load[:, 1]
        strain[i] = constant_e[i] + ee[i] * force + ek[i] * moment
        curvature[i] = constant_k[i] + ek[i] * force + kk[i] * moment
        strained, creep = restrained[i], creeps[i]
        np.multiply(curvature[i][:, None], arm, out=strained)
        strained += strain[i][:, None]
        strained -= step.free[i]
        np.multiply(step.from_new[i], strained, out=creep)
        creep += work
    return strain, curvature, creeps, restrained


def _weakest_link(stress: Floats, mesh: Grid, upper: bool) -> Floats:
    """(sum w s^5)^(1/5) over the tensile layers of one half: the uniform tension as dangerous."""
    sign = 1.0 if upper else -1.0
    half = sign * arm_of(mesh) < 1e-9 * mesh.thickness  # a middle layer belongs to both halves
    tension = np.maximum(stress[..., half], 0.0)
    squared = tension * tension
    result: Floats = ((squared * squared * tension) @ mesh.weight[half]) ** strength.SIZE_EXPONENT
    return result


def _divided(moisture: Floats) -> tuple[Floats | None, NDArray[np.intp]]:
    """Rows of moisture with large steps divided linearly, and where the given rows stand in it."""
    largest = np.abs(np.diff(moisture, axis=0)).max(axis=(1, 2), initial=0.0)
    parts = np.maximum(1, np.ceil(largest / LARGEST_STEP - 1e-9).astype(np.intp))
    rows = np.concatenate(([0], np.cumsum(parts)))
    if np.all(parts == 1):
        return None, rows
    start = np.repeat(np.arange(parts.size), parts)
    share = (np.arange(rows[-1]) - rows[start] + 1.0) / parts[start]
    finer = moisture[start] + share[:, None, None] * (moisture[start + 1] - moisture[start])
    return np.concatenate((moisture[:1], finer)), rows


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
    than `LARGEST_STEP` are divided with moisture linear between the given times.  What is left, of
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
    rings = np.zeros((times, samples)) if ring_curvature is None else ring_curvature
    # Water in the cavities neither moves, softens nor sets the wood.
    moisture = np.minimum(moisture, max(timber.saturation, timber.starts))
    finer, rows = _divided(moisture)
    if finer is not None:
        moisture = finer
        at = np.interp(np.arange(moisture.shape[0]), rows, np.arange(times))
        left = np.minimum(at.astype(np.intp), max(times - 2, 0))
        share = (at - left)[:, None]
        rings = (1.0 - share) * rings[left] + share * rings[np.minimum(left + 1, times - 1)]
    # The first row twice: its step has no change of moisture, so it only balances.
    moisture = np.concatenate((moisture[:1], moisture))
    rings = np.concatenate((rings[:1], rings))
    wanted = np.zeros(moisture.shape[0] - 1, dtype=bool)
    wanted[rows] = True
    creep, strained = state.creep, np.zeros((samples, nodes))
    parts: list[tuple[Floats, ...]] = []
    stride = max(1, _CHUNK // (samples * nodes))
    for begin in range(0, moisture.shape[0] - 1, stride):
        block = slice(begin, min(begin + stride, moisture.shape[0] - 1) + 1)
        step = _prepare(timber, mesh, state, hold, moisture[block], rings[block])
        strain, curvature, creeps, restrained = _advance(step, mesh, creep, strained)
        creep, strained = creeps[-1], restrained[-1]
        kept = wanted[begin : block.stop - 1]
        parts.append(
            _outcome(mesh, step.modulus, strain, curvature, creeps, restrained, kept, every_layer)
        )
    joined = [np.concatenate(column) for column in zip(*parts, strict=True)]
    curvature, strain, moment, force, top, bottom, tension_top, tension_bottom = joined[:8]
    return History(
        curvature=curvature,
        strain=strain,
        moment=moment,
        force=force,
        stress_top=top,
        stress_bottom=bottom,
        tension_top=tension_top,
        tension_bottom=tension_bottom,
        stress=joined[8] if every_layer else None,
        state=replace(state, creep=creep.copy()),
    )


def _outcome(
    mesh: Grid,
    modulus: Floats,
    strain: Floats,
    curvature: Floats,
    creeps: Floats,
    restrained: Floats,
    kept: NDArray[np.bool_],
    every_layer: bool,
) -> tuple[Floats, ...]:
    """Columns of `History` for the wanted steps of one chunk."""
    stress = modulus[kept] * (restrained[kept] - creeps[kept])
    resultants = stress @ _basis(mesh)[:, :2]
    columns = (
        curvature[kept],
        strain[kept],
        resultants[..., 1],
        resultants[..., 0],
        stress[..., 0],
        stress[..., -1],
        _weakest_link(stress, mesh, upper=True),
        _weakest_link(stress, mesh, upper=False),
    )
    return (*columns, stress) if every_layer else columns


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
