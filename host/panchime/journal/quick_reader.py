"""The same as the board's own reader of logs, five times as fast on whole ones: for those who read a journal of thousands.

Nearly every chunk of a log holds samples alone, by their steps. Those are unfolded here by table, all at once. Whatever else a
log holds (events, faults, the cold junction), and every log that is open, damaged or odd in any way, is left
to ``panchime_fw.logreader``. ``tests/host/test_journal_quick_reader.py`` holds the two against each other.
"""

from binascii import crc32
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from panchime_fw import logreader
from panchime_fw.logformat import (
    CHUNK_HEAD_BYTES,
    END_BYTES,
    ESCAPE,
    MAGIC,
    NO_COLD,
    NO_TEMPERATURE,
    PAIR,
    PAYLOAD_LIMIT,
    RUN,
    SHORTEST_RUN,
    STEP,
    STEP_LIMIT,
    STEPS,
    TEMPERATURE_OFFSET_CENTI,
    TIME,
    TIME_UNIT_MS,
    TIME_WRAP_MS,
    head_length,
    is_end,
)

Whole = NDArray[np.int64]

CHECK_BYTES = 3
# So many chunks of 4.75 s stay within half a turn of their short time: the board's reader is shown one at least so often.
LEFT_TO_BOARD_EVERY = 100
LONGEST_CHUNK_MS = 10_000
LONGEST_STEP_MS = TIME_WRAP_MS // 4
LONGEST_LOG_MS = 1 << 23  # half a turn of the end's time


