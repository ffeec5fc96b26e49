"""Degrees Celsius and Fahrenheit to hundredths of a degree Celsius and back. The board itself knows only Celsius."""

CELSIUS = "C"
FAHRENHEIT = "F"
UNITS = (CELSIUS, FAHRENHEIT)


def to_centi(value, unit: str) -> int:
    """A temperature in the unit as hundredths of degC, to the nearest."""
    if unit == FAHRENHEIT:
        return int(round((value - 32) * 500 / 9))
    return int(round(value * 100))


def difference_to_centi(value, unit: str) -> int:
    """A difference or a rate in the unit as hundredths of degC, to the nearest."""
    if unit == FAHRENHEIT:
        return int(round(value * 500 / 9))
    return int(round(value * 100))


def words(centi: int, unit: str) -> str:
    """Hundredths of degC as people read it: `245 C`, `473 F`; a decimal only where it says something."""
    tenths = int(round(centi * 18 / 100)) + 320 if unit == FAHRENHEIT else int(round(centi / 10))
    if tenths % 10 == 0:
        return "%d %s" % (tenths // 10, unit)
    sign = "-" if tenths < 0 else ""
    return "%s%d.%d %s" % (sign, abs(tenths) // 10, abs(tenths) % 10, unit)


def decimal(centi: int) -> str:
    """Hundredths as a decimal number with two places: 19612 -> 196.12."""
    sign = "-" if centi < 0 else ""
    centi = abs(centi)
    return "%s%d.%02d" % (sign, centi // 100, centi % 100)
