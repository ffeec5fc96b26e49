"""The breadboard as a picture: the board beside it, every wire with a number at both ends, and a list of the wires."""

from typing import Any

import drawsvg

from panchime_wiring.netlist import Netlist
from panchime_wiring.placement import Placement, Wire, place
from panchime_wiring.schematic import END_WORDS, value_text
from panchime_wiring.svg_text import finished

FONT = "DejaVu Sans, Verdana, sans-serif"
PITCH = 22
COLUMNS = 30
BOARD_X, BOARD_WIDTH = 184, 124
BREADBOARD_X = 518
TOP_Y = 290
ROWS = ("T-", "T+", "", "a", "b", "c", "d", "e", "", "f", "g", "h", "i", "j", "", "B-", "B+")
ROW_Y = {row: TOP_Y + index * PITCH for index, row in enumerate(ROWS)}
BOTTOM_Y = ROW_Y["B+"]
# Okabe and Ito's palette, told apart by colour-blind people too; the numbers at the ends say the same.
COLOURS = {
    "3.3 V": "#d55e00", "ground": "#000000", "5 V": "#cc79a7", "clock pin": "#0072b2", "select pin": "#56b4e9",
    "data pin": "#009e73", "settings pin": "#e69f00", "button": "#7f7f7f", "piezo pin": "#8c564b", "light pin": "#bcbd22",
    "relay pin": "#6a3d9a", "output -": "#404040", "output +": "#cc79a7",
}  # fmt: skip
WIDTH = 1266
Point = tuple[float, float]


def draw(netlist: Netlist, boards: str) -> str:
    """The picture as SVG."""
    placement = place(netlist)
    picture = _Picture(netlist, placement)
    picture.breadboard()
    picture.board()
    picture.wires()
    picture.parts()
    picture.words(boards)
    return picture.text()


def hole_xy(hole: str) -> Point:
    """The middle of a hole."""
    row, column = (hole[:2], hole[2:]) if hole[0] in "TB" else (hole[0], hole[1:])
    return BREADBOARD_X + int(column) * PITCH, ROW_Y[row]


def printed(value: str) -> str:
    """A value as it fits on a part: 4.7k, 820, 100n, 0.1A."""
    return value.replace(" ", "").removesuffix("Ω").removesuffix("F")


