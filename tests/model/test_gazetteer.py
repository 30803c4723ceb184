"""Names of places with and without the country or the state behind them."""

from __future__ import annotations

import pytest

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
    ],
)
def test_what_a_text_may_mean(text: str, meant: Match) -> None:
    assert PLACES.match(text) == meant


def test_every_word_of_a_search_begins_a_word_of_name_state_or_country() -> None:
    assert PLACES.search("spring") == (0, 1)
    assert PLACES.search("spring miss") == (1,)
    assert PLACES.search("field") == ()
    assert PLACES.search("united") == (0, 1, 2)
