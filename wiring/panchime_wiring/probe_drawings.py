"""Where the probe sits in each way of roasting: line drawings."""

from collections.abc import Callable
from typing import Any

import drawsvg

from panchime_wiring.svg_text import finished

FONT = "DejaVu Sans, Verdana, sans-serif"
WIDTH, HEIGHT = 760, 380
METAL, BEAN, PROBE, HOT, WOOD = "#4a4a4a", "#8a5a2b", "#0072b2", "#d55e00", "#a0865a"


class _Sketch:
    """A drawing of one way to roast."""

    def __init__(self, title: str) -> None:
        self._drawing: Any = drawsvg.Drawing(WIDTH, HEIGHT)
        self._drawing.append(drawsvg.Rectangle(0, 0, WIDTH, HEIGHT, fill="white"))
        self.words(title, 16, 28, size=17, bold=True)

    def text(self) -> str:
        return finished(str(self._drawing.as_svg()).split("?>", 1)[-1].strip())

    def words(self, words: str, x: float, y: float, size: float = 13, bold: bool = False, colour: str = "#000") -> None:
        weight = "bold" if bold else "normal"
        self._drawing.append(drawsvg.Text(words, size, x, y, font_family=FONT, font_weight=weight, fill=colour))

    def lines(self, *points: tuple[float, float], colour: str = METAL, width: float = 3, dash: str = "none") -> None:
        flat = [value for point in points for value in point]
        self._drawing.append(
            drawsvg.Lines(
                *flat, fill="none", stroke=colour, stroke_width=width, stroke_linejoin="round", stroke_linecap="round",
                stroke_dasharray=dash,
            )
        )  # fmt: skip

    def box(self, x: float, y: float, width: float, height: float, fill: str = "none") -> None:
        self._drawing.append(drawsvg.Rectangle(x, y, width, height, rx=4, fill=fill, stroke=METAL, stroke_width=3))

    def curve(self, path: str, colour: str = METAL, width: float = 3, fill: str = "none") -> None:
        self._drawing.append(drawsvg.Path(d=path, fill=fill, stroke=colour, stroke_width=width, stroke_linecap="round"))

    def beans(self, *centres: tuple[float, float]) -> None:
        for x, y in centres:
            self._drawing.append(drawsvg.Ellipse(x, y, 11, 7, fill="#d9b48a", stroke=BEAN, stroke_width=2))
            self._drawing.append(drawsvg.Line(x - 8, y, x + 8, y, stroke=BEAN, stroke_width=1.5))

    def heap(self, x: float, y: float, columns: int, rows: int, empty: tuple[tuple[int, int], ...] = ()) -> None:
        """Rows of beans; `empty` places (column, row) are left for the probe."""
        for row in range(rows):
            for column in range(columns):
                if (column, row) not in empty:
                    self.beans((x + column * 24 + (row % 2) * 12, y - row * 15))

    def probe(self, *points: tuple[float, float]) -> None:
        """A sheathed probe whose last point is the tip."""
        self.lines(*points, colour=PROBE, width=5)
        x, y = points[-1]
        self._drawing.append(drawsvg.Circle(x, y, 7, fill=PROBE, stroke="white", stroke_width=1.5))

    def arrow(self, x0: float, y0: float, x1: float, y1: float, colour: str = HOT, width: float = 2.5) -> None:
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        self.lines((x0, y0), (x1, y1), colour=colour, width=width)
        for side in (0.5, -0.5):
            self.lines((x1, y1), (x1 - 10 * ux + 10 * side * uy, y1 - 10 * uy - 10 * side * ux), colour=colour, width=width)

    def flames(self, x: float, y: float, count: int) -> None:
        for index in range(count):
            at = x + index * 38
            self.curve(f"M {at} {y} q -10 -14 0 -28 q 10 14 0 28 z", HOT, 2, "#f6c99a")

    def below(self, reads: str, moved: str) -> None:
        """The two lines under the drawing: what it reads and how late, and how one sees that it has moved."""
        self.words(reads, 16, 345)
        self.words(moved, 16, 366)

    def note(self, words: str, x: float, y: float, to: tuple[float, float]) -> None:
        """Words with a thin line to what they mean."""
        lines = words.split("\n")
        for index, line in enumerate(lines):
            self.words(line, x, y + 17 * index)
        end_x = x - 6 if to[0] < x else x + 7.3 * max(map(len, lines)) + 4
        self.lines((end_x, y - 4), to, colour="#777", width=1.2)


