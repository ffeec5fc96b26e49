"""Steps tones in time and keeps their order: what matters more sounds first, and nothing is lost without being counted.

    ALARM       interrupts everything and goes on until it is stopped
    ANSWER      to a press: interrupts cues, which then start again from their first tone, because half a sound means nothing
    URGENT      a cue that passes those that wait
    MILESTONE   cues, in the order they came due
    TICK        a beat: only while nothing else sounds or waits, ended by whatever comes

Two cues never run into one another: see CUE_GAP_MS. What has waited too long is missed, not told late.
Knows nothing of hardware: `output(hz)` is called only when the pitch changes, with 0 for silence.
"""

from .ticks import ticks_add, ticks_diff

ALARM = 5
ANSWER = 4
URGENT = 3
MILESTONE = 2
TICK = 1

QUEUE_LIMIT = 8
NO_TAG = -1
# From the last tone of any sound to the first of a cue. Longer than every pause within a sound (the longest, between the
# letters of slow Morse, is 700 ms), so that the ear knows where one ends, and longer than a fire signal's pause of 0.5 s could
# be taken for: three cues in a row make no fire signal.
CUE_GAP_MS = 1000
# A cue is about now: one that has waited for so long behind an alarm would lie.
STALE_MS = 30000
# A step that comes no later than this keeps to the times as they were planned, so that lateness does not add up. Later than
# that the rest of the sound moves, or a short tone would be cut to nothing.
LATE_MS = 20
STEADY_MS = 0x7FFFFFF


def _nothing(tag, now_ms):
    """Whoever wants to know what was lost gives its own."""


