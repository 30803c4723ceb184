"""What one fixing in a slab bears, part by part, and the chance that it tears.

A fixing is as strong as the weakest of the wood round its thread, the wood between it and the edge,
its bolt or core, and the head or washer on its bar.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.behaviour.bars import Bar
from model.codes import Note
from model.properties import strength
from model.properties.fasteners import (
    DURATION,
    GAMMA,
    GAMMA_BOLT,
    KMOD_PERMANENT,
    TEST_MEANS,
    Fastener,
    Place,
    Withdrawal,
    bolt_tension,
    head_pull_through,
)

Part = Literal["thread-draws", "edge-splits", "bolt-parts", "head-draws-through"]
Verdict = Literal["hold", "without-margin", "may-tear", "will-tear"]

# From half the distance that is asked for to none the wood beside a fixing bears in proportion
# (judgement; no tests found).
EDGE_COUNTS_BELOW: Final = 0.5
# Variation from fixing to fixing: of screws, and of inserts, of which no tests were found
# (judgement).
SCREW_CV: Final = 0.25
INSERT_CV: Final = 0.40


@dataclass(frozen=True, slots=True)
class Anchor:
    """What one fixing bears [N].

    Attributes
    ----------
    thread : float
        Length of it that holds wood [m]: what is told, as far as there is wood.
    wood, bolt, head : float or None
        Allowable for good: drawn out of the wood, its edge counted; the bolt or core; the head or
        washer in a wooden bar.  None where no rule gives one.
    allowable : float or None
        The least of them; None where the wood's is not known.
    tears_at : float or None
        Pull that draws the average one in months [N].
    variation : float
        Coefficient of variation of that.
    weakest : str
        The part that is least, as a code.
    edge : float
        Share that the distances from edge and end leave, 0 to 1.
    """

    thread: float
    wood: float | None
    bolt: float
    head: float | None
    allowable: float | None
    tears_at: float | None
    variation: float
    weakest: Part
    edge: float


def threaded(fastener: Fastener, wood: float) -> Fastener:
    """The fastener with as much of its thread as there is wood for [m]."""
    return fastener if fastener.thread <= wood else replace(fastener, thread=max(wood, 1e-6))


def clipped(fastener: Fastener, wood: float) -> list[Note]:
    """What is said of a thread longer than the wood there is [m]."""
    if fastener.thread <= wood * (1.0 + 1e-9):
        return []
    return [Note("thread-clipped", thread=fastener.thread, wood=wood)]


def anchor(
    fastener: Fastener,
    held: Withdrawal,
    where: Place,
    from_edge: float,
    bar: Bar | None = None,
    from_end: float | None = None,
) -> Anchor:
    """What one fixing bears.

    Parameters
    ----------
    fastener : Fastener
        With the thread that holds: see `threaded`.
    held : Withdrawal
        Of that thread.
    where : Place
        What distances it asks for.
    from_edge : float
        Of this one [m].
    bar : Bar, optional
        What its head bears on; steel when left out.
    from_end : float, optional
        From the end grain [m]; far when left out.
    """
    edge = min(max(from_edge, 0.0) / (EDGE_COUNTS_BELOW * where.edge), 1.0)
    if from_end is not None:
        edge = min(max(from_end, 0.0) / (EDGE_COUNTS_BELOW * where.end), edge)
    bolt = bolt_tension(fastener)
    head = None
    if bar is not None and bar.density is not None:
        head = head_pull_through(fastener.head_across, bar.density) * KMOD_PERMANENT / GAMMA
    variation = INSERT_CV if fastener.kind == "threaded_insert" else SCREW_CV
    if held.allowable is None or held.test_mean is None:
        return Anchor(
            fastener.thread, None, bolt, head, None, None, variation, "thread-draws", edge
        )
    wood = held.allowable * edge
    parts: list[tuple[float, Part]] = [
        (wood, "edge-splits" if edge < 1.0 else "thread-draws"),
        (bolt, "bolt-parts"),
    ]
    if head is not None:
        parts.append((head, "head-draws-through"))
    least, weakest = min(parts)
    # Means of tests last minutes; the pull stays for months.
    lasting = DURATION["permanent"] / DURATION["ten_minutes"]
    mean = held.test_mean[0] * float(np.sqrt(TEST_MEANS[1] / TEST_MEANS[0]))
    wet = held.factors["wet"]
    ends = [mean * lasting * wet * edge, bolt * GAMMA_BOLT]
    if head is not None:
        ends.append(head / KMOD_PERMANENT * GAMMA * lasting * 1.3)
    return Anchor(
        fastener.thread, wood, bolt, head, least, max(min(ends), 1e-9), variation, weakest, edge
    )


def verdict(tears: float, of_allowable: float) -> Verdict:
    """What a chance of tearing comes to, and a pull over the allowable one."""
    if tears > 1.0 - strength.UNLIKELY:
        return "will-tear"
    if tears >= strength.UNLIKELY:
        return "may-tear"
    return "hold" if of_allowable <= 1.0 else "without-margin"
