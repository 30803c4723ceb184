"""Constants that stand beside a source, against a copy of their own in the unit it writes.

The copy says how each is known: from memory it guards against a slip, not against the memory; so it
does for what was fitted or judged once and is told in answers.  What is judged of a verdict stands
in no table; tests/model/test_thresholds.py holds what it decides.
"""

from __future__ import annotations

import csv
import importlib
from collections.abc import Iterator
from functools import reduce
from pathlib import Path
from typing import Any

import pytest

from model.properties import fasteners, sorption, strength

TABLE = Path(__file__).parent / "data" / "constants.csv"
ROWS = list(csv.DictReader(TABLE.read_text().splitlines()))
BASES = {
    "printed", "printed second-hand", "memory", "definition", "practice", "derived", "fitted",
    "judgement",
}  # fmt: skip
SI = {"1": 1.0, "%": 0.01, "MPa": 1e6, "GPa": 1e9, "mm": 1e-3, "mm3": 1e-9}


def flat(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        value = value.values()
    if isinstance(value, int | float):
        yield float(value)
    else:
        for one in value:
            yield from flat(one)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['module']}.{row['name']}")
def test_a_constant_is_what_its_source_says(row: dict[str, str]) -> None:
    start: Any = importlib.import_module(row["module"])
    found = reduce(
        lambda at, name: at[name] if isinstance(at, dict) else getattr(at, name),
        row["name"].split("."),
        start,
    )
    printed, units = row["values"].split(), row["unit"].split()
    wanted = [float(one) * SI[unit] for one, unit in zip(printed, units, strict=True)]
    have = list(flat(found))[: len(wanted)]
    # To the last of the digits that are printed: the copy holds at least as many as the source.
    assert have == pytest.approx(wanted, rel=1e-8)
    assert row["source"]
    assert row["basis"] in BASES


# Mean strengths by the printed form of Table 5-11a, worked by hand at specific gravity 0.5.
@pytest.mark.parametrize(
    ("name", "softwood", "hardwood"),
    [
        ("tension_across", 2.780, 4.102),
        ("shear_along", 9.209, 10.006),
        ("compression_across", 5.557, 5.073),
        ("bending", 84.760, 78.268),
        ("bending_modulus", 11452.2, 10156.8),
    ],
)
def test_strength_by_specific_gravity(name: str, softwood: float, hardwood: float) -> None:
    assert strength.by_gravity(name, 0.5, True) / 1e6 == pytest.approx(softwood, rel=1e-3)
    assert strength.by_gravity(name, 0.5, False) / 1e6 == pytest.approx(hardwood, rel=1e-3)


# Wood Handbook FPL-GTR-190 eq. 4-5 (memory), its coefficients at 20 degC worked by hand.
def test_coefficients_of_the_mean_curve() -> None:
    w, k, k1, k2 = (float(one) for one in sorption.coefficients(20.0))
    assert w == pytest.approx(380.2, rel=1e-9)
    assert k == pytest.approx(0.818628, rel=1e-9)
    assert k1 == pytest.approx(5.9612, rel=1e-9)
    assert k2 == pytest.approx(2.6068, rel=1e-9)


def test_forces_of_a_screw_by_their_printed_forms() -> None:
    # EN 1995-1-1 (8.39) with d 6 mm: k_d 6/8; Huebner's with a thread of 30 mm; EN 1993-1-8.
    assert fasteners.en1995_withdrawal(500.0, 0.006, 0.030) == pytest.approx(2942.6, rel=1e-4)
    # k_d is 1 from 8 mm on: 0.52 12^-0.5 30^-0.1 500^0.8 x 12 x 30.
    assert fasteners.en1995_withdrawal(500.0, 0.012, 0.030) == pytest.approx(5548.6, rel=1e-4)
    assert fasteners.huebner_withdrawal(500.0, 0.006, 0.030) == pytest.approx(3494.6, rel=1e-4)
    screw = fasteners.Fastener("wood_screw", 0.008, 0.040)
    assert fasteners.bolt_tension(screw) == pytest.approx(
        0.9 * 500e6 * 3.14159265 / 4.0 * 0.006**2 / 1.25, rel=1e-8
    )
    nail = fasteners.Fastener("nail", 0.004, 0.040)
    assert fasteners.bolt_tension(nail) == pytest.approx(4523.9, rel=1e-4)
