"""MAX6675: type K only, 16 bits, and it never tells its cold junction.

Source of layout: Maxim 19-2235, serial-interface protocol. D15 is 0, D14..D3 the temperature in 0.25 degC (0 to
1023.75), D2 open thermocouple, D1 is 0, D0 floats and is masked.

The chip takes its thermocouple for a straight line of 41 uV/degC: T_R = T_AMB + (E(T) - E(T_AMB)) / 41 uV. To undo that
the cold junction must be known, and it is not: it is taken for 25 degC. What that leaves, true minus corrected, is the
same to 0.03 degC from 20 to 300 degC: +1.1 degC with the cold junction at -10 degC, +0.6 at 0, +0.3 at 10, and within
0.1 degC from 19 to 60, where type K happens to be nearly straight. The chip's own tolerance is several times larger. An
implausible cold junction cannot be seen with this chip.

Frames must not be read more often than every 220 ms: a read stops the conversion, and the chip then repeats its last
value for ever.
"""

from panchime_fw import faults
from panchime_fw.amplifier.bounds import all_bytes_are, cold_is_plausible
from panchime_fw.amplifier.decoder import Decoder
from panchime_fw.amplifier.reading import COLD_UNKNOWN, Reading
from panchime_fw.thermocouple import Thermocouple

SENSITIVITY_NV_PER_C = 41000
ASSUMED_COLD_CENTI = 2500
ASSUMED_COLD_QUARTERS = 100


class Max6675(Decoder):
    """Decodes frames. Raises ValueError for any thermocouple type but K."""

    name = "MAX6675"
    BUS = "spi"
    SPI_POLARITY = 0
    SPI_PHASE = 0
    FRAME_BYTES = 2
    LOOK_BYTES = 4
    FIRST_READING_MS = 220
    CONVERSION_MS = 220

    def __init__(self, thermocouple_type: str) -> None:
        if thermocouple_type != "K":
            raise ValueError("MAX6675: reads thermocouple type K only, not %r" % thermocouple_type)
        self._curve = Thermocouple("K")
        self._assumed_nanovolts = self._curve.nanovolts(ASSUMED_COLD_CENTI)

    def identify(self, raw: "bytes | bytearray") -> int:
        """NONE when a frame can be that of a MAX6675, else AMPLIFIER_ABSENT or WRONG_CHIP. The chip has no identity.

        All zeros is also 0 degC: that one reading is lost, and says AMPLIFIER_ABSENT.
        """
        high = raw[0]
        low = raw[1] & 0xFE
        if (high == 0x00 and low == 0x00) or (high == 0xFF and low == 0xFE):
            return faults.AMPLIFIER_ABSENT
        if high & 0x80 or low & 0x02:
            return faults.WRONG_CHIP
        return faults.NONE

    def looks_alien(self, look: "bytes | bytearray") -> bool:
        """A MAX31855 goes on with its cold junction; its first 16 bits would show half its temperature: the unsafe side.

        Behind a MAX6675's 16 bits comes silence, zeros or ones.
        """
        if all_bytes_are(look, 2, 0x00) or all_bytes_are(look, 2, 0xFF):
            return False
        cold_sixteenths = look[2] << 4 | look[3] >> 4
        if cold_sixteenths & 0x800:
            cold_sixteenths -= 0x1000
        return not look[3] & 0x08 and cold_is_plausible(cold_sixteenths * 25 // 4)

    def decode(self, raw: "bytes | bytearray", reading: Reading) -> None:
        """As Decoder says; cold_centi is always COLD_UNKNOWN."""
        fault = self.identify(raw)
        if not fault and raw[1] & 0x04:
            fault = faults.OPEN
        if fault:
            reading.fail(fault, COLD_UNKNOWN)
            return
        above_cold_quarters = (raw[0] << 5 | raw[1] >> 3) - ASSUMED_COLD_QUARTERS
        across_junctions = above_cold_quarters * (SENSITIVITY_NV_PER_C // 4)
        reading.fault = faults.NONE
        reading.temperature_centi = self._curve.centi(self._assumed_nanovolts + across_junctions)
        reading.cold_centi = COLD_UNKNOWN
