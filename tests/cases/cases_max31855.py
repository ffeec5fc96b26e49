"""MAX31855: frames of the datasheet, faults, and the correction by ITS-90."""

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN, Reading
from panchime_fw.thermocouple import Thermocouple

NANOVOLTS_PER_C = {"K": 41276, "J": 57953, "N": 36256, "S": 9587, "T": 52180, "E": 76373, "R": 10506}


def frame(word: int) -> bytearray:
    return bytearray(((word >> 24) & 0xFF, (word >> 16) & 0xFF, (word >> 8) & 0xFF, word & 0xFF))


def told(quarters: int, cold_sixteenths: int) -> bytearray:
    return frame((quarters & 0x3FFF) << 18 | (cold_sixteenths & 0xFFF) << 4)


def decoded(raw: bytearray, letter: str = "K") -> Reading:
    reading = Reading()
    decoder_for("MAX31855", letter).decode(raw, reading)
    return reading


def check_fault(word: int, fault: int, cold_centi: int) -> None:
    reading = decoded(frame(word))
    assert reading.fault == fault, "fault %d" % reading.fault
    assert reading.temperature_centi == TEMPERATURE_UNKNOWN, "a faulty reading carries a temperature"
    assert reading.cold_centi == cold_centi, "cold %d" % reading.cold_centi


def check_identify(word: int, fault: int) -> None:
    found = decoder_for("MAX31855", "K").identify(frame(word))
    assert found == fault, "fault %d" % found


def check_worked_example(word: int, told_centi: int) -> None:
    """The decoder undoes the chip's straight line, so the told value shows as the voltage the line makes of it."""
    reading = decoded(frame(word))
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    assert reading.cold_centi == 2500, "cold %d" % reading.cold_centi
    curve = Thermocouple("K")
    expected = curve.nanovolts(2500) + (told_centi - 2500) * 41276 // 100
    found = curve.nanovolts(reading.temperature_centi)
    # A hundredth of a degree of rounding, at 41 uV/degC.
    assert abs(found - expected) <= 420, "%d nV, expected %d" % (found, expected)


def check_cold(cold_sixteenths: int, cold_centi: int) -> None:
    reading = decoded(told(400, cold_sixteenths))
    assert reading.cold_centi == cold_centi, "cold %d" % reading.cold_centi


