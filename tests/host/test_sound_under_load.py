"""When tones begin, with the firmware's own loop under load: samples, a host that reads a log, flash writes of 50 ms.

What a pass costs on a board is put in here in milliseconds, from nowhere but caution: the point is what the loop makes of it.
"""

import sys
from pathlib import Path

import pytest

from panchime.measure.roast_bench import NoStore
from panchime_fw import faults, player, sound_words, sounds
from panchime_fw.guard_record import GuardRecord
from panchime_fw.loop import Loop
from panchime_fw.plan import compile_plan
from panchime_fw.popper_rest import PopperRest
from panchime_fw.session import Session
from panchime_fw.uptime import Uptime

sys.path.insert(0, str(Path(__file__).parent.parent / "cases"))
from bench_session import BenchReading, RecordedLog, document

PASS_MS = 1
IDLE_MS = 4  # what board.py waits in a pass without work
SAMPLE_MS = 10
SLICE_MS = 8
WRITE_MS = 50


class Clock:
    """Time passes where work is done, in whole milliseconds."""

    def __init__(self):
        self.now_ms = 0


class Board:
    def __init__(self, clock):
        self.clock = clock
        self.edges = []
        self.closed = False

    def ticks_ms(self):
        self.clock.now_ms += PASS_MS
        return self.clock.now_ms

    def idle(self):
        self.clock.now_ms += IDLE_MS

    def tone(self, hz):
        self.edges.append((self.clock.now_ms, hz))

    def relay(self, closed):
        self.closed = bool(closed)

    def relay_step(self, now_ms):
        pass

    def relay_is_closed(self):
        return self.closed

    def button_down(self):
        return False

    def led(self, colour):
        pass

    def feed_watchdog(self):
        pass

    def arm_watchdog(self):
        pass


class Chain:
    trusted = True

    class decoder:
        FIRST_READING_MS = 250
        CONVERSION_MS = 100

    def __init__(self, clock):
        self.clock = clock
        self.reading = BenchReading()

    def read(self):
        self.clock.now_ms += SAMPLE_MS
        self.reading.fault = faults.NONE
        self.reading.temperature_centi = 2000 + self.clock.now_ms // 100 % 2 * 25
        return self.reading


class SlowLog(RecordedLog):
    """Every write takes its time; `always` makes one due all the time."""

    def __init__(self, clock, always):
        super().__init__()
        self.clock = clock
        self.always = always
        self.written_ms = []

    def seal(self):
        self.written_ms.append(self.clock.now_ms)
        self.clock.now_ms += WRITE_MS
        self.due = self.always
        return True


class Instrument:
    """A host that reads a log without a pause: one slice a pass."""

    def __init__(self, clock, reads):
        self.clock = clock
        self.reads = reads

    def step(self):
        if self.reads:
            self.clock.now_ms += SLICE_MS
        return self.reads

    def refresh_conditions(self):
        pass


def lateness_ms(tones, samples, reads, writes, times=40):
    """How late each onset and each end came against the specification, counted from the first onset; and the writes made."""
    clock = Clock()
    board = Board(clock)
    log = SlowLog(clock, writes)
    log.due = writes
    chain = Chain(clock)
    store = NoStore()
    session = Session(
        board.relay, board.tone, log, lambda number: {}, compile_plan(document()), GuardRecord(store), PopperRest(store, 0)
    )
    loop = Loop(board, chain, session, Instrument(clock, reads), Uptime(0))
    if not samples:
        loop._next_sample_ms = 1 << 28
    late = []
    for _ in range(times):
        clock.now_ms += 7  # another phase to the samples
        board.edges.clear()
        session.player.play(tones, player.ANSWER, board.ticks_ms())
        while session.player.current is not None:
            loop.step()
        wanted_ms = board.edges[0][0]
        edges = iter(board.edges)
        for hz, on_ms, off_ms in tones:
            late.append((next(edges), wanted_ms, hz))
            wanted_ms += on_ms
            if off_ms:
                late.append((next(edges), wanted_ms, 0))
                wanted_ms += off_ms
    assert all(found[1] == hz for found, _, hz in late)
    return [found[0] - wanted for found, wanted, _ in late], log.written_ms


CUES = {
    "morse C": sound_words.compile_sound("morse C"),
    "beeps 3": sound_words.compile_sound("beeps 3"),
    "rising twice": sound_words.compile_sound("rising twice"),
    "much hotter": sounds.GUIDE_MUCH_HOTTER,
    "taken": sounds.TAKEN,
    "refused": sounds.REFUSED,
}


@pytest.mark.parametrize("name", sorted(CUES))
@pytest.mark.parametrize(
    ("samples", "reads", "writes", "bound_ms"),
    [
        (False, False, False, 2),
        # A write of 50 ms is made where no tone begins or ends: nothing is late by it.
        (False, False, True, 2),
        # A sample and a slice of serial work are not begun when a tone would fall due in them.
        (True, False, False, 5),
        (True, False, True, 5),
        (True, True, True, 5),
    ],
    ids=["quiet", "writing", "sampling", "sampling and writing", "sampling, writing and a host that reads"],
)
def test_onsets(name, samples, reads, writes, bound_ms):
    late, written = lateness_ms(CUES[name], samples, reads, writes)
    assert min(late) >= 0
    assert max(late) <= bound_ms, sorted(late)[-5:]
    assert bool(written) == writes or not any(on_ms > 100 for _, on_ms, _ in CUES[name])


def test_without_the_waiting_a_write_delays_tones(monkeypatch):
    """What the waiting is for: the same load, with writes made whenever they are due."""
    monkeypatch.setattr(Session, "_flash_may_write", lambda self, now_ms: True)
    late, _ = lateness_ms(CUES["morse C"], False, False, True)
    assert max(late) > WRITE_MS // 2
