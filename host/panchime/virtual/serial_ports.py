"""The serial port as the outside sees it: a pseudo-terminal where the system has them, and a TCP port for `socket://`."""

import os
import select
import socket
import sys
import tempfile

READ_BYTES = 4096


class PtyPort:
    """A pseudo-terminal under a name that stays. It counts as open while somebody holds its other end."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="panchime-port-")
        self.path = os.path.join(self._folder.name, "port")
        self._plug_in()

    def _plug_in(self) -> None:
        import pty
        import tty

        self._master, slave = pty.openpty()
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        fresh = self.path + ".new"
        os.symlink(os.ttyname(slave), fresh)
        os.replace(fresh, self.path)
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

    def hang_up(self) -> None:
        """Whoever holds the port loses it, as when a USB device leaves the bus; the name leads to a fresh one."""
        os.close(self._master)
        self._plug_in()

    def close(self) -> None:
        os.close(self._master)
        self._folder.cleanup()


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
