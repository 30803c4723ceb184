"""Tables as spreadsheets write them: read, written back unchanged, harmless to open."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api import spreadsheet
from api.spreadsheet import Sheet, Unreadable, harmless, with_point

CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)
GRID = st.integers(1, 5).flatmap(
    lambda width: st.lists(st.lists(CELLS, min_size=width, max_size=width), min_size=2, max_size=6)
)


def quoted(cell: str, delimiter: str) -> str:
    """A cell as RFC 4180, 2.5 to 2.7, has it: in quotes where it holds a mark, those doubled."""
    doubled = cell.replace('"', '""')
    return f'"{doubled}"' if any(mark in cell for mark in f'{delimiter}"\r\n') else cell


@given(GRID, st.sampled_from(",;\t"), st.sampled_from(["\n", "\r\n"]), st.booleans())
def test_what_a_spreadsheet_wrote_comes_back_as_it_was(
    grid: list[list[str]], delimiter: str, ending: str, marked: bool
) -> None:
    # A head of more columns than any cell has marks, so that it tells what parts them.
    heads = [f"head {column}" for column in range(len(grid[0]) + 13)]
    rows = [[*row, *[""] * 13] for row in grid]
    lines = (delimiter.join(quoted(cell, delimiter) for cell in row) for row in [heads, *rows])
    written = ("\ufeff" if marked else "") + "".join(line + ending for line in lines)
    sheet = spreadsheet.read(written)
    assert (sheet.delimiter, sheet.ending, sheet.marked) == (delimiter, ending, marked)
    assert [list(cells) for _, cells in sheet.rows] == rows
    again = spreadsheet.write(sheet, [sheet.heads, *(cells for _, cells in sheet.rows)])
    if all(harmless(cell) == cell for row in rows for cell in row):
        assert again == written


@given(CELLS)
def test_no_cell_is_run_as_a_formula_and_a_figure_stays_one(cell: str) -> None:
    told = harmless(cell)
    assert told in (cell, f"'{cell}")
    assert not told.startswith(("=", "@", "\t", "\r"))
    if told.startswith(("+", "-")):
        assert re.fullmatch(r"[+-](\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?", told)
    assert harmless(told) == told  # a table that comes back a second time is not marked again


@pytest.mark.parametrize("cell", ["=1+1", "@SUM(A1)", "+1+1", "-1+1", "\t=1", "-2+3|x", "\uff1d1"])
def test_a_formula_is_marked_as_text(cell: str) -> None:
    assert harmless(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["-0.25", "+3", "-1e-05", "-0,25", "elm = oak", "", "3-4"])
def test_a_figure_and_a_plain_text_stay_as_they_are(cell: str) -> None:
    assert harmless(cell) == cell


def test_lines_are_counted_over_cells_of_several() -> None:
    sheet = spreadsheet.read('id,name\n1,"two\nlines"\n\n2,b\n')
    assert sheet.rows == [(2, ["1", "two\nlines"]), (5, ["2", "b"])]


@pytest.mark.parametrize(
    ("text", "told"),
    [("", "nothing stands"), ('a,b\n1,"open\n', "line 2"), ('a,b\n"x"y,2\n', "line 2")],
)
def test_what_is_no_table_is_refused_with_its_line(text: str, told: str) -> None:
    with pytest.raises(Unreadable, match=told):
        spreadsheet.read(text)


def test_decimal_commas_become_points_between_digits_alone() -> None:
    assert with_point("34,5 in") == "34.5 in"
    assert with_point("Duluth, MN") == "Duluth, MN"
    assert isinstance(spreadsheet.read("a;b\n1;2"), Sheet)
