"""How `/v1/repair` reads: a page with its steps numbered, the year ahead, a calendar."""

from __future__ import annotations

import datetime
from typing import Final

from api.question import Answered
from api.questions.repair.answer import BY_FORCE, Dated, Told
from api.questions.repair.ask import Asked
from api.replies import text
from api.replies.ics import Entry
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Numbered, Page, Rows
from api.units import LENGTH, System
from api.words.diagnosis import CAUSES_SHORT
from api.words.repair import ASKS, LOOKS, ONLY_IF, READINGS, VERDICTS, said
from model.answers.settle import Settled, YearlyCup
from model.behaviour.shape import cupped
from model.repair.plan import Repaired

LINES: Final = 60
LIKELY: Final = 0.15  # chance from which a cause is named in the text
# Steps whose reason stands in the short text too.
WAYS: Final = (*BY_FORCE, "plane-both", "rip", "hold-flat")
MOST_ASKED: Final = 3  # things to tell that the text names


def page(answered: Answered[Asked, Told]) -> Page:
    """What happened, the steps, and what it will do after."""
    told, system = answered.result, answered.system
    made = told.repaired
    parts: list[Rows | Numbered | str] = [
        Numbered([_step(one, system, full=True) for one in told.steps], "What to do")
    ]
    short: list[Rows | Numbered | str] = [
        Numbered([_step(one, system, full=False) for one in told.steps], "What to do")
    ]
    after = (
        []
        if made.settled is None or made.swing is None
        else [_after(made.settled, made.swing, system)]
    )
    asks = [] if not made.asks else [_asked(made)]
    return Page(
        _decision(made, system), [*parts, *after, *asks], [*short, *after, *asks], lines=LINES
    )


def _decision(made: Repaired, system: System) -> str:
    told = [VERDICTS[made.verdict]]
    if made.verdict != "leave":
        told += _happened(made, system)
    left = made.cup_left
    if left is not None and made.flat_by_itself is not None and made.verdict == "repair":
        cup = cupped(left)
        amount = text.short_length(cup.amount.value, system)
        band = text.spread(cup.amount, LENGTH, system)
        told.append(
            f"By itself it comes to a cup of {amount} {cup.shape} ({band}) within a year: "
            f"{100 * made.flat_by_itself:.0f} % likely to be flat enough."
        )
    return " ".join(told)


def _happened(made: Repaired, system: System) -> list[str]:
    what = made.happened
    if what is None:
        return []
    if what.slid:
        grew = made.story.seen.gap_grew or 0.0
        much = text.short_length(grew, system)
        return [f"The slab slid: the gap grew {much}, more than its wood can shrink."]
    if what.diagnosis is None:
        return ["Too little is told to say what happened."]
    if any(note.code == "does-not-fit" for note in what.diagnosis.notes):
        return ["What was seen does not go together: measure again before you trust a cause."]
    if what.cause is not None:
        chance = what.chance(what.cause)
        return [f"The cause is most likely {CAUSES_SHORT[what.cause]} ({100 * chance:.0f} %)."]
    likely = [one for one in what.diagnosis.chances if one.chance >= LIKELY]
    if not likely:
        return ["Can't tell what happened."]
    named = " or ".join(
        f"{CAUSES_SHORT[one.cause]} ({100 * one.chance:.0f} %)" for one in likely[:3]
    )
    return [f"Can't tell yet what happened: {named}."]


def _step(one: Dated, system: System, *, full: bool) -> str:
    def length(metres: float) -> str:
        return text.short_length(metres, system)

    figures, words = one.step.does.figures, one.words
    told = [ONLY_IF[one.step.only_if]] if one.step.only_if else []
    told.append(said(words.does, figures, length))
    why, until = said(words.why, figures, length), said(words.until, figures, length)
    if why and (full or one.step.code in WAYS):
        told.append(why)
    lasts = one.lasts
    if lasts is not None and lasts.value >= 2.0:
        band = (
            "" if lasts.low is None or lasts.high is None else f", {_lasts(lasts.low, lasts.high)}"
        )
        since = "" if one.step.earliest else f", from {text_date(one.on)}"
        told.append(f"About {_days(lasts.value)}{band}{since}.")
    if until:
        told.append(f"Go on: {until[0].lower()}{until[1:]}")
    return " ".join(told)


