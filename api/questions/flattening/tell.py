"""How `/v1/flattening` reads: as text, as a table and as a chart."""

from __future__ import annotations

from typing import Any, Final

from api.question import Answered
from api.questions.flattening.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.units import (
    DAYS,
    FORCE,
    INCH,
    LENGTH,
    MASS_PER_AREA,
    MOMENT,
    MOMENT_PER_LENGTH,
    PERCENT,
    System,
)
from api.words import cautions, reason
from api.words.flattening import WAYS, WAYS_SHORT, done
from model.answers.flattening.clamping import Clamping
from model.answers.flattening.flatten import Flattening, Verdict
from model.answers.flattening.treatments import Treatment
from model.behaviour.shape import cupped
from model.properties.strength import UNLIKELY
from model.spread import band, figure

_LOAD: Final = {"us": (47.880259, "lb/ft2"), "metric": (1e3, "kN/m2")}  # Pa; lbf over ft2
_INCHES: Final[dict[str, str]] = {"us": "inches", "metric": "millimetres"}


def page(answered: Answered[Asked, Flattening]) -> Page:
    """The decision, the ways side by side, clamping, bars and water."""
    made = answered.result
    system = answered.system
    ways = Rows(
        [
            _way(name, one, system)
            for name, one in [
                ("the plan", made.treatment),
                *((WAYS_SHORT[one.way], one) for one in made.alternatives),
            ]
        ],
        title=f"Side by side: cup in {_INCHES[system]}, plus is edges up",
        heads=["", "days", "year's most", "likely", "splits", "bars"],
    )
    parts: list[Rows | str] = [ways]
    parts += [
        f"{WAYS[one.way]}: {done(one.does)}{_loss(one, system)}." for one in made.alternatives
    ]
    if made.treatment.clamping is not None:
        clamping = made.treatment.clamping
        parts.append(
            Rows(_clamp_rows(clamping, system), title="Clamping", heads=["", "", "likely"])
        )
    parts += _bars_in_words(made, system)
    if made.uptake is not None:
        unit = MASS_PER_AREA.of_system[system]
        water = figure(made.uptake.per_area / unit.factor)
        band = "" if water.low is None else f" ({water.low:.2f} to {water.high:.2f})"
        parts.append(
            f"The wet face takes up about {water.value:.2f} {unit.symbol}{band}, to a depth of "
            f"{text.length(made.uptake.depth, system)}."
        )
    return Page(_decision(made, system), parts, [ways])


def _cauls(clamping: Clamping, system: System) -> str:
    """With what it is clamped."""
    force = text.amount(float(clamping.force_per_clamp[0]), FORCE, system, 0)
    apart = text.short_length(clamping.spacing, system)
    return f"Cauls {apart} apart, {force} at each end."


def _bars_in_words(made: Flattening, system: System) -> list[str]:
    """What the bars bear that pull flat what the plan, or waiting alone, leaves."""
    told = []
    for after, one in (
        ("the plan", made.treatment),
        ("waiting alone", made.waiting),
    ):
        if one.bars is None:
            continue
        turn, left = (
            text.amount(float(values[0]), MOMENT, system, 0)
            for values in (one.bars.moment, one.bars.lasting)
        )
        words = f"After {after} the bars pull flat what is left: each bears up to {turn}, {left} "
        words += "a year on"
        if one.bars.pull is not None:
            drawn = text.amount(float(one.bars.pull[0]), FORCE, system, 0)
            words += f"; the fixing that is worst off is pulled with up to {drawn}"
        words += (
            f". Chance that drawing it straight splits the slab: {text.chance(one.bars.breaks)}"
        )
        if one.bars.breaks >= UNLIKELY:
            words += f", {text.chance(one.bars.breaks_in_steps)} in small steps over weeks"
        if one.bars.tears is not None:
            words += f"; that a fixing tears: {text.chance(one.bars.tears)}"
        told.append(words + ".")
    return told


_LEAD: Final[dict[Verdict, str]] = {
    "yes": "Worth trying, on an offcut first.",
    "risky": "Risky.",
    "cannot-tell": "Can't tell whether it is worth it.",
    "no": "Better not.",
}


def _decision(made: Flattening, system: System) -> str:
    told = ["Confidence is low.", _LEAD[made.verdict], *map(reason, made.reasons)]
    if made.verdict == "no" and made.proposed:
        told.append("No plan of water and clamps that was tried does it.")
        return " ".join([*told, *_least(made)])
    left = cupped(figure(made.treatment.largest_in_year))
    size = text.short_length(left.amount.value, system)
    cups = f"it cups up to {size} {left.shape}"
    if made.verdict == "no":  # whoever asked knows the plan that is advised against
        told.append(f"By your plan {cups} in the year after.")
    else:
        clamping = made.treatment.clamping
        name = "Best plan found" if made.proposed else "Your plan"
        told.append(f"{name}: {done(made.treatment.does)}.")
        told += [] if clamping is None else [_cauls(clamping, system)]
        told.append(f"In the year after {cups}.")
    helps, splits = text.chance(made.helps), text.chance(made.breaks)
    told.append(f"Chance that it helps {helps}, that it splits {splits}.")
    return " ".join([*told, *_least(made)])


