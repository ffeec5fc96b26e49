"""MAX6675: datasheet layout, faults, and the correction with an assumed cold junction."""

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN, Reading
from panchime_fw.thermocouple import Thermocouple


def decoded(word: int) -> Reading:
    reading = Reading()
    decoder_for("MAX6675", "K").decode(bytearray((word >> 8, word & 0xFF)), reading)
    assert reading.cold_centi == COLD_UNKNOWN, "a MAX6675 never tells its cold junction"
    return reading


def check_told(word: int, told_centi: int) -> None:
    reading = decoded(word)
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    curve = Thermocouple("K")
    expected = curve.nanovolts(2500) + (told_centi - 2500) * 410
    found = curve.nanovolts(reading.temperature_centi)
    assert abs(found - expected) <= 420, "%d nV, expected %d" % (found, expected)


def check_fault(word: int, fault: int) -> None:
    reading = decoded(word)
    assert reading.fault == fault, "fault %d" % reading.fault
    assert reading.temperature_centi == TEMPERATURE_UNKNOWN, "a faulty reading carries a temperature"


def check_assumption(true_c: int, microvolts: int, cold_c: int, cold_microvolts: int, error_centi: int) -> None:
    """What an unknown cold junction costs: corrected minus true, besides half a step of the chip (0.125 degC)."""
    quarters = cold_c * 4 + ((microvolts - cold_microvolts) * 4 + 20) // 41
    reading = decoded(quarters << 3)
    found = reading.temperature_centi - true_c * 100
    assert abs(found - error_centi) <= 15, "error %d centi" % found


def check_refused(letter: str) -> None:
    message = ""
    try:
        decoder_for("MAX6675", letter)
    except ValueError as error:
        message = str(error)
    assert "type K only" in message, message or "it was taken"


TABLES = {
    # Layout of Maxim 19-2235: D14..D3 in 0.25 degC.
    "told values": (
        check_told,
        [(0x0320, 2500), (0x0C80, 10000), (0x1F40, 25000), (0x0321, 2500), (0x7FF8, 102375), (0x0008, 25)],
    ),
    "faults": (
        check_fault,
        [
            (0x0000, faults.AMPLIFIER_ABSENT),
            (0x0001, faults.AMPLIFIER_ABSENT),
            (0xFFFF, faults.AMPLIFIER_ABSENT),
            (0xFFFE, faults.AMPLIFIER_ABSENT),
            (0x0324, faults.OPEN),
            (0x0004, faults.OPEN),
            (0x8320, faults.WRONG_CHIP),
            (0x0322, faults.WRONG_CHIP),
        ],
    ),
    # Printed values of NIST SRD 60 in microvolts; the error from E(c) - 41 c against E(25) - 1025 over about 41
    # uV/degC.
    "cost of the unknown cold junction": (
        check_assumption,
        [
            (200, 8138, 25, 1000, 0),
            (200, 8138, 50, 2023, 5),
            (200, 8138, 0, 0, -62),
            (200, 8138, -10, -392, -107),
            (250, 10153, 0, 0, -61),
            (250, 10153, 50, 2023, 5),
        ],
    ),
    "refused types": (check_refused, [("J",), ("T",), ("",)]),
}
