"""A wood made of several, for a name that the trade gives to all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from model import spread
from model.properties.wood import Member, Species
from model.properties.wood_names import Called, names_of

Floats = NDArray[np.float64]


def blend(called: Called, woods: Sequence[Species]) -> Species:
    """One wood of all that a name stands for, weighed by how likely each is meant.

    Figures are the members' means; movement is that of their mean per 1 %.  Its variation spans
    the 10th and 90th percentile of all members' own together.

    Parameters
    ----------
    called : Called
        The group, with its members and their shares.
    woods : sequence of Species
        Those members, in their order.
    """
    members = [(wood, share) for wood, (_, share) in zip(woods, called.members, strict=True)]
    shares = np.array([share for _, share in members])
    likeliest = members[0][0]

    def mean(name: str) -> float:
        return float(shares @ [float(getattr(wood, name)) for wood, _ in members])

    def mean_of_known(name: str) -> float | None:
        figures = [(getattr(wood, name), share) for wood, share in members]
        if figures[0][0] is None:
            return None
        known = [(float(value), share) for value, share in figures if value is not None]
        return sum(value * share for value, share in known) / sum(share for _, share in known)

    start = mean("shrinkage_starts")
    slope = {
        name: np.array([getattr(wood, name) / wood.shrinkage_starts for wood, _ in members])
        for name in ("radial", "tangential")
    }
    variation = {
        name: _mixed(
            slope[name], shares, [getattr(wood, f"{name}_variation") for wood, _ in members]
        )
        for name in slope
    }
    apart = np.array([np.log(wood.transport_factor) for wood, _ in members])
    own = np.array([np.log(wood.transport_spread) / spread.TO_DECILE for wood, _ in members])
    factor = float(shares @ apart)
    times = float(np.sqrt(shares @ (own**2 + (apart - factor) ** 2)))
    weakest = min((wood for wood, _ in members), key=lambda wood: _KNOWN.index(wood.confidence))
    return replace(
        likeliest,
        id=called.id,
        name=called.name,
        scientific_name="; ".join(dict.fromkeys(wood.scientific_name for wood, _ in members)),
        radial=start * float(shares @ slope["radial"]),
        tangential=start * float(shares @ slope["tangential"]),
        shrinkage_starts=start,
        radial_variation=variation["radial"],
        tangential_variation=variation["tangential"],
        specific_gravity=mean("specific_gravity"),
        specific_gravity_green=mean_of_known("specific_gravity_green"),
        modulus=mean_of_known("modulus"),
        tension_across=mean_of_known("tension_across"),
        shear_along=mean_of_known("shear_along"),
        compression_across=mean_of_known("compression_across"),
        side_hardness=mean_of_known("side_hardness"),
        transport_factor=float(np.exp(factor)),
        transport_slope=mean("transport_slope"),
        transport_spread=float(np.exp(times * spread.TO_DECILE)),
        fibre_saturation=mean("fibre_saturation"),
        is_softwood=mean("is_softwood") >= 0.5,
        # To a hundredth: solvers keep a table for every pair of factors.
        sorption_at_60=round(mean("sorption_at_60"), 2),
        sorption_at_90=round(mean("sorption_at_90"), 2),
        source="; ".join(dict.fromkeys(wood.source for wood, _ in members)),
        basis="; ".join(dict.fromkeys(wood.basis for wood, _ in members)),
        confidence=weakest.confidence,
        note="",
        source_start="; ".join(dict.fromkeys(wood.source_start for wood, _ in members)),
        source_movement="",
        basis_movement="",
        other_names=names_of(called),
        members=tuple(Member(wood.id, wood.name, share) for wood, share in members),
    )


_KNOWN: Final = ("low", "medium", "high")
_QUANTILES: Final = 101  # of each member's own variation; makes the ends good to 0.3 %


def _mixed(
    values: Floats, shares: Floats, variations: list[tuple[float, float]]
) -> tuple[float, float]:
    """Coefficients of variation below and above the mean of members that vary themselves."""
    deviates = ndtri((np.arange(_QUANTILES) + 0.5) / _QUANTILES)
    below, above = np.array(variations).T
    sides = np.where(deviates > 0.0, above[:, None], below[:, None])
    every = (values[:, None] * (1.0 + deviates * sides)).ravel()
    weights = np.repeat(shares, _QUANTILES)
    order = np.argsort(every)
    # Each stands in the middle of its own share.
    reached = (np.cumsum(weights[order]) - 0.5 * weights[order]) / weights.sum()
    low, high = np.interp([0.1, 0.9], reached, every[order])
    middle = float(shares @ values)
    return (
        float(1.0 - low / middle) / spread.TO_DECILE,
        float(high / middle - 1.0) / spread.TO_DECILE,
    )
