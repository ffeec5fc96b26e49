"""A roast plan as the board runs it, in whole numbers. plan_rules.py makes it of a document."""

from . import mark_names
from .units import CELSIUS, to_centi
from .visiting import visit

BEANS_IN = mark_names.BEANS_IN
FIRST_CRACK = mark_names.FIRST_CRACK
BEANS_OUT = mark_names.BEANS_OUT

RISES_TO = 0
FALLS_TO = 1
AFTER = 2
RATE_BELOW = 3
RATE_ABOVE = 4
SHARE = 5
AHEAD = 6

NOT_WAITING = -1
JSON_BYTES_LIMIT = 4096


class Milestone:
    """One milestone in whole numbers. `value` is hundredths of degC, ms, hundredths of degC per minute or percent."""

    def __init__(self, label, sound, tones, trigger, value, value_2, stage, waits_for, urgent=False) -> None:
        self.label = label
        self.sound = sound
        self.tones = tones
        self.trigger = trigger
        self.value = value
        self.value_2 = value_2  # AFTER: mark index or -1 for the start; RATE_*: ms; AHEAD: lead in ms
        self.stage = stage
        self.waits_for = waits_for  # mark index or NOT_WAITING
        self.urgent = urgent


class Plan:
    """What the board runs. `pace_ms` is the beat of every stage by its number, 0 for none.

    `document` is kept whole, so that a plan read back has lost nothing.
    """

    def __init__(self, document, marks, milestones, guide, pace_ms) -> None:
        unit = document.get("unit", CELSIUS)
        self.document = document
        self.name = document["name"]
        self.loads_cold = document.get("loads", "hot") == "cold"
        self.heater_on_relay = document.get("heater_on_relay", False)
        self.limit_centi = to_centi(document["limit"], unit)
        self.longest_roast_ms = int(document.get("longest_roast_min", 20) * 60000)
        # 0: the appliance has no such bound.
        self.longest_heating_ms = int(document.get("longest_heating_min", 0) * 60000)
        self.rest_ms = int(document.get("rest_min", 0) * 60000)
        self.cool_below_centi = to_centi(document["cool_below"], unit) if "cool_below" in document else 4000
        # -1: the plan names none, and that of the board's settings holds.
        self.probe_lag_ms = int(round(document["probe_lag_s"] * 1000)) if "probe_lag_s" in document else -1
        self.marks = marks
        self.milestones = milestones
        self.first_crack = marks.index(FIRST_CRACK) if FIRST_CRACK in marks else -1
        self.last_mark = len(marks) - 1
        # A popper without its heater still holds beans in their own heat: what to do after a trip is to tip them out.
        self.dump_after_trip = self.heater_on_relay and document["method"] == "hot-air popper"
        self.guide = guide
        self.pace_ms = pace_ms


def check(document) -> list:
    """Every mistake in the document as a sentence with its place and the rule; an empty list when there is none."""
    return visit("plan_rules", "check", document)


def compile_plan(document) -> Plan:
    """The plan of a document. Raises ValueError with the first mistake of `check`, and how many more there are."""
    return visit("plan_rules", "compile_plan", document)
