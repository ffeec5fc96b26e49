"""The amplifier twins against their datasheets' worked examples, and the thermocouple against an independent library."""

import pytest
import thermocouple_its90

from panchime.virtual.chips import CHIPS, chip_named
from panchime.virtual.chips.max31855 import max31855_frame
from panchime.virtual.emf import emf_mv, junction_c

# 19-5793, table 4; cold junction 25 degC.
MAX31855_FRAMES = [
    (1600.0, 0x64001900),
    (1000.0, 0x3E801900),
    (100.75, 0x064C1900),
    (25.0, 0x01901900),
    (0.0, 0x00001900),
    (-0.25, 0xFFFC1900),
    (-1.0, 0xFFF01900),
    (-250.0, 0xF0601900),
]
# 19-5793, table 5.
COLD_JUNCTIONS = [
    (127.0, 0x7F0),
    (100.5625, 0x649),
    (25.0, 0x190),
    (0.0, 0x000),
    (-0.0625, 0xFFF),
    (-1.0, 0xFF0),
    (-20.0, 0xEC0),
    (-55.0, 0xC90),
]
ABOVE = 0.004  # converters round down: a hair above the step


@pytest.mark.parametrize(("seen_c", "word"), MAX31855_FRAMES)
def test_max31855_frames(seen_c, word):
    assert int.from_bytes(max31855_frame(round(seen_c * 4), 25 * 16, 0), "big") == word


@pytest.mark.parametrize(("cold_c", "bits"), COLD_JUNCTIONS)
def test_max31855_cold_junctions(cold_c, bits):
    chip = chip_named("MAX31855")
    chip.convert(cold_c, cold_c + ABOVE)
    chip.select(True)
    assert int.from_bytes(chip.transfer(bytes(4)), "big") >> 4 & 0xFFF == bits


def test_max31855_keeps_a_frame_whole_while_it_is_read():
    chip = chip_named("MAX31855")
    chip.convert(100.0, 25.0)
    chip.select(True)
    first = chip.transfer(bytes(2))
    chip.convert(500.0, 25.0)
    rest = chip.transfer(bytes(2))
    chip.select(False)
    chip.convert(100.0, 25.0)
    chip.select(True)
    assert first + rest == chip.transfer(bytes(4))


def register(chip, address, size):
    chip.select(True)
    data = chip.transfer(bytes([address]) + bytes(size))[1:]
    chip.select(False)
    return data


def write(chip, address, *values):
    chip.select(True)
    chip.transfer(bytes([address | 0x80, *values]))
    chip.select(False)


# Datasheet 19-7534: 19 bits of 2**-7 degC, five low bits unused.
@pytest.mark.parametrize(("hot_c", "word"), [(100.9375, 0x064F00), (25.0, 0x019000), (0.0, 0x000000)])
def test_max31856_words(hot_c, word):
    chip = chip_named("MAX31856", "K")
    write(chip, 0, 0x80, 0x03)
    chip.convert(hot_c + ABOVE, hot_c + ABOVE)
    seen = int.from_bytes(register(chip, 0x0C, 3), "big")
    assert seen & 0x1F == 0
    # The cold junction's own step is two of the hot one's.
    assert abs((seen >> 5) - (word >> 5)) <= 2


def test_max31856_word_below_zero():
    chip = chip_named("MAX31856", "K")
    write(chip, 0, 0x80, 0x03)
    chip.convert(-10.0, -10.0)
    seen = int.from_bytes(register(chip, 0x0C, 3), "big") >> 5
    assert (seen - (1 << 19)) / 128 == pytest.approx(-10.0, abs=0.03)


def test_max31856_converts_only_when_told_to():
    chip = chip_named("MAX31856")
    chip.convert(150.0, 25.0)
    assert register(chip, 0x0C, 3) == bytes(3)
    write(chip, 0, 0x80)
    assert register(chip, 0, 2) == bytes([0x80, 0x03])
    chip.convert(150.0, 25.0)
    assert (int.from_bytes(register(chip, 0x0C, 3), "big") >> 5) / 128 == pytest.approx(150.0, abs=0.03)
    assert (int.from_bytes(register(chip, 0x0A, 2), "big") >> 2) / 64 == pytest.approx(25.0, abs=0.02)


