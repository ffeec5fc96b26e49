"""Filter and rate of rise, in whole numbers and without allocating."""

from array import array

# What the rate of rise is measured over unless the settings name another time.
RATE_WINDOW_MS = 30000
# Three spikes in every other sample of five would come through the median. A change by so much must show in the sample before
# as well, at least half of it.
LEAP_CENTI = 2500


class SpikeFilter:
    """The median of the last five samples: two wrong ones among five, on end or not, never come through.

    The delay is two samples, 0.5 s at 4 Hz. Three of five would not do: "wrong, right, wrong" passes a median of three.
    """

    def __init__(self) -> None:
        self._ring = [0] * 5
        self._sorted = [0] * 5
        self._at = 0
        self._empty = True
        self._told_centi = 0

    def reset(self) -> None:
        """Forgets what came before: after a fault, or at the start of a roast."""
        self._empty = True

    def add(self, centi: int) -> int:
        """Takes a sample, returns the median of it and the four before, the last one again where spikes make it leap; the first
        sample comes back as it is."""
        if self._empty:
            self._begin(centi)
        before = self._ring[self._at - 1]
        median = self._median(centi)
        told = self._told_centi
        if abs(median - told) < LEAP_CENTI or abs(before - told) >= LEAP_CENTI // 2:
            self._told_centi = median
        return self._told_centi

    def _begin(self, centi: int) -> None:
        self._empty = False
        self._told_centi = centi
        for index in range(5):
            self._ring[index] = centi

    def _median(self, centi: int) -> int:
        ring = self._ring
        ring[self._at] = centi
        self._at = (self._at + 1) % 5
        ordered = self._sorted
        for index in range(5):
            value = ring[index]
            place = index
            while place > 0 and ordered[place - 1] > value:
                ordered[place] = ordered[place - 1]
                place -= 1
            ordered[place] = value
        return ordered[2]


# Time is counted in ticks of 125 ms: at 4 Hz every other tick, so the usual sample time is exact.
TICK_MS = 125
TICK_BITS = 0xFFFF
# Temperature is counted in steps of 0.05 degC (a fifth of what the amplifiers resolve) from 275 degC, and held within
# -50 to 600 degC: no roast goes there, and the bound is what keeps the sums small.
STEP_CENTI = 5
BASE_CENTI = 27500
HIGHEST_STEPS = 6500
SHORTEST_WINDOW_MS = 20000
LONGEST_WINDOW_MS = 60000
# One sample each 250 ms, and both ends of the window.
SAMPLE_MS = 250
# A slope in steps a tick, as hundredths of a degree a minute.
CENTI_PER_MIN = STEP_CENTI * 60000 // TICK_MS
# The divisor is cut to 18 bits so that the remainder times CENTI_PER_MIN (2400) fits: 6.3e8.
DIVISOR_BELOW = 1 << 18


