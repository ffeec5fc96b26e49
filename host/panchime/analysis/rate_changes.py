"""Where the rate of rise stalls or jumps. The thresholds are a roaster's rules of thumb; common practice, no source."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from panchime.analysis.smoothing import Smoothed
from panchime.analysis.span import Span

STALL = "stall"
SUDDEN_RISE = "sudden rise"
STALL_BELOW_C_PER_MIN = 2.0
STALL_FOR_S = 15.0
JUMP_C_PER_MIN = 3.0
JUMP_WITHIN_S = 45.0
FIRST_CLIMB_S = 180.0  # the rate climbs after the turning point; its summit is sought this long


@dataclass(frozen=True)
class RateChange:
    """A stall or a sudden rise, seconds since the log's start; ``from_rate`` and ``to_rate`` in degC/min.

    For a stall ``to_rate`` is its lowest rate. For a sudden rise they are its bottom and its top.
    """

    kind: str
    from_s: float
    to_s: float
    from_rate: float
    to_rate: float


def rate_changes(curve: Smoothed, span: Span) -> list[RateChange]:
    """Stalls and sudden rises in the order in which they began, sought from the rate's first summit on."""
    inside = (curve.t_s >= span.from_s) & (curve.t_s < span.to_s) & ~np.isnan(curve.rate_c_per_min)
    t_s, rate = curve.t_s[inside], curve.rate_c_per_min[inside]
    if len(t_s) < 2:
        return []
    climb = int(np.searchsorted(t_s, t_s[0] + FIRST_CLIMB_S))
    summit = int(np.argmax(rate[:climb]))
    t_s, rate = t_s[summit:], rate[summit:]
    found = []
    for first, last in runs(rate < STALL_BELOW_C_PER_MIN):
        if t_s[last] - t_s[first] >= STALL_FOR_S:
            lowest = float(rate[first : last + 1].min())
            found.append(RateChange(STALL, float(t_s[first]), float(t_s[last]), float(rate[first]), lowest))
    earlier = np.searchsorted(t_s, t_s - JUMP_WITHIN_S)
    windows = np.column_stack((earlier, np.arange(1, len(rate) + 1))).ravel()
    lowest_before = np.minimum.reduceat(np.append(rate, np.inf), windows)[::2]
    for first, last in runs(rate - lowest_before >= JUMP_C_PER_MIN):
        bottom = int(earlier[first]) + int(np.argmin(rate[earlier[first] : first + 1]))
        top = bottom + int(np.argmax(rate[bottom : last + 1]))
        found.append(RateChange(SUDDEN_RISE, float(t_s[bottom]), float(t_s[top]), float(rate[bottom]), float(rate[top])))
    return sorted(found, key=lambda change: change.from_s)


def runs(holds: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of every run in which a condition holds."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], holds, [False])).astype(np.int8)))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]