def test_max31856_faults():
    chip = chip_named("MAX31856")
    write(chip, 0, 0x90)
    chip.convert(150.0, 25.0)
    held = register(chip, 0x0C, 3)
    chip.fault = "open"
    chip.convert(160.0, 25.0)
    assert register(chip, 0x0F, 1) == b"\x01"
    chip.fault = "short to supply"
    chip.convert(160.0, 25.0)
    assert register(chip, 0x0F, 1) == b"\x02"
    assert register(chip, 0x0C, 3) == held, "an over-voltage stops the conversions"
    chip.power_up()
    assert register(chip, 0, 1) == b"\x00"


def test_max31856_set_to_another_type_reads_wrong():
    chip = chip_named("MAX31856", "J")
    write(chip, 0, 0x80, 0x03)
    chip.convert(200.0, 25.0)
    seen = (int.from_bytes(register(chip, 0x0C, 3), "big") >> 5) / 128
    assert seen > 240, "type J gives more voltage than type K"


def test_max6675_word_and_open_bit():
    # Datasheet: D14..D3 in 0.25 degC; 25 degC is 0x0320.
    chip = chip_named("MAX6675")
    chip.convert(25.0 + ABOVE, 25.0 + ABOVE)
    chip.select(True)
    assert chip.transfer(bytes(2)) == b"\x03\x20"
    chip.select(False)
    chip.fault = "open"
    chip.convert(25.0, 25.0)
    chip.select(True)
    assert int.from_bytes(chip.transfer(bytes(2)), "big") & 0x8006 == 0x0004


def test_max6675_starts_anew_when_it_is_read():
    chip = chip_named("MAX6675")
    assert [chip.due(50) for _ in range(4)] == [False, False, False, True]
    chip.due(50)
    chip.due(50)
    chip.select(True)
    chip.select(False)
    assert [chip.due(50) for _ in range(4)] == [False, False, False, True]


@pytest.mark.parametrize(("hot_c", "word"), [(25.0, 0x0190), (250.0, 0x0FA0), (-0.0625, 0xFFFF), (-25.0, 0xFE70)])
def test_mcp9600_words(hot_c, word):
    chip = chip_named("MCP9600")
    chip.convert(hot_c + ABOVE, hot_c + ABOVE)
    for pointer in (0x00, 0x02):
        assert chip.i2c_write(0x67, bytes([pointer]))
        assert int.from_bytes(chip.i2c_read(0x67, 2), "big") == word


def test_mcp9600_settings_identity_and_absence():
    chip = chip_named("MCP9601")
    assert chip.i2c_write(0x67, b"\x05\x10")
    assert chip.i2c_read(0x67, 1) == b"\x10"
    chip.i2c_write(0x67, b"\x20")
    assert chip.i2c_read(0x67, 2)[0] == 0x41
    assert not chip.i2c_write(0x60, b"\x00")
    chip.fault = "absent low"
    assert not chip.i2c_write(0x67, b"\x00")
    assert chip.i2c_read(0x67, 2) is None
    chip.fault = "none"
    chip.power_up()
    chip.i2c_write(0x67, b"\x05")
    assert chip.i2c_read(0x67, 1) == b"\x00"


def test_mcp9600_conversion_time_follows_its_resolution():
    chip = chip_named("MCP9600")
    assert sum(chip.due(50) for _ in range(70)) == 10
    chip.i2c_write(0x67, b"\x06\x20")
    assert sum(chip.due(50) for _ in range(40)) == 20


def test_unknown_chip():
    with pytest.raises(Exception, match="MAX31855"):
        chip_named("MAX1")
    assert set(CHIPS) == {"MAX31855", "MAX31856", "MAX6675", "MCP9600", "MCP9601"}


@pytest.mark.parametrize("kind", list("KJNTE"))
@pytest.mark.parametrize("hot_c", [-190.0, -25.0, 0.0, 25.0, 100.0, 200.0, 250.0, 390.0])
def test_emf_equals_the_reference_library(kind, hot_c):
    assert emf_mv(kind, hot_c) == pytest.approx(thermocouple_its90.get(kind).emf(hot_c), abs=5e-4)


@pytest.mark.parametrize("kind", list("KJNTE"))
def test_inverse_comes_back(kind):
    for hot_c in (-20.0, 0.0, 25.0, 180.0, 250.0, 399.0):
        assert junction_c(kind, emf_mv(kind, hot_c)) == pytest.approx(hot_c, abs=0.002)
