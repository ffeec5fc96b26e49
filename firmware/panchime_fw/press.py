"""One button: short, double, long.

`step(now_ms, down)` is called every pass and answers what has just become certain. A long press is told while it is still
held, since it stops the heater; a short one only when no second press followed. `at_ms` is when the finger came down, which
is the moment a mark is made for.
"""

from .ticks import ticks_diff

NONE = 0
SHORT = 1
DOUBLE = 2
LONG = 3

BOUNCE_MS = 20  # common practice, no source: small push buttons settle within 5 to 10 ms
DOUBLE_MS = 400  # from one release to the next press; common practice, no source
LONG_MS = 1000
# A hold that was not watched for this long may have been two presses: its second begins anew.
UNWATCHED_MS = 100

_UP = 0
_DOWN = 1
_AWAIT_SECOND = 2
_SECOND_DOWN = 3
_SPENT = 4  # a long press was told; wait for the release
_NEVER_SEEN = 5


class Button:
    def __init__(self) -> None:
        self._raw = False
        self._raw_ms = 0
        self._down = False
        self._state = _NEVER_SEEN
        self._since_ms = 0
        self._last_ms = 0
        self.at_ms = 0

    def step(self, now_ms: int, down: bool) -> int:
        if self._state == _NEVER_SEEN:
            # Down at power-on is a stuck button or a resting hand: nobody asked for anything.
            self._raw = down
            self._down = down
            self._state = _SPENT if down else _UP
        held = self._state == _DOWN or self._state == _SECOND_DOWN
        if held and ticks_diff(now_ms, self._last_ms) > UNWATCHED_MS:
            self._since_ms = now_ms
        self._last_ms = now_ms
        if down != self._raw:
            self._raw = down
            self._raw_ms = now_ms
        if self._raw != self._down and ticks_diff(now_ms, self._raw_ms) >= BOUNCE_MS:
            self._down = self._raw
            return self._changed(self._raw_ms)
        if held and ticks_diff(now_ms, self._since_ms) >= LONG_MS:
            self._state = _SPENT
            return LONG
        if self._state == _AWAIT_SECOND and not self._raw and ticks_diff(now_ms, self._since_ms) >= DOUBLE_MS:
            self._state = _UP
            return SHORT
        return NONE

    def _changed(self, at_ms: int) -> int:
        if self._down:
            if self._state == _AWAIT_SECOND:
                self._state = _SECOND_DOWN
            else:
                self._state = _DOWN
                self.at_ms = at_ms
            self._since_ms = at_ms
            return NONE
        told = NONE
        if self._state == _DOWN:
            self._state = _AWAIT_SECOND
            self._since_ms = at_ms
        else:
            if self._state == _SECOND_DOWN:
                told = DOUBLE
            self._state = _UP
        return told
