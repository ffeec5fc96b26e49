"""MAX6675: 16 bits over SPI mode 0, type K only, 0 to 1023.75 degC, and no cold-junction reading."""

from panchime.virtual.chips.chip import Chip, rounded

SENSITIVITY_MV = 0.041  # the straight line the chip assumes, mV/degC (from memory)
_OPEN = 0x0004


class Max6675(Chip):
    """A conversion takes up to 220 ms, and reading the chip starts it anew."""

    name = "MAX6675"
    conversion_ms = 200  # typical 170, at most 220; a whole number of the world's steps

    def __init__(self, thermocouple: str = "K", seed: int = 0) -> None:
        super().__init__("K", seed)
        self._word = 0
        self._shift = b""

    def measured(self, junction_c: float, cold_c: float) -> None:
        seen_c = cold_c + self.emf_mv(junction_c, cold_c) / SENSITIVITY_MV
        quarters = rounded(seen_c, 0.25, 0, 0xFFF)
        # It knows only the open loop. A short of the tip's leads to ground or supply gives a reading like any other.
        self._word = (0xFFF << 3) | _OPEN if self.fault == "open" else quarters << 3

    def select(self, selected: bool) -> None:
        if selected:
            self._shift = self._word.to_bytes(2, "big")
        self._converting_ms = 0

    def transfer(self, out: bytes) -> bytes:
        absent = self.absent_bytes(len(out))
        if absent is not None:
            return absent
        part, self._shift = self._shift[: len(out)], self._shift[len(out) :]
        return part.ljust(len(out), b"\0")
