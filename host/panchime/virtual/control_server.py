"""The control channel: JSON lines over a local TCP port. What it understands is in docs/virtual-board.md."""

from __future__ import annotations

import contextlib
import json
import selectors
import socket
from typing import TYPE_CHECKING, Any

from panchime.virtual.chips.chip import FAULTS
from panchime.virtual.roaster.person import PRESSES

if TYPE_CHECKING:
    from panchime.virtual.world import World

Request = dict[str, Any]
Reply = dict[str, Any]


class Refused(Exception):
    """A request that cannot be carried out."""


class ControlServer:
    """Serves any number of clients on the world's selector."""

    def __init__(self, world: World, selector: selectors.BaseSelector, port: int) -> None:
        self._world = world
        self._selector = selector
        self._listener = socket.create_server(("127.0.0.1", port))
        self._listener.setblocking(False)
        self.address: tuple[str, int] = self._listener.getsockname()
        self._clients: list[_Client] = []
        selector.register(self._listener, selectors.EVENT_READ, self._accept)

    def _accept(self) -> None:
        connection, _ = self._listener.accept()
        connection.setblocking(False)
        client = _Client(connection)
        self._clients.append(client)
        self._selector.register(connection, selectors.EVENT_READ, lambda: self._read(client))

    def _read(self, client: _Client) -> None:
        try:
            data = client.connection.recv(65536)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if not data:
            self._drop(client)
            return
        client.received += data
        while b"\n" in client.received:
            line, _, rest = client.received.partition(b"\n")
            client.received = bytearray(rest)
            if line.strip():
                self._serve(client, bytes(line))

    def _drop(self, client: _Client) -> None:
        self._selector.unregister(client.connection)
        client.connection.close()
        self._clients.remove(client)

    def _serve(self, client: _Client, line: bytes) -> None:
        request: Request = {}
        try:
            request = json.loads(line)
            answer = self._carry_out(client, request)
        except Refused as error:
            answer = {"ok": False, "error": str(error)}
        except (ValueError, TypeError, KeyError, AttributeError) as error:
            answer = {"ok": False, "error": f"not understood ({type(error).__name__}: {error}): see docs/virtual-board.md"}
        if answer is not None:
            client.say({"id": request.get("id") if isinstance(request, dict) else None, "ok": True, **answer})

    def _carry_out(self, client: _Client, request: Request) -> Reply | None:
        do = request["do"]
        handler = getattr(self, "_do_" + do, None)
        if handler is None:
            known = ", ".join(sorted(name[4:] for name in dir(self) if name.startswith("_do_")))
            raise Refused(f"{do!r} is not known: it is one of {known}")
        reply: Reply | None = handler(client, request)
        return reply

    def pump(self) -> None:
        """Sends new events to those who watch and answers those who wait."""
        for client in list(self._clients):
            self._answer_waiting(client)
            if client.watching_from is not None:
                events = self._world.log.events
                while client.watching_from < len(events):
                    client.say({"event": events[client.watching_from]})
                    client.watching_from += 1
            if not client.flush():
                self._drop(client)

    def _answer_waiting(self, client: _Client) -> None:
        world = self._world
        for waiting in list(client.waiting):
            reached = world.now_us >= waiting["until_us"]
            if waiting["held"]:
                reached = bool(world.state()["held"])
            if reached or not world.powered or world.failed or world.stands_still():
                client.waiting.remove(waiting)
                ok = reached and not world.failed
                reply: Reply = {"id": waiting["id"], "ok": ok, "now_ms": world.now_us / 1000}
                if not ok:
                    why = "the firmware is silent at full speed" if world.powered else "the board is off"
                    reply["error"] = world.failed or f"{why}, so virtual time stands still: {world.line.last_words()}"
                client.say(reply)

    def close(self) -> None:
        """Hangs up on everybody."""
        for client in list(self._clients):
            client.flush()
            self._drop(client)
        with contextlib.suppress(KeyError):
            self._selector.unregister(self._listener)
        self._listener.close()

    # What can be asked for

    def _do_state(self, client: _Client, request: Request) -> Reply:
        return {"state": self._world.state()}

    def _do_ports(self, client: _Client, request: Request) -> Reply:
        return {"ports": self._world.ports()}

    def _do_events(self, client: _Client, request: Request) -> Reply:
        return {"events": self._world.log.events[int(request.get("from", 0)) :]}

    def _do_watch(self, client: _Client, request: Request) -> Reply:
        client.watching_from = int(request.get("from", 0))
        return {}

    def _do_trace(self, client: _Client, request: Request) -> Reply:
        kitchen = self._world.around.kitchen
        points = kitchen.trace if kitchen else []
        return {
            "t_s": [point.t_s for point in points],
            "bean_c": [point.bean_c for point in points],
            "probe_c": [point.probe_c for point in points],
            "vessel_c": [point.vessel_c for point in points],
        }

    def _do_press(self, client: _Client, request: Request) -> Reply:
        world = self._world
        kind = request.get("kind", "short")
        if kind not in PRESSES or kind == "none":
            raise Refused(f"a press is short, double or long, not {kind!r}")
        at_us = world.now_us
        if request.get("at_ms") is not None:
            at_us = round(request["at_ms"] * 1000)
            if at_us < world.now_us:
                raise Refused(f"at_ms {request['at_ms']} is past: it is {world.now_us / 1000} now")
        # Sooner than the interpreter looks again, part of the press would be over before it is seen.
        at_us = max(at_us, world.promised_us)
        ms = request.get("ms")
        world.around.press(at_us, kind, None if ms is None else int(ms))
        return {"at_ms": at_us / 1000}

    def _do_speed(self, client: _Client, request: Request) -> Reply:
        speed = float(request["value"])
        if not 0 <= speed <= 10000:
            raise Refused("speed is 0 (as fast as can be) or up to 10000 times real time")
        self._world.pace.restart(self._world.now_us, speed)
        return {"speed": speed}

    def _do_run_until(self, client: _Client, request: Request) -> Reply | None:
        until_us = round(request["ms"] * 1000)
        if until_us < self._world.now_us:
            raise Refused(f"{request['ms']} ms is past: it is {self._world.now_us / 1000} now")
        self._world.hold_us = until_us
        client.waiting.append({"id": request.get("id"), "until_us": until_us, "held": True})
        return None

    def _do_hold(self, client: _Client, request: Request) -> Reply | None:
        self._world.hold_us = self._world.now_us
        client.waiting.append({"id": request.get("id"), "until_us": self._world.now_us, "held": True})
        return None

    def _do_go(self, client: _Client, request: Request) -> Reply:
        self._world.hold_us = None
        self._world.pace.restart(self._world.now_us)
        return {}

    def _do_wait_until(self, client: _Client, request: Request) -> Reply | None:
        until_us = round(request["ms"] * 1000)
        client.waiting.append({"id": request.get("id"), "until_us": until_us, "held": False})
        return None

    def _do_power(self, client: _Client, request: Request) -> Reply:
        if request["on"]:
            self._world.power_on()
        else:
            self._world.power_off()
        return {}

    def _do_power_cycle(self, client: _Client, request: Request) -> Reply:
        self._world.power_off()
        self._world.let_time_pass(int(request.get("off_ms", 1000)) * 1000)
        self._world.power_on()
        return {}

    def _do_reset(self, client: _Client, request: Request) -> Reply:
        """The reset input of the board (RUN to ground)."""
        if not self._world.powered:
            raise Refused("the board is off")
        self._world.hard_reset(self._world.now_us, 1, "reset input")
        return {}

    def _do_fault(self, client: _Client, request: Request) -> Reply:
        kind = request["kind"]
        if kind not in FAULTS:
            raise Refused(f"a fault is one of {', '.join(FAULTS)}, not {kind!r}")
        self._world.around.chip.fault = kind
        self._world.tell(self._world.now_us, "fault", kind=kind)
        return {}

    def _do_probe(self, client: _Client, request: Request) -> Reply:
        value = request["c"]
        self._world.around.set_probe_c = None if value is None else float(value)
        return {}

    def _do_cold(self, client: _Client, request: Request) -> Reply:
        value = request["c"]
        self._world.around.set_cold_c = None if value is None else float(value)
        return {}

    def _do_spikes(self, client: _Client, request: Request) -> Reply:
        chip = self._world.around.chip
        chip.spike_c, chip.spike_share = float(request["c"]), float(request["share"])
        return {}

    def _do_relay_welded(self, client: _Client, request: Request) -> Reply:
        self._world.around.relay_welded = bool(request["on"])
        self._world.tell(self._world.now_us, "fault", kind="relay welded" if request["on"] else "relay mended")
        return {}

    def _do_flash_stall(self, client: _Client, request: Request) -> Reply:
        stall_ms = request["erase_ms"]
        if not 0 <= stall_ms <= 400:
            raise Refused("a sector erase takes at most 400 ms")
        self._world.erase_us = round(stall_ms * 1000)
        return {}

    def _do_cut_power_at_write(self, client: _Client, request: Request) -> Reply:
        world = self._world
        world.cut_power_at_write = world.flash_writes + int(request["count"])
        return {}

    def _do_flame(self, client: _Client, request: Request) -> Reply:
        kitchen = self._world.around.kitchen
        if kitchen is None:
            raise Refused("there is no flame: the board was started without a scenario")
        value = float(request["value"])
        if not 0 <= value <= 1:
            raise Refused("a flame is between 0 and 1")
        kitchen.vessel.flame = value
        return {}


class _Client:
    """One connection, its half-read line and what it waits for."""

    def __init__(self, connection: socket.socket) -> None:
        self.connection = connection
        self.received = bytearray()
        self.to_send = bytearray()
        self.watching_from: int | None = None
        self.waiting: list[dict[str, Any]] = []

    def say(self, message: dict[str, Any]) -> None:
        self.to_send += json.dumps(message).encode() + b"\n"

    def flush(self) -> bool:
        """Sends what the socket takes; False when the client has gone."""
        try:
            while self.to_send:
                del self.to_send[: self.connection.send(self.to_send[:65536])]
        except BlockingIOError:
            return True
        except OSError:
            return False
        return True
