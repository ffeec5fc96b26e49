"""Listens to the virtual piezo and says which sound it was, as a person would by ear: by rhythm and pitch alone."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from panchime.demo.hearing_alarm import TOLERANCE_MS, Round, Tone, Tones, alarm_in
from panchime.virtual.events import Event
from panchime_fw import sound_meanings, sounds
from panchime_fw.plan import Plan

# A rest longer than any inside a sound ends it: the longest is 700 ms, and between two cues the board leaves a second.
REST_MS = 900.0
UNKNOWN = "a sound that is in no plan"
CUT_OFF = "a sound that the alarm cut off"

# An alarm repeats until somebody answers, so it is no sound that ends (hearing_alarm.py); a beat says nothing by itself.
OWN_SOUNDS = {meaning: tones for meaning, tones, repeats in sound_meanings.OWN if not repeats and tones is not sounds.TICK}

TICK_HZ, TICK_MS, _ = sounds.TICK[0]


@dataclass(frozen=True)
class Heard:
    """A sound: when it began, in ms of the virtual clock, what it means, how it is written in a plan ("" when it is not).

    ``is_alarm``: it began then, and goes on until somebody answers.
    """

    t_ms: float
    meaning: str
    written: str
    is_alarm: bool = False


class Ear:
    """Gathers tone events; `finished(now_ms)` gives the sounds that are over by then."""

    def __init__(self, plan: Plan) -> None:
        self._known: list[tuple[Tones, str, str]] = [
            (milestone.tones, milestone.label, milestone.sound) for milestone in plan.milestones
        ]
        self._known += [(tones, meaning, "") for meaning, tones in OWN_SOUNDS.items()]
        self._tones: list[Tone] = []
        self._sounding: Event | None = None
        self._alarm: Round | None = None

    def hear(self, event: Event) -> None:
        """Takes one `tone` event of the virtual board."""
        if self._sounding is not None:
            on_ms = event["t_ms"] - self._sounding["t_ms"]
            if self._sounding["hz"] != TICK_HZ or on_ms > TICK_MS + TOLERANCE_MS:
                self._tones.append(Tone(self._sounding["t_ms"], self._sounding["hz"], on_ms))
        self._sounding = event if event["hz"] else None

    def finished(self, now_ms: float) -> list[Heard]:
        """The sounds that a rest has ended, oldest first."""
        heard: list[Heard] = self._alarms(now_ms)
        if self._sounding is not None:
            return heard
        while self._tones:
            length = self._first_sound()
            last = self._tones[length - 1]
            if length == len(self._tones) and not self._has_ended(last, now_ms):
                break
            heard.append(self._name(self._tones[:length]))
            del self._tones[:length]
        return heard

    def _alarms(self, now_ms: float) -> list[Heard]:
        """The alarms that have begun; their rounds are taken out of what was gathered."""
        heard: list[Heard] = []
        while True:
            self._follow_alarm(now_ms)
            over = self._sounding is None and (not self._tones or self._has_ended(self._tones[-1], now_ms))
            found = alarm_in(self._tones, over)
            if found is None or self._alarm is not None:
                return heard
            begin, meaning, tones = found
            while begin:
                length = min(begin, self._first_sound(begin))
                before = self._name(self._tones[:length])
                heard.append(before if before.meaning != UNKNOWN else Heard(before.t_ms, CUT_OFF, ""))
                del self._tones[:length]
                begin -= length
            heard.append(Heard(self._tones[0].t_ms, meaning, "", is_alarm=True))
            self._alarm = Round(meaning, tones, 0)

    def _follow_alarm(self, now_ms: float) -> None:
        """Drops the tones of the alarm that sounds, until somebody answers it."""
        while self._alarm is not None and self._tones:
            tone = self._tones[0]
            goes_on_at_once = len(self._tones) > 1 or self._sounding is not None
            if not self._alarm.goes_on_with(tone) or (goes_on_at_once and self._alarm.is_taken_over_by(tone)):
                self._alarm = None
                return
            del self._tones[0]
            self._alarm = None if self._alarm.is_cut_short_by(tone) else replace(self._alarm, heard=self._alarm.heard + 1)
            if self._sounding is None and not self._tones and self._has_ended(tone, now_ms):
                self._alarm = None

    def _has_ended(self, last: Tone, now_ms: float) -> bool:
        return now_ms - last.t_ms - last.on_ms >= REST_MS

    def _first_sound(self, among: int | None = None) -> int:
        """How many of the gathered tones make the first sound: the longest known one that fits, else up to the first rest."""
        gathered = self._tones[:among]
        fitting = [len(tones) for tones, _, _ in self._known if self._fits(tones, gathered[: len(tones)])]
        if fitting:
            return max(fitting)
        for index, (tone, following) in enumerate(pairwise(gathered)):
            if following.t_ms - tone.t_ms - tone.on_ms >= REST_MS:
                return index + 1
        return len(gathered)

    def _fits(self, tones: Tones, heard: list[Tone]) -> bool:
        if len(tones) != len(heard):
            return False
        rests = [after.t_ms - before.t_ms - before.on_ms for before, after in pairwise(heard)]
        return (
            all(hz == tone.hz for (hz, _, _), tone in zip(tones, heard, strict=True))
            and all(abs(on_ms - tone.on_ms) <= TOLERANCE_MS for (_, on_ms, _), tone in zip(tones, heard, strict=True))
            and all(abs(off_ms - rest) <= TOLERANCE_MS for (_, _, off_ms), rest in zip(tones, rests, strict=False))
        )

    def _name(self, heard: list[Tone]) -> Heard:
        for tones, meaning, written in self._known:
            if self._fits(tones, heard):
                return Heard(heard[0].t_ms, meaning, written)
        return Heard(heard[0].t_ms, UNKNOWN, described(heard))


def described(tones: Iterable[Tone]) -> str:
    """`2000 Hz for 180 ms, ...`"""
    return ", ".join(f"{tone.hz} Hz for {tone.on_ms:.0f} ms" for tone in tones)
