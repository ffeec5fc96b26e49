"""Builds the board and runs the loop; whatever ends it, the relay opens."""

from machine import PWM, Pin

# Again here and not only in boot.py: each layer must open the relay alone. The numbers are those of panchime_fw/pins.py.
relay = Pin(14, Pin.OUT, value=0)
try:
    from panchime_fw.start import build

    build().run()
finally:
    relay.value(0)
    PWM(Pin(20)).duty_u16(0)
