"""How likely each wood is meant by a name that several lists give."""

from __future__ import annotations

import pytest

from model.names import UnknownName
from model.properties import wood_names
from model.properties.wood_names import UNHEARD, _pooled

STRANGE = min(UNHEARD)


def test_in_each_list_the_first_is_the_likeliest_by_the_root_of_its_place() -> None:
    # English: 1 and 1/sqrt 2 of 1.7071; German: the one alone; together, halved.
    found = _pooled({"en": ["a", "b"], "de": ["b"]}, frozenset("ab"))
    assert [one for one, _ in found] == ["b", "a"]
    assert [share for _, share in found] == pytest.approx([0.70711, 0.29289], abs=1e-5)


def test_a_wood_meant_by_less_than_one_in_twenty_is_no_member() -> None:
    # 1/sqrt 12 of the sum 5.6112 is 5.1 %; 1/sqrt 12 and 1/sqrt 13 of 5.8885 are 4.9 and 4.7.
    names = [chr(ord("a") + at) for at in range(13)]
    assert len(_pooled({"en": names[:12]}, frozenset(names))) == 12
    kept = _pooled({"en": names}, frozenset(names))
    assert [one for one, _ in kept] == names[:11]
    assert sum(share for _, share in kept) == pytest.approx(1.0)


def test_a_wood_without_figures_stands_for_no_group_but_for_itself() -> None:
    assert _pooled({"en": ["x", "a"]}, frozenset("a")) == (("a", 1.0),)
    assert _pooled({"en": ["x", "y"]}, frozenset("a")) == (("x", 1.0),)


def test_of_english_the_whole_counts_before_its_regions() -> None:
    both = {"en": ["a"], "en-GB": ["b"]}
    assert _pooled(both, frozenset("ab")) == (("a", 1.0),)
    assert {one for one, _ in _pooled({"en-GB": ["b"], "en-US": ["a"]}, frozenset("ab"))} == {
        "a",
        "b",
    }


def test_some_languages_are_heard_only_where_they_agree_with_english() -> None:
    assert _pooled({"en": ["a"], STRANGE: ["b"]}, frozenset("ab")) == (("a", 1.0),)
    assert len(_pooled({"en": ["a"], STRANGE: ["a", "b"]}, frozenset("ab"))) == 2
    assert _pooled({STRANGE: ["b"]}, frozenset("ab")) == (("b", 1.0),)


def test_of_woods_meant_alike_the_order_is_that_of_their_names() -> None:
    assert [one for one, _ in _pooled({"en": ["b"], "de": ["a"]}, frozenset("ab"))] == ["a", "b"]


def test_other_languages_are_heard_whatever_english_says() -> None:
    for lists in (
        {"en": ["a"], "de": ["b"]},
        {"de": ["a"], "fr": ["b"]},
        {"en-GB": ["a"], "es": ["b"]},
    ):
        assert _pooled(lists, frozenset("ab")) == (("a", 0.5), ("b", 0.5))


# A name of a wood is made from that of its tree, with the words before it kept (trade use).
@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Buchenholz", "european-beech"), ("Kirschholz", "european-cherry"),
        ("Kirschbaum", "european-cherry"), ("Eibenholz", "european-yew"),
        ("notenhout", "european-walnut"), ("bois d'if", "european-yew"),
        ("Kernbuche", "european-beech"), ("Wildeiche", "european-oak"),
        ("Räuchereiche", "european-oak"), ("white oakwood", "white-oak"),
        ("northern red oakwood", "northern-red-oak"),
    ],
)  # fmt: skip
def test_a_name_with_wood_in_it(text: str, found: str) -> None:
    assert wood_names.find(text).id == found


@pytest.mark.parametrize("text", ["oak nwood", "walnut enholz", "holz", "xholz", "Kernkern"])
def test_an_ending_without_a_tree_is_no_wood(text: str) -> None:
    with pytest.raises(UnknownName):
        wood_names.find(text)


# The shortest English name made of its members' own words, a region before none (judgement).
@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("chêne", "european oak"), ("quercia", "european oak"), ("orme", "european elm"),
        ("rovere", "european oak"), ("olmo", "european elm"), ("frêne blanc", "american ash"),
        ("érable", "érable"), ("Roteiche", "Roteiche"),
    ],
)  # fmt: skip
def test_a_group_is_called_by_its_plainest_english_name(text: str, found: str) -> None:
    called = wood_names.find(text)
    assert called.name == found
    assert text in wood_names.names_of(called)
    assert "Nussbaum" not in wood_names.names_of(called)
    assert sum(share for _, share in called.members) == pytest.approx(1.0)


def test_every_group_has_an_id_of_its_own() -> None:
    ids = [group.id for group in wood_names.groups()]
    assert len(set(ids)) == len(ids)
    assert all(ids)
    assert {len(group.members) for group in wood_names.groups()} >= {2, 3, 4, 5}
    assert min(len(group.members) for group in wood_names.groups()) == 2


def test_what_is_asked_is_told_apart_from_the_wood() -> None:
    curly = wood_names.find("curly sugar maple")
    assert (curly.id, curly.figured, curly.sawn, curly.stands_for) == (
        "sugar-maple", "curly", "", "",
    )  # fmt: skip
    assert curly.members == (("sugar-maple", 1.0),)
    assert wood_names.find("rift sawn white oak").sawn == "rift sawn"
    assert wood_names.find("Feldahorn").stands_for == "Feldahorn"
    assert wood_names.find("Bergahorn").stands_for == ""
