"""Which pins of a board can take a role, and the module of pin maps that the firmware carries."""

from panchime_wiring import data
from panchime_wiring.data import Table

COLOURS = ("led_red", "led_green", "led_blue")
ROLES = ("relay", "piezo", "button", "led", *COLOURS, "spi_sck", "spi_mosi", "spi_miso", "spi_cs", "i2c_sda", "i2c_scl")
NOT_WIRED = -1
ON_BUS = ("spi_sck", "spi_mosi", "spi_miso", "i2c_sda", "i2c_scl")


def on_header(board: Table) -> set[int]:
    """The chip's pins that the board brings out."""
    prefix = "GP" if board["header"]["pin_prefix"] == "GP" else ""
    names = [name.removeprefix(prefix) for name in board["header"]["left"] + board["header"]["right"]]
    return {int(name) for name in names if name.isdigit()}


def allowed(board: Table, role: str, bus: int) -> tuple[int | str, ...]:
    """The pins that can take a role on a bus (which counts for SPI and I2C lines only), in order."""
    chip = data.chip(board["chip"])
    free = on_header(board) & set(chip["gpio"])
    for group in chip["class"]:
        if ("led" if role in COLOURS else role) in group["forbids"]:
            free -= set(group["pins"])
    if role == "relay":
        free -= set(chip["reset"]["pull_up"]) | set(chip["reset"]["driven_high"])
    found: list[int | str] = sorted(free)
    if role in ON_BUS:
        kind, line = role.split("_")
        if bus not in chip[kind]["ids"]:
            return ()
        if not chip[kind].get("any"):
            found = [pin for pin in found if pin in chip[kind][str(bus)][line]]
    if role in COLOURS:
        found.append(NOT_WIRED)
    own = board["pins"]["led"]
    if role == "led" and own not in found and (own == "LED" or "on the board" in board["on_board_light"]):
        found.append(own)
    return tuple(found)


def _text(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def _tuple(values: tuple[int | str, ...]) -> str:
    inside = ", ".join(_text(value) for value in values)
    return f"({inside},)" if len(values) == 1 else f"({inside})"


def maps_module() -> str:
    """The text of firmware/panchime_fw/pins.py."""
    lines = [
        '"""Which pin does what on each board. Made by tools/build_wiring.py from wiring/boards: change it there."""',
        "",
        "# How MicroPython's name of the board begins, spaces and hyphens taken out, and the board's name here.",
        "MACHINES = (",
        *(f'    ("{data.board(name)["machine"]}", "{name}"),' for name in data.BOARDS),
        ")",
        "# A computer's MicroPython is the virtual board, wired as this one.",
        'DESKTOP_BOARD = "pico"',
        "MAPS: dict = {",
    ]
    for name in data.BOARDS:
        lines.append(f'    "{name}": {{')
        lines += [f'        "{role}": {_text(value)},' for role, value in data.board(name)["pins"].items()]
        lines.append("    },")
    return "\n".join([*lines, "}"]) + "\n"


def choices_module() -> str:
    """The text of firmware/panchime_fw/pin_choices.py."""
    lines = [
        '"""Which pins a person may choose on each board. Made by tools/build_wiring.py from wiring/chips: change it there.',
        "",
        "For a line of a bus: the bus, then its pins. The relay is missing: boot.py must know its pin before any file is read.",
        '"""',
        "",
        "CHOICES: dict = {",
    ]
    for name in data.BOARDS:
        board = data.board(name)
        chip = data.chip(board["chip"])
        lines.append(f'    "{name}": {{')
        for role in ROLES:
            if role == "relay":
                continue
            buses = chip[role[:3]]["ids"] if role in ON_BUS else []
            text = _buses([(bus, allowed(board, role, bus)) for bus in buses]) if buses else _tuple(allowed(board, role, 0))
            lines += _wrapped(f'        "{role}": {text},')
        lines.append("    },")
    return "\n".join([*lines, "}"]) + "\n"


def _buses(choices: list[tuple[int, tuple[int | str, ...]]]) -> str:
    inside = ", ".join(f"({bus}, {_tuple(pins)})" for bus, pins in choices)
    return f"({inside},)" if len(choices) == 1 else f"({inside})"


def _wrapped(line: str, width: int = 120) -> list[str]:
    """A line of the module, broken at commas where it is too long."""
    lines = []
    indent = " " * 12
    while len(line) > width:
        at = line.rfind(", ", 0, width) + 1
        lines.append(line[:at])
        line = indent + line[at + 1 :]
    return [*lines, line]
