"""When a reading has become steady, and what it then is."""

import math
from collections import deque
from statistics import fmean

# Readings toggle by the amplifier's step, 0.25 degC, and by the probe's noise; boiling water moves a little more.
SPREAD_C = 1.0
# Between the means of the two halves of the window: what is left of an exponential approach is then hardly more.
DRIFT_C = 0.1
FEWEST = 8


class Steadiness:
    """Takes readings with their times and knows whether the last `window_ms` of them hold one temperature."""

    def __init__(self, window_ms: int = 30_000, drift_c: float = DRIFT_C, spread_c: float = SPREAD_C) -> None:
        self._window_ms = window_ms
        self._drift_c = drift_c
        self._spread_c = spread_c
        self._readings: deque[tuple[int, float]] = deque()
        self._began_ms: int | None = None

    def reset(self) -> None:
        """Forgets everything: after a fault, or when the probe is elsewhere."""
        self._readings.clear()
        self._began_ms = None

    def add(self, t_ms: int, celsius: float) -> None:
        """Takes a reading; times do not run backwards."""
        if self._began_ms is None:
            self._began_ms = t_ms
        self._readings.append((t_ms, celsius))
        while self._readings[0][0] < t_ms - self._window_ms:
            self._readings.popleft()

    @property
    def share(self) -> float:
        """How much of the window is filled, 0 to 1."""
        if self._began_ms is None:
            return 0.0
        return min(1.0, (self._readings[-1][0] - self._began_ms) / self._window_ms)

    @property
    def mean_c(self) -> float:
        """The mean of the window's readings."""
        return fmean(celsius for _, celsius in self._readings)

    @property
    def noise_c(self) -> float:
        """The standard deviation about the mean."""
        mean = self.mean_c
        return math.sqrt(fmean((celsius - mean) * (celsius - mean) for _, celsius in self._readings))

    @property
    def drift_c(self) -> float:
        """The mean of the newer half of the window less that of the older."""
        middle = self._readings[-1][0] - self._window_ms / 2
        older = [celsius for t_ms, celsius in self._readings if t_ms < middle]
        newer = [celsius for t_ms, celsius in self._readings if t_ms >= middle]
        return fmean(newer) - fmean(older) if older and newer else 0.0

    @property
    def steady(self) -> bool:
        """True when the window is full, enough was read, and it neither drifts nor scatters."""
        if self.share < 1.0 or len(self._readings) < FEWEST:
            return False
        values = [celsius for _, celsius in self._readings]
        return max(values) - min(values) <= self._spread_c and abs(self.drift_c) <= self._drift_c
