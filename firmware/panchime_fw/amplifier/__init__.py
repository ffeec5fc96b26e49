"""One decoder for each amplifier chip: raw bytes in, a Reading with a temperature or a fault out.

A decoder knows no hardware; decoder.py says what the board must do on the bus.
"""

from panchime_fw.amplifier.decoder import Decoder

CHIPS = ("MAX31855", "MAX31856", "MAX6675", "MCP9600", "MCP9601")


def decoder_for(chip: str, thermocouple_type: str) -> Decoder:
    """The decoder for a chip (a name of CHIPS) and a thermocouple type (a letter).

    Raises ValueError, with the way out, for an unknown chip or a type the chip cannot read. Only the chosen chip's
    module is loaded.
    """
    if chip == "MAX31855":
        from panchime_fw.amplifier.max31855 import Max31855

        return Max31855(thermocouple_type)
    if chip == "MAX31856":
        from panchime_fw.amplifier.max31856 import Max31856

        return Max31856(thermocouple_type)
    if chip == "MAX6675":
        from panchime_fw.amplifier.max6675 import Max6675

        return Max6675(thermocouple_type)
    if chip in ("MCP9600", "MCP9601"):
        from panchime_fw.amplifier.mcp960x import Mcp960x

        return Mcp960x(chip, thermocouple_type)
    raise ValueError("amplifier %r: unknown; chips are %s" % (chip, ", ".join(CHIPS)))
