"""The encoder of the kept log, as docs/log-format.md says; `logreader` is the decoder.

`Encoder` turns samples and events into chunks inside one buffer that is allocated once. Its methods `sample`, `fault`
and `event` allocate nothing, so they may stand on the path from frame to relay. Checksums are computed only when a
chunk is taken out for writing: a CRC-32 does not fit a small integer of the board.
"""

import json
from array import array
from binascii import crc32

from panchime_fw import events
from panchime_fw.zlibwriter import compress

MAGIC = b"PANCHIME1\n"
HEAD = 0x80
END = 0x81
REPEAT_WINDOW = 64  # chunks; a try that failed half-way is repeated, and its good half may stand in the file already
HEAD_LIMIT = 16384  # of the JSON before it is packed: what a board's memory allows
END_PAYLOAD_BYTES = 8
END_BYTES = 3 + END_PAYLOAD_BYTES + 3
PAYLOAD_LIMIT = 127
CHUNK_HEAD_BYTES = 6
TIME_UNIT_MS = 20
TIME_WRAP_MS = TIME_UNIT_MS << 16
CHECK_MASK = 0xFFFFFF

SAMPLE_MS = 250
SLOTS_IN_CHUNK = 19  # 4.75 s: with the write itself, a power cut costs less than 5 s
SPAN_MS = (SLOTS_IN_CHUNK - 1) * SAMPLE_MS  # also when slots are missing, or further apart
JITTER_MS = 25  # a slot this near its place on the grid is written as on it; 25 ms are 0.025 degC at 1 degC/s
COLD_STEP_CENTI = 25  # each chunk carries the exact value anyway; above the step of every amplifier's cold junction

TEMPERATURE_OFFSET_CENTI = 10000
NO_TEMPERATURE = 0xFFFF
NO_COLD = -32768
WIDEST_CENTI = 0x7FFFFF
UNKNOWN_CENTI = -0x800000  # in an event: no such reading

PAIR = 0x80
RUN = 0xD1
SHORTEST_RUN = 3
LONGEST_RUN = 17
STEP = 0xE0
STEP_LIMIT = 2048
NO_READING = 0xF0
TIME = 0xF1
COLD = 0xF2
TEMPERATURE = 0xF3
EVENT = 0xF4
ESCAPE = 0xF0

# Two of these share a byte. They are the steps of a quarter-degree amplifier after linearisation (0.25 degC x 41.276
# uV/degC over the 39.9 to 41.4 uV/degC of type K between 20 and 250 degC) and the hundredth that a step of its cold
# junction moves the result; of all sets of nine this wrote the smallest files over noise of 0.1 to 0.3 degC.
STEPS = (0, 25, -25, 26, -26, 1, -1, 51, -51)
NO_SYMBOL = 0xFF


def _symbols() -> bytes:
    table = bytearray([NO_SYMBOL] * 128)
    for symbol, step in enumerate(STEPS):
        table[step + 64] = symbol
    return bytes(table)


SYMBOLS = _symbols()

_SLOT_BYTES = 1 + PAYLOAD_LIMIT + 3
_FAR_MS = TIME_WRAP_MS // 4
_ROOM_FOR_SLOT = 5 + 4 + 5  # time, cold junction, temperature: the longest a sample can take
_ROOM_FOR_EVENT = 2 + 4 + 9
_NOTHING = 0
_SINGLE = 1
_PAIR = 2
_RUN = 3
_NO_READING = 4


