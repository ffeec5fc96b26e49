"""A Panchime board by its meaning: clock, roasts kept, plan, what happens now."""

import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import TracebackType
from typing import Self

from panchime.errors import BoardRefusal, LinkError
from panchime.link.anchor import Anchor
from panchime.link.answers import number, quoted, split_fields, whole
from panchime.link.scpi_client import Identity, ScpiClient, shortened

PIECE_BYTES = 32768  # of a log, in one answer: most logs whole, for each question costs more than 4 kB do
ANCHOR_ATTEMPTS = 6
CLOCK_ATTEMPTS = 3
# Two questions after each other are answered within this time, on the board's clock too.
LONGEST_BETWEEN_MS = 60_000
CHECK_DIGITS = 8


@dataclass(frozen=True)
class LogFile:
    """One kept roast on the board: its file name and its length."""

    name: str
    bytes: int


@dataclass(frozen=True)
class Catalogue:
    """What the board's flash holds: bytes used and free, and the logs, oldest first."""

    used_bytes: int
    free_bytes: int
    files: tuple[LogFile, ...]


@dataclass(frozen=True)
class Room:
    """Minutes of roast that still fit, how many logs the board knows to be kept here, whether it may drop those by itself."""

    minutes_left: int
    confirmed: int
    may_drop: bool


@dataclass(frozen=True)
class Live:
    """One answer of ``ROASt:LIVE?``; temperatures in degC, None while there is no reading."""

    uptime_ms: int
    stage: str
    roast_ms: int
    temperature_c: float | None
    cold_junction_c: float | None
    rate_of_rise_c_per_min: float | None
    relay_closed: bool
    fault: int
    trip: int
    last_event: int
    roast_number: int


@dataclass(frozen=True)
class LiveEvent:
    """One event of the roast that runs: its number, when, its kind and its words."""

    number: int
    roast_ms: int
    what: str
    words: str


@dataclass(frozen=True)
class LiveMark:
    """A mark of the roast that runs: its name, when, and a number of ``panchime_fw.events.SOURCE_NAMES``."""

    name: str
    roast_ms: int
    source: int


def utc_now() -> datetime:
    """The computer's clock, in UTC."""
    return datetime.now(UTC)


