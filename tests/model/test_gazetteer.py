"""Names of places with and without the country or the state behind them."""

from __future__ import annotations

import pytest

from model.surroundings import gazetteer
from model.surroundings.gazetteer import Index, Match, Place

PLACES = Index(
    [
        Place("Springfield", "US", "IL"),
        Place("Springfield", "US", "MO"),
        Place("Greenville AP MS", "US", "MS"),
        Place("Muenster", "DE", "", ("Munster in Westfalen",)),
        Place("Santa Cruz", "ES"),
    ]
)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("Springfield", Match((0, 1), exact=True)),
        ("Springfield, Missouri", Match((1,), exact=True, qualified=True)),
        ("Springfield Missouri", Match((1,), exact=True, qualified=True)),
        ("Springfield, MO", Match((1,), exact=True, qualified=True)),
        ("Springfield, Illinois, United States", Match((0,), exact=True, qualified=True)),
        ("Springfield United States", Match((0, 1), exact=True, qualified=True)),
        ("Springfield, Germany", Match(())),
        ("Nowhere, Missouri", Match(())),
        ("Missouri", Match(())),
        ("Springfield Nowhere", Match(())),
        ("Greenville", Match((2,))),
        ("Greenville Airport", Match((2,))),
        ("Greenville Mississippi", Match((2,), qualified=True)),
        ("Munster", Match((3,))),
        ("Munster in Westfalen", Match((3,), exact=True)),
        ("Santa Cruz Spain", Match((4,), exact=True, qualified=True)),
        ("Santa", Match(())),
        ("", Match(())),
        (" , ", Match(())),
        ("Santa, Cruz", Match((4,), exact=True)),
        ("Springfield,,Missouri", Match((1,), exact=True, qualified=True)),
        ("Springfield, Missouri, Illinois", Match(())),
        ("Santa Cruz, Missouri", Match(())),
        ("Springfield United States of America", Match((0, 1), exact=True, qualified=True)),
        ("Greenville Intl Airport, Mississippi, USA", Match((2,), qualified=True)),
        ("Greenville AP MS", Match((2,), exact=True)),
        ("Münster", Match((3,), exact=True)),
        ("Santa Cruz Airport", Match((4,))),
        ("Airport", Match(())),
        ("Springfield Missouri, United States", Match(())),
    ],
)
def test_what_a_text_may_mean(text: str, meant: Match) -> None:
    assert PLACES.match(text) == meant


def test_every_word_of_a_search_begins_a_word_of_name_state_or_country() -> None:
    assert PLACES.search("spring") == (0, 1)
    assert PLACES.search("spring miss") == (1,)
    assert PLACES.search("field") == ()
    assert PLACES.search("united") == (0, 1, 2)


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Ærøskøbing", "aeroskobing"),
        ("Łódź", "lodz"),
        ("Đà Nẵng", "da nang"),
        ("Þórshöfn", "thorshofn"),
        ("Sauðárkrókur", "saudarkrokur"),
        ("Œuilly", "oeuilly"),
        ("IĞDIR", "igdir"),
        ("I\u011fd\u0131r", "igdir"),
        ("Saint-Étienne", "st etienne"),
        ("Sankt Pölten", "st polten"),
        ("Mount/Fort  St. John's", "mt ft st johns"),
        ("L\u2019Aquila", "laquila"),
        ("Weißenfels", "weissenfels"),
    ],
)
def test_names_are_folded_to_plain_letters(text: str, folded: str) -> None:
    assert gazetteer.fold(text) == folded


def test_german_and_danish_letters_may_be_written_out() -> None:
    assert gazetteer.spellings("Ålborg") == ("alborg", "aalborg")
    assert gazetteer.spellings("Köge ø") == ("koge o", "koege oe")
    assert gazetteer.spellings("Ko\u0308ln") == ("koln", "koeln")
    assert gazetteer.spellings("Paris") == ("paris",)


def test_the_code_of_a_country_is_found_by_its_names_and_no_states() -> None:
    for text in ("US", "USA", "united states of america", "U.S.A."):
        assert gazetteer.country_code(text) == "US"
    assert gazetteer.country_code("Georgia") == "GE"  # a state is called so too
    assert gazetteer.country_code("Minnesota") == "Minnesota"
    assert gazetteer.country_name("FI") == "Finland"
    assert gazetteer.country_name("ZZ") == "ZZ"


def test_states_are_known_of_some_countries() -> None:
    assert {"MN", "GA", "DC"} <= gazetteer.regions("US")
    assert "ON" not in gazetteer.regions("US")
    assert gazetteer.regions("AT") == frozenset()


@pytest.mark.parametrize(
    ("place", "city"),
    [
        (Place("Greenville AP MS", "US", "MS"), "greenville"),
        (Place("Nice (Cote d'Azur) Airport", "FR"), "nice"),
        (Place("Airport", "FR"), "airport"),
        (Place("MS", "US", "MS"), "ms"),
        (Place("Paris MS", "US", "TX"), "paris ms"),
    ],
)
def test_the_city_in_a_name(place: Place, city: str) -> None:
    assert gazetteer.city(place) == city


def test_letters_written_out_are_read_back_where_german_is_written() -> None:
    index = Index([Place("Muelheim AP", "DE"), Place("Muelheim AP", "US"), Place("Zuerich", "CH")])
    assert index.match("Mulheim") == Match((0,))
    assert index.match("Muelheim") == Match((0, 1))
    assert index.match("Mülheim") == Match((0,))
    assert index.match("Zürich") == Match((2,), exact=True)
    assert index.match("Zurich") == Match((2,))


def test_a_place_is_told_once_however_many_of_its_names_fit() -> None:
    index = Index([Place("Bern", "CH", "", ("Bern", "Berne"))])
    assert index.match("Bern").indices == (0,)
    assert index.match("Berne").indices == (0,)
    assert index.search("ber") == (0,)
    assert index.search("berne switz") == (0,)
    assert index.search("") == (0,)
