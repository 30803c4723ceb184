"""The service under load: `python -m tests.bench.load [workers] [times] [costs] [instances]`.

Prints tables and asserts nothing; without a name, all four (some 15 minutes).

workers : throughput of one worker and of two, on the mixed load and on the main question.
times : p50 and p99 of every question at half of the throughput that two workers reach with it.
costs : processor time, bytes and log of every question; memory of a worker.
instances : two instances behind nginx as deployed against one, and one of two ending under load.

Figures of wall time hold for a quiet machine, on whose cores these callers live as well;
processor times hold on a busy one too.
"""

from __future__ import annotations

import gzip
import itertools
import queue
import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

import numpy as np

from tests.service.conftest import Live, free_port, serving
from tests.service.proxy import instance, nginx_before, shares
from tests.service.traffic import Asked, Callers, Connection, first_examples, mixed

SECONDS: Final = 5.0  # of load in one round
ROUNDS: Final = 5
CALLERS: Final = 8
IDLE_SECONDS: Final = 50.0  # the server closes a connection that is idle for 65
# Of the mixed load, from where it has only few heavy requests: one in 50, mean about 5 ms.
MIXED: Final = tuple(each.written() for each in itertools.islice(mixed(), 250, 6_450))
SETTLE: Final = next(each for each in first_examples() if each.name == "settle")


def throughput(address: str, requests: Sequence[bytes], seconds: float = SECONDS) -> float:
    """Replies a second to callers who ask one request after another without pause.

    What was begun is counted to its end, so that a round of few long requests counts them right.
    """
    upcoming = itertools.cycle(requests)
    lock = threading.Lock()
    begun = time.perf_counter()

    def ask(_: int) -> int:
        connection, count = Connection(address), 0
        while time.perf_counter() < begun + seconds:
            with lock:
                request = next(upcoming)
            connection.ask(request)
            count += 1
        connection.close()
        return count

    with ThreadPoolExecutor(CALLERS) as callers:
        count = sum(callers.map(ask, range(CALLERS)))
    return count / (time.perf_counter() - begun)


def times_at(address: str, request: bytes, rate: float, count: int) -> list[float]:
    """Sorted seconds from the planned instant of each request to the end of its reply.

    Requests come on a plan that waits for nobody, at random as from callers who do not know of
    each other (a Poisson process, its seed fixed), so waiting behind others is in the figures.
    Each takes the connection that came free last, or a new one, as nginx does.
    """
    rng = np.random.default_rng(6)
    planned = time.perf_counter() + 0.1 + np.cumsum(rng.exponential(1.0 / rate, count))
    places = iter(range(count))
    free: queue.LifoQueue[tuple[Connection, float]] = queue.LifoQueue()

    def ask(_: int) -> list[float]:
        times = []
        # The next of an iterator over a range is taken whole, without a lock.
        for place in places:
            time.sleep(max(0.0, planned[place] - time.perf_counter()))
            try:
                connection, since = free.get_nowait()
                if time.perf_counter() - since > IDLE_SECONDS:
                    connection.close()
            except queue.Empty:
                connection = Connection(address)
            connection.ask(request)
            times.append(time.perf_counter() - planned[place])
            free.put((connection, time.perf_counter()))
        return times

    with ThreadPoolExecutor(4 * CALLERS) as callers:
        times = sorted(itertools.chain(*callers.map(ask, range(4 * CALLERS))))
    while not free.empty():
        free.get()[0].close()
    return times


def best_and_median(rates: Sequence[float]) -> str:
    """Both of several rounds."""
    return f"{max(rates):8.1f} {statistics.median(rates):8.1f}"


def bench_workers() -> None:
    """Throughput of one worker and of two, in alternating rounds."""
    print("\nThroughput [requests a second], best and median of rounds")
    print(f"{'':16s} {'one worker':>18s} {'two workers':>18s}   ratio of medians")
    with (
        serving(STILLWOOD_WORKERS="1", STILLWOOD_LOG="off") as one,
        serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as two,
    ):
        for title, requests in (("mixed", MIXED), ("settle", (SETTLE.written(),))):
            rates: tuple[list[float], list[float]] = ([], [])
            for place in range(2 * (ROUNDS + 1)):
                live = (one, two)[place % 2]
                rate = throughput(live.address, requests)
                if place >= 2:  # the first round of each loads what is loaded when first needed
                    rates[place % 2].append(rate)
            ratio = statistics.median(rates[1]) / statistics.median(rates[0])
            print(
                f"{title:16s} {best_and_median(rates[0]):>18s} {best_and_median(rates[1]):>18s}"
                f"   {ratio:.2f}"
            )


