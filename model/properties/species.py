"""Woods: shrinkage, density, stiffness, strength and how fast moisture moves in them.

Figures are species averages of small clear pieces; the rows of data/species.csv say where each
comes from and how it is known.  A name that several woods bear gives one wood made of them all
(`properties.wood_groups`).
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.basis import table
from model.codes import Note
from model.names import UnknownName as UnknownName
from model.properties import wood_groups, wood_names
from model.properties.wood import Member as Member
from model.properties.wood import NoShrinkage as NoShrinkage
from model.properties.wood import SorptionGroup as SorptionGroup
from model.properties.wood import Species as Species
from model.properties.wood import TransportGroup as TransportGroup
from model.properties.wood import Unmeasured as Unmeasured

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


# Above the Wood Handbook's straight line to 30 %: its 90th percentile at 1.25, for relatives in
# Europe move 1.04 to 1.5 times such a line (printed against printed, judgement)
STRAIGHT_LINE_CV: Final = 0.195
# Moisture at which a printed movement per 1 % is taken to be measured (DIN 68100 as of seasoned
# wood: judgement; between 8 and 16 % it makes 1 %)
MOVEMENT_AT: Final = 12.0  # %


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


@cache
def sorption_groups() -> dict[str, SorptionGroup]:
    """Every group of woods that hold alike much water, by its id."""
    return {
        row["id"]: SorptionGroup(
            id=row["id"],
            woods=row["woods"],
            at_60=float(row["at_60"]),
            at_90=float(row["at_90"]),
            spread=float(row["spread"]),
            source=row["source"],
            basis=row["basis"],
        )
        for row in table("sorption_groups.csv")
    }


def start_of(total: float, movement: float, at: float = MOVEMENT_AT) -> float:
    """Start of shrinkage [%] from which a straight line to a total moves as printed.

    Parameters
    ----------
    total : float
        Shrinkage from green to oven-dry [% of the green size].
    movement : float
        Per 1 % of moisture [% of the size at the moisture `at`].
    at : float
        [%].

    Examples
    --------
    >>> round(start_of(7.8, 0.39), 1)
    20.7
    """
    # Solved from 100 movement = total/start over 1 - total/100 (1 - at/start) (derived).
    return total * (1.0 - 0.01 * at * movement) / (movement * (1.0 - 0.01 * total))


def _total(start: float, movement: float) -> float:
    """Shrinkage from green [%] that moves so much per 1 % from a start on; inverse of above."""
    return movement * start / (1.0 + 0.01 * movement * (start - MOVEMENT_AT))


def _shrinkage(row: dict[str, str]) -> tuple[float, float, float]:
    """Radial and tangential total and start [%].

    A printed movement per 1 % decides: the start follows from it and the tangential total, the
    radial total from it and the start.
    """
    radial, tangential = float(row["radial_pct"]), float(row["tangential_pct"])
    along = _number(row["movement_tangential_pct_per_pct"])
    over = _number(row["movement_radial_pct_per_pct"])
    if along is None:
        return radial, tangential, float(row["shrinkage_starts_pct"])
    start = start_of(tangential, along)
    return radial if over is None else _total(start, over), tangential, start


def _species(row: dict[str, str]) -> Species:
    bending = _number(row["bending_modulus_12_MPa"], MEGAPASCAL)
    radial, tangential, start = _shrinkage(row)
    group = sorption_groups()[row["sorption_group"]]
    variation = (spread.SHRINKAGE_CV, float(row["shrinkage_cv_above"] or spread.SHRINKAGE_CV))
    return Species(
        id=row["id"],
        name=row["name"],
        scientific_name=row["scientific_name"],
        radial=radial,
        tangential=tangential,
        shrinkage_starts=start,
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
        # Wood does not shrink above its fibre saturation.
        fibre_saturation=max(start, float(row["fibre_saturation_pct"])),
        is_softwood=row["transport_group"] == "softwoods",
        source=row["source_shrinkage"],
        basis=row["basis_shrinkage"],
        confidence=row["confidence_shrinkage"],
        note=row["note"],
        source_strength=row["source_strength"],
        basis_strength=row["basis_strength"],
        other_names=_others(row),
        sorption_at_60=group.at_60,
        sorption_at_90=group.at_90,
        sorption_group=group.id,
        radial_variation=variation,
        tangential_variation=variation,
        source_start=row["source_start"],
        source_movement=row["source_movement"],
        basis_movement=row["basis_movement"],
    )


def _others(row: dict[str, str]) -> tuple[str, ...]:
    own = {row["name"].casefold(), row["id"]}
    names = wood_names.other_names().get(row["id"], ())
    return tuple(name for name in names if name.casefold() not in own)


@cache
def _by_id() -> dict[str, Species]:
    return {row["id"]: _species(row) for row in table("species.csv") if row["tangential_pct"]}


@cache
def _unmeasured() -> dict[str, Unmeasured]:
    return {
        row["id"]: Unmeasured(
            id=row["id"],
            name=row["name"],
            scientific_name=row["scientific_name"],
            specific_gravity=_number(row["specific_gravity_12"]),
            note=row["note"],
            other_names=_others(row),
        )
        for row in table("species.csv")
        if not row["tangential_pct"]
    }


def all_species() -> tuple[Species, ...]:
    """Every listed wood whose shrinkage is known, in the order of data/species.csv."""
    return tuple(_by_id().values())


def unmeasured() -> tuple[Unmeasured, ...]:
    """Every listed wood whose shrinkage is not known."""
    return tuple(_unmeasured().values())


def all_groups() -> tuple[Species, ...]:
    """Every name that the trade has for several woods, as one wood of its members."""
    return tuple(group_of(called) for called in wood_names.groups())


def by_id(identity: str) -> Species:
    """A listed wood by its id."""
    return _by_id()[identity]


def find(text: str) -> Species:
    """A wood by any name in any of ten languages, whatever its case, accents and plural.

    Raises
    ------
    UnknownName
        If nothing is called so; `candidates` are ids of near names.
    NoShrinkage
        If the wood is known but not its shrinkage.

    Examples
    --------
    >>> find("American Elm").tangential
    9.5
    >>> find("Quercus rubra").id
    'northern-red-oak'
    >>> [member.name for member in find("Eiche").members]
    ['pedunculate oak (English oak)', 'sessile oak']
    """
    called = wood_names.find(text)
    first = called.members[0][0]
    if first in _unmeasured():
        raise NoShrinkage(text, _unmeasured()[first])
    wood = group_of(called) if len(called.members) > 1 else _by_id()[first]
    if not (called.stands_for or called.figured or called.sawn):
        return wood
    return replace(wood, stands_for=called.stands_for, figured=called.figured, sawn=called.sawn)


def prepare() -> None:
    """Build the indexes of names, which the first name and the first unknown one would."""
    all_groups()
    with suppress(UnknownName):
        find("nothing like it")


@cache
def group_of(called: wood_names.Called) -> Species:
    """One wood of all that a name stands for; see `wood_groups.blend`."""
    return wood_groups.blend(called, tuple(_by_id()[one] for one, _ in called.members))


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


def group_of_gravity(specific_gravity: float, is_softwood: bool) -> str:
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
    holds = sorption_groups()[_holds_like(group, is_softwood)]
    straight = shrinkage_starts == FIBRE_SATURATION
    variation = (spread.SHRINKAGE_CV, STRAIGHT_LINE_CV if straight else spread.SHRINKAGE_CV)
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
        sorption_at_60=holds.at_60,
        sorption_at_90=holds.at_90,
        sorption_group=holds.id,
        source_start="figures given with the question",
        radial_variation=variation,
        tangential_variation=variation,
    )


def _holds_like(group: TransportGroup, is_softwood: bool) -> str:
    """Sorption group of a wood of which no more than its density is known (judgement)."""
    if group.softwood or is_softwood:
        return "softwood"
    return "other dense tropical" if group.id == "very dense tropical" else "temperate hardwood"


def narrower(species: Species) -> float:
    """Share of the band of movement that goes when one of a group's members is named."""
    own = sum(
        member.share * sum(by_id(member.id).tangential_variation) for member in species.members
    )
    return max(0.0, 1.0 - own / sum(species.tangential_variation))


