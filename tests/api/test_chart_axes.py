"""Axes, legends and marks of charts: a case on either side of each change of look."""

from __future__ import annotations

import datetime
import itertools
import re

import pytest

from api.replies.svg import Chart, Line, Panel, _columns, months, write

NEW_YEAR = datetime.date(2026, 1, 1)


@pytest.mark.parametrize(
    ("first", "last", "step"),
    [
        # Days as long as fewer than six steps span the axis, then every second, fifth, ...
        (0.0, 5.9, 1), (0.0, 6.0, 2), (0.0, 11.9, 2), (0.0, 12.0, 5), (0.0, 29.9, 5),
        (0.0, 30.0, 7), (0.0, 41.9, 7), (0.0, 42.0, 14), (0.0, 59.9, 14), (-3.5, 2.0, 1),
    ],
)  # fmt: skip
def test_a_short_axis_counts_days(first: float, last: float, step: int) -> None:
    ticks = months(NEW_YEAR, first, last)
    days = [day for day, _ in ticks]
    assert [later - one for one, later in itertools.pairwise(days)] == [step] * (len(days) - 1)
    assert first <= days[0] < first + 1.0
    assert days[-1] > last - step
    assert all(re.match(r"\d+ [A-Z][a-z][a-z]", told) for _, told in ticks)


@pytest.mark.parametrize(
    ("last", "every"),
    [
        # No more than nine names of months: every one, every second, third, sixth, every year.
        (60.0, 1), (270.0, 1), (310.0, 2), (545.0, 2), (580.0, 3), (820.0, 3), (860.0, 6),
        (1640.0, 6), (1690.0, 12), (3280.0, 12), (3330.0, 24), (6500.0, 24), (7300.0, 36),
    ],
)  # fmt: skip
def test_a_long_axis_counts_months(last: float, every: int) -> None:
    ticks = months(NEW_YEAR, 0.0, last)
    dates = [NEW_YEAR + datetime.timedelta(days=day) for day, _ in ticks]
    numbers = [12 * date.year + date.month for date in dates]
    assert {later - one for one, later in itertools.pairwise(numbers)} == {every}
    assert all(date.day == 1 for date in dates)
    assert len(ticks) <= 10


def test_the_ends_of_an_axis_are_on_it() -> None:
    # From the first of a month to the first of another: both have their tick.
    ticks = months(NEW_YEAR, 0.0, 90.0)
    assert [told for _, told in ticks] == ["Jan\n2026", "Feb", "Mar", "Apr"]
    assert [told for _, told in months(NEW_YEAR, 0.5, 89.5)] == ["Feb\n2026", "Mar"]
    assert months(datetime.date(2026, 12, 1), 0.0, 70.0)[-1] == (62.0, "Feb")
    assert months(datetime.date(2026, 12, 1), 0.0, 70.0)[1] == (31.0, "Jan\n2027")


def test_a_legend_stands_in_one_row_while_it_fits() -> None:
    # A label, the sample before it and blanks: fifty characters in a row.
    assert _columns(["x" * 17, "x" * 17]) == 2  # 50
    assert _columns(["x" * 10] * 3) == 2  # 54: two a row
    assert _columns(["x" * 8, "x" * 9, "x" * 9]) == 3  # 50
    assert _columns(["x" * 9, "x" * 9, "x" * 9]) == 2  # 51
    assert _columns(["x" * 60]) == 2


def texts(drawn: str) -> str:
    return re.sub(r"<[^>]*>", " ", drawn)


def test_what_is_drawn_is_what_was_given() -> None:
    line = Line("cup", [0.0, 1.0], [0.0, 2.0])
    banded = Line("width", [0.0, 1.0], [0.0, 2.0], [0.0, 1.0], [0.0, 3.0])
    plain = write(Chart("A title", "words & <more>", "days", [Panel("cup [mm]", [line])]))
    assert '<title id="title">A title</title>' in plain
    assert '<desc id="desc">words &amp; &lt;more&gt;</desc>' in plain
    assert plain.startswith("<svg")
    assert 'role="img" aria-labelledby="title desc"' in plain
    assert "<metadata>" not in plain
    assert plain.endswith("</svg>\n")
    assert "legend_1" not in plain  # one line without a band needs none
    assert "FillBetween" not in plain
    told = write(Chart("A", "b", "days", [Panel("y", [banded])]))
    assert "legend_1" in told
    assert "FillBetween" in told
    both = write(Chart("A", "b", "days", [Panel("y", [line, banded])]))
    assert both.count('id="legend_1"') == 1


def heights(panels: int) -> tuple[float, float]:
    line = Line("cup", [0.0, 1.0], [0.0, 2.0])
    drawn = write(Chart("A", "b", "days", [Panel("y", [line])] * panels))
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawn)
    assert found is not None
    return float(found[1]), float(found[2])


def test_each_panel_makes_a_chart_higher_by_as_much() -> None:
    (wide, one), (_, two), (_, three) = (heights(count) for count in (1, 2, 3))
    assert wide == 432.0  # six inches of 72 points: 400 pixels of a phone show its letters large
    assert three - two == pytest.approx(two - one)
    # A panel is lower than wide, and title and axis take less than a panel.
    assert 0.35 * wide < two - one < 0.5 * wide
    assert 0.0 < 2 * one - two < two - one


def test_marks_stand_at_their_places_and_those_of_one_place_together() -> None:
    line = Line("cup", [0.0, 1.0, 2.0], [0.0, 2.0, 0.0])
    marks = [(0.5, "1"), (0.5001, "2"), (1.5, "3")]
    drawn = write(Chart("A", "b", "days", [Panel("y", [line])], marks=marks))
    assert "1, 2" in texts(drawn)
    assert re.search(r">3<", drawn)
    ticked = write(
        Chart("A", "b", "days", [Panel("y", [line])], ticks=[(0.0, "one"), (2.0, "two")])
    )
    assert "one" in texts(ticked)
    assert "two" in texts(ticked)
    assert "0.25" not in texts(ticked)
    # Where the start is known, the axis bears its date.
    dated = Chart("A", "b", "from", [Panel("y", [line])], starts=datetime.date(2026, 3, 5))
    assert "from 5 March 2026" in texts(write(dated))


def test_a_chart_has_no_ground_of_its_own() -> None:
    # It is read on white and on near black alike: what lies behind shows through.
    line = Line("cup", [0.0, 1.0], [0.0, 2.0])
    drawn = write(Chart("A", "b", "days", [Panel("y", [line])]))
    for ground in ("patch_1", "patch_2"):
        found = re.search(rf'<g id="{ground}">.*?style="(.*?)"', drawn, re.DOTALL)
        assert found is not None
        assert "fill: none" in found[1] or "opacity: 0" in found[1], found[1]
