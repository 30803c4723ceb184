"""Which tests stand nearest to a file: by their name, then by what they import."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path


@cache
def imported(path: Path) -> frozenset[str]:
    """Dotted names that a file imports: `from a import b` counts as a and as a.b."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return frozenset(names)


def nearest(root: Path, path: str) -> list[str]:
    """Test files for a file, nearest first; its own examples before all.

    Those named after it or its folder, then those that import it, then, when there is none of
    either, those that import what imports it; and the test of constants, when a constant of the
    file stands in its table.  The live service and what is slow are left out.
    """
    tests = sorted(
        test
        for folder in ("model", "reference", "api")
        for test in (root / "tests" / folder).glob("test_*.py")
    )
    module = _dotted(path)
    stem, folder = Path(path).stem, Path(path).parent.name
    named = [test for test in tests if test.stem == f"test_{stem}"]
    if Path(path).parts[:2] != (path.split("/")[0], folder):  # not the floors: a question's folder
        named += [test for test in tests if test.stem == f"test_{folder}" and test not in named]
    close = [test for test in tests if test not in named and module in imported(test)]
    if not named and not close:
        users = {
            _dotted(str(user.relative_to(root)))
            for top in ("model", "api")
            for user in (root / top).rglob("*.py")
            if module in imported(user)
        }
        close = [test for test in tests if users & imported(test)]
    constants = root / "tests/reference/test_constants.py"
    table = (root / "tests/reference/data/constants.csv").read_text()
    if f"\n{module}," in table and constants not in close:
        close.append(constants)
    examples = [path] if ">>>" in (root / path).read_text() else []
    return examples + [str(test.relative_to(root)) for test in (*named, *close)]


def _dotted(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
