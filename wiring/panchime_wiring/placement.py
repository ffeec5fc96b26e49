"""Where the parts of a netlist sit on the breadboard, and what the breadboard then joins."""

from dataclasses import dataclass

from panchime_wiring import data
from panchime_wiring.netlist import Netlist


@dataclass(frozen=True)
class Wire:
    """A wire of a net between two ends: holes, or `U1.role` for a pin of the board."""

    net: str
    ends: tuple[str, str]


@dataclass(frozen=True)
class Placement:
    """`pins` maps `part.pin` to its hole; `spare` are holes taken by legs that the netlist does not know."""

    pins: dict[str, str]
    spare: dict[str, list[str]]
    wires: tuple[Wire, ...]


def place(netlist: Netlist) -> Placement:
    """The layout of `breadboard.toml` for a netlist with the plain relay driver."""
    table = data.read(".", "breadboard")
    amplifier = netlist.parts["U2"].facts
    pins = {
        f"U2.{pin['role']}": f"{table['amplifier_row']}{table['amplifier_column'] + index}"
        for index, pin in enumerate(amplifier["pins"])
    }
    for ref, holes in {**table["parts"], **table[amplifier["bus"]]}.items():
        if ref in netlist.parts:
            pins.update({f"{ref}.{pin}": hole for pin, hole in holes.items()})
    wires = [
        Wire(row["net"], tuple(row["ends"])) for row in table["wire"] if row.get("only_with", "U1") in netlist.parts
    ]  # fmt: skip
    for role, holes in table["board"].items():
        if role in netlist.parts["U1"].pins:
            wires += [Wire(netlist.net_of(f"U1.{role}"), (f"U1.{role}", hole)) for hole in holes]
    return Placement(pins, table["spare"], tuple(wires))


def strip(hole: str) -> str:
    """What a hole is joined to inside the breadboard: its rail, or the five holes of its column on its side of the middle."""
    if hole[0] in "TB":
        return hole[:2]
    return f"{'upper' if hole[0] in 'abcde' else 'lower'} {hole[1:]}"


def joined(placement: Placement) -> list[set[str]]:
    """The groups of pins (`part.pin`) that the breadboard and its wires join."""
    groups: dict[str, set[str]] = {}
    same: dict[str, str] = {}

    def root(name: str) -> str:
        while same.setdefault(name, name) != name:
            name = same[name]
        return name

    for pin, hole in placement.pins.items():
        same[root(pin)] = root(strip(hole))
    for wire in placement.wires:
        first, second = (end if end.startswith("U1.") else strip(end) for end in wire.ends)
        same[root(first)] = root(second)
    for pin in [*placement.pins, *(end for wire in placement.wires for end in wire.ends if end.startswith("U1."))]:
        groups.setdefault(root(pin), set()).add(pin)
    return list(groups.values())


def all_holes(placement: Placement) -> list[str]:
    """Every hole that something sits in, each as often as it is taken."""
    holes = list(placement.pins.values()) + [hole for spare in placement.spare.values() for hole in spare]
    return holes + [end for wire in placement.wires for end in wire.ends if not end.startswith("U1.")]
