"""The bounds a reading must keep whichever amplifier tells it, and how a silent bus looks."""

# The amplifier sits beside the Pico, whose board is specified for -20 to +85 degC (Pico datasheet, from memory). Beyond
# that either the amplifier lies or the whole board is being cooked; both are a reason not to believe the reading. The
# amplifiers themselves go further (MAX31855: -40 to +125 degC).
COLD_LOWEST_CENTI = -2000
COLD_HIGHEST_CENTI = 8500

# Lowest and highest temperature believed for each thermocouple type: those of thermocouple_tables/, which say why. They
# stand here as well because a chip that linearises by itself needs no table in memory.
RANGE_CENTI = {
    "K": (-20000, 137200),
    "J": (-20000, 120000),
    "N": (-20000, 130000),
    "T": (-20000, 40000),
    "E": (-20000, 100000),
    "R": (-5000, 176800),
    "S": (-5000, 176800),
}


def cold_is_plausible(cold_centi: int) -> bool:
    return COLD_LOWEST_CENTI <= cold_centi <= COLD_HIGHEST_CENTI


def all_bytes_are(raw: "bytes | bytearray", first: int, value: int) -> bool:
    """True when every byte from index first on has this value. Indexes instead of slices: nothing is allocated."""
    index = first
    end = len(raw)
    while index < end:
        if raw[index] != value:
            return False
        index += 1
    return True
