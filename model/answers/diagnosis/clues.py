"""What a strip ripped off and a key that sheared tell by themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from model import spread
from model.answers.diagnosis.history import Checked, Looks, Strip, Torn
from model.behaviour import keys
from model.behaviour.keys import Key
from model.properties.species import LENGTHWISE, Species
from model.spread import Figure

SHEAR_CV: Final = 0.14  # of shear strength along the grain, FPL-GTR-190 Table 5-6 (memory)
GROWTH_STRAIN: Final = 1.0e-3  # at the bark of a standing hardwood, order of size (memory, low)


@dataclass(frozen=True, slots=True)
class Lock:
    """What a strip ripped off tells.

    Attributes
    ----------
    curvature : float
        [1/m].
    strain : float
        Difference over its breadth [-].
    stress : float or None
        Difference [Pa]; None where the wood's stiffness is not known.
    moisture_difference : float
        Over its breadth, that would bow it as much without any stress [%].
    """

    curvature: float
    strain: float
    stress: float | None
    moisture_difference: float

    @property
    def is_large(self) -> bool:
        """Whether it is of the order of growth stress or beyond."""
        return abs(self.strain) >= GROWTH_STRAIN


def strip_strain(strip: Strip) -> tuple[float, float]:
    """Curvature of a strip's bow [1/m], and strain difference over its breadth [-] (derived)."""
    curvature = 8.0 * strip.bow / strip.length**2
    return curvature, curvature * strip.breadth


def lock(strip: Strip, wood: Species) -> Lock:
    """What a strip's bow tells of the stress that was locked in."""
    curvature, strain = strip_strain(strip)
    stress = None if wood.modulus is None else wood.modulus * strain
    per_moisture = LENGTHWISE[1] / 100.0 / wood.shrinkage_starts
    return Lock(curvature, strain, stress, strain / per_moisture)


def key_force(key: Key, wood: Species) -> Figure:
    """Least force that sheared a key in a wood [N]."""
    clear = keys.capacity(key, wood, math.inf).wing_shear
    reach = spread.TO_DECILE * SHEAR_CV
    return Figure(clear, clear * (1.0 - reach), clear * (1.0 + reach))


# How much likelier a look is under a cause than under the others (judgement; makers' experience, no
# source): 1 where none is named.
_TORN: Final[dict[Torn, dict[str, float]]] = {
    "none": {"fixed_solid": 0.4},
    "outer": {"fixed_solid": 4.0, "too_wet_at_fitting": 1.5, "room_not_as_told": 1.3},
    "inner": {"fixed_solid": 0.6, "two_airs": 1.3, "uneven_faces": 1.3, "springback": 1.5},
    "all": {"fixed_solid": 4.0, "too_wet_at_fitting": 1.5},
}
_CHECKED: Final[dict[Checked, dict[str, float]]] = {
    "none": {"wet_core": 0.8, "fixed_solid": 0.7, "too_wet_at_fitting": 0.9},
    "end": {"too_wet_at_fitting": 1.5, "wet_core": 1.3, "room_not_as_told": 1.2},
    "face": {"two_airs": 1.5, "wet_core": 1.5, "too_wet_at_fitting": 1.3},
    "fixing": {"fixed_solid": 5.0, "too_wet_at_fitting": 1.3},
}
_KEY_SPLIT: Final = {"too_wet_at_fitting": 1.5, "fixed_solid": 1.5, "wet_core": 1.2}


def factor(looks: Looks, cause: str) -> float:
    """How much likelier what else was seen makes a cause.

    Examples
    --------
    >>> factor(Looks(torn="outer"), "fixed_solid"), factor(Looks(), "rings")
    (4.0, 1.0)
    """
    told = 1.0
    if looks.torn is not None:
        told *= _TORN[looks.torn].get(cause, 1.0)
    if looks.check is not None:
        told *= _CHECKED[looks.check].get(cause, 1.0)
    if looks.key_split:
        told *= _KEY_SPLIT.get(cause, 1.0)
    return told
