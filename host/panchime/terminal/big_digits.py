"""A number large enough to be read from across the kitchen."""

HEIGHT = 5
FONT = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": (" █ ", "██ ", " █ ", " █ ", "███"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", "███", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", " █ ", " █ ", " █ "),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    "-": ("   ", "   ", "███", "   ", "   "),
    ".": (" ", " ", " ", " ", "█"),
    "°": ("██", "██", "  ", "  ", "  "),
    "C": ("███", "█  ", "█  ", "█  ", "███"),
    "F": ("███", "█  ", "██ ", "█  ", "█  "),
    " ": (" ", " ", " ", " ", " "),
}


def big(text: str, ascii_only: bool = False) -> list[str]:
    """The text in five lines of blocks. Characters other than digits, ``-.°CF`` and the space are left out."""
    glyphs = [FONT[character] for character in text if character in FONT]
    lines = [" ".join(glyph[row] for glyph in glyphs) for row in range(HEIGHT)]
    return [line.replace("█", "#") for line in lines] if ascii_only else lines
