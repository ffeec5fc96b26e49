"""Listens to the virtual piezo and says which sound it was, as a person would by ear: by rhythm and pitch alone."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from panchime.virtual.events import Event
from panchime_fw import sounds
from panchime_fw.plan import Plan

# A rest longer than any inside a sound ends it: the longest is 700 ms, and between two cues the board leaves a second.
REST_MS = 900.0
# The board steps its sounds every few milliseconds.
TOLERANCE_MS = 25.0

# An alarm repeats until somebody answers, so it is no sound that ends; a beat is no sound that says anything.
OWN_SOUNDS = {meaning: tones for meaning, tones, repeats in sounds.OWN if not repeats and tones is not sounds.TICK}

TICK_HZ, TICK_MS, _ = sounds.TICK[0]

Tones = tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Heard:
    """A sound: when it began, in ms of the virtual clock, what it means, how it is written in a plan ("" when it is not)."""

    t_ms: float
    meaning: str
    written: str


@dataclass(frozen=True)
class _Tone:
    t_ms: float
    hz: int
    on_ms: float


class Ear:
    """Gathers tone events; `finished(now_ms)` gives the sounds that are over by then."""

    def __init__(self, plan: Plan) -> None:
        self._known: list[tuple[Tones, str, str]] = [
            (milestone.tones, milestone.label, milestone.sound) for milestone in plan.milestones
        ]
        self._known += [(tones, meaning, "") for meaning, tones in OWN_SOUNDS.items()]
        self._tones: list[_Tone] = []
        self._sounding: Event | None = None

    def hear(self, event: Event) -> None:
        """Takes one `tone` event of the virtual board."""
        if self._sounding is not None:
            on_ms = event["t_ms"] - self._sounding["t_ms"]
            if self._sounding["hz"] != TICK_HZ or on_ms > TICK_MS + TOLERANCE_MS:
                self._tones.append(_Tone(self._sounding["t_ms"], self._sounding["hz"], on_ms))
        self._sounding = event if event["hz"] else None

    def finished(self, now_ms: float) -> list[Heard]:
        """The sounds that a rest has ended, oldest first."""
        if self._sounding is not None:
            return []
        heard = []
        while self._tones:
            length = self._first_sound()
            last = self._tones[length - 1]
            if length == len(self._tones) and now_ms - last.t_ms - last.on_ms < REST_MS:
                break
            heard.append(self._name(self._tones[:length]))
            del self._tones[:length]
        return heard

    def _first_sound(self) -> int:
        """How many of the gathered tones make the first sound: the longest known one that fits, else up to the first rest."""
        fitting = [len(tones) for tones, _, _ in self._known if self._fits(tones, self._tones[: len(tones)])]
        if fitting:
            return max(fitting)
        for index, (tone, following) in enumerate(zip(self._tones, self._tones[1:], strict=False)):
            if following.t_ms - tone.t_ms - tone.on_ms >= REST_MS:
                return index + 1
        return len(self._tones)

    def _fits(self, tones: Tones, heard: list[_Tone]) -> bool:
        if len(tones) != len(heard):
            return False
        rests = [after.t_ms - before.t_ms - before.on_ms for before, after in pairwise(heard)]
        return (
            all(hz == tone.hz for (hz, _, _), tone in zip(tones, heard, strict=True))
            and all(abs(on_ms - tone.on_ms) <= TOLERANCE_MS for (_, on_ms, _), tone in zip(tones, heard, strict=True))
            and all(abs(off_ms - rest) <= TOLERANCE_MS for (_, _, off_ms), rest in zip(tones, rests, strict=False))
        )

    def _name(self, heard: list[_Tone]) -> Heard:
        for tones, meaning, written in self._known:
            if self._fits(tones, heard):
                return Heard(heard[0].t_ms, meaning, written)
        return Heard(heard[0].t_ms, "a sound that is in no plan", described(heard))


def described(tones: Iterable[_Tone]) -> str:
    """`2000 Hz for 180 ms, ...`"""
    return ", ".join(f"{tone.hz} Hz for {tone.on_ms:.0f} ms" for tone in tones)
