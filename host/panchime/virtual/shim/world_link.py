"""The board's end of the wire to the virtual world. Runs in MicroPython and in CPython.

The virtual clock lives here: it moves when the program sleeps, looks at it or moves bytes, never by itself. Every message is
sixteen 32-bit words (see `protocol.py` in the host package), so that an interrupted exchange can never tear the stream, and
nothing here allocates after the start: the firmware's path from frame to relay stays free of heap use on the virtual board too.
"""

import os
import socket
from array import array

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

PAYLOAD_BYTES = 32
_FRAME_BYTES = 64
_TICKS_MASK = (1 << 30) - 1
_TICKS_HALF = 1 << 29
# What one look at the clock or a pin costs on an RP2040: a Python call, tens of microseconds (from memory).
_LOOK_US = 15
# The base of the ticks may be negative; it travels with this added, which still is a small integer.
_BASE_BIAS = 1 << 56

# How long the interpreter may be silent, in ms of wall time, before it asks the world for the time again.
_SILENCE_MS = 150

now_us = 0
next_us = 0
levels = 0
ticks_base_us = 0
clock_epoch_s = 0
clock_set_us = 0

_seq = 0
_met_wall_ms = 0
_request = array("I", [0] * 16)
_reply = array("I", [0] * 16)

_socket = socket.socket()
_socket.connect(socket.getaddrinfo("127.0.0.1", int(os.getenv("PANCHIME_WORLD")))[0][-1])
_socket.setsockopt(6, 1, 1)  # TCP_NODELAY: a post followed by an exchange would wait for a delayed acknowledgement

if hasattr(_socket, "readinto"):
    from utime import ticks_ms as _wall_ms

    _send = _socket.write
    _receive = _socket.readinto
else:
    from time import monotonic as _monotonic

    def _wall_ms():
        return int(_monotonic() * 1000)

    _send = _socket.sendall

    def _receive(words):
        return _socket.recv_into(words, _FRAME_BYTES, socket.MSG_WAITALL)


def post(op, a, b, c):
    """Tell the world something that needs no answer."""
    _request[0] = op
    _request[1] = 0
    _request[2] = now_us & 0xFFFFFFFF
    _request[3] = now_us >> 32
    _request[4] = a
    _request[5] = b
    _request[6] = c
    _send(_request)


def put_payload(buffer, size):
    """Lay the first `size` bytes (at most 32) of `buffer` into the next request."""
    _request[7] = size
    i = 0
    while i < size:
        if not i & 3:
            _request[8 + (i >> 2)] = 0
        _request[8 + (i >> 2)] |= buffer[i] << ((i & 3) << 3)
        i += 1


def take_payload(buffer, start, size):
    """Copy `size` bytes of the last reply into `buffer` from `start`."""
    i = 0
    while i < size:
        buffer[start + i] = (_reply[8 + (i >> 2)] >> ((i & 3) << 3)) & 0xFF
        i += 1


def exchange(op, a, b, c):
    """Ask the world and take its answer: the clock's new floor, when to ask again, the pins. Returns the status word."""
    global _seq, _met_wall_ms, now_us, next_us, levels
    # Ctrl-C may have cut an earlier exchange off after its question: the number finds the answer that belongs to this one.
    _seq = (_seq + 1) & 0xFFFFFF
    _request[1] = _seq
    _request[0] = op
    _request[2] = now_us & 0xFFFFFFFF
    _request[3] = now_us >> 32
    _request[4] = a
    _request[5] = b
    _request[6] = c
    _send(_request)
    while True:
        if _receive(_reply) != _FRAME_BYTES:
            raise SystemExit  # the world is gone
        if _reply[0] == _seq:
            break
    floor_us = _reply[1] | (_reply[2] << 32)
    if floor_us > now_us:
        now_us = floor_us
    next_us = _reply[3] | (_reply[4] << 32)
    levels = _reply[5]
    _met_wall_ms = _wall_ms()
    return _reply[6]


def hello():
    """Introduce this interpreter and take over the board's clocks."""
    global now_us, ticks_base_us, clock_epoch_s, clock_set_us
    exchange(HELLO, 0, 0, 0)
    ticks_base_us = (_reply[8] | (_reply[9] << 32)) - _BASE_BIAS
    clock_epoch_s = _reply[10]
    clock_set_us = _reply[11] | (_reply[12] << 32)
    return _reply[13]


def pass_us(us):
    """Let virtual time pass, meeting the world as often as it asked for."""
    global now_us
    target = now_us + us
    while target >= next_us:
        if now_us < next_us:
            now_us = next_us
        exchange(SYNC, 0, 0, 0)
    if target > now_us:
        now_us = target


def look():
    global now_us
    if now_us + _LOOK_US >= next_us:
        pass_us(_LOOK_US)
    elif _wall_ms() - _met_wall_ms > _SILENCE_MS:
        # Long at the prompt, or in a loop that never looked: the world's clock may have gone on meanwhile. The look costs
        # what every look costs, or a busy computer would make the same roast another one.
        now_us += _LOOK_US
        exchange(SYNC, 0, 0, 0)
    else:
        now_us += _LOOK_US


def ticks_ms():
    look()
    return ((now_us + ticks_base_us) // 1000) & _TICKS_MASK


def ticks_us():
    look()
    return (now_us + ticks_base_us) & _TICKS_MASK


def ticks_diff(end, start):
    return ((end - start + _TICKS_HALF) & _TICKS_MASK) - _TICKS_HALF


def ticks_add(ticks, delta):
    return (ticks + delta) & _TICKS_MASK


def sleep_us(us):
    if us > 0:
        pass_us(us)
    else:
        look()


def sleep_ms(ms):
    if ms > 0:
        pass_us(ms * 1000)
    else:
        look()


def sleep(seconds):
    sleep_us(int(seconds * 1000000))


def clock_s():
    """The real-time clock, in whole seconds since 1970."""
    look()
    return clock_epoch_s + (now_us - clock_set_us) // 1000000


def set_clock(epoch_s):
    global clock_epoch_s, clock_set_us
    clock_epoch_s = epoch_s
    clock_set_us = now_us
    post(CLOCK_SET, epoch_s, 0, 0)
