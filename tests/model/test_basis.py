"""The list of formulas and what is cited from it."""

from __future__ import annotations

import pytest

from model import basis


def test_every_formula_says_where_it_comes_from_and_what_checks_it() -> None:
    for formula in basis.formulas():
        for part in ("id", "title", "expression", "source", "basis", "validity", "check"):
            assert getattr(formula, part), (formula.id, part)


def test_formula_ids_are_kebab_case_and_given_once() -> None:
    ids = [formula.id for formula in basis.formulas()]
    assert len(ids) == len(set(ids))
    assert all(one == one.lower() and " " not in one and "_" not in one for one in ids)


def test_a_source_is_cited_once_in_the_order_asked() -> None:
    twice = basis.cite("ring-mapping", "shrinkage", "dimensional-change-coefficient")
    assert twice == list(dict.fromkeys(twice))
    assert twice[0] == basis.cite("ring-mapping")[0]


def test_an_unknown_formula_is_an_error_and_not_left_out() -> None:
    with pytest.raises(KeyError):
        basis.cite("shrinkage", "phlogiston")


@pytest.mark.parametrize(
    "name",
    [
        "species.csv",
        "finishes.csv",
        "elastic_ratios.csv",
        "transport_groups.csv",
        "sorption_groups.csv",
        "wood_names.csv",
    ],
)
def test_every_row_of_the_wood_tables_has_a_source_and_a_basis(name: str) -> None:
    rows = basis.table(name)
    for row in rows:
        for column, value in row.items():
            # A wood without shrinkage has no source of it, one without a printed movement none.
            known = "movement" not in column or row["movement_tangential_pct_per_pct"]
            told = row.get("tangential_pct") != "" or "strength" in column
            if column.startswith(("source", "basis")) and known and told:
                assert value, (name, row, column)


def test_a_formula_listed_twice_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = basis.table("basis.csv")
    monkeypatch.setattr(basis, "table", lambda _: [*rows, rows[0], rows[3]])
    told = ", ".join(sorted([rows[0]["id"], rows[3]["id"]]))
    with pytest.raises(ValueError, match=f"lists these formulas twice: {told}$"):
        basis._by_id.__wrapped__()
    monkeypatch.setattr(basis, "table", lambda _: rows)
    assert len(basis._by_id.__wrapped__()) == len(rows) == len(basis.formulas())


def test_a_table_is_read_without_the_blanks_around() -> None:
    for row in basis.table("species.csv")[:5]:
        assert all(value == value.strip() for value in row.values())
