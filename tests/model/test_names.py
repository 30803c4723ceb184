"""Names: what is alike, what is found, and in which order near ones are told."""

from __future__ import annotations

from difflib import SequenceMatcher

import pytest

from model import effort, names
from model.names import Names, UnknownName, joined, key, pairs, words

WOODS = [
    ("white-oak", "white oak"),
    ("white-oak", "Quercus alba"),
    ("red-oak", "red oak"),
    ("bog-oak", "bog oak"),
    ("sweetgum", "sweet gum"),
    ("larch", "Lärche"),
    ("white-ash", "white ash"),
    ("black-walnut", "black walnut"),
    ("black-walnut", "walnut"),
    ("european-walnut", "walnut"),
    ("cherry", "black cherry"),
]


@pytest.fixture
def found() -> Names:
    return Names("wood", WOODS, {"red-oak": 5.0, "white-oak": 3.0})


@pytest.mark.parametrize(
    ("plural", "singular"),
    [
        ("berries", "berry"),
        ("flies", "fly"),
        ("pies", "pie"),  # four letters: no word in -y
        ("birches", "birch"),
        ("ashes", "ash"),
        ("boxes", "box"),
        ("cypresses", "cypress"),
        ("axes", "axe"),
        ("oaks", "oak"),
        ("gas", "gas"),  # three letters
        ("figs", "fig"),
        ("oak", "oak"),
    ],
)
def test_a_plural_is_its_singular(plural: str, singular: str) -> None:
    assert words(plural) == [singular]
    assert joined(plural) == singular


def test_neither_case_nor_order_nor_signs_nor_joining_matter(found: Names) -> None:
    assert key("Oaks, White") == ("oak", "white")
    for text in ("white oak", "OAK, White", "white-oaks", "whiteoak", "quercus  ALBA"):
        assert found.exactly(text) == ("white-oak",)
        assert found.find(text) == "white-oak"
    for text in ("Lärche", "Larche", "Laerche", "lärchen"[:6]):
        assert found.exactly(text) == ("larch",)
    assert found.exactly("sweetgums") == ("sweetgum",)
    assert found.exactly("oakwhite") == ()
    assert found.exactly("") == ()


def test_a_name_of_two_things_is_told_with_both(found: Names) -> None:
    with pytest.raises(UnknownName, match='no wood is called "walnut"; near: black-walnut') as told:
        found.find("walnut")
    assert told.value.candidates == ("black-walnut", "european-walnut")
    assert (told.value.kind, told.value.text) == ("wood", "walnut")
    with pytest.raises(UnknownName, match=r'no wood is called "xyzzy"$') as told:
        found.find("xyzzy")
    assert told.value.candidates == ()


@pytest.mark.parametrize(
    ("text", "near"),
    [
        # All the words: the commonest first, then the likest.
        ("oak", ("red-oak", "white-oak", "bog-oak")),
        # A word like each of them, before a look-alike as a whole.
        ("whit oak", ("white-oak",)),
        ("white oka", ("white-oak", "white-ash")),
        # Look-alikes as a whole.
        ("sweetgam", ("sweetgum",)),
        # Half of the words, where nothing is nearer.
        ("plum cherry", ("cherry",)),
        ("plum prune cherry", ()),
        ("xyzzy", ()),
        ("", ()),
    ],
)
def test_near_names_in_their_order(found: Names, text: str, near: tuple[str, ...]) -> None:
    assert found.near(key(text))[: len(near) or None] == near


def test_no_more_near_names_than_24_are_told() -> None:
    many = Names("wood", [(f"oak-{number}", f"oak {number:02}") for number in range(40)])
    assert len(many.near(("oak",))) == 24
    assert many.near(("oak",))[0] == "oak-0"


def test_near_names_are_searched_for_as_often_as_allowed(found: Names) -> None:
    effort.allow_searches(1)
    try:
        told = []
        for _ in range(2):
            with pytest.raises(UnknownName) as missed:
                found.find("whit oak")
            told.append(bool(missed.value.candidates))
        assert told == [True, False]
        # What is called so is told whatever may be searched for.
        with pytest.raises(UnknownName, match="near: black-walnut, european-walnut"):
            found.find("walnut")
    finally:
        effort.allow_searches(None)


def test_pairs_of_letters_mark_both_ends() -> None:
    assert pairs("aaa") == {" a": 1, "aa": 2, "a ": 1}


def test_texts_like_another_are_those_of_difflibs_ratio() -> None:
    texts = sorted({name.casefold() for _, name in WOODS} | {"oaks", "walnuts"})
    alike = names._Alike(texts)
    for asked in ("walnut", "white oak", "oak", "cherry"):
        ratio = {text: SequenceMatcher(None, text, asked, False).ratio() for text in texts}
        for least in (0.6, 0.75, 0.9):
            by_hand = {text: value for text, value in ratio.items() if value >= least}
            assert alike.like(asked, least) == pytest.approx(by_hand)
    # Two of six letters in order, one of four pairs: not looked at.
    assert SequenceMatcher(None, "oka", "oak").ratio() > 0.6
    assert names._Alike(["oka"]).like("oak", 0.6) == {}
    exact = SequenceMatcher(None, "walnuts", "walnut", False).ratio()
    assert "walnuts" in alike.like("walnut", exact)
    assert "walnuts" not in alike.like("walnut", exact + 1e-9)


def test_how_alike_a_name_must_be() -> None:
    # Of 5 + 5 letters 3 in order are a ratio of 0.6; of 8 + 8, 6 are 0.75.
    assert SequenceMatcher(None, "abcde", "abcxy").ratio() == names.LIKE_ENOUGH
    assert Names("x", [("1", "abcde")]).near(("abcxy",)) == ("1",)
    assert Names("x", [("1", "abcdef")]).near(("abcxy",)) == ()
    assert SequenceMatcher(None, "abcdefgh", "abcdefxy").ratio() == names.WORD_LIKE_ENOUGH
    long = "q" * 40
    assert Names("x", [("1", f"abcdefgh {long}")]).near(("abcdefxy",)) == ("1",)
    assert Names("x", [("1", f"abcdefghi {long}")]).near(("abcdefxy",)) == ()


def test_look_alikes_come_after_names_with_a_like_word_and_the_commoner_first() -> None:
    # abcdef has a word like abcdeg (5 of 6 letters), abcxyg is like it as a whole alone (4 of 6).
    found = Names("x", [("whole", "abcxyg"), ("word", "abcdef")])
    assert found.near(("abcdeg",)) == ("word", "whole")
    # What shares half of the words is told only where nothing is nearer.
    half = Names("x", [("near", "oak aaaa"), ("half", "oak zzzzzzzzzzzzzzzz")])
    assert half.near(("aaaa", "oak")) == ("near",)
    assert half.near(("oak", "yyyyyyyyyyyyyyyyyyyy")) == ("half", "near")
    # Of names with a like word the one that is like as a whole.
    wholes = Names("x", [("longer", f"abcdef {'q' * 20}"), ("whole", "abcdef")])
    assert wholes.near(("abcdeg",)) == ("whole", "longer")
    # What is not in the list of the common is the least common.
    common = Names("x", [("unlisted", "oak aa"), ("listed", "oak bb")], {"listed": 0.5})
    assert common.near(("oak",)) == ("listed", "unlisted")
