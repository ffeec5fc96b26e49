"""The CRC-32 over a part of a log, a slice a pass, so that a long one does not hold the loop."""

from binascii import crc32

SLICE = 1024


class FileSum:
    """`done(check)` is called with the CRC-32 when all of it is read; what it gives is the answer, None for no answer."""

    def __init__(self, log, name: str, offset: int, length: int, done) -> None:
        self._log = log
        self._name = name
        self._offset = offset
        self._left = length
        self._done = done
        self._check = 0
        self._buffer = bytearray(SLICE)
        self.before: list = []  # answers of the same line, which wait for this one

    def step(self) -> bool:
        """One slice; True while more is to come. Raises OSError when the flash gives less than the log's length."""
        if self._left:
            part = memoryview(self._buffer)[: min(SLICE, self._left)]
            count = self._log.read_into(self._name, self._offset, part)
            if count <= 0:
                raise OSError(self._name)
            self._check = crc32(part[:count], self._check)
            self._offset += count
            self._left -= count
        return self._left > 0

    def answer(self):
        return self._done(self._check & 0xFFFFFFFF)
