"""What every netlist must keep. Each rule is a function that answers sentences, one for each mistake; none when it is kept."""

from collections.abc import Callable

from panchime_wiring import data
from panchime_wiring.netlist import BOARD_ROLES, IN, OPEN, OUT, POWER, SUPPLY, Netlist

LOGIC_V = 3.3
# A leak of 120 uA (RP2350 erratum E9) over 4.7 kOhm is 0.56 V, under what switches an NPN stage on; an ESP32-S3 pin with
# 10 kOhm was measured at 0.9 V before its program ran (a user's report).
PULL_DOWN_HIGHEST_OHM = 4700
DECOUPLING_LOWEST_F = 100e-9
# Below this the lines still ring, above it they get slow (100 to 150 Ohm; the maker's evaluation design has 150).
BUS_SERIES_OHM = (47, 330)
PULL_UP_OHM = (1000, 47000)
# What a pin may be asked for in an instant: the RP2040's drive step at reset is 4 mA.
PIEZO_LOWEST_OHM = 470
# IEC 61140 calls up to 60 V DC extra-low; the circuit itself never has more than USB's 5.25 V.
HIGHEST_V = 5.25


def one_driver(netlist: Netlist) -> list[str]:
    """Each signal has exactly one driver, and each input one that drives it; an open drain may have company of its kind."""
    found = []
    seen: set[str] = set()
    for net in netlist.nets:
        if net in seen:
            continue
        group = netlist.group(net)
        seen |= group
        pins = [pin for name in sorted(group) for pin in netlist.nets[name]]
        kinds = [netlist.pin_kind(pin) for pin in pins]
        strong = [pin for pin, kind in zip(pins, kinds, strict=True) if kind in (OUT, POWER)]
        if len(strong) > 1:
            found.append(f"net '{net}' has {len(strong)} drivers: {', '.join(strong)}; keep one")
        elif strong and OPEN in kinds and netlist.pin_kind(strong[0]) == OUT:
            found.append(f"net '{net}' is driven by {strong[0]} and pulled down by another pin; keep one")
        elif (IN in kinds or SUPPLY in kinds) and not strong and OPEN not in kinds:
            found.append(f"net '{net}' has inputs and nothing that drives them")
    return found


def logic_voltage(netlist: Netlist) -> list[str]:
    """What speaks with the board is fed by 3.3 V, and no signal of the board meets 5 V."""
    found = []
    supply = netlist.net_of("U2.supply")
    if "U1.logic" not in netlist.nets.get(supply, []):
        found.append(f"the amplifier's supply is on net '{supply}'; it belongs on the board's 3.3 V")
    low, high = netlist.parts["U2"].facts["supply_v"]
    if not low <= LOGIC_V <= high:
        found.append(f"the amplifier takes {low} to {high} V, not 3.3 V")
    five = netlist.net_of("U1.coil")
    for role in BOARD_ROLES:
        if role not in netlist.parts["U1"].pins:
            continue
        for net in netlist.group(netlist.net_of(f"U1.{role}")):
            touching = [net, *(netlist.other_net(part, net) for part in netlist.on(net, "resistor"))]
            if five and five in touching:
                found.append(f"the board's {role} pin meets 5 V on net '{net}'; its pins take 3.3 V")
    return found


def decoupling(netlist: Netlist) -> list[str]:
    """A capacitor of 100 nF or more between the amplifier's supply and ground."""
    supply, ground = netlist.net_of("U2.supply"), netlist.net_of("U2.ground")
    for part in netlist.on(supply, "capacitor"):
        if netlist.other_net(part, supply) == ground and part.value >= DECOUPLING_LOWEST_F * 0.99:
            return []
    return ["no capacitor of 100 nF or more between the amplifier's supply and ground"]


