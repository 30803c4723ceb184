"""Every town of the world from 1,000 inhabitants, by name, state or country.

The list is GeoNames' (CC BY 4.0), packed by tests/reference/make_towns.py into data/towns.npz:
towns by falling population, and the folded spellings of their names in the order of their bytes,
which are searched by halves. Nothing is a Python object until it is found, so that workers that
part after loading share all of it.
"""

from __future__ import annotations

import difflib
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from model import effort
from model.basis import DATA
from model.surroundings.gazetteer import spellings
from model.surroundings.globe import distances

ATTRIBUTION: Final = "Names of places: GeoNames (geonames.org), licence CC BY 4.0."

ONE_PLACE: Final = 60.0  # km; towns of one name nearer than this are one place's (judgement)
OUTWEIGHS: Final = 10.0  # times the people of the next of its name, and a town is meant (judgement)
OTHER_NAME: Final = 1.0 / 3.0  # weight of people who call it otherwise at home (judgement)
OTHER_NAME_OFFERED: Final = 0.05  # the same among suggestions, where every beginning fits many
NAMESAKES: Final = 12  # told at most
LONGEST: Final = 80  # letters of a name that is looked for; the longest listed has fewer
_OWN: Final = 1 << 31  # bit of a town that carries a key as its own name
_NONE: Final = np.empty(0, dtype=np.uint32)
_MOST_QUALIFIER_WORDS: Final = 4  # "United States of America"
_PREFIX: Final = "town-"
_LETTERS: Final = "abcdefghijklmnopqrstuvwxyz "
_LIKE_ENOUGH: Final = 0.75  # difflib ratio from which a name is offered as meant (judgement)
_COMPARED: Final = 150  # largest towns of a like beginning that are compared


@dataclass(frozen=True, slots=True)
class Town:
    """A town.

    Attributes
    ----------
    id, name : str
        `town-` and its number in GeoNames; its name there.
    country, region : str
        Names of its country and of its state or province; the latter may be empty.
    country_code, region_code : str
        Two letters; as in ISO 3166-2 where that has letters, else GeoNames' own.
    latitude, longitude : float
        [degrees], to a hundredth.
    population : int
        People.
    elevation : float
        [m], of GeoNames' elevation model.
    estimated : bool
        True where the elevation was taken from the towns around.
    """

    id: str
    name: str
    country: str
    region: str
    country_code: str
    region_code: str
    latitude: float
    longitude: float
    population: int
    elevation: float
    estimated: bool

    @property
    def label(self) -> str:
        """Name, state and country in one line."""
        region = "" if self.region == self.name else self.region
        return ", ".join(filter(None, (self.name, region, self.country)))


@dataclass(frozen=True, slots=True)
class Meant:
    """The town that a name means, and others of that name, the largest first."""

    town: Town
    others: tuple[Town, ...]


class Namesakes(ValueError):  # noqa: N818 - read as what happened
    """Several towns have this name and none of them has ten times the people of the next.

    Attributes
    ----------
    text : str
        The name asked.
    towns : tuple of Town
        The largest of them.
    """

    def __init__(self, text: str, towns: tuple[Town, ...]) -> None:
        self.text, self.towns = text, towns
        listed = "; ".join(f"{town.label} [{town.id}]" for town in towns)
        super().__init__(f"'{text}' may mean {listed}")


class _Texts:
    """Many texts as one run of bytes."""

    def __init__(self, arrays: Mapping[str, NDArray[Any]], name: str) -> None:
        self._bytes: Final = arrays[name].tobytes()
        ends = np.zeros(arrays[f"{name}_lengths"].size + 1, dtype=np.uint32)
        np.cumsum(arrays[f"{name}_lengths"], out=ends[1:])
        self._ends: Final = memoryview(ends.data)

    def __len__(self) -> int:
        return len(self._ends) - 1

    def raw(self, number: int) -> bytes:
        return self._bytes[self._ends[number] : self._ends[number + 1]]

    def __getitem__(self, number: int) -> str:
        return self.raw(number).decode()


