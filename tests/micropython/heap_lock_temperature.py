"""Runs on MicroPython: frame to rate with the heap locked. Any allocation raises MemoryError.

Usage: INTERPRETER heap_lock_temperature.py FIRMWARE_FOLDER. Prints one line a decoder and `locked <count>`.
"""

import sys

import micropython

sys.path.insert(0, sys.argv[1])

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.reading import Reading
from panchime_fw.signal import RateOfRise, SpikeFilter

SAMPLES = 700


def frames_of(chip: str, letter: str) -> list:  # type: ignore[type-arg]
    """Frames made before the heap is locked: a slow rise, then one of each kind of fault."""
    frames = []
    decoder = decoder_for(chip, letter)
    for k in range(256):
        if chip == "MAX31855":
            word = (400 + k) << 18 | 0x1900
            frames.append(bytearray(word.to_bytes(4, "big")))
        elif chip == "MAX6675":
            frames.append(bytearray(((400 + k) << 3).to_bytes(2, "big")))
        elif chip == "MAX31856":
            settings = bytes((0,)) + decoder.setup[1][1] + decoder.setup[0][1]
            limits = bytes((0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0, 0, 0x19, 0))
            frames.append(bytearray(settings + limits + (0x064F00 + k * 0x400).to_bytes(3, "big") + bytes(1)))
        else:
            identity = bytes((0x41 if chip == "MCP9601" else 0x40, 0))
            settings = decoder.setup[0][1] + decoder.setup[1][1] + bytes((0x40, 0x01, 0x90))
            frames.append(bytearray(identity + settings + (0x0640 + k * 4).to_bytes(2, "big")))
    return frames


def broken(frames: list) -> list:  # type: ignore[type-arg]
    """Every bit of a good frame turned over, one at a time, and a silent bus."""
    size = len(frames[0])
    result = [bytearray(size), bytearray((0xFF,) * size)]
    for bit in range(size * 8):
        frame = bytearray(frames[0])
        frame[bit // 8] ^= 1 << bit % 8
        result.append(frame)
    return result


def locked_run(decoder, reading, spikes, rate, good, bad) -> int:  # type: ignore[no-untyped-def]
    """Returns how many readings were good. Everything in here happens with the heap locked."""
    count = 0
    t_ms = 0
    index = 0
    micropython.heap_lock()
    while index < SAMPLES:
        decoder.decode(good[index % 256], reading)
        if reading.fault == faults.NONE:
            rate.add(t_ms, spikes.add(reading.temperature_centi))
            count += 1
        t_ms += 250
        index += 1
    was_ready = rate.ready and rate.centi_per_min != 0
    index = 0
    while index < len(bad):
        decoder.decode(bad[index], reading)
        if reading.fault == faults.NONE:
            rate.add(t_ms, spikes.add(reading.temperature_centi))
        t_ms += 250
        index += 1
    # A gap, which begins the line anew, and both resets.
    rate.add(t_ms + 50000, 20000)
    spikes.reset()
    rate.reset()
    micropython.heap_unlock()
    return count if was_ready else 0


def main() -> None:
    total = 0
    for chip, letters in (
        ("MAX31855", "KJNTESR"),
        ("MAX31856", "KT"),
        ("MAX6675", "K"),
        ("MCP9600", "K"),
        ("MCP9601", "E"),
    ):
        for letter in letters:
            decoder, reading, spikes, rate = decoder_for(chip, letter), Reading(), SpikeFilter(), RateOfRise(30000)
            good = frames_of(chip, letter)
            count = locked_run(decoder, reading, spikes, rate, good, broken(good))
            print(f"{chip} {letter} {count}")
            total += 1
    # The lock itself must bite, or all of the above proves nothing.
    micropython.heap_lock()
    bites = False
    try:
        sys.path = [total]
    except MemoryError:
        bites = True
    micropython.heap_unlock()
    print(f"locked {total}" if bites else "the lock does not bite")


main()
