"""The board's millisecond clock wraps at 2**30; every sum and difference goes through here.

A board has both operations built in, without leaving small integers. CPython has none and MicroPython's desktop build wraps
elsewhere, so there the same arithmetic stands in Python (MicroPython's `extmod/modtime.c`: a difference lies in half a period
to either side).
"""

import time

PERIOD = 1 << 30
HALF = PERIOD >> 1

if hasattr(time, "ticks_add") and time.ticks_add(0, -1) == PERIOD - 1:
    from time import ticks_add, ticks_diff
else:

    def ticks_add(ticks: int, delta: int) -> int:
        return (ticks + delta) & (PERIOD - 1)

    def ticks_diff(end: int, start: int) -> int:
        return ((end - start + HALF) & (PERIOD - 1)) - HALF