def _tables() -> tuple[Whole, Whole, Whole]:
    """For every token: how many samples it stands for, the first one's step, the second one's; later ones are 0.

    The step of a token of two bytes is not in the table.
    """
    counts, first, second = (np.zeros(256, dtype=np.int64) for _ in range(3))
    counts[STEP:ESCAPE] = 1
    for token in range(STEP):
        if token >= RUN:
            counts[token] = token - RUN + SHORTEST_RUN
        elif token >= PAIR:
            counts[token] = 2
            first[token], second[token] = STEPS[(token - PAIR) // len(STEPS)], STEPS[(token - PAIR) % len(STEPS)]
        else:
            counts[token], first[token] = 1, token - 64
    return counts, first, second


COUNTS, FIRST_STEPS, SECOND_STEPS = _tables()


def decode(raw: bytes) -> logreader.Log:
    """Everything that can be read from a file's bytes, as the board's reader gives it. Never raises."""
    return decode_whole(raw) or logreader.decode(raw)


@dataclass(frozen=True)
class Chunks:
    """The chunks of a log that is whole and closed: from ``begin`` to ``end``, where the end chunk stands.

    Of each chunk: its place in the file, the time of its first slot (ms), its first temperature and cold junction as written.
    """

    begin: int
    end: int
    places: list[int]
    begins_ms: Whole
    first: Whole
    cold: Whole


@lru_cache(maxsize=1)  # a roast's sketch is read and then the whole of it
def chunks_of(raw: bytes) -> Chunks | None:
    """The chunks of a log; None when it is not whole and closed, or when only the board's reader can tell its times.

    The check over the whole file stands for those of the chunks.
    """
    begin = head_length(raw)
    end = len(raw) - END_BYTES
    if not raw.startswith(MAGIC) or not 0 < begin < end:
        return None
    seed = crc32(raw[len(MAGIC) + 3 : begin - 4])
    if seed != int.from_bytes(raw[begin - 4 : begin], "big") or not is_end(raw, end, seed):
        return None
    if crc32(raw[:end]) != int.from_bytes(raw[end + 7 : end + 11], "big"):
        return None
    places = []
    at = begin
    while at < end:
        if not CHUNK_HEAD_BYTES <= raw[at] <= PAYLOAD_LIMIT:
            return None
        places.append(at)
        at += 1 + raw[at] + CHECK_BYTES
    if at != end or not places:
        return None
    heads = np.frombuffer(raw, dtype=np.uint8)[np.array(places)[:, None] + np.arange(1, 1 + CHUNK_HEAD_BYTES)].astype(np.int64)
    short_ms = (heads[:, 0] << 8 | heads[:, 1]) * TIME_UNIT_MS
    steps_ms = (np.diff(short_ms) + TIME_WRAP_MS // 2) % TIME_WRAP_MS - TIME_WRAP_MS // 2
    begins_ms = short_ms[0] + np.concatenate(([0], np.cumsum(steps_ms)))
    if (steps_ms <= 0).any() or (steps_ms > LONGEST_STEP_MS).any() or begins_ms[-1] > LONGEST_LOG_MS // 2:
        return None
    cold = heads[:, 4] << 8 | heads[:, 5]
    return Chunks(begin, end, places, begins_ms, heads[:, 2] << 8 | heads[:, 3], np.where(cold >= 0x8000, cold - 0x10000, cold))


def stays_in_time(chunk: bytes, begin_ms: int) -> bool:
    """Whether every token of a chunk that says the time anew says one near the chunk's begin."""
    at = 1 + CHUNK_HEAD_BYTES
    while at < len(chunk) - CHECK_BYTES:
        token = chunk[at]
        if token == TIME and abs(int.from_bytes(chunk[at + 2 : at + 5], "big") - begin_ms) > LONGEST_CHUNK_MS:
            return False
        at += 2 + chunk[at + 1] if token >= ESCAPE else 2 if token >= STEP else 1
    return True


def wide_tokens(body: Whole, inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where tokens of more than one byte begin, in chunks without escapes.

    The byte after such a token is its own and may have any value: of bytes in a row that look like one, every other one is.
    """
    alike = inside & (body >= STEP)
    places = np.arange(len(body))
    begins = np.maximum.accumulate(np.where(alike & ~np.append(False, alike[:-1]), places, 0))
    return np.asarray(alike & ((places - begins) % 2 == 0), dtype=np.bool_)


def decode_whole(raw: bytes) -> logreader.Log | None:
    """A log that is whole, closed and of the usual kind; None for any other."""
    found = chunks_of(raw)
    if found is None:
        return None
    begin, end, places = found.begin, found.end, found.places
    begins_ms, first, cold = found.begins_ms, found.first, found.cold
    chunks = [raw[at : at + 1 + raw[at] + CHECK_BYTES] for at in places]
    if len(set(chunks)) < len(chunks):
        return None

    lengths = np.array([len(chunk) for chunk in chunks])
    body = np.frombuffer(raw, dtype=np.uint8)[begin:end].astype(np.int64)
    owner = np.repeat(np.arange(len(chunks)), lengths)
    place = np.arange(len(body)) - np.repeat(np.array(places) - begin, lengths)
    inside = (place > CHUNK_HEAD_BYTES) & (place < lengths[owner] - CHECK_BYTES)
    wide = wide_tokens(body, inside)
    operand = np.append(False, wide[:-1])
    boards = np.bincount(owner[wide & (body >= ESCAPE) | operand & ~inside], minlength=len(chunks)) > 0
    boards |= first == NO_TEMPERATURE
    boards[::LEFT_TO_BOARD_EVERY] = True
    theirs = np.flatnonzero(boards).tolist()
    if not all(stays_in_time(chunks[number], int(begins_ms[number])) for number in theirs if TIME in chunks[number]):
        return None
    log = logreader.decode(raw[:begin] + b"".join(chunks[number] for number in theirs))
    if log.problems or log.head is None:
        return None

    # The last byte of a chunk's head stands for its first sample.
    kept = np.flatnonzero((inside & ~operand | (place == CHUNK_HEAD_BYTES)) & ~boards[owner])
    tokens, whose = np.where(inside[kept], body[kept], 64), owner[kept]
    steps = np.where(tokens < STEP, FIRST_STEPS[tokens], (tokens - STEP << 8 | body[kept + 1]) - STEP_LIMIT)
    counts = COUNTS[tokens]
    samples = np.repeat(np.arange(len(tokens)), counts)
    nth = np.arange(len(samples)) - np.repeat(np.cumsum(counts) - counts, counts)
    steps = np.where(nth == 0, steps[samples], np.where(nth == 1, SECOND_STEPS[tokens[samples]], 0))
    whose = whose[samples]
    start = np.searchsorted(whose, whose)  # of each sample's chunk
    climbed = np.cumsum(steps)
    ours_centi = first[whose] - TEMPERATURE_OFFSET_CENTI + climbed - climbed[start]
    ours_ms = begins_ms[whose] + (np.arange(len(samples)) - start) * log.sample_ms

    t_ms = np.concatenate((ours_ms, np.array(log.t_ms, dtype=np.int64)))
    order = np.argsort(t_ms, kind="stable")
    t_ms = t_ms[order]
    if (np.diff(t_ms) <= 0).any() or not chunks_keep_apart(t_ms, begins_ms, whose, boards):
        return None
    last_ms = max([int(t_ms[-1]) if len(t_ms) else 0, *(slot_ms for slot_ms, _ in log.no_reading[-1:])])
    end_ms = int.from_bytes(raw[end + 4 : end + 7], "big")
    if abs(end_ms - last_ms) >= LONGEST_LOG_MS:
        return None
    theirs_cold = [NO_COLD if value is None else value for value in log.cold_centi]
    colds = np.concatenate((cold[whose], np.array(theirs_cold, dtype=np.int64)))[order].tolist()
    log.cold_centi = [None if value == NO_COLD else value for value in colds] if NO_COLD in colds else colds
    log.temperature_centi = np.concatenate((ours_centi, np.array(log.temperature_centi, dtype=np.int64)))[order].tolist()
    log.t_ms = t_ms.tolist()
    log.end = (end_ms, raw[end + 3])
    log.chunks = list(places)
    return log


def chunks_keep_apart(t_ms: Whole, begins_ms: Whole, whose: Whole, boards: NDArray[np.bool_]) -> bool:
    """Whether no chunk reaches into the next one: only then is the order of the times that of the file."""
    counts = np.bincount(whose, minlength=len(begins_ms))
    between = np.diff(np.append(np.searchsorted(t_ms, begins_ms), len(t_ms)))
    return bool((counts == between)[~boards].all())
