"""Butterfly keys: capacity, demand and facts of the trade."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from model import spread
from model.answers import stiffening
from model.behaviour import keys, loads, rings, shrinkage
from model.behaviour.keys import Key, KeysAlong
from model.behaviour.slab import Slab
from model.properties import finishes, species, strength
from model.properties.finishes import Faces
from model.surroundings import room

OAK = species.find("northern red oak")
WALNUT = species.find("black walnut")
CENTRAL = spread.draw(0)


def key(grain_across: bool = True, length: float = 0.10, wing: float = 0.05) -> Key:
    return Key(length, 0.02, wing, 0.02, WALNUT, grain_across)


def slab() -> Slab:
    return Slab(OAK, width=0.6, thickness=0.05, length=1.8, pith_below=-0.02)


def test_capacity_by_hand() -> None:
    # Walnut f_v 9.45, oak f_v 12.27 and f_c 6.96 MPa (Wood Handbook Table 5-3); key 100 x 20/50 mm,
    # 20 mm deep: 2 x 9.45 x 50 x 20 = 18.9 kN; 2 x 12.27 x 50 x 20 = 24.5; 30 x 20 x 6.96 = 4.18;
    # neck 20 x 20 x 171.3 x 0.55^1.13 = 34.9 kN (hand).
    bears = keys.capacity(key(), OAK, 0.6)
    assert bears.wing_shear / 1e3 == pytest.approx(18.9, abs=0.05)
    assert bears.slab_shear / 1e3 == pytest.approx(24.5, abs=0.05)
    assert bears.bearing / 1e3 == pytest.approx(4.18, abs=0.005)
    assert bears.neck / 1e3 == pytest.approx(34.9, abs=0.1)
    assert bears.clear == bears.bearing
    assert bears.allowable == pytest.approx(bears.clear / 4.5)


def test_a_key_with_its_grain_along_the_check_parts_at_its_waist() -> None:
    # Common practice: no source.
    wrong = keys.capacity(key(grain_across=False), OAK, 0.6)
    right = keys.capacity(key(), OAK, 0.6)
    assert wrong.weakest == "key-parts"
    assert wrong.neck < 0.1 * right.neck
    made = keys.tie(slab(), KeysAlong(key(grain_across=False), 3, 0.6), 12.0, 6.0, CENTRAL)
    assert "key-grain" in {note.code for note in made.notes}


def test_a_key_with_its_own_grain_across_still_gives_way_when_the_force_is_large() -> None:
    # Common practice: no source.  Held flat with the heart in it, drying much.
    mild = keys.tie(slab(), KeysAlong(key(), 8, 0.4), 9.0, 8.5, CENTRAL)
    harsh = keys.tie(slab(), KeysAlong(key(), 2, 0.6, "flat"), 14.0, 6.0, CENTRAL)
    assert float(mild.index[0]) < 1.0 < float(harsh.index[0])
    assert mild.verdict == "hold"
    assert harsh.verdict == "will-tear"


def test_the_demand_goes_over_without_a_jump_as_the_pith_leaves_the_slab() -> None:
    def asked(below: float, held: Literal["free", "flat"]) -> keys.Keys:
        one = replace(slab(), pith_below=below)
        return keys.tie(one, KeysAlong(key(), 2, 0.6, held), 12.0, 6.0, CENTRAL)

    held: Literal["free", "flat"]
    for held in ("free", "flat"):
        in_, out = (asked(below, held) for below in (-1e-6, 1e-6))
        assert float(in_.demand[0]) == pytest.approx(float(out.demand[0]), rel=1e-3)
        assert float(in_.opening[0]) == pytest.approx(float(out.opening[0]), rel=1e-3)
        assert float(in_.opening_other[0]) == pytest.approx(float(out.opening_other[0]), abs=1e-6)
    # Outside, a free slab asks handling alone.
    outside = asked(0.02, "free")
    assert float(outside.by_drying[0]) == 0.0
    assert float(outside.demand[0]) == pytest.approx(keys.HANDLING * 0.6 / 2)
    assert float(outside.opening[0]) == 0.0


def test_more_keys_share_the_demand() -> None:
    one = keys.tie(slab(), KeysAlong(key(), 1, 0.6), 12.0, 8.0, CENTRAL)
    four = keys.tie(slab(), KeysAlong(key(), 4, 0.6), 12.0, 8.0, CENTRAL)
    np.testing.assert_allclose(one.demand, 4.0 * four.demand)


def test_a_bar_s_strip_has_its_share_of_the_keys() -> None:
    # Bearing at the flanks, 4.18 kN each (test above); six along 1.2 m: 1.5 in 300 mm, and never
    # more than all of them.
    along = KeysAlong(key(), 6, 1.2)
    assert along.in_a_strip(0.3, OAK) / 1e3 == pytest.approx(1.5 * 4.18, abs=0.01)
    assert along.in_a_strip(2.0, OAK) / 1e3 == pytest.approx(6 * 4.18, abs=0.03)


def test_what_each_bears_is_told_for_ten_numbers_at_least() -> None:
    made = keys.tie(slab(), KeysAlong(key(), 3, 0.6), 12.0, 8.0, CENTRAL)
    told = made.by_number
    assert told.count.tolist() == list(range(1, 11))
    np.testing.assert_allclose(told.demand[2], made.demand)
    np.testing.assert_allclose(told.demand[:, 0] * told.count, 3 * made.demand[0])
    assert set(told.allowable) == {made.capacity.allowable}


def test_the_number_needed_bears_the_demand_or_is_refused() -> None:
    made = keys.tie(slab(), KeysAlong(key(), 2, 0.6), 9.0, 8.0, CENTRAL)
    assert made.needed is not None
    whole = float(made.demand[0]) * 2
    assert made.needed * made.capacity.allowable >= whole * (1 - 1e-6)
    assert (made.needed - 1) * made.capacity.allowable < whole
    assert keys.tie(slab(), KeysAlong(key(), 2, 0.6, "flat"), 14.0, 5.0, CENTRAL).needed is None


def test_the_opening_is_the_arc_that_is_missing_round_the_pith() -> None:
    # 2 pi r (e_R - e_T) at the face farther from the pith (derived): 50 mm less 20 mm of them.
    along = float(shrinkage.strain(OAK.tangential, 30.0, 12.0, 6.0))
    over = float(shrinkage.strain(OAK.radial, 30.0, 12.0, 6.0))
    made = keys.tie(slab(), KeysAlong(key(), 2, 0.6), 12.0, 6.0, CENTRAL)
    across = 2 * np.pi * 0.03 * (over - along)
    assert float(made.opening[0]) == pytest.approx(across, rel=1e-9)


def test_without_drying_handling_alone_asks_something_of_a_key() -> None:
    made = keys.tie(slab(), KeysAlong(key(), 1, 0.6), 8.0, 10.0, CENTRAL)
    assert float(made.by_drying[0]) == 0.0
    assert float(made.demand[0]) == pytest.approx(keys.HANDLING * 0.6)


def test_every_answer_says_that_a_key_ties_and_does_not_stop_drying() -> None:
    made = keys.tie(slab(), KeysAlong(key(), 1, 0.6), 12.0, 6.0, spread.draw(16))
    assert "key-ties-only" in {note.code for note in made.notes}


def test_impossible_keys_are_refused() -> None:
    with pytest.raises(ValueError, match="wider than its waist"):
        Key(0.1, 0.05, 0.05, 0.02, WALNUT)
    with pytest.raises(ValueError, match="above 0"):
        Key(0.0, 0.02, 0.05, 0.02, WALNUT)
    with pytest.raises(ValueError, match="at least one key"):
        keys.tie(slab(), KeysAlong(key(), 0, 0.6), 12.0, 6.0, CENTRAL)


def test_faces_that_dry_before_the_core_ask_more_of_the_keys() -> None:
    # The shell is pulled over a pressed core: its tension over the keys' depth comes on top.
    bare = finishes.face("bare")
    asked = []
    for humidity in (60.0, 35.0):
        held = stiffening.hold(
            replace(slab(), pith_below=0.02),
            12.0,
            Faces(bare, bare),
            room.constant(20.0, humidity),
            0.0,
            CENTRAL,
            along=KeysAlong(key(), 4, 0.6),
        )
        assert held.keys is not None
        asked.append(float(held.keys.by_drying[0]))
    assert 0.0 < 2.0 * asked[0] < asked[1]


def test_keys_by_hand_between_free_and_flat() -> None:
    # Oak 600 x 50 mm, pith 20 mm inside, 12 to 7 %: a fifth held, 100 mm from the check.
    along = KeysAlong(key(), 3, 0.6)
    made = keys.tie(slab(), along, 12.0, 7.0, CENTRAL, flattened=0.2, held_from=0.1, wet_core=500.0)
    over, round_ = (
        float(shrinkage.strain(total, OAK.shrinkage_starts, 12.0, 7.0))
        for total in (OAK.radial, OAK.tangential)
    )
    missing = over - round_
    x = 0.60 * 5.0  # m E of 60 over five points
    soft = species.elastic(OAK).E_T * (1.0 - np.exp(-x)) / x
    free = float(keys.asked_free(soft, missing, 0.05, -0.02, 0.02))
    flat = float(keys.asked_flat(soft, missing, 0.05, -0.02, 0.02, 0.1))
    asked = 0.8 * free + 0.2 * flat + 500.0
    assert made.by_drying[0] == pytest.approx(asked * 0.6 / 3.0)
    assert made.demand[0] == pytest.approx(max(asked, 2000.0) * 0.2)
    assert made.index[0] == pytest.approx(made.demand[0] / made.capacity.lasting)
    assert made.tears == strength.chance(made.demand, made.capacity.lasting, 0.30)
    # Somebody on the edge: 1300 N on a lever of t - k/2 - u/3, shared by three.
    moment = loads.on_an_edge(OAK, 1300.0)
    assert made.sat_on == pytest.approx(moment / (0.05 - 0.01 - 0.02 / 3.0) * 0.2)
    # Round the pith 2 pi r of what is missing: 30 mm off at the one face, 20 at the other.
    assert made.opening[0] == pytest.approx(2.0 * np.pi * 0.030 * missing)
    assert made.opening_other[0] == pytest.approx(2.0 * np.pi * 0.020 * missing)
    told = {note.code for note in made.notes}
    assert told == {"key-ties-only", "keys-untested", "key-pocket", "boxed-heart-held"}


def test_a_pith_nobody_told_is_taken_as_outside_where_it_is_likeliest() -> None:
    untold = Slab(OAK, width=0.6, thickness=0.05, length=1.8)
    made = keys.tie(untold, KeysAlong(key(), 3, 0.6, "flat"), 12.0, 7.0, CENTRAL)
    below = float(rings.pith_radius(0.6, 0.0)[0]) - 0.025
    told = Slab(OAK, width=0.6, thickness=0.05, length=1.8, pith_below=below)
    same = keys.tie(told, KeysAlong(key(), 3, 0.6, "flat"), 12.0, 7.0, CENTRAL)
    assert made.by_drying[0] == pytest.approx(float(same.by_drying[0]))
    assert made.opening[0] == 0.0
    assert {note.code for note in made.notes} - {note.code for note in same.notes} == {
        "key-pith-unknown"
    }


def test_a_check_opens_as_far_as_the_pith_is_surely_inside() -> None:
    missing = np.full(5, 0.004)
    below = np.array([0.006, 0.005, 0.0, -0.005, -0.02])  # a tenth of the thickness is 5 mm
    far, near = keys.openings(slab(), missing, below)
    whole = 2.0 * np.pi * 0.004
    assert far == pytest.approx(whole * np.array([0.0, 0.0, 0.5 * 0.05, 0.045, 0.03]))
    assert near == pytest.approx(whole * np.array([0.0, 0.0, 0.0, 0.005, 0.02]))


def test_keys_need_room_for_themselves_and_as_much_slab_between() -> None:
    # 50 mm wide in a check of 1 m: ten. Each bears 4.18 kN over 4.5, 929 N.
    def needed(asked: float, check: float = 1.0) -> int | None:
        made = keys.tie(slab(), KeysAlong(key(), 1, check), 9.0, 9.0, CENTRAL, wet_core=asked)
        found: int | None = made.needed
        return found

    allowable = keys.capacity(key(), OAK, 0.6).allowable
    assert needed(9.99 * allowable) == 10
    assert needed(10.01 * allowable) is None
    assert needed(4.0 * allowable) == 4
    assert needed(0.0) == int(np.ceil(2000.0 / allowable))
    assert needed(40.0 * allowable, check=0.02) == 1
    assert needed(0.0, check=0.02) == 1
    assert needed(75.0 * allowable, check=0.02) is None  # two do not fit in 20 mm
    long = keys.tie(slab(), KeysAlong(key(), 1, 30.0), 9.0, 9.0, CENTRAL, wet_core=6.6 * allowable)
    assert long.needed == 198
    over = keys.tie(slab(), KeysAlong(key(), 1, 30.0), 9.0, 9.0, CENTRAL, wet_core=6.8 * allowable)
    assert over.needed is None  # more than two hundred (judgement)
