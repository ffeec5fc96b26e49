"""Numbers as people type them: with a decimal point or a decimal comma."""

import re
from decimal import Decimal

from panchime.errors import PanchimeError

NUMBER = re.compile(r"\d[\d.,' ]*\d|\d")


def decimal_of(text: str, what: str) -> Decimal:
    """The number in ``text``; ``what`` names it in the error.

    Where point and comma both occur, the last one is the decimal mark. Raises PanchimeError when it is no number or can
    be read in two ways.
    """
    digits = text.strip().replace(" ", "").replace("'", "")
    marks = [character for character in digits if character in ".,"]
    if not re.fullmatch(r"\d[\d.,]*", digits):
        raise PanchimeError(f"{what} {text!r} is no number: write it like 12 or 12.5")
    if len(set(marks)) == 2:
        last = marks[-1]
        if marks.count(last) > 1:
            raise PanchimeError(f"{what} {text!r} is no number: write it like 1234.5")
        digits = digits.replace("," if last == "." else ".", "")
        return Decimal(digits.replace(",", "."))
    if len(marks) > 1:
        raise PanchimeError(f"{what} {text!r} is no number: write it without thousands marks, like 1234.5")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        either, other = digits.replace(",", ""), digits.replace(",", ".")
        raise PanchimeError(f"{what} {text!r} can be read in two ways: write {either} or {other}")
    try:
        return Decimal(digits.rstrip(".,").replace(",", "."))
    except ArithmeticError as error:  # Decimal's own error is no ValueError
        raise PanchimeError(f"{what} {text!r} is no number: write it like 12 or 12.5") from error


def bounded_number(text: str, what: str, bounds: tuple[float, float]) -> float:
    """The number in ``text``, within both bounds. Raises PanchimeError when it is none or lies outside."""
    value = float(decimal_of(text, what))
    if not bounds[0] <= value <= bounds[1]:
        raise PanchimeError(f"{what} {text!r} must be {bounds[0]:g} to {bounds[1]:g}")
    return value
