"""How `/v1/readiness` reads: as text and as a table."""

from __future__ import annotations

from api import words
from api.question import Answered
from api.questions.readiness.answer import Ready
from api.questions.readiness.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.units import DAYS, PERCENT
from model.spread import Figure


def page(answered: Answered[Asked, Ready]) -> Page:
    """The decision, the present state, the dates and the rate."""
    result = answered.result
    found = result.found
    points = "point" if result.target.within == 1.0 else "points"
    target = f"{result.target.within:g} {points} of {result.target.moisture:.1f} %"
    now = text.percent(found.present.mean)
    chance = "" if found.chance_soon is None else text.chance(found.chance_soon)
    if found.verdict == "cannot_tell":
        decision = f"Can't tell yet whether it is ready: it seems to hold {now}."
        if found.withheld:
            decision += f" {' '.join(words.reason(why) for why in found.withheld)}"
        else:
            decision += (
                f" It may come within {target} here or never: more readings, or an oven-dry piece, "
                "would tell."
            )
    elif found.ready_in is None:
        decision = f"Not ready, and not getting there where it stands: it holds {now}"
        decision += f" and would settle near {found.settles_here.value:.1f} % here."
        if found.humidity_needed is not None:
            decision += (
                f" Air of about {found.humidity_needed:.0f} % humidity would bring it there."
            )
    elif found.verdict == "ready":
        decision = (
            f"Ready: it holds {now}; the chance that it is within {target} and even through its "
            f"thickness in two weeks or before is {chance}."
        )
    elif found.ready_in.value == 0.0:
        decision = f"Probably ready, not surely: it holds {now}, within {target}."
        if chance:
            decision += f" Chance that it is so within two weeks: {chance}"
            sure = result.sure_on
            decision += f"; 98 % by {sure}." if sure is not None else "."
    else:
        on = result.date(found.ready_in.value)
        decision = (
            f"Not yet: it holds {now} and comes within {target}, even through its thickness, in "
            f"{text.open_duration(found.ready_in)}, probably around {on}."
        )
        if chance:
            decision += f" Chance that it is ready within two weeks: {chance}."
    rows = [
        ["mean", *_cells(found.present.mean)],
        ["top face", *_cells(found.present.top)],
        ["middle", *_cells(found.present.core)],
        ["bottom face", *_cells(found.present.bottom)],
    ]
    parts: list[Rows | str] = [Rows(rows, title=f"On {result.as_of}", heads=["", "now", "likely"])]
    short = parts[:]
    if found.ready_in is not None and found.ready_in.low is not None:
        assert found.ready_in.high is not None
        late = result.date(found.ready_in.high)
        ends: list[list[str]] = [
            ["early", str(result.date(found.ready_in.low))],
            ["likely", str(result.date(found.ready_in.value))],
            ["late", "open" if late is None else str(late)],
        ]
        parts.append(Rows(ends, title="Ready on"))
        short.append("Ready on: " + ", ".join(f"{name} {date}" for name, date in ends) + ".")
    parts.append(
        f"It moves moisture {found.against_species:.2f} times as fast as its species usually does, "
        f"known within a factor of {found.rate_factor:.2f}. Left here it would settle near "
        f"{found.settles_here.value:.1f} %."
    )
    short.append(f"Left here it would settle near {found.settles_here.value:.1f} %.")
    return Page(decision, parts, short)


def _cells(figure: Figure) -> list[str]:
    ends = text.band(figure)
    return [f"{figure.value:.1f} %", *([ends] if ends else [])]


class ReadinessTrace(Answer):
    """The fitted course of the mean, from the first reading fitted on, for a sheet."""

    day = members.Series(DAYS, of=lambda found: found.trace.days - found.as_of)
    mean = members.Series(PERCENT, of="trace.mean")
    mean_low = members.Series(PERCENT, of="trace.low")
    mean_high = members.Series(PERCENT, of="trace.high")
    chance = members.Series(
        PERCENT,
        "that it has been ready by then",
        of=lambda found: None if found.trace.chance is None else 100.0 * found.trace.chance,
    )


def chart(answered: Answered[Asked, Ready]) -> Chart:
    """The course of the mean and the chance that it has been ready, from the first reading on."""
    result = answered.result
    trace = result.found.trace
    days = trace.days - result.found.as_of
    panels = [
        Panel("moisture [%]", [Line("mean of the slab", days, trace.mean, trace.low, trace.high)])
    ]
    if trace.chance is not None:
        panels.append(Panel("chance [%]", [Line("ready by then", days, 100.0 * trace.chance)]))
    return Chart(
        title="When the slab is ready",
        description=page(answered).decision,
        x_label="as of",
        starts=result.as_of,
        panels=panels,
    )


def table(answered: Answered[Asked, Ready]) -> Table:
    """The fitted course of the mean."""
    result = answered.result
    columns = ReadinessTrace().side_by_side(result.found)
    return Table(columns, answered.system, result.as_of)