def relay_pull_down(netlist: Netlist) -> list[str]:
    """4.7 kOhm or less from the relay pin itself to ground: a dead or resetting board means off."""
    net, ground = netlist.net_of("U1.relay"), netlist.net_of("U1.ground")
    for part in netlist.on(net, "resistor"):
        if not part.series and netlist.other_net(part, net) == ground and 0 < part.value <= PULL_DOWN_HIGHEST_OHM:
            return []
    return [f"no resistor of {PULL_DOWN_HIGHEST_OHM} Ohm or less from the relay pin to ground"]


def flyback(netlist: Netlist) -> list[str]:
    """A diode across the output, ring to plus: what is left of a coil's current has a way, and not through the transistor."""
    plus, minus = netlist.net_of("J1.+"), netlist.net_of("J1.-")
    for part in netlist.on(minus, "diode"):
        if netlist.net_of(f"{part.ref}.K") == plus and netlist.net_of(f"{part.ref}.A") == minus:
            return []
    return ["no diode across the output with its ring to plus"]


def no_pin_twice(netlist: Netlist) -> list[str]:
    """No pin of a part on two nets, and no pin of the chip in two roles."""
    found = []
    where: dict[str, str] = {}
    for net, pins in netlist.nets.items():
        for pin in pins:
            if pin in where:
                found.append(f"pin {pin} is on net '{where[pin]}' and again on '{net}'")
            where[pin] = net
    used: dict[object, str] = {}
    for role in BOARD_ROLES:
        if role not in netlist.parts["U1"].pins:
            continue
        number = netlist.pin_map[role]
        if number in used:
            found.append(f"{netlist.parts['U1'].facts['header']['pin_prefix']}{number} is {used[number]} and {role} at once")
        used[number] = role
    return found


def bus_series(netlist: Netlist) -> list[str]:
    """A resistor in series in each line of the bus, at the end that drives it."""
    found = []
    for role in ("spi_sck", "spi_cs", "spi_miso", "spi_mosi", "i2c_sda", "i2c_scl"):
        if role not in netlist.parts["U2"].pins:
            continue
        board_net, amplifier_net = netlist.net_of(f"U1.{role}"), netlist.net_of(f"U2.{role}")
        between = [
            part for part in netlist.on(board_net, "resistor")
            if part.series and netlist.other_net(part, board_net) == amplifier_net != board_net
        ]  # fmt: skip
        if not any(BUS_SERIES_OHM[0] <= part.value <= BUS_SERIES_OHM[1] for part in between):
            found.append(f"no resistor of {BUS_SERIES_OHM[0]} to {BUS_SERIES_OHM[1]} Ohm in series in {role}")
    return found


def bus_pulls(netlist: Netlist) -> list[str]:
    """Pull-ups to 3.3 V: of both lines of I2C, of select and data of SPI."""
    found = []
    logic = netlist.net_of("U1.logic")
    for role in ("spi_cs", "spi_miso", "i2c_sda", "i2c_scl"):
        if role not in netlist.parts["U2"].pins:
            continue
        nets = netlist.group(netlist.net_of(f"U2.{role}"))
        pulls = [
            part for net in nets for part in netlist.on(net, "resistor")
            if not part.series and netlist.other_net(part, net) == logic
        ]  # fmt: skip
        if not any(PULL_UP_OHM[0] <= part.value <= PULL_UP_OHM[1] for part in pulls):
            found.append(f"no pull-up of {PULL_UP_OHM[0]} to {PULL_UP_OHM[1]} Ohm to 3.3 V at {role}")
    return found


def button_pull(netlist: Netlist) -> list[str]:
    """The button goes to ground, and the pin has a pull-up of its own: a pull-down would meet erratum E9 of the RP2350."""
    net, ground = netlist.net_of("U1.button"), netlist.net_of("U1.ground")
    found = []
    if not any(netlist.other_net(part, net) == ground for part in netlist.on(net, "button")):
        found.append("the button does not join its pin to ground")
    chip = data.chip(netlist.parts["U1"].facts["chip"])
    for group in chip["class"]:
        if group["name"] == "input only" and netlist.pin_map["button"] in group["pins"]:
            found.append("the button's pin has no pull-up")
    return found


