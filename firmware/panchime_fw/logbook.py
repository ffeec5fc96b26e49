"""The log of a roast on the flash: what the encoder holds becomes a file, and a failing flash never stops the roast.

A file only ever grows, by whole chunks, and each `seal` ends in one sync. After a power cut the file ends with the last
chunk that was synced. Nothing is cut off or rewritten afterwards: littlefs shows no byte that was not synced, and on a
file system that does, a reader stops at the torn chunk. A roast without its end chunk was interrupted.
"""

import io
import os
from binascii import crc32

from panchime_fw import events
from panchime_fw.logformat import (
    END_BYTES,
    REPEAT_WINDOW,
    SAMPLE_MS,
    Encoder,
    end_bytes,
    head_bytes,
    head_length,
    is_end,
    minutes_left,
)
from panchime_fw.store import Store

ENDING = ".roast"
CHUNKS_A_SEAL = 4  # about 300 bytes: what a flash that comes back has to take at once
_NO_SPACE = 28  # ENOSPC of littlefs and of POSIX; MicroPython's errno module does not name it
_COUNTER = "roasts"
_SEALS_BEFORE_NEXT = REPEAT_WINDOW // CHUNKS_A_SEAL + 1


class Logbook:
    """The logs in `folder`. No method raises for what the flash does.

    `problem` says in words why the last write failed, '' when it did not.
    """

    def __init__(self, folder: str, chunks: int = REPEAT_WINDOW) -> None:
        self.folder = folder
        self.number = 0
        self.problem = ""
        self.flash_full = False  # the last write failed for want of room
        self.recording = False
        self._encoder = Encoder(chunks)
        self._counter = Store(folder, _COUNTER)
        self._file: "io.BufferedWriter | None" = None
        self._head = b""
        self._seed = 0
        self._bytes = 0
        self._whole = 0
        self._ending = False
        self._end_ms = 0
        self._end_reason = 0
        self._urgent = False
        self._tried = 0

    def recover(self) -> "list[int]":
        """The numbers of roasts that have no end, oldest first, for the boot. Files that hold nothing are removed."""
        found = []
        for name, length in self.names():
            if length == 0:
                self.remove(name)
            elif self.whole_check(name, length) < 0:
                found.append(_number(name))
        return found

    def next_number(self) -> int:
        """The number for the next roast: above that of every roast there is or was, unless all of it was lost."""
        try:
            last = int(self._counter.load() or 0)
        except ValueError:
            last = 0
        for name, _ in self.names():
            last = max(last, _number(name))
        return last + 1

    def open(self, number: int, head: "dict[str, object]") -> bool:
        """Begins the log of roast `number`; True when its head is on the flash.

        When False, `problem` says why. Unless a file of this number is there already, or the head cannot be written as
        JSON, the roast is recorded all the same and every `seal` tries again.
        """
        self._finish_last()
        self.number = number
        self._encoder.reset(SAMPLE_MS)
        path = self._path(file_name(number))
        if _size(path) >= 0:
            self.problem = "%s is there already: take next_number()" % path
            return False
        try:
            self._head, self._seed = head_bytes(head)
        except (ValueError, TypeError, MemoryError) as error:
            self.problem = "the head cannot be written: %s" % error
            return False
        sample_ms = head.get("sample_ms", SAMPLE_MS)
        self._encoder.reset(sample_ms if isinstance(sample_ms, int) else SAMPLE_MS)
        self._bytes = 0
        self._whole = 0
        self._ending = False
        self._urgent = False
        self._tried = 0
        self.recording = True
        done = self.seal()
        self._counter.save("%d" % number)
        return done

    def sample(self, t_ms: int, temperature_centi: int, cold_centi: int) -> None:
        """One reading, into the buffer. Allocates nothing."""
        if self.recording:
            self._encoder.sample(t_ms, temperature_centi, cold_centi)

    def fault(self, t_ms: int, fault: int) -> None:
        """A sample slot without a reading, into the buffer. Allocates nothing."""
        if self.recording:
            self._encoder.fault(t_ms, fault)

    def event(self, t_ms: int, kind: int, a: int = 0, b: int = 0, c: int = 0) -> None:
        """One event (see `events`), into the buffer. Allocates nothing."""
        if self.recording:
            self._encoder.event(t_ms, kind, a, b, c)
            if kind in events.SEALED_AT_ONCE:
                self._urgent = True

    @property
    def due(self) -> bool:
        """True when `seal` has something to do now. After a failure: not before another chunk is full."""
        encoder = self._encoder
        if self._tried:
            return encoder.finished > self._tried or encoder.full
        return encoder.full or self._urgent or encoder.finished > 0 or self._ending

    def seal(self) -> bool:
        """Writes what is due, at most CHUNKS_A_SEAL chunks, and syncs once.

        False when the flash did not take it: all of it stays for the next try.
        """
        encoder = self._encoder
        encoder.finish()
        self._urgent = False
        taken = min(encoder.finished, CHUNKS_A_SEAL)
        ends = self._ending and taken == encoder.finished
        if not (self.recording or self._ending) or (taken == 0 and not ends and self._bytes):
            return True
        try:
            file = self._open_file()
            whole = self._whole
            length = self._bytes
            if length == 0:
                whole = self._write(file, self._head, whole)
                length = len(self._head)
            for index in range(taken):
                chunk = encoder.chunk(index, self._seed)
                whole = self._write(file, chunk, whole)
                length += len(chunk)
            if ends:
                end = end_bytes(self._end_ms, self._end_reason, whole, self._seed)
                whole = self._write(file, end, whole)
                length += len(end)
            file.flush()
        except OSError as error:
            self.problem = "the flash did not take the log: %s" % error
            self.flash_full = error.errno == _NO_SPACE
            self._tried = encoder.finished + 1
            self._close_file()
            return False
        self._whole = whole
        self._bytes = length
        self._tried = 0
        self.problem = ""
        self.flash_full = False
        encoder.drop(taken)
        if ends:
            self._ending = False
            self._close_file()
        return True

    def close(self, t_ms: int, reason: int) -> bool:
        """Ends the roast; True when all of it is on the flash.

        When False, go on with `seal` while `due`. A flash that refuses is tried again when `remove` made room, and
        before the next roast.
        """
        if not self.recording:
            return not self._ending
        self.recording = False
        self._ending = True
        self._end_ms = t_ms
        self._end_reason = reason
        return self.seal() and not self._ending

    def names(self) -> "list[tuple[str, int]]":
        """(name, bytes) of every log, oldest first."""
        try:
            found = [name for name in os.listdir(self.folder) if _number(name)]
        except OSError:
            return []
        found.sort(key=_number)
        return [(name, max(0, _size(self._path(name)))) for name in found]

    def writes(self, name: str) -> bool:
        """Whether a log still grows; no other ever will, with or without an end."""
        return (self.recording or self._ending) and name == file_name(self.number)

    def length(self, name: str) -> int:
        """How many bytes a log has; -1 when there is none of this name."""
        return _size(self._path(name)) if _number(name) else -1

    def read_into(self, name: str, offset: int, buffer: "bytearray | memoryview") -> int:
        """Fills `buffer` from that place of a log; how many bytes there were: 0 at its end and when there is no log."""
        if not _number(name):
            return 0
        try:
            with open(self._path(name), "rb") as file:
                file.seek(offset)
                return file.readinto(buffer) or 0
        except (OSError, ValueError):
            return 0

    def remove(self, name: str) -> bool:
        """Deletes a log; False when there is none of this name, or when it is being written."""
        if not _number(name) or self.writes(name):
            return False
        try:
            os.remove(self._path(name))
        except OSError:
            return False
        self._tried = 0
        return True

    def minutes_left(self) -> int:
        """How many minutes of one more roast fit on the flash; 0 when that cannot be told."""
        return minutes_left(self.bytes_free())

    def bytes_free(self) -> int:
        """What is free on the flash; 0 when that cannot be told."""
        try:
            state = os.statvfs(self.folder)
        except OSError:
            return 0
        return state[0] * state[3]

    def whole_check(self, name: str, length: int) -> int:
        """The CRC-32 that a closed log of this length has by its own end chunk; -1 when it has no end."""
        if not _number(name):
            return -1
        begin = bytearray(13)
        self.read_into(name, 0, begin)
        seed = bytearray(4)
        self.read_into(name, head_length(begin) - 4, seed)
        tail = bytearray(END_BYTES)
        if length < END_BYTES or self.read_into(name, length - END_BYTES, tail) != END_BYTES:
            return -1
        if not is_end(tail, 0, int.from_bytes(seed, "big")):
            return -1
        return crc32(tail, int.from_bytes(tail[END_BYTES - 7 : END_BYTES - 3], "big")) & 0xFFFFFFFF

    def _finish_last(self) -> None:
        """Whatever of the roast before is still in the buffer gets as many tries as a full buffer needs."""
        for _ in range(_SEALS_BEFORE_NEXT):
            if not self.seal() or not self._encoder.finished:
                break
        self.recording = False
        self._ending = False
        self._close_file()

    def _open_file(self) -> io.BufferedWriter:
        """Opens for appending. After a failed write bytes may stand behind the last sync: they join the whole check."""
        if self._file is not None:
            return self._file
        path = self._path(file_name(self.number))
        if not self._bytes:
            _make_folder(self.folder)
            self._file = open(path, "wb")  # noqa: SIM115  # stays open for the whole roast
            return self._file
        file = open(path, "ab")  # noqa: SIM115  # stays open for the whole roast
        self._file = file
        stray = _size(path) - self._bytes
        if stray > 0:
            with open(path, "rb") as written:
                written.seek(self._bytes)
                self._whole = crc32(written.read(stray), self._whole)
            self._bytes += stray
        return file

    def _write(self, file: io.BufferedWriter, chunk: "bytes | memoryview", whole: int) -> int:
        if file.write(chunk) != len(chunk):
            raise OSError("a short write")
        return crc32(chunk, whole)

    def _close_file(self) -> None:
        if self._file is not None:
            try:
                self._file.close()
            except OSError:
                pass
            self._file = None

    def _path(self, name: str) -> str:
        return self.folder + "/" + name


def _make_folder(folder: str) -> None:
    try:
        os.mkdir(folder)
    except OSError:  # it is there; if it is not, opening a file in it says so
        pass


def file_name(number: int) -> str:
    return "%06d" % number + ENDING


def _number(name: str) -> int:
    """The number in the name of a log, 0 when it is not one: nothing else in the folder is touched."""
    digits = name[: -len(ENDING)]
    if not name.endswith(ENDING) or len(digits) < 6 or not digits.isdigit():
        return 0
    number = int(digits)
    return number if name == file_name(number) else 0


def _size(path: str) -> int:
    try:
        return os.stat(path)[6]
    except OSError:
        return -1
