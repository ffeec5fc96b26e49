"""Reads the firmware out of one packed file, so that it takes two dozen blocks of the flash and not one for every module.

The flash gives every file a whole block of 4096 bytes, and most modules are smaller. Layout of the file, made by the host's
panchime/install/packing.py: the length of the index as a decimal line; the index, one line a module, its path and where it
begins after the index; then the modules, each a raw deflate stream of its own.
"""

import gc
import sys

import vfs
from deflate import RAW, DeflateIO

MOUNT_POINT = "/panchime"
WINDOW_BITS = 10
IS_FOLDER = 0x4000
IS_FILE = 0x8000
NOT_FOUND = 2
READ_ONLY = 30


class PackedFolder:
    """A folder to import from. Raises OSError or ValueError for a file that is none of ours."""

    def __init__(self, path: str) -> None:
        self._path = path
        with open(path, "rb") as file:
            head = file.readline()
            self._index = b"\n" + file.read(int(head))
        self._begin = len(head) + len(self._index) - 1

    def mount(self, read_only, make_new) -> None:
        """Asked of every file system; there is nothing to prepare."""

    def umount(self) -> None:
        """As `mount`."""

    def stat(self, path: str) -> tuple:
        name = b"\n" + path.lstrip("/").encode()
        if name + b" " in self._index:
            mode = IS_FILE
        elif name + b"/" in self._index:
            mode = IS_FOLDER
        else:
            raise OSError(NOT_FOUND)
        return (mode, 0, 0, 0, 0, 0, 0, 0, 0, 0)

    def open(self, path: str, mode: str):
        if "w" in mode or "a" in mode or "+" in mode:
            raise OSError(READ_ONLY)
        name = b"\n" + path.lstrip("/").encode() + b" "
        at = self._index.find(name)
        if at < 0:
            raise OSError(NOT_FOUND)
        at += len(name)
        # The window of the module before goes now, not somewhere between two modules that stay for good.
        gc.collect()
        file = open(self._path, "rb")  # noqa: SIM115  the importer closes it
        file.seek(self._begin + int(self._index[at : self._index.find(b"\n", at)]))
        return DeflateIO(file, RAW, WINDOW_BITS, True)


def mount(path: str) -> None:
    """Makes the modules in the packed file importable, before any others."""
    vfs.mount(PackedFolder(path), MOUNT_POINT)
    sys.path.insert(0, MOUNT_POINT)
