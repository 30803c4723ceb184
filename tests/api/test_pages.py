"""The pages for a browser: what they say, that they repeat nothing, and need no other host."""

from __future__ import annotations

import html
import re
import shlex
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.quantities import QuantityField
from api.questions import QUESTIONS
from api.schema import Either, Part, Rows, Shape
from api.schema import members as values_of

# What Firefox and Chromium send for a page.
BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,image/webp,*/*;q=0.8"}
FORMS = ("/", "/repair")
PAGES = (*FORMS, "/docs", "/docs/try")
WEB = Path(__file__).resolve().parents[2] / "api" / "web"


class Tags(HTMLParser):
    """Every tag of a page with its attributes, and whether the page is well nested."""

    VOID = frozenset({"meta", "link", "input", "br", "img"})

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def of(self, *names: str) -> list[dict[str, str]]:
        return [attributes for tag, attributes in self.tags if tag in names]


def page(client: FlaskClient, address: str) -> str:
    reply = client.get(address, headers=BROWSER)
    assert reply.status_code == 200, reply.text
    assert reply.content_type == "text/html; charset=utf-8"
    return reply.text


@pytest.mark.parametrize("accept", ["*/*", "text/plain", "application/json", None])
def test_curl_gets_the_list_of_questions_as_text(client: FlaskClient, accept: str | None) -> None:
    reply = client.get("/", headers={"Accept": accept} if accept else {})
    assert reply.content_type == "text/plain; charset=utf-8"
    assert reply.headers["Vary"] == "Accept"
    assert "/v1/settle" in reply.text
    assert max(map(len, reply.text.splitlines())) <= 80


def test_a_browser_gets_a_form_with_the_main_question(client: FlaskClient) -> None:
    reply = client.get("/", headers=BROWSER)
    assert reply.headers["Vary"] == "Accept"
    tags = Tags(reply.text)
    assert tags.of("form")[0]["action"] == "/v1/settle"
    named = {field["name"] for field in tags.of("input", "select") if "name" in field}
    assert {"slab.species", "slab.width", "moisture", "room.climate", "starts"} <= named


def test_the_form_as_it_stands_is_answered_without_any_script(client: FlaskClient) -> None:
    text = page(client, "/")
    tags = Tags(text)
    query = {field["name"]: field["value"] for field in tags.of("input") if "name" in field}
    for name, options in re.findall(r'<select id="[^"]*" name="([^"]*)">(.*?)</select>', text):
        chosen = re.search(r'value="([^"]*)" selected', options)
        assert chosen, f"{name} has nothing chosen"
        query[name] = chosen[1]
    reply = client.get("/v1/settle", query_string=query, headers=BROWSER)
    assert reply.status_code == 200, reply.text
    assert reply.content_type == "text/plain; charset=utf-8"
    assert reply.text.startswith("Not ready: ")


def test_every_choice_of_the_form_is_one_that_the_service_knows(
    client: FlaskClient, table: dict[str, Any]
) -> None:
    text = page(client, "/")
    for name, options in re.findall(r'<select id="[^"]*" name="([^"]*)">(.*?)</select>', text):
        outer, _, inner = name.partition(".")
        for value in re.findall(r'<option value="([^"]*)"', options):
            body = {**table, outer: {**table[outer], inner: value}, "spread": "none"}
            assert client.post("/v1/settle", json=body).status_code == 200, f"{name}={value}"


