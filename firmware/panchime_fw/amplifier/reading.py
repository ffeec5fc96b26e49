"""What an amplifier said: one object, made once and filled anew by every decode."""

from panchime_fw import faults

# What cold_centi holds when the cold junction is not known (a MAX6675 never tells it, a silent chip cannot). It fits
# the two bytes of a log and is no temperature.
COLD_UNKNOWN = -32768

# What temperature_centi holds while fault is not NONE: far above every limit, so that code which forgot to look at the
# fault errs to the side that opens the relay.
TEMPERATURE_UNKNOWN = 999999


class Reading:
    """fault: a number of faults.py; temperature_centi: true temperature, corrected; cold_centi: the cold junction.

    temperature_centi is TEMPERATURE_UNKNOWN unless fault is NONE. cold_centi may be known in spite of a fault.
    """

    def __init__(self) -> None:
        self.fault: int = faults.AMPLIFIER_ABSENT
        self.temperature_centi: int = TEMPERATURE_UNKNOWN
        self.cold_centi: int = COLD_UNKNOWN

    def fail(self, fault: int, cold_centi: int) -> None:
        """No temperature, for this reason."""
        self.fault = fault
        self.temperature_centi = TEMPERATURE_UNKNOWN
        self.cold_centi = cold_centi
