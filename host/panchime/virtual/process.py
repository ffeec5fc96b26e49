"""The process that runs the firmware: MicroPython behind a terminal pair, or CPython behind a socket."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Protocol

from panchime.virtual.interpreter import micropython_on_terminal_command, shim_folder

READ_BYTES = 4096


class FirmwareProcess(Protocol):
    """What the world needs of the process, whatever interpreter it is."""

    pid: int

    def fileno(self) -> int:
        """For a selector."""

    def read(self) -> bytes | None:
        """What the firmware printed: empty when there is nothing now, None when the process has closed its end."""

    def write(self, data: bytes) -> int:
        """Gives bytes to the firmware's input; returns how many were taken."""

    def interrupt(self) -> bool:
        """Ctrl-C for a program that waits for the world; False when it can only be written, as any other byte."""

    def takes_signals(self) -> bool:
        """Whether a Ctrl-C that is written becomes a signal: a program runs, not the prompt."""

    def kill(self) -> None:
        """Ends the process at once, as a power cut would."""

    def exit_status(self) -> int:
        """Waits for the end of the process; negative for a signal."""

    def close(self) -> None:
        """Frees what the host holds for it."""


def _environment(extra: dict[str, str]) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT", "LD_LIBRARY_PATH") if name in os.environ}
    return {**kept, **extra}


class MicroPythonProcess:
    """The real interpreter on the inner side of a pseudo-terminal, so that Ctrl-C is a signal and the prompt a prompt."""

    def __init__(self, environment: dict[str, str], heap_kb: int) -> None:
        import pty
        import termios
        import tty

        command = micropython_on_terminal_command()
        if command is None:
            raise RuntimeError("no MicroPython interpreter here")
        self._master, slave = pty.openpty()
        tty.setraw(slave)
        settings = termios.tcgetattr(slave)
        # Ctrl-C becomes a signal, and what was sent before and after it is kept, as on the board.
        settings[3] |= termios.ISIG | termios.NOFLSH
        for control in (termios.VQUIT, termios.VSUSP):
            settings[6][control] = b"\0"
        termios.tcsetattr(slave, termios.TCSANOW, settings)
        os.set_blocking(self._master, False)

        self._home = tempfile.TemporaryDirectory(prefix="panchime-")  # the prompt's history must not go into the user's
        self._process = subprocess.Popen(
            [*command, "-X", f"heapsize={heap_kb}k", "-i", str(shim_folder() / "start.py")],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env=_environment({**environment, "MICROPYPATH": str(shim_folder()), "HOME": self._home.name}),
            cwd=self._home.name,
            start_new_session=True,
        )
        os.close(slave)
        self.pid = self._process.pid

    def fileno(self) -> int:
        return self._master

    def read(self) -> bytes | None:
        try:
            return os.read(self._master, READ_BYTES) or None
        except BlockingIOError:
            return b""
        except OSError:
            return None  # Linux says EIO once the other end is closed

    def write(self, data: bytes) -> int:
        try:
            return os.write(self._master, data)
        except BlockingIOError:
            return 0
        except OSError:
            return len(data)

    def interrupt(self) -> bool:
        # Not by way of the terminal: that signal may come only when the program no longer waits.
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGINT)
        return True

    def takes_signals(self) -> bool:
        import termios

        try:
            return bool(termios.tcgetattr(self._master)[3] & termios.ISIG)
        except termios.error:
            return False

    def kill(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        self._process.wait()

    def exit_status(self) -> int:
        return self._process.wait()

    def close(self) -> None:
        with contextlib.suppress(OSError):
            os.close(self._master)
        self._home.cleanup()


class CPythonProcess:
    """The stand-in where there is no MicroPython: the same firmware on CPython, its serial port a local socket."""

    def __init__(self, environment: dict[str, str], flash_folder: Path) -> None:
        listener = socket.create_server(("127.0.0.1", 0))
        environment = {**environment, "PANCHIME_SERIAL": str(listener.getsockname()[1])}
        self._process = subprocess.Popen(
            [sys.executable, "-B", str(shim_folder() / "cpython" / "start.py")],
            stdin=subprocess.DEVNULL,
            env=_environment(environment),
            cwd=flash_folder,
            start_new_session=True,  # Ctrl-C in the terminal ends the world, and the world ends the firmware
        )
        self.pid = self._process.pid
        listener.settimeout(20)
        self._socket, _ = listener.accept()
        listener.close()
        self._socket.setblocking(False)

    def fileno(self) -> int:
        return self._socket.fileno()

    def read(self) -> bytes | None:
        try:
            return self._socket.recv(READ_BYTES) or None
        except BlockingIOError:
            return b""
        except OSError:
            return None

    def write(self, data: bytes) -> int:
        try:
            return self._socket.send(data)
        except BlockingIOError:
            return 0
        except OSError:
            return len(data)

    def interrupt(self) -> bool:
        return False

    def takes_signals(self) -> bool:
        return False

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()

    def exit_status(self) -> int:
        return self._process.wait()

    def close(self) -> None:
        self._socket.close()
