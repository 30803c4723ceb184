"""Names of woods in six languages against what they are called in science.

data/names_of_woods.csv was written from trade knowledge (memory) before the table of names was
read: 615 names that makers write, with the genus or species meant (several where the trade means
several), and 185 that look like a name of another wood, or are none.
"""

from __future__ import annotations

import csv
import time
from pathlib import Path
from typing import Final

import pytest

from model.names import UnknownName
from model.properties import species
from model.properties.species import NoShrinkage, Species

DATA = Path(__file__).parent / "data"
with (DATA / "names_of_woods.csv").open(encoding="utf-8", newline="") as file:
    ROWS: Final = list(csv.DictReader(file))
NAMES: Final = [row for row in ROWS if row["kind"] == "name"]
TRAPS: Final = [row for row in ROWS if row["kind"] == "trap"]
# Torminalis was counted to Sorbus until lately, Samanea to Albizia, and so on (synonyms in print).
SYNONYMS: Final = {"Torminalis": "Sorbus"}


def scientific(wood: Species) -> list[str]:
    """Scientific names of all woods that an answer stands on."""
    return [species.by_id(one).scientific_name for one in [m.id for m in wood.members] or [wood.id]]


def is_meant(found: str, meant: str, stands_in: bool) -> bool:
    """Whether a wood is one of those meant; a relative that stands in and says so may be."""
    genus = found.split()[0]
    for one in meant.split(";"):
        same = one.split()[0] in (genus, SYNONYMS.get(genus))
        if same and (" " not in one or stands_in or "spp" in found or found.startswith(one)):
            return True
    return False


def right(row: dict[str, str]) -> bool | None:
    """Whether a name is answered with what it means; None when it is not answered."""
    try:
        wood = species.find(row["name"])
    except (UnknownName, NoShrinkage):
        return None
    stands_in = bool(wood.stands_for)
    return all(is_meant(one, row["scientific"], stands_in) for one in scientific(wood) if one) and (
        row["scientific"] != ""
    )


def is_known(row: dict[str, str]) -> bool:
    """Whether a name is known, be it of a wood that is refused for want of a shrinkage."""
    try:
        species.find(row["name"])
    except NoShrinkage as known:
        return is_meant(known.wood.scientific_name, row["scientific"], False)
    except UnknownName:
        return False
    return bool(right(row))


def test_the_list_is_whole() -> None:
    assert len(NAMES) >= 400
    assert len({(row["language"], row["name"].casefold()) for row in NAMES}) > 600
    assert {row["language"] for row in NAMES} == {"en", "de", "fr", "es", "it", "nl"}
    assert len(TRAPS) >= 180


def test_97_of_100_names_of_woods_are_answered() -> None:
    # Found: 604 of 615 are answered with what they mean, or refused as a wood of no known shrinkage
    # (mulberry, plum ...); before the table was widened it was 94 of 100.  The rest: woods that are
    # in no table (ginkgo, tree of heaven), and trade names with a member more than science has.
    known = [is_known(row) for row in NAMES]
    assert sum(known) >= 0.97 * len(NAMES), [
        row["name"] for row, is_right in zip(NAMES, known, strict=True) if not is_right
    ]


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "it", "nl"])
def test_every_language_is_known(language: str) -> None:
    rows = [row for row in NAMES if row["language"] == language]
    assert sum(is_known(row) for row in rows) >= 0.95 * len(rows)


@pytest.mark.parametrize("row", TRAPS, ids=lambda row: f"{row['language']} {row['name']}")
def test_no_look_alike_is_taken(row: dict[str, str]) -> None:
    assert right(row) is not False


@pytest.mark.parametrize(
    ("plain", "others"),
    [
        ("Eiche", ["eiche", "EICHE", "Eichenholz", "Eiche massiv", "Eiche (massiv)"]),
        ("chêne", ["chene", "CHÊNE", "bois de chêne", "chênes", "chêne massif"]),
        ("Lärche", ["Laerche", "Larche", "LÄRCHE", "Lärchenholz"]),
        ("Weißbuche", ["Weissbuche", "weiss buche", "WEISSBUCHE"]),
        ("noce", ["legno di noce", "noce massello", "Noce"]),
        ("roble", ["madera de roble", "roble macizo", "Roble"]),
        (
            "black walnut",
            ["walnut, black", "Black Walnut slab", "blackwalnut", "solid black walnut"],
        ),
        ("beech", ["beechwood", "beech wood", "beech timber", "Beeches"]),
        ("sweetgum", ["sweet gum", "sweet-gum"]),
        ("raintree", ["suar", "rain tree", "monkey pod", "monkeypod wood", "saman"]),
    ],
)
def test_a_name_is_known_in_every_usual_form(plain: str, others: list[str]) -> None:
    meant = scientific(species.find(plain))
    for other in others:
        assert scientific(species.find(other)) == meant, other


def test_an_unknown_name_is_answered_in_20_milliseconds() -> None:
    # The first one builds the index of pairs of letters; a service builds it once.
    with pytest.raises(UnknownName):
        species.find("nothing like it")
    for text in ("blak walnutt", "brazillian cherri wood plank", "x" * 60, "maple wod", "éééé"):
        took = []
        for _ in range(3):
            start = time.perf_counter()
            with pytest.raises(UnknownName):
                species.find(text)
            took.append(time.perf_counter() - start)
        # The fastest of three: what else runs on the machine is not its own.
        assert min(took) < 0.020, text
