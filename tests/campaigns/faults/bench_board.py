"""A board on the bench: the firmware's Loop as `start.build` puts it together, with a clock of its own.

Between the roaster's model and the relay everything is the firmware's: the amplifier's frame is exact to the bit, decoder,
filter, cutoff, loop, link and log run as on the board. Passes in which nothing can happen are skipped; those that are left
run in the loop's own order through `Loop.step`.
"""

import math
import random
import sys
from types import ModuleType
from typing import Any

import bench_flash

from panchime.virtual.chips.max31855 import Max31855
from panchime.virtual.roaster.kitchen import STEP_US, Kitchen
from panchime.virtual.roaster.person import REACTION_MS

WRAP = (1 << 30) - 1
IDLE_MS = 4  # what board.py waits in a pass without work
PRESS_MS = {"short": (120,), "double": (120, 120), "long": (1200,)}
BETWEEN_PRESSES_MS = 150
WATCHDOG_MS = 5000
# A thin bead in moving air: about 12 s to two thirds (common practice, no source), for one step of 50 ms.
IN_AIR_A_STEP = math.exp(-0.05 / 12.0)
SOMEONE_PRESSES_MS = 1600  # so long after a press the button is looked at in every pass

_stub = ModuleType("panchime_fw.board")
_stub.Board = None  # type: ignore[attr-defined]
_kept = sys.modules.get("panchime_fw.board")
sys.modules["panchime_fw.board"] = _stub
from panchime_fw import own_pins, pins, start  # noqa: E402  # board.py itself needs the hardware's modules

if _kept is None:
    del sys.modules["panchime_fw.board"]
else:
    sys.modules["panchime_fw.board"] = _kept


class WatchdogReset(Exception):
    """The watchdog was not fed: the board restarts, its pins fall back to inputs and the pull-down opens the relay."""


class World:
    """The kitchen, the probe's amplifier and the clock. Time is in whole milliseconds since power-up."""

    def __init__(self, kitchen: Kitchen, seed: int, ticks_start: int = 0) -> None:
        self.kitchen = kitchen
        self.now_ms = 0
        self.ticks_start = ticks_start
        self.chance = random.Random(f"world {seed}")
        self.chip = Max31855("K", seed)
        self.presses: list[tuple[int, int]] = []
        self.heated = False
        self.heater_dead = False
        self.probe_out_c: float | None = None
        self.shift: Any = None  # (junction_c, now_ms) -> junction_c
        self.cold_shift: Any = None
        self.spoil: Any = None  # (frame) -> frame
        self.noise: Any = None  # (now_ms) -> degC to add to this conversion
        self.person_acts = True
        self._physics_ms = 0
        self._conversion = 0
        self._junction_c = kitchen.probe.tip_c
        self._cold_c = kitchen.cold_c
        self.unspoilt_c = self._junction_c  # of the last conversion, without spikes
        self._fresh = True

    def catch_up(self) -> None:
        """Brings roaster, person and conversions up to now."""
        step_ms = STEP_US // 1000
        kitchen = self.kitchen
        while self._physics_ms + step_ms <= self.now_ms:
            self._physics_ms += step_ms
            if self.heater_dead:
                kitchen.vessel.flame = 0.0
            tip_c = kitchen.probe.tip_c
            acts = kitchen.step(self.heated)
            if self.probe_out_c is not None:
                # It hangs in the air beside the vessel: the kitchen's step is undone for the probe alone.
                kitchen.probe.tip_c = self.probe_out_c + (tip_c - self.probe_out_c) * IN_AIR_A_STEP
            for act in acts:
                if act.press != "none" and self.person_acts:
                    self.press(act.press, self._physics_ms + REACTION_MS)
            if self._physics_ms // self.chip.conversion_ms != self._conversion:
                self._conversion = self._physics_ms // self.chip.conversion_ms
                self._convert()

    def _convert(self) -> None:
        now_ms = self._physics_ms
        junction_c = self.kitchen.probe.reading_c()
        if self.shift is not None:
            junction_c = self.shift(junction_c, now_ms)
        self.unspoilt_c = junction_c
        if self.noise is not None:
            junction_c += self.noise(now_ms)
        self._junction_c = junction_c
        self._cold_c = self.kitchen.cold_c if self.cold_shift is None else self.cold_shift(self.kitchen.cold_c, now_ms)
        self._fresh = True

    def frame(self, count: int) -> bytes:
        """What the amplifier sends now; the voltage is only worked out for conversions that are read."""
        self.catch_up()
        if self._fresh:
            self._fresh = False
            self.chip.convert(self._junction_c, self._cold_c)
        self.chip.select(True)
        frame = self.chip.transfer(bytes(count))
        return frame if self.spoil is None else self.spoil(frame)

    def press(self, kind: str, at_ms: int) -> None:
        for length_ms in PRESS_MS[kind]:
            self.presses.append((at_ms, at_ms + length_ms))
            at_ms += length_ms + BETWEEN_PRESSES_MS


