"""A board at MicroPython's raw prompt, by mpremote's own transport."""

import ast
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

from panchime.errors import LinkError
from panchime.install.files import BOOT, MAIN, PACKED, READER, as_mpy

CHUNK_BYTES = 512
ENTER_ATTEMPTS = 3
FACTS = """
import sys, os, gc
i = sys.implementation
v = os.statvfs('/')
gc.collect()
mpy, machine = getattr(i, '_mpy', 0), getattr(i, '_machine', '')
print((i.name, tuple(i.version)[:3], mpy, machine, sys.platform, v[0] * v[3], gc.mem_free()))
"""
LOOSE_FILES = (BOOT, MAIN, as_mpy(READER), READER, PACKED)
SUMS = """
import os, binascii
def one(path):
    total = 0
    with open(path, 'rb') as file:
        while True:
            part = file.read(512)
            if not part:
                return total
            total = binascii.crc32(part, total)
def walk(folder):
    for entry in os.ilistdir(folder):
        path = folder + '/' + entry[0]
        if entry[1] & 0x4000:
            walk(path)
        else:
            print((path, one(path), os.stat(path)[6]))
names = os.listdir('/')
for name in loose:
    if name in names:
        print((name, one(name), os.stat(name)[6]))
if 'panchime_fw' in names:
    walk('panchime_fw')
"""
MAKE_FOLDERS = """
import os
def make(path):
    try:
        os.mkdir(path)
    except OSError:
        pass
"""


@dataclass(frozen=True)
class Facts:
    """What a board says of itself: interpreter, the byte code it runs, name, and the free bytes of its flash and its heap."""

    interpreter: str
    version: tuple[int, int, int]
    bytecode: int
    machine: str
    platform: str
    free_bytes: int
    heap_bytes: int


class Prompt:
    """Every method raises LinkError when the board does not answer as MicroPython does."""

    def __init__(self, port: str) -> None:
        """Interrupts whatever runs on the board: its own program opens the relay on the way out."""
        from mpremote.transport import TransportError
        from mpremote.transport_serial import SerialTransport

        self.port = port
        try:
            self._transport: Any = SerialTransport(port)
            self._enter()
        except (TransportError, OSError) as error:
            raise LinkError(
                f"no MicroPython prompt at {port} ({error}): is MicroPython on the board, and no other program at the port?"
            ) from error

    def _enter(self) -> None:
        """Into the raw prompt, and sure of it: a board that is just starting may still print into the first answer."""
        from mpremote.transport import TransportError

        for attempt in range(ENTER_ATTEMPTS):
            self._transport.enter_raw_repl(soft_reset=False)
            try:
                if self._transport.exec("print('here')").strip() == b"here":
                    return
            except TransportError:
                if attempt == ENTER_ATTEMPTS - 1:
                    raise
        raise TransportError("the prompt does not answer as it should")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Leaves the port; the board stays as it is."""
        from contextlib import suppress

        with suppress(Exception):  # mpremote tidies up over a port that may be gone
            self._transport.close()

    def run(self, code: str) -> str:
        """Runs a piece of code on the board; what it printed."""
        from mpremote.transport import TransportError

        try:
            printed: bytes = self._transport.exec(code)
        except (TransportError, OSError) as error:
            raise LinkError(f"the board stopped answering ({error}): plug it in again and repeat the installation") from error
        return printed.decode("utf-8", errors="replace")

    def facts(self) -> Facts:
        """Who the board is."""
        name, version, mpy, machine, platform, free_bytes, heap_bytes = ast.literal_eval(self.run(FACTS).strip())
        return Facts(name, tuple(version), mpy & 0xFF, machine, platform, free_bytes, heap_bytes)

    def sums(self) -> dict[str, tuple[int, int]]:
        """CRC-32 and length of every file of the firmware that lies on the board, by path."""
        found = {}
        for line in self.run(f"loose = {LOOSE_FILES!r}\n{SUMS}").splitlines():
            path, total, length = ast.literal_eval(line)
            found[path] = (total, length)
        return found

    def remove(self, path: str) -> None:
        self.run(f"import os\nos.remove({path!r})")

    def make_folders(self, paths: Iterable[str]) -> None:
        """Makes the folders that are not there yet, outer ones first."""
        self.run(MAKE_FOLDERS + "".join(f"make({path!r})\n" for path in sorted(paths)))

    def write(self, path: str, content: bytes, progress: Callable[[int], None] | None = None) -> None:
        """Writes a file beside its place and moves it there: it is the old one or the new one, never a torn one."""
        beside = path + ".new"
        self.run(f"import os\nf = open({beside!r}, 'wb')\nw = f.write")
        for start in range(0, len(content), CHUNK_BYTES):
            part = content[start : start + CHUNK_BYTES]
            self.run(f"w({part!r})")
            if progress is not None:
                progress(len(part))
        self.run(f"f.close()\nos.rename({beside!r}, {path!r})")

    def restart(self) -> None:
        """A hardware reset; the port goes away for a moment."""
        from contextlib import suppress

        with suppress(Exception):  # the port may vanish before the command is through: that is what was asked
            self._transport.exec_raw_no_follow("import machine\nmachine.reset()")
        self.close()


def wait_for_prompt(port: str, patience_s: float) -> Prompt:
    """The prompt of a board that is restarting. Raises LinkError when it does not come."""
    deadline = time.monotonic() + patience_s
    while True:
        try:
            return Prompt(port)
        except LinkError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.3)
