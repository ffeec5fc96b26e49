"""Curves as SVG drawings that need no script: small ones for lists, a whole one for paper."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

from panchime.terminal.safe_text import safe_line
from panchime.terminal.scale import Scale, rounded_range, step_for

SMALL_WIDTH, SMALL_HEIGHT, SMALL_EDGE = 320, 88, 4
SMALL_POINTS = 64
WIDTH, TOP_HEIGHT, RATE_HEIGHT = 720, 300, 110
LEFT, RIGHT, ABOVE, BETWEEN, BELOW = 46, 46, 42, 40, 40
TITLE_LINE, TAG_LINE = 14, 34
LONGEST_GAP_MS = 10_000
POINTS = 240


@dataclass(frozen=True)
class Line:
    """A line of a drawing: moments in ms, values (None or NaN breaks it), the class of its style, a label at its end."""

    t_ms: Sequence[int] | NDArray[np.int64]
    values: Sequence[float | None] | NDArray[np.float64]
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


def path(line: Line, x: Scale, y: Scale, left: float, top: float, points: int, decimals: int = 1) -> str:
    """The line as SVG path data, thinned to at most so many points; only moments inside the scale are drawn."""
    t_ms, values = np.asarray(line.t_ms, dtype=np.float64), np.asarray(line.values, dtype=np.float64)
    inside = np.flatnonzero((t_ms >= x.low) & (t_ms <= x.high))
    every = max(1, -(-len(inside) // points))
    chosen = inside[::every]
    known = np.flatnonzero(~np.isnan(values[chosen]))
    t_ms, values = t_ms[chosen[known]], values[chosen[known]]
    across = left + (t_ms - x.low) / (x.high - x.low) * x.dots
    down = top + y.dots - (values - y.low) / (y.high - y.low) * y.dots
    joined = (np.diff(known, prepend=-2) == 1) & (np.diff(t_ms, prepend=-np.inf) <= LONGEST_GAP_MS * every)
    form = f"%s%.{decimals}f %.{decimals}f"
    letters = ["L" if join else "M" for join in joined.tolist()]
    return "".join([form % step for step in zip(letters, across.tolist(), down.tolist(), strict=True)])


def small_path(t_ms: Sequence[int], values: Sequence[float], from_ms: int, to_ms: int) -> str:
    """A curve without axes, for a list, as SVG path data. Nothing when there are fewer than two readings."""
    moments, readings = np.asarray(t_ms), np.asarray(values, dtype=np.float64)
    chosen = readings[(moments >= from_ms) & (moments <= to_ms)]
    if len(chosen) < 2 or to_ms <= from_ms:
        return ""
    x = Scale(from_ms, to_ms, SMALL_WIDTH)
    low = float(chosen.min())
    y = Scale(low, max(float(chosen.max()), low + 1), SMALL_HEIGHT)
    return path(Line(t_ms, values, ""), x, y, SMALL_EDGE, SMALL_EDGE, SMALL_POINTS, 0)


def drawing(panels: Sequence[Panel], tags: Sequence[Tag], from_ms: int, to_ms: int, axis_title: str, says: str) -> Markup:
    """Panels one below the other over one axis of minutes, the letters of the tags above; ``says`` is it all in words."""
    x = Scale(from_ms, max(to_ms, from_ms + 1), WIDTH - LEFT - RIGHT)
    heights = [TOP_HEIGHT, *[RATE_HEIGHT] * (len(panels) - 1)]
    bottom = ABOVE + sum(heights) + BETWEEN * (len(panels) - 1)
    parts = [Markup(f"<title>{escape(safe_line(says))}</title>")]
    top = ABOVE
    for panel, height in zip(panels, heights, strict=True):
        parts += panel_parts(panel, x, top, height)
        top += height + BETWEEN
    parts += tag_parts(tags, x, bottom)
    parts += minute_parts(x, bottom, axis_title)
    inside = "".join(parts)
    box = f'viewBox="0 0 {WIDTH} {bottom + BELOW}"'
    return Markup(f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" {box} role="img">{inside}</svg>')


def panel_parts(panel: Panel, x: Scale, top: int, height: int) -> list[Markup]:
    """The frame, the axis of values and the lines of one panel."""
    values = np.concatenate([np.zeros(0), *(drawn_values(line, x) for line in panel.lines)])
    ends = [float(values.min()), float(values.max())] if len(values) else [0.0]
    y = Scale(*rounded_range(ends, panel.step), height)
    title_y = TITLE_LINE if top == ABOVE else top - 12
    parts = [Markup(f'<text class="title" x="0" y="{title_y}">{escape(panel.title)}</text>')]
    for tick in y.ticks(max(2, height // 50)):
        down = top + height - (tick - y.low) / (y.high - y.low) * height
        parts.append(Markup(f'<path class="grid" d="M{LEFT} {down:.1f}H{WIDTH - RIGHT}"/>'))
        parts.append(text(LEFT - 6, down + 4, f"{tick:g}", "end"))
    for line in panel.lines:
        parts.append(Markup(f'<path class="{escape(line.style)}" d="{path(line, x, y, LEFT, top, POINTS)}"/>'))
        if line.label and len(drawn_values(line, x)):
            t_ms, value = last_drawn(line, x.high)
            across = LEFT + (t_ms - x.low) / (x.high - x.low) * x.dots
            down = top + height - (value - y.low) / (y.high - y.low) * height
            parts.append(text(across + 4, down + 4, line.label, "start", "label"))
    return parts


def drawn_values(line: Line, x: Scale) -> NDArray[np.float64]:
    """The values of a line inside the scale of moments."""
    t_ms, values = np.asarray(line.t_ms), np.asarray(line.values, dtype=np.float64)
    return values[(t_ms >= x.low) & (t_ms <= x.high) & ~np.isnan(values)]


def last_drawn(line: Line, until_ms: float) -> tuple[float, float]:
    """The moment and value of the last value of a line up to a moment; it has one."""
    t_ms, values = np.asarray(line.t_ms), np.asarray(line.values, dtype=np.float64)
    last = np.flatnonzero((t_ms <= until_ms) & ~np.isnan(values))[-1]
    return float(t_ms[last]), float(values[last])


def tag_parts(tags: Sequence[Tag], x: Scale, bottom: int) -> list[Markup]:
    """Letters above the plot; where they would cover one another they are pushed to the right."""
    parts = []
    free = 0.0
    for tag in sorted(tags, key=lambda tag: tag.t_ms):
        if not x.low <= tag.t_ms <= x.high:
            continue
        across = LEFT + (tag.t_ms - x.low) / (x.high - x.low) * x.dots
        if tag.kind != "milestone":
            parts.append(Markup(f'<path class="{escape(tag.kind)}" d="M{across:.1f} {ABOVE - 4}V{bottom}"/>'))
        place = max(across, free)
        parts.append(text(place, TAG_LINE, tag.letter, "middle", f"tag {tag.kind}"))
        free = place + 12
    return parts


def minute_parts(x: Scale, bottom: int, axis_title: str) -> list[Markup]:
    """The axis of minutes."""
    step = step_for((x.high - x.low) / 60000, 12)
    parts = [Markup(f'<path class="frame" d="M{LEFT} {bottom}H{WIDTH - RIGHT}"/>')]
    minute = -(-x.low // (step * 60000)) * step
    while minute * 60000 <= x.high:
        across = LEFT + (minute * 60000 - x.low) / (x.high - x.low) * x.dots
        parts.append(Markup(f'<path class="frame" d="M{across:.1f} {bottom}v5"/>'))
        parts.append(text(across, bottom + 17, f"{minute:g}", "middle"))
        minute += step
    parts.append(text((LEFT + WIDTH - RIGHT) / 2, bottom + 34, axis_title, "middle"))
    return parts


def text(x: float, y: float, words: str, anchor: str, style: str = "") -> Markup:
    """A text of the drawing."""
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{escape(anchor)}"'
    return Markup(f'<text class="{escape(style)}" {place}>{escape(safe_line(words))}</text>')
