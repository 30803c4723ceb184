"""Tables of slabs: csv in, the same csv with the answers behind it."""

from __future__ import annotations

import csv
import io
from typing import Any

import pandas as pd
import pytest
from flask.testing import FlaskClient

from api import limits, tables
from api.admission import Place
from api.questions import BY_NAME, QUESTIONS
from api.schema import members

TAKE_TABLES = [question.name for question in QUESTIONS if question.in_tables]
HEAD = "id,slab.species,slab.width,slab.thickness,before,after,#supplier\n"
GOOD = "a1,American elm,34in,2in,12.5,7,Lake & Wood\n"
NO_WIDTH = "a2,black walnut,,50mm,9,7,\n"
TOO_WET = "a3,cherry,600mm,50mm,900,7,\n"
METRIC = "a4,white oak,640mm,40mm,9,6,\u00e9t\u00e9\n"
TABLE = HEAD + GOOD + NO_WIDTH + TOO_WET + METRIC


def post(client: FlaskClient, name: str, table: str | bytes, **common: str) -> Any:
    return client.post(
        f"/v1/{name}", data=table, content_type="text/csv", query_string=dict(common)
    )


def answered(client: FlaskClient, table: str | bytes, **common: str) -> list[dict[str, str]]:
    """Rows of a table for movement that must be answered, by head."""
    reply = post(client, "movement", table, **common)
    assert reply.status_code == 200, reply.text
    assert reply.content_type == "text/csv; charset=utf-8"
    assert reply.data.endswith(b"\n")
    return list(csv.DictReader(io.StringIO(reply.text.removeprefix("\ufeff"), newline="")))


def told(client: FlaskClient, table: str, **common: str) -> list[Any]:
    """The faults of a table that is refused as a whole."""
    reply = post(client, "movement", table, **common)
    assert reply.status_code == 422, reply.text
    return [(each["pointer"], each["detail"]) for each in reply.get_json().get("errors", ())]


def test_a_row_has_the_figures_it_would_have_alone(client: FlaskClient) -> None:
    rows = answered(client, TABLE, units="us")
    alone = client.get(
        "/v1/movement?units=us&slab.species=American elm&slab.width=34in&slab.thickness=2in"
        "&before=12.5&after=7"
    ).get_json()
    first, width = rows[0], alone["answer"]["width"]
    assert float(first["answer.width.before [in]"]) == width["before"]
    assert float(first["answer.width.change [in]"]) == width["change"]["value"]
    assert float(first["answer.width.change_low [in]"]) == width["change"]["low"]
    assert float(first["answer.width.change_high [in]"]) == width["change"]["high"]
    assert first["answer.cup.shape"] == alone["answer"]["cup"]["shape"]
    assert all(note["message"] in first["notes"] for note in alone["notes"] if note["rank"] == 1)


def test_the_askers_columns_come_first_and_unchanged(client: FlaskClient) -> None:
    reply = post(client, "movement", TABLE, units="us")
    asked, back = (list(csv.reader(io.StringIO(one))) for one in (TABLE, reply.text))
    assert [row[: len(asked[0])] for row in back] == asked
    assert back[0][len(asked[0]) :][:2] == ["status", "fault"]


def test_a_bad_row_has_its_faults_in_a_column_and_harms_no_other(client: FlaskClient) -> None:
    rows = answered(client, TABLE, units="us")
    assert [row["status"] for row in rows] == ["200", "422", "422", "200"]
    assert rows[0]["fault"] == rows[3]["fault"] == ""
    assert rows[1]["fault"].startswith("slab.width: missing")
    assert rows[2]["fault"].startswith("before: `900` given: outside 0 to 200 %")
    assert rows[1]["answer.width.after [in]"] == ""
    assert answered(client, HEAD + GOOD, units="us")[0].items() <= rows[0].items()


def test_pandas_reads_the_answer_and_the_asked_half_is_as_it_was(client: FlaskClient) -> None:
    slabs = pd.DataFrame(
        {
            "id": ["=1+1", "b", 'c "quoted", with\nlines'],
            "slab.species": ["American elm", "white oak", "cherry"],
            "slab.width [mm]": [865.0, 640.5, 600.0],
            "slab.thickness": ["2in", "40mm", "50mm"],
            "before": [12.5, 9.0, 10.0],
            "after": [7.0, 6.0, 8.0],
        }
    )
    reply = post(client, "movement", slabs.to_csv(index=False), units="metric")
    back = pd.read_csv(io.StringIO(reply.text))
    expected = slabs.replace({"id": {"=1+1": "'=1+1"}})
    pd.testing.assert_frame_equal(back[list(slabs.columns)], expected)
    assert (back["answer.width.after [mm]"] < back["slab.width [mm]"]).all()
    # Answered once more, the old answers give way to the same.
    again = post(client, "movement", reply.text, units="metric")
    assert again.text == reply.text


