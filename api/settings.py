"""What an operator may set, read once at start from environment variables named STILLWOOD_*."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

PREFIX: Final = "STILLWOOD_"
# Read by deploy/ and by the tests, not by the application.
_OF_OTHERS: Final = frozenset({"BIND", "WORKERS", "HYPOTHESIS"})


class BadSetting(Exception):  # noqa: N818 - it names what the operator did
    """A setting that cannot be used; its text is one clear line for the operator."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything an operator may set.

    epw_folder : folder of hourly weather files (EPW) to offer as climates, or None.
    """

    epw_folder: Path | None = None


def _folder(text: str) -> Path:
    folder = Path(text)
    if not folder.is_dir():
        raise ValueError("no such folder; give a folder of weather files (*.epw)")
    return folder


# A new setting is one member of Settings and one line here, in the same spelling.
_READERS: Final[dict[str, Callable[[str], Any]]] = {
    "EPW_FOLDER": _folder,
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
            raise BadSetting(f"{variable}={text}: {error}") from error
    return Settings(**values)
