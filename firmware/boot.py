"""Runs at every start, before anything else, and also when a tool attaches with a soft reset, which leaves pins as they were.

The relay pin is written out here so that nothing but `machine` has to be readable: half an installation must still open it.
"""

from machine import Pin

Pin(14, Pin.OUT, value=0)
