"""A small drawing surface of character cells: two by four dots of Braille in each, or one dot in plain ASCII."""

BRAILLE_BASE = 0x2800
DOTS_ACROSS = 2
DOTS_DOWN = 4
# Unicode chapter 21.1, Braille Patterns: the bit of the dot at [row][column] of a cell.
DOT_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
ASCII_DOT = "*"
ASCII_RULE = ":"
RULE = "┊"
RULES = frozenset({RULE, ASCII_RULE})


class Canvas:
    """``columns`` by ``rows`` cells. Dots count from the top left; those outside are not drawn."""

    def __init__(self, columns: int, rows: int, ascii_only: bool = False) -> None:
        self.columns = columns
        self.rows = rows
        self.width = columns * DOTS_ACROSS
        self.height = rows * DOTS_DOWN
        self._ascii_only = ascii_only
        self._cells = [[0] * columns for _ in range(rows)]
        self._ruled: set[int] = set()

    def dot(self, x: int, y: int) -> None:
        """Sets one dot."""
        if 0 <= x < self.width and 0 <= y < self.height:
            self._cells[y // DOTS_DOWN][x // DOTS_ACROSS] |= DOT_BITS[y % DOTS_DOWN][x % DOTS_ACROSS]

    def line(self, x0: int, y0: int, x1: int, y1: int) -> None:
        """A straight line from dot to dot, both ends included."""
        steps = max(abs(x1 - x0), abs(y1 - y0), 1)
        for step in range(steps + 1):
            self.dot(round(x0 + (x1 - x0) * step / steps), round(y0 + (y1 - y0) * step / steps))

    def rule(self, column: int) -> None:
        """A faint upright line through one column of cells; whatever is drawn there stands before it."""
        if 0 <= column < self.columns:
            self._ruled.add(column)

    def lines(self) -> list[str]:
        """The rows as text, each ``columns`` characters long."""
        return ["".join(self._cell(row, column) for column in range(self.columns)) for row in range(self.rows)]

    def _cell(self, row: int, column: int) -> str:
        bits = self._cells[row][column]
        if bits:
            return ASCII_DOT if self._ascii_only else chr(BRAILLE_BASE + bits)
        if column in self._ruled:
            return ASCII_RULE if self._ascii_only else RULE
        return " "
