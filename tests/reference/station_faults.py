"""Faulty months and stations of the table, found by comparing each with its neighbours.

    python -m tests.reference.station_faults

writes model/data/station_faults.csv, which the model applies as it reads the table. Four rules, in
this order, all on the outdoor equilibrium [% M]; their bounds are judgement and stand below.

1. *Group*: the 37 stations of the United States from CLIMAT reports (nine to ten years, 2010 on)
   miss the NOAA stations around them by more than twice what those miss each other by, in winter
   most (December 1.7 % M too damp on average): grade C, used only where nothing better is near.
2. *Town*: a station that stands on one side of two or more others within 30 km and 100 m in every
   month, on average by 2.5 % M or more, is graded C (a city may be 2 drier than its airports).
3. *Typical year*: a file of one typical year has months by chance; its departure from the stations
   around is smoothed to its mean and one wave a year.
4. *Month*: a month whose departure from the stations around jumps out of those of the months
   beside it, by 1.5 % M, by three times what the neighbours scatter and by 2.5 times what the
   station's own jumps do, is set to the mean of the two beside it. The largest first, until none
   is left.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.basis import DATA
from model.properties import sorption
from model.surroundings import stations
from model.surroundings.globe import distances
from model.surroundings.stations import Station

Floats = NDArray[np.float64]

REACH: Final = 300.0  # km + 0.2 km per m of height
COMPARED: Final = 6
FEWEST: Final = 3
HEIGHT: Final = 0.2  # km per m
JUMP: Final = 1.5  # % M
SCATTERS: Final = 3.0  # times the scatter of the neighbours
OWN_SCATTERS: Final = 2.5  # times the scatter of the station's own jumps
USUAL_SCATTER: Final = 0.47  # % M; robust scatter of jumps over all stations (measured)
TOWN: Final = (30.0, 100.0)  # km, m
# % M on average; a city is drier than its airports by up to 2.1 (Munich).
TOWN_APART: Final = 2.5
# The summer monsoon wets Oman's southern coast and not the plateau behind it (general geography).
REALLY_APART: Final = frozenset({"salalah-om", "thumrait-ap-om"})
SOURCE: Final = "comparison with the stations around (tests/reference/station_faults.py)"


@dataclass(frozen=True)
class Fault:
    """A finding: month 1 to 12, or 0 for a whole station; humidity given and used [%]."""

    id: str
    month: int
    measure: str
    given: float | None
    used: float | None
    apart: float  # % M


def equilibrium(table: Sequence[Station]) -> Floats:
    return np.array(
        [
            sorption.equilibrium_moisture(one.temperature, np.minimum(one.relative_humidity, 95.0))
            for one in table
        ]
    )


class Comparison:
    """The stations, and what each month differs by from the median of those around."""

    def __init__(self, table: Sequence[Station]) -> None:
        self.table = table
        self.moisture = equilibrium(table)
        self.latitude = np.array([one.latitude for one in table])
        self.longitude = np.array([one.longitude for one in table])
        self.elevation = np.array([one.elevation for one in table])

    def away(self, number: int) -> tuple[Floats, Floats]:
        """Distances [km] and height differences [m] to every station; itself far away."""
        far = distances(
            self.latitude[number], self.longitude[number], self.latitude, self.longitude
        )
        far[number] = 1e9
        return far, np.abs(self.elevation - self.elevation[number])

    def departure(self, number: int, pool: NDArray[np.bool_]) -> tuple[Floats, Floats] | None:
        """Departure from the median of the stations around and their scatter, by month [% M]."""
        far, high = self.away(number)
        score = far + HEIGHT * high
        near = np.flatnonzero(pool & (score < REACH))
        if near.size < FEWEST:
            return None
        near = near[np.argsort(score[near], kind="stable")[:COMPARED]]
        middle = np.median(self.moisture[near], axis=0)
        scatter = 1.4826 * np.median(np.abs(self.moisture[near] - middle), axis=0)
        return self.moisture[number] - middle, scatter


def humidity_for(moisture: float, temperature: float) -> float:
    """Relative humidity [%] of an equilibrium [% M], by halving."""
    low, high = 1.0, 98.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if sorption.equilibrium_moisture(np.array([temperature]), np.array([middle]))[0] < moisture:
            low = middle
        else:
            high = middle
    return round(0.5 * (low + high), 1)


def is_american_report(one: Station) -> bool:
    return one.country == "US" and one.source.startswith("DWD")


def is_typical_year(one: Station) -> bool:
    return one.source.startswith("EPW")


def of_towns(seen: Comparison, pool: NDArray[np.bool_]) -> list[Fault]:
    """Stations apart from the others of their town, all the year."""
    found = []
    for number in np.flatnonzero(pool).tolist():
        if is_typical_year(seen.table[number]):
            continue
        far, high = seen.away(number)
        near = np.flatnonzero(pool & (far <= TOWN[0]) & (high <= TOWN[1]))
        if near.size < 2:
            continue
        apart = seen.moisture[number] - seen.moisture[near]
        one_side = (apart > 0.0).all() or (apart < 0.0).all()
        if one_side and abs(apart.mean()) >= TOWN_APART and np.abs(apart.mean(1)).min() >= 1.0:
            found.append(
                Fault(seen.table[number].id, 0, "graded C", None, None, float(apart.mean()))
            )
    return found


def smoothed(departure: Floats) -> Floats:
    phase = 2.0 * np.pi * np.arange(12) / 12.0
    waves = np.stack([np.ones(12), np.cos(phase), np.sin(phase)], axis=1)
    return np.asarray(waves @ np.linalg.lstsq(waves, departure, rcond=None)[0])


def of_months(departure: Floats, scatter: Floats) -> dict[int, float]:
    """Months (0 to 11) to mend, and the departure that each is given."""
    left = departure.copy()
    mended: dict[int, float] = {}
    while len(mended) < 4:
        beside = 0.5 * (np.roll(left, 1) + np.roll(left, -1))
        jump = np.abs(left - beside)
        own = 1.4826 * np.median(jump)
        usual = np.maximum(SCATTERS * np.hypot(USUAL_SCATTER, scatter), OWN_SCATTERS * own)
        faulty = jump >= np.maximum(JUMP, usual)
        if not faulty.any():
            break
        month = int(np.argmax(np.where(faulty, jump, 0.0)))
        left[month] = beside[month]
        mended[month] = float(beside[month])
    return mended


def find(table: Sequence[Station]) -> list[Fault]:
    """Every finding on the stations as the table gives them."""
    seen = Comparison(table)
    american = np.array([is_american_report(one) for one in table])
    typical = np.array([is_typical_year(one) for one in table])
    good = np.array([one.grade != "C" for one in table]) & ~american
    found = of_towns(seen, good)
    apart = {one.id for one in found}
    good &= np.array([one.id not in apart for one in table])
    settled = good & ~typical
    for number in np.flatnonzero(american).tolist():
        compared = seen.departure(number, settled)
        mean = np.nan if compared is None else float(compared[0].mean())
        found.append(Fault(table[number].id, 0, "graded C", None, None, mean))
    for number, one in enumerate(table):
        if one.id in apart | REALLY_APART or american[number]:
            continue
        compared = seen.departure(number, settled)
        if compared is None:
            continue
        departure, scatter = compared
        if typical[number]:
            change = smoothed(departure) - departure
            months = {month: departure[month] + change[month] for month in range(12)}
            measure = "smoothed"
        else:
            months, measure = of_months(departure, scatter), "mended"
        for month, kept in sorted(months.items()):
            wanted = seen.moisture[number, month] - departure[month] + kept
            found.append(
                Fault(
                    one.id,
                    month + 1,
                    measure,
                    float(one.relative_humidity[month]),
                    humidity_for(wanted, float(one.temperature[month])),
                    float(departure[month] - kept),
                )
            )
    return sorted(found, key=lambda fault: (fault.id, fault.month))


def text(value: float | None) -> str:
    return "" if value is None or np.isnan(value) else f"{value:.1f}"


def rows(found: Sequence[Fault]) -> list[list[str]]:
    """The table of findings, with its head."""
    head = ["id", "month", "measure", "humidity_given", "humidity_used", "apart", "source", "basis"]
    return [
        head,
        *(
            [
                one.id,
                str(one.month),
                one.measure,
                text(one.given),
                text(one.used),
                text(one.apart),
                SOURCE,
                "fitted; bounds are judgement",
            ]
            for one in found
        ),
    ]


if __name__ == "__main__":
    with (DATA / "station_faults.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows(find(tuple(stations.as_given()))))
