"""A client of the control channel, for tests, demonstrations and other programs."""

import contextlib
import json
import queue
import socket
import threading
import time
from collections.abc import Iterator
from typing import Any

from panchime.errors import PanchimeError
from panchime.virtual.events import Event

ANSWER_TIMEOUT_S = 120.0


class ControlClient:
    """Asks the world of a virtual board; its events arrive in `events`, in order and complete, once `watch` was called."""

    def __init__(self, address: str) -> None:
        """``address``: host:port. Raises PanchimeError when nobody listens there."""
        host, _, port = address.rpartition(":")
        try:
            self._socket = socket.create_connection((host, int(port)), timeout=10)
        except OSError as error:
            raise PanchimeError(f"no virtual board listens at {address} ({error}): is it still running?") from error
        self._socket.settimeout(None)
        self.events: queue.Queue[Event] = queue.Queue()
        self._answers: dict[int, queue.Queue[dict[str, Any]]] = {}
        self._lock = threading.Lock()
        self._next = 0
        self._reader = threading.Thread(target=self._read, name="panchime-control", daemon=True)
        self._reader.start()

    def _read(self) -> None:
        received = bytearray()
        try:
            while data := self._socket.recv(65536):
                received += data
                *lines, rest = bytes(received).split(b"\n")
                received = bytearray(rest)
                for line in lines:
                    self._take(json.loads(line))
        except OSError:
            pass
        with self._lock:
            for waiting in self._answers.values():
                waiting.put({"ok": False, "error": "the virtual board has ended"})
            self._next = -1

    def _take(self, message: dict[str, Any]) -> None:
        if "event" in message:
            self.events.put(message["event"])
            return
        with self._lock:
            waiting = self._answers.pop(message["id"], None)
        if waiting is not None:
            waiting.put(message)

    def ask(self, do: str, timeout_s: float = ANSWER_TIMEOUT_S, **arguments: Any) -> dict[str, Any]:
        """Sends one request and returns its answer. Raises PanchimeError when it is refused or none comes."""
        waiting: queue.Queue[dict[str, Any]] = queue.Queue()
        with self._lock:
            if self._next < 0:
                raise PanchimeError("the virtual board has ended: start it again")
            self._next += 1
            number = self._next
            self._answers[number] = waiting
        try:
            self._socket.sendall(json.dumps({"do": do, "id": number, **arguments}).encode() + b"\n")
            answer = waiting.get(timeout=timeout_s)
        except (OSError, queue.Empty) as error:
            raise PanchimeError(f"the virtual board did not answer {do!r}: is it still running?") from error
        if not answer.pop("ok"):
            raise PanchimeError(f"{do}: {answer['error']}")
        return answer

    def watch(self, from_event: int = 0) -> None:
        """From now on events arrive in `events`, beginning with that number."""
        self.ask("watch", **{"from": from_event})

    def state(self) -> dict[str, Any]:
        """Where everything stands; docs/virtual-board.md lists the fields."""
        answer: dict[str, Any] = self.ask("state")["state"]
        return answer

    def all_events(self, from_event: int = 0) -> list[Event]:
        """Everything that has happened so far."""
        events: list[Event] = self.ask("events", **{"from": from_event})["events"]
        return events

    def each_event(self, timeout_s: float = ANSWER_TIMEOUT_S) -> Iterator[Event]:
        """Events as they come; ends after so many seconds in all."""
        end_s = time.monotonic() + timeout_s
        while True:
            try:
                yield self.events.get(timeout=max(0.0, end_s - time.monotonic()))
            except queue.Empty:
                return

    def close(self) -> None:
        """Hangs up."""
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._socket.close()
