"""One roast as a screen: the curve, the rate of rise, stages, marks, milestones, and whatever went wrong."""

import math
import string
from dataclasses import dataclass

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from panchime.journal.journal import RoastEntry
from panchime.journal.story import Story
from panchime.records.kinds import COFFEE, NO_BEANS, PROOF, TOO_SHORT
from panchime.terminal import palette
from panchime.terminal.chart import AXIS_WIDTH, Flag, Frame, flag_lines, plot_lines, strip_line, time_axis
from panchime.terminal.safe_text import safe_line
from panchime.terminal.trip_telling import advice_then, told_at
from panchime.terminal.words import clock, degrees, in_unit, rate_in_unit, share, when
from panchime_fw.events import DONE, END_NAMES
from panchime_fw.mark_names import BEANS_IN, BEANS_OUT
from panchime_fw.signal import RATE_WINDOW_MS
from panchime_fw.units import FAHRENHEIT

MARK_LETTERS = string.ascii_uppercase
MILESTONE_LETTERS = string.ascii_lowercase
TRIP_LETTER = "!"
TALLEST_PLOT = 18
SHORTEST_PLOT = 8
RATE_ROWS = 5
LINES_BESIDE_PLOT = 30
WIDEST_PLOT = 160
NO_RATE = f"no rate of rise: it is told from {RATE_WINDOW_MS // 1000} s after the lowest reading until beans out"
FALLING_BACK = -2  # degrees a minute; less is noise around standing still


@dataclass(frozen=True)
class View:
    """How a person wants to see it: the terminal's size, the unit, and whether it can draw more than ASCII."""

    columns: int
    rows: int
    unit: str
    ascii_only: bool = False


def roast_screen(entry: RoastEntry, story: Story, view: View, kind: str = COFFEE) -> list[RenderableType]:
    """Everything about a roast, one part after another; ``kind`` is one of the words of ``records.kinds``."""
    zero_ms = zero_of(story)
    parts: list[RenderableType] = [heading(entry, story, view.unit, kind), Text()]
    if story.t_ms:
        parts += [*curve(story, view, zero_ms), Text()]
    else:
        parts += [Text("The log holds no readings.", palette.TROUBLE), Text()]
    for table in (
        portions_table(story),
        marks_table(story, view.unit, zero_ms),
        milestones_table(story, view.unit, zero_ms),
        relay_table(story, view.unit, zero_ms),
    ):
        if table is not None:
            parts += [table, Text()]
    parts += troubles(story, view.unit, zero_ms)
    if isinstance(parts[-1], Text) and not parts[-1].plain:
        parts.pop()
    return parts


def zero_of(story: Story) -> int:
    """The moment from which times are counted: beans in, or the start of the log."""
    beans_in = story.mark(BEANS_IN)
    return beans_in.t_ms if beans_in else 0


def heading(entry: RoastEntry, story: Story, unit: str, kind: str) -> Text:
    """Which roast this is."""
    text = Text()
    text.append(f"Roast {entry.number}  {safe_line(story.plan_name)}", "bold")
    text.append(f"  {safe_line(story.method)}\n")
    length = f"log of {clock(story.end_ms)}"
    if story.roast_ms is not None:
        length = f"{clock(story.roast_ms)} from beans in to beans out"
    state = entry.state
    if story.end_reason and story.end_reason != END_NAMES[DONE]:
        state += f", {story.end_reason}"
    if kind in (PROOF, NO_BEANS, TOO_SHORT):
        state += f": {kind}"
    text.append(f"{when(entry.when)}\n{length}, {state}\n")
    text.append(f"board {safe_line(story.board_serial)}, firmware {safe_line(story.firmware)}", palette.QUIET)
    beans_out = story.mark(BEANS_OUT)
    if beans_out and beans_out.temperature_centi is not None:
        text.append(f", out at {degrees(beans_out.temperature_centi, unit, 1)}", palette.QUIET)
    elif story.peak_centi is not None:
        text.append(f", highest reading {degrees(story.peak_centi, unit, 1)}", palette.QUIET)
    return text


def curve(story: Story, view: View, zero_ms: int) -> list[Text]:
    """The plot, its strips and its axis of time."""
    columns = max(20, min(view.columns - AXIS_WIDTH - 1, WIDEST_PLOT))
    plot_rows = max(SHORTEST_PLOT, min(TALLEST_PLOT, view.rows - LINES_BESIDE_PLOT))
    frame = Frame(columns, min(0, story.t_ms[0]), max(story.end_ms, story.t_ms[-1], 1), zero_ms, view.ascii_only)
    flags = flags_of(story)
    lines = [Text(f"{'°' + view.unit:>{AXIS_WIDTH - 2}}", palette.QUIET)]
    lines += flag_lines(frame, flags)
    temperatures = [in_unit(centi, view.unit) for centi in story.temperature_centi]
    step = 100 if view.unit == FAHRENHEIT else 50
    lines += plot_lines(frame, story.t_ms, temperatures, plot_rows, step, palette.TEMPERATURE, flags)
    if story.relay:
        lines.append(strip_line(frame, "relay", story.closed_spans, palette.RELAY))
    if story.faults:
        lines.append(strip_line(frame, "fault", [(s.from_ms, s.to_ms) for s in story.faults], palette.TROUBLE))
    rates = shown_rates(story, view.unit)
    if any(value is not None for value in rates):
        lines.append(Text(f"{'°' + view.unit:>{AXIS_WIDTH - 2}}  rate of rise, per minute", palette.QUIET))
        bounds = rate_bounds(story, view.unit)
        lines += plot_lines(frame, story.t_ms, rates, RATE_ROWS, 10, palette.RATE, flags, bounds)
    else:
        lines.append(Text(" " * AXIS_WIDTH + NO_RATE, palette.QUIET))
    title = "minutes since beans in" if story.mark(BEANS_IN) else "minutes since the start (beans in was not marked)"
    return lines + time_axis(frame, title)


