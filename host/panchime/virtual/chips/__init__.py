"""Twins of the amplifier chips: what the chip would put on the bus for a junction at a temperature."""

from panchime.errors import PanchimeError
from panchime.terminal.near_words import did_you_mean
from panchime.virtual.chips.chip import Chip
from panchime.virtual.chips.max6675 import Max6675
from panchime.virtual.chips.max31855 import Max31855
from panchime.virtual.chips.max31856 import Max31856
from panchime.virtual.chips.mcp960x import Mcp9600, Mcp9601

CHIPS: dict[str, type[Chip]] = {kind.name: kind for kind in (Max31855, Max31856, Max6675, Mcp9600, Mcp9601)}


def chip_named(name: str, thermocouple: str = "K", seed: int = 0) -> Chip:
    """A twin by the chip's name. Raises PanchimeError for a chip that has none."""
    kind = CHIPS.get(name.upper())
    if kind is None:
        raise PanchimeError(f"there is no virtual {name}: choose one of {', '.join(CHIPS)}" + did_you_mean(name, CHIPS))
    return kind(thermocouple, seed)


__all__ = ["CHIPS", "Chip", "chip_named"]
