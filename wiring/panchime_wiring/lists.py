"""The pages made from the data: parts to buy, pins of every board, what ngspice found."""

from panchime_wiring import data
from panchime_wiring.netlist import BOARD_ROLES, Netlist, Part, compose, own_light
from panchime_wiring.pins import NOT_WIRED
from panchime_wiring.schematic import value_text
from panchime_wiring.spice_decks import Deck, decks

_HEAD = "| parts | what | for | rating | ask for |\n| --- | --- | --- | --- | --- |"


def parts_page() -> str:
    """wiring/parts.md."""
    base = compose("pico", "max6675")
    sections = [("For every board and amplifier", _chosen(base, base))]
    for title, netlist in (
        ("Besides, for a MAX31855", compose("pico", "max31855")),
        ("Besides, for a MAX31856", compose("pico", "max31856")),
        ("In place of R3 to R7 above, for an MCP9600 or MCP9601", compose("pico", "mcp9600")),
        ("Besides, for an ESP32, ESP32-S3 or ESP32-C3: a light", compose("esp32", "max6675")),
        ("Besides, for a light of three colours, which nobody needs", compose("pico", "max6675", colours=True)),
        ("In place of R1 and Q1 above, for the relay driver that needs movement", compose("pico", "max6675", "moving")),
    ):
        sections.append((title, _chosen(netlist, base)))
    lines = ["# Parts", "", "Made by `tools/build_wiring.py` from the netlists and `parts.toml`.", ""]
    for title, rows in sections:
        lines += [f"## {title}", "", _HEAD, *rows, ""]
    bread = data.stock()["breadboard"]
    lines += ["## To put it on", "", f"{bread['what'].capitalize()}: {bread['rating']}; {bread['ask']}.", ""]
    lines += [
        "The plug-in switch is bought whole and stays whole: listed, enclosed, with a low-voltage control input of 3 to 32 V "
        "DC that takes at most 40 mA at 5 V, its contact rated for the appliance. Read [SAFETY.md](../SAFETY.md) first.",
        "",
    ]
    return "\n".join(lines)


def _chosen(netlist: Netlist, base: Netlist) -> list[str]:
    """Rows of the parts that the base netlist lacks, or has with another value; all of them for the base itself."""
    found: dict[tuple[str, float], list[Part]] = {}
    for part in netlist.parts.values():
        old = base.parts.get(part.ref)
        same = old is not None and (old.stock, old.value, old.where) == (part.stock, part.value, part.where)
        if netlist is base or (not same and part.ref not in ("U1", "U2", "TC1")):
            found.setdefault((part.stock, part.value), []).append(part)
    return [_row(parts) for parts in found.values()]


def _row(parts: list[Part]) -> str:
    stock = data.stock()[parts[0].stock]
    refs = ", ".join(part.ref for part in parts)
    value = value_text(parts[0]) + " " if parts[0].kind in ("resistor", "capacitor") else ""
    what = stock["what"] if value and value.strip() in stock["what"].replace("uF", "µF") else f"{value}{stock['what']}"
    where = "; ".join(f"{part.ref} {part.where}" if len(parts) > 1 else part.where for part in parts)
    return f"| {refs} | {what} | {where} | {stock['rating']} | {stock['ask']} |"


def pins_page() -> str:
    """wiring/pins.md."""
    boards = [(name, data.board(name)) for name in data.BOARDS]
    lines = [
        "# Pins",
        "",
        "Made by `tools/build_wiring.py`. The firmware's own table is made from the same data. The relay's pin cannot be "
        "moved; the others can: see [Your own pins](README.md#your-own-pins).",
        "",
        "| role | " + " | ".join(board["name"].removeprefix("Raspberry Pi ") for _, board in boards) + " |",
        "| --- |" + " --- |" * len(boards),
    ]
    for role in BOARD_ROLES:
        cells = []
        for _, board in boards:
            number = board["pins"][role]
            prefix = board["header"]["pin_prefix"]
            cells.append("none" if number == NOT_WIRED else "`LED`" if number == "LED" else f"{prefix}{number}")
        lines.append(f"| {role} | " + " | ".join(cells) + " |")
    lines += ["", "## Why these", ""]
    for _, board in boards:
        light = board["on_board_light"] if own_light(board) else f"its own light: {board['on_board_light']}; wire one"
        lines.append(f"- **{board['name']}**: {light}. Header: {board['header']['source']}.")
    lines += ["", "## Pins with a life of their own", "", "| chip | pins | what | source |", "| --- | --- | --- | --- |"]
    for name in dict.fromkeys(board["chip"] for _, board in boards):
        chip = data.chip(name)
        for group in chip["class"]:
            pins = ", ".join(map(str, group["pins"]))
            lines.append(f"| {chip['name']} | {pins} | {group['name']}: {group['why']} | {group['source']} |")
    return "\n".join([*lines, ""])


def results() -> dict[str, dict[str, float]]:
    """What ngspice found when the results were last made: deck, measure, value."""
    found: dict[str, dict[str, float]] = data.read(".", "results")["found"]
    return found


def results_page(found: dict[str, dict[str, float]]) -> str:
    """wiring/results.md."""
    lines = [
        "# What the driver stages do",
        "",
        "Computed with ngspice from the values of the netlists: `python tools/build_wiring.py --simulate`. The circuits are in "
        "[spice/](spice/), the models in [spice/models.lib](spice/models.lib) are typical of their class, the weakest ones at "
        "the ends of what may be sold under the name. A simulation shows that the design holds, not that yours is soldered.",
        "",
    ]
    for deck in decks():
        lines += [f"## {deck.name}", "", f"{deck.title}. [Circuit](spice/{deck.name}.cir)", ""]
        lines += ["| what | found | limit | source of the limit |", "| --- | --- | --- | --- |"]
        lines += _result_rows(deck, found[deck.name])
        if deck.plot:
            lines += ["", f"![{deck.title}](drawings/{deck.name}.svg)"]
        lines.append("")
    return "\n".join(lines)


def _result_rows(deck: Deck, found: dict[str, float]) -> list[str]:
    rows = []
    for measure in deck.measures:
        limits = [f"at least {measure.lowest:g}"] if measure.lowest is not None else []
        limits += [f"at most {measure.highest:.3g}"] if measure.highest is not None else []
        value = f"{found[measure.name]:.3g} {measure.unit}"
        rows.append(f"| {measure.words} | {value} | {' and '.join(limits)} {measure.unit} | {measure.source} |")
    return rows
