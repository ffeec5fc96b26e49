"""The days of the best coffee as an iCalendar file (RFC 5545), for a phone's calendar."""

import uuid
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from panchime import __version__
from panchime.records.readiness import Readiness
from panchime.terminal.safe_text import safe_line

# A namespace of our own: the same roast keeps its UID, so that a phone which imports the file again replaces the entry.
NAMESPACE = uuid.UUID("5d0c9a3e-6f0b-5c39-9f5e-0c54a3b3a7d1")


def calendar_bytes(roasts: Sequence[Readiness], now: datetime | None = None) -> bytes:
    """An all-day entry from the first to the last day of each roast's best; roasts of an unknown day are left out."""
    from icalendar import Calendar, Event

    stamp = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    calendar = Calendar()
    calendar.add("prodid", f"-//Panchime//panchime {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for roast in roasts:
        if roast.best_from is None or roast.best_until is None:
            continue
        event = Event()
        event.add("uid", uid_of(roast))
        event.add("dtstamp", stamp)
        event.add("dtstart", roast.best_from)
        event.add("dtend", roast.best_until + timedelta(days=1))  # RFC 5545 3.6.1: the end is not part of the event
        event.add("summary", f"{title(roast)}: at its best")
        event.add("description", description(roast))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def uid_of(roast: Readiness) -> str:
    """What the entry is known by: made of the roast's own identity."""
    entry = roast.entry
    return f"{uuid.uuid5(NAMESPACE, f'{entry.board_serial}/{entry.boot}/{entry.uptime_ms}')}"


def title(roast: Readiness) -> str:
    """The roast by number and beans."""
    lot = roast.record.lot
    return f"Roast {roast.entry.number} {safe_line(lot.name if lot else roast.entry.plan_name)}"


def description(roast: Readiness) -> str:
    """The degree and the window, for whoever opens the entry."""
    degree = f"{safe_line(roast.record.degree)}, " if roast.record.degree else ""
    return f"{degree}best from day {roast.window.from_days} to day {roast.window.to_days} after the roast"
