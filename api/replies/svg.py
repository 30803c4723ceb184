"""A reply as a chart in SVG.

Narrow, with large letters, so that it reads on a phone of 400 pixels; months stand on its axis
where its start is known, and a series has the same colour and stroke in every chart.
matplotlib is imported only when a chart is asked for: it takes 1-2 s the first time.
"""

from __future__ import annotations

import datetime
import io
import re
import textwrap
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any, Final

import numpy as np

from api.replies.text import MONTHS

INK: Final = "#6b7785"  # reads on white (contrast 4.5) and on near black (4.0)
# Each reads on white and on near black (contrast at least 3).
BLUE, ORANGE, GREEN, PURPLE = "#2f7fc1", "#d1742b", "#3d9a5f", "#a05bb5"
OLIVE, PINK, TEAL = "#94802a", "#cc4f7c", "#23908f"
# Lines differ by more than colour, for a print in black and for eyes that see red and green alike;
# where two run together both stay seen.  Dash and gap in widths of the line.
SOLID, DASHED = "-", "--"
DASH_DOT, DOTTED, LONG, SHORT = (
    (0, (6, 1.5, 1.5, 1.5)),
    (0, (1.2, 1.2)),
    (0, (9, 2)),
    (0, (3, 1.2)),
)
Look = tuple[str, Any]
# What each series looks like, by its label.  No two of one chart share a colour.
SERIES: Final[Mapping[str, Look]] = {
    "mean of the slab": (BLUE, SOLID),
    "top face": (ORANGE, DASH_DOT),
    "core": (GREEN, DOTTED),
    "bottom face": (PURPLE, LONG),
    "equilibrium": (OLIVE, DASHED),
    "cup": (PINK, SOLID),
    "width": (TEAL, SOLID),
    "in the room": (BLUE, SOLID),
    "outdoors": (ORANGE, DASHED),
    "free": (ORANGE, DASHED),
    "between the bars": (PINK, SOLID),
    "moment on each bar": (TEAL, SOLID),
    "asked of each": (PINK, SOLID),
    "to rely on": (GREEN, DASHED),
    "ready by then": (GREEN, SOLID),
    "steps": (BLUE, SOLID),
}
# For what has no place there yet.
OTHERS: Final[tuple[Look, ...]] = (
    (BLUE, SOLID),
    (ORANGE, DASH_DOT),
    (GREEN, DOTTED),
    (PURPLE, LONG),
    (OLIVE, SHORT),
    (PINK, DASHED),
    (TEAL, DASH_DOT),
)
INCHES: Final = 6.0  # wide; 400 pixels of a phone then show a letter of 12 points 11 pixels high
LETTERS: Final = 12.0  # points
LEGEND_WIDTH: Final = 50  # characters of a legend in one row
TITLE_WIDTH: Final = 56  # characters of a title in one line
MOST_TICKS: Final = 9  # of months
MOST_DAYS: Final = 6  # of days, which take more room: `29 Dec`
_DRAWING: Final = threading.Lock()
_HANDLE: Final = 8  # characters: the sample of a line in the legend with the blanks around it


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a panel, with its band from low to high if it has one."""

    label: str
    x: Any
    y: Any
    low: Any = None
    high: Any = None
    dashed: bool = False  # whatever its series is drawn like


@dataclass(frozen=True, slots=True)
class Panel:
    """One set of axes."""

    y_label: str
    lines: Sequence[Line]


@dataclass(frozen=True, slots=True)
class Chart:
    """Panels above one another that share their horizontal axis.

    x_label : what runs along it; of dates the word before the first: `from`.
    ticks : places and texts on the horizontal axis, or none for numbers.
    marks : places on the horizontal axis with a short text each, such as the number of a step.
    starts : the day that 0 on the axis is, where that is known: months stand there then.
    """

    title: str
    description: str
    x_label: str
    panels: Sequence[Panel]
    ticks: Sequence[tuple[float, str]] = ()
    marks: Sequence[tuple[float, str]] = ()
    starts: datetime.date | None = None


def months(starts: datetime.date, first: float, last: float) -> list[tuple[float, str]]:
    r"""Ticks of dates along days from a start: firsts of months, or days where it is short.

    January and the first tick bear the year.

    >>> months(datetime.date(2026, 11, 20), 0.0, 100.0)
    [(11.0, 'Dec\n2026'), (42.0, 'Jan\n2027'), (73.0, 'Feb')]
    >>> months(datetime.date(2026, 11, 20), 0.0, 10.0)[:2]
    [(0.0, '20 Nov\n2026'), (2.0, '22 Nov')]
    """
    if last - first < 60.0:
        step = next(days for days in (1, 2, 5, 7, 14) if (last - first) / days < MOST_DAYS)
        numbers = range(int(np.ceil(first)), int(np.floor(last)) + 1, step)
        days = [starts + datetime.timedelta(days=number) for number in numbers]
    else:
        between = int((last - first) / 30.4) + 1
        every = next((n for n in (1, 2, 3, 6) if between / n <= MOST_TICKS), 12)
        every *= int(np.ceil(between / every / MOST_TICKS)) if every == 12 else 1
        begin = starts + datetime.timedelta(days=int(np.ceil(first)))
        end = starts + datetime.timedelta(days=int(np.floor(last)))
        count = range(12 * begin.year + begin.month - 1, 12 * end.year + end.month)
        days = [datetime.date(n // 12, n % 12 + 1, 1) for n in count if n % every == 0]
        days = [day for day in days if begin <= day <= end]
    found: list[tuple[float, str]] = []
    for day in days:
        text = MONTHS[day.month - 1][:3]
        if last - first < 60.0:
            text = f"{day.day} {text}"
        known = found and day.year == (starts + datetime.timedelta(days=found[-1][0])).year
        found.append((float((day - starts).days), text if known else f"{text}\n{day.year}"))
    return found


def write(chart: Chart) -> str:
    """The chart as an SVG document with title and description, its text as text."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    style: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": "stillwood",
        "font.family": "sans-serif",
        "font.size": LETTERS,
        "legend.fontsize": LETTERS,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
    }
    looks = looks_of(chart)
    # The style is one of the whole process: two charts drawn at once would take each other's away.
    with _DRAWING, mpl.rc_context(style):
        figure = Figure(figsize=(INCHES, 1.3 + 2.5 * len(chart.panels)), layout="constrained")
        axes = figure.subplots(len(chart.panels), 1, sharex=True, squeeze=False)[:, 0]
        for place, panel in zip(axes, chart.panels, strict=True):
            _draw(place, panel, looks)
            _mark(place, chart.marks)
        label, ticks = _along(chart)
        axes[-1].set_xlabel(label)
        if ticks:
            axes[-1].set_xticks([x for x, _ in ticks], [text for _, text in ticks])
        # Title and legends stand to the left: a phone shows the left part of a chart first.
        title = textwrap.fill(chart.title, TITLE_WIDTH)
        figure.suptitle(title, fontsize=LETTERS + 1.0, x=0.01, horizontalalignment="left")
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", transparent=True, metadata={"Date": None})
    return _described(buffer.getvalue(), chart)


