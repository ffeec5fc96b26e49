"""The world loop: one thread that keeps virtual time, serves the interpreter, the serial ports and the control channel."""

import json
import secrets
import selectors
import socket
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from panchime.virtual.chips import Chip
from panchime.virtual.control_server import ControlServer
from panchime.virtual.events import EventLog
from panchime.virtual.flash import Flash
from panchime.virtual.pace import Pace
from panchime.virtual.pins import Pins, Wiring
from panchime.virtual.process import CPythonProcess, FirmwareProcess, MicroPythonProcess
from panchime.virtual.protocol import FRAME, Operation, Question, hello_payload, read_question, write_answer
from panchime.virtual.roaster.kitchen import Kitchen
from panchime.virtual.serial_line import SerialLine
from panchime.virtual.surroundings import Surroundings
from panchime.virtual.watchdog import Watchdog

PWRON_RESET, WDT_RESET = 1, 3
CLOCK_AT_POWER_UP_S = 1_609_459_200  # a Pico's clock starts at 2021-01-01 00:00:00 (from memory)
BOOT_US = 150_000  # from reset to boot.py; no source
STRIDE_US = 100_000  # how far the interpreter may run ahead before it meets the world again
ERASE_US, ERASE_MOST_US = 45_000, 400_000  # sector erase, typical and the longest that datasheets allow
PROGRAM_US = 700  # a 256-byte page, typical (from memory)
STALL_DROP_S = 0.5  # a USB write to a host that does not read waits this long, then the data is lost
IDLE_S = 0.2  # a silent interpreter lets virtual time follow the wall clock after this
# A program that runs asks the world for the time again and again. Silent for so long it is at its prompt; or, when a Ctrl-C
# would be a signal to it, in a loop of its own: compiling all modules on a busy computer takes less.
QUIET_S, LOOPING_S = 0.5, 3.0
# Ctrl-C by its signal, and the interpreter's own exit when a second one comes before the first is served.
INTERRUPTED_STATUSES = (-2, 1)
RUN_ALL, RUN_BOOT, RUN_NOTHING = "all", "boot", "nothing"  # what the interpreter runs before its prompt
HANG_S = 5.0  # at full speed there is no wall clock to follow: silent for so long with the watchdog armed means hung


@dataclass
class Settings:
    """What a virtual board is made of."""

    flash: Flash
    chip: Chip
    kitchen: Kitchen | None = None
    speed: float = 1.0
    interpreter: str = "micropython"
    board_id: str = "E6614103E7A1B2C3"
    heap_kb: int = 480
    wiring: Wiring = field(default_factory=Wiring)
    ticks_start_ms: int = 0
    hold_at_us: int | None = None
    tcp_port: int = 0
    control_port: int = 0


@dataclass
class Owed:
    """An answer the interpreter waits for."""

    number: int
    payload: bytes = b""
    status: int = 0


