"""The pages for a browser: what they say, that they repeat nothing, and need no other host."""

from __future__ import annotations

import html
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.questions import QUESTIONS

# What Firefox and Chromium send for a page.
BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,image/webp,*/*;q=0.8"}
PAGES = ("/", "/docs", "/docs/try")
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
    assert {"slab.species", "slab.width", "moisture", "room.climate", "arrives"} <= named


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


def test_every_field_has_a_label_and_every_hint_exists(client: FlaskClient) -> None:
    tags = Tags(page(client, "/"))
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
    headers = {**BROWSER, "Host": "marked.test", "User-Agent": marked, "Referer": marked}
    reply = client.get(address, query_string={given: marked}, headers=headers)
    assert "marked" not in reply.text
    assert "<b>x</b>" not in reply.text
    assert reply.text == page(client, address)


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
    told = client.get("/openapi.json").get_json()["paths"][f"/v1/{question.name}"]["get"]
    for parameter in told["parameters"]:
        if parameter.get("in") == "query" and parameter["name"] != "format":
            assert f'<th scope="row"><code>{parameter["name"]}</code></th>' in section
            assert parameter["description"] in html.unescape(section)


@pytest.mark.parametrize("address", ["/client.py", "/web/page.css", "/web/swagger-ui-bundle.js"])
def test_a_file_is_kept_by_the_browser_and_asked_for_by_its_tag(
    client: FlaskClient, address: str
) -> None:
    first = client.get(address)
    assert first.status_code == 200
    assert "max-age" in first.headers["Cache-Control"]
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_the_licence_stands_beside_swagger_ui(client: FlaskClient) -> None:
    assert "Apache License" in client.get("/web/swagger-ui-LICENSE.txt").text
    folder = WEB.parent / "vendor" / "swagger-ui"
    assert (folder / "NOTICE").read_text().startswith("swagger-ui\nCopyright")
    assert (folder / "swagger-ui-bundle.js.LICENSE.txt").exists()
    assert "validatorUrl: null" in (WEB / "try.js").read_text()
