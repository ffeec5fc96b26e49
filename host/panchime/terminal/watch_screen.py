"""A roast as it goes on: stage, clock, temperature, rate of rise, what comes next, what happened, what is wrong."""

from typing import Any

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from panchime.link.board import Live, LiveEvent
from panchime.link.following import Roast
from panchime.terminal import palette
from panchime.terminal.big_digits import big
from panchime.terminal.next_milestone import next_milestone
from panchime.terminal.safe_text import safe_line
from panchime.terminal.trip_telling import advice, beans_in_popper, heading, limit_name
from panchime.terminal.words import NOTHING, board_words, clock, degrees, rate, share
from panchime_fw import events, faults, trips
from panchime_fw.plan import BEANS_IN, BEANS_OUT, FIRST_CRACK
from panchime_fw.units import CELSIUS, FAHRENHEIT, to_centi

HAPPENINGS_SHOWN = 8
MISSED_ENDING = " (missed)"


# What a person at the board has to know when it shrieks.
CLEARING = "A short press silences it. Hold the button for a second to clear it, once the cause is gone and it has cooled."


def watch_screen(roast: Roast, unit: str, ascii_only: bool = False, trouble: str = "") -> RenderableType:
    """The screen for what is known now; ``trouble`` says what keeps it from being fresh."""
    if roast.live is None:
        return Text(trouble or "waiting for the board")
    live = roast.live
    parts: list[RenderableType] = [title(roast, live), Text(), readings(roast, live, unit, ascii_only), Text()]
    parts += warnings(roast, live)
    if trouble:
        parts.append(Text(safe_line(trouble), palette.TROUBLE))
    if roast.happened:
        parts.append(happenings(roast, roast.happened, unit))
    return Group(*parts)


def title(roast: Roast, live: Live) -> Text:
    """The stage, and which plan runs."""
    text = Text(safe_line(live.stage).upper(), "bold")
    if roast.running:
        text.append(f"   roast {live.roast_number}", palette.QUIET)
    else:
        starts = "" if live.trip else ": a press of the board's button starts one"
        text.append(f"   no roast runs{starts}", palette.QUIET)
    name = roast.plan.get("name")
    if isinstance(name, str):
        text.append(f"   {safe_line(name)}", palette.QUIET)
    return text


def readings(roast: Roast, live: Live, unit: str, ascii_only: bool) -> Table:
    """The temperature in large digits, the rest beside it."""
    grid = Table.grid(padding=(0, 4))
    shown = degrees(centi(live.temperature_c), unit)
    grid.add_row(Text("\n".join(big(shown, ascii_only)), palette.TEMPERATURE, no_wrap=True), details(roast, live, unit))
    return grid


def details(roast: Roast, live: Live, unit: str) -> Table:
    """Clock, rate, what comes next, development, relay."""
    table = Table.grid(padding=(0, 2))
    table.add_column(style=palette.QUIET)
    table.add_column()
    zero_ms = roast.mark_ms(BEANS_IN)
    if zero_ms is not None and roast.running:
        table.add_row("since beans in", Text(clock(live.roast_ms - zero_ms), "bold"))
    elif roast.running:
        table.add_row("since the start", Text(clock(live.roast_ms), "bold"))
    table.add_row("rate of rise", Text(rate(centi(live.rate_of_rise_c_per_min), unit), palette.RATE))
    if roast.running:
        table.add_row("next", next_words(roast, live, unit))
    development = development_share(roast, live)
    if development is not None:
        table.add_row("development", share(development))
    limit = shown_limit(roast.plan, unit)
    if limit:
        table.add_row(limit_name(roast.plan), limit)
    table.add_row("relay", Text("closed: heater on", palette.RELAY) if live.relay_closed else "open")
    return table


def shown_limit(plan: dict[str, Any], unit: str) -> str:
    """The plan's limit in the unit that is shown; "" when the plan has none that is a number."""
    limit = plan.get("limit")
    if isinstance(limit, bool) or not isinstance(limit, (int, float)):
        return ""
    return degrees(to_centi(limit, FAHRENHEIT if plan.get("unit") == FAHRENHEIT else CELSIUS), unit)


