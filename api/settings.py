"""What an operator may set, read once at start from environment variables named STILLWOOD_*."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from limits import parse_many

PREFIX: Final = "STILLWOOD_"
# Read by deploy/ and by the tests, not by the application.
_OF_OTHERS: Final = frozenset({"WORKERS", "HYPOTHESIS"})
# Never repeated in a message.
_SECRET: Final = frozenset({"TOKENS"})
# Characters of a token: of 64 kinds, 20 hold 120 bits, beyond guessing.  (judgement)
TOKEN_LENGTH: Final = 20
_TOKEN: Final = re.compile(r"[A-Za-z0-9._~+/-]+=*")  # RFC 6750, section 2.1
_ORIGIN: Final = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]{1,5})?")


class BadSetting(Exception):  # noqa: N818 - it names what the operator did
    """A setting that cannot be used; its text is one clear line for the operator."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything an operator may set.

    bind : addresses that gunicorn listens at (deploy/gunicorn.conf.py), with commas.
    epw_folder : folder of hourly weather files (EPW) to offer as climates, or None.
    tokens : bearer tokens that may ask, with blanks or commas; with none, everybody may.
    tokens_file : file of such tokens, one a line; read again when it changes.
    open : `yes` lets a service that others can reach start without tokens.
    origins : web origins whose pages may ask, with blanks or commas, or `*`.
    rate : most requests of one token or address, such as `120 per minute`; counted by each worker,
        an IPv6 address by its network of 64 bits.
    proxies : how many proxies in front tell the caller's address in X-Forwarded-For.
    log : `json` writes a line a request to standard error, `off` failures alone.
    """

    bind: tuple[str, ...] = ("127.0.0.1:8321",)
    epw_folder: Path | None = None
    tokens: tuple[str, ...] = field(default=(), repr=False)
    tokens_file: Path | None = None
    open: bool = False
    origins: tuple[str, ...] = ()
    rate: str | None = None
    proxies: int = 0
    log: str = "json"


def _words(text: str) -> tuple[str, ...]:
    return tuple(word for word in re.split(r"[\s,]+", text) if word)


def _binds(text: str) -> tuple[str, ...]:
    if not (binds := _words(text)):
        raise ValueError("write an address and a port such as 127.0.0.1:8321")
    return binds


def _folder(text: str) -> Path:
    folder = Path(text)
    if not folder.is_dir():
        raise ValueError("no such folder; give a folder of weather files (*.epw)")
    return folder


def tokens_of(text: str) -> tuple[str, ...]:
    """Bearer tokens of a text; `#` begins a comment.  Raises ValueError, which names no token."""
    bare = "\n".join(line.partition("#")[0] for line in text.splitlines())
    tokens = _words(bare)
    if not tokens:
        raise ValueError("no token in it")
    for place, token in enumerate(tokens, start=1):
        if len(token) < TOKEN_LENGTH or not _TOKEN.fullmatch(token):
            raise ValueError(
                f"token {place} of {len(tokens)} is not {TOKEN_LENGTH} or more letters, digits "
                "and ._~+/- (make one: openssl rand -hex 24)"
            )
    return tokens


def _tokens_file(text: str) -> Path:
    file = Path(text)
    try:
        tokens_of(text_of(file))
    except (OSError, UnicodeDecodeError) as error:
        raise ValueError("this file of tokens cannot be read") from error
    return file


def text_of(file: Path) -> str:
    """Text of a small file; raises OSError, or ValueError for what is no file.

    A pipe gives its text once, and opening an empty one waits for whoever fills it.
    """
    if not stat.S_ISREG(file.stat().st_mode):
        raise ValueError("this is a folder, pipe or device; give a file, which can be read again")
    return file.read_text("utf-8")


def _flag(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValueError("write yes or no")
    return text == "yes"


def _origins(text: str) -> tuple[str, ...]:
    origins = _words(text)
    for origin in origins:
        if origin != "*" and not _ORIGIN.fullmatch(origin):
            raise ValueError(f"{origin} is no origin; write https://shop.example, or *")
    return origins


def _rate(text: str) -> str:
    try:
        parse_many(text)
    except ValueError as error:
        raise ValueError("write a rate such as 120 per minute") from error
    return text


def _proxies(text: str) -> int:
    if not re.fullmatch(r"[0-9]", text):
        raise ValueError("write how many proxies stand in front, 0 to 9")
    return int(text)


def _log(text: str) -> str:
    if text not in ("json", "off"):
        raise ValueError("write json or off")
    return text


# A new setting is one member of Settings and one line here, in the same spelling.
_READERS: Final[dict[str, Callable[[str], Any]]] = {
    "BIND": _binds,
    "EPW_FOLDER": _folder,
    "TOKENS": tokens_of,
    "TOKENS_FILE": _tokens_file,
    "OPEN": _flag,
    "ORIGINS": _origins,
    "RATE": _rate,
    "PROXIES": _proxies,
    "LOG": _log,
}


def read(environment: Mapping[str, str] | None = None) -> Settings:
    """Settings from the environment; raises BadSetting for a name or value that cannot be used."""
    values: dict[str, Any] = {}
    for variable, text in sorted((os.environ if environment is None else environment).items()):
        name = variable.removeprefix(PREFIX)
        if name == variable or name in _OF_OTHERS or not text:
            continue
        if name not in _READERS:
            known = ", ".join(PREFIX + each for each in sorted(_READERS.keys() | _OF_OTHERS))
            raise BadSetting(f"{variable}: no such setting; known: {known}")
        try:
            values[name.lower()] = _READERS[name](text)
        except ValueError as error:
            told = variable if name in _SECRET else f"{variable}={text}"
            raise BadSetting(f"{told}: {error}") from error
    return Settings(**values)
