"""Towns by name on a small list of made-up ones: each rule from either side."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pytest

from model import effort
from model.surroundings import gazetteer, towns
from model.surroundings.towns import Namesakes, Towns

OWN = 0x80000000
# Country, code, name of each area, a country before its states; their other names.
AREAS = [("XA", "", "Arland"), ("XA", "NO", "Norther"), ("XA", "SO", "Souther"), ("XB", "", "Bria")]
AREA_KEYS = {
    "arland": [0], "xa": [0], "norther": [1], "no": [1], "souther": [2], "so": [2],
    "bria": [3], "xb": [3], "united islands of bria": [3], "great united islands of bria": [3],
}  # fmt: skip
# Name, other names, area, degrees north and east, people, metres, whether estimated.
PLACES: list[tuple[str, tuple[str, ...], int, float, float, int, float, bool]] = [
    ("Kilbrook", (), 1, 50.0, 10.0, 500_000, 120.0, False),
    ("Kilbrook", (), 2, 40.0, 10.0, 50_000, 15.0, True),
    ("Marfield", (), 3, -33.33, -70.25, 40_001, 900.0, False),
    ("Marfield", (), 1, 55.0, 12.0, 4_000, 1.0, False),
    ("Marfield", (), 2, 55.5, 12.0, 30_000, 1.0, False),  # 55.6 km from the one before
    ("Hallow", ("Tessen",), 3, 10.0, 20.0, 30_000, 2.0, False),
    ("Tessen", (), 1, 52.0, 11.0, 1_001, 3.0, False),
    ("Dunmoor", (), 1, 51.0, 11.0, 20_000, 3.0, False),
    ("Dunmoor", (), 2, 51.0, 11.8, 10_000, 3.0, False),  # 56.0 km away
    ("Farley", (), 1, 51.0, 11.0, 20_000, 3.0, False),
    ("Farley", (), 2, 51.0, 11.9, 10_000, 3.0, False),  # 62.98 km away
    ("Norther", (), 1, 56.0, 12.0, 9_000, 4.0, False),
    ("Kilbrooke", (), 3, 11.0, 20.0, 8_000, 5.0, False),
    ("Kilbrae", (), 3, 12.0, 20.0, 7_000, 5.0, False),
    ("Ax", (), 3, 13.0, 20.0, 6_000, 5.0, False),
    ("Smallham", (), 3, 14.0, 20.0, 1_000, 5.0, False),
    *((f"Tarnwell{one}", (), 3, 15.0, 20.0, 1_000, 5.0, False) for one in "abcdefghijklm"),
    ("Tarnwelln", (), 3, 15.0, 20.0, 999, 5.0, False),
]


def packed(texts: Iterable[str], name: str) -> dict[str, np.ndarray]:
    written = [text.encode() for text in texts]
    return {
        name: np.frombuffer(b"".join(written), dtype=np.uint8),
        f"{name}_lengths": np.array([len(one) for one in written], dtype=np.uint8),
    }


def indexed(keys: dict[str, list[int]], name: str) -> dict[str, np.ndarray]:
    order = sorted(keys, key=str.encode)
    return packed(order, name) | {
        f"{name}_counts": np.array([len(keys[key]) for key in order], dtype=np.uint16),
        f"{name}_numbers": np.array([n for key in order for n in keys[key]], dtype=np.uint32),
    }


@pytest.fixture(scope="module")
def some() -> Towns:
    places = sorted(PLACES, key=lambda one: -one[5])
    keys: dict[str, list[int]] = {}
    for number, (name, others, *_) in enumerate(places):
        for key in gazetteer.spellings(name):
            keys.setdefault(key, []).append(number | OWN)
        for other in others:
            keys.setdefault(gazetteer.fold(other), []).append(number)
    column: list[Any] = [*zip(*places, strict=True)]
    plain: dict[str, np.ndarray] = {
        "id": np.arange(1, len(places) + 1, dtype=np.uint32),
        "area": np.array(column[2], dtype=np.uint16),
        "latitude": np.array([round(100 * one) for one in column[3]], dtype=np.int16),
        "longitude": np.array([round(100 * one) for one in column[4]], dtype=np.int16),
        "population": np.array(column[5], dtype=np.uint32),
        "elevation": np.array(column[6], dtype=np.int16),
        "estimated": np.array(column[7]),
    }
    plain |= packed(column[0], "name") | indexed(keys, "key") | indexed(AREA_KEYS, "area_key")
    for number, name in enumerate(("area_country", "area_code", "area_name")):
        plain |= packed([one[number] for one in AREAS], name)
    return Towns(plain)


def population(some: Towns, text: str) -> int | str | None:
    """People of the town that is meant; "several" where none of its name is."""
    try:
        meant = some.find(text)
    except Namesakes:
        return "several"
    return None if meant is None else meant.town.population


def test_a_town_has_its_figures(some: Towns) -> None:
    assert len(some) == len(PLACES)
    town = some.find("Marfield, Bria")
    assert town is not None
    assert town.town == towns.Town(
        "town-3", "Marfield", "Bria", "", "XB", "", -33.33, -70.25, 40_001, 900.0, False
    )
    south = some.by_id("town-2")
    assert south is not None
    assert (south.region, south.region_code, south.country, south.country_code) == (
        "Souther", "SO", "Arland", "XA",
    )  # fmt: skip
    assert (south.label, south.estimated) == ("Kilbrook, Souther, Arland", True)
    like_its_state = some.find("Norther")
    assert like_its_state is not None
    assert like_its_state.town.label == "Norther, Arland"
    assert some.smallest == 999


def test_an_id_is_town_and_a_number(some: Towns) -> None:
    found = some.by_id(" TOWN-16 ")
    assert found is not None
    assert found.name == "Smallham"
    for text in ("town-31", "town-0", "30", "town-", "town-x", "town-\u0661", "town-" + "1" * 10):
        assert some.by_id(text) is None
    # Nine digits are looked for, ten are no number of GeoNames.
    assert some.by_id("town-000000016") == found
    assert some.by_id("town-0000000016") is None


@pytest.mark.parametrize(
    ("text", "people"),
    [
        ("Kilbrook", 500_000),  # ten times the next, 54 degrees of arc apart
        ("kilbrook, souther", 50_000),
        ("Kilbrook Souther", 50_000),
        ("Kilbrook, SO, XA", 50_000),
        ("Kilbrook,, Arland", 500_000),
        ("Kilbrook, Bria", None),
        ("Kilbrook, Arland, Bria", None),
        ("Kilbrook Nowhere", None),
        ("Marfield", "several"),
        ("Marfield, Arland", 30_000),  # 56 km apart: one place, spoken for by the larger
        ("Dunmoor", 20_000),
        ("Farley", "several"),  # 63 km apart
        ("Smallham United Islands of Bria", 1_000),  # four words
        ("Smallham Great United Islands of Bria", None),  # five, and no comma
        ("Smallham, Great United Islands of Bria", 1_000),
        ("Tessen", "several"),  # 30,000 who call it otherwise count a third, ten times 1,001
        ("Norther", 9_000),
        ("Norther, Norther", 9_000),
        ("Ax", 6_000),
        ("", None),
        (" , ", None),
        ("Kilbroo", None),
        ("k" * 200, None),
        ("Smallham, " + "b" * 200, None),
    ],
)
def test_which_town_a_text_means(some: Towns, text: str, people: int | str | None) -> None:
    assert population(some, text) == people


def with_people(some: Towns, number: int, people: int) -> Towns:
    """The same list with the people of one town changed."""
    changed = object.__new__(Towns)
    changed.__dict__.update(some.__dict__)
    changed._population = some._population.copy()  # type: ignore[misc]
    changed._population[number] = people
    return changed


@pytest.mark.parametrize(("people", "means"), [(50_000, 500_000), (50_001, "several")])
def test_ten_times_the_people_are_meant(some: Towns, people: int, means: int | str) -> None:
    assert population(with_people(some, 1, people), "Kilbrook") == means


@pytest.mark.parametrize(
    ("people", "means"), [(999, 30_000), (1_000, 30_000), (1_001, "several"), (99_999, "several")]
)
def test_people_who_call_it_otherwise_count_a_third(
    some: Towns, people: int, means: int | str
) -> None:
    number = next(n for n in range(len(some)) if some[n].name == "Tessen")
    assert population(with_people(some, number, people), "Tessen") == means


def test_other_towns_of_the_name_are_told_the_largest_first(some: Towns) -> None:
    meant = some.find("Kilbrook")
    assert meant is not None
    assert [one.population for one in meant.others] == [50_000]
    near = some.find("Dunmoor")
    assert near is not None
    assert near.others == ()
    with pytest.raises(
        Namesakes, match=r"'Farley' may mean Farley, Norther, Arland \[town-"
    ) as told:
        some.find("Farley")
    assert [one.population for one in told.value.towns] == [20_000, 10_000]
    # A town called otherwise at home is told only where it may be meant.
    number = next(n for n in range(len(some)) if some[n].name == "Tessen")
    large = with_people(some, number, 200_000).find("Tessen")
    assert large is not None
    assert (large.town.name, large.others) == ("Tessen", ())


def test_a_search_takes_every_beginning(some: Towns) -> None:
    def names(text: str, limit: int = 9) -> list[str]:
        return [f"{one.name} {one.population}" for one in some.search(text, limit)]

    assert names("kilb") == ["Kilbrook 500000", "Kilbrook 50000", "Kilbrooke 8000", "Kilbrae 7000"]
    assert names("kilb", 2) == ["Kilbrook 500000", "Kilbrook 50000"]
    assert names("kilb", 1) == ["Kilbrook 500000"]
    assert names("kilb", 0) == []
    assert names("kilb, ar") == ["Kilbrook 500000", "Kilbrook 50000"]
    assert names("kilb sou") == ["Kilbrook 50000"]
    assert names("kilb, bri") == ["Kilbrooke 8000", "Kilbrae 7000"]
    assert names("kilb, zz") == []
    assert names("zz") == []
    assert names("  ", 3) == ["Kilbrook 500000", "Kilbrook 50000", "Marfield 40001"]
    assert names("k" * 81) == []
    # An other name counts a twentieth: 1,500 of 30,000.
    assert names("tess") == ["Hallow 30000", "Tessen 1001"]
    assert [one.name for one in with_people(some, 14, 1_600).search("tess", 2)] == [
        "Tessen", "Hallow",
    ]  # fmt: skip


def test_the_limit_counts_towns_and_not_their_spellings(some: Towns) -> None:
    assert len(some.search("", 5)) == 5
    assert len(some.search("marf", 3)) == 3


def test_a_slip_of_the_pen_is_offered_first(some: Towns) -> None:
    def first(text: str, count: int = 5) -> list[str]:
        return [one.name for one in some.alike(text, count)]

    assert first("Smalham")[0] == "Smallham"  # one left out
    assert first("Smallhham")[0] == "Smallham"  # one too many
    assert first("Smollham")[0] == "Smallham"  # another
    assert first("Smallahm")[0] == "Smallham"  # two changed about
    assert first("mSallham") == ["Smallham"]
    assert first("Smallha") == ["Smallham"]
    # Two slips: by the likeness of the whole from three letters alike on.
    assert first("Smalhamm") == ["Smallham"]
    assert first("Smaxlhamm") == ["Smallham"]
    assert first("Smxllhamm") == []
    assert first("Smxxlhyym") == []
    assert first("Kilbrookes") == ["Kilbrooke", "Kilbrook", "Kilbrook"]
    assert first("Kilbrooks, Souther")[:2] == ["Kilbrook", "Kilbrook"]
    assert some.alike("Kilbrooks, Souther")[0].region == "Souther"
    assert some.alike("Kilbrooks")[0].region == "Norther"
    assert first("Kilbrookes", 1) == ["Kilbrooke"]
    assert first("Ay") == ["Ax"]
    assert first("") == []


def test_five_are_offered_or_as_many_as_are_asked_for(some: Towns) -> None:
    assert [one.name for one in some.alike("Tarnwell")] == [f"Tarnwell{one}" for one in "abcde"]
    assert len(some.alike("Tarnwell", 7)) == 7
    assert len(some.alike("Tarnwell", 30)) == 12  # of one kind of likeness


def test_no_more_is_searched_than_may_be(some: Towns) -> None:
    effort.allow_searches(1)
    try:
        assert some.alike("Smalham")
        assert some.alike("Smalham") == ()
    finally:
        effort.allow_searches(None)


def test_slips_are_each_one_letter_away() -> None:
    made = set(towns._slips("ab"))
    assert {"a", "b", "ba", "abz", "zab", "azb", "az", "zb", "a b"} <= made
    assert not made & {"ab", "", "abzz"}
    # 2 left out, 1 changed about, 26 letters and the space at 3 places, the same at 2.
    by_hand = {"a", "b", "ba"}
    letters = "abcdefghijklmnopqrstuvwxyz "
    by_hand |= {"ab"[:at] + one + "ab"[at:] for at in range(3) for one in letters}
    by_hand |= {"ab"[:at] + one + "ab"[at + 1 :] for at in range(2) for one in letters}
    assert made == by_hand - {"ab"}
    # Of a long name letters are left out and changed about alone.
    assert len(set(towns._slips("abcdefghijklmnopqrst"))) > 1_000
    assert len(set(towns._slips("abcdefghijklmnopqrstu"))) == 21 + 20
