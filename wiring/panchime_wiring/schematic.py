"""The circuit diagram of a wiring: blocks side by side, joined by the names of the nets."""

import itertools

import schemdraw
import schemdraw.elements as elm
from schemdraw import svgconfig

from panchime_wiring import data
from panchime_wiring.netlist import Netlist, Part
from panchime_wiring.svg_text import finished

FONT = "DejaVu Sans, Verdana, sans-serif"
TEXT_PT = 11
BOARD_PINS = (
    ("spi_sck", "clock pin"), ("spi_cs", "select pin"), ("spi_miso", "data pin"), ("spi_mosi", "settings pin"),
    ("i2c_scl", "clock pin"), ("i2c_sda", "data pin"), ("button", "button"), ("piezo", "piezo pin"), ("led", "light pin"),
    ("relay", "relay pin"),
)  # fmt: skip
# The lines of the bus: the amplifier's role, the net at the board, the net at the amplifier.
LINES = (
    ("spi_sck", "clock pin", "clock"), ("spi_cs", "select pin", "select"), ("spi_miso", "data pin", "data"),
    ("spi_mosi", "settings pin", "settings"), ("i2c_scl", "clock pin", "clock"), ("i2c_sda", "data pin", "data"),
)  # fmt: skip
END_WORDS = (
    "low-voltage control input,",
    "3 to 32 V DC, at most 40 mA,",
    "of a listed, enclosed plug-in switch.",
    "What lies behind is its maker's.",
    "First read SAFETY.md",
)


def value_text(part: Part) -> str:
    """A part's value with its unit: 4.7 kOhm, 100 nF, 0.1 A."""
    unit, prefixes = {"resistor": ("Ω", "k"), "capacitor": ("F", "µn"), "fuse": ("A", "m")}[part.kind]
    for prefix in prefixes:
        factor = {"k": 1e3, "m": 1e-3, "µ": 1e-6, "n": 1e-9}[prefix]
        if part.value >= factor * 0.999:
            return f"{part.value / factor:.3g} {prefix}{unit}"
    return f"{part.value:.3g} {unit}"


def pin_text(netlist: Netlist, role: str) -> str:
    """The name printed beside a pin of the board."""
    prefix = netlist.parts["U1"].facts["header"]["pin_prefix"]
    number = netlist.pin_map[role]
    return "LED" if number == "LED" else f"{prefix}{number}"


def draw(netlist: Netlist, boards: str) -> str:
    """The whole circuit as SVG. `boards` names the boards that it is for."""
    drawing = _new()
    _title(drawing, (0, 3.1), f"Panchime: {boards}, {netlist.parts['U2'].facts['name']}")
    _board(drawing, netlist)
    _amplifier(drawing, netlist)
    _pulls(drawing, netlist)
    _button_and_sounds(drawing, netlist)
    if netlist.drive == "level":
        _level(drawing, netlist, (8.5, -16.0))
    else:
        _moving(drawing, netlist, (8.5, -16.0))
    return _finish(drawing)


def draw_moving(netlist: Netlist) -> str:
    """The relay driver that needs movement, alone."""
    drawing = _new()
    words = "Relay driver that needs movement, setting OUTPut:DRIVe MOVing; the rest as in the other drawings"
    _title(drawing, (-2.6, 6.2), words)
    _moving(drawing, netlist, (0, 0))
    return _finish(drawing)


def _new() -> schemdraw.Drawing:
    schemdraw.use("svg")
    svgconfig.text = "text"
    drawing = schemdraw.Drawing(show=False)
    drawing.config(unit=2.4, fontsize=TEXT_PT, font=FONT, lw=1.4, margin=0.3, bgcolor="white", inches_per_unit=0.45)
    return drawing


def _finish(drawing: schemdraw.Drawing) -> str:
    text = drawing.get_imagedata("svg").decode("utf-8")
    return finished(text)


def _title(drawing: schemdraw.Drawing, at: tuple[float, float], words: str) -> None:
    drawing.add(elm.Label().at(at).label(words, halign="left", fontsize=15))


def _tag(drawing: schemdraw.Drawing, at: tuple[float, float], words: str, left: bool = False) -> None:
    tag = elm.Tag(width=2.6, height=0.6).at(at).label(words, fontsize=10)
    drawing.add(tag.left() if left else tag.right())


def _named(part: Part) -> str:
    return f"{part.ref} {value_text(part)}"


