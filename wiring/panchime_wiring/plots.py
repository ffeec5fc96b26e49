"""Curves of an ngspice run as a small SVG, one strip for each vector."""

from typing import Any

import drawsvg

from panchime_wiring.svg_text import finished

FONT = "DejaVu Sans, Verdana, sans-serif"
WIDTH, STRIP, LEFT = 640, 90, 70
POINTS = 400
UNITS = {"coil mA": "mA"}


def draw(title: str, curves: dict[str, list[float]]) -> str:
    """The vectors over `time`, seconds, thinned to what the eye can see but with each bin's extremes kept."""
    times = curves["time"]
    names = [name for name in curves if name != "time"]
    height = 40 + STRIP * len(names) + 26
    drawing: Any = drawsvg.Drawing(WIDTH, height)
    drawing.append(drawsvg.Rectangle(0, 0, WIDTH, height, fill="white"))
    drawing.append(drawsvg.Text(title, 11, 8, 18, font_family=FONT))
    begin, end = times[0], times[-1]
    for index, name in enumerate(names):
        top = 32 + STRIP * index
        values = curves[name]
        low, high = min(0.0, *values), max(values) or 1.0
        scale_y = (STRIP - 24) / (high - low)
        points: list[float] = []
        for t, value in _thinned(times, values):
            points += [LEFT + (t - begin) / (end - begin) * (WIDTH - LEFT - 12), top + STRIP - 16 - (value - low) * scale_y]
        zero = top + STRIP - 16 + low * scale_y
        drawing.append(drawsvg.Line(LEFT, zero, WIDTH - 12, zero, stroke="#bbb"))
        drawing.append(drawsvg.Lines(*points, fill="none", stroke="#0072b2", stroke_width=1.3))
        drawing.append(drawsvg.Text(name.removesuffix(" mA"), 11, 8, top + 34, font_family=FONT))
        drawing.append(drawsvg.Text(f"{high:.3g} {UNITS.get(name, 'V')}", 10, 8, top + 50, font_family=FONT, fill="#555"))
    unit, factor = ("s", 1.0) if end - begin > 0.5 else ("ms", 1000.0)
    for part in range(5):
        t = begin + (end - begin) * part / 4
        x = LEFT + (WIDTH - LEFT - 12) * part / 4
        words = f"{round(t * factor, 2):g} {unit}"
        drawing.append(drawsvg.Text(words, 10, x, height - 8, font_family=FONT, text_anchor="end" if part == 4 else "middle"))
    return finished(str(drawing.as_svg()).split("?>", 1)[-1].strip())


def _thinned(times: list[float], values: list[float]) -> list[tuple[float, float]]:
    step = max(1, len(times) // (POINTS // 2))
    found = []
    for at in range(0, len(times), step):
        part = list(zip(times[at : at + step], values[at : at + step], strict=True))
        found += sorted({min(part, key=lambda pair: pair[1]), max(part, key=lambda pair: pair[1])})
    return found
