"""A plan as a screen: what it is, its milestones in words, its marks."""

from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line
from panchime_fw import stages
from panchime_fw.mark_names import DEFAULT_MARKS

# What the board does where the plan says nothing; the values are those of its own compiler.
LONGEST_ROAST_MIN = 20
COOL_BELOW = {"C": 40, "F": 104}


def plan_screen(document: dict[str, Any]) -> list[RenderableType]:
    """A checked plan as what is printed, one part after another."""
    unit = document.get("unit", "C")
    head = Table.grid(padding=(0, 2))
    head.add_column(style=palette.QUIET)
    head.add_column()
    loads = "in from the start, cold" if document.get("loads") == "cold" else "into a hot vessel"
    heater = "on the board's relay" if document.get("heater_on_relay") else "not on the relay: the board can only call"
    for name, value in (
        ("method", document["method"]),
        ("beans go", loads),
        ("heater", heater),
        ("limit", f"{document['limit']:g} °{unit}"),
        ("longest roast", f"{document.get('longest_roast_min', LONGEST_ROAST_MIN):g} min"),
        ("cool below", f"{document.get('cool_below', COOL_BELOW[unit]):g} °{unit}"),
        ("marks", ", ".join(document.get("marks", DEFAULT_MARKS))),
        ("note", document.get("note", "")),
    ):
        if value:
            head.add_row(name, safe_line(str(value)))
    parts: list[RenderableType] = [Text(safe_line(document["name"]), "bold"), head]
    if document.get("milestone"):
        parts += [Text(), milestone_table(document["milestone"], unit)]
    if document.get("heater_on_relay"):
        parts += [
            Text(),
            Text(
                "The relay cutoff is never the only protection: the appliance keeps its own thermostat and thermal "
                "fuse. "
                "See SAFETY.md.",
                palette.TROUBLE,
            ),
        ]
    return parts


def milestone_table(milestones: list[dict[str, Any]], unit: str) -> Table:
    """The milestones, one a row."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("milestone")
    table.add_column("sounds when")
    table.add_column("stage")
    table.add_column("sound")
    for item in milestones:
        words = trigger_words(item, unit)
        if "waits_for" in item:
            words += f", once {item['waits_for']} is marked"
        table.add_row(
            safe_line(item["label"]), safe_line(words), item.get("stage", default_stage(item)), safe_line(item["sound"])
        )
    return table


def default_stage(item: dict[str, Any]) -> str:
    """The stage of a milestone that names none, as the board takes it."""
    return "any" if "waits_for" in item or "since" in item else stages.NAMES[stages.ROASTING]


def trigger_words(item: dict[str, Any], unit: str) -> str:
    """What a milestone waits for, in words."""
    if "rises_to" in item:
        return f"it rises to {item['rises_to']:g} °{unit}"
    if "falls_to" in item:
        return f"it falls to {item['falls_to']:g} °{unit}"
    if "after_s" in item:
        return f"{seconds(item['after_s'])} after {item['since']}"
    if "rate_below" in item:
        return f"it rises slower than {item['rate_below']:g} °{unit}/min for {item['for_s']:g} s"
    if "rate_above" in item:
        return f"it rises faster than {item['rate_above']:g} °{unit}/min for {item['for_s']:g} s"
    if "ahead_s" in item:
        return f"{item['ahead_s']:g} s before {item['of']:g} °{unit}"
    return f"development is {item['development_share']:g} % of the roast"


def seconds(value: float) -> str:
    """A time of a plan: seconds below two minutes, else minutes and seconds."""
    return f"{value:g} s" if value < 120 else f"{int(value) // 60}:{int(value) % 60:02d} min"
