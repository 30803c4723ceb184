"""Speed in ratios: `python -m tests.bench` prints one table and asserts nothing.

Times are processor times, the best of several runs, on a machine that may be busy with other
things: compare figures of one table only.  The service under load: `python -m tests.bench.load`.
"""

from __future__ import annotations

import os
import re
import socket
import statistics
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np
import requests
from numpy.typing import NDArray

from api.app import create_app
from api.questions import BY_NAME
from api.settings import Settings
from deploy.demo import DEMO_PATH
from model import spread
from model.behaviour import transport
from model.properties import finishes, sorption
from model.surroundings import air_series, calendar, room
from tests.bench import bare_route
from tests.bench.yardsticks import QuickSlab
from tests.reference.general_pde import SlabInLibrary
from tests.reference.slab_equation import SlabEquation
from tests.service.conftest import serving

Floats = NDArray[np.float64]

SECONDS_OF_LOAD: Final = 3.0
ROUNDS_OF_LOAD: Final = 5
CLIENTS: Final = 4
SLOWEST: Final = (
    "/v1/settle?units=metric&slab.species=white-oak&slab.width=600&slab.thickness=75"
    "&slab.grain=flat&moisture=14&faces.top=urethane-varnish-3&faces.bottom=urethane-varnish-3"
    "&room.climate=Duluth,MN&room.heat_to=21&starts=2026-09-25"
)


def processor_time(work: Callable[[], object], repeats: int = 7) -> float:
    """Best processor time [s] of a piece of work after one run to warm up."""
    work()
    times = []
    for _ in range(repeats):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


