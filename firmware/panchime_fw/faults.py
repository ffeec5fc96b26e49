"""The faults a reading can have: one number, one short name and one sentence each.

The number goes into the log, the name and the sentence into the error queue, `panchime check` and the docs, so that the
same fault reads the same everywhere. Numbers are never given a new meaning: old logs carry them.
"""

NONE = 0
OPEN = 1
SHORT_TO_GROUND = 2
SHORT_TO_SUPPLY = 3
OUT_OF_RANGE = 4
AMPLIFIER_ABSENT = 5
WRONG_CHIP = 6
FROZEN = 7
COLD_JUNCTION = 8
JUMP = 9
AMPLIFIER_RESET = 10

NAMES = {
    NONE: "none",
    OPEN: "thermocouple open",
    SHORT_TO_GROUND: "thermocouple shorted to ground",
    SHORT_TO_SUPPLY: "thermocouple shorted to supply",
    OUT_OF_RANGE: "reading out of range",
    AMPLIFIER_ABSENT: "amplifier does not answer",
    WRONG_CHIP: "another amplifier chip answers",
    FROZEN: "reading is frozen",
    COLD_JUNCTION: "cold junction implausible",
    JUMP: "reading jumps",
    AMPLIFIER_RESET: "amplifier lost its settings",
}

ADVICE = {
    NONE: "Nothing to do.",
    OPEN: "Look for a loose screw terminal, a pulled plug or a broken wire at the probe.",
    SHORT_TO_GROUND: "A bare or grounded bead touches metal, often the pan: lift it clear or use an insulated probe.",
    SHORT_TO_SUPPLY: "Look for a strand or a drop of solder between the probe's terminals and the 3.3 V pin.",
    OUT_OF_RANGE: "Check that the thermocouple type in the settings is the type of the probe, and which wire is plus.",
    AMPLIFIER_ABSENT: "Check the amplifier's 3.3 V, ground, clock, data and select wires.",
    WRONG_CHIP: "The settings name another amplifier than the one that is wired: set the right one.",
    FROZEN: "Not one bit has changed for too long while hot: check the wires, then the amplifier.",
    COLD_JUNCTION: "The amplifier itself is too hot or too cold to be right: move the board away from the flame.",
    JUMP: "No bean heats or cools this fast: look for a loose contact, or a motor or igniter beside the probe wire.",
    AMPLIFIER_RESET: "The amplifier restarted by itself: look for a loose 3.3 V wire, or a motor on the same supply.",
}
