"""Where values fall on an axis, and where its ticks stand."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

NICE_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000)


@dataclass(frozen=True)
class Scale:
    """A range of values laid over ``dots`` dots: ``low`` at dot 0, ``high`` at the last."""

    low: float
    high: float
    dots: int

    def dot(self, value: float) -> int:
        """The dot of a value, which may lie outside."""
        if self.high <= self.low:
            return 0
        return round((value - self.low) / (self.high - self.low) * (self.dots - 1))

    def ticks(self, most: int) -> list[float]:
        """At most about ``most`` round values inside the range."""
        step = step_for(self.high - self.low, most)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [number * step for number in range(first, last + 1)]


def step_for(span: float, most: int) -> float:
    """The smallest round step that cuts ``span`` into at most ``most`` parts."""
    return next((step for step in NICE_STEPS if span / step <= most), NICE_STEPS[-1])


def rounded_range(values: Iterable[float], step: float) -> tuple[float, float]:
    """The smallest range of whole steps that holds all values; one step at least."""
    values = list(values)
    low = math.floor(min(values) / step) * step
    high = math.ceil(max(values) / step) * step
    return (low, high) if high > low else (low, low + step)
