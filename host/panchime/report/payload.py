"""What the script of a page draws: numbers in the shown unit, times in ms from the moment that counts as zero."""

from collections.abc import Sequence
from math import isnan
from typing import Any

import numpy as np

from panchime.report.view import RoastReport, Shown
from panchime.terminal.roast_screen import MARK_LETTERS, MILESTONE_LETTERS, TRIP_LETTER
from panchime.terminal.safe_text import safe_line
from panchime_fw.plan import BEANS_OUT

GUIDE_LIMIT = 5000  # points of a guide curve; more is no curve a person made


def rounded(value: float | None) -> float | None:
    """A value as the page carries it: hundredths, None where there is none."""
    return None if value is None or isnan(value) else round(value, 2)


def guide_points(plan: dict[str, Any]) -> list[tuple[float, float]]:
    """The plan's guide curve: seconds since beans in and degrees in the plan's unit, by time; empty when it is none."""
    points = plan.get("guide")
    if not isinstance(points, list) or len(points) > GUIDE_LIMIT:
        return []
    for point in points:
        if not isinstance(point, (list, tuple)) or len(point) != 2:
            return []
        if not all(isinstance(number, (int, float)) and not isinstance(number, bool) and abs(number) < 1e6 for number in point):
            return []
    return sorted((float(seconds), float(degrees)) for seconds, degrees in points)


def guide_values(report: RoastReport, shown: Shown) -> list[float | None] | None:
    """The guide curve at the roast's readings in the shown unit; None when the plan has none."""
    story = report.account.story
    points = guide_points(story.plan)
    if len(points) < 2:
        return None
    seconds = np.array([point[0] for point in points])
    degrees = np.array([point[1] for point in points])
    celsius = (degrees - 32.0) / 1.8 if story.unit == "F" else degrees
    since_s = (np.array(story.t_ms) - report.zero_ms) / 1000.0
    values = np.interp(since_s, seconds, celsius, left=np.nan, right=np.nan)
    return [rounded(shown.value(value)) for value in values.tolist()]


def rates(report: RoastReport, shown: Shown) -> list[float | None]:
    """The rate of rise while it is that of the beans: from the turning point (beans in) to beans out, or of the whole log."""
    account = report.account
    from_s, to_s = (account.span.from_s, account.span.to_s) if account.span else (float("-inf"), float("inf"))
    return [
        rounded(shown.difference(rate)) if from_s <= t_s < to_s else None
        for t_s, rate in zip(account.curve.t_s.tolist(), account.curve.rate_c_per_min.tolist(), strict=True)
    ]


def flags(report: RoastReport) -> list[dict[str, Any]]:
    """Marks, milestones and trips with their letters."""
    story = report.account.story
    found = [
        {"letter": letter, "kind": "mark", "t_ms": mark.t_ms - report.zero_ms, "words": safe_line(mark.name)}
        for letter, mark in zip(MARK_LETTERS, story.marks, strict=False)
    ]
    found += [
        {"letter": letter, "kind": "milestone", "t_ms": hit.t_ms - report.zero_ms, "words": safe_line(hit.label)}
        for letter, hit in zip(MILESTONE_LETTERS, story.milestones, strict=False)
    ]
    found += [
        {"letter": TRIP_LETTER, "kind": "trip", "t_ms": trip.t_ms - report.zero_ms, "words": f"cut off: {trip.words}"}
        for trip in story.trips
    ]
    return found


def roast_payload(report: RoastReport, shown: Shown) -> dict[str, Any]:
    """One roast."""
    story = report.account.story
    zero_ms = report.zero_ms
    lines = [
        {
            "name": "the reading",
            "role": "reading",
            "values": [rounded(shown.value(centi / 100)) for centi in story.temperature_centi],
        }
    ]
    guide = guide_values(report, shown)
    if guide is not None:
        lines.append({"name": "guide curve", "role": "guide", "values": guide})
    beans_out = story.mark(BEANS_OUT)
    return {
        "kind": "roast",
        "since": report.since,
        "t_ms": [t_ms - zero_ms for t_ms in story.t_ms],
        "end_ms": (beans_out.t_ms if beans_out else story.end_ms) - report.zero_ms,
        "panels": [
            {"unit": f"°{shown.unit}", "step": 20 if shown.fahrenheit else 10, "lines": lines},
            {
                "unit": f"°{shown.unit}/min",
                "step": 10 if shown.fahrenheit else 5,
                "lines": [{"name": "rate of rise", "role": "rate", "values": rates(report, shown)}],
            },
        ],
        "flags": flags(report),
        "stages": [
            {"name": portion.name, "from_ms": portion.from_ms - report.zero_ms, "to_ms": portion.to_ms - report.zero_ms}
            for portion in story.portions
        ],
        "relay": moved(story.closed_spans, report.zero_ms),
        "faults": moved([(span.from_ms, span.to_ms) for span in story.faults], report.zero_ms),
    }


def moved(spans: Sequence[tuple[int, int]], zero_ms: int) -> list[tuple[int, int]]:
    """Spans of time counted from the zero."""
    return [(begin - zero_ms, end - zero_ms) for begin, end in spans]
