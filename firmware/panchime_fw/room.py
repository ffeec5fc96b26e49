"""Room on the flash: how much roasting still fits, which logs the host holds whole, and which may go when room gets short.

The host confirms a log after it has stored it. Beside the log then lies a small file of the same number, `000012.pulled`, with
the log's length and CRC-32. A log goes by itself only when the settings allow it, nothing is written to it any more, and both
still fit.
"""

import os

from .file_sum import FileSum
from .logbook import ENDING
from .logformat import minutes_left

MARK_ENDING = ".pulled"
# Removing a file may cost a flash erase of 0.4 s, and the watchdog waits 5 s.
DROPS_AT_ONCE = 4


class Room:
    """The room of `log`'s folder. No method raises for what the flash does."""

    def __init__(self, log) -> None:
        self._log = log
        self.may_drop = False  # by the settings

    def confirmed(self) -> "list[str]":
        """The names of the logs that the host has confirmed, oldest first."""
        marks = self._marks()
        return [name for name, _ in self._log.names() if _mark_name(name) in marks]

    def confirm(self, name: str, length: int, check: int) -> bool:
        """Keeps over power cuts that the host holds this log whole. False when the flash did not take it."""
        try:
            with open(self._path(_mark_name(name)), "wb") as file:
                file.write(_mark(length, check))
                file.flush()
        except OSError:
            return False
        if self.holds(name):
            return True
        self._forget(_mark_name(name))
        return False

    def holds(self, name: str) -> bool:
        """True when nothing is written to the log any more and its mark is that of this very log."""
        try:
            with open(self._path(_mark_name(name)), "rb") as file:
                said = file.read()
        except OSError:
            return False
        length = self._log.length(name)
        if length < 0 or self._log.writes(name):
            return False
        check = self._log.whole_check(name, length)
        if check < 0:  # interrupted: no end tells it
            check = self._sum(name, length)
        return said == _mark(length, check)

    def remove(self, name: str) -> bool:
        """Deletes a log and its mark."""
        if not self._log.remove(name):
            return False
        self._forget(_mark_name(name))
        return True

    def drop_oldest(self) -> bool:
        """Deletes the oldest log that may go; False when there is none."""
        if self.may_drop:
            for name in self.confirmed():
                if self.holds(name) and self.remove(name):
                    return True
        return False

    def make_room(self, minutes: int) -> int:
        """Drops logs until so many minutes of a roast fit, a few at once; how many went."""
        dropped = 0
        while dropped < DROPS_AT_ONCE and self._log.minutes_left() < minutes and self.drop_oldest():
            dropped += 1
        return dropped

    def recover(self) -> None:
        """At boot: a mark whose log is gone goes too."""
        names = [_mark_name(name) for name, _ in self._log.names()]
        for mark in self._marks():
            if mark not in names:
                self._forget(mark)

    def minutes_left(self) -> int:
        """Minutes of one more roast that fit now."""
        return self._log.minutes_left()

    def minutes_in_reach(self) -> int:
        """As `minutes_left`, and what dropping would make room for."""
        free = self._log.bytes_free()
        if self.may_drop:
            for name in self.confirmed():
                free += self._log.length(name)
        return minutes_left(free)

    def _sum(self, name: str, length: int) -> int:
        """The CRC-32 of a whole log, read from the flash; -1 when it cannot be read."""
        total = FileSum(self._log, name, 0, length, lambda check: check)
        try:
            while total.step():
                pass
        except OSError:
            return -1
        return total.answer()

    def _marks(self) -> "list[str]":
        try:
            return [name for name in os.listdir(self._log.folder) if name.endswith(MARK_ENDING)]
        except OSError:
            return []

    def _forget(self, mark: str) -> None:
        try:
            os.remove(self._path(mark))
        except OSError:  # it was never there, or goes at the next boot
            pass

    def _path(self, name: str) -> str:
        return self._log.folder + "/" + name


def _mark_name(name: str) -> str:
    return name[: -len(ENDING)] + MARK_ENDING


def _mark(length: int, check: int) -> bytes:
    return b"%d %08X\n" % (length, check)
