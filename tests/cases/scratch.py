"""A folder of one case's own, gone afterwards. Runs on CPython and on MicroPython."""

import os
import sys
from binascii import hexlify


class Scratch:
    """`with Scratch() as folder:` gives the path of a new empty folder."""

    def __enter__(self):
        base = os.getenv("TMPDIR") or os.getenv("TEMP") or "/tmp"
        self.folder = "%s/panchime-%s-%s" % (base, sys.implementation.name, hexlify(os.urandom(8)).decode())
        os.mkdir(self.folder)
        return self.folder

    def __exit__(self, kind, value, trace):
        remove_all(self.folder)


def remove_all(path):
    if os.stat(path)[0] & 0xF000 == 0x4000:
        for name in os.listdir(path):
            remove_all(path + "/" + name)
        os.rmdir(path)
    else:
        os.remove(path)


def read(path):
    with open(path, "rb") as file:
        return file.read()


def write(path, raw):
    with open(path, "wb") as file:
        file.write(raw)
