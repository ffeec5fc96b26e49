"""Whatever the bus says, a decoder gives a possible temperature or a fault with a name, and never raises."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panchime_fw import faults
from panchime_fw.amplifier import CHIPS, decoder_for
from panchime_fw.amplifier.bounds import COLD_HIGHEST_CENTI, COLD_LOWEST_CENTI, RANGE_CENTI
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN, Reading

TYPES = {
    "MAX31855": "KJNTESR",
    "MAX31856": "KJNTESR",
    "MAX6675": "K",
    "MCP9600": "KJNTESR",
    "MCP9601": "KJNTESR",
}
ALL = [(chip, letter) for chip in CHIPS for letter in TYPES[chip]]
PROBE_FAULTS = {faults.OPEN, faults.SHORT_TO_GROUND, faults.SHORT_TO_SUPPLY, faults.OUT_OF_RANGE, faults.COLD_JUNCTION}
CHIP_FAULTS = {faults.AMPLIFIER_ABSENT, faults.WRONG_CHIP, faults.AMPLIFIER_RESET}


def judge(decoder, letter, raw):
    """Decodes into a reading that held something else before, and checks what it holds now."""
    reading = Reading()
    reading.fault, reading.temperature_centi, reading.cold_centi = -1, -1, -1
    before = bytes(raw)
    decoder.decode(raw, reading)
    assert bytes(raw) == before, "the frame was changed"
    identity = decoder.identify(raw)
    assert identity in CHIP_FAULTS | {faults.NONE}
    if reading.fault == faults.NONE:
        low, high = RANGE_CENTI[letter]
        assert low <= reading.temperature_centi <= high
        assert COLD_LOWEST_CENTI <= reading.cold_centi <= COLD_HIGHEST_CENTI or (
            decoder.name == "MAX6675" and reading.cold_centi == COLD_UNKNOWN
        )
    else:
        assert reading.fault in PROBE_FAULTS | CHIP_FAULTS
        assert reading.fault in faults.NAMES
        assert reading.fault in faults.ADVICE
        assert reading.temperature_centi == TEMPERATURE_UNKNOWN
        # A cold junction fits the two bytes a log has for it.
        assert -32768 <= reading.cold_centi <= 32767
    assert (reading.fault in CHIP_FAULTS) == (identity != faults.NONE)
    if identity:
        assert reading.fault == identity
        assert reading.cold_centi == COLD_UNKNOWN
    return reading


@pytest.mark.parametrize(("chip", "letter"), ALL)
@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_any_bytes(chip, letter, data):
    decoder = decoder_for(chip, letter)
    size = decoder.FRAME_BYTES
    judge(decoder, letter, bytearray(data.draw(st.binary(min_size=size, max_size=size))))


@pytest.mark.parametrize("letter", TYPES["MAX31855"])
@settings(max_examples=100, deadline=None)
@given(quarters=st.integers(-8192, 8191), cold=st.integers(-2048, 2047), bits=st.integers(0, 7))
def test_any_valid_max31855_frame(letter, quarters, cold, bits):
    word = (quarters & 0x3FFF) << 18 | (bits != 0) << 16 | (cold & 0xFFF) << 4 | bits
    if word in (0, 0xFFFFFFFF):
        return
    reading = judge(decoder_for("MAX31855", letter), letter, bytearray(word.to_bytes(4, "big")))
    assert reading.fault not in CHIP_FAULTS
    if bits:
        assert reading.fault in {faults.OPEN, faults.SHORT_TO_GROUND, faults.SHORT_TO_SUPPLY}


def settled_frame(decoder, content):
    """A frame of a chip that answers with the settings of its setup; content fills every register not set."""
    if decoder.name == "MAX31856":
        settings_read = bytes((decoder.setup[1][1][0], decoder.setup[0][1][0]))
        return bytearray(content[:1] + settings_read + bytes((0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0, 0)) + content[11:])
    identity = 0x41 if decoder.name == "MCP9601" else 0x40
    return bytearray(bytes((identity, content[1])) + decoder.setup[0][1] + decoder.setup[1][1] + content[4:])


@pytest.mark.parametrize(("chip", "letter"), [pair for pair in ALL if pair[0] in ("MAX31856", "MCP9600", "MCP9601")])
@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_any_register_content_of_the_chip_that_was_set_up(chip, letter, data):
    decoder = decoder_for(chip, letter)
    size = decoder.FRAME_BYTES
    frame = settled_frame(decoder, data.draw(st.binary(min_size=size, max_size=size)))
    fault = judge(decoder, letter, frame).fault
    told = frame[11:] if chip == "MAX31856" else frame[5:]
    # Nothing but zeros before the first conversion.
    assert fault not in CHIP_FAULTS or (fault == faults.AMPLIFIER_ABSENT and not any(told))


def test_every_max6675_frame():
    decoder = decoder_for("MAX6675", "K")
    found = set()
    for word in range(0x10000):
        found.add(judge(decoder, "K", bytearray(word.to_bytes(2, "big"))).fault)
    assert found == {faults.NONE, faults.OPEN, faults.AMPLIFIER_ABSENT, faults.WRONG_CHIP}


@pytest.mark.parametrize(("chip", "letter"), ALL)
@pytest.mark.parametrize("fill", [0x00, 0xFF])
def test_a_silent_bus_is_an_absent_amplifier(chip, letter, fill):
    decoder = decoder_for(chip, letter)
    assert judge(decoder, letter, bytearray([fill] * decoder.FRAME_BYTES)).fault == faults.AMPLIFIER_ABSENT


def test_unknown_chip_names_the_way_out():
    with pytest.raises(ValueError, match="MAX31855, MAX31856, MAX6675, MCP9600, MCP9601"):
        decoder_for("AD8495", "K")
