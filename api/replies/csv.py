"""A series as CSV: one header row with the unit in brackets, no preamble."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from api.quantities import Dimension, System


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, its figures in SI (or texts, without dimension)."""

    name: str
    values: Any
    dimension: Dimension | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of one length, and the units to write them in."""

    columns: Sequence[Column]
    system: System


def write(table: Table) -> str:
    """The table as CSV (RFC 4180, with plain newlines)."""
    heads, columns = [], []
    for column in table.columns:
        if column.dimension is None:
            heads.append(column.name)
            columns.append(list(column.values))
        else:
            unit = column.dimension.of_system[table.system].symbol
            heads.append(f"{column.name} [{unit}]")
            si = np.asarray(column.values, dtype=np.float64)
            columns.append(np.atleast_1d(column.dimension.write(si, table.system)).tolist())
    lines = io.StringIO()
    writer = csv.writer(lines, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(zip(*columns, strict=True))
    return lines.getvalue()
