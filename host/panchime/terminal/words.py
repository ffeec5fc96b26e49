"""Numbers as people read them: temperatures, rates, lengths of time, moments, sizes."""

import re
from datetime import UTC, datetime

from panchime.journal.when import BOUNDED, EXACT, When
from panchime_fw.units import CELSIUS, FAHRENHEIT

NOTHING = "-"
BOARD_TEMPERATURE = re.compile(r"(-?\d+\.\d\d) C\b")  # as panchime_fw.trips.trip_words writes it


def degrees(centi: int | None, unit: str = CELSIUS, decimals: int = 0) -> str:
    """A temperature in the unit, with the degree sign; a dash when there is none."""
    if centi is None:
        return NOTHING
    return f"{in_unit(centi, unit):.{decimals}f} °{unit}"


def in_unit(centi: int, unit: str) -> float:
    """Hundredths of degC as degrees of the unit."""
    return centi * 9 / 500 + 32 if unit == FAHRENHEIT else centi / 100


def degrees_apart(difference_c: float, unit: str = CELSIUS, sign: str = "") -> str:
    """A difference of temperatures, given in degC, in degrees of the unit; ``sign`` "+" shows that of a rise too."""
    return f"{difference_c * 9 / 5 if unit == FAHRENHEIT else difference_c:{sign}.2f} °{unit}"


def board_words(text: str, unit: str = CELSIUS) -> str:
    """What a board says of a trip, its temperatures in the unit: the board itself knows only ``204.44 C``."""
    return BOARD_TEMPERATURE.sub(lambda found: degrees(round(float(found[1]) * 100), unit, 1), text)


def rate(centi_per_min: int | None, unit: str = CELSIUS) -> str:
    """A rate of rise in degrees of the unit a minute; a dash when there is none."""
    if centi_per_min is None:
        return NOTHING
    return f"{rate_in_unit(centi_per_min, unit):+.1f} °{unit}/min"


def rate_in_unit(centi_per_min: int, unit: str) -> float:
    """Hundredths of degC a minute as degrees of the unit a minute."""
    return centi_per_min * 9 / 500 if unit == FAHRENHEIT else centi_per_min / 100


def clock(ms: int | None) -> str:
    """A length of time as minutes and seconds; negative before the zero; a dash when there is none."""
    if ms is None:
        return NOTHING
    seconds = round(abs(ms) / 1000)
    sign = "-" if ms < 0 and seconds else ""
    return f"{sign}{seconds // 60}:{seconds % 60:02d}"


def share(part: float | None) -> str:
    """A part of a whole in percent; a dash when there is none."""
    return NOTHING if part is None else f"{part * 100:.0f} %"


def moment(utc_ms: int) -> str:
    """A moment in this computer's time zone, to the minute, with the zone's name."""
    return local(utc_ms).strftime("%Y-%m-%d %H:%M %Z")


def local(utc_ms: int) -> datetime:
    """A moment as this computer's local time."""
    return datetime.fromtimestamp(utc_ms / 1000, UTC).astimezone()


def iso(utc_ms: int | None) -> str | None:
    """A moment in UTC as ISO 8601, for other programs."""
    if utc_ms is None:
        return None
    return datetime.fromtimestamp(utc_ms / 1000, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def when(value: When) -> str:
    """When a roast began, no more exactly than it is known."""
    begin, end = value.from_utc_ms, value.to_utc_ms
    if value.kind == EXACT and begin is not None:
        return moment(begin)
    if value.kind == BOUNDED:
        if begin is not None and end is not None:
            return f"between {moment(begin)} and {moment(end)}"
        if end is not None:
            return f"before {moment(end)}"
        if begin is not None:
            return f"after {moment(begin)}"
    return "unknown"


def size(count: int) -> str:
    """A number of bytes."""
    return f"{count} bytes" if count < 10_000 else f"{count / 1000:.0f} kB"
