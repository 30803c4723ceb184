"""What a slab bears on its base: verdicts on either side, sags by hand, tipping by moments."""

from __future__ import annotations

from typing import Any

import pytest

from model.answers.load import Loaded, bear
from model.behaviour.slab import Slab
from model.properties import species

OAK = species.find("white oak")
DAMP = 10.294  # % M; at a specific gravity of 0.68 this is 750 kg/m3


def loaded(thickness: float = 0.050, overhang: float = 0.3, **more: Any) -> Loaded:
    slab = more.pop("slab", Slab(OAK, 0.9, thickness, 1.8))
    return bear(slab, DAMP, overhang, **more)


def codes(made: Loaded) -> set[str]:
    return {note.code for note in made.notes}


# White oak, 1300 N (EN 12520, printed second-hand) 0.3 m out: safe from 35 mm in the middle of an
# edge and from 54 mm on a corner (computed for an orthotropic plate, with a third of 5.5 MPa).
@pytest.mark.parametrize(
    ("thickness", "verdict"),
    [
        (0.034, "does-not"),
        (0.036, "not-at-a-corner"),
        (0.053, "not-at-a-corner"),
        (0.055, "bears-it"),
    ],
)
def test_a_person_on_an_edge_and_on_a_corner(thickness: float, verdict: str) -> None:
    made = loaded(thickness)
    assert made.verdict == verdict
    assert made.load == 1300.0
    assert made.edge.thick_enough == pytest.approx(0.035, abs=6e-4)
    assert made.corner.thick_enough == pytest.approx(0.054, abs=6e-4)
    assert made.edge.breaks < made.corner.breaks


def test_a_lighter_load_is_borne_by_what_a_person_is_not() -> None:
    assert loaded(0.053, load=1000.0).verdict == "bears-it"


def test_nobody_sits_where_it_is_checked() -> None:
    made = loaded(0.100, checked=True)
    assert made.verdict == "does-not"
    assert "checked-overhang" in codes(made)
    assert "checked-overhang" not in codes(loaded(0.100))


def test_a_groove_counts_as_far_as_the_load_spreads_along_the_grain() -> None:
    # lambda 1.93 (computed) times 0.3 m is 0.58 m.
    near, far = (
        loaded(0.050, groove=0.010, groove_from_support=at) for at in (0.57, 0.59)
    )  # fmt: skip
    assert near.edge.stress == pytest.approx(loaded(0.040).edge.stress)
    assert far.edge.stress == pytest.approx(loaded(0.050).edge.stress)
    assert near.edge.thick_enough == pytest.approx(far.edge.thick_enough + 0.010)
    assert loaded(0.050, groove=0.010).edge == near.edge


def test_sags_by_hand() -> None:
    # 1.5 x 750 x 9.81 x 0.3^4/(0.972e9 x 0.05^2) = 0.037 mm, three times that in steady air, six
    # times with seasons; 5 q L^4/(384 E I) over 1.2 m: 367.7 N/m2, 13.5 GPa, 0.071 mm, times 1.6.
    made = loaded(span=1.2)
    assert 1e3 * made.sag_at_once == pytest.approx(0.0368, abs=2e-4)
    assert made.sag_steady == pytest.approx(3.0 * made.sag_at_once)
    assert made.sag_seasons == pytest.approx(6.0 * made.sag_at_once)
    assert made.sag_along is not None
    assert 1e3 * made.sag_along == pytest.approx(0.113, abs=1e-3)
    # A groove leaves as much slab as is under it: the sag goes with 1/t^2.
    grooved = loaded(span=1.2, groove=0.010).sag_along
    assert grooved == pytest.approx(made.sag_along * (5.0 / 4.0) ** 2)
    assert loaded().sag_along is None


def test_a_load_that_is_seen_to_sag_is_told() -> None:
    # A corner of 50 mm sags 2.9 mm (computed), with 1/t^3: 5 mm at 41.7 mm.
    assert loaded().corner.sag == pytest.approx(2.9e-3, abs=2e-5)
    assert "sags-under-load" in codes(loaded(0.0412))
    assert "sags-under-load" not in codes(loaded(0.0422))
    assert loaded().limit_of_sag == 0.005


def test_it_tips_where_the_load_turns_it_farther_than_its_weight_holds_it() -> None:
    # 0.9 x 0.05 x 1.8 m at 750 kg/m3 is 60.7 kg: 596 N on half the base against 1300 N x 0.3 m.
    for base, tips in ((1.29, True), (1.33, False)):
        assert loaded(base=base).tips is tips
    assert loaded().tips is None
    assert loaded(base=1.0, slab=Slab(OAK, 0.9, 0.05)).tips is None


def test_a_strength_that_was_estimated_is_told() -> None:
    assert {"load-across", "clear-wood"} <= codes(loaded())
    assert "strength-estimated" not in codes(loaded())
    own = species.from_figures(4.6, 8.9, 0.6)
    assert "strength-estimated" in codes(loaded(slab=Slab(own, 0.9, 0.05, 1.8)))
