"""A board without pins: the firmware's own loop with frames from a file and a clock that the caller moves.

What the pins cost is left out, so that what is counted is the firmware's own work. Runs in MicroPython and in CPython.
"""

from panchime_fw.chain import Chain
from panchime_fw.guard_record import GuardRecord
from panchime_fw.instrument import Instrument
from panchime_fw.logbook import Logbook
from panchime_fw.loop import Loop
from panchime_fw.plan_store import PlanStore
from panchime_fw.popper_rest import PopperRest
from panchime_fw.room import Room
from panchime_fw.session import Session
from panchime_fw.settings_store import SettingsStore
from panchime_fw.store import Store
from panchime_fw.uptime import Uptime

FRAME_BYTES = 4
SAMPLE_MS = 250  # the loop's own is folded into its byte code when it is installed
IDLE_MS = 4
BOARD_ID = "E6614103E7A1B2C3"


class BareBoard:
    """Takes what board.py takes. `frames`: one after another; the last one stays. `input`: bytes from the serial port."""

    WRITE_SLICE = 256
    model = "bare board"
    serial = BOARD_ID

    def __init__(self, frames) -> None:
        self._frames = frames
        self._frame = bytearray(FRAME_BYTES)
        self._at = 0
        self._relay = False
        self.now_ms = 1000
        self.down = False
        self.input = b""
        self._input_at = 0
        self.output_bytes = 0

    def ticks_ms(self) -> int:
        return self.now_ms

    def idle(self) -> None:
        pass

    def read_frame(self):
        at = self._at
        for index in range(FRAME_BYTES):
            self._frame[index] = self._frames[at + index]
        if at + FRAME_BYTES < len(self._frames):
            self._at = at + FRAME_BYTES
        return self._frame

    def read_look(self, look):
        frame = self.read_frame()
        for index in range(FRAME_BYTES):
            look[index] = frame[index]
        return frame

    def set_up_amplifier(self) -> None:
        pass

    def relay(self, closed) -> None:
        self._relay = bool(closed)

    def relay_step(self, now_ms: int) -> None:
        pass

    def relay_is_closed(self) -> bool:
        return self._relay

    def tone(self, hz: int) -> None:
        pass

    def led(self, colour: int) -> None:
        pass

    def button_down(self) -> bool:
        return self.down

    def arm_watchdog(self) -> None:
        pass

    def feed_watchdog(self) -> None:
        pass

    def date_time(self) -> tuple:
        return (2026, 11, 25, 12, 0, 0)

    def set_date_time(self, parts) -> None:
        pass

    def flash_bytes(self) -> tuple:
        return (0, 1000000)

    def send(self, line: bytes) -> None:
        """Lays a line into the serial input."""
        self.input = line
        self._input_at = 0

    def serial_readable(self) -> bool:
        return self._input_at < len(self.input)

    def serial_read(self, one_byte) -> bool:
        one_byte[0] = self.input[self._input_at]
        self._input_at += 1
        return True

    def serial_writable(self) -> bool:
        return True

    def serial_write(self, part) -> int:
        self.output_bytes += len(part)
        return len(part)


class Bench:
    """The pieces put together as `start.build` does it, on a board without pins. `folder` takes the place of the flash."""

    def __init__(self, frames, folder: str) -> None:
        self.board = BareBoard(frames)
        settings_store = SettingsStore(Store(folder, "settings"))
        settings = settings_store.load()
        self.chain = Chain(settings, settings_store.is_damaged)
        self.chain.connect(self.board)
        self.uptime = Uptime(self.board.ticks_ms())
        self.log = Logbook(folder + "/log")
        room = Room(self.log)
        room.recover()
        plan_store = PlanStore(Store(folder, "plan"))
        plan = plan_store.load()
        record = GuardRecord(Store(folder, "guard"))
        rest = PopperRest(Store(folder, "rest"), self.board.ticks_ms())
        self.session = Session(self.board.relay, self.board.tone, self.log, self._head, plan, record, rest, room)
        self.session.take_settings(settings)
        self.instrument = Instrument(
            self.board, self.session, self.log, plan_store, 1, self.uptime, self.chain, settings_store, room
        )
        self.loop = Loop(self.board, self.chain, self.session, self.instrument, self.uptime)

    def _head(self, number: int) -> dict:
        return {
            "format": 1, "board": BOARD_ID, "number": number, "boot": 1, "uptime_ms": self.uptime.ms(), "utc": None,
            "amplifier": "MAX31855", "thermocouple": "K", "calibration": None, "sample_ms": SAMPLE_MS,
            "plan": self.session.plan.document,
        }  # fmt: skip

    def sample_pass(self) -> None:
        """One pass in which a sample is due."""
        self.board.now_ms += SAMPLE_MS
        self.loop.step()

    def idle_pass(self) -> None:
        """One pass between two samples. The clock stands still, so that none falls due."""
        self.loop.step()

    def start(self) -> None:
        """Until the amplifier is known, then a roast. Raises AssertionError when it does not start."""
        for _ in range(8):
            self.sample_pass()
        assert self.session.start(self.board.now_ms), self.session.why_not_start(self.board.now_ms)
        assert self.log.recording, self.log.problem
