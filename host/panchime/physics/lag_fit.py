"""A probe's lag from a plunge: it approaches what it touches as T = T1 + (T0 - T1) exp(-(t - t0) / lag)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from panchime.errors import PanchimeError

# Where the exponential is looked at: before, the plunge itself is seen; after, the last bit.
FROM_SHARE = 0.15
TO_SHARE = 0.9
SMALLEST_STEP_C = 30.0
FEWEST = 4


@dataclass(frozen=True)
class LagFit:
    """The lag (seconds to 63.2 % of a step), the step, and the scatter of the readings about the exponential."""

    lag_s: float
    from_c: float
    to_c: float
    scatter_c: float
    readings: int


def fit_lag(seconds: Sequence[float], celsius: Sequence[float], from_c: float, to_c: float) -> LagFit:
    """Fits a straight line through the logarithm of what is left of the step, least squares.

    Readings in order of time, from the plunge on. Raises PanchimeError, with the way out, for a step too small or a probe too
    quick to be followed.
    """
    step = to_c - from_c
    if abs(step) < SMALLEST_STEP_C:
        raise PanchimeError(
            f"the step was {abs(step):.1f} °C, and at least {SMALLEST_STEP_C:.0f} are needed: go from ice water or room air "
            "into boiling water"
        )
    first = next((at for at, value in enumerate(celsius) if (value - from_c) / step >= FROM_SHARE), len(celsius))
    last = next((at for at, value in enumerate(celsius) if (value - from_c) / step > TO_SHARE), len(celsius))
    times = list(seconds[first:last])
    if len(times) < FEWEST or times[-1] - times[0] <= 0:
        raise PanchimeError(
            f"only {len(times)} readings lie on the way, the board reads four a second: the probe's lag is below a second. "
            "That needs no compensation: leave it at 0"
        )
    logs = [math.log((to_c - value) / step) for value in celsius[first:last]]
    mean_t, mean_log = math.fsum(times) / len(times), math.fsum(logs) / len(logs)
    slope = math.fsum((t - mean_t) * (log - mean_log) for t, log in zip(times, logs, strict=True)) / math.fsum(
        (t - mean_t) ** 2 for t in times
    )
    if slope >= 0:
        raise PanchimeError("the readings do not approach the new temperature: repeat the plunge, and hold the probe still")
    offset = mean_log - slope * mean_t
    misses = [to_c - step * math.exp(offset + slope * t) - value for t, value in zip(times, celsius[first:last], strict=True)]
    scatter = math.sqrt(math.fsum(miss * miss for miss in misses) / len(misses))
    return LagFit(-1.0 / slope, from_c, to_c, scatter, len(times))
