"""The firmware's standard streams and `select.poll` over a local socket, on CPython and on every system."""

import _thread
import select as _select
import socket
import threading
import types

POLLIN, POLLOUT, POLLERR, POLLHUP = 1, 4, 8, 16


class Line:
    """Both directions of the virtual serial port. A thread listens, so that Ctrl-C can interrupt the firmware."""

    def __init__(self, port):
        self.socket = socket.create_connection(("127.0.0.1", port))
        self._received = bytearray()
        self._news = threading.Condition()
        self._gone = False
        self._waiting_for_restart = False
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        while True:
            try:
                data = self.socket.recv(4096)
            except OSError:
                data = b""
            with self._news:
                if not data:
                    self._gone = True
                    self._news.notify_all()
                    return
                if b"\x03" in data and not self._waiting_for_restart:
                    _thread.interrupt_main()
                self._received += data.replace(b"\x03", b"")
                self._news.notify_all()

    def readable(self):
        with self._news:
            return bool(self._received) or self._gone

    def read(self, size):
        with self._news:
            while len(self._received) < size and not self._gone:
                self._news.wait(0.05)
            data = bytes(self._received[:size])
            del self._received[:size]
            return data

    def writable(self):
        return bool(_select.select([], [self.socket], [], 0)[1])

    def wait_for_restart(self):
        """Return when Ctrl-D has come or the world has gone."""
        with self._news:
            self._waiting_for_restart = True
            while b"\x04" not in self._received and not self._gone:
                self._news.wait(0.2)


class Input:
    """sys.stdin; text comes through `read`, bytes through `buffer`."""

    def __init__(self, line):
        self.line = line
        self.buffer = _BytesIn(line)

    def read(self, size):
        return self.line.read(size).decode("latin-1")


class _BytesIn:
    def __init__(self, line):
        self.line = line

    def read(self, size):
        return self.line.read(size)

    def readinto(self, buffer, size=None):
        """As MicroPython's: at most `size` bytes when it is given."""
        data = self.line.read(len(buffer) if size is None else size)
        buffer[: len(data)] = data
        return len(data)


class Output:
    """sys.stdout; text goes through `write`, bytes through `buffer.write`."""

    encoding = "utf-8"

    def __init__(self, line):
        self.line = line
        self.buffer = _BytesOut(line)

    def write(self, text):
        self.buffer.write(text.encode())
        return len(text)

    def flush(self):
        pass


class _BytesOut:
    def __init__(self, line):
        self.line = line

    def write(self, data, first=None, second=None):
        """As MicroPython's: write(data), write(data, size) or write(data, offset, size)."""
        if second is not None:
            data = memoryview(data)[first : first + second]
        elif first is not None:
            data = memoryview(data)[:first]
        self.line.socket.sendall(data)
        return len(data)

    def flush(self):
        pass


class Poll:
    """`select.poll()` over the two streams."""

    def __init__(self):
        self._streams = {}

    def register(self, stream, events=POLLIN | POLLOUT):
        self._streams[id(stream)] = (stream, events)

    def modify(self, stream, events):
        self.register(stream, events)

    def unregister(self, stream):
        self._streams.pop(id(stream), None)

    def poll(self, timeout=-1):
        found = []
        for stream, events in self._streams.values():
            ready = POLLIN if events & POLLIN and stream.line.readable() else 0
            ready |= POLLOUT if events & POLLOUT and stream.line.writable() else 0
            if ready:
                found.append((stream, ready))
        return found

    def ipoll(self, timeout=-1, flags=0):
        return iter(self.poll(timeout))


def select_module():
    """A stand-in for the `select` module, with the board's names."""
    module = types.ModuleType("select")
    module.poll = Poll
    module.POLLIN, module.POLLOUT, module.POLLERR, module.POLLHUP = POLLIN, POLLOUT, POLLERR, POLLHUP
    return module
