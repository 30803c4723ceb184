"""Dates of a reply as a calendar (RFC 5545) that any calendar program reads.

icalendar is imported only when a calendar is asked for.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

PRODUCT: Final = "-//Stillwood//Stillwood//EN"
_MIDNIGHT: Final = datetime.time(tzinfo=datetime.UTC)


@dataclass(frozen=True, slots=True)
class Entry:
    """A whole day, or several, of a calendar.

    day : the first.
    title, text : what stands there, and what there is to say of it.
    days : how many.
    uncertain : whether it may not come to it.
    """

    day: datetime.date
    title: str
    text: str
    days: int = 1
    uncertain: bool = False


def write(entries: Sequence[Entry], made: datetime.date) -> bytes:
    """The calendar; the same entries give the same bytes.

    Parameters
    ----------
    entries : sequence of Entry
    made : date
        The day they are reckoned from: their stamp.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    stamp = datetime.datetime.combine(made, _MIDNIGHT)
    for number, one in enumerate(entries):
        event = Event()
        told = f"{made}|{number}|{one.day}|{one.title}|{one.text}"
        event.add("uid", f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@stillwood")
        event.add("dtstamp", stamp)
        event.add("dtstart", one.day)
        event.add("dtend", one.day + datetime.timedelta(days=one.days))
        event.add("summary", one.title)
        event.add("description", one.text)
        event.add("status", "TENTATIVE" if one.uncertain else "CONFIRMED")
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    written: bytes = calendar.to_ical()
    return written
