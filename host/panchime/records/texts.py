"""Texts that a person types in: any words, kept as they are; control characters are no words."""

from panchime.errors import PanchimeError
from panchime.terminal.safe_text import safe_lines

LONGEST = 10_000
NAME_LENGTH = 80


def words_of(text: str, what: str, longest: int = LONGEST) -> str:
    """The text without spaces around it. Raises PanchimeError when it is empty, too long, or holds control characters."""
    kept = text.strip()
    if not kept:
        raise PanchimeError(f"{what} is empty: write some words")
    if len(kept) > longest:
        raise PanchimeError(f"{what} is {len(kept)} characters long: at most {longest} are kept")
    kept = kept.replace("\r\n", "\n").replace("\t", " ")
    if safe_lines(kept) != kept:
        raise PanchimeError(f"{what} holds control characters, which no page or terminal should be given: leave them out")
    return kept


def name_of(text: str, what: str) -> str:
    """As ``words_of``, for one line that names something."""
    name = words_of(text, what, NAME_LENGTH)
    if "\n" in name:
        raise PanchimeError(f"{what} must be one line")
    return name
