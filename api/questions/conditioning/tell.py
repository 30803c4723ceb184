"""How `/v1/conditioning` reads: as text and as a table."""

from __future__ import annotations

from typing import Final

from api.question import Answered
from api.questions.conditioning.answer import ConditioningMonth
from api.questions.conditioning.ask import Asked
from api.replies.csv import Table
from api.replies.text import Page, Rows, amount, month, open_duration
from api.units import POUND, TEMPERATURE, System
from model.answers.conditioning import Conditioning, Means, Month
from model.answers.drying import Course, Verdict

DO: Final[dict[Means, str]] = {
    "heat": "heat",
    "humidify": "add moisture",
    "dehumidify": "dry the air",
    "leave": "nothing",
}

VERDICTS: Final[dict[Verdict, str]] = {
    "safe": "unlikely: {:.0f} %",
    "cannot_tell": "cannot tell: {:.0f} %",
    "too_fast": "likely: {:.0f} %",
}


def page(answered: Answered[Asked, Conditioning]) -> Page:
    """The decision, the months, and what it takes."""
    found, asked, system = answered.result, answered.asked, answered.system
    target = f"{asked.target:g} %"
    symbol = "lb" if system == "us" else "kg"
    rows = [_row(one, system) for one in found.months]
    heads = ["", "do", "heat to", "or hold", "as it is", "kWh/day", f"{symbol}/day"]
    parts: list[Rows | str] = [Rows(rows, title=f"To hold {target}", heads=heads)]
    short = parts[:]
    if found.months[0].machine_water is not None:
        parts.append(
            f"kWh/day warms the changed air; {symbol}/day is what a machine takes out of it (+) or "
            "puts in (-) to hold that humidity."
        )
    parts.append(Rows(_figures(found, asked, target, system), title="What it takes"))
    if found.timed:
        short.append(_soonest(found))
    return Page(_decision(answered, target) + _too_fast(found), parts, short)


def _too_fast(found: Conditioning) -> str:
    """What the faster of its plans does to the wood, and its chance; nothing where safe."""
    plans = [one for one in (found.heat_alone, found.held) if one is not None]
    paces = [one.pace for one in plans if one.pace.verdict != "safe"]
    if not paces or not found.timed:
        return ""
    worst = max(paces, key=lambda one: one.chance or 0.0)
    sure = "" if worst.chance is None else f" (chance {worst.chance:.0f} %)"
    how = "dries" if worst.verdict == "too_fast" else "may dry"
    return f" It {how} faster than is safe against checks{sure}: dry it in damper air."


def _soonest(found: Conditioning) -> str:
    """How long it takes in either way, in a line."""
    told = []
    for name, plan in (("by heat alone", found.heat_alone), ("humidity held", found.held)):
        if plan is not None:
            comes = plan.days_within_1
            words = "not within five years" if comes is None else open_duration(comes)
            told.append(f"{name} {words}")
    return f"To within 1 %: {'; '.join(told)}." if told else "No humidity holds it all the year."


def _row(one: Month, system: System) -> list[str]:
    # Below the shop's own temperature there is nothing to heat to.
    warm = ""
    if one.heat_to is not None and one.means != "humidify":
        warm = amount(one.heat_to.value, TEMPERATURE, system, 0)
    unit = POUND if system == "us" else 1.0
    return [
        month(one.month),
        DO[one.means],
        warm,
        "" if one.humidity is None else f"{one.humidity.value:.0f} %",
        f"{one.equilibrium_at_shop:.1f} %",
        "" if one.ventilation_heat is None else f"{one.ventilation_heat:.0f}",
        "" if one.machine_water is None else f"{one.machine_water / unit:+.0f}",
    ]