def test_what_a_spreadsheet_saves_is_read_and_answered_in_its_way(client: FlaskClient) -> None:
    saved = "\ufeff" + TABLE.replace("\n", "\r\n").replace("Lake & Wood", '"Lake, ""Wood"""')
    reply = post(client, "movement", saved.encode(), units="us")
    assert reply.data.startswith(b"\xef\xbb\xbfid,")
    assert reply.data.count(b"\r\n") == 5
    assert b'"Lake, ""Wood"""' in reply.data


def test_semicolons_and_decimal_commas_are_read_and_written_so(client: FlaskClient) -> None:
    table = TABLE.replace(",", ";").replace("12.5", "12,5")
    reply = post(client, "movement", table, units="us")
    here, there = (
        list(csv.reader(io.StringIO(one), delimiter=mark))
        for one, mark in (
            (reply.text, ";"),
            (post(client, "movement", TABLE, units="us").text, ","),
        )
    )
    column = there[0].index("answer.width.change [in]")
    assert here[1][column] == there[1][column].replace(".", ",")
    assert here[1][4] == "12,5"
    # A file of points with semicolons stays one.
    plain = post(client, "movement", TABLE.replace(",", ";"), units="us").text
    assert there[1][column] in plain


def test_a_comma_between_tabs_may_part_thousands_and_is_refused(client: FlaskClient) -> None:
    table = (HEAD + "a,elm,1,200mm,2in,9,7,\n").replace(",", "\t").replace("1\t200", "1,200")
    reply = post(client, "movement", table)
    assert "thousands without a mark" in reply.text


def test_a_decimal_comma_between_commas_is_named_in_its_row(client: FlaskClient) -> None:
    rows = answered(client, HEAD + 'a,elm,"34,5in",2in,9,7,\n')
    assert rows[0]["status"] == "422"
    assert "write a decimal point" in rows[0]["fault"]


def test_a_unit_in_the_head_stands_for_every_bare_figure(client: FlaskClient) -> None:
    head = "slab.species,slab.width [in],slab.thickness [mm],before [%],after\n"
    table = head + "elm,34 1/2,50,12,7\nelm,876.3mm,50mm,12,7\n"
    one, other = answered(client, table, units="metric", spread="none")
    for name in one:
        if name.startswith("answer."):
            assert one[name] == other[name]


def test_what_all_rows_have_in_common_may_stand_in_the_address(client: FlaskClient) -> None:
    short = "slab.width\n34in\n30in\n"
    common = {"slab.species": "American elm", "slab.thickness": "2in", "before": "12", "after": "7"}
    assert [row["status"] for row in answered(client, short, **common)] == ["200", "200"]
    [(pointer, detail)] = told(client, short, **common, **{"slab.width": "30in"})
    assert pointer == "/slab.width"
    assert "stands in the address too" in detail


def test_a_head_that_is_no_name_is_refused_before_anything_is_asked(client: FlaskClient) -> None:
    head = "id,slab.widht,slab.width [furlong],slab.species [in],before,before,price,notes,id\n"
    faults = dict(told(client, head + "1,2,3,4,5,6,7,8,9\n"))
    assert "did you mean slab.width" in faults["/slab.widht"]
    assert "no unit of it" in faults["/slab.width [furlong]"]
    assert "has no unit" in faults["/slab.species [in]"]
    assert "over two columns" in faults["/before"]
    assert "over two columns" in faults["/id"]
    assert "begins with #" in faults["/notes"]  # no table that was answered before: it is theirs
    assert "begins with #" in faults["/price"]
    assert "column 7" in faults["/price"]


@pytest.mark.parametrize(
    ("table", "status", "word"),
    [
        ("", 400, "nothing stands"),
        (HEAD, 422, "0 rows"),
        ("id,name\n1,2\n", 422, "no column asks"),
        (HEAD + 'a,"elm\n', 400, "line 2"),
        (HEAD + GOOD * (limits.BATCH_QUESTIONS + 1), 422, "1,001 rows"),
    ],
)
def test_what_is_no_table_of_slabs_is_refused_as_a_whole(
    client: FlaskClient, table: str, status: int, word: str
) -> None:
    reply = post(client, "movement", table)
    assert reply.status_code == status
    assert word in reply.text


def test_the_most_rows_are_answered(client: FlaskClient) -> None:
    rows = answered(client, HEAD + GOOD * limits.BATCH_QUESTIONS, units="us")
    assert len(rows) == limits.BATCH_QUESTIONS
    assert {row["status"] for row in rows} == {"200"}


