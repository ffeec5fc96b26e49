"""The board's session on a bench: from reading to relay and cue it is the firmware's own; relay, piezo, log and flash are
only listened to."""

from dataclasses import dataclass, field
from typing import Any

from panchime_fw import faults, guide, trips
from panchime_fw.amplifier.reading import Reading
from panchime_fw.events import CLEARED, MARK, MARK_BACK, MILESTONE, RELAY, SOUNDED, TRIP
from panchime_fw.guard_record import GuardRecord
from panchime_fw.plan import Plan, compile_plan
from panchime_fw.popper_rest import PopperRest
from panchime_fw.session import Session

# The board's pass takes a few milliseconds; sounds stepped this often come as they do there.
PASS_MS = 20
START_MS = 1000
FLASH_MINUTES = 600

CUE = "cue"
GUIDE = "guide"
MARKED = "mark"
TAKEN_BACK = "mark taken back"
TRIPPED = "trip"
TRIP_CLEARED = "trip cleared"
RELAY_MOVED = "relay"

# In the order of `guide.TONES`.
GUIDE_WORDS = (
    "much cooler than the guide",
    "cooler than the guide",
    "on the guide again",
    "hotter than the guide",
    "much hotter than the guide",
)


@dataclass(frozen=True)
class Happening:
    """Something the board would have done, ms since the roast's start; ``sounded`` is False for a cue that was missed."""

    t_ms: int
    kind: str
    words: str
    sound: str
    temperature_centi: int | None
    sounded: bool = True


class HeldText:
    """A store of the board's flash, in memory."""

    def __init__(self) -> None:
        self.text: str | None = None

    def load(self) -> str | None:
        return self.text

    def save(self, text: str) -> bool:
        self.text = text
        return True


class ListeningLog:
    """Takes what the board's logbook takes, and keeps the events."""

    flash_full = False

    def __init__(self) -> None:
        self.events: list[tuple[int, int, int, int, int]] = []
        self.recording = False
        self.due = False

    def next_number(self) -> int:
        return 1

    def open(self, number: int, head: Any) -> bool:
        self.recording = True
        return True

    def sample(self, t_ms: int, temperature_centi: int, cold_centi: int) -> None:
        """Readings are known: only events are listened to."""

    def fault(self, t_ms: int, fault: int) -> None:
        """As ``sample``."""

    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        self.events.append((t_ms, kind, a, b, c))

    def seal(self) -> bool:
        return True

    def close(self, t_ms: int, reason: int) -> None:
        self.recording = False

    def minutes_left(self) -> int:
        return FLASH_MINUTES


class ListeningVoice(guide.GuideVoice):
    """The guide's voice, with what it said."""

    def __init__(self, curve: guide.Guide) -> None:
        super().__init__(curve)
        self.said: tuple[Any, ...] = ()

    def step(self, t_ms: int) -> tuple[Any, ...]:
        self.said = super().step(t_ms)
        return self.said


@dataclass
class Bench:
    """A session with a compiled plan and everything it would have done in ``happenings``.

    Raises ValueError with the plan's first mistake.
    """

    document: dict[str, Any]
    happenings: list[Happening] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.plan: Plan = compile_plan(self.document)
        self.log = ListeningLog()
        self.relay_closed = False
        self.now_ms = START_MS
        self.session = Session(
            self._take_relay,
            self._take_tone,
            self.log,
            lambda number: {},
            self.plan,
            GuardRecord(HeldText()),
            PopperRest(HeldText(), START_MS),
        )
        self._voice = ListeningVoice(self.plan.guide)
        self.session.voice = self._voice
        self.reading = Reading()
        self._read_events = 0

    def _take_relay(self, closed: bool) -> None:
        self.relay_closed = closed

    def _take_tone(self, hz: int) -> None:
        """Which cue sounds is told by the events."""

    def sample(self, now_ms: int, temperature_centi: int | None, cold_centi: int, fault: int = faults.NONE) -> None:
        """One sample of the probe at a moment of the board's clock; before it, time passes as it does on the board."""
        self.pass_time(now_ms)
        self.reading.fault = fault
        self.reading.cold_centi = cold_centi
        if temperature_centi is not None:
            self.reading.temperature_centi = temperature_centi
        self._voice.said = ()
        self.session.on_sample(self.reading, now_ms)
        self.session.step_flash(now_ms)
        self._listen(temperature_centi)
        if len(self._voice.said):
            words = GUIDE_WORDS[guide.TONES.index(self._voice.said)]
            self._tell(self.session.roast.t_ms(now_ms), GUIDE, words, "", temperature_centi)

    def pass_time(self, until_ms: int) -> None:
        """Lets sounds go on until a moment."""
        while self.now_ms + PASS_MS < until_ms:
            self.now_ms += PASS_MS
            self._step_sounds()
        self.now_ms = until_ms
        self._step_sounds()
        self._listen(None)

    def _step_sounds(self) -> None:
        self.session.step_sounds(self.now_ms)
        self.session.player.step(self.now_ms)

    def _listen(self, temperature_centi: int | None) -> None:
        """Turns the events since the last look into words."""
        for t_ms, kind, a, b, c in self.log.events[self._read_events :]:
            if kind == MILESTONE:
                self._tell_cue(t_ms, a, b == SOUNDED, temperature_centi)
            elif kind == MARK:
                self._tell(c, MARKED, self.plan.marks[a], "", None)
            elif kind == MARK_BACK:
                self._tell(t_ms, TAKEN_BACK, self.plan.marks[a], "", None)
            elif kind == TRIP:
                self._tell(t_ms, TRIPPED, trips.NAMES[a], "alarm", b)
            elif kind == CLEARED:
                self._tell(t_ms, TRIP_CLEARED, "the trip is cleared", "", None)
            elif kind == RELAY:
                self._tell(t_ms, RELAY_MOVED, "closes: heater on" if a else "opens: heater off", "", temperature_centi)
        self._read_events = len(self.log.events)

    def _tell_cue(self, t_ms: int, index: int, sounded: bool, temperature_centi: int | None) -> None:
        """A cue that came due; one that was taken and then lost is told of again, and is the same cue."""
        milestone = self.plan.milestones[index]
        known = next((h for h in self.happenings if h.kind == CUE and h.words == milestone.label and h.sounded), None)
        if known is not None and not sounded:
            place = self.happenings.index(known)
            self.happenings[place] = Happening(
                known.t_ms, CUE, known.words, known.sound, known.temperature_centi, sounded=False
            )
            return
        self.happenings.append(Happening(t_ms, CUE, milestone.label, milestone.sound, temperature_centi, sounded))

    def _tell(self, t_ms: int, kind: str, words: str, sound: str, temperature_centi: int | None) -> None:
        self.happenings.append(Happening(t_ms, kind, words, sound, temperature_centi))
