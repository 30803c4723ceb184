"""A reply as a chart in SVG.

matplotlib is imported only when a chart is asked for: it takes 1-2 s the first time.
"""

from __future__ import annotations

import io
import re
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any, Final

import numpy as np

INK: Final = "#6b7785"  # reads on white (contrast 4.5) and on near black (4.1)
# Each reads on white and on near black (contrast at least 3).
COLOURS: Final = ("#2f7fc1", "#d1742b", "#3d9a5f", "#a05bb5", "#94802a")
# Lines differ by more than colour, for a print in black and for eyes that see red and green alike;
# where two run together both stay seen.  Dash and gap in widths of the line.
STROKES: Final[tuple[Any, ...]] = (
    "-",
    (0, (6, 1.5, 1.5, 1.5)),
    (0, (1.2, 1.2)),
    (0, (9, 2)),
    (0, (3, 1.2)),
)
LEGEND_WIDTH: Final = 54  # characters: what a phone shows of a chart before it is scrolled
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
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Panel:
    """One set of axes."""

    y_label: str
    lines: Sequence[Line]


@dataclass(frozen=True, slots=True)
class Chart:
    """Panels above one another that share their horizontal axis.

    ticks : places and texts on the horizontal axis, or none for numbers.
    marks : places on the horizontal axis with a short text each, such as the number of a step.
    """

    title: str
    description: str
    x_label: str
    panels: Sequence[Panel]
    ticks: Sequence[tuple[float, str]] = ()
    marks: Sequence[tuple[float, str]] = ()


def write(chart: Chart) -> str:
    """The chart as an SVG document with title and description, its text as text."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    style: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": "stillwood",
        "font.family": "sans-serif",
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
    }
    # The style is one of the whole process: two charts drawn at once would take each other's away.
    with _DRAWING, mpl.rc_context(style):
        figure = Figure(figsize=(8.0, 1.2 + 2.6 * len(chart.panels)), layout="constrained")
        figure.patch.set_alpha(0.0)
        axes = figure.subplots(len(chart.panels), 1, sharex=True, squeeze=False)[:, 0]
        for place, panel in zip(axes, chart.panels, strict=True):
            _draw(place, panel)
            _mark(place, chart.marks)
        axes[-1].set_xlabel(chart.x_label)
        if chart.ticks:
            axes[-1].set_xticks([x for x, _ in chart.ticks], [text for _, text in chart.ticks])
        # Title and legends stand to the left: a phone shows the left part of a chart first.
        figure.suptitle(chart.title, fontsize=11, x=0.01, horizontalalignment="left")
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", transparent=True, metadata={"Date": None})
    return _described(buffer.getvalue(), chart)


def _draw(place: Any, panel: Panel) -> None:
    place.patch.set_alpha(0.0)
    if len(panel.lines) > len(COLOURS):
        raise ValueError(f"a panel holds {len(COLOURS)} lines at most, not {len(panel.lines)}")
    for line, colour, stroke in zip(panel.lines, COLOURS, STROKES, strict=False):
        x = np.asarray(line.x)
        if line.low is not None:
            place.fill_between(x, line.low, line.high, color=colour, alpha=0.22, linewidth=0)
        style = "--" if line.dashed else stroke
        place.plot(x, line.y, linestyle=style, color=colour, linewidth=1.8, label=line.label)
    place.set_ylabel(panel.y_label)
    place.grid(color=INK, alpha=0.25, linewidth=0.6)
    if len(panel.lines) > 1 or panel.lines[0].low is not None:
        place.legend(
            frameon=False,
            fontsize=9,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            ncols=_columns([line.label for line in panel.lines]),
            borderaxespad=0.2,
            handlelength=2.8,
            columnspacing=1.2,
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
            fontsize=8,
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