def meant(species: Species) -> list[Note]:
    """What a name was taken for, where it is not that of one wood."""
    told = []
    if species.members:
        woods = tuple((member.name, member.share) for member in species.members)
        told.append(Note("wood-group", name=species.name, woods=woods, narrower=narrower(species)))
    if species.stands_for:
        told.append(Note("stand-in", asked=species.stands_for, name=species.name))
    if species.figured:
        told.append(Note("figured-wood", words=species.figured, name=species.name))
    if species.sawn:
        told.append(Note("sawn-in-name", words=species.sawn))
    return told


def sorption_notes(species: Species) -> list[Note]:
    """What an answer must say that leans on how much water this wood holds."""
    group = sorption_groups()[species.sorption_group]
    return [
        *meant(species),
        Note(
            "sorption-of-wood",
            name=species.name,
            at_60=species.sorption_at_60,
            at_90=species.sorption_at_90,
            spread=group.spread,
            woods=group.woods,
            source=f"{group.source} ({group.basis})",
        ),
    ]


def notes(species: Species) -> list[Note]:
    """What an answer that leans on this wood's figures must say."""
    told = meant(species)
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


# Shrinkage along the grain, green to oven-dry, of normal wood [%]: low, middle, high
# (Wood Handbook FPL-GTR-190 ch. 4, printed; the middle is half way)
LENGTHWISE: Final = (0.10, 0.15, 0.20)
