"""Figures as a reader meets them: a case on either side of each change of wording."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api import units as u
from api.replies import text
from api.replies.text import Numbered, Page, Rows, Where, brief, write
from api.units import FORCE, LENGTH, SYSTEMS, TEMPERATURE, System
from api.words import Told
from model.spread import Figure

INF = float("inf")


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (0.99, "less than a day"),
        (1.0, "about 1 day"),
        (13.9, "about 14 days"),
        (14.0, "about 2 weeks"),
        (182.0, "about 26 weeks"),
        (183.0, "about 6 months"),
        (912.0, "about 30 months"),
        (913.0, "about 2 years"),
        (10.0 * 365.2425, "about 10 years"),
        (20.0 * 30.44, "about 20 months"),
    ],
)
def test_a_time_is_told_in_the_step_that_people_plan_in(days: float, told: str) -> None:
    assert text.duration(days) == told


@pytest.mark.parametrize(
    ("days", "low", "high", "told"),
    [
        (0.5, 0.1, 0.9, "less than a day"),
        (0.5, 0.1, 1.0, "less than a day, up to 1 day"),
        (0.5, 0.1, 21.0, "less than a day, up to 3 weeks"),
        (35.0, 34.0, 36.0, "about 5 weeks"),
        (35.0, 34.0, 42.0, "about 5 weeks, 5 to 6"),
        (35.0, 28.0, 36.0, "about 5 weeks, 4 to 5"),
        (35.0, 3.4, 42.0, "about 5 weeks, up to 6"),
        (35.0, 3.6, 42.0, "about 5 weeks, 1 to 6"),
    ],
)
def test_the_ends_of_a_time_are_told_where_they_differ(
    days: float, low: float, high: float, told: str
) -> None:
    assert text.duration(days, low, high) == told
    assert text.open_duration(Figure(days, low, high)) == told


def test_an_open_end_is_told() -> None:
    assert text.open_duration(Figure(245.6, 207.6, INF)) == "about 8 months, 7 or more"
    assert text.open_duration(Figure(35.0)) == "about 5 weeks"


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "under 1 %"), (0.0099, "under 1 %"), (0.01, "1 %"), (0.5, "50 %"), (0.99, "99 %"),
     (0.9901, "over 99 %"), (1.0, "over 99 %")],
)  # fmt: skip
def test_a_chance_is_told_as_sure_as_it_is(share: float, told: str) -> None:
    assert text.chance(share) == told


def test_the_first_day_is_told_as_such() -> None:
    assert text.about_day(0.99) == "on the first day"
    assert text.about_day(1.0) == "about day 1"


def test_a_length_of_a_sentence_is_as_fine_as_a_rule() -> None:
    assert text.short_length(0.0019, "metric") == "1.9 mm"
    assert text.short_length(0.002, "metric") == "2 mm"
    assert text.short_length(-0.0021, "metric") == "-2 mm"
    assert text.short_length(0.0254 * 2.03, "us") == "2 1/32 in"
    assert text.short_length(-0.0254 / 64.1, "us") == "0 in"
    assert text.is_nothing(0.00004, "metric")
    assert not text.is_nothing(0.00006, "metric")


@given(st.floats(-200.0, 200.0))
def test_a_shop_fraction_is_the_nearest_thirty_second_in_lowest_terms(inches: float) -> None:
    told = text.shop_fraction(inches)
    sign = -1 if told.startswith("-") else 1
    parts = [Fraction(part) for part in told.lstrip("-").split()]
    assert abs(sign * sum(parts) - Fraction(inches)) <= Fraction(1, 64)
    assert told == "0" or all(parts)
    for part in told.split():
        assert "/" not in part or str(Fraction(part.lstrip("-"))) == part.lstrip("-")


def test_a_figure_keeps_its_sign_where_it_shows() -> None:
    assert text.length(0.00004, "metric", signed=True) == "0.0 mm"
    assert text.length(0.00006, "metric", signed=True) == "+0.1 mm"
    assert text.length(-0.0254, "us", signed=True) == "-1 in (-1.000)"
    assert text.length(0.0254, "us", signed=True) == "+1 in (+1.000)"
    assert text.length(0.0254, "us") == "1 in (1.000)"


def test_an_amount_has_the_unit_and_zero_of_its_system() -> None:
    assert text.amount(20.0, TEMPERATURE, "us") == "68.0 °F"
    assert text.amount(20.0, TEMPERATURE, "metric", 0) == "20 °C"
    assert text.amount(1000.0, FORCE, "us", 0) == "225 lbf"
    assert text.amount(0.0254, LENGTH, "us") == "1 in (1.000)"


def test_a_band_is_told_in_the_coarsest_form_that_tells_its_ends_apart() -> None:
    assert text.spread(Figure(1.0), LENGTH, "us") == ""
    assert text.spread(Figure(0.0254, 0.0127, 0.0381), LENGTH, "us") == "1/2 to 1 1/2"
    assert text.spread(Figure(0.0254, 0.0253, 0.0255), LENGTH, "us") == "0.996 to 1.004"
    assert text.spread(Figure(0.02, 0.01, 0.03), LENGTH, "metric") == "10.0 to 30.0"
    assert text.spread(Figure(20.0, 10.0, 30.0), TEMPERATURE, "us", 0) == "50 to 86"
    assert text.spread(Figure(20.0, 20.01, 20.02), TEMPERATURE, "us") == "68.0"
    assert text.percent(Figure(7.94, 6.06, 8.34)) == "7.9 % (6.1 to 8.3)"
    assert text.percent(Figure(7.94)) == "7.9 %"
    assert text.band(Figure(7.94, 6.06, 8.34), 0) == "6 to 8"


def test_a_gap_tells_its_upper_end_where_a_rule_shows_it() -> None:
    assert text.up_to(Figure(0.003, 0.002, 0.005), "metric") == "3 mm (up to 5 mm)"
    assert text.up_to(Figure(0.003, 0.002, 0.0031), "metric") == "3 mm"
    assert text.up_to(Figure(0.0, 0.0, 0.0031), "metric") == "up to 3 mm"


# The last digit a reply keeps of each unit: finer than anybody measures, and no finer than that by
# much (judgement).
LAST_DIGIT = {
    u.AIR_LAYER: (0.01, 0.01),
    u.AREA: (0.1, 0.0001),
    u.DAYS: (0.1, 0.1),
    u.DISTANCE: (0.1, 0.1),
    u.ELEVATION: (1, 1),
    u.ENERGY: (0.01, 0.01),
    u.ENERGY_PER_DAY: (0.01, 0.01),
    u.FORCE: (0.1, 0.1),
    u.HOURS: (0.1, 0.1),
    u.HUMIDITY_RATIO: (0.001, 0.001),
    u.LENGTH: (0.01, 0.0001),
    u.MASS: (0.001, 0.001),
    u.MASS_PER_AREA: (0.0001, 0.0001),
    u.MASS_PER_DAY: (0.001, 0.001),
    u.MICROSTRAIN: (0.0001, 0.0001),
    u.MOMENT: (0.1, 0.1),
    u.MOMENT_PER_LENGTH: (0.1, 0.1),
    u.PERCENT: (0.01, 0.01),
    u.PER_PERCENT: (1e-05, 1e-05),
    u.PLAIN: (0.0001, 0.0001),
    u.PRESSURE: (0.1, 0.1),
    u.RADIATION: (1, 0.1),
    u.SECOND_MOMENT: (1, 0.0001),
    u.SPEED: (0.01, 1),
    u.STRESS: (0.001, 0.1),
    u.TEMPERATURE: (0.01, 0.01),
    u.TEMPERATURE_RISE: (0.01, 0.01),
    u.TRANSMITTANCE: (0.01, 0.01),
    u.VOLUME: (0.01, 0.1),
}  # fmt: skip


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_reply_keeps_digits_as_far_as_they_tell_anything(system: System) -> None:
    for dimension, (metric, us) in LAST_DIGIT.items():
        unit, last = dimension.of_system[system], metric if system == "metric" else us
        si = unit.factor * (10.0 + 3.4 * last - unit.zero)
        told = dimension.write(si, system)
        assert told == pytest.approx(10.0 + 3.0 * last, abs=1e-9), dimension.name
    assert set(u.DIMENSIONS) <= LAST_DIGIT.keys()


def note(number: int, rank: int = 1, **more: str) -> Told:
    return Told(f"code-{number}", rank, "", f"Note {number}.", "the source", **more)


def test_a_full_text_has_everything_in_its_order() -> None:
    page = Page(
        "It is so.", [Rows([("a", "1 mm")], "Title"), Numbered(["do it"], "Steps"), "Words."]
    )
    told = write(page, [note(1)], ["Mind it."], ["one", "two"], Where(["Duluth"], ["Credit."]))
    assert told.split("\n\n") == [
        "It is so.",
        "Place: Duluth.",
        "Title\n  a  1 mm",
        "Steps\n1. do it",
        "Words.",
        "Credit.",
        "Take care\n- Mind it.",
        "Notes\n- Note 1. [the source]",
        "Leans on: one; two.\n",
    ]
    assert write(Page("So."), [], [], []) == "So.\n"


def test_a_short_text_keeps_notes_that_decide_and_names_weak_points() -> None:
    notes = [note(1), note(2, 2), note(3, weak="the point"), note(4, short="In short."), note(5)]
    told = brief(Page("It is so.", said=["code-5"]), notes, ["Mind it."], Where(["Duluth"]))
    assert told.split("\n\n") == [
        "It is so.\nPlace: Duluth.",
        "Assumed, and worth knowing\n- Note 1.\n- In short.",
        "Take care\n- Mind it.",
        "Least sure: the point.\nAll figures, notes and sources: detail=full.\n",
    ]
    of_short = Page("So.", ["All of it."], ["A part."])
    assert "A part." in brief(of_short, [], [])
    assert "All of it." not in brief(of_short, [], [])


def test_steps_are_numbered_and_hang_by_their_numbers() -> None:
    steps = Numbered([f"word {n} " * 12 for n in range(1, 12)])
    lines = brief(Page("So.", [steps], lines=60), [], []).split("\n\n")[1].splitlines()
    assert lines[0].startswith(" 1. word 1 word")
    numbered = [line for line in lines if line[2:4] == ". "]
    assert [int(line[:2]) for line in numbered] == list(range(1, 12))
    assert all(line.startswith("    ") for line in lines if line not in numbered)
    assert max(map(len, lines)) <= text.WIDTH


def test_a_table_is_as_wide_as_it_must_be() -> None:
    wide = Rows([("a" * 30, "b" * 24, "c" * 20)])
    assert text.table(wide) == f"  {'a' * 30}  {'b' * 24}  {'c' * 20}"  # 80 columns
    wider = Rows([("a" * 30, "b" * 24, "c" * 21)])
    assert text.table(wider) == f"  {'a' * 30} {'b' * 24} {'c' * 21}"
    heads = Rows([("a", "", "1"), ("b", "", "10")], heads=["", "none", "most"])
    assert text.table(heads) == "     most\n  a     1\n  b    10"
    assert text.table(Rows([("a", "1"), ("b",)])) == "  a  1\n  b"


@pytest.mark.parametrize("notes", [0, 1, 4, 20])
def test_a_short_text_fills_its_page_before_it_leaves_anything_out(notes: int) -> None:
    for rows in range(1, 60, 3):
        check_filled(rows, notes)


def check_filled(rows: int, notes: int) -> None:
    table = Rows([(f"row {n}", "1") for n in range(rows)])
    told = brief(Page("It is so.", [table]), [note(n) for n in range(notes)], [])
    lines = told.splitlines()
    assert len(lines) <= text.SHORT_LINES
    left_out = "more" in told or "rows: detail" in told or "notes: detail" in told
    # The decision, the last line, the table and the notes under their title, blank lines between.
    needed = 1 + 1 + rows + 1 + (notes + 2 if notes else 0) + 1
    assert left_out == (needed > text.SHORT_LINES)
    if left_out:
        assert len(lines) >= text.SHORT_LINES - 1
        shown = sum(line.startswith("  row") for line in lines)
        noted = sum(line.startswith("- Note") for line in lines)
        # Neither takes the other's third.
        assert shown >= min(rows, 8)
        assert noted >= min(notes, 6)
