"""The board's millisecond clock wraps at 2**30; every sum and difference goes through here.

A board has both operations built in, without leaving small integers. CPython has none and MicroPython's desktop build wraps
elsewhere, so there the same arithmetic stands in Python (MicroPython's `extmod/modtime.c`: a difference lies in half a period
to either side).
"""

import time

PERIOD = 1 << 30
HALF = PERIOD >> 1


def _add(ticks: int, delta: int) -> int:
    return (ticks + delta) & (PERIOD - 1)


def _diff(end: int, start: int) -> int:
    return ((end - start + HALF) & (PERIOD - 1)) - HALF


# One before zero shows where the clock wraps. `getattr`, because the stubs give ticks a type of their own.
_BUILT_IN = hasattr(time, "ticks_add") and getattr(time, "ticks_add")(0, -1) == PERIOD - 1
ticks_add = getattr(time, "ticks_add") if _BUILT_IN else _add
ticks_diff = getattr(time, "ticks_diff") if _BUILT_IN else _diff
