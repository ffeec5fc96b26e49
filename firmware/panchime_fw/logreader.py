"""The decoder of the kept log, as docs/log-format.md says. It takes any bytes, never raises, and says what is wrong.

Memory grows with the length of the file only: nothing in a file can ask for more than seventeen samples a byte.
"""

import json
from binascii import crc32

from panchime_fw import events
from panchime_fw.logformat import (
    CHUNK_HEAD_BYTES,
    COLD,
    END,
    END_BYTES,
    ESCAPE,
    EVENT,
    HEAD_LIMIT,
    MAGIC,
    NO_COLD,
    NO_READING,
    NO_TEMPERATURE,
    PAIR,
    PAYLOAD_LIMIT,
    REPEAT_WINDOW,
    RUN,
    SAMPLE_MS,
    SHORTEST_RUN,
    SPAN_MS,
    STEP,
    STEP_LIMIT,
    STEPS,
    TEMPERATURE,
    TEMPERATURE_OFFSET_CENTI,
    TIME,
    TIME_UNIT_MS,
    TIME_WRAP_MS,
    check_fits,
    head_length,
    is_end,
)
from panchime_fw.unpack import unpack

VERSION = 1
SMALLEST_CHUNK_BYTES = 1 + CHUNK_HEAD_BYTES + 3
LONGEST_CHUNK_MS = SPAN_MS + SAMPLE_MS
_HEAD_AT = len(MAGIC)


class Log:
    """What a file holds. Lists of equal length belong together; times are ms since the roast's start.

    `t_ms`, `temperature_centi`, `cold_centi`: the samples, `cold_centi` None where unknown.
    `no_reading`: (t_ms, fault number) of each slot without a reading.
    `events`: (t_ms, kind, a, b, c), kinds and values as in `events`, in the order in which they were written.
    `end`: (t_ms, reason), None when the roast was interrupted or the end is lost.
    `head`: the head as a dict, None when it cannot be read. `version`: the number in the first ten bytes, None if none.
    `chunks`: the offset of every good sample chunk. `problems`: (offset in the file, sentence).
    """

    def __init__(self) -> None:
        self.version: int | None = None
        self.head: dict[str, object] | None = None
        self.sample_ms = SAMPLE_MS
        self.t_ms: list[int] = []
        self.temperature_centi: list[int] = []
        self.cold_centi: list[int | None] = []
        self.no_reading: list[tuple[int, int]] = []
        self.events: list[tuple[int, int, int, int, int]] = []
        self.end: tuple[int, int] | None = None
        self.chunks: list[int] = []
        self.problems: list[tuple[int, str]] = []


def decode(raw: bytes) -> Log:
    """Everything that can be read from a file's bytes. Never raises."""
    log = Log()
    log.version = _version(raw)
    if log.version is None:
        log.problems.append((0, "this does not begin as a Panchime log; trying to read it all the same"))
    at, seed = _read_head(raw, log)
    if seed is None:
        return log
    if log.version is not None and log.version > VERSION:
        words = "this log is of format %d and this reader knows up to %d: only its head is read; update Panchime"
        log.problems.append((0, words % (log.version, VERSION)))
        return log
    _read_chunks(raw, at, seed, log)
    return log


def _version(raw: bytes) -> int | None:
    if len(raw) < _HEAD_AT or raw[: _HEAD_AT - 2] != MAGIC[:-2] or raw[_HEAD_AT - 1] != MAGIC[-1]:
        return None
    digit = raw[_HEAD_AT - 2] - 0x30
    return digit if 1 <= digit <= 9 else None


def _head_payload_end(raw: bytes) -> int | None:
    length = head_length(raw)
    return length - 4 if 0 < length <= len(raw) else None


def _read_head(raw: bytes, log: Log) -> tuple[int, int | None]:
    """(where the chunks begin, the seed of their checks or None when it cannot be known)."""
    begin = _HEAD_AT + 3
    end = _head_payload_end(raw)
    if end is not None:
        seed = crc32(raw[begin:end])
        if seed == int.from_bytes(raw[end : end + 4], "big"):
            _take_head(raw, begin, end, log)
            return end + 4, seed
        if _good_chunk(raw, end + 4, seed):
            log.problems.append((end, "the check of the head is damaged; the chunks after it prove the head right"))
            _take_head(raw, begin, end, log)
            return end + 4, seed
    # The check that stands after the head is the seed of all others: the place where it fits what follows is the place.
    for at in range(min(_HEAD_AT, len(raw)), len(raw) - 4):
        seed = int.from_bytes(raw[at : at + 4], "big")
        if _good_chunk(raw, at + 4, seed) and _is_seed(raw, at + 4, seed):
            if crc32(raw[begin:at]) == seed:
                log.problems.append((_HEAD_AT, "the length of the head is damaged; its check proves the rest right"))
                _take_head(raw, begin, at, log)
            else:
                log.problems.append((_HEAD_AT, "the head is damaged: board, plan and date of this roast are lost"))
            return at + 4, seed
    words = "the head is torn off or damaged, and without it nothing after it can be checked"
    log.problems.append((min(_HEAD_AT, len(raw)), words))
    return len(raw), None


