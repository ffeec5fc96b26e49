"""The board as an instrument on its serial port: takes bytes, answers messages, in bounded slices.

`step()` does at most one slice: some bytes read, or one message carried out, or one piece written. Nothing is read while an
answer still waits to be sent, so that a host which does not read can fill nothing.
"""

from . import faults
from .file_sum import FileSum
from .plan_store import pack
from .scpi import commands, errors, message
from .scpi.errors import ScpiError
from .scpi.receiver import MESSAGE, OVERRUN, Receiver
from .scpi.status import OPERATION_MEASURING, OPERATION_PROGRAM_RUNNING, QUESTIONABLE_TEMPERATURE, Status
from .settings_store import SettingsError
from .ticks import ticks_diff

READ_SLICE = 64
PIECE = 1024
# An answer is gathered whole before it is sent; a list of hundreds of roasts still fits.
ANSWER_LIMIT = 16384
# A write that took this long met a host that holds the port and does not read; the next ones would stall as well.
STALL_MS = 100
AFTER_STALL_MS = 2000

# Less than one long roast fits: better known before the beans are in.
ENOUGH_MINUTES = 30

TEST_PROBE = 1
TEST_PLAN = 2
TEST_LOG = 4
TEST_TRIPPED = 8
TEST_AMPLIFIER = 16
TEST_SETTINGS = 32
_CHIP_FAULTS = (faults.AMPLIFIER_ABSENT, faults.WRONG_CHIP, faults.AMPLIFIER_RESET)
_TEST_WORDS = (
    (TEST_PROBE, "probe"),
    (TEST_PLAN, "plan"),
    (TEST_LOG, "log"),
    (TEST_TRIPPED, "tripped"),
)


class _FileStream:
    def __init__(self, name: str, offset: int, length: int) -> None:
        self.name = name
        self.offset = offset
        self.left = length


