"""The parts of a roast, as the board knows them. Numbers go into logs and never change their meaning."""

IDLE = 0
PREHEAT = 1
ROASTING = 2
COOLING = 3
TRIPPED = 4

NAMES = ("idle", "preheat", "roasting", "cooling", "tripped")
# The stages a milestone may name: nothing is due while idle or tripped.
MILESTONE_STAGES = ("preheat", "roasting", "cooling")
ANY = -1
