"""A roast written by the board's own encoder, for tests of what the host makes of it. Its numbers are invented."""

import math
import random

from panchime_fw import events, logformat

SAMPLE_MS = 250
COLD_CENTI = 2800
PLAN = {
    "name": "Skillet, to City",
    "method": "skillet",
    "unit": "C",
    "loads": "hot",
    "limit": 245,
    "marks": ["beans in", "yellow", "first crack", "second crack", "beans out"],
    "milestone": [
        {"label": "Load now", "rises_to": 200, "stage": "preheat", "sound": "rising twice"},
        {"label": "Yellow soon", "rises_to": 150, "sound": "beeps 1"},
        {"label": "First crack", "rises_to": 196, "sound": "beeps 2"},
        {"label": "City: take it out", "rises_to": 216, "sound": "rising"},
    ],
}
BEANS_IN_MS = 90_000
YELLOW_MS = 330_000
FIRST_CRACK_MS = 600_000
BEANS_OUT_MS = 720_000
END_MS = 900_000


def head(**changes):
    """A log's head; any key can be given another value."""
    return {
        "format": 1,
        "board": "E6614103E7",
        "model": "Raspberry Pi Pico",
        "firmware": "0.1.0",
        "number": 12,
        "boot": 40,
        "uptime_ms": 123_000,
        "utc": None,
        "amplifier": "MAX31855",
        "thermocouple": "K",
        "calibration": None,
        "sample_ms": SAMPLE_MS,
        "plan": PLAN,
    } | changes


def temperature_centi(t_ms, noise):
    """A pan that heats up, beans that go in, turn, rise ever more slowly, and cool outside."""
    minutes = t_ms / 60000
    if t_ms < BEANS_IN_MS:
        true_c = 25 + 190 * (1 - math.exp(-minutes / 0.6))
    elif t_ms < BEANS_OUT_MS:
        since = minutes - BEANS_IN_MS / 60000
        pan = 215 * math.exp(-since / 0.35)
        true_c = pan + (232 - 205 * math.exp(-since / 4.2)) * (1 - math.exp(-since / 0.35))
    else:
        since = minutes - BEANS_OUT_MS / 60000
        true_c = 30 + 187 * math.exp(-since / 0.9)
    return round((true_c + noise.choice((0, 0, 0.25, -0.25))) * 4) * 25


def usual_events():
    """Marks of every source, milestones that sounded and one that did not: (t_ms, kind, a, b, c)."""
    return [
        (52_000, events.MILESTONE, 0, events.SOUNDED, 0),
        (BEANS_IN_MS, events.MARK, 0, events.PRESSED, BEANS_IN_MS),
        (300_000, events.MILESTONE, 1, events.SOUNDED, 0),
        (YELLOW_MS, events.MARK, 1, events.PRESSED, YELLOW_MS),
        (560_000, events.MILESTONE, 2, events.SOUNDED, 0),
        (FIRST_CRACK_MS + 2000, events.MARK, 2, events.FOUND, FIRST_CRACK_MS),
        (640_000, events.MARK, 3, events.PRESSED, 640_000),
        (644_000, events.MARK_BACK, 3, 0, 0),
        (700_000, events.MILESTONE, 3, events.MISSED, 0),
        (BEANS_OUT_MS, events.MARK, 4, events.LINK, BEANS_OUT_MS),
    ]


def made_roast(happenings=None, *, until_ms=END_MS, end=events.DONE, faults=(), **changes):
    """The bytes of a log.

    ``happenings`` replaces the usual events, ``until_ms`` cuts the roast short, ``end`` None leaves it interrupted, ``faults``
    are (from_ms, to_ms, fault), everything else changes the head.
    """
    raw, seed = logformat.head_bytes(head(**changes))
    raw = bytes(raw)
    encoder = logformat.Encoder()
    encoder.reset(SAMPLE_MS)
    noise = random.Random(7)
    waiting = sorted(usual_events() if happenings is None else happenings)

    def sealed():
        written = b"".join(bytes(encoder.chunk(index, seed)) for index in range(encoder.finished))
        encoder.drop(encoder.finished)
        return written

    for t_ms in range(0, until_ms, SAMPLE_MS):
        while waiting and waiting[0][0] <= t_ms:
            encoder.event(*waiting.pop(0))
        fault = next((fault for begin, stop, fault in faults if begin <= t_ms < stop), None)
        if fault is None:
            encoder.sample(t_ms, temperature_centi(t_ms, noise), COLD_CENTI)
        else:
            encoder.fault(t_ms, fault)
        if encoder.full:
            encoder.finish()
        raw += sealed()
    encoder.finish()
    raw += sealed()
    if end is not None:
        import zlib

        raw += bytes(logformat.end_bytes(until_ms, end, zlib.crc32(raw), seed))
    return raw
