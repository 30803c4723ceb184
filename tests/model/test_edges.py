"""What edges and ends add to the drying, and how far ahead the ends are."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erfc

from model.behaviour import edges, ends, transport
from model.behaviour.slab import Slab
from model.behaviour.transport import Wood
from model.properties import sorption
from model.properties.finishes import Face, Faces
from model.properties.species import find

OAK = find("white oak")
WOOD = Wood(np.full(1, 1.8), 0.087, 0.60, 30.0, np.full(1, 0.95), sorption_at_60=1.1)
VARNISHED = Faces(Face(2.0), Face(0.5))


def first_root(one: float, other: float) -> float:
    def beyond(root: float) -> float:
        return (root**2 - one * other) * math.sin(root) - root * (one + other) * math.cos(root)

    return float(brentq(beyond, 1e-4, math.pi - 1e-9))


@pytest.mark.parametrize(("one", "other"), [(0.1, 0.2), (3.0, 3.0), (50.0, 0.5), (0.0, 4.0)])
def test_the_slowest_root_is_that_of_a_root_finder_and_of_printed_roots(
    one: float, other: float
) -> None:
    found = float(edges.slowest_root(one, other))
    assert found == pytest.approx(first_root(one, other), abs=1e-9)
    # A plate sealed below is half of one twice as thick with both faces alike (Crank 4.3.6).
    alike = float(edges.slowest_root(2.0 * other, 2.0 * other))
    assert alike == pytest.approx(2.0 * float(edges.slowest_root(0.0, other)), abs=1e-9)


def test_narrow_and_short_slabs_are_counted_below_six_and_eighteen_thicknesses() -> None:
    for width, length, counted in (
        (0.299, None, (0.299, math.inf)), (0.301, None, (math.inf, math.inf)),
        (0.301, 0.899, (math.inf, 0.899)), (0.301, 0.901, (math.inf, math.inf)),
    ):  # fmt: skip
        assert edges.counted(Slab(OAK, width, 0.05, length)) == counted


@pytest.mark.parametrize(("width", "length"), [(0.10, None), (0.10, 0.30), (0.60, 0.30)])
def test_the_rates_through_thickness_width_and_length_add_up(
    width: float, length: float | None
) -> None:
    made = edges.quickened(Slab(OAK, width, 0.05, length), WOOD, VARNISHED)
    # At 20 degC and 45 %: what the wood holds there, its diffusion and how its skin resists.
    factor = 0.95 * 1.1
    held = factor * float(sorption.equilibrium_moisture(20.0, 45.0))
    steep = factor * float(sorption.slope(20.0, 45.0))
    diffusion = float(WOOD.diffusion(20.0)[0]) * math.exp(0.087 * (held - 10.0))

    def rate(size: float, faces: Faces, along: float) -> float:
        met = transport.biot(
            WOOD, size, faces, np.ones(1), 20.0, np.full(1, steep), np.full(1, along * diffusion)
        )
        return along * diffusion * (first_root(float(met[0, 0]), float(met[1, 0])) / size) ** 2

    bare = Faces(Face(0.0), Face(0.0))
    added = rate(width, bare, 1.0) if width < 0.3 else 0.0
    if length is not None:
        added += rate(length, bare, 13.0)  # along the grain over across: printed 12 to 15
    wanted = 1.0 + added / rate(0.05, VARNISHED, 1.0)
    assert made.quickened == pytest.approx(wanted, rel=1e-6)
    assert made.quickened > 1.1


def test_what_dries_a_twentieth_faster_is_told() -> None:
    narrow, short = Slab(OAK, 0.1, 0.05), Slab(OAK, 0.6, 0.05, 0.3)
    for share, told in ((1.049, 0), (1.051, 1)):
        quick = Wood(
            WOOD.transport_factor, 0.087, 0.60, 30.0, WOOD.sorption, quickened=share
        )  # fmt: skip
        assert len(edges.notes(narrow, quick)) == told
    assert edges.notes(narrow, quick)[0].code == "dries-through-edges"
    note = edges.notes(short, quick)[0]
    assert (note.code, note.figures["share"]) == ("dries-through-ends", 1.0 / 1.051)


def test_the_ends_are_ahead_as_a_half_space_dries() -> None:
    diffusion, days = 3e-11, 40.0
    reach = math.sqrt(13.0 * diffusion * days * 86_400.0)
    assert edges.end_zone(diffusion, days) == pytest.approx(2.0 * reach)
    for still in (1.5, 8.0, -8.0):
        depth = edges.ahead_at_ends(diffusion, days, still)
        # There all but one point of what is to come is still to come: Crank 1975, section 2.4.
        assert abs(still) * float(erfc(depth / (2.0 * reach))) == pytest.approx(1.0)
    assert edges.ahead_at_ends(diffusion, days, 1.0) == 0.0
    assert edges.ahead_at_ends(diffusion, days, -0.5) == 0.0
    assert edges.ahead_at_ends(diffusion, days, 1.001) > 0.0


def test_the_zone_at_the_ends_is_told_at_its_deepest_from_a_centimetre_on() -> None:
    slab = Slab(OAK, 0.6, 0.05, 2.0)
    wood = Wood(
        np.array([OAK.transport_factor]),
        OAK.transport_slope,
        OAK.specific_gravity,
        30.0,
        np.ones(1),
    )
    diffusion = float(wood.diffusion(20.0)[0])
    days, mean = np.array([0.0, 30.0, 300.0]), np.array([12.0, 11.0, 8.2])
    (note,) = edges.ends_note(slab, days, mean, 8.0)
    assert note.figures == {
        "zone": edges.ahead_at_ends(diffusion, 30.0, 3.0), "way": "drier", "days": 30.0
    }  # fmt: skip
    (note,) = edges.ends_note(slab, days, mean, np.array([12.0, 15.0, 8.2]))
    assert note.figures["way"] == "damper"
    # Of green wood only what is below fibre saturation is on its way.
    (green,) = edges.ends_note(slab, days, np.array([80.0, 70.0, 8.2]), 8.0)
    assert green.figures["zone"] == pytest.approx(
        edges.ahead_at_ends(diffusion, 30.0, OAK.fibre_saturation - 8.0)
    )
    for centimetres, told in ((0.99, 0), (1.01, 1)):
        until = 30.0 * (0.01 * centimetres / edges.ahead_at_ends(diffusion, 30.0, 3.0)) ** 2
        made = edges.ends_note(slab, np.array([until]), np.array([11.0]), 8.0)
        assert len(made) == told


def test_an_uncoated_end_dries_to_the_middle_at_most_and_a_coat_takes_its_share() -> None:
    slab = Slab(OAK, 0.6, 0.05, 2.0)
    reach = ends.dried_zone(slab, 60.0)
    assert 0.02 < reach < 1.0
    assert ends.dried_zone(Slab(OAK, 0.6, 0.05), 60.0) == reach
    assert ends.dried_zone(slab, 240.0) == pytest.approx(2.0 * reach)
    assert ends.dried_zone(Slab(OAK, 0.6, 0.05, reach), 60.0) == 0.5 * reach
    assert ends.dried_zone(slab, 60.0, 30.0) > 1.1 * reach
    # End grain 16 times as resistant as air: a coat as resistant as what has dried halves it.
    assert ends.left_by_coat(16.0 * 0.1, 0.1) == pytest.approx(0.5)