def check_correction(told_quarters: int, cold_centi: int, true_centi: int) -> None:
    reading = decoded(told(told_quarters, cold_centi * 16 // 100))
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    assert abs(reading.temperature_centi - true_centi) <= 1, "%d centi" % reading.temperature_centi


def check_variant(letter: str, true_c: int, microvolts: int, cold_c: int, cold_microvolts: int) -> None:
    """From two printed voltages to the frame the chip would send, and back to the true temperature."""
    quarters_scaled = (microvolts - cold_microvolts) * 1000 * 4
    sensitivity = NANOVOLTS_PER_C[letter]
    quarters = cold_c * 4 + (quarters_scaled + sensitivity // 2) // sensitivity
    reading = decoded(told(quarters, cold_c * 16), letter)
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    # Half of the chip's 0.25 degC, scaled by its sensitivity over the true one (at most 1.4, type N), and 0.05 degC.
    assert abs(reading.temperature_centi - true_c * 100) <= 12.5 * 1.4 + 5, "%d centi" % reading.temperature_centi


def check_refused(letter: str) -> None:
    message = ""
    try:
        decoder_for("MAX31855", letter)
    except ValueError as error:
        message = str(error)
    assert "types are" in message, message or "it was taken"


TABLES = {
    # Maxim 19-5793, tables 4 and 5; the frames put together from them with the cold junction at 25 degC.
    "worked examples, D31..D18": (
        check_worked_example,
        [
            (0x3E801900, 100000),
            (0x064C1900, 10075),
            (0x01901900, 2500),
            (0x00001900, 0),
            (0xFFFC1900, -25),
            (0xFFF01900, -100),
        ],
    ),
    "worked examples beyond type K": (
        check_fault,
        # 1600 degC is beyond type K; -250 degC is what a straight line makes of a voltage no type K gives.
        [(0x64001900, faults.OUT_OF_RANGE, 2500), (0xF0601900, faults.OUT_OF_RANGE, 2500)],
    ),
    "worked examples, D15..D4": (
        check_cold,
        [
            (0x190, 2500),
            (0x000, 0),
            (0xFFF, -6),
            (0xFF0, -100),
            (0xEC0, -2000),
            (0x7F0, 12700),
            (0x649, 10056),
            (0xC90, -5500),
        ],
    ),
    "faults": (
        check_fault,
        [
            (0x00000000, faults.AMPLIFIER_ABSENT, COLD_UNKNOWN),
            (0xFFFFFFFF, faults.AMPLIFIER_ABSENT, COLD_UNKNOWN),
            (0x064D1901, faults.OPEN, 2500),
            (0x064D1902, faults.SHORT_TO_GROUND, 2500),
            (0x064D1904, faults.SHORT_TO_SUPPLY, 2500),
            (0x064D1907, faults.OPEN, 2500),
            (0x064D1906, faults.SHORT_TO_GROUND, 2500),
            # reserved bits
            (0x064E1900, faults.WRONG_CHIP, COLD_UNKNOWN),
            (0x064C1908, faults.WRONG_CHIP, COLD_UNKNOWN),
            # the summary without a part, and a part without the summary
            (0x064D1900, faults.WRONG_CHIP, COLD_UNKNOWN),
            (0x064C1901, faults.WRONG_CHIP, COLD_UNKNOWN),
            (0x064C1902, faults.WRONG_CHIP, COLD_UNKNOWN),
            (0x064C1904, faults.WRONG_CHIP, COLD_UNKNOWN),
            # registers 00.. of a MAX31856 as it starts, read in place of a frame (from memory)
            (0x000003FF, faults.WRONG_CHIP, COLD_UNKNOWN),
            # the cold junction one step beyond -20 and +85 degC, and at the chip's ends
            (0x064CEBF0, faults.COLD_JUNCTION, -2006),
            (0x064C5510, faults.COLD_JUNCTION, 8506),
            (0x064C7FF0, faults.COLD_JUNCTION, 12794),
            (0x064C8000, faults.COLD_JUNCTION, -12800),
            # an open probe is told even when the cold junction is implausible too
            (0x064D7FF1, faults.OPEN, 12794),
        ],
    ),
    "cold junction at its bounds": (check_cold, [(-20 * 16, -2000), (85 * 16, 8500)]),
    "identify": (
        check_identify,
        [
            (0x00000000, faults.AMPLIFIER_ABSENT),
            (0xFFFFFFFF, faults.AMPLIFIER_ABSENT),
            (0x064E1900, faults.WRONG_CHIP),
            (0x064D1901, faults.NONE),
            (0x064C1900, faults.NONE),
            (0x00000010, faults.NONE),
        ],
    ),
    # Computed from the NIST ITS-90 reference function (root of E(T) = E(T_AMB) + 41.276 uV/degC (T_R - T_AMB)).
    "correction, type K": (
        check_correction,
        [
            (597, 2500, 14976),
            (776, 2500, 19593),
            (791, 2500, 19980),
            (885, 2500, 22400),
            (987, 2500, 25000),
            (1186, 2500, 29995),
            (598, 4000, 14983),
            (792, 4000, 19987),
            (987, 4000, 24981),
        ],
    ),
    # Printed values of NIST SRD 60 in microvolts.
    "correction, every variant": (
        check_variant,
        [
            ("K", 200, 8138, 25, 1000),
            ("K", 250, 10153, -10, -392),
            ("K", 224, 9101, 50, 2023),
            ("J", 200, 10779, 25, 1277),
            ("J", 250, 13555, -10, -501),
            ("J", 224, 12111, 50, 2585),
            ("N", 200, 5913, 25, 659),
            ("N", 250, 7597, -10, -260),
            ("N", 224, 6713, 50, 1340),
            ("T", 200, 9288, 25, 992),
            ("T", 250, 12013, -10, -383),
            ("T", 224, 10580, 50, 2036),
            ("E", 200, 13421, 25, 1495),
            ("E", 250, 17181, -10, -582),
            ("E", 224, 15212, 50, 3048),
            # Types S and R: E(1000 degC) = 1000 times the datasheet's sensitivity, cold junction at 0.
            ("S", 1000, 9587, 0, 0),
            ("R", 1000, 10506, 0, 0),
        ],
    ),
    "refused types": (check_refused, [("B",), ("",), ("k",)]),
}