class Host:
    """Whoever is at the other end of the serial port; this one is nobody."""

    stall_ms = 0
    stall_share = 1.0  # of the writes

    def __init__(self) -> None:
        self.to_board = bytearray()
        self.from_board = bytearray()

    def step(self, board: "BenchBoard") -> None:
        """Called before each pass: may put bytes into `to_board`."""

    def taken(self, board: "BenchBoard", part: bytes) -> None:
        """The board has written these bytes."""


class BenchBoard:
    """What board.py offers, on a bench."""

    WRITE_SLICE = 256
    model = "bench"
    serial = "E6614103E7A1B2C3"

    def __init__(self, world: World, decoder: Any) -> None:
        self.world = world
        self.host = Host()
        self.name = pins.DESKTOP_BOARD
        self.pins = own_pins.map_of(self.name, None)
        self.relay_closed = False
        self.welded_pin = False  # the pin does not obey
        self.relay_log: list[tuple[int, bool]] = []
        self.fed_ms: int | None = None
        self.watchdog_works = True
        self.tone_hz = 0
        self.tone_changed_ms = -10000
        self.relay_changed_ms = -10000
        self.reads: list[int] = []
        self.clock = (2026, 11, 25, 8, 30, 0)
        self.maintenance = False
        self.loop: Any = None
        self.set_amplifier(decoder)

    # Time.

    def ticks_ms(self) -> int:
        return (self.world.now_ms + self.world.ticks_start) & WRAP

    def let_pass(self, ms: int) -> None:
        """Time passes in which the firmware does nothing: a stall. The watchdog is looked at."""
        self.world.now_ms += ms
        if self.watchdog_works and self.fed_ms is not None and self.world.now_ms - self.fed_ms > WATCHDOG_MS:
            self.world.now_ms = self.fed_ms + WATCHDOG_MS
            self._set(False)
            raise WatchdogReset

    def idle(self) -> None:
        """At least one pass of 4 ms, or as many as go by without anything to do."""
        world = self.world
        next_ms = self._next_ms()
        passes = max(1, -(-(next_ms - world.now_ms) // IDLE_MS))
        self.let_pass(passes * IDLE_MS)

    def _next_ms(self) -> int:
        world = self.world
        now_ms = world.now_ms
        loop = self.loop
        if loop is None or self.host.to_board or loop._instrument.busy or loop._session._record.save_due:
            return now_ms
        next_ms = now_ms + _ahead(loop._next_sample_ms, self.ticks_ms())
        player = loop._session.player
        if player.busy:
            next_ms = min(next_ms, now_ms + _ahead(player._next_ms, self.ticks_ms()))
        for down_ms, up_ms in world.presses:
            if down_ms <= now_ms < up_ms + SOMEONE_PRESSES_MS:
                return now_ms
            if down_ms > now_ms:
                next_ms = min(next_ms, down_ms)
        return next_ms

    # Amplifier.

    def set_amplifier(self, decoder: Any) -> None:
        self.frame = bytearray(decoder.FRAME_BYTES)

    def set_up_amplifier(self) -> None:
        pass

    def read_frame(self) -> bytearray:
        self.reads.append(self.world.now_ms)
        self.frame[:] = self.world.frame(len(self.frame))
        return self.frame

    def read_look(self, look: bytearray) -> bytearray:
        look[:] = self.world.frame(len(look))
        self.frame[:] = look[: len(self.frame)]
        return self.frame

    # Relay, sound, light, button.

    def relay(self, closed: bool) -> None:
        if not self.welded_pin:
            self._set(bool(closed))

    def _set(self, closed: bool) -> None:
        if closed != self.relay_closed:
            self.world.catch_up()
            self.relay_closed = closed
            self.world.heated = closed
            self.relay_changed_ms = self.world.now_ms
            self.relay_log.append((self.world.now_ms, closed))

    def relay_step(self, now_ms: int) -> None:
        pass  # driven by its level

    def relay_is_closed(self) -> bool:
        return self.relay_closed

    def tone(self, hz: int) -> None:
        self.tone_hz = hz
        self.tone_changed_ms = self.world.now_ms

    def led(self, on: bool) -> None:
        pass

    def button_down(self) -> bool:
        now_ms = self.world.now_ms
        return any(down_ms <= now_ms < up_ms for down_ms, up_ms in self.world.presses)

    # Watchdog, calendar, flash.

    def arm_watchdog(self) -> None:
        if self.fed_ms is None:
            self.fed_ms = self.world.now_ms

    def feed_watchdog(self) -> None:
        if self.fed_ms is not None:
            self.fed_ms = self.world.now_ms

    def date_time(self) -> tuple[int, ...]:
        return self.clock

    def set_date_time(self, parts: tuple[int, ...]) -> None:
        self.clock = tuple(parts)  # type: ignore[assignment]

    def enter_maintenance(self) -> None:
        self.relay(False)
        self.maintenance = True

    def flash_bytes(self) -> tuple[int, int]:
        used = bench_flash.used_blocks() * bench_flash.BLOCK
        return (used, bench_flash.BLOCKS * bench_flash.BLOCK - used)

    # Serial port.

    def serial_readable(self) -> bool:
        return bool(self.host.to_board)

    def serial_read(self, one_byte: bytearray) -> bool:
        one_byte[0] = self.host.to_board.pop(0)
        return True

    def serial_writable(self) -> bool:
        return True

    def serial_write(self, part: Any) -> int:
        part = bytes(part)
        if self.host.stall_ms and self.world.chance.random() < self.host.stall_share:
            # The host holds the port and does not read: the write waits, then the data is lost.
            self.let_pass(self.world.chance.randint(0, self.host.stall_ms))
        self.host.taken(self, part)
        return len(part)


def _ahead(ticks: int, now: int) -> int:
    return max(0, ((ticks - now + (WRAP + 1) // 2) & WRAP) - (WRAP + 1) // 2)


class Bench:
    """World, flash and firmware together."""

    def __init__(self, world: World, flash: bench_flash.Flash, plan_text: str | None = None) -> None:
        self.world = world
        self.flash = flash
        bench_flash.use(flash)
        if plan_text is not None:
            from panchime_fw.store import Store

            Store("state", "plan").save(plan_text)
        self.power_up()

    def power_up(self) -> None:
        """Builds the firmware as a restart does; the relay's pull-down has opened it before."""

        def board(decoder: Any, settings: Any) -> BenchBoard:
            # At once: from here on the flash stalls this board and not the one before the restart.
            self.board = BenchBoard(self.world, decoder)
            return self.board

        start.Board = board  # type: ignore[assignment,misc]
        bench_flash.use(self.flash)
        self.world.heated = False
        self.loop = start.build()
        self.board.loop = self.loop
        self.session = self.loop._session
        self.instrument = self.loop._instrument

    def step(self) -> None:
        """One pass, as main.py runs it: whatever ends it, the relay opens."""
        self.board.host.step(self.board)
        self.world.now_ms += 1  # the pass's own work
        try:
            self.loop.step()
        except WatchdogReset:
            raise
        except BaseException:
            self.board.relay(False)
            raise

    def run_to(self, end_ms: int) -> None:
        bench_flash.use(self.flash)
        while self.world.now_ms < end_ms:
            self.step()
