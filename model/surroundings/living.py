"""A way of living in a place as a house is told it, and what of it contradicts itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from model.codes import Refusal
from model.surroundings import indoors, machines
from model.surroundings.indoors import OCCUPIED, Occupied, OuterWalls
from model.surroundings.machines import Dehumidifier, Panes
from model.surroundings.room import HIGHEST_HUMIDITY, LOWEST_HUMIDITY

Kind = Literal[
    "room", "heated_shop", "part_heated", "cellar", "shed", "open_shed", "outdoors_covered"
]
Method = Literal["vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
METHODS: Final[tuple[Method, ...]] = get_args(Method)
SHEDS: Final = frozenset(indoors.SHED_RISE)
# Kinds whose temperature follows from that of the heated house they belong to.
BESIDE: Final = frozenset({"part_heated", "cellar"})
# EN 15026 Annex C and ISO 13788 A.1 (memory): humidity = outdoor temperature + offset, within
# limits [% RH]; the temperature indoors rises 0.5 K per K from 20 degC at 10 to 25 at 20.
DESIGN_CURVES: Final[dict[Method, tuple[float, float, float]]] = {
    "en_15026": (40.0, 30.0, 60.0),
    "en_15026_high": (50.0, 40.0, 70.0),
    "iso_13788": (45.0, 35.0, 65.0),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A way of living as `from_climate` is told it."""

    heat_to: float | None
    cool_to: float | None
    occupied: Occupied | None
    balanced_ventilation: bool
    humidify_to: float | None
    panes: Panes | None
    dehumidify_to: float | None
    dehumidifier: Dehumidifier | None
    dehumidifier_rated: float | None
    method: Method
    kind: Kind
    heated_share: float | None
    outer_walls: OuterWalls | None
    shaded: bool
    generation: float | None
    air_changes: float | None
    volume: float | None


def check(asked: Asked) -> None:
    """Refuse a way of living that contradicts itself."""
    if asked.kind not in KINDS or asked.method not in METHODS:
        raise ValueError(f"kind is one of {', '.join(KINDS)}; method one of {', '.join(METHODS)}")
    for name, known in (
        ("occupied", OCCUPIED),
        ("panes", tuple(machines.SURFACE_FACTOR)),
        ("dehumidifier", get_args(Dehumidifier)),
        ("outer_walls", tuple(indoors.PART_HEATED)),
    ):
        if getattr(asked, name) not in (None, *known):
            raise ValueError(f"{name} is one of {', '.join(known)}")
    for name, low, high in (
        ("heat_to", -20.0, 60.0),
        ("cool_to", -20.0, 60.0),
        ("humidify_to", LOWEST_HUMIDITY, HIGHEST_HUMIDITY),
        ("dehumidify_to", LOWEST_HUMIDITY, HIGHEST_HUMIDITY),
        ("heated_share", 0.0, 1.0),
        ("dehumidifier_rated", 0.0, 1e5),
    ):
        value = getattr(asked, name)
        if value is not None and not low <= value <= high:
            raise ValueError(f"{name} must lie within {low:g} to {high:g}")
    heat_to, cool_to = asked.heat_to, asked.cool_to
    if heat_to is not None and cool_to is not None and heat_to > cool_to:
        raise Refusal("heats-above-cooling", heat_to=heat_to, cool_to=cool_to)
    least, most = asked.humidify_to, asked.dehumidify_to
    if least is not None and most is not None and least > most:
        raise Refusal("humidifies-above-drying", humidify_to=least, dehumidify_to=most)
    _check_kind(asked)
    _check_belongings(asked)
    _check_balance(asked)


def _check_kind(asked: Asked) -> None:
    """Refuse what a kind of place or a method has no use for."""
    kind, method = asked.kind, asked.method
    held = ("heat_to", "cool_to", "humidify_to", "dehumidify_to")
    idle = [name for name in held if getattr(asked, name) is not None]
    if kind == "outdoors_covered" and idle:
        raise Refusal("nothing-held-outdoors", names=", ".join(idle))
    own = kind in SHEDS or method in DESIGN_CURVES
    if own and (asked.heat_to, asked.cool_to) != (None, None):
        what = "a shed" if kind in SHEDS else f"the method {method}"
        raise Refusal("temperature-of-its-own", what=what)
    if kind in BESIDE and asked.cool_to is not None:
        raise Refusal("belongs-to", name="cool_to", to="kinds room and heated_shop")
    if kind != "room" and (method != "vapour_excess" or asked.occupied is not None):
        raise Refusal("for-rooms-only", kind=kind)
    if asked.occupied is not None and method != "vapour_excess":
        raise Refusal("occupied-of-no-use", method=method)


def _check_belongings(asked: Asked) -> None:
    """Refuse what belongs to something that was not told."""
    lived_in = asked.kind == "room" and asked.method == "vapour_excess" and asked.occupied != "no"
    with_compressor = asked.dehumidify_to is not None and asked.dehumidifier != "desiccant"
    for name, given, fits, to in (
        ("balanced_ventilation", asked.balanced_ventilation, lived_in, "a lived-in room"),
        ("panes", asked.panes, asked.humidify_to is not None, "humidify_to"),
        ("dehumidifier", asked.dehumidifier, asked.dehumidify_to is not None, "dehumidify_to"),
        (
            "dehumidifier_rated",
            asked.dehumidifier_rated,
            with_compressor,
            "dehumidify_to by a compressor",
        ),
        ("heated_share", asked.heated_share, asked.kind == "heated_shop", "the kind heated_shop"),
        ("outer_walls", asked.outer_walls, asked.kind == "part_heated", "the kind part_heated"),
        ("shaded", asked.shaded, asked.kind in SHEDS, "the kinds shed and open_shed"),
    ):
        if given is not None and given is not False and not fits:
            raise Refusal("belongs-to", name=name, to=to)


def _check_balance(asked: Asked) -> None:
    """A balance needs its figures, and they are of no use without one."""
    balance = asked.method == "moisture_balance"
    rated = asked.dehumidifier_rated is not None
    watered = asked.humidify_to is not None
    if asked.generation is not None and not balance:
        raise Refusal("balance-of-no-use")
    needed = ["generation"] if balance else []
    aired = (asked.air_changes, asked.volume)
    if balance or rated or (watered and aired != (None, None)):
        needed += ["air_changes", "volume"]
    elif aired != (None, None):
        raise Refusal("balance-of-no-use")
    least = {"generation": 0.0, "air_changes": 0.01, "volume": 1.0}
    wrong = []
    for name in needed:
        value = getattr(asked, name)
        if value is None or not least[name] <= value < np.inf:
            wrong.append(f"{name}, at least {least[name]:g}")
    if wrong:
        what = asked.method if balance else "dehumidifier_rated" if rated else "humidify_to"
        raise Refusal("balance-incomplete", what=what, needed=" and ".join(wrong))
