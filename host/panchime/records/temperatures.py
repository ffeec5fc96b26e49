"""Temperatures as people type them."""

import re

from panchime.errors import PanchimeError
from panchime_fw.units import CELSIUS, to_centi

COLDEST_CENTI = -6000
HOTTEST_CENTI = 6000


def temperature_centi(text: str, what: str, unit: str = CELSIUS) -> int:
    """The temperature of a place, such as ``18``, ``-3.5C`` or ``64 F``, as hundredths of degC.

    Without a letter it is in ``unit``. Raises PanchimeError when it is none, or no place on Earth has it.
    """
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([CFcf]?)\s*", text)
    if found is None:
        raise PanchimeError(f"{what} {text!r} is no temperature: write it like 18, 18C or 64F")
    centi = int(to_centi(float(found[1].replace(",", ".")), found[2].upper() or unit))
    if not COLDEST_CENTI <= centi <= HOTTEST_CENTI:
        raise PanchimeError(f"{what} {text!r}: nobody roasts where it is so; for Fahrenheit write it like 64F")
    return centi
