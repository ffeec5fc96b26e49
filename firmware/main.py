"""Builds the board and runs the loop; whatever ends it, the relay opens."""

import os
import sys
import time

import machine
from machine import Pin

# The same lines as in boot.py, written out: each layer must open the relay alone, whatever else is missing or broken.
RELAYS = (
    ("RaspberryPiPicowithRP2040", 14),
    ("RaspberryPiPicoWwithRP2040", 14),
    ("RaspberryPiPico2withRP2350", 14),
    ("RaspberryPiPico2WwithRP2350", 14),
    ("GenericESP32S3module", 4),
    ("ESP32C3module", 3),
    ("GenericESP32module", 4),
)
DESKTOP = ("RaspberryPiPicowithRP2040", "linux", "darwin", "win32")  # the virtual board is wired as a Pico
MAINTENANCE_FILE = "maintenance"
CRASH_FILE = "crash.txt"
# How `panchime install` brings the modules; without it they lie in the folder of their own, or are frozen.
PACKED_FILE = "panchime_fw.pack"
# A board that fails sooner than this after its start would only restart for ever.
WORTH_A_RESTART_MS = 10000

name = DESKTOP[0] if sys.platform in DESKTOP else os.uname().machine.replace(" ", "").replace("-", "")
relays = [Pin(pin, Pin.OUT, value=0) for board, pin in RELAYS if name.startswith(board)]


def maintenance_wanted() -> bool:
    """True once after SYSTem:MAINtenance; the next start is an ordinary one again."""
    try:
        os.remove(MAINTENANCE_FILE)
    except OSError:
        return False
    return True


def keep(error: Exception) -> None:
    """Leaves the traceback on the flash, where `mpremote fs cat :crash.txt` finds it."""
    try:
        with open(CRASH_FILE, "w") as file:
            sys.print_exception(error, file)
    except OSError:
        pass  # the restart matters more than its record


def run() -> None:
    if PACKED_FILE in os.listdir():
        import packed

        packed.mount(PACKED_FILE)
    from panchime_fw.start import build

    build().run()


started_ms = time.ticks_ms()
try:
    if not relays:
        print("Panchime does not know this board: '" + os.uname().machine + "'. No pin was touched and nothing runs.")
        print("Install the MicroPython made for a Pico, Pico W, Pico 2, Pico 2 W, ESP32, ESP32-S3 or ESP32-C3.")
    elif maintenance_wanted():
        print("Panchime is in maintenance: the relay is open, nothing is watched. Restart the board to roast.")
    else:
        run()
except Exception as error:
    for relay in relays:
        relay.value(0)
    keep(error)
    if time.ticks_diff(time.ticks_ms(), started_ms) < WORTH_A_RESTART_MS:
        raise
    # It comes back tripped if a roast was under way, and sounds the alarm: better than a silent prompt.
    machine.reset()
finally:
    for relay in relays:
        relay.value(0)
