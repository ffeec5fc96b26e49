"""Status reporting of IEEE 488.2 (chapter 11) and SCPI-1999 (volume 1, chapter 9): error queue and registers."""

from . import errors

QUEUE_LIMIT = 20
# SCPI-1999 21.8.1: an entry is at most 255 characters with its text.
DETAIL_LIMIT = 200

# Standard event status register.
OPERATION_COMPLETE = 1
POWER_ON = 128
# Status byte.
ERROR_AVAILABLE = 4
QUESTIONABLE_SUMMARY = 8
EVENT_SUMMARY = 32
MASTER_SUMMARY = 64
OPERATION_SUMMARY = 128
# STATus:QUEStionable bit 4 is temperature; STATus:OPERation bit 4 measuring, bit 14 program running (SCPI-1999 volume 1).
QUESTIONABLE_TEMPERATURE = 16
OPERATION_MEASURING = 16
OPERATION_PROGRAM_RUNNING = 1 << 14


class Register:
    """Condition, event (latched on a rising condition) and enable."""

    def __init__(self) -> None:
        self.condition = 0
        self.event = 0
        self.enable = 0

    def set_condition(self, value: int) -> None:
        self.event |= value & ~self.condition
        self.condition = value

    def read_event(self) -> int:
        value = self.event
        self.event = 0
        return value


class Status:
    def __init__(self) -> None:
        self._queue: list = []
        self.event_status = POWER_ON
        self.event_enable = 0
        self.service_enable = 0
        self.operation = Register()
        self.questionable = Register()

    def add_error(self, number: int, detail: str = "") -> None:
        """Queues an error; when the queue is full its newest entry becomes -350 (SCPI-1999 21.8.1)."""
        self.event_status |= errors.event_bit(number)
        if len(self._queue) == QUEUE_LIMIT:
            self.event_status |= errors.event_bit(errors.QUEUE_OVERFLOW)
            self._queue[-1] = (errors.QUEUE_OVERFLOW, "")
            return
        # A detail may quote what was sent: an answer stays one line of ASCII all the same.
        self._queue.append((number, "".join(letter if " " <= letter <= "~" else "?" for letter in detail[:DETAIL_LIMIT])))

    def next_error(self) -> str:
        number, detail = self._queue.pop(0) if self._queue else (errors.NO_ERROR, "")
        text = errors.TEXTS.get(number, "Device-specific error")
        if detail:
            text += ";" + detail
        return '%d,"%s"' % (number, text.replace('"', '""'))

    def error_count(self) -> int:
        return len(self._queue)

    def clear(self) -> None:
        """*CLS: the queue and all event registers; enables and conditions stay."""
        self._queue = []
        self.event_status = 0
        self.operation.event = 0
        self.questionable.event = 0

    def preset(self) -> None:
        """STATus:PRESet: nothing of the two SCPI registers is reported (SCPI-1999 20.2)."""
        self.operation.enable = 0
        self.questionable.enable = 0

    def read_event_status(self) -> int:
        value = self.event_status
        self.event_status = 0
        return value

    def status_byte(self) -> int:
        value = 0
        if self._queue:
            value |= ERROR_AVAILABLE
        if self.questionable.event & self.questionable.enable:
            value |= QUESTIONABLE_SUMMARY
        if self.event_status & self.event_enable:
            value |= EVENT_SUMMARY
        if self.operation.event & self.operation.enable:
            value |= OPERATION_SUMMARY
        if value & self.service_enable & ~MASTER_SUMMARY:
            value |= MASTER_SUMMARY
        return value
