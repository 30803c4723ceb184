"""Names of places: spelling made alike, countries and states, and finding a place by its name.

Knows nothing of climates; `climate` asks it which of its stations a text means, and `towns`, which
has the towns, how names are folded.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Final

from model.basis import table

# Letters that Unicode does not take apart into a letter and its accent.
_LETTERS: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "\u0131": "i"}
)
_GERMAN: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe"})
_SHORT: Final = {"saint": "st", "sankt": "st", "mount": "mt", "mnt": "mt", "fort": "ft"}
_AIRPORT: Final = frozenset({"ap", "airport", "intl", "international", "aeroport", "flughafen"})
_MOST_QUALIFIER_WORDS: Final = 4  # "United States of America"


def fold(text: str) -> str:
    """A name in plain small letters: no accents, no punctuation, `saint` as `st`.

    Examples
    --------
    >>> fold("Saint-Étienne, FR")
    'st etienne fr'
    """
    apart = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    bare = "".join(letter for letter in apart if not unicodedata.combining(letter))
    bare = re.sub(r"['’\u02bc`.]", "", bare)
    return " ".join(_SHORT.get(word, word) for word in re.findall(r"\w+", bare))


def spellings(text: str) -> tuple[str, ...]:
    """The folded name, and the one with German or Danish letters written out.

    Examples
    --------
    >>> spellings("Köln")
    ('koln', 'koeln')
    """
    plain = fold(text)
    written_out = fold(unicodedata.normalize("NFC", text).casefold().translate(_GERMAN))
    return (plain,) if plain == written_out else (plain, written_out)


@cache
def _named_areas() -> tuple[dict[str, str], dict[str, tuple[tuple[str, str], ...]]]:
    """Names by code, and the (country, region) that a folded name or code may mean."""
    names: dict[str, str] = {}
    meanings: dict[str, list[tuple[str, str]]] = {}
    for row in table("countries.csv"):
        country, _, region = row["code"].partition("-")
        names[row["code"]] = row["name"]
        texts = [region or country, row["name"], *filter(None, row["other_names"].split(";"))]
        for key in {spelling for text in texts for spelling in spellings(text)}:
            meanings.setdefault(key, []).append((country, region))
    return names, {key: tuple(areas) for key, areas in meanings.items()}


def country_name(code: str) -> str:
    """Name of a country by its two-letter code; an unknown code is its own name."""
    return _named_areas()[0].get(code, code)


def country_code(text: str) -> str:
    """Two-letter code of a country by name or longer code; the text itself when not known.

    Examples
    --------
    >>> country_code("USA"), country_code("Finland"), country_code("Utopia")
    ('US', 'FI', 'Utopia')
    """
    codes = [code for code, region in _named_areas()[1].get(fold(text), ()) if not region]
    return codes[0] if len(codes) == 1 else text


@cache
def regions(country: str) -> frozenset[str]:
    """Codes of the states or provinces known of a country; empty for most."""
    return frozenset(
        code.partition("-")[2] for code in _named_areas()[0] if code.startswith(f"{country}-")
    )


def _without_airport(key: str) -> str:
    return " ".join(word for word in key.split() if word not in _AIRPORT) or key


@dataclass(frozen=True, slots=True)
class Place:
    """What a place is called: its name, other names, country code and region code (or empty)."""

    name: str
    country: str
    region: str = ""
    other_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Match:
    """The places a text may mean.

    Attributes
    ----------
    indices : tuple of int
        Their numbers; empty when there is none.
    exact : bool
        True when the text is their whole name.
    qualified : bool
        True when the text named their country or state too.
    """

    indices: tuple[int, ...]
    exact: bool = False
    qualified: bool = False


def city(place: Place) -> str:
    """Folded name without airport, state and what stands in brackets.

    Examples
    --------
    >>> city(Place("Greenville AP MS", "US", "MS"))
    'greenville'
    """
    outside = re.sub(r"\(.*\)", " ", place.name)
    words = fold(outside).split()
    endings = _AIRPORT | {place.region.casefold()}
    while len(words) > 1 and words[-1] in endings:
        words.pop()
    return " ".join(words)


class Index:
    """Places by their folded names."""

    def __init__(self, places: Sequence[Place]) -> None:
        self._places = tuple(places)
        self._exact: dict[str, list[int]] = {}
        self._city: dict[str, list[int]] = {}
        for index, place in enumerate(self._places):
            for text in (place.name, *place.other_names):
                for key in spellings(text):
                    self._put(self._exact, key, index)
            self._put(self._city, city(place), index)
            if place.country in {"AT", "CH", "DE"}:
                # Stations there are written out, Muenster; people type Münster or Munster.
                self._put(self._city, re.sub(r"([aou])e", r"\1", city(place)), index)

    @staticmethod
    def _put(index: dict[str, list[int]], key: str, number: int) -> None:
        numbers = index.setdefault(key, [])
        if number not in numbers:
            numbers.append(number)

    def match(self, text: str) -> Match:
        """The places a text may mean; empty when none.

        `Place`, `Place, Country`, `Place, State`, `Place, State, Country` and the same without
        commas.  The whole name counts before the city in it; a part of a name is none.
        """
        head, *tail = [part for part in text.split(",") if part.strip()] or [""]
        found = self._named(text, ())
        if not found.indices and tail:
            found = self._named(head, tail)
        if not found.indices and not tail:
            words = text.split()
            for length in range(1, _MOST_QUALIFIER_WORDS + 1):
                found = self._named(" ".join(words[:-length]), (" ".join(words[-length:]),))
                if found.indices:
                    break
        return found

    def _named(self, text: str, qualifiers: Iterable[str]) -> Match:
        """Places whose whole name, other name or city is the text."""
        wanted = tuple(qualifiers)
        for names, exact in ((self._exact, True), (self._city, False)):
            for key in spellings(text):
                numbers = names.get(key, ())
                if not exact and not numbers:
                    numbers = names.get(_without_airport(key), ())
                kept = self._qualified(numbers, wanted)
                if kept:
                    return Match(kept, exact, bool(wanted))
        return Match(())

    def _qualified(self, numbers: Iterable[int], qualifiers: tuple[str, ...]) -> tuple[int, ...]:
        """Those of the places that lie in every country or state named."""
        kept = tuple(numbers)
        for qualifier in qualifiers:
            areas = _named_areas()[1].get(fold(qualifier), ())
            kept = tuple(
                index
                for index in kept
                if any(
                    self._places[index].country == country
                    and region in {"", self._places[index].region}
                    for country, region in areas
                )
            )
        return kept

    def search(self, text: str) -> tuple[int, ...]:
        """Places of which every word of the text begins a word of name, state or country."""
        asked = fold(text).split()
        return tuple(
            number
            for number, words in enumerate(self._search_words)
            if all(any(word.startswith(part) for word in words) for part in asked)
        )

    @cached_property
    def _search_words(self) -> list[list[str]]:
        names = _named_areas()[0]
        return [
            fold(
                " ".join(
                    (
                        place.name,
                        *place.other_names,
                        place.region,
                        names.get(f"{place.country}-{place.region}", ""),
                        place.country,
                        country_name(place.country),
                    )
                )
            ).split()
            for place in self._places
        ]
