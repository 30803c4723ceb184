"""How `/v1/course` reads: as text, as a table and as a chart."""

from __future__ import annotations

from typing import Any

from api.question import Answered
from api.questions.course.answer import CourseSeries
from api.questions.course.ask import Asked
from api.questions.course.stays import begins
from api.replies import text
from api.replies.csv import Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.units import LENGTH, MOMENT, PERCENT, System
from model.answers.course import Followed, Summary
from model.behaviour import section
from model.behaviour.shape import Cupped, cupped
from model.spread import Figure


def page(answered: Answered[Asked, Followed]) -> Page:
    """Every stay in a line, the end of the course, and what the stress means."""
    followed = answered.result
    system = answered.system
    rows = [_stay_row(one, system) for one in followed.stays]
    heads = ["at its end", "day", "moisture", "width", "cup", "most cup", "stress"]
    stays = Rows(rows, heads=heads)
    parts: list[Rows | str] = [stays]
    short: list[Rows | str] = [stays]
    last = followed.stays[-1]
    parts.append(
        Rows(
            [
                ["moisture", f"{last.mean.value:.1f} %", text.spread(last.mean, PERCENT, system)],
                _told("width", last.width, system),
                _told("thickness", last.thickness, system),
                _told(f"cup, {last.cupped.shape}", _amount(last.cup), system),
            ],
            title="At the end of the course",
            heads=["", "", "likely"] if last.mean.low is not None else (),
        )
    )
    if followed.held:
        largest = (one.largest_moment for one in followed.stays)
        most = max((one for one in largest if one is not None), key=lambda one: abs(one.value))
        short.append(
            f"What holds it bears up to {text.amount(abs(most.value), MOMENT, system, 0)} over "
            "the slab's length."
        )
    short.append(_verdict(followed))
    if followed.ends.may_split:
        zone = text.short_length(followed.ends.zone, system)
        left = f"{100.0 * followed.ends.left_by_coat:.0f} %"
        short.append(
            f"Its ends dry first, {zone} deep by then, and may split up to 150 mm (6 in) deep. "
            f"Coat them at once (a thick coat leaves {left} of that drying), or allow so much to "
            "trim."
        )
    return Page(_decision(followed, system), [*parts, *short[1:]], short)


def _decision(followed: Followed, system: System) -> str:
    last = followed.stays[-1]
    mean = last.mean
    band = text.spread(mean, PERCENT, system)
    told = f"After {last.last:.4g} days the slab is at {mean.value:.1f} % moisture"
    told += f" ({band})" if band else ""
    told += f", {text.short_length(last.width.value, system)} wide"
    if last.cupped.shape == "flat":
        told += " and flat."
    else:
        amount = text.short_length(_amount(last.cup).value, system)
        told += f", and cupped {amount}, {last.cupped.shape}."
    most = max(followed.stays, key=lambda one: abs(one.largest_cup.value))
    largest = most.most_cupped.cupped
    if abs(most.largest_cup.value) > 1.1 * abs(last.cup.value) + 1e-4 and largest.shape != "flat":
        told += (
            f" Its largest cup is {text.short_length(abs(most.largest_cup.value), system)}, "
            f"{largest.shape}, {text.about_day(most.largest_cup_day)}."
        )
    return told


def _amount(signed: Figure) -> Figure:
    return cupped(signed).amount


def _told(name: str, value: Figure, system: System) -> list[str]:
    return [name, text.length(value.value, system), text.spread(value, LENGTH, system)]


def _stay_row(one: Summary, system: System) -> list[str]:
    """One stay in a line of 80 columns."""

    def cup(told: Cupped) -> str:
        words = {"edges up": " up", "edges down": " down", "flat": ""}[told.shape]
        return text.short_length(abs(told.amount.value), system) + words if words else "flat"

    name = one.name if len(one.name) <= 12 else one.name[:9] + "..."
    return [
        name,
        f"{one.last:.4g}",
        f"{one.mean.value:.1f} %",
        text.short_length(one.width.value, system),
        cup(one.cupped),
        cup(one.most_cupped.cupped),
        f"{one.largest_index.value:.2f}",
    ]


def _verdict(followed: Followed) -> str:
    """What the stress means."""
    worst = max(followed.stays, key=lambda one: one.largest_index.value)
    index = worst.largest_index.value
    told = (
        f"Stress: the index is {index:.2f} at most, {worst.largest_index_face} face, "
        f"{text.about_day(worst.largest_index_day)}"
    )
    if index < section.WARN_INDEX:
        return f"{told}. Sound wood should not check."
    return (
        f"{told}. From {section.WARN_INDEX:g} on expect hair checks at the weakest spots, at 1 in "
        "the average slab."
    )


def table(answered: Answered[Asked, Followed]) -> Table:
    """The series as a sheet."""
    columns = CourseSeries().side_by_side(answered.result)
    return Table(columns, answered.system, begins(answered.asked))


def chart(answered: Answered[Asked, Followed]) -> Chart:
    """Moisture, width and cup against time."""
    followed, system = answered.result, answered.system
    columns = {column.name: column for column in CourseSeries().side_by_side(followed)}
    x = columns["day"].values

    def line(name: str, label: str) -> Line:
        def written(which: str) -> Any:
            column = columns.get(which)
            if column is None or column.dimension is None:
                return None
            return column.dimension.write(column.values, system)

        return Line(label, x, written(name), written(f"{name}_low"), written(f"{name}_high"))

    unit = LENGTH.of_system[system].symbol
    last = followed.stays[-1]
    return Chart(
        title="The slab through its stays",
        description=_decision(followed, system)
        + (" Bands hold four cases in five, both laws of set among them." if last.mean.low else ""),
        x_label="from",
        starts=begins(answered.asked),
        panels=[
            Panel(
                "moisture [%]",
                [
                    line("mean", "mean of the slab"),
                    line("shell_top", "top face"),
                    line("core", "core"),
                    line("shell_bottom", "bottom face"),
                    line("equilibrium_moisture", "equilibrium"),
                ],
            ),
            Panel(f"width [{unit}]", [line("width", "width")]),
            Panel(f"cup, edges up [{unit}]", [line("cup", "cup")]),
        ],
    )
