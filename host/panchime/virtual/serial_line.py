"""The line between the firmware and whoever holds the serial port, with the manners of a USB serial port.

Nobody there: the output is dropped. Somebody there who does not read: the firmware's writes stall. One client at a time.
"""

import contextlib
import selectors
import time
from collections.abc import Callable
from typing import Any

from panchime.virtual.process import FirmwareProcess
from panchime.virtual.serial_ports import PtyPort, TcpPort, has_pty

RAW_BANNER = b"raw REPL; CTRL-B to exit\r\n"
PROMPT = b">>> "
FRIENDLY_BANNER = b'Type "help()" for more information.'
INTERRUPT = b"\x03"  # Ctrl-C
INPUT_LIMIT = 4096
INPUT_CHUNK = 1024
OPEN_LOOK_S = 0.01


class SerialLine:
    """Both ends of the line, on the world's selector."""

    def __init__(self, selector: selectors.BaseSelector, tcp_port: int) -> None:
        self._selector = selector
        self._registered: set[Any] = set()
        self._tcp = TcpPort(tcp_port)
        self._pty = PtyPort() if has_pty() else None
        self._selector.register(self._tcp.listener, selectors.EVENT_READ, self._tcp.accept)
        self._holder = ""  # "pty", "tcp" or nobody
        self._looked_s = 0.0
        self._process: FirmwareProcess | None = None
        self._to_client = bytearray()
        self._to_firmware = bytearray()
        self._stuck_since_s: float | None = None
        self._mark = b""
        self._kept = b""
        self._swallow_to_raw = False
        self._tail = b""
        self._after_program = b""
        self._prompt_awaited = False
        self.in_raw_prompt = False
        self.ended = False

    @property
    def pty_path(self) -> str | None:
        return self._pty.path if self._pty else None

    @property
    def tcp_url(self) -> str:
        return self._tcp.url

    @property
    def open(self) -> bool:
        """Whether somebody holds the port."""
        return bool(self._holder)

    # The firmware's side

    def attach(self, process: FirmwareProcess, mark: bytes, raw: bool) -> None:
        """A new interpreter: `mark` is what it prints before its prompt; `raw` brings it on to the raw prompt."""
        self._process = process
        self._mark = mark
        self._kept = b""
        self._swallow_to_raw = False
        self._start_raw = raw
        self._tail = b""
        self._prompt_awaited = False
        self.in_raw_prompt = raw
        self.ended = False
        self._want(process, self._from_firmware, True)

    def detach(self) -> None:
        """The interpreter is gone."""
        if self._process is not None:
            self._want(self._process, self._from_firmware, False)
        self._process = None
        self._kept = b""
        self.ended = False

    def drain(self) -> None:
        """Takes over what the firmware has printed so far."""
        while self._process is not None:
            data = self._process.read()
            if not data:
                return
            self._printed(data)

    def say(self, data: bytes) -> None:
        """What the board itself prints, not the firmware."""
        if self._holder:
            self._to_client += data

    def unplug(self) -> None:
        """A hardware reset takes the port off the bus: what waits is lost, and so is whoever held it."""
        self._to_client.clear()
        self._to_firmware.clear()
        self._stuck_since_s = None
        self.in_raw_prompt = False
        if self._pty is not None and (self._holder == "pty" or self._pty.open):
            self._want(self._pty, self._from_pty, False)
            self._pty.hang_up()
            if self._holder == "pty":
                self._taken_by("")
        self._drop_tcp_client()

    def last_words(self) -> str:
        """The end of what the firmware printed."""
        return self._tail.decode(errors="replace").strip()

    def _from_firmware(self) -> None:
        if self._process is None or self._to_client:
            return
        data = self._process.read()
        if data is None:
            self.ended = True
            self._want(self._process, self._from_firmware, False)
            self._emit(self._kept)
            self._kept = b""
        elif data:
            self._printed(data)

    def _printed(self, data: bytes) -> None:
        if self._prompt_awaited:
            self._after_program = self._after_program[-len(PROMPT) :] + data
            self._prompt_awaited = PROMPT not in self._after_program
        if self._swallow_to_raw:
            self._kept += data
            at = self._kept.find(RAW_BANNER)
            if at >= 0:
                self._swallow_to_raw = False
                rest, self._kept = self._kept[at:], b""
                self._emit(rest)
            return
        if not self._mark:
            self._emit(data)
            return
        data = self._kept + data
        before, found, after = data.partition(self._mark)
        if found:
            self._mark = b""
            self._kept = b""
            self._emit(before)
            if self._start_raw:
                # The tool asked for a raw prompt; the friendly one on the way there is not for its eyes.
                self._swallow_to_raw = True
                self._to_firmware[:0] = b"\x01"
            if after:
                self._printed(after)
            return
        keep = _overlap(data, self._mark)
        self._kept = data[len(data) - keep :]
        self._emit(data[: len(data) - keep])

    def _emit(self, data: bytes) -> None:
        if not data:
            return
        seen = self._tail + data
        raw, friendly = seen.rfind(RAW_BANNER), seen.rfind(FRIENDLY_BANNER)
        if raw != friendly:
            self.in_raw_prompt = raw > friendly
        self._tail = seen[-200:]
        if self._holder:
            self._to_client += data

    # The client's side

    def await_prompt(self) -> None:
        """boot.py and main.py are through: nothing is to reach the interpreter before its prompt stands."""
        self._after_program = b""
        self._prompt_awaited = True

    def interrupt(self, process: FirmwareProcess) -> bool:
        """Gives a program that waits for the world the Ctrl-C that is due. True when there was one.

        MicroPython's unix build raises KeyboardInterrupt out of its signal handler. Where that cuts off a compilation or an
        allocation, its lock stays taken and the interpreter stops for good at the next one. While it waits it holds none.
        """
        if self._prompt_awaited or INTERRUPT not in self._to_firmware[:INPUT_CHUNK]:
            return False
        if not self._give(process, self._to_firmware.index(INTERRUPT)) or not process.interrupt():
            return False
        del self._to_firmware[: len(INTERRUPT)]
        return True

    def pump(self, process: FirmwareProcess | None, quiet: bool) -> None:
        """Moves what can be moved. `process` is the firmware when it may be given input, else None; `quiet` says whether it
        is at its prompt, or in a loop that never meets the world: only then does a Ctrl-C go in as any other byte."""
        self._look_who_is_there()
        self._flush()
        if process is not None and not self._prompt_awaited:
            first = self._to_firmware.find(INTERRUPT, 0, INPUT_CHUNK)
            self._give(process, INPUT_CHUNK if quiet or first < 0 else first)
        if self._process is not None and not self.ended:
            self._want(self._process, self._from_firmware, not self._to_client)
        hungry = len(self._to_firmware) < INPUT_LIMIT
        if self._pty is not None:
            self._want(self._pty, self._from_pty, self._holder == "pty" and hungry)
        if self._tcp.client is not None:
            self._want(self._tcp.client, self._from_tcp, hungry)

    def _give(self, process: FirmwareProcess, most: int) -> bool:
        """Writes at most so many bytes to the firmware's input; True when all of them were taken."""
        due = bytes(self._to_firmware[:most])
        taken = process.write(due) if due else 0
        del self._to_firmware[:taken]
        return taken == len(due)

    def _look_who_is_there(self) -> None:
        now_s = time.monotonic()
        if self._holder == "tcp" or now_s - self._looked_s < OPEN_LOOK_S:
            if not self._holder and self._tcp.open:
                self._taken_by("tcp")
            return
        self._looked_s = now_s
        pty_open = self._pty is not None and self._pty.open
        if self._holder == "pty" and not pty_open:
            self._taken_by("")
        if not self._holder:
            if pty_open:
                self._taken_by("pty")
            elif self._tcp.open:
                self._taken_by("tcp")

    def _taken_by(self, holder: str) -> None:
        self._holder = holder
        if not holder:
            self._to_client.clear()
            self._stuck_since_s = None

    def _from_pty(self) -> None:
        data = self._pty.read() if self._pty else b""
        if not data and self._pty is not None:
            self._looked_s = 0.0
            if not self._pty.open:
                self._want(self._pty, self._from_pty, False)
        self._heard(data)

    def _from_tcp(self) -> None:
        data = self._tcp.read()
        if data is None:
            self._drop_tcp_client()
            return
        if self._holder == "pty":
            # Who held the pty may just have left: look now, or what the new client says would be lost.
            self._looked_s = 0.0
            self._look_who_is_there()
        if self._holder == "tcp" or not self._holder:
            self._taken_by("tcp")
            self._heard(data)

    def _drop_tcp_client(self) -> None:
        if self._tcp.client is not None:
            self._want(self._tcp.client, self._from_tcp, False)
            self._tcp.hang_up()
        if self._holder == "tcp":
            self._taken_by("")

    def _heard(self, data: bytes) -> None:
        self._to_firmware += data

    def _flush(self) -> None:
        if not self._to_client:
            self._stuck_since_s = None
            return
        port: PtyPort | TcpPort | None = self._pty if self._holder == "pty" else self._tcp
        taken = port.write(bytes(self._to_client[:4096])) if port is not None else len(self._to_client)
        del self._to_client[:taken]
        if taken or not self._to_client:
            self._stuck_since_s = None
        elif self._stuck_since_s is None:
            self._stuck_since_s = time.monotonic()

    def stalled_for(self, seconds: float) -> bool:
        """Whether the client has taken nothing for so long although something waits."""
        return self._stuck_since_s is not None and time.monotonic() - self._stuck_since_s >= seconds

    def drop(self) -> int:
        """Loses what the firmware is stuck with; returns how many bytes that were."""
        data = self._process.read() if self._process else None
        if self._stuck_since_s is not None:
            self._stuck_since_s = time.monotonic()
        return len(data or b"")

    def close(self) -> None:
        """Ends both ports."""
        if self._process is not None:
            self._want(self._process, self._from_firmware, False)
        self._drop_tcp_client()
        if self._pty is not None:
            self._want(self._pty, self._from_pty, False)
            self._pty.close()
        with contextlib.suppress(KeyError):
            self._selector.unregister(self._tcp.listener)
        self._tcp.close()

    def _want(self, source: Any, callback: Callable[[], None], wanted: bool) -> None:
        if wanted and source not in self._registered:
            self._selector.register(source, selectors.EVENT_READ, callback)
            self._registered.add(source)
        elif not wanted and source in self._registered:
            self._registered.remove(source)
            self._selector.unregister(source)


def _overlap(data: bytes, mark: bytes) -> int:
    """How many bytes at the end of `data` may be the beginning of `mark`."""
    for size in range(min(len(data), len(mark) - 1), 0, -1):
        if mark.startswith(data[-size:]):
            return size
    return 0
