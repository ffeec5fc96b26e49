"""When something was, as a person says it: a day, or a day with a time of this computer's time zone."""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from panchime.errors import PanchimeError

FORMS = "write a day (2026-11-20), a day and a time (2026-11-20 14:30), today or yesterday"


@dataclass(frozen=True)
class SaidWhen:
    """The person's word: as written, and the first and last moment it can mean (UTC, ms since 1970; equal when exact)."""

    text: str
    from_utc_ms: int
    to_utc_ms: int

    @property
    def is_exact(self) -> bool:
        """Whether a time of day was said."""
        return self.from_utc_ms == self.to_utc_ms


def said_when(text: str, now: datetime | None = None) -> SaidWhen:
    """What a person means. ``now`` has a time zone; the computer's clock if not given.

    Raises PanchimeError when it is no moment, or lies in the future.
    """
    now = now or datetime.now().astimezone()
    day = day_of(text, now.date())
    if day is not None:
        begin = datetime(day.year, day.month, day.day)
        end = begin + timedelta(days=1)
        said = SaidWhen(day.isoformat(), utc_ms_of(begin), utc_ms_of(end) - 1)
    else:
        try:
            moment = datetime.fromisoformat(text.strip())
            start_utc_ms = utc_ms_of(moment)
        except (ValueError, OverflowError) as error:
            raise PanchimeError(f"{text!r} is no moment: {FORMS}") from error
        said = SaidWhen(moment.isoformat(" ", "minutes"), start_utc_ms, start_utc_ms)
    if said.from_utc_ms > now.timestamp() * 1000:
        raise PanchimeError(f"{text!r} lies in the future: {FORMS}")
    return said


def day_of(text: str, today: date) -> date | None:
    """The day that is meant, None when the text names no day alone. Raises PanchimeError for a day no calendar has."""
    words = text.strip().lower()
    if words in ("today", "yesterday"):
        return today - timedelta(days=words == "yesterday")
    if not re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", words):
        return None
    year, month, day = (int(part) for part in words.split("-"))
    try:
        return date(year, month, day)
    except ValueError as error:
        raise PanchimeError(f"{text!r} is no day of the calendar ({error}): {FORMS}") from error


def past_day(text: str, what: str, today: date | None = None) -> date:
    """A day that is not in the future. Raises PanchimeError otherwise; ``what`` names it there."""
    today = today or date.today()
    day = day_of(text, today)
    if day is None or day > today:
        raise PanchimeError(f"{what} {text!r} must be a day up to today: write it like 2026-11-20, or today or yesterday")
    return day


def utc_ms_of(moment: datetime) -> int:
    """A moment as ms since 1970 UTC; without a zone it is this computer's."""
    return round(moment.astimezone().timestamp() * 1000) if moment.tzinfo is None else round(moment.timestamp() * 1000)
