"""The OpenAPI document as other software reads it: linters, and clients generated from it.

The programs are installed into a temporary folder, in the versions below; where that cannot be
done the tests say so and are left out, as are all of them where there is no npm (conftest.py).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import unittest
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pytest
import requests

from api import openapi
from api.questions import QUESTIONS
from tests.service.conftest import Live

PROGRAMS: Final = {
    "@redocly/cli": "2.77.0",
    "@stoplight/spectral-cli": "6.16.3",
    "openapi-fetch": "0.17.0",
    "openapi-typescript": "7.13.0",
    "typescript": "5.9.3",
}
GENERATOR: Final = "openapi-python-client==0.29.1"
SECONDS: Final = 900.0  # for one program on a slow or busy machine; each takes up to half a minute
QUIET: Final = {"REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"}
STRICT: Final = (
    *("--strict", "--exactOptionalPropertyTypes", "--noUncheckedIndexedAccess"),
    *("--target", "es2022", "--lib", "es2022,dom", "--module", "nodenext"),
)

pytestmark = pytest.mark.slow


@dataclass(frozen=True, slots=True)
class Shop:
    """A folder in which programs are installed and run."""

    folder: Path

    def tried(self, *command: str, **environment: str) -> subprocess.CompletedProcess[str]:
        """A program's end, whatever it is."""
        return subprocess.run(
            command,
            cwd=self.folder,
            env={**os.environ, **QUIET, **environment},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=SECONDS,
            check=False,
        )

    def run(self, *command: str, **environment: str) -> str:
        """What a program prints that ends well."""
        ended = self.tried(*command, **environment)
        assert ended.returncode == 0, f"{' '.join(command)}\n{ended.stdout}\n{ended.stderr}"
        return ended.stdout

    def node(self, program: str, *arguments: str) -> str:
        """What a program of node prints."""
        return self.run(str(self.folder / "node_modules" / ".bin" / program), *arguments)

    def write(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text, encoding="utf-8")


def shop_of(folder: Path) -> Shop:
    (folder / "openapi.json").write_bytes(openapi.document())
    return Shop(folder)


def installed(shop: Shop, *command: str) -> None:
    """Install, or leave the tests out where nothing can be fetched."""
    ended = shop.tried(*command)
    if ended.returncode != 0:
        told = " ".join((ended.stderr or ended.stdout).split())
        raise unittest.SkipTest(f"{command[0]} cannot install here: {told[:200]}")


