"""The only module that knows the hardware: pins, buses, PWM, watchdog, clock, flash folder and serial port."""

import os
import select
import sys
import time
from binascii import hexlify

import machine

from . import own_pins, relay_drive

SPI_HZ = 1000000  # every amplifier here allows 5 MHz; long jumper wires like it slower
# Half of full swing is the loudest that a square wave makes a piezo.
TONE_DUTY_U16 = 32768
# Any pitch will do for a silent start; on an ESP32 a PWM that is told nothing sounds at once.
SILENT_HZ = 1000
WATCHDOG_MS = 5000
BOARD_PLATFORMS = ("rp2", "esp32")
MAINTENANCE_FILE = "maintenance"  # main.py looks for it
# A pass that had nothing to do waits this long: short against the shortest tone, long enough to keep the board cool.
IDLE_MS = 4


def model_name() -> str:
    """What the chip's own MicroPython calls the board; its desktop build is no board at all."""
    if sys.platform not in BOARD_PLATFORMS:
        return "virtual board"
    return sys.implementation._machine.replace(",", " ")


def own_name() -> str:
    """Which of the boards in pins.py this is, "" for none of them."""
    return own_pins.board_of(sys.platform, getattr(sys.implementation, "_machine", ""))


class _SpiBus:
    """Chip select low, bytes, chip select high."""

    def __init__(self, decoder, frame: bytearray, pins) -> None:
        self._setup = decoder.setup
        self._frame = frame
        self._select = machine.Pin(pins["spi_cs"], machine.Pin.OUT, value=1)
        self._spi = machine.SPI(
            pins["spi_id"],
            baudrate=SPI_HZ,
            polarity=decoder.SPI_POLARITY,
            phase=decoder.SPI_PHASE,
            sck=machine.Pin(pins["spi_sck"]),
            mosi=machine.Pin(pins["spi_mosi"]),
            miso=machine.Pin(pins["spi_miso"]),
        )

    def set_up(self) -> None:
        for register, content in self._setup:
            self._select.value(0)
            self._spi.write(bytes((register,)) + content)
            self._select.value(1)

    def read(self) -> None:
        self.read_into(self._frame)

    def read_into(self, buffer: bytearray) -> None:
        self._select.value(0)
        self._spi.readinto(buffer)
        self._select.value(1)


class _I2cBus:
    """One register after another into its place of the frame. Raises OSError when nobody answers."""

    def __init__(self, decoder, frame: bytearray, pins) -> None:
        self._setup = decoder.setup
        self._addresses = decoder.I2C_ADDRESSES
        self._address = self._addresses[0]
        self._i2c = machine.I2C(
            pins["i2c_id"], scl=machine.Pin(pins["i2c_scl"]), sda=machine.Pin(pins["i2c_sda"]), freq=decoder.I2C_HZ
        )
        # Memoryviews made once, so that a reading allocates nothing.
        self._parts = [
            (register, memoryview(frame)[offset : offset + length]) for register, offset, length in decoder.READS
        ]

    def set_up(self) -> None:
        for address in self._i2c.scan():
            if address in self._addresses:
                self._address = address
        for register, content in self._setup:
            self._i2c.writeto_mem(self._address, register, content)

    def read_into(self, buffer: bytearray) -> None:
        """I2C chips have an identity and need no longer look."""
        self.read()

    def read(self) -> None:
        for register, part in self._parts:
            self._i2c.readfrom_mem_into(self._address, register, part)


class _NoPin:
    """Where a colour of the light has no pin."""

    def value(self, level: int) -> None:
        pass


def _colour_pin(number: int):
    return _NoPin() if number == own_pins.NOT_WIRED else machine.Pin(number, machine.Pin.OUT, value=0)


