"""Weights: kept in whole milligrams, written and read in grams, ounces or pounds."""

import re
from decimal import Decimal

from panchime.errors import PanchimeError
from panchime.records.numbers import decimal_of

GRAM = "g"
# The pound is 0.453 592 37 kg exactly, the ounce its sixteenth part (the international yard and pound agreement of 1959,
# from memory).
MG_PER_UNIT = {
    "g": Decimal(1000),
    "kg": Decimal(1_000_000),
    "oz": Decimal("28349.523125"),
    "lb": Decimal("453592.37"),
}
UNITS = tuple(MG_PER_UNIT)
SPELLINGS = {"gram": "g", "grams": "g", "gr": "g", "ounce": "oz", "ounces": "oz", "lbs": "lb", "pound": "lb", "pounds": "lb"}
HEAVIEST_MG = 1_000_000_000  # a ton: beyond it something was mistyped


def weight_mg(text: str, unit: str = GRAM, what: str = "the weight") -> int:
    """A weight such as ``90``, ``90 g``, ``3,2oz`` or ``1 lb`` in milligrams; without a unit it is in ``unit``.

    Raises PanchimeError when it is none, or not above 0.
    """
    found = re.fullmatch(r"\s*([\d.,' ]*\d[.,]?)\s*([A-Za-z]*)\.?\s*", text)
    if found is None:
        raise PanchimeError(f"{what} {text!r} is no weight: write a number, and g, kg, oz or lb after it if you like")
    named = found[2].lower() or unit
    named = SPELLINGS.get(named, named)
    if named not in MG_PER_UNIT:
        raise PanchimeError(f"{what} {text!r}: the unit {found[2]!r} is not known; write one of {', '.join(UNITS)}")
    mg = round(decimal_of(found[1], what) * MG_PER_UNIT[named])
    if not 0 < mg <= HEAVIEST_MG:
        raise PanchimeError(f"{what} {text!r} must be more than 0 and at most {HEAVIEST_MG // 1_000_000} kg")
    return mg


def weight_words(mg: int | None, unit: str = GRAM) -> str:
    """A weight as people read it: ``76.5 g``, ``1.25 kg``, ``2.70 oz``; a dash when there is none."""
    if mg is None:
        return "-"
    if unit == GRAM and abs(mg) >= 1_000_000:
        return f"{mg / 1_000_000:.3f}".rstrip("0").rstrip(".") + " kg"
    value = float(mg / MG_PER_UNIT[unit])
    if unit == GRAM:
        return f"{value:.1f}".removesuffix(".0") + " g"
    return f"{value:.2f} {unit}"
