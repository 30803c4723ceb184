"""Made-up histories of slabs with a known main cause of their cup and a known moisture before.

The truth comes from the course engine with its own draws of everything uncertain, both laws of
creep among them, on another grid, and is measured with the errors a careful person makes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model import spread
from model.answers.diagnosis.causes import PARTS, Part
from model.answers.diagnosis.history import History, Sighting, Strip
from model.behaviour import course, section, shape, shrinkage, timber, transport
from model.behaviour.course import Course, Stay
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.spread import Samples
from model.surroundings.air_series import Air

WOODS = ("American elm", "northern red oak", "black walnut", "sugar maple", "black cherry")
MADE = PARTS[:4]  # what bends the made-up ones; none is held
NODES = 27  # the fit uses 21
SOON = 2.0  # days; a maker looks at a fresh face soon after planing
STRIP_LENGTH, STRIP_BREADTH = 2.0, 0.025  # m
BARE, SHUT, VARNISHED = Face(0.0), Face(30.0, name="closed"), Face(1.5, name="varnished")


@dataclass(frozen=True, slots=True)
class Truth:
    """A history as it is told, its true main cause, that cause's share, the moisture before [%]."""

    history: History
    cause: Part
    share: float
    before: float


@dataclass(frozen=True, slots=True)
class _World:
    """What is true of one slab."""

    slab: Slab
    stay: Stay
    samples: Samples
    begin: np.ndarray
    locked: tuple[float, float]

    def run(self, stay: Stay, *, stressed: bool) -> Course:
        mesh = transport.grid(self.slab.thickness, NODES)
        state = section.unstressed(self.begin)
        if stressed:
            x = 2.0 * mesh.depth / mesh.thickness - 1.0
            even, odd = 0.5 * (3.0 * x**2 - 1.0), 0.5 * (5.0 * x**3 - 3.0 * x)
            state = replace(state, creep=(self.locked[0] * even + self.locked[1] * odd)[None, :])
        return course.run(
            self.slab,
            self.begin,
            [stay],
            self.samples,
            state=state,
            nodes=NODES,
            stops=[SOON, 0.4 * stay.days],
        )

    def rings(self, run: Course) -> float:
        wood = self.slab.species
        mesh = transport.grid(self.slab.thickness, NODES)
        before = self.begin @ mesh.weight
        over, along = (
            shrinkage.strain(total, wood.shrinkage_starts, before, run.mean[-1])
            for total in wood.shrinkages(self.samples)
        )
        none = np.zeros(1)
        geometry = timber.rings_of(run.slab, self.samples)
        return float(shape.cup_of(geometry, shape.Strains(along, over, none, none))[0])

    def parts(self, run: Course) -> np.ndarray:
        """Cup at the end by cause, in the order of `MADE` [m]."""
        faces = self.stay.faces
        face = min(faces.top, faces.bottom, key=lambda one: one.resistance)
        alike = replace(self.stay, faces=Faces(face, face))
        plain, even = self.run(self.stay, stressed=False), self.run(alike, stressed=False)
        core = float(even.cup[-1, 0]) - self.rings(even)
        bent = float(plain.cup[-1, 0]) - self.rings(plain)
        whole = float(run.cup[-1, 0]) - self.rings(run)
        return np.array([self.rings(run), core, bent - core, whole - bent])


def _one_draw(seed: int, attempt: int) -> Samples:
    """A random world of the engine's own making, as a batch of one."""
    drawn = spread.draw(256, seed)
    row = 1 + (seed + 10 * attempt) % 256
    columns = {
        name: getattr(drawn, name)[row : row + 1]
        for name in drawn.__slots__
        if name not in ("count", "seed")
    }
    return Samples(count=1, seed=seed, **columns)


