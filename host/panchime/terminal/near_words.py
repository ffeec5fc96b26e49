"""What a person may have meant by a word that is not known."""

from collections.abc import Iterable

LIKE_ENOUGH = 0.6  # difflib's own measure: two letters swapped, one missing, one too many still pass


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that is most like ``word``, capitals aside; None when none is."""
    import difflib

    by_small = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold(), by_small, 1, LIKE_ENOUGH)
    return by_small[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """``. Did you mean 'wok'?``, to stand at the end of an error; "" when nothing is near."""
    found = nearest(word, known)
    return f". Did you mean '{found}'?" if found else ""
