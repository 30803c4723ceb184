"""Woods: shrinkage, density, stiffness, strength and how fast moisture moves in them.

Figures are species averages of small clear pieces; the rows of data/species.csv say where each
comes from and how it is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import table
from model.codes import Note
from model.names import Names
from model.names import UnknownName as UnknownName

Floats = NDArray[np.float64]

MEGAPASCAL: Final = 1.0e6
FIBRE_SATURATION: Final = 30.0  # %; Wood Handbook FPL-GTR-190 ch. 4 (printed)
# E_L over the bending modulus of Table 5-3, which holds some shear deflection:
# Wood Handbook FPL-GTR-190 note to Table 5-1 (printed)
ALONG_OVER_BENDING: Final = 1.10
WATER_AT_12: Final = 1.12  # mass at 12 % over oven-dry mass (definition)

# Stiffness across the grain [MPa] at a density [g/cm3 at 12 %]: value, density, power.
# Guitard & El Amri 1987 (memory; the powers for softwood taken as those for hardwood).
GUITARD: Final = {
    "hardwood": {
        "E_R": (1810.0, 0.65, 1.30),
        "E_T": (1030.0, 0.65, 1.74),
        "G": (366.0, 0.65, 1.74),
    },
    "softwood": {"E_R": (1000.0, 0.45, 1.30), "E_T": (636.0, 0.45, 1.74), "G": (83.6, 0.45, 1.74)},
}
# Lateral over axial strain for stress along R, middle of Wood Handbook Table 5-2 (memory)
NU_RT: Final = {"hardwood": 0.67, "softwood": 0.43}

# Loss of stiffness across the grain per 1 % of moisture above 12 % (printed, Norway spruce)
SOFTENING: Final = 0.025  # 1/%

# Bounds for a wood given by its own figures: just outside the extremes of species.csv, whose
# total shrinkages run 2.1-12.7 % and specific gravities 0.16-1.08 (judgement).
VALID_SHRINKAGE: Final = (0.2, 20.0)  # %
VALID_SPECIFIC_GRAVITY: Final = (0.1, 1.35)
VALID_START: Final = (15.0, 40.0)  # %

# Group by specific gravity for a hardwood of unknown anatomy: upper bound, group (judgement).
GROUP_BY_GRAVITY: Final = (
    (0.50, "light diffuse-porous"),
    (0.75, "dense diffuse-porous"),
    (float("inf"), "very dense tropical"),
)


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
    other_names : tuple of str
        What else the trade calls it.
    sorption_at_60, sorption_at_90 : float
        Its equilibrium moisture over the curve of all woods up to 60 % relative humidity and from
        90 %; see `sorption.species_factor`.
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
    source_strength: str = ""
    basis_strength: str = ""
    other_names: tuple[str, ...] = ()
    sorption_at_60: float = 1.0
    sorption_at_90: float = 1.0


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


@dataclass(frozen=True, slots=True)
class Elastic:
    """Stiffness across the grain at 12 %.

    Attributes
    ----------
    E_R, E_T, G_RT : float
        Radial and tangential modulus and rolling shear modulus [Pa].
    nu_RT : float
        Tangential over radial strain for a stress along the radius; nu_RT/E_R = nu_TR/E_T.
    source : str
    """

    E_R: float
    E_T: float
    G_RT: float
    nu_RT: float
    source: str


def _number(text: str, scale: float = 1.0) -> float | None:
    return float(text) * scale if text else None


def _species(row: dict[str, str]) -> Species:
    bending = _number(row["bending_modulus_12_MPa"], MEGAPASCAL)
    return Species(
        id=row["id"],
        name=row["name"],
        scientific_name=row["scientific_name"],
        radial=float(row["radial_pct"]),
        tangential=float(row["tangential_pct"]),
        shrinkage_starts=float(row["shrinkage_starts_pct"]),
        specific_gravity=float(row["specific_gravity_12"]),
        specific_gravity_green=_number(row["specific_gravity_green"]),
        modulus=None if bending is None else ALONG_OVER_BENDING * bending,
        tension_across=_number(row["tension_across_12_MPa"], MEGAPASCAL),
        shear_along=_number(row["shear_along_12_MPa"], MEGAPASCAL),
        compression_across=_number(row["compression_across_12_MPa"], MEGAPASCAL),
        side_hardness=_number(row["side_hardness_12_N"]),
        transport_group=row["transport_group"],
        transport_factor=float(row["transport_factor"]),
        transport_slope=float(row["transport_slope_per_pct"]),
        transport_spread=float(row["transport_spread_factor"]),
        fibre_saturation=float(row["fibre_saturation_pct"]),
        is_softwood=row["transport_group"] == "softwoods",
        source=row["source_shrinkage"],
        basis=row["basis_shrinkage"],
        confidence=row["confidence_shrinkage"],
        note=row["note"],
        source_strength=row["source_strength"],
        basis_strength=row["basis_strength"],
        other_names=_others(row),
    )


def _others(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(name for name in row["aliases"].split(";") if name)


@cache
def _by_id() -> dict[str, Species]:
    return {row["id"]: _species(row) for row in table("species.csv")}


@cache
def _names() -> Names:
    named = []
    for row in table("species.csv"):
        called = (row["id"], row["name"], row["scientific_name"], *_others(row))
        named += [(row["id"], name) for name in called if name]
    return Names("species", named)


def all_species() -> tuple[Species, ...]:
    """Every listed wood, in the order of data/species.csv."""
    return tuple(_by_id().values())


def find(text: str) -> Species:
    """A wood by id, common name or scientific name, in any case, singular or plural.

    Raises
    ------
    UnknownName
        If nothing or more than one wood is called so; `candidates` are ids of near matches.

    Examples
    --------
    >>> find("American Elm").tangential
    9.5
    >>> find("Quercus rubra").id
    'northern-red-oak'
    """
    return _by_id()[_names().find(text)]


@cache
def transport_groups() -> tuple[TransportGroup, ...]:
    """Every group of woods that share their transport figures."""
    return tuple(
        TransportGroup(
            id=row["id"],
            woods=row["woods"],
            factor=float(row["transport_factor"]),
            slope=float(row["transport_slope_per_pct"]),
            spread=float(row["transport_spread_factor"]),
            softwood=row["softwood"] == "1",
            source=row["source"],
            basis=row["basis"],
        )
        for row in table("transport_groups.csv")
    )


def group_of_gravity(specific_gravity: float, is_softwood: bool = False) -> str:
    """Transport group judged by specific gravity, for a wood of which no more is known."""
    if is_softwood:
        return "softwoods"
    return next(group for bound, group in GROUP_BY_GRAVITY if specific_gravity < bound)


def _check(name: str, value: float, bounds: tuple[float, float]) -> None:
    low, high = bounds
    if not low <= value <= high:
        raise ValueError(f"{name} must lie between {low:g} and {high:g}, not {value:g}")


def from_figures(
    radial: float,
    tangential: float,
    specific_gravity: float,
    *,
    name: str = "wood of given figures",
    shrinkage_starts: float = FIBRE_SATURATION,
    transport_group: str | None = None,
    is_softwood: bool = False,
    modulus: float | None = None,
    tension_across: float | None = None,
    shear_along: float | None = None,
    compression_across: float | None = None,
) -> Species:
    """A wood that is not listed, from its own figures.

    Parameters
    ----------
    radial, tangential : float
        Total shrinkage from green to oven-dry [%].
    specific_gravity : float
        Oven-dry mass over volume at 12 %, relative to water.
    name : str
        What answers call it.
    shrinkage_starts : float
        Moisture content below which it shrinks [%]; also taken as its fibre saturation.
    transport_group : str, optional
        Id of a group of `transport_groups`; judged by specific gravity when left out.
    is_softwood : bool
        Whether it is a softwood; a chosen transport group of softwoods makes it one.
    modulus : float, optional
        Stiffness along the grain at 12 % [Pa].
    tension_across, shear_along, compression_across : float, optional
        Strength at 12 % [Pa].

    Raises
    ------
    ValueError
        If a figure lies outside what wood has.
    UnknownName
        If the transport group is unknown.
    """
    _check("radial shrinkage", radial, VALID_SHRINKAGE)
    _check("tangential shrinkage", tangential, VALID_SHRINKAGE)
    _check("specific gravity", specific_gravity, VALID_SPECIFIC_GRAVITY)
    _check("start of shrinkage", shrinkage_starts, VALID_START)
    groups = {group.id: group for group in transport_groups()}
    wanted = transport_group or group_of_gravity(specific_gravity, is_softwood)
    if wanted not in groups:
        raise UnknownName("transport group", wanted, tuple(groups))
    group = groups[wanted]
    chosen = "as given" if transport_group else "judged by specific gravity"
    return Species(
        id="own-figures",
        name=name,
        scientific_name="",
        radial=radial,
        tangential=tangential,
        shrinkage_starts=shrinkage_starts,
        specific_gravity=specific_gravity,
        specific_gravity_green=None,
        modulus=modulus,
        tension_across=tension_across,
        shear_along=shear_along,
        compression_across=compression_across,
        side_hardness=None,
        transport_group=group.id,
        transport_factor=group.factor,
        transport_slope=group.slope,
        transport_spread=group.spread,
        fibre_saturation=shrinkage_starts,
        is_softwood=group.softwood or is_softwood,
        source="figures given with the question",
        basis="given",
        confidence="medium",
        note=f"moisture moves as in the group of {group.id}, {chosen}",
        source_strength="figures given with the question",
        basis_strength="given",
    )


def notes(species: Species) -> list[Note]:
    """What an answer that leans on this wood's figures must say."""
    told = []
    if species.note:
        told.append(Note("species", name=species.name, note=species.note, source=species.source))
    if species.confidence == "low":
        told.append(Note("weak-shrinkage", name=species.name, source=species.source))
    return told