def _board(drawing: schemdraw.Drawing, netlist: Netlist) -> None:
    facts = netlist.parts["U1"].facts
    used = [(role, net) for role, net in BOARD_PINS if role in netlist.parts["U1"].pins and netlist.net_of(f"U1.{role}")]
    power = (("logic", "3.3 V"), ("coil", "5 V"), ("ground", "ground"))
    pins = [
        elm.IcPin(name=facts["power"][role], side="right", anchorname=role) for role, _ in reversed(power)
    ] + [elm.IcPin(name=pin_text(netlist, role), side="right", anchorname=role) for role, _ in reversed(used)]  # fmt: skip
    drawing.add(elm.Ic(pins=pins, size=(3.4, 0.95 * len(pins) + 0.8), pinspacing=0.95).at((0, 2 - 0.95 * len(pins))))
    box = drawing.elements[-1]
    middle = box.absanchors["relay"]
    drawing.add(elm.Label().at((middle[0] - 3.9, middle[1] + 1.4)).label("U1\nboard", halign="left", fontsize=12))
    for role, net in [*power, *used]:
        at = box.absanchors[role]
        _tag(drawing, (at[0], at[1]), net)


def _amplifier(drawing: schemdraw.Drawing, netlist: Netlist) -> None:
    facts = netlist.parts["U2"].facts
    lines = [line for line in LINES if line[0] in netlist.parts["U2"].pins]
    names = {pin["role"]: pin["name"] for pin in facts["pins"]}
    left = ["ground", "supply", *(line[0] for line in reversed(lines))]
    pins = [elm.IcPin(name=names[role], side="left", anchorname=role) for role in left]
    pins += [elm.IcPin(name=name, side="right", anchorname=name) for name in ("T-", "T+")]
    height = 1.15 * len(left) + 0.7
    drawing.add(elm.Ic(pins=pins, size=(3.4, height), pinspacing=1.15).at((16.2, 2.4 - height)))
    box = drawing.elements[-1]
    drawing.add(elm.Label().at((17.9, 2.75)).label(f"U2 {facts['name']}", fontsize=12))
    for role, pin_net, net in lines:
        x, y = box.absanchors[role]
        resistor = next(part for part in netlist.on(pin_net, "resistor") if part.series)
        drawing.add(elm.Line().at((x, y)).to((x - 1.8, y)))
        drawing.add(elm.Label().at((x - 0.95, y + 0.22)).label(net, fontsize=9))
        drawing.add(elm.Resistor().at((x - 1.8, y)).left().length(2.4).label(_named(resistor), loc="top", fontsize=10))
        _tag(drawing, (x - 4.2, y), pin_net, left=True)
    supply, ground = box.absanchors["supply"], box.absanchors["ground"]
    _tag(drawing, (supply[0] - 1.8, supply[1]), "3.3 V", left=True)
    drawing.add(elm.Line().at(tuple(supply)).to((supply[0] - 1.8, supply[1])))
    drawing.add(elm.Line().at(tuple(ground)).to((ground[0] - 0.9, ground[1])))
    drawing.add(elm.Line().to((ground[0] - 0.9, ground[1] - 1.0)))
    _capacitor(drawing, netlist.parts["C1"], (supply[0] - 0.9, supply[1]), (supply[0] - 0.9, ground[1]))
    drawing.add(elm.Ground().at((ground[0] - 0.9, ground[1] - 1.0)))
    plus, minus = box.absanchors["T+"], box.absanchors["T-"]
    drawing.add(elm.Line().at(tuple(plus)).to((plus[0] + 3.2, plus[1])))
    drawing.add(elm.Line().at(tuple(minus)).to((minus[0] + 3.2, minus[1])))
    bead = (plus[0] + 4.4, (plus[1] + minus[1]) / 2)
    drawing.add(elm.Line().at((plus[0] + 3.2, plus[1])).to(bead))
    drawing.add(elm.Line().at((minus[0] + 3.2, minus[1])).to(bead))
    drawing.add(elm.Dot(radius=0.13).at(bead))
    words = "TC1, insulated,\nin the beans"
    drawing.add(elm.Label().at((bead[0] - 2.3, bead[1] - 1.35)).label(words, halign="left", fontsize=10))
    if "C2" in netlist.parts:
        middle = plus[0] + 1.4
        drawing.add(elm.Dot().at((middle, plus[1])))
        drawing.add(elm.Dot().at((middle, minus[1])))
        drawing.add(elm.Capacitor().at((middle, plus[1])).to((middle, minus[1])))
        drawing.add(elm.Label().at((middle, plus[1] + 0.5)).label(_named(netlist.parts["C2"]), fontsize=10))


def _capacitor(drawing: schemdraw.Drawing, part: Part, top: tuple[float, float], bottom: tuple[float, float]) -> None:
    drawing.add(elm.Dot().at(top))
    drawing.add(elm.Dot().at(bottom))
    drawing.add(elm.Capacitor().at(top).to(bottom))
    drawing.add(elm.Label().at((top[0] - 0.55, (top[1] + bottom[1]) / 2)).label(_named(part), halign="right", fontsize=10))


