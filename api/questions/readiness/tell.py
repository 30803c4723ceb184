"""How `/v1/readiness` reads: as text and as a table."""

from __future__ import annotations

from api.question import Answered
from api.questions.readiness.answer import Ready
from api.questions.readiness.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
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
    if found.ready_in is None:
        decision = f"Not ready, and not getting there where it stands: it holds {now}"
        decision += f" and would settle near {found.settles_here.value:.1f} % here."
        if found.humidity_needed is not None:
            decision += (
                f" Air of about {found.humidity_needed:.0f} % humidity would bring it there."
            )
    elif found.ready_in.value == 0.0:
        decision = f"Ready: it holds {now}, within {target}."
    else:
        on = result.date(found.ready_in.value)
        decision = (
            f"Not yet: it holds {now} and comes within {target} in "
            f"{text.open_duration(found.ready_in)}, around {on}."
        )
    rows = [
        ["mean", *_cells(found.present.mean)],
        ["top face", *_cells(found.present.top)],
        ["middle", *_cells(found.present.core)],
        ["bottom face", *_cells(found.present.bottom)],
    ]
    parts: list[Rows | str] = [Rows(rows, title=f"On {result.as_of}", heads=["", "now", "likely"])]
    if found.ready_in is not None and found.ready_in.low is not None:
        assert found.ready_in.high is not None
        late = result.date(found.ready_in.high)
        ends: list[list[str]] = [
            ["early", str(result.date(found.ready_in.low))],
            ["likely", str(result.date(found.ready_in.value))],
            ["late", "open" if late is None else str(late)],
        ]
        parts.append(Rows(ends, title="Ready on"))
    parts.append(
        f"It moves moisture {found.against_species:.2f} times as fast as its species usually does, "
        f"known within a factor of {found.rate_factor:.2f}. Left here it would settle near "
        f"{found.settles_here.value:.1f} %."
    )
    return Page(decision, parts)


def _cells(figure: Figure) -> list[str]:
    ends = text.band(figure)
    return [f"{figure.value:.1f} %", *([ends] if ends else [])]


class ReadinessTrace(Answer):
    """The fitted course of the mean, from the first reading fitted on, for a sheet."""

    day = members.Series(DAYS, of=lambda found: found.trace.days - found.as_of)
    mean = members.Series(PERCENT, of="trace.mean")
    low = members.Series(PERCENT, of="trace.low")
    high = members.Series(PERCENT, of="trace.high")


def table(answered: Answered[Asked, Ready]) -> Table:
    """The fitted course of the mean."""
    return Table(ReadinessTrace().side_by_side(answered.result.found), answered.system)