class _Keys(_Texts):
    """Spellings in the order of their bytes, and the numbers of what is called so."""

    def __init__(self, arrays: Mapping[str, NDArray[Any]], name: str) -> None:
        super().__init__(arrays, name)
        self._first: Final = np.zeros(len(self) + 1, dtype=np.uint32)
        np.cumsum(arrays[f"{name}_counts"], out=self._first[1:])
        self._numbers: Final = arrays[f"{name}_numbers"]

    def place(self, key: bytes) -> int:
        """Number of the first key that is not before this one."""
        return bisect_left(range(len(self)), key, key=self.raw)

    def under(self, key: str) -> NDArray[np.uint32]:
        """Numbers of what is called so; empty when nothing is."""
        wanted = key.encode()
        place = self.place(wanted)
        if place == len(self) or self.raw(place) != wanted:
            return self._numbers[:0]
        return self._numbers[self._first[place] : self._first[place + 1]]

    def span(self, beginning: str) -> tuple[int, int]:
        """The keys that begin so, from and up to."""
        wanted = beginning.encode()
        return self.place(wanted), self.place(wanted + b"\xff")

    def within(self, low: int, high: int) -> NDArray[np.uint32]:
        """Numbers of what is called by any of these keys."""
        return self._numbers[self._first[low] : self._first[high]]

    def places(self, low: int, high: int) -> NDArray[np.int64]:
        """The key of each of the numbers `within` the same keys."""
        ends = self._first[low : high + 1].astype(np.int64)
        return np.repeat(np.arange(low, high), ends[1:] - ends[:-1])

    def holds(self, key: str) -> bool:
        return self.under(key).size > 0


