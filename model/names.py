"""Finding a thing by any of its names: case, hyphens, plurals and word order do not matter."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from difflib import SequenceMatcher
from typing import Final

from model import effort

Key = tuple[str, ...]

LIKE_ENOUGH: Final = 0.6  # difflib ratio from which a name is offered as meant (judgement)
WORD_LIKE_ENOUGH: Final = 0.75  # the same of one word of a name (judgement)
OFFERED: Final = 24  # near matches offered at most; holds every oak and pine (judgement)


class UnknownName(LookupError):  # noqa: N818 - it names what happened, and callers read it so
    """A name that fits nothing, or more than one thing.

    Attributes
    ----------
    text : str
        What was given.
    candidates : tuple of str
        Ids of what may have been meant, the likeliest first; empty when nothing is near.
    """

    def __init__(self, kind: str, text: str, candidates: tuple[str, ...]) -> None:
        self.kind = kind
        self.text = text
        self.candidates = candidates
        near = f"; near: {', '.join(candidates)}" if candidates else ""
        super().__init__(f'no {kind} is called "{text}"{near}')


def key(text: str) -> Key:
    """The words of a name, singular, in lower case and sorted.

    Examples
    --------
    >>> key("Oaks, White") == key("white-oak")
    True
    """
    return tuple(sorted(_singular(word) for word in re.findall(r"[^\W_]+", text.casefold())))


def _singular(word: str) -> str:
    """Strip an English plural; a name that merely ends so loses it on both sides alike."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("ches", "shes", "xes", "sses")):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") else word


class Names:
    """An index from names to ids.

    Parameters
    ----------
    kind : str
        What is looked for, for the message: ``species``, ``finish``.
    names : iterable of (id, name)
        Every name of every thing; an id should be among its own names.
    """

    def __init__(self, kind: str, names: Iterable[tuple[str, str]]) -> None:
        self.kind = kind
        self._ids: defaultdict[Key, list[str]] = defaultdict(list)
        for identity, name in names:
            if identity not in self._ids[key(name)]:
                self._ids[key(name)].append(identity)

    def find(self, text: str) -> str:
        """The id called `text`.

        Raises
        ------
        UnknownName
            If nothing is called so, or more than one thing is; the candidates are near matches,
            as far as they may be searched for (`effort.allow_searches`).
        """
        words = key(text)
        found = self._ids.get(words, [])
        if len(found) == 1:
            return found[0]
        near = tuple(found) or (self.near(words) if effort.may_search() else ())
        raise UnknownName(self.kind, text, near)

    def near(self, words: Key) -> tuple[str, ...]:
        """Ids with a name like these words.

        First those that contain them all, then those that have a word like each of them, then
        look-alikes as a whole; where neither of the first is, those that share half of the words.
        """
        if not words:
            return ()
        asked = " ".join(words)
        scored = []
        for known, ids in self._ids.items():
            likeness = SequenceMatcher(None, asked, " ".join(known)).ratio()
            if set(words) <= set(known):
                rank = 0
            elif all(_one_is_like(word, known) for word in words):
                rank = 1
            elif likeness >= LIKE_ENOUGH:
                rank = 2
            elif 2 * len(set(words) & set(known)) >= len(words):
                rank = 3
            else:
                continue
            scored.append((rank, -likeness, ids))
        scored.sort()
        furthest = 2 if scored and scored[0][0] <= 1 else 3
        ordered = [identity for rank, _, ids in scored if rank <= furthest for identity in ids]
        return tuple(dict.fromkeys(ordered))[:OFFERED]


def _one_is_like(word: str, known: Key) -> bool:
    """Whether a name has a word so like this one that a slip of the pen explains it."""
    return any(SequenceMatcher(None, word, one).ratio() >= WORD_LIKE_ENOUGH for one in known)
