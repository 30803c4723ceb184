"""Loads on a slab: beam theory, and what somebody who sits on it does."""

from __future__ import annotations

import pytest

from model.behaviour import loads
from model.behaviour.slab import Slab
from model.properties import strength
from model.properties.species import elastic, find

OAK = find("white oak")


def test_own_weight_bends_as_beam_theory_says() -> None:
    # A strip 1 m wide, 50 mm thick, 700 kg/m3: q = 343.23 N/m, I = 1.0416667e-5 m4 (by hand).
    assert loads.sag_of_weight(0.4, 0.05, 900e6, 700.0) == pytest.approx(
        343.23275 * 0.4**4 / (8.0 * 900e6 * 1.0416667e-5)
    )
    still = loads.sag_of_weight(0.4, 0.05, 900e6, 700.0)
    assert loads.sag_of_weight(0.4, 0.05, 900e6, 700.0, 2.0) == pytest.approx(3.0 * still)
    # Between two supports 5 q L4/(384 EI), 1.6 times that for good (EN 1995-1-1 k_def 0.6, memory).
    assert loads.sag_along(1.8, 0.05, 12e9, 700.0) == pytest.approx(
        1.6 * 5.0 * 343.23275 * 1.8**4 / (384.0 * 12e9 * 1.0416667e-5)
    )


def test_a_corner_never_bends_less_than_an_edge_nor_past_its_bound() -> None:
    by = [loads.on_a_corner(OAK, 1000.0, out, ratio=2.0) for out in (0.01, 0.3, 0.4, 0.5, 0.9, 3.0)]
    assert by == pytest.approx([500.0 * 0.91, 600.0, 650.0, 700.0, 900.0, 1000.0])
    assert loads.on_a_corner(OAK, 1000.0, -1.0, ratio=2.0) == pytest.approx(250.0)
    assert loads.on_an_edge(OAK, 1000.0, ratio=2.0) == pytest.approx(250.0)


@pytest.mark.parametrize("corner", [False, True])
@pytest.mark.parametrize("groove", [0.0, 0.008])
def test_a_slab_as_thick_as_would_do_is_just_safe_to_sit_on(corner: bool, groove: float) -> None:
    told = loads.sat_on(Slab(OAK, 0.9, 0.05), 0.3, 1300.0, groove, corner=corner)
    just = Slab(OAK, 0.9, told.thick_enough)
    made = loads.sat_on(just, 0.3, 1300.0, groove, corner=corner)
    across = strength.of(OAK).tension_across
    assert made.index == pytest.approx(1.0)
    assert made.stress == pytest.approx(0.3 * across)  # a third of a test piece (judgement)
    assert made.breaks == strength.chance([made.stress], across, strength.STRENGTH_CV)
    assert told.moment == made.moment
    assert told.stress == pytest.approx(6.0 * told.moment / (0.05 - groove) ** 2)
    # The sag is that of the whole thickness (computed: 2.1 for an edge, 5.8 for a corner).
    ratio = (strength.modulus_along(OAK) / elastic(OAK).E_T) ** 0.25
    wanted = (5.8 if corner else 2.1) * 1300.0 * 0.3**2 / (elastic(OAK).E_T * 0.05**3 * ratio)
    assert told.sag == pytest.approx(wanted)


def test_a_top_tips_when_the_load_outweighs_half_its_base() -> None:
    # 60 kg on a base 0.5 m wide: 60 x 9.80665 x 0.25 = 147.1 N m; 0.2 m out that is 735.5 N.
    assert not loads.tips(0.2, 735.4, 60.0, 0.5)
    assert loads.tips(0.2, 735.6, 60.0, 0.5)
