"""A flash in memory for the firmware's own stores and logbook: it can stall at each sync, and be full.

`installed()` puts it under the modules that open files. One flash is in use at a time: `use(flash)` says which, since the
board whose turn it is has its own.
"""

import errno
from types import SimpleNamespace
from typing import Any

from panchime_fw import logbook, store

BLOCK = 4096
BLOCKS = 352  # of a Pico's file system


class Flash:
    """Files by path. `on_sync` is called at each sync and may let time pass; `refuses` makes every write fail."""

    def __init__(self) -> None:
        self.files: dict[str, bytearray] = {}
        self.refuses = False
        self.on_sync: Any = None
        self.syncs = 0

    def sync(self) -> None:
        self.syncs += 1
        if self.on_sync is not None:
            self.on_sync()
        if self.refuses:
            raise OSError(errno.ENOSPC, "no room")


class File:
    """One open file: appends or overwrites, reads from where it stands."""

    def __init__(self, flash: Flash, path: str, mode: str) -> None:
        if mode == "rb":
            if path not in flash.files:
                raise OSError(errno.ENOENT, path)
        elif flash.refuses:
            flash.sync()
        elif mode == "wb" or path not in flash.files:
            flash.files[path] = bytearray()
        self._flash = flash
        self._bytes = flash.files[path]
        self._at = 0

    def __enter__(self) -> "File":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def write(self, data: Any) -> int:
        if self._flash.refuses:
            self._flash.sync()
        self._bytes += data
        return len(data)

    def flush(self) -> None:
        self._flash.sync()

    def seek(self, at: int) -> None:
        self._at = at

    def read(self, count: int = -1) -> bytes:
        end = len(self._bytes) if count < 0 else self._at + count
        part = bytes(self._bytes[self._at : end])
        self._at += len(part)
        return part

    def readinto(self, buffer: Any) -> int:
        part = self.read(len(buffer))
        buffer[: len(part)] = part
        return len(part)

    def close(self) -> None:
        pass


_in_use = Flash()


def use(flash: Flash) -> None:
    global _in_use
    _in_use = flash


def _open(path: str, mode: str = "rb") -> File:
    return File(_in_use, path, mode)


def _stat(path: str) -> tuple[int, ...]:
    if path not in _in_use.files:
        raise OSError(errno.ENOENT, path)
    return (0, 0, 0, 0, 0, 0, len(_in_use.files[path]))


def _list(folder: str) -> list[str]:
    return [path[len(folder) + 1 :] for path in _in_use.files if path.startswith(folder + "/")]


def _remove(path: str) -> None:
    if path not in _in_use.files:
        raise OSError(errno.ENOENT, path)
    del _in_use.files[path]


def used_blocks() -> int:
    return 4 + sum(1 + len(content) // BLOCK for content in _in_use.files.values())


def _room(_: str) -> tuple[int, ...]:
    return (BLOCK, BLOCK, BLOCKS, max(0, BLOCKS - used_blocks()))


_OS = SimpleNamespace(mkdir=lambda path: None, stat=_stat, listdir=_list, remove=_remove, statvfs=_room)


_depth = 0
_kept: tuple[Any, Any] = (None, None)


class installed:  # used as a `with` block
    """While this holds, stores and logbooks live in the flash in use. May stand inside itself."""

    def __enter__(self) -> None:
        global _depth, _kept
        _depth += 1
        if _depth > 1:
            return
        _kept = (logbook.os, store.os)
        logbook.os = store.os = _OS  # type: ignore[assignment]
        logbook.open = store.open = _open  # type: ignore[attr-defined]

    def __exit__(self, *_: object) -> None:
        global _depth
        _depth -= 1
        if _depth == 0:
            logbook.os, store.os = _kept
            del logbook.open, store.open  # type: ignore[attr-defined]
