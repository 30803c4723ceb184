"""Shrinkage against printed examples, printed coefficients and independent European tables."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Final

import numpy as np
import pytest

from model import basis
from model.behaviour import shrinkage
from model.behaviour.slab import Slab
from model.properties import species
from model.spread import TO_DECILE

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


EXAMPLES = {row["id"]: row for row in rows("worked_examples.csv")}
PRINTED = rows("dimensional_change.csv")
WITH_TOTALS = [row for row in PRINTED if row["ST_used_pct"]]
FOLLOWS = [row for row in WITH_TOTALS if not row["note"] or "at 22% MC" in row["note"]]
MARKED = [row for row in WITH_TOTALS if "does not reproduce" in row["note"]]
AT_22 = [row for row in FOLLOWS if row["note"]]
# Sycamore's tangential coefficient is cut off, not rounded: 0.0029661 is printed as 0.00296.
CUT_OFF: Final = {"Sycamore, American": 1.0e-5}
# Woods of Table 13-5 that follow its formula and start elsewhere here: apitong by its coefficients,
# which only then follow (from 22 %); robinia by a fibre saturation printed in Europe (22 %).
ELSEWHERE: Final = {"apitong", "black-locust"}
HALF_DIGIT: Final = 0.51e-5  # coefficients are printed to five places; 2 % of that for rounding


def errors(row: dict[str, str], starts: float) -> list[float]:
    pairs = (("SR_used_pct", "CR_per_pct"), ("ST_used_pct", "CT_per_pct"))
    return [
        float(shrinkage.coefficient(float(row[total]), starts)) - float(row[printed])
        for total, printed in pairs
        if row[total] and row[printed]
    ]


# Worked examples, each with the publication it is printed in.


def test_white_fir_of_the_handbook_widens_by_1_705_mm() -> None:
    # Wood Handbook FPL-GTR-190 ch. 13: 232 mm, 8 to 11 %, by the coefficient 1.705 mm.  The
    # coefficient itself must come out of the wood's total shrinkage; the last printed digit.
    fir = species.find("white fir")
    slope = round(float(shrinkage.coefficient(fir.tangential, fir.shrinkage_starts)), 5)
    assert slope == 0.00245
    assert 232.0 * slope * 3.0 == pytest.approx(1.705, abs=5e-4)
    assert EXAMPLES["WH-13-2a"]["printed_result"].startswith("1.705 mm")


def test_the_shrinkage_formula_gives_white_fir_the_same_within_half_a_percent() -> None:
    # The two ways of ch. 13 differ by 0.4 % here, for the coefficient is taken at 10 %.
    fir = species.find("white fir")
    formula = 232.0 * float(shrinkage.strain(fir.tangential, fir.shrinkage_starts, 8.0, 11.0))
    assert formula == pytest.approx(1.705, rel=5e-3)


def test_white_fir_in_inches() -> None:
    # Same example: 9.15 in, 0.067 in, end width 9.217 in; last printed digit
    fir = species.find("white fir")
    slope = float(shrinkage.coefficient(fir.tangential, fir.shrinkage_starts))
    assert 9.15 * slope * 3.0 == pytest.approx(0.067, abs=5e-4)
    end = 9.15 * (1.0 + float(shrinkage.strain(fir.tangential, fir.shrinkage_starts, 8.0, 11.0)))
    assert end == pytest.approx(9.217, abs=1e-3)


def test_red_alder_of_the_magazine_moves_an_eighth_of_an_inch() -> None:
    # Wood magazine, September 2021: 8 in flat-sawn, 6 % change, 0.1248 in with the coefficient
    # rounded up to 0.0026; 0.1229 with the handbook's 0.00256: 1.6 % apart.
    alder = species.find("red alder")
    slope = float(shrinkage.coefficient(alder.tangential, alder.shrinkage_starts))
    assert 8.0 * 6.0 * slope == pytest.approx(0.1248, rel=0.02)


def test_lumber_shrinks_by_the_grading_rules_line() -> None:
    # FPL-RP-489: width S = 6.031 - 0.215 M, thickness 5.062 - 0.181 M from green, 8-19 %; printed
    # 2.80 and 2.35 % at 15 %.  As our law: totals 6.031 and 5.062, start at the line's zero.
    for total, slope, printed in ((6.031, 0.215, 2.80), (5.062, 0.181, 2.35)):
        start = total / slope
        found = -100.0 * float(shrinkage.strain(total, start, 60.0, 15.0))
        assert found == pytest.approx(printed, abs=0.01)  # last printed digit


def test_a_joist_of_the_course_problem() -> None:
    # Missouri S&T problem 4.34: 13.25 in at 19 % to 10 %, 6 % in all from 30 %: 0.2385 in by the
    # share of green size.  The formula takes the size at 19 % as its base, 2.2 % smaller than
    # green, so it gives that much more.
    found = -13.25 * float(shrinkage.strain(6.0, 30.0, 19.0, 10.0))
    assert found == pytest.approx(0.2385 / (1.0 - 0.06 * 11.0 / 30.0), abs=1e-6)
    assert found == pytest.approx(0.2385, rel=0.025)


def test_red_oak_per_percent_from_a_28_percent_start() -> None:
    # Trade article "The Movement of Wood": totals 4.0 and 8.6 % over 28 %: 0.143 and 0.307 % of
    # the green size per 1 %
    for total, printed in ((4.0, 0.143), (8.6, 0.307)):
        step = 100.0 * float(
            shrinkage.shrunk(total, 28.0, 11.0) - shrinkage.shrunk(total, 28.0, 10.0)
        )
        assert step == pytest.approx(printed, abs=5e-4)  # last printed digit


def test_white_ash_weighs_what_the_handbook_reads_from_its_figure() -> None:
    # Wood Handbook ch. 4: green specific gravity 0.55 read off as 678 kg/m3 at 12 % by its
    # figure; our row has 0.60 at 12 %, printed to two digits: 1.3 %.
    cube = Slab(species.find("white ash"), width=1.0, thickness=1.0, length=1.0)
    assert cube.weight(12.0) == pytest.approx(678.0, rel=0.013)


# Table 13-5: dimensional change coefficients.


def test_the_table_is_whole() -> None:
    # 141 rows: 91 follow the formula from 30 %, 5 from 22 %, 32 are marked as not following it,
    # 1 is marked as following from 25 % and 12 have no total shrinkage to compare with.
    assert len(PRINTED) == 141
    assert (len(FOLLOWS), len(AT_22), len(MARKED)) == (96, 5, 32)
    assert len(WITH_TOTALS) == len(FOLLOWS) + len(MARKED) + 1


@pytest.mark.parametrize("row", FOLLOWS, ids=lambda row: row["species"])
def test_a_printed_coefficient_follows_from_the_total_shrinkage(row: dict[str, str]) -> None:
    # Wood Handbook FPL-GTR-190 Table 13-5; within half the last printed digit, one wood a whole one
    starts = 22.0 if row["note"] else 30.0
    for error in errors(row, starts):
        assert abs(error) <= CUT_OFF.get(row["species"], HALF_DIGIT)


@pytest.mark.parametrize("row", MARKED, ids=lambda row: row["species"])
def test_a_marked_row_really_does_not_follow(row: dict[str, str]) -> None:
    # In at least one direction the printed coefficient is off by more than its rounding.
    assert max(abs(error) for error in errors(row, 30.0)) > HALF_DIGIT


def test_the_row_marked_as_following_from_25_percent_follows_only_roughly() -> None:
    # Commercial red oak, 0.00369 tangential: from 25 % it is off by 1.7 %, ten times its rounding.
    (row,) = [one for one in WITH_TOTALS if one not in FOLLOWS and one not in MARKED]
    assert row["species"] == "Oak, red commercial"
    (error,) = errors(row, 25.0)
    assert HALF_DIGIT < abs(error) < 0.02 * float(row["CT_per_pct"])


def test_the_species_table_holds_the_totals_the_coefficients_were_made_from() -> None:
    # Every row that follows the formula, found by its printed name in our table of woods, must
    # give the printed coefficients with our own totals and our own start of shrinkage, but for
    # those with a printed fibre saturation or a European movement that is used instead.
    checked = 0
    elsewhere = set()
    for row in FOLLOWS:
        wood = species.find(row["species"])
        if "straight line" not in wood.source_start and "footnote b" not in wood.source_start:
            elsewhere.add(wood.id)
            continue
        for total, printed in ((wood.radial, "CR_per_pct"), (wood.tangential, "CT_per_pct")):
            if row[printed]:
                slope = float(shrinkage.coefficient(total, wood.shrinkage_starts))
                limit = CUT_OFF.get(row["species"], HALF_DIGIT)
                assert slope == pytest.approx(float(row[printed]), abs=limit), wood.id
        checked += 1
    assert elsewhere == ELSEWHERE
    assert checked == len(FOLLOWS) - len(ELSEWHERE)


def test_an_imported_wood_off_the_formula_has_its_printed_coefficient() -> None:
    # Table 13-5 rows of imported woods that do not follow from the shrinkage table: unless Europe
    # prints a movement, the printed coefficient decides.  The two are told for 10 and for 12 %:
    # up to 1 % apart.  Where Europe's is more than 15 % below it the wood is marked weak.
    checked = 0
    for row in MARKED:
        try:
            wood = species.find(row["species"])
        except (species.UnknownName, species.NoShrinkage):
            continue
        if wood.members or "straight line" in wood.source_start:
            continue
        for total, printed in ((wood.radial, "CR_per_pct"), (wood.tangential, "CT_per_pct")):
            slope = float(shrinkage.coefficient(total, wood.shrinkage_starts))
            if not row[printed]:
                continue
            if "Table 13-5" in wood.source_movement:
                assert slope == pytest.approx(float(row[printed]), rel=0.012), wood.id
                checked += 1
            elif float(row[printed]) > 1.15 * slope:
                assert wood.confidence == "low", wood.id
    assert checked == 18


# European and Australian unit movements, measured apart from the American tables.

SAME_WOOD: Final = {
    "Spruce, Norway": "norway-spruce",
    "Pine, Scots": "scots-pine",
    "Larch, European": "european-larch",
    "Douglas-fir (Oregon pine)": "coast-douglas-fir",
    "Fir, silver": "silver-fir",
    "Afrormosia": "afrormosia",
    "Afzelia (doussie)": "doussie",
    "Birch": "silver-birch",
    "Bongossi (azobe)": "azobe",
    "Beech, European": "european-beech",
    "Oak, European": "sessile-oak",
    "Ash, European": "european-ash",
    "Iroko": "iroko",
    "Khaya (African mahogany)": "african-mahogany",
    "Makore": "makore",
    "Meranti, yellow": "yellow-meranti",
    "Meranti, red": "dark-red-lauan",
    "Niangon": "niangon",
    "Walnut, European": "european-walnut",
    "Poplar": "european-poplar",
    "Sapele (sapelli)": "sapele",
    "Sipo (utile)": "sipo",
    "Teak": "teak",
    "Elm (Rüster)": "wych-elm",
    "Wenge": "wenge",
    "Alpine ash": "alpine-ash",
    "Blackbutt": "blackbutt",
    "Spotted gum": "spotted-gum",
    "Jarrah": "jarrah",
    "Karri": "karri",
    "Victorian ash / mountain ash": "mountain-ash",
    "Sydney blue gum": "sydney-blue-gum",
    "Brush box": "brush-box",
    "Radiata pine": "radiata-pine",
}
FITTED_START: Final = 27.0  # %; middle of the starts of these woods, 26.9
UNIT_MOVEMENTS: Final = {
    SAME_WOOD[row["species"]]: (
        float(row["q_radial_pct_per_pct"] or "nan"),
        float(row["q_tangential_pct_per_pct"]),
    )
    for row in rows("differential_shrinkage_eu_au.csv")
    if row["species"] in SAME_WOOD
}


def ratios() -> dict[str, tuple[float, float]]:
    """Our movement per 1 % at 12 % over the printed one: radial, tangential (NaN not printed)."""
    found = {}
    for identity, printed in UNIT_MOVEMENTS.items():
        wood = species.find(identity)
        radial, tangential = (
            100.0 * float(shrinkage.coefficient(total, wood.shrinkage_starts, 12.0)) / movement
            for total, movement in zip((wood.radial, wood.tangential), printed, strict=True)
        )
        found[identity] = (radial, tangential)
    return found


def test_a_wood_moves_as_print_says() -> None:
    # DIN 68100 figures (printed) and Australian unit shrinkage (memory): at least 90 % within 15 %,
    # found 32 of 34.  Jarrah and radiata pine keep the handbook's line, for the Australian figures
    # of them are from memory; their printed movement lies in their band or is smaller.
    found = ratios()
    assert len(found) == 34
    off = {wood for wood, pair in found.items() if np.nanmax(np.abs(np.array(pair) - 1.0)) > 0.15}
    assert off == {"jarrah", "radiata-pine"}


def test_spruce_ash_pine_walnut_and_teak_move_as_printed() -> None:
    # Off by 1.3 to 1.5 when every wood started at 30 %; rounding of the start alone is left.
    found = ratios()
    for wood in ("norway-spruce", "european-ash", "scots-pine", "european-walnut", "teak"):
        assert found[wood] == pytest.approx((1.0, 1.0), abs=1e-6)


def held_back(wood: str) -> float:
    """Tangential movement per 1 % had that of this wood not been printed, over the printed one.

    Then it starts at its printed fibre saturation, else at the fitted one.
    """
    (row,) = [one for one in basis.table("species.csv") if one["id"] == wood]
    total, saturation = float(row["tangential_pct"]), float(row["fibre_saturation_pct"])
    start = (
        saturation if "FPL-GTR-190 ch. 4" not in row["source_fibre_saturation"] else FITTED_START
    )
    printed = UNIT_MOVEMENTS[wood][1]
    return 100.0 * float(shrinkage.coefficient(total, start, 12.0)) / printed


def test_without_its_printed_movement_a_wood_is_known_as_well_as_its_band_says() -> None:
    # The 28 woods whose total shrinkage is measured apart from the movement (Australian totals are
    # made from it).  Found: 16 of 28 within 15 %, 13 with 30 % for all: nothing else in the tables
    # tells spruce's 0.39 from pine's 0.36 or elm's 0.23.  But the band told for woods without a
    # printed movement, 0.81 to 1.32, holds 80 % of them, as it must.
    made_of_it = {
        wood
        for wood in UNIT_MOVEMENTS
        if "from which the total is made" in species.find(wood).source_start
    }
    woods = UNIT_MOVEMENTS.keys() - made_of_it
    assert len(woods) == 28
    ratio = np.array([held_back(wood) for wood in sorted(woods)])
    assert np.median(ratio) == pytest.approx(1.0, abs=0.1)
    assert np.mean(np.abs(ratio - 1.0) <= 0.15) >= 0.5
    fitted = species.find("European lime")
    below, above = fitted.tangential_variation
    inside = (1.0 / ratio > 1.0 - TO_DECILE * below) & (1.0 / ratio < 1.0 + TO_DECILE * above)
    assert np.mean(inside) >= 0.8


def test_an_eastern_rule_of_thumb_is_of_the_right_size() -> None:
    # American Wood Council: 1 % of size for 4 % of moisture, for framing lumber.  Our softwoods
    # lie between 0.12 (juniper) and 0.39 % (spruce) tangential per 1 %, around 0.25.
    slopes = [
        100.0 * float(shrinkage.coefficient(wood.tangential, wood.shrinkage_starts))
        for wood in species.all_species()
        if wood.is_softwood
    ]
    assert 0.22 < float(np.median(slopes)) < 0.28
    assert min(slopes) > 0.10
    assert max(slopes) < 0.40
