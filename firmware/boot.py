"""Runs at every start, before anything else, and also when a tool attaches with a soft reset, which leaves pins as they were.

The relay pins are written out here so that nothing but `machine` has to be readable: half an installation must still open it.
A board that is not in the list is left alone: nobody knows what hangs on its pins, and main.py does not run there.
"""

import os
import sys

from machine import Pin

# How MicroPython's name of the board begins, spaces and hyphens taken out, and the relay's pin. main.py has the same lines.
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

name = DESKTOP[0] if sys.platform in DESKTOP else os.uname().machine.replace(" ", "").replace("-", "")
for board, pin in RELAYS:
    if name.startswith(board):
        Pin(pin, Pin.OUT, value=0)