class World:
    """The virtual board and all that surrounds it."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.log = EventLog()
        self.pins = Pins({settings.wiring.relay: 0, settings.wiring.chip_select: 1})
        self.around = Surroundings(self.pins, settings.wiring, settings.chip, settings.kitchen, self.tell)
        self.watchdog = Watchdog()
        self.pace = Pace(settings.speed)
        self.now_us = 0
        self.promised_us = 0  # the interpreter goes on to here without looking at the world
        self.hold_us = settings.hold_at_us
        self.erase_us = ERASE_US
        self.cut_power_at_write: int | None = None
        self.flash_writes = 0
        self.resets = 0
        self.powered = False
        self.tone_hz = 0
        self.failed: str | None = None
        self._levels_told = {settings.wiring.relay: 0, settings.wiring.led: 0}
        self._ticks_base_us = settings.ticks_start_ms * 1000
        self._clock = (CLOCK_AT_POWER_UP_S, 0)
        self._reset_cause = PWRON_RESET
        self._process: FirmwareProcess | None = None
        self._wire: socket.socket | None = None
        self._received = bytearray()
        self._greeted = False
        self._owed: Owed | None = None
        self._floor_us = 0
        self._heard_wall_s = time.monotonic()
        self._selector = selectors.DefaultSelector()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.setblocking(False)
        self._selector.register(self._listener, selectors.EVENT_READ, self._meet)
        self.line = SerialLine(self._selector, settings.tcp_port)
        self.control = ControlServer(self, self._selector, settings.control_port)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="panchime-world", daemon=True)

    # Life of the thread

    def start(self) -> None:
        """Powers the board and starts the loop."""
        self._thread.start()

    def stop(self) -> None:
        """Ends loop and firmware."""
        self._stop.set()
        self._thread.join(timeout=10)

    def _run(self) -> None:
        try:
            self.power_on()
            while not self._stop.is_set():
                self._turn()
        except Exception as error:
            self.failed = f"{type(error).__name__}: {error}"
            raise
        finally:
            self._end_process()
            self.control.close()
            self.line.close()
            self._listener.close()
            self._selector.close()

    def _turn(self) -> None:
        timeout = 0.02
        if self._owed is not None and not self._held():
            timeout = min(timeout, self.pace.wait_s(self.now_us))
        for key, _ in self._selector.select(timeout):
            key.data()
        self._settle_owed()
        self._look_at_silence()
        self.line.pump(self._process if self._greeted else None, self._quiet())
        self._look_at_stall()
        self.control.pump()

    # Power and resets

    def power_on(self) -> None:
        """Plugs the board in."""
        if self.powered:
            return
        self.powered = True
        self.around.chip.power_up()
        self.tell(self.now_us, "power", on=True)
        self._start(PWRON_RESET)

    def power_off(self) -> None:
        """Pulls the plug: nothing gets a last word."""
        if not self.powered:
            return
        self._end_process()
        self.powered = False
        self._let_go_of_pins()
        self._clock = (CLOCK_AT_POWER_UP_S, self.now_us)
        self.line.unplug()
        self.tell(self.now_us, "power", on=False)

    def let_time_pass(self, us: int) -> None:
        """While the board is off, only the surroundings go on."""
        self._reach(self.now_us + us)
        self.pace.restart(self.now_us)

    def hard_reset(self, at_us: int, cause: int, why: str) -> None:
        """What the watchdog or `machine.reset()` does."""
        self._reach(at_us)
        self._end_process()
        self._let_go_of_pins()
        self._clock = (CLOCK_AT_POWER_UP_S, self.now_us)
        self.line.unplug()
        self.tell(self.now_us, "reset", why=why)
        self.resets += 1
        self._start(cause)

    def soft_reset(self) -> None:
        """The interpreter starts afresh; pins, watchdog and clocks do not."""
        raw = self.line.in_raw_prompt
        self._end_process()
        self.line.say(b"MPY: soft reboot\r\n")
        self._tone(self.now_us, self.settings.wiring.piezo, 0, 0)
        self.tell(self.now_us, "soft reset", raw=raw)
        self._launch(raw)

    def _back_to_prompt(self) -> None:
        """Ctrl-C met the interpreter on its way to the prompt and ended it: a board would be at the prompt now."""
        self._end_process()
        self._launch(raw=False, run=RUN_NOTHING)

    def _let_go_of_pins(self) -> None:
        self.watchdog.reset()
        self.pins.reset()
        self._tell_levels(self.now_us)
        self._tone(self.now_us, self.settings.wiring.piezo, 0, 0)
        self.around.chip.select(False)

    def _start(self, cause: int) -> None:
        self._reset_cause = cause
        if self.resets or self.now_us:
            self._ticks_base_us = -self.now_us
        self._reach(self.now_us + BOOT_US)
        self._launch(raw=False)

    def _launch(self, raw: bool, run: str | None = None) -> None:
        settings = self.settings
        mark = "\x1e" + secrets.token_hex(8)
        environment = {
            "PANCHIME_WORLD": str(self._listener.getsockname()[1]),
            "PANCHIME_FLASH": str(settings.flash.path),
            "PANCHIME_BOARD_ID": settings.board_id,
            "PANCHIME_END_MARK": mark,
            "PANCHIME_RUN": run or (RUN_BOOT if raw else RUN_ALL),
        }
        self._greeted = False
        if settings.interpreter == "micropython":
            self._process = MicroPythonProcess(environment, settings.heap_kb)
        else:
            self._process = CPythonProcess(environment, settings.flash.path)
        self.line.attach(self._process, mark.encode(), raw)
        self._heard_wall_s = time.monotonic()

    def _end_process(self) -> None:
        if self._process is not None:
            self._process.kill()
            self.line.detach()
            self._process.close()
            self._process = None
        if self._wire is not None:
            self._selector.unregister(self._wire)
            self._wire.close()
            self._wire = None
        self._received.clear()
        self._owed = None
        self._greeted = False

    # The interpreter's wire

    def _meet(self) -> None:
        wire, _ = self._listener.accept()
        if self._wire is not None:
            wire.close()
            return
        wire.setblocking(False)
        wire.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._wire = wire
        self._selector.register(wire, selectors.EVENT_READ, self._hear)

    def _hear(self) -> None:
        wire = self._wire
        if wire is None:
            return
        try:
            data = wire.recv(65536)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if not data:
            self._selector.unregister(wire)
            wire.close()
            self._wire = None
            return
        self._heard_wall_s = time.monotonic()
        self._received += data
        while len(self._received) >= FRAME.size and self._wire is wire:
            frame = bytes(self._received[: FRAME.size])
            del self._received[: FRAME.size]
            self._handle(read_question(frame))
        self._settle_owed()

    def _handle(self, question: Question) -> None:
        deadline_us = self.watchdog.deadline_us
        if deadline_us is not None and question.time_us >= deadline_us:
            self.hard_reset(deadline_us, WDT_RESET, "watchdog")
            return
        self._reach(max(question.time_us, self.now_us))
        now_us = self.now_us
        wiring = self.settings.wiring
        operation = question.operation
        owed = Owed(question.number)
        if operation == Operation.PIN_LEVEL:
            self.pins.latch[question.a] = question.b
            self._pin_changed(question.a)
        elif operation == Operation.PIN_MODE:
            level = None if question.c == 2 else question.c
            self.pins.configure(question.a, question.b & 0xFF, question.b >> 8, level)
            self._pin_changed(question.a)
        elif operation == Operation.SPI:
            chip = self.around.chip
            selected = chip.bus == "spi" and self.pins.level(wiring.chip_select) == 0 and question.a == wiring.spi_bus
            owed.payload = chip.transfer(question.payload) if selected else bytes(len(question.payload))
            if selected and (question.b & 1) != chip.clock_phase:
                owed.payload = one_bit_late(owed.payload)
        elif operation == Operation.WATCHDOG_FEED:
            self.watchdog.feed(now_us)
        elif operation == Operation.WATCHDOG_START:
            self.watchdog.start(now_us, question.a)
            self.tell(now_us, "watchdog", timeout_ms=question.a)
        elif operation == Operation.PWM:
            self._tone(now_us, question.a, question.b, question.c)
        elif operation == Operation.I2C_WRITE:
            chip = self.around.chip
            heard = chip.bus == "i2c" and question.a == wiring.i2c_bus and chip.i2c_write(question.b, question.payload)
            owed.status = 0 if heard else 1
        elif operation == Operation.I2C_READ:
            chip = self.around.chip
            data = chip.i2c_read(question.b, question.c) if chip.bus == "i2c" and question.a == wiring.i2c_bus else None
            owed.status, owed.payload = (1, b"") if data is None else (0, data)
        elif operation == Operation.FLASH_ERASE:
            if self._flash_write():
                return
            self._floor_us = now_us + self.erase_us
        elif operation == Operation.FLASH_PROGRAM:
            if self._flash_write():
                return
            self._floor_us = now_us + PROGRAM_US * (1 + max(0, question.c - 1) // 256)
        elif operation == Operation.CLOCK_SET:
            self._clock = (question.a, now_us)
            self.tell(now_us, "clock", epoch_s=question.a)
        elif operation == Operation.HELLO:
            owed.payload = hello_payload(self._ticks_base_us, *self._clock, self._reset_cause)
        elif operation == Operation.MOUNTED:
            # From here on the interpreter is the board: a Ctrl-C before it would have ended at a prompt without a flash.
            self._greeted = True
        elif operation == Operation.PROMPT_NEXT:
            self.line.await_prompt()
        elif operation == Operation.RESET:
            self.hard_reset(now_us, WDT_RESET, "machine.reset()")
            return
        elif operation == Operation.SOFT_RESET:
            self.line.drain()
            self.soft_reset()
            return
        if question.number:
            self._owed = owed

    def _flash_write(self) -> bool:
        """Counts a write; True when the plug was pulled at it."""
        self.flash_writes += 1
        if self.cut_power_at_write is not None and self.flash_writes >= self.cut_power_at_write:
            self.cut_power_at_write = None
            self.power_off()
            return True
        return False

    def _held(self) -> bool:
        return self.hold_us is not None and self.now_us >= self.hold_us

    def _settle_owed(self) -> None:
        owed = self._owed
        if owed is None or self._wire is None:
            return
        if self._greeted and self._process is not None and self.line.interrupt(self._process):
            self._owed = None  # the question was cut off: nobody waits for its answer
            return
        if self._held() or self.pace.wait_s(self.now_us) > 0:
            return
        if self._floor_us > self.now_us:
            if not self._reach_or_reset(self._floor_us):
                return
            if self._held() or self.pace.wait_s(self.now_us) > 0:
                return
        self._owed = None
        self.promised_us = self._next_us()
        answer = write_answer(owed.number, self.now_us, self.promised_us, self.pins.levels(), owed.status, owed.payload)
        try:
            self._wire.sendall(answer)
        except OSError:
            return
        self._heard_wall_s = time.monotonic()

    def _next_us(self) -> int:
        stride = STRIDE_US if self.pace.speed <= 0 else max(5_000, min(STRIDE_US, int(10_000 * self.pace.speed)))
        candidates = [self.now_us + stride]
        for other in (self.hold_us, self.watchdog.deadline_us, self.around.next_change_us()):
            if other is not None:
                candidates.append(other)
        return max(self.now_us + 1, min(candidates))

    def _reach_or_reset(self, t_us: int) -> bool:
        """Lets time pass; False when the watchdog ran out on the way."""
        deadline_us = self.watchdog.deadline_us
        if deadline_us is not None and t_us >= deadline_us:
            self.hard_reset(deadline_us, WDT_RESET, "watchdog")
            return False
        self._reach(t_us)
        return True

    def _reach(self, t_us: int) -> None:
        if t_us > self.now_us:
            self.around.advance(t_us)
            self.now_us = t_us

    # What the pins do

    def _pin_changed(self, pin: int) -> None:
        if pin == self.settings.wiring.chip_select:
            self.around.chip.select(self.pins.level(pin) == 0)
        if pin in self._levels_told:
            self._tell_levels(self.now_us)

    def _tell_levels(self, t_us: int) -> None:
        for pin, what in ((self.settings.wiring.relay, "relay"), (self.settings.wiring.led, "led")):
            level = self.pins.level(pin)
            if level != self._levels_told[pin]:
                self._levels_told[pin] = level
                self.tell(t_us, what, on=level == 1)

    def _tone(self, t_us: int, pin: int, hz: int, duty: int) -> None:
        if pin != self.settings.wiring.piezo:
            return
        sounding = hz if duty else 0
        if sounding != self.tone_hz:
            self.tone_hz = sounding
            self.tell(t_us, "tone", hz=sounding, duty=duty if sounding else 0)

    def tell(self, t_us: int, what: str, **details: Any) -> None:
        """Notes an event, with the truth about probe and beans beside it."""
        bean_c = self.around.bean_c if hasattr(self, "around") else None
        if hasattr(self, "around"):
            details["probe_c"] = round(self.around.probe_c, 2)
            details["bean_c"] = None if bean_c is None else round(bean_c, 2)
        self.log.add(t_us, what, **details)

    # Silence

    def _quiet(self) -> bool:
        if self.settings.interpreter != "micropython" or self._process is None:
            return True
        silent_s = time.monotonic() - self._heard_wall_s
        if self._owed is not None or silent_s < QUIET_S:
            return False
        return silent_s >= LOOPING_S or not self._process.takes_signals()

    def _look_at_silence(self) -> None:
        """Virtual time when the interpreter says nothing: at a prompt, in a loop that never looks, or dead."""
        if not self.powered:
            if self.pace.speed > 0:
                self._reach(max(self.now_us, self.pace.allowed_us()))
            return
        if self.line.ended and self._process is not None:
            self._process_ended()
            return
        if self._owed is not None or not self._greeted:
            return
        silent_s = time.monotonic() - self._heard_wall_s
        deadline_us = self.watchdog.deadline_us
        if self.pace.speed > 0:
            if silent_s < IDLE_S:
                return
            target_us = self.pace.allowed_us()
            if self.hold_us is not None:
                target_us = min(target_us, max(self.hold_us, self.now_us))
            if deadline_us is not None and target_us >= deadline_us:
                if silent_s < max(1.0, self.watchdog.timeout_us / 1e6 / self.pace.speed):
                    self._reach(deadline_us - 1)
                    return
                self.hard_reset(deadline_us, WDT_RESET, "watchdog")
                return
            self._reach(target_us)
        elif deadline_us is not None and silent_s >= HANG_S and not self._held():
            self.hard_reset(deadline_us, WDT_RESET, "watchdog")

    def _process_ended(self) -> None:
        process = self._process
        if process is None:
            return
        status = process.exit_status()
        if self._greeted and status in INTERRUPTED_STATUSES:
            self._back_to_prompt()
        elif status < 0:
            # A fatal error hangs the board with its pins as they are; only the watchdog or the plug help.
            self._end_process()
            self._greeted = True
            self.tell(self.now_us, "crash", signal=-status)
        elif not self._greeted:
            self._end_process()
            self.failed = f"the interpreter ended with status {status} before the firmware ran: {self.line.last_words()}"
            self.tell(self.now_us, "interpreter failed", status=status)
        else:
            self.soft_reset()

    def _look_at_stall(self) -> None:
        """A host that holds the port and does not read: the write gives up after a while and the data is lost."""
        if self._owed is not None or not self.line.stalled_for(STALL_DROP_S):
            return
        if time.monotonic() - self._heard_wall_s < STALL_DROP_S:
            return
        lost = self.line.drop()
        if not lost:
            return
        if self.pace.speed <= 0:
            # No wall clock drives the virtual one, and the blocked firmware cannot: it has waited all the same.
            self._reach_or_reset(self.now_us + int(STALL_DROP_S * 1e6))
        self.tell(self.now_us, "serial data lost", bytes=lost)

    def stands_still(self) -> bool:
        """Whether virtual time cannot go on by itself: at full speed, and the firmware has stopped at its prompt or died."""
        if self.pace.speed > 0 or self._owed is not None or self.watchdog.deadline_us is not None:
            return False
        return time.monotonic() - self._heard_wall_s >= HANG_S

    # For the control channel

    def state(self) -> dict[str, Any]:
        """Where everything stands."""
        around = self.around
        return {
            "now_ms": self.now_us / 1000,
            "speed": self.pace.speed,
            "held": self._owed is not None and self._held(),
            "powered": self.powered,
            "relay": self.pins.level(self.settings.wiring.relay) == 1,
            "contact": around.relay_closed,
            "led": self.pins.level(self.settings.wiring.led) == 1,
            "tone_hz": self.tone_hz,
            "watchdog": self.watchdog.deadline_us is not None,
            "resets": self.resets,
            "flash_writes": self.flash_writes,
            "probe_c": around.probe_c,
            "cold_c": around.cold_c,
            "bean_c": around.bean_c,
            "vessel_c": around.kitchen.vessel.vessel_c if around.kitchen else None,
            "flame": around.kitchen.vessel.flame if around.kitchen else None,
            "fault": around.chip.fault,
            "port_open": self.line.open,
            "interpreter_pid": self._process.pid if self._process else None,
            "events": len(self.log.events),
            "failed": self.failed,
        }

    def ports(self) -> dict[str, Any]:
        """How to reach the board."""
        host, port = self.control.address
        return {
            "pty": self.line.pty_path,
            "url": self.line.tcp_url,
            "control": f"{host}:{port}",
        }

    def write_port_file(self, file: Path, more: dict[str, Any]) -> None:
        """Writes the ports as JSON, in one piece."""
        import os

        text = json.dumps({**self.ports(), **more}, indent=1) + "\n"
        file.parent.mkdir(parents=True, exist_ok=True)
        beside = file.with_name(f".{file.name}.{os.getpid()}")
        beside.write_text(text, encoding="utf-8")
        beside.replace(file)


def one_bit_late(data: bytes) -> bytes:
    """What a master reads that samples on the other edge of the clock."""
    size = len(data) * 8
    return ((int.from_bytes(data, "big") << 1) & ((1 << size) - 1)).to_bytes(len(data), "big")