def _figures(found: Conditioning, asked: Asked, target: str, system: System) -> list[list[str]]:
    rows = []
    if found.water is not None:
        way = "take up" if found.water < 0.0 else "carry away"
        rows.append([f"water to {way}", mass_words(abs(found.water), system)])
    weighed = found.timed and found.dry_mass is not None
    for name, plan in (("by heat alone", found.heat_alone), ("humidity held", found.held)):
        if plan is None:
            rows.append([name, f"no humidity holds {target} the year round"])
            continue
        if found.timed:
            comes = plan.days_within_1
            words = "not within five years" if comes is None else open_duration(comes)
            rows.append([f"{name}, to within 1 %", words])
        if weighed:
            way = "taken up" if plan.water_first_day < 0.0 else "given off"
            rows.append([f"  {way}, first day", mass_words(abs(plan.water_first_day), system)])
            if plan.heat is not None:
                rows.append(["  heat, to within 0.5 %", f"{plan.heat:.0f} kWh"])
            rows += _of_machines(plan, asked, system)
        if found.timed:
            rows.append(["  left in a year, down to", f"{plan.driest:.1f} %"])
            chance = plan.pace.chance
            rows.append(
                ["  dries too fast", VERDICTS[plan.pace.verdict].format(chance or 0.0)]
                if chance is not None
                else ["  dries too fast", VERDICTS[plan.pace.verdict].split(":")[0]]
            )
            if plan.pace.least_days > 0.0:
                rows.append(["  a safe run takes at least", f"{plan.pace.least_days:.0f} days"])
    if found.first_humidity is not None:
        rows.append(["begin at, till a third is gone", f"{found.first_humidity.value:.0f} %"])
    return rows


def _of_machines(plan: Course, asked: Asked, system: System) -> list[list[str]]:
    """The shop's air with the wood in it, and what machines do and cost."""
    rows = []
    if (one := plan.balance) is not None:
        rows.append(["  air of the first day", f"{one.first_day:.0f} %"])
        if one.largest > 0.0:
            rows.append(["  to take out, most a day", mass_words(one.largest, system)])
            if one.rated is not None:
                rows.append(["  a dehumidifier rated, a day", mass_words(one.rated, system)])
    if plan.current is not None and plan.current.value > 0.0:
        rows.append(["  current of the dehumidifier", f"{plan.current.value:.0f} kWh"])
    if plan.cost is not None:
        rows.append([f"  cost at {asked.price:g} a kWh", f"{plan.cost:.2f}"])
    return rows


def mass_words(kilograms: float, system: System) -> str:
    """A mass in kilograms or pounds.

    >>> mass_words(2.0, "metric"), mass_words(2.0, "us")
    ('2.00 kg', '4.41 lb')
    """
    return f"{kilograms:.2f} kg" if system == "metric" else f"{kilograms / POUND:.2f} lb"


def _decision(answered: Answered[Asked, Conditioning], target: str) -> str:
    found, asked, system = answered.result, answered.asked, answered.system
    first = found.months[asked.starts.month - 1]
    name = month(first.month)
    if abs(found.now - asked.target) < 1e-9 and found.heat_alone is not None:
        return f"The wood is at {target} already; the table tells what holds it there."
    hold = "" if first.humidity is None else f"{first.humidity.value:.0f} % relative humidity"
    if found.begin_with == "leave":
        way = "dries it" if found.now > asked.target else "brings it up"
        after = f" From then on hold {hold}." if hold and first.means != "leave" else ""
        return (
            f"In {name} the shop's own air, which holds {first.equilibrium_at_shop:.1f} %, {way} "
            f"to {target} with no machine: take it out in time.{after}"
        )
    if first.means == "heat" and first.heat_to is not None:
        warm = amount(first.heat_to.value, TEMPERATURE, system, 0)
        told = f"In {name} heating the shop to {warm} holds {target} without a drying machine"
        return told + (f"; at its own temperature hold {hold}." if hold else ".")
    if first.means == "humidify":
        return (
            f"In {name} the shop's air is too dry for {target}: it holds "
            f"{first.equilibrium_at_shop:.1f} %, and heat makes it drier. Take the wood out in "
            f"time{', or hold ' + hold if hold else ''}."
        )
    hottest = amount(asked.hottest, TEMPERATURE, system, 0)
    return (
        f"In {name} heating to {hottest} comes only to {first.equilibrium_at_hottest:.1f} %: use a "
        f"drying machine{' and hold ' + hold if hold else ''}."
    )


def table(answered: Answered[Asked, Conditioning]) -> Table:
    """Month by month; a cell is empty where no temperature or humidity holds the target."""
    columns = ConditioningMonth().columns(answered.result.months)
    left_out = {"means"}  # a sheet's cells are numbers; what to do stands in the text
    if answered.asked.volume is None:
        left_out |= {"ventilation_heat", "machine_water"}
    return Table([one for one in columns if one.name not in left_out], answered.system)
