"""MCP9600 and MCP9601: register words of the datasheet, identity and settings judged with every frame, status bits."""

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN, Reading


def frame(
    hot: int = 0x0FA0,
    cold: int = 0x0190,
    status: int = 0x40,
    identity: int = 0x40,
    sensor: int = 0x00,
    device: int = 0x20,
) -> bytearray:
    return bytearray((identity, 0x12, sensor, device, status, cold >> 8, cold & 0xFF, hot >> 8, hot & 0xFF))


def decoded(raw: bytearray, chip: str = "MCP9600", letter: str = "K") -> Reading:
    reading = Reading()
    decoder_for(chip, letter).decode(raw, reading)
    return reading


def check_hot(word: int, centi: int) -> None:
    reading = decoded(frame(hot=word))
    assert reading.fault == faults.NONE, "fault %d" % reading.fault
    assert reading.temperature_centi == centi, "%d centi" % reading.temperature_centi
    assert reading.cold_centi == 2500, "cold %d" % reading.cold_centi


def check_cold(word: int, centi: int, fault: int) -> None:
    reading = decoded(frame(cold=word))
    assert reading.cold_centi == centi, "cold %d" % reading.cold_centi
    assert reading.fault == fault, "fault %d" % reading.fault


def check_status(chip: str, status: int, fault: int) -> None:
    reading = decoded(frame(status=status, identity=0x41 if chip == "MCP9601" else 0x40), chip)
    assert reading.fault == fault, "fault %d" % reading.fault
    assert (reading.temperature_centi == TEMPERATURE_UNKNOWN) == (fault != faults.NONE)


def check_settings(chip: str, letter: str, raw: bytearray, fault: int) -> None:
    decoder = decoder_for(chip, letter)
    assert decoder.name == chip
    assert decoder.identify(raw) == fault, "identify: fault %d" % decoder.identify(raw)
    reading = decoded(raw, chip, letter)
    assert reading.fault == fault, "fault %d" % reading.fault
    assert reading.cold_centi == (2500 if fault == faults.NONE else COLD_UNKNOWN)


def check_setup(letter: str, sensor: int) -> None:
    assert decoder_for("MCP9601", letter).setup == ((0x05, bytes((sensor,))), (0x06, b"\x20"))


def check_outside(letter: str, sensor: int, word: int) -> None:
    reading = decoded(frame(hot=word, sensor=sensor), "MCP9600", letter)
    assert reading.fault == faults.OUT_OF_RANGE, "fault %d" % reading.fault


def check_reads(chip: str) -> None:
    """The reads fill the frame without a hole or an overlap."""
    decoder = decoder_for(chip, "K")
    filled = bytearray(decoder.FRAME_BYTES)
    for _, offset, length in decoder.READS:
        for index in range(offset, offset + length):
            filled[index] += 1
    assert filled == bytearray((1,) * decoder.FRAME_BYTES)


TABLES = {
    # Microchip DS20005426: signed sixteenths of a degree; hundredths rounded.
    "hot junction words": (
        check_hot,
        [(0x0190, 2500), (0x0FA0, 25000), (0x0000, 0), (0xFFFF, -6), (0xFE70, -2500), (0x0001, 6)],
    ),
    "cold junction words": (
        check_cold,
        [
            (0x0190, 2500, faults.NONE),
            (0xFFFF, -6, faults.NONE),
            (0x0550, 8500, faults.NONE),
            (0x0551, 8506, faults.COLD_JUNCTION),
            (0xFEC0, -2000, faults.NONE),
            (0xFEBF, -2006, faults.COLD_JUNCTION),
            # 327.625, 327.6875 and -2048 degC: the first still fits a log's two bytes
            (0x147A, 32763, faults.COLD_JUNCTION),
            (0x147B, COLD_UNKNOWN, faults.COLD_JUNCTION),
            (0x8000, COLD_UNKNOWN, faults.COLD_JUNCTION),
        ],
    ),
    "status bits": (
        check_status,
        [
            ("MCP9600", 0x00, faults.NONE),
            ("MCP9600", 0xC0, faults.NONE),
            ("MCP9600", 0x0F, faults.NONE),
            ("MCP9600", 0x10, faults.OUT_OF_RANGE),
            ("MCP9600", 0x20, faults.NONE),
            ("MCP9601", 0x40, faults.NONE),
            ("MCP9601", 0x10, faults.OPEN),
            ("MCP9601", 0x20, faults.SHORT_TO_GROUND),
            ("MCP9601", 0x30, faults.OPEN),
        ],
    ),
    "settings": (
        check_settings,
        [
            ("MCP9600", "K", frame(), faults.NONE),
            ("MCP9601", "J", frame(identity=0x41, sensor=0x10), faults.NONE),
            ("MCP9600", "K", bytearray(9), faults.AMPLIFIER_ABSENT),
            ("MCP9600", "K", bytearray((0xFF,) * 9), faults.AMPLIFIER_ABSENT),
            ("MCP9600", "K", frame(identity=0x41), faults.WRONG_CHIP),
            ("MCP9601", "K", frame(identity=0x40), faults.WRONG_CHIP),
            ("MCP9600", "K", frame(sensor=0x10), faults.WRONG_CHIP),
            ("MCP9600", "K", frame(device=0x21), faults.WRONG_CHIP),
            # set up, but not converted yet
            ("MCP9600", "K", frame(hot=0, cold=0), faults.AMPLIFIER_ABSENT),
            ("MCP9600", "K", frame(hot=0), faults.NONE),
            # as the chip starts: type K, 18 bits
            ("MCP9600", "K", frame(device=0x00), faults.AMPLIFIER_RESET),
            ("MCP9600", "J", frame(device=0x00), faults.AMPLIFIER_RESET),
        ],
    ),
    # High four bits of register 05, same document.
    "setup": (
        check_setup,
        [("K", 0x00), ("J", 0x10), ("T", 0x20), ("N", 0x30), ("S", 0x40), ("E", 0x50), ("R", 0x70)],
    ),
    # 1372.0625, 401 and -200.0625 degC
    "beyond the type's range": (check_outside, [("K", 0x00, 0x55C1), ("T", 0x20, 0x1910), ("K", 0x00, 0xF37F)]),
    "reads": (check_reads, [("MCP9600",), ("MCP9601",)]),
}