class _Picture:
    """One drawing; its parts are drawn in the order of the calls."""

    def __init__(self, netlist: Netlist, placement: Placement) -> None:
        self._netlist = netlist
        self._placement = placement
        self._header = netlist.parts["U1"].facts["header"]
        self._count = max(len(self._header["left"]), len(self._header["right"]))
        self._board_y = TOP_Y - 20
        self._pin_pitch = min(20.0, (BOTTOM_Y - TOP_Y + 40) / self._count)
        outside = [wire for wire in placement.wires if wire.ends[0].startswith("U1.")]
        self._numbers = {wire: index + 1 for index, wire in enumerate(outside)}
        self._height = BOTTOM_Y + 205 + 20 * ((len(outside) + 3) // 4)
        self._drawing: Any = drawsvg.Drawing(WIDTH, self._height)
        self._add(drawsvg.Rectangle(0, 0, WIDTH, self._height, fill="white"))
        self._used: dict[str, tuple[str, int]] = {}

    def text(self) -> str:
        return finished(str(self._drawing.as_svg()).split("?>", 1)[-1].strip())

    def _add(self, element: Any) -> None:
        self._drawing.append(element)

    def _label(
        self, words: str, x: float, y: float, size: float = 11, anchor: str = "middle", fill: str = "#000", **more: Any
    ) -> None:
        self._add(drawsvg.Text(words, size, x, y, text_anchor=anchor, fill=fill, font_family=FONT, **more))

    def _line(self, points: list[Point], colour: str, width: float = 3.5) -> None:
        flat = [value for point in points for value in point]
        # A white edge keeps wires that cross apart.
        for stroke, edge in (("white", width + 3), (colour, width)):
            self._add(drawsvg.Lines(*flat, fill="none", stroke=stroke, stroke_width=edge, stroke_linejoin="round"))

    # The breadboard.

    def breadboard(self) -> None:
        left, right = BREADBOARD_X, BREADBOARD_X + (COLUMNS + 1) * PITCH
        self._add(drawsvg.Rectangle(left, TOP_Y - 18, right - left, BOTTOM_Y - TOP_Y + 36, rx=6, fill="#f4f1ea", stroke="#999"))
        middle = (ROW_Y["e"] + ROW_Y["f"]) / 2
        self._add(drawsvg.Rectangle(left, middle - 6, right - left, 12, fill="#ded9cc"))
        for row, colour in (("T-", "#000000"), ("T+", "#d55e00"), ("B-", "#000000"), ("B+", "#cc79a7")):
            y = ROW_Y[row] + (-10 if row in ("T-", "B-") else 10)
            self._add(drawsvg.Line(left + 14, y, right - 14, y, stroke=colour, stroke_width=1.2))
            words = {"T-": "ground", "T+": "3.3 V", "B-": "ground", "B+": "5 V"}[row]
            self._label(words, right + 6, ROW_Y[row] + 4, anchor="start")
        for row in filter(None, ROWS):
            # A line of round dots is one element in place of thirty circles.
            self._add(
                drawsvg.Line(
                    left + PITCH, ROW_Y[row], left + COLUMNS * PITCH + 1, ROW_Y[row],
                    stroke="#bdb7a8", stroke_width=5.2, stroke_linecap="round", stroke_dasharray=f"0 {PITCH}",
                )
            )  # fmt: skip
        for column in range(1, COLUMNS + 1):
            if column % 5 == 0 or column == 1:
                self._label(str(column), left + column * PITCH, ROW_Y["a"] - 9, 9, fill="#666")
                self._label(str(column), left + column * PITCH, ROW_Y["j"] + 16, 9, fill="#666")
        for row in "abcdefghij":
            self._label(row, left + 9, ROW_Y[row] + 4, 9, fill="#666")
            self._label(row, right - 9, ROW_Y[row] + 4, 9, fill="#666")

    # The board.

    def board(self) -> None:
        height = self._count * self._pin_pitch + 10
        self._add(drawsvg.Rectangle(BOARD_X, self._board_y, BOARD_WIDTH, height, rx=6, fill="#e6efe9", stroke="#5a7a68"))
        self._add(drawsvg.Rectangle(BOARD_X + 44, self._board_y - 8, 36, 18, rx=3, fill="#c9c9c9", stroke="#777"))
        self._label("USB", BOARD_X + 62, self._board_y + 5, 10)
        taken = self._pins_taken()
        for side in ("left", "right"):
            for index, name in enumerate(self._header[side]):
                x, y = self._pin_xy(side, index)
                used = (side, index) in taken.values()
                self._add(drawsvg.Circle(x, y, 4.2, fill="#333" if used else "#c9b26b", stroke="#777", stroke_width=0.6))
                anchor, shift = ("start", 9) if side == "left" else ("end", -9)
                weight = "bold" if used else "normal"
                self._label(name, x + shift, y + 4, 10.5, anchor, "#000" if used else "#777", font_weight=weight)

    def _pin_xy(self, side: str, index: int) -> Point:
        x = BOARD_X + (8 if side == "left" else BOARD_WIDTH - 8)
        return x, self._board_y + 14 + index * self._pin_pitch

    def _pins_taken(self) -> dict[Wire, tuple[str, int]]:
        """Which pin of the header each wire starts from: (side, index)."""
        found: dict[Wire, tuple[str, int]] = {}
        for wire in self._numbers:
            role = wire.ends[0].removeprefix("U1.")
            places = [
                (side, index) for side in ("right", "left") for index, name in enumerate(self._header[side])
                if name == self._print(role)
            ]  # fmt: skip
            free = [place for place in places if place not in found.values()]
            # Ground for the upper rail near the top, for the lower rail near the bottom, so that no wire goes round the board.
            found[wire] = min(free, key=lambda place: (place[0] == "left", -place[1] if wire.ends[1][0] == "B" else place[1]))
        return found

    def _print(self, role: str) -> str:
        """What is printed on the board beside the pin of a role."""
        facts = self._netlist.parts["U1"].facts
        if role in facts["power"]:
            return str(facts["power"][role])
        prefix = "GP" if self._header["pin_prefix"] == "GP" else ""
        return f"{prefix}{self._netlist.pin_map[role]}"

    def _name(self, role: str) -> str:
        """The pin's name in words: a bare number says little away from the board."""
        printed = self._print(role)
        return f"GPIO{printed}" if printed.isdigit() else printed

    # Wires.

    def wires(self) -> None:
        for wire in self._placement.wires:
            if wire not in self._numbers:
                self._short(wire)
        taken = self._pins_taken()
        upper = sorted((w for w in taken if w.ends[1][0] in "aT"), key=lambda w: hole_xy(w.ends[1])[0])
        lower = sorted((w for w in taken if w.ends[1][0] in "jB"), key=lambda w: hole_xy(w.ends[1])[0])
        lanes_x = self._lanes_x(taken)
        left_lane = 0
        for group, first_y, step in ((upper, TOP_Y - 84, -15), (lower, BOTTOM_Y + 40, 15)):
            lane_y = float(first_y)
            for wire in group:
                side, index = taken[wire]
                x, y = self._pin_xy(side, index)
                tx, ty = hole_xy(wire.ends[1])
                lane_x = lanes_x[wire]
                rail = wire.ends[1][0] in "TB"
                points = [(x, y)]
                if side == "left":
                    lane_left = BOARD_X - 22 - 14 * left_lane
                    left_lane += 1
                    points += [(lane_left, y), (lane_left, lane_y)]
                    points += [(lane_x, lane_y), (lane_x, ty)] if rail else [(tx, lane_y)]
                else:
                    points += [(lane_x, y)]
                    points += [(lane_x, ty)] if rail else [(lane_x, lane_y), (tx, lane_y)]
                points += [(tx, ty)]
                self._line(points, COLOURS[wire.net])
                self._badge(wire, points)
                if side == "left" or not rail:
                    lane_y += step

    def _lanes_x(self, taken: dict[Wire, tuple[str, int]]) -> dict[Wire, float]:
        """The upright lane of each wire between board and breadboard: those that leave high and go up stay near the board."""
        up = sorted((w for w in taken if w.ends[1][0] in "aT"), key=lambda w: taken[w][1])
        down = sorted((w for w in taken if w.ends[1][0] in "jB"), key=lambda w: -taken[w][1])
        ordered = [*down, *reversed(up)] if len(down) < len(up) else [*up, *down]
        return {wire: BOARD_X + BOARD_WIDTH + 42 + 14 * index for index, wire in enumerate(ordered)}

    def _badge(self, wire: Wire, points: list[Point]) -> None:
        number = str(self._numbers[wire])
        (x0, y0), (x1, _) = points[0], points[1]
        first = (x0 + (18 if x1 > x0 else -18), y0)
        (tx, ty), (bx, by) = points[-1], points[-2]
        last = (tx, ty + (18 if by > ty else -18)) if bx == tx else (tx - 20, ty)
        for x, y in (first, last):
            self._add(drawsvg.Circle(x, y, 8, fill=COLOURS[wire.net], stroke="white", stroke_width=1.2))
            self._label(number, x, y + 3.6, 10, fill="white", font_weight="bold")

    def _short(self, wire: Wire) -> None:
        (x0, y0), (x1, y1) = hole_xy(wire.ends[0]), hole_xy(wire.ends[1])
        points = [(x0, y0), (x0, y1), (x1, y1)] if x0 != x1 else [(x0, y0), (x1, y1)]
        self._line(points, COLOURS[wire.net], 4)
        for x, y in ((x0, y0), (x1, y1)):
            self._add(drawsvg.Circle(x, y, 3, fill=COLOURS[wire.net]))

    # Parts.

    def parts(self) -> None:
        self._amplifier()
        for part in self._netlist.parts.values():
            holes = [self._placement.pins.get(f"{part.ref}.{pin}") for pin in part.pins]
            if part.ref in ("U1", "U2") or None in holes:
                continue
            points = [hole_xy(hole) for hole in holes if hole]
            if part.kind == "resistor":
                self._resistor(f"{part.ref} {printed(value_text(part))}", points)
            elif part.kind in ("capacitor", "fuse"):
                self._disc(part.ref, printed(value_text(part)), points, "#e8b04a" if part.kind == "fuse" else "#5f9ecb")
            elif part.kind == "diode":
                self._diode(part.ref, points)
            elif part.kind == "piezo":
                self._piezo(points)
            elif part.kind == "led":
                self._led(points)
            elif part.kind == "npn":
                self._transistor(points)
            elif part.kind == "button":
                self._button()
            elif part.kind == "terminal":
                self._terminal(points)

    def _legs(self, points: list[Point]) -> None:
        flat = [value for point in points for value in point]
        self._add(drawsvg.Lines(*flat, fill="none", stroke="#666", stroke_width=2))
        for x, y in points:
            self._add(drawsvg.Circle(x, y, 2.8, fill="#444"))

    def _resistor(self, words: str, points: list[Point]) -> None:
        self._legs(points)
        (x0, y0), (x1, y1) = points
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        if x0 == x1:
            self._add(drawsvg.Rectangle(x - 7, y - 18, 14, 36, rx=4, fill="#e2cfa8", stroke="#8a6d3b"))
            self._label(words, x, y + 2.8, 8, font_weight="bold", transform=f"rotate(-90 {x:g} {y:g})")
        else:
            width = max(42.0, abs(x1 - x0) - 18)
            self._add(drawsvg.Rectangle(x - width / 2, y - 7.5, width, 15, rx=4, fill="#e2cfa8", stroke="#8a6d3b"))
            self._label(words, x, y + 3.2, 9 if width > 60 else 8, font_weight="bold")

    def _disc(self, ref: str, value: str, points: list[Point], fill: str) -> None:
        self._legs(points)
        (x0, y0), (x1, y1) = points
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        self._add(drawsvg.Ellipse(x, y, 13 if abs(x1 - x0) < 30 else 20, 8, fill=fill, stroke="#335"))
        self._label(ref, x, y + 3.5, 9, font_weight="bold")
        self._label(value, x, y + 16, 8, font_weight="bold")

    def _diode(self, ref: str, points: list[Point]) -> None:
        self._legs(points)
        (anode, y), (cathode, _) = points
        x = (anode + cathode) / 2
        self._add(drawsvg.Rectangle(x - 15, y - 7, 30, 14, rx=2, fill="#333"))
        self._add(drawsvg.Rectangle(x + (8 if cathode > anode else -12), y - 7, 4, 14, fill="#ddd"))
        self._label(ref, x - 3, y + 3.5, 9, fill="white", font_weight="bold")

    def _piezo(self, points: list[Point]) -> None:
        (x0, y), (x1, _) = points
        self._add(drawsvg.Circle((x0 + x1) / 2, y - 14, 23, fill="#d9d9d9", stroke="#666", fill_opacity=0.92))
        self._add(drawsvg.Circle((x0 + x1) / 2, y - 14, 4, fill="#666"))
        self._label("BZ1", (x0 + x1) / 2, y - 23, 9, font_weight="bold")
        for x in (x0, x1):
            self._add(drawsvg.Circle(x, y, 2.8, fill="#444"))

    def _led(self, points: list[Point]) -> None:
        (x0, y), (x1, _) = points
        self._add(drawsvg.Circle((x0 + x1) / 2, y, 13, fill="#ffd97a", stroke="#b8860b"))
        self._label("LED1", (x0 + x1) / 2, y + 3, 8, font_weight="bold")
        self._label("+", x0 - 10, y + 4, 11)

    def _transistor(self, points: list[Point]) -> None:
        # The order of the pins in the netlist is B, C, E; on the breadboard the flat side faces the reader.
        xs = sorted(point[0] for point in points)
        y = points[0][1]
        path = drawsvg.Path(fill="#333", stroke="#000")
        path.M(xs[0] - 10, y + 9).L(xs[2] + 10, y + 9).A(33, 24, 0, 0, 0, xs[0] - 10, y + 9).Z()
        self._add(path)
        self._label("Q1", xs[1], y - 2, 9, fill="white", font_weight="bold")
        for x, name in zip(xs, "EBC", strict=True):
            self._label(name, x, y + 7, 8, fill="white")

    def _button(self) -> None:
        x, y = hole_xy("e13")[0], (ROW_Y["e"] + ROW_Y["f"]) / 2
        holes = [self._placement.pins["SW1.1"], self._placement.pins["SW1.2"], *self._placement.spare["SW1"]]
        self._add(drawsvg.Rectangle(x - 27, y - 22, 54, 44, rx=4, fill="#555", stroke="#222"))
        for hole in holes:
            self._add(drawsvg.Circle(*hole_xy(hole), 3.2, fill="#ddd"))
        self._add(drawsvg.Circle(x, y, 13, fill="#222", stroke="#999"))
        self._label("SW1", x, y + 3.5, 9, fill="white", font_weight="bold")

    def _terminal(self, points: list[Point]) -> None:
        minus, plus = sorted(points)
        y = minus[1]
        self._add(drawsvg.Rectangle(minus[0] - 20, y - 24, plus[0] - minus[0] + 40, 36, rx=2, fill="#6aa84f", stroke="#38611f"))
        for (x, _), sign in ((minus, "-"), (plus, "+")):
            self._add(drawsvg.Circle(x, y - 8, 8, fill="#ddd", stroke="#555"))
            self._label(sign, x, y - 4, 12, font_weight="bold")
        self._label("J1", (minus[0] + plus[0]) / 2, y + 9, 9, font_weight="bold")

    def _amplifier(self) -> None:
        facts = self._netlist.parts["U2"].facts
        points = [hole_xy(self._placement.pins[f"U2.{pin['role']}"]) for pin in facts["pins"]]
        left, right, bottom = points[0][0] - 14, points[-1][0] + 14, points[0][1] + 10
        top = TOP_Y - 62
        purple = {"fill": "#7d5ba6", "fill_opacity": 0.93, "stroke": "#4b2e83"}
        self._add(drawsvg.Rectangle(left, top, right - left, bottom - top, rx=4, **purple))
        self._label(facts["name"], (left + right) / 2, top + 44, 12, fill="white", font_weight="bold")
        for (x, y), pin in zip(points, facts["pins"], strict=True):
            self._add(drawsvg.Circle(x, y, 4, fill="#eee"))
            self._label(pin["name"], x, y - 20, 8.5, fill="white")
        middle = (left + right) / 2
        self._add(drawsvg.Rectangle(middle - 24, top - 4, 48, 22, rx=2, fill="#4a86e8", stroke="#1c4587"))
        for x, sign in ((middle - 12, "-"), (middle + 12, "+")):
            self._add(drawsvg.Circle(x, top + 7, 6.5, fill="#ddd", stroke="#555"))
            self._label(sign, x, top + 11, 11, font_weight="bold")
            self._line([(x, top - 2), (x, top - 22)], "#555555" if sign == "-" else "#009e73", 3)
        self._line([(middle, top - 22), (middle, 128)], "#7f7f7f", 7)
        self._label("TC1: insulated probe, in the beans", middle + 12, 138, 12, "start")
        capacitor = self._netlist.parts.get("C2")
        if capacitor is not None:
            # It sits on the breakout's screws and in no hole.
            self._label(f"C2 {value_text(capacitor)}: at the probe's terminals,", middle + 12, 106, 12, "start")
            self._label("unless the breakout carries it", middle + 12, 121, 12, "start")

    # Words.

    def words(self, boards: str) -> None:
        facts = self._netlist.parts["U2"].facts
        self._label(f"Panchime: {boards}, {facts['name']}", 16, 28, 18, "start", font_weight="bold")
        x, y = 964, 44
        jx, jy = hole_xy("b24")
        self._line([(jx - 11, jy - 26), (jx - 11, 136)], "#404040", 3)
        self._line([(jx + 11, jy - 26), (jx + 11, 136)], "#cc79a7", 3)
        self._add(drawsvg.Rectangle(x, 24, 282, 112, rx=4, fill="white", stroke="#000", stroke_dasharray="6,4"))
        for words in END_WORDS:
            self._label(words, x + 10, y, 12, "start")
            y += 19
        self._list(BOTTOM_Y + 165)

    def _list(self, y: float) -> None:
        self._label("Wires from the board", 16, y, 13, "start", font_weight="bold")
        rows = []
        for wire, number in self._numbers.items():
            role = wire.ends[0].removeprefix("U1.")
            hole = wire.ends[1]
            where = f"{'upper' if hole[0] == 'T' else 'lower'} {wire.net} rail" if hole[0] in "TB" else f"hole {hole}"
            rows.append((number, wire, f"{self._name(role)} to {where}" + ("" if hole[0] in "TB" else f" ({wire.net})")))
        for index, (number, wire, words) in enumerate(rows):
            x, line_y = 26 + 304 * (index % 4), y + 22 + 20 * (index // 4)
            self._add(drawsvg.Circle(x, line_y - 4, 8, fill=COLOURS[wire.net]))
            self._label(str(number), x, line_y - 0.4, 10, fill="white", font_weight="bold")
            self._label(words, x + 14, line_y, 12, "start")
