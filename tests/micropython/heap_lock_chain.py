"""Runs on MicroPython: bus to relay with the heap locked, a calibration and a probe lag. Any allocation raises MemoryError.

Usage: INTERPRETER heap_lock_chain.py FIRMWARE_FOLDER CASES_FOLDER
Prints `locked`, the samples, those with the relay closed, and how many hundredths of a degree the lag is ahead.
"""

import sys

import micropython

sys.path.insert(0, sys.argv[1])
sys.path.insert(0, sys.argv[2])

from bench_session import Bench

from panchime_fw import settings, trips
from panchime_fw.chain import Chain

SAMPLES = 520
LINE = {
    "points": [
        {"shown_centi": 30, "true_centi": 0, "how": "ice water", "date": "2026-11-25"},
        {"shown_centi": 9920, "true_centi": 9968, "how": "boiling water", "date": "2026-11-25"},
    ]
}


class Bus:
    def __init__(self) -> None:
        self.frames = [bytearray(((320 + k) << 18 | 0x1900 | (k & 1) << 4).to_bytes(4, "big")) for k in range(SAMPLES)]
        self.at = 0

    def read_frame(self) -> bytearray:
        self.at += 1
        return self.frames[self.at - 1]

    def read_look(self, look: bytearray) -> bytearray:
        frame = self.read_frame()
        for index in range(4):
            look[index] = frame[index]
        return frame


class OneRelay:
    closed = False

    def set(self, closed: bool) -> None:
        self.closed = closed


def sample_path(chain: Chain, session: object, now_ms: int) -> None:
    """What Loop does with a sample, up to the relay."""
    reading = chain.read()
    session.probe_trusted = chain.trusted  # type: ignore[attr-defined]
    session.on_sample(reading, now_ms)  # type: ignore[attr-defined]


def main() -> None:
    chosen = settings.Settings(dict(settings.DEFAULTS, probe_lag_s=8.5, calibration=LINE))
    chain = Chain(chosen, False)
    chain.connect(Bus())
    bench = Bench()
    relay = OneRelay()
    session = bench.session
    session._set_relay = relay.set
    session.take_settings(chosen)
    now_ms = 1000
    for _ in range(8):
        now_ms += 250
        sample_path(chain, session, now_ms)
    assert session.start(now_ms), session.why_not_start(now_ms)
    # The curve's followers log into a list on the bench, which the board's log does not: they are cut off here.
    session._follow = lambda fault, now_ms: None
    closed = 0
    micropython.heap_lock()
    count = 8
    while count < SAMPLES:
        now_ms += 250
        sample_path(chain, session, now_ms)
        if relay.closed:
            closed += 1
        if session.cutoff.reason != trips.NONE:
            break
        count += 1
    micropython.heap_unlock()
    print("locked", count, closed, session.lag.compensated_centi - session.measured_centi)


main()
