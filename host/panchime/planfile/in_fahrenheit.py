"""A starter in degrees Fahrenheit: written in Celsius, turned into figures that a person would choose.

Temperatures go to the nearest 5 degF, at most 1.4 degC away, far less than set-ups differ; a limit goes down to one, the safe
side. Rates go to whole degrees a minute. In the remarks of the starters every number of three digits is a temperature.
"""

import re

from panchime.terminal.words import in_unit
from panchime_fw.units import FAHRENHEIT

STEP_F = 5
VALUE = re.compile(r"^(limit|cool_below|rises_to|falls_to|of|rate_below|rate_above)( *= *)(\d+)( *)(#.*)?$")
UNIT = re.compile(r'^unit( *)= "C"')
TEMPERATURE = re.compile(r"\b\d{3}\b")
APART = re.compile(r"\b(\d{1,2}) degrees C\b")


def in_fahrenheit(text: str) -> str:
    """The text of a starter, its values and its remarks in Fahrenheit."""
    return "".join(line_in_fahrenheit(line) for line in text.splitlines(keepends=True))


def line_in_fahrenheit(line: str) -> str:
    """One line; the remarks stay in their column."""
    body = line.rstrip("\n")
    end = line[len(body) :]
    found = VALUE.match(body)
    if found is None:
        before, sign, remark = body.partition("#")
        return UNIT.sub(r'unit\1= "F"', before) + sign + remark_in_fahrenheit(remark) + end
    key, equals, number, gap, remark = found.groups(default="")
    if key.startswith("rate_"):
        value = round(int(number) * 9 / 5)
    elif key == "limit":
        value = int(fahrenheit(int(number)) // STEP_F * STEP_F)
    else:
        value = near_step(fahrenheit(int(number)))
    written = f"{key}{equals}{value}"
    column = len(key) + len(equals) + len(number) + len(gap)
    return (f"{written:<{column}}{remark_in_fahrenheit(remark)}" if remark else written) + end


def remark_in_fahrenheit(remark: str) -> str:
    """The words behind a #: how far set-ups lie apart, then temperatures."""
    words = APART.sub(lambda found: f"{near_step(int(found[1]) * 9 / 5)} degrees F", remark)
    words = TEMPERATURE.sub(lambda found: str(near_step(fahrenheit(int(found[0])))), words)
    return words.replace("degrees C", "degrees F")


def fahrenheit(celsius: int) -> float:
    """A temperature in degF."""
    return in_unit(celsius * 100, FAHRENHEIT)


def near_step(degrees_f: float) -> int:
    """The nearest multiple of 5."""
    return round(degrees_f / STEP_F) * STEP_F
