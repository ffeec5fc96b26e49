"""The terminal itself: its width, what it can draw, and the console that writes to it."""

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

NARROWEST = 60
PIPE_WIDTH = 100


def console() -> "Console":
    """A console on standard output; into a pipe or a file it writes plain text of a fixed width."""
    from rich.console import Console

    if sys.stdout.isatty():
        return Console(highlight=False, markup=False, emoji=False)
    return Console(highlight=False, markup=False, emoji=False, width=None if has_width() else PIPE_WIDTH)


def has_width() -> bool:
    """Whether the environment says how wide to write."""
    import os

    return os.environ.get("COLUMNS", "").isdigit()


def ascii_only() -> bool:
    """Whether standard output can carry no more than ASCII (or a code page without Braille)."""
    try:
        "⣿┤━".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return True
    return False


def note(text: str) -> None:
    """One line about progress or a doubt, for the person: to standard error, so that it never mixes into results."""
    from panchime.terminal.safe_text import safe_line

    for line in text.splitlines():
        print(safe_line(line), file=sys.stderr)


def print_json(value: object) -> None:
    """A value as JSON on standard output."""
    import json

    print(json.dumps(value, ensure_ascii=False, indent=2))
