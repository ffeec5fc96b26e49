"""How fast virtual time may run against the clock on the wall."""

import time
from collections.abc import Callable

# A host that falls behind by more than this slows the virtual clock down instead of letting it jump.
MAX_LAG_S = 0.1


class Pace:
    """Speed 1 is real time, N is N times faster, 0 is as fast as the host can."""

    def __init__(self, speed: float, wall_s: Callable[[], float] = time.monotonic) -> None:
        self._wall_s = wall_s
        self._from_us = 0
        self._from_wall_s = wall_s()
        self.speed = speed

    def restart(self, now_us: int, speed: float | None = None) -> None:
        """Counts from here on, at a new speed if one is given."""
        if speed is not None:
            self.speed = speed
        self._from_us = now_us
        self._from_wall_s = self._wall_s()

    def allowed_us(self) -> int:
        """The virtual time the wall clock has reached. Only for speeds above 0."""
        return self._from_us + round((self._wall_s() - self._from_wall_s) * self.speed * 1e6)

    def wait_s(self, now_us: int) -> float:
        """How long the wall clock needs to catch up with a virtual time; 0 when it need not wait."""
        if self.speed <= 0:
            return 0.0
        ahead_us = now_us - self.allowed_us()
        if ahead_us < -MAX_LAG_S * self.speed * 1e6:
            self.restart(now_us)
        return max(0.0, ahead_us / 1e6 / self.speed)
