"""How long the reading was in each band of degrees, and the heat above a base: both exact for a curve of straight pieces."""

from dataclasses import dataclass

import numpy as np

from panchime.analysis.smoothing import LONGEST_BRIDGE_S, Floats, Smoothed
from panchime.analysis.span import Span

BAND_C = 10.0


@dataclass(frozen=True)
class Band:
    """So many seconds from ``low_c`` up to ``high_c``."""

    low_c: float
    high_c: float
    seconds: float


def pieces(curve: Smoothed, span: Span) -> tuple[Floats, Floats, Floats]:
    """The straight pieces of the curve inside a span: duration in s, and the temperature at both ends. Gaps are left out."""
    inside = np.unique(np.clip(curve.t_s, span.from_s, span.to_s))
    inside = inside[(inside >= curve.t_s[0]) & (inside <= curve.t_s[-1])] if len(curve.t_s) else inside
    if len(inside) < 2:
        nothing = np.zeros(0)
        return nothing, nothing, nothing
    values = np.interp(inside, curve.t_s, curve.temperature_c)
    seconds = np.diff(inside)
    kept = seconds <= LONGEST_BRIDGE_S
    return seconds[kept], values[:-1][kept], values[1:][kept]


def time_in_bands(curve: Smoothed, span: Span, step_c: float = BAND_C, zero_c: float = 0.0) -> list[Band]:
    """The time in every band from the lowest that was touched to the highest. Bands begin at ``zero_c`` + whole steps."""
    seconds, begin, end = pieces(curve, span)
    if not len(seconds):
        return []
    low, high = np.minimum(begin, end), np.maximum(begin, end)
    low_band, high_band = (np.floor((end - zero_c) / step_c).astype(np.int64) for end in (low, high))
    first, last = int(low_band.min()), int(high_band.max())
    within = low_band == high_band
    whole = np.bincount(low_band[within] - first, seconds[within], last - first + 1)
    low, rise, seconds = low[~within], (high - low)[~within], seconds[~within]
    found = []
    for number in range(first, last + 1):
        floor, ceiling = zero_c + number * step_c, zero_c + (number + 1) * step_c
        part = np.clip(np.minimum(low + rise, ceiling) - np.maximum(low, floor), 0.0, None)
        found.append(Band(floor, ceiling, float(whole[number - first] + np.sum(part / rise * seconds))))
    return found


def heat_above(curve: Smoothed, span: Span, base_c: float) -> float:
    """Degree-minutes: the integral over time of what the temperature is above the base, in degC min."""
    seconds, begin, end = pieces(curve, span)
    over_begin, over_end = begin - base_c, end - base_c
    highest = np.maximum(over_begin, over_end)
    lowest = np.minimum(over_begin, over_end)
    rise = np.where(highest > lowest, highest - lowest, 1.0)
    crossing = highest * highest / (2.0 * rise)  # the triangle of a piece that crosses the base
    mean = np.where(lowest >= 0.0, (highest + lowest) / 2.0, np.where(highest > 0.0, crossing, 0.0))
    return float(np.sum(mean * seconds)) / 60.0
