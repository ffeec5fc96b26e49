"""The comparison in the terminal."""

import string

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from panchime.analysis.smoothing import Floats
from panchime.report.compare_page import legend_words, shown_array
from panchime.report.comparing import Comparison, apart_words, differences
from panchime.report.overlay import STYLES, Layer, overlay_lines
from panchime.report.view import Shown
from panchime.terminal import palette
from panchime.terminal.chart import AXIS_WIDTH, Frame, time_axis
from panchime.terminal.safe_text import safe_line

TALLEST, SHORTEST, BESIDE = 20, 8, 26
RATE_ROWS = 6
WIDEST = 160
LETTERS = string.ascii_uppercase


def compare_screen(comparison: Comparison, shown: Shown, columns: int, rows: int, ascii_only: bool) -> list[RenderableType]:
    """Overlay, legend, repeatability, table."""
    t_ms = [round(second * 1000) for second in comparison.grid_s.tolist()]
    width = max(20, min(columns - AXIS_WIDTH - 1, WIDEST))
    frame = Frame(width, t_ms[0], t_ms[-1], 0, ascii_only)
    places = range(len(comparison.reports))
    temperatures = [layer(place, shown_array(comparison.temperatures(place), shown)) for place in places]
    rates = [layer(place, comparison.rates(place) * shown.difference(1.0)) for place in places]
    tall = max(SHORTEST, min(TALLEST, rows - BESIDE))
    unit = f"{'°' + shown.unit:>{AXIS_WIDTH - 2}}"
    parts: list[RenderableType] = [Text(unit, palette.QUIET)]
    parts += overlay_lines(frame, t_ms, temperatures, tall, 100 if shown.fahrenheit else 50)
    parts.append(Text(f"{unit}  rate of rise, per minute", palette.QUIET))
    parts += overlay_lines(frame, t_ms, rates, RATE_ROWS, 20 if shown.fahrenheit else 10)
    parts += time_axis(frame, f"minutes since {safe_line(comparison.align)}")
    parts.append(Text())
    for place in places:
        named = temperatures[place]
        parts.append(Text.assemble((named.letter, named.style), f"  {safe_line(legend_words(comparison, place))}"))
    parts += [Text(), Text(safe_line(apart_words(comparison, shown))), Text(), table(comparison, shown)]
    return parts


def layer(place: int, values: Floats) -> Layer:
    """A roast's curve with its letter and style."""
    return Layer(LETTERS[place % len(LETTERS)], values.tolist(), STYLES[place % len(STYLES)])


def table(comparison: Comparison, shown: Shown) -> Table:
    """The roasts side by side."""
    section = differences(comparison, shown)
    made = Table(box=None, pad_edge=False, header_style="bold", caption="  ".join(section.notes), caption_justify="left")
    for heading in section.headings:
        made.add_column(heading, justify="right" if heading in section.right else "left", overflow="fold")
    for row in section.rows:
        made.add_row(*(safe_line(cell) for cell in row))
    return made
