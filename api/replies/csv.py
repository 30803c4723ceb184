"""A table as CSV: one header row with the unit in brackets, no preamble."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from api.replies.members import Column
from api.units import System


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of one length, and the units to write them in."""

    columns: Sequence[Column]
    system: System


def write(table: Table) -> str:
    """The table as CSV (RFC 4180, with plain newlines); a figure that is not there is empty."""
    heads, columns = [], []
    for column in table.columns:
        if column.dimension is None:
            heads.append(column.name)
            columns.append(list(column.values))
        else:
            unit = column.dimension.of_system[table.system].symbol
            heads.append(f"{column.name} [{unit}]")
            si = np.atleast_1d(np.asarray(column.values, dtype=np.float64))
            told = column.dimension.write(si, table.system).tolist()
            columns.append(["" if one != one else one for one in told])
    lines = io.StringIO()
    writer = csv.writer(lines, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(zip(*columns, strict=True))
    return lines.getvalue()
