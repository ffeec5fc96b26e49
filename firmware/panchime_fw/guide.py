"""The guide curve by ear: where the roast is against a curve that the person would like to repeat, in whole numbers.

A guide is a list of points (seconds from beans in, temperature); between two points it is a straight line, before the first and
after the last there is none. Nothing here allocates once the plan is there.
"""

from array import array

from . import sounds
from .signal import RateOfRise

# Time is counted in quarters of a second: an hour of them times 330 degC of hundredths is 4.8e8, still a small integer.
QUARTER_MS = 250
NO_GUIDE = -(1 << 29)
# A flame is felt in the beans, and by the probe, half a minute or more later: who is told only how far off the roast is now
# turns too late and too far, and the roast swings. So the guide speaks of how far off it will be. Of the spans tried on the
# virtual skillet this one served best.
AHEAD_MS = 60000
SLOPE_MS = 30000
# Off by more than this many bands counts as much.
MUCH_BANDS = 3
SILENT = ()
TONES = (
    sounds.GUIDE_MUCH_COOLER, sounds.GUIDE_COOLER, sounds.GUIDE_ON, sounds.GUIDE_HOTTER, sounds.GUIDE_MUCH_HOTTER,
)  # fmt: skip


class Guide:
    """`points`: [(ms, hundredths of degC)] with rising times, at least two, or none at all. `every_ms` 0: it says nothing."""

    def __init__(self, points=(), band_centi: int = 300, every_ms: int = 0) -> None:
        self.band_centi = band_centi
        self.every_ms = every_ms
        self._quarters = array("i", [t_ms // QUARTER_MS for t_ms, _ in points])
        self._centi = array("i", [centi for _, centi in points])

    def at(self, t_ms: int) -> int:
        """The guide's temperature at so many ms from beans in; NO_GUIDE outside it."""
        quarters = t_ms // QUARTER_MS
        last = len(self._quarters) - 1
        if last < 1 or quarters < self._quarters[0] or quarters > self._quarters[last]:
            return NO_GUIDE
        place = 1
        while self._quarters[place] < quarters:
            place += 1
        before = self._quarters[place - 1]
        span = self._quarters[place] - before
        start = self._centi[place - 1]
        return start + ((self._centi[place] - start) * (quarters - before) + (span >> 1)) // span

    def steps(self, off_centi: int) -> int:
        """-2 much cooler, -1 cooler, 0 within the band, 1 hotter, 2 much hotter."""
        size = off_centi if off_centi >= 0 else -off_centi
        if size <= self.band_centi:
            return 0
        steps = 2 if size > MUCH_BANDS * self.band_centi else 1
        return steps if off_centi > 0 else -steps


class GuideVoice:
    """Says every so often where the roast is going; within the band it is silent, but for the first time back in it.

    What is followed is the distance to the guide and not the temperature: whatever bends the roast bends the guide as well.
    """

    def __init__(self, guide: Guide) -> None:
        self.guide = guide
        self._slope = RateOfRise(SLOPE_MS)
        self.begin()

    def begin(self) -> None:
        """At beans in."""
        self._slope.reset()
        self._next_ms = self.guide.every_ms
        self._was_off = False
        self.off_centi = NO_GUIDE  # now; NO_GUIDE where there is none

    def add(self, t_ms: int, centi: int) -> None:
        """Takes a sample, at so many ms from beans in."""
        wanted_centi = self.guide.at(t_ms)
        if wanted_centi == NO_GUIDE:
            self.off_centi = NO_GUIDE
            return
        self.off_centi = centi - wanted_centi
        self._slope.add(t_ms, self.off_centi)

    @property
    def steps(self) -> int:
        """What it would say now, -2 to 2; 0 where there is no guide.

        Largest intermediate: the slope of a window with the widest swing in it, below 1e6, times 600.
        """
        if self.off_centi == NO_GUIDE:
            return 0
        coming_centi = self._slope.centi_per_min * (AHEAD_MS // 100) // 600 if self._slope.ready else 0
        return self.guide.steps(self.off_centi + coming_centi)

    def step(self, t_ms: int) -> tuple:
        """What to sound now, at so many ms from beans in; SILENT when there is nothing to say. Call it when a cue may sound."""
        every_ms = self.guide.every_ms
        if every_ms == 0 or t_ms < self._next_ms:
            return SILENT
        while self._next_ms <= t_ms:
            self._next_ms += every_ms
        if self.off_centi == NO_GUIDE:
            return SILENT
        steps = self.steps
        says = steps != 0 or self._was_off
        self._was_off = steps != 0
        return TONES[steps + 2] if says else SILENT
