"""The client's tables: split, asked again, put together, never lost."""

from __future__ import annotations

import csv
import io
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import requests
from flask.testing import FlaskClient

from api.client import Problem, Stillwood, Unreachable
from tests.api.test_client import ADDRESS, Answer, Wire, of_application

HEAD = "id,slab.species,slab.width,slab.thickness,#shelf\n"
ROWS = [f"{place},elm,{20 + place % 30} 1/2,2,é{place}\n" for place in range(25)]


def asking(answers: Callable[[requests.PreparedRequest], Answer]) -> tuple[Stillwood, Wire]:
    wire, session = Wire(answers), requests.Session()
    session.mount("http://", wire)
    return Stillwood(ADDRESS, units="us", session=session, tries=2), wire


def posted(wire: Wire) -> list[str]:
    """Bodies of what was posted."""
    bodies = [request.body for request in wire.sent if request.method == "POST"]
    return [body.decode() for body in bodies if isinstance(body, bytes)]


def rows_of(path: Path) -> list[dict[str, str]]:
    text = path.read_bytes().decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.fixture
def slabs(tmp_path: Path) -> Path:
    path = tmp_path / "slabs.csv"
    rows = [*ROWS]
    rows[11] = "11,elm,20,two,\n"
    path.write_text(HEAD + "".join(rows), encoding="utf-8")
    return path


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(time, "sleep", lambda seconds: None)


def test_parts_come_together_as_one_table_in_its_order(
    client: FlaskClient, slabs: Path, tmp_path: Path
) -> None:
    stillwood, wire = asking(of_application(client))
    counts = stillwood.table("movement", slabs, tmp_path / "out.csv", size=10, before=12, after=7)
    assert counts == {"200": 24, "422": 1}
    assert [body.count("\n") - 1 for body in posted(wire)] == [10, 10, 5]
    assert "units=us" in str(wire.sent[-1].url)
    whole = client.post(
        "/v1/movement?units=us&before=12&after=7", data=slabs.read_bytes(), content_type="text/csv"
    )
    assert (tmp_path / "out.csv").read_bytes() == whole.data


def test_a_table_may_come_back_into_its_own_file_and_be_asked_again(
    client: FlaskClient, slabs: Path
) -> None:
    stillwood, _ = asking(of_application(client))
    stillwood.table("movement", slabs, slabs, size=10, before=12, after=7)
    once = slabs.read_bytes()
    mended = once.decode().replace("11,elm,20,two,", "11,elm,20,2,")
    slabs.write_text(mended, encoding="utf-8")
    assert stillwood.table("movement", slabs, slabs, before=12, after=7) == {"200": 25}
    kept = [line.split(b",")[:4] for line in once.splitlines()[1:3]]
    assert [line.split(b",")[:4] for line in slabs.read_bytes().splitlines()[1:3]] == kept


def test_what_a_spreadsheet_saved_comes_back_in_its_way(
    client: FlaskClient, tmp_path: Path
) -> None:
    path = tmp_path / "slabs.csv"
    text = HEAD.replace(",", ";") + 'a;elm;34,5;2;"x;""y"""\n' + "\n" + "b;elm;33;2;=1+1\n"
    path.write_bytes(("\ufeff" + text.replace("\n", "\r\n")).encode())
    stillwood, _ = asking(of_application(client))
    assert stillwood.table("movement", path, path, size=1, before=12, after=7) == {"200": 2}
    lines = path.read_bytes().decode().split("\r\n")
    assert lines[0].startswith("\ufeffid;slab.species;")
    assert lines[1].startswith('a;elm;34,5;2;"x;""y""";200;;34,5;')
    assert lines[2].startswith("b;elm;33;2;'=1+1;200;;33,0;")
    assert lines[3:] == [""]


def test_rows_left_for_want_of_time_are_asked_again(
    client: FlaskClient, slabs: Path, tmp_path: Path, quick: None
) -> None:
    app = of_application(client)
    busy = [True]

    def answers(request: requests.PreparedRequest) -> Answer:
        status, headers, body = app(request)
        if request.method == "POST" and busy:
            busy.clear()
            lines = body.decode().splitlines(keepends=True)
            left = [
                ",".join([*line.split(",")[:5], "503", "Not answered", *[""] * 99])
                for line in lines[6:]
            ]
            width = lines[0].count(",") + 1
            left = [",".join(line.split(",")[:width]) + "\n" for line in left]
            body = "".join([*lines[:6], *left]).encode()
        return status, headers, body

    stillwood, wire = asking(answers)
    counts = stillwood.table("movement", slabs, tmp_path / "out.csv", before=12, after=7)
    assert counts == {"200": 24, "422": 1}
    assert [int(row["id"]) for row in rows_of(tmp_path / "out.csv")] == list(range(25))
    assert posted(wire)[1].startswith(HEAD + "5,elm,")


def test_what_was_answered_before_it_broke_off_is_written(
    client: FlaskClient, slabs: Path, tmp_path: Path, quick: None
) -> None:
    app = of_application(client)
    posts: list[bool] = []

    def answers(request: requests.PreparedRequest) -> Answer:
        posts.append(request.method == "POST")
        if sum(posts) > 2:
            raise requests.ConnectionError("refused")
        return app(request)

    stillwood, _ = asking(answers)
    with pytest.raises(Unreachable):
        stillwood.table("movement", slabs, tmp_path / "out.csv", size=10, before=12, after=7)
    rows = rows_of(tmp_path / "out.csv")
    assert [row["status"] for row in rows] == ["200"] * 11 + ["422"] + ["200"] * 8 + [""] * 5
    assert {row["fault"] for row in rows[20:]} == {"not asked"}
    assert rows[24]["#shelf"] == "é24"


def test_a_head_that_is_refused_is_a_problem_and_writes_nothing(
    client: FlaskClient, tmp_path: Path
) -> None:
    path = tmp_path / "slabs.csv"
    path.write_text("slab.widht\n34\n", encoding="utf-8")
    stillwood, _ = asking(of_application(client))
    with pytest.raises(Problem, match="did you mean slab"):
        stillwood.table("movement", path, tmp_path / "out.csv")
    assert not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize("text", ["", "id\n", 'id,name\n1,"open\n'])
def test_what_is_no_table_is_told_before_anything_is_sent(text: str, tmp_path: Path) -> None:
    path = tmp_path / "slabs.csv"
    path.write_text(text, encoding="utf-8")

    def nobody(request: requests.PreparedRequest) -> Answer:
        raise AssertionError("asked")

    with pytest.raises(ValueError, match="slabs"):
        asking(nobody)[0].table("movement", path, path)


def test_what_rows_share_is_told_as_a_question_is(
    client: FlaskClient, slabs: Path, tmp_path: Path
) -> None:
    stillwood, wire = asking(of_application(client))
    room = {"months": None, "temperature": 70, "relative_humidity": 40}
    slabs.write_text("slab.species,slab.width,slab.thickness,moisture\nelm,34,2,9\n")
    out = tmp_path / "out.csv"
    assert stillwood.table("settle", slabs, out, room=room, spread="none") == {"200": 1}
    assert "room.temperature=70&room.relative_humidity=40" in str(wire.sent[-1].url)
    assert "months" not in str(wire.sent[-1].url)
