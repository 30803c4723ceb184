"""Sections of bars against finite-element quadrature, printed formulas and printed tables.

The shapes were compared once with a general section library too (sectionproperties 3.10): equal
to 1e-9.
"""

from __future__ import annotations

import numpy as np
import pytest
from skfem import Basis, ElementQuad1, Functional, MeshQuad

from model.behaviour import bars

# Left, bottom, width and height of a rectangle [m].
Box = tuple[float, float, float, float]

# Both sides are exact for straight-edged sections; what differs is rounding.
EXACT = 1e-9


def by_quadrature(solid: list[Box], holes: list[Box] | None = None) -> tuple[float, float, float]:
    """Area, height of the centroid and second moment about it, integrated over a mesh."""
    boxes = solid + (holes or [])
    across = np.unique(np.round([x for one in boxes for x in (one[0], one[0] + one[2])], 9))
    up = np.unique(np.round([y for one in boxes for y in (one[1], one[1] + one[3])], 9))
    mesh = MeshQuad.init_tensor(across, up)
    middle = mesh.p[:, mesh.t].mean(axis=1)

    def covered(several: list[Box]) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        inside = np.zeros(middle.shape[1], dtype=np.bool_)
        for x, y, w, h in several:
            beside, above = abs(middle[0] - x - 0.5 * w), abs(middle[1] - y - 0.5 * h)
            inside |= (beside < 0.5 * w) & (above < 0.5 * h)
        return inside

    outside = ~covered(solid)
    if holes:
        outside |= covered(holes)
    basis = Basis(mesh.remove_elements(np.flatnonzero(outside)), ElementQuad1(), intorder=4)
    area, first, second = (
        float(Functional(lambda w, power=power: w.x[1] ** power).assemble(basis))
        for power in (0, 1, 2)
    )
    return area, first / area, second - first**2 / area


def assert_alike(made: bars.Section, solid: list[Box], holes: list[Box] | None = None) -> None:
    area, height, second = by_quadrature(solid, holes)
    assert made.area == pytest.approx(area, rel=EXACT)
    assert made.centroid == pytest.approx(height, rel=EXACT)
    assert made.second_moment == pytest.approx(second, rel=EXACT)


def test_flat_bars_and_battens() -> None:
    assert_alike(bars.flat(0.040, 0.005).section, [(0, 0, 0.040, 0.005)])
    assert_alike(bars.timber(0.090, 0.045, 11e9).section, [(0, 0, 0.090, 0.045)])
    slotted = bars.flat(0.050, 0.006, slot=0.009).section
    assert_alike(slotted, [(0, 0, 0.050, 0.006)], [(0.0205, 0, 0.009, 0.006)])


def test_an_angle() -> None:
    made = bars.angle(0.030, 0.040, 0.004).section
    assert_alike(made, [(0, 0, 0.030, 0.004), (0, 0, 0.004, 0.040)])


CHANNEL: list[Box] = [(0, 0, 0.050, 0.005), (0, 0, 0.005, 0.025), (0.045, 0, 0.005, 0.025)]


def test_a_channel_plain_slotted_and_turned_over() -> None:
    assert_alike(bars.channel(0.050, 0.025, 0.005).section, CHANNEL)
    slotted = bars.channel(0.050, 0.025, 0.005, slot=0.009).section
    assert_alike(slotted, CHANNEL, [(0.0205, 0, 0.009, 0.005)])
    turned = [(x, 0.025 - y - h, w, h) for x, y, w, h in CHANNEL]
    assert_alike(bars.channel(0.050, 0.025, 0.005, legs="into").section, turned)


def test_a_tee() -> None:
    made = bars.tee(0.050, 0.040, 0.005).section
    assert_alike(made, [(0, 0, 0.050, 0.005), (0.0225, 0, 0.005, 0.040)])


def test_a_grooved_strip() -> None:
    made = bars.grooved_strip(0.300, 0.050, bars.flat(0.040, 0.010), 0.010)
    assert_alike(made, [(0, 0, 0.300, 0.050)], [(0.130, 0, 0.040, 0.010)])


def test_a_channel_let_in_by_its_legs_takes_only_their_grooves() -> None:
    bar = bars.channel(0.050, 0.025, 0.005, legs="into")
    web, leg = (0.125, 0.0, 0.050, 0.005), (0.125, 0.005, 0.005, 0.020)
    other = (0.170, 0.005, 0.005, 0.020)
    made = bars.grooved_strip(0.300, 0.050, bar, 0.025)
    assert_alike(made, [(0, 0, 0.300, 0.050)], [web, leg, other])


def test_the_printed_formula_of_a_tee_or_channel_gives_the_same() -> None:
    # Machinery's Handbook, moments of inertia of sections (memory): c from the flange's face
    # (b t^2 + s (d^2 - t^2))/(2 (b t + s (d - t))) and
    # I = (b c^3 - (b - s)(c - t)^3 + s (d - c)^3)/3, s the stem, or both legs of a channel.
    for made, stem in (
        (bars.tee(0.050, 0.040, 0.005).section, 0.005),
        (bars.channel(0.050, 0.040, 0.005).section, 0.010),
        (bars.angle(0.050, 0.040, 0.005).section, 0.005),
    ):
        b, d, t = 0.050, 0.040, 0.005
        c = (b * t**2 + stem * (d**2 - t**2)) / (2 * (b * t + stem * (d - t)))
        second = (b * c**3 - (b - stem) * (c - t) ** 3 + stem * (d - c) ** 3) / 3
        assert made.centroid == pytest.approx(c, rel=EXACT)
        assert made.second_moment == pytest.approx(second, rel=EXACT)


# Rolled equal angles, EN 10056-1 tables (memory): leg, wall, area cm2, centroid cm, I cm4.  Their
# fillets and rounded toes are what ours lack: within 4 % of area and 6 % of second moment.
@pytest.mark.parametrize(
    ("leg", "wall", "area", "centroid", "second"),
    [
        (0.030, 0.003, 1.74, 0.84, 1.40),
        (0.040, 0.004, 3.08, 1.12, 4.47),
        (0.050, 0.005, 4.80, 1.40, 11.0),
    ],
)
def test_rolled_angles_of_the_european_table_are_nearly_sharp_cornered(
    leg: float, wall: float, area: float, centroid: float, second: float
) -> None:
    made = bars.angle(leg, leg, wall).section
    assert made.area == pytest.approx(area * 1e-4, rel=0.04)
    assert made.centroid == pytest.approx(centroid * 1e-2, rel=0.03)
    assert made.second_moment == pytest.approx(second * 1e-8, rel=0.06)
