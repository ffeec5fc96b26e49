"""One text on the flash that a power cut cannot destroy: two copies, written in turn.

A copy is a line `checksum sequence length` (CRC-32 of all that follows the checksum, in hexadecimal), then the text.
The newer good copy counts. A save writes over the other one, so wherever the power is cut the old text or the new one
is there whole.
"""

import os
from binascii import crc32

_ENDINGS = (".a", ".b")


class Store:
    """The text `name` in `folder` ('' is the folder the board runs in). Never raises for what the flash does."""

    def __init__(self, folder: str, name: str) -> None:
        self.folder = folder
        self.name = name

    def exists(self) -> bool:
        """True when something was ever saved, be it damaged now."""
        for copy in (0, 1):
            try:
                os.stat(self._path(copy))
                return True
            except OSError:
                pass
        return False

    def load(self) -> "str | None":
        """The text last saved; None when there is none, or when both copies are damaged."""
        return self._newest()[2]

    def save(self, text: str) -> bool:
        """Keeps `text`. False when the flash did not take it; the text before is then still there."""
        newest, sequence = self._newest()[:2]
        path = self._path(1 - newest)
        body = text.encode()
        line = b" %d %d\n" % (sequence + 1, len(body))
        try:
            self._make_folder()
            with open(path, "wb") as file:
                # Piece by piece: a plan takes several KB, and a small board has no room to put copies of it together.
                file.write(b"%08x" % crc32(body, crc32(line)))
                file.write(line)
                file.write(body)
                file.flush()
        except OSError:
            return False
        return self._read(path) == (sequence + 1, text)

    def _path(self, copy: int) -> str:
        name = self.name + _ENDINGS[copy]
        return self.folder + "/" + name if self.folder else name

    def _make_folder(self) -> None:
        if self.folder:
            try:
                os.mkdir(self.folder)
            except OSError:  # it is there; if it is not, opening the file says so
                pass

    def _newest(self) -> "tuple[int, int, str | None]":
        """(which copy, its sequence number, its text); (1, 0, None) when neither is good."""
        found: tuple[int, int, str | None] = (1, 0, None)
        for copy in (0, 1):
            sequence, text = self._read(self._path(copy))
            if text is not None and (found[2] is None or sequence > found[1]):
                found = (copy, sequence, text)
        return found

    def _read(self, path: str) -> "tuple[int, str | None]":
        try:
            with open(path, "rb") as file:
                raw = file.read()
            line_end = raw.index(b"\n")
            check, sequence, length = raw[:line_end].split(b" ")
            view = memoryview(raw)
            if int(check, 16) == crc32(view[8:]) and int(length) == len(raw) - line_end - 1:
                return int(sequence), str(view[line_end + 1 :], "utf-8")
        except (OSError, ValueError):  # not there, or not of this form
            pass
        return 0, None
