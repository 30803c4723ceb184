"""The section of a slab for every sample: how its rings lie, how stiff it is, how it swells."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.behaviour import rings, section, shrinkage
from model.behaviour.rings import Pith, Rings
from model.behaviour.section import Timber
from model.behaviour.slab import Slab
from model.properties.species import Species, elastic
from model.spread import Samples

Floats = NDArray[np.float64]


LEAST_THICKNESS: Final = 1.0e-3  # m left after planing; thinner is veneer (judgement)


def pith_of(slab: Slab, samples: Samples) -> Pith:
    """Where the pith lies in every sample: as given, else drawn."""
    return rings.pith_of(slab, samples.pith, samples.ring)


def rings_of(slab: Slab, samples: Samples) -> Rings:
    """How the rings lie in every sample: as given, else drawn."""
    return rings.rings(slab, pith_of(slab, samples), samples.bark_up)


def _felt_share(slab: Slab, rings: Rings) -> Floats:
    """Share of the tangential strain in what bends the width."""
    result: Floats = rings.bend_tangential / (slab.width**2 / 8.0)
    return result


def _modulus(slab: Slab, samples: Samples) -> Floats:
    """Modulus along the width at 12 % [Pa], (samples,): averaged over the width as the cup is."""
    figures = elastic(slab.species)
    pith = pith_of(slab, samples)
    across = (np.arange(64) + 0.5) / 64.0 * slab.width - 0.5 * slab.width
    off = np.abs(across - pith.across[:, None])
    angle = np.rad2deg(np.arctan2(off, pith.below[:, None]))
    weight = 0.5 * slab.width - np.abs(across)
    along = section.modulus_at_angle(figures.E_R, figures.E_T, figures.G_RT, figures.nu_RT, angle)
    result: Floats = samples.modulus * (along @ (weight / weight.sum()))
    return result


def slopes(species: Species, samples: Samples, reference: Floats) -> tuple[Floats, Floats]:
    """Tangential and radial strain per % M [1/%] relative to the size at a mean moisture."""
    start = species.shrinkage_starts
    over, along = (
        total / (100.0 * start) / shrinkage.shrunk(total, start, reference)
        for total in species.shrinkages(samples)
    )
    return along, over


def timber_of(slab: Slab, samples: Samples, reference: Floats) -> Timber:
    """The section of a slab for every sample.

    Parameters
    ----------
    slab : Slab
    samples : Samples
    reference : ndarray (samples,)
        Mean moisture at which the slab has the width given [%].
    """
    along, over = slopes(slab.species, samples, reference)
    share = _felt_share(slab, rings_of(slab, samples))
    return Timber(
        swelling=over + (along - over) * share,
        starts=slab.species.shrinkage_starts,
        saturation=slab.species.fibre_saturation,
        modulus=_modulus(slab, samples),
        creep=samples.mechano * _creeps(share),
        limit=np.where(samples.unlimited, section.PLAIN, samples.creep_limit),
    )


def stressed_most(slab: Slab, samples: Samples, timber: Timber, reference: Floats) -> Floats:
    """Skin stress where the rings run along the width, over that of the width's mean section [-].

    A face checks there first.  Every stretch of a free plate balances by itself, so its stress
    goes with its own swelling x modulus, and the less the more it creeps (derived; with the root of
    the creep, within 2 % of a section of its own, found for oaks and maple from green and from
    12 %).

    Parameters
    ----------
    slab, samples, reference
        As in `timber_of`.
    timber : Timber
        What that made.
    """
    figures = elastic(slab.species)
    pith = pith_of(slab, samples)
    off = np.maximum(np.abs(pith.across) - 0.5 * slab.width, 0.0)
    angle = np.rad2deg(np.arctan2(off, pith.below))
    along, over = slopes(slab.species, samples, reference)
    share = np.cos(np.deg2rad(angle)) ** 2
    stiff = samples.modulus * section.modulus_at_angle(
        figures.E_R, figures.E_T, figures.G_RT, figures.nu_RT, angle
    )
    moves = (over + (along - over) * share) * stiff / (timber.swelling * timber.modulus)
    mean_share = _felt_share(slab, rings_of(slab, samples))
    result: Floats = moves * np.sqrt(_creeps(mean_share) / _creeps(share))
    return result


def _creeps(share: Floats) -> Floats:
    """Creep over that along the rings [-], by the share of the tangential strain."""
    return 1.0 + (section.CREEP_RADIAL - 1.0) * (1.0 - share)


def planed(slab: Slab, top: float, bottom: float) -> Slab:
    """The slab left when so much [m] is planed off its faces; the pith stays where it was.

    Raises
    ------
    ValueError
        If too little would be left.
    """
    thickness = slab.thickness - top - bottom
    if thickness < LEAST_THICKNESS:
        raise ValueError(
            f"planing {top:g} m and {bottom:g} m off leaves {thickness:g} m of "
            f"{slab.thickness:g} m; at least {LEAST_THICKNESS:g} m must be left"
        )
    if slab.pith_below is None:
        return replace(slab, thickness=thickness)
    below_top = slab.thickness + slab.pith_below if slab.bark_side == "top" else -slab.pith_below
    now_below_top = below_top - top
    # Whichever half the pith is in now, the other face is the one nearer the bark.
    if now_below_top > 0.5 * thickness:
        return replace(
            slab, thickness=thickness, bark_side="top", pith_below=now_below_top - thickness
        )
    return replace(slab, thickness=thickness, bark_side="bottom", pith_below=-now_below_top)
