"""The board's alarms as an ear knows them: they go round without an end until somebody answers."""

from dataclasses import dataclass

from panchime_fw import sound_meanings

Tones = tuple[tuple[int, int, int], ...]

ALARMS: tuple[tuple[str, Tones], ...] = tuple((meaning, tones) for meaning, tones, repeats in sound_meanings.OWN if repeats)
# As many tones as it takes to tell one alarm from another: the longest begins like a shorter one.
TELLING_TONES = max(len(tones) for _, tones in ALARMS)
# The board steps its sounds every few milliseconds.
TOLERANCE_MS = 25.0


@dataclass(frozen=True)
class Tone:
    """One tone that was heard."""

    t_ms: float
    hz: int
    on_ms: float


@dataclass(frozen=True)
class Round:
    """An alarm that goes round: its meaning, and how many of its tones were heard."""

    meaning: str
    tones: Tones
    heard: int

    def goes_on_with(self, tone: Tone) -> bool:
        """Whether a tone is the next of this alarm; the last one of all may be cut short."""
        hz, on_ms, _ = self.tones[self.heard % len(self.tones)]
        return tone.hz == hz and tone.on_ms <= on_ms + TOLERANCE_MS

    def is_cut_short_by(self, tone: Tone) -> bool:
        """Whether a tone of it was ended before its time: somebody has answered."""
        return tone.on_ms < self.tones[self.heard % len(self.tones)][1] - TOLERANCE_MS

    def is_taken_over_by(self, tone: Tone) -> bool:
        """Whether a tone that is too short for this alarm begins another one, when more follows at once."""
        others = (tones for meaning, tones in ALARMS if meaning != self.meaning)
        return self.is_cut_short_by(tone) and any(fits(tones, 0, tone) for tones in others)


def alarm_in(heard: list[Tone], over: bool) -> tuple[int, str, Tones] | None:
    """Where the first alarm among the tones begins, what it means and its tones; None when there is none yet.

    ``over``: nothing more will come, so that fewer tones must do; one whole round at least.
    """
    for begin in range(len(heard)):
        rest = heard[begin : begin + TELLING_TONES]
        if len(rest) < TELLING_TONES and not over:
            return None
        for meaning, tones in sorted(ALARMS, key=lambda alarm: -len(alarm[1])):
            if len(rest) >= len(tones) and all(fits(tones, place, tone) for place, tone in enumerate(rest)):
                return begin, meaning, tones
    return None


def fits(tones: Tones, place: int, tone: Tone) -> bool:
    """Whether a tone is the one at that place of an alarm's rounds; those of a later round may be cut short."""
    hz, on_ms, _ = tones[place % len(tones)]
    return tone.hz == hz and (abs(tone.on_ms - on_ms) <= TOLERANCE_MS or (place >= len(tones) and tone.on_ms < on_ms))