class Towns:
    """The listed towns, by number from the largest to the smallest."""

    def __init__(self, arrays: Mapping[str, NDArray[Any]]) -> None:
        self._id: Final = arrays["id"]
        self._latitude: Final = arrays["latitude"]
        self._longitude: Final = arrays["longitude"]
        self._population: Final = arrays["population"]
        self._area: Final = arrays["area"]
        self._elevation: Final = arrays["elevation"]
        self._estimated: Final = arrays["estimated"]
        self._name: Final = _Texts(arrays, "name")
        self._keys: Final = _Keys(arrays, "key")
        self._area_name: Final = _Texts(arrays, "area_name")
        self._area_code: Final = _Texts(arrays, "area_code")
        self._area_country: Final = _Texts(arrays, "area_country")
        self._area_keys: Final = _Keys(arrays, "area_key")
        countries = [self._area_country[number] for number in range(len(self._area_country))]
        whole = {code: number for number, code in reversed(list(enumerate(countries)))}
        # A country stands before its states in the list, under its own number.
        self._country_of: Final = np.array([whole[code] for code in countries], dtype=np.uint16)

    def __len__(self) -> int:
        return int(self._id.size)

    def __getitem__(self, number: int) -> Town:
        area = int(self._area[number])
        country = int(self._country_of[area])
        return Town(
            id=f"{_PREFIX}{self._id[number]}",
            name=self._name[number],
            country=self._area_name[country],
            region="" if area == country else self._area_name[area],
            country_code=self._area_country[country],
            region_code="" if area == country else self._area_code[area],
            latitude=float(self._latitude[number]) / 100.0,
            longitude=float(self._longitude[number]) / 100.0,
            population=int(self._population[number]),
            elevation=float(self._elevation[number]),
            estimated=bool(self._estimated[number]),
        )

    def by_id(self, text: str) -> Town | None:
        """The town of an id such as `town-2761369`; None when there is none."""
        digits = text.strip().casefold().removeprefix(_PREFIX)
        if digits == text.strip().casefold() or not (digits.isascii() and digits.isdigit()):
            return None
        if len(digits) > 9:
            return None
        found = np.flatnonzero(self._id == int(digits))
        return self[int(found[0])] if found.size else None

    def find(self, text: str) -> Meant | None:
        """The town that a text means; None when no town is called so.

        Parameters
        ----------
        text : str
            `Town`, `Town, Country`, `Town, State`, `Town, State, Country`, with commas or without;
            any case, accents or not; names in other languages; countries and states by code too.

        Returns
        -------
        Meant
            The only town of that name, or the one with ten times the people of the next (people
            count a third where it is another name of a town than its own). Towns of one name
            within 60 km are one place, spoken for by the largest.

        Raises
        ------
        Namesakes
            Several fit and none of them outweighs the others.
        """
        for head, tail in _readings(text):
            found = self._called(head, tail)
            if found.size:
                return self._chosen(text, found)
        return None

    def _called(self, name: str, qualifiers: Sequence[str]) -> NDArray[np.uint32]:
        """Numbers, with the bit of an own name, of towns called so in these areas."""
        if len(name) > LONGEST:
            return _NONE
        found = [self._keys.under(key) for key in spellings(name) if key]
        numbers = np.unique(np.concatenate(found)) if found else _NONE
        for qualifier in qualifiers:
            if numbers.size:
                numbers = numbers[self._lies_in(numbers & ~np.uint32(_OWN), qualifier)]
        return numbers

    def _lies_in(self, towns: NDArray[np.uint32], qualifier: str) -> NDArray[np.bool_]:
        """Whether each of the towns lies in a country or state of this name."""
        keys = [self._area_keys.under(key) for key in spellings(qualifier[:LONGEST]) if key]
        areas = np.concatenate(keys) if keys else _NONE
        own = self._area[towns]
        return np.isin(own, areas) | np.isin(self._country_of[own], areas)

    def _weight(
        self, numbers: NDArray[np.uint32], other_name: float = OTHER_NAME
    ) -> NDArray[np.float64]:
        own = (numbers & np.uint32(_OWN)) != 0
        people = self._population[numbers & ~np.uint32(_OWN)].astype(np.float64)
        weight: NDArray[np.float64] = np.where(own, people, other_name * people)
        return weight

    def _chosen(self, text: str, found: NDArray[np.uint32]) -> Meant:
        weight = self._weight(found)
        order = np.argsort(-weight, kind="stable")
        numbers = (found & ~np.uint32(_OWN))[order]
        weight = weight[order]
        far = self._far_from(int(numbers[0]), numbers)
        rival = far & (OUTWEIGHS * weight > weight[0])
        # What is called otherwise at home is told only where it may be meant.
        told = far & (rival | ((found[order] & np.uint32(_OWN)) != 0))
        # One town may stand twice, by its own name and by its spelling.
        others = tuple(dict.fromkeys(self[int(one)] for one in numbers[told][:NAMESAKES]))
        if rival.any():
            raise Namesakes(text, (self[int(numbers[0])], *others))
        return Meant(self[int(numbers[0])], others)

    def _far_from(self, first: int, numbers: NDArray[np.uint32]) -> NDArray[np.bool_]:
        away = distances(
            self._latitude[first] / 100.0,
            self._longitude[first] / 100.0,
            self._latitude[numbers] / 100.0,
            self._longitude[numbers] / 100.0,
        )
        return away > ONE_PLACE

    def search(self, text: str, limit: int) -> tuple[Town, ...]:
        """The largest towns with a name that begins so, in states or countries that begin so.

        `Port`, `Portland, Or`, `portland or`: words after a comma begin a state or a country, and
        so do the last words where no town's name begins with all of them. No text: the largest.
        """
        if limit < 1 or len(text) > LONGEST:
            return ()
        if not text.strip():
            return tuple(self[number] for number in range(limit))
        for head, tail in _readings(text):
            numbers = self._beginning(head, tail)
            if numbers.size:
                break
        else:
            return ()
        weight = self._weight(numbers, OTHER_NAME_OFFERED)
        best = np.argsort(-weight, kind="stable")[: 4 * limit]
        towns = dict.fromkeys(int(number) & ~_OWN for number in numbers[best])
        return tuple(self[number] for number in [*towns][:limit])

    def _beginning(self, head: str, tail: Sequence[str]) -> NDArray[np.uint32]:
        spans = [self._keys.span(key) for key in spellings(head) if key]
        parts = [self._keys.within(*span) for span in spans]
        numbers = np.unique(np.concatenate(parts)) if parts else _NONE
        for qualifier in tail:
            areas = [
                self._area_keys.within(*self._area_keys.span(key))
                for key in spellings(qualifier)
                if key
            ]
            if areas and numbers.size:
                own = self._area[numbers & ~np.uint32(_OWN)]
                wanted = np.concatenate(areas)
                numbers = numbers[np.isin(own, wanted) | np.isin(self._country_of[own], wanted)]
        return numbers

    def alike(self, text: str, count: int = 5) -> tuple[Town, ...]:
        """Towns whose name is one slip of the pen away, then those that look alike; best first."""
        if not effort.may_search():
            return ()
        head, *tail = [part for part in text.split(",") if part.strip()] or [""]
        found: list[int] = []
        for key in spellings(head[:LONGEST]):
            slips = [self._keys.under(one) for one in _slips(key) if self._keys.holds(one)]
            near = [*slips, *self._looking_like(key)]
            for numbers in (slips, near):
                for number in self._by_weight(numbers, tail):
                    if number not in found:
                        found.append(number)
        return tuple(self[number] for number in found[:count])

    def _by_weight(self, parts: Sequence[NDArray[np.uint32]], tail: Sequence[str]) -> list[int]:
        """Numbers of the towns, those in the areas named first, then the largest."""
        if not parts:
            return []
        numbers = np.unique(np.concatenate(parts))
        there = np.zeros(numbers.size, dtype=bool)
        for qualifier in tail:
            there |= self._lies_in(numbers & ~np.uint32(_OWN), qualifier)
        order = np.lexsort((-self._weight(numbers), ~there))
        return [int(number) & ~_OWN for number in numbers[order][:12]]

    def _looking_like(self, key: str) -> Iterator[NDArray[np.uint32]]:
        """What is called by names like this one, among the largest of a like beginning."""
        if len(key) < 4:
            return
        low, high = self._keys.span(key[:3])
        where = self._keys.places(low, high)
        numbers = self._keys.within(low, high)
        largest = np.argsort(-self._weight(numbers), kind="stable")[:_COMPARED]
        matcher = difflib.SequenceMatcher(b=key)
        for place in dict.fromkeys(where[largest].tolist()):
            matcher.set_seq1(self._keys[place])
            if matcher.quick_ratio() >= _LIKE_ENOUGH and matcher.ratio() >= _LIKE_ENOUGH:
                yield self._keys.within(place, place + 1)

    @cached_property
    def smallest(self) -> int:
        """People of the smallest town listed."""
        return int(self._population[-1])


