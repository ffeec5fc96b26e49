"""Readings that a person or a thermometer logged, from CSV text: times, temperatures, and whatever is wrong with them."""

import csv
import io
import re
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from panchime.errors import PanchimeError
from panchime_fw.units import to_centi

LARGEST_BYTES = 20_000_000
DELIMITERS = (",", ";", "\t")
LONGEST_MS = 4 * 3_600_000  # a log's times have 24 bits of ms, 4.6 hours
COLDEST_CENTI = -5000
HOTTEST_CENTI = 40000
# Between readings up to this far apart a straight line is taken; a longer gap stays a gap.
LONGEST_GAP_MS = 120_000
DENSE_MS = 250
GRID_MS = 1000


@dataclass(frozen=True)
class HandLog:
    """Readings in order of time: ms since the first one, hundredths of degC. ``first_s``: the file's time of the first one."""

    first_s: float
    t_ms: tuple[int, ...]
    temperature_centi: tuple[int, ...]


def read_hand_log(raw: bytes, place: str, time_column: str, temperature_column: str, unit: str) -> HandLog:
    """The readings in a CSV file with a heading row; columns are named as there, or counted from 1.

    Rows without a temperature are left out. Raises PanchimeError with the line when something is no time, no temperature,
    or times run backwards.
    """
    if len(raw) > LARGEST_BYTES:
        raise PanchimeError(
            f"{place} is {len(raw) / 1e6:.0f} MB large: that is no roast (at most {LARGEST_BYTES / 1e6:.0f} MB)"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PanchimeError(f"{place} is not UTF-8 text (byte {error.start + 1}): save it as UTF-8") from error
    heading = text.partition("\n")[0]
    delimiter = max(DELIMITERS, key=heading.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        names = [name.strip() for name in next(reader)]
        time_at = column(names, time_column, place)
        temperature_at = column(names, temperature_column, place)
        readings = [
            reading
            for row in reader
            if (reading := reading_of(row, time_at, temperature_at, unit, f"{place}, line {reader.line_num}"))
        ]
    except StopIteration:
        raise PanchimeError(f"{place} is empty: the first line must name the columns") from None
    except csv.Error as error:
        raise PanchimeError(f"{place}, line {reader.line_num}: {error}") from error
    if len(readings) < 2:
        raise PanchimeError(f"{place} has {len(readings)} readings: a roast needs two or more")
    first_s = readings[0][0]
    moments = [round((seconds - first_s) * 1000) for seconds, _ in readings]
    for line, (before, after) in enumerate(pairwise(moments), start=2):
        if after <= before:
            raise PanchimeError(f"{place}: reading {line} is not later than the one before it: sort the rows by time")
    if moments[-1] > LONGEST_MS:
        raise PanchimeError(f"{place} lasts more than {LONGEST_MS // 3_600_000} hours: is the time column in seconds?")
    return HandLog(first_s, tuple(moments), tuple(centi for _, centi in readings))


def column(names: list[str], wanted: str, place: str) -> int:
    """Where the column stands. Raises PanchimeError that lists the columns."""
    for index, name in enumerate(names):
        if name.casefold() == wanted.strip().casefold():
            return index
    if wanted.isdecimal() and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    raise PanchimeError(f"{place} has no column {wanted!r}; it has: {', '.join(names)}")


def reading_of(row: list[str], time_at: int, temperature_at: int, unit: str, place: str) -> tuple[float, int] | None:
    """Seconds and hundredths of degC in a row, None in a row without a temperature."""
    if len(row) <= max(time_at, temperature_at) or not row[temperature_at].strip():
        return None
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*°?\s*[CFcf]?\s*", row[temperature_at])
    if found is None:
        raise PanchimeError(f"{place}: {row[temperature_at]!r} is no temperature")
    centi = int(to_centi(float(found[1].replace(",", ".")), unit))
    if not COLDEST_CENTI <= centi <= HOTTEST_CENTI:
        raise PanchimeError(f"{place}: {row[temperature_at]!r} is no temperature of beans; is it in Fahrenheit (--unit F)?")
    return seconds_of(row[time_at], place), centi


def seconds_of(text: str, place: str) -> float:
    """A time as seconds: ``522``, ``522.5``, ``8:42`` or ``0:08:42``. Raises PanchimeError when it is none."""
    found = re.fullmatch(r"\s*(?:(?:(\d+):)?(\d+):)?(\d+(?:[.,]\d+)?)\s*", text)
    if found is None:
        raise PanchimeError(f"{place}: {text!r} is no time: seconds, m:ss and h:mm:ss are read")
    return int(found[1] or 0) * 3600.0 + int(found[2] or 0) * 60.0 + float(found[3].replace(",", "."))


def evenly(log: HandLog) -> tuple[int, list[tuple[int, int]]]:
    """The distance of samples in ms, and the samples: (ms, hundredths of degC).

    Readings further apart than a second become a sample a second on the straight line between them, so that rates and the
    temperatures of marks can be told; denser ones stay as they are, at most four a second.
    """
    pairs = list(zip(log.t_ms, log.temperature_centi, strict=True))
    gaps = [after[0] - before[0] for before, after in pairwise(pairs)]
    if median(gaps) <= GRID_MS:
        kept = [pairs[0]]
        for pair in pairs[1:]:
            if pair[0] - kept[-1][0] >= DENSE_MS:
                kept.append(pair)
        return DENSE_MS, kept
    samples: list[tuple[int, int]] = []
    for (from_ms, from_centi), (to_ms, to_centi_) in pairwise(pairs):
        if to_ms - from_ms > LONGEST_GAP_MS:
            samples.append((from_ms, from_centi))
            continue
        samples += [
            (t_ms, from_centi + round((to_centi_ - from_centi) * (t_ms - from_ms) / (to_ms - from_ms)))
            for t_ms in range(from_ms, to_ms, GRID_MS)
        ]
    return GRID_MS, [*samples, pairs[-1]]
