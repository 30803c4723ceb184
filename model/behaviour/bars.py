"""Bars laid across the grain of a slab: area, centroid and second moment of their sections.

Every section is a sum of upright rectangles.  Heights are counted from the face of the bar that
lies against the slab, away from the slab.  Fillets and rolled tapers are left out: a rolled angle
or channel is 1 to 4 % stiffer or softer than its sharp-cornered figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

# Young's modulus [Pa]: steel EN 1993-1-1 (memory) says 210, AISC 29,000 ksi = 200 GPa (memory);
# the lower one is taken.  Aluminium 70 GPa EN 1999-1-1 (memory).
STEEL_MODULUS: Final = 200.0e9
ALUMINIUM_MODULUS: Final = 70.0e9
MODULI: Final[dict[str, float]] = {"steel": STEEL_MODULUS, "aluminium": ALUMINIUM_MODULUS}

# Stress at which a bar bends for good [Pa], by the least modulus of its kind [Pa]: structural steel
# S235 (EN 10025-2, memory), aluminium 6063-T6 (EN 755-2, memory); timber D30 breaks (EN 338,
# memory).
_YIELDS: Final = ((150.0e9, 235.0e6), (50.0e9, 160.0e6), (0.0, 30.0e6))

SOFTWOOD_DENSITY: Final = 350.0  # kg/m3, C24, EN 338 (memory)

Rectangle = tuple[float, float, float]  # width, height, distance of its near side [m]


@dataclass(frozen=True, slots=True)
class Section:
    """What bending needs to know of a section.

    Attributes
    ----------
    area : float
        [m2].
    centroid : float
        Distance of the centroid from the reference face [m].
    second_moment : float
        About the centroid, for bending away from the slab [m4].
    height : float
        Whole height [m].
    """

    area: float
    centroid: float
    second_moment: float
    height: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A stiffener: its section and what it is made of.

    Attributes
    ----------
    kind : str
        ``flat``, ``angle``, ``channel``, ``tee``, ``timber`` or ``given``.
    section : Section
        From the face against the slab.
    modulus : float
        Young's modulus along the bar [Pa].
    width : float
        Width over all [m]: the groove it needs, before clearance.
    groove : tuple of (width, height, near side)
        What a recess takes out of the slab at full depth, counted from the bar's innermost edge
        outward; empty where the shape is not known.
    density : float or None
        Characteristic density of a wooden one [kg/m3], on which heads bear; None for metal.
    """

    kind: str
    section: Section
    modulus: float
    width: float
    groove: tuple[Rectangle, ...] = ()
    density: float | None = None

    @property
    def stiffness(self) -> float:
        """EI [N m2]."""
        return self.modulus * self.section.second_moment

    @property
    def yields(self) -> float:
        """Bending stress that its usual kind bears without bending for good or breaking [Pa]."""
        return next(stress for least, stress in _YIELDS if self.modulus >= least)

    @property
    def axial_stiffness(self) -> float:
        """EA [N]."""
        return self.modulus * self.section.area


def compose(solid: list[Rectangle], holes: list[Rectangle] | None = None) -> Section:
    """Section of upright rectangles less holes, by the parallel-axis theorem.

    Parameters
    ----------
    solid, holes : list of (width, height, near side)
        Each with its near side's distance from the reference face [m].

    Raises
    ------
    ValueError
        If nothing is left.

    Examples
    --------
    >>> section = compose([(0.04, 0.005, 0.0)])
    >>> round(section.area * 1e6), round(section.second_moment * 1e12, 1)
    (200, 416.7)
    """
    parts = [(w * h, near + 0.5 * h, w * h**3 / 12.0) for w, h, near in solid]
    parts += [(-w * h, near + 0.5 * h, -w * h**3 / 12.0) for w, h, near in holes or []]
    area = sum(part[0] for part in parts)
    if area <= 0.0:
        raise ValueError("nothing is left of the section")
    centroid = sum(a * y for a, y, _ in parts) / area
    second = sum(own + a * (y - centroid) ** 2 for a, y, own in parts)
    height = max(near + h for _, h, near in solid)
    return Section(area, centroid, second, height)


def flat(width: float, height: float, modulus: float = STEEL_MODULUS, slot: float = 0.0) -> Bar:
    """A flat bar lying on its width, or a bar on edge where height is the larger.

    Parameters
    ----------
    width, height : float
        Along the slab's length, and away from the slab [m].
    modulus : float
        [Pa].
    slot : float
        Width of the slots through it [m]: the net section counts.
    """
    _positive(width=width, height=height)
    holes = [(slot, height, 0.0)] if slot else []
    return Bar(
        "flat",
        compose([(width, height, 0.0)], holes),
        modulus,
        width,
        ((width, height, 0.0),),
    )


