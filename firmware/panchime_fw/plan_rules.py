"""A roast plan as a person or a program writes it: checked against every rule, then turned into whole numbers for the board.

The same code runs on the host before a plan is sent and on the board when it arrives. A document is the plain dict that a
TOML or JSON reader gives; docs/plan.md describes it for people.
"""

from . import life_safety, sound_words, stages
from .guide import Guide
from .mark_names import BEANS_IN, BEANS_OUT, DEFAULT_MARKS, FIRST_CRACK
from .plan import AFTER, AHEAD, FALLS_TO, NOT_WAITING, RATE_ABOVE, RATE_BELOW, RISES_TO, SHARE, Milestone, Plan
from .units import CELSIUS, UNITS, difference_to_centi, to_centi, words

# Coffee dust layers ignite from 280 degC on (Wachter 2015): no limit may let a roast come near that.
LIMIT_CEILING_CENTI = 27500
# Below this a limit would trip before any bean is roasted (light roasts end at 195 to 210 degC, common practice).
LIMIT_FLOOR_CENTI = 4000
# Nothing a milestone waits for lies outside what a roast can show.
TEMPERATURE_CEILING_CENTI = 30000
TEMPERATURE_FLOOR_CENTI = -3000
RATE_CEILING_CENTI_PER_MIN = 12000
LONGEST_ROAST_MIN = (1, 60)
PROBE_LAG_S = (0, 60)
LONGEST_HEATING_MIN = (1, 60)
REST_MIN = (1, 180)
COOL_BELOW_CENTI = (2500, 10000)
AFTER_S = (0, 3600)
FOR_S = (1, 300)
AHEAD_S = (3, 120)
SHARE_PERCENT = (1, 60)
NAME_LENGTH = 60
LABEL_LENGTH = 40
NOTE_LENGTH = 400
MARKS_LIMIT = 8
MILESTONES_LIMIT = 24
SOUND_SPEED = (0.6, 1.5)  # the fastest makes a beep of 120 ms, which a fan still lets through
GUIDE_POINTS = (2, 40)
GUIDE_EVERY_S = (20, 300)
GUIDE_BAND_CENTI = (100, 3000)
DEFAULT_GUIDE_BAND_CENTI = 300
PACE_EVERY_S = (0.5, 60)

METHODS = ("skillet", "wok", "crank popper", "hot-air popper", "oven tray", "heat gun", "other")
LOADS = ("hot", "cold")
START = "start"

# Trigger key -> (number, the key that goes with it or None).
TRIGGERS = {
    "rises_to": (RISES_TO, None),
    "falls_to": (FALLS_TO, None),
    "after_s": (AFTER, "since"),
    "rate_below": (RATE_BELOW, "for_s"),
    "rate_above": (RATE_ABOVE, "for_s"),
    "development_share": (SHARE, None),
    "ahead_s": (AHEAD, "of"),
}
PLAN_KEYS = (
    "name", "method", "unit", "loads", "heater_on_relay", "limit", "longest_roast_min", "longest_heating_min", "rest_min",
    "cool_below",
    "probe_lag_s", "marks", "note", "sound_speed", "sound_pitch", "guide", "guide_every_s", "guide_band", "pace", "milestone",
)  # fmt: skip
REQUIRED = ("name", "method", "limit")
_MILESTONE_KEYS = tuple(TRIGGERS) + ("since", "for_s", "of", "label", "sound", "stage", "waits_for", "urgent")
_PACE_KEYS = ("stage", "every_s")


