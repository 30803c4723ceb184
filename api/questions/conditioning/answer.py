"""What `/v1/conditioning` answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from api.question import Reply
from api.questions.conditioning.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer
from api.units import (
    DAYS,
    ENERGY,
    ENERGY_PER_DAY,
    MASS,
    MASS_PER_DAY,
    PERCENT,
    PLAIN,
    TEMPERATURE,
)
from model.answers import conditioning, drying
from model.answers.conditioning import Conditioning, Month
from model.answers.drying import Course, stock_of
from model.basis import cite
from model.behaviour import slab
from model.behaviour.slab import Slab
from model.codes import Caution
from model.properties import finishes
from model.spread import Figure
from model.surroundings.calendar import day_of
from model.surroundings.shop import JOULES_A_KWH

DAY: Final = 86_400.0  # s
CAUTIONS: Final = (
    Caution("heaters-of-a-shop"),
    Caution("fuel-dampens"),
    Caution("fast-drying-checks"),
)


def answer(asked: Asked) -> Reply[Conditioning]:
    """Lay out the shop's year and follow the wood through it."""
    stock, timed = stock_of(asked.given, asked.moisture, asked.faces, asked.samples)
    found = conditioning.condition(
        stock,
        asked.shop,
        asked.target,
        day_of(asked.starts),
        timed=timed,
        spread=asked.samples.draws > 0,
        attribution=asked.room.attribution,
    )
    heavy = slab.cautions(asked.given, found.now) if isinstance(asked.given, Slab) else []
    return Reply(
        found,
        [*found.notes, *asked.room.notes, *finishes.notes(asked.faces)],
        [*CAUTIONS, *heavy],
        cite(
            *("conditioning-heat", "conditioning-energy", "equilibrium-moisture"),
            *("shared-air", "room-dehumidifier", "safe-drying"),
            *asked.room.formulas,
            *finishes.formulas(asked.faces),
        ),
    )


def _joules(name: str, seconds: float = 1.0) -> Callable[[Any], float | None]:
    """Reads a figure that the model tells in kWh, for so many seconds."""

    def read(one: Any) -> float | None:
        value = getattr(one, name)
        return None if value is None else value * JOULES_A_KWH / seconds

    return read


def _water(one: Month) -> float | None:
    return None if one.machine_water is None else one.machine_water / DAY


class ConditioningEquilibrium(Answer):
    """Moisture that the outdoor air of the month, and what vapour the shop adds, holds wood at."""

    unheated = members.Number(PERCENT, of="equilibrium_unheated")
    at_shop = members.Number(PERCENT, "at the shop's own temperature", of="equilibrium_at_shop")
    at_hottest = members.Number(
        PERCENT, "as dry as heat alone can make it", of="equilibrium_at_hottest"
    )


class ConditioningMonth(Answer):
    """What a month takes to hold the target."""

    month = members.Month()
    means = members.Word(conditioning.MEANS)
    heat_to = members.Figure(
        TEMPERATURE, "that holds the target", null="where none from -20 to 60 °C does"
    )
    relative_humidity = members.Figure(
        PERCENT,
        "that holds the target at the shop's own temperature",
        of="humidity",
        null="where none does",
    )
    equilibrium_moisture = members.Part(ConditioningEquilibrium, of=members.itself)
    humidity_at_shop = members.Number(PERCENT, "what stands there without a machine")
    ventilation_heat = members.Number(
        ENERGY_PER_DAY,
        "to warm the changed air",
        of=_joules("ventilation_heat", DAY),
        null="without the shop's volume",
    )
    machine_water = members.Number(
        MASS_PER_DAY,
        "that a machine takes out of the changed air to hold that humidity; negative: puts in",
        of=_water,
        null="without the shop's volume, or where no humidity holds the target",
    )


class ConditioningDays(Answer):
    """Days until the mean first comes so near the target."""

    within_1 = members.OpenFigure(DAYS, of="days_within_1", null="beyond five years")
    within_half = members.OpenFigure(DAYS, of="days_within_half", null="beyond five years")


class ConditioningPace(Answer):
    """How fast it dries against what its wood bears without checking."""

    verdict = members.Word(drying.VERDICTS)
    chance = members.Number(PERCENT, "that it dries faster than is safe", null="with spread none")
    largest_loss = members.Figure(PERCENT, "moisture lost on the fastest day", of="loss")
    allowed = members.Number(
        PERCENT, "moisture that may be lost on the day nearest to it", null="where any may"
    )
    day = members.Number(DAYS, "from the start to that day")
    index = members.Figure(PLAIN, "largest of a day's loss over what is allowed that day")
    skin_index = members.Figure(PLAIN, "stress of the first hours over strength", of="skin")
    least_days = members.Number(DAYS, "that a good run takes; 0 where any loss may be")


