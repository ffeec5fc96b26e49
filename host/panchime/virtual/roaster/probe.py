"""A thermocouple probe: a first-order lag, and noise that a seed repeats."""

import math
import random


class Probe:
    """Follows what it touches with the time constant `lag_s`; `noise_c` is the standard deviation of one reading."""

    def __init__(self, start_c: float, lag_s: float, noise_c: float, seed: int) -> None:
        self.tip_c = start_c
        self.lag_s = lag_s
        self._noise_c = noise_c
        self._random = random.Random(f"probe {seed}")

    def step(self, touched_c: float, dt_s: float) -> None:
        """The exact answer of a first-order lag to a temperature that holds for `dt_s`."""
        self.tip_c = touched_c + (self.tip_c - touched_c) * math.exp(-dt_s / self.lag_s)

    def reading_c(self) -> float:
        """The tip's temperature with the noise of one conversion."""
        return self.tip_c + self._random.gauss(0.0, self._noise_c)