def _least(made: Flattening) -> list[str]:
    """Which ways leave least, of those that will hardly split the slab."""
    told = []
    if made.best == "wait":
        told.append("Of the safe ways that lose no wood none leaves less than waiting")
    elif made.best != "plan":
        told.append(f"Of the ways that lose no wood, least is left by: {WAYS[made.best]}")
    if made.best_with_loss != made.best:
        of_all = "of all ways" if told else "Of all ways least is left"
        told.append(f"{of_all} by: {WAYS[made.best_with_loss]}")
    return [f"{'; '.join(told)}."] if told else []


def _way(name: str, one: Treatment, system: System) -> list[str]:
    year = figure(one.largest_in_year)
    held = ""
    if one.after_year_held is not None:
        held = _short(float(one.after_year_held[0]), system)
    band = ""
    if year.low is not None and year.high is not None:
        band = f"{_short(year.low, system)} to {_short(year.high, system)}"
    return [
        name,
        f"{one.days:.0f}",
        _short(year.value, system),
        band,
        text.chance(one.breaks) if one.bends is not None else "",
        held,
    ]


def _short(signed: float, system: System) -> str:
    """A signed cup, plus for edges up, without unit in millimetres."""
    if system == "us":
        told = text.shop_fraction(signed / INCH)
        return f"+{told}" if signed > 0.0 and told != "0" else told
    return text.fixed(1e3 * signed, 1, signed=True)


def _loss(one: Treatment, system: System) -> str:
    lost = [
        f"{text.short_length(size, system)} of {name}"
        for name, size in (("thickness", one.thickness_lost), ("width", one.width_lost))
        if size > 0.0
    ]
    return f" (costs {' and '.join(lost)})" if lost else ""


def _clamp_rows(clamping: Clamping, system: System) -> list[list[str]]:
    rows = []
    # A moment for each metre of length, or for each foot.
    run, per = (12 * INCH, "foot") if system == "us" else (1.0, "metre")
    for name, values, dimension in (
        (f"moment per {per} of length", run * clamping.moment, MOMENT),
        ("the same at the end of the hold", run * clamping.lasting, MOMENT),
        ("force at each end of a caul", clamping.force_per_clamp, FORCE),
    ):
        told = figure(values)
        rows.append(
            [
                name,
                text.amount(told.value, dimension, system, 0),
                text.spread(told, dimension, system, 0),
            ]
        )
    spacing = text.length(clamping.spacing, system)
    count = "" if clamping.cauls is None else f"{clamping.cauls} cauls"
    rows.append(["cauls apart", spacing, count])
    unit, symbol = _LOAD[system]
    load = figure(clamping.load / unit)
    decimals = 0 if system == "us" else 1
    band = "" if load.low is None else f"{load.low:.{decimals}f} to {load.high:.{decimals}f}"
    rows.append([f"or an even load, {symbol}", f"{load.value:.{decimals}f}", band])
    return rows


def _central(name: str) -> Any:
    return lambda made: made.joined(name)[:, 0]


class FlatteningCourse(Answer):
    """The plan and the year after it, for a sheet."""

    day = members.Series(DAYS, of="days")
    mean = members.Series(PERCENT, of=_central("mean"))
    shell_top = members.Series(PERCENT, of=_central("shell_top"))
    core = members.Series(PERCENT, of=_central("core"))
    shell_bottom = members.Series(PERCENT, of=_central("shell_bottom"))
    cup = members.Banded(LENGTH, of=lambda made: made.joined("cup"))
    moment = members.Banded(MOMENT_PER_LENGTH, of=lambda made: made.joined("moment"))


def table(answered: Answered[Asked, Flattening]) -> Table:
    """The plan and the year after it as a sheet."""
    columns = FlatteningCourse().side_by_side(answered.result)
    return Table(columns, answered.system, answered.asked.starts)


def chart(answered: Answered[Asked, Flattening]) -> Chart:
    """Cup and moisture through the plan and the year after."""
    made = answered.result
    system, elapsed = answered.system, made.days
    cup = made.joined("cup")
    ends = band(cup)
    low, high = (None, None) if ends is None else (LENGTH.write(end, system) for end in ends)
    cases = (
        "" if ends is None else "; the band holds four cases in five, both laws of set among them"
    )
    moistures = (
        ("mean of the slab", "mean"),
        ("top face", "shell_top"),
        ("core", "core"),
        ("bottom face", "shell_bottom"),
    )
    return Chart(
        title="Cup and moisture through the plan and the year after",
        description=(
            f"{done(made.treatment.does)}. Above zero the edges are up{cases}. Confidence is low. "
            "Take care: " + " ".join(cautions(answered.reply.cautions))
        ),
        x_label="from",
        starts=answered.asked.starts,
        panels=[
            Panel(
                f"cup [{LENGTH.of_system[system].symbol}]",
                [Line("cup", elapsed, LENGTH.write(cup[:, 0], system), low, high)],
            ),
            Panel(
                "moisture [%]",
                [Line(label, elapsed, made.joined(name)[:, 0]) for label, name in moistures],
            ),
        ],
    )
