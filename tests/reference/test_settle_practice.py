"""Facts of the trade about the settled year: common practice, no source, unless named."""

from __future__ import annotations

import datetime

import pytest

from model.answers import settle
from model.behaviour.slab import Slab
from model.properties import finishes, sorption, species
from model.surroundings import calendar, climate, house, room

SEPTEMBER = calendar.day_of(datetime.date(2026, 9, 25))
BARE = finishes.Faces(finishes.face(), finishes.face())


def slab(thickness: float = 0.05, **rings: float | str) -> Slab:
    rings = rings or {"ring_angle": 90.0}
    return Slab(species.find("american elm"), 0.6, thickness, 2.4, **rings)  # type: ignore[arg-type]


def heated(place: str) -> room.Room:
    return house.from_climate(climate.find(place), heat_to=21.0, cool_to=25.0, occupied="normally")


@pytest.mark.parametrize("place", ["duluth-us", "Minneapolis", "Bismarck", "Helsinki"])
def test_heated_rooms_in_cold_winters_bring_wood_to_4_to_7_percent(place: str) -> None:
    # Common practice, no source: thin wood that follows the room; such figures are read off tables
    # of the mean curve.  Wood that dried there holds up to a tenth more, so stands up to 0.6 above.
    answer = settle.settle(slab(0.012), 8.0, BARE, heated(place), SEPTEMBER, came="mean")
    assert 4.0 <= answer.driest.moisture.value <= 7.0
    dried = settle.settle(slab(0.012), 12.0, BARE, heated(place), SEPTEMBER)
    assert answer.driest.moisture.value < dried.driest.moisture.value <= 7.6
    # Measured houses add more vapour the colder it is, so the months from November on are alike:
    # the driest may be any of them.
    assert answer.driest.month in (11, 12, 1, 2, 3)


def test_a_shop_heated_to_84_f_in_winter_dries_end_grain_to_6_to_8_percent() -> None:
    # Common practice, no source: "at usual humidity".  6 and 8 % are held by 29.9 and 43.4 % at
    # 29 degC (84 degF): the 30 to 45 % of heated buildings in winter.
    dry, damp = sorption.humidity_of_moisture(29.0, [6.0, 8.0])
    assert dry == pytest.approx(30.0, abs=1.0)
    assert 40.0 <= damp <= 45.0


@pytest.mark.parametrize("place", ["duluth-us", "Chicago", "pittsburgh-us"])
def test_a_shop_that_hot_without_any_moisture_over_dries(place: str) -> None:
    # Outdoor winter air warmed to 29 degC holds wood at 1 to 3 % only: the practice above lives
    # from moisture given off in the shop, and a shop that has none must be warned.
    shop = house.from_climate(climate.find(place), kind="heated_shop", heat_to=29.0)
    assert shop.driest.moisture < 3.0
    assert shop.driest.month in (12, 1, 2)


def test_one_face_finished_cups_and_both_alike_do_not_rings_aside() -> None:
    epoxy = finishes.face("epoxy")
    quarter = slab()
    inside = heated("duluth-us")

    def largest(top: finishes.Face, bottom: finishes.Face) -> float:
        faces = finishes.Faces(top, bottom)
        return settle.settle(quarter, 12.0, faces, inside, SEPTEMBER).cup_on_the_way.signed.value

    alike_bare = abs(largest(finishes.face(), finishes.face()))
    alike_tight = abs(largest(epoxy, epoxy))
    top_tight, bottom_tight = largest(epoxy, finishes.face()), largest(finishes.face(), epoxy)
    # The bare face dries first and shrinks: it goes hollow.
    assert top_tight < 0.0 < bottom_tight
    # Quarter-sawn, so that the rings leave little: a tenth of what one finished face does.
    assert max(alike_bare, alike_tight) < 0.1 * min(-top_tight, bottom_tight)


def test_bark_side_up_goes_edges_up_on_drying_and_bark_side_down_edges_down() -> None:
    inside = heated("duluth-us")
    for bark, sign in (("top", 1.0), ("bottom", -1.0)):
        flat = slab(pith_below=0.15, bark_side=bark)
        answer = settle.settle(flat, 12.0, BARE, inside, SEPTEMBER)
        assert sign * answer.cup_yearly_up.signed.value > 0.0
        assert sign * answer.cup_yearly_down.signed.value > 0.0


def test_twice_the_thickness_takes_about_four_times_as_long() -> None:
    # "Thickness squared": exact for bare faces in steady air; the air film makes it a little less.
    steady = room.constant(20.0, 35.0)
    thin = settle.settle(slab(0.025), 12.0, BARE, steady, 0.0)
    thick = settle.settle(slab(0.05), 12.0, BARE, steady, 0.0)
    assert thick.days_within_half.value / thin.days_within_half.value == pytest.approx(4.0, rel=0.1)


def test_the_yearly_mean_of_rooms_lies_in_the_handbooks_regions() -> None:
    # Wood Handbook FPL-GTR-190 Table 13-2 (memory): most areas 6 to 10, dry southwest 4 to 9, damp
    # warm coast 8 to 13.
    for place, low, high in (
        ("Chicago", 6.0, 10.0),
        ("Pittsburgh", 6.0, 10.0),
        ("Phoenix", 4.0, 9.0),
        ("Las Vegas", 4.0, 9.0),
        ("New Orleans", 8.0, 13.0),
        ("Miami", 8.0, 13.0),
    ):
        answer = settle.settle(slab(), 9.0, BARE, heated(place), SEPTEMBER)
        assert low <= answer.mean.value <= high, place


def test_a_thick_slab_swings_less_than_the_room_and_later() -> None:
    inside = heated("duluth-us")
    answer = settle.settle(slab(0.075), 8.0, BARE, inside, SEPTEMBER)
    swing = answer.dampest.moisture.value - answer.driest.moisture.value
    assert swing < inside.dampest.moisture - inside.driest.moisture
    assert answer.driest.lag_days.value > 7.0
    assert answer.dampest.lag_days.value > 7.0
