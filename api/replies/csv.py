"""A table as CSV: one header row with the unit in brackets, no preamble."""

from __future__ import annotations

import csv
import datetime
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from api.replies.members import Column
from api.units import System


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of one length, and the units to write them in.

    starts : the day that 0 of the column `day` is, where that is known: dates stand beside it then.
    """

    columns: Sequence[Column]
    system: System
    starts: datetime.date | None = None


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
        if column.name == "day" and table.starts is not None:
            heads.append("date")
            columns.append(_dates(table.starts, column.values))
    lines = io.StringIO()
    writer = csv.writer(lines, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(zip(*columns, strict=True))
    return lines.getvalue()


def _dates(starts: datetime.date, days: Any) -> list[str]:
    """The date that each day from a start falls on; the start itself counts as whole."""
    return [
        (starts + datetime.timedelta(days=math.floor(day + 1e-9))).isoformat()
        for day in np.asarray(days, dtype=np.float64).tolist()
    ]
