"""Where a slab settles against an independent solution of the same equations, on the mean curve.

The yardstick (`SlabEquation`) shares no code with the model: other unknowns, another grid, scipy's
BDF in time.  From the profile that the model says a year begins with it is run for a year: it must
come back to where it began, and tell the same year on the way.  From arrival it is run for the
days.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from model import spread
from model.answers import settle
from model.behaviour import year
from model.behaviour.slab import Slab
from model.properties import finishes, species
from model.surroundings import climate, house
from model.surroundings.calendar import YEAR, month_of
from tests.reference.slab_equation import SlabEquation

Floats = NDArray[np.float64]

# Cold, mild, hot, damp, arid, arctic, southern.
PLACES = (
    "duluth-us", "phoenix-us", "bergen-no", "houston-us", "singapore-sg", "riyadh-sa",
    "Fairbanks, AK", "Melbourne, Australia", "Cape Town, South Africa", "Santiago, Chile",
    "Moscow, Russia", "Tokyo, Japan", "Nairobi, Kenya", "Lima, Peru", "Reykjavik, Iceland",
    "Denver, CO", "Miami, FL", "Vienna, Austria", "Delhi, India",
)  # fmt: skip
WOODS = ("white oak", "sugar maple", "black cherry", "white ash", "eastern white pine")
FINISHES = (None, ("urethane-varnish", 2), ("closed", None))
MOISTURES = (9.0, 14.0, 20.0, 28.0, 80.0)
FEW = 20  # of 60, which STILLWOOD_SLABS=60 asks in a minute
COUNT = int(os.environ.get("STILLWOOD_SLABS", FEW))


@dataclass(frozen=True)
class Case:
    slab: Slab
    moisture: float
    faces: finishes.Faces
    place: str
    arrives: float


def case(number: int) -> Case:
    rng = np.random.default_rng(number)

    def face(choice: tuple[str, int | None] | None) -> finishes.Face:
        return finishes.face() if choice is None else finishes.face(*choice)

    top, bottom = (face(FINISHES[rng.integers(n)]) for n in (3, 2))
    slab = Slab(
        # The yardstick knows the common curve alone.
        replace(
            species.find(WOODS[rng.integers(len(WOODS))]), sorption_at_60=1.0, sorption_at_90=1.0
        ),
        width=1.2,  # so wide that its edges don't count
        thickness=float(rng.uniform(0.02, 0.1)),
    )
    place = PLACES[number % len(PLACES)]
    moisture = float(MOISTURES[rng.integers(len(MOISTURES))])
    return Case(slab, moisture, finishes.Faces(top, bottom), place, float(rng.uniform(0.0, YEAR)))


@pytest.mark.slow
@pytest.mark.parametrize("number", range(COUNT))
def test_the_settled_year_is_that_of_an_independent_solution(number: int) -> None:
    one = case(number)
    wood = one.slab.species
    home = house.from_climate(climate.find(one.place), heat_to=21.0)
    samples = spread.draw(0)
    found = year.years(one.slab, one.moisture, one.faces, home, one.arrives, samples, "mean")
    answer = settle.settle(
        one.slab, one.moisture, one.faces, home, one.arrives, samples, "mean", found
    )
    other = SlabEquation(
        one.slab.thickness, wood.transport_factor, wood.transport_slope, wood.specific_gravity,
        lambda day: home.air.at(day), (one.faces.top.sd, one.faces.bottom.sd),
        wood.fibre_saturation, cells=80,
    )  # fmt: skip
    days = found.periodic.days
    middles = 0.5 * (other.edges[1:] + other.edges[:-1])
    begun = np.interp(middles, found.grid.depth, found.periodic.central[0])
    states = other.solve(begun, days.tolist())
    mean = other.mean(states)
    assert abs(mean[-1] - mean[0]) < 0.03
    assert answer.mean.value == pytest.approx(float(mean[1:].mean()), abs=0.03)
    assert answer.driest.moisture.value == pytest.approx(float(mean.min()), abs=0.03)
    assert answer.dampest.moisture.value == pytest.approx(float(mean.max()), abs=0.03)
    for told, extreme in ((answer.driest, mean.argmin()), (answer.dampest, mean.argmax())):
        apart = (told.month - month_of(float(days[extreme]))) % 12
        assert apart in (0, 1, 11)
    lasts = answer.days_within_1.value
    if 3.0 < lasts < 2.0 * YEAR:
        way = np.linspace(0.0, 1.2 * lasts + 10.0, 240)
        on_way = other.mean(other.solve(one.moisture, (one.arrives + way).tolist()))
        at = np.interp(np.mod(one.arrives + way - days[0], YEAR), days - days[0], mean)
        outside = np.flatnonzero(np.abs(on_way - at) > 1.0)
        until = float(way[outside[-1] + 1]) if outside.size and outside[-1] + 1 < way.size else 0.0
        assert lasts == pytest.approx(until, rel=0.05, abs=1.0 + way[1])