def text_date(date: datetime.date) -> str:
    """A date in words: `20 January 2026`."""
    return f"{date.day} {text.MONTHS[date.month - 1]} {date.year}"


def _days(days: float) -> str:
    if days < 21.0:
        return f"{days:.0f} days"
    return f"{days / 7.0:.0f} weeks"


def _lasts(low: float, high: float) -> str:
    if high < 21.0:
        return f"{low:.0f} to {high:.0f}"
    return f"{low / 7.0:.0f} to {high / 7.0:.0f} weeks"


def _after(settled: Settled, swing: YearlyCup, system: System) -> Rows:
    rows = []
    for name, extreme in (("driest", settled.driest), ("dampest", settled.dampest)):
        rows.append(
            [
                f"{name}, {text.month(extreme.month)}",
                f"{extreme.moisture.value:.1f} %",
                text.band(extreme.moisture, 1),
            ]
        )
    rows.append(["cup of the year", *_yearly(swing, system)])
    grows = settled.gap_when_settled
    rows.append(
        [
            "each edge grows by",
            text.short_length(grows.value, system),
            text.spread(grows, LENGTH, system),
        ]
    )
    return Rows(rows, title="After, finished and in its room", heads=["", "", "likely"])


def _yearly(swing: YearlyCup, system: System) -> list[str]:
    """The cup of the year; one that may go either way is told so."""
    larger = swing.larger
    signed, cup = larger.signed, larger.cupped
    if signed.low is not None and signed.high is not None and signed.low < 0.0 < signed.high:
        most = max(-signed.low, signed.high)
        return [f"up to {text.short_length(most, system)} either way", ""]
    amount = text.short_length(cup.amount.value, system)
    return [f"{amount} {cup.shape}", text.spread(cup.amount, LENGTH, system)]


def _asked(made: Repaired) -> str:
    told = " ".join(ASKS[one.code] for one in made.asks[:MOST_ASKED])
    return f"What would tell more: {told}"


def chart(answered: Answered[Asked, Told]) -> Chart:
    """The moisture of the year ahead with the steps on it."""
    told = answered.result
    made = told.repaired
    marks = [(one.step.day, f"{one.number}") for one in told.steps if not one.step.earliest]
    named = "; ".join(f"{one.number} {one.words.title}" for one in told.steps)
    shown = made.resting or made.settled
    if shown is None:
        last = max([day for day, _ in marks], default=0.0) + 30.0
        lines = [Line("steps", [0.0, last], [0.0, 0.0])]
        label = "steps alone, no room told [-]"
    else:
        trace = shown.trace
        lines = [
            Line("mean of the slab", trace.days, trace.mean, trace.band_low, trace.band_high),
            Line("core", trace.days, trace.core),
            Line("equilibrium", trace.days, trace.equilibrium, dashed=True),
        ]
        label = "moisture [%]"
    return Chart(
        title="The year ahead with the steps",
        description=f"Steps: {named}.",
        x_label="steps by number, from",
        panels=[Panel(label, lines)],
        marks=marks,
        starts=answered.asked.starts,
    )


def calendar(answered: Answered[Asked, Told]) -> list[Entry]:
    """The steps by their days, and the looks after fitting.

    What follows a wait that lasts nobody knows how long has no day: its two looks stand instead.
    """
    told, system = answered.result, answered.system
    slab = answered.asked.slab
    what = f"{slab.species.name}, {text.short_length(slab.width, system)} wide"
    entries = [
        Entry(
            day=one.on,
            title=f"{one.words.title} ({what})",
            text=_step(one, system, full=True),
            days=1 if one.lasts is None else max(1, round(one.lasts.value)),
            uncertain=bool(one.step.only_if),
        )
        for one in told.steps
        if one.step.code != "watch" and not one.step.earliest
    ]
    for one in told.steps:
        if one.step.code in ("stack", "wait") and one.lasts is None:
            entries += [
                Entry(one.on + datetime.timedelta(days=day), f"Read it ({what})", READINGS)
                for day in (14, 28)
            ]
        if one.step.code == "watch" and not one.step.earliest:
            entries += [
                Entry(one.on + datetime.timedelta(days=round(day)), f"Look again ({what})", LOOKS)
                for day in one.step.does.figures["looks"]
            ]
    return entries
