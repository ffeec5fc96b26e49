"""Builds the board and runs the loop; whatever ends it, the relay opens."""

import os
import sys
import time

import machine
from machine import PWM, Pin

# The numbers of panchime_fw/pins.py, written out: each layer must open the relay alone, whatever else is missing or broken.
RELAY = 14
PIEZO = 20
MAINTENANCE_FILE = "maintenance"
CRASH_FILE = "crash.txt"
# A board that fails sooner than this after its start would only restart for ever.
WORTH_A_RESTART_MS = 10000

relay = Pin(RELAY, Pin.OUT, value=0)


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
    from panchime_fw.start import build

    build().run()


started_ms = time.ticks_ms()
try:
    if maintenance_wanted():
        print("Panchime is in maintenance: the relay is open, nothing is watched. Restart the board to roast.")
    else:
        run()
except Exception as error:
    relay.value(0)
    keep(error)
    if time.ticks_diff(time.ticks_ms(), started_ms) < WORTH_A_RESTART_MS:
        raise
    # It comes back tripped if a roast was under way, and sounds the alarm: better than a silent prompt.
    machine.reset()
finally:
    relay.value(0)
    PWM(Pin(PIEZO)).duty_u16(0)
