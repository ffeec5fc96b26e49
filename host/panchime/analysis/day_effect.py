"""What the day's temperature does to the length of one's own roasts: a straight line, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

FEWEST_ROASTS = 6
FEWEST_DEGREES = 5.0  # between the coldest and the warmest day; less says nothing about days
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Day:
    """One roast: the day's temperature in degC and its length from beans in to beans out in minutes."""

    number: int
    day_c: float
    minutes: float


@dataclass(frozen=True)
class DayEffect:
    """The line through the roasts: minutes = ``at_zero_min`` + ``min_per_c`` x degC.

    ``low`` and ``high`` bound the slope at 95 percent confidence (Student's t, n - 2 degrees of freedom); ``r_squared`` is the
    part of the scatter that the line explains.
    """

    roasts: int
    coldest_c: float
    warmest_c: float
    at_zero_min: float
    min_per_c: float
    low: float
    high: float
    r_squared: float

    @property
    def certain(self) -> bool:
        """Whether the slope's sign is beyond doubt at that confidence."""
        return self.low > 0.0 or self.high < 0.0

    def minutes_at(self, day_c: float) -> float:
        """The length the line gives for a day."""
        return self.at_zero_min + self.min_per_c * day_c


@dataclass(frozen=True)
class NotEnough:
    """Why there is no line yet."""

    roasts: int
    words: str


def day_effect(days: Sequence[Day]) -> DayEffect | NotEnough:
    """The line through one's own roasts of the same plan, or what is missing for it."""
    if len(days) < FEWEST_ROASTS:
        return NotEnough(len(days), f"not enough roasts yet: {len(days)} of {FEWEST_ROASTS}")
    day_c = [day.day_c for day in days]
    coldest, warmest = min(day_c), max(day_c)
    if warmest - coldest < FEWEST_DEGREES:
        return NotEnough(len(days), f"not enough roasts yet: the days of the {len(days)} were too alike")
    from scipy.stats import linregress, t  # here: it takes a second to load, and most lists and pages come without a line

    line = linregress(day_c, [day.minutes for day in days])
    # Roasts of one and the same length lie on the line: scipy knows no correlation of what does not vary, and says NaN.
    error, correlation = (0.0 if isnan(value) else value for value in (float(line.stderr), float(line.rvalue)))
    reach = float(t.ppf((1.0 + CONFIDENCE) / 2.0, len(days) - 2)) * error
    slope = float(line.slope)
    return DayEffect(len(days), coldest, warmest, float(line.intercept), slope, slope - reach, slope + reach, correlation**2)
