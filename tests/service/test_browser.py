"""The pages in headless Chromium: asked by keyboard alone, on a desk and a phone, light and dark.

Where Chromium is not installed this file is left out, and the head of the run says so.
Each picture is kept in pytest's folder of the run, to be looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
import requests

from api.replies.svg import INK
from tests.service.browser import Browser, driver, window
from tests.service.conftest import Live, serving

pytestmark = pytest.mark.slow  # 40 tests of about 2 s

PHONE = 360  # CSS pixels, the narrowest phone in wide use, held upright
SHAPES = [(1280, False), (1280, True), (PHONE, False), (PHONE, True)]
FORMS = ("/", "/repair")
PAGES = (*FORMS, "/docs", "/docs/try")
OFFERED = "return [...document.getElementById(arguments[0]).list.options].map((one) => one.value)"
# Kinds of rules of axe-core: the four that its own list marks as WCAG 2.1, and its best practices.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]


# Texts with less contrast to what lies behind them than WCAG 2.2, success criterion 1.4.3, asks
# of plain text: 4.5 to 1, by its definition of relative luminance.
CONTRAST = """
const parts = (c) => (c.match(/[\\d.]+/g) || [0, 0, 0, 0]).map(Number);
const linear = (v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
const behind = (e) => {
  for (; e; e = e.parentElement) {
    const c = parts(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] === 1) return c;
  }
  return [255, 255, 255];
};
const faint = [];
for (const e of document.body.querySelectorAll("*")) {
  const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
  if (!own || !e.checkVisibility() || e.disabled) continue;
  const [a, b] = [parts(getComputedStyle(e).color), behind(e)].map(light);
  const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  if (ratio < 4.5) faint.push(`${e.tagName} ${e.textContent.slice(0, 40)}: ${ratio.toFixed(2)}`);
}
return faint;
"""


@cache
def axe() -> str:
    """The script of axe-core."""
    return (files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8")


def wrong(browser: Browser, but: str = "") -> list[str]:
    """What axe-core finds wrong in the page as it stands, with its weight and place."""
    browser.run(axe())
    found: list[str] = browser.run(
        "return axe.run(arguments[0] ? {exclude: [[arguments[0]]]} : document,"
        "  {runOnly: arguments[1], resultTypes: ['violations']})"
        ".then((all) => all.violations.flatMap((one) => one.nodes.map((node) =>"
        "  `${one.impact} ${one.id}: ${node.target} ${node.html.slice(0, 120)}`)))",
        but,
        RULES,
    )
    return found


@pytest.fixture(scope="module")
def chromedriver() -> Iterator[str]:
    with driver() as address:
        yield address


def named(shape: tuple[int, bool]) -> str:
    return f"{'phone' if shape[0] == PHONE else 'desk'}, {'dark' if shape[1] else 'light'}"


@pytest.fixture(scope="module", params=SHAPES, ids=named)
def browser(
    request: pytest.FixtureRequest, chromedriver: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    """One window of each shape for all tests of this file."""
    width, dark = request.param
    profile = tmp_path_factory.mktemp("profile")
    with window(chromedriver, profile, width=width, dark=dark) as opened:
        yield opened


def reach(browser: Browser, target: str) -> None:
    """Press Tab until something has the focus."""
    for _ in range(60):
        if browser.focused() == target:
            return
        browser.press("tab")
    raise AssertionError(f"Tab does not lead to {target}")


def check(browser: Browser, live: Live) -> None:
    """Nothing was said in the console, nothing asked elsewhere, nothing cut off at the side."""
    assert browser.messages() == []
    assert browser.hosts() == {live.address}
    wide, seen = browser.run("return [document.documentElement.scrollWidth, innerWidth]")
    assert wide <= seen


def test_the_main_question_is_asked_and_answered_by_keyboard_alone(
    browser: Browser, live: Live, tmp_path: Path
) -> None:
    browser.open(f"{live.address}/")
    browser.press("tab")
    assert browser.focused() == "To the content"
    reach(browser, "slab.width")
    browser.press("30 1/2 in")  # a field reached by Tab is selected: typing replaces it
    reach(browser, "faces.bottom")
    browser.press("o")  # a list goes to the first entry of the letter
    reach(browser, "Work it out")
    browser.press("space")
    browser.wait("figure img")
    browser.until(lambda: bool(browser.run("return document.querySelector('img').complete")))
    [decision] = browser.texts(".decision")
    assert decision.startswith("Not ready: ")
    rows = browser.texts("#reply tr")
    assert any("30 1/2 in" in row.replace("\u00a0", " ") for row in rows)
    assert browser.texts("#reply caption") == ["Figures"]
    assert browser.focused() == "Answer"
    assert browser.run("return document.querySelector('figure img').naturalWidth") > 300
    # For who does not see: the verdict is said, not all of the tables, and the chart has words.
    assert browser.texts("#status")[0].replace("\u00a0", " ").startswith("Answered. Not ready: ")
    assert browser.run("return document.querySelectorAll('[aria-live]').length") == 0
    words = browser.run("return document.querySelector('figure img').alt")
    assert words.startswith("Moisture of the slab from the day it arrives. The slab settles to ")
    assert "slab.width=30+1%2F2+in" in browser.run("return location.search")
    assert "faces.bottom=hardwax-oil" in browser.run("return location.search")
    browser.picture(tmp_path / "answer.png")
    check(browser, live)


def test_towns_are_suggested_while_their_name_is_typed(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "room.climate")
    browser.press("Portland")
    browser.until(lambda: bool(browser.run(OFFERED, "room.climate")))
    assert browser.run(OFFERED, "room.climate")[:2] == [
        "Portland, Oregon, United States",
        "Portland, Maine, United States",
    ]
    browser.press(", Ma")
    browser.until(
        lambda: browser.run(OFFERED, "room.climate") == ["Portland, Maine, United States"]
    )
    check(browser, live)


@pytest.mark.parametrize("page", FORMS)
def test_woods_are_suggested_by_any_of_their_names(page: str, browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}{page}")
    reach(browser, "slab.species")
    browser.press("Nussb")
    browser.until(lambda: bool(browser.run(OFFERED, "slab.species")))
    offered = browser.run(OFFERED, "slab.species")
    assert len(offered) <= 8
    assert all("nussb" in name.lower() for name in offered)
    # What is offered is a name that the service takes.
    for name in offered:
        assert requests.get(
            f"{live.address}/v1/movement",
            {"slab.species": name, "slab.width": "9in", "slab.thickness": "1in"}
            | {"before": "9", "after": "8", "spread": "none"},
            timeout=30,
        ).ok, name
    check(browser, live)


def test_another_system_of_units_changes_no_figure(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "slab.width")
    browser.press("30 1/2")
    reach(browser, "room.heat_to")
    browser.press("68")
    browser.run("document.querySelectorAll('[name=units]')[1].click()")
    value = "return document.getElementById(arguments[0]).value"
    assert browser.run(value, "slab.width") == "30 1/2 in"
    assert browser.run(value, "room.heat_to") == "68 F"
    reach(browser, "slab.thickness")
    browser.press("51", "enter")
    browser.wait("figure img")
    assert "units=metric" in browser.run("return location.search")
    rows = [row.replace("\u00a0", " ") for row in browser.texts("#reply tr")]
    assert any(row.startswith("width now") and "775 mm" in row for row in rows)
    # The address keeps the units with the figures.
    browser.open(browser.run("return location.href"))
    browser.wait("figure img")
    assert browser.run("return document.querySelector('[name=units]:checked').value") == "metric"
    assert browser.run(value, "slab.thickness") == "51"
    check(browser, live)


def test_all_figures_notes_and_sources_are_a_button_away(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "Work it out")
    browser.press("enter")
    browser.wait("button.plain")
    assert "detail=full" not in browser.run("return document.getElementById('reply').innerText")
    reach(browser, "Show all figures, notes and sources")
    browser.press("enter")
    browser.until(lambda: "Sources" in browser.texts("#reply summary"))
    assert browser.focused() == "Answer"
    assert browser.texts("button.plain") == []
    check(browser, live)


@pytest.mark.parametrize("page", FORMS)
def test_axe_finds_nothing_wrong_with_a_form_its_answer_and_its_faults(
    page: str, browser: Browser, live: Live, tmp_path: Path
) -> None:
    browser.open(f"{live.address}{page}")
    assert wrong(browser) == []
    reach(browser, "Work it out")
    browser.press("enter")
    browser.wait("figure img")
    assert browser.focused() == "Answer"
    browser.picture(tmp_path / "answer.png")
    assert wrong(browser) == []
    reach(browser, "slab.thickness")
    browser.press("thick", "enter")
    browser.wait(".fault")
    assert browser.focused() == "slab.thickness"
    assert wrong(browser) == []
    assert all("422" in message for message in browser.messages())  # Chromium's own


def test_axe_finds_nothing_wrong_with_the_other_pages(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/docs")
    assert wrong(browser) == []
    browser.open(f"{live.address}/docs/try")
    browser.wait(".opblock")
    # What Swagger UI draws is not ours; it has a main part of its own within the page's.
    ours = [one for one in wrong(browser, "#try") if "landmark-no-duplicate-main" not in one]
    assert ours == []


def test_enter_in_a_field_asks_too_and_the_address_asks_again(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "moisture")
    browser.press("8", "enter")
    browser.wait("figure img")
    told = browser.texts(".decision")
    address = browser.run("return location.href")
    browser.open(f"{live.address}/docs")
    browser.open(address)
    browser.wait("figure img")
    assert browser.texts(".decision") == told
    assert browser.run("return document.getElementById('moisture').value") == "8"
    check(browser, live)


def test_a_fault_stands_at_its_field_which_gets_the_focus(
    browser: Browser, live: Live, tmp_path: Path
) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "slab.width")
    browser.press("34 hands")
    reach(browser, "moisture")
    browser.press("500", "enter")
    browser.wait(".fault")
    assert browser.focused() == "slab.width"
    width, moisture = browser.texts(".fault")
    assert width.startswith("`34 hands` given: `hands` is no unit known here")
    assert moisture.startswith("`500` given: outside 0 to 200 %")
    assert browser.texts("#reply h2") == ["Not answered"]
    assert "2 fields need a change" in browser.texts("#status")[0]
    described = "return document.getElementById(arguments[0]).getAttribute('aria-describedby')"
    assert browser.run(described, "slab.width") == "slab.width-fault slab.width-hint"
    assert browser.run(described, "slab.thickness") == "slab.thickness-hint"
    browser.picture(tmp_path / "fault.png")
    # Chromium itself notes the 422; the page has nothing to add.
    assert all("422" in message for message in browser.messages())
    browser.run("document.getElementById('slab.width').value = '30in'")
    reach(browser, "moisture")
    browser.press("9", "enter")
    browser.wait("figure img")
    assert browser.texts(".fault") == []
    assert browser.run(described, "slab.width") == "slab.width-hint"
    assert browser.run("return document.querySelectorAll('[aria-invalid]').length") == 0
    check(browser, live)


def test_the_questions_are_read_without_any_script_and_by_keyboard(
    browser: Browser, live: Live
) -> None:
    browser.command("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.open(f"{live.address}/docs")
        assert browser.texts("h1") == ["All questions"]
        reach(browser, "Its 18 fields")  # of the first question
        browser.press("enter")
        names = browser.texts("details[open] th[scope=row]")
        # The wood may be told by its own figures, whose fields stand under its own.
        assert names[:5] == ["units", "detail", "temperature", "relative_humidity", "moisture"]
        assert names[-1] == "treated"
        assert len(names) == 18
    finally:
        browser.command("Emulation.setScriptExecutionDisabled", value=False)
    check(browser, live)


def test_what_is_written_in_the_form_or_the_address_is_never_markup(
    browser: Browser, live: Live
) -> None:
    bad = "%3Cimg%20src%3Dx%20onerror%3Ddocument.title%3D1%3E"
    browser.open(f"{live.address}/?slab.species={bad}&{bad}={bad}#{bad}")
    browser.wait(".fault")
    assert "<img src=x" in browser.texts(".fault")[0]
    assert browser.run("return document.querySelectorAll('img').length") == 0
    assert browser.run("return document.title").startswith("Stillwood")
    assert all("422" in message for message in browser.messages())


@pytest.mark.parametrize("page", PAGES)
def test_a_page_is_quiet_fits_its_window_and_asks_nobody_else(
    page: str, browser: Browser, live: Live, tmp_path: Path
) -> None:
    browser.open(live.address + page)
    if page == "/docs/try":
        browser.wait(".opblock")
    browser.picture(tmp_path / "page.png")
    check(browser, live)


def test_a_question_is_tried_out_in_the_page_for_it(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/docs/try")
    browser.wait("#operations-service-livez")
    assert browser.texts(".authorize")[:1] == ["Authorize"]
    script = "document.querySelector(arguments[0]).click()"
    browser.run(script, "#operations-service-livez .opblock-summary-control")
    browser.wait(".try-out button")
    browser.run(script, ".try-out button")
    browser.wait("button.execute")
    browser.run(script, "button.execute")
    browser.wait(".live-responses-table .microlight")
    assert "alive" in browser.texts(".live-responses-table")[0]
    check(browser, live)


def test_every_text_has_contrast_enough(browser: Browser, live: Live) -> None:
    browser.open(f"{live.address}/docs")
    assert browser.run(CONTRAST) == []
    browser.open(f"{live.address}/")
    reach(browser, "Work it out")
    browser.press("enter")
    browser.wait(".care")
    faint = browser.run(CONTRAST)
    assert faint == []
    # The chart is a picture with letters of one grey: that grey on the paper under it.
    browser.wait("figure img")
    probe = (
        "const p = document.createElement('p'); p.textContent = 'x'; p.style.color = arguments[0];"
    )
    browser.run(f"{probe} document.querySelector('figure').replaceChildren(p)", INK)
    assert browser.run(CONTRAST) == []


def test_the_answer_prints_with_the_question_and_without_the_button(
    browser: Browser, live: Live, tmp_path: Path
) -> None:
    browser.open(f"{live.address}/")
    reach(browser, "Work it out")
    browser.press("enter")
    browser.wait("figure img")
    browser.printed(tmp_path / "answer.pdf")
    assert (tmp_path / "answer.pdf").read_bytes().startswith(b"%PDF-")
    media: dict[str, Any] = {"media": "print"}
    browser.command("Emulation.setEmulatedMedia", **media)
    shown = "return getComputedStyle(document.querySelector(arguments[0])).display"
    assert browser.run(shown, "button") == "none"
    assert browser.run(shown, ".top nav") == "none"
    assert browser.run(shown, "#slab\\.width") != "none"
    assert browser.run(shown, ".decision") != "none"
    # A list of choices is as wide as its words: nothing is cut off on paper.
    narrow = browser.run(
        "return [...document.querySelectorAll('select, input')].filter(e => e.checkVisibility()"
        " && e.scrollWidth > e.clientWidth).map(e => e.id)"
    )
    assert narrow == []
    browser.command("Emulation.setEmulatedMedia", media="")


def test_a_service_that_wants_a_token_is_asked_with_the_one_typed_in(
    chromedriver: str, tmp_path: Path
) -> None:
    token = "a-token-of-this-test-alone"
    with (
        serving(STILLWOOD_TOKENS=token) as guarded,
        window(chromedriver, tmp_path / "profile") as browser,
    ):
        browser.open(f"{guarded.address}/")
        reach(browser, "Work it out")
        browser.press("enter")
        browser.until(lambda: browser.focused() == "token")
        assert browser.texts("#reply h2") == ["Not answered"]
        browser.press(token, "enter")
        browser.wait("figure img")
        assert browser.texts(".decision")[0].startswith("Not ready: ")
        assert token not in browser.run("return location.href")
        assert all("401" in message for message in browser.messages())
