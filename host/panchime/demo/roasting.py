"""The roast of the demonstration: follows what the virtual board does and tells it line by line."""

import queue
import time
from collections.abc import Callable

from panchime.demo.hearing import Ear
from panchime.errors import PanchimeError
from panchime.link.board import Board
from panchime.link.following import Follower
from panchime.planfile.reading import PlanText
from panchime.terminal.words import board_words
from panchime.virtual.board import VirtualBoard
from panchime.virtual.events import Event
from panchime_fw.plan import compile_plan

# How often the board is asked over its port, in wall time.
ASK_EVERY_S = 0.1
# Much longer than a slow computer takes for the longest roast that a plan allows.
LONGEST_WAIT_S = 600.0
# A sound is known by the rest that follows it, so lines are held back until nothing earlier can still come.
SETTLE_MS = 5000
# The board tells the moments of its events in its own time, the virtual world in its own: they differ by a little.
ALARM_AFTER_TRIP_MS = 500

PERSON = "person"
CUE = "cue"
ALARM = "alarm"  # until it is said why: then it is a cue like others
MARK = "mark"
RELAY = "relay"
STAGE = "stage"
TRIP = "trip"

Say = Callable[[float, float | None, str, str], None]


class Telling:
    """Puts what the world shows and what the board tells into one order by virtual time, then says it."""

    def __init__(self, plan: PlanText, say: Say) -> None:
        self._ear = Ear(compile_plan(plan.document))
        self._say = say
        self._waiting: list[tuple[float, int, str, str]] = []
        self._temperatures: list[tuple[float, float]] = [(0.0, 0.0)]
        self._trips: list[tuple[float, str]] = []
        self._count = 0
        self.cues = 0

    def world_event(self, event: Event) -> None:
        t_ms = event["t_ms"]
        probe_c = event.get("probe_c")
        if probe_c is not None:
            self._temperatures.append((t_ms, probe_c))
        if event["what"] == "tone":
            self._ear.hear(event)
        elif event["what"] == "relay":
            self._add(t_ms, RELAY, "the relay closes: heater on" if event["on"] else "the relay opens: heater off")
        elif event["what"] == "person":
            self._add(t_ms, PERSON, person_words(event))
        for heard in self._ear.finished(t_ms):
            self.cues += 1
            what = ALARM if heard.is_alarm else CUE
            self._add(heard.t_ms, what, f"{heard.meaning}   ({heard.written})" if heard.written else heard.meaning)

    def board_event(self, t_ms: float, what: str, words: str) -> None:
        if what == TRIP:
            words = board_words(words)
            self._trips.append((t_ms, words))
        if what in (MARK, STAGE, TRIP):
            self._add(t_ms, what, words)

    def say_until(self, now_ms: float) -> None:
        """Says everything before that moment, in order."""
        self._waiting.sort()
        while self._waiting and self._waiting[0][0] <= now_ms:
            t_ms, _, what, words = self._waiting.pop(0)
            if what == ALARM:
                what, words = CUE, words + self._why(t_ms)
            self._say(t_ms, self._temperature_at(t_ms), what, words)

    def _why(self, t_ms: float) -> str:
        """Why an alarm sounds: the last trip before it. The lines wait long enough for the board to have told it."""
        told = [words for trip_ms, words in self._trips if trip_ms <= t_ms + ALARM_AFTER_TRIP_MS]
        return f" ({told[-1]}), until the button is pressed" if told else ", until the button is pressed"

    def _add(self, t_ms: float, what: str, words: str) -> None:
        self._count += 1
        self._waiting.append((t_ms, self._count, what, words))

    def _temperature_at(self, t_ms: float) -> float | None:
        before = [probe_c for at_ms, probe_c in self._temperatures if at_ms <= t_ms]
        return before[-1] if before else None


def person_words(event: Event) -> str:
    """What the invented person does, in words."""
    done: str = {"load": "pours the beans in", "unload": "tips the beans out"}.get(event["deed"], "sees: " + event["act"])
    pressed = {"short": "presses the button", "double": "presses twice", "long": "holds the button"}.get(event["press"] or "")
    turned = ""
    if event["flame"] is not None:
        turned = ", turns the heat to " + f"{event['flame']:.0%}"
    return done + turned + (f", {pressed}" if pressed else "")


def follow_roast(virtual: VirtualBoard, board: Board, plan: PlanText, say: Say) -> Telling:
    """Tells the roast until its log is closed. Raises PanchimeError when it never ends."""
    telling = Telling(plan, say)
    virtual.control.watch()
    follower = Follower(board, plan.document)
    deadline = time.monotonic() + LONGEST_WAIT_S
    start_ms = 0
    while not follower.roast.over:
        if time.monotonic() > deadline:
            raise PanchimeError("the virtual roast did not end; try again, or see how it goes with 'panchime virtual'")
        new = follower.poll()
        live = follower.roast.live
        assert live is not None, "poll has asked for it"
        if follower.roast.running:
            start_ms = live.uptime_ms - live.roast_ms
        take_world_events(virtual, telling)
        for event in new:
            telling.board_event(start_ms + event.roast_ms, event.what, event.words)
        telling.say_until(live.uptime_ms - SETTLE_MS)
        time.sleep(ASK_EVERY_S)
    take_world_events(virtual, telling)
    telling.say_until(float("inf"))
    return telling


def take_world_events(virtual: VirtualBoard, telling: Telling) -> None:
    while True:
        try:
            telling.world_event(virtual.control.events.get_nowait())
        except queue.Empty:
            return
