"""Every file that is made from this folder: its path and its text."""

from pathlib import Path

from panchime_wiring import breadboard, data, lists, pins, plots, probe_drawings, schematic, spice_decks, spice_run
from panchime_wiring.netlist import compose


def texts() -> dict[Path, str]:
    """All that needs no ngspice."""
    firmware = data.ROOT / "firmware" / "panchime_fw"
    made = {
        firmware / "pins.py": pins.maps_module(),
        firmware / "pin_choices.py": pins.choices_module(),
        data.ROOM / "parts.md": lists.parts_page(),
        data.ROOM / "pins.md": lists.pins_page(),
    }
    for deck in spice_decks.decks():
        made[data.SPICE / f"{deck.name}.cir"] = deck.text()
    for board, names in schematic.footprints().items():
        for amplifier in data.AMPLIFIERS:
            netlist = compose(board, amplifier)
            made[data.DRAWINGS / f"{board}-{amplifier}-circuit.svg"] = schematic.draw(netlist, names)
            made[data.DRAWINGS / f"{board}-{amplifier}-breadboard.svg"] = breadboard.draw(netlist, names)
    made[data.DRAWINGS / "relay-moving-circuit.svg"] = schematic.draw_moving(compose("pico", "max31855", "moving"))
    for name, text in probe_drawings.drawings().items():
        made[data.DRAWINGS / f"probe-{name}.svg"] = text
    if (data.ROOM / "results.toml").is_file():
        made[data.ROOM / "results.md"] = lists.results_page(lists.results())
    return made


def simulated() -> dict[Path, str]:
    """What ngspice finds: numbers, and curves of the decks that have any."""
    found = {deck.name: spice_run.run(deck) for deck in spice_decks.decks()}
    rounded = {name: {key: float(f"{value:.3g}") for key, value in values.items()} for name, values in found.items()}
    lines = ["# What ngspice found; made by tools/build_wiring.py --simulate. Units and limits stand in results.md."]
    for name, values in rounded.items():
        lines += ["", f"[found.{name}]", *(f"{key} = {value}" for key, value in values.items())]
    made = {
        data.ROOM / "results.toml": "\n".join([*lines, ""]),
        data.ROOM / "results.md": lists.results_page(rounded),
    }
    for deck in spice_decks.decks():
        if deck.plot:
            made[data.DRAWINGS / f"{deck.name}.svg"] = plots.draw(deck.title, spice_run.curves(deck))
    return made
