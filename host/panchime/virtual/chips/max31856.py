"""MAX31856 (Maxim 19-7534): sixteen registers over SPI with clock phase 1; linearises by itself."""

from panchime.virtual.chips.chip import Chip, rounded
from panchime.virtual.emf import emf_mv, junction_c

_TYPES = {1: "E", 2: "J", 3: "K", 4: "N", 7: "T"}
_AT_POWER_UP = bytes.fromhex("00 03 FF 7F C0 7F FF 80 00 00 00 00 00 00 00 00".replace(" ", ""))  # 02..09 from memory
_CR0, _CR1, _OFFSET, _COLD, _HOT, _STATUS = 0x00, 0x01, 0x09, 0x0A, 0x0C, 0x0F
_CONTINUOUS, _ONE_SHOT, _OPEN_TEST, _CLEAR = 0x80, 0x40, 0x30, 0x02
_SR_VOLTAGE, _SR_OPEN, _SR_TC_RANGE = 0x02, 0x01, 0x40


class Max31856(Chip):
    """The chip converts only when told to; an over- or under-voltage makes it stop."""

    name = "MAX31856"
    clock_phase = 1
    conversion_ms = 100  # 82 to 98 continuous, more with averaging (from memory)

    def __init__(self, thermocouple: str = "K", seed: int = 0) -> None:
        super().__init__(thermocouple, seed)
        self._registers = bytearray(_AT_POWER_UP)
        self._address: int | None = None

    def power_up(self) -> None:
        super().power_up()
        self._registers[:] = _AT_POWER_UP

    def measured(self, junction_c_true: float, cold_c: float) -> None:
        registers = self._registers
        if not registers[_CR0] & (_CONTINUOUS | _ONE_SHOT):
            return
        registers[_CR0] &= ~_ONE_SHOT
        registers[_STATUS] &= ~(_SR_VOLTAGE | _SR_OPEN | _SR_TC_RANGE)
        offset = registers[_OFFSET] - (256 if registers[_OFFSET] > 127 else 0)
        cold = rounded(cold_c + offset / 16, 1 / 64, -(1 << 13), (1 << 13) - 1)
        registers[_COLD : _COLD + 2] = ((cold << 2) & 0xFFFF).to_bytes(2, "big")
        if self.fault in ("short to ground", "short to supply"):
            registers[_STATUS] |= _SR_VOLTAGE
            return
        if self.fault == "open":
            if registers[_CR0] & _OPEN_TEST:
                registers[_STATUS] |= _SR_OPEN
            return
        kind = _TYPES.get(registers[_CR1] & 0x0F)
        if kind is None:
            return  # types B, R and S and the plain voltmeter are not modelled: the reading stays
        seen = junction_c(kind, self.emf_mv(junction_c_true, cold_c) + emf_mv(kind, cold / 64))
        steps = rounded(seen + 1 / 256, 1 / 128, -(1 << 18), (1 << 18) - 1)
        registers[_HOT : _HOT + 3] = ((steps << 5) & 0xFFFFFF).to_bytes(3, "big")

    def select(self, selected: bool) -> None:
        self._address = None

    def transfer(self, out: bytes) -> bytes:
        absent = self.absent_bytes(len(out))
        if absent is not None:
            return absent
        back = bytearray(len(out))
        for index, byte in enumerate(out):
            if self._address is None:
                self._address = byte
                continue
            register = self._address & 0x0F
            if self._address & 0x80:
                self._store(register, byte)
            else:
                back[index] = self._registers[register]
            self._address = (self._address & 0x80) | ((register + 1) & 0x0F)
        return bytes(back)

    def _store(self, register: int, byte: int) -> None:
        if register >= _HOT:
            return  # the results can only be read
        if register == _CR0 and byte & _CLEAR:
            self._registers[_STATUS] = 0
            byte &= ~_CLEAR
        self._registers[register] = byte
