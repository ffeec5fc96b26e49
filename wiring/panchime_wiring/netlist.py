"""A netlist: parts with their pins, and nets that join the pins. Composed from a board, an amplifier and a relay drive."""

from dataclasses import dataclass, field

from panchime_wiring import data
from panchime_wiring.data import Table

# What a pin is to its net. "out" drives it both ways, "open" only downwards (a switch, an open drain), "power" feeds it.
PASSIVE, IN, OUT, OPEN, POWER, SUPPLY = "passive", "in", "out", "open", "power", "supply"

KINDS: dict[str, dict[str, str]] = {
    "resistor": {"1": PASSIVE, "2": PASSIVE},
    "capacitor": {"1": PASSIVE, "2": PASSIVE},
    "fuse": {"1": PASSIVE, "2": PASSIVE},
    "piezo": {"1": PASSIVE, "2": PASSIVE},
    "led-rgb": {"R": PASSIVE, "G": PASSIVE, "B": PASSIVE, "K": PASSIVE},
    "diode": {"A": PASSIVE, "K": PASSIVE},
    "led": {"A": PASSIVE, "K": PASSIVE},
    "npn": {"B": PASSIVE, "C": OPEN, "E": PASSIVE},
    "nmos": {"G": PASSIVE, "D": OPEN, "S": PASSIVE},
    "button": {"1": OPEN, "2": PASSIVE},
    "terminal": {"+": PASSIVE, "-": PASSIVE},
    "thermocouple": {"+": OUT, "-": OUT},
}
BOARD_ROLES = {
    "relay": OUT, "piezo": OUT, "led": OUT, "led_red": OUT, "led_green": OUT, "led_blue": OUT, "button": IN,
    "spi_sck": OUT, "spi_mosi": OUT, "spi_cs": OUT, "spi_miso": IN, "i2c_sda": OPEN, "i2c_scl": OPEN,
}  # fmt: skip
AMPLIFIER_ROLES = {
    "supply": SUPPLY, "ground": PASSIVE, "spi_sck": IN, "spi_cs": IN, "spi_mosi": IN, "spi_miso": OUT,
    "i2c_scl": IN, "i2c_sda": OPEN,
}  # fmt: skip


@dataclass
class Part:
    """A part: `pins` maps a pin's name to what it is to its net, `facts` is everything else that the data say of it."""

    ref: str
    kind: str
    pins: dict[str, str]
    value: float = 0.0
    series: bool = False
    where: str = ""
    stock: str = ""
    facts: Table = field(default_factory=dict)


@dataclass
class Netlist:
    """`nets` maps a net's name to its pins, each written `part.pin`."""

    board: str
    amplifier: str
    drive: str
    parts: dict[str, Part]
    nets: dict[str, list[str]]
    pin_map: Table

    def net_of(self, pin: str) -> str:
        """The net that a pin lies on; "" when on none."""
        return next((name for name, pins in self.nets.items() if pin in pins), "")

    def part_of(self, pin: str) -> Part:
        return self.parts[pin.split(".", 1)[0]]

    def pin_kind(self, pin: str) -> str:
        """What a pin is to its net."""
        return self.part_of(pin).pins[pin.split(".", 1)[1]]

    def other_net(self, part: Part, net: str) -> str:
        """The net at the other end of a part with two pins."""
        ends = [self.net_of(f"{part.ref}.{pin}") for pin in part.pins]
        return ends[1] if ends[0] == net else ends[0]

    def on(self, net: str, kind: str) -> list[Part]:
        """The parts of a kind that have a pin on a net."""
        return [self.part_of(pin) for pin in self.nets.get(net, []) if self.part_of(pin).kind == kind]

    def group(self, net: str) -> set[str]:
        """The nets that carry the same signal: joined by resistors or fuses in series."""
        found, waiting = set(), [net]
        while waiting:
            name = waiting.pop()
            if not name or name in found:
                continue
            found.add(name)
            for pin in self.nets[name]:
                if self.part_of(pin).series:
                    waiting.append(self.other_net(self.part_of(pin), name))
        return found


def own_light(board: Table) -> bool:
    """True when the board carries the light that its pin map names."""
    named: str = board["on_board_light"]
    return bool(board["pins"]["led"] == "LED") or named.startswith(f"GP{board['pins']['led']},")


def circuits(board: Table, amplifier: Table, drive: str, colours: bool) -> list[str]:
    """Which files of `circuit/` make up a wiring."""
    found = ["common", amplifier["bus"], f"relay-{drive}"]
    if any(pin["role"] == "spi_mosi" for pin in amplifier["pins"]):
        found.append("spi-write")
    if not own_light(board):
        found.append("light")
    if colours:
        found.append("colours")
    return found


def compose(board_name: str, amplifier_name: str, drive: str = "level", colours: bool = False) -> Netlist:
    """The netlist of a board with an amplifier and a relay drive, and with a light of three colours where one is wanted."""
    board, amplifier = data.board(board_name), data.amplifier(amplifier_name)
    parts = {
        "U1": Part("U1", "board", {"logic": POWER, "coil": POWER, "ground": POWER}, stock="board", facts=board),
        "U2": Part("U2", "amplifier", {"T+": IN, "T-": IN}, stock="amplifier", facts=amplifier),
    }
    for pin in amplifier["pins"]:
        parts["U2"].pins[pin["role"]] = AMPLIFIER_ROLES[pin["role"]]
    nets: dict[str, list[str]] = {}
    for name in circuits(board, amplifier, drive, colours):
        table = data.circuit(name)
        for row in table["part"]:
            parts[row["ref"]] = Part(
                row["ref"], row["kind"], dict(KINDS[row["kind"]]), float(row.get("value", 0)), row.get("series", False),
                row["where"], row["stock"], row,
            )  # fmt: skip
        for net, pins in table["nets"].items():
            nets.setdefault(net, []).extend(pins)
    if amplifier["input_nf"]:
        parts["C2"] = Part(
            "C2", "capacitor", dict(KINDS["capacitor"]), amplifier["input_nf"] * 1e-9, stock="capacitor-probe",
            where="across the probe's terminals, unless the breakout carries it",
        )  # fmt: skip
        nets["probe +"].append("C2.1")
        nets["probe -"].append("C2.2")
    for pins in nets.values():
        for pin in pins:
            ref, role = pin.split(".", 1)
            if ref == "U1" and role in BOARD_ROLES:
                parts["U1"].pins[role] = BOARD_ROLES[role]
    return Netlist(board_name, amplifier_name, drive, parts, nets, dict(board["pins"]))