def _take_head(raw: bytes, begin: int, end: int, log: Log) -> None:
    try:
        head = json.loads(unpack(raw[begin:end], HEAD_LIMIT).decode())
    except (ValueError, RuntimeError) as error:  # RuntimeError: nested too deep for the interpreter
        log.problems.append((begin, "the head is whole but is not packed JSON: %s" % error))
        return
    if not isinstance(head, dict):
        log.problems.append((begin, "the head is JSON but not an object"))
        return
    log.head = head
    sample_ms = head.get("sample_ms", SAMPLE_MS)
    if isinstance(sample_ms, int) and 1 <= sample_ms <= 60000:
        log.sample_ms = int(sample_ms)
    else:
        log.problems.append((begin, "the head's sample_ms is not 1 to 60000: %d ms are assumed" % SAMPLE_MS))


def _good_chunk(raw: bytes, at: int, seed: int) -> bool:
    return _samples_at(raw, at, seed) or is_end(raw, at, seed)


def _is_followed(raw: bytes, at: int, seed: int) -> bool:
    """True when the good chunk at `at` ends with the file, or where another good chunk begins."""
    end = at + END_BYTES if is_end(raw, at, seed) else at + 1 + raw[at] + 3
    return end == len(raw) or _good_chunk(raw, end, seed)


def _is_seed(raw: bytes, at: int, seed: int) -> bool:
    """True when the seed that fits the chunk at `at` is no chance: that chunk is followed, or it fits another one later."""
    return _is_followed(raw, at, seed) or any(_good_chunk(raw, later, seed) for later in range(at + 1, len(raw)))