class Board:
    # One piece a pass: what the USB port takes at once when the host reads (its buffer has 256 bytes).
    WRITE_SLICE = 256

    def __init__(self, decoder, settings) -> None:
        self.name = own_name()
        self.pins = pins = own_pins.map_of(self.name, settings.document["pins"])
        # The level goes with the direction, so that the pin is never high for an instant.
        relay_pin = machine.Pin(pins["relay"], machine.Pin.OUT, value=0)
        self._relay = relay_drive.drive_of(settings.document["relay_drive"], relay_pin)
        self._led = machine.Pin(pins["led"], machine.Pin.OUT, value=0)
        self._red = _colour_pin(pins["led_red"])
        self._green = _colour_pin(pins["led_green"])
        self._blue = _colour_pin(pins["led_blue"])
        self._button = machine.Pin(pins["button"], machine.Pin.IN, machine.Pin.PULL_UP)
        self._piezo = machine.PWM(machine.Pin(pins["piezo"]), freq=SILENT_HZ, duty_u16=0)
        self._watchdog: machine.WDT | None = None
        self._clock = machine.RTC()
        self.set_amplifier(decoder)
        self._input = sys.stdin.buffer
        self._output = sys.stdout.buffer
        self._readable = select.poll()
        self._readable.register(sys.stdin, select.POLLIN)
        self._writable = select.poll()
        self._writable.register(sys.stdout, select.POLLOUT)
        self.model = model_name()
        self.serial = hexlify(machine.unique_id()).decode().upper()

    # Amplifier.

    def set_amplifier(self, decoder) -> None:
        """Takes the bus for another chip, at power-on and when the settings name another."""
        self.frame = bytearray(decoder.FRAME_BYTES)
        make = _SpiBus if decoder.BUS == "spi" else _I2cBus
        self._bus: _SpiBus | _I2cBus = make(decoder, self.frame, self.pins)
        self.set_up_amplifier()

    def read_look(self, look: bytearray) -> bytearray:
        """As `read_frame`, with the bytes that follow the frame, which stay in `look`. Only for a chip on SPI."""
        self._bus.read_into(look)
        for index in range(len(self.frame)):
            self.frame[index] = look[index]
        return self.frame

    def set_up_amplifier(self) -> None:
        """Writes the chip's settings: at power-on, and again when it has lost them."""
        try:
            self._bus.set_up()
        except OSError:
            pass  # nobody answers; the first frame will say so

    def read_frame(self) -> bytearray:
        """The amplifier's frame, all 0xFF when the bus fails. Allocates nothing."""
        try:
            self._bus.read()
        except OSError:
            self._blank_frame()
        return self.frame

    def _blank_frame(self) -> None:
        for index in range(len(self.frame)):
            self.frame[index] = 0xFF

    # Relay, sound, light, button.

    def relay(self, closed) -> None:
        self._relay.order(closed, self.ticks_ms())

    def relay_step(self, now_ms: int) -> None:
        """Once a pass: the movement that keeps a relay of the moving drive closed."""
        self._relay.step(now_ms)

    def relay_is_closed(self) -> bool:
        """What the pin really is."""
        return self._relay.is_closed()

    def tone(self, hz: int) -> None:
        """Sounds a pitch, or silence for 0."""
        if hz:
            self._piezo.freq(hz)
            self._piezo.duty_u16(TONE_DUTY_U16)
        else:
            self._piezo.duty_u16(0)

    def led(self, colour: int) -> None:
        """The board's own light is on for any colour but 0; light.py has the bits of the three pins."""
        self._led.value(1 if colour else 0)
        self._red.value(colour & 1)
        self._green.value(colour >> 1 & 1)
        self._blue.value(colour >> 2 & 1)

    def button_down(self) -> bool:
        return self._button.value() == 0

    # Watchdog and time.

    def arm_watchdog(self) -> None:
        """From now on the board resets when it is not fed for 5 s; on this chip that cannot be undone."""
        if self._watchdog is None:
            self._watchdog = machine.WDT(timeout=WATCHDOG_MS)

    def feed_watchdog(self) -> None:
        if self._watchdog is not None:
            self._watchdog.feed()

    def ticks_ms(self) -> int:
        return int(time.ticks_ms())  # type: ignore[call-overload]

    def idle(self) -> None:
        time.sleep_ms(IDLE_MS)

    def date_time(self) -> tuple:
        """(year, month, day, hours, minutes, seconds); UTC once the host has set it."""
        year, month, day, _, hour, minute, second, _ = self._clock.datetime()
        return (year, month, day, hour, minute, second)

    def set_date_time(self, parts: tuple) -> None:
        year, month, day, hour, minute, second = parts
        self._clock.datetime((year, month, day, 0, hour, minute, second, 0))

    # Flash folder and restart.

    def enter_maintenance(self) -> None:
        """Restarts into the prompt, relay open and no watchdog: the one way to install, since an armed watchdog stays armed."""
        with open(MAINTENANCE_FILE, "w") as file:
            file.write("1")
        self.relay(False)
        machine.reset()

    def flash_bytes(self) -> tuple:
        """(used, free) bytes of the flash folder."""
        block, _, blocks, free = os.statvfs(".")[:4]
        return ((blocks - free) * block, free * block)

    # Serial port.

    def serial_readable(self) -> bool:
        # ipoll gives no list, so asking allocates nothing.
        for _ in self._readable.ipoll(0):
            return True
        return False

    def serial_read(self, one_byte) -> bool:
        """One byte into the buffer: reading more at once would wait for all of it."""
        return bool(self._input.readinto(one_byte, 1))

    def serial_writable(self) -> bool:
        for _ in self._writable.ipoll(0):
            return True
        return False

    def serial_write(self, part) -> int:
        """Bytes taken; a host that has gone away takes none."""
        try:
            return self._output.write(part) or 0
        except OSError:
            return len(part)
