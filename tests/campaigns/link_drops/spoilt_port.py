"""A serial port with the firmware's own link behind it, and a line between the two that does one thing wrong at one byte.

No time passes: a board that has nothing to send is a line that stays silent, and the client's time-outs are over at once.
"""

import random
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

from serial import SerialException

_stub = ModuleType("panchime_fw.board")
_stub.Board = None  # type: ignore[attr-defined]
_kept = sys.modules.get("panchime_fw.board")
sys.modules["panchime_fw.board"] = _stub
from panchime_fw import start  # noqa: E402  # board.py itself needs the hardware's modules

if _kept is None:
    del sys.modules["panchime_fw.board"]
else:
    sys.modules["panchime_fw.board"] = _kept

SERIAL = "E6614103E7A1B2C3"
# What a line can do wrong.
DROP = "the cable comes out"
LOSE = "a byte is lost"
LOSE_MANY = "40 bytes are lost"
FLIP = "a bit flips"
GARBLE = "16 bytes become others"
TWICE = "8 bytes come twice"
DELAY = "the rest comes late"
KINDS = (DROP, LOSE, LOSE_MANY, FLIP, GARBLE, TWICE, DELAY)
TO_HOST = "to the computer"
TO_BOARD = "to the board"
LATE_READS = 12  # reads that find nothing before what is late comes: longer than the client waits


class BareBoard:
    """What board.py offers, as far as the link needs it."""

    WRITE_SLICE = 256
    model = "bench"
    serial = SERIAL

    def __init__(self, decoder: Any, settings: Any = None) -> None:
        self.input = bytearray()
        self.output = bytearray()
        self.now_ms = 5000
        self.clock: tuple[int, ...] = (2021, 1, 1, 0, 0, 0)
        self.frame = bytearray(decoder.FRAME_BYTES)

    def ticks_ms(self) -> int:
        self.now_ms += 1
        return self.now_ms

    def relay(self, closed: bool) -> None:
        assert not closed, "no roast runs here"

    def tone(self, hz: int) -> None:
        pass

    def set_amplifier(self, decoder: Any) -> None:
        self.frame = bytearray(decoder.FRAME_BYTES)

    def date_time(self) -> tuple[int, ...]:
        return self.clock

    def set_date_time(self, parts: tuple[int, ...]) -> None:
        self.clock = tuple(parts)

    def flash_bytes(self) -> tuple[int, int]:
        return (400_000, 900_000)

    def serial_readable(self) -> bool:
        return bool(self.input)

    def serial_read(self, one_byte: bytearray) -> bool:
        one_byte[0] = self.input.pop(0)
        return True

    def serial_writable(self) -> bool:
        return True

    def serial_write(self, part: Any) -> int:
        self.output += part
        return len(part)


class Firmware:
    """The firmware's link over a folder of logs."""

    def __init__(self, folder: Path) -> None:
        before = (start.Board, start.LOG_FOLDER, start.STATE_FOLDER)
        start.Board = BareBoard  # type: ignore[misc, assignment]
        start.LOG_FOLDER, start.STATE_FOLDER = str(folder / "log"), str(folder / "state")
        try:
            self.loop = start.build()
        finally:
            start.Board, start.LOG_FOLDER, start.STATE_FOLDER = before
        self.instrument: Any = self.loop._instrument
        self.board: BareBoard = self.loop._board  # type: ignore[assignment]

    def clock_is_right(self) -> bool:
        """Whether the board's clock is this computer's, which goes on meanwhile."""
        return abs(datetime(*self.board.clock, tzinfo=UTC) - datetime.now(UTC)) < timedelta(seconds=30)  # type: ignore[misc, arg-type]

    def answer(self, data: bytes) -> bytes:
        """Takes bytes and works until it is done; what it sends."""
        self.board.input += data
        while self.instrument.step():
            pass
        sent = bytes(self.board.output)
        self.board.output.clear()
        return sent


class Line:
    """One direction. At byte `at` of all that goes this way it does `kind` wrong, once; None for a good line."""

    def __init__(self, kind: str | None, at: int, seed: int) -> None:
        self.kind = kind
        self.at = at
        self.chance = random.Random(seed)
        self.passed = 0
        self.happened = False

    def carry(self, data: bytes) -> tuple[bytes, bytes, bool]:
        """(what arrives now, what arrives late, whether the cable is out)."""
        begin, self.passed = self.passed, self.passed + len(data)
        if self.kind is None or self.happened or not begin <= self.at < self.passed:
            return data, b"", False
        self.happened = True
        at = self.at - begin
        before, after = data[:at], data[at:]
        if self.kind == DROP:
            return before, b"", True
        if self.kind == DELAY:
            return before, after, False
        if self.kind == LOSE:
            after = after[1:]
        elif self.kind == LOSE_MANY:
            after = after[40:]
        elif self.kind == FLIP:
            after = bytes([after[0] ^ (1 << self.chance.randrange(8))]) + after[1:]
        elif self.kind == GARBLE:
            count = min(16, len(after))
            after = self.chance.randbytes(count) + after[count:]
        elif self.kind == TWICE:
            after = after[:8] + after
        return before + after, b"", False


class SpoiltPort:
    """What the client holds for a serial port."""

    def __init__(self, firmware: Firmware, to_host: Line, to_board: Line) -> None:
        self.firmware = firmware
        self.to_host = to_host
        self.to_board = to_board
        self.timeout = 0.0
        self.sent = bytearray()  # by the board, before the line
        self._waiting = bytearray()
        self._late = bytearray()
        self._late_reads = 0
        self._out = False

    @property
    def in_waiting(self) -> int:
        return len(self._waiting)

    def write(self, data: bytes) -> int:
        self._look()
        now, late, out = self.to_board.carry(data)
        self._hear(self.firmware.answer(now))
        self._out = self._out or out
        # What is late on its way to the board is late in its answer.
        if late:
            self._hear(self.firmware.answer(late), delayed=True)
        return len(data)

    def flush(self) -> None:
        self._look()

    def read(self, count: int) -> bytes:
        if not self._waiting:
            self._look()
            if self._late:
                self._late_reads += 1
                if self._late_reads > LATE_READS:
                    self._waiting += self._late
                    self._late.clear()
        part = bytes(self._waiting[:count])
        del self._waiting[:count]
        return part

    def close(self) -> None:
        # Closed in the middle: what the board still sends is nobody's.
        self._waiting.clear()

    def _hear(self, answer: bytes, delayed: bool = False) -> None:
        self.sent += answer
        if self._out:
            return
        now, late, out = self.to_host.carry(answer)
        self._out = out
        if delayed or self._late:
            self._late += now + late
            return
        self._waiting += now
        if late:
            self._late += late
            self._late_reads = 0

    def _look(self) -> None:
        if self._out and not self._waiting:
            raise SerialException("device reports readiness to read but returned no data")
