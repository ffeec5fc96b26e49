"""Gathers bytes into one message, up to a line's end; a block is counted through, so that its content is no markup.

A carriage return ends a line too, and backspace takes back, so that a person at a terminal is understood.
"""

LIMIT = 5120  # a plan of 4096 bytes as a block, its checksum and header, with room to spare
ROOM = 256  # for a command; a plan takes more, which it gives back

MORE = 0
MESSAGE = 1
OVERRUN = 2  # told once, at the line's end; the bytes were thrown away

_PLAIN = 0
_STRING = 1
_HASH = 2
_LENGTH = 3
_BLOCK = 4
_SKIP = 5


class Receiver:
    def __init__(self) -> None:
        self._buffer = bytearray(ROOM)
        self._used = 0
        self._state = _PLAIN
        self._quote = 0
        self._digits = 0
        self._length = 0

    def take(self) -> bytes:
        """The message, without its line end; the receiver is empty afterwards, also when MemoryError says that none fits."""
        try:
            return bytes(memoryview(self._buffer)[: self._used])
        finally:
            self._reset()

    def feed(self, byte: int) -> int:
        state = self._state
        if state == _SKIP:
            if byte == 10 or byte == 13:
                self._reset()
                return OVERRUN
            return MORE
        if byte == 10 or byte == 13:
            # An unfinished string or block ends here as well: a lost quote or a wrong length must not swallow the lines that
            # follow. No block towards the board needs a line's end: a plan is printable.
            self._state = _PLAIN
            return MESSAGE if self._used else MORE
        if state == _BLOCK:
            self._length -= 1
            if self._length == 0:
                self._state = _PLAIN
            return self._keep(byte)
        if byte == 8 or byte == 127:
            if self._used:
                self._used -= 1
            return MORE
        if state == _STRING:
            if byte == self._quote:
                self._state = _PLAIN
        elif state == _HASH:
            self._digits = byte - 48
            self._length = 0
            # "#H1F" and the like are numbers, "#0..." is a block up to the line's end.
            self._state = _LENGTH if 1 <= self._digits <= 9 else _PLAIN
        elif state == _LENGTH:
            self._read_length(byte)
        elif byte == 34 or byte == 39:
            self._state = _STRING
            self._quote = byte
        elif byte == 35:
            self._state = _HASH
        return self._keep(byte)

    def _read_length(self, byte: int) -> None:
        if not 48 <= byte <= 57:
            self._state = _PLAIN
            return
        self._length = self._length * 10 + byte - 48
        self._digits -= 1
        if self._length > LIMIT:
            self._state = _SKIP
        elif self._digits == 0:
            self._state = _BLOCK if self._length else _PLAIN

    def _keep(self, byte: int) -> int:
        if self._used == len(self._buffer) and self._state != _SKIP:
            self._make_room()
        if self._state == _SKIP:
            return MORE
        self._buffer[self._used] = byte
        self._used += 1
        return MORE

    def _make_room(self) -> None:
        if self._used == LIMIT:
            self._state = _SKIP
            return
        try:
            self._buffer.extend(bytes(ROOM))
        except MemoryError:
            self._state = _SKIP

    def _reset(self) -> None:
        self._used = 0
        self._state = _PLAIN
        if len(self._buffer) > ROOM:
            self._buffer = bytearray(ROOM)
