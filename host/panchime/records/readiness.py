"""Which roasts are resting, at their best, or past it.

Whole beans peak between 7 and 14 days after the roast, some up to 21; ground coffee fades within days (common practice, no
source). Every window can be set.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from panchime.errors import PanchimeError
from panchime.journal.journal import RoastEntry
from panchime.journal.when import When
from panchime.records.kinds import COFFEE, kind_of
from panchime.records.records import when_of
from panchime.records.roast_record import RoastRecord
from panchime.records.settings import Settings

RESTING = "resting"
AT_ITS_BEST = "at its best"
PAST_ITS_BEST = "past its best"
NOT_KNOWN = "not known"
NO_COFFEE = "no coffee"
STATES = (RESTING, AT_ITS_BEST, PAST_ITS_BEST)
LONGEST_DAYS = 365
STALE_AFTER_DAYS = 21  # a roast that was never weighed is taken for drunk so long after its window
WINDOWS = "ready."


@dataclass(frozen=True)
class Window:
    """At its best from the one day to the other, both counted from the day of the roast."""

    from_days: int
    to_days: int


USUAL = Window(7, 14)


@dataclass(frozen=True)
class Readiness:
    """One roast's rest. ``days`` are the fewest and the most since the roast, None when its day is not known.

    ``state`` is one of ``STATES``, two of them joined by " or " when the day is known only roughly, ``NOT_KNOWN``, or
    ``NO_COFFEE``; then ``kind`` says what it was instead.
    """

    entry: RoastEntry
    record: RoastRecord
    window: Window
    when: When
    days: tuple[int, int] | None
    state: str
    kind: str = COFFEE

    @property
    def best_from(self) -> date | None:
        """The first day on which it is surely at its best, None when the day of the roast is not known."""
        return self._day(self.window.from_days)

    @property
    def best_until(self) -> date | None:
        """The last day of its best, None when the day of the roast is not known."""
        return self._day(self.window.to_days)

    def _day(self, days: int) -> date | None:
        latest = self.when.to_utc_ms
        return None if self.kind != COFFEE or self.days is None or latest is None else local_day(latest) + timedelta(days=days)

    @property
    def is_of_interest(self) -> bool:
        """Whether there is, or may be, coffee of it left."""
        if self.kind != COFFEE:
            return False
        if self.record.left_mg is not None:
            return self.record.left_mg > 0
        return self.days is None or self.days[0] <= self.window.to_days + STALE_AFTER_DAYS


def readiness(entry: RoastEntry, record: RoastRecord, settings: Settings, today: date) -> Readiness:
    """How far a roast has rested today."""
    window = window_for(record, settings)
    when = when_of(entry, record)
    kind = kind_of(entry, record)
    if kind != COFFEE:
        return Readiness(entry, record, window, when, None, NO_COFFEE, kind)
    if when.from_utc_ms is None or when.to_utc_ms is None:
        return Readiness(entry, record, window, when, None, NOT_KNOWN)
    days = (today - local_day(when.to_utc_ms)).days, (today - local_day(when.from_utc_ms)).days
    first, last = (STATES.index(state_at(count, window)) for count in days)
    return Readiness(entry, record, window, when, days, " or ".join(STATES[first : last + 1]))


def state_at(days: int, window: Window) -> str:
    """The state so many days after the roast."""
    if days < window.from_days:
        return RESTING
    return AT_ITS_BEST if days <= window.to_days else PAST_ITS_BEST


def local_day(utc_ms: int) -> date:
    """The day of a moment in this computer's time zone."""
    return datetime.fromtimestamp(utc_ms / 1000, UTC).astimezone().date()


def window_for(record: RoastRecord, settings: Settings) -> Window:
    """The window of a roast's lot, else of its degree, else the person's usual one, else 7 to 14 days."""
    names = []
    if record.lot:
        names.append(window_name("lot", record.lot.name))
    if record.degree:
        names.append(window_name("degree", record.degree))
    for name in [*names, window_name("all", "")]:
        found = settings.get(name)
        if found is not None:
            return Window(*found)
    return USUAL


def set_window(settings: Settings, kind: str, name: str, days: tuple[int, int] | None) -> None:
    """Sets the window of a lot or a degree by its name, or of all others; None takes it back.

    Raises PanchimeError when the days are no window.
    """
    if days is not None and not 0 <= days[0] <= days[1] <= LONGEST_DAYS:
        raise PanchimeError(
            f"{days[0]} to {days[1]} days is no window: write the first and the last day, from 0 to {LONGEST_DAYS}"
        )
    settings.put(window_name(kind, name), None if days is None else list(days))


def window_name(kind: str, name: str) -> str:
    """What a window is called among the settings."""
    return f"{WINDOWS}{kind}.{name.casefold()}"


def windows(settings: Settings) -> dict[tuple[str, str], Window]:
    """Every window that was set, by its kind and name."""
    found = {}
    for key, days in settings.named(WINDOWS).items():
        kind, _, name = key.partition(".")
        found[kind, name] = Window(*days)
    return found
