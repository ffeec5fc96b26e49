"""The board's settings: which amplifier and probe it measures with, and how. One JSON document on the flash.

The same code checks a document on the board and on the host.
"""

from . import calibration as calibrations
from . import own_pins, relay_drive
from .amplifier import CHIPS

NAME = "settings"
# The wiring of the drawings: what a board has that was never told otherwise.
DEFAULTS = {
    "amplifier": "MAX31855",
    "thermocouple": "K",
    "rate_window_s": 30,
    "probe_lag_s": 0,
    "calibration": None,
    "drop_confirmed": False,
    "relay_drive": relay_drive.LEVEL,
    "pins": None,
}
# Keys that an older firmware's document lacks; a board that is updated keeps its settings and has the default for these.
ADDED_LATER = ("drop_confirmed", "relay_drive", "pins")
TYPES = ("K", "J", "N", "T", "E", "R", "S")
TYPES_OF_MAX6675 = ("K",)
RATE_WINDOW_S = (20, 60)
PROBE_LAG_S = (0, 60)
JSON_BYTES_LIMIT = 1024


class Settings:
    """A checked document in whole numbers. Raises ValueError with the first mistake of `check`."""

    def __init__(self, document) -> None:
        faults = check(document)
        if faults:
            raise ValueError(faults[0])
        self.document = document
        self.amplifier = document["amplifier"]
        self.thermocouple = document["thermocouple"]
        self.rate_window_ms = document["rate_window_s"] * 1000
        self.probe_lag_ms = int(round(document["probe_lag_s"] * 1000))
        self.drop_confirmed = document["drop_confirmed"]
        self.calibration = calibrations.Calibration(document["calibration"], document["thermocouple"])


def types_of(chip: str) -> tuple:
    """The thermocouple types that a chip of CHIPS reads."""
    return TYPES_OF_MAX6675 if chip == "MAX6675" else TYPES


def check(document) -> list:
    """Every mistake in the document as a sentence; an empty list when there is none. Every key must be there."""
    if not isinstance(document, dict):
        return ["the settings must be a table of keys and values"]
    faults = ["settings: %s is missing" % key for key in sorted(DEFAULTS) if key not in document]
    for key in sorted(document):
        if key not in DEFAULTS:
            faults.append("settings: '%s' is not a key; known are: %s" % (key, ", ".join(sorted(DEFAULTS))))
    if faults:
        return faults
    chip = document["amplifier"]
    letter = document["thermocouple"]
    if chip not in CHIPS:
        faults.append("amplifier %s is not known; it is one of: %s" % (chip, ", ".join(CHIPS)))
    elif letter not in types_of(chip):
        faults.append(
            "thermocouple type %s: a %s reads %s" % (letter, chip, ", ".join(types_of(chip)))
        )
    window_s = document["rate_window_s"]
    if not _is_number(window_s) or not isinstance(window_s, int) or not RATE_WINDOW_S[0] <= window_s <= RATE_WINDOW_S[1]:
        faults.append("rate_window_s must be a whole number of seconds, %d to %d" % RATE_WINDOW_S)
    lag_s = document["probe_lag_s"]
    if not _is_number(lag_s) or not PROBE_LAG_S[0] <= lag_s <= PROBE_LAG_S[1]:
        faults.append("probe_lag_s must be a number of seconds, %d to %d; 0 is none" % PROBE_LAG_S)
    if not isinstance(document["drop_confirmed"], bool):
        faults.append("drop_confirmed must be true or false: whether roasts that were pulled and confirmed may be dropped")
    if document["relay_drive"] not in relay_drive.KINDS:
        faults.append("relay_drive must be one of: " + ", ".join(relay_drive.KINDS))
    faults.extend(own_pins.check(document["pins"]))
    if letter in TYPES:
        faults.extend(calibrations.check(document["calibration"], letter))
    return faults


def _is_number(value) -> bool:
    # true and false are integers to Python; nan fails both comparisons.
    return isinstance(value, (int, float)) and not isinstance(value, bool) and -1e9 < value < 1e9
