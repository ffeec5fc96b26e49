"""Finds "beans in" and "beans out" in the curve when nobody presses the button.

Beans in: a hot probe falls fast, since cold beans fell on it. Beans out: a probe in finished beans falls fast. Cast iron or
an oven left alone cools far slower than either (common practice, no source: a skillet loses some 10 degC a minute).
Temperatures are filtered hundredths of degC; `found_ms` is the moment the fall began.
"""

from .ticks import ticks_diff

FALL_WINDOW_MS = 20000
PLATEAU_CENTI = 50  # a reading this near to the peak still counts as the peak, so that the fall's start is not set too early
# So much within one window is a fall under way: 12 degC a minute.
UNDER_WAY_CENTI = 400
IN_FALL_CENTI = 1500
IN_ABOVE_CENTI = 12000
OUT_FALL_CENTI = 2000
OUT_ABOVE_CENTI = 18000
OUT_AFTER_MS = 180000


class FallFinder:
    """`step` answers True once the reading has fallen by `fall_centi` within 20 s, from a peak above `above_centi`."""

    def __init__(self, fall_centi: int, above_centi: int) -> None:
        self._fall_centi = fall_centi
        self._above_centi = above_centi
        self._started = False
        self._peak_centi = 0
        self._window_ms = 0  # when the window's peak was last seen
        self._under_way = False
        self.found_ms = 0

    def reset(self) -> None:
        self._started = False
        self._under_way = False

    def step(self, now_ms: int, filtered_centi: int) -> bool:
        # Once a fall is under way, only a rise ends it; before, whatever is near the peak still counts as the peak.
        margin_centi = PLATEAU_CENTI if self._under_way else -PLATEAU_CENTI
        if not self._started or filtered_centi >= self._peak_centi + margin_centi:
            # The higher of the two, or a slow drift within the plateau would walk the peak down.
            if not self._started or filtered_centi > self._peak_centi:
                self._peak_centi = filtered_centi
            self._started = True
            self._under_way = False
            self._window_ms = now_ms
            self.found_ms = now_ms
            return False
        if ticks_diff(now_ms, self._window_ms) > FALL_WINDOW_MS:
            # A new window. A fall that is under way already began where it began, not here.
            self._under_way = self._peak_centi - filtered_centi >= UNDER_WAY_CENTI
            if not self._under_way:
                self.found_ms = now_ms
            self._peak_centi = filtered_centi
            self._window_ms = now_ms
            return False
        return self._peak_centi >= self._above_centi and self._peak_centi - filtered_centi >= self._fall_centi
