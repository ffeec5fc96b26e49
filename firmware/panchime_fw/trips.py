"""Why the heater was cut off: one number, one name and one sentence of advice each. Logs carry the numbers for ever."""

from .units import decimal

NONE = 0
OVER_LIMIT = 1
SENSOR_FAULT = 2
LONGEST_ROAST = 3
NO_LIMIT = 4
JUMP = 5
FROZEN = 6
COLD_JUNCTION_HOT = 7
NOT_WARMING = 8
PROBE_IN_AIR = 9
LONGEST_HEATING = 10
LOOP_LATE = 11
RESET_IN_ROAST = 12
RELAY_WELDED = 13

NAMES = {
    NONE: "none",
    OVER_LIMIT: "over the limit",
    SENSOR_FAULT: "probe fault",
    LONGEST_ROAST: "longest roast reached",
    NO_LIMIT: "no valid limit",
    JUMP: "reading jumps",
    FROZEN: "reading frozen",
    COLD_JUNCTION_HOT: "board too hot",
    NOT_WARMING: "heater on but not warming",
    PROBE_IN_AIR: "probe out of the beans",
    LONGEST_HEATING: "longest heating reached",
    LOOP_LATE: "board was late",
    RESET_IN_ROAST: "board restarted in the roast",
    RELAY_WELDED: "still heating with the relay open",
}

ADVICE = {
    NONE: "Nothing to do.",
    OVER_LIMIT: "Take the beans off the heat. Clear it when the temperature is well below the limit.",
    SENSOR_FAULT: "Turn the heat off. The probe cannot be read: look at it and its wires.",
    LONGEST_ROAST: "Turn the heat off and take the beans out. The roast has gone on longer than the plan allows.",
    NO_LIMIT: "The plan on the board has no limit that can be used. Send a plan again.",
    JUMP: "Turn the heat off. The reading changes faster than beans can: look for a loose contact, or metal at the probe.",
    FROZEN: "Turn the heat off. The reading has not changed by one bit: check the amplifier's wires.",
    COLD_JUNCTION_HOT: "Turn the heat off. The board lies too near it: move it away and let it cool.",
    NOT_WARMING: "Turn the heat off. The probe has fallen out or the heater is dead: look before you start again.",
    PROBE_IN_AIR: "Turn the heat off. The temperature fell while heating: put the probe back among the beans, with gloves.",
    LONGEST_HEATING: "Tip the beans out, then let the appliance rest: it has heated as long as it is made for.",
    LOOP_LATE: "Turn the heat off, or go on by eye: the board could not keep watch. Keep the log.",
    RESET_IN_ROAST: "Turn the heat off and look at the beans, then clear it: the board lost power or was restarted.",
    RELAY_WELDED: "Pull the plug: the relay may be welded shut.",
}

# A popper's beans go on cooking in their own heat when its heater is off.
TIP_OUT_ADVICE = "Tip the beans out into something of metal, away from chaff, and keep the fan running if it can."

# The reading says nothing where the board itself was the cause.
_WITHOUT_READING = (NONE, NO_LIMIT, LOOP_LATE, RESET_IN_ROAST)


def trip_words(reason: int, reading_centi: int, limit_centi: int) -> str:
    """The reason, the reading and the limit, as the link and the log say it."""
    if reason in _WITHOUT_READING:
        return NAMES[reason]
    return "%s: %s C, limit %s C" % (NAMES[reason], decimal(reading_centi), decimal(limit_centi))