def test_empty_columns_rows_and_short_rows(client: FlaskClient) -> None:
    table = HEAD.replace("\n", ",,\n") + GOOD.replace("\n", ",,\n") + ",,,,,,,,\n\na,elm\n"
    rows = answered(client, table, units="us")
    assert [row["status"] for row in rows] == ["200", "422", "422"]
    assert "nothing stands in this row" in rows[1]["fault"]
    assert "2 cells under 9 heads" in rows[2]["fault"]
    [(_, detail)] = told(client, HEAD.replace("\n", ",\n") + GOOD.replace("\n", ",x\n"))
    assert "has no head" in detail


def test_a_moisture_told_in_two_ways_is_a_fault_of_its_row(client: FlaskClient) -> None:
    head = "slab.species,slab.width,slab.thickness,before,before.shell,before.core,after\n"
    table = head + "elm,34in,2in,9,,,7\nelm,34in,2in,,8,10,7\nelm,34in,2in,9,8,10,7\n"
    rows = answered(client, table)
    assert [row["status"] for row in rows] == ["200", "200", "400"]
    assert "one value and in parts" in rows[2]["fault"]


def test_lists_of_objects_become_columns_by_their_place(client: FlaskClient) -> None:
    example = dict(BY_NAME["fixings"].examples[0].body)
    alone = client.post("/v1/fixings", json=example).get_json()
    positions = alone["answer"]["positions"]
    flat: dict[str, str] = {}

    def put(value: Any, name: str) -> None:
        if isinstance(value, dict):
            for own, inner in value.items():
                put(inner, f"{name}.{own}" if name else own)
        elif isinstance(value, list):
            flat[name] = ",".join(str(one) for one in value)
        else:
            flat[name] = str(value)

    put(example, "")
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerows([list(flat), list(flat.values())])
    reply = post(client, "fixings", text.getvalue())
    [row] = csv.DictReader(io.StringIO(reply.text))
    assert row["status"] == "200", row["fault"]
    unit = alone["units"]["positions.across"]
    for place, one in enumerate(positions):
        assert float(row[f"answer.positions[{place}].across [{unit}]"]) == one["across"]
        moves = f"answer.positions[{place}].moves_in_high [{unit}]"
        assert float(row[moves]) == one["moves_in"]["high"]


def test_a_place_has_its_credit_in_the_row_that_used_it(client: FlaskClient) -> None:
    table = "slab.species,slab.width,slab.thickness,moisture\nelm,34in,2in,9\n"
    reply = post(client, "settle", table, **{"room.climate": "Duluth, MN", "spread": "none"})
    [row] = csv.DictReader(io.StringIO(reply.text))
    assert row["place"].startswith("Duluth, Minnesota")
    assert "GeoNames" in row["place"]


def test_what_is_not_begun_in_time_is_told_in_its_row(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = iter([0.0, limits.BATCH_SECONDS, limits.BATCH_SECONDS + 1.0])
    monkeypatch.setattr(Place, "seconds", lambda self: next(clock))
    different = "".join(f"a,elm,{width}in,2in,9,7,\n" for width in (30, 31, 32))
    rows = answered(client, HEAD + different)
    assert [row["status"] for row in rows] == ["200", "503", "503"]
    assert "begins no question after 20 seconds" in rows[1]["fault"]
    assert rows[2]["slab.width"] == "32in"


@pytest.mark.parametrize("form", ["json", "text", "svg"])
def test_a_table_is_answered_in_csv_alone(client: FlaskClient, form: str) -> None:
    assert post(client, "movement", TABLE, format=form).status_code == 406
    assert post(client, "movement", TABLE, format="csv", units="us").status_code == 200


def test_accept_decides_where_no_format_does(client: FlaskClient) -> None:
    for accept, status in (("application/json", 406), ("text/csv", 200), ("*/*", 200)):
        reply = client.post(
            "/v1/movement", data=TABLE, content_type="text/csv", headers={"Accept": accept}
        )
        assert reply.status_code == status


def test_a_question_that_takes_no_table_says_what_it_takes(client: FlaskClient) -> None:
    assert post(client, "air", "temperature\n70F\n").status_code == 415


@pytest.mark.parametrize("name", TAKE_TABLES)
def test_columns_of_an_answer_are_members_of_it_and_no_name_means_two_things(name: str) -> None:
    question = BY_NAME[name]
    known = {own for own, _ in question.answered.members()}
    assert set(question.in_tables) <= known
    asked = {member.name for member in members(question.shape)}
    ours = {*tables.LABELS, *tables.STATUS, *tables.TOLD}
    assert not asked & ours
    assert not any(each.startswith((tables.ANSWER, tables.OWN)) for each in asked)


def test_the_questions_of_a_slab_take_tables() -> None:
    assert {"settle", "movement", "fixings", "repair"} <= set(TAKE_TABLES)
