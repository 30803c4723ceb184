"""The section of a slab: stiffness, swelling and creep by how its rings lie."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from model import spread
from model.behaviour import section, timber
from model.behaviour.slab import Slab
from model.properties.species import elastic, find

OAK = find("white oak")
CENTRAL, AT = spread.draw(0), np.array([12.0])
E = elastic(OAK)
STIFF = float(CENTRAL.modulus[0])
# Total shrinkage over the start of shrinkage, on the size at 12 %.
ALONG, OVER = (
    total / 100.0 / 30.0 / (1.0 - total / 100.0 * (1.0 - 12.0 / 30.0))
    for total in (OAK.tangential, OAK.radial)
)


def slab_of(below: float | None = None, across: float = 0.0, angle: float | None = None) -> Slab:
    return Slab(OAK, 0.6, 0.05, ring_angle=angle, pith_below=below, pith_across=across)


def made(slab: Slab) -> section.Timber:
    return timber.timber_of(slab, CENTRAL, AT)


def test_rings_along_the_width_and_across_it_give_the_two_plain_cases() -> None:
    assert OAK.shrinkage_starts == 30.0
    flat, quarter = made(slab_of(below=1000.0)), made(slab_of(angle=90.0))
    assert flat.modulus[0] == pytest.approx(STIFF * E.E_T, rel=1e-6)
    assert quarter.modulus[0] == pytest.approx(STIFF * E.E_R, rel=0.05)
    assert flat.swelling[0] == pytest.approx(ALONG, rel=1e-6)
    assert quarter.swelling[0] == pytest.approx(OVER, rel=0.02)
    assert flat.creep[0] == pytest.approx(60.0, rel=1e-6)
    assert quarter.creep[0] == pytest.approx(1.4 * 60.0, rel=0.01)
    assert (flat.starts, flat.saturation) == (OAK.shrinkage_starts, OAK.fibre_saturation)


@pytest.mark.parametrize(("below", "across"), [(0.05, 0.0), (0.2, 0.15), (0.1, -0.4)])
def test_what_bends_the_width_is_weighed_toward_its_middle(below: float, across: float) -> None:
    # A cup is the double integral of the curvature: the weight at y is W/2 - |y|.
    pith = below + 0.025

    def weighed(what: object) -> float:
        def at(y: float) -> float:
            turned = np.arctan2(abs(y - across), pith)
            return float((0.3 - abs(y)) * what(turned))  # type: ignore[operator]

        return float(quad(at, -0.3, 0.3, points=[0.0, np.clip(across, -0.29, 0.29)])[0] / 0.09)

    told = made(slab_of(below, across))
    share = weighed(lambda turned: np.cos(turned) ** 2)
    assert told.swelling[0] == pytest.approx(OVER + (ALONG - OVER) * share, rel=1e-6)
    assert told.creep[0] == pytest.approx(60.0 * (1.0 + 0.4 * (1.0 - share)), rel=1e-6)

    def stiff(turned: float) -> float:
        c, s = np.cos(turned), np.sin(turned)
        coupling = 1.0 / E.G_RT - 2.0 * E.nu_RT / E.E_R
        return float(1.0 / (c**4 / E.E_T + s**4 / E.E_R + s * s * c * c * coupling))

    # Sixty-four strips of the width.
    assert told.modulus[0] == pytest.approx(STIFF * weighed(stiff), rel=2e-3)


def test_draws_follow_the_law_without_limit_where_they_are_told_to() -> None:
    samples = spread.draw(8)
    told = timber.timber_of(slab_of(), samples, np.full(9, 12.0))
    assert np.all(np.isinf(told.limit) == samples.unlimited)
    limited = ~samples.unlimited
    assert told.limit[limited].tolist() == samples.creep_limit[limited].tolist()
    assert told.creep.std() > 1.0


def test_a_face_is_stressed_most_where_the_rings_run_along_it() -> None:
    for even in (slab_of(below=1000.0), slab_of(angle=90.0)):
        most = timber.stressed_most(even, CENTRAL, made(even), AT)[0]
        assert most == pytest.approx(1.0, rel=0.05)
    near = slab_of(below=0.05)
    told = made(near)
    share = (told.creep[0] / 60.0 - 1.0) / 0.4
    # Above the pith swelling and modulus are tangential, creep is least; the root of creep.
    wanted = (
        ALONG * STIFF * E.E_T / (told.swelling[0] * told.modulus[0]) * (1.0 + 0.4 * share) ** 0.5
    )
    assert timber.stressed_most(near, CENTRAL, told, AT)[0] == pytest.approx(wanted, rel=1e-9)
    # With the pith beside the slab the nearer edge has the flattest rings: 0.1 m off, 0.075 below.
    beside = slab_of(below=0.05, across=0.4)
    told = made(beside)
    turned = np.arctan2(0.1, 0.075)
    flat = np.cos(turned) ** 2
    stiff = STIFF * float(
        section.modulus_at_angle(E.E_R, E.E_T, E.G_RT, E.nu_RT, np.degrees(turned))
    )
    wanted = (OVER + (ALONG - OVER) * flat) * stiff / (told.swelling[0] * told.modulus[0])
    wanted *= (told.creep[0] / 60.0 / (1.0 + 0.4 * (1.0 - flat))) ** 0.5
    assert timber.stressed_most(beside, CENTRAL, told, AT)[0] == pytest.approx(wanted, rel=1e-9)


def test_planing_leaves_a_millimetre_at_least_and_the_pith_where_it_is() -> None:
    assert timber.planed(slab_of(), 0.04, 0.0089).thickness == pytest.approx(0.0011)
    with pytest.raises(ValueError, match=r"at least 0\.001 m must be left"):
        timber.planed(slab_of(), 0.04, 0.0091)
    # Three fifths down is nearer the lower face: nothing turns.
    same = timber.planed(slab_of(below=-0.02), 0.0, 0.0)
    assert same.bark_side == "top"
    assert same.pith_below == pytest.approx(-0.02)
    outside = timber.planed(slab_of(below=0.02), 0.01, 0.005)
    assert outside.bark_side == "top"
    assert outside.pith_below == pytest.approx(0.025)
    # Its pith 10 mm inside the lower face; 32 mm off below, and it lies 22 mm under what is left,
    # whose middle is 9 mm down: the lower face still is the one away from the bark.
    inside = timber.planed(slab_of(below=-0.01), 0.0, 0.032)
    assert inside.bark_side == "top"
    assert inside.pith_below == pytest.approx(0.022)
    # 32 mm off the top: of 18 mm left the pith is 8 mm under the top, nearer to it.
    turned = timber.planed(slab_of(below=-0.01), 0.032, 0.0)
    assert turned.bark_side == "bottom"
    assert turned.pith_below == pytest.approx(-0.008)
    under = Slab(OAK, 0.6, 0.05, pith_below=0.02, bark_side="bottom")
    assert timber.planed(under, 0.01, 0.0).pith_below == pytest.approx(0.03)
    assert timber.planed(under, 0.0, 0.01).pith_below == pytest.approx(0.02)