def looks_of(chart: Chart) -> dict[str, Look]:
    """Colour and stroke of every line, by its label; no two of a chart share a colour."""
    labels = list(dict.fromkeys(line.label for panel in chart.panels for line in panel.lines))
    looks = {label: SERIES[label] for label in labels if label in SERIES}
    taken = {colour for colour, _ in looks.values()}
    free = iter([look for look in OTHERS if look[0] not in taken])
    for label in labels:
        if label not in looks:
            look = next(free, None)
            if look is None:
                raise ValueError(f"a chart holds {len(OTHERS)} series at most, not {len(labels)}")
            looks[label] = look
    return looks


def _along(chart: Chart) -> tuple[str, Sequence[tuple[float, str]]]:
    """Label and ticks of the horizontal axis."""
    if chart.starts is None:
        return chart.x_label, chart.ticks
    days = [np.asarray(line.x) for panel in chart.panels for line in panel.lines]
    first, last = float(min(map(np.min, days))), float(max(map(np.max, days)))
    on = f"{chart.starts.day} {MONTHS[chart.starts.month - 1]} {chart.starts.year}"
    return f"{chart.x_label} {on}", months(chart.starts, first, last)


def _draw(place: Any, panel: Panel, looks: Mapping[str, Look]) -> None:
    for line in panel.lines:
        x = np.asarray(line.x)
        colour, stroke = looks[line.label]
        stroke = DASHED if line.dashed else stroke
        if line.low is not None:
            place.fill_between(x, line.low, line.high, color=colour, alpha=0.22, linewidth=0)
        place.plot(x, line.y, linestyle=stroke, color=colour, linewidth=2.0, label=line.label)
    place.set_ylabel(panel.y_label)
    place.grid(color=INK, alpha=0.25, linewidth=0.6)
    if len(panel.lines) > 1 or panel.lines[0].low is not None:
        place.legend(
            frameon=False,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            ncols=_columns([line.label for line in panel.lines]),
            borderaxespad=0.2,
            handlelength=2.4,
            columnspacing=1.0,
        )


def _mark(place: Any, marks: Sequence[tuple[float, str]]) -> None:
    """A thin line at each mark with its text at the top; texts of one place stand together."""
    by_place: dict[float, list[str]] = {}
    for x, told in marks:
        by_place.setdefault(round(float(x), 3), []).append(told)
    for x, texts in by_place.items():
        place.axvline(x, color=INK, alpha=0.5, linewidth=0.8)
        place.annotate(
            ", ".join(texts),
            (x, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(2, -2),
            textcoords="offset points",
            fontsize=LETTERS,
            verticalalignment="top",
        )


def _columns(labels: Sequence[str]) -> int:
    """Columns of a legend: one row if that is short enough for a phone, else two a row.

    >>> _columns(["top face", "core", "bottom face"])
    3
    >>> _columns(["mean of the slab", "top face", "core", "equilibrium"])
    2
    """
    short = sum(len(label) + _HANDLE for label in labels) <= LEGEND_WIDTH
    return len(labels) if short else 2


def _described(svg: str, chart: Chart) -> str:
    """The document with `<title>` and `<desc>`, tied to it for readers of the screen."""
    start = svg.index("<svg")
    end = svg.index(">", start)
    opening = svg[start:end] + ' role="img" aria-labelledby="title desc"'
    words = (
        f'>\n <title id="title">{escape(chart.title)}</title>\n'
        f' <desc id="desc">{escape(chart.description)}</desc>'
    )
    rest = re.sub(r"<metadata>.*?</metadata>", "", svg[end + 1 :], count=1, flags=re.DOTALL)
    return opening + words + rest.rstrip() + "\n"
