"""What the script of a page draws: numbers in the shown unit, times in ms from the moment that counts as zero."""

import base64
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from panchime.analysis.smoothing import Floats
from panchime.report.view import RoastReport, Shown
from panchime.terminal.roast_screen import MARK_LETTERS, MILESTONE_LETTERS, TRIP_LETTER
from panchime.terminal.safe_text import safe_line
from panchime.terminal.trip_telling import drives_heater
from panchime_fw.plan import BEANS_OUT

FINEST = 100
NO_VALUE = 65535
GUIDE_LIMIT = 5000  # points of a guide curve; more is no curve a person made


def packed(values: Floats) -> dict[str, Any]:
    """Values as the page carries them: ``base`` and 16 bits a value, unsigned and little-endian, in base64.

    Number n stands for (``base`` + n) / ``per``; 65535 says that there is no value. Hundredths, unless the values are further
    apart than that allows.
    """
    known = ~np.isnan(values)
    per, base, most = FINEST, 0.0, 0.0
    while known.any():
        whole = np.rint(values[known] * per)
        base, most = float(whole.min()), float(whole.max())
        if most - base < NO_VALUE or per == 1:
            break
        per //= 10
    bits = np.full(len(values), NO_VALUE, dtype="<u2")
    bits[known] = np.minimum(np.rint(values[known] * per) - base, NO_VALUE - 1)
    return {"base": int(base), "per": per, "bits": base64.b64encode(bits.tobytes()).decode()}


def folded(moments_ms: NDArray[np.int64]) -> list[tuple[int, int]] | list[int]:
    """Moments as the page carries them: pairs of a step from the one before (the first from 0), and how many follow by it.

    Plain moments where the steps are too uneven for that to be shorter.
    """
    steps = np.diff(moments_ms, prepend=0)
    changes = np.flatnonzero(np.diff(steps)) + 1
    if len(changes) > len(steps) // 4:
        return list(moments_ms.tolist())
    places = [0, *changes.tolist(), len(steps)]
    return [(int(steps[first]), later - first) for first, later in pairwise(places) if later > first]


def page_data(payload: dict[str, Any]) -> dict[str, Any]:
    """A payload as the page carries it; ``curves.js`` unpacks it."""
    panels = [
        panel | {"lines": [line | {"values": packed(line["values"])} for line in panel["lines"]]} for panel in payload["panels"]
    ]
    return payload | {"t_ms": folded(payload["t_ms"]), "panels": panels}


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


def guide_values(report: RoastReport, shown: Shown, since_ms: NDArray[np.int64]) -> Floats | None:
    """The guide curve at moments since the zero, in the shown unit, NaN beyond its ends; None when the plan has none."""
    story = report.account.story
    points = guide_points(story.plan)
    if len(points) < 2:
        return None
    seconds = np.array([point[0] for point in points])
    degrees = np.array([point[1] for point in points])
    celsius = (degrees - 32.0) / 1.8 if story.unit == "F" else degrees
    values = np.interp(since_ms / 1000.0, seconds, celsius, left=np.nan, right=np.nan)
    return values * shown.difference(1.0) + shown.value(0.0)


def rates(report: RoastReport, shown: Shown) -> Floats:
    """The rate of rise while it is that of the beans: from the turning point (beans in) to beans out, or of the whole log."""
    curve, span = report.account.curve, report.account.span
    values = curve.rate_c_per_min * shown.difference(1.0)
    if span is None:
        return values
    return np.where((curve.t_s >= span.from_s) & (curve.t_s < span.to_s), values, np.nan)


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
    what = "cut off" if drives_heater(story.plan) else "alarm"
    found += [
        {"letter": TRIP_LETTER, "kind": "trip", "t_ms": trip.t_ms - report.zero_ms, "words": f"{what}: {trip.words}"}
        for trip in story.trips
    ]
    return found


def roast_payload(report: RoastReport, shown: Shown) -> dict[str, Any]:
    """One roast. Moments and values are arrays; a value that is not there is NaN."""
    story = report.account.story
    since_ms = np.rint(report.account.curve.t_s * 1000).astype(np.int64) - report.zero_ms
    readings = report.account.curve.reading_c * shown.difference(1.0) + shown.value(0.0)
    lines = [{"name": "the reading", "role": "reading", "values": readings}]
    guide = guide_values(report, shown, since_ms)
    if guide is not None:
        lines.append({"name": "guide curve", "role": "guide", "values": guide})
    beans_out = story.mark(BEANS_OUT)
    return {
        "kind": "roast",
        "since": report.since,
        "t_ms": since_ms,
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
