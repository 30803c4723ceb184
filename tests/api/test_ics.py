"""Calendars are RFC 5545: any calendar program reads them, and the same reply is the same bytes."""

from __future__ import annotations

import datetime
import subprocess
import sys

import icalendar
from hypothesis import given
from hypothesis import strategies as st

from api.replies.ics import Entry, write

MADE = datetime.date(2026, 1, 20)
words = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=200
)
entries = st.lists(
    st.builds(
        Entry,
        day=st.dates(datetime.date(1990, 1, 1), datetime.date(2090, 1, 1)),
        title=words,
        text=words,
        days=st.integers(1, 400),
        uncertain=st.booleans(),
    ),
    max_size=6,
)


def read(written: bytes) -> icalendar.Calendar:
    [calendar] = icalendar.Calendar.from_ical(written, multiple=True)
    assert isinstance(calendar, icalendar.Calendar)
    return calendar


@given(entries)
def test_what_is_written_is_read_again(told: list[Entry]) -> None:
    events = read(write(told, MADE)).events
    assert [str(event["summary"]) for event in events] == [one.title for one in told]
    assert [str(event["description"]) for event in events] == [one.text for one in told]
    assert [event.start for event in events] == [one.day for one in told]
    # RFC 5545 3.6.1: the end of a whole-day event is the day after its last.
    assert [(event.end - event.start).days for event in events] == [one.days for one in told]
    assert [str(event["status"]) for event in events] == [
        "TENTATIVE" if one.uncertain else "CONFIRMED" for one in told
    ]


@given(entries)
def test_lines_end_and_fold_as_the_standard_says(told: list[Entry]) -> None:
    """RFC 5545 3.1: CRLF after every line, and no line of more than 75 octets."""
    written = write(told, MADE)
    assert written.endswith(b"\r\n")
    lines = written.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line or b"\r" in line for line in lines)


@given(entries)
def test_every_event_has_a_name_of_its_own_and_a_stamp(told: list[Entry]) -> None:
    """RFC 5545 3.6.1 and 3.6: UID and DTSTAMP of an event, PRODID and VERSION of a calendar."""
    calendar = read(write(told, MADE))
    assert str(calendar["version"]) == "2.0"
    assert str(calendar["prodid"])
    names = [str(event["uid"]) for event in calendar.events]
    assert len(set(names)) == len(told)
    midnight = datetime.datetime(2026, 1, 20, tzinfo=datetime.UTC)
    assert all(event.decoded("dtstamp") == midnight for event in calendar.events)


@given(entries)
def test_the_same_entries_are_the_same_bytes(told: list[Entry]) -> None:
    assert write(told, MADE) == write(told, MADE)


def test_commas_semicolons_and_breaks_are_escaped() -> None:
    """RFC 5545 3.3.11."""
    written = write([Entry(MADE, "a, b; c", "one\ntwo \\ three")], MADE)
    assert b"SUMMARY:a\\, b\\; c\r\n" in written
    assert b"DESCRIPTION:one\\ntwo \\\\ three\r\n" in written
    assert b"DTSTART;VALUE=DATE:20260120\r\n" in written
    assert b"DTSTAMP:20260120T000000Z\r\n" in written


def test_the_library_is_loaded_with_the_first_calendar_alone() -> None:
    code = (
        "import sys; import api.app; from api.settings import Settings;"
        "api.app.create_app(Settings()); print('icalendar' in sys.modules)"
    )
    found = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert found.strip() == "False"