class Instrument:
    def __init__(self, board, session, log, plan_store, boot: int, uptime, chain, settings_store, room) -> None:
        self._board = board
        self._plan_store = plan_store
        self._uptime = uptime
        self.session = session
        self.log = log
        self.boot = boot
        self.chain = chain
        self.settings_store = settings_store
        self.room = room
        self._told_verdict = faults.NONE
        self.clock_set = False
        self.status = Status()
        self.table = commands.TABLE
        self._receiver = Receiver()
        self._answer: "bytearray | memoryview" = bytearray()
        self._sent = 0
        self._stalled = False
        self._stalled_ms = 0
        self._stream: _FileStream | None = None
        self._sum: FileSum | None = None
        self._piece = bytearray(PIECE)
        self._read = bytearray(1)
        if settings_store.is_damaged:
            self.status.add_error(errors.CONFIGURATION_LOST, self.settings_words())
        if plan_store.complaint:
            self.status.add_error(errors.PROGRAM_SYNTAX, "the kept plan is not used: " + plan_store.complaint)

    @property
    def busy(self) -> bool:
        return self._sent < len(self._answer) or self._stream is not None or self._sum is not None

    def step(self) -> bool:
        """One slice of serial work; True when there was something to do."""
        if self._sum is not None:
            self._add_slice(self._sum)
            return True
        if self.busy:
            return self._send_slice()
        return self._read_slice()

    def _read_slice(self) -> bool:
        count = 0
        while count < READ_SLICE and self._board.serial_readable():
            if not self._board.serial_read(self._read):
                break
            count += 1
            told = self._receiver.feed(self._read[0])
            if told == OVERRUN:
                self.status.add_error(errors.INPUT_OVERRUN, "the line was thrown away")
            elif told == MESSAGE:
                self._carry_out(self._receiver)
                return True
        return count > 0

    def _send_slice(self) -> bool:
        now_ms = self._board.ticks_ms()
        if self._stalled:
            if ticks_diff(now_ms, self._stalled_ms) < AFTER_STALL_MS:
                return False
            self._stalled = False
        if not self._board.serial_writable():
            return False
        if self._sent == len(self._answer) and self._stream is not None:
            self._refill(self._stream)
        end = min(self._sent + self._board.WRITE_SLICE, len(self._answer))
        self._sent += self._board.serial_write(memoryview(self._answer)[self._sent : end])
        done_ms = self._board.ticks_ms()
        if ticks_diff(done_ms, now_ms) >= STALL_MS:
            self._stalled = True
            self._stalled_ms = done_ms
        if self._sent == len(self._answer) and self._stream is None:
            self._answer = bytearray()
            self._sent = 0
        return True

    def _refill(self, stream: _FileStream) -> None:
        """The next piece of a file that is being sent, or the end of its line."""
        if stream.left == 0:
            self._stream = None
            self._answer = bytearray(b"\n")
        else:
            wanted = memoryview(self._piece)[: min(PIECE, stream.left)]
            count = self.log.read_into(stream.name, stream.offset, wanted)
            if count <= 0:
                # The block's length was promised, so its bytes must come; the checksums in the log tell that they are none.
                self.status.add_error(errors.MASS_STORAGE, stream.name)
                count = len(wanted)
                for index in range(count):
                    wanted[index] = 0
            stream.offset += count
            stream.left -= count
            self._answer = wanted[:count]
        self._sent = 0

    def _carry_out(self, receiver: Receiver) -> None:
        answers: list = []
        self._guarded(self._carry_out_units, receiver, answers)
        if self._sum is not None:
            self._sum.before = answers
        else:
            self._begin_answer(answers)

    def _carry_out_units(self, receiver: Receiver, answers: list) -> None:
        path: list = []
        for header, parameters in message.units(receiver.take()):
            answer = self._carry_out_unit(header, parameters, path)
            if answer is not None:
                answers.append(answer)

    def _add_slice(self, file_sum: FileSum) -> None:
        """One slice of a sum over a file; after the last one its answer is sent."""
        self._sum = None
        self._guarded(self._step_sum, file_sum, file_sum.before)
        if self._sum is None:
            self._begin_answer(file_sum.before)

    def _step_sum(self, file_sum: FileSum, answers: list) -> None:
        if file_sum.step():
            self._sum = file_sum
            return
        answer = file_sum.answer()
        if answer is not None:
            answers.append(answer.encode())

    def _guarded(self, work, first, second) -> None:
        """Does some work of a command; whatever it raises goes into the error queue."""
        try:
            work(first, second)
        except ScpiError as error:
            self.status.add_error(error.number, error.detail)
        except MemoryError:
            self.status.add_error(errors.OUT_OF_MEMORY)
        except OSError as error:
            self.status.add_error(errors.MASS_STORAGE, str(error))
        except Exception as error:  # a mistake of ours in a command must end neither the roast nor the watch over it
            self.status.add_error(errors.SYSTEM, type(error).__name__ + " " + str(error))

    def _begin_answer(self, answers: list) -> None:
        if answers:
            line = b";".join(answers)
            if len(line) > ANSWER_LIMIT:
                self.status.add_error(errors.OUT_OF_MEMORY, "the answer is too long; ask for less at once")
                self._stream = None
                return
            self._answer = bytearray(line if self._stream is not None else line + b"\n")
            self._sent = 0

    def _carry_out_unit(self, header: str, parameters, path: list):
        is_query = header.endswith("?")
        name = header[:-1] if is_query else header
        if name.startswith("*"):
            words = [name]
        else:
            # SCPI-1999 volume 1, 6.2.4: a header after ";" goes on where the one before stood, unless it begins with ":".
            if name.startswith(":"):
                path.clear()
                name = name[1:]
            words = path + name.split(":")
            path[:] = words[:-1]
        if "" in words:
            raise ScpiError(errors.SYNTAX, header)
        _, handler, types, _ = commands.find(words, is_query)
        if self._stream is not None or self._sum is not None:
            raise ScpiError(errors.EXECUTION, "what reads a whole log must be the last of a line")
        answer = handler(self, commands.convert(types, parameters))
        return answer.encode() if isinstance(answer, str) else answer

    # What the commands ask of the board.

    def now_ms(self) -> int:
        return self._board.ticks_ms()

    def uptime_ms(self) -> int:
        return self._uptime.ms()

    def identity(self) -> str:
        from . import __version__

        return "Panchime,%s,%s,%s" % (self._board.model, self._board.serial, __version__)

    def date_time(self) -> tuple:
        """(year, month, day, hours, minutes, seconds) in UTC."""
        return self._board.date_time()

    def set_date(self, year: int, month: int, day: int) -> None:
        self._board.set_date_time((year, month, day) + self._board.date_time()[3:6])

    def set_time(self, hour: int, minute: int, second: int) -> None:
        self._board.set_date_time(self._board.date_time()[:3] + (hour, minute, second))
        self.clock_set = True

    def utc(self):
        """The time as ISO 8601 in UTC, or None while nobody has set the clock."""
        if not self.clock_set:
            return None
        return "%04d-%02d-%02dT%02d:%02d:%02dZ" % self._board.date_time()[:6]

    def beep(self, hz: int, duration_ms: int) -> None:
        from .player import MILESTONE

        self.session.player.play(((hz, duration_ms, 0),), MILESTONE, self.now_ms())

    def silence(self) -> None:
        from .player import MILESTONE

        if not self.session.roast.running:
            self.session.player.stop(MILESTONE, self.now_ms())

    def take_plan(self, block: bytes) -> None:
        self.session.set_plan(self._plan_store.take(block))

    def plan_block(self) -> bytes:
        return pack(self._plan_store.text(self.session.plan.document))

    def block(self, content: bytes) -> bytes:
        """A definite-length block (IEEE 488.2 8.7.9)."""
        return block_head(len(content)) + content

    def stream_file(self, name: str, offset: int, length: int) -> bytes:
        if length:
            self._stream = _FileStream(name, offset, length)
        return block_head(length)

    def sum_file(self, name: str, offset: int, length: int, done) -> None:
        """Reads a part of a log in the passes that follow; `done(check)` then gives the answer."""
        self._sum = FileSum(self.log, name, offset, length, done)

    def enter_maintenance(self) -> None:
        self._board.enter_maintenance()

    def flash_bytes(self) -> tuple:
        return self._board.flash_bytes()

    def self_test(self) -> int:
        """Sum of the TEST_ numbers of what failed; 0 when all passed."""
        session = self.session
        result = 0
        if session.sample.fault or not session.sampled:
            result |= TEST_PROBE
        if self._plan_store.complaint and self._plan_store.is_builtin:
            result |= TEST_PLAN
        if session.log_failed or self.log.problem or self.log.minutes_left() < ENOUGH_MINUTES:
            result |= TEST_LOG
        if session.cutoff.reason:
            result |= TEST_TRIPPED
        if self._amplifier_fault():
            result |= TEST_AMPLIFIER
        if self.settings_store.is_damaged:
            result |= TEST_SETTINGS
        return result

    def self_test_words(self, result: int) -> str:
        found = [words for bit, words in _TEST_WORDS if result & bit]
        if result & TEST_AMPLIFIER:
            found.append("%s: %s" % (self.chain.settings.amplifier, faults.NAMES[self._amplifier_fault()]))
        if result & TEST_SETTINGS:
            found.append(self.settings_words())
        return ", ".join(found)

    def change_settings(self, changes) -> None:
        """Takes some settings anew, at once. Raises ScpiError, and then everything is as it was."""
        if self.session.roast.running:
            raise ScpiError(errors.PROGRAM_RUNNING, "stop the roast before changing the settings")
        try:
            settings = self.settings_store.change(changes)
        except SettingsError as error:
            raise ScpiError(error.number, error.words)
        self.chain.take(settings, self.settings_store.is_damaged)
        # At once and not with the next sample: a start in between would close the relay over a chip nobody has seen.
        self.session.probe_trusted = self.chain.trusted
        self.session.take_settings(settings)

    def wiring(self) -> tuple:
        """The board's name and the pins in force, by role."""
        return self._board.name, self._board.pins

    def settings_words(self) -> str:
        return "the kept settings are not used and the relay stays open until they are set: " + self.settings_store.complaint

    def _amplifier_fault(self) -> int:
        """The fault that lies in the chip and not in the probe: what the first frames said, or the newest frame."""
        if self.chain.verdict > faults.NONE:
            return self.chain.verdict
        fault = self.session.sample.fault
        return fault if fault in _CHIP_FAULTS else faults.NONE

    def _tell_verdict(self) -> None:
        verdict = self.chain.verdict
        if verdict == self._told_verdict:
            return
        self._told_verdict = verdict
        if verdict > faults.NONE:
            number = errors.HARDWARE_MISSING if verdict == faults.AMPLIFIER_ABSENT else errors.HARDWARE
            self.status.add_error(
                number, "%s: %s. %s" % (self.chain.settings.amplifier, faults.NAMES[verdict], faults.ADVICE[verdict])
            )

    def refresh_conditions(self) -> None:
        """Brings the condition registers up to date; called once a sample."""
        session = self.session
        self._tell_verdict()
        operation = 0
        if session.roast.running:
            operation = OPERATION_MEASURING | OPERATION_PROGRAM_RUNNING
        self.status.operation.set_condition(operation)
        doubtful = session.sample.fault or session.cutoff.reason or not session.probe_trusted
        self.status.questionable.set_condition(QUESTIONABLE_TEMPERATURE if doubtful else 0)


def block_head(length: int) -> bytes:
    digits = str(length)
    return ("#%d%s" % (len(digits), digits)).encode()
