"""From reading to relay under a locked heap, for a whole roast and for every trip that a sample can bring about.

Usage: micropython heap_lock_session.py FIRMWARE_FOLDER CASES_FOLDER
"""

import gc
import sys

import micropython

sys.path.insert(0, sys.argv[1])
sys.path.insert(0, sys.argv[2])

from bench_session import Bench

from panchime_fw import events, faults, sounds, trips

# What a list of records needs, made before the lock: the bench records by appending, which allocates.
relay_level = [False]
last_hz = [0]
SEEN = [0]
# Counted by pitch, in places made before the lock.
HEARD = {sounds.GUIDE_HOTTER[0][0]: 0, sounds.TICK[0][0]: 0, sounds.LEFT_ON[0][0]: 0}


class SilentLog:
    """Counts instead of recording."""

    due = False
    recording = True

    def next_number(self):
        return 1

    def open(self, number, head):
        return True

    def sample(self, t_ms, temperature_centi, cold_centi):
        SEEN[0] += 1

    def fault(self, t_ms, fault):
        SEEN[0] += 1

    def event(self, t_ms, kind, a, b, c):
        SEEN[0] += 1

    def close(self, t_ms, reason):
        SEEN[0] += 1

    def minutes_left(self):
        return 600


def set_relay(closed):
    relay_level[0] = closed


def set_tone(hz):
    last_hz[0] = hz
    if hz in HEARD:
        HEARD[hz] += 1


def locked(bench, seconds, from_centi, to_centi, fault=faults.NONE, cold_centi=2500, flickers=True, gap_ms=250):
    """Feeds samples with the heap locked around each one's whole way from reading to relay."""
    session = bench.session
    reading = bench.reading
    steps = int(seconds * 4)
    reading.fault = fault
    reading.cold_centi = cold_centi
    for step in range(1, steps + 1):
        bench.now_ms = (bench.now_ms + gap_ms) & 0x3FFFFFFF
        reading.temperature_centi = from_centi + (to_centi - from_centi) * step // steps
        if flickers:
            reading.temperature_centi += step % 2 * 25
        micropython.heap_lock()
        try:
            session.on_sample(reading, bench.now_ms)
            session.player.step(bench.now_ms)
            session.step_sounds(bench.now_ms)
        finally:
            micropython.heap_unlock()


def bench_for(**changes):
    bench = Bench(**changes)
    bench.session._log = SilentLog()
    bench.session._set_relay = set_relay
    bench.session.player._output = set_tone
    bench.feed(1)
    assert bench.session.start(bench.now_ms)
    return bench


MILESTONES = [
    {"label": "a", "rises_to": 100, "sound": "beeps 1"},
    {"label": "b", "ahead_s": 20, "of": 196, "sound": "morse C"},
    {"label": "c", "after_s": 30, "since": "first crack", "sound": "rising"},
    {"label": "d", "rate_below": 5, "for_s": 5, "sound": "falling"},
    {"label": "e", "development_share": 10, "sound": "long"},
    {"label": "f", "falls_to": 100, "stage": "cooling", "sound": "beeps 2"},
]


GUIDE = {
    "guide": [[0, 25], [300, 140], [700, 215]], "guide_every_s": 20, "guide_band": 1,
    "pace": [{"stage": "roasting", "every_s": 0.5}, {"stage": "cooling", "every_s": 2}],
}


def good_roast():
    bench = bench_for(milestone=MILESTONES, **GUIDE)
    locked(bench, 420, 2000, 19600)
    bench.session.mark(1, events.PRESSED, bench.now_ms, bench.now_ms)
    locked(bench, 120, 19600, 21400)
    bench.session.mark(2, events.PRESSED, bench.now_ms, bench.now_ms)
    locked(bench, 100, 21400, 5000)
    assert bench.session.cutoff.reason == trips.NONE
    assert bench.session.events.last > 8
    # A guide that is far off has been heard, every 20 s of the nine minutes, and a beat in between.
    assert HEARD[sounds.GUIDE_HOTTER[0][0]] > 20, HEARD
    assert HEARD[sounds.TICK[0][0]] > 500, HEARD


def left_on():
    """An hour after the roast, with the heap locked: six chirps at most."""
    bench = bench_for()
    bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
    before = HEARD[sounds.LEFT_ON[0][0]]
    locked(bench, 4 * 3600, 2000, 2000)
    assert HEARD[sounds.LEFT_ON[0][0]] - before == 6, HEARD


def crowded():
    """More cues in one moment than can wait, with the heap locked: the lost ones are recorded."""
    items = [
        {"label": "m" + str(number), "rises_to": 100, "sound": "beeps 3", "urgent": number > 10} for number in range(16)
    ]
    bench = bench_for(milestone=items)
    locked(bench, 120, 2000, 15000)
    assert bench.session.player.missed_count > 3


def tripping(reason, *feeds, **changes):
    bench = bench_for(**changes)
    locked(bench, 200, 2000, 17000)
    for feed in feeds:
        locked(bench, **feed)
    assert bench.session.cutoff.reason == reason, (trips.NAMES[reason], trips.NAMES[bench.session.cutoff.reason])
    assert not relay_level[0]
    locked(bench, 40, 17000, 16000)


def line(seconds, from_centi, to_centi, **more):
    found = {"seconds": seconds, "from_centi": from_centi, "to_centi": to_centi}
    found.update(more)
    return found


# The lock must bite, or this proves nothing.
micropython.heap_lock()
try:
    try:
        bytearray(100)
        bites = False
    except MemoryError:
        bites = True
finally:
    micropython.heap_unlock()
assert bites

gc.collect()
good_roast()
left_on()
crowded()
tripping(trips.OVER_LIMIT, line(60, 17000, 23500))
tripping(trips.SENSOR_FAULT, line(3, 17000, 17000, fault=faults.OPEN))
tripping(trips.LONGEST_ROAST, line(120, 17000, 20000), longest_roast_min=5)
tripping(trips.LONGEST_HEATING, line(120, 17000, 20000), longest_heating_min=5)
tripping(trips.JUMP, line(2, 20500, 20500))
tripping(trips.FROZEN, line(35, 17000, 17000, flickers=False))
tripping(trips.COLD_JUNCTION_HOT, line(5, 17000, 17100, cold_centi=7500))
tripping(trips.NOT_WARMING, line(160, 17000, 17000))
tripping(trips.PROBE_IN_AIR, line(25, 17000, 14000))
tripping(trips.LOOP_LATE, line(1, 17000, 17020, gap_ms=2000))
print("locked heap: a whole roast and 10 trips,", SEEN[0], "records")