def _skillet() -> str:
    sketch = _Sketch("Skillet or wok: a clip on the rim, the tip under the beans")
    sketch.curve("M 90 190 L 118 262 L 402 262 L 430 190")
    sketch.lines((430, 196), (520, 176), colour=WOOD, width=12)
    sketch.heap(145, 248, 10, 3, ((4, 0), (5, 0), (4, 1)))
    sketch.probe((64, 104), (93, 166), (118, 204), (168, 234), (252, 244))
    sketch.box(82, 168, 22, 34, "#ddd")
    sketch.flames(190, 306, 5)
    sketch.note("clip of steel on the rim: it holds\nthe sheath well above the tip", 500, 92, (106, 176))
    sketch.note("tip 3 to 5 mm above the pan,\nunder the beans, all round in beans", 470, 226, (262, 246))
    sketch.note("not touching metal: a tip on the\npan reads the pan, far too high", 470, 300, (300, 264))
    sketch.below(
        "Reads: beans and pan mixed. Lag: 3 to 6 s in a 3 mm sheath (measure it: panchime calibrate lag).",
        "Moved: the curve jumps up (on the pan) or sags and shivers (in the air), in step with your stirring.",
    )
    return sketch.text()


def _crank() -> str:
    sketch = _Sketch("Crank popper: through the lid's vent, beside the stirrer")
    sketch.curve("M 110 150 L 118 262 Q 120 272 130 272 L 390 272 Q 400 272 402 262 L 410 150")
    sketch.lines((102, 150), (418, 150), width=6)
    sketch.lines((260, 96), (260, 252), width=4)
    sketch.lines((196, 254), (324, 254), width=5)
    sketch.lines((260, 96), (318, 96), width=4)
    sketch.lines((318, 96), (318, 78), colour=WOOD, width=9)
    sketch.heap(146, 238, 10, 2, ((9, 0), (9, 1)))
    sketch.probe((372, 74), (372, 200), (366, 240))
    sketch.box(362, 140, 20, 20, "#ddd")
    sketch.flames(170, 318, 5)
    sketch.note("through the vent that is there;\nno drilling of a listed lid", 500, 92, (384, 148))
    sketch.note("tip in the beans near the wall,\nclear of the stirrer all the way round", 500, 190, (376, 236))
    sketch.note("turn the crank once by hand,\ncold, before you light the flame", 500, 262, (330, 256))
    sketch.below(
        "Reads: moving beans, some steam and air. Lag: 3 to 6 s in a 3 mm sheath; the stirring helps.",
        "Moved: knocks once a turn in the curve; a sudden step when the stirrer has bent the probe.",
    )
    return sketch.text()


def _air() -> str:
    sketch = _Sketch("Hot-air popper: in the whirling beans, away from the jet")
    sketch.curve("M 150 84 L 150 262 Q 150 276 164 276 L 336 276 Q 350 276 350 262 L 350 84")
    sketch.box(140, 290, 220, 34, "#eee")
    for y in (256, 240):
        sketch.arrow(156, y + 14, 190, y)
        sketch.arrow(344, y + 14, 310, y)
    sketch.heap(190, 252, 5, 5, ((2, 2), (2, 3), (2, 4), (3, 4)))
    sketch.arrow(222, 170, 190, 196, BEAN)
    sketch.arrow(290, 170, 316, 196, BEAN)
    sketch.probe((272, 58), (272, 140), (252, 220))
    sketch.lines((140, 84), (172, 84), width=5)
    sketch.lines((328, 84), (360, 84), width=5)
    sketch.note("from above, through the open top", 470, 84, (278, 96))
    sketch.note("tip in the middle of the whirling beans,\nits lower third while they are heavy", 470, 156, (262, 218))
    sketch.note("the jets blow 250 °C and more:\na tip in one reads air, not beans", 470, 246, (348, 262))
    sketch.below(
        "Reads: beans in hot air, a few degrees above the beans. Lag: 1 to 3 s in a thin sheath.",
        "Moved: the reading leaps by tens of degrees and then follows the heater on and off at once.",
    )
    return sketch.text()


