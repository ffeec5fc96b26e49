"""Finds "beans in" and "beans out" in the curve when nobody presses the button.

Beans in: a hot probe falls fast, since cold beans fell on it. Beans out: a probe in finished beans falls fast. Cast iron or
an oven left alone cools far slower than either (common practice, no source: a skillet loses some 10 degC a minute).
Temperatures are filtered hundredths of degC; `found_ms` is the moment the fall began.
"""

from .ticks import ticks_diff

FALL_WINDOW_MS = 20000
PLATEAU_CENTI = 50  # a reading this near to the peak still counts as the peak, so that the fall's start is not set too early
IN_FALL_CENTI = 1500
IN_ABOVE_CENTI = 12000
OUT_FALL_CENTI = 2000
OUT_ABOVE_CENTI = 18000
OUT_AFTER_MS = 180000


class FallFinder:
    """`step` answers True once the reading has fallen by `fall_centi` from a peak above `above_centi` within 20 s."""

    def __init__(self, fall_centi: int, above_centi: int) -> None:
        self._fall_centi = fall_centi
        self._above_centi = above_centi
        self._peak_centi = 0
        self.found_ms = 0
        self._started = False

    def reset(self) -> None:
        self._started = False

    def step(self, now_ms: int, filtered_centi: int) -> bool:
        if (
            not self._started
            or filtered_centi >= self._peak_centi - PLATEAU_CENTI
            or ticks_diff(now_ms, self.found_ms) > FALL_WINDOW_MS
        ):
            # The higher of the two, or a slow drift within the plateau would walk the peak down.
            if not self._started or filtered_centi > self._peak_centi or (
                ticks_diff(now_ms, self.found_ms) > FALL_WINDOW_MS
            ):
                self._peak_centi = filtered_centi
            self.found_ms = now_ms
            self._started = True
            return False
        return (
            self._peak_centi >= self._above_centi and self._peak_centi - filtered_centi >= self._fall_centi
        )
