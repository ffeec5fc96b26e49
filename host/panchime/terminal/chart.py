"""The curve of a roast in characters: axes in minutes and degrees, flags of letters, a strip for the rate of rise."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.text import Text

from panchime.terminal import palette
from panchime.terminal.canvas import DOTS_ACROSS, RULES, Canvas
from panchime.terminal.scale import Scale, rounded_range

AXIS_WIDTH = 7  # "  250 ┤"
TICK_EVERY_COLUMNS = 8
MOST_TICKS_OF_A_LOW_PLOT = 3


@dataclass(frozen=True)
class Flag:
    """A letter at a moment; a ruled one has a faint upright line through the plot."""

    letter: str
    t_ms: int
    ruled: bool
    style: str


@dataclass(frozen=True)
class Glyphs:
    """The characters of axes and strips: box drawing, or plain ASCII for a terminal that has no more."""

    tick: str
    wall: str
    corner: str
    floor: str
    time_tick: str
    strip: str


BOX = Glyphs("┤", "│", "└", "─", "┴", "━")
PLAIN = Glyphs("+", "|", "+", "-", "+", "=")


@dataclass(frozen=True)
class Frame:
    """What all parts of one drawing share: columns of the plot, the span of time, the moment called zero."""

    columns: int
    from_ms: int
    to_ms: int
    zero_ms: int
    ascii_only: bool = False

    @property
    def glyphs(self) -> Glyphs:
        """The characters to draw with."""
        return PLAIN if self.ascii_only else BOX

    @property
    def dots(self) -> Scale:
        """Time over the dots of the canvas."""
        return Scale(self.from_ms, self.to_ms, self.columns * DOTS_ACROSS)

    def column(self, t_ms: int) -> int:
        """The cell column of a moment, kept inside the plot."""
        return min(max(self.dots.dot(t_ms) // DOTS_ACROSS, 0), self.columns - 1)


def flag_lines(frame: Frame, flags: Sequence[Flag]) -> list[Text]:
    """The flags above the plot, in as many rows as it takes for none to hide another."""
    rows: list[dict[int, Flag]] = []
    for flag in sorted(flags, key=lambda flag: flag.t_ms):
        column = frame.column(flag.t_ms)
        row = next((row for row in rows if column not in row), None)
        if row is None:
            row = {}
            rows.append(row)
        row[column] = flag
    lines = []
    for row in reversed(rows):
        line = Text(" " * AXIS_WIDTH)
        for column in range(frame.columns):
            line.append(row[column].letter, row[column].style) if column in row else line.append(" ")
        line.rstrip()
        lines.append(line)
    return lines


def plot_lines(
    frame: Frame,
    t_ms: Sequence[int],
    values: Sequence[float | None],
    rows: int,
    step: float,
    style: str,
    flags: Sequence[Flag] = (),
    bounds: tuple[float, float] | None = None,
) -> list[Text]:
    """One curve with its axis of values, ``rows`` lines high. A value that is None, or a gap in time, breaks the line.

    ``step`` is the distance of the axis's whole steps, ``bounds`` the range when it is not that of the values.
    """
    canvas = Canvas(frame.columns, rows, frame.ascii_only)
    for flag in flags:
        if flag.ruled:
            canvas.rule(frame.column(flag.t_ms))
    low, high = bounds or rounded_range([value for value in values if value is not None] or [0.0], step)
    scale = Scale(low, high, canvas.height)
    longest_gap_ms = 5000
    before: tuple[int, int, int] | None = None
    for moment, value in zip(t_ms, values, strict=True):
        if value is None:
            before = None
            continue
        x, y = frame.dots.dot(moment), canvas.height - 1 - scale.dot(value)
        if before is None or moment - before[0] > longest_gap_ms:
            canvas.dot(x, y)
        else:
            canvas.line(before[1], before[2], x, y)
        before = (moment, x, y)
    labels: dict[int, str] = {}
    for tick in scale.ticks(max(rows // 3, MOST_TICKS_OF_A_LOW_PLOT)):
        labels[(canvas.height - 1 - scale.dot(tick)) // 4] = f"{tick:g}"
    lines = []
    for row, text in enumerate(canvas.lines()):
        axis = frame.glyphs.tick if row in labels else frame.glyphs.wall
        line = Text(f"{labels.get(row, ''):>{AXIS_WIDTH - 2}} {axis}", palette.QUIET)
        for character in text:
            line.append(character, palette.QUIET if character in RULES else style)
        lines.append(line)
    return lines


def time_axis(frame: Frame, title: str) -> list[Text]:
    """The axis of time in minutes: a ruler, its numbers, and what they count."""
    low, high = (frame.from_ms - frame.zero_ms) / 60000, (frame.to_ms - frame.zero_ms) / 60000
    minutes = Scale(low, high, frame.columns).ticks(max(2, frame.columns // TICK_EVERY_COLUMNS))
    ruler = [frame.glyphs.floor] * frame.columns
    numbers = [" "] * (frame.columns + 4)
    for minute in minutes:
        column = frame.column(round(minute * 60000 + frame.zero_ms))
        ruler[column] = frame.glyphs.time_tick
        text = f"{minute:g}"
        begin = max(0, column - (len(text) - 1) // 2 - (1 if text.startswith("-") else 0))
        numbers[begin : begin + len(text)] = text
    indent = " " * (AXIS_WIDTH - 1)
    return [
        Text(indent + frame.glyphs.corner + "".join(ruler), palette.QUIET),
        Text((" " * AXIS_WIDTH + "".join(numbers)).rstrip(), palette.QUIET),
        Text(" " * AXIS_WIDTH + title, palette.QUIET),
    ]


def strip_line(frame: Frame, name: str, spans: Sequence[tuple[int, int]], style: str) -> Text:
    """One line that is drawn where something held: the relay closed, the probe faulty."""
    cells = [" "] * frame.columns
    for begin, end in spans:
        for column in range(frame.column(begin), frame.column(end) + 1):
            cells[column] = frame.glyphs.strip
    line = Text(f"{name:>{AXIS_WIDTH - 2}}  ", palette.QUIET)
    line.append("".join(cells).rstrip(), style)
    return line
