"""Which part of a log is the roast: from the turning point, or from beans in, to beans out."""

from dataclasses import dataclass

import numpy as np

from panchime.analysis.smoothing import Smoothed
from panchime.journal.story import TURNING_WITHIN_MS, Story
from panchime_fw.plan import BEANS_IN, BEANS_OUT

AT_ONCE_S = 5.0  # a lowest reading this soon after beans in is none: the reading rose from the start


@dataclass(frozen=True)
class TurningPoint:
    """Where the smoothed curve is lowest after beans in; ``after_s`` counts from beans in."""

    t_s: float
    after_s: float
    temperature_c: float


@dataclass(frozen=True)
class Span:
    """The part of the log in which the probe shows the beans, seconds since the log's start."""

    from_s: float
    to_s: float


def turning_point(story: Story, curve: Smoothed) -> TurningPoint | None:
    """The turning point; None without beans in, or when the reading did not turn within five minutes or the next mark."""
    beans_in = story.mark(BEANS_IN)
    if beans_in is None:
        return None
    later = [mark.t_ms for mark in story.marks if mark.t_ms > beans_in.t_ms]
    until_s = min([*later, beans_in.t_ms + TURNING_WITHIN_MS]) / 1000.0
    begin_s = beans_in.t_ms / 1000.0
    first, last = np.searchsorted(curve.t_s, (begin_s, until_s))
    if last <= first:
        return None
    lowest = int(first) + int(np.argmin(curve.temperature_c[first:last]))
    if curve.t_s[lowest] - begin_s < AT_ONCE_S or lowest == last - 1:
        return None
    t_s = float(curve.t_s[lowest])
    return TurningPoint(t_s, t_s - begin_s, float(curve.temperature_c[lowest]))


def roast_span(story: Story, turning: TurningPoint | None) -> Span | None:
    """From the turning point (beans in when there is none) to beans out; without that mark to a trip, or to the log's end.

    None without beans in.
    """
    beans_in, beans_out = story.mark(BEANS_IN), story.mark(BEANS_OUT)
    if beans_in is None:
        return None
    from_s = turning.t_s if turning else beans_in.t_ms / 1000.0
    trips_ms = [trip.t_ms for trip in story.trips if trip.t_ms / 1000.0 > from_s]
    to_s = (beans_out.t_ms if beans_out else min([*trips_ms, story.end_ms])) / 1000.0
    return Span(from_s, to_s) if to_s > from_s else None
