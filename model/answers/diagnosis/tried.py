"""The histories that are tried: one way of lying, with all that is not known as parameters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from model import fitting, spread
from model.answers.diagnosis.history import CUP_ERROR, History, Sighting
from model.behaviour import course, section, shape, shrinkage, transport
from model.behaviour.course import Course, Stay
from model.behaviour.section import State
from model.properties.finishes import Face, Faces
from model.properties.species import Species
from model.spread import Samples

Floats = NDArray[np.float64]
Lying = Literal["as-told", "open", "on-bottom", "top-covered"]

GREEN: Final = 1.15  # of where shrinkage starts: wettest the engine starts from, when not told

# Priors (judgement): median and standard deviation of ln of the moisture before; core less shell
# [% M].
USUAL_BEFORE: Final = (15.0, 0.5)
CORE_PRIOR: Final = (1.0, 2.5)
CUP_SHARE: Final = 0.15  # error of the engine's cup, beside what is drawn (judgement)
COVERED: Final = 30.0  # m of still air; a face lying on a closed surface

NAMES: Final = (
    "before", "core", "rate", "sorption", "humidity", "shared", "tangential", "radial", "ring",
    "pith", "modulus", "mechano", "finish", "locked_even", "locked_odd", "law", "set_in_width",
)  # fmt: skip


def ways_of_lying(history: History) -> list[tuple[Lying, tuple[Stay, ...]]]:
    """Ways the slab may have lain: as told, or open, on its bottom, on its top."""
    if history.faces_known:
        return [("as-told", history.stays)]
    open_, shut = Face(0.0), Face(COVERED, name="closed")
    ways: dict[Lying, Faces] = {
        "open": Faces(open_, open_),
        "on-bottom": Faces(open_, shut),
        "top-covered": Faces(shut, open_),
    }
    return [
        (way, tuple(replace(stay, faces=faces) for stay in history.stays))
        for way, faces in ways.items()
    ]


def shrunk(wood: Species, samples: Samples, before: Floats, after: Floats) -> shape.Strains:
    """Free strains of every draw from one mean moisture to another [%], both faces alike."""
    over, along = (
        shrinkage.strain(total, wood.shrinkage_starts, before, after)
        for total in wood.shrinkages(samples)
    )
    none = np.zeros(1)
    return shape.Strains(along, over, none, none)


@dataclass(frozen=True, slots=True)
class Case:
    """A history with one way of lying: the forward model of its parameters.

    Attributes
    ----------
    history : History
    stays : tuple of Stay
        As it is taken to have lain.
    mesh : Grid
    locked : tuple of float
        Prior of the even strain locked in: middle and standard deviation [-].
    usual : float
        Median of the moisture before, when it was not measured [%].
    """

    history: History
    stays: tuple[Stay, ...]
    mesh: transport.Grid
    locked: tuple[float, float]
    usual: float

    def samples(self, theta: Floats) -> Samples:
        """What the course engine calls uncertain, for every row of parameters."""
        column = dict(zip(NAMES, theta.T, strict=True))
        common = np.sqrt(spread.SHRINKAGE_SHARED) * column["shared"]
        own = np.sqrt(1.0 - spread.SHRINKAGE_SHARED)
        count = theta.shape[0]
        return Samples(
            count=count,
            seed=spread.DEFAULT_SEED,  # of no sequence: they are the rows
            transport=column["rate"],
            set_in_width=ndtr(column["set_in_width"]),
            sorption=np.maximum(0.6, 1.0 + spread.SORPTION_CV * column["sorption"]),
            tangential=np.maximum(
                0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["tangential"])
            ),
            radial=np.maximum(0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["radial"])),
            humidity=column["humidity"],
            moisture=np.zeros(count),
            ring=ndtr(column["ring"]),
            pith=ndtr(column["pith"]),
            modulus=np.maximum(0.3, 1.0 + spread.MODULUS_CV * column["modulus"]),
            finish=spread.log_uniform(ndtr(column["finish"]), *spread.FINISH_FACTOR),
            mechano=spread.log_uniform(ndtr(column["mechano"]), *spread.MECHANO_RANGE),
            creep_limit=np.full(count, 8.0),
            # Nearly half the draws keep their set for good.  The middle and the step of the slopes
            # lie below the threshold, so the fit itself sees one law.
            unlimited=column["law"] > 0.1,
            loop=np.full(count, spread.LOOP_CENTRE),
        )

    def mean_before(self, theta: Floats) -> Floats:
        """Mean moisture before of every row [%]."""
        own = theta[:, NAMES.index("before")]
        if self.history.before is not None:
            value, error = self.history.before
            told: Floats = np.maximum(value + error * own, 1.0)
            return told
        result: Floats = self.usual * np.exp(USUAL_BEFORE[1] * own)
        return result

    def begin(self, theta: Floats) -> Floats:
        """Moisture through the thickness before (rows, nodes): a parabola about its mean [%]."""
        centre, deviation = CORE_PRIOR
        gap = centre + deviation * theta[:, NAMES.index("core")]
        x = self._across
        shape_ = 1.0 / 3.0 - x * x
        shape_ = shape_ - self.mesh.mean(shape_)
        mean = self.mean_before(theta)
        if self.history.before is None:
            # No width tells how much free water there was, and following it out takes hours of
            # steps: what is wetter starts a little above where shrinkage does.
            mean = np.minimum(mean, GREEN * self.history.slab.species.shrinkage_starts)
        profile = mean[:, None] + gap[:, None] * shape_
        # Only far draws of the proposal come here: nothing is drier than 1 %.
        result: Floats = np.maximum(profile, 1.0)
        return result

    @property
    def _across(self) -> Floats:
        """The nodes through the thickness, -1 at the top face to 1 at the bottom face."""
        return 2.0 * self.mesh.depth / self.mesh.thickness - 1.0

    def state(self, theta: Floats, begin: Floats, *, stressed: bool) -> State:
        """Flat before; with or without strain locked in, which holds itself in balance."""
        state = section.unstressed(begin)
        if not stressed:
            return state
        x = self._across
        even, odd = 0.5 * (3.0 * x**2 - 1.0), 0.5 * (5.0 * x**3 - 3.0 * x)
        odd_size = np.hypot(*self.locked) * theta[:, [NAMES.index("locked_odd")]]
        return replace(state, creep=self.locked_even(theta)[:, None] * even + odd_size * odd)

    def locked_even(self, theta: Floats) -> Floats:
        """Strain locked in, shell against core, of every row [-]."""
        middle, deviation = self.locked
        result: Floats = middle + deviation * theta[:, NAMES.index("locked_even")]
        return result

    def run(
        self,
        theta: Floats,
        stays: Sequence[Stay] | None = None,
        *,
        stressed: bool = True,
        stops: Sequence[float] = (),
    ) -> Course:
        """Every row of parameters through the history."""
        begin = self.begin(theta)
        return course.run(
            self.history.slab,
            begin,
            self.stays if stays is None else stays,
            self.samples(theta),
            start_day=self.history.start_day,
            state=self.state(theta, begin, stressed=stressed),
            stops=stops,
        )

    def predict(self, theta: Floats) -> Floats:
        """What every row says the sightings are, (rows, sightings)."""
        sightings = self.history.sightings
        stops = sorted({one.day for one in sightings if one.day is not None and one.day > 0.0})
        followed = self.run(theta, stops=stops)
        columns = [seen(followed, one) for one in sightings]
        if not columns:
            return np.zeros((theta.shape[0], 0))
        return np.stack(columns, axis=1)

    @property
    def data(self) -> fitting.Data:
        """The sightings as something to fit; the engine's own error stands beside a cup's."""
        sightings = self.history.sightings
        errors = [
            float(np.hypot(one.error, np.hypot(CUP_ERROR, CUP_SHARE * one.value)))
            if one.what == "cup"
            else one.error
            for one in sightings
        ]
        values = np.array([one.value for one in sightings])
        return fitting.Data(self.predict, values, np.diag(np.square(errors)), len(NAMES))


def seen(followed: Course, sighting: Sighting) -> Floats:
    """One sighting as the engine's draws have it, (samples,)."""
    end = float(followed.days[-1])
    day = end if sighting.day is None else min(sighting.day, end)
    row = int(np.searchsorted(followed.days, day + 1e-9)) - 1
    if sighting.depth is None:
        columns = {"width": followed.width, "cup": followed.cup, "moisture": followed.mean}
        whole: Floats = columns[sighting.what][row]
        return whole
    depth = followed.mesh.depth
    right = int(np.clip(np.searchsorted(depth, sighting.depth), 1, depth.size - 1))
    share = (sighting.depth - depth[right - 1]) / (depth[right] - depth[right - 1])
    above, below = followed.moisture[:, right - 1], followed.moisture[:, right]
    result: Floats = (1.0 - share) * above + share * below
    return result