def next_words(roast: Roast, live: Live, unit: str) -> str:
    """The next milestone of temperature."""
    done = {event.words.removesuffix(MISSED_ENDING) for event in roast.happened if event.what == events.NAMES[events.MILESTONE]}
    ahead = next_milestone(roast.plan, live.stage, live.temperature_c, live.rate_of_rise_c_per_min, done)
    if ahead is None:
        return NOTHING
    words = f"{safe_line(ahead.label)} ({degrees(ahead.at_centi, unit)})"
    return words if ahead.in_ms is None else f"{words} in about {clock(ahead.in_ms)}"


def development_share(roast: Roast, live: Live) -> float | None:
    """The time since first crack as a share of that since beans in, while the beans are in."""
    begin, crack = roast.mark_ms(BEANS_IN), roast.mark_ms(FIRST_CRACK)
    if begin is None or crack is None or live.stage != "roasting" or live.roast_ms <= begin:
        return None
    return (live.roast_ms - crack) / (live.roast_ms - begin)


def warnings(roast: Roast, live: Live) -> list[RenderableType]:
    """A trip or a fault, in words, with what to do."""
    found: list[RenderableType] = []
    if live.trip:
        words = trips.NAMES.get(live.trip, f"trip {live.trip}")
        todo = advice(live.trip, beans_in_popper(roast.plan, live.trip, beans_are_in(roast)))
        found.append(Text(f"{trip_heading(roast, live)}: {words}. {todo}", palette.TROUBLE))
        found.append(Text(CLEARING, palette.TROUBLE))
    if live.fault:
        words = faults.NAMES.get(live.fault, f"fault {live.fault}")
        found.append(Text(f"NO READING: {words}. {faults.ADVICE.get(live.fault, '')}", palette.TROUBLE))
    return found


def beans_are_in(roast: Roast) -> bool:
    """Whether the beans are on the heat, by the marks."""
    return roast.running and roast.mark_ms(BEANS_IN) is not None and roast.mark_ms(BEANS_OUT) is None


def trip_heading(roast: Roast, live: Live) -> str:
    """What the trip has done. Where no heater hangs on the relay the heat goes on until somebody turns it off."""
    heating = roast.running and roast.mark_ms(BEANS_OUT) is None
    return heading(roast.plan, heating or live.trip == trips.RESET_IN_ROAST)


def happenings(roast: Roast, told: list[LiveEvent], unit: str) -> Table:
    """The last events, the newest first."""
    zero_ms = roast.mark_ms(BEANS_IN) or 0
    table = Table.grid(padding=(0, 2))
    table.add_column(justify="right")
    table.add_column(style=palette.QUIET)
    table.add_column()
    for event in told[: -HAPPENINGS_SHOWN - 1 : -1]:
        table.add_row(clock(event.roast_ms - zero_ms), safe_line(event.what), safe_line(event_words(event, unit)))
    return table


def status_line(roast: Roast, unit: str) -> str:
    """The reading in one plain line."""
    live = roast.live
    if live is None:
        return "waiting for the board"
    parts = [
        clock(live.roast_ms) if roast.running else "no roast",
        safe_line(live.stage),
        degrees(centi(live.temperature_c), unit, 1),
        rate(centi(live.rate_of_rise_c_per_min), unit),
        "relay closed" if live.relay_closed else "relay open",
    ]
    if live.trip:
        parts.append(f"{trip_heading(roast, live)}: {trips.NAMES.get(live.trip, f'trip {live.trip}')}")
    if live.fault:
        parts.append(f"NO READING: {faults.NAMES.get(live.fault, f'fault {live.fault}')}")
    return "  ".join(parts)


def event_line(event: LiveEvent, unit: str) -> str:
    """An event in one plain line."""
    return f"{clock(event.roast_ms)}  {safe_line(event.what)}  {safe_line(event_words(event, unit))}"


def event_words(event: LiveEvent, unit: str) -> str:
    """The words of an event; those of a trip hold temperatures, and no others are touched: a plan's labels are its own."""
    return board_words(event.words, unit) if event.what == events.NAMES[events.TRIP] else event.words


def centi(value: float | None) -> int | None:
    """Degrees as hundredths."""
    return None if value is None else round(value * 100)
