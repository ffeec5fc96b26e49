"""How the relay pin is driven: by its level, or by movement, for the driver that opens when the pin stands still."""

from .ticks import ticks_diff

LEVEL = "level"
MOVING = "moving"
KINDS = (LEVEL, MOVING)
# An order to close holds for this long: the loop gives it anew with every sample, four times a second, and a loop that goes
# round without sampling must not hold the relay. As long as the cutoff lets a sample be late.
ORDER_MS = 1300


def drive_of(kind: str, pin):
    """The drive of that kind on a pin, which gives value() and value(level)."""
    return Moving(pin) if kind == MOVING else Level(pin)


class Level:
    """High is closed."""

    def __init__(self, pin) -> None:
        self._pin = pin

    def order(self, closed, now_ms: int) -> None:
        self._pin.value(1 if closed else 0)

    def step(self, now_ms: int) -> None:
        pass

    def is_closed(self) -> bool:
        return self._pin.value() == 1


class Moving:
    """Each step while closed turns the pin over. A timer or a PWM would go on when the program hangs: only steps do."""

    def __init__(self, pin) -> None:
        self._pin = pin
        self._closed = False
        self._ordered_ms = 0
        self._level = 0

    def order(self, closed, now_ms: int) -> None:
        self._ordered_ms = now_ms
        self._closed = bool(closed)
        if not closed:
            self._set(0)

    def step(self, now_ms: int) -> None:
        if not self._closed:
            return
        if ticks_diff(now_ms, self._ordered_ms) > ORDER_MS:
            self._set(0)
        else:
            self._set(1 - self._level)

    def is_closed(self) -> bool:
        """Whether the pin is where the last step put it, while closed; while open, whether it is high in spite of that."""
        if self._closed:
            return self._pin.value() == self._level
        return self._pin.value() == 1

    def _set(self, level: int) -> None:
        self._level = level
        self._pin.value(level)