def check(document) -> list:
    """Every mistake in the document as a sentence with its place and the rule; an empty list when there is none."""
    if not isinstance(document, dict):
        return ["the plan must be a table of keys and values"]
    faults: list = []
    _unknown_keys(document, PLAN_KEYS, "", faults)
    for key in REQUIRED:
        if key not in document:
            faults.append("%s is missing; every plan needs it" % key)
    unit = document.get("unit", CELSIUS)
    if unit not in UNITS:
        faults.append('unit %s is not known; write "C" or "F"' % _quoted(unit))
        unit = CELSIUS
    _text(document, "name", NAME_LENGTH, "", faults)
    _text(document, "note", NOTE_LENGTH, "", faults, may_be_empty=True)
    _choice(document, "method", METHODS, "", faults)
    _choice(document, "loads", LOADS, "", faults)
    if "heater_on_relay" in document and not isinstance(document["heater_on_relay"], bool):
        faults.append("heater_on_relay must be true or false")
    _temperature(document, "limit", unit, LIMIT_FLOOR_CENTI, LIMIT_CEILING_CENTI, "", faults)
    _temperature(document, "cool_below", unit, COOL_BELOW_CENTI[0], COOL_BELOW_CENTI[1], "", faults)
    _number(document, "longest_roast_min", LONGEST_ROAST_MIN, "minutes", "", faults)
    _number(document, "longest_heating_min", LONGEST_HEATING_MIN, "minutes", "", faults)
    _number(document, "rest_min", REST_MIN, "minutes", "", faults)
    _number(document, "probe_lag_s", PROBE_LAG_S, "seconds", "", faults)
    marks = _check_marks(document, faults)
    _check_sounding(document, faults)
    _check_guide(document, unit, faults)
    _check_pace(document, faults)
    _check_milestones(document, marks, unit, faults)
    return faults


def compile_plan(document) -> Plan:
    """The plan in whole numbers. Raises ValueError with the first mistake of `check`, and how many more there are."""
    faults = check(document)
    if faults:
        raise ValueError(faults[0] + ("" if len(faults) == 1 else " (and %d more)" % (len(faults) - 1)))
    marks = tuple(document.get("marks", DEFAULT_MARKS))
    unit = document.get("unit", CELSIUS)
    speed, pitch = sounding_of(document)
    milestones = tuple([_compile_milestone(item, marks, unit, speed, pitch) for item in document.get("milestone", ())])
    return Plan(document, marks, milestones, _compile_guide(document, unit), _compile_pace(document))


def trigger_of(item):
    """The trigger key of a milestone's table, or None when it has none or several."""
    found = [key for key in TRIGGERS if key in item]
    return found[0] if len(found) == 1 else None


def sounding_of(document) -> tuple:
    """(speed in hundredths, pitch) of all the plan's sounds, as `sound_words.compile_sound` wants them."""
    return (int(round(document.get("sound_speed", 1) * 100)), document.get("sound_pitch", ""))


def _compile_guide(document, unit) -> Guide:
    points = [(int(round(seconds * 1000)), to_centi(value, unit)) for seconds, value in document.get("guide", ())]
    band_centi = difference_to_centi(document["guide_band"], unit) if "guide_band" in document else DEFAULT_GUIDE_BAND_CENTI
    return Guide(points, band_centi, int(round(document.get("guide_every_s", 0) * 1000)))


def _compile_pace(document) -> tuple:
    """The beat in ms for every stage by its number, 0 for none."""
    every_ms = [0] * len(stages.NAMES)
    for item in document.get("pace", ()):
        every_ms[stages.NAMES.index(item["stage"])] = int(round(item["every_s"] * 1000))
    return tuple(every_ms)


def _compile_milestone(item, marks, unit, speed, pitch) -> Milestone:
    key = trigger_of(item)
    trigger, partner = TRIGGERS[key]
    value = item[key]
    value_2 = 0
    if trigger in (RISES_TO, FALLS_TO):
        value = to_centi(value, unit)
    elif trigger == AFTER:
        value = int(value * 1000)
        value_2 = _mark_or_start(item[partner], marks)
    elif trigger in (RATE_BELOW, RATE_ABOVE):
        value = difference_to_centi(value, unit)
        value_2 = int(item[partner] * 1000)
    elif trigger == AHEAD:
        value, value_2 = to_centi(item[partner], unit), int(value * 1000)
    else:
        value = int(round(value))
    return Milestone(
        item["label"], item["sound"], sound_words.compile_sound(item["sound"], speed, pitch), trigger, value, value_2,
        _stage_of(item), marks.index(item["waits_for"]) if "waits_for" in item else NOT_WAITING, item.get("urgent", False),
    )  # fmt: skip


