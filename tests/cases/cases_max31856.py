"""MAX31856: register words of the datasheet, settings judged with every frame, status bits."""

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN, Reading

# Registers 02..09 as the chip starts (from memory), which the setup leaves alone.
UNTOUCHED = (0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00)


def frame(hot: int = 0x064F00, cold: int = 0x1900, status: int = 0, cr0: int = 0x91, cr1: int = 0x03) -> bytearray:
    told = bytes((cold >> 8, cold & 0xFF, hot >> 16, (hot >> 8) & 0xFF, hot & 0xFF, status))
    return bytearray(bytes((0x00, cr0, cr1)) + bytes(UNTOUCHED) + told)


def decoded(raw: bytearray, letter: str = "K") -> Reading:
    reading = Reading()
    decoder_for("MAX31856", letter).decode(raw, reading)
    return reading


def check_hot(word: int, letter: str, centi: int) -> None:
    code = decoder_for("MAX31856", letter).setup[0][1][0]
    reading = decoded(frame(hot=word, cr1=code), letter)
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    assert reading.temperature_centi == centi, "%d centi" % reading.temperature_centi
    assert reading.cold_centi == 2500, "cold %d" % reading.cold_centi


def check_cold(word: int, centi: int) -> None:
    reading = decoded(frame(cold=word))
    assert reading.cold_centi == centi, "cold %d" % reading.cold_centi


def check_status(status: int, fault: int) -> None:
    reading = decoded(frame(status=status))
    assert reading.fault == fault, "fault %d" % reading.fault
    assert reading.temperature_centi == TEMPERATURE_UNKNOWN, "a faulty reading carries a temperature"
    assert reading.cold_centi == 2500, "cold %d" % reading.cold_centi


def check_settings(raw: bytearray, fault: int) -> None:
    decoder = decoder_for("MAX31856", "K")
    assert decoder.identify(raw) == fault, "identify: fault %d" % decoder.identify(raw)
    reading = decoded(raw)
    assert reading.fault == fault, "fault %d" % reading.fault
    assert reading.cold_centi == (2500 if fault == faults.NONE else COLD_UNKNOWN)


def check_setup(letter: str, code: int) -> None:
    assert decoder_for("MAX31856", letter).setup == ((0x81, bytes((code,))), (0x80, b"\x91"))


def changed(index: int, value: int) -> bytearray:
    raw = frame()
    raw[index] = value
    return raw


def check_outside(letter: str, word: int) -> None:
    code = decoder_for("MAX31856", letter).setup[0][1][0]
    reading = decoded(frame(hot=word, cr1=code), letter)
    assert reading.fault == faults.OUT_OF_RANGE, "fault %d" % reading.fault


TABLES = {
    # Maxim 19-7534, data format tables; hundredths rounded.
    "thermocouple words": (
        check_hot,
        [
            (0x640000, "S", 160000),
            (0x3E8000, "K", 100000),
            (0x064F00, "K", 10094),
            (0x019000, "K", 2500),
            (0x000000, "K", 0),
            (0xFFFF00, "K", -6),
            (0xFFF000, "K", -100),
            # the five lowest bits mean nothing
            (0x01901F, "K", 2500),
        ],
    ),
    "beyond the type's range": (check_outside, [("K", 0x640000), ("K", 0xF06000), ("T", 0x191000), ("S", 0xFCD000)]),
    # 14 bits of 2^-6 degC; the lowest two bits mean nothing.
    "cold junction words": (
        check_cold,
        [(0x1900, 2500), (0x1903, 2500), (0x0000, 0), (0xFFFC, -2), (0xFF00, -100), (0x5500, 8500), (0x5504, 8502)],
    ),
    "status bits": (
        check_status,
        [
            (0x01, faults.OPEN),
            (0x02, faults.SHORT_TO_SUPPLY),
            (0x04, faults.OUT_OF_RANGE),
            (0x08, faults.OUT_OF_RANGE),
            (0x10, faults.COLD_JUNCTION),
            (0x20, faults.COLD_JUNCTION),
            (0x40, faults.OUT_OF_RANGE),
            (0x80, faults.COLD_JUNCTION),
            (0xFF, faults.OPEN),
        ],
    ),
    "settings": (
        check_settings,
        [
            (frame(), faults.NONE),
            (bytearray(17), faults.AMPLIFIER_ABSENT),
            (bytearray((0xFF,) * 17), faults.AMPLIFIER_ABSENT),
            # the byte under the address means nothing
            (changed(0, 0xFF), faults.NONE),
            (bytearray((0xFF,) + (0x00,) * 16), faults.AMPLIFIER_ABSENT),
            # as the chip starts
            (frame(hot=0, cold=0, cr0=0x00), faults.AMPLIFIER_RESET),
            # set up, but not converted yet; a status bit or one bit of either temperature is a conversion
            (frame(hot=0, cold=0), faults.AMPLIFIER_ABSENT),
            (frame(hot=0x000020, cold=0x1900), faults.NONE),
            (frame(hot=0, cold=0x1900), faults.NONE),
            # another type, no conversions, 60 Hz rejection
            (frame(cr1=0x07), faults.WRONG_CHIP),
            (frame(cr0=0x11), faults.WRONG_CHIP),
            (frame(cr0=0x90), faults.WRONG_CHIP),
        ]
        + [(changed(3 + index, UNTOUCHED[index] ^ 0x01), faults.WRONG_CHIP) for index in range(8)],
    ),
    # Low four bits of CR1, same document.
    "setup": (check_setup, [("E", 1), ("J", 2), ("K", 3), ("N", 4), ("R", 5), ("S", 6), ("T", 7)]),
}
