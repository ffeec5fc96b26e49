"""The SCPI client: one message a line, answers a line or a definite-length block, nothing of the board's meaning."""

import time
from dataclasses import dataclass
from types import TracebackType
from typing import TYPE_CHECKING, Self

from panchime.errors import BoardRefusal, LinkError
from panchime.link.answers import split_fields, whole
from panchime.link.opening import open_port

if TYPE_CHECKING:
    import serial

ANSWER_TIMEOUT_S = 3.0  # a flash erase may hold the board for 0.4 s; the rest is patience
QUIET_S = 0.1  # silence after which the line counts as drained
DRAIN_LIMIT_S = 2.0
LONGEST_LINE = 64 * 1024
SOCKET_BYTES = 64 * 1024
LONGEST_BLOCK = 4 * 1024 * 1024  # the flash of a Pico is 2 MB: a longer block is a broken length
LONGEST_MESSAGE = 5120  # what the board gathers of one message: so many line ends finish any block
MAKER = "Panchime"
ERRORS_READ_AT_MOST = 64
IDENTITY_ATTEMPTS = 5

PROMPT = b">>>"
TRACEBACK = b"Traceback"
PROMPT_ADVICE = (
    "this board has MicroPython, but Panchime does not run on it (main.py is not running), so nothing guards a roast. "
    "A new board: 'panchime install' puts Panchime on it. One that had it: unplug it, plug it in again; if that does not help, "
    "'panchime install' mends it, and plans and roasts stay"
)


class AtPrompt(LinkError):
    """A board is there, but MicroPython's prompt answers instead of the firmware."""


class Silence(LinkError):
    """No answer came in time."""


@dataclass(frozen=True)
class Identity:
    """What ``*IDN?`` answers: the board's model, its serial number and its firmware's version."""

    model: str
    serial: str
    firmware: str


