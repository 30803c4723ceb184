"""What is known of a wood: the records that `properties.species` finds and fills."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import spread
from model.properties import sorption
from model.spread import Samples

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Member:
    """One of the woods that a name stands for: its id, name and how likely it is meant."""

    id: str
    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Unmeasured:
    """A wood known by name alone: no figure of its shrinkage was found."""

    id: str
    name: str
    scientific_name: str
    specific_gravity: float | None
    note: str
    other_names: tuple[str, ...]


class NoShrinkage(LookupError):  # noqa: N818 - it names what is missing, as UnknownName does
    """A wood that is known, but not how much it shrinks.

    Attributes
    ----------
    text : str
        What was given.
    wood : Unmeasured
        The wood, with what is known of it.
    """

    def __init__(self, text: str, wood: Unmeasured) -> None:
        self.text = text
        self.wood = wood
        super().__init__(f"{wood.name}: {wood.note}")


@dataclass(frozen=True, slots=True)
class SorptionGroup:
    """Woods that hold alike much water; a row of data/sorption_groups.csv."""

    id: str
    woods: str
    at_60: float
    at_90: float
    spread: float
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class Species:
    """A wood; a row of data/species.csv or one given by its own figures.

    Attributes
    ----------
    id, name, scientific_name : str
    radial, tangential : float
        Total shrinkage from green to oven-dry [% of the green dimension].
    shrinkage_starts : float
        Moisture content below which it shrinks [%].
    specific_gravity, specific_gravity_green : float, float or None
        Oven-dry mass over volume at 12 % and over green volume, relative to water.
    modulus : float or None
        Stiffness along the grain at 12 % [Pa], 1.10 times the bending modulus.
    tension_across, shear_along, compression_across : float or None
        Strength at 12 % [Pa].
    side_hardness : float or None
        Ball hardness of the side at 12 % [N].
    transport_group : str
        Group of woods that share the next three.
    transport_factor, transport_slope, transport_spread : float
        Factor on the diffusion coefficient, its growth per % of moisture, and the factor by which
        it may be off either way.
    fibre_saturation : float
        Moisture content above which water is free [%].
    is_softwood : bool
    source, basis, confidence, note : str
        Of the shrinkage figures.
    source_strength, basis_strength : str
        Of specific gravity, stiffness and strength.
    sorption_at_60, sorption_at_90 : float
        Its equilibrium moisture over the curve of all woods up to 60 % relative humidity and from
        90 %; see `sorption.species_factor`.
    sorption_group : str
        Id of the group of woods that share them.
    radial_variation, tangential_variation : tuple of float
        Coefficient of variation of the shrinkage below and above its figure.
    source_start : str
        What the start of shrinkage rests on.
    other_names : tuple of str
        What else the trade calls it.
    source_movement, basis_movement : str
        Of a printed movement per 1 %; empty where it follows from the total shrinkage.
    members : tuple of Member
        Woods that it is made of, when a name stands for several; the likeliest first.
    stands_for : str
        The wood asked for, when that has no figures of its own and this relative stands for it.
    figured : str
        Words of the name asked that tell its figure, colour or age: no figures are known of that.
    sawn : str
        Words of the name asked that tell how it is sawn, which the slab's grain tells.
    """

    id: str
    name: str
    scientific_name: str
    radial: float
    tangential: float
    shrinkage_starts: float
    specific_gravity: float
    specific_gravity_green: float | None
    modulus: float | None
    tension_across: float | None
    shear_along: float | None
    compression_across: float | None
    side_hardness: float | None
    transport_group: str
    transport_factor: float
    transport_slope: float
    transport_spread: float
    fibre_saturation: float
    is_softwood: bool
    source: str
    basis: str
    confidence: str
    note: str
    source_strength: str
    basis_strength: str
    sorption_at_60: float
    sorption_at_90: float
    sorption_group: str
    radial_variation: tuple[float, float]
    tangential_variation: tuple[float, float]
    source_start: str
    other_names: tuple[str, ...] = ()
    source_movement: str = ""
    basis_movement: str = ""
    members: tuple[Member, ...] = ()
    stands_for: str = ""
    figured: str = ""
    sawn: str = ""

    @property
    def is_of_handbook(self) -> bool:
        """Whether it moves along the Wood Handbook's straight line."""
        return "Wood Handbook" in self.source_start and not self.members

    def shrinkages(self, samples: Samples) -> tuple[Floats, Floats]:
        """Total shrinkage of every sample [%], radial and tangential, shape (samples,)."""
        return (
            self.radial * spread.own_variation(samples.radial, self.radial_variation),
            self.tangential * spread.own_variation(samples.tangential, self.tangential_variation),
        )

    def humidity_of(self, temperature: ArrayLike, moisture: ArrayLike) -> Floats:
        """Relative humidity [%] that holds it at a moisture [%], on the mean of both branches."""
        return sorption.humidity_of_moisture(
            temperature, moisture, at_60=self.sorption_at_60, at_90=self.sorption_at_90
        )

    def equilibrium(self, temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
        """Its mean equilibrium moisture [%] in air [degC, %]: the common curve times its factor."""
        factor = sorption.species_factor(
            relative_humidity, self.sorption_at_60, self.sorption_at_90
        )
        return factor * sorption.equilibrium_moisture(temperature, relative_humidity)


@dataclass(frozen=True, slots=True)
class TransportGroup:
    """Woods through which moisture moves alike; a row of data/transport_groups.csv."""

    id: str
    woods: str
    factor: float
    slope: float
    spread: float
    softwood: bool
    source: str
    basis: str