@cache
def _ratios() -> dict[str, dict[str, str]]:
    rows = table("elastic_ratios.csv")
    return {identity: row for row in rows for identity in row["species"].split(";")}


def _by_density(species: Species, quantity: str) -> float:
    kind = "softwood" if species.is_softwood else "hardwood"
    value, density, power = GUITARD[kind][quantity]
    here = WATER_AT_12 * species.specific_gravity
    return MEGAPASCAL * value * float((here / density) ** power)


def elastic(species: Species) -> Elastic:
    """Stiffness across the grain at 12 % moisture.

    Ratios to the modulus along the grain where the Wood Handbook prints them for the wood, else
    the density formulas of Guitard & El Amri.

    Examples
    --------
    >>> round(elastic(find("American elm")).E_T / 1e6)
    795
    """
    guitard = "Guitard & El Amri 1987, from density (memory)"
    nu = NU_RT["softwood" if species.is_softwood else "hardwood"]
    E_R, E_T, G_RT = (_by_density(species, one) for one in ("E_R", "E_T", "G"))
    row = _ratios().get(species.id)
    if row is None or species.modulus is None:
        return Elastic(E_R, E_T, G_RT, nu, guitard)
    source = f"{row['source']} ({row['basis']})"
    if row["GRT_EL"]:
        G_RT = float(row["GRT_EL"]) * species.modulus
    else:
        source += f"; G_RT {guitard}"
    return Elastic(
        E_R=float(row["ER_EL"]) * species.modulus,
        E_T=float(row["ET_EL"]) * species.modulus,
        G_RT=G_RT,
        nu_RT=float(row["nu_RT"]) if row["nu_RT"] else nu,
        source=source,
    )


