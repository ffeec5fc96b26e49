"""A session on the bench: reading to relay is the firmware's own; relay, piezo, log and flash are recorded."""

from panchime_fw import faults, plan
from panchime_fw.guard_record import GuardRecord
from panchime_fw.popper_rest import PopperRest
from panchime_fw.session import Session

STEP_MS = 250


class KeptText:
    """A store that keeps its text in memory; `broken` makes writing fail."""

    def __init__(self, text=None):
        self.text = text
        self.broken = False
        self.writes = 0

    def load(self):
        return self.text

    def save(self, text):
        if self.broken:
            return False
        self.text = text
        self.writes += 1
        return True


class RecordedLog:
    """Takes what a logbook takes; `full` makes every write fail."""

    def __init__(self):
        self.events = []
        self.samples = 0
        self.full = False
        self.minutes = 600
        self.closed = []
        self.due = False
        self.recording = False
        self._number = 0

    def next_number(self):
        return self._number + 1

    def open(self, number, head):
        self._number = number
        self.recording = True
        return not self.full

    def sample(self, t_ms, temperature_centi, cold_centi):
        self.samples += 1
        if self.samples % 19 == 0:
            self.due = True

    def fault(self, t_ms, fault):
        self.samples += 1

    def event(self, t_ms, kind, a, b, c):
        self.events.append((t_ms, kind, a, b, c))

    def seal(self):
        self.due = self.full
        return not self.full

    def close(self, t_ms, reason):
        self.closed.append((t_ms, reason))

    def minutes_left(self):
        return self.minutes


class BenchReading:
    def __init__(self):
        self.fault = faults.NONE
        self.temperature_centi = 2000
        self.cold_centi = 2500


def document(**changes):
    found = {
        "name": "Bench", "method": "hot-air popper", "limit": 230, "loads": "cold", "heater_on_relay": True,
        "longest_roast_min": 15, "marks": ["beans in", "first crack", "beans out"],
    }  # fmt: skip
    found.update(changes)
    return found


class Bench:
    def __init__(self, start_ms=1000, record_text=None, rest_text=None, **changes):
        self.relay = []
        self.tones = []
        self.log = RecordedLog()
        self.record_store = KeptText(record_text)
        self.rest_store = KeptText(rest_text)
        self.record = GuardRecord(self.record_store)
        self.rest = PopperRest(self.rest_store, start_ms)
        self.session = Session(
            self.relay.append, self.tones.append, self.log, lambda number: {"number": number},
            plan.compile_plan(document(**changes)), self.record, self.rest,
        )  # fmt: skip
        self.reading = BenchReading()
        self.now_ms = start_ms
        self._flicker = 0

    def feed(self, seconds, from_centi=None, to_centi=None, fault=faults.NONE):
        """Samples at 4 Hz, a straight line from one temperature to another, with the last bit flickering as it does."""
        steps = int(seconds * 1000) // STEP_MS
        first = self.reading.temperature_centi if from_centi is None else from_centi
        last = first if to_centi is None else to_centi
        self.reading.fault = fault
        for step in range(1, steps + 1):
            self.now_ms = (self.now_ms + STEP_MS) & 0x3FFFFFFF
            self._flicker = 25 - self._flicker
            self.reading.temperature_centi = first + (last - first) * step // steps + self._flicker
            self.session.on_sample(self.reading, self.now_ms)
            self.session.player.step(self.now_ms)
            self.session.step_flash(self.now_ms)
        self.reading.temperature_centi = last

    def start(self):
        self.feed(1)
        return self.session.start(self.now_ms)

    def kinds(self, kind):
        return [event for event in self.log.events if event[1] == kind]