def _oven() -> str:
    sketch = _Sketch("Oven tray: flat among the beans in the middle of the tray")
    sketch.box(70, 70, 400, 220)
    sketch.lines((70, 210), (470, 210), width=2, dash="7 6")
    sketch.curve("M 112 184 L 120 206 L 420 206 L 428 184")
    sketch.heap(142, 196, 11, 1, ((5, 0), (6, 0)))
    sketch.beans((154, 182), (178, 182), (202, 182), (226, 182), (322, 182), (346, 182), (370, 182), (394, 182))
    sketch.probe((520, 120), (466, 132), (400, 160), (274, 196))
    sketch.beans((252, 181), (278, 176))
    for x in (130, 210, 290, 370):
        sketch.arrow(x, 276, x, 244)
    sketch.box(462, 108, 12, 54, "#ddd")
    sketch.note("out at the door's seal: flat lead,\nno sharp bend, glass fibre or PTFE", 530, 92, (478, 122))
    sketch.note("tip lies between beans, one layer\nover it; not on the tray", 530, 186, (284, 194))
    sketch.note("the oven's own thermostat stays\nthe one that guards it", 530, 256, (470, 262))
    sketch.below(
        "Reads: the beans it lies in; the rim of the tray is ahead of it. Lag: 4 to 8 s, nothing stirs.",
        "Moved: smooth but too hot (on the tray) or following the oven's thermostat in slow waves (in the air).",
    )
    return sketch.text()


def _heat_gun() -> str:
    sketch = _Sketch("Heat gun and bowl: low at the side, out of the stream")
    sketch.curve("M 110 168 Q 124 284 250 284 Q 376 284 390 168")
    sketch.beans(*((x, 267) for x in (224, 248, 272)), *((x, 251) for x in (214, 238, 262, 286, 308)))
    sketch.beans(*((x, 235) for x in (162, 206, 230, 254, 278, 302, 326)), (184, 226))
    sketch.curve("M 330 66 L 360 96 L 312 132 L 286 104 Z", METAL, 3, "#eee")
    sketch.lines((350, 78), (400, 118), colour=METAL, width=14)
    for dx in (0, 18, 36):
        sketch.arrow(292 - dx * 0.4, 128 + dx * 0.4, 262 - dx, 196 + dx * 0.3)
    sketch.probe((92, 120), (126, 176), (182, 250))
    sketch.box(102, 144, 22, 30, "#ddd")
    sketch.note("clip on the rim, away from the hand\nthat stirs", 470, 100, (126, 156))
    sketch.note("tip deep in the beans at the side,\nnever under the gun", 470, 180, (192, 248))
    sketch.note("the stream is 300 to 500 °C: lift\nthe gun, the reading must not sag at once", 470, 252, (262, 206))
    sketch.below(
        "Reads: beans, as evenly as you stir. Lag: 3 to 6 s in a 3 mm sheath.",
        "Moved: every sweep of the gun shows in the curve as a hump; a tip in the stream trips the cutoff.",
    )
    return sketch.text()


_ALL: dict[str, Callable[[], str]] = {
    "skillet": _skillet, "crank-popper": _crank, "hot-air-popper": _air, "oven-tray": _oven, "heat-gun": _heat_gun,
}  # fmt: skip


def drawings() -> dict[str, str]:
    """Every drawing by name."""
    return {name: draw() for name, draw in _ALL.items()}
