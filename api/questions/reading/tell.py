"""How `/v1/reading` reads: as text and as a table."""

from __future__ import annotations

from api.question import Answered
from api.questions.reading.answer import Read, ReadingProfile
from api.questions.reading.ask import Asked
from api.replies import text
from api.replies.csv import Table
from api.replies.text import Page, Rows
from api.words import reason
from model.properties.meters import Corrected
from model.spread import Figure


def page(answered: Answered[Asked, Read]) -> Page:
    """The mean, the profile, every reading, and where to read next."""
    found = answered.result.found
    system = answered.system
    first = found.following[0]
    where = (
        f"{text.short_length(first.depth, system)} deep, at least "
        f"{text.short_length(first.from_end, system)} from the ends"
    )
    if found.profile is None:
        decision = (
            f"Too little to say: no reading of the slab's body is within range. Read {where}."
        )
    else:
        mean = text.percent(answered.result.told(found.profile.mean))
        decision = f"The slab holds {mean} on the mean of its thickness."
        if found.profile.contradicting:
            decision += " Some readings contradict the others: read those again first."
    parts: list[Rows | str] = []
    short: list[Rows | str] = []
    if found.profile is not None:
        rows = [
            [name, *_cells(answered.result.told(getattr(found.profile, member)))]
            for name, member in (
                ("mean", "mean"),
                ("top face", "top"),
                ("middle", "core"),
                ("bottom face", "bottom"),
                ("middle less faces", "core_less_faces"),
                ("top less bottom", "top_less_bottom"),
            )
        ]
        parts.append(Rows(rows, heads=["", "moisture", "likely"]))
        short.append(Rows(rows[:4], heads=["", "moisture", "likely"]))
    rows = [
        [
            _what(one),
            "" if one.moisture is None else f"{one.moisture:.1f} %",
            f"+/- {one.error:.1f}" if one.moisture is not None else f"{one.range} its range",
        ]
        for one in found.corrected[:40]
    ]
    parts.append(Rows(rows, title="Readings, corrected"))
    short.append(parts[-1])
    if len(found.corrected) > len(rows):
        parts.append(f"and {len(found.corrected) - len(rows)} more; see the JSON form.")
    if found.ends is not None:
        parts.append(reason(found.ends.says))
        short.append(parts[-1])
    rows = [
        [
            f"{text.short_length(one.depth, system)} under the {one.place}",
            f"{text.short_length(one.from_end, system)} from the ends",
        ]
        for one in found.following
    ]
    parts.append(Rows(rows, title="Read next"))
    short.append(parts[-1])
    return Page(decision, parts, short)


def _what(one: Corrected) -> str:
    """What was read, and where; a piece or board speaks of the slab and of no face."""
    if one.kind in ("oven_dry", "sample_board"):
        return one.kind.replace("_", "-" if one.kind == "oven_dry" else " ")
    return f"{one.kind}, {one.place}"


def _cells(figure: Figure) -> list[str]:
    ends = text.band(figure)
    return [f"{figure.value:.1f} %", *([ends] if ends else [])]


def table(answered: Answered[Asked, Read]) -> Table:
    """Moisture through the thickness; no rows when there is too little to say."""
    shape, profile = ReadingProfile(), answered.result.found.profile
    columns = shape.empty() if profile is None else shape.side_by_side(profile)
    return Table(columns, answered.system)
