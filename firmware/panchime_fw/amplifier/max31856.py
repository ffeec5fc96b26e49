"""MAX31856: linearises by itself; sixteen registers, read in one burst.

Source of layout: Maxim 19-7534 (register map). 00 CR0, 01 CR1, 02 MASK, 03..08 alarm limits, 09 cold-junction offset,
0A/0B cold junction (14 bits, 2^-6 degC), 0C/0D/0E thermocouple (19 bits, 2^-7 degC), 0F fault status. Registers are
written at their address with 0x80 set.

A frame is one byte of address echo, which means nothing, and the sixteen registers: the settings are judged with
every reading. A chip that lost its supply for a moment comes back with its settings gone and its conversions stopped,
and would go on telling 0 degC.
"""

from panchime_fw import faults
from panchime_fw.amplifier.bounds import RANGE_CENTI, all_bytes_are, cold_is_plausible
from panchime_fw.amplifier.decoder import Decoder
from panchime_fw.amplifier.reading import COLD_UNKNOWN, Reading

# Low four bits of CR1.
TYPE_CODE = {"E": 1, "J": 2, "K": 3, "N": 4, "R": 5, "S": 6, "T": 7}
# CR0: 0x80 converts continuously, 0x10 tests for an open circuit (below 5 kohm of lead, from memory), 0x01 rejects 50
# Hz; 60 Hz is then attenuated less, which a one-sample spike filter does not mind.
CR0 = 0x91
# The registers 02..09 keep what the chip starts with: no alarm pin, alarm limits at the ends, no cold-junction offset
# (values from memory).
AS_STARTED = bytes((0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00))
CR0_AS_STARTED = 0x00
CR1_AS_STARTED = 0x03

# Places in the frame: one byte behind the register's address.
_CR0 = 1
_CR1 = 2
_MASK = 3
_COLD = 11
_HOT = 13
_STATUS = 16


class Max31856(Decoder):
    """Decodes frames of a chip set to one thermocouple type. Raises ValueError for a type it is not to be set to.

    On the bus: the address written with the first byte of a frame is a zero: the burst begins at register 00.
    """

    name = "MAX31856"
    BUS = "spi"
    SPI_POLARITY = 0
    SPI_PHASE = 1
    FRAME_BYTES = 17
    # With the open-circuit test and 50 Hz rejection a conversion takes about 110 ms and the first about 190 ms (from
    # memory); 250 ms is the sample time and leaves room.
    FIRST_READING_MS = 250
    CONVERSION_MS = 125

    def __init__(self, thermocouple_type: str) -> None:
        if thermocouple_type not in TYPE_CODE:
            raise ValueError(
                "MAX31856: thermocouple type %r is not served; types are %s"
                % (thermocouple_type, ", ".join(sorted(TYPE_CODE)))
            )
        self._cr1 = TYPE_CODE[thermocouple_type]
        self._lowest_centi, self._highest_centi = RANGE_CENTI[thermocouple_type]
        # CR1 first: the type is set before conversions start.
        self.setup = ((0x81, bytes((self._cr1,))), (0x80, bytes((CR0,))))

    def identify(self, raw: "bytes | bytearray") -> int:
        """NONE for a MAX31856 that has its settings, else AMPLIFIER_ABSENT, AMPLIFIER_RESET or WRONG_CHIP."""
        if all_bytes_are(raw, 1, 0x00) or all_bytes_are(raw, 1, 0xFF):
            return faults.AMPLIFIER_ABSENT
        index = 0
        while index < 8:
            if raw[_MASK + index] != AS_STARTED[index]:
                return faults.WRONG_CHIP
            index += 1
        if raw[_CR0] == CR0 and raw[_CR1] == self._cr1:
            return faults.AMPLIFIER_ABSENT if self._has_not_converted(raw) else faults.NONE
        if raw[_CR0] == CR0_AS_STARTED and raw[_CR1] == CR1_AS_STARTED:
            return faults.AMPLIFIER_RESET
        return faults.WRONG_CHIP

    def _has_not_converted(self, raw: "bytes | bytearray") -> bool:
        """Between the setup and the first conversion both temperatures are zero: 0 degC, which is no reading.

        A probe at 0 degC with the cold junction at exactly 0 is lost with it, as it is with a MAX31855.
        """
        return not (raw[_HOT] or raw[_HOT + 1] or raw[_HOT + 2] or raw[_COLD] or raw[_COLD + 1] or raw[_STATUS])

    def decode(self, raw: "bytes | bytearray", reading: Reading) -> None:
        fault = self.identify(raw)
        if fault:
            reading.fail(fault, COLD_UNKNOWN)
            return
        cold_centi = _cold_centi(raw)
        temperature_centi = _hot_centi(raw)
        fault = self._judge(raw[_STATUS], temperature_centi, cold_centi)
        if fault:
            reading.fail(fault, cold_centi)
            return
        reading.fault = faults.NONE
        reading.temperature_centi = temperature_centi
        reading.cold_centi = cold_centi

    def _judge(self, status: int, temperature_centi: int, cold_centi: int) -> int:
        if status & 0x01:
            return faults.OPEN
        # Over- or undervoltage: the chip does not say which, and holds its last reading until the fault is gone.
        if status & 0x02:
            return faults.SHORT_TO_SUPPLY
        # 0x80 cold junction beyond the chip's range, 0x20 and 0x10 beyond its alarm limits.
        if status & 0xB0 or not cold_is_plausible(cold_centi):
            return faults.COLD_JUNCTION
        # 0x40 thermocouple beyond the type's range, 0x08 and 0x04 beyond the alarm limits.
        if status & 0x4C or temperature_centi < self._lowest_centi or temperature_centi > self._highest_centi:
            return faults.OUT_OF_RANGE
        return faults.NONE


def _cold_centi(raw: "bytes | bytearray") -> int:
    cold = raw[_COLD] << 6 | raw[_COLD + 1] >> 2
    if cold & 0x2000:
        cold -= 0x4000
    return (cold * 25 + 8) >> 4


def _hot_centi(raw: "bytes | bytearray") -> int:
    hot = raw[_HOT] << 11 | raw[_HOT + 1] << 3 | raw[_HOT + 2] >> 5
    if hot & 0x40000:
        hot -= 0x80000
    return (hot * 25 + 16) >> 5
