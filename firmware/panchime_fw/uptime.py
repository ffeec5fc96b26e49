"""Milliseconds since power-on, beyond the wrap of the board's clock."""

from .ticks import ticks_diff


class Uptime:
    """`step` must be called at least once in six days; the loop calls it many times a second."""

    def __init__(self, now_ms: int) -> None:
        self._last_ms = now_ms
        self._whole_s = 0  # seconds and the rest apart, so that neither outgrows a small integer
        self._rest_ms = 0

    def step(self, now_ms: int) -> None:
        self._rest_ms += ticks_diff(now_ms, self._last_ms)
        self._last_ms = now_ms
        while self._rest_ms >= 1000:
            self._rest_ms -= 1000
            self._whole_s += 1

    def ms(self) -> int:
        return self._whole_s * 1000 + self._rest_ms