def bench_times() -> None:
    """p50 and p99 of every question at half of what two workers can."""
    print("\nEvery question at half of the throughput two workers reach with it alone")
    print(
        f"{'':14s} {'most /s':>8s} {'asked /s':>9s} {'requests':>9s} "
        f"{'p50 ms':>8s} {'p99 ms':>8s} {'most ms':>8s}"
    )
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as live:
        for asked in first_examples():
            request = asked.written()
            throughput(live.address, [request], 0.5)
            most = throughput(live.address, [request], 3.0)
            # At least 200, so that two of them lie beyond p99; at most 20 s or 5,000 where quick.
            count = int(min(5_000, max(200, 20.0 * most / 2.0)))
            times = [1e3 * each for each in times_at(live.address, request, most / 2.0, count)]
            p50, p99 = np.percentile(times, [50, 99])
            print(
                f"{asked.name:14s} {most:8.1f} {most / 2:9.1f} {count:9,d} "
                f"{p50:8.1f} {p99:8.1f} {times[-1]:8.1f}",
                flush=True,
            )


def cost_of(live: Live, asked: Asked) -> tuple[float, bytes]:
    """Processor seconds of a request, over 2 s of them, and its reply."""
    connection = Connection(live.address)
    request = asked.written()
    _, reply = connection.ask(request)
    begun, used, count = live.processor_seconds(), 0.0, 0
    while used < 2.0:  # the kernel counts in steps of 0.01 s: to 1 % here
        connection.ask(request)
        count += 1
        if count % 8 == 0:
            used = live.processor_seconds() - begun
    connection.close()
    return used / count, reply


def bench_costs() -> None:
    """Processor time, bytes and log of every question, one caller, one worker."""
    print("\nOne request, by the first example of each question, reply in JSON, logged")
    print(f"{'':14s} {'processor ms':>13s} {'reply bytes':>12s} {'gzipped':>8s} {'asked':>7s}")
    # max_requests would replace the worker whose time is counted.
    with serving(STILLWOOD_WORKERS="1", GUNICORN_CMD_ARGS="--max-requests 0") as live:
        for asked in first_examples():
            seconds, reply = cost_of(live, asked)
            print(
                f"{asked.name:14s} {1e3 * seconds:13.2f} {len(reply):12,d} "
                f"{len(gzip.compress(reply, 1)):8,d} {len(asked.written()):7,d}",
                flush=True,
            )
        connection = Connection(live.address)
        for request in MIXED[:3_100]:
            connection.ask(request)
        connection.close()
        lines = [line for line in live.log.read_bytes().splitlines() if line.startswith(b"{")]
        print(f"log: {sum(map(len, lines)) / len(lines):.0f} bytes a request")
        (worker,) = live.workers
        for title, process in (("worker", worker), ("master", live.process.pid)):
            private, shared = memory(process)
            print(f"memory of the {title}: {private:.0f} MiB its own, {shared:.0f} shared")


def memory(process: int) -> tuple[float, float]:
    """MiB that a process has for itself and that it shares with others."""
    fields = dict(
        line.split(":")
        for line in Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()[1:]
    )
    figures = {name: float(text.split()[0]) / 1024 for name, text in fields.items()}
    private = figures["Private_Clean"] + figures["Private_Dirty"]
    return private, figures["Rss"] - private


def bench_instances() -> None:
    """Two instances of one worker behind nginx against one, then one of two ending under load."""
    if shutil.which("nginx") is None:
        print("\nInstances: nginx is not installed.")
        return
    with tempfile.TemporaryDirectory() as name, instance() as first:
        folder = Path(name)
        print("\nInstances of one worker behind nginx as deployed [requests a second]")
        with instance() as second:
            addresses = [first.address, second.address]
            (folder / "one").mkdir()
            (folder / "two").mkdir()
            with (
                nginx_before(addresses[:1], folder / "one") as one,
                nginx_before(addresses, folder / "two") as two,
            ):
                rates: tuple[list[float], list[float]] = ([], [])
                for place in range(2 * (ROUNDS + 1)):
                    rate = throughput((one, two)[place % 2], MIXED)
                    if place >= 2:
                        rates[place % 2].append(rate)
            ratio = statistics.median(rates[1]) / statistics.median(rates[0])
            print(
                f"mixed: one {best_and_median(rates[0])}, two {best_and_median(rates[1])} "
                f"(best and median), ratio of medians {ratio:.2f}"
            )
            counts = list(shares(folder / "two").values())
            print(f"shares of the two: {', '.join(f'{each / sum(counts):.0%}' for each in counts)}")
        for title, killed in (("stopped", False), ("killed", True)):
            port = free_port()
            (folder / title).mkdir()
            with (
                nginx_before([first.address, f"127.0.0.1:{port}"], folder / title) as front,
                Callers(front) as callers,
            ):
                with instance(port, killed=killed) as second:
                    callers.wait_for(2_000)
                    if killed:
                        second.kill()
                callers.wait_for(2_000)
            print(
                f"one of two {title} under load: {callers.answered:,} answered as computed, "
                f"{len(callers.wrong)} wrong, {len(callers.lost)} without a whole reply"
            )


PARTS: Final[dict[str, Callable[[], None]]] = {
    "workers": bench_workers,
    "times": bench_times,
    "costs": bench_costs,
    "instances": bench_instances,
}


def main(asked: Sequence[str]) -> int:
    """Print the tables asked for, or all."""
    unknown = [name for name in asked if name not in PARTS]
    if unknown:
        print(f"{', '.join(unknown)}: no such part; parts: {', '.join(PARTS)}", file=sys.stderr)
        return 2
    for name in asked or PARTS:
        PARTS[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
