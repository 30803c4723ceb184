"""What `/v1/conditioning` answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from api.question import Reply
from api.questions.conditioning.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer
from api.units import DAYS, ENERGY, ENERGY_PER_DAY, MASS, MASS_PER_DAY, PERCENT, TEMPERATURE
from model.answers import conditioning
from model.answers.conditioning import Conditioning, Course, Month, stock_of
from model.basis import cite
from model.behaviour import slab
from model.behaviour.slab import Slab
from model.codes import Caution
from model.properties import finishes
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


class _Plan:
    """How the wood goes by one plan, with what is known of it."""

    def __init__(self, course: Course, found: Conditioning) -> None:
        self.driest = course.driest
        self.days_to = course if found.timed else LEFT_OUT
        weighed = found.timed and found.dry_mass is not None
        self.water_first_day = course.water_first_day if weighed else LEFT_OUT
        self.heat = _joules("heat")(course) if weighed else LEFT_OUT


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
