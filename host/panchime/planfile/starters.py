"""The commented plan each roasting method starts from."""

from importlib import resources

from panchime.errors import PanchimeError
from panchime.planfile.in_fahrenheit import in_fahrenheit
from panchime.terminal.near_words import did_you_mean
from panchime_fw.plan_rules import METHODS
from panchime_fw.units import CELSIUS, FAHRENHEIT

STARTER_METHODS = tuple(method for method in METHODS if method != "other")


def file_name(method: str) -> str:
    """The name a starter of that method is written under when none is given: ``hot-air-popper.toml``."""
    return method.replace(" ", "-") + ".toml"


def method_named(words: str) -> str:
    """The method a person means: case does not matter, and a hyphen or an underscore stands for a space.

    Raises PanchimeError that lists the methods.
    """
    wanted = loosened(words)
    for method in STARTER_METHODS:
        if loosened(method) == wanted:
            return method
    raise PanchimeError(
        f"there is no starter for the method {words!r}; there is one for: {', '.join(STARTER_METHODS)}"
        + did_you_mean(words, STARTER_METHODS)
    )


def loosened(words: str) -> str:
    """The letters of ``words`` alone, in small."""
    return words.lower().replace("-", "").replace("_", "").replace(" ", "")


def starter(method: str, unit: str = CELSIUS) -> str:
    """The text of the starter for one of ``STARTER_METHODS``, in the unit."""
    text = (resources.files("panchime.planfile") / "starter_texts" / file_name(method)).read_text(encoding="utf-8")
    return in_fahrenheit(text) if unit == FAHRENHEIT else text
