"""Processor time of courses: `python -m tests.bench.course`; prints, asserts nothing.

What was aimed at: 20 years with the spread under 0.5 s, a one-year course without it under 20 ms
(500 in 10 s).  The same year through scipy's `solve_ivp` stands beside it, with the difference of
both answers, because speed without the answer is worth nothing.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Final

import numpy as np

from model import spread
from model.answers.course import summaries, thinned
from model.behaviour import course
from model.behaviour.course import Stay
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Faces, face
from model.surroundings import room
from tests.reference.test_course_by_ode import DAYS, Slow, by_the_model

REPEATS: Final = 5


def seconds(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median processor time [s] of a piece of work, the first run left out."""
    work()
    took = []
    for _ in range(repeats):
        begin = time.process_time()
        work()
        took.append(time.process_time() - begin)
    return statistics.median(took)


def main() -> None:
    """Print the table."""
    slab = Slab(species.find("American elm"), 0.8636, 0.0508, 2.4384)
    faces = Faces(face("oiled"), face("bare"))
    humidity = 38.0 - 14.0 * np.cos((np.arange(12) + 0.5) / 6.0 * np.pi)
    air = room.from_months(np.full(12, 21.0), humidity).air

    def of(days: float, draws: int) -> Callable[[], object]:
        stay = Stay(air, days, faces, humidity_spread=6.0)
        samples = spread.draw(draws)

        def work() -> object:
            found = course.run(slab, 12.5, [stay], samples, start_day=265.0)
            summaries(found, [stay])
            return thinned(found)

        return work

    rows = [
        ("a year, central case", of(365.0, 0), 0.020),
        ("a year with the spread", of(365.0, 128), None),
        ("20 years, central case", of(7305.0, 0), None),
        ("20 years with the spread", of(7305.0, 128), 0.5),
    ]
    for title, work, aim in rows:
        aimed = "" if aim is None else f"   aimed at {1000.0 * aim:.0f}"
        print(f"{title:28s}{1000.0 * seconds(work):9.1f} ms{aimed}")
    many = seconds(lambda: [rows[0][1]() for _ in range(500)], 1)
    print(f"{'500 one-year courses':28s}{1000.0 * many:9.0f} ms   aimed at 10000")
    days = np.arange(5.0, DAYS, 10.0)
    ours = seconds(lambda: by_the_model(60.0, 8.0, 0.0, days))
    slow = Slow(60.0, 8.0, 0.0)
    theirs = seconds(lambda: slow.cups(days), 1)
    expected = slow.cups(days)
    miss = np.abs(by_the_model(60.0, 8.0, 0.0, days) - expected).max()
    print(f"{'300 days here':28s}{1000.0 * ours:9.1f} ms")
    print(
        f"{'the same by solve_ivp':28s}{1000.0 * theirs:9.0f} ms, {theirs / ours:.0f} times as long"
    )
    print(f"largest difference of the cup {miss:.2f} mm of {np.abs(expected).max():.1f}")


if __name__ == "__main__":
    main()
