"""Which fixing of a bar decides, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from model.behaviour import bar_forces
from model.behaviour.anchorage import Anchor
from model.properties import fasteners, strength
from model.properties.fasteners import Fastener

SCREW = Fastener("wood_screw", 0.008, 0.040)
ANCHOR = Anchor(0.04, 900.0, 4000.0, None, 900.0, 3000.0, 0.25, "thread-draws", 1.0)


def pulled(each: Any, anchors: tuple[Anchor, ...] | None, moment: Any = None) -> Any:
    """Of fixings 100, 300 and 500 mm from an edge, by their pulls (times, samples, points) [N]."""
    pulls = np.asarray(each, dtype=float)
    turns = np.zeros(pulls.shape[:2]) if moment is None else np.asarray(moment, dtype=float)
    by: Any = SimpleNamespace(on_fixings=lambda _: pulls, on_bar=lambda _: turns)
    bars: Any = SimpleNamespace(
        across=(0.1, 0.3, 0.5)[: pulls.shape[2]], fastener=None if anchors is None else SCREW
    )
    places: Any = None
    if anchors is not None:
        places = SimpleNamespace(points=tuple(SimpleNamespace(anchor=one) for one in anchors))
    return bar_forces.pulled(bars, by, SimpleNamespace(moment=None), places)  # type: ignore[arg-type]


def test_the_fixing_likeliest_to_tear_decides_even_where_another_is_pulled_harder() -> None:
    weak = replace(ANCHOR, tears_at=800.0, allowable=300.0)
    made = pulled([[[600.0, 900.0, 400.0]], [[100.0, 950.0, 500.0]]], (weak, ANCHOR, ANCHOR))
    assert made.by_point == (600.0, 950.0, 500.0)
    assert made.longest == 1
    assert made.worst == 0
    assert made.anchor is weak
    assert made.hardest.tolist() == [600.0]
    assert made.tears == pytest.approx(strength.chance([600.0], 800.0, 0.25))
    assert made.of_allowable.tolist() == [2.0]
    assert made.verdict == "may-tear"
    # Of two that surely tear alike the one nearer its end.
    made = pulled([[[9e9, 8e9, 1.0]]], (ANCHOR, replace(ANCHOR, tears_at=100.0), ANCHOR))
    assert made.worst == 1
    assert made.verdict == "will-tear"
    made = pulled([[[600.0, 900.0, 1.0]]], (ANCHOR,) * 3)
    assert (made.worst, made.verdict) == (1, "hold")
    assert pulled([[[600.0, 901.0, 1.0]]], (ANCHOR,) * 3).verdict == "without-margin"


def test_where_nothing_is_known_of_the_fixings_the_most_pulled_is_told_without_a_verdict() -> None:
    unknown = replace(ANCHOR, wood=None, allowable=None, tears_at=None)
    for anchors in ((unknown,) * 3, None):
        made = pulled([[[1.0, 2.0, 5.0]]], anchors)
        assert made.worst == 2
        assert (made.tears, made.verdict, made.of_allowable) == (None, None, None)
    assert made.anchor is None
    assert made.washer is None


def test_a_washer_bridges_the_slot_and_the_hand_check_is_by_the_outermost() -> None:
    made = pulled([[[600.0, 900.0, 1.0]]], (ANCHOR,) * 3, moment=[[-40.0]])
    # 8 mm shank: a slot of 9 mm, a washer of 24 mm (practice, ISO 7093).
    wanted = fasteners.washer_thickness(900.0, 0.009, 0.024, 0.008)
    assert made.washer == pytest.approx(wanted)
    assert made.by_rule == pytest.approx([3.0 * 40.0 / 0.4])


def test_one_fixing_holds_no_bar() -> None:
    assert pulled([[[600.0]]], (ANCHOR,)) is None
    assert pulled([[[600.0, 1.0]]], (ANCHOR,) * 2) is not None
