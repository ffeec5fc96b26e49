"""The board's `machine` module, as far as the firmware uses it; everything it does is told to the virtual world."""

import os

import world_link as _link

PWRON_RESET = 1
WDT_RESET = 3

_reset_cause = PWRON_RESET


def _pin_number(name):
    if name == "LED":
        return 25
    if isinstance(name, Pin):
        return name._number
    if isinstance(name, int) and 0 <= name <= 29:
        return name
    raise ValueError("unknown pin")


class Pin:
    IN = 0
    OUT = 1
    OPEN_DRAIN = 2
    PULL_UP = 1
    PULL_DOWN = 2

    def __init__(self, name, mode=-1, pull=-1, value=None):
        self._number = _pin_number(name)
        self._bit = 1 << self._number
        self._out = False
        if mode != -1:
            self.init(mode, pull, value)

    def init(self, mode=-1, pull=-1, value=None):
        if mode == -1:
            return
        self._out = mode != Pin.IN
        pull = 0 if pull is None or pull < 0 else pull
        # The level goes in before the direction, as on the board, so that no wrong level shows for a moment.
        level = 2 if value is None else 1 if value else 0
        if self._out and level != 2:
            self._keep(level)
        _link.look()
        # An answer is waited for: the next look at the pin must show what its new pull makes of it.
        _link.exchange(_link.PIN_MODE, self._number, mode | (pull << 8), level)

    def _keep(self, level):
        if level:
            _link.levels |= self._bit
        else:
            _link.levels &= ~self._bit

    def value(self, level=None):
        _link.look()
        if level is None:
            return 1 if _link.levels & self._bit else 0
        self._keep(level)
        _link.post(_link.PIN_LEVEL, self._number, 1 if level else 0, 0)
        return None

    def __call__(self, level=None):
        return self.value(level)

    def on(self):
        self.value(1)

    def off(self):
        self.value(0)

    high = on
    low = off

    def toggle(self):
        self.value(0 if _link.levels & self._bit else 1)

    def __repr__(self):
        return "Pin(GPIO%d)" % self._number


