"""The board's thirty pins: who drives each, and at which level it stands."""

from dataclasses import dataclass

PINS = 30
IN, OUT, OPEN_DRAIN = 0, 1, 2
PULL_UP, PULL_DOWN = 1, 2


@dataclass(frozen=True)
class Wiring:
    """Which pin does what (GPIO numbers). The defaults are the firmware's."""

    relay: int = 14
    piezo: int = 20
    button: int = 13
    led: int = 25
    chip_select: int = 17
    spi_bus: int = 0
    i2c_bus: int = 0


class Pins:
    """Directions, output levels, pulls, and what the world outside drives."""

    def __init__(self, outside_pulls: dict[int, int] | None = None) -> None:
        """``outside_pulls``: resistors on the wiring, pin to level; the relay's pull-down is one."""
        self._outside_pulls = dict(outside_pulls or {})
        self._driven: dict[int, int] = {}
        self.reset()

    def reset(self) -> None:
        """A hardware reset: every pin an input with its pull-down on, as RP2040 pads wake up."""
        self.mode = [IN] * PINS
        self.pull = [PULL_DOWN] * PINS
        self.latch = [0] * PINS

    def configure(self, pin: int, mode: int, pull: int, level: int | None) -> None:
        """What `Pin(...)` does: level first, then direction."""
        if level is not None:
            self.latch[pin] = level
        self.mode[pin] = mode
        self.pull[pin] = pull

    def drive(self, pin: int, level: int | None) -> None:
        """The world outside drives a pin (None: lets go)."""
        if level is None:
            self._driven.pop(pin, None)
        else:
            self._driven[pin] = level

    def level(self, pin: int) -> int:
        """The voltage on the pin as a logic level."""
        if self.mode[pin] == OUT:
            return self.latch[pin]
        if self.mode[pin] == OPEN_DRAIN and not self.latch[pin]:
            return 0
        if pin in self._driven:
            return self._driven[pin]
        if self.pull[pin] == PULL_UP:
            return 1
        return self._outside_pulls.get(pin, 0)

    def levels(self) -> int:
        """All levels as one number, pin n in bit n."""
        return sum(self.level(pin) << pin for pin in range(PINS))
