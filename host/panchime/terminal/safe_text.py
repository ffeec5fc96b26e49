"""Text from a board, a file or a person, made safe to print.

A terminal obeys control characters: an escape sequence in a plan's name could move the cursor, rename the
window or hide a line. Such characters are data here and are shown as a replacement mark, never sent.
"""

import unicodedata

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"

# Control, format (which holds the marks that turn the reading direction round), surrogate, private use, line and
# paragraph separators: Unicode general categories that a one-line text has no use for.
UNSAFE_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Zl", "Zp"})


def safe_line(text: str) -> str:
    """``text`` with every unsafe character, line ends included, replaced."""
    if text.isprintable():
        return text
    return "".join(REPLACEMENT if unicodedata.category(c) in UNSAFE_CATEGORIES else c for c in text)


def safe_lines(text: str) -> str:
    """As ``safe_line``, for text of several lines: line feeds stay."""
    return "\n".join(safe_line(line) for line in text.split("\n"))
