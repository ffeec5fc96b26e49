"""The messages between the interpreter and the world: sixteen 32-bit little-endian words each way.

Question: operation, number (0: no answer wanted), time in us (two words), three arguments, payload size, payload (8 words).
Answer: number, clock floor in us (two words), time of the next meeting in us (two words), pin levels, status, payload size,
payload (8 words).
"""

import struct
from dataclasses import dataclass
from enum import IntEnum

FRAME = struct.Struct("<16I")
PAYLOAD_BYTES = 32
TICKS_BASE_BIAS = 1 << 56  # the base of the ticks may be negative


class Operation(IntEnum):
    """What the interpreter asks or tells."""

    SYNC = 1
    HELLO = 2
    PIN_MODE = 3
    PIN_LEVEL = 4
    PWM = 5
    SPI = 6
    I2C_READ = 7
    I2C_WRITE = 8
    WATCHDOG_START = 9
    WATCHDOG_FEED = 10
    CLOCK_SET = 11
    RESET = 12
    SOFT_RESET = 13
    FLASH_ERASE = 14
    FLASH_PROGRAM = 15
    MOUNTED = 16
    PROMPT_NEXT = 17


@dataclass(frozen=True)
class Question:
    """One message of the interpreter."""

    operation: int
    number: int
    time_us: int
    a: int
    b: int
    c: int
    payload: bytes


def read_question(frame: bytes) -> Question:
    """Takes one frame of 64 bytes apart."""
    words = FRAME.unpack(frame)
    size = min(words[7], PAYLOAD_BYTES)
    return Question(words[0], words[1], words[2] | words[3] << 32, words[4], words[5], words[6], frame[32 : 32 + size])


def write_answer(number: int, floor_us: int, next_us: int, levels: int, status: int, payload: bytes) -> bytes:
    """Builds one answer of 64 bytes; the payload is at most 32 bytes."""
    head = struct.pack(
        "<8I",
        number,
        floor_us & 0xFFFFFFFF,
        floor_us >> 32,
        next_us & 0xFFFFFFFF,
        next_us >> 32,
        levels,
        status,
        len(payload),
    )
    return head + payload.ljust(PAYLOAD_BYTES, b"\0")


def hello_payload(ticks_base_us: int, clock_epoch_s: int, clock_set_us: int, reset_cause: int) -> bytes:
    """The board's clocks and reset cause, as the answer to HELLO carries them."""
    base = ticks_base_us + TICKS_BASE_BIAS
    return struct.pack(
        "<6I",
        base & 0xFFFFFFFF,
        base >> 32,
        clock_epoch_s,
        clock_set_us & 0xFFFFFFFF,
        clock_set_us >> 32,
        reset_cause,
    )