def _pulls(drawing: schemdraw.Drawing, netlist: Netlist) -> None:
    x, y = 9.8, -7.2
    for part in (netlist.parts["R6"], netlist.parts["R7"]):
        net = netlist.net_of(f"{part.ref}.1")
        _tag(drawing, (x - 0.2, y), "3.3 V", left=True)
        drawing.add(elm.Line().at((x - 0.2, y)).to((x, y)))
        drawing.add(elm.Resistor().at((x, y)).right().length(2.4).label(_named(part), loc="top", fontsize=10))
        _tag(drawing, (x + 2.4, y), net)
        y -= 1.4


def _button_and_sounds(drawing: schemdraw.Drawing, netlist: Netlist) -> None:
    x, y = 18.2, -7.2
    _tag(drawing, (x, y), "button", left=True)
    drawing.add(elm.Button().at((x, y)).right().length(2.4).label("SW1", loc="top", fontsize=10))
    drawing.add(elm.Line().at((x + 2.4, y)).to((x + 3.0, y)))
    drawing.add(elm.Ground().at((x + 3.0, y)))
    y -= 1.9
    _tag(drawing, (x, y), "piezo pin", left=True)
    drawing.add(elm.Resistor().at((x, y)).right().length(2.4).label(_named(netlist.parts["R8"]), loc="top", fontsize=10))
    drawing.add(elm.Line().at((x + 2.4, y)).to((x + 4.6, y)))
    drawing.add(elm.Dot().at((x + 2.8, y)))
    drawing.add(elm.Resistor().at((x + 2.8, y)).down().length(2.0))
    drawing.add(elm.Label().at((x + 2.3, y - 1.0)).label(_named(netlist.parts["R9"]), halign="right", fontsize=10))
    drawing.add(elm.Ground().at((x + 2.8, y - 2.0)))
    drawing.add(elm.Crystal().at((x + 4.6, y)).down().length(2.0))
    drawing.add(elm.Label().at((x + 5.1, y - 1.0)).label("BZ1\npiezo", halign="left", fontsize=10))
    drawing.add(elm.Ground().at((x + 4.6, y - 2.0)))
    if "LED1" in netlist.parts:
        x, y = 0.4, -11.4
        _tag(drawing, (x + 2.2, y), "light pin", left=True)
        resistor = elm.Resistor().at((x + 2.2, y)).right().length(2.2)
        drawing.add(resistor.label(_named(netlist.parts["R11"]), loc="top", fontsize=10))
        drawing.add(elm.LED().down().length(2.0))
        drawing.add(elm.Label().at((x + 3.7, y - 1.0)).label("LED1", halign="right", fontsize=10))
        drawing.add(elm.Ground())


def _output(drawing: schemdraw.Drawing, netlist: Netlist, x: float, top: float, bottom: float) -> None:
    """From the 5 V through the fuse, with the diode across, to the terminals. `x` is where the transistor's minus comes out."""
    fuse = netlist.parts["F1"]
    _tag(drawing, (x - 3.0, top), "5 V", left=True)
    drawing.add(elm.Fuse().at((x - 3.0, top)).right().length(2.4).label(f"F1 {value_text(fuse)} hold", loc="top", fontsize=10))
    drawing.add(elm.Line().at((x - 0.6, top)).to((x + 3.6, top)))
    drawing.add(elm.Line().at((x, bottom)).to((x + 3.6, bottom)))
    drawing.add(elm.Dot().at((x + 1.6, top)))
    drawing.add(elm.Dot().at((x + 1.6, bottom)))
    drawing.add(elm.Diode().at((x + 1.6, bottom)).to((x + 1.6, top)))
    drawing.add(elm.Label().at((x + 1.2, (top + bottom) / 2)).label("D1 1N4007", halign="right", fontsize=10))
    drawing.add(elm.Dot(open=True, radius=0.15).at((x + 3.75, top)))
    drawing.add(elm.Dot(open=True, radius=0.15).at((x + 3.75, bottom)))
    drawing.add(elm.Label().at((x + 3.75, top + 0.3)).label("J1 +", fontsize=10))
    drawing.add(elm.Label().at((x + 3.75, bottom - 0.75)).label("J1 -", fontsize=10))
    left, right, low, high = x + 4.4, x + 12.2, (top + bottom) / 2 - 1.9, (top + bottom) / 2 + 1.6
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    for begin, end in itertools.pairwise(corners):
        drawing.add(elm.Line(ls="--").at(begin).to(end))
    y = (top + bottom) / 2 + 1.05
    for words in END_WORDS:
        drawing.add(elm.Label().at((x + 4.65, y)).label(words, halign="left", fontsize=10))
        y -= 0.62


