"""No value on the path from frame to rate leaves the board's small integers: the code, run on integers that object.

Above 2**30 MicroPython would allocate, and the relay's path must not.
"""

import random
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import Reading
from panchime_fw.signal import LONGEST_WINDOW_MS, RateOfRise, SpikeFilter
from panchime_fw.thermocouple import TYPES, Thermocouple

sys.path.insert(0, str(Path(__file__).parent))
from small_integer import LIMIT, SmallInteger, TooLarge, small


def watched_curve(curve: Thermocouple) -> Thermocouple:
    curve._nodes = tuple(small(curve._nodes))
    return curve


def watched_rate(window_ms: int) -> RateOfRise:
    rate = RateOfRise(window_ms)
    rate._ticks = small(rate._ticks)
    rate._steps = small(rate._steps)
    return rate


@pytest.mark.parametrize(
    "overflow",
    [
        lambda: SmallInteger(LIMIT - 1) + 1,
        lambda: 1 + SmallInteger(LIMIT - 1),
        lambda: -2 - SmallInteger(LIMIT - 1),
        lambda: 32768 * SmallInteger(32768),
        lambda: SmallInteger(32768) * 32768,
        lambda: SmallInteger(1) << 30,
        lambda: 1 << SmallInteger(30),
        lambda: -SmallInteger(LIMIT - 1) - 1,
        lambda: (SmallInteger(7) // 2 + 1) * (LIMIT // 4),
    ],
)
def test_the_watch_objects(overflow):
    with pytest.raises(TooLarge):
        overflow()


@pytest.mark.parametrize("letter", TYPES)
def test_curve(letter):
    curve = watched_curve(Thermocouple(letter))
    for t_centi in range(curve.lowest_centi - 100, curve.highest_centi + 100, 37):
        voltage = curve.nanovolts(SmallInteger(t_centi))
        assert isinstance(voltage, SmallInteger)
        assert isinstance(curve.centi(voltage) + SmallInteger(0), SmallInteger)
    for beyond in (-LIMIT + 1, LIMIT - 1):
        curve.nanovolts(SmallInteger(beyond))
        curve.centi(SmallInteger(beyond))


@pytest.mark.parametrize("letter", TYPES)
def test_max31855(letter):
    decoder, reading = decoder_for("MAX31855", letter), Reading()
    watched_curve(decoder._curve)
    for quarters in range(-8192, 8192, 37):
        for cold_sixteenths in (-2048, -321, -320, -160, 0, 1, 400, 960, 1360, 1361, 2047):
            word = (quarters & 0x3FFF) << 18 | (cold_sixteenths & 0xFFF) << 4
            decoder.decode(small(word.to_bytes(4, "big")), reading)


def test_max6675():
    decoder, reading = decoder_for("MAX6675", "K"), Reading()
    watched_curve(decoder._curve)
    for word in range(0x10000):
        decoder.decode(small(word.to_bytes(2, "big")), reading)


@pytest.mark.parametrize(("chip", "identity"), [("MCP9600", 0x40), ("MCP9601", 0x41)])
def test_mcp960x(chip, identity):
    decoder, reading = decoder_for(chip, "K"), Reading()
    for word in range(0, 0x10000, 13):
        for cold in (0, 0x0190, 0x7FFF, 0x8000, 0xFFFF):
            frame = bytes((identity, 0, 0, 0x20, 0x40)) + cold.to_bytes(2, "big") + word.to_bytes(2, "big")
            decoder.decode(small(frame), reading)


def test_max31856():
    decoder, reading = decoder_for("MAX31856", "K"), Reading()
    head = bytes((0, 0x91, 3, 0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0, 0))
    for word in [*range(0, 1 << 24, 4999), 0xFFFFFF, 0x7FFFFF, 0x800000]:
        for cold in (0, 0x1900, 0x7FFF, 0x8000, 0xFFFF):
            decoder.decode(small(head + cold.to_bytes(2, "big") + word.to_bytes(3, "big") + bytes(1)), reading)


def test_filter():
    spikes = SpikeFilter()
    for value in (-LIMIT + 1, LIMIT - 1, 0, LIMIT - 1, -LIMIT + 1):
        spikes.add(SmallInteger(value))


def worst_sequences():
    """Sample times and temperatures chosen to make each sum as large as it can get in a window."""
    full = LONGEST_WINDOW_MS
    for low, high in ((-20000, 176800), (176800, -20000), (176800, 176800), (-20000, -20000)):
        regular = [(t, low if t < full // 2 else high) for t in range(0, 3 * full, 250)]
        yield "one step", regular
        yield "alternating", [(t, low if t // 250 % 2 else high) for t in range(0, 3 * full, 250)]
        # As many samples as there is room for, as old as the window allows, then the longest gaps that are bridged.
        crowded = [(60 * k, high) for k in range(241)]
        end = crowded[-1][0]
        yield "crowded, then gaps", crowded + [(end + k * 14900, low) for k in range(1, 8)]
        yield "crowded again and again", [
            (base + 40 * k, high if base % 2 else low) for base in range(0, 20 * full, 14501) for k in range(200)
        ]
    late = LIMIT - 200000
    yield "after twelve days", [(late + t, 20000 + t // 10) for t in range(0, 199000, 250)]


@pytest.mark.parametrize(("name", "samples"), list(worst_sequences()))
@pytest.mark.parametrize("window_ms", [20000, 30000, LONGEST_WINDOW_MS])
def test_rate_at_its_worst(name, samples, window_ms):
    rate = watched_rate(window_ms)
    for t_ms, centi in samples:
        rate.add(SmallInteger(t_ms), SmallInteger(centi))


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([20000, 30000, LONGEST_WINDOW_MS]),
    st.lists(st.tuples(st.integers(0, 16000), st.integers(-27000, 180000)), min_size=1, max_size=50),
    st.integers(1, 120),
    st.randoms(use_true_random=False),
)
def test_rate_at_any_times(window_ms, pieces, repeat, chance: random.Random):
    rate = watched_rate(window_ms)
    t_ms = 0
    for gap_ms, centi in pieces:
        t_ms += gap_ms
        for _ in range(repeat):
            rate.add(SmallInteger(t_ms), SmallInteger(centi))
            t_ms += chance.randrange(0, 300)