def _goes_on(raw: bytes, at: int, seed: int, last_ms: int, skipped: int) -> bool:
    """True when the log goes on at `at` after `skipped` damaged bytes.

    So many places are tried that 24 bits fit somewhere by chance. A chunk found this way must be followed by another, or
    all its tokens must be known and its time must be one that the skipped bytes can explain.
    """
    if not _good_chunk(raw, at, seed):
        return False
    if is_end(raw, at, seed) or _is_followed(raw, at, seed):
        return True
    trial = Log()
    _Chunk(raw, at + 1, at + 1 + raw[at], last_ms, trial).read()
    times = trial.t_ms + [t_ms for t_ms, _ in trial.no_reading] + [event[0] for event in trial.events]
    most_ms = LONGEST_CHUNK_MS * (2 + skipped // SMALLEST_CHUNK_BYTES)
    return not trial.problems and bool(times) and last_ms <= min(times) <= last_ms + most_ms


def _samples_at(raw: bytes, at: int, seed: int) -> bool:
    if at >= len(raw) or not CHUNK_HEAD_BYTES <= raw[at] <= PAYLOAD_LIMIT:
        return False
    return check_fits(raw, at, at + 1 + raw[at], seed)


def _unknown_chunk_end(raw: bytes, at: int, seed: int) -> int:
    """The end of a good chunk of a kind that version 1 does not use; 0 when there is none at this place."""
    if at + 3 > len(raw) or raw[at] <= END:
        return 0
    end = at + 3 + (raw[at + 1] << 8 | raw[at + 2])
    return end + 3 if check_fits(raw, at, end, seed) else 0


def _read_chunks(raw: bytes, at: int, seed: int, log: Log) -> None:
    last_ms = 0
    recent: list[bytes] = []
    while at < len(raw):
        if _samples_at(raw, at, seed):
            end = at + 1 + raw[at]
            chunk = bytes(raw[at : end + 3])
            if chunk in recent:
                log.problems.append((at, "a chunk that was written twice is left out"))
            else:
                log.chunks.append(at)
                last_ms = _Chunk(raw, at + 1, end, last_ms, log).read()
                recent = recent[1 - REPEAT_WINDOW :] + [chunk]
            at = end + 3
        elif is_end(raw, at, seed):
            _read_end(raw, at, last_ms, log)
            at += END_BYTES
            if at < len(raw):
                log.problems.append((at, "%d bytes after the end of the roast are ignored" % (len(raw) - at)))
            return
        elif _unknown_chunk_end(raw, at, seed):
            log.problems.append((at, "a chunk of the unknown kind 0x%02X is skipped" % raw[at]))
            at = _unknown_chunk_end(raw, at, seed)
        else:
            next_at = at + 1
            while next_at < len(raw) and not _goes_on(raw, next_at, seed, last_ms, next_at - at):
                next_at += 1
            words = "%d damaged bytes are skipped" if next_at < len(raw) else "the last %d bytes are torn or damaged"
            log.problems.append((at, words % (next_at - at)))
            at = next_at


def _read_end(raw: bytes, at: int, last_ms: int, log: Log) -> None:
    t_ms = _near(int.from_bytes(raw[at + 4 : at + 7], "big"), last_ms)
    log.end = (t_ms, raw[at + 3])
    if crc32(raw[:at]) != int.from_bytes(raw[at + 7 : at + 11], "big"):
        log.problems.append((at, "the check over the whole file does not fit: something before this place is damaged"))


def _near(low_ms: int, reference_ms: int, wrap_ms: int = 1 << 24) -> int:
    """The time nearest to `reference_ms`, and not negative, that is `low_ms` but for whole turns of `wrap_ms`."""
    t_ms = low_ms + (reference_ms - low_ms + wrap_ms // 2) // wrap_ms * wrap_ms
    return t_ms if t_ms >= 0 else low_ms


def _signed(value: int, bits: int) -> int:
    return value - (1 << bits) if value >> (bits - 1) else value


class _Chunk:
    """Reads the payload raw[begin:end] of one sample chunk, whose check has been found right, into a log."""

    def __init__(self, raw: bytes, begin: int, end: int, last_ms: int, log: Log) -> None:
        self.raw = raw
        self.at = begin + CHUNK_HEAD_BYTES
        self.end = end
        self.log = log
        self.next_ms = _near((raw[begin] << 8 | raw[begin + 1]) * TIME_UNIT_MS, last_ms, TIME_WRAP_MS)
        self.last_ms = self.next_ms
        self.temperature_centi: int | None = None
        self.cold_centi = _signed(int.from_bytes(raw[begin + 4 : begin + 6], "big"), 16)
        written = int.from_bytes(raw[begin + 2 : begin + 4], "big")
        if written != NO_TEMPERATURE:
            self.sample(written - TEMPERATURE_OFFSET_CENTI)

    def read(self) -> int:
        """Reads all tokens; gives the time of the last slot."""
        while self.at < self.end:
            token = self.raw[self.at]
            length = self.token_length(token)
            if self.at + length > self.end:
                words = "token 0x%02X reaches beyond its chunk; the rest is skipped"
                self.log.problems.append((self.at, words % token))
                break
            if token < ESCAPE:
                self.read_steps(token)
            else:
                self.read_escape(token, self.at + 2, self.at + length)
            self.at += length
        return self.last_ms

    def token_length(self, token: int) -> int:
        if token >= ESCAPE:
            return 2 + self.raw[self.at + 1] if self.at + 1 < self.end else 2
        return 2 if token >= STEP else 1

    def read_steps(self, token: int) -> None:
        if token >= STEP:
            self.step((token - STEP << 8 | self.raw[self.at + 1]) - STEP_LIMIT)
        elif token >= RUN:
            for _ in range(token - RUN + SHORTEST_RUN):
                self.step(0)
        elif token >= PAIR:
            self.step(STEPS[(token - PAIR) // len(STEPS)])
            self.step(STEPS[(token - PAIR) % len(STEPS)])
        else:
            self.step(token - 64)

    def read_escape(self, token: int, begin: int, end: int) -> None:
        raw = self.raw
        length = end - begin
        if token == NO_READING and length == 2:
            for _ in range(raw[begin + 1]):
                self.log.no_reading.append((self.take_slot(), raw[begin]))
        elif token == TIME and length == 3:
            self.next_ms = _near(int.from_bytes(raw[begin:end], "big"), self.next_ms)
        elif token == COLD and length == 2:
            self.cold_centi = _signed(int.from_bytes(raw[begin:end], "big"), 16)
        elif token == TEMPERATURE and length == 3:
            self.sample(_signed(int.from_bytes(raw[begin:end], "big"), 24))
        elif token == EVENT and length >= 4:
            self.read_event(begin, end)
        else:
            self.log.problems.append((self.at, "the unknown token 0x%02X of %d bytes is skipped" % (token, length)))

    def read_event(self, begin: int, end: int) -> None:
        kind = self.raw[begin]
        widths = events.WIDTHS.get(kind)
        if widths is None:
            self.log.problems.append((self.at, "an event of the unknown kind %d is skipped" % kind))
            return
        if end - begin < 4 + sum(widths):
            self.log.problems.append((self.at, "an event of kind %d is too short and is skipped" % kind))
            return
        t_ms = _near(int.from_bytes(self.raw[begin + 1 : begin + 4], "big"), self.next_ms)
        values = []
        at = begin + 4
        for width in widths:
            value = int.from_bytes(self.raw[at : at + width], "big")
            values.append(_signed(value, 24) if width == 3 else value)
            at += width
        if kind == events.GAP:
            values[0] &= 0xFFFFFF
        if kind in (events.MARK, events.GAP):
            values[2] = _near(values[2] & 0xFFFFFF, t_ms)
        self.log.events.append((t_ms, kind, values[0], values[1], values[2]))

    def step(self, delta_centi: int) -> None:
        if self.temperature_centi is None:
            words = "a step without a temperature before it; one sample is left out"
            self.log.problems.append((self.at, words))
            self.take_slot()
        else:
            self.sample(self.temperature_centi + delta_centi)

    def sample(self, temperature_centi: int) -> None:
        self.temperature_centi = temperature_centi
        self.log.t_ms.append(self.take_slot())
        self.log.temperature_centi.append(temperature_centi)
        self.log.cold_centi.append(None if self.cold_centi == NO_COLD else self.cold_centi)

    def take_slot(self) -> int:
        self.last_ms = self.next_ms
        self.next_ms += self.log.sample_ms
        return self.last_ms
