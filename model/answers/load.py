"""What a slab bears that stands on a base: somebody on an edge or corner, and its own weight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from model.behaviour import loads
from model.behaviour.loads import Sat
from model.behaviour.slab import Slab
from model.codes import Note
from model.properties import strength
from model.properties.species import elastic

Verdict = Literal["bears-it", "not-at-a-corner", "does-not"]


@dataclass(frozen=True, slots=True)
class Loaded:
    """A slab that overhangs its base across the grain, and may span along it.

    Attributes
    ----------
    load : float
        [N].
    edge, corner : Sat
        On the middle of an edge, and on a corner.
    sag_at_once, sag_steady, sag_seasons : float
        Of the overhanging edge by its own weight: on the first day, in steady air and with seasons,
        creep counted [m].
    sag_along : float or None
        Between the supports along the grain by its own weight, creep counted [m].
    tips : bool or None
        Whether the load tips the top off its base; None where weight or base is not known.
    verdict : str
        ``bears-it``, ``not-at-a-corner`` or ``does-not``.
    limit_of_sag : float
        What may be seen under the load [m].
    notes : tuple of Note
    formulas : tuple of str
    """

    load: float
    edge: Sat
    corner: Sat
    sag_at_once: float
    sag_steady: float
    sag_seasons: float
    sag_along: float | None
    tips: bool | None
    verdict: Verdict
    limit_of_sag: float
    notes: tuple[Note, ...]
    formulas: tuple[str, ...]


def bear(
    slab: Slab,
    moisture: float,
    overhang: float,
    *,
    load: float = loads.PERSON,
    groove: float = 0.0,
    groove_from_support: float = 0.0,
    span: float | None = None,
    base: float | None = None,
    checked: bool = False,
) -> Loaded:
    """What a slab bears.

    Parameters
    ----------
    slab : Slab
    moisture : float
        Its mean [%], for its weight.
    overhang : float
        Beyond its support across the grain [m].
    load : float
        On the edge [N].
    groove : float
        Depth of grooves across the underside, loose bars in them [m].
    groove_from_support : float
        How far along the grain the nearest groove lies from where the load comes down [m].
    span : float, optional
        Between supports along the grain [m].
    base : float, optional
        Width of the base across the grain [m], for tipping.
    checked : bool
        Whether a check or split runs along the overhang.
    """
    wood = slab.species
    # A groove counts within lambda times the overhang of it.
    near = groove_from_support <= loads.stiffer_along(wood) * overhang
    lost = groove if near else 0.0
    edge, corner = (
        loads.sat_on(slab, overhang, load, lost, corner=corner) for corner in (False, True)
    )
    modulus = elastic(wood).E_T
    density = wood.specific_gravity * 1000.0 * (1.0 + moisture / 100.0)
    at_once, steady, seasons = (
        loads.sag_of_weight(overhang, slab.thickness, modulus, density, creep)
        for creep in (0.0, loads.CREEP_STEADY, loads.CREEP_SEASONS)
    )
    along = None
    if span is not None:
        along = loads.sag_along(
            span, slab.thickness - groove, strength.modulus_along(wood), density
        )
    weight = slab.weight(moisture)
    tips = None
    if base is not None and weight is not None:
        tips = loads.tips(overhang, load, weight, base)
    verdict: Verdict = "bears-it" if corner.index <= 1.0 else "not-at-a-corner"
    if checked or edge.index > 1.0:
        verdict = "does-not"
    notes = [Note("load-across"), Note("clear-wood")]
    if checked:
        notes.append(Note("checked-overhang"))
    if max(edge.sag, corner.sag) > loads.MOST_SAG:
        notes.append(Note("sags-under-load", most=loads.MOST_SAG))
    if "tension_across" in strength.of(wood).estimated:
        notes.append(Note("strength-estimated"))
    return Loaded(
        load=load,
        edge=edge,
        corner=corner,
        sag_at_once=at_once,
        sag_steady=steady,
        sag_seasons=seasons,
        sag_along=along,
        tips=tips,
        verdict=verdict,
        limit_of_sag=loads.MOST_SAG,
        notes=tuple(notes),
        formulas=("load-across",),
    )
