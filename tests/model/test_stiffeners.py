"""How bars hold a slab: against beam theory and the section model they are smeared into."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model import spread
from model.behaviour import bars, restraint, section, stiffeners, timber, transport
from model.behaviour.bars import Bar
from model.behaviour.section import Hold
from model.behaviour.slab import Slab
from model.behaviour.stiffeners import Grip, Stiffeners
from model.properties.fasteners import Fastener
from model.properties.species import find

SLAB = Slab(find("American elm"), 0.6, 0.05, 1.8, ring_angle=0.0)
ANGLE = bars.angle(0.040, 0.040, 0.005)
ACROSS = (0.05, 0.2, 0.4, 0.55)
UNDER = Stiffeners(ANGLE, (0.3, 0.9, 1.5), ACROSS, Fastener("lag_screw", 0.010, 0.040))


def test_a_bar_ends_short_of_the_edges_and_past_its_last_fixing() -> None:
    # 25 mm from the edges, 20 mm past the last fixing (practice, no source).
    assert replace(UNDER, across=(0.1, 0.5)).reach(0.6) == pytest.approx((0.025, 0.575))
    assert replace(UNDER, across=(0.03, 0.58)).reach(0.6) == pytest.approx((0.010, 0.6))
    assert replace(UNDER, across=(0.01, 0.595)).reach(0.6) == pytest.approx((0.0, 0.6))
    assert replace(UNDER, length=0.4).reach(0.6) == pytest.approx((0.1, 0.5))
    assert replace(UNDER, length=0.7).reach(0.6) == pytest.approx((0.0, 0.6))


def test_bars_packed_out_are_slack_at_the_curvature_of_the_cup() -> None:
    # 8 c/W^2: 9 mm over 600 mm are 0.2 1/m.
    assert replace(UNDER, shimmed=True).slack(0.009, 0.6) == pytest.approx(0.2)
    assert UNDER.slack(0.009, 0.6) == 0.0


def test_places_are_evenly_shared_at_the_usual_spacing() -> None:
    assert stiffeners.placed(1.8) == pytest.approx((0.18, 0.54, 0.90, 1.26, 1.62))
    assert stiffeners.placed(0.3) == pytest.approx((0.075, 0.225))
    assert stiffeners.placed(1.8, 1) == (0.9,)
    assert stiffeners.usual_fixings(0.6) == pytest.approx((0.06, 0.222, 0.378, 0.54))


def test_the_widest_gap_counts_an_end_twice() -> None:
    made = stiffeners.layout((1.5, 0.3, 0.8), 1.9)
    assert made.count == 3
    assert made.strip == pytest.approx(1.9 / 3.0)
    assert made.widest == pytest.approx(0.8)
    assert stiffeners.layout((0.5, 0.8), 1.0).widest == pytest.approx(1.0)
    assert stiffeners.layout((0.2, 0.5), 1.0).widest == pytest.approx(1.0)
    for wrong in ((), (-0.1, 0.5), (0.5, 1.1)):
        with pytest.raises(ValueError, match="within the length"):
            stiffeners.layout(wrong, 1.0)
    assert stiffeners.layout((0.0, 1.0), 1.0).count == 2
    with pytest.raises(ValueError, match="same place"):
        stiffeners.layout((0.5, 0.5), 1.0)


def test_a_groove_leaves_what_the_section_without_it_has() -> None:
    # A groove 40 mm wide and 10 mm deep in a strip 600 x 50 mm: by hand with parallel axes.
    flush = replace(UNDER, bar=bars.flat(0.040, 0.010), recess=0.010)
    area, hole = 0.6 * 0.05, 0.04 * 0.01
    middle = (area * 0.025 - hole * 0.005) / (area - hole)
    second = 0.6 * 0.05**3 / 12 + area * (middle - 0.025) ** 2
    second -= 0.04 * 0.01**3 / 12 + hole * (middle - 0.005) ** 2
    left = stiffeners.left_by_grooves(SLAB, 0.6, flush)
    assert left == pytest.approx(second / (0.6 * 0.05**3 / 12))
    assert stiffeners.left_by_grooves(SLAB, 0.6, UNDER) == pytest.approx(1.0)
    # A bar of which only the stiffness is known has no width to let in.
    known = replace(UNDER, bar=bars.given(5e-8, 200e9, 4e-4), recess=0.010)
    assert stiffeners.left_by_grooves(SLAB, 0.3, known) == pytest.approx(1.0)


@pytest.mark.parametrize("recess", [0.0, 0.010])
def test_the_moment_of_the_section_model_says_what_curvature_the_slab_wants(recess: float) -> None:
    # Elastic: what the slab would have if it were free, whatever holds it.
    under = replace(UNDER, bar=bars.flat(0.040, 0.010), recess=recess)
    by = stiffeners.grip(SLAB, under, 12.0)
    mesh = transport.grid(0.05)
    wood = timber.timber_of(SLAB, spread.draw(0), np.array([12.0]))
    elastic = replace(wood, creep=np.zeros(1))
    still = np.full((1, 1, mesh.depth.size), 12.0)
    bent = replace(section.unstressed(still[0]), form=np.array([0.15]))
    held = section.sweep(elastic, mesh, still, bent, by.hold)
    # The layers' sum is a percent above t^3/12.
    assert float(by.wants(held.moment)[0, 0]) == pytest.approx(0.15, rel=0.02)
    share = float(held.curvature[0, 0]) / 0.15
    bare = by.per_metre / (by.per_metre + by.bar / by.layout.strip)
    assert share == pytest.approx(bare, rel=0.02)
    # At the bars as the close solution along the grain has it, midway more.
    at_bars, midway = by.cups(held.curvature * 0.6**2 / 8.0, 0.6)
    near, between = restraint.cup_along(by.per_metre, by.bar, by.layout.widest, 0.6)
    free = 0.15 * 0.6**2 / 8.0
    assert float(at_bars[0, 0]) == pytest.approx(float(near) * free, rel=0.02)
    assert float(midway[0, 0]) == pytest.approx(float(between) * free, rel=0.02)
    assert by.elastic_share == pytest.approx(float(near), rel=1e-9)


def gripped(bar: Bar = ANGLE, cup: float = 0.0, shimmed: bool = False) -> Grip:
    made: Grip = stiffeners.grip(SLAB, replace(UNDER, bar=bar, shimmed=shimmed), 12.0, cup)
    return made


def test_the_slab_is_as_stiff_as_its_modulus_at_its_moisture() -> None:
    wood = timber.timber_of(SLAB, spread.draw(0), np.array([12.0]))
    dry, damp = (stiffeners.grip(SLAB, UNDER, moisture) for moisture in (8.0, 16.0))
    assert gripped().per_metre == pytest.approx(float(wood.modulus[0]) * 0.05**3 / 12.0)
    assert dry.per_metre / gripped().per_metre == pytest.approx(1.1, rel=0.01)
    assert damp.per_metre / gripped().per_metre == pytest.approx(0.9, rel=0.01)


def test_pulls_and_moments_go_with_the_way_the_slab_wants() -> None:
    by = gripped()
    up, down = by.up, by.down
    per = by.free_curvature
    moment = np.array([[-10.0], [20.0]])  # on the slab: against its cup
    assert by.wants(moment) == pytest.approx(np.array([[10.0], [-20.0]]) * per)
    assert by.on_bar(moment) == pytest.approx(
        np.array([[10.0 * per * up.moment], [-20.0 * per * down.moment]])
    )
    assert by.on_fixings(moment)[0, 0] == pytest.approx(10.0 * per * up.pulls)
    assert by.on_fixings(moment)[1, 0] == pytest.approx(20.0 * per * down.pulls)
    # Edges up the outer fixings are drawn, edges down those within.
    assert up.pulls[0] > up.pulls[1]
    assert down.pulls[1] > down.pulls[0]


def test_a_bar_on_soft_fixings_holds_less_than_its_own_stiffness() -> None:
    stiff = replace(UNDER, fastener=Fastener("lag_screw", 0.020, 0.045))
    assert stiffeners.grip(SLAB, UNDER, 12.0).bar < stiffeners.grip(SLAB, stiff, 12.0).bar
    assert gripped().bar < ANGLE.stiffness
    usual = stiffeners.grip(SLAB, replace(UNDER, fastener=None), 12.0)
    screw = replace(UNDER, fastener=Fastener("wood_screw", 0.008, 0.030))
    assert usual.bar == pytest.approx(stiffeners.grip(SLAB, screw, 12.0).bar)
    # With a cup the way it goes counts, without one both alike.
    shares = [1.0 / (1.0 + gripped(cup=cup).bar / gripped().bar) for cup in (0.004, -0.004)]
    assert (shares[0] - 0.5) * (shares[1] - 0.5) < 0.0


def test_a_packed_out_bar_pulls_from_the_cup_of_the_day() -> None:
    by = gripped(cup=0.009, shimmed=True)
    assert by.slack == pytest.approx(0.2)
    assert by.hold == Hold(by.bar / 0.6 / by.left, curvature=by.slack)
    at_bars, midway = by.cups(np.array([[0.009, 0.005]]), 0.6)
    assert at_bars[0, 0] == midway[0, 0] == pytest.approx(0.009)
    assert at_bars[0, 1] == pytest.approx(0.009 - 0.004 * by.near)


def test_more_bars_leave_less_and_none_leaves_all() -> None:
    made = stiffeners.cups_by_count([[0.010], [-0.014]], 0.002, 10417.0, 2473.0, 1.8, 0.6)
    assert made.shape == (61, 1)
    assert made[0, 0] == pytest.approx(0.014)
    assert np.all(np.diff(made[:, 0]) < 0.0)
    _, midway = restraint.cup_along(10417.0, 2473.0, 1.8 / 4.0, 0.6)
    assert made[4, 0] == pytest.approx(abs(0.002 - 0.016 * float(midway)))
