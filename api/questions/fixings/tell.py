"""How `/v1/fixings` reads: as text and as a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from api.question import Answered
from api.questions.fixings.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.text import Page, Rows
from api.units import FORCE, INCH, LENGTH, System
from api.words.holding import FIRST, HOLDING, PART, PILOT, YIELDS
from model.answers.fixings import Fitted
from model.behaviour.anchorage import Anchor
from model.behaviour.fixed_solid import Solid
from model.behaviour.fixings import WASHER, Fixings, Point
from model.behaviour.holdings import Judged
from model.spread import figure

MIND: Final = 0.5  # index above which fixing solid is advised against (judgement)


def page(answered: Answered[Asked, Fitted]) -> Page:
    """The decision, slots, withdrawal, places and what a solid fixing does."""
    fitted = answered.result
    planned, solid = fitted.planned, fitted.fixed_solid
    system = answered.system
    parts: list[Rows | str] = [
        _slots(planned, system, _fine),
        "The slots cover the likely range. The shank stands, on the day of fitting, so far from "
        "the slot's end nearer the fixed line. Washers at least "
        f"{_rule(WASHER * fitted.through, system)} across, snug only: turn until they touch, "
        "so that they slide.",
        Rows(_held_rows(planned, system), title="Drawn straight out, each"),
        f"Weakest: {PART[_weakest(planned).weakest]}.",
        Rows(_place_rows(planned, system), title="Where and how"),
        f"Pilot hole: {PILOT[planned.place.pilot_note]}.",
    ]
    moving = any(point.slot is not None for point in planned.points)
    if moving:
        parts.append(
            Rows(
                [_holding(one, system) for one in fitted.holdings],
                title="Other ways of holding the one that moves most",
                heads=["", "goes in", "out", "enough"],
            )
        )
    if solid is not None:
        parts += [
            Rows(_solid_rows(solid, system), title="If all were fixed solid to a bar"),
            f"Then first {FIRST[solid.first]}. A fixing yields sideways at about "
            f"{text.amount(solid.yields, FORCE, system, 0)} ({YIELDS[solid.yield_mode]}); the "
            "forces told are those if nothing gave.",
        ]
    washer = _rule(WASHER * fitted.through, system)
    short: list[Rows | str] = [
        _slots(planned, system, _rule),
        f"Washers {washer} across or more, snug only. {_bears(planned, system)}",
    ]
    if moving:
        short.append(_instead(fitted.holdings))
    return Page(_decision(fitted, system), parts, short)


def _slots(planned: Fixings, system: System, told: Callable[[float, System], str]) -> Rows:
    return Rows(
        [_row(planned, i, system, told) for i in range(len(planned.points))],
        title="Slots, from the fixed line outward",
        heads=["across", "inward", "likely", "outward", "slot", "shank at"],
    )


def _bears(planned: Fixings, system: System) -> str:
    """What fails first, and at what pull."""
    weakest = _weakest(planned)
    first = f"Pulled out, first {PART[weakest.weakest]}"
    if weakest.allowable is None:
        return f"{first}; no code says what it may bear."
    return f"{first}; it may bear {text.amount(weakest.allowable, FORCE, system, 0)} for good."


def _instead(holdings: Sequence[Judged]) -> str:
    """Which other ways of holding would do for the fixing that moves most."""
    enough = [HOLDING[one.holding.name][0] for one in holdings if one.suffices]
    if not enough:
        return "No other usual way of holding has travel enough; a sliding batten always has."
    return f"Other ways with travel enough: {', '.join(enough)}; a sliding batten always."


def _decision(fitted: Fitted, system: System) -> str:
    planned, solid, low, high = (
        fitted.planned,
        fitted.fixed_solid,
        fitted.driest,
        fitted.dampest,
    )
    nearest = planned.points[planned.nearest]
    longest = max(map(_slot_length, planned.points))
    at = text.short_length(nearest.across, system)
    length_ = text.short_length(longest, system)
    between = f"the slab will go between {low.value:.1f} and {high.value:.1f} % moisture."
    if len(planned.points) == 1 and planned.fixed is not None:
        told = f"The one fixing stands on the line that stays put and needs no slot; {between}"
    elif len(planned.points) == 1:
        told = (
            f"The point at {at} needs a slot {length_} long, or is the fixed one if the slab "
            f"moves from there; {between}"
        )
    elif planned.fixed is None:
        line = text.short_length(planned.fixed_at, system)
        told = (
            f"No fixing stands at {line}, the line the slab is taken to move from: slot them all, "
            f"up to {length_} long, and hold the slab there, or ask again with fixed_at at the one "
            f"to fix; {between}"
        )
    else:
        told = f"Fix the point at {at} and slot the others, up to {length_} long: {between}"
    left = planned.left_under_face
    if left <= 0.0:
        told += " The hole comes out of the show face: take a shorter fixing."
    elif any(note.code == "thin-under-show-face" for note in planned.notes):
        told += (
            f" Only {text.length(left, system)} is left under the show face: take a shorter one."
        )
    if solid is not None:
        ways = (("split", solid.wood_index), ("crush", solid.crush_index))
        goes = " and ".join(word for word, index in ways if float(index[0]) > MIND)
        if goes and solid.first in ("wood-splits", "wood-crushes"):
            told += f" Do not fix them all solid: the wood would {goes}."
        elif goes:
            told += f" Do not fix them all solid: {FIRST[solid.first]}, and the wood may {goes}."
    return told


def _holding(one: Judged, system: System) -> list[str]:
    name, size = HOLDING[one.holding.name]
    needs = "no such one" if one.needs is None else f"{size} {_rule(one.needs, system)}"
    return [
        name,
        _rule(one.travel.inward, system),
        _rule(one.travel.outward, system),
        "yes" if one.suffices else f"no: {needs}",
    ]


def _slot_length(point: Point) -> float:
    return 0.0 if point.slot is None else point.slot.length


def _row(
    planned: Fixings, i: int, system: System, told: Callable[[float, System], str]
) -> list[str]:
    point = planned.points[i]
    inward = figure(point.moves_in)
    return [
        text.short_length(point.across, system) + (" fixed" if i == planned.fixed else ""),
        _rule(inward.value, system),
        text.spread(inward, LENGTH, system),
        _rule(float(point.moves_out[0]), system),
        "round hole" if point.slot is None else told(point.slot.length, system),
        "" if point.slot is None else told(point.slot.shank_from_inner_end, system),
    ]


def _rule(metres: float, system: System) -> str:
    """A length as a rule shows it."""
    if system == "us":
        return f"{text.shop_fraction(metres / INCH)} in"
    return f"{1e3 * metres:.1f} mm"


def _fine(metres: float, system: System) -> str:
    """The same with its decimals beside it in inches."""
    told = _rule(metres, system)
    return f"{told[:-3]} ({metres / INCH:.3f})" if system == "us" else told


def _weakest(planned: Fixings) -> Anchor:
    """What the weakest of the fixings bears."""
    return min(planned.points, key=lambda point: point.anchor.allowable or 0.0).anchor


def _held_rows(planned: Fixings, system: System) -> list[list[str]]:
    held = planned.withdrawal
    weakest = _weakest(planned)
    named = [
        ("the weakest of them may bear", weakest.allowable),
        ("allowable (NDS), for good", held.allowable),
        ("mean of tests, about", held.test_mean[0] if held.test_mean else None),
        ("EN 1995, characteristic", held.en1995_characteristic),
        ("EN 1995, design, permanent", held.en1995_design),
        ("hardwood tests, characteristic", held.huebner_characteristic),
    ]
    return [
        [name, "none" if value is None else text.amount(value, FORCE, system, 0)]
        for name, value in named
    ]


def _place_rows(planned: Fixings, system: System) -> list[list[str]]:
    place = planned.place
    low, high = place.pilot
    pilot = f"{text.length(low, system)} to {text.length(high, system)}"
    return [
        ["from the edge, at least", text.length(place.edge, system)],
        ["from the end, at least", text.length(place.end, system)],
        ["apart along the grain, at least", text.length(place.apart, system)],
        ["pilot hole", pilot if low else f"none, or up to {text.length(high, system)}"],
        ["left under the show face", text.length(max(planned.left_under_face, 0.0), system)],
    ]


def _solid_rows(solid: Solid, system: System) -> list[list[str]]:
    rows = []
    for name, values in (
        ("force along the bar", solid.force),
        ("the same without set", solid.force_elastic),
    ):
        told = figure(values)
        band = text.spread(told, FORCE, system, 0)
        rows.append([name, text.amount(told.value, FORCE, system, 0), band])
    for name, values in (
        ("splits at 1: stress index", solid.wood_index),
        ("crushes at 1", solid.crush_index),
        ("fixings yield sideways at 1", solid.fixing_index),
        ("fixings pull out at 1", solid.pull_index),
    ):
        told = figure(values)
        band = "" if told.low is None else f"{told.low:.2f} to {told.high:.2f}"
        rows.append([name, f"{told.value:.2f}", band])
    return rows


def _hole(name: str, share: float) -> Any:
    """A measure of a slot; of a round hole so many times what passes through it."""
    return lambda one: (
        share * one.point.through if one.point.slot is None else getattr(one.point.slot, name)
    )


class FixingsRow(Answer):
    """One fixing in a sheet, central case."""

    across = members.Number(LENGTH, of="point.across")
    moves_in = members.Number(LENGTH, of=lambda one: one.point.moves_in[0])
    moves_out = members.Number(LENGTH, of=lambda one: one.point.moves_out[0])
    slot_length = members.Number(LENGTH, of=_hole("length", 1.0))
    slot_width = members.Number(LENGTH, of=_hole("width", 1.0))
    shank_from_inner_end = members.Number(LENGTH, of=_hole("shank_from_inner_end", 0.5))
    washer = members.Number(LENGTH, of=_hole("washer", WASHER))
    fixed = members.Count(of=lambda one: int(one.fixed))


def table(answered: Answered[Asked, Fitted]) -> Table:
    """A row for each fixing."""
    return Table(FixingsRow().columns(answered.result.positions), answered.system)