def modulus_at(
    stiffness: Elastic,
    ring_angle: ArrayLike,
    moisture: ArrayLike = 12.0,
    fibre_saturation: float = FIBRE_SATURATION,
) -> Floats:
    """Modulus along the width of a slab [Pa], by ring angle and moisture.

    1/E = c^4/E_T + s^4/E_R + s^2 c^2 (1/G_RT - 2 nu_RT/E_R), s and c of the ring angle.

    Parameters
    ----------
    stiffness : Elastic
        At 12 % moisture.
    ring_angle : array_like
        Angle between ring tangent and width [degrees]: flat 0, quarter 90.
    moisture : array_like
        Moisture content [%]; stiffness falls by 2.5 % per 1 %, and no further above fibre
        saturation.
    fibre_saturation : float
        [%].

    References
    ----------
    Rotated compliance of an orthotropic body (derived), as in Bodig & Jayne 1982 (memory).

    Examples
    --------
    >>> elm = elastic(find("American elm"))
    >>> float(modulus_at(elm, 0.0) / elm.E_T), float(modulus_at(elm, 90.0) / elm.E_R)
    (1.0, 1.0)
    """
    angle = np.deg2rad(np.asarray(ring_angle, dtype=np.float64))
    along, over = np.cos(angle) ** 2, np.sin(angle) ** 2
    sheared = 1.0 / stiffness.G_RT - 2.0 * stiffness.nu_RT / stiffness.E_R
    compliance = along**2 / stiffness.E_T + over**2 / stiffness.E_R + along * over * sheared
    bound = np.minimum(np.asarray(moisture, dtype=np.float64), fibre_saturation)
    result: Floats = (1.0 - SOFTENING * (bound - 12.0)) / compliance
    return result


# Shrinkage along the grain, green to oven-dry, of normal wood [%]: low, middle, high
# (Wood Handbook FPL-GTR-190 ch. 4, printed; the middle is half way)
LENGTHWISE: Final = (0.10, 0.15, 0.20)
