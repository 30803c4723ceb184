"""A live server at work: right answers under load, counters over workers, memory that stays."""

from __future__ import annotations

import itertools
import os
import re
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

import numpy as np
import orjson
import pytest
import requests

from tests.service.conftest import Live, serving
from tests.service.traffic import (
    SELDOM,
    Connection,
    asked_until_begun,
    computed,
    every_kind,
    mixed,
)

CALLERS: Final = 6  # three times the workers: always more waiting than can be answered
# `thorough` asks what is promised: 20,000, and 50,000 for the memory.
THOROUGH: Final = os.environ.get("STILLWOOD_HYPOTHESIS") == "thorough"
REQUESTS: Final = 20_000 if THOROUGH else 1_000


@pytest.mark.slow
def test_every_answer_under_load_is_the_computed_one(live: Live) -> None:
    """All questions in all forms, batches and refused ones, byte by byte."""
    asked = list(itertools.islice(mixed(), REQUESTS))
    for each in asked:
        computed(each)

    def ask(part: int) -> tuple[list[float], list[str]]:
        times, wrong = [], []
        connection = Connection(live.address)
        for each in asked[part::CALLERS]:
            begun = time.perf_counter()
            told = asked_until_begun(connection, each.written())
            times.append(time.perf_counter() - begun)
            if told != computed(each):
                wrong.append(f"{each.name} in {each.form}: {told[0]} {told[1][:300]!r}")
        connection.close()
        return times, wrong

    begun = time.perf_counter()
    with ThreadPoolExecutor(CALLERS) as callers:
        parts = list(callers.map(ask, range(CALLERS)))
    seconds = time.perf_counter() - begun
    times = np.array([each for part, _ in parts for each in part])
    wrong = [each for _, part in parts for each in part]
    print(
        f"\n{times.size:,} requests in {seconds:.1f} s ({times.size / seconds:.0f} a second), "
        f"median {1e3 * np.median(times):.1f} ms, 99 % within "
        f"{1e3 * np.percentile(times, 99):.0f} ms, {len(wrong)} wrong"
    )
    assert times.size == REQUESTS
    assert not wrong, wrong[:3]


def test_counters_of_all_workers_are_added_up() -> None:
    line = 'stillwood_http_requests_total{method="GET",route="/v1/equilibrium",status="200"}'
    with serving(STILLWOOD_WORKERS="2") as running:
        path = f"{running.address}/v1/equilibrium?temperature=20C&relative_humidity=50"

        def ask(_: int) -> int:
            # A connection of its own for each, so that both workers get some.
            return requests.get(path, headers={"Connection": "close"}, timeout=60).status_code

        with ThreadPoolExecutor(4) as callers:
            assert set(callers.map(ask, range(200))) == {200}
        # Whichever worker is asked, the sum is the same.
        for _ in range(8):
            told = requests.get(
                f"{running.address}/metrics", headers={"Connection": "close"}, timeout=60
            ).text
            found = re.search(rf"^{re.escape(line)} (\S+)$", told, re.MULTILINE)
            assert found is not None
            assert float(found[1]) == 200
            assert 'pid="' not in told
        logged = [
            orjson.loads(each)
            for each in running.log.read_bytes().splitlines()
            if each.startswith(b"{")
        ]
        assert sum(each["path"] == "/v1/equilibrium" for each in logged) == 200


def resident(process: int) -> int:
    """Bytes of memory a process holds."""
    pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.slow
def test_a_worker_grows_no_further_once_it_has_warmed_up() -> None:
    """Memory after many requests within 5 % of that after few; `thorough`: 50,000 and 5,000.

    What a worker holds goes up and down by a tenth with what it has just computed, so a median is
    compared with a median, each over a round of requests in which every heavy one comes once.
    """
    everything = sum(map(len, every_kind()))
    a_round = SELDOM * len(every_kind()[1])
    # The first requests are one of every kind and load what is loaded when first needed.
    early = 5_000 if THOROUGH else everything + a_round
    late = 50_000 if THOROUGH else early + 2 * a_round
    # max_requests would replace the worker that is measured.
    arguments = "--max-requests 0"
    with serving(
        STILLWOOD_WORKERS="1", GUNICORN_CMD_ARGS=arguments, STILLWOOD_LOG="off"
    ) as running:
        (worker,) = running.workers
        held = []
        connection = Connection(running.address)
        for asked in itertools.islice(mixed(), late):
            connection.ask(asked.written())
            held.append(resident(worker) / 2**20)
        connection.close()
        assert running.workers == [worker]
    first, last = (float(np.median(held[end - a_round : end])) for end in (early, late))
    print(f"\nmemory {first:.1f} MiB after {early:,} requests, {last:.1f} MiB after {late:,}")
    assert last <= 1.05 * first


@pytest.mark.slow
def test_charts_drawn_at_the_same_time_are_those_drawn_alone() -> None:
    """A worker draws in several threads, and the drawing library keeps its style for all."""
    charts = [each for each in every_kind()[1] if each.form == "svg"][:8]
    for each in charts:
        computed(each)

    def draw(part: int, address: str) -> list[str]:
        connection = Connection(address)
        turned = charts[part:] + charts[:part]
        wrong = [
            each.name
            for each in turned
            if asked_until_begun(connection, each.written()) != computed(each)
        ]
        connection.close()
        return wrong

    with (
        serving(STILLWOOD_WORKERS="1", STILLWOOD_LOG="off") as running,
        ThreadPoolExecutor(4) as callers,
    ):
        drawn = [callers.submit(draw, part, running.address) for part in range(4)]
        assert [each.result() for each in drawn] == [[]] * 4