def _readings(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Ways to read a text as a name and the areas it lies in, the likeliest first."""
    head, *tail = [part for part in text.split(",") if part.strip()] or [""]
    yield " ".join(text.split(",")), ()
    if tail:
        yield head, tuple(tail)
        return
    words = text.split()
    for length in range(1, _MOST_QUALIFIER_WORDS + 1):
        yield " ".join(words[:-length]), (" ".join(words[-length:]),)


def _slips(key: str) -> Iterable[str]:
    """Spellings one letter left out, put in, changed or swapped away."""
    made = dict.fromkeys(key[:at] + key[at + 1 :] for at in range(len(key)))
    made |= dict.fromkeys(
        key[:at] + key[at + 1] + key[at] + key[at + 2 :] for at in range(len(key) - 1)
    )
    if len(key) <= 20:
        for letter in _LETTERS:
            made |= dict.fromkeys(key[:at] + letter + key[at:] for at in range(len(key) + 1))
            made |= dict.fromkeys(key[:at] + letter + key[at + 1 :] for at in range(len(key)))
    made.pop(key, None)
    made.pop("", None)
    return made


@cache
def listed() -> Towns:
    """The listed towns, read once; a third of a second."""
    with np.load(DATA / "towns.npz") as arrays:
        return Towns({name: arrays[name] for name in arrays.files})
