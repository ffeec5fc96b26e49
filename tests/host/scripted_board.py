"""A peer on a TCP port that answers as it is told, for the ways a line can go wrong that no real board shows on demand."""

import contextlib
import re
import socket
import threading
import zlib

IDENTITY = b"Panchime,Raspberry Pi Pico,E6614103E7,0.1.0\n"


def block(payload):
    """A definite-length block with its line end."""
    digits = str(len(payload)).encode()
    return b"#" + str(len(digits)).encode() + digits + payload + b"\n"


class ScriptedBoard:
    """Answers by the first entry of ``script`` whose pattern matches the message.

    An answer is bytes, None for silence, or a function of the match; a list gives one answer a time, its last one for ever.
    Messages without an entry get the usual answers of a healthy board.
    """

    def __init__(self, script=None, identity=IDENTITY):
        self.script = dict(script or {})
        self.received = []
        self.files = {}
        self.plan = b"{}"
        self.errors = []
        self.running = False
        self.confirmed = []
        self.may_drop = False
        self._usual = {
            r"\*IDN\?": identity,
            r"SYSTem:ERRor\?": lambda match: self.errors.pop(0) if self.errors else b'0,"No error"\n',
            r"SYSTem:UPTime\?": b"41,60000,1\n",
            r"SYSTem:DATE (.*);TIME (.*);DATE\?;TIME\?": lambda match: f"{match[1]};{match[2]}\n".encode(),
            r"SYSTem:DATE .*|SYSTem:TIME .*": None,
            r"PROGram:STATe\?": lambda match: b"RUN\n" if self.running else b"STOP\n",
            r"ROASt:LIVE\?": b"60000,idle,0,20.00,25.00,9.91E37,0,0,0,0,0\n",
            r"MMEMory:CATalog\?": lambda match: self._catalogue(),
            r'MMEMory:DATA\? "(.*)",(\d+),(\d+)': self._data,
            r'MMEMory:CHECksum\? "(.*)"': self._checksum,
            r'MMEMory:DELete "(.*)",(\d+),"([0-9A-F]{8})"': self._delete,
            r'MMEMory:CONFirm "(.*)",(\d+),"([0-9A-F]{8})"': self._confirm,
            r"MMEMory:CATalog:CONFirmed\?": lambda match: ",".join(f'"{name}"' for name in self.confirmed).encode() + b"\n",
            r"MMEMory:ROOM\?": lambda match: b"900,%d,%d\n" % (len(self.confirmed), self.may_drop),
            r"MMEMory:ROOM:DROP (ON|OFF)": self._let_drop,
            r"PROGram:DEFine #(\d)(.*)": self._define,
            r"PROGram:DEFine\?": lambda match: block(b"%08X" % zlib.crc32(self.plan) + self.plan),
        }
        self._server = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self._connection = None
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        with contextlib.suppress(OSError):
            self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
        if self._connection is not None:
            with contextlib.suppress(OSError):
                self._connection.shutdown(socket.SHUT_RDWR)
        self._thread.join(5)

    def _serve(self):
        while True:
            try:
                connection, _ = self._server.accept()
                self._connection = connection
            except OSError:
                return
            with connection, connection.makefile("rb") as lines, contextlib.suppress(ConnectionError):
                for line in lines:
                    message = line.decode("ascii").strip()
                    self.received.append(message)
                    answer = self._answer(message)
                    if answer is ConnectionAbortedError:
                        break
                    if answer:
                        connection.sendall(answer)

    def _answer(self, message):
        for table in (self.script, self._usual):
            for pattern, answer in table.items():
                match = re.fullmatch(pattern, message)
                if match:
                    if isinstance(answer, list):
                        answer = answer.pop(0) if len(answer) > 1 else answer[0]
                    return answer(match) if callable(answer) and answer is not ConnectionAbortedError else answer
        return None

    def _catalogue(self):
        entries = "".join(f',"{name},BIN,{len(raw)}"' for name, raw in self.files.items())
        return f"{sum(map(len, self.files.values()))},900000{entries}\n".encode()

    def _data(self, match):
        offset, length = int(match[2]), int(match[3])
        return block(self.files[match[1]][offset : offset + length])

    def _checksum(self, match):
        raw = self.files[match[1]]
        return f'{len(raw)},"{zlib.crc32(raw):08X}"\n'.encode()

    def _fits(self, match):
        raw = self.files.get(match[1], b"")
        fits = len(raw) == int(match[2]) and zlib.crc32(raw) == int(match[3], 16)
        if not fits:
            self.errors.append(b'-230,"Data corrupt or stale"\n')
        return fits

    def _delete(self, match):
        if self._fits(match):
            del self.files[match[1]]

    def _confirm(self, match):
        if self._fits(match):
            self.confirmed.append(match[1])

    def _let_drop(self, match):
        self.may_drop = match[1] == "ON"

    def _define(self, match):
        payload = match[2][int(match[1]) :].encode()
        self.plan = payload[8:]
