"""MAX31855: 14-bit thermocouple temperature and 12-bit cold junction in one 32-bit frame.

Source of layout and timing: Maxim 19-5793, tables 2 to 5. Most significant bit first; D31..D18 signed thermocouple
temperature in 0.25 degC, D17 reserved (0), D16 fault summary (the OR of D2..D0), D15..D4 signed cold junction in
0.0625 degC, D3 reserved (0), D2 short to supply, D1 short to ground, D0 open.

The chip takes its thermocouple for a straight line: T_R = T_AMB + (E(T) - E(T_AMB)) / s. This decoder undoes that,
E(T) = E(T_AMB) + s (T_R - T_AMB), and turns E(T) into T by ITS-90. Uncorrected, a type K probe at 200 degC with the
cold junction at 25 degC reads 2.1 degC low.

Fault bits are never believed alone. An absent amplifier reads all zeros or all ones. All zeros is also a valid frame of
0 degC with the cold junction at exactly 0: that one frame is lost, and says AMPLIFIER_ABSENT.
"""

from panchime_fw import faults
from panchime_fw.amplifier.bounds import all_bytes_are, cold_is_plausible
from panchime_fw.amplifier.decoder import Decoder
from panchime_fw.amplifier.reading import COLD_UNKNOWN, Reading
from panchime_fw.thermocouple import Thermocouple

# Sensitivity s of each variant in nV/degC. K from the datasheet; the others are NIST's E(1000 degC)/1000 and for type T
# E(400 degC)/400, which are the datasheet's figures as far as memory goes.
SENSITIVITY_NV_PER_C = {"K": 41276, "J": 57953, "N": 36256, "S": 9587, "T": 52180, "E": 76373, "R": 10506}


class Max31855(Decoder):
    """Decodes frames of the variant for one thermocouple type. Raises ValueError for a type no variant exists for."""

    name = "MAX31855"
    BUS = "spi"
    SPI_POLARITY = 0
    SPI_PHASE = 0
    FRAME_BYTES = 4
    LOOK_BYTES = 4
    # A conversion takes 100 ms at most; the first after power-up 200 ms (the latter from memory).
    FIRST_READING_MS = 200
    CONVERSION_MS = 100

    def __init__(self, thermocouple_type: str) -> None:
        if thermocouple_type not in SENSITIVITY_NV_PER_C:
            raise ValueError(
                "MAX31855: no variant for thermocouple type %r; types are %s"
                % (thermocouple_type, ", ".join(sorted(SENSITIVITY_NV_PER_C)))
            )
        self._sensitivity = SENSITIVITY_NV_PER_C[thermocouple_type]
        self._curve = Thermocouple(thermocouple_type)

    def identify(self, raw: "bytes | bytearray") -> int:
        """NONE when a frame can be that of a MAX31855, else AMPLIFIER_ABSENT or WRONG_CHIP. It has no identity."""
        if all_bytes_are(raw, 0, 0x00) or all_bytes_are(raw, 0, 0xFF):
            return faults.AMPLIFIER_ABSENT
        if raw[1] & 0x02 or raw[3] & 0x08:
            return faults.WRONG_CHIP
        if (raw[1] & 0x01 != 0) != (raw[3] & 0x07 != 0):
            return faults.WRONG_CHIP
        return faults.NONE

    def looks_alien(self, look: "bytes | bytearray") -> bool:
        """A MAX6675 sends 16 bits and nothing after them; its frame then shows twice its temperature.

        So does a MAX31855 with its cold junction at exactly 0 degC, if it stays there through every look.
        """
        return look[2] == 0x00 and look[3] == 0x00

    def decode(self, raw: "bytes | bytearray", reading: Reading) -> None:
        fault = self.identify(raw)
        if fault:
            reading.fail(fault, COLD_UNKNOWN)
            return
        cold_sixteenths = _cold_sixteenths(raw)
        cold_centi = (cold_sixteenths * 25 + 2) // 4
        fault = _told_fault(raw[3] & 0x07, cold_centi)
        if fault:
            reading.fail(fault, cold_centi)
            return
        reading.cold_centi = cold_centi
        self._take_temperature(raw, cold_sixteenths, reading)

    def _take_temperature(self, raw: "bytes | bytearray", cold_sixteenths: int, reading: Reading) -> None:
        temperature_centi = self._true_centi(_told_quarters(raw), cold_sixteenths, reading.cold_centi)
        if temperature_centi < self._curve.lowest_centi or temperature_centi > self._curve.highest_centi:
            reading.fail(faults.OUT_OF_RANGE, reading.cold_centi)
            return
        reading.fault = faults.NONE
        reading.temperature_centi = temperature_centi

    def _true_centi(self, told_quarters: int, cold_sixteenths: int, cold_centi: int) -> int:
        """The true temperature behind the one told; a hundredth beyond the type's range when it is outside.

        Largest intermediate: a difference of at most 2048 + 85 degC times 76373 nV/degC = 1.7e8 nV.
        """
        difference_sixteenths = told_quarters * 4 - cold_sixteenths
        across_junctions = (difference_sixteenths >> 4) * self._sensitivity
        across_junctions += (difference_sixteenths & 15) * self._sensitivity + 8 >> 4
        return self._curve.centi(self._curve.nanovolts(cold_centi) + across_junctions)


def _told_fault(bits: int, cold_centi: int) -> int:
    """The fault that the frame's bits or its cold junction tell; NONE without one."""
    if bits:
        # A lost connection can raise more than one bit; open is the one that explains the others.
        if bits & 0x01:
            return faults.OPEN
        return faults.SHORT_TO_GROUND if bits & 0x02 else faults.SHORT_TO_SUPPLY
    return faults.NONE if cold_is_plausible(cold_centi) else faults.COLD_JUNCTION


def _cold_sixteenths(raw: "bytes | bytearray") -> int:
    sixteenths = raw[2] << 4 | raw[3] >> 4
    return sixteenths - 0x1000 if sixteenths & 0x800 else sixteenths


def _told_quarters(raw: "bytes | bytearray") -> int:
    quarters = raw[0] << 6 | raw[1] >> 2
    return quarters - 0x4000 if quarters & 0x2000 else quarters