def _stage_of(item) -> int:
    if "stage" in item:
        return stages.NAMES.index(item["stage"])
    # A milestone that hangs on a mark follows that mark into any stage; all others belong to the roast itself.
    return stages.ANY if "waits_for" in item or "since" in item else stages.ROASTING


def _mark_or_start(name, marks) -> int:
    return NOT_WAITING if name == START else marks.index(name)


def _check_marks(document, faults) -> tuple:
    marks = document.get("marks", DEFAULT_MARKS)
    if not isinstance(marks, (list, tuple)) or not all(isinstance(mark, str) for mark in marks):
        faults.append('marks must be a list of words such as ["beans in", "first crack", "beans out"]')
        return DEFAULT_MARKS
    for index, mark in enumerate(marks):
        if not 1 <= len(mark) <= LABEL_LENGTH or not _printable(mark):
            faults.append("mark %d: %s must be 1 to %d printable characters" % (index + 1, _quoted(mark), LABEL_LENGTH))
        if mark == START:
            faults.append("mark %d: 'start' is the start of the run itself; name the mark otherwise" % (index + 1))
        if mark in marks[:index]:
            faults.append("mark %d: %s stands twice; every mark is made once" % (index + 1, _quoted(mark)))
    if not 2 <= len(marks) <= MARKS_LIMIT:
        faults.append("marks: there must be 2 to %d, and there are %d" % (MARKS_LIMIT, len(marks)))
    elif marks[0] != BEANS_IN or marks[-1] != BEANS_OUT:
        faults.append("marks: the first must be 'beans in' and the last 'beans out'")
    return tuple(marks)


def _check_sounding(document, faults) -> None:
    speed = document.get("sound_speed", 1)
    if not _is_number(speed) or not SOUND_SPEED[0] <= speed <= SOUND_SPEED[1]:
        faults.append("sound_speed %s must be a number from %s to %s; 1 is the usual speed" % (
            _quoted(speed), SOUND_SPEED[0], SOUND_SPEED[1]))
    _choice(document, "sound_pitch", tuple(sound_words.PITCHES), "", faults)


