"""Every code that the model says has its one sentence, and no sentence is without a code."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from api import words

HOME = Path(__file__).parents[2]
CATALOGUE = {
    "Note": words.NOTES,
    "Caution": words.CAUTIONS,
    "Reason": words.REASONS,
    "Refusal": words.REFUSALS,
}
every_sentence = pytest.mark.parametrize("kind", CATALOGUE)


def _trees() -> Iterator[ast.AST]:
    for folder in ("model", "api"):
        for path in (HOME / folder).rglob("*.py"):
            if path.parent.name != "words":
                yield ast.parse(path.read_text())


def _texts(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def _codes(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.IfExp):
        yield from _codes(node.body)
        yield from _codes(node.orelse)
    elif isinstance(node, ast.Constant):
        yield str(node.value)


def said(kind: str) -> set[str]:
    """Codes that are written where one of a kind is made."""
    found: set[str] = set()
    for tree in _trees():
        for node in ast.walk(tree):
            named = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if named and node.func.id == kind and node.args:  # type: ignore[attr-defined]
                found.update(_codes(node.args[0]))  # type: ignore[attr-defined]
    return found


@every_sentence
def test_every_code_has_a_sentence(kind: str) -> None:
    codes = said(kind)
    assert codes
    assert codes <= set(CATALOGUE[kind])


@every_sentence
def test_no_sentence_is_left_over(kind: str) -> None:
    spoken = {text for tree in _trees() for text in _texts(tree)}
    assert set(CATALOGUE[kind]) <= spoken


@every_sentence
def test_every_sentence_has_a_rank_and_a_code_in_kebab_case(kind: str) -> None:
    for code, sentence in CATALOGUE[kind].items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
        assert sentence.rank in (1, 2, 3)
