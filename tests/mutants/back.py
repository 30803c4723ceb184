"""A fault that once was, written as what stands in the code and what stood there before."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Back:
    """A fault that once was: `now` stands once in the file; `was` takes its place."""

    name: str
    path: str
    now: str
    was: str

    def wrong(self, source: str) -> str:
        """Put the fault into the source of its file."""
        if source.count(self.now) != 1:
            raise ValueError(f"{self.name}: stands {source.count(self.now)} times in {self.path}")
        return source.replace(self.now, self.was)

    @property
    def line(self) -> int:
        """The first line it changes."""
        source = (ROOT / self.path).read_text()
        before = source[: source.index(self.now)]
        lead = len(self.now) - len(self.now.lstrip())
        return before.count("\n") + 1 + self.now[:lead].count("\n")

    def told(self, _source: str) -> str:
        return f"{self.path}:{self.line}: [{self.name}]"