def flags_of(story: Story) -> list[Flag]:
    """Marks as capitals, milestones as small letters, trips as exclamation marks."""
    flags = [Flag(letter, mark.t_ms, True, palette.MARK) for letter, mark in zip(MARK_LETTERS, story.marks, strict=False)]
    flags += [
        Flag(letter, hit.t_ms, False, palette.MILESTONE)
        for letter, hit in zip(MILESTONE_LETTERS, story.milestones, strict=False)
    ]
    flags += [Flag(TRIP_LETTER, trip.t_ms, True, palette.TROUBLE) for trip in story.trips]
    return flags


def shown_rates(story: Story, unit: str) -> list[float | None]:
    """The rate of rise while it is that of the beans: one whole window after the turning until beans out.

    A trip does not end it: over a flame the beans go on, and what they did then is what one wants to know.
    """
    begin = 0 if story.turning_ms is None else story.turning_ms + RATE_WINDOW_MS
    beans_out = story.mark(BEANS_OUT)
    end = beans_out.t_ms if beans_out else story.end_ms
    return [
        rate_in_unit(value, unit) if value is not None and begin <= t_ms <= end else None
        for t_ms, value in zip(story.t_ms, story.rate_centi_per_min, strict=True)
    ]


def rate_bounds(story: Story, unit: str) -> tuple[float, float]:
    """From zero, or a little lower when the roast fell back, to the highest rate, in whole tens."""
    shown = [value for value in shown_rates(story, unit) if value is not None]
    high = max(10, math.ceil(max(shown, default=0) / 10) * 10)
    return (0 if min(shown, default=0) >= FALLING_BACK else -10), high


def plain_table(*headings: str) -> Table:
    """A table without lines, numbers to the right."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in headings:
        right = heading in ("time", "share", "temperature")
        table.add_column(heading, justify="right" if right else "left", overflow="fold")
    return table


def portions_table(story: Story) -> Table | None:
    """Drying, browning, development: each one's time and share of the whole."""
    if not story.portions:
        return None
    table = plain_table("stage", "from", "to", "time", "share")
    for portion in story.portions:
        table.add_row(
            portion.name,
            portion.from_mark,
            portion.to_mark,
            clock(portion.to_ms - portion.from_ms),
            share(portion.share),
        )
    return table


def marks_table(story: Story, unit: str, zero_ms: int) -> Table | None:
    """The marks and their letters in the plot."""
    if not story.marks and not story.struck_marks:
        return None
    table = plain_table("", "mark", "time", "temperature", "made by")
    for letter, mark in zip(MARK_LETTERS, story.marks, strict=False):
        table.add_row(
            letter,
            safe_line(mark.name),
            clock(mark.t_ms - zero_ms),
            degrees(mark.temperature_centi, unit, 1),
            mark.source if mark.recorded_ms is None else f"{mark.source}, board had {clock(mark.recorded_ms - zero_ms)}",
        )
    for mark in story.struck_marks:
        words = f"struck out, board had it {mark.source}"
        table.add_row("", safe_line(mark.name), clock(mark.t_ms - zero_ms), degrees(mark.temperature_centi, unit, 1), words)
    return table


def milestones_table(story: Story, unit: str, zero_ms: int) -> Table | None:
    """The milestones that came due and their letters in the plot."""
    if not story.milestones:
        return None
    table = plain_table("", "milestone", "time", "temperature", "sound")
    for letter, hit in zip(MILESTONE_LETTERS, story.milestones, strict=False):
        sound = safe_line(hit.sound) if hit.sounded else "silent: something more urgent sounded"
        table.add_row(letter, safe_line(hit.label), clock(hit.t_ms - zero_ms), degrees(hit.temperature_centi, unit, 1), sound)
    return table


def relay_table(story: Story, unit: str, zero_ms: int) -> Table | None:
    """Every change of the relay."""
    if not story.relay:
        return None
    table = plain_table("relay", "time", "temperature")
    for change in story.relay:
        words = "closed: heater on" if change.closed else "open: heater off"
        table.add_row(words, clock(change.t_ms - zero_ms), degrees(story.temperature_at(change.t_ms), unit, 1))
    return table


def troubles(story: Story, unit: str, zero_ms: int) -> list[RenderableType]:
    """Trips, faults, losses and damage, in words."""
    lines: list[RenderableType] = []
    for trip in story.trips:
        words = f"{TRIP_LETTER} {told_at(story.plan, clock(trip.t_ms - zero_ms))}: {trip.words}"
        if trip.reading_centi is not None:
            words += f", reading {degrees(trip.reading_centi, unit, 1)}"
        if trip.limit_centi:
            words += f", limit {degrees(trip.limit_centi, unit, 1)}"
        lines.append(Text(f"{words}. {advice_then(story, trip)}", palette.TROUBLE))
    for span in story.faults:
        lasted = max(1, round((span.to_ms - span.from_ms) / 1000))
        lines.append(Text(f"no reading from {clock(span.from_ms - zero_ms)} on for {lasted} s: {span.words}"))
    lines += [Text(f"lost: {safe_line(sentence)}") for sentence in story.lost]
    lines += [Text(f"damaged log, {safe_line(sentence)}", palette.TROUBLE) for sentence in story.problems]
    return lines
