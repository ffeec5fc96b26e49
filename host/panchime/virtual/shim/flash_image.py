"""A board's flash in a file: a block device of 352 blocks of 4096 bytes, as a Pico with MicroPython has it."""

BLOCKS = 352
BLOCK_BYTES = 4096
PROGRAM_BYTES = 256


class FlashImage:
    def __init__(self, path, link=None):
        """`link` is told of erases and programs, which take time; none while a flash is being prepared."""
        self._file = open(path, "r+b")  # noqa: SIM115 - stays open as long as the board runs
        self._link = link
        self._blank = b"\xff" * BLOCK_BYTES

    def readblocks(self, block, buffer, offset=0):
        self._file.seek(block * BLOCK_BYTES + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=None):
        if offset is None:
            self.ioctl(6, block)
            offset = 0
        if self._link is not None:
            self._link.exchange(self._link.FLASH_PROGRAM, block, offset, len(buffer))
        self._file.seek(block * BLOCK_BYTES + offset)
        self._file.write(buffer)

    def ioctl(self, op, arg):
        if op == 4:
            return BLOCKS
        if op == 5:
            return BLOCK_BYTES
        if op == 6:
            if self._link is not None:
                self._link.exchange(self._link.FLASH_ERASE, arg, 0, BLOCK_BYTES)
            self._file.seek(arg * BLOCK_BYTES)
            self._file.write(self._blank)
            return 0
        return 0
