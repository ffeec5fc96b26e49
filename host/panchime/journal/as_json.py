"""Roasts for other programs, as docs/json.md describes them: degC, milliseconds, UTC."""

from typing import Any

from panchime.journal.journal import RoastEntry
from panchime.journal.story import Story
from panchime.journal.when import When
from panchime.terminal.words import iso


def celsius(centi: int | None) -> float | None:
    """Hundredths of degC as degC."""
    return None if centi is None else centi / 100


def when_as_json(when: When) -> dict[str, Any]:
    """When a roast began: ``exact``, ``bounded`` (an end may be null) or ``unknown``."""
    return {"kind": when.kind, "from_utc": iso(when.from_utc_ms), "to_utc": iso(when.to_utc_ms)}


def entry_as_json(entry: RoastEntry) -> dict[str, Any]:
    """One roast of a list."""
    return {
        "number": entry.number,
        "when": when_as_json(entry.when),
        "plan": entry.plan_name,
        "method": entry.method,
        "unit": entry.unit,
        "state": entry.state,
        "trip": entry.trip,
        "log_ms": entry.log_ms,
        "roast_ms": entry.roast_ms,
        "end_temperature_c": celsius(entry.end_centi),
        "peak_temperature_c": celsius(entry.peak_centi),
        "marks": [{"name": mark.name, "t_ms": mark.t_ms, "source": mark.source} for mark in entry.marks],
        "board": {"serial": entry.board_serial, "model": entry.board_model},
        "boot": entry.boot,
        "uptime_ms": entry.uptime_ms,
        "file": entry.file_name,
        "bytes": entry.bytes,
        "problems": list(entry.problems),
    }


def story_as_json(entry: RoastEntry, story: Story) -> dict[str, Any]:
    """One roast with everything its log holds."""
    return entry_as_json(entry) | {
        "firmware": story.firmware,
        "end_reason": story.end_reason,
        "plan_document": story.plan,
        "marks": [
            {
                "name": m.name,
                "t_ms": m.t_ms,
                "source": m.source,
                "temperature_c": celsius(m.temperature_centi),
                "recorded_ms": m.recorded_ms,
            }
            for m in story.marks
        ],
        "struck_marks": [{"name": m.name, "t_ms": m.t_ms, "source": m.source} for m in story.struck_marks],
        "stages": [
            {
                "name": p.name,
                "from": p.from_mark,
                "to": p.to_mark,
                "from_ms": p.from_ms,
                "to_ms": p.to_ms,
                "share": p.share,
            }
            for p in story.portions
        ],
        "milestones": [
            {
                "label": hit.label,
                "t_ms": hit.t_ms,
                "sounded": hit.sounded,
                "sound": hit.sound,
                "temperature_c": celsius(hit.temperature_centi),
            }
            for hit in story.milestones
        ],
        "relay": [{"t_ms": change.t_ms, "closed": change.closed} for change in story.relay],
        "trips": [
            {
                "t_ms": trip.t_ms,
                "reason": trip.reason,
                "words": trip.words,
                "reading_c": celsius(trip.reading_centi),
                "limit_c": celsius(trip.limit_centi),
            }
            for trip in story.trips
        ],
        "faults": [
            {"from_ms": span.from_ms, "to_ms": span.to_ms, "fault": span.fault, "words": span.words} for span in story.faults
        ],
        "samples": {
            "t_ms": story.t_ms,
            "bean_temperature_c": [celsius(centi) for centi in story.temperature_centi],
            "cold_junction_c": [celsius(centi) for centi in story.cold_centi],
            "rate_of_rise_c_per_min": [celsius(centi) for centi in story.rate_centi_per_min],
        },
    }