class ConditioningAir(Answer):
    """The shop's air with the wood in it, until within half a point."""

    first_day = members.Number(PERCENT, "relative humidity of the first day")
    dampest = members.Number(PERCENT, "relative humidity of the dampest day")
    removed = members.Number(MASS, "that a dehumidifier takes out")
    added = members.Number(MASS, "that a humidifier puts in")
    largest = members.Number(
        MASS_PER_DAY, "to take out, the wood's own water with it", of=lambda one: one.largest / DAY
    )
    rated = members.Number(
        MASS_PER_DAY,
        "output, as rated at 26.7 °C and 60 %, of a dehumidifier that does",
        of=lambda one: None if one.rated is None else one.rated / DAY,
        null="where no such machine works",
    )


class _Plan:
    """How the wood goes by one plan, with what is known of it."""

    def __init__(self, course: Course, found: Conditioning) -> None:
        self.driest = course.driest
        self.days_to = course if found.timed else LEFT_OUT
        weighed = found.timed and found.dry_mass is not None
        self.water_first_day = course.water_first_day if weighed else LEFT_OUT
        self.heat = _joules("heat")(course) if weighed else LEFT_OUT
        self.current = _current(course.current) if weighed else LEFT_OUT
        self.cost = course.cost if weighed and course.cost is not None else LEFT_OUT
        told = weighed and course.balance is not None
        self.air = course.balance if told else LEFT_OUT
        self.pace = course.pace if found.timed else LEFT_OUT


def _current(drawn: Figure | None) -> Figure | None:
    if drawn is None:
        return None
    low, high = (None if end is None else end * JOULES_A_KWH for end in (drawn.low, drawn.high))
    return Figure(drawn.value * JOULES_A_KWH, low, high)


def _plan(name: str) -> Callable[[Conditioning], _Plan | None]:
    def read(found: Conditioning) -> _Plan | None:
        course = getattr(found, name)
        return None if course is None else _Plan(course, found)

    return read


_WEIGHED: Final = "where no weight or no thickness is known"


class ConditioningPlan(Answer):
    """How the wood goes by one plan."""

    driest = members.Number(PERCENT, "lowest mean of a year if it is left in")
    days_to = members.Part(ConditioningDays, left_out="where no thickness is known")
    water_first_day = members.Number(MASS, "given off; negative: taken up", left_out=_WEIGHED)
    heat = members.Number(
        ENERGY,
        "until within half a point",
        left_out=_WEIGHED,
        null="without the shop's volume, or when it does not come there",
    )
    current = members.Figure(
        ENERGY,
        "that a dehumidifier draws until then",
        left_out=_WEIGHED,
        null="without the shop's volume, or when it does not come there",
    )
    cost = members.Number(PLAIN, "of heat and current", left_out="without price, or with heat null")
    air = members.Part(ConditioningAir, left_out="where no weight, thickness or volume is known")
    pace = members.Part(ConditioningPace, left_out="where no thickness is known")


class ConditioningAnswer(Answer):
    """What bringing wood to a target takes."""

    months = members.Rows(ConditioningMonth)
    water = members.Number(
        MASS, "to carry away; negative: to bring in", left_out="where no weight is known"
    )
    evaporation_heat = members.Number(
        ENERGY, "of that water", of=_joules("evaporation_heat"), left_out="where no weight is known"
    )
    humidity_rise = members.Number(
        PERCENT,
        "points that the wood adds to the air's humidity in the first days",
        left_out="where no weight or no volume is known",
    )
    begin_with = members.Word(conditioning.MEANS, "what the wood asks for first")
    first_humidity = members.Figure(
        PERCENT,
        "relative humidity to begin with, until a third of the moisture is gone",
        left_out="for wood that is not green, or without a figure for its kind",
    )
    heat_alone = members.Part(
        ConditioningPlan, "by heat alone", of=_plan("heat_alone"), null="never"
    )
    held = members.Part(
        ConditioningPlan,
        "with the humidity held",
        of=_plan("held"),
        null="where no humidity holds the target the year round",
    )
    attribution = members.Texts(
        "credit that must stay with the shop's climate",
        of=lambda found: found.attribution or None,
        left_out="without a place",
    )
