"""Curves as SVG drawings that need no script: small ones for lists, a whole one for paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from panchime.terminal.safe_text import safe_line
from panchime.terminal.scale import Scale, rounded_range, step_for

SMALL_WIDTH, SMALL_HEIGHT = 160, 44
SMALL_POINTS = 64
WIDTH, TOP_HEIGHT, RATE_HEIGHT = 720, 300, 110
LEFT, RIGHT, ABOVE, BETWEEN, BELOW = 46, 46, 42, 40, 40
TITLE_LINE, TAG_LINE = 14, 34
LONGEST_GAP_MS = 10_000
POINTS = 600


@dataclass(frozen=True)
class Line:
    """A line of a drawing: its moments in ms, its values (None breaks it), the class of its style, a label at its end."""

    t_ms: Sequence[int]
    values: Sequence[float | None]
    style: str
    label: str = ""


@dataclass(frozen=True)
class Tag:
    """A letter at a moment. ``kind``: mark, milestone or trip."""

    letter: str
    t_ms: int
    kind: str


@dataclass(frozen=True)
class Panel:
    """One plot: a title, lines, and the whole steps its axis is rounded to."""

    title: str
    lines: Sequence[Line]
    step: float


def path(line: Line, x: Scale, y: Scale, left: float, top: float, points: int) -> str:
    """The line as SVG path data, thinned to about so many points; only moments inside the scale are drawn."""
    inside = [place for place, t_ms in enumerate(line.t_ms) if x.low <= t_ms <= x.high]
    every = max(1, len(inside) // points)
    steps = []
    before = None
    for place in inside[::every]:
        t_ms, value = line.t_ms[place], line.values[place]
        if value is None:
            before = None
            continue
        letter = "L" if before is not None and t_ms - before <= LONGEST_GAP_MS * every else "M"
        across = left + (t_ms - x.low) / (x.high - x.low) * x.dots
        down = top + y.dots - (value - y.low) / (y.high - y.low) * y.dots
        steps.append(f"{letter}{across:.1f} {down:.1f}")
        before = t_ms
    return "".join(steps)


def small_curve(t_ms: Sequence[int], values: Sequence[float], from_ms: int, to_ms: int) -> Markup:
    """A curve without axes, for a list. Nothing when there are fewer than two readings."""
    chosen = [value for moment, value in zip(t_ms, values, strict=True) if from_ms <= moment <= to_ms]
    if len(chosen) < 2 or to_ms <= from_ms:
        return Markup("")
    x = Scale(from_ms, to_ms, SMALL_WIDTH)
    y = Scale(min(chosen), max(max(chosen), min(chosen) + 1), SMALL_HEIGHT)
    data = path(Line(t_ms, values, ""), x, y, 2, 2, SMALL_POINTS)
    return Markup(
        '<svg class="small" viewBox="0 0 {width} {height}" aria-hidden="true"><path class="reading" d="{data}"/></svg>'
    ).format(width=SMALL_WIDTH + 4, height=SMALL_HEIGHT + 4, data=data)


def drawing(panels: Sequence[Panel], tags: Sequence[Tag], from_ms: int, to_ms: int, axis_title: str, says: str) -> Markup:
    """Panels one below the other over one axis of minutes, the letters of the tags above; ``says`` is it all in words."""
    x = Scale(from_ms, max(to_ms, from_ms + 1), WIDTH - LEFT - RIGHT)
    heights = [TOP_HEIGHT, *[RATE_HEIGHT] * (len(panels) - 1)]
    bottom = ABOVE + sum(heights) + BETWEEN * (len(panels) - 1)
    parts = [Markup('<title>{says}</title>').format(says=safe_line(says))]
    top = ABOVE
    for panel, height in zip(panels, heights, strict=True):
        parts += panel_parts(panel, x, top, height)
        top += height + BETWEEN
    parts += tag_parts(tags, x, bottom)
    parts += minute_parts(x, bottom, axis_title)
    return Markup('<svg class="drawing" viewBox="0 0 {width} {height}" role="img">{inside}</svg>').format(
        width=WIDTH, height=bottom + BELOW, inside=Markup("").join(parts)
    )


def panel_parts(panel: Panel, x: Scale, top: int, height: int) -> list[Markup]:
    """The frame, the axis of values and the lines of one panel."""
    values = [
        value
        for line in panel.lines
        for t_ms, value in zip(line.t_ms, line.values, strict=True)
        if value is not None and x.low <= t_ms <= x.high
    ]
    y = Scale(*rounded_range(values or [0.0], panel.step), height)
    title_y = TITLE_LINE if top == ABOVE else top - 12
    parts = [Markup('<text class="title" x="0" y="{y}">{words}</text>').format(y=title_y, words=panel.title)]
    for tick in y.ticks(max(2, height // 50)):
        down = top + height - (tick - y.low) / (y.high - y.low) * height
        parts.append(Markup('<path class="grid" d="M{a} {y:.1f}H{b}"/>').format(a=LEFT, b=WIDTH - RIGHT, y=down))
        parts.append(text(LEFT - 6, down + 4, f"{tick:g}", "end"))
    for line in panel.lines:
        parts.append(
            Markup('<path class="{style}" d="{data}"/>').format(style=line.style, data=path(line, x, y, LEFT, top, POINTS))
        )
        last = last_drawn(line, x.high)
        if line.label and last is not None:
            value = line.values[last] or 0.0
            across = LEFT + (line.t_ms[last] - x.low) / (x.high - x.low) * x.dots
            down = top + height - (value - y.low) / (y.high - y.low) * height
            parts.append(text(across + 4, down + 4, line.label, "start", "label"))
    return parts


def last_drawn(line: Line, until_ms: float) -> int | None:
    """The place of the last value of a line up to a moment."""
    places = range(len(line.t_ms) - 1, -1, -1)
    return next((place for place in places if line.values[place] is not None and line.t_ms[place] <= until_ms), None)


def tag_parts(tags: Sequence[Tag], x: Scale, bottom: int) -> list[Markup]:
    """Letters above the plot; where they would cover one another they are pushed to the right."""
    parts = []
    free = 0.0
    for tag in sorted(tags, key=lambda tag: tag.t_ms):
        if not x.low <= tag.t_ms <= x.high:
            continue
        across = LEFT + (tag.t_ms - x.low) / (x.high - x.low) * x.dots
        if tag.kind != "milestone":
            rule = Markup('<path class="{kind}" d="M{x:.1f} {a}V{b}"/>')
            parts.append(rule.format(kind=tag.kind, x=across, a=ABOVE - 4, b=bottom))
        place = max(across, free)
        parts.append(text(place, TAG_LINE, tag.letter, "middle", f"tag {tag.kind}"))
        free = place + 12
    return parts


def minute_parts(x: Scale, bottom: int, axis_title: str) -> list[Markup]:
    """The axis of minutes."""
    step = step_for((x.high - x.low) / 60000, 12)
    parts = [Markup('<path class="frame" d="M{a} {y}H{b}"/>').format(a=LEFT, b=WIDTH - RIGHT, y=bottom)]
    minute = -(-x.low // (step * 60000)) * step
    while minute * 60000 <= x.high:
        across = LEFT + (minute * 60000 - x.low) / (x.high - x.low) * x.dots
        parts.append(Markup('<path class="frame" d="M{x:.1f} {y}v5"/>').format(x=across, y=bottom))
        parts.append(text(across, bottom + 17, f"{minute:g}", "middle"))
        minute += step
    parts.append(text((LEFT + WIDTH - RIGHT) / 2, bottom + 34, axis_title, "middle"))
    return parts


def text(x: float, y: float, words: str, anchor: str, style: str = "") -> Markup:
    """A text of the drawing."""
    return Markup('<text class="{style}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{words}</text>').format(
        style=style, x=x, y=y, anchor=anchor, words=safe_line(words)
    )