@pytest.mark.parametrize("address", FORMS)
def test_every_field_has_a_label_and_every_hint_exists(client: FlaskClient, address: str) -> None:
    tags = Tags(page(client, address))
    labelled = {label["for"] for label in tags.of("label")}
    ids = [attributes["id"] for _, attributes in tags.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    for field in tags.of("input", "select"):
        if field.get("type") != "hidden":
            assert field["id"] in labelled
            assert field.get("aria-describedby", field["id"]) in ids


@pytest.mark.parametrize("address", PAGES)
def test_a_page_loads_nothing_but_files_of_this_service(client: FlaskClient, address: str) -> None:
    reply = client.get(address, headers=BROWSER)
    tags = Tags(reply.text)
    loaded = [tag["href"] for tag in tags.of("link")]
    loaded += [tag["src"] for tag in tags.of("script", "img")]
    assert loaded
    for each in loaded:
        assert each.startswith("/web/")
        assert client.get(each).status_code == 200
    policy = reply.headers["Content-Security-Policy"]
    assert "default-src 'none'; script-src 'self'; style-src 'self';" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize("address", PAGES)
def test_a_page_has_no_script_or_style_of_its_own(client: FlaskClient, address: str) -> None:
    tags = Tags(page(client, address))
    assert all(script.get("src") for script in tags.of("script"))
    assert tags.of("style") == []
    for _, attributes in tags.tags:
        assert "style" not in attributes
        assert not [name for name in attributes if name.startswith("on")]


@pytest.mark.parametrize("address", PAGES)
def test_every_link_of_a_page_leads_somewhere(client: FlaskClient, address: str) -> None:
    tags = Tags(page(client, address))
    ids = {attributes["id"] for _, attributes in tags.tags if "id" in attributes}
    for link in tags.of("a"):
        where = link["href"]
        if where.startswith("#"):
            assert where[1:] in ids
        else:
            assert client.get(where, headers=BROWSER).status_code == 200, where


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize("given", ["slab.species", "q", "<b>x</b>"])
def test_a_page_repeats_nothing_of_a_request(client: FlaskClient, address: str, given: str) -> None:
    marked = "<script>alert(1)</script>marked"
    headers = {**BROWSER, "User-Agent": marked, "Referer": marked, "X-Forwarded-Host": marked}
    reply = client.get(address, query_string={given: marked}, headers=headers)
    assert "marked" not in reply.text
    assert "<b>x</b>" not in reply.text
    assert reply.text == page(client, address)


@pytest.mark.parametrize(
    ("host", "root"), [("shop.example:8443", ""), ("10.0.0.7", "/wood"), ("[::1]:8321", "")]
)
def test_lines_and_links_speak_of_the_address_that_was_asked(
    client: FlaskClient, host: str, root: str
) -> None:
    asked: dict[str, Any] = {"base_url": f"http://{host}{root}/"}
    start, docs, form = (
        client.get(address, headers=headers, **asked).text
        for address, headers in (("/", {}), ("/docs", BROWSER), ("/", BROWSER))
    )
    assert f"curl -G http://{host}{root}/v1/settle" in start
    assert f"curl -G http://{host}{root}/v1/settle" in docs
    assert "127.0.0.1:8321" not in start + docs
    for where in [link["href"] for link in Tags(docs).of("a", "link")]:
        assert where.startswith((f"{root}/", "#"))
    assert Tags(form).of("form")[0]["action"] == f"{root}/v1/settle"


@pytest.mark.parametrize("host", ['a"><b>', "shop example", "<script>", "a/../b", "x" * 300, "a:b"])
def test_a_host_that_is_none_is_not_repeated(client: FlaskClient, host: str) -> None:
    for address, headers in (("/", {}), ("/docs", BROWSER)):
        reply = client.get(address, headers=headers, environ_overrides={"HTTP_HOST": host})
        assert host not in reply.text.replace("<script src", "")
        assert reply.status_code == 400 or "curl -G http://127.0.0.1:8321/v1/settle" in reply.text


def test_a_page_that_is_not_there_is_no_page(client: FlaskClient) -> None:
    reply = client.get("/docs/<script>alert(1)</script>", headers=BROWSER)
    assert reply.status_code == 404
    assert reply.content_type == "application/problem+json"
    assert reply.headers["X-Content-Type-Options"] == "nosniff"


def test_the_scripts_never_write_markup() -> None:
    for script in ("ask.js", "try.js"):
        text = (WEB / script).read_text()
        for way in ("innerHTML", "outerHTML", "insertAdjacent", "document.write", "eval("):
            assert way not in text


def test_the_table_of_the_docs_is_answered_whole(client: FlaskClient) -> None:
    text = html.unescape(page(client, "/docs"))
    [line] = re.findall(r"<code>(curl [^\n]*/v1/movement\?before.*?)</code>", text, re.DOTALL)
    words = shlex.split(line.replace("\\\n", " "))
    assert words[2:5] == ["-H", "Content-Type: text/csv", "--data-binary"]
    address = words[1].removeprefix("http://localhost")
    reply = client.post(address, data=words[5], content_type="text/csv")
    assert [row.split(",")[4] for row in reply.text.splitlines()[1:]] == ["200", "200"]


def test_the_batch_of_the_docs_is_answered_whole(client: FlaskClient) -> None:
    text = html.unescape(page(client, "/docs"))
    [line] = re.findall(r"<code>(curl [^\n]*/v1/batch .*?)</code>", text, re.S)
    words = shlex.split(line)
    assert words[1:4:2] == ["http://localhost/v1/batch", "Content-Type: application/json"]
    reply = client.post("/v1/batch", data=words[-1], content_type="application/json")
    assert reply.status_code == 207
    assert reply.get_json()["failed"] == 0
    assert len(reply.get_json()["items"]) == 2


def fields_told(text: str, name: str) -> dict[str, tuple[str, str, str]]:
    """Fields of a question in the page: meaning, how it is written, and what if it is left out."""
    section = text[text.index(f'<section id="{name}"') :]
    section = section[: section.index("</section>")]
    row = re.compile(
        r'<th scope="row"><code>(.*?)</code></th><td>(.*?)</td><td>(.*?)</td><td>(.*?)</td>'
    )
    return {
        each[1]: (html.unescape(each[2]), html.unescape(each[3]), html.unescape(each[4]))
        for each in row.finditer(section)
    }


def names_of(shape: Shape, before: str = "") -> Iterator[tuple[str, bool]]:
    """Every field of a question's JSON, also of the objects of its lists, and if it is required."""
    for own, field in shape.load_fields.items():
        name = before + (field.data_key or own)
        yield name, bool(field.required)
        if isinstance(field, Part | Either):
            yield from names_of(field.shape, f"{name}.")
        elif isinstance(field, Rows):
            yield from names_of(field.shape, f"{name}[].")


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_the_docs_tell_every_field_also_those_of_lists_of_objects(
    client: FlaskClient, question: Any
) -> None:
    told = fields_told(page(client, "/docs"), question.name)
    for name, required in names_of(question.shape):
        # In a list, an object that was told before is named instead of told again.
        above = [other for other in told if name.startswith(f"{other}.") and "[]" in other]
        twin = [told[other][1].partition(", as of ")[2] for other in above]
        if name not in told:
            assert any(other in told for other in twin), name
            continue
        meaning, form, left_out = told[name]
        assert meaning
        assert form
        assert left_out.startswith("needed") == required, name


def test_the_docs_tell_limits_units_and_what_goes_instead(client: FlaskClient) -> None:
    text = page(client, "/docs")
    course, fixings = fields_told(text, "course"), fields_told(text, "fixings")
    assert course["stays"][1:] == ("list of 1 to 50: objects", "needed")
    assert course["stays[].days"] == (
        "how long it lasts; or give from_date and to_date; 0.01 to 7310 d",
        "time in days",
        "",
    )
    assert course["stays"][0].endswith("; give days, or from_date and to_date")
    assert course["stays[].held"][1:] == ("free | flat, or an object", "free")
    assert course["stays[].held.fastener.kind"][2] == "needed in it"
    assert course["stays[].faces.bottom"][1].endswith("as of stays[].faces.top")
    assert course["moisture"] == (
        "moisture content at the start; 0 to 200 %; as an object: give shell and core, or depths",
        "percent, or an object",
        "needed",
    )
    assert course["moisture.depths[].depth"][2] == "needed in it"
    # A figure taken for one left out has its unit: a bare 2 would be read as inches by some.
    assert fixings["clearance"][2] == "2 mm"
    assert fixings["slab.species.shrinkage_starts"][2] == "30 %"
    assert fixings["positions"][1] == "list of 1 to 40: length"
    assert fixings["starts"][2] == "today (UTC)"
    assert "<p>Give relative_humidity or moisture beside temperature.</p>" in text


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_the_docs_show_every_question_with_its_true_answer(
    client: FlaskClient, question: Any
) -> None:
    text = page(client, "/docs")
    section = text[text.index(f'<section id="{question.name}"') :]
    section = section[: section.index("</section>")]
    answer = client.post(f"/v1/{question.name}?format=text", json=dict(question.examples[0].body))
    shown = re.search(
        r'<pre tabindex="0" class="answer" aria-label="The answer">(.*?)</pre>', section, re.S
    )
    assert shown
    assert html.unescape(shown[1]) == answer.text
    for member in values_of(question.shape):
        assert f'<th scope="row"><code>{member.name}</code></th>' in section
        if isinstance(member.field, QuantityField):
            assert member.field.limits in html.unescape(section)


@pytest.mark.parametrize("headers", [BROWSER, {}], ids=["browser", "curl"])
@pytest.mark.parametrize(
    "address", [*PAGES, "/client.py", "/web/page.css", "/web/swagger-ui-bundle.js"]
)
def test_a_page_and_its_files_are_kept_but_asked_for_again_so_that_they_stay_together(
    client: FlaskClient, address: str, headers: dict[str, str]
) -> None:
    first = client.get(address, headers=headers)
    assert first.status_code == 200
    # `no-cache` keeps it and asks each time (RFC 9111, 5.2.2.4): a new page never meets a script
    # that an hour's freshness has kept.
    assert first.headers["Cache-Control"] == "no-cache"
    tag = first.headers["ETag"]
    for held in (tag, tag.removeprefix("W/"), f'"other", {tag}', "*"):
        again = client.get(address, headers={**headers, "If-None-Match": held})
        assert (again.status_code, again.data) == (304, b"")
        for name in ("ETag", "Cache-Control", "Vary"):
            assert again.headers.get(name) == first.headers.get(name)
    assert client.get(address, headers={**headers, "If-None-Match": '"other"'}).status_code == 200
    head = client.head(address, headers=headers)
    assert (head.headers["ETag"], head.data) == (tag, b"")


def test_the_form_and_the_list_of_one_address_have_tags_of_their_own(client: FlaskClient) -> None:
    listed, form = client.get("/"), client.get("/", headers=BROWSER)
    assert listed.headers["ETag"] != form.headers["ETag"]
    crossed = {**BROWSER, "If-None-Match": listed.headers["ETag"]}
    assert client.get("/", headers=crossed).status_code == 200


def test_the_licence_stands_beside_swagger_ui(client: FlaskClient) -> None:
    assert "Apache License" in client.get("/web/swagger-ui-LICENSE.txt").text
    folder = WEB.parent / "vendor" / "swagger-ui"
    assert (folder / "NOTICE").read_text().startswith("swagger-ui\nCopyright")
    assert (folder / "swagger-ui-bundle.js.LICENSE.txt").exists()
    assert "validatorUrl: null" in (WEB / "try.js").read_text()