def insulated_probe(netlist: Netlist) -> list[str]:
    """The probe's bead touches no metal of its sheath."""
    if netlist.parts["U2"].facts["insulated_probe"] and not netlist.parts["TC1"].facts.get("insulated"):
        return [f"the probe must be insulated: {netlist.parts['U2'].facts['insulated_source']}"]
    return []


def relay_pin(netlist: Netlist) -> list[str]:
    """The relay's pin is low from power-on to the first line of boot.py."""
    chip = data.chip(netlist.parts["U1"].facts["chip"])
    number = netlist.pin_map["relay"]
    found = [
        f"{number} may not be the relay's pin ({group['name']}): {group['why']}"
        for group in chip["class"] if number in group["pins"] and "relay" in group["forbids"]
    ]  # fmt: skip
    for what in ("pull_up", "driven_high"):
        if number in chip["reset"][what]:
            found.append(f"{number} may not be the relay's pin: {what.replace('_', ' ')} at reset")
    return found


def pin_function(netlist: Netlist) -> list[str]:
    """Each pin can do what its role asks, and is on the board's header."""
    from panchime_wiring.pins import allowed

    board = netlist.parts["U1"].facts
    found = []
    for role in BOARD_ROLES:
        if role not in netlist.parts["U1"].pins:
            continue
        number = netlist.pin_map[role]
        bus = netlist.pin_map.get(role[:3] + "_id", 0)
        if number not in allowed(board, role, bus):
            found.append(f"{board['header']['pin_prefix']}{number} of {board['name']} cannot be {role}")
    return found


def piezo_current(netlist: Netlist) -> list[str]:
    """A resistor in series: a piezo is a capacitor, and each edge would ask the pin for all it has."""
    net = netlist.net_of("U1.piezo")
    series = [part for part in netlist.on(net, "resistor") if part.series and netlist.on(netlist.other_net(part, net), "piezo")]
    if any(part.value >= PIEZO_LOWEST_OHM for part in series):
        return []
    return [f"no resistor of {PIEZO_LOWEST_OHM} Ohm or more between the pin and the piezo"]


def low_voltage_output(netlist: Netlist) -> list[str]:
    """The drawing ends at the low-voltage control input of a listed switch; nothing here knows mains."""
    output = netlist.parts["J1"]
    if not output.facts.get("low_voltage_input") or output.facts.get("highest_v", 1e9) > HIGHEST_V:
        return ["the output must end at the low-voltage control input of a listed, enclosed, plug-in switch: see SAFETY.md"]
    return []


def nothing_loose(netlist: Netlist) -> list[str]:
    """Every pin of every part is on a net with another."""
    found = []
    for part in netlist.parts.values():
        for pin in part.pins:
            net = netlist.net_of(f"{part.ref}.{pin}")
            if len(netlist.nets.get(net, [])) < 2:
                found.append(f"pin {part.ref}.{pin} is joined to nothing")
    return found


RULES: dict[str, Callable[[Netlist], list[str]]] = {
    "one driver": one_driver,
    "3.3 V parts on 3.3 V": logic_voltage,
    "decoupling at the amplifier": decoupling,
    "relay pull-down": relay_pull_down,
    "flyback path": flyback,
    "no pin twice": no_pin_twice,
    "series resistors on the bus": bus_series,
    "pull-ups on the bus": bus_pulls,
    "the button's pull": button_pull,
    "insulated probe": insulated_probe,
    "relay pin allowed": relay_pin,
    "pins can do it": pin_function,
    "piezo current": piezo_current,
    "low-voltage output": low_voltage_output,
    "nothing loose": nothing_loose,
}


def check(netlist: Netlist) -> list[str]:
    """Every mistake as `rule: sentence`."""
    return [f"{name}: {words}" for name, rule in RULES.items() for words in rule(netlist)]