@pytest.fixture(scope="module")
def javascript(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    shop = shop_of(tmp_path_factory.mktemp("javascript"))
    shop.write("package.json", json.dumps({"private": True, "type": "module"}))
    wanted = [f"{name}@{version}" for name, version in PROGRAMS.items()]
    installed(shop, "npm", "install", "--no-audit", "--no-fund", "--loglevel=error", *wanted)
    return shop


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    shop = shop_of(tmp_path_factory.mktemp("python"))
    shop.run(sys.executable, "-m", "venv", "venv")
    installed(shop, "venv/bin/pip", "install", "--quiet", GENERATOR)
    return shop


def answers(live: Live) -> dict[str, Any]:
    """What the service answers to the first example of each question."""
    found = {}
    for question in QUESTIONS:
        address = f"{live.address}/v1/{question.name}"
        reply = requests.post(address, json=dict(question.examples[0].body), timeout=60)
        found[question.name] = reply.json()["answer"]
    return found


def test_spectral_finds_nothing(javascript: Shop) -> None:
    javascript.write(".spectral.json", json.dumps({"extends": ["spectral:oas"]}))
    told = javascript.node(
        "spectral", "lint", "--ruleset", ".spectral.json", "--fail-severity", "hint",
        "--format", "json", "--quiet", "openapi.json",
    )  # fmt: skip
    assert json.loads(told) == []


def test_redocly_finds_nothing(javascript: Shop) -> None:
    told = javascript.node(
        "redocly", "lint", "--extends", "recommended", "--format", "json", "openapi.json"
    )
    assert json.loads(told)["problems"] == []


TYPESCRIPT_HEAD: Final = """
import createClient from "openapi-fetch";
import type { components, paths } from "./stillwood.js";

type Schemas = components["schemas"];
// Of the forms a reply comes in, those that are asked for here.
type Forms = "application/json" | "application/problem+json";
const service = createClient<paths, Forms>({ baseUrl: "ADDRESS" });
const answers: Record<string, unknown> = {};
"""
TYPESCRIPT_QUESTION: Final = """
{
  const { data, error } = await service.POST("/v1/NAME", { body: BODY });
  if (error !== undefined) throw new Error(error.detail);
  const answer: Schemas["ANSWER"] = data.answer;
  const first: Schemas["Note"] | undefined = data.notes[0];
  if (first !== undefined && first.rank > 3) throw new Error(first.message);
  answers["NAME"] = answer;
}
"""
# The line of the README, a batch and a catalogue.
TYPESCRIPT_TAIL: Final = """
const line = await service.GET("/v1/settle", {
  params: {
    query: {
      units: "us", "slab.species": "american-elm", "slab.width": "34in", "slab.thickness": "2in",
      "slab.grain": "flat", moisture: 12.5, "faces.top": "hardwax-oil", "room.climate": "Duluth,MN",
      "room.heat_to": "70F", "room.occupied": "normally", starts: "2026-09-25",
    },
  },
});
const mean: Schemas["Figure"] | undefined = line.data?.answer.settled.mean;
if (mean === undefined || typeof mean === "number") throw new Error("no band");
const batch = await service.POST("/v1/batch", {
  body: { questions: [{ question: "air", body: { temperature: "20C", dew_point: "8C" } }] },
});
const elms = await service.GET("/v1/species", { params: { query: { q: "elm" } } });
const radial: number | null | undefined = elms.data?.species[0]?.radial;
const beside = [mean.low <= mean.value, mean.value <= mean.high, batch.data?.failed, radial];
console.log(JSON.stringify({ answers, beside }));
"""


def filled(text: str, values: Mapping[str, str]) -> str:
    for name, value in values.items():
        text = text.replace(name, value)
    return text


def test_a_client_in_typescript_is_generated_compiles_strictly_and_gets_every_answer(
    javascript: Shop, live: Live
) -> None:
    told = javascript.tried(
        "node_modules/.bin/openapi-typescript", "openapi.json", "-o", "stillwood.d.ts"
    )
    assert told.returncode == 0, told.stderr
    assert "warn" not in (told.stdout + told.stderr).lower()
    calls = [
        filled(
            TYPESCRIPT_QUESTION,
            {
                "NAME": question.name,
                "ANSWER": type(question.answered).__name__,
                "BODY": json.dumps(dict(question.examples[0].body)),
            },
        )
        for question in QUESTIONS
    ]
    head = TYPESCRIPT_HEAD.replace("ADDRESS", live.address)
    javascript.write("calls.ts", "".join([head, *calls, TYPESCRIPT_TAIL]))
    javascript.node("tsc", *STRICT, "calls.ts")
    printed = json.loads(javascript.run("node", "calls.js"))
    assert printed["answers"] == answers(live)
    # Radial shrinkage of American elm: Wood Handbook FPL-GTR-190 Table 4-3 (printed).
    assert printed["beside"] == [True, True, 0, 4.2]


PYTHON_CALLS: Final = """
import datetime
import importlib
import json
import sys
from pathlib import Path

from stillwood_api import Client, models
from stillwood_api.api.questions import settle, settle_get
from stillwood_api.models import Band, Room, RoomOccupied, Settle, SettleReply, Slab

client = Client(base_url="ADDRESS", raise_on_unexpected_status=True)
day = datetime.date(2026, 9, 25)
table = Slab(species="American elm", width="34in", thickness="2in")
room = Room(climate="Duluth, MN", heat_to="70F", occupied=RoomOccupied.NORMALLY)
body = Settle(slab=table, moisture=12.5, room=room, starts=day)
posted = settle.sync(client=client, body=body)
got = settle_get.sync(
    client=client,
    slab_species="American elm",
    slab_width="34in",
    slab_thickness="2in",
    moisture=12.5,
    room_climate="Duluth, MN",
    room_heat_to="70F",
    starts=day,
)
assert isinstance(posted, SettleReply)
assert isinstance(got, SettleReply)
mean = posted.answer.settled.mean
assert isinstance(mean, Band)
assert mean.low <= mean.value <= mean.high
assert got.answer.to_dict() == posted.answer.to_dict()


def asked(name: str, request: str, body: object) -> object:
    call = importlib.import_module(f"stillwood_api.api.questions.{name}").sync
    reply = call(client=client, body=getattr(models, request).from_dict(body))
    assert isinstance(reply, getattr(models, f"{request}Reply")), reply
    return reply.to_dict()["answer"]


wanted = json.loads(Path(sys.argv[1]).read_text())
print(json.dumps({name: asked(name, *each) for name, each in wanted.items()}))
"""


def test_a_client_in_python_is_generated_is_typed_and_gets_every_answer(
    python: Shop, live: Live
) -> None:
    bin_first = f"{python.folder / 'venv' / 'bin'}{os.pathsep}{os.environ['PATH']}"
    told = python.tried(
        "venv/bin/openapi-python-client", "generate", "--path", "openapi.json", "--meta", "none",
        "--output-path", "stillwood_api", "--fail-on-warning", PATH=bin_first,
    )  # fmt: skip
    assert told.returncode == 0, told.stdout + told.stderr
    assert "warning" not in (told.stdout + told.stderr).lower()
    python.write("calls.py", PYTHON_CALLS.replace("ADDRESS", live.address))
    wanted = {
        question.name: (
            type(question.shape).__name__.removesuffix("Shape"),
            dict(question.examples[0].body),
        )
        for question in QUESTIONS
    }
    python.write("wanted.json", json.dumps(wanted))
    python.run(*typed("calls.py"))
    assert json.loads(python.run("venv/bin/python", "calls.py", "wanted.json")) == answers(live)


def typed(file: str) -> Sequence[str]:
    """Our mypy on a file, with the libraries of the generated client."""
    how = ("--strict", "--follow-imports=silent", "--python-executable", "venv/bin/python")
    return (sys.executable, "-m", "mypy", *how, "--config-file=", file)