class Board:
    """A connected board. Every method raises LinkError or BoardRefusal as the client does."""

    def __init__(self, client: ScpiClient, identity: Identity, now: Callable[[], datetime] = utc_now) -> None:
        self.client = client
        self.identity = identity
        self._now = now

    @classmethod
    def connect(cls, url: str, now: Callable[[], datetime] = utc_now) -> Self:
        """Opens the port and finds out who is there. The port is closed again when that fails."""
        client = ScpiClient.open(url)
        try:
            return cls(client, client.synchronise(), now)
        except BaseException:
            client.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.client.close()

    def set_clock(self) -> None:
        """Sets the board's clock to this computer's, in UTC, to the nearest second (that is all the clock takes).

        Raises LinkError when it does not arrive: a wrong clock would date roasts wrongly.
        """
        for _ in range(CLOCK_ATTEMPTS):
            moment = self._now() + timedelta(milliseconds=500)
            date = f"{moment.year},{moment.month},{moment.day}"
            time = f"{moment.hour},{moment.minute},{moment.second}"
            # In one line: midnight cannot come between date and time, and the answer shows what arrived.
            try:
                told = self.client.query(f"SYSTem:DATE {date};TIME {time};DATE?;TIME?")
            except (LinkError, BoardRefusal):
                self.client.recover()
                continue
            if told == f"{date};{time}":
                return
        raise LinkError("the board's clock does not take what it is set to: check the cable and try again")

    def anchor(self) -> Anchor:
        """The board's boot and uptime beside this computer's clock, taken in the middle of question and answer.

        The date of every roast hangs on it, and the answer has no checksum: it is believed when the next one agrees.
        """
        first: Anchor | None = None
        for _ in range(ANCHOR_ATTEMPTS):
            try:
                second = self._uptime()
            except (LinkError, BoardRefusal):
                self.client.recover()
                continue
            if first and first.boot == second.boot and 0 <= second.uptime_ms - first.uptime_ms <= LONGEST_BETWEEN_MS:
                return second
            first = second
        raise LinkError("the board tells another uptime each time it is asked: check the cable and try again")

    def _uptime(self) -> Anchor:
        before = self._now()
        fields = split_fields(self.client.query("SYSTem:UPTime?"))
        middle = before + (self._now() - before) / 2
        if len(fields) < 2:
            raise LinkError(f"the board's answer to SYSTem:UPTime? is {fields!r}: boot and uptime belong there")
        return Anchor(
            whole(fields[0], "SYSTem:UPTime?"),
            whole(fields[1], "SYSTem:UPTime?"),
            round(middle.timestamp() * 1000),
        )

    def catalogue(self) -> Catalogue:
        """The roasts the board keeps."""
        question = "MMEMory:CATalog?"
        fields = split_fields(self.client.query(question))
        if len(fields) < 2:
            raise LinkError(f"the board's answer to {question} is {fields!r}: used and free bytes belong there")
        files = []
        for entry in fields[2:]:
            name, _, rest = entry.partition(",")
            files.append(LogFile(name, whole(rest.rpartition(",")[2], question)))
        return Catalogue(whole(fields[0], question), whole(fields[1], question), tuple(files))

    def read_log(self, name: str, offset: int, length: int) -> bytes:
        """Up to ``length`` bytes of a log from ``offset`` on; fewer at the log's end."""
        piece = self.client.query_block(f"MMEMory:DATA? {quoted(name)},{offset},{length}")
        if len(piece) > length:
            raise LinkError(f"the board sent {len(piece)} bytes of {name} where {length} were asked for")
        return piece

    def log_checksum(self, name: str) -> tuple[int, int]:
        """How many bytes a log has now, and the CRC-32 of all of them, both from the board's own flash."""
        question = f"MMEMory:CHECksum? {quoted(name)}"
        fields = split_fields(self.client.query(question))
        if len(fields) != 2 or not re.fullmatch("[0-9A-F]{8}", fields[1]):
            raise LinkError(f"the board's answer to {question} is {fields!r}: bytes and a CRC-32 belong there")
        return whole(fields[0], question), int(fields[1], 16)

    def confirm_log(self, name: str, raw: bytes) -> None:
        """Tells the board that ``raw`` is kept here; it compares length and CRC-32 with its own. Only for a log with an end."""
        self.client.command(f"MMEMory:CONFirm {quoted(name)},{proof(raw)}")

    def confirmed_logs(self) -> tuple[str, ...]:
        """The names of the logs that were confirmed."""
        answer = self.client.query("MMEMory:CATalog:CONFirmed?")
        return tuple(split_fields(answer)) if answer else ()

    def delete_log(self, name: str, raw: bytes) -> None:
        """Deletes one log from the board, which first compares its length and CRC-32 with those of ``raw``."""
        self.client.command(f"MMEMory:DELete {quoted(name)},{proof(raw)}")

    def room(self) -> Room:
        """How much roasting still fits on the board."""
        question = "MMEMory:ROOM?"
        fields = split_fields(self.client.query(question))
        if len(fields) < 3:
            raise LinkError(f"the board's answer to {question} is {fields!r}: three numbers belong there")
        return Room(whole(fields[0], question), whole(fields[1], question), whole(fields[2], question) != 0)

    def let_drop(self, allowed: bool) -> None:
        """Whether the board may drop the oldest confirmed roasts by itself when its flash is full."""
        self.client.command(f"MMEMory:ROOM:DROP {'ON' if allowed else 'OFF'}")

    def live(self) -> Live:
        """What happens on the board at this moment."""
        question = "ROASt:LIVE?"
        fields = split_fields(self.client.query(question))
        if len(fields) < 11:
            raise LinkError(f"the board's answer to {question} has {len(fields)} fields, 11 belong there")
        return Live(
            uptime_ms=whole(fields[0], question),
            stage=fields[1],
            roast_ms=whole(fields[2], question),
            temperature_c=number(fields[3], question),
            cold_junction_c=number(fields[4], question),
            rate_of_rise_c_per_min=number(fields[5], question),
            relay_closed=whole(fields[6], question) != 0,
            fault=whole(fields[7], question),
            trip=whole(fields[8], question),
            last_event=whole(fields[9], question),
            roast_number=whole(fields[10], question),
        )

    def events(self, after: int) -> list[LiveEvent]:
        """The events after that number, a few a call; empty when there is nothing newer."""
        question = f"ROASt:EVENts? {after}"
        fields = split_fields(self.client.query(question))
        if fields == [""]:
            return []
        if len(fields) % 4:
            raise LinkError(f"the board's answer to {question} has {len(fields)} fields: four an event belong there")
        return [
            LiveEvent(whole(fields[i], question), whole(fields[i + 1], question), fields[i + 2], spelled_out(fields[i + 3]))
            for i in range(0, len(fields), 4)
        ]

    def roast_runs(self) -> bool:
        """Whether a roast is going on."""
        answer = self.client.query("PROGram:STATe?")
        if answer not in ("RUN", "STOP"):
            raise LinkError(f"the board's answer to PROGram:STATe? is {answer!r}: RUN or STOP belongs there")
        return answer == "RUN"

    def marks(self) -> list[LiveMark]:
        """The marks made so far in the roast that runs, or ran last."""
        question = "MARK:CATalog?"
        fields = split_fields(self.client.query(question))
        if fields == [""]:
            return []
        if len(fields) % 3:
            raise LinkError(f"the board's answer to {question} has {len(fields)} fields: three a mark belong there")
        return [
            LiveMark(spelled_out(fields[i]), whole(fields[i + 1], question), whole(fields[i + 2], question))
            for i in range(0, len(fields), 3)
        ]

    def trip_words(self) -> str:
        """Why the relay was cut off, in the board's words."""
        return split_fields(self.client.query("OUTPut:PROTection:REASon?"))[-1]

    def plan_json(self) -> bytes:
        """The plan on the board as the JSON it was sent as. Raises LinkError when its checksum does not fit."""
        block = self.client.query_block("PROGram:DEFine?")
        check, plan = block[:CHECK_DIGITS], block[CHECK_DIGITS:]
        if check.upper() != checksum(plan):
            raise LinkError(
                f"the plan on the board came with the checksum {shortened(repr(check))}, "
                f"its text has {checksum(plan).decode()}: read it again"
            )
        return plan

    def define_plan(self, plan: bytes) -> None:
        """Sends a plan (JSON in ASCII), reads it back and compares it byte for byte.

        Raises BoardRefusal with the board's words when it does not take it, LinkError when what it kept is
        something else.
        """
        self.client.block_command("PROGram:DEFine", checksum(plan) + plan)
        if self.plan_json() != plan:
            raise LinkError("the board gives back another plan than the one that was sent: send it again")


def spelled_out(words: str) -> str:
    r"""Words of the board with the letters beyond ASCII put back that it sends as ``\uXXXX``."""
    return re.sub(r"\\u([0-9a-f]{4})", lambda found: chr(int(found[1], 16)), words)


def proof(raw: bytes) -> str:
    """The parameters by which the board knows a log again: its length and its CRC-32."""
    return f'{len(raw)},"{zlib.crc32(raw):08X}"'


def checksum(plan: bytes) -> bytes:
    """The eight hexadecimal digits a plan travels with: its CRC-32."""
    return b"%08X" % zlib.crc32(plan)
