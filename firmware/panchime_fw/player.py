"""Steps tones in time and keeps their order: what matters more sounds first, and nothing is lost without being counted.

Knows nothing of hardware: `output(hz)` is called only when the pitch changes, with 0 for silence.
"""

from .ticks import ticks_add, ticks_diff

ALARM = 3
ANSWER = 2
MILESTONE = 1

QUEUE_LIMIT = 8
NO_TAG = -1


class Player:
    """`step(now_ms)` allocates nothing; `play` takes a compiled sound (a tuple of (hz, on_ms, off_ms))."""

    def __init__(self, output) -> None:
        self._output = output
        self._tones = [()] * QUEUE_LIMIT  # waiting, in the order they will sound
        self._levels = [0] * QUEUE_LIMIT
        self._tags = [NO_TAG] * QUEUE_LIMIT
        self._waiting = 0
        self._current = None
        self._current_level = 0
        self._current_tag = NO_TAG
        self._repeats = False
        self._index = 0
        self._sounding = False
        self._next_ms = 0
        self._hz = 0
        self.missed_tag = NO_TAG  # the tag of the last sound that found the queue full
        self.missed_count = 0

    @property
    def busy(self) -> bool:
        return self._current is not None or self._waiting > 0

    @property
    def sounding(self) -> bool:
        return self._hz != 0

    @property
    def level(self) -> int:
        """The level of what sounds now; 0 when silent."""
        return self._current_level if self._current is not None else 0

    def play(self, tones, level: int, now_ms: int, tag: int = NO_TAG, repeats: bool = False) -> bool:
        """Sounds at once if nothing of this level or above does, else waits its turn; False when it was dropped."""
        if self._current is None:
            self._begin(tones, level, tag, repeats, now_ms)
            return True
        if level > self._current_level:
            if not self._repeats:
                # What is interrupted starts again from its first tone afterwards: half a sound means nothing.
                self._wait(self._current, self._current_level, self._current_tag, True)
            self._begin(tones, level, tag, repeats, now_ms)
            return True
        return self._wait(tones, level, tag, False)

    def stop(self, level: int, now_ms: int) -> None:
        """Ends what sounds now if it has this level, and goes on with what waits."""
        if self._current is not None and self._current_level == level:
            self._current = None
            self._set(0)
            self._take_next(now_ms)

    def _wait(self, tones, level: int, tag: int, first_of_level: bool) -> bool:
        if self._waiting == QUEUE_LIMIT:
            lowest = self._waiting - 1
            if self._levels[lowest] >= level:
                self._miss(tag)
                return False
            self._miss(self._tags[lowest])
            self._waiting -= 1
        place = self._waiting
        while place > 0 and (
            self._levels[place - 1] < level or (first_of_level and self._levels[place - 1] == level)
        ):
            self._tones[place] = self._tones[place - 1]
            self._levels[place] = self._levels[place - 1]
            self._tags[place] = self._tags[place - 1]
            place -= 1
        self._tones[place] = tones
        self._levels[place] = level
        self._tags[place] = tag
        self._waiting += 1
        return True

    def _miss(self, tag: int) -> None:
        self.missed_tag = tag
        self.missed_count += 1

    def _take_next(self, now_ms: int) -> None:
        if self._waiting == 0:
            return
        tones, level, tag = self._tones[0], self._levels[0], self._tags[0]
        self._waiting -= 1
        for place in range(self._waiting):
            self._tones[place] = self._tones[place + 1]
            self._levels[place] = self._levels[place + 1]
            self._tags[place] = self._tags[place + 1]
        self._begin(tones, level, tag, False, now_ms)

    def _begin(self, tones, level: int, tag: int, repeats: bool, now_ms: int) -> None:
        self._current = tones
        self._current_level = level
        self._current_tag = tag
        self._repeats = repeats
        self._index = 0
        self._sounding = True
        self._next_ms = ticks_add(now_ms, tones[0][1])
        self._set(tones[0][0])

    def _set(self, hz: int) -> None:
        if hz != self._hz:
            self._hz = hz
            self._output(hz)

    def step(self, now_ms: int) -> None:
        """Brings the sound up to `now_ms`. A late call shortens no tone that has not begun."""
        if self._current is None:
            if self._waiting:
                self._take_next(now_ms)
            return
        if ticks_diff(now_ms, self._next_ms) < 0:
            return
        if self._sounding:
            self._sounding = False
            off_ms = self._current[self._index][2]
            if off_ms > 0:
                self._set(0)
                self._next_ms = ticks_add(now_ms, off_ms)
                return
        self._index += 1
        if self._index == len(self._current):
            if not self._repeats:
                self._current = None
                self._set(0)
                self._take_next(now_ms)
                return
            self._index = 0
        self._sounding = True
        self._next_ms = ticks_add(now_ms, self._current[self._index][1])
        self._set(self._current[self._index][0])
