"""What the guard must know after a reset: that a roast was under way, which trip is latched, whether the popper must rest.

Kept on flash in two copies as one short line:

    quiet                                   nothing to remember
    heating <roast>                         a roast is in preheat or roasting
    tripped <roast> <reason> <reading> <limit>

A power cut in the middle of "heating" means that beans may lie in a hot pan: the board comes back tripped.
"""

from . import trips

QUIET = "quiet"
HEATING = "heating"
TRIPPED = "tripped"


class GuardRecord:
    """`store` is a two-copy store. `save_due` tells that `save` has something to write; nothing is written unasked."""

    def __init__(self, store) -> None:
        self._store = store
        self._kept = QUIET
        self._wanted = QUIET
        self._number = 0
        self._reason = trips.NONE
        self._reading_centi = 0
        self._limit_centi = 0
        self.save_due = False

    def load(self) -> tuple:
        """(reason, reading_centi, limit_centi) to come back with; the reason is trips.NONE when all was quiet."""
        text = self._store.load()
        words = text.split() if text else [QUIET]
        try:
            if words[0] == TRIPPED:
                self._number, self._reason, self._reading_centi, self._limit_centi = [int(word) for word in words[1:5]]
                self._kept = self._wanted = TRIPPED
                return (self._reason, self._reading_centi, self._limit_centi)
            if words[0] == HEATING:
                self._number = int(words[1])
                self._kept = self._wanted = HEATING
                return (trips.RESET_IN_ROAST, 0, 0)
        except (ValueError, IndexError):
            pass
        if words[0] == QUIET:
            return (trips.NONE, 0, 0)
        # Both copies carry checksums, so this line was written by another firmware. Better one alarm too many.
        self._kept = self._wanted = TRIPPED
        return (trips.RESET_IN_ROAST, 0, 0)

    def heating(self, number: int) -> None:
        self._number = number
        self._want(HEATING)

    def tripped(self, reason: int, reading_centi: int, limit_centi: int) -> None:
        self._reason = reason
        self._reading_centi = reading_centi
        self._limit_centi = limit_centi
        self._want(TRIPPED)

    def quiet(self) -> None:
        self._want(QUIET)

    def _want(self, state: str) -> None:
        self._wanted = state
        self.save_due = state == TRIPPED or state != self._kept

    def save(self) -> bool:
        """Writes what is due: one bounded flash write. False when it failed; it stays due."""
        if self._wanted == TRIPPED:
            text = "%s %d %d %d %d" % (TRIPPED, self._number, self._reason, self._reading_centi, self._limit_centi)
        elif self._wanted == HEATING:
            text = "%s %d" % (HEATING, self._number)
        else:
            text = QUIET
        if not self._store.save(text):
            return False
        self._kept = self._wanted
        self.save_due = False
        return True
