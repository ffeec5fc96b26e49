"""Scores on scales that the person names."""

from collections.abc import Mapping

from panchime.errors import PanchimeError
from panchime.records.numbers import bounded_number
from panchime.records.roast_record import Score
from panchime.records.texts import name_of

LARGEST = 1000.0


def score_of(text: str, scales: Mapping[str, float | None]) -> Score:
    """A score such as ``sweetness=7/10`` or ``body=3``; a scale that was used before keeps its upper end.

    Raises PanchimeError when it is none, or above the scale's end.
    """
    scale, separator, value = text.rpartition("=")
    if not separator or not value.strip():
        raise PanchimeError(f"the score {text!r} must name a scale and a value: write it like sweetness=7/10")
    name = name_of(scale, "the scale's name")
    name = next((known for known in scales if known.casefold() == name.casefold()), name)
    number, slash, end = value.partition("/")
    highest = bounded_number(end, f"the end of the scale {name}", (0.0, LARGEST)) if slash else scales.get(name)
    most = LARGEST if highest is None else highest
    return Score(name, bounded_number(number, f"the score {name}", (0.0, most)), highest)
