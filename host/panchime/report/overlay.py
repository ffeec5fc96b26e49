"""Several curves in one terminal plot: each has its colour, and its letter stands on it here and there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rich.text import Text

from panchime.terminal import palette
from panchime.terminal.canvas import BRAILLE_BASE
from panchime.terminal.chart import AXIS_WIDTH, Frame, plot_lines
from panchime.terminal.scale import rounded_range

# Paul Tol's "bright" scheme, as in terminal/palette.py.
STYLES = ("#4477aa", "#ee6677", "#228833", "#ccbb44", "#66ccee", "#aa3377")
LETTER_EVERY = 18  # columns
LETTER_STEP = 5
BRAILLE = range(BRAILLE_BASE, BRAILLE_BASE + 256)


@dataclass(frozen=True)
class Layer:
    """One curve: its letter, its values (NaN breaks it), its style."""

    letter: str
    values: Sequence[float]
    style: str


def overlay_lines(frame: Frame, t_ms: Sequence[int], layers: Sequence[Layer], rows: int, step: float) -> list[Text]:
    """The curves over one axis of values, ``rows`` lines high."""
    known = [[None if math.isnan(value) else value for value in layer.values] for layer in layers]
    bounds = rounded_range([value for values in known for value in values if value is not None] or [0.0], step)
    drawn = [plot_lines(frame, t_ms, values, rows, step, "", bounds=bounds) for values in known]
    lettered = [with_letters([line.plain for line in plot], place, layers[place].letter) for place, plot in enumerate(drawn)]
    return [merged_line([plot[row] for plot in lettered], layers) for row in range(rows)]


def with_letters(plot: list[str], place: int, letter: str) -> list[str]:
    """A plot whose curve carries its letter every few columns, at columns of its own."""
    lines = [list(line) for line in plot]
    width = max(len(line) for line in lines)
    for column in range(AXIS_WIDTH + 2 + place * LETTER_STEP % LETTER_EVERY, width, LETTER_EVERY):
        row = next((line for line in lines if column < len(line) and line[column] != " "), None)
        if row is not None:
            row[column] = letter
    return ["".join(line) for line in lines]


def merged_line(lines: Sequence[str], layers: Sequence[Layer]) -> Text:
    """One line of all plots: dots are added up, a letter stands before dots, the first curve before the others."""
    merged = Text(lines[0][:AXIS_WIDTH], palette.QUIET)
    for column in range(AXIS_WIDTH, max(len(line) for line in lines)):
        cells = [(line[column], place) for place, line in enumerate(lines) if column < len(line) and line[column] != " "]
        if not cells:
            merged.append(" ")
            continue
        letter = next((cell for cell in cells if cell[0].isalpha() and ord(cell[0]) not in BRAILLE), None)
        character, place = letter or cells[0]
        if letter is None and all(ord(cell) in BRAILLE for cell, _ in cells):
            bits = 0
            for cell, _ in cells:
                bits |= ord(cell) - BRAILLE_BASE
            character = chr(BRAILLE_BASE + bits)
        merged.append(character, layers[place].style)
    return merged