class RateOfRise:
    """The slope of the least-squares straight line through the samples of the last window_ms (20 to 60 s).

    ready: the samples span three quarters of the window. centi_per_min: the slope, hundredths of a degree a minute, 0
    until ready. Raises ValueError for a window outside 20 to 60 s; who can live with more noise names another shortest_ms.

    The rate is that of the middle of the window: a change shows with half the window's delay. A gap in the samples is
    bridged as long as it is no longer than a quarter of the window; after a longer one, or when the time runs
    backwards, the line starts anew. Times may be irregular; they are rounded to 125 ms.

    Sums are kept, not recomputed: with the newest sample as the origin of time (so t <= 0) and n samples,

        St = sum t, Sy = sum y, Stt = sum t^2, Sty = sum t y

    Bounds, for 60 s (480 ticks), n <= 241, |y| <= 6500, however the samples lie in the window:
    |Sty| <= 241 * 480 * 6500 = 7.6e8, Stt <= 5.6e7, |St| <= 1.2e5, |Sy| <= 1.6e6. Moving the origin by d <= 480 ticks
    subtracts d Sy <= 7.6e8 and gives sums of the same bounds, because what leaves the window is taken out first.
    """

    def __init__(self, window_ms: int = 30000, shortest_ms: int = SHORTEST_WINDOW_MS) -> None:
        if not shortest_ms <= window_ms <= LONGEST_WINDOW_MS:
            raise ValueError("rate window %d ms: must be %d to %d ms" % (window_ms, shortest_ms, LONGEST_WINDOW_MS))
        self._window = window_ms // TICK_MS
        self._ready_span = self._window * 3 // 4
        self._longest_gap = self._window // 4
        self._room = window_ms // SAMPLE_MS + 1
        self._ticks = array("H", bytes(2 * self._room))  # the last sixteen bits: what is kept is never an hour old
        self._steps = array("h", bytes(2 * self._room))
        self.reset()

    def reset(self) -> None:
        """Forgets every sample: after a fault, or at the start of a roast."""
        self.ready: bool = False
        self.centi_per_min: int = 0
        self._count = 0
        self._oldest = 0
        self._now = 0
        self._sum_t = 0
        self._sum_y = 0
        self._sum_tt = 0
        self._sum_ty = 0

    def add(self, t_ms: int, centi: int) -> None:
        """Takes a sample. t_ms: milliseconds below 2**30 - 125 (12 days) of a clock that does not run backwards."""
        now = (t_ms + TICK_MS // 2) // TICK_MS
        y = (centi - BASE_CENTI + STEP_CENTI // 2) // STEP_CENTI
        if y > HIGHEST_STEPS:
            y = HIGHEST_STEPS
        elif y < -HIGHEST_STEPS:
            y = -HIGHEST_STEPS
        if self._count:
            self._move_on(now)
        self._now = now
        place = self._oldest + self._count
        if place >= self._room:
            place -= self._room
        self._ticks[place] = now & TICK_BITS
        self._steps[place] = y
        self._count += 1
        # The new sample lies at t = 0: of the four sums only Sy changes.
        self._sum_y += y
        self.ready = now - self._ticks[self._oldest] & TICK_BITS >= self._ready_span
        self.centi_per_min = self._slope() if self.ready else 0

    def _move_on(self, now: int) -> None:
        """Drops what leaves the window, or all of it after a gap, and makes `now` the origin of time."""
        moved = now - self._now
        if moved < 0 or moved > self._longest_gap:
            self.reset()
            return
        while self._count == self._room or (self._count and now - self._ticks[self._oldest] & TICK_BITS > self._window):
            self._drop_oldest()
        # The order matters: Stt needs the old St, and all three need the old origin.
        self._sum_tt += moved * (moved * self._count - 2 * self._sum_t)
        self._sum_ty -= moved * self._sum_y
        self._sum_t -= moved * self._count

    def _drop_oldest(self) -> None:
        place = self._oldest
        t = -(self._now - self._ticks[place] & TICK_BITS)
        y = self._steps[place]
        self._sum_t -= t
        self._sum_y -= y
        self._sum_tt -= t * t
        self._sum_ty -= t * y
        self._count -= 1
        self._oldest = place + 1 if place + 1 < self._room else 0

    def _slope(self) -> int:
        """The slope in hundredths of a degree a minute.

        Slope = (Sty - St Sy / n) / (Stt - St^2 / n). St Sy would not fit, so time is first moved by c, the whole part
        of the mean: then 0 <= St < n, and St Sy <= 241 * 1.6e6 = 3.8e8.
        """
        n = self._count
        c = self._sum_t // n
        rest_t = self._sum_t - n * c
        over = self._sum_ty - c * self._sum_y - (rest_t * self._sum_y + (n >> 1)) // n
        under = self._sum_tt - c * (self._sum_t + rest_t) - (rest_t * rest_t + (n >> 1)) // n
        while under >= DIVISOR_BELOW:
            under >>= 1
            over = over + 1 >> 1
        whole = over // under
        over -= whole * under
        return whole * CENTI_PER_MIN + (over * CENTI_PER_MIN + (under >> 1)) // under
