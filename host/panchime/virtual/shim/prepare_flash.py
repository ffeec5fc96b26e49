"""Format a flash image if it holds no file system, and lay files onto it.

Run by MicroPython; arguments: the image, then pairs of source and target. A target that already holds the same bytes is not
written again. Prints one line for each file written.
"""

import sys

import vfs
from flash_image import PROGRAM_BYTES, FlashImage


def same(source, target):
    try:
        there = open(target, "rb")  # noqa: SIM115 - closed below; MicroPython has no contextlib
    except OSError:
        return False
    with open(source, "rb") as here, there:
        while True:
            block = here.read(512)
            if block != there.read(512):
                return False
            if not block:
                return True


def make_folders(target):
    import os

    at = target.find("/", len("/flash/"))
    while at != -1:
        try:
            os.mkdir(target[:at])
        except OSError:
            pass
        at = target.find("/", at + 1)


image = FlashImage(sys.argv[1])
try:
    vfs.mount(vfs.VfsLfs2(image, progsize=PROGRAM_BYTES), "/flash")
except OSError:
    vfs.VfsLfs2.mkfs(image, progsize=PROGRAM_BYTES)
    vfs.mount(vfs.VfsLfs2(image, progsize=PROGRAM_BYTES), "/flash")
    print("formatted")
for i in range(2, len(sys.argv), 2):
    source = sys.argv[i]
    target = "/flash/" + sys.argv[i + 1]
    if not same(source, target):
        make_folders(target)
        with open(source, "rb") as here, open(target, "wb") as there:
            while True:
                block = here.read(4096)
                if not block:
                    break
                there.write(block)
        print("wrote", sys.argv[i + 1])
vfs.umount("/flash")
