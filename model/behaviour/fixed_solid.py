"""What fixings would do if they were solid at both ends of a bar across the grain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour import bars, restraint
from model.behaviour.bars import Bar
from model.behaviour.fixings import Fixings
from model.behaviour.slab import Slab
from model.behaviour.timber import timber_of
from model.properties import species, strength
from model.properties.fasteners import PLATE, ROOT, Fastener, oven_dry_gravity
from model.spread import Samples

Floats = NDArray[np.float64]
First = Literal["wood-splits", "wood-crushes", "fixings-sideways", "fixings-pulled", "keys-shear"]


# in diameters, NDS 12.1.4-12.1.6 (memory)
SOLID_STRIP: Final = 0.30  # m of slab along the grain held by one bar; bars 300-400 mm (practice)


@dataclass(frozen=True, slots=True)
class Solid:
    """What fixings solid at both ends of a bar would do, arrays over the samples.

    Attributes
    ----------
    between : float
        Distance between the outermost fixings [m].
    strain : ndarray
        Larger movement per length they would prevent [-]; negative: the wood wants to shrink.
    force_elastic, force : ndarray
        Along the bar, without and with set [N].
    stress : ndarray
        Of that movement, set included [Pa]: the largest tension, or the mean compression.
    wood_index : ndarray
        Tension at the driest over strength across the grain, size and duration counted; 0 where it
        only swells.
    crush_index : ndarray
        Compression at the dampest over strength across the grain; 0 where it only shrinks.
    fixing_index : ndarray
        Force per fixing over its sideways yield.
    pull_index : ndarray
        Pull on the end fixings over their mean withdrawal in tests.
    key_index : ndarray or None
        Demand over capacity of keys in the same length, where there are any.
    first : str
        Which part gives way first in the central case, as a code.
    yields : float
        Sideways force at which one fixing yields [N]: the force along the bar stops growing there.
    yield_mode : str
        How a fixing yields sideways, as a code.
    """

    between: float
    strain: Floats
    force_elastic: Floats
    force: Floats
    stress: Floats
    wood_index: Floats
    crush_index: Floats
    fixing_index: Floats
    pull_index: Floats
    key_index: Floats | None
    first: First
    yields: float
    yield_mode: str


def solid(
    slab: Slab,
    fixings: Fixings,
    fastener: Fastener,
    now: float,
    driest: ArrayLike,
    dampest: ArrayLike,
    samples: Samples,
    *,
    bar: Bar | None = None,
    strip: float = SOLID_STRIP,
    key_capacity: float | None = None,
) -> Solid:
    """What the same fixings would do if all were fixed solid to a bar across the grain.

    Parameters
    ----------
    slab, fixings, fastener, now, driest, dampest, samples
        As in `plan`, and its answer.
    bar : Bar, optional
        A flat steel bar 40 x 5 mm when left out.
    strip : float
        Length of slab along the grain that one bar holds [m].
    key_capacity : float, optional
        Clear capacity of the keys in that length [N], if a check runs between the fixings.

    Notes
    -----
    Two-layer bar with the wood's modulus relaxed by set; no slip in the fixings, which makes the
    force an upper bound until they yield.  Low confidence: forces x/÷ 2.
    """
    held = bars.flat(0.040, 0.005) if bar is None else bar
    fastener = replace(fastener, thread=fixings.points[0].anchor.thread)  # what holds wood
    across = sorted(point.across for point in fixings.points)
    between = across[-1] - across[0]
    timber = timber_of(slab, samples, np.full(samples.count, now))
    wood = bars.compose([(strip, slab.thickness, 0.0)])

    def kept(strain: Floats, later: ArrayLike) -> _Kept:
        change = np.broadcast_to(np.asarray(later, dtype=np.float64) - now, (samples.count,))
        soft = restraint.relaxed(timber.modulus, timber.creep, change)
        pair = _bonded(strain, soft, wood, held)
        bend = soft * np.abs(pair.curvature) * 0.5 * slab.thickness
        elastic = _bonded(strain, timber.modulus, wood, held).force
        return _Kept(elastic, pair.force, pair.force / wood.area, bend, np.abs(pair.curvature))

    # It both dries and dampens through the years: the larger movement makes the force, but drying
    # alone splits, however much more it swells.
    drying, wetting = kept(fixings.strain_in, driest), kept(fixings.strain_out, dampest)
    dry = bool(fixings.strain_in[0] >= fixings.strain_out[0])
    most = drying if dry else wetting
    clear = strength.of(slab.species)
    volume = strip * slab.thickness * max(between, 1e-3)
    worst = _weakest(drying.mean, drying.bend)
    index = strength.through_index(worst, clear.tension_across, volume)
    crush = wetting.mean / clear.compression_across
    yields, mode = sideways(fastener, slab.species, held)
    fixing = most.force / (max(len(across) // 2, 1) * yields)
    lever = across[1] - across[0] if len(across) > 1 else between
    stiff = timber.modulus * wood.second_moment
    # The bar's moment is borne over the length that lifts off beside a fixing: `restraint.contact`.
    series = stiff * held.stiffness / (stiff + held.stiffness)
    lifts = np.cbrt(6.0 * series / restraint.axial_slip(fastener.diameter, fastener.thread))
    pull = most.curvature * held.stiffness / np.clip(lifts, 1e-3, max(lever, 1e-3))
    tested = fixings.withdrawal.test_mean
    drawn = np.zeros(samples.count) if tested is None else pull / tested[0]
    keys = None if key_capacity is None else drying.force / key_capacity
    ranked: dict[First, float] = {
        "wood-splits": float(index[0]),
        "wood-crushes": float(crush[0]),
        "fixings-sideways": float(fixing[0]),
        "fixings-pulled": float(drawn[0]),
        "keys-shear": 0.0 if keys is None else float(keys[0]),
    }
    return Solid(
        between=between,
        strain=-fixings.strain_in if dry else fixings.strain_out,
        force_elastic=most.elastic,
        force=most.force,
        stress=most.mean + most.bend if dry else most.mean,
        wood_index=index,
        crush_index=crush,
        fixing_index=fixing,
        pull_index=drawn,
        key_index=keys,
        first=max(ranked, key=lambda name: ranked[name]),
        yields=yields,
        yield_mode=mode,
    )


@dataclass(frozen=True, slots=True)
class _Kept:
    """A strip kept from one movement.

    Force without set and with it [N], mean and bending stress [Pa], how much the pair bends [1/m].
    """

    elastic: Floats
    force: Floats
    mean: Floats
    bend: Floats
    curvature: Floats


def _bonded(strain: Floats, modulus: Floats, wood: bars.Section, bar: Bar) -> restraint.Bonded:
    """A strip of slab fixed solid to a bar under it."""
    return restraint.bonded(
        strain,
        modulus * wood.second_moment,
        modulus * wood.area,
        bar.stiffness,
        bar.axial_stiffness,
        0.5 * wood.height + bar.section.centroid,
    )


def sideways(fastener: Fastener, wood: species.Species, bar: Bar) -> tuple[float, str]:
    """Mean sideways yield of a fixing through a bar [N] and how it yields."""
    root = fastener.diameter * (1.0 if fastener.kind == "nail" else ROOT)
    plate = bar.section.height if bar.kind == "flat" else PLATE
    return restraint.lateral_yield(
        fastener.diameter,
        root,
        fastener.thread,
        oven_dry_gravity(wood.specific_gravity),
        max(plate, 1e-3),
    )


def _weakest(mean: Floats, bend: Floats) -> Floats:
    """Weakest-link tension (INT s^5)^(1/5) of a stress mean + bend across the thickness."""
    arm = np.linspace(-1.0, 1.0, 41)
    stress = np.maximum(mean[:, None] + bend[:, None] * arm, 0.0)
    result: Floats = np.mean(stress**5, axis=1) ** 0.2
    return result
