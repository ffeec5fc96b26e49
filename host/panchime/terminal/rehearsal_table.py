"""A rehearsal as a table: what would have sounded, when, and at which temperature."""

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from panchime.rehearsal.bench import CUE, MARKED, RELAY_MOVED, TAKEN_BACK, TRIPPED
from panchime.rehearsal.rehearsal import Rehearsal
from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import clock, degrees
from panchime_fw.units import CELSIUS

STYLES = {MARKED: palette.MARK, TAKEN_BACK: palette.MARK, TRIPPED: palette.TROUBLE, RELAY_MOVED: palette.QUIET}

TRIPPED_WORDS = "The cutoff would have tripped: from there on the roast would have gone another way."
ALARMED_WORDS = (
    "The alarm would have sounded. No heater hangs on the relay: nothing would have been cut off, and the heat would have been "
    "yours to turn off."
)


def rehearsal_screen(rehearsal: Rehearsal, unit: str = CELSIUS) -> list[RenderableType]:
    """Everything in order of time, then what never came due."""
    if rehearsal.refused:
        return [Text(f"The board would not have started: {safe_line(rehearsal.refused)}", palette.TROUBLE)]
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("time", justify="right", no_wrap=True)
    table.add_column("temperature", justify="right", no_wrap=True)
    table.add_column("what", no_wrap=True)
    table.add_column("", overflow="fold")
    table.add_column("sound", overflow="fold")
    for happening in rehearsal.happenings:
        sound = safe_line(happening.sound) if happening.sounded else "silent: something else sounded too long"
        table.add_row(
            clock(happening.t_ms - rehearsal.zero_ms),
            degrees(happening.temperature_centi, unit, 1),
            Text(happening.kind, STYLES.get(happening.kind, "")),
            safe_line(happening.words),
            sound,
        )
    parts: list[RenderableType] = [Text(f"Rehearsed over {safe_line(rehearsal.over)}", "bold"), table]
    last = []
    if not any(happening.kind == CUE for happening in rehearsal.happenings):
        last.append(Text("No cue would have sounded."))
    if rehearsal.never:
        last.append(Text("Never came due: " + ", ".join(safe_line(label) for label in rehearsal.never)))
    if rehearsal.foreign_marks:
        names = ", ".join(safe_line(name) for name in rehearsal.foreign_marks)
        last.append(Text(f"Marks of the roast that this plan does not take: {names}"))
    if rehearsal.trips:
        last.append(Text(TRIPPED_WORDS if rehearsal.drives_heater else ALARMED_WORDS, palette.TROUBLE))
    return [*parts, Text(), *last] if last else parts
