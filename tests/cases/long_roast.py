"""A roast of twelve minutes as an amplifier tells it, the same every time. Runs on CPython and on MicroPython.

The curve is invented: a pan heated to 200 degC, beans in after a minute, and a probe that falls and rises with them.
"""

from math import exp

from panchime_fw import events
from panchime_fw.amplifier.max31855 import Max31855
from panchime_fw.amplifier.reading import Reading
from panchime_fw.thermocouple import Thermocouple

MINUTES = 12
SAMPLE_MS = 250


class Noise:
    """Seeded noise, about Gaussian: the sum of twelve uniform numbers (the same on every interpreter)."""

    def __init__(self, seed):
        self.state = seed

    def below(self, limit):
        self.state = (self.state * 1103515245 + 12345) & 0x7FFFFFFF
        return (self.state >> 8) % limit

    def gauss(self, sigma):
        return sigma * (sum(self.below(10001) for _ in range(12)) - 60000) / 10000


def bean_c(t_s):
    if t_s < 60:
        return 170 + 30 * (1 - exp(-t_s / 25))
    beans = 25 + 235 * (1 - exp(-(t_s - 60) / 300))
    return beans + (196 - 25) * exp(-(t_s - 60) / 14)


def samples(noise_c, resolution_centi, seed=1):
    """Yields (t_ms, temperature_centi, cold_centi); a resolution of 25 goes through the frames of a MAX31855."""
    noise = Noise(seed)
    curve = Thermocouple("K")
    decoder = Max31855("K")
    reading = Reading()
    for index in range(MINUTES * 60000 // SAMPLE_MS):
        t_ms = 137 + index * SAMPLE_MS
        t_s = t_ms / 1000
        cold_c = 24 + 12 * (1 - exp(-t_s / 400)) + noise.gauss(0.03)
        told_c = bean_c(t_s) + noise.gauss(noise_c)
        if resolution_centi != 25:
            step = resolution_centi
            yield t_ms + noise.below(4), int(told_c * 100 // step * step), int(cold_c * 64 + 0.5) * 100 // 64
            continue
        cold_centi = int(cold_c * 100 + 0.5)
        emf_nv = curve.nanovolts(int(told_c * 100 + 0.5)) - curve.nanovolts(cold_centi)
        quarters = int((cold_c + emf_nv / 41276) * 4 + 0.5)
        sixteenths = int(cold_c * 16 + 0.5)
        raw = bytes([quarters >> 6 & 0xFF, quarters << 2 & 0xFF, sixteenths >> 4 & 0xFF, sixteenths << 4 & 0xFF])
        decoder.decode(raw, reading)
        assert reading.fault == 0, "the made-up frame is not one of the chip"
        yield t_ms + noise.below(4), reading.temperature_centi, reading.cold_centi


# (after which ms, kind, a, b, c): what a person and the board do in that roast.
HAPPENS = (
    [(0, events.STAGE, 1, 0, 0), (100, events.RELAY, 1, 0, 0)]
    + [(t_s * 1000, events.MILESTONE, index, 0, 0) for index, t_s in enumerate(range(50, 700, 55))]
    + [(60200, events.MARK, 0, 0, 60200), (60300, events.STAGE, 2, 0, 0)]
    + [(250000, events.MARK, 1, 0, 250000), (480000, events.MARK, 2, 1, 471000), (600000, events.MARK, 3, 2, 600000)]
    + [(610000, events.MARK_BACK, 3, 0, 0), (640000, events.MARK, 3, 0, 640000)]
    + [(660000, events.MARK, 4, 0, 660000), (660100, events.STAGE, 3, 0, 0), (661000, events.RELAY, 0, 0, 0)]
)
HAPPENS.sort()

PLAN = {
    "name": "Skillet, to City",
    "method": "skillet",
    "unit": "C",
    "loads": "hot",
    "heater_on_relay": False,
    "limit": 245,
    "longest_roast_min": 20,
    "cool_below": 40,
    "marks": ["beans in", "yellow", "first crack", "second crack", "beans out"],
    "milestone": [
        {"label": "Load now", "rises_to": 200, "sound": "rising", "stage": "preheat"},
        {"label": "Turning point", "rate_above": 0, "for_s": 5, "sound": "short", "waits_for": "beans in"},
        {"label": "Yellow soon", "ahead_s": 30, "of": 150, "sound": "double"},
        {"label": "Yellow", "rises_to": 150, "sound": "rising"},
        {"label": "Slow the heat", "rises_to": 180, "sound": "falling", "waits_for": "yellow"},
        {"label": "First crack soon", "ahead_s": 45, "of": 196, "sound": "double", "waits_for": "yellow"},
        {"label": "First crack about now", "rises_to": 196, "sound": "rising", "waits_for": "yellow"},
        {"label": "Fifteen percent", "development_share": 15, "waits_for": "first crack"},
        {"label": "City", "development_share": 18, "sound": "long", "waits_for": "first crack"},
    ],
}

HEAD = {
    "format": 1,
    "board": "E6614103E7",
    "model": "Raspberry Pi Pico with RP2040",
    "firmware": "0.1.0",
    "number": 12,
    "boot": 40,
    "uptime_ms": 123456,
    "utc": "2026-11-25T08:30:00Z",
    "amplifier": "MAX31855",
    "thermocouple": "K",
    "calibration": None,
    "sample_ms": SAMPLE_MS,
    "plan": PLAN,
}
