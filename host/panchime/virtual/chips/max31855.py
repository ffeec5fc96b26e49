"""MAX31855 (datasheet 19-5793): 32 bits, most significant first, SPI mode 0."""

from panchime.virtual.chips.chip import Chip, rounded

# Sensitivities the chip assumes, mV/degC: K from the datasheet, the others from memory.
SENSITIVITY_MV = {"K": 0.041276, "J": 0.057953, "N": 0.036256, "S": 0.009587, "T": 0.05218, "E": 0.076373, "R": 0.010506}
_FAULT_BITS = {"open": 1, "short to ground": 2, "short to supply": 4}


class Max31855(Chip):
    """The chip takes the thermocouple for a straight line: its error is the firmware's to correct."""

    name = "MAX31855"
    conversion_ms = 100  # at most; 70 typical

    def __init__(self, thermocouple: str = "K", seed: int = 0) -> None:
        super().__init__(thermocouple, seed)
        self._frame = bytes(4)
        self._shift = b""

    def measured(self, junction_c: float, cold_c: float) -> None:
        seen_c = cold_c + self.emf_mv(junction_c, cold_c) / SENSITIVITY_MV[self.thermocouple]
        cold = rounded(cold_c, 0.0625, -2048, 2047)
        temperature = rounded(seen_c, 0.25, -1080, 7200)  # -270 to 1800 degC
        fault = _FAULT_BITS.get(self.fault, 0)
        if fault:
            temperature = 0x1FFF  # full scale while a fault stands (from memory)
        self._frame = max31855_frame(temperature, cold, fault)

    def select(self, selected: bool) -> None:
        if selected:
            self._shift = self._frame

    def transfer(self, out: bytes) -> bytes:
        absent = self.absent_bytes(len(out))
        if absent is not None:
            return absent
        part, self._shift = self._shift[: len(out)], self._shift[len(out) :]
        return part.ljust(len(out), b"\0")


def max31855_frame(quarters: int, sixteenths: int, fault: int) -> bytes:
    """The four bytes for a temperature in 0.25 degC, a cold junction in 0.0625 degC, and the fault bits 2 to 0."""
    word = (quarters & 0x3FFF) << 18 | (1 << 16 if fault else 0) | (sixteenths & 0xFFF) << 4 | fault
    return word.to_bytes(4, "big")