class Encoder:
    """Samples and events in, chunks out, oldest first.

    It holds `chunks` chunks. When they are not taken out in time the oldest is lost, and the next chunk says how much
    has been lost so far in this roast.
    """

    def __init__(self, chunks: int = REPEAT_WINDOW) -> None:
        self._buffer = bytearray(chunks * _SLOT_BYTES)
        self._view = memoryview(self._buffer)
        self._slot_counts = bytearray(chunks)
        self._event_counts = bytearray(chunks)
        self._begun_at = array("i", [0] * chunks)
        self._chunks = chunks
        self.reset(SAMPLE_MS)

    def reset(self, sample_ms: int) -> None:
        """Forgets everything; `sample_ms` is the distance of two slots, as the head says it."""
        self.sample_ms = sample_ms
        self.finished = 0
        self.begun = False
        self.full = False
        self.lost_slots = 0
        self.lost_events = 0
        self._lost_from_ms = 0
        self._first = 0
        self._start = 0
        self._at = 0
        self._slots = 0
        self._events = 0
        self._begun_ms = 0
        self._next_ms = 0
        self._temperature_centi = 0
        self._temperature_known = False
        self._cold_centi = NO_COLD
        self._last = _NOTHING
        self._last_symbol = NO_SYMBOL

    def sample(self, t_ms: int, temperature_centi: int, cold_centi: int) -> None:
        """One reading. `cold_centi` may be None or out of reach (beyond +-327.67 degC): unknown. Allocates nothing."""
        if temperature_centi > WIDEST_CENTI:
            temperature_centi = WIDEST_CENTI
        elif temperature_centi < -WIDEST_CENTI:
            temperature_centi = -WIDEST_CENTI
        if cold_centi is None or cold_centi > 32767 or cold_centi < NO_COLD:
            cold_centi = NO_COLD
        if self.full:
            self.finish()
        self._make_room(_ROOM_FOR_SLOT)
        if not self.begun:
            written = temperature_centi + TEMPERATURE_OFFSET_CENTI
            if written < 0 or written >= NO_TEMPERATURE:
                written = NO_TEMPERATURE
            if self._begin(t_ms, written, cold_centi):
                self._temperature_centi = temperature_centi
                self._temperature_known = True
                self._next_ms += self.sample_ms
                self._count_slot(t_ms)
                return
        self._place(t_ms)
        self._put_cold(cold_centi)
        delta = temperature_centi - self._temperature_centi
        if self._temperature_known and -64 <= delta <= 63:
            self._put_small(delta)
        elif self._temperature_known and -STEP_LIMIT <= delta < STEP_LIMIT:
            self._put(STEP + ((delta + STEP_LIMIT) >> 8))
            self._put(delta + STEP_LIMIT)
            self._last = _NOTHING
        else:
            self._put(TEMPERATURE)
            self._put(3)
            self._put_3(temperature_centi)
            self._last = _NOTHING
        self._temperature_centi = temperature_centi
        self._temperature_known = True
        self._count_slot(t_ms)

    def fault(self, t_ms: int, fault: int) -> None:
        """A sample slot without a reading, and the number of the fault. Allocates nothing."""
        if self.full:
            self.finish()
        self._make_room(_ROOM_FOR_SLOT)
        if not self.begun:
            self._begin(t_ms, NO_TEMPERATURE, NO_COLD)
        self._place(t_ms)
        at = self._at
        if self._last == _NO_READING and self._buffer[at - 2] == fault:
            self._buffer[at - 1] += 1
        else:
            self._put(NO_READING)
            self._put(2)
            self._put(fault)
            self._put(1)
            self._last = _NO_READING
        self._count_slot(t_ms)

    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        """One event of `events`; a value of one or two bytes beyond its width becomes the nearest. Allocates nothing."""
        self._make_room(_ROOM_FOR_EVENT)
        if not self.begun:
            self._begin(t_ms, NO_TEMPERATURE, NO_COLD)
        self._put_event(t_ms, kind, a, b, c)
        self._events += 1

    def finish(self) -> None:
        """Ends the chunk that is being filled, if there is one. Allocates nothing."""
        if not self.begun:
            return
        self._buffer[self._start] = self._at - self._start - 1
        place = (self._first + self.finished) % self._chunks
        self._slot_counts[place] = self._slots
        self._event_counts[place] = self._events
        self._begun_at[place] = self._begun_ms
        self.finished += 1
        self.begun = False
        self.full = False

    def chunk(self, index: int, seed: int) -> memoryview:
        """The finished chunk `index` (0 is the oldest) with its check, as it belongs into the file."""
        start = (self._first + index) % self._chunks * _SLOT_BYTES
        end = start + 1 + self._buffer[start]
        check = crc32(self._view[start:end], seed) & CHECK_MASK
        self._buffer[end] = check >> 16
        self._buffer[end + 1] = check >> 8 & 0xFF
        self._buffer[end + 2] = check & 0xFF
        return self._view[start : end + 3]

    def drop(self, count: int) -> None:
        """Forgets the `count` oldest finished chunks."""
        self._first = (self._first + count) % self._chunks
        self.finished -= count

    def _make_room(self, needed: int) -> None:
        if self.begun and self._at - self._start - 1 + needed > PAYLOAD_LIMIT:
            self.finish()

    def _begin(self, t_ms: int, written: int, cold_centi: int) -> bool:
        """Begins a chunk; True when its head holds the first sample already.

        The head's time is short and turns over. A reader mends that from the chunk before; where that one is far away
        or lost, the first slot gets its time in full and the head holds no sample.
        """
        loses = self.finished == self._chunks
        if loses:
            self._lose_oldest()
        in_full = loses or t_ms - self._begun_ms > _FAR_MS
        if in_full:
            written = NO_TEMPERATURE
        units = (t_ms + TIME_UNIT_MS // 2) // TIME_UNIT_MS
        self._start = (self._first + self.finished) % self._chunks * _SLOT_BYTES
        self._at = self._start + 1
        self._put(units >> 8)
        self._put(units)
        self._put(written >> 8)
        self._put(written)
        self._put(cold_centi >> 8)
        self._put(cold_centi)
        self.begun = True
        self.full = False
        self._slots = 0
        self._events = 0
        self._begun_ms = t_ms
        self._next_ms = units * TIME_UNIT_MS
        self._temperature_known = False
        self._cold_centi = cold_centi
        self._last = _NOTHING
        if in_full:
            self._put_time(t_ms)
        if loses:
            self._put_event(t_ms, events.GAP, self.lost_slots, self.lost_events, self._lost_from_ms)
        return written != NO_TEMPERATURE

    def _lose_oldest(self) -> None:
        place = self._first
        if not self.lost_slots and not self.lost_events:
            self._lost_from_ms = self._begun_at[place]
        self.lost_slots += self._slot_counts[place]
        self.lost_events += self._event_counts[place]
        self.drop(1)

    def _place(self, t_ms: int) -> None:
        """Makes the next slot fall on `t_ms`, with a time token when it is off the grid."""
        off_ms = t_ms - self._next_ms
        if off_ms > JITTER_MS or off_ms < -JITTER_MS:
            self._put_time(t_ms)
        self._next_ms += self.sample_ms

    def _put_time(self, t_ms: int) -> None:
        self._put(TIME)
        self._put(3)
        self._put_3(t_ms)
        self._last = _NOTHING
        self._next_ms = t_ms

    def _count_slot(self, t_ms: int) -> None:
        self._slots += 1
        if (
            self._slots >= SLOTS_IN_CHUNK
            or t_ms - self._begun_ms >= SPAN_MS
            or self._at - self._start - 1 + _ROOM_FOR_SLOT > PAYLOAD_LIMIT
        ):
            self.full = True

    def _put_cold(self, cold_centi: int) -> None:
        """The cold junction, when it has moved far enough since it was last written."""
        moved = cold_centi - self._cold_centi
        if moved >= COLD_STEP_CENTI or moved <= -COLD_STEP_CENTI:
            self._put(COLD)
            self._put(2)
            self._put(cold_centi >> 8)
            self._put(cold_centi)
            self._cold_centi = cold_centi
            self._last = _NOTHING

    def _put_small(self, delta: int) -> None:
        """A step of -64..63 hundredths: alone, as the second of a pair, or into a run."""
        symbol = SYMBOLS[delta + 64]
        at = self._at - 1
        if delta == 0 and self._last == _RUN and self._buffer[at] < RUN + LONGEST_RUN - SHORTEST_RUN:
            self._buffer[at] += 1
        elif delta == 0 and self._last == _PAIR and self._buffer[at] == PAIR:
            self._buffer[at] = RUN
            self._last = _RUN
        elif symbol != NO_SYMBOL and self._last == _SINGLE and self._last_symbol != NO_SYMBOL:
            self._buffer[at] = PAIR + self._last_symbol * len(STEPS) + symbol
            self._last = _PAIR
        else:
            self._put(delta + 64)
            self._last = _SINGLE
            self._last_symbol = symbol

    def _put_event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        widths = events.WIDTHS[kind]
        self._put(EVENT)
        self._put(4 + widths[0] + widths[1] + widths[2])
        self._put(kind)
        self._put_3(t_ms)
        self._put_value(widths[0], a)
        self._put_value(widths[1], b)
        self._put_value(widths[2], c)
        self._last = _NOTHING

    def _put_value(self, width: int, value: int) -> None:
        if width == 3:
            self._put_3(value)
        elif width:
            most = 0xFF if width == 1 else 0xFFFF
            if value > most:
                value = most
            elif value < 0:
                value = 0
            if width == 2:
                self._put(value >> 8)
            self._put(value)

    def _put_3(self, value: int) -> None:
        self._put(value >> 16)
        self._put(value >> 8)
        self._put(value)

    def _put(self, value: int) -> None:
        self._buffer[self._at] = value & 0xFF
        self._at += 1


def head_length(raw: "bytes | bytearray") -> int:
    """How many bytes the magic and the head chunk take, from the first 13 bytes of a file; 0 when there is no head."""
    begin = len(MAGIC)
    if len(raw) < begin + 3 or raw[begin] != HEAD:
        return 0
    return begin + 3 + (raw[begin + 1] << 8 | raw[begin + 2]) + 4


def check_fits(raw: "bytes | bytearray", begin: int, end: int, seed: int) -> bool:
    """True when the check at `end` is that of the chunk raw[begin:end]."""
    if end + 3 > len(raw):
        return False
    return crc32(raw[begin:end], seed) & CHECK_MASK == int.from_bytes(raw[end : end + 3], "big")


def is_end(raw: "bytes | bytearray", at: int, seed: int) -> bool:
    """True when a good end chunk begins at `at`."""
    if raw[at : at + 3] != bytes([END, 0, END_PAYLOAD_BYTES]):
        return False
    return check_fits(raw, at, at + END_BYTES - 3, seed)


def ascii_json(document: dict[str, object]) -> bytes:
    """`document` as JSON in ASCII without spaces; MicroPython's own `dumps` leaves letters beyond ASCII as they are."""
    text = json.dumps(document, separators=(",", ":"))
    out = bytearray()
    for letter in text:
        code = ord(letter)
        if code < 0x7F:
            out.append(code)
        elif code < 0x10000:
            out.extend(b"\\u%04x" % code)
        else:
            code -= 0x10000
            out.extend(b"\\u%04x\\u%04x" % (0xD800 + (code >> 10), 0xDC00 + (code & 0x3FF)))
    return bytes(out)


def head_bytes(head: dict[str, object]) -> tuple[bytes, int]:
    """(the first bytes of a file: the magic and the head chunk, the seed of all later checks).

    `ValueError` when the head's JSON is longer than HEAD_LIMIT.
    """
    text = ascii_json(head)
    if len(text) > HEAD_LIMIT:
        raise ValueError("a head of %d bytes: at most %d fit, shorten the plan" % (len(text), HEAD_LIMIT))
    payload = compress(text)
    seed = crc32(payload)
    return MAGIC + bytes([HEAD, len(payload) >> 8, len(payload) & 0xFF]) + payload + _big_endian(seed, 4), seed


def end_bytes(t_ms: int, reason: int, whole: int, seed: int) -> bytes:
    """The end chunk; `whole` is the CRC-32 of every byte of the file before it."""
    chunk = bytes([END, 0, END_PAYLOAD_BYTES, reason]) + _big_endian(t_ms & 0xFFFFFF, 3) + _big_endian(whole, 4)
    return chunk + _big_endian(crc32(chunk, seed) & CHECK_MASK, 3)


def _big_endian(value: int, count: int) -> bytes:
    return bytes([value >> 8 * place & 0xFF for place in range(count - 1, -1, -1)])


# Measured over a 12-minute roast at 4 Hz (docs/log-format.md, "Size"), rounded up.
BYTES_PER_MINUTE = 400
HEAD_BYTES = 2048
# littlefs copies the block at a file's tail before it lets the old one go, and needs a pair for its directory.
SPARE_BYTES = 4 * 4096


def minutes_left(bytes_free: int) -> int:
    """How many whole minutes of one more roast fit into that much free flash."""
    room = bytes_free - HEAD_BYTES - SPARE_BYTES
    return room // BYTES_PER_MINUTE if room > 0 else 0