def requests_a_second(address: str, path: str) -> float:
    """Requests a second that a server answers to a few clients with kept connections.

    The clients write one prepared request over and over and look only for the end of each reply:
    at some 20,000 a second a client library would itself be what is measured.
    """
    host, port = address.removeprefix("http://").split(":")
    request = f"GET {path} HTTP/1.1\r\nHost: {host}\r\nAccept: application/json\r\n\r\n".encode()
    counts = [0] * CLIENTS
    stop = time.monotonic() + SECONDS_OF_LOAD

    def ask(place: int) -> None:
        with socket.create_connection((host, int(port)), timeout=30) as connection:
            while time.monotonic() < stop:
                connection.sendall(request)
                read_reply(connection)
                counts[place] += 1

    threads = [threading.Thread(target=ask, args=(place,)) for place in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / SECONDS_OF_LOAD


def read_reply(connection: socket.socket) -> None:
    """Read one reply to its end; anything but 200 with a length stops the bench."""
    got = connection.recv(65_536)
    head, mark, body = got.partition(b"\r\n\r\n")
    length = re.search(rb"(?i)\r\ncontent-length: *(\d+)", head)
    if not (mark and length and head.startswith(b"HTTP/1.1 200")):
        raise RuntimeError(f"unexpected reply: {got[:200]!r}")
    missing = int(length[1]) - len(body)
    while missing > 0:
        missing -= len(connection.recv(65_536))


def line(title: str, figure: str, remark: str = "") -> None:
    """One row of the table."""
    print(f"{title:48s} {figure:>14s}   {remark}")


def processor_seconds_of(leader: int) -> float:
    """Processor time [s] that the workers of a gunicorn have used so far."""
    tick = os.sysconf("SC_CLK_TCK")
    workers = Path(f"/proc/{leader}/task/{leader}/children").read_text().split()
    fields = [Path(f"/proc/{worker}/stat").read_text().rpartition(")")[2] for worker in workers]
    return sum(float(ticks) for each in fields for ticks in each.split()[11:13]) / tick


def bench_server() -> None:
    """`GET /v1/equilibrium` against a route that does nothing, same gunicorn, one worker.

    By requests a second as they were answered, and by the processor time a request took, which
    does not feel what else the machine does.
    """
    path = "/v1/equilibrium?units=metric&temperature=21&relative_humidity=40"
    rates: dict[str, list[float]] = {"ours": [], "bare": []}
    costs: dict[str, list[float]] = {"ours": [], "bare": []}
    # Nobody is replaced after so many requests: this is more than a worker's 50,000.
    once = "--max-requests 0"
    with (
        serving(STILLWOOD_WORKERS="1", GUNICORN_CMD_ARGS=once) as live,
        bare_route.serving() as (bare, bare_leader),
    ):
        for _ in range(ROUNDS_OF_LOAD):
            for name, address, route, leader in (
                ("ours", live.address, path, live.process.pid),
                ("bare", bare, "/", bare_leader),
            ):
                before = processor_seconds_of(leader)
                rate = requests_a_second(address, route)
                used = processor_seconds_of(leader) - before
                rates[name].append(rate)
                costs[name].append(used / (rate * SECONDS_OF_LOAD))
    ours, theirs = (statistics.median(rates[name]) for name in ("ours", "bare"))
    our_cost, their_cost = (statistics.median(costs[name]) for name in ("ours", "bare"))
    line(
        "GET /v1/equilibrium",
        f"{ours:.0f} /s",
        f"{ours / theirs:.2f} of the {theirs:.0f} /s of a bare route; aimed at 0.7",
    )
    line(
        "  processor time a request",
        f"{1e6 * our_cost:.0f} us",
        f"bare {1e6 * their_cost:.0f} us: {their_cost / our_cost:.2f}",
    )


def bench_settle() -> None:
    """Processor time of the main question inside the process, no network."""
    client = create_app(Settings(log="off")).test_client()
    demo = DEMO_PATH.replace("&format=text", "")

    def asked(path: str) -> Callable[[], object]:
        def work() -> object:
            reply = client.get(path)
            assert reply.status_code == 200, reply.text
            return reply

        return work

    plain = processor_time(asked(demo + "&spread=none"))
    drawn = processor_time(asked(demo))
    slow = processor_time(asked(SLOWEST))
    line("settle, demo, no spread", f"{1e3 * plain:.1f} ms", "aimed at 10 ms")
    line("settle, demo, 128 draws", f"{1e3 * drawn:.1f} ms", "aimed at 60 ms")
    line("settle, 75 mm white oak varnished, 128 draws", f"{1e3 * slow:.1f} ms", "aimed at 180 ms")


EQUILIBRIUM: Final = "/v1/equilibrium?units=metric&temperature=21&relative_humidity=40"
# Question, how often, and the times of an equilibrium aimed at: a fifth of what they were.
LONG: Final = (
    ("flattening", 7, 68.0),
    ("diagnosis", 7, 35.0),
    ("stiffening", 9, 19.0),
    ("readiness", 9, 21.0),
    ("conditioning", 9, 21.0),
)


def bench_latency() -> None:
    """Median times of one caller's questions over HTTP, one after the other, one worker."""
    demo = DEMO_PATH.replace("&format=text", "")
    with serving(STILLWOOD_WORKERS="1") as live, requests.Session() as session:

        def median(times: int, work: Callable[[], requests.Response]) -> float:
            taken = []
            for _ in range(times + 2):
                begin = time.perf_counter()
                reply = work()
                taken.append(time.perf_counter() - begin)
                if reply.status_code != 200:
                    raise RuntimeError(reply.text)
            return statistics.median(taken[2:])

        def of(path: str, times: int) -> float:
            return median(times, lambda: session.get(live.address + path))

        light = of(EQUILIBRIUM, 300)
        line("GET /v1/equilibrium, p50", f"{1e3 * light:.2f} ms")
        for title, path, times, aim in (
            ("settle without spread, p50", demo + "&spread=none", 40, 3.0),
            ("settle with 128 draws, p50", demo, 15, 8.0),
        ):
            taken = of(path, times)
            line(
                title, f"{1e3 * taken:.1f} ms", f"{taken / light:.0f} equilibria; aimed at {aim:g}"
            )
        for name, times, aim in LONG:
            body = BY_NAME[name].examples[0].body
            address = f"{live.address}/v1/{name}"
            taken = median(times, partial(session.post, address, json=body))
            line(
                f"{name}, its example, p50",
                f"{1e3 * taken:.0f} ms",
                f"{taken / light:.0f} equilibria; aimed at {aim:g}",
            )


DAYS: Final = [0.0, 10.0, 30.0, 90.0, 180.0, calendar.YEAR]  # on which the error is taken
ERRORS: Final = (1e-2, 5e-3, 3e-3, 2e-3, 1e-3, 5e-4, 3e-4, 1e-4)  # tried from the loosest on


@dataclass(frozen=True, slots=True)
class Raced:
    """Processor time [s] of a slab-year and the largest error of its mean [% M]."""

    seconds: float
    miss: float


def race(means: Callable[[float], Floats], truth: Floats, allowed: float, repeats: int) -> Raced:
    """The quickest run of a solver that misses by no more than allowed, or its best."""
    best = Raced(np.inf, np.inf)
    for error in ERRORS:
        miss = float(np.abs(means(error) - truth).max())
        if miss < best.miss:
            best = Raced(processor_time(partial(means, error), repeats), miss)
        if miss <= allowed:
            break
    return best


def bench_solver() -> None:
    """A slab-year by the model, by scipy's solvers and by a general PDE library at equal error."""
    months = np.arange(12)
    wave = np.cos((months - 6.5) / 6.0 * np.pi)
    inside = room.from_months(20.0 + 2.0 * wave, 42.0 + 13.0 * wave)
    bare = finishes.Faces(finishes.face(), finishes.face())
    mesh = transport.grid(0.05)
    fine = SlabEquation(0.05, 1.6, 0.03, 0.60, inside.air.at, cells=400)
    truth = fine.mean(fine.solve(12.0, DAYS, error=1e-8))

    def year(
        factors: Floats,
        sorption_factors: Floats,
        days: list[float],
        loop: Floats | None = None,
    ) -> transport.Run:
        wood = transport.Wood(1.6 * factors, 0.03, 0.60, 30.0, sorption_factors, loop)
        tolerance, longest_step = transport.central_finely(factors.size)
        return transport.run(
            wood, mesh, 12.0, inside.air, bare, 0.0, calendar.YEAR,
            days=days, tolerance=tolerance, longest_step=longest_step, layers=1,
        )  # fmt: skip

    one = np.ones(1)
    # The others know one sorption curve: the race is on the mean curve.
    miss = float(np.abs(year(one, one, DAYS).mean[:, 0] - truth).max())
    single = processor_time(lambda: year(one, one, DAYS))
    samples = spread.draw(128)
    factors = spread.transport_factor(samples, 2.0)
    each = processor_time(lambda: year(factors, samples.sorption, DAYS)) / samples.count
    line("slab-year, alone", f"{1e3 * single:.2f} ms", f"misses by {miss:.3f} % M")
    line("slab-year, each of 129 in one pass", f"{1e3 * each:.3f} ms", "as the spread asks")
    remembers = processor_time(lambda: year(one, one, DAYS, samples.loop[:1]))
    line("slab-year, alone, with hysteresis", f"{1e3 * remembers:.2f} ms")
    each_remembers = (
        processor_time(lambda: year(factors, samples.sorption, DAYS, samples.loop)) / samples.count
    )
    line("  each of 129 in one pass", f"{1e3 * each_remembers:.3f} ms")
    quick = QuickSlab(fine, mesh.depth)
    rivals = {
        "the same by solve_ivp, BDF, exact Jacobian": (
            race(lambda error: quick.means(12.0, DAYS, error, "BDF"), truth, miss, 5),
            "aimed at 20",
        ),
        "the same by solve_ivp, LSODA, banded": (
            race(lambda error: quick.means(12.0, DAYS, error, "LSODA"), truth, miss, 5),
            "Fortran; no aim",
        ),
        "the same by solve_ivp, BDF, plainly written": (
            race(lambda error: plain_means(inside.air, error), truth, miss, 2),
            "aimed at 20",
        ),
        "the same by py-pde, even cells": (
            race(lambda error: library_means(inside.air, error), truth, miss, 1),
            "aimed at 100",
        ),
    }
    for title, (rival, aim) in rivals.items():
        line(
            title,
            f"{1e3 * rival.seconds:.1f} ms",
            f"{rival.seconds / single:.1f} x alone, {rival.seconds / each:.0f} x in one pass; "
            f"misses by {rival.miss:.3f}; {aim}",
        )


def plain_means(air: air_series.Air, error: float) -> Floats:
    """The yardstick of the tests on as many unknowns: a Jacobian of three bands by differences."""
    plain = SlabEquation(0.05, 1.6, 0.03, 0.60, air.at, cells=transport.NODES)
    return plain.mean(plain.solve(12.0, DAYS, error=error))


def library_means(air: air_series.Air, error: float) -> Floats:
    """The library's own implicit solver on the fewest even cells that miss by as little (60)."""
    even = SlabEquation(0.05, 1.6, 0.03, 0.60, air.at, cells=60, graded=False)
    return SlabInLibrary(even).means(12.0, DAYS, error)


def bench_equilibria() -> None:
    """A million equilibria against the formula written out with numpy."""
    rng = np.random.default_rng(1)
    warmth, humidity = rng.uniform(0.0, 40.0, 1_000_000), rng.uniform(5.0, 90.0, 1_000_000)

    def bare() -> object:
        t, h = warmth, humidity / 100.0
        w = 349.0 + 1.29 * t + 0.0135 * t**2
        k = 0.805 + 0.000736 * t - 0.00000273 * t**2
        k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
        k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
        kh = k * h
        bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
        return 1800.0 / w * (kh / (1.0 - kh) + bound)

    ours = processor_time(lambda: sorption.equilibrium_moisture(warmth, humidity))
    theirs = processor_time(bare)
    line(
        "1,000,000 equilibria",
        f"{1e3 * ours:.0f} ms",
        f"{ours / theirs:.2f} of bare numpy; aimed at 1.5",
    )


def bench_draws() -> None:
    """What the draws themselves cost, once per count and seed."""
    uncached = spread.draw.__wrapped__
    line("128 draws, made once", f"{1e3 * processor_time(lambda: uncached(128, 1)):.1f} ms")


def main() -> None:
    """Print the table."""
    bench_equilibria()
    bench_solver()
    bench_draws()
    bench_settle()
    bench_latency()
    bench_server()


if __name__ == "__main__":
    main()
