"""From bus to corrected reading: the calibration is applied, and the chip is known before a relay may hang on it.

Frames: MAX31855 datasheet 19-5793 table 4 (25.00 degC with the cold junction at 25.00 is 0x01901900), MAX6675 datasheet 19-2235
(25 degC is 0x0320).
"""

from panchime_fw import faults, settings
from panchime_fw.amplifier.reading import COLD_UNKNOWN, TEMPERATURE_UNKNOWN
from panchime_fw.chain import FIRST_FRAMES, UNDECIDED, Chain

MAX31855_25_C = b"\x01\x90\x19\x00"
MAX31855_OPEN = b"\x01\x91\x19\x01"
MAX31855_AT_0_C = b"\x00\x0c\x00\x00"
MAX6675_25_C = b"\x03\x20\x00\x00"
MAX6675_25_C_ONES = b"\x03\x20\xff\xff"
SILENT = b"\x00\x00\x00\x00"
BUS_OF_ONES = b"\xff\xff\xff\xff"


class Bus:
    """Gives the wired chip's bytes, as many as the firmware reads."""

    def __init__(self, wired):
        self.wired = wired
        self.decoder = None
        self.looks = 0

    def set_amplifier(self, decoder):
        self.decoder = decoder

    def read_frame(self):
        return bytearray(self.wired[: self.decoder.FRAME_BYTES])

    def read_look(self, look):
        self.looks += 1
        for index in range(len(look)):
            look[index] = self.wired[index]
        return self.read_frame()


def chain_of(wired, damaged=False, **changes):
    bus = Bus(wired)
    chain = Chain(settings.Settings(dict(settings.DEFAULTS, **changes)), damaged)
    bus.set_amplifier(chain.decoder)
    chain.connect(bus)
    return chain, bus


def check_first_frames(chip, wired, verdict, trusted):
    chain, _ = chain_of(wired, amplifier=chip)
    for _ in range(FIRST_FRAMES - 1):
        chain.read()
        assert chain.verdict == UNDECIDED and not chain.trusted, "known too early"
    reading = chain.read()
    assert chain.verdict == verdict, chain.verdict
    assert chain.trusted == trusted
    if verdict != faults.NONE:
        assert reading.fault == verdict, reading.fault
        assert reading.temperature_centi == TEMPERATURE_UNKNOWN
        assert chain.read().fault == verdict, "forgotten with the next frame"


def check_open_probe_is_no_wrong_chip():
    chain, bus = chain_of(MAX31855_OPEN)
    for _ in range(FIRST_FRAMES):
        assert chain.read().fault == faults.OPEN
    assert chain.verdict == faults.NONE and chain.trusted
    looks = bus.looks
    bus.wired = MAX31855_25_C
    assert chain.read().fault == faults.NONE
    assert bus.looks == looks, "it looks for ever"


def check_an_absent_chip_is_looked_at_when_it_comes(chip, wired, verdict):
    chain, bus = chain_of(SILENT, amplifier=chip)
    for _ in range(3 * FIRST_FRAMES):
        chain.read()
    assert chain.verdict == faults.AMPLIFIER_ABSENT and not chain.trusted
    bus.wired = wired
    for _ in range(FIRST_FRAMES):
        assert not chain.trusted
        chain.read()
    assert chain.verdict == verdict, chain.verdict


def check_cold_junction_that_leaves_zero():
    chain, bus = chain_of(MAX31855_AT_0_C)
    for _ in range(2 * FIRST_FRAMES):
        chain.read()
    assert chain.verdict == faults.WRONG_CHIP
    bus.wired = b"\x00\x0c\x00\x10"
    assert chain.read().fault == faults.NONE
    assert chain.verdict == faults.NONE and chain.trusted


def check_damaged_settings_are_never_trusted():
    chain, _ = chain_of(MAX31855_25_C, damaged=True)
    for _ in range(40):
        assert chain.read().fault == faults.NONE
        assert not chain.trusted
    chain.take(settings.Settings(dict(settings.DEFAULTS)), False)
    for _ in range(FIRST_FRAMES):
        assert not chain.trusted
        chain.read()
    assert chain.trusted


def check_another_chip_at_once():
    chain, bus = chain_of(MAX6675_25_C)
    for _ in range(FIRST_FRAMES):
        chain.read()
    assert chain.verdict == faults.WRONG_CHIP
    chain.take(settings.Settings(dict(settings.DEFAULTS, amplifier="MAX6675")), False)
    assert bus.decoder is chain.decoder and chain.decoder.name == "MAX6675"
    reading = chain.read()
    assert reading.fault == faults.NONE
    assert abs(reading.temperature_centi - 2500) <= 2, reading.temperature_centi
    assert reading.cold_centi == COLD_UNKNOWN


def check_calibration(points, shown_centi, wanted_centi):
    document = {"points": [{"shown_centi": shown, "true_centi": true, "how": "", "date": ""} for shown, true in points]}
    chain, bus = chain_of(MAX31855_25_C, calibration=document)
    reading = chain.read()
    assert chain.uncalibrated_centi == shown_centi, chain.uncalibrated_centi
    assert reading.temperature_centi == wanted_centi, reading.temperature_centi
    bus.wired = MAX31855_OPEN
    assert chain.read().temperature_centi == TEMPERATURE_UNKNOWN, "a fault was calibrated"


TABLES = {
    "first frames": (
        check_first_frames,
        [
            ("MAX31855", MAX31855_25_C, faults.NONE, True),
            ("MAX6675", MAX6675_25_C, faults.NONE, True),
            ("MAX6675", MAX6675_25_C_ONES, faults.NONE, True),
            # The dangerous one: half the temperature, and not one bit of its frame is wrong.
            ("MAX6675", MAX31855_25_C, faults.WRONG_CHIP, False),
            ("MAX31855", MAX6675_25_C, faults.WRONG_CHIP, False),
            ("MAX31855", MAX6675_25_C_ONES, faults.WRONG_CHIP, False),
            ("MAX31855", SILENT, faults.AMPLIFIER_ABSENT, False),
            ("MAX31855", BUS_OF_ONES, faults.AMPLIFIER_ABSENT, False),
            ("MAX6675", BUS_OF_ONES, faults.AMPLIFIER_ABSENT, False),
        ],
    ),
    "open probe": (check_open_probe_is_no_wrong_chip, [()]),
    "an absent chip comes": (
        check_an_absent_chip_is_looked_at_when_it_comes,
        [
            ("MAX31855", MAX31855_25_C, faults.NONE), ("MAX6675", MAX6675_25_C, faults.NONE),
            ("MAX6675", MAX31855_25_C, faults.WRONG_CHIP), ("MAX31855", MAX6675_25_C, faults.WRONG_CHIP),
        ],
    ),
    "cold junction at zero": (check_cold_junction_that_leaves_zero, [()]),
    "damaged settings": (check_damaged_settings_are_never_trusted, [()]),
    "another chip at once": (check_another_chip_at_once, [()]),
    "calibration": (check_calibration, [(((50, 0),), 2500, 2450), (((-20, 0), (9950, 10000)), 2500, 2528)]),
}  # fmt: skip
