"""What every amplifier twin has in common: the junction it measures, its conversions, and what can be wrong with it."""

import random

from panchime.virtual.emf import emf_mv

FAULTS = ("none", "open", "short to ground", "short to supply", "frozen", "absent low", "absent high")


class Chip:
    """Base of the twins. The world calls `due` every step and `convert` when it says so; the bus calls depend on the chip.

    SPI twins answer `select` and `transfer`, I2C twins `i2c_write` and `i2c_read`.
    """

    name = "none"
    bus = "spi"
    clock_phase = 0
    conversion_ms = 100

    def __init__(self, thermocouple: str = "K", seed: int = 0) -> None:
        self.thermocouple = thermocouple
        self.fault = "none"
        self.spike_c = 0.0
        self.spike_share = 0.0
        self._random = random.Random(f"chip {seed}")
        self._converting_ms = 0

    def power_up(self) -> None:
        """The supply comes on: registers hold what the chip starts with."""
        self._converting_ms = 0

    def due(self, step_ms: int) -> bool:
        """Lets a step pass; True when a conversion has ended with it."""
        self._converting_ms += step_ms
        if self._converting_ms < self.conversion_ms:
            return False
        self._converting_ms = 0
        return True

    def convert(self, junction_c: float, cold_c: float) -> None:
        """One conversion of a junction and a chip at these true temperatures."""
        if self.fault == "frozen":
            return
        if self.spike_share and self._random.random() < self.spike_share:
            junction_c += self.spike_c
        self.measured(junction_c, cold_c)

    def measured(self, junction_c: float, cold_c: float) -> None:
        """Takes a conversion's result over into the chip's registers."""
        raise NotImplementedError

    def emf_mv(self, junction_c: float, cold_c: float) -> float:
        """The voltage between the chip's two terminals, mV."""
        return emf_mv(self.thermocouple, junction_c) - emf_mv(self.thermocouple, cold_c)

    def absent_bytes(self, size: int) -> bytes | None:
        """What the bus shows when the chip is not there, or None when it is."""
        if self.fault == "absent low":
            return bytes(size)
        if self.fault == "absent high":
            return b"\xff" * size
        return None

    def select(self, selected: bool) -> None:
        """Chip select falls (True) or rises."""

    def transfer(self, out: bytes) -> bytes:
        """Bytes move both ways while the chip is selected."""
        return bytes(len(out))

    def i2c_write(self, address: int, data: bytes) -> bool:
        """A write on the I2C bus; False when nobody acknowledges."""
        return False

    def i2c_read(self, address: int, size: int) -> bytes | None:
        """A read on the I2C bus; None when nobody acknowledges."""
        return None


def rounded(value: float, step: float, low: int, high: int) -> int:
    """A value in steps, rounded down (add half a step for the nearest), held within the register's range."""
    return max(low, min(high, int(value // step)))
