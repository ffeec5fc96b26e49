"""A calibration in words."""

from panchime.link.probe import Calibration
from panchime.terminal.words import degrees, degrees_apart
from panchime_fw import calibration as rules


def kind_words(calibration: Calibration | None, thermocouple: str, unit: str) -> str:
    """A calibration in words."""
    if not calibration:
        return "no calibration"
    correct = rules.Calibration(calibration, thermocouple)
    if len(calibration["points"]) == 1:
        return f"an offset of {degrees_apart(correct.correction_centi(0) / 100, unit, '+')}"
    at_0, at_200 = (degrees_apart(correct.correction_centi(centi) / 100, unit, "+") for centi in (0, 20_000))
    return f"a line, {at_0} at {degrees(0, unit)} and {at_200} at {degrees(20_000, unit)}"