class Player:
    """`step(now_ms)` allocates nothing; `play` takes a compiled sound (a tuple of (hz, on_ms, off_ms)).

    `missed(tag, now_ms)` is told of a sound that was taken and then could not sound after all.
    """

    def __init__(self, output, missed=_nothing) -> None:
        self._output = output
        self._missed = missed
        self._tones = [()] * QUEUE_LIMIT  # waiting, in the order they will sound
        self._levels = [0] * QUEUE_LIMIT
        self._tags = [NO_TAG] * QUEUE_LIMIT
        self._since_ms = [0] * QUEUE_LIMIT
        self._waiting = 0
        self.current = None  # the tones that sound now
        self._current_level = 0
        self._current_tag = NO_TAG
        self._repeats = False
        self._index = 0
        self._sounding = False
        self._next_ms = 0
        self._hz = 0
        self._quiet = False  # no cue may begin before _quiet_until_ms
        self._quiet_until_ms = 0
        self.missed_tag = NO_TAG  # the tag of the last sound that was lost
        self.missed_count = 0

    @property
    def busy(self) -> bool:
        return self.current is not None or self._waiting > 0

    @property
    def free(self) -> bool:
        """Nothing sounds, nothing waits, and the last sound is far enough back: a cue would begin at once."""
        return self.current is None and self._waiting == 0 and not self._quiet

    @property
    def sounding(self) -> bool:
        return self._hz != 0

    @property
    def level(self) -> int:
        """The level of what sounds now; 0 when silent."""
        return self._current_level if self.current is not None else 0

    def steady_ms(self, now_ms: int) -> int:
        """How long the piezo will stay as it is: room for work that takes its time."""
        if not self.busy:
            return STEADY_MS
        return ticks_diff(self._next_ms, now_ms)

    def play(self, tones, level: int, now_ms: int, tag: int = NO_TAG, repeats: bool = False) -> bool:
        """Sounds at once if it may, else waits its turn; False when it was dropped."""
        self._pass_quiet(now_ms)
        if level == TICK:
            if not self.free:
                return False
        elif self.current is not None and self._current_level != TICK:
            # An alarm gives way to another alarm: the newer one knows more.
            if level < ANSWER or level < self._current_level or (level == self._current_level and level != ALARM):
                return self._wait(tones, level, tag, False, now_ms)
            if not self._repeats:
                self._wait(self.current, self._current_level, self._current_tag, True, now_ms)
        elif level < ANSWER and (self._waiting > 0 or self._quiet):
            self._next_ms = self._quiet_until_ms
            return self._wait(tones, level, tag, False, now_ms)
        self._begin(tones, level, tag, repeats, now_ms)
        return True

    def stop(self, level: int, now_ms: int) -> None:
        """Ends what sounds now if it has this level, and goes on with what waits."""
        if self.current is not None and self._current_level == level:
            self._set(0)
            self._ended(now_ms, now_ms)
            self._take_next(now_ms)

    def _wait(self, tones, level: int, tag: int, first_of_level: bool, now_ms: int) -> bool:
        if self._waiting == QUEUE_LIMIT:
            lowest = self._waiting - 1
            if self._levels[lowest] >= level:
                self._count(tag)
                # What was interrupted was taken before; whoever has just asked learns it from the answer.
                if first_of_level:
                    self._missed(tag, now_ms)
                return False
            self._waiting -= 1
            self._count(self._tags[lowest])
            self._missed(self._tags[lowest], now_ms)
        place = self._waiting
        while place > 0 and (
            self._levels[place - 1] < level or (first_of_level and self._levels[place - 1] == level)
        ):
            self._move(place - 1, place)
            place -= 1
        self._tones[place] = tones
        self._levels[place] = level
        self._tags[place] = tag
        self._since_ms[place] = now_ms
        self._waiting += 1
        return True

    def _move(self, place: int, to: int) -> None:
        self._tones[to] = self._tones[place]
        self._levels[to] = self._levels[place]
        self._tags[to] = self._tags[place]
        self._since_ms[to] = self._since_ms[place]

    def _remove_first(self) -> None:
        self._waiting -= 1
        for place in range(self._waiting):
            self._move(place + 1, place)

    def _count(self, tag: int) -> None:
        self.missed_tag = tag
        self.missed_count += 1

    def _pass_quiet(self, now_ms: int) -> None:
        if self._quiet and ticks_diff(now_ms, self._quiet_until_ms) >= 0:
            self._quiet = False

    def _take_next(self, now_ms: int) -> None:
        self._pass_quiet(now_ms)
        while self._waiting:
            if self._levels[0] < ANSWER:
                if ticks_diff(now_ms, self._since_ms[0]) > STALE_MS:
                    tag = self._tags[0]
                    self._remove_first()
                    self._count(tag)
                    self._missed(tag, now_ms)
                    continue
                if self._quiet:
                    self._next_ms = self._quiet_until_ms
                    return
            tones, level, tag = self._tones[0], self._levels[0], self._tags[0]
            self._remove_first()
            self._begin(tones, level, tag, False, now_ms)
            return

    def _begin(self, tones, level: int, tag: int, repeats: bool, now_ms: int) -> None:
        self.current = tones
        self._current_level = level
        self._current_tag = tag
        self._repeats = repeats
        self._index = 0
        self._sounding = True
        self._next_ms = ticks_add(now_ms, tones[0][1])
        self._set(tones[0][0])

    def _ended(self, silent_since_ms: int, now_ms: int) -> None:
        self.current = None
        if self._current_level != TICK:
            self._quiet = True
            self._quiet_until_ms = ticks_add(silent_since_ms, CUE_GAP_MS)
            self._pass_quiet(now_ms)

    def _set(self, hz: int) -> None:
        if hz != self._hz:
            self._hz = hz
            self._output(hz)

    def step(self, now_ms: int) -> None:
        """Brings the sound up to `now_ms`."""
        if self.current is None:
            if self._waiting:
                self._take_next(now_ms)
            elif self._quiet:
                self._pass_quiet(now_ms)
            return
        late_ms = ticks_diff(now_ms, self._next_ms)
        if late_ms < 0:
            return
        from_ms = self._next_ms if late_ms <= LATE_MS else now_ms
        tone = self.current[self._index]
        if self._sounding:
            self._sounding = False
            if tone[2] > 0:
                self._set(0)
                self._next_ms = ticks_add(from_ms, tone[2])
                return
        self._index += 1
        if self._index == len(self.current):
            if not self._repeats:
                self._set(0)
                self._ended(ticks_add(from_ms, -tone[2]), now_ms)
                self._take_next(now_ms)
                return
            self._index = 0
        self._sounding = True
        tone = self.current[self._index]
        self._next_ms = ticks_add(from_ms, tone[1])
        self._set(tone[0])
