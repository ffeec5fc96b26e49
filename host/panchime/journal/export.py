"""A roast as CSV for spreadsheets (RFC 4180: comma, CRLF, quotes doubled)."""

import csv
from bisect import bisect_left
from typing import TextIO

from panchime.journal.story import Story, fault_words

COLUMNS = (
    "time_s",
    "bean_temperature_c",
    "cold_junction_c",
    "rate_of_rise_c_per_min",
    "mark",
    "milestone",
    "relay",
    "fault",
)
# A spreadsheet takes a text that begins so for a formula and runs it (CWE-1236); an apostrophe makes it text again.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def write_csv(story: Story, file: TextIO) -> int:
    """Writes one row a sample slot, ``time_s`` counted from the start of the log; gives how many rows.

    A mark, a milestone and a trip of the cutoff stand in the row of the next slot after them; what comes after
    the last slot has a row of its own.
    """
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    rows = slots(story)
    times = [t_ms for t_ms, _ in rows]
    marks = placed(times, [(mark.t_ms, mark.name) for mark in story.marks])
    milestones = placed(times, [(hit.t_ms, hit.label if hit.sounded else f"{hit.label} (silent)") for hit in story.milestones])
    trips = placed(times, [(trip.t_ms, f"trip: {trip.words}") for trip in story.trips])
    relay = [(change.t_ms, change.closed) for change in story.relay]
    change = 0
    relay_word = "open" if relay else ""
    for place, (t_ms, cells) in enumerate(rows):
        while change < len(relay) and relay[change][0] <= t_ms:
            relay_word = "closed" if relay[change][1] else "open"
            change += 1
        temperature, cold, rate, fault = cells
        faults = [text for text in (fault, trips.get(place, "")) if text]
        writer.writerow(
            (
                f"{t_ms / 1000:.3f}",
                temperature,
                cold,
                rate,
                harmless(marks.get(place, "")),
                harmless(milestones.get(place, "")),
                relay_word,
                harmless("; ".join(faults)),
            )
        )
    return len(rows)


def slots(story: Story) -> list[tuple[int, tuple[str, str, str, str]]]:
    """Every moment that has a row: samples, slots without a reading, and what came after the last of them."""
    rows: dict[int, tuple[str, str, str, str]] = {}
    for index, t_ms in enumerate(story.t_ms):
        rows[t_ms] = (
            decimal(story.temperature_centi[index]),
            decimal(story.cold_centi[index]),
            decimal(story.rate_centi_per_min[index]),
            "",
        )
    for t_ms, fault in story.no_reading:
        rows.setdefault(t_ms, ("", "", "", fault_words(fault)))
    late = [
        *(mark.t_ms for mark in story.marks),
        *(hit.t_ms for hit in story.milestones),
        *(t.t_ms for t in story.trips),
    ]
    last = max(rows, default=-1)
    for t_ms in late:
        if t_ms > last:
            rows.setdefault(t_ms, ("", "", "", ""))
    return sorted(rows.items())


def placed(times: list[int], texts: list[tuple[int, str]]) -> dict[int, str]:
    """Each text in the row of the first slot at or after it; several in one row are joined."""
    found: dict[int, str] = {}
    for t_ms, text in texts:
        place = min(bisect_left(times, t_ms), len(times) - 1)
        found[place] = f"{found[place]}; {text}" if place in found else text
    return found


def decimal(centi: int | None) -> str:
    """Hundredths as a decimal number, nothing where there is none."""
    return "" if centi is None else f"{centi / 100:.2f}"


def harmless(text: str) -> str:
    """A text that no spreadsheet runs as a formula."""
    return "'" + text if text.startswith(FORMULA_STARTS) else text
