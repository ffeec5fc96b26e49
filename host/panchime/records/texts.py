"""Texts that a person types in: any words, kept as they are. What shows them makes them harmless there."""

from panchime.errors import PanchimeError

LONGEST = 10_000
NAME_LENGTH = 80


def words_of(text: str, what: str, longest: int = LONGEST) -> str:
    """The text without spaces around it. Raises PanchimeError when it is empty, too long or no Unicode."""
    kept = text.strip()
    if not kept:
        raise PanchimeError(f"{what} is empty: write some words")
    if len(kept) > longest:
        raise PanchimeError(f"{what} is {len(kept)} characters long: at most {longest} are kept")
    try:
        kept.encode("utf-8")
    except UnicodeEncodeError as error:
        # The command line hands bytes that are no text on as lone surrogates.
        raise PanchimeError(f"{what} holds bytes that are no UTF-8 text: type it in a terminal that speaks UTF-8") from error
    return kept


def name_of(text: str, what: str) -> str:
    """As ``words_of``, for one line that names something."""
    name = words_of(text, what, NAME_LENGTH)
    if len(name.splitlines()) > 1:
        raise PanchimeError(f"{what} must be one line")
    return name
