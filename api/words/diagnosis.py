"""Sentences on what a slab that moved says of its past."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence

NOTES: Final[dict[str, Sentence]] = {}
CAUTIONS: Final[dict[str, Sentence]] = {}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {}