def timber(
    width: float,
    height: float,
    modulus: float,
    slot: float = 0.0,
    density: float = SOFTWOOD_DENSITY,
) -> Bar:
    """A batten, grain along the bar.

    Modulus along its grain [Pa], slots as in `flat`, characteristic density [kg/m3]: softwood's
    where not told.
    """
    made = flat(width, height, modulus, slot)
    return Bar("timber", made.section, modulus, width, made.groove, density)


def angle(
    width: float, height: float, wall: float, modulus: float = STEEL_MODULUS, slot: float = 0.0
) -> Bar:
    """An angle: one leg, `width` wide, against the slab, the other standing `height` off it.

    Bending is taken straight away from the slab: the slab keeps the angle from turning aside
    toward its weak axis.
    """
    _positive(width=width, height=height, wall=wall)
    _walls(wall < width and wall < height)
    solid: list[Rectangle] = [(width, wall, 0.0), (wall, height - wall, wall)]
    holes = [(slot, wall, 0.0)] if slot else []
    # The groove must let the leg against the slab in: it is as wide as the bar all the way down.
    return Bar("angle", compose(solid, holes), modulus, width, ((width, height, 0.0),))


def channel(
    width: float,
    height: float,
    wall: float,
    modulus: float = STEEL_MODULUS,
    slot: float = 0.0,
    legs: Literal["away", "into"] = "away",
) -> Bar:
    """A channel: web `width` wide and two legs, `height` over all.

    Parameters
    ----------
    width, height, wall : float
        [m].
    modulus : float
        [Pa].
    slot : float
        Width of the slots in its web [m], 0 for a plain channel: the net section counts.
    legs : str
        ``away``: the web lies against the slab.  ``into``: legs let into grooves, web outermost.
    """
    _positive(width=width, height=height, wall=wall)
    _walls(2.0 * wall < width and wall < height)
    stem = height - wall
    web, near = (0.0, wall) if legs == "away" else (stem, 0.0)
    solid: list[Rectangle] = [(width, wall, web), (2.0 * wall, stem, near)]
    holes = [(slot, wall, web)] if slot else []
    groove = solid if legs == "into" else [(width, height, 0.0)]
    return Bar("channel", compose(solid, holes), modulus, width, tuple(groove))


def tee(
    width: float, height: float, wall: float, modulus: float = STEEL_MODULUS, slot: float = 0.0
) -> Bar:
    """A tee: flange against the slab, stem standing off it, both `wall` thick."""
    made = angle(width, height, wall, modulus, slot)
    return Bar("tee", made.section, modulus, width, made.groove)


def given(second_moment: float, modulus: float, area: float, centroid: float = 0.0) -> Bar:
    """A stiffener known by its figures: a frame, a cabinet, a rolled section from its table."""
    _positive(second_moment=second_moment, modulus=modulus, area=area)
    return Bar("given", Section(area, centroid, second_moment, 2.0 * centroid), modulus, 0.0)


def grooved_strip(width: float, thickness: float, bar: Bar, recess: float) -> Section:
    """Section of a strip of slab less the groove a recessed bar needs.

    Parameters
    ----------
    width : float
        Length of slab along its grain that belongs to the bar [m].
    thickness : float
        [m].
    bar : Bar
        The stiffener.
    recess : float
        Depth of the groove in the underside [m]; 0 surface mounted.

    Returns
    -------
    Section
        Counted from the underside upward.

    Raises
    ------
    ValueError
        If the groove does not fit in the strip.
    """
    solid: list[Rectangle] = [(width, thickness, 0.0)]
    if not recess:
        return compose(solid)
    if recess >= thickness:
        raise ValueError(f"a groove {recess} m deep goes through {thickness} m of slab")
    if bar.width >= width:
        raise ValueError(f"a groove {bar.width} m wide leaves nothing of {width} m")
    holes: list[Rectangle] = []
    for wide, high, near in bar.groove:
        # The bar's innermost edge lies `recess` deep; what stands out below the slab takes nothing.
        top, bottom = recess - near, max(recess - near - high, 0.0)
        if top > bottom:
            holes.append((wide, top - bottom, bottom))
    return compose(solid, holes)


def _positive(**sizes: float) -> None:
    for name, size in sizes.items():
        if not size > 0.0:
            raise ValueError(f"{name} must be above 0, got {size}")


def _walls(fit: bool) -> None:
    if not fit:
        raise ValueError("the walls are too thick for the section")
