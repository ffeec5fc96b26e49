"""The board's `time` module under the virtual clock. Calendar functions are MicroPython's own."""

import utime as _real
from world_link import clock_s as time
from world_link import sleep, sleep_ms, sleep_us, ticks_add, ticks_diff, ticks_ms, ticks_us

ticks_cpu = ticks_us
mktime = _real.mktime


def time_ns():
    return time() * 1000000000


def gmtime(seconds=None):
    return _real.gmtime(time() if seconds is None else seconds)


def localtime(seconds=None):
    """The board knows no time zone: local time is what its clock was set to."""
    return _real.gmtime(time() if seconds is None else seconds)
