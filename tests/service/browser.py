"""Headless Chromium, driven over the W3C WebDriver protocol by Debian's chromedriver.

The protocol is plain HTTP, so `requests` is all it needs.
"""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

import requests

from tests.service.conftest import free_port

# Quiet in a closed network; the sandbox needs rights that a test machine may not give.
_FLAGS: Final = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-color-profile=srgb",
)
KEYS: Final = {"tab": "\ue004", "enter": "\ue007", "space": " ", "down": "\ue015"}
INSIDE: Final = ("blob", "data", "chrome")  # schemes that lead to nobody; an empty tab is chrome
WAIT_SECONDS: Final = 20.0  # an answer takes 0.2 s, the first chart 1 to 2 s; a loaded machine more

SCRIPT_SECONDS: Final = 150  # axe-core on /docs: 30 were not enough on a loaded machine


class Browser:
    """One browser window."""

    def __init__(self, session: str) -> None:
        self._session = session

    def _ask(self, method: str, path: str, body: Any = None) -> Any:
        reply = requests.request(
            method, self._session + path, json=body, timeout=SCRIPT_SECONDS + 30
        )
        value = reply.json()["value"]
        assert reply.ok, value
        return value

    def open(self, address: str) -> None:
        """Load a page."""
        self._ask("POST", "/url", {"url": address})

    def run(self, script: str, *arguments: Any) -> Any:
        """Value of a script's `return`."""
        return self._ask("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def command(self, name: str, **parameters: Any) -> Any:
        """A command of Chromium's own protocol."""
        return self._ask("POST", "/goog/cdp/execute", {"cmd": name, "params": parameters})

    def texts(self, selector: str) -> list[str]:
        """What is seen of every element of a CSS selector."""
        script = "return [...document.querySelectorAll(arguments[0])].map(e => e.innerText)"
        found: list[str] = self.run(script, selector)
        return found

    def wait(self, selector: str) -> None:
        """Until an element is there."""
        self.until(
            lambda: bool(self.run("return !!document.querySelector(arguments[0])", selector))
        )

    def until(self, met: Callable[[], bool]) -> None:
        """Until a condition is met."""
        deadline = time.monotonic() + WAIT_SECONDS
        while not met():
            assert time.monotonic() < deadline, self.run("return document.body.innerText")
            time.sleep(0.05)

    def press(self, *keys: str) -> None:
        """Press keys one after the other; a longer text is typed."""
        actions = []
        for key in "".join(KEYS.get(key, key) for key in keys):
            actions += [{"type": "keyDown", "value": key}, {"type": "keyUp", "value": key}]
        self._ask(
            "POST", "/actions", {"actions": [{"type": "key", "id": "keys", "actions": actions}]}
        )

    def focused(self) -> str:
        """Id, or else text, of what has the focus."""
        script = "const e = document.activeElement; return e.id || e.innerText"
        return str(self.run(script))

    def messages(self) -> list[str]:
        """What the console has said since it was last asked, errors and warnings."""
        said = self._ask("POST", "/se/log", {"type": "browser"})
        return [f"{each['level']}: {each['message']}" for each in said]

    def hosts(self) -> set[str]:
        """Origins that anything was asked of since last asked, by Chromium's log of its network.

        That log has what was refused or failed too, which the page's own list of what it has
        loaded does not.
        """
        said = self._ask("POST", "/se/log", {"type": "performance"})
        events = [json.loads(each["message"])["message"] for each in said]
        asked = [
            urlsplit(event["params"]["request"]["url"])
            for event in events
            if event["method"] == "Network.requestWillBeSent"
        ]
        return {f"{one.scheme}://{one.netloc}" for one in asked if one.scheme not in INSIDE}

    def picture(self, path: Path) -> None:
        """Save the whole page as a PNG file."""
        size = self.run("return [innerWidth, document.documentElement.scrollHeight]")
        clip = {"x": 0, "y": 0, "width": size[0], "height": size[1], "scale": 1}
        told = self.command("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
        path.write_bytes(base64.b64decode(told["data"]))

    def printed(self, path: Path) -> None:
        """Save the page as it prints, as a PDF file."""
        path.write_bytes(base64.b64decode(self._ask("POST", "/print", {})))


@contextmanager
def driver() -> Iterator[str]:
    """A chromedriver on a free port; gives its address."""
    address = f"http://127.0.0.1:{(port := free_port())}"
    process = subprocess.Popen(
        ["chromedriver", f"--port={port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        deadline = time.monotonic() + WAIT_SECONDS
        while True:
            try:
                if requests.get(f"{address}/status", timeout=5).json()["value"]["ready"]:
                    break
            except requests.ConnectionError:
                assert time.monotonic() < deadline, "chromedriver does not start"
                time.sleep(0.05)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=20)


@contextmanager
def window(
    address: str, profile: Path, *, width: int = 1280, height: int = 900, dark: bool = False
) -> Iterator[Browser]:
    """A fresh browser; narrower than 600 it is a phone."""
    options: dict[str, Any] = {
        "args": [*_FLAGS, f"--user-data-dir={profile}", f"--window-size={width},{height}"],
        "binary": shutil.which("chromium"),
    }
    if width < 600:
        metrics = {"width": width, "height": height, "pixelRatio": 2.0, "touch": True}
        options["mobileEmulation"] = {"deviceMetrics": metrics}
    capabilities = {
        "browserName": "chrome",
        "goog:chromeOptions": options,
        "timeouts": {"script": 1000 * SCRIPT_SECONDS},
        "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
    }
    asked = {"capabilities": {"alwaysMatch": capabilities}}
    value = requests.post(f"{address}/session", json=asked, timeout=60).json()["value"]
    assert "sessionId" in value, value
    session = f"{address}/session/{value['sessionId']}"
    browser = Browser(session)
    try:
        scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        browser.command("Emulation.setEmulatedMedia", features=scheme)
        yield browser
    finally:
        requests.delete(session, timeout=60)
