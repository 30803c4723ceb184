"""Bars under a slab: what they leave of a cup, what they and their fixings bear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import spread
from model.answers import stiffening
from model.answers.stiffening import Stiffened
from model.behaviour import bars, restraint, stiffeners
from model.behaviour.slab import Slab
from model.behaviour.stiffeners import Stiffeners
from model.properties import finishes, species
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.surroundings import room

OAK = species.find("northern red oak")
CENTRAL = spread.draw(0)
INSERT = Fastener("threaded_insert", diameter=0.0127, thread=0.025, shank=0.008)
ONE_SIDED = Faces(finishes.face("bare"), finishes.face("closed"))
ROOM = room.constant(20.0, 35.0)
SLAB = Slab(OAK, width=0.6, thickness=0.05, length=1.8, ring_angle=0.0, pith_below=None)


def held(
    bar: bars.Bar,
    count: int = 6,
    *,
    across: tuple[float, ...] = (0.05, 0.2, 0.3, 0.4, 0.55),
    recess: float = 0.0,
    samples: spread.Samples = CENTRAL,
    limit: float | None = None,
    fastener: Fastener | None = INSERT,
    slab: Slab = SLAB,
    faces: Faces = ONE_SIDED,
) -> Stiffened:
    placed = Stiffeners(bar, stiffeners.evenly(count, 1.8), across, fastener, recess)
    return stiffening.stiffen(
        slab, 12.0, faces, ROOM, 0.0, placed, samples, limit=limit, days=365.0
    )


def test_a_bar_lessens_the_cup_and_a_stiffer_one_more() -> None:
    cups = [
        abs(float(held(bars.flat(0.04, height)).largest_midway[0]))
        for height in (0.002, 0.006, 0.012)
    ]
    free = abs(float(held(bars.flat(0.04, 0.006)).largest_free[0]))
    assert free > cups[0] > cups[1] > cups[2]


def test_a_bar_of_no_stiffness_changes_nothing() -> None:
    made = held(bars.given(1e-15, 1e9, 1e-6, 1e-3))
    np.testing.assert_allclose(made.midway, made.free, atol=1e-9)
    assert float(made.largest_moment[0]) == pytest.approx(0.0, abs=1e-3)


def test_without_set_the_engine_gives_the_plain_share_and_moment() -> None:
    # Bars close together, elastic wood: residual = free EwIw/(EwIw + EsIs), moment = free EwIw
    # EsIs/(EwIw + EsIs) (statics).  The wood's modulus follows its moisture layer by
    # layer, the plain rule takes the one at 12 %: within the 13-15 % it gains by drying to 6 %.
    elastic = replace(CENTRAL, mechano=np.zeros(1))
    bar = bars.flat(0.04, 0.006)
    made = held(bar, count=30, samples=elastic)
    wood = float(species.elastic(OAK).E_T) * 0.05**3 / 12 * made.layout.strip
    free = float(made.largest_free[0])
    share = wood / (wood + bar.stiffness)
    assert float(made.largest_midway[0]) / free == pytest.approx(share, abs=0.05)
    moment = 8 * free / 0.6**2 * share * bar.stiffness
    assert float(made.largest_moment[0]) == pytest.approx(moment, rel=0.15)


def test_set_lets_most_of_the_moment_go() -> None:
    made = held(bars.flat(0.04, 0.012))
    assert float(made.largest_moment[0]) < made.moment_elastic
    assert float(made.moment_lasting[0]) < float(made.largest_moment[0])


def test_the_moment_is_on_the_side_the_slab_wants_to_go() -> None:
    # Bottom closed: the top dries first and hollows, edges up, off a bar on the underside.
    made = held(bars.flat(0.04, 0.006))
    assert float(made.largest_free[0]) > 0.0
    assert float(made.largest_moment[0]) > 0.0
    turned = held(bars.flat(0.04, 0.006), faces=Faces(ONE_SIDED.bottom, ONE_SIDED.top))
    assert float(turned.largest_free[0]) < 0.0
    assert float(turned.largest_moment[0]) < 0.0


def test_anchors_near_a_bar_s_ends_carry_the_pull() -> None:
    # Common practice: no source.
    made = held(bars.flat(0.04, 0.012))
    assert made.pulls is not None
    outer = min(made.pulls.by_point[0], made.pulls.by_point[-1])
    assert max(made.pulls.by_point[1:-1]) < 0.2 * outer


def test_three_moments_over_the_span_is_the_least_an_outer_fixing_bears() -> None:
    made = held(bars.flat(0.04, 0.012))
    assert made.pulls is not None
    assert float(made.pulls.hardest[0]) > 0.9 * float(made.pulls.by_rule[0])


def test_a_frame_held_by_small_screws_tears_loose_and_by_bolts_it_holds() -> None:
    # Common practice: no source.  A stiff cabinet under a slab dried on one face.
    frame = bars.given(second_moment=2e-7, modulus=11e9, area=4e-3, centroid=0.04)
    small = Fastener("wood_screw", diameter=0.0035, thread=0.008)
    large = Fastener("lag_screw", diameter=0.010, thread=0.040)
    loose, firm = (held(frame, count=4, fastener=one).pulls for one in (small, large))
    assert loose is not None
    assert firm is not None
    assert loose.verdict in ("without-margin", "may-tear", "will-tear")
    assert firm.verdict == "hold"


def test_a_solid_bar_splits_what_a_slotted_one_leaves_whole() -> None:
    # Common practice: no source.
    made = held(bars.flat(0.04, 0.006))
    assert made.fixed_solid is not None
    assert float(made.fixed_solid.wood_index[0]) > 1.0
    # The slotted bar itself adds little to what drying does to the wood anyway.
    assert float(made.index_held[0]) < 1.2 * float(made.index_free[0])


def test_a_groove_costs_stiffness_and_is_told() -> None:
    surface = held(bars.flat(0.04, 0.012))
    let_in = held(bars.flat(0.04, 0.012), recess=0.012)
    assert surface.groove_loss == 0.0
    strip, width, depth = 0.3, 0.04, 0.012
    # Net strip by hand (parallel axes): 300 x 50 less 40 x 12 at the bottom.
    area = strip * 0.05 - width * depth
    middle = (strip * 0.05 * 0.025 - width * depth * 0.006) / area
    second = strip * 0.05**3 / 12 + strip * 0.05 * (0.025 - middle) ** 2
    second -= width * depth**3 / 12 + width * depth * (middle - 0.006) ** 2
    assert let_in.groove_loss == pytest.approx(1 - second / (strip * 0.05**3 / 12), rel=1e-9)
    assert "groove-weakens" in {note.code for note in let_in.notes}


def test_the_number_of_bars_keeps_the_cup_within_its_limit() -> None:
    bar = bars.flat(0.012, 0.040)  # on edge
    made = held(bar, limit=0.002, samples=spread.draw(32))
    assert made.needed is not None
    assert made.needed_careful is not None
    assert made.needed <= made.needed_careful
    again = held(bar, count=made.needed)
    assert abs(float(again.largest_midway[0])) <= 0.002
    assert held(bars.flat(0.01, 0.001), limit=1e-5).needed is None


@given(
    st.floats(1e-3, 0.05), st.floats(1e3, 5e4), st.floats(10.0, 1e5), st.floats(0.5, 4.0),
    st.floats(0.2, 1.2), st.floats(0.1, 0.9),
)  # fmt: skip
def test_one_bar_fewer_than_needed_is_too_few(
    free: float, bending: float, bar: float, length: float, width: float, share: float
) -> None:
    amounts = stiffeners.cups_by_count([[free]], 0.0, bending, bar, length, width)[:, 0]
    enough = np.flatnonzero(amounts <= share * free)
    assert np.all(np.diff(amounts) <= 1e-15)  # another bar never lets it cup more
    if enough.size == 0:
        return
    count = int(enough[0])

    def midway(n: int) -> float:
        return float(free * restraint.cup_along(bending, bar, length / n, width)[1])

    assert midway(count) <= share * free
    if count > 1:
        assert midway(count - 1) > share * free


def test_bars_packed_out_do_not_take_out_the_cup_they_go_on_to() -> None:
    bar = bars.flat(0.012, 0.040)
    placed = Stiffeners(bar, stiffeners.evenly(4, 1.8), (0.05, 0.3, 0.55), INSERT, shimmed=True)

    def wanted(limit: float) -> stiffening.Stiffened:
        return stiffening.stiffen(
            SLAB, 12.0, ONE_SIDED, ROOM, 0.0, placed, spread.draw(8), cup=0.006, limit=limit
        )

    over = wanted(0.003)
    assert over.needed is None
    assert over.needed_careful is None
    assert "cupped-beyond-the-limit" in {note.code for note in over.notes}
    # Cup and all: what it stands at counts together with what is still to come.
    within = wanted(0.008)
    assert within.needed is not None
    assert within.needed > 0
    assert abs(float(within.largest_free[0])) > 0.008


def test_a_bar_of_which_only_the_stiffness_is_known_tells_no_stress() -> None:
    made = held(bars.given(4e-7, 200e9, 8e-4))
    assert made.bar_stress is None
    assert held(bars.flat(0.04, 0.012)).bar_stress is not None


def test_a_bar_that_would_bend_for_good_is_said_to() -> None:
    # Two thin bars on edge take the whole slab's moment: far over the 235 MPa of S235 (EN 10025-2,
    # memory); six stout ones stay below it.
    weak, stout = held(bars.flat(0.003, 0.040), count=2), held(bars.flat(0.012, 0.040))
    assert weak.bar_stress is not None
    assert stout.bar_stress is not None
    assert float(weak.bar_stress[0]) > 235e6 > float(stout.bar_stress[0])
    assert "bar-overloaded" in {note.code for note in weak.notes}
    assert "bar-overloaded" not in {note.code for note in stout.notes}


def test_bars_share_the_slab_s_length() -> None:
    assert stiffeners.evenly(4, 2.0) == (0.25, 0.75, 1.25, 1.75)
    even = stiffeners.layout((0.25, 0.75, 1.25, 1.75), 2.0)
    assert even.widest == pytest.approx(0.5)
    # A long free end is like the middle between two bars twice as far apart.
    lopsided = stiffeners.layout((0.1, 0.5), 2.0)
    assert lopsided.widest == pytest.approx(3.0)


def test_bars_packed_out_start_slack_at_the_cup_of_the_day() -> None:
    bar = bars.flat(0.04, 0.012)
    placed = Stiffeners(bar, stiffeners.evenly(6, 1.8), (0.05, 0.3, 0.55), INSERT, shimmed=True)
    still = room.constant(20.0, 64.9)
    made = stiffening.stiffen(
        SLAB, 12.0, ONE_SIDED, still, 0.0, placed, CENTRAL, cup=0.004, days=30.0
    )
    # Packed out, they start with the cup and no moment, and bear only what it changes by.
    assert float(made.midway[0, 0]) == pytest.approx(0.004, abs=1e-6)
    assert abs(float(made.moment[0, 0])) < 1e-6
    straight = replace(placed, shimmed=False)
    drawn = stiffening.stiffen(
        SLAB, 12.0, ONE_SIDED, still, 0.0, straight, CENTRAL, cup=0.004, days=30.0
    )
    assert float(drawn.midway[0, 0]) < 0.0035
    assert float(drawn.moment[0, 0]) > 50.0


def test_every_figure_has_its_spread() -> None:
    made = held(bars.flat(0.04, 0.006), samples=spread.draw(32))
    for name in ("largest_free", "largest_midway", "largest_moment", "index_held", "bar_stress"):
        values = getattr(made, name)
        assert values is not None
        figure = spread.figure(values)
        assert figure.low is not None
        assert figure.high is not None
        assert figure.low < figure.high
    # The swing of the last year followed, or of its second half, draw by draw.
    late = made.days >= made.days[-1] - 0.5 * 365.0
    for name, swing in (("free", made.yearly_free), ("midway", made.yearly_midway)):
        values = getattr(made, name)[late]
        assert swing == pytest.approx(values.max(axis=0) - values.min(axis=0))
    assert made.moment_lasting.shape == made.largest_moment.shape
    assert np.all(made.moment_lasting <= np.abs(made.largest_moment))


def test_impossible_layouts_are_refused() -> None:
    with pytest.raises(ValueError, match="within the length"):
        stiffeners.layout((2.5,), 2.0)
    with pytest.raises(ValueError, match="same place"):
        stiffeners.layout((0.5, 0.5), 2.0)
    with pytest.raises(ValueError, match="within the width"):
        held(bars.flat(0.04, 0.006), across=(0.05, 0.65))
    with pytest.raises(ValueError, match="length"):
        held(bars.flat(0.04, 0.006), slab=replace(SLAB, length=None))
    with pytest.raises(ValueError, match="goes through"):
        held(bars.flat(0.04, 0.06), recess=0.06)


def test_bars_ever_so_far_apart_leave_the_middle_on_its_own() -> None:
    with np.errstate(all="raise"):
        near, between = restraint.cup_along(10417.0, 2473.0, np.array([1.0, 100.0, 1e4]), 0.02)
    assert between[1:] == pytest.approx([1.0, 1.0], abs=1e-12)
    assert near[1:] == pytest.approx([near[2]] * 2, rel=1e-12)
    assert np.all((near > 0.0) & (near < between))
