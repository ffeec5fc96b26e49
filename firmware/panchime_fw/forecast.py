"""How warm it will be in a while: from two slopes, because a roast rises ever more slowly and a straight line comes too early.

The slope over 30 s is that of 15 s ago, the slope over 60 s that of 30 s ago. By how much the slope has fallen between them, it
is taken to go on falling; a rise of the slope is not carried on, since nothing but the flame makes one. One sample is too noisy
to start from: at 10 degC a minute half a degree of noise is three seconds. The start is the mean of the last four seconds.

Whole numbers, nothing allocated. Figures of its error: docs/sounds.md.
"""

from array import array

from .signal import LONGEST_WINDOW_MS, RateOfRise

FAST_MS = 30000
SLOW_MS = LONGEST_WINDOW_MS
# From the middle of the one window to that of the other, in tenths of a second.
APART_TENTHS = (SLOW_MS - FAST_MS) // 200
MEAN_SAMPLES = 16
# The mean is that of its middle, at four samples a second.
MEAN_AGE_MS = (MEAN_SAMPLES - 1) * 125
# The fall of the slope is half noise: of what is measured, three quarters gave the least error over 500 roasts.
TAKEN_PARTS = 3
OF_PARTS = 4
# No pan or popper heats beans faster (common practice, no source); the bound keeps every product below 2**30.
RATE_BOUND_CENTI_PER_MIN = 12000


class Forecast:
    """`add` every sample; `ready`; `centi(ahead_ms)`: hundredths of degC in so many ms, 0 to 200000.

    Largest intermediate: 12000 hundredths a minute for 2020 tenths of a second, 2.4e7.
    """

    def __init__(self) -> None:
        self._fast = RateOfRise(FAST_MS)
        self._slow = RateOfRise(SLOW_MS)
        self._last = array("i", bytes(4 * MEAN_SAMPLES))
        self.reset()

    def reset(self) -> None:
        """Forgets every sample: at a start and at every change of stage."""
        self._fast.reset()
        self._slow.reset()
        self._count = 0
        self._place = 0
        self._sum = 0
        self.ready: bool = False

    def add(self, t_ms: int, centi: int) -> None:
        self._fast.add(t_ms, centi)
        self._slow.add(t_ms, centi)
        if self._count == MEAN_SAMPLES:
            self._sum -= self._last[self._place]
        else:
            self._count += 1
        self._last[self._place] = centi
        self._sum += centi
        self._place = (self._place + 1) % MEAN_SAMPLES
        self.ready = self._fast.ready and self._count == MEAN_SAMPLES

    @property
    def rising(self) -> bool:
        return self.ready and self._fast.centi_per_min > 0

    def centi(self, ahead_ms: int) -> int:
        """Only when `ready`."""
        tenths = (ahead_ms + MEAN_AGE_MS) // 100
        rate = self._fast.centi_per_min
        if rate > RATE_BOUND_CENTI_PER_MIN:
            rate = RATE_BOUND_CENTI_PER_MIN
        elif rate < -RATE_BOUND_CENTI_PER_MIN:
            rate = -RATE_BOUND_CENTI_PER_MIN
        if self._slow.ready and self._slow.centi_per_min > rate > 0:
            fall = (self._slow.centi_per_min - rate) * TAKEN_PARTS // OF_PARTS
            # In the 15 s since the middle of the fast window it fell as much again as between the two middles.
            now = rate - fall * (FAST_MS // 200) // APART_TENTHS
            if now < 0:
                now = 0
            later = now - fall * tenths // APART_TENTHS
            # The slope does not turn over: a forecast does not say that the roast will cool.
            rate = (now + (later if later > 0 else 0)) // 2
        return self._sum // MEAN_SAMPLES + rate * tenths // 600
