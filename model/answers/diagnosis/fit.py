"""Which of the histories that are tried fit what was seen, and how likely each is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model import fitting, spread
from model.answers.diagnosis import formula
from model.answers.diagnosis.clues import strip_strain
from model.answers.diagnosis.history import History
from model.answers.diagnosis.tried import NAMES, USUAL_BEFORE, Case, Lying, ways_of_lying
from model.behaviour import transport
from model.behaviour.slab import BarkSide

# Steps of the engine in a history of one way of lying are at most two thirds of this: all fits,
# draws and looks ahead together take about 5 ms a step, half of it more for every further way.
MOST_WORK: Final = 1000
# Prior of the strain locked in, shell against core and face against face (judgement).
LOCKED_PRIOR: Final = 1.5e-3  # of strain; 1.2 MPa at 800 MPa
TOLD_SPREAD: Final = 0.3  # of what a slice or a prong tells; one look at one place (judgement)
LEAST_LOCKED: Final = 2.0e-4  # of strain; a strip that stays straight leaves this much open
STRIP_SPREAD: Final = 0.5  # of the strain a strip shows along the grain, taken for that across it


@dataclass(frozen=True, slots=True)
class Weighed:
    """One way of lying with its fit, and how likely it is [0..1]."""

    lying: Lying
    case: Case
    fit: fitting.Fit
    chance: float

    @property
    def misfit(self) -> float:
        """Root mean square of the sightings' misses, in standard deviations; 0 without any."""
        data = self.case.data
        misses = (data.values - self.fit.predicted) / np.sqrt(np.diag(data.covariance))
        return float(np.sqrt(np.mean(misses**2))) if misses.size else 0.0


def weigh(history: History) -> list[Weighed]:
    """Every way of lying fitted, likeliest first.

    Raises
    ------
    TooManySteps
        If the fits would take too many steps of the engine.
    """
    mesh = transport.grid(history.slab.thickness)
    central = formula.of_sightings(history.slab, history.sightings, spread.draw(0))
    usual = USUAL_BEFORE[0]
    if central is not None:
        # The formula's answer is where the search begins; the prior about it stays as wide.
        usual = float(np.clip(central.value, 5.0, history.slab.species.fibre_saturation))
    cases = [
        (way, Case(one, stays, mesh, locked, usual))
        for one in _sides(history)
        for way, stays in ways_of_lying(one)
        for locked in _locked_priors(one)
    ]
    _refuse_long(cases)
    found = [(way, case, fitting.fit(case.data)) for way, case in cases]
    evidence = np.array([one[2].log_evidence for one in found])
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    weighed = [Weighed(*one, float(c)) for one, c in zip(found, chance, strict=True)]
    return sorted(weighed, key=lambda one: -one.chance)


def _sides(history: History) -> list[History]:
    """The history with the bark side up and down, where nobody told which."""
    slab = history.slab
    if slab.bark_known:
        return [history]
    sides: tuple[BarkSide, ...] = ("top", "bottom")
    return [replace(history, slab=replace(slab, bark_side=side, bark_known=True)) for side in sides]


def _locked_priors(history: History) -> list[tuple[float, float]]:
    """Middle and standard deviation of the strain locked in, one for each sign it may have.

    A strip that bowed says how large, loosely, and not whether the shells or the core are pulled.
    """
    if history.slab.brought is not None:
        # A slice or a prong tells both sign and size; set is what stands against it.
        middle = -history.slab.brought.skin
        return [(middle, max(TOLD_SPREAD * abs(middle), LEAST_LOCKED))]
    if history.strip is None:
        return [(0.0, LOCKED_PRIOR)]
    size = abs(strip_strain(history.strip)[1])
    if size <= LEAST_LOCKED:
        return [(0.0, LEAST_LOCKED)]
    return [(size, STRIP_SPREAD * size), (-size, STRIP_SPREAD * size)]


def _refuse_long(cases: Sequence[tuple[Lying, Case]]) -> None:
    steps = cases[0][1].run(np.zeros((1, len(NAMES)))).days.size
    most = int(MOST_WORK / (1.0 + 0.5 * len(cases)))
    if steps > most:
        raise transport.TooManySteps(
            f"this history takes {steps:,} steps of the engine, where {most:,} can be fitted"
        )
