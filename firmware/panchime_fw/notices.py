"""Warnings that stop nothing: the roast goes on, and the person is told. Logs carry the numbers for ever."""

LOG_FAILS = 1
FLASH_NEARLY_FULL = 2

NAMES = {
    LOG_FAILS: "the log cannot be written",
    FLASH_NEARLY_FULL: "little room is left for logs",
}

ADVICE = {
    LOG_FAILS: "The roast goes on unrecorded. Pull the roasts and tidy up the board afterwards.",
    FLASH_NEARLY_FULL: "Pull the roasts and remove them from the board: panchime pull --tidy.",
}
