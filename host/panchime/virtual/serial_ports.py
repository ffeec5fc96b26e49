"""The serial port as the outside sees it: a pseudo-terminal where the system has them, and a TCP port for `socket://`."""

import contextlib
import os
import select
import socket
import sys

READ_BYTES = 4096


class PtyPort:
    """A pseudo-terminal. It counts as open while somebody holds its other end."""

    def __init__(self) -> None:
        import pty
        import tty

        self._master, slave = pty.openpty()
        self.path = os.ttyname(slave)
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        os.close(slave)
        self._poll = select.poll()
        self._poll.register(self._master, select.POLLIN)

    def fileno(self) -> int:
        return self._master

    @property
    def open(self) -> bool:
        return not any(state & select.POLLHUP for _, state in self._poll.poll(0))

    def read(self) -> bytes:
        try:
            return os.read(self._master, READ_BYTES)
        except OSError:
            return b""

    def write(self, data: bytes) -> int:
        try:
            return os.write(self._master, data)
        except BlockingIOError:
            return 0
        except OSError:
            return len(data)

    def drop_unread(self) -> None:
        """Throws away what waits in either direction, as an unplugged port does."""
        import termios

        with contextlib.suppress(termios.error):
            termios.tcflush(self._master, termios.TCIOFLUSH)

    def close(self) -> None:
        os.close(self._master)


class TcpPort:
    """A listening socket that serves one client at a time; a second one is turned away."""

    def __init__(self, port: int = 0) -> None:
        self.listener = socket.create_server(("127.0.0.1", port))
        self.listener.setblocking(False)
        self.url = f"socket://127.0.0.1:{self.listener.getsockname()[1]}"
        self.client: socket.socket | None = None

    @property
    def open(self) -> bool:
        return self.client is not None

    def accept(self) -> bool:
        """Takes a new client, or turns it away. True when it was taken."""
        try:
            client, _ = self.listener.accept()
        except OSError:
            return False
        if self.client is not None:
            client.close()
            return False
        client.setblocking(False)
        client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.client = client
        return True

    def read(self) -> bytes | None:
        """None when the client has gone."""
        if self.client is None:
            return None
        try:
            return self.client.recv(READ_BYTES) or None
        except BlockingIOError:
            return b""
        except OSError:
            return None

    def write(self, data: bytes) -> int:
        if self.client is None:
            return len(data)
        try:
            return self.client.send(data)
        except BlockingIOError:
            return 0
        except OSError:
            return len(data)

    def hang_up(self) -> None:
        """Ends the client's connection."""
        if self.client is not None:
            self.client.close()
            self.client = None

    def close(self) -> None:
        self.hang_up()
        self.listener.close()


def has_pty() -> bool:
    """Whether this system has pseudo-terminals."""
    return sys.platform != "win32"
