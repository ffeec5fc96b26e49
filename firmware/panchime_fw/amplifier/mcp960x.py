"""MCP9600 and MCP9601: linearise by themselves; registers over I2C.

Source of layout: Microchip DS20005426, register map. 00 hot junction, 02 cold junction, both signed, big-endian,
0.0625 degC; 04 status; 05 sensor settings (type << 4 | filter); 06 device settings; 20 identity (high byte 0x40 is
the MCP9600, 0x41 the MCP9601). The chip stretches the clock and wants no more than 100 kHz.

A frame carries the identity and both settings with every reading, so a chip that restarted, or another chip at that
address, is seen at once.
"""

from panchime_fw import faults
from panchime_fw.amplifier.bounds import RANGE_CENTI, all_bytes_are, cold_is_plausible
from panchime_fw.amplifier.decoder import Decoder
from panchime_fw.amplifier.reading import COLD_UNKNOWN, Reading

TYPE_CODE = {"K": 0, "J": 1, "T": 2, "N": 3, "S": 4, "E": 5, "R": 7}
IDENTITY = {"MCP9600": 0x40, "MCP9601": 0x41}
# Device settings: 16 bits, which takes 80 ms; the 18 bits it starts with take 320 ms and would tell most readings
# twice at 4 Hz (from memory). Cold junction in 0.0625 degC, no burst, always on. It differs from the 0x00 the chip
# starts with: that is how a restart shows, even for type K with its settings 0x00.
DEVICE = 0x20
DEVICE_AS_STARTED = 0x00

# Places in the frame.
_IDENTITY = 0
_SENSOR = 2
_DEVICE = 3
_STATUS = 4
_COLD = 5
_HOT = 7


class Mcp960x(Decoder):
    """Decodes frames of one of the two chips set to one thermocouple type.

    Raises ValueError for a type it is not to be set to.
    """

    BUS = "i2c"
    I2C_HZ = 100000
    # Set by one pin of the chip; common boards use 0x67 (common practice, no source).
    I2C_ADDRESSES = (0x67, 0x66, 0x65, 0x64, 0x63, 0x62, 0x61, 0x60)
    READS = ((0x20, 0, 2), (0x05, 2, 1), (0x06, 3, 1), (0x04, 4, 1), (0x02, 5, 2), (0x00, 7, 2))
    FRAME_BYTES = 9
    # The cold junction takes 250 ms (from memory), the thermocouple 80 ms.
    FIRST_READING_MS = 350
    CONVERSION_MS = 100

    def __init__(self, chip: str, thermocouple_type: str) -> None:
        if thermocouple_type not in TYPE_CODE:
            raise ValueError(
                "%s: thermocouple type %r is not served; types are %s"
                % (chip, thermocouple_type, ", ".join(sorted(TYPE_CODE)))
            )
        self.name = chip
        self._identity = IDENTITY[chip]
        self._sensor = TYPE_CODE[thermocouple_type] << 4
        self._lowest_centi, self._highest_centi = RANGE_CENTI[thermocouple_type]
        self.setup = ((0x05, bytes((self._sensor,))), (0x06, bytes((DEVICE,))))

    def identify(self, raw: "bytes | bytearray") -> int:
        """NONE for this chip with the settings of `setup`, else AMPLIFIER_ABSENT, AMPLIFIER_RESET or WRONG_CHIP."""
        if all_bytes_are(raw, 0, 0x00) or all_bytes_are(raw, 0, 0xFF):
            return faults.AMPLIFIER_ABSENT
        if raw[_IDENTITY] != self._identity:
            return faults.WRONG_CHIP
        if raw[_SENSOR] == self._sensor and raw[_DEVICE] == DEVICE:
            # Before the first conversion both temperatures are zero: 0 degC, which is no reading.
            if not (raw[_HOT] or raw[_HOT + 1] or raw[_COLD] or raw[_COLD + 1]):
                return faults.AMPLIFIER_ABSENT
            return faults.NONE
        if raw[_SENSOR] == 0x00 and raw[_DEVICE] == DEVICE_AS_STARTED:
            return faults.AMPLIFIER_RESET
        return faults.WRONG_CHIP

    def decode(self, raw: "bytes | bytearray", reading: Reading) -> None:
        fault = self.identify(raw)
        if fault:
            reading.fail(fault, COLD_UNKNOWN)
            return
        cold_centi = _centi(raw[_COLD], raw[_COLD + 1])
        temperature_centi = _centi(raw[_HOT], raw[_HOT + 1])
        fault = self._judge(raw[_STATUS], temperature_centi, cold_centi)
        if fault:
            reading.fail(fault, _for_log(cold_centi))
            return
        reading.fault = faults.NONE
        reading.temperature_centi = temperature_centi
        reading.cold_centi = cold_centi

    def _judge(self, status: int, temperature_centi: int, cold_centi: int) -> int:
        # 0x10 is an open probe on the MCP9601, and no more than a voltage beyond the range on the MCP9600; 0x20 is a
        # short, to supply or ground, which only the MCP9601 sees (all from memory).
        if self._identity == 0x41:
            if status & 0x10:
                return faults.OPEN
            if status & 0x20:
                return faults.SHORT_TO_GROUND
        elif status & 0x10:
            return faults.OUT_OF_RANGE
        if not cold_is_plausible(cold_centi):
            return faults.COLD_JUNCTION
        if temperature_centi < self._lowest_centi or temperature_centi > self._highest_centi:
            return faults.OUT_OF_RANGE
        return faults.NONE


def _for_log(cold_centi: int) -> int:
    """The word reaches to +-2048 degC, which the two bytes of a log could not hold."""
    return cold_centi if -32768 < cold_centi < 32768 else COLD_UNKNOWN


def _centi(high: int, low: int) -> int:
    """Hundredths of a degree from a signed big-endian word of sixteenths."""
    word = high << 8 | low
    if word & 0x8000:
        word -= 0x10000
    return (word * 25 + 2) >> 2
