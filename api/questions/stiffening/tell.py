"""How `/v1/stiffening` reads: as text, as a table and as a chart."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from api.question import Answered
from api.questions.stiffening.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.units import DAYS, FORCE, LENGTH, MOMENT, STRESS, Dimension, System
from api.words import cautions as say_cautions
from api.words.holding import FIRST, PART, WEAKEST
from model.answers.stiffening import Held, Stiffened
from model.behaviour.keys import Keys
from model.behaviour.shape import cupped
from model.properties.strength import UNLIKELY
from model.spread import Figure, band, figure


def page(answered: Answered[Asked, Held]) -> Page:
    """What holds, what it bears, and what would do."""
    held, tied = answered.result.bars, answered.result.keys
    system = answered.system
    parts: list[Rows | str] = []
    told, deciding = [], []
    if held is not None:
        told.append(_held_in_words(held, system))
        parts += _held_parts(held, system)
        deciding += _deciding(held, system)
    if tied is not None:
        told.append(_tied_in_words(tied, system))
        keys = _key_rows(tied, system)
        parts.append(Rows(keys, title="Keys", heads=["", "", "likely"]))
        deciding += [row for row in keys if row[0] in OF_KEYS]
    short: list[Rows | str] = [Rows(deciding, heads=["", "", "likely"])]
    if held is not None and held.fixed_solid is not None:
        short.append(f"Fixed solid instead of slotted: first {FIRST[held.fixed_solid.first]}.")
    return Page(" ".join(told), parts, short)


# Of the rows of keys those that decide.
OF_KEYS: Final = ("to rely on, each", "asked of each", "check could open, untied")


def _deciding(held: Stiffened, system: System) -> list[list[str]]:
    """Cups, what each bar bears, and the pull on the worst fixing beside what it may bear."""
    cups = [
        [f"cup, {name}", " ".join((size, shape)), likely]
        for name, size, shape, likely in _cup_rows(held, system)
    ]
    pulls = [] if held.pulls is None else _pull_rows(held, system)
    return [
        *cups,
        _cells("moment on each bar", held.largest_moment, MOMENT, system),
        *(row for row in pulls if row[0] in ("pull on the worst", "it may bear for good")),
    ]


def _held_in_words(held: Stiffened, system: System) -> str:
    free, left = figure(held.largest_free), figure(held.largest_midway)
    count = held.layout.count
    told = (
        f"With {count} bar{'s' if count > 1 else ''} in slots the slab cups "
        f"{_up_to(left, system)} {cupped(left).shape} instead of {_up_to(free, system)}."
    )
    if any(note.code == "bar-overloaded" for note in held.notes):
        told += " The bars would bend for good or break: take a heavier section, or more of them."
    told += _wood_in_words(held) + _fixings_in_words(held, system)
    if held.limit is not None:
        limit = text.short_length(held.limit, system)
        told += _wanted_in_words(held, limit, system)
    return told


def _wood_in_words(held: Stiffened) -> str:
    """Whether the slab itself bears being drawn straight."""
    once, steps = held.bends.breaks, held.bends.breaks_in_steps
    told = f" Chance that bending it straight splits the slab: {text.chance(once)}"
    if once < UNLIKELY:
        return told + "."
    if steps < UNLIKELY:
        return told + (
            f" drawn up at once, {text.chance(steps)} in small steps over weeks: do it in steps, "
            "and stop at the first check."
        )
    if steps <= 1.0 - UNLIKELY:
        return told + (
            f" at once, {text.chance(steps)} in small steps over weeks: risky. Take some of the "
            "cup out first, or pack the bars out to what is left."
        )
    return told + ": do not draw it flat. Plane it, or pack the bars out to its cup."


def _fixings_in_words(held: Stiffened, system: System) -> str:
    """Whether the worst of the fixings holds, what fails first, and what would do."""
    pulls = held.pulls
    if pulls is None or pulls.verdict is None or pulls.tears is None or pulls.anchor is None:
        return ""
    at = text.short_length(held.stiffeners.across[pulls.worst], system)
    first = PART[pulls.anchor.weakest]
    chance = text.chance(pulls.tears)
    if pulls.verdict == "hold":
        told = f" The fixings hold: chance that the worst of them, at {at}, tears: {chance}."
    elif pulls.verdict == "without-margin":
        told = (
            f" The fixings hold likely (chance of tearing {chance}), but the one at {at} bears "
            "more than the code allows for good."
        )
    elif pulls.verdict == "may-tear":
        told = f" The fixing at {at} may tear (chance {chance}): first {first}."
    else:
        told = f" The fixing at {at} tears (chance {chance}): first {first}. Do not build it so."
    if pulls.verdict != "hold":
        told += {
            "thread-draws": " Take longer or thicker ones, or more bars.",
            "edge-splits": " Move it away from the edge or end.",
            "bolt-parts": " Take a thicker bolt, or a stronger grade.",
            "head-draws-through": " Put a larger washer under its head.",
        }[pulls.anchor.weakest]
    if any(note.code == "through" for note in held.notes):
        told += " Its hole comes out of the show face: take a shorter one."
    return told


def _wanted_in_words(held: Stiffened, limit: str, system: System) -> str:
    if any(note.code == "cupped-beyond-the-limit" for note in held.notes):
        return f" It is cupped by more than {limit} today, and bars packed out to it keep it so."
    count, careful = held.needed, held.needed_careful
    if count is None:
        return f" No number of such bars keeps it within {limit}: take a stiffer one."
    if careful is None:
        return (
            f" To keep it within {limit}: {count} such bars likely, but no number for sure; take a "
            "stiffer one."
        )
    told = f" To keep it within {limit}: {count} such bars, {careful} to be careful"
    apart = held.spacing_careful
    if careful == 1 or apart is None:
        return f"{told}."
    return f"{told}, {text.short_length(apart, system)} apart."


def _up_to(signed: Figure, system: System) -> str:
    return text.up_to(cupped(signed).amount, system)


def _tied_in_words(tied: Keys, system: System) -> str:
    told = "Keys tie the check but do not stop the wood from drying: "
    bears = tied.capacity
    chance = text.chance(tied.tears)
    told += {
        "hold": f"these hold (chance of giving way {chance})",
        "without-margin": f"these hold likely (chance of giving way {chance}), without margin",
        "may-tear": f"these may give way (chance {chance}; first {WEAKEST[bears.weakest]})",
        "will-tear": f"these give way (chance {chance}; first {WEAKEST[bears.weakest]})",
    }[tied.verdict]
    most = float(tied.opening[0])
    if tied.verdict != "hold" and not text.is_nothing(most, system):
        told += f", which lets the check open, by {text.short_length(most, system)} at most"
    if tied.needed is None:
        told += "; as many as fit side by side would not be enough to rely on."
    else:
        told += f"; {tied.needed} would be enough to rely on."
    if any(note.code == "boxed-heart-held" for note in tied.notes):
        told += " Do not both key a slab with its heart in it and hold it flat."
    elif float(tied.by_drying[0]) < 0.5 * float(tied.demand[0]):
        told += " Drying hardly asks anything of them; handling does."
    return told


def _cup_rows(held: Stiffened, system: System) -> list[list[str]]:
    return [
        [name, *_cup_cells(values, system)]
        for name, values in (
            ("free", held.largest_free),
            ("at the bars", held.largest_at_bars),
            ("between the bars", held.largest_midway),
        )
    ]


def _held_parts(held: Stiffened, system: System) -> list[Rows | str]:
    cups = _cup_rows(held, system)
    for name, swing in (
        ("yearly swing, free", held.yearly_free),
        ("yearly swing, between bars", held.yearly_midway),
    ):
        told = figure(swing)
        band = text.spread(told, LENGTH, system)
        cups.append([name, text.length(told.value, system), "", band])
    rows = [
        _cells("largest moment on each bar", held.largest_moment, MOMENT, system),
        _cells("the same, lasting", held.moment_lasting, MOMENT, system),
        *(
            []
            if held.bar_stress is None
            else [_cells("stress in the bar", held.bar_stress, STRESS, system)]
        ),
        _index("stress index of the skin, free", held.index_free),
        _index("stress index of the skin, held", held.index_held),
        _cells("bending stress of the slab", held.bends.stress, STRESS, system),
        _index("that over a low estimate of its strength", held.bends.index),
    ]
    without = text.amount(held.moment_elastic, MOMENT, system, 0 if system == "us" else 1)
    rows.insert(1, ["the same without set", without, ""])
    parts: list[Rows | str] = [
        Rows(cups, title="Largest cup", heads=["", "", "", "likely"]),
        Rows(rows, title="Forces", heads=["", "", "likely"]),
    ]
    if held.pulls is not None:
        parts.append(Rows(_pull_rows(held, system), title="Fixings", heads=["", "", "likely"]))
        by_point = ", ".join(
            f"{text.amount(one, FORCE, system, 0)} at {text.short_length(at, system)}"
            for one, at in zip(held.pulls.by_point, held.stiffeners.across, strict=True)
        )
        pulled = f"Pull on each: {by_point}."
        if held.pulls.anchor is not None and held.pulls.anchor.allowable is not None:
            pulled += f" Weakest of the worst: {PART[held.pulls.anchor.weakest]}."
        parts.append(pulled)
    if held.fixed_solid is not None:
        solid = held.fixed_solid
        push = text.amount(float(solid.force[0]), FORCE, system, 0)
        yields = text.amount(solid.yields, FORCE, system, 0)
        parts.append(
            f"Fixed solid instead of slotted, up to {push} would build up along each bar if "
            f"nothing gave (stress index {float(solid.wood_index[0]):.1f}; 1 splits): first "
            f"{FIRST[solid.first]}. A fixing yields sideways at about {yields}."
        )
    return parts


def _cup_cells(values: Any, system: System) -> list[str]:
    cup = cupped(figure(values))
    return [
        text.length(cup.amount.value, system),
        cup.shape,
        text.spread(cup.amount, LENGTH, system),
    ]


def _cells(name: str, values: Any, dimension: Dimension, system: System) -> list[str]:
    told = figure(np.abs(values))
    decimals = 0 if dimension is FORCE or system == "us" else 1
    return [
        name,
        text.amount(told.value, dimension, system, decimals),
        text.spread(told, dimension, system, decimals),
    ]


def _index(name: str, values: Any) -> list[str]:
    told = figure(values)
    band = "" if told.low is None else f"{told.low:.2f} to {told.high:.2f}"
    return [name, f"{told.value:.2f}", band]


def _pull_rows(held: Stiffened, system: System) -> list[list[str]]:
    pulls = held.pulls
    assert pulls is not None
    rows = [
        _cells("pull on the worst", pulls.hardest, FORCE, system),
        _cells("by hand, 3 moments over the span", pulls.by_rule, FORCE, system),
    ]
    anchor = pulls.anchor
    if anchor is not None and anchor.allowable is not None:
        allowed = text.amount(anchor.allowable, FORCE, system, 0)
        rows.append(["it may bear for good", allowed, ""])
    if pulls.of_allowable is not None and pulls.tears is not None:
        rows.append(_index("pull over that", pulls.of_allowable))
        rows.append(["chance that it tears", text.chance(pulls.tears), ""])
    if pulls.washer is not None:
        rows.append(["steel washer at least", text.length(pulls.washer, system), "thick"])
    return rows


def _key_rows(tied: Keys, system: System) -> list[list[str]]:
    bears = tied.capacity
    plainly = [
        ("waist parts", bears.neck),
        ("wings shear off", bears.wing_shear),
        ("slab shears beside it", bears.slab_shear),
        ("slab crushes at the flanks", bears.bearing),
        ("slab splits from the pocket", bears.splitting),
        ("to rely on, each", bears.allowable),
    ]
    rows = [[name, text.amount(value, FORCE, system, 0), ""] for name, value in plainly]
    rows.append(_cells("asked of each", tied.demand, FORCE, system))
    rows.append(
        ["of somebody on an overhanging edge", text.amount(tied.sat_on, FORCE, system, 0), ""]
    )
    rows.append(_index("asked over what breaks them", tied.index))
    for name, values in (
        ("check could open, untied", tied.opening),
        ("at the other face, if through", tied.opening_other),
    ):
        opening = figure(values)
        band = text.spread(opening, LENGTH, system)
        rows.append([name, text.length(opening.value, system), band])
    return rows


class StiffeningKeysByNumber(Answer):
    """What each key would bear of other numbers of them, for a sheet."""

    keys = members.Counts(of=lambda told: [round(one) for one in told.count])
    demand = members.Banded(FORCE)
    allowable = members.Series(FORCE)


class StiffeningCourse(Answer):
    """The cup with and without bars from day to day, for a sheet."""

    day = members.Series(DAYS, of="days")
    cup_free = members.Banded(LENGTH, of="free")
    cup_at_bars = members.Banded(LENGTH, of="at_bars")
    cup_between_bars = members.Banded(LENGTH, of="midway")
    moment = members.Banded(MOMENT)


def table(answered: Answered[Asked, Held]) -> Table:
    """The first years with the bars; of keys alone what each would bear by their number."""
    held, tied = answered.result.bars, answered.result.keys
    if held is not None:
        columns = StiffeningCourse().side_by_side(held)
        return Table(columns, answered.system, answered.asked.starts)
    assert tied is not None
    return Table(StiffeningKeysByNumber().side_by_side(tied.by_number), answered.system)


def _line(label: str, across: Any, values: Any, dimension: Dimension, system: System) -> Line:
    ends = band(values)
    low, high = (None, None) if ends is None else (dimension.write(end, system) for end in ends)
    return Line(label, across, dimension.write(values[:, 0], system), low, high)


def _chart_of_keys(tied: Keys, cautions: str, system: System) -> Chart:
    by_number = tied.by_number
    numbers = by_number.count
    bound = FORCE.write(by_number.allowable, system)
    return Chart(
        title="What each key bears",
        description="The force asked of each key against how many there are, and what one may be "
        "relied on to bear. Take care: " + cautions,
        x_label="keys along the check",
        panels=[
            Panel(
                f"force [{FORCE.of_system[system].symbol}]",
                [
                    _line("asked of each", numbers, by_number.demand, FORCE, system),
                    Line("to rely on", numbers, bound),
                ],
            )
        ],
    )


def chart(answered: Answered[Asked, Held]) -> Chart:
    """Cup and moment through the first years; of keys alone what each would bear."""
    held, tied, system = answered.result.bars, answered.result.keys, answered.system
    cautions = " ".join(say_cautions(answered.reply.cautions))
    if held is None:
        assert tied is not None
        return _chart_of_keys(tied, cautions, system)
    unit = LENGTH.of_system[system].symbol
    turn = MOMENT.of_system[system].symbol
    free, midway = (
        text.short_length(abs(float(largest[0])), system)
        for largest in (held.largest_free, held.largest_midway)
    )
    cases = "" if band(held.free) is None else "; the bands hold four cases in five"
    return Chart(
        title="Cup with and without bars",
        description=(
            f"Free the slab cups {free} at most, with {held.layout.count} bars {midway} between "
            f"them{cases}. Above zero the edges are up. Take care: {cautions}"
        ),
        x_label="from",
        starts=answered.asked.starts,
        panels=[
            Panel(
                f"cup [{unit}]",
                [
                    _line("free", held.days, held.free, LENGTH, system),
                    _line("between the bars", held.days, held.midway, LENGTH, system),
                ],
            ),
            Panel(
                f"moment [{turn}]",
                [_line("moment on each bar", held.days, held.moment, MOMENT, system)],
            ),
        ],
    )
