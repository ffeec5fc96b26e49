"""Errors of the link: SCPI-1999 volume 2, chapter 21. Only the numbers that this board gives."""

NO_ERROR = 0
INVALID_CHARACTER = -101
SYNTAX = -102
DATA_TYPE = -104
PARAMETER_NOT_ALLOWED = -108
MISSING_PARAMETER = -109
MNEMONIC_TOO_LONG = -112
UNDEFINED_HEADER = -113
SUFFIX_OUT_OF_RANGE = -114
NUMERIC_DATA = -120
INVALID_STRING = -151
INVALID_BLOCK = -161
EXECUTION = -200
SETTINGS_CONFLICT = -221
OUT_OF_RANGE = -222
TOO_MUCH_DATA = -223
ILLEGAL_VALUE = -224
DATA_CORRUPT = -230
HARDWARE = -240
HARDWARE_MISSING = -241
MASS_STORAGE = -250
FILE_NAME_NOT_FOUND = -256
FILE_NAME_ERROR = -257
PROGRAM_SYNTAX = -285
PROGRAM_RUNNING = -284
OUT_OF_MEMORY = -225
SYSTEM = -310
CONFIGURATION_LOST = -315
STORAGE_FAULT = -320
SELF_TEST_FAILED = -330
QUEUE_OVERFLOW = -350
INPUT_OVERRUN = -363

TEXTS = {
    NO_ERROR: "No error",
    INVALID_CHARACTER: "Invalid character",
    SYNTAX: "Syntax error",
    DATA_TYPE: "Data type error",
    PARAMETER_NOT_ALLOWED: "Parameter not allowed",
    MISSING_PARAMETER: "Missing parameter",
    MNEMONIC_TOO_LONG: "Program mnemonic too long",
    UNDEFINED_HEADER: "Undefined header",
    SUFFIX_OUT_OF_RANGE: "Header suffix out of range",
    NUMERIC_DATA: "Numeric data error",
    INVALID_STRING: "Invalid string data",
    INVALID_BLOCK: "Invalid block data",
    EXECUTION: "Execution error",
    SETTINGS_CONFLICT: "Settings conflict",
    OUT_OF_RANGE: "Data out of range",
    TOO_MUCH_DATA: "Too much data",
    ILLEGAL_VALUE: "Illegal parameter value",
    OUT_OF_MEMORY: "Out of memory",
    DATA_CORRUPT: "Data corrupt or stale",
    HARDWARE: "Hardware error",
    HARDWARE_MISSING: "Hardware missing",
    MASS_STORAGE: "Mass storage error",
    FILE_NAME_NOT_FOUND: "File name not found",
    FILE_NAME_ERROR: "File name error",
    PROGRAM_RUNNING: "Program currently running",
    PROGRAM_SYNTAX: "Program syntax error",
    SYSTEM: "System error",
    CONFIGURATION_LOST: "Configuration memory lost",
    STORAGE_FAULT: "Storage fault",
    SELF_TEST_FAILED: "Self-test failed",
    QUEUE_OVERFLOW: "Queue overflow",
    INPUT_OVERRUN: "Input buffer overrun",
}


class ScpiError(Exception):
    """An error to queue: its number, and words of ours that follow the standard's text after a semicolon."""

    def __init__(self, number: int, detail: str = "") -> None:
        super().__init__(number, detail)
        self.number = number
        self.detail = detail


def event_bit(number: int) -> int:
    """The bit of the standard event status register that an error sets (SCPI-1999 21.8)."""
    if -200 < number <= -100:
        return 32
    if -300 < number <= -200:
        return 16
    if -400 < number <= -300:
        return 8
    if -500 < number <= -400:
        return 4
    return 0
