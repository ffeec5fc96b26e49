"""A roast in a few dozen points, read from the first bytes of each chunk of its log: quick enough for thousands of roasts."""

from collections.abc import Callable
from dataclasses import dataclass

from panchime.journal.quick_reader import chunks_of
from panchime_fw.logformat import (
    CHUNK_HEAD_BYTES,
    NO_COLD,
    NO_TEMPERATURE,
    PAYLOAD_LIMIT,
    TEMPERATURE_OFFSET_CENTI,
    TIME_UNIT_MS,
    TIME_WRAP_MS,
    check_fits,
    head_length,
    is_end,
)
from panchime_fw.logreader import decode

CHECK_BYTES = 3


@dataclass(frozen=True)
class Sketch:
    """One reading about every five seconds: ms since the start of the log, hundredths of degC.

    ``cold_start_centi``: the cold junction when the log began, None when it is not known.
    """

    t_ms: list[int]
    temperature_centi: list[int]
    cold_start_centi: int | None


def sketch(raw: bytes) -> Sketch:
    """The sketch of a log; one that is open is read chunk by chunk, a damaged one in full, slowly."""
    return sketch_of_whole(raw) or sketch_of_chunks(raw) or sketch_in_full(raw)


def sketch_of_whole(raw: bytes) -> Sketch | None:
    """The first reading of every chunk of a log that is whole and closed; None for any other."""
    chunks = chunks_of(raw)
    if chunks is None:
        return None
    read = chunks.first != NO_TEMPERATURE
    known = chunks.cold[chunks.cold != NO_COLD]
    centi = chunks.first[read] - TEMPERATURE_OFFSET_CENTI
    return Sketch(chunks.begins_ms[read].tolist(), centi.tolist(), int(known[0]) if len(known) else None)


def cold_start_centi(beginning: bytes, whole: Callable[[], bytes]) -> int | None:
    """The cold junction when a log began, as its sketch has it. ``whole`` is asked for only when the beginning does not say."""
    at = head_length(beginning)
    if 0 < at < len(beginning) and CHUNK_HEAD_BYTES <= beginning[at] <= PAYLOAD_LIMIT:
        seed = int.from_bytes(beginning[at - 4 : at], "big")
        cold = int.from_bytes(beginning[at + 5 : at + 7], "big", signed=True)
        if cold != NO_COLD and check_fits(beginning, at, at + 1 + beginning[at], seed):
            return cold
    return sketch(whole()).cold_start_centi


def sketch_of_chunks(raw: bytes) -> Sketch | None:
    """The first reading of every chunk; None when anything but good chunks is met."""
    at = head_length(raw)
    if not 0 < at <= len(raw):
        return None
    seed = int.from_bytes(raw[at - 4 : at], "big")
    times: list[int] = []
    readings: list[int] = []
    cold_start = NO_COLD
    turns = last = 0
    while at < len(raw) and not is_end(raw, at, seed):
        length = raw[at]
        begin, end = at + 1, at + 1 + length
        if not CHUNK_HEAD_BYTES <= length <= PAYLOAD_LIMIT or not check_fits(raw, at, end, seed):
            return None
        short = int.from_bytes(raw[begin : begin + 2], "big") * TIME_UNIT_MS
        if times and short + turns < last:
            turns += TIME_WRAP_MS
        first = int.from_bytes(raw[begin + 2 : begin + 4], "big")
        if first != NO_TEMPERATURE:
            last = short + turns
            times.append(last)
            readings.append(first - TEMPERATURE_OFFSET_CENTI)
        if cold_start == NO_COLD:
            cold_start = int.from_bytes(raw[begin + 4 : begin + 6], "big", signed=True)
        at = end + CHECK_BYTES
    return Sketch(times, readings, None if cold_start == NO_COLD else cold_start)


def sketch_in_full(raw: bytes) -> Sketch:
    """The same from the whole log, as far as it can be read."""
    log = decode(raw)
    every = slice(None, None, 19)
    cold = next((value for value in log.cold_centi if value is not None), None)
    return Sketch(log.t_ms[every], log.temperature_centi[every], cold)
