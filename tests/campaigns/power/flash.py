"""A flash chip in memory, as MicroPython's littlefs wants it, that keeps a trace of what is done to it. For MicroPython."""

import random

BLOCK = 4096  # the RP2040 port's block and page
PAGE = 256
ERASE = 0
PROGRAM = 1
# How a change can be interrupted.
NOT_BEGUN = 0
FIRST_PART = 1
SOME_BITS = 2
KINDS_OF_CUT = ("before the change", "a first part of it", "some bits of it")


class PowerCut(BaseException):
    """Not an Exception: no handler of the firmware may go on after it."""


class Flash:
    """`cut_at`: the number of the change at which the power goes, None for never."""

    def __init__(self, blocks, cut_at=None):
        self.image = bytearray(b"\xff" * (blocks * BLOCK))
        self.blocks = blocks
        self.trace = None
        self.changes = 0
        self.cut_at = cut_at

    def readblocks(self, block, buffer, offset=0):
        begin = block * BLOCK + offset
        buffer[:] = memoryview(self.image)[begin : begin + len(buffer)]

    def writeblocks(self, block, buffer, offset=0):
        begin = block * BLOCK + offset
        self.change(PROGRAM, begin, bytes(buffer))

    def ioctl(self, operation, argument):
        if operation == 4:
            return self.blocks
        if operation == 5:
            return BLOCK
        if operation == 6:
            self.change(ERASE, argument * BLOCK, None)
        return 0

    def change(self, kind, begin, raw):
        if self.cut_at is not None and self.changes >= self.cut_at:
            raise PowerCut
        self.changes += 1
        if self.trace is not None:
            self.trace.append((kind, begin, raw))
        apply(self.image, kind, begin, raw)


def apply(image, kind, begin, raw):
    if kind == ERASE:
        image[begin : begin + BLOCK] = b"\xff" * BLOCK
    else:
        image[begin : begin + len(raw)] = raw


def apply_torn(image, kind, begin, raw, cut):
    """What a cut in the middle leaves: programming only clears bits, erasing only sets them."""
    length = BLOCK if kind == ERASE else len(raw)
    if cut == FIRST_PART:
        done = random.randrange(length + 1)
        image[begin : begin + done] = b"\xff" * done if kind == ERASE else raw[:done]
        length -= done
        begin += done
        raw = None if kind == ERASE else raw[done:]
        # The part that was being worked on is in no known state.
        length = min(length, 16)
    pattern = [random.getrandbits(8) & random.getrandbits(8) for _ in range(61)]
    for index in range(length):
        bits = pattern[index % 61]
        old = image[begin + index]
        image[begin + index] = old | bits if kind == ERASE else old & (raw[index] | ~bits & 0xFF)