def _level(drawing: schemdraw.Drawing, netlist: Netlist, at: tuple[float, float]) -> None:
    x, y = at
    _tag(drawing, (x, y), "relay pin", left=True)
    drawing.add(elm.Line().at((x, y)).to((x + 0.6, y)))
    drawing.add(elm.Dot().at((x + 0.6, y)))
    drawing.add(elm.Resistor().at((x + 0.6, y)).down().length(2.2))
    drawing.add(elm.Label().at((x + 0.05, y - 1.1)).label(_named(netlist.parts["R2"]), halign="right", fontsize=10))
    drawing.add(elm.Ground())
    drawing.add(elm.Resistor().at((x + 0.6, y)).right().length(2.4).label(_named(netlist.parts["R1"]), loc="top", fontsize=10))
    drawing.add(elm.BjtNpn(circle=True).at((x + 3.0, y)).anchor("base"))
    transistor = drawing.elements[-1]
    drawing.add(elm.Label().at((x + 4.6, y - 0.3)).label("Q1 2222 class", halign="left", fontsize=10))
    emitter, collector = transistor.absanchors["emitter"], transistor.absanchors["collector"]
    drawing.add(elm.Line().at(tuple(emitter)).to((emitter[0], y - 2.2)))
    drawing.add(elm.Ground())
    drawing.add(elm.Line().at(tuple(collector)).to((collector[0], y + 1.0)))
    _output(drawing, netlist, collector[0], y + 3.2, y + 1.0)


def _moving(drawing: schemdraw.Drawing, netlist: Netlist, at: tuple[float, float]) -> None:
    x, y = at
    parts = netlist.parts
    _tag(drawing, (x, y), "relay pin", left=True)
    drawing.add(elm.Line().at((x, y)).to((x + 0.6, y)))
    drawing.add(elm.Dot().at((x + 0.6, y)))
    drawing.add(elm.Resistor().at((x + 0.6, y)).down().length(2.2))
    drawing.add(elm.Label().at((x + 0.05, y - 1.1)).label(_named(parts["R2"]), halign="right", fontsize=10))
    drawing.add(elm.Ground())
    drawing.add(elm.Resistor().at((x + 0.6, y)).right().length(2.2).label(_named(parts["R1"]), loc="top", fontsize=10))
    drawing.add(elm.Capacitor().at((x + 2.8, y)).right().length(2.2))
    drawing.add(elm.Label().at((x + 3.9, y + 0.6)).label(f"{_named(parts['C3'])} film", fontsize=10))
    drawing.add(elm.Dot().at((x + 5.0, y)))
    drawing.add(elm.Schottky().at((x + 5.0, y - 2.2)).to((x + 5.0, y)))
    drawing.add(elm.Label().at((x + 4.5, y - 1.1)).label("D2", halign="right", fontsize=10))
    drawing.add(elm.Ground().at((x + 5.0, y - 2.2)))
    drawing.add(elm.Schottky().at((x + 5.0, y)).right().length(2.2).label("D3", loc="top", fontsize=10))
    drawing.add(elm.Line().at((x + 7.2, y)).to((x + 13.4, y)))
    for place, ref, element in ((7.8, "C4", elm.Capacitor), (10.2, "R12", elm.Resistor), (12.6, "R13", elm.Resistor)):
        drawing.add(elm.Dot().at((x + place, y)))
        drawing.add(element().at((x + place, y)).down().length(2.2))
        drawing.add(elm.Label().at((x + place - 0.3, y - 2.5)).label(_named(parts[ref]), halign="right", fontsize=9))
        drawing.add(elm.Ground().at((x + place, y - 3.0)))
        drawing.add(elm.Line().at((x + place, y - 2.2)).to((x + place, y - 3.0)))
    drawing.add(elm.NFet().theta(0).reverse().at((x + 13.4, y)).anchor("gate"))
    fet = drawing.elements[-1]
    source, drain = fet.absanchors["source"], fet.absanchors["drain"]
    drawing.add(elm.Line().at(tuple(source)).to((source[0], y - 3.0)))
    drawing.add(elm.Ground())
    drawing.add(elm.Line().at(tuple(drain)).to((drain[0], y + 1.4)))
    drawing.add(elm.Label().at((drain[0] + 0.3, y - 1.3)).label("Q1 AO3400 class", halign="left", fontsize=10))
    _output(drawing, netlist, drain[0], y + 3.6, y + 1.4)


def footprints() -> dict[str, str]:
    """The drawings that differ: a board to draw, and the names of all boards that it is for."""
    found: dict[str, list[str]] = {}
    for name in data.BOARDS:
        found.setdefault(data.board(name)["drawn_as"], []).append(data.board(name)["name"].removeprefix("Raspberry Pi "))
    return {name: ", ".join(names) for name, names in found.items()}
