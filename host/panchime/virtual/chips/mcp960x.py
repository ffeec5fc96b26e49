"""MCP9600 and MCP9601 (Microchip DS20005426): registers over I2C; linearise by themselves."""

from panchime.virtual.chips.chip import Chip, rounded
from panchime.virtual.emf import emf_mv, junction_c

_TYPES = {0: "K", 1: "J", 2: "T", 3: "N", 5: "E"}
_SIZES = {0x00: 2, 0x01: 2, 0x02: 2, 0x03: 3, 0x04: 1, 0x05: 1, 0x06: 1, 0x20: 2}
_CONVERSION_MS = {0: 320, 1: 80, 2: 20, 3: 5}  # by the resolution bits of register 06: 18, 16, 14, 12 bits (from memory)
_UPDATED, _RANGE, _SHORT = 0x40, 0x10, 0x20


class Mcp9600(Chip):
    """The older of the two: it tells an open loop only as a reading out of range."""

    name = "MCP9600"
    bus = "i2c"
    identity = 0x40
    address = 0x67

    def __init__(self, thermocouple: str = "K", seed: int = 0) -> None:
        super().__init__(thermocouple, seed)
        self._registers: dict[int, int] = {}
        self._pointer = 0
        self.power_up()

    def power_up(self) -> None:
        super().power_up()
        self._registers = dict.fromkeys(_SIZES, 0)
        self._registers[0x20] = self.identity << 8 | 0x10
        self._pointer = 0
        self.conversion_ms = _CONVERSION_MS[0]

    def measured(self, junction_c_true: float, cold_c: float) -> None:
        registers = self._registers
        if registers[0x06] & 0x03:
            return  # shut down, or waiting for a burst
        status = _UPDATED
        cold = rounded(cold_c, 0.0625, -(1 << 15), (1 << 15) - 1)
        registers[0x02] = cold & 0xFFFF
        kind = _TYPES.get(registers[0x05] >> 4 & 0x07)
        if self.fault == "open":
            status |= self.status_open()
        elif self.fault in ("short to ground", "short to supply"):
            status |= self.status_short()
        if self.fault == "none" and kind is not None:
            hot = junction_c(kind, self.emf_mv(junction_c_true, cold_c) + emf_mv(kind, cold / 16))
            steps = rounded(hot + 1 / 32, 0.0625, -(1 << 15), (1 << 15) - 1)
            registers[0x00] = steps & 0xFFFF
            registers[0x01] = (steps - cold) & 0xFFFF
        registers[0x04] = (registers[0x04] & 0x0F) | status

    def status_open(self) -> int:
        """The status bits of an open loop."""
        return _RANGE

    def status_short(self) -> int:
        """The status bits of a shorted tip: this chip has none."""
        return 0

    def i2c_write(self, address: int, data: bytes) -> bool:
        if not self._here(address):
            return False
        if data:
            self._pointer = data[0]
        if len(data) > 1 and self._pointer in (0x04, 0x05, 0x06):
            self._registers[self._pointer] = data[1]
            if self._pointer == 0x06:
                self.conversion_ms = _CONVERSION_MS[data[1] >> 5 & 0x03]
        return True

    def i2c_read(self, address: int, size: int) -> bytes | None:
        if not self._here(address):
            return None
        width = _SIZES.get(self._pointer, 1)
        value = self._registers.get(self._pointer, 0).to_bytes(width, "big")
        return value[:size].ljust(size, b"\xff")

    def _here(self, address: int) -> bool:
        return address == self.address and not self.fault.startswith("absent")


class Mcp9601(Mcp9600):
    """The newer: it tells an open loop (from memory) and a short."""

    name = "MCP9601"
    identity = 0x41

    def status_short(self) -> int:
        return _SHORT
