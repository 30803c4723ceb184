"""Histories of slabs that moved, from a solver that shares no code with the model.

Moisture: means of 20 cells, graded towards the faces, by LSODA, surface and half a cell in series.
Section: plane strain of the cells with set in proportion to stress and change of moisture, and what
is bonded under it as one more layer.  Rings: points of the mid-surface mapped about the pith.  The
figures of the woods are the model's table; equations are the published ones, written here anew.

Each history has one cause that makes at least 40 % of its cup, and what a maker would tell of it,
with a maker's errors: a cup to a millimetre, one or two pin readings of one meter (0.7 % M of bias,
0.5 of scatter), a room by its thermostat and hygrometer (4 points), dates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from model.answers.diagnosis.history import (
    History,
    Looks,
    Sighting,
    cup_seen,
    end_grain_seen,
    width_seen,
)
from model.answers.diagnosis.stories import CAUSES, Cause
from model.behaviour.course import Stay
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.properties.species import Species, elastic
from model.surroundings.room import constant
from tests.reference.slab_equation import equilibrium, saturation

Floats = NDArray[np.float64]

WOODS: Final = ("American elm", "northern red oak", "black walnut", "sugar maple", "black cherry")
CELLS: Final = 20
DAY: Final = 86_400.0
BARE, SHUT = Face(0.0), Face(30.0, name="closed")


@dataclass
class True_:  # noqa: N801 - the truth of one slab
    """What is true of one slab: SI, moisture in percent, humidity in percent."""

    wood: Species
    width: float
    thickness: float
    pith: float  # m under the heart-side face
    bark_up: bool
    before: float
    core: float = 0.5
    temperature: float = 20.0
    humidity: float = 40.0
    warmer: tuple[float, float] = (0.0, 0.0)  # K, top and bottom
    sd: tuple[float, float] = (0.0, 0.0)
    days: float = 90.0
    planed: tuple[float, float] = (0.0, 0.0)
    locked: float = 0.0  # strain, shell against core
    spring: float = 0.0  # 1/m that comes back
    spring_days: float = 25.0
    bar: float = 0.0  # EA of what is bonded under it, per metre of length [N/m]
    rate: float = 1.0
    sorption: float = 1.0
    shrinkage: tuple[float, float] = (1.0, 1.0)  # tangential, radial
    modulus: float = 1.0
    creep: float = 60.0
    offset: float = 0.0

    edges: Floats = field(init=False)

    def __post_init__(self) -> None:
        even = np.linspace(0.0, 1.0, CELLS + 1)
        finer = even - 0.85 * np.sin(2.0 * np.pi * even) / (2.0 * np.pi)
        whole = self.thickness - sum(self.planed)
        self.edges = self.planed[0] + whole * finer

    def held(self, humidity: float, temperature: float) -> float:
        """What air holds this wood at [%], above the mean curve as wood that dries is."""
        return self.sorption * 1.06 * equilibrium(temperature, 0.01 * humidity)

    def first(self) -> Floats:
        """Moisture of the cells before [%]: a parabola through the whole thickness."""
        middle = 0.5 * (self.edges[1:] + self.edges[:-1])
        across = 2.0 * middle / self.thickness - 1.0
        return np.asarray(self.before + self.core * (1.0 / 3.0 - across**2))

    def solve(self, days: Floats) -> tuple[Floats, Floats]:
        """Moisture of the cells and their set at the days, (days, cells) each."""
        thick = np.diff(self.edges)
        middle = 0.5 * (self.edges[1:] + self.edges[:-1])
        gravity = self.wood.specific_gravity
        level = self.rate * self.wood.transport_factor * 2.09e-11 * (0.60 / gravity) ** 2.3
        level *= math.exp(-(40_000.0 / 8.314) * (1 / (self.temperature + 273.15) - 1 / 293.15))
        slope = self.wood.transport_slope
        table_h = np.linspace(0.001, 0.985, 400)
        faces = []
        vapour = 0.01 * self.humidity * saturation(self.temperature)
        for side in (0, 1):
            warm = self.temperature + self.warmer[side]
            table = np.array([self.held(100.0 * h, warm) for h in table_h])
            there = saturation(warm)
            resistance = (1.0 / 67.0 + self.sd[side]) / 2.0e-10 * 1000.0 * gravity / (100.0 * there)
            faces.append((min(vapour / there, 0.98), table, resistance))

        def coefficient(moisture: Floats) -> Floats:
            return np.asarray(level * np.exp(slope * (np.clip(moisture, 3.0, 28.0) - 10.0)))

        def rate(day: float, state: Floats) -> Floats:
            moisture, creep = state[:CELLS], state[CELLS:]
            bound = np.minimum(moisture, 28.0)
            spread = coefficient(bound)
            flux = np.empty(CELLS + 1)
            between = 2.0 * spread[1:] * spread[:-1] / (spread[1:] + spread[:-1])
            flux[1:-1] = -between * np.diff(bound) / np.diff(middle)
            for side, cell in ((0, 0), (1, -1)):
                air, table, resistance = faces[side]
                own = float(np.interp(bound[cell], table, table_h))
                steep = float(np.interp(bound[cell] + 0.2, table, table_h)) - own
                half = 0.5 * thick[cell] * max(steep / 0.2, 1e-3) / spread[cell]
                flux[cell] = (air - own) / (resistance + half) * (1.0 if side == 0 else -1.0)
            moved = -np.diff(flux) / thick * DAY
            stress = self.section(moisture, creep)[0]
            compliance = self.creep / (self.modulus * elastic(self.wood).E_T)
            set_rate = compliance * 0.01 * np.abs(moved) * stress
            return np.concatenate((moved, set_rate))

        whole = 2.0 * middle / self.thickness - 1.0
        start = np.concatenate((self.first(), self.locked * 0.5 * (3.0 * whole**2 - 1.0)))
        found = solve_ivp(
            rate, (0.0, float(days[-1])), start, t_eval=days, method="LSODA", rtol=1e-4, atol=1e-6,
            lband=None,
        )  # fmt: skip
        return found.y[:CELLS].T, found.y[CELLS:].T

    def strains(self, moisture: float) -> tuple[float, float]:
        """Strain along and across the rings from before to a moisture [-]."""
        start = self.wood.shrinkage_starts
        told = []
        for total, factor in zip(
            (self.wood.tangential, self.wood.radial), self.shrinkage, strict=True
        ):
            share = 0.01 * total * factor / start
            then, now = (1.0 - share * max(0.0, start - one) for one in (self.before, moisture))
            told.append(now / then - 1.0)
        return told[0], told[1]

    def mapped(self, moisture: float) -> tuple[float, float]:
        """Width and cup (edges up positive) by the rings alone: points of the middle mapped."""
        along, over = self.strains(moisture)
        below = self.pith + 0.5 * self.thickness
        across = np.linspace(-0.5, 0.5, 81) * self.width
        radius, angle = np.hypot(across, below), np.arctan2(across, below)
        radius = radius * (1.0 + over)
        angle = angle * (1.0 + along) / (1.0 + over)
        x, y = radius * np.sin(angle), radius * np.cos(angle)
        cup = float(0.5 * (y[0] + y[-1]) - y[40])  # towards the bark
        return float(x[-1] - x[0]), cup if self.bark_up else -cup

    def section(self, moisture: Floats, creep: Floats) -> tuple[Floats, float, float]:
        """Stress of the cells [Pa], curvature [1/m] and strain of the section without its rings."""
        start = self.wood.shrinkage_starts
        along, over = self.strains(float(np.mean(moisture)) - 1.0)
        more_along, more_over = self.strains(float(np.mean(moisture)))
        share = 0.85
        swelling = share * (more_along - along) + (1.0 - share) * (more_over - over)
        free = swelling * (np.minimum(moisture, start) - np.minimum(self.first(), start)) + creep
        modulus = self.modulus * elastic(self.wood).E_T
        stiff = modulus * (1.0 - 0.025 * (np.clip(moisture, 0.0, 28.0) - 12.0))
        cut = self.edges - 0.5 * (self.edges[0] + self.edges[-1])
        zero, one, two = (np.diff(cut ** (n + 1)) / (n + 1) for n in (0, 1, 2))
        arm = cut[-1] + 0.0025
        matrix = np.array(
            [
                [stiff @ zero + self.bar, stiff @ one + self.bar * arm],
                [stiff @ one + self.bar * arm, stiff @ two + self.bar * arm**2],
            ]
        )
        load = np.array([(stiff * free) @ zero, (stiff * free) @ one])
        strain, curvature = np.linalg.solve(matrix, load)
        return stiff * (strain + curvature * one / zero - free), float(curvature), float(strain)

    def told(self, days: Floats) -> list[dict[str, float]]:
        """Cup [m], width [m], mean, mid-depth moisture [%] at the days."""
        moisture, creep = self.solve(days)
        thick = np.diff(self.edges) / (self.edges[-1] - self.edges[0])
        found = []
        for day, wet, set_ in zip(days, moisture, creep, strict=True):
            mean = float(wet @ thick)
            width, cup = self.mapped(mean)
            _, curvature, strain = self.section(wet, set_)
            curvature += self.spring * -math.expm1(-day / self.spring_days)
            if self.bar > 0.0:
                width = self.width * (1.0 + strain)
            found.append(
                {
                    "cup": cup + curvature * self.width**2 / 8.0,
                    "width": width,
                    "mean": mean,
                    "core": float(wet[CELLS // 2]),
                }
            )
        return found


@dataclass(frozen=True)
class Truth:
    """A history as a maker tells it, and its true cause."""

    history: History
    cause: Cause


def _usual(rng: np.random.Generator) -> True_:
    """A slab of which nothing is wrong; everything uncertain drawn as the world draws it."""
    wood = species.find(str(rng.choice(WOODS)))
    thickness, width = float(rng.uniform(0.035, 0.06)), float(rng.uniform(0.5, 0.95))
    temperature, humidity = float(rng.uniform(18.0, 23.0)), float(rng.uniform(32.0, 48.0))
    common = 0.12 * rng.standard_normal()
    sorption = float(1.0 + 0.08 * rng.standard_normal())
    settles = sorption * 1.06 * equilibrium(temperature, 0.01 * humidity)
    return True_(
        wood=wood,
        width=width,
        thickness=thickness,
        pith=width * float(np.exp(rng.uniform(math.log(0.15), math.log(0.9)))),
        bark_up=bool(rng.random() < 0.5),
        before=settles + float(rng.uniform(0.0, 2.5)),
        core=float(rng.normal(0.5, 0.7)),
        temperature=temperature,
        humidity=humidity,
        days=float(rng.uniform(30.0, 200.0)),
        rate=float(np.exp(0.6 * rng.standard_normal())),
        sorption=sorption,
        shrinkage=(
            float(1.0 + common + 0.09 * rng.standard_normal()),
            float(1.0 + common + 0.09 * rng.standard_normal()),
        ),
        modulus=float(max(0.5, 1.0 + 0.22 * rng.standard_normal())),
        creep=float(np.exp(rng.uniform(math.log(30.0), math.log(120.0)))),
    )


def _wrong(usual: True_, cause: Cause, rng: np.random.Generator) -> True_:
    """The same slab with one thing that went wrong."""
    depth = float(rng.uniform(0.08, 0.16)) * usual.thickness
    cut = (depth, 0.0) if rng.random() < 0.5 else (0.0, depth)
    sign = float(rng.choice([-1.0, 1.0]))
    wetter = usual.before + float(rng.uniform(0.0, 5.0))
    if cause == "rings":
        return replace(
            usual, before=usual.before + 1.0, pith=usual.width * float(rng.uniform(0.05, 0.25))
        )
    if cause == "too_wet_at_fitting":
        return replace(usual, before=usual.before + float(rng.uniform(4.5, 9.0)))
    if cause == "uneven_faces":
        shut = (0.0, 30.0) if rng.random() < 0.65 else (30.0, 0.0)
        return replace(usual, sd=shut, before=wetter)
    if cause == "wet_core":
        core = float(rng.uniform(4.0, 9.0))
        return replace(usual, core=core, planed=cut, before=wetter)
    if cause == "locked_in_stress":
        locked = sign * float(rng.uniform(1.5e-3, 5.0e-3))
        return replace(usual, locked=locked, planed=cut, before=wetter)
    if cause == "room_not_as_told":
        way = -1.0 if rng.random() < 0.7 else 1.0
        offset = way * float(rng.uniform(10.0, 22.0))
        humidity = usual.humidity + offset
        return replace(usual, humidity=humidity, offset=offset)
    if cause == "two_airs":
        kind = rng.random()
        rise = float(rng.uniform(4.0, 11.0))
        warmer = (0.0, rise) if kind < 0.5 else (rise, 0.0) if kind < 0.75 else (0.0, -0.4 * rise)
        return replace(usual, warmer=warmer)
    if cause == "springback":
        spring = sign * float(rng.uniform(4e-3, 1.4e-2)) * 8.0 / usual.width**2
        return replace(usual, spring=spring, spring_days=float(rng.uniform(8.0, 50.0)))
    bar = float(rng.uniform(0.1, 1.0)) * 40e6 / 0.3  # a flat steel bar each 0.3 m, with slip
    return replace(usual, bar=bar, before=usual.before + float(rng.uniform(1.0, 4.0)))


def truth(cause: Cause, seed: int) -> Truth:
    """A history with this cause; the cause makes at least 40 % of a cup of 2 mm and more."""
    rng = np.random.default_rng(1000 * CAUSES.index(cause) + seed)
    for _ in range(200):
        usual = _usual(rng)
        there = _wrong(usual, cause, rng)
        if not 15.0 < there.humidity < 80.0 or max(there.first()) > 27.0:
            continue
        days = np.array([0.02, 1.0, there.days])
        seen = there.told(days)
        way = math.copysign(1.0, seen[-1]["cup"])
        without = way * replace(usual, days=there.days).told(days)[-1]["cup"]
        whole = way * seen[-1]["cup"]
        if whole >= 2.0e-3 and (cause == "rings" or whole - without >= 0.4 * whole):
            return Truth(_told(usual, there, cause, seen, rng), cause)
    raise RuntimeError(f"no history of {cause} found with seed {seed}")


def _told(
    usual: True_,
    there: True_,
    cause: Cause,
    seen: list[dict[str, float]],
    rng: np.random.Generator,
) -> History:
    """What a maker tells of it."""
    bias = 0.7 * rng.standard_normal()

    def pins(moisture: float) -> float:
        return float(max(1.0, moisture + bias + 0.5 * rng.standard_normal()))

    last = seen[-1]
    sightings = [cup_seen(1e-3 * round(1e3 * last["cup"] + 0.3 * rng.standard_normal()))]
    error = math.hypot(0.7, 0.5)
    sightings.append(Sighting("moisture", pins(last["mean"]), error))
    left = there.thickness - sum(there.planed)
    if rng.random() < 0.5:
        sightings.append(Sighting("moisture", pins(last["core"]), error, depth=0.5 * left))
    if rng.random() < 0.5:
        gap = 1e-3 * round(1e3 * last["width"] + 0.3 * rng.standard_normal())
        sightings.append(width_seen(_slab(there), gap))
    planed = sum(there.planed) > 0.0
    if planed and rng.random() < 0.5:
        soon = 1e-3 * round(1e3 * seen[1]["cup"])
        sightings.append(cup_seen(soon, 1.0))
    if rng.random() < 0.3:
        held = there.held(there.humidity, there.temperature)
        sightings.append(end_grain_seen(pins(held), error))
    humidity = there.humidity - there.offset + 4.0 * rng.standard_normal()
    room = constant(round(there.temperature), float(np.clip(round(humidity), 15, 80)))
    faces_known = bool(rng.random() < 0.67)
    faces = Faces(SHUT if there.sd[0] else BARE, SHUT if there.sd[1] else BARE)
    stay = Stay(
        room.air,
        there.days,
        faces,
        humidity_spread=4.0,
        dress_top=there.planed[0],
        dress_bottom=there.planed[1],
    )
    before: tuple[float, float] | None = None
    if cause == "too_wet_at_fitting":
        if rng.random() < 0.5:  # as the seller said, or read in the shell
            before = (pins(there.before - float(rng.uniform(3.0, 6.0))), 1.0)
    elif rng.random() < 0.5:
        before = (pins(there.before), 1.0)
    looks = Looks()
    if cause == "springback" and rng.random() < 0.7:
        flattened = there.spring * there.width**2 / 8.0 / float(rng.uniform(0.4, 1.0))
        looks = replace(looks, flattened=1e-3 * round(1e3 * flattened))
    if cause == "fixed_solid" and rng.random() < 0.7:
        looks = replace(looks, fixed="solid", torn="outer" if rng.random() < 0.4 else None)
    elif cause != "fixed_solid" and rng.random() < 0.5:
        looks = replace(looks, fixed=str(rng.choice(["slotted", "free"])))  # type: ignore[arg-type]
    slab = _slab(there)
    if rng.random() < 0.5:
        slab = replace(slab, bark_known=False, bark_side="top")
    return History(slab, (stay,), 0.0, faces_known, tuple(sightings), before, looks=looks)


def _slab(there: True_) -> Slab:
    """The slab as a maker tells it: its pith not looked at."""
    side = "top" if there.bark_up else "bottom"
    return Slab(there.wood, there.width, there.thickness, 2.0, bark_side=side)  # type: ignore[arg-type]
