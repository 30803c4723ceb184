"""How likely each wood is meant by a name that several lists give."""

from __future__ import annotations

import pytest

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