class ScpiClient:
    """A conversation with one board over one open port. Raises LinkError whenever the line lets it down."""

    def __init__(self, port: "serial.Serial", url: str, answer_timeout_s: float = ANSWER_TIMEOUT_S) -> None:
        self.url = url
        self._port = port
        self._timeout_s = answer_timeout_s
        self._received = bytearray()
        self._is_socket = url.startswith("socket://")

    @classmethod
    def open(cls, url: str, answer_timeout_s: float = ANSWER_TIMEOUT_S) -> Self:
        """Opens the port and nothing else: ``synchronise`` is the first word to say."""
        return cls(open_port(url), url, answer_timeout_s)

    def close(self) -> None:
        """Closes the port; a port that is already gone is no error."""
        try:
            self._port.close()
        except OSError:
            return

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def synchronise(self, gently: bool = False) -> Identity:
        """Ends whatever half message or half answer is on the line, and asks the board who it is.

        Old entries of the error queue are read away: they belong to an earlier conversation. ``gently`` spares
        a port that may belong to something else the many line ends that free a board from a block that was
        never finished. Raises LinkError when nothing answers, or something that is no Panchime.
        """
        self._send(b"\n")
        self._drain()
        try:
            answer = self._ask("*IDN?")
        except Silence:
            self._raise_if_prompt()
            if gently:
                raise
            self._send(b"\n" * LONGEST_MESSAGE)
            self._drain()
            answer = self._ask("*IDN?")
        if not answer.startswith(MAKER + ","):
            self._drain()
            self._raise_if_prompt()
            raise LinkError(
                f"{self.url} answers *IDN? with {shortened(answer)!r}: that is no Panchime board. If it is one, check its "
                "cable and try again"
            )
        answer = self._told_twice("*IDN?", answer)
        fields = split_fields(answer)
        if len(fields) != 4:
            raise LinkError(f"{self.url}: the identity {answer!r} does not have the four fields of *IDN?: try again")
        for _ in range(ERRORS_READ_AT_MOST):
            if self._next_error()[0] == 0:
                break
        return Identity(model=fields[1], serial=fields[2], firmware=fields[3])

    def query(self, message: str) -> str:
        """Sends a query and returns its one line of answer, without the line end.

        A board does not answer a query it cannot carry out: after a silence its error queue is asked, and
        BoardRefusal raised with its words. Raises Silence when that tells nothing, LinkError when what
        comes is no text.
        """
        try:
            return self._ask(message)
        except Silence as silence:
            self._raise_refusals_after(silence, message)
            raise

    def command(self, message: str) -> None:
        """Sends a command and asks the error queue what the board thinks of it.

        Raises BoardRefusal with its own words.
        """
        self._send(message.encode("ascii") + b"\n")
        self._raise_refusals(message)

    def block_command(self, header: str, payload: bytes) -> None:
        """Sends a command whose argument is a definite-length block: printable ASCII, no control characters.

        Raises BoardRefusal as ``command`` does, ValueError for a payload that the link cannot carry (a 0x03
        would stop the board).
        """
        if not payload.isascii() or not payload.decode("ascii").isprintable():
            raise ValueError("towards the board a block is printable ASCII")
        self._send(header.encode("ascii") + b" " + block_head(len(payload)) + payload + b"\n")
        self._raise_refusals(header)

    def query_block(self, message: str) -> bytes:
        """Sends a query whose answer is a definite-length block, and returns the block's bytes, exactly.

        When the board answers with a line or not at all, its error queue is asked and BoardRefusal raised with
        its words; LinkError when the block is broken or stops in the middle.
        """
        self._received.clear()
        self._send(message.encode("ascii") + b"\n")
        deadline = time.monotonic() + self._timeout_s
        try:
            first = self._exactly(1, deadline, message)
        except Silence as silence:
            self._raise_refusals_after(silence, message)
            raise
        if first != b"#":
            self._drain()
            self._raise_refusals(message)
            raise LinkError(f"{self.url}: the answer to {message} is no block: it begins with {first!r}")
        digits = self._exactly(1, deadline, message)
        if digits not in b"123456789":
            raise LinkError(f"{self.url}: the block that answers {message} has a length of {digits!r} digits, 1 to 9 are legal")
        length_text = self._exactly(int(digits), deadline, message)
        if not length_text.isdigit():
            raise LinkError(f"{self.url}: the block that answers {message} has the length {length_text!r}, which is no number")
        length = int(length_text)
        if length > LONGEST_BLOCK:
            raise LinkError(f"{self.url}: the block that answers {message} claims {length} bytes, more than a board can hold")
        payload = self._exactly(length, None, message)
        end = self._exactly(1, time.monotonic() + self._timeout_s, message)
        if end == b"\r":
            end = self._exactly(1, time.monotonic() + self._timeout_s, message)
        if end != b"\n":
            raise LinkError(f"{self.url}: the block that answers {message} is not followed by a line end but by {end!r}")
        return payload

    def recover(self) -> None:
        """After a broken answer: ends the message in the making and throws away what is still on the line."""
        self._send(b"\n")
        self._drain()

    def _ask(self, message: str) -> str:
        self._received.clear()  # what is left of an earlier answer belongs to no question that is still open
        self._send(message.encode("ascii") + b"\n")
        return self._line(message)

    def _told_twice(self, question: str, answer: str) -> str:
        """The answer that comes twice in a row: a line has no checksum, and this one says whose roasts are pulled."""
        for _ in range(IDENTITY_ATTEMPTS):
            again = self._ask(question)
            if again == answer:
                return answer
            answer = again
        raise LinkError(f"{self.url} answers {question} differently each time: check the cable and try again")

    def _raise_refusals(self, message: str) -> None:
        first: tuple[int, str] | None = None
        for _ in range(ERRORS_READ_AT_MOST):
            error = self._next_error()
            if error[0] == 0:
                break
            first = first or error
        if first is not None:
            number, words = first
            raise BoardRefusal(f"the board refuses {shortened(message)}: {words} ({number})", number, words)

    def _raise_refusals_after(self, silence: Silence, message: str) -> None:
        """As `_raise_refusals`, when no answer came: it may still come, late, and is then no error queue's."""
        try:
            self._raise_refusals(message)
        except (BoardRefusal, AtPrompt):
            raise
        except LinkError:
            self.recover()
            raise silence from None

    def _next_error(self) -> tuple[int, str]:
        question = "SYSTem:ERRor?"
        fields = split_fields(self._ask(question))
        if len(fields) < 2:
            raise LinkError(f"{self.url}: the answer to {question} is {fields!r}, a number and words belong there")
        return whole(fields[0], question), fields[1]

    def _send(self, data: bytes) -> None:
        from serial import SerialTimeoutException

        try:
            self._port.write(data)
            self._port.flush()
        except SerialTimeoutException as error:
            raise LinkError(
                f"{self.url}: the board takes no more characters. Unplug it, plug it in again and try once more"
            ) from error
        except OSError as error:
            raise self._gone(error) from error

    def _receive(self) -> bool:
        """Takes in what the port has, waiting a short moment for it. True when something came."""
        try:
            data = self._port.read(max(1, self._port.in_waiting))
            if data and self._is_socket:
                data += self._what_waits()
        except (OSError, TypeError) as error:
            # pyserial raises TypeError when its file descriptor is closed under it
            raise self._gone(error) from error
        self._received += data
        return bool(data)

    def _what_waits(self) -> bytes:
        """All that is there without waiting: of a socket pyserial tells that something waits, not how much."""
        kept_s = self._port.timeout
        self._port.timeout = 0
        try:
            return bytes(self._port.read(SOCKET_BYTES))
        finally:
            self._port.timeout = kept_s

    def _line(self, message: str) -> str:
        deadline = time.monotonic() + self._timeout_s
        while (end := self._received.find(b"\n")) < 0:
            if len(self._received) > LONGEST_LINE:
                self._received.clear()
                raise LinkError(f"{self.url}: the answer to {message} does not end within {LONGEST_LINE} characters")
            if not self._receive() and time.monotonic() >= deadline:
                raise self._silence(message)
        raw = bytes(self._received[:end]).rstrip(b"\r")
        del self._received[: end + 1]
        if PROMPT in raw or raw.startswith(TRACEBACK):
            self._drain()
            raise AtPrompt(f"{self.url}: {PROMPT_ADVICE}")
        try:
            return raw.decode("ascii")
        except UnicodeDecodeError:
            self._drain()
            raise LinkError(f"{self.url}: the answer to {message} is no text: {raw[:40]!r}. Try again") from None

    def _exactly(self, count: int, deadline: float | None, message: str) -> bytes:
        """The next ``count`` bytes.

        Without a deadline each piece has the whole time-out: a long block may take long.
        """
        while len(self._received) < count:
            started = time.monotonic()
            if self._receive():
                continue
            until = deadline if deadline is not None else started + self._timeout_s
            while not self._receive():
                if time.monotonic() >= until:
                    raise self._silence(message)
        data = bytes(self._received[:count])
        del self._received[:count]
        return data

    def _silence(self, message: str) -> LinkError:
        pending = bytes(self._received)
        self._received.clear()
        if PROMPT in pending or TRACEBACK in pending:
            return AtPrompt(f"{self.url}: {PROMPT_ADVICE}")
        so_far = f"; {len(pending)} bytes of the answer came" if pending else ""
        return Silence(
            f"{self.url} did not answer {shortened(message)} within {self._timeout_s:g} s{so_far}. "
            "Is it a Panchime board, and is its firmware running? Unplug it, plug it in again and try once more"
        )

    def _drain(self) -> None:
        limit = time.monotonic() + DRAIN_LIMIT_S
        quiet_since = time.monotonic()
        while time.monotonic() - quiet_since < QUIET_S and time.monotonic() < limit:
            if self._receive():
                quiet_since = time.monotonic()
            self._received.clear()

    def _gone(self, error: Exception) -> LinkError:
        return LinkError(f"{self.url} has gone ({error}). Is the cable loose? Plug the board in and try again")

    def _raise_if_prompt(self) -> None:
        """Raises LinkError when a MicroPython prompt is what answers: an empty line makes it show itself."""
        self._send(b"\r\n")
        deadline = time.monotonic() + self._timeout_s
        while PROMPT not in self._received and (self._receive() or time.monotonic() < deadline):
            continue
        prompted = PROMPT in self._received
        self._received.clear()
        if prompted:
            raise AtPrompt(f"{self.url}: {PROMPT_ADVICE}")


def block_head(length: int) -> bytes:
    """The head of a definite-length block (IEEE 488.2, 7.7.6): ``#``, how many digits, the length."""
    digits = str(length)
    return f"#{len(digits)}{digits}".encode("ascii")


def shortened(message: str) -> str:
    """A message as an error names it: one line, its head and no more."""
    return message if len(message) <= 60 else message[:57] + "..."
