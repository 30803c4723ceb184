"""What a name of a wood means: one wood, or several that the trade calls so.

The names stand in data/wood_names.csv, in ten languages, each with its source; the woods' own
names in data/species.csv come first.  A name that several woods bear is a group: its members with
their likelihood.  A name that only looks like another is never taken for it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby
from typing import Final

from model import effort
from model.basis import table
from model.names import Key, Names, UnknownName, key, plain, words

# Where these languages use an English name for quite another wood, English is heard (judgement:
# the service is asked in English far more often).
UNHEARD: Final = frozenset({"pl", "sv", "ja"})
LEAST_LIKELY: Final = 0.05  # share below which a wood is not taken as a member (judgement)

# Words beside a name that say nothing of the kind of wood.
_MATERIAL: Final = (
    "wood wooden timber lumber slab board plank tree solid live edge kiln air dried dry reclaimed "
    "old natural genuine real massiv massives massive massiver massivholz holz baum massif massive "
    "bois de du d di madera legno massello massiccio maciza macizo natural naturel hout massief "
    "houten madeira macica"
)
_BESIDE: Final = frozenset(_MATERIAL.split())
# Words for figure, colour and age, which leave the kind but not the figures of straight wood.
_FIGURED: Final = frozenset(
    (
        "burl burr crotch figured curly quilted spalted flamed fiddleback smoked fumed antique "
        "maser geriegelt gemasert astig altholz geräuchert loupe ronce ondé moucheté fumé vieux "
        "radica marezzato affumicato antico fiammato oud gerookt gevlamd nudoso rizado veteado"
    )
    .translate(str.maketrans("äé", "ae"))
    .split()
)
# Words for how it is sawn, which a slab's grain tells.
_SAWN: Final = frozenset(
    ["quartersawn", "quarter", "riftsawn", "rift", "flatsawn", "flat", "plainsawn", "plain", "sawn"]
)
# Endings by which a name of a wood is made from that of its tree: Eichenholz, eikenhout, oakwood.
_ENDINGS: Final = ("holz", "hout", "wood", "baum")
# German beginnings that tell the sort or colour of a wood and leave its kind: Kernbuche, Wildeiche.
# One for heat-treated wood is not among them: that is another material.
_BEGINNINGS: Final = ("kern", "wild", "ast", "raucher", "raeucher", "balken")
_REGIONS: Final = frozenset({"european", "american"})

Members = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Called:
    """What a name means.

    Attributes
    ----------
    id : str
        Of the wood, or of the group: its commonest English name where it has one.
    members : tuple of (id, share)
        Woods that may be meant, the likeliest first, and how likely each is; one for a wood.
    name : str
        Of the group, as the trade writes it; empty for a wood.
    figured : str
        Words of the name asked that tell figure, colour or age and were left out of account.
    sawn : str
        Words of the name asked that tell how it is sawn, likewise.
    stands_for : str
        The name asked, when it is that of a wood without figures of its own, for which a relative
        stands; else empty.
    """

    id: str
    members: Members
    name: str = ""
    stands_for: str = ""
    figured: str = ""
    sawn: str = ""


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", plain(text)).strip("-")


def _bare(text: str) -> str:
    """A name without what stands in brackets."""
    return re.sub(r"\s*\([^)]*\)", "", text).strip()


@cache
def rows() -> tuple[dict[str, str], ...]:
    """The rows of data/wood_names.csv."""
    return tuple(table("wood_names.csv"))


@cache
def other_names() -> dict[str, tuple[str, ...]]:
    """Every name of a wood by its id, those of the groups it belongs to included."""
    held: defaultdict[str, dict[str, str]] = defaultdict(dict)
    for row in rows():
        for identity in row["refers_to"].split(";"):
            held[identity].setdefault(row["name"].casefold(), row["name"])
    return {identity: tuple(names.values()) for identity, names in held.items()}


def _heard(lists: dict[str, list[str]]) -> dict[str, list[str]]:
    """The lists of one name by language that count: regions of English only without the whole."""
    english = [one for one in lists if one.startswith("en")]
    if "en" in lists:
        english = ["en"]
    known = {member for one in english for member in lists[one]}
    return {
        language: members
        for language, members in lists.items()
        if (language in english if language.startswith("en") else True)
        and not (language in UNHEARD and known and not known & set(members))
    }


def _pooled(lists: dict[str, list[str]], measured: frozenset[str]) -> Members:
    """Members with their shares; in each list the k-th counts 1/sqrt(k) (judgement)."""
    shares: defaultdict[str, float] = defaultdict(float)
    for listed in _heard(lists).values():
        # A wood without figures cannot stand for a group, but is itself when it is meant alone.
        members = [one for one in listed if one in measured] or listed[:1]
        whole = sum((at + 1) ** -0.5 for at in range(len(members)))
        for at, member in enumerate(members):
            shares[member] += (at + 1) ** -0.5 / whole
    if shares.keys() & measured:
        shares = defaultdict(float, {one: shares[one] for one in shares.keys() & measured})
    total = sum(shares.values())
    kept = {one: share for one, share in shares.items() if share >= LEAST_LIKELY * total}
    whole = sum(kept.values())
    ordered = sorted(kept.items(), key=lambda item: (-item[1], item[0]))
    return tuple((one, share / whole) for one, share in ordered)


@dataclass(frozen=True, slots=True)
class _Index:
    """Names to ids, ids to what they mean, names of groups, names for which a relative stands."""

    names: Names
    called: dict[str, Called]
    of_groups: dict[str, tuple[str, ...]]
    stand_ins: frozenset[Key]


@cache
def _index() -> _Index:
    woods = table("species.csv")
    measured = frozenset(row["id"] for row in woods if row["tangential_pct"])
    own = [
        (row["id"], name)
        for row in woods
        for name in dict.fromkeys(
            (row["id"], row["name"], _bare(row["name"]), _bare(row["scientific_name"]))
        )
        if name
    ]
    first = Names("species", own)
    trade = [row for row in rows() if not first.exactly(row["name"])]
    trade.sort(key=lambda row: key(row["name"]))
    pooled: list[tuple[str, bool, Members]] = []
    for _, same in groupby(trade, key=lambda row: key(row["name"])):
        lists: dict[str, list[str]] = {}
        together = list(same)
        for row in together:
            lists.setdefault(row["language"], row["refers_to"].split(";"))
        english = [row["name"] for row in together if row["language"].startswith("en")]
        name = (english or [together[0]["name"]])[0]
        pooled.append((name, bool(english), _pooled(lists, measured)))
    called = {row["id"]: Called(row["id"], ((row["id"], 1.0),)) for row in woods}
    named = list(own)
    groups: dict[Members, Called] = {}
    # A group is called by the shortest English name made of its members' words.
    spoken = {row["id"]: {*words(row["name"]), *_REGIONS} for row in woods}

    def order(one: tuple[str, bool, Members]) -> tuple[object, ...]:
        name, is_english, members = one
        strange = set(words(name)) - set().union(*(spoken[member] for member, _ in members))
        return not is_english, len(strange), not _REGIONS & set(words(name)), len(name), name

    for name, _, members in sorted(pooled, key=order):
        if len(members) == 1:
            named.append((members[0][0], name))
            continue
        group = groups.setdefault(members, Called(_slug(name), members, name))
        called.setdefault(group.id, group)
        named.append((group.id, name))
    heard = {identity: float(len(names)) for identity, names in other_names().items()}
    for group in groups.values():
        heard[group.id] = sum(heard[member] for member, _ in group.members)
    with_figures = {key(row["name"]) for row in trade if not row["stand_in"]}
    stand_ins = frozenset(key(row["name"]) for row in trade if row["stand_in"]) - with_figures
    of_groups = {
        group.id: tuple(name for identity, name in named if identity == group.id)
        for group in groups.values()
    }
    return _Index(Names("species", named, heard), called, of_groups, stand_ins)


def groups() -> tuple[Called, ...]:
    """Every group of woods that the trade calls by one name."""
    return tuple(one for one in _index().called.values() if one.name)


def _told(text: str, what: frozenset[str]) -> list[str]:
    """Words of a name that are among these."""
    return [word for word in words(text) if word in what]


def names_of(group: Called) -> tuple[str, ...]:
    """Every name of a group."""
    return _index().of_groups[group.id]


def _spellings(text: str) -> list[str]:
    """A name, then without what only says that it is wood, then its tree's name."""
    tried = [text]
    kept = [word for word in re.findall(r"[^\W_]+", text) if plain(word) not in _BESIDE]
    if kept:
        tried.append(" ".join(kept))
    if _told(text, _FIGURED | _SAWN):
        kept = [word for word in kept if plain(word) not in _FIGURED | _SAWN]
        tried.append(" ".join(kept))
    for ending in _ENDINGS:
        last = kept[-1] if kept else ""
        stem = plain(last).removesuffix(ending)
        if stem != plain(last):
            before = kept[:-1]
            # Eichenholz, Fichtenholz: the tree's name takes an n; Kirschholz: it loses its e.
            stems = [stem, stem + "e", stem.removesuffix("n"), stem.removesuffix("en")]
            tried += [" ".join([*before, one]) for one in stems if one]
    for beginning in _BEGINNINGS:
        stem = plain(" ".join(kept)).removeprefix(beginning)
        if stem != plain(" ".join(kept)):
            tried.append(stem)
    return list(dict.fromkeys(tried))


def find(text: str) -> Called:
    """What a name means: its own wood, or the woods of a group.

    Parameters
    ----------
    text : str
        Id, common, scientific or trade name in any of ten languages; case, accents, plurals, order
        and words such as "solid" or "wood" do not matter.

    Raises
    ------
    UnknownName
        If nothing is called so; `candidates` are ids of near names, as far as they may be searched
        for (`effort.allow_searches`).

    Examples
    --------
    >>> find("Nussbaum").members
    (('european-walnut', 1.0),)
    >>> [one for one, share in find("chêne").members]
    ['pedunculate-oak', 'sessile-oak']
    """
    index = _index()
    for spelling in _spellings(text):
        found = index.names.exactly(spelling)
        if len(found) == 1:
            called = index.called[found[0]]
            return replace(
                called,
                stands_for=text if key(spelling) in index.stand_ins else "",
                figured=" ".join(_told(text, _FIGURED)),
                sawn=" ".join(_told(text, _SAWN)),
            )
        if found:
            raise UnknownName("species", text, found)
    # What is only said of wood is not looked for in other names.
    kept = [word for word in words(text) if word not in _BESIDE]
    near = index.names.near(tuple(sorted(kept))) if effort.may_search() else ()
    raise UnknownName("species", text, near)
