"""What is made from wiring/ is what is committed, the firmware has the very same pins, and every picture links to SAFETY.md."""

import re
import xml.etree.ElementTree as ElementTree

import pytest
from panchime_wiring import data, products
from panchime_wiring.breadboard import printed
from panchime_wiring.netlist import compose
from panchime_wiring.pins import COLOURS, NOT_WIRED, ON_BUS, ROLES, allowed
from panchime_wiring.schematic import value_text

from panchime_fw import pin_choices, pins

SVG = "{http://www.w3.org/2000/svg}"
# Largest picture: small enough to be read in a diff and loaded over a slow line.
BYTES_LIMIT = 50_000


@pytest.fixture(scope="module")
def made():
    return products.texts()


def test_nothing_differs_from_its_data(made):
    different = [str(path) for path, text in made.items() if not path.is_file() or path.read_text(encoding="utf-8") != text]
    assert different == [], "run python tools/build_wiring.py"


def test_nothing_is_left_over(made):
    kept = {path for folder in (data.DRAWINGS, data.SPICE) for path in folder.iterdir()} - {data.SPICE / "models.lib"}
    plots = {data.DRAWINGS / "relay-level-off.svg", data.DRAWINGS / "relay-moving-stuck-high.svg"}
    assert kept == {path for path in made if path.suffix in (".svg", ".cir")} | plots


def test_the_firmware_has_the_pins_of_the_boards():
    wanted = {name: data.board(name)["pins"] for name in data.BOARDS}
    assert wanted == pins.MAPS
    assert list(pins.MACHINES) == [(data.board(name)["machine"], name) for name in data.BOARDS]


@pytest.mark.parametrize("name", data.BOARDS)
def test_the_firmware_has_the_choices_of_the_chips(name):
    board = data.board(name)
    chip = data.chip(board["chip"])
    assert "relay" not in pin_choices.CHOICES[name]
    for role in ROLES:
        if role == "relay":
            continue
        if role in ON_BUS:
            assert pin_choices.CHOICES[name][role] == tuple((bus, allowed(board, role, bus)) for bus in chip[role[:3]]["ids"])
        else:
            assert pin_choices.CHOICES[name][role] == allowed(board, role, 0)


@pytest.mark.parametrize("name", data.BOARDS)
def test_every_pin_of_a_board_can_do_what_it_is_for(name):
    board = data.board(name)
    for role in ROLES:
        assert board["pins"][role] in allowed(board, role, board["pins"].get(role[:3] + "_id", 0)), role
        assert role in COLOURS or board["pins"][role] != NOT_WIRED


@pytest.mark.parametrize("board", sorted({data.board(name)["drawn_as"] for name in data.BOARDS}))
@pytest.mark.parametrize("kind", ["circuit", "breadboard"])
@pytest.mark.parametrize("amplifier", data.AMPLIFIERS)
def test_a_picture_ends_at_the_listed_switch_and_links_to_the_page_on_safety(made, board, amplifier, kind):
    text = made[data.DRAWINGS / f"{board}-{amplifier}-{kind}.svg"]
    assert len(text.encode()) < BYTES_LIMIT
    root = ElementTree.fromstring(text)
    linked = ["".join(link.itertext()) for link in root.iter(f"{SVG}a") if link.get("href") == "../../SAFETY.md"]
    assert len(linked) == 1
    assert "SAFETY.md" in linked[0]
    words = "".join(root.itertext())
    assert "of a listed, enclosed plug-in switch" in words
    assert not re.search(r"\b(230|240|120|110|115) ?V\b|\bneutral\b|\blive\b", words), "mains has no place in these pictures"


def test_boards_drawn_alike_are_wired_alike():
    for name in data.BOARDS:
        board, twin = data.board(name), data.board(data.board(name)["drawn_as"])
        assert board["header"]["left"] == twin["header"]["left"]
        assert board["header"]["right"] == twin["header"]["right"]
        assert {key: pin for key, pin in board["pins"].items() if key != "led"} == {
            key: pin for key, pin in twin["pins"].items() if key != "led"
        }


@pytest.mark.parametrize("amplifier", data.AMPLIFIERS)
def test_the_breadboard_says_every_value_and_where_the_probes_capacitor_goes(amplifier):
    netlist = compose("esp32", amplifier)
    drawn = ElementTree.fromstring(
        (data.DRAWINGS / f"esp32-{netlist.parts['U2'].facts['name'].lower()}-breadboard.svg").read_text()
    )
    words = ["".join(text.itertext()) for text in drawn.iter(f"{SVG}text")]
    for part in netlist.parts.values():
        if part.ref == "C2":
            assert f"C2 {value_text(part)}: at the probe's terminals," in words
        elif part.kind == "resistor":
            assert f"{part.ref} {printed(value_text(part))}" in words
        elif part.kind in ("capacitor", "fuse"):
            assert {part.ref, printed(value_text(part))} <= set(words)
    assert "R2 4.7k" in words


def test_nobody_is_told_to_drill_a_lid():
    words = (data.DRAWINGS / "probe-crank-popper.svg").read_text(encoding="utf-8")
    assert "through the vent that is there;" in words
    assert "no drilling of a listed lid" in words
    assert "hole in the lid" not in words
