"""Where figures come from: the list of formulas with their sources, which answers cite.

The formulas live in data/basis.csv, one row each: what the formula is, who published it, how it is
known here, where it holds, and how well something outside agrees with it.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True)
class Formula:
    """One formula of the model with its source and what checks it; a row of data/basis.csv."""

    id: str
    title: str
    expression: str
    source: str
    basis: str
    validity: str
    check: str


def table(name: str) -> list[dict[str, str]]:
    """Rows of a table in model/data as dictionaries of stripped text.

    Parameters
    ----------
    name : str
        File name, for example ``species.csv``.
    """
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return [
            {key: (value or "").strip() for key, value in row.items()}
            for row in csv.DictReader(file)
        ]


@cache
def _by_id() -> dict[str, Formula]:
    rows = [Formula(**row) for row in table("basis.csv")]
    named = {row.id: row for row in rows}
    if len(named) != len(rows):
        twice = sorted({row.id for row in rows if sum(row.id == other.id for other in rows) > 1})
        raise ValueError(f"basis.csv lists these formulas twice: {', '.join(twice)}")
    return named


def formulas() -> tuple[Formula, ...]:
    """Every formula of the model, in the order of data/basis.csv.

    Examples
    --------
    >>> formulas()[0].id
    'shrinkage'
    """
    return tuple(_by_id().values())


def cite(*ids: str) -> list[str]:
    """Published sources behind formulas, each named once, in the order asked.

    Parameters
    ----------
    ids : str
        Formula ids of data/basis.csv.

    Raises
    ------
    KeyError
        If an id is unknown.

    Examples
    --------
    >>> cite("shrinkage", "shrinkage")
    ['Wood Handbook FPL-GTR-190 ch. 13']
    """
    return list(dict.fromkeys(_by_id()[one].source for one in ids))