def _check_guide(document, unit, faults) -> None:
    _number(document, "guide_every_s", GUIDE_EVERY_S, "seconds", "", faults)
    if "guide_band" in document:
        band = document["guide_band"]
        if not _is_number(band) or not GUIDE_BAND_CENTI[0] <= difference_to_centi(band, unit) <= GUIDE_BAND_CENTI[1]:
            faults.append("guide_band %s must be degrees as a number, %d to %d C" % (
                _quoted(band), GUIDE_BAND_CENTI[0] // 100, GUIDE_BAND_CENTI[1] // 100))
    if "guide" not in document:
        for key in ("guide_every_s", "guide_band"):
            if key in document:
                faults.append("%s needs a guide beside it: [[0, 95], [240, 150], [480, 196]]" % key)
        return
    points = document["guide"]
    if not isinstance(points, (list, tuple)) or not all(
        isinstance(point, (list, tuple)) and len(point) == 2 and _is_number(point[0]) and _is_number(point[1])
        for point in points
    ):
        faults.append("guide must be a list of [seconds from beans in, temperature], such as [[0, 95], [240, 150], [480, 196]]")
        return
    if not GUIDE_POINTS[0] <= len(points) <= GUIDE_POINTS[1]:
        faults.append("guide: there must be %d to %d points, and there are %d" % (GUIDE_POINTS + (len(points),)))
    for index, (seconds, value) in enumerate(points):
        place = "guide point %d: " % (index + 1)
        _number({"time": seconds}, "time", AFTER_S, "seconds", place, faults)
        _temperature(
            {"temperature": value}, "temperature", unit, TEMPERATURE_FLOOR_CENTI, TEMPERATURE_CEILING_CENTI, place, faults
        )
        # A second apart at least: what lies nearer is one point.
        if index and seconds < points[index - 1][0] + 1:
            faults.append("%s%s seconds must come at least a second after the point before, %s" % (
                place, _plain(seconds), _plain(points[index - 1][0])))


def _check_pace(document, faults) -> None:
    items = document.get("pace", ())
    if not isinstance(items, (list, tuple)) or not all(isinstance(item, dict) for item in items):
        faults.append("pace must be a list of tables, each begun with [[pace]]")
        return
    seen: list = []
    for index, item in enumerate(items):
        place = "pace %d: " % (index + 1)
        _unknown_keys(item, _PACE_KEYS, place, faults)
        for key in _PACE_KEYS:
            if key not in item:
                faults.append("%s%s is missing" % (place, key))
        _choice(item, "stage", stages.MILESTONE_STAGES, place, faults)
        _number(item, "every_s", PACE_EVERY_S, "seconds", place, faults)
        if item.get("stage") in seen:
            faults.append("%sstage '%s' has a beat already" % (place, item["stage"]))
        seen.append(item.get("stage"))


def _check_milestones(document, marks, unit, faults) -> None:
    items = document.get("milestone", ())
    if not isinstance(items, (list, tuple)) or not all(isinstance(item, dict) for item in items):
        faults.append("milestone must be a list of tables, each begun with [[milestone]]")
        return
    if len(items) > MILESTONES_LIMIT:
        faults.append("milestone: at most %d are kept by the board, and there are %d" % (MILESTONES_LIMIT, len(items)))
    labels = []
    for index, item in enumerate(items):
        label = item.get("label")
        place = "milestone %d%s: " % (index + 1, " " + _quoted(label) if isinstance(label, str) else "")
        _unknown_keys(item, _MILESTONE_KEYS, place, faults)
        if "label" not in item:
            faults.append(place + "label is missing; it is what the log and the screen call it")
        _text(item, "label", LABEL_LENGTH, place, faults)
        if isinstance(label, str) and label in labels:
            faults.append(place + "another milestone has the same label; they could not be told apart in the log")
        labels.append(label)
        if "urgent" in item and not isinstance(item["urgent"], bool):
            faults.append(place + "urgent must be true or false")
        _check_sound(item, document, place, faults)
        _check_belonging(item, marks, place, faults)
        _check_trigger(item, marks, unit, place, faults)


def _check_sound(item, document, place, faults) -> None:
    if "sound" not in item:
        faults.append(place + "sound is missing; write one of: " + ", ".join(sound_words.PATTERNS))
    elif not isinstance(item["sound"], str):
        faults.append(place + 'sound must be words in quotes, such as "rising twice high"')
    else:
        try:
            tones = sound_words.compile_sound(item["sound"])
        except ValueError as error:
            faults.append(place + str(error))
            return
        sounding_faults: list = []
        _check_sounding(document, sounding_faults)
        if not sounding_faults:
            speed, pitch = sounding_of(document)
            tones = sound_words.compile_sound(item["sound"], speed, pitch)
        signal = life_safety.resembles(tones)
        if signal:
            faults.append("%ssound '%s' could be taken for %s, which no cue may sound like; write another sound%s" % (
                place, item["sound"], signal, " or another sound_speed" if "sound_speed" in document else ""))


def _check_belonging(item, marks, place, faults) -> None:
    _choice(item, "stage", stages.MILESTONE_STAGES, place, faults)
    if "waits_for" in item and item["waits_for"] not in marks:
        faults.append("%swaits_for %s is not one of this plan's marks: %s" % (
            place, _quoted(item["waits_for"]), ", ".join(marks)))


def _check_trigger(item, marks, unit, place, faults) -> None:
    found = [key for key in TRIGGERS if key in item]
    if len(found) != 1:
        said = "has none" if not found else "has " + " and ".join(sorted(found))
        faults.append("%sneeds exactly one trigger and %s; triggers are: %s" % (
            place, said, ", ".join(sorted(TRIGGERS))))
        return
    key = found[0]
    trigger, partner = TRIGGERS[key]
    if partner is not None and partner not in item:
        faults.append("%s%s needs %s beside it" % (place, key, partner))
    for other in ("since", "for_s", "of"):
        if other in item and other != partner:
            faults.append("%s%s does not go with %s" % (place, other, key))
    if trigger in (RISES_TO, FALLS_TO):
        _temperature(item, key, unit, TEMPERATURE_FLOOR_CENTI, TEMPERATURE_CEILING_CENTI, place, faults)
    elif trigger == AFTER:
        _number(item, key, AFTER_S, "seconds", place, faults)
        if partner in item and item[partner] != START and item[partner] not in marks:
            faults.append("%ssince %s is neither 'start' nor one of this plan's marks: %s" % (
                place, _quoted(item[partner]), ", ".join(marks)))
    elif trigger in (RATE_BELOW, RATE_ABOVE):
        _rate(item, key, unit, place, faults)
        _number(item, partner, FOR_S, "seconds", place, faults)
    elif trigger == AHEAD:
        _number(item, key, AHEAD_S, "seconds", place, faults)
        _temperature(item, partner, unit, TEMPERATURE_FLOOR_CENTI, TEMPERATURE_CEILING_CENTI, place, faults)
    else:
        _number(item, key, SHARE_PERCENT, "percent", place, faults)
        if FIRST_CRACK not in marks:
            faults.append(place + "development_share needs the mark 'first crack' in the plan's marks")


def _unknown_keys(table, known, place, faults) -> None:
    for key in sorted(table):
        if key not in known:
            faults.append("%s%s is not a key of a plan; known are: %s" % (place, _quoted(key), ", ".join(sorted(known))))


def _text(table, key, longest, place, faults, may_be_empty=False) -> None:
    if key not in table:
        return
    value = table[key]
    shortest = 0 if may_be_empty else 1
    if not isinstance(value, str) or not shortest <= len(value) <= longest or not _printable(value):
        faults.append("%s%s must be %d to %d printable characters in quotes" % (place, key, shortest, longest))


def _choice(table, key, choices, place, faults) -> None:
    if key in table and table[key] not in choices:
        faults.append("%s%s %s is not known; write one of: %s" % (place, key, _quoted(table[key]), ", ".join(choices)))


def _is_number(value) -> bool:
    # true and false are integers to Python; nan fails both comparisons.
    return isinstance(value, (int, float)) and not isinstance(value, bool) and -1e9 < value < 1e9


def _number(table, key, bounds, unit_words, place, faults) -> None:
    if key not in table:
        return
    value = table[key]
    if not _is_number(value):
        faults.append("%s%s must be a number of %s" % (place, key, unit_words))
    elif not bounds[0] <= value <= bounds[1]:
        faults.append("%s%s %s must be %d to %d %s" % (place, key, _plain(value), bounds[0], bounds[1], unit_words))


def _temperature(table, key, unit, floor_centi, ceiling_centi, place, faults) -> None:
    if key not in table:
        return
    value = table[key]
    if not _is_number(value):
        faults.append("%s%s must be a temperature as a number" % (place, key))
        return
    centi = to_centi(value, unit)
    if centi > ceiling_centi:
        rule = "above the board's ceiling of"
        bound = ceiling_centi
    elif centi < floor_centi:
        rule = "below the board's floor of"
        bound = floor_centi
    else:
        return
    faults.append("%s%s %s %s is %s %s" % (place, key, _plain(value), unit, rule, words(bound, unit)))


def _rate(table, key, unit, place, faults) -> None:
    value = table[key]
    if not _is_number(value):
        faults.append("%s%s must be degrees per minute as a number" % (place, key))
    elif not -RATE_CEILING_CENTI_PER_MIN <= difference_to_centi(value, unit) <= RATE_CEILING_CENTI_PER_MIN:
        faults.append("%s%s %s is more than any pan does; write degrees %s per minute" % (
            place, key, _plain(value), unit))


def _printable(text) -> bool:
    return all(ord(character) >= 32 and ord(character) != 127 for character in text)


def _quoted(value) -> str:
    return "'%s'" % value if isinstance(value, str) else str(value)


def _plain(value) -> str:
    """A number as a person wrote it: 412, not 412.0."""
    return str(int(value)) if value == int(value) else str(value)