def _world(cause: Part, seed: int, rng: np.random.Generator, attempt: int) -> _World:
    thickness = float(rng.uniform(0.035, 0.06))
    slab = Slab(
        species.find(WOODS[seed % len(WOODS)]),
        float(rng.uniform(0.45, 0.95)),
        thickness,
        2.4,
        pith_below=float(rng.uniform(0.05, 0.2) if cause == "rings" else rng.uniform(0.4, 1.0)),
        bark_side="top" if rng.random() < 0.5 else "bottom",
    )
    air = Air(np.zeros(1), rng.uniform(18.0, 23.0, 1), rng.uniform(28.0, 45.0, 1))
    faces = Faces(BARE, BARE)
    dress = (0.0, 0.0)
    if cause == "uneven_faces":
        shut = SHUT if rng.random() < 0.6 else VARNISHED
        faces = Faces(BARE, shut) if rng.random() < 0.5 else Faces(shut, BARE)
    if cause in ("wet_core", "locked_in_stress"):
        depth = float(rng.uniform(0.08, 0.16)) * thickness
        dress = (depth, 0.0) if rng.random() < 0.5 else (0.0, depth)
    stay = Stay(
        air,
        float(rng.uniform(30.0, 150.0)),
        faces,
        humidity_spread=3.0,
        dress_top=dress[0],
        dress_bottom=dress[1],
    )
    gap = float(rng.uniform(4.0, 9.0) if cause == "wet_core" else rng.uniform(0.0, 1.5))
    mesh = transport.grid(thickness, NODES)
    x = 2.0 * mesh.depth / thickness - 1.0
    begin = float(rng.uniform(10.0, 20.0)) + gap * (1.0 / 3.0 - x * x)
    locked = (0.0, 0.0)
    if cause == "locked_in_stress":
        size = float(rng.uniform(2.0e-3, 5.0e-3)) * rng.choice([-1.0, 1.0])
        locked = (size, float(rng.normal(0.0, 0.2)) * size)
    return _World(slab, stay, _one_draw(seed, attempt), begin[None, :], locked)


def _cup_on(run: Course, day: float, rng: np.random.Generator) -> Sighting:
    row = int(np.searchsorted(run.days, day + 1e-9)) - 1
    return Sighting("cup", float(run.cup[row, 0]) + 3e-4 * rng.standard_normal(), 3e-4, day=day)


def _measured(
    world: _World, run: Course, before: float, rng: np.random.Generator, strip_told: bool
) -> History:
    """The history as somebody measured it."""
    thickness = run.mesh.thickness
    sightings = [
        Sighting("width", float(run.width[-1, 0]) + 5e-4 * rng.standard_normal(), 5e-4),
        Sighting("cup", float(run.cup[-1, 0]) + 3e-4 * rng.standard_normal(), 3e-4),
        *(_cup_on(run, day, rng) for day in (SOON, 0.4 * float(world.stay.days))),
    ]
    for share in (0.2113, 0.5, 0.7887):
        true = float(np.interp(share * thickness, run.mesh.depth, run.moisture[0]))
        sightings.append(
            Sighting("moisture", true + 0.5 * rng.standard_normal(), 0.5, depth=share * thickness)
        )
    strip = None
    if strip_told:
        # Stress along the grain goes with that across it, loosely: within a factor of 1.6.
        strain = abs(world.locked[0]) * float(np.exp(0.5 * rng.standard_normal()))
        bow = strain / STRIP_BREADTH * STRIP_LENGTH**2 / 8.0
        seen = abs(bow + 1e-3 * rng.standard_normal())
        strip = Strip(STRIP_LENGTH, STRIP_BREADTH, seen)
    return History(world.slab, (world.stay,), 0.0, True, tuple(sightings), None, strip)


def history(seed: int) -> Truth:
    """A made-up history; causes take turns, and the named one makes most of a cup worth a name."""
    rng = np.random.default_rng(seed)
    cause = MADE[seed % len(MADE)]
    wanted = MADE.index(cause)
    for attempt in range(200):
        # A wood that hardly differs along and across its rings has no history of rings: another.
        world = _world(cause, seed, rng, attempt // 50)
        run = world.run(world.stay, stressed=True)
        parts = world.parts(run)
        way = np.sign(parts.sum())
        helping = np.maximum(way * parts, 0.0)
        share = float(helping[wanted] / helping.sum())
        if share > 0.65 and abs(parts.sum()) > 1.5e-3:
            mesh = transport.grid(world.slab.thickness, NODES)
            before = float((world.begin @ mesh.weight)[0])
            strip_told = cause == "locked_in_stress" or bool(rng.random() < 0.5)
            return Truth(_measured(world, run, before, rng, strip_told), cause, share, before)
    raise RuntimeError(f"no history of {cause} found with seed {seed}")
