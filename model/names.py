"""Finding a thing by any of its names: case, accents, hyphens, plurals and order do not matter."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher
from functools import cached_property
from typing import Final

import numpy as np

from model import effort

Key = tuple[str, ...]

LIKE_ENOUGH: Final = 0.6  # difflib ratio from which a name is offered as meant (judgement)
WORD_LIKE_ENOUGH: Final = 0.75  # the same of one word of a name (judgement)
# Share of common pairs of letters below which the ratio is not worked out: it cannot reach
# `LIKE_ENOUGH` but by letters that lie apart (judgement; it makes a search twenty times faster).
PAIRS_ENOUGH: Final = 0.35
OFFERED: Final = 24  # near matches offered at most; holds every oak and pine (judgement)
UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe"})


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


def plain(text: str) -> str:
    """A text in lower case and without accents.

    Examples
    --------
    >>> plain("Chêne"), plain("Weißbuche")
    ('chene', 'weissbuche')
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(one for one in apart if not unicodedata.combining(one)).replace("ł", "l")


def words(text: str) -> list[str]:
    """The words of a text, plain and singular, in their order."""
    return [_singular(word) for word in re.findall(r"[^\W_]+", plain(text))]


def joined(text: str) -> str:
    """A name as one word: "sweet gum" and "sweetgum" are the same.

    Examples
    --------
    >>> joined("Sweet Gum"), joined("sweet-gums")
    ('sweetgum', 'sweetgum')
    """
    return _singular("".join(re.findall(r"[^\W_]+", plain(text))))


def key(text: str) -> Key:
    """The words of a name, singular, without accents, in lower case and sorted.

    Examples
    --------
    >>> key("Oaks, White") == key("white-oak")
    True
    """
    return tuple(sorted(words(text)))


def _singular(word: str) -> str:
    """Strip an English plural; a name that merely ends so loses it on both sides alike."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("ches", "shes", "xes", "sses")):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") else word


def pairs(word: str) -> Counter[str]:
    """The pairs of neighbouring letters of a word, its ends marked."""
    marked = f" {word} "
    return Counter(marked[at : at + 2] for at in range(len(marked) - 1))


class _Alike:
    """Texts that may be searched for those like another one."""

    def __init__(self, texts: Iterable[str]) -> None:
        self._texts = list(dict.fromkeys(texts))
        own = [pairs(text) for text in self._texts]
        self._sizes = np.array([one.total() for one in own])
        holding: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
        for place, one in enumerate(own):
            for pair, count in one.items():
                holding[pair].append((place, count))
        self._holding = {pair: np.array(held).T for pair, held in holding.items()}

    def like(self, text: str, least: float) -> dict[str, float]:
        """Those whose difflib ratio to a text is at least `least`, with it."""
        own = pairs(text)
        shared = np.zeros(len(self._texts))
        for pair, count in own.items():
            if pair in self._holding:
                places, counts = self._holding[pair]
                shared[places] += np.minimum(counts, count)
        near = np.flatnonzero(2.0 * shared >= PAIRS_ENOUGH * (own.total() + self._sizes))
        matcher = SequenceMatcher(autojunk=False)
        matcher.set_seq2(text)
        found = {}
        for other in (self._texts[place] for place in near):
            matcher.set_seq1(other)
            # The two upper bounds of the ratio are quick to have.
            if (
                matcher.real_quick_ratio() >= least
                and matcher.quick_ratio() >= least
                and (ratio := matcher.ratio()) >= least
            ):
                found[other] = ratio
        return found


class Names:
    """An index from names to ids.

    Parameters
    ----------
    kind : str
        What is looked for, for the message: ``species``, ``finish``.
    names : iterable of (id, name)
        Every name of every thing; an id should be among its own names.
    common : mapping of str to float, optional
        How common a thing is, larger commoner: of equally near matches the commoner comes first.
    """

    def __init__(
        self, kind: str, names: Iterable[tuple[str, str]], common: Mapping[str, float] | None = None
    ) -> None:
        self.kind = kind
        self._common = common or {}
        self._ids: defaultdict[Key, list[str]] = defaultdict(list)
        self._joined: defaultdict[str, list[str]] = defaultdict(list)
        for identity, name in names:
            # An umlaut is written with or without its e: "Lärche", "Larche" and "Laerche".
            for spelling in {name, name.casefold().translate(UMLAUTS)}:
                for held in (self._ids[key(spelling)], self._joined[joined(spelling)]):
                    if identity not in held:
                        held.append(identity)

    def exactly(self, text: str) -> tuple[str, ...]:
        """Ids of everything called so, however the words are joined: "sweet gum", "sweetgum"."""
        found = self._ids.get(key(text)) or self._joined.get(joined(text))
        return tuple(found or ())

    def find(self, text: str) -> str:
        """The id called `text`.

        Raises
        ------
        UnknownName
            If nothing is called so, or more than one thing is; the candidates are near matches,
            as far as they may be searched for (`effort.allow_searches`).
        """
        found = self.exactly(text)
        if len(found) == 1:
            return found[0]
        near = found or (self.near(key(text)) if effort.may_search() else ())
        raise UnknownName(self.kind, text, near)

    @cached_property
    def _words(self) -> _Alike:
        return _Alike(word for known in self._ids for word in known)

    @cached_property
    def _wholes(self) -> tuple[_Alike, dict[str, Key]]:
        whole = {" ".join(known): known for known in self._ids}
        return _Alike(whole), whole

    @cached_property
    def _with_word(self) -> dict[str, list[Key]]:
        held: defaultdict[str, list[Key]] = defaultdict(list)
        for known in self._ids:
            for word in set(known):
                held[word].append(known)
        return dict(held)

    def near(self, asked: Key) -> tuple[str, ...]:
        """Ids with a name like these words.

        First those that contain them all, the commonest first, then those that have a word like
        each of them, then look-alikes as a whole; where neither of the first is, those that share
        half of the words.
        """
        if not asked:
            return ()
        alike = [set(self._words.like(word, WORD_LIKE_ENOUGH)) | {word} for word in asked]
        wholes, keys = self._wholes
        whole = {
            keys[text]: ratio for text, ratio in wholes.like(" ".join(asked), LIKE_ENOUGH).items()
        }
        somewhere = {
            known for near in alike for word in near for known in self._with_word.get(word, ())
        }
        scored = []
        for known in somewhere | whole.keys():
            held = set(known)
            if set(asked) <= held:
                rank = 0
            elif all(near & held for near in alike):
                rank = 1
            elif known in whole:
                rank = 2
            elif 2 * len(set(asked) & held) >= len(asked):
                rank = 3
            else:
                continue
            likeness = whole.get(known, 0.0)
            for identity in self._ids[known]:
                commoner = -self._common.get(identity, 0.0)
                order = (commoner, -likeness) if rank == 0 else (-likeness, commoner)
                scored.append((rank, *order, identity))
        scored.sort()
        furthest = 2 if scored and scored[0][0] <= 1 else 3
        ordered = [identity for rank, *_, identity in scored if rank <= furthest]
        return tuple(dict.fromkeys(ordered))[:OFFERED]
