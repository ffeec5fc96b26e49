"""A whole roast in this process: the roaster's model, the amplifier's frames, and the board's own decoder and session.

Nothing of the board is imitated but its pins and its flash. The clock is the model's, so a roast of ten minutes takes a second.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from panchime.virtual.chips.max31855 import Max31855
from panchime.virtual.roaster.kitchen import STEP_US, Kitchen
from panchime.virtual.roaster.person import REACTION_MS, Act
from panchime.virtual.roaster.scenario import Scenario
from panchime_fw import events
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import Reading
from panchime_fw.guard_record import GuardRecord
from panchime_fw.plan import Plan
from panchime_fw.popper_rest import PopperRest
from panchime_fw.session import Session

SAMPLE_MS = 250
STEP_MS = STEP_US // 1000
LONGEST_S = 2400


class NoStore:
    """Keeps nothing: there is no flash."""

    def load(self) -> str | None:
        return None

    def save(self, text: str) -> bool:
        return True


class EventLog:
    """A logbook that keeps the events in memory."""

    due = False
    recording = True
    flash_full = False

    def __init__(self) -> None:
        self.events: list[tuple[int, int, int, int, int]] = []

    def next_number(self) -> int:
        return 1

    def open(self, number: int, head: dict[str, Any]) -> bool:
        return True

    def sample(self, t_ms: int, temperature_centi: int, cold_centi: int) -> None:
        pass

    def fault(self, t_ms: int, fault: int) -> None:
        pass

    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        self.events.append((t_ms, kind, a, b, c))

    def close(self, t_ms: int, reason: int) -> None:
        pass

    def minutes_left(self) -> int:
        return 600


@dataclass(frozen=True)
class Tone:
    """The piezo changes: `hz` from `t_ms` on, 0 for silence."""

    t_ms: int
    hz: int


class RoastBench:
    """Roasts `scenario` by `plan`; the person of the scenario presses unless `acts` says otherwise.

    every_step(bench, now_ms): called every 50 ms, for whoever listens or turns the flame.
    """

    def __init__(self, scenario: Scenario, plan: Plan, seed: int, acts: tuple[Act, ...] | None = None) -> None:
        self.kitchen = Kitchen(scenario if acts is None else replace(scenario, acts=acts), seed)
        self.tones: list[Tone] = []
        self.log = EventLog()
        self.now_ms = 0
        store = NoStore()
        self.session = Session(
            self._set_relay, self._tone, self.log, lambda number: {}, plan, GuardRecord(store), PopperRest(store, 0)
        )
        self.truth: list[tuple[int, float]] = []  # (roast ms, what the probe's tip really has), once a sample
        self._chip = Max31855("K", seed)
        self._decoder = decoder_for("MAX31855", "K")
        self._reading = Reading()
        self._relay = False
        self._presses: list[int] = []

    def _set_relay(self, closed: bool) -> None:
        self._relay = bool(closed)

    def _tone(self, hz: int) -> None:
        self.tones.append(Tone(self.now_ms, hz))

    def run(self, every_step: Callable[["RoastBench", int], None] | None = None) -> None:
        """Until the record ends, or 40 minutes."""
        session = self.session
        started = False
        while self.now_ms < LONGEST_S * 1000:
            self.now_ms += STEP_MS
            for act in self.kitchen.step(self._relay):
                if act.press == "short":
                    self._presses.append(self.now_ms + REACTION_MS)
            while self._presses and self._presses[0] <= self.now_ms:
                at_ms = self._presses.pop(0)
                session.mark(session.roast.next_mark(), events.PRESSED, at_ms, at_ms)
            if self.now_ms % SAMPLE_MS == 0:
                self._sample()
                if not started and self.now_ms >= 1000:
                    started = session.start(self.now_ms)
                elif started and not session.roast.running:
                    return
            session.player.step(self.now_ms)
            session.step_sounds(self.now_ms)
            if every_step is not None:
                every_step(self, self.now_ms)

    def _sample(self) -> None:
        self._chip.convert(self.kitchen.probe.reading_c(), self.kitchen.cold_c)
        self._chip.select(True)
        self._decoder.decode(self._chip.transfer(bytes(self._decoder.FRAME_BYTES)), self._reading)
        self.session.on_sample(self._reading, self.now_ms)
        if self.session.roast.running:
            self.truth.append((self.session.roast.t_ms(self.now_ms), self.kitchen.probe.tip_c))


def another_day(scenario: Scenario, seed: int) -> Scenario:
    """The same kitchen on another day: heat 5 %, load 4 %, wind and noise of the probe as they come."""
    chance = random.Random(f"day {seed}")
    return replace(
        scenario,
        day=replace(
            scenario.day,
            strength=scenario.day.strength * chance.gauss(1.0, 0.05),
            wind=scenario.day.wind * chance.uniform(0.9, 1.15),
        ),
        load=replace(scenario.load, dry_kg=scenario.load.dry_kg * chance.gauss(1.0, 0.04)),
        tip=replace(scenario.tip, noise_c=chance.uniform(0.1, 0.5)),
    )
