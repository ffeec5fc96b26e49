"""A person's own pins: the part of the settings that moves roles to other pins of one board.

`{"board": "pico", "piezo": 15}` moves the piezo and leaves the rest. The relay cannot be moved.
"""

from . import pins

# A board has either bus, never both: their lines may share pins.
_SPI = ("spi_sck", "spi_mosi", "spi_miso", "spi_cs")
_I2C = ("i2c_sda", "i2c_scl")
_REST = ("relay", "piezo", "button", "led", "led_red", "led_green", "led_blue")
NOT_WIRED = -1  # the pin of a colour that has none


def board_of(platform: str, machine: str) -> str:
    """The board's name, "" for one that is not known. `machine` is MicroPython's own name of it."""
    if platform in ("linux", "darwin", "win32"):
        return pins.DESKTOP_BOARD
    bare = machine.replace(" ", "").replace("-", "")
    for begins, name in pins.MACHINES:
        if bare.startswith(begins):
            return name
    return ""


def map_of(board: str, part) -> dict:
    """The board's pins, with a person's own where `part` was made for this board."""
    found = dict(pins.MAPS[board])
    if part is not None and part["board"] == board:
        found.update(part)
    return found


def check(part) -> list:
    """Every mistake as a sentence; `None` is no own pins at all."""
    if part is None:
        return []
    if not isinstance(part, dict) or not isinstance(part.get("board"), str) or part["board"] not in pins.MAPS:
        return ["pins: 'board' must be one of: " + ", ".join(sorted(pins.MAPS))]
    board = part["board"]
    # Read only here: a board with the drawings' wiring has no use for the long lists.
    from .pin_choices import CHOICES

    choices: dict = CHOICES[board]
    merged = map_of(board, part)
    faults = []
    for role in sorted(part):
        if role == "board":
            continue
        if role == "relay":
            faults.append("pins: the relay's pin cannot be moved; it is opened before any setting is read")
        elif role in ("spi_id", "i2c_id"):
            lines = choices["spi_sck" if role == "spi_id" else "i2c_sda"]
            if not _is_pin(part[role]) or part[role] not in [bus for bus, _ in lines]:
                faults.append("pins: %s: there is no bus %s" % (role, part[role]))
        elif role not in choices:
            faults.append("pins: '%s' is not a role; known are: %s" % (role, ", ".join(sorted(choices))))
    for role in sorted(choices) if not faults else ():
        may = _choices_of(choices, role, merged)
        if not _is_pin(merged[role]) or merged[role] not in may:
            words = ", ".join([str(pin) for pin in may])
            faults.append("pins: %s cannot be pin %s; it may be: %s" % (role, merged[role], words))
    return faults or _twice(merged)


def _choices_of(choices, role: str, merged) -> tuple:
    if role == "spi_cs" or role in _REST:
        return choices[role]
    bus = merged["spi_id" if role in _SPI else "i2c_id"]
    for number, found in choices[role]:
        if number == bus:
            return found
    return ()


def _is_pin(value) -> bool:
    return value == "LED" or (isinstance(value, int) and not isinstance(value, bool))


def _twice(merged) -> list:
    for lines in (_SPI, _I2C):
        used: dict = {}
        for role in _REST + lines:
            pin = merged[role]
            if pin == NOT_WIRED:
                continue
            if pin in used:
                return ["pins: pin %s is %s and %s at once" % (pin, used[pin], role)]
            used[pin] = role
    return []