class PWM:
    def __init__(self, pin, freq=0, duty_u16=None):
        self._number = _pin_number(pin)
        self._hz = freq
        self._duty = 0 if duty_u16 is None else duty_u16
        if freq or self._duty:
            self._tell()

    def _tell(self):
        _link.look()
        _link.post(_link.PWM, self._number, self._hz, self._duty)

    def init(self, freq=None, duty_u16=None):
        if freq is not None:
            self._hz = freq
        if duty_u16 is not None:
            self._duty = duty_u16
        self._tell()

    def freq(self, hz=None):
        if hz is None:
            return self._hz
        if not 7 < hz <= 62500000:  # what an RP2040's divider reaches at 125 MHz (from memory)
            raise ValueError("freq out of range")
        self._hz = hz
        self._tell()
        return None

    def duty_u16(self, duty=None):
        if duty is None:
            return self._duty
        self._duty = duty
        self._tell()
        return None

    def duty_ns(self, ns=None):
        if ns is None:
            return self._duty * 1000000000 // 65535 // self._hz if self._hz else 0
        self.duty_u16(min(65535, ns * self._hz // 1000 * 65535 // 1000000))
        return None

    def deinit(self):
        self._duty = 0
        self._tell()


class SPI:
    MSB = 0
    LSB = 1

    def __init__(self, bus, baudrate=1000000, polarity=0, phase=0, bits=8, firstbit=0, sck=None, mosi=None, miso=None):
        self._bus = bus
        self.init(baudrate, polarity, phase)

    def init(self, baudrate=1000000, polarity=0, phase=0, bits=8, firstbit=0):
        self._mode = (1 if polarity else 0) << 1 | (1 if phase else 0)
        self._byte_us = 8000000 // baudrate + 1

    def deinit(self):
        pass

    def _move(self, out, fill, into):
        size = len(into) if out is None else len(out)
        done = 0
        while done < size:
            part = size - done
            if part > _link.PAYLOAD_BYTES:
                part = _link.PAYLOAD_BYTES
            if out is None:
                _link.put_payload(_EMPTY[fill & 1 and 1], part)
            elif done:
                _link.put_payload(memoryview(out)[done:], part)
            else:
                _link.put_payload(out, part)
            _link.pass_us(25 + part * self._byte_us)
            _link.exchange(_link.SPI, self._bus, self._mode, 0)
            if into is not None:
                _link.take_payload(into, done, part)
            done += part

    def read(self, size, fill=0):
        into = bytearray(size)
        self._move(None, fill, into)
        return bytes(into)

    def readinto(self, into, fill=0):
        self._move(None, fill, into)

    def write(self, out):
        self._move(out, 0, None)

    def write_readinto(self, out, into):
        if len(out) != len(into):
            raise ValueError("buffers must be the same length")
        self._move(out, 0, into)


_EMPTY = (bytes(_link.PAYLOAD_BYTES), b"\xff" * _link.PAYLOAD_BYTES)


class I2C:
    def __init__(self, bus, scl=None, sda=None, freq=400000, timeout=50000):
        self._bus = bus
        self._byte_us = 9000000 // freq + 1

    def _check(self, status):
        if status:
            raise OSError(5)  # EIO: nobody acknowledged, as on the board

    def scan(self):
        found = []
        for address in range(8, 120):
            _link.put_payload(b"", 0)
            if _link.exchange(_link.I2C_WRITE, self._bus, address, 0) == 0:
                found.append(address)
        return found

    def writeto(self, address, out, stop=True):
        _link.put_payload(out, len(out))
        _link.pass_us(25 + (len(out) + 1) * self._byte_us)
        self._check(_link.exchange(_link.I2C_WRITE, self._bus, address, len(out)))
        return len(out)

    def readfrom_into(self, address, into, stop=True):
        _link.put_payload(b"", 0)
        _link.pass_us(25 + (len(into) + 1) * self._byte_us)
        self._check(_link.exchange(_link.I2C_READ, self._bus, address, len(into)))
        _link.take_payload(into, 0, len(into))

    def readfrom(self, address, size, stop=True):
        into = bytearray(size)
        self.readfrom_into(address, into)
        return bytes(into)

    def readfrom_mem_into(self, address, register, into, addrsize=8):
        self._register(address, register)
        self.readfrom_into(address, into)

    def readfrom_mem(self, address, register, size, addrsize=8):
        into = bytearray(size)
        self.readfrom_mem_into(address, register, into)
        return bytes(into)

    def writeto_mem(self, address, register, out, addrsize=8):
        self.writeto(address, bytes([register]) + bytes(out))

    def _register(self, address, register):
        _REGISTER[0] = register
        self.writeto(address, _REGISTER)


_REGISTER = bytearray(1)
SoftI2C = I2C
SoftSPI = SPI


class WDT:
    def __init__(self, id=0, timeout=5000):
        if not 1 <= timeout <= 8388:  # RP2040: a 24-bit counter that loses two a microsecond (from memory)
            raise ValueError("timeout exceeds 8388")
        _link.look()
        _link.post(_link.WATCHDOG_START, timeout, 0, 0)

    def feed(self):
        _link.look()
        _link.post(_link.WATCHDOG_FEED, 0, 0, 0)


class RTC:
    """The real-time clock. A Pico has no battery: after power-up it stands at the start of 2021."""

    def datetime(self, fields=None):
        import time

        if fields is None:
            year, month, day, hour, minute, second, weekday = time.gmtime(_link.clock_s())[:7]
            return (year, month, day, weekday, hour, minute, second, 0)
        year, month, day, _, hour, minute, second = fields[:7]
        _link.set_clock(int(_epoch_s(year, month, day, hour, minute, second)))
        return None


def _epoch_s(year, month, day, hour, minute, second):
    """Seconds since 1970 of a UTC date, by counting days from March so that the leap day comes last."""
    if month < 3:
        year -= 1
        month += 12
    days = 365 * year + year // 4 - year // 100 + year // 400 + (153 * (month - 3) + 2) // 5 + day - 719469
    return ((days * 24 + hour) * 60 + minute) * 60 + second


def unique_id():
    text = os.getenv("PANCHIME_BOARD_ID")
    return bytes(int(text[i : i + 2], 16) for i in range(0, len(text), 2))


def reset():
    _link.exchange(_link.RESET, 0, 0, 0)


def soft_reset():
    raise SystemExit


def reset_cause():
    return _reset_cause


def idle():
    _link.look()


def lightsleep(ms=0):
    _link.sleep_ms(ms)


def freq(hz=None):
    return 125000000


def disable_irq():
    return 0


def enable_irq(state):
    pass
