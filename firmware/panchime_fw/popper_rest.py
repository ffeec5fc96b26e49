"""A light-duty popper's duty: a popcorn appliance is made for minutes of heat, then a rest, not for a roast after a roast.

How long it has rested is counted in this power-on only. After a power cycle nobody knows how long the board was off, so the
whole rest is asked for again.
"""

from .ticks import ticks_diff

RESTING = "resting"
RESTED = "rested"


class PopperRest:
    """`store` is a two-copy store with load() and save(text)."""

    def __init__(self, store, now_ms: int) -> None:
        self._store = store
        self._resting = store.load() == RESTING
        self._since_ms = now_ms
        self.save_due = False

    def heated(self, now_ms: int) -> None:
        """The heater has just gone off."""
        self._since_ms = now_ms
        if not self._resting:
            self._resting = True
            self.save_due = True

    def left_ms(self, rest_ms: int, now_ms: int) -> int:
        """How long it must still rest; 0 when it may heat."""
        if not self._resting or rest_ms == 0:
            return 0
        return max(0, rest_ms - ticks_diff(now_ms, self._since_ms))

    def step(self, rest_ms: int, now_ms: int) -> None:
        """Ends the rest when it is over."""
        if self._resting and not self.save_due and self.left_ms(rest_ms, now_ms) == 0:
            self._resting = False
            self.save_due = True

    def save(self) -> bool:
        """Writes what is due: one bounded flash write. False when it failed; it stays due."""
        if not self._store.save(RESTING if self._resting else RESTED):
            return False
        self.save_due = False
        return True
