"""The slab: its wood, its size, how the rings lie in it, and its moisture through the thickness.

Depth runs from the top face down.  The ring angle is the angle between the ring tangent and the
width: flat-sawn 0, rift 45, quarter-sawn 90 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour.brought import Brought, Ripped
from model.behaviour.evidence import Given, Readings, Untold
from model.codes import Caution
from model.properties.species import Species

Floats = NDArray[np.float64]
BarkSide = Literal["top", "bottom"]

GRAIN: Final[dict[str, float]] = {"flat": 0.0, "rift": 45.0, "quarter": 90.0}  # degrees
WATER: Final = 1000.0  # kg/m3
# Highest moisture content of any wood: pores full at a specific gravity of 0.25, 100 (1.54 - G)/
# (1.54 G), rounded up (Wood Handbook ch. 4 formula, memory).
HIGHEST_MOISTURE: Final = 350.0  # %
MEAN_NODES: Final = 41  # of a mean through the thickness; of a parabola 1 % of its rise too low
# Most that one person may lift in the best posture; NIOSH lifting equation, load constant (memory)
LIFTED_ALONE: Final = 23.0  # kg


@dataclass(frozen=True, slots=True)
class Slab:
    """A slab of one piece of wood.

    Attributes
    ----------
    species : Species
    width, thickness, length : float
        Size [m]; the length may be left out.
    ring_angle : float or None
        Angle between ring tangent and width [degrees]; None when the pith is known instead, or
        when nothing is known of the rings, which is read as flat-sawn.
    pith_below : float or None
        Distance of the pith under the face away from the bark [m]; negative inside the slab.
    pith_across : float
        Offset of the pith from the middle of the width [m].
    bark_side : str
        Which face was nearer the bark.
    brought : Brought or None
        Stress it brings along from its drying; None is taken as free of it.
    ripped : Ripped or None
        What a strip ripped off it showed of stress along its grain.
    bark_known : bool
        Whether that was told; else the central case has it so, and the draws either way.

    Raises
    ------
    ValueError
        If a size is not above zero, or the rings are impossible.
    """

    species: Species
    width: float
    thickness: float
    length: float | None = None
    ring_angle: float | None = None
    pith_below: float | None = None
    pith_across: float = 0.0
    bark_side: BarkSide = "top"
    bark_known: bool = True
    brought: Brought | None = None
    ripped: Ripped | None = None

    def __post_init__(self) -> None:
        for name in ("width", "thickness", "length"):
            size = getattr(self, name)
            if size is not None and not 0.0 < size < float("inf"):
                raise ValueError(f"the {name} of a slab must be above 0 m, not {size}")
        if self.ring_angle is not None and not 0.0 <= self.ring_angle <= 90.0:
            raise ValueError(f"a ring angle lies between 0 and 90 degrees, not {self.ring_angle}")
        if self.bark_side not in ("top", "bottom"):
            raise ValueError(f"the bark side is top or bottom, not {self.bark_side}")
        self._check_pith()

    def _check_pith(self) -> None:
        if self.pith_below is None:
            return
        if self.ring_angle is not None:
            raise ValueError("give the ring angle or the pith, not both")
        # Above the middle the other face would be the one nearer the bark.
        if not -0.5 * self.thickness < self.pith_below < float("inf"):
            raise ValueError(
                "the pith lies no higher than the middle of the slab, seen with the bark side up: "
                f"at least {-0.5 * self.thickness:g} m, not {self.pith_below}"
            )
        if not -float("inf") < self.pith_across < float("inf"):
            raise ValueError(f"the pith's offset must be finite, not {self.pith_across}")

    @property
    def pith_is_inside(self) -> bool:
        """Whether the pith lies within the slab, so that a radial check must be expected."""
        below = self.pith_below
        return below is not None and below < 0.0 and abs(self.pith_across) < 0.5 * self.width

    def weight(self, moisture: float) -> float | None:
        """Weight [kg] at a moisture content [%], the size being that at this moisture.

        None when the length is not known.  Oven-dry mass from the specific gravity at 12 %, with
        the volume carried from this moisture to 12 % by the shrinkage of the wood.

        Examples
        --------
        >>> from model.properties.species import find
        >>> slab = Slab(find("American elm"), width=0.864, thickness=0.0508, length=2.44)
        >>> round(slab.weight(12.0), 1)
        60.0
        """
        if self.length is None:
            return None
        swelling = 1.0
        for shrinkage in (self.species.radial, self.species.tangential):
            start = self.species.shrinkage_starts
            missing_now = max(0.0, 1.0 - moisture / start)
            missing_at_12 = max(0.0, 1.0 - 12.0 / start)
            swelling *= (1.0 - shrinkage / 100.0 * missing_at_12) / (
                1.0 - shrinkage / 100.0 * missing_now
            )
        volume_at_12 = self.width * self.thickness * self.length * swelling
        dry = WATER * self.species.specific_gravity * volume_at_12
        return dry * (1.0 + moisture / 100.0)


@dataclass(frozen=True, slots=True)
class ShellCore:
    """Moisture content [%] at the faces and in the middle; a parabola between."""

    shell: float
    core: float


@dataclass(frozen=True, slots=True)
class Depths:
    """Moisture content [%] read at depths [m] from the top face, from top to bottom."""

    depth: tuple[float, ...]
    moisture: tuple[float, ...]


Moisture = float | ShellCore | Depths | Readings | Given | Untold


def profile(moisture: Moisture, depths: ArrayLike, thickness: float) -> Floats:
    """Moisture content [%] at nodes through the thickness.

    Parameters
    ----------
    moisture : Moisture
        What is known: one number, shell and core (a parabola), moistures at depths (straight
        between them, held flat beyond the outermost), or evidence (the middle of its curve).
    depths : array_like
        Depths of the nodes from the top face [m], any shape.
    thickness : float
        Thickness of the slab [m].

    Raises
    ------
    ValueError
        If a moisture content is negative, not finite or more than wood can hold; if depths are
        not rising or lie outside the slab.

    Examples
    --------
    >>> profile(ShellCore(8.0, 12.0), [0.0, 0.025, 0.05], 0.05).tolist()
    [8.0, 12.0, 8.0]
    """
    nodes = np.asarray(depths, dtype=np.float64)
    if isinstance(moisture, Readings | Given | Untold):
        return moisture.shaped(thickness).at(nodes)
    if isinstance(moisture, ShellCore):
        _check_moisture((moisture.shell, moisture.core))
        across = 2.0 * nodes / thickness - 1.0
        parabola: Floats = moisture.core + (moisture.shell - moisture.core) * across**2
        return parabola
    if isinstance(moisture, Depths):
        _check_moisture(moisture.moisture)
        _check_depths(moisture, thickness)
        return np.asarray(np.interp(nodes, moisture.depth, moisture.moisture))
    _check_moisture((float(moisture),))
    return np.full(nodes.shape, float(moisture))


def mean_moisture(moisture: Moisture, thickness: float) -> float:
    """Mean moisture content through the thickness [%], plainly over nodes at even distances.

    Examples
    --------
    >>> round(mean_moisture(ShellCore(8.0, 12.0), 0.05), 2)
    10.6
    """
    return float(np.mean(profile(moisture, np.linspace(0.0, thickness, MEAN_NODES), thickness)))


def cautions(slab: Slab, moisture: float) -> list[Caution]:
    """What can hurt someone who handles a slab at a mean moisture [%]."""
    weight = slab.weight(moisture)
    return [] if weight is None or weight <= LIFTED_ALONE else [Caution("heavy", weight=weight)]


def _check_moisture(values: tuple[float, ...]) -> None:
    for value in values:
        if not 0.0 <= value <= HIGHEST_MOISTURE:
            raise ValueError(
                f"moisture content lies between 0 and {HIGHEST_MOISTURE:g} %, not {value}"
            )


def _check_depths(readings: Depths, thickness: float) -> None:
    depth = np.asarray(readings.depth, dtype=np.float64)
    if len(readings.depth) != len(readings.moisture) or depth.size == 0:
        raise ValueError("give one moisture content for each depth, and at least one")
    if not (np.all(depth >= 0.0) and np.all(depth <= thickness * (1.0 + 1e-9))):
        raise ValueError(f"depths lie between 0 and the thickness, {thickness:g} m")
    if not np.all(np.diff(depth) > 0.0):
        raise ValueError("depths rise from the top face down, each given once")
