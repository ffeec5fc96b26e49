"""What can happen in a roast besides a sample: one number, one name and the three values each kind carries.

The numbers stand in log files. A number is never given a new meaning and a kind never changes its values; new kinds
take new numbers, and old readers skip them.
"""

MARK = 1  # index into the plan's marks, source, own time in ms; takes the place of an earlier mark of that index
MARK_BACK = 2  # index into the plan's marks: that mark is taken back
MILESTONE = 3  # index into the plan's milestones, SOUNDED or MISSED
RELAY = 4  # 0 open, 1 closed
TRIP = 5  # reason, reading in hundredths of a degree Celsius, limit in the same (or in what the reason says)
STAGE = 6  # number of the stage
FAULT = 7  # number of the fault, a key of faults.NAMES
CLEARED = 8  # the latched trip is cleared
GAP = 9  # since the roast's start: sample slots lost, events lost, time of the first loss in ms
NOTICE = 10  # number of the notice, a key of notices.NAMES

NAMES = {
    MARK: "mark",
    MARK_BACK: "mark taken back",
    MILESTONE: "milestone",
    RELAY: "relay",
    TRIP: "trip",
    STAGE: "stage",
    FAULT: "fault",
    CLEARED: "trip cleared",
    GAP: "gap",
    NOTICE: "notice",
}

# Bytes that each of the three values takes in a log: 0 is not kept, 1 and 2 are unsigned, 3 are the low 24 bits of a
# temperature (signed), a time or a count.
WIDTHS = {
    MARK: (1, 1, 3),
    MARK_BACK: (1, 0, 0),
    MILESTONE: (1, 1, 0),
    RELAY: (1, 0, 0),
    TRIP: (1, 3, 3),
    STAGE: (1, 0, 0),
    FAULT: (1, 0, 0),
    CLEARED: (0, 0, 0),
    GAP: (3, 2, 3),
    NOTICE: (1, 0, 0),
}

# These are sealed at once and not with the chunk: losing one to a power cut would leave a wrong story.
SEALED_AT_ONCE = (MARK, MARK_BACK, RELAY, TRIP)

# Where a mark comes from.
PRESSED = 0
FOUND = 1
LINK = 2
SOURCE_NAMES = ("pressed", "found", "link")

# What became of a milestone.
SOUNDED = 0
MISSED = 1

# Why a roast ended.
DONE = 0
STOPPED_BY_PRESS = 1
STOPPED_OVER_LINK = 2
TIMED_OUT = 3
END_NAMES = ("done", "stopped by long press", "stopped over the link", "timed out")
