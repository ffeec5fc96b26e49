"""A board left on after a roast: when a chirp should remind of it."""

from .ticks import ticks_add, ticks_diff

FIRST_MS = 30 * 60000
EVERY_MS = 10 * 60000
CHIRPS = 6


class LeftOn:
    """Nobody is called before the first roast of this power-on, and after the last chirp nobody is called any more."""

    def __init__(self) -> None:
        self._left = 0
        self._next_ms = 0

    def roast_begins(self) -> None:
        self._left = 0

    def roast_ends(self, now_ms: int) -> None:
        self._left = CHIRPS
        self._next_ms = ticks_add(now_ms, FIRST_MS)

    def pressed(self, now_ms: int) -> None:
        """Somebody is there: counts anew."""
        if self._left:
            self.roast_ends(now_ms)

    def due(self, now_ms: int) -> bool:
        """True when a chirp is due; call it while no roast runs."""
        if self._left == 0 or ticks_diff(now_ms, self._next_ms) < 0:
            return False
        self._left -= 1
        self._next_ms = ticks_add(now_ms, EVERY_MS)
        return True
